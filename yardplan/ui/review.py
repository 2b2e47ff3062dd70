"""The Review page: figures that open their formula, their counts and their time, and charts that can be saved."""

from functools import partial
from html import escape

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QMenu,
    QPushButton,
    QScrollArea,
    QStackedWidget,
    QTableWidget,
    QTableWidgetItem,
    QTextBrowser,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.review import Review
from yardplan.ui.chart import Chart
from yardplan.ui.look import Look, scrolling
from yardplan.ui.palette import Palette
from yardplan.ui.review_words import CHART_OF, ReviewWords, told

LEFT_PX, ROW_PX = 400, 25
DAYS = (7, 28, 90, 366)
CHARTS = ("heat", "pieces", "losses", "units", "causes", "orders", "molds", "forecast", "battery")
WIDE = ("heat",)
TWO_COLUMNS_PX = 1100
FORMATS = ("png", "svg", "csv")


class ReviewPage(QWidget):
    """Shows how the last days went.

    Signals
    -------
    wanted(int)
        A review of so many days is wanted.
    save_wanted(str, str)
        A chart, by its id, is to be saved as ``png`` or ``svg``, or its rows as ``csv``.
    """

    wanted = Signal(int)
    save_wanted = Signal(str, str)

    def __init__(self, colors: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = ReviewWords()
        self._found: Review | None = None
        self._is_due = True
        self._look = Look(colors, self.font())
        self.days = QComboBox()
        self.days.setObjectName("review_days")
        self.days.setAccessibleName(self.tr("How many days back"))
        for days in DAYS:
            self.days.addItem(self.tr("Last {n} days").format(n=days), days)
        self.days.setCurrentIndex(DAYS.index(28))
        self.days.currentIndexChanged.connect(self.ask)
        self.again = QPushButton(self.tr("Work out anew"))
        self.again.setObjectName("review_again")
        self.again.clicked.connect(self.ask)
        self.figures = self._make_figures()
        self.card = QTextBrowser()
        self.card.setObjectName("review_card")
        self.card.setAccessibleName(self.tr("Formula, counts and period of the figure"))
        self.card.setFrameShape(QFrame.Shape.NoFrame)
        self.card.setTabChangesFocus(True)
        self.warnings = QLabel()
        self.warnings.setObjectName("hint")
        self.warnings.setWordWrap(True)
        self._charts: dict[str, Chart] = {}
        self._empties: dict[str, QLabel] = {}
        self._savers: dict[str, QToolButton] = {}
        self._message = QLabel(self.tr("Looking back ..."))
        self._message.setObjectName("message")
        self._message.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._message.setWordWrap(True)
        self._area = self._make_charts()
        self._pages = QStackedWidget()
        self._pages.addWidget(self._message)
        self._pages.addWidget(self._make_page())
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._pages)
        self.set_colors(colors)

    # What is shown

    def show_message(self, text: str) -> None:
        """Say in place of the figures what to do."""
        self._found = None
        self._message.setText(text)
        self._pages.setCurrentIndex(0)

    def show_review(self, found: Review) -> None:
        """Show figures and charts; the figure that was chosen stays so."""
        self._found = found
        row = max(self.figures.currentRow(), 0)
        self.figures.setRowCount(len(found.figures))
        for ix, figure in enumerate(found.figures):
            sentence = self._words.sentence(figure)
            for column, text in enumerate((told(figure.card.name), self._words.value(figure))):
                item = QTableWidgetItem(text)
                item.setToolTip(sentence)
                item.setData(Qt.ItemDataRole.AccessibleTextRole, sentence)
                item.setFlags(Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled)
                if column:
                    item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self.figures.setItem(ix, column, item)
        self.figures.blockSignals(True)  # what is in view of the charts stays
        self.figures.setCurrentCell(row, 0)
        self.figures.blockSignals(False)
        self._show_card(row)
        drifts = found.calibrated.drifts if found.calibrated else ()
        self.warnings.setText("\n".join(self._words.drift(drift, found.tz) for drift in drifts))
        self.warnings.setVisible(bool(drifts))
        for name, data in self._words.charts(found):
            is_empty = not data.labels
            is_to_come = name == "molds" and found.is_part
            empty = self.tr("Still being worked out ...") if is_to_come else self._words.empty(name)
            self._charts[name].show_data(data)
            self._charts[name].setVisible(not is_empty)
            self._empties[name].setText(f"<b>{escape(data.title)}</b><br>{escape(empty)}")
            self._empties[name].setVisible(is_empty)
            self._savers[name].setVisible(not is_empty)
            self._savers[name].setAccessibleName(self.tr("Save: {chart}").format(chart=data.title))
        self._pages.setCurrentIndex(1)

    def chart(self, name: str) -> Chart:
        """Return a chart by the id of its table."""
        return self._charts[name]

    def set_colors(self, colors: Palette) -> None:
        """Draw in other colors."""
        self._look = Look(colors, self.font())
        for chart in self._charts.values():
            chart.show_look(self._look)

    def set_idle(self, is_idle: bool) -> None:
        """Let be asked for a review while none is worked out."""
        self.days.setEnabled(is_idle)
        self.again.setEnabled(is_idle)

    def set_due(self) -> None:
        """Something has changed: work the review out anew as soon as it is looked at."""
        self._is_due = True
        if self.isVisible():
            self.ask()

    def ask(self) -> None:
        """Ask for a review of the days that are chosen."""
        self._is_due = False
        self.wanted.emit(self.days.currentData())

    def showEvent(self, event: QShowEvent) -> None:
        """Work it out when somebody looks, not before."""
        super().showEvent(event)
        if self._is_due:
            self.ask()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the size of letters."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and self._charts:
            self.set_colors(self._look.colors)

    def _show_card(self, row: int) -> None:
        if self._found is None or not 0 <= row < len(self._found.figures):
            return
        figure = self._found.figures[row]
        parts = self._words.card(figure, self._found.tz)
        lines = [f"<p><b>{escape(self._words.sentence(figure))}</b></p>"]
        for name, text in parts:
            told_as = escape(text).replace("\n", "<br>")
            lines.append(f"<p style='margin-bottom:2px'><b>{escape(name)}</b>: {told_as}</p>")
        self.card.setHtml("".join(lines))

    def _figure_chosen(self, row: int, _column: int, _row_before: int, _column_before: int) -> None:
        self._show_card(row)
        if self._found is not None and 0 <= row < len(self._found.figures):
            name = CHART_OF[self._found.figures[row].card.id]
            shown = self._charts[name] if self._charts[name].isVisibleTo(self) else self._empties[name]
            self._area.ensureWidgetVisible(shown)

    # Making the page

    def _make_figures(self) -> QTableWidget:
        table = QTableWidget(0, 2)
        table.setObjectName("figures")
        table.setAccessibleName(self.tr("Figures"))
        table.setHorizontalHeaderLabels([self.tr("Figure"), self.tr("Value")])
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setTabKeyNavigation(False)
        table.setShowGrid(False)
        table.setAlternatingRowColors(True)
        table.setFrameShape(QFrame.Shape.NoFrame)
        table.verticalHeader().hide()
        table.verticalHeader().setDefaultSectionSize(ROW_PX)
        table.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        table.currentCellChanged.connect(self._figure_chosen)
        return table

    def _make_charts(self) -> QScrollArea:
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setContentsMargins(12, 8, 12, 8)
        column.setSpacing(14)
        grid = QGridLayout()
        grid.setHorizontalSpacing(24)
        grid.setVerticalSpacing(14)
        self._grid, self._boxes = grid, {name: self._make_chart(name) for name in CHARTS}
        self._lay_charts(2)
        column.addLayout(grid)
        column.addStretch(1)
        return scrolling(inner)

    def _lay_charts(self, columns: int) -> None:
        """Put charts side by side, or below each other where there is no room; the widest take all of a line."""
        self._columns = columns
        for box in self._boxes.values():
            self._grid.removeWidget(box)
        line, side = 0, 0
        for name, box in self._boxes.items():
            span = columns if name in WIDE else 1
            if side + span > columns:
                line, side = line + 1, 0
            self._grid.addWidget(box, line, side, 1, span)
            side += span
        for at in (0, 1):
            self._grid.setColumnStretch(at, 1 if at < columns else 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Use the room that there is."""
        super().resizeEvent(event)
        columns = 2 if self.width() >= TWO_COLUMNS_PX else 1
        if columns != self._columns:
            self._lay_charts(columns)

    def _make_chart(self, name: str) -> QWidget:
        chart = Chart(name)
        self._charts[name] = chart
        empty = QLabel()
        empty.setWordWrap(True)
        empty.setTextFormat(Qt.TextFormat.RichText)
        empty.setObjectName(f"empty_{name}")
        self._empties[name] = empty
        saver = QToolButton()
        saver.setObjectName(f"save_{name}")
        saver.setProperty("kind", "save")
        saver.setText(self.tr("Save ..."))
        saver.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        menu = QMenu(saver)
        texts = (self.tr("Picture (PNG)"), self.tr("Drawing (SVG)"), self.tr("Numbers (CSV)"))
        for kind, text in zip(FORMATS, texts, strict=True):
            menu.addAction(text).triggered.connect(partial(self.save_wanted.emit, name, kind))
        saver.setMenu(menu)
        self._savers[name] = saver
        box = QWidget()
        column = QVBoxLayout(box)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(empty)
        column.addWidget(chart)
        column.addWidget(saver, 0, Qt.AlignmentFlag.AlignRight)
        column.addStretch(1)
        return box

    def _make_page(self) -> QWidget:
        top = QHBoxLayout()
        top.addWidget(self.days, 1)
        top.addWidget(self.again)
        left = QWidget()
        left.setFixedWidth(LEFT_PX)
        column = QVBoxLayout(left)
        column.setContentsMargins(8, 8, 4, 8)
        column.addLayout(top)
        column.addWidget(self.figures, 1)
        column.addWidget(self.card, 1)
        right = QVBoxLayout()
        right.setSpacing(0)
        right.addWidget(self.warnings)
        right.addWidget(self._area, 1)
        whole = QWidget()
        row = QHBoxLayout(whole)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(left)
        row.addLayout(right, 1)
        return whole
