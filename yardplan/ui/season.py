"""The Season page: what the yard can make of a product month by month, and what the order book takes of it."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.quotes import Limit
from yardplan.domain.season import MonthOutput, Season
from yardplan.domain.yard import Yard
from yardplan.ui.chart import Chart, ChartData, Series, Tone
from yardplan.ui.dates import month_text, percent_text
from yardplan.ui.look import Look, in_order, scrolling
from yardplan.ui.palette import Palette

MONTHS = (3, 6, 12)
MOST_STACKED = 6
"""Units that can be told apart in one bar."""

TONES = (
    Tone("heat"),
    Tone("cool", Qt.BrushStyle.BDiagPattern),
    Tone("battery", Qt.BrushStyle.DiagCrossPattern),
    Tone("action", Qt.BrushStyle.HorPattern),
    Tone("frame", Qt.BrushStyle.Dense5Pattern),
    Tone("likely", Qt.BrushStyle.VerPattern),
)
FORMATS = ("png", "svg", "csv")


class SeasonPage(QWidget):
    """A chart and a table of one product's months, or of all.

    Signals
    -------
    wanted(str, int)
        A product's months are wanted, or all products' where it is empty; and how many.
    stop_wanted()
        It takes too long.
    save_wanted(str)
        The chart is to be saved as ``png`` or ``svg``, or the table as ``csv``.
    """

    wanted = Signal(str, int)
    stop_wanted = Signal()
    save_wanted = Signal(str)

    def __init__(self, colors: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._yard: Yard | None = None
        self._is_idle = self._is_working = self._has_begun = self._has_found = False
        self.product = QComboBox()
        self.product.setObjectName("season_product")
        self.product.setAccessibleName(self.tr("Product"))
        self.product.addItem(self.tr("All products"), "")
        self.months = QComboBox()
        self.months.setObjectName("season_months")
        self.months.setAccessibleName(self.tr("How many months ahead"))
        for count in MONTHS:
            self.months.addItem(self.tr("{n} months").format(n=count), count)
        self.months.setCurrentIndex(1)
        self.start = QPushButton(self.tr("Work out"))
        self.start.setObjectName("season_start")
        self.start.setProperty("kind", "press")
        self.start.clicked.connect(self._start)
        self.stop = QPushButton(self.tr("Stop"))
        self.stop.setObjectName("season_stop")
        self.stop.clicked.connect(self.stop_wanted)
        self._told = QLabel()
        self._told.setObjectName("season_told")
        self._told.setWordWrap(True)
        self.chart = Chart("season")
        self.table = QTableWidget()
        self.table.setObjectName("season_table")
        self.table.setAccessibleName(self.tr("Months ahead"))
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setTabKeyNavigation(False)
        self.table.setAlternatingRowColors(True)
        self.table.verticalHeader().hide()
        self.savers: dict[str, QToolButton] = {}
        row = QHBoxLayout()
        for widget in (self.product, self.months, self.start, self.stop):
            row.addWidget(widget)
        row.addStretch(1)
        for kind, text in zip(
            FORMATS, (self.tr("Save as PNG"), self.tr("Save as SVG"), self.tr("Save table as CSV")), strict=True
        ):
            button = QToolButton()
            button.setText(text)
            button.setObjectName(f"season_{kind}")
            button.setProperty("format", kind)
            button.clicked.connect(self._save)
            row.addWidget(button)
            self.savers[kind] = button
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.addWidget(self.chart)
        column.addWidget(self.table, 1)
        outer = QVBoxLayout(self)
        outer.addLayout(row)
        outer.addWidget(self._told)
        outer.addWidget(scrolling(whole), 1)
        in_order(self.product, self.months, self.start, self.stop, *self.savers.values(), self.chart, self.table)
        self.setFocusProxy(self.product)
        self.chart.hide()
        self.table.hide()
        self.show_message("")
        self.set_colors(colors)
        self._enable()

    def show_yard(self, yard: Yard) -> None:
        """Offer a yard's products."""
        self._yard = yard
        kept = self.product.currentData()
        self.product.clear()
        self.product.addItem(self.tr("All products"), "")
        for product in yard.products:
            self.product.addItem(product.name, product.id)
        self.product.setCurrentIndex(max(self.product.findData(kept), 0) if kept else min(1, len(yard.products)))
        self._is_idle = True
        if not self._has_found and not self._is_working:
            self.show_message("")
        self._enable()
        self._begin()

    def show_message(self, text: str) -> None:
        """Say what is being done or is missing."""
        self._told.setText(
            text
            or self.tr(
                "What the yard could make of a product if it made nothing else, in months of a typical year: season "
                "average, not forecast."
            )
        )

    def show_season(self, found: Season, product_id: str) -> None:
        """Show the months of a product, or of all where it is empty."""
        if self._yard is None:
            return
        self._has_found = True
        self.show_message(
            self.tr(
                "Pieces that come through finishing in at least 9, 5 and 1 of 10 such months if the yard makes nothing "
                "else. Season average, not forecast: {source}."
            ).format(source=found.source)
        )
        self.chart.show_data(self._all_data(found) if not product_id else self._product_data(found))
        self._fill(found, is_all=not product_id)
        self.chart.show()
        self.table.show()
        self._enable()

    def set_working(self, is_working: bool) -> None:
        """Let be asked, or be stopped."""
        self._is_working = is_working
        self._enable()

    def set_colors(self, colors: Palette) -> None:
        """Take another theme's colors."""
        self.chart.show_look(Look(colors, self.font()))

    def _product_data(self, found: Season) -> ChartData:
        """Return bars of the middling month by unit, the span of good and bad ones, a mark at what is ordered."""
        assert self._yard is not None  # months are of a yard
        rows = found.months
        units = [unit_id for unit_id, _ in rows[0].by_unit]
        names = {unit.id: unit.name for unit in self._yard.units}
        if len(units) <= MOST_STACKED:
            stacked = tuple(
                Series(names.get(unit_id, unit_id), tuple(float(dict(row.by_unit)[unit_id]) for row in rows), tone)
                for unit_id, tone in zip(units, TONES, strict=False)
            )
        else:
            stacked = (Series(self.tr("all units"), tuple(float(row.p50) for row in rows), TONES[0]),)
        name = self._yard.product(rows[0].product_id).name
        return ChartData(
            title=self.tr("{product}: 5 of 10 months, by unit; line: 9 to 1 of 10").format(product=name),
            labels=tuple(month_text(row.first_on) for row in rows),
            stacked=stacked,
            unit=self.tr("pieces"),
            marks=Series(self.tr("in the order book"), tuple(float(row.ordered) for row in rows), Tone("text")),
            spans=tuple((float(row.p10), float(row.p90)) for row in rows),
        )

    def _all_data(self, found: Season) -> ChartData:
        months = sorted({row.first_on for row in found.months})
        taken = tuple(100 * found.taken_frac(first_on) for first_on in months)
        return ChartData(
            title=self.tr("What the order book takes of each month"),
            labels=tuple(month_text(first_on) for first_on in months),
            stacked=(Series(self.tr("taken"), taken, TONES[0]),),
            unit="%",
            line=100.0,
        )

    def _fill(self, found: Season, *, is_all: bool) -> None:
        assert self._yard is not None  # as above
        names = {product.id: product.name for product in self._yard.products}
        units = [unit_id for unit_id, _ in found.months[0].by_unit] if found.months else []
        heads = [
            self.tr("Month"), self.tr("Product"), self.tr("9 of 10"), self.tr("5 of 10"), self.tr("1 of 10"),
            self.tr("Ordered"), self.tr("Taken"), self.tr("Limited by"), *units,
        ]  # fmt: skip
        self.table.setColumnCount(len(heads))
        self.table.setHorizontalHeaderLabels(heads)
        self.table.setRowCount(len(found.months))
        for at, row in enumerate(found.months):
            whole = found.taken_frac(row.first_on) if is_all else row.ordered / row.p50 if row.p50 else 0.0
            cells = (
                month_text(row.first_on), names.get(row.product_id, row.product_id), str(row.p10), str(row.p50),
                str(row.p90), str(row.ordered), percent_text(whole), self._limit(row),
                *(str(pieces) for _, pieces in row.by_unit),
            )  # fmt: skip
            for place, text in enumerate(cells):
                item = QTableWidgetItem(text)
                item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{heads[place]}: {text}")
                if place not in (0, 1, 7):
                    item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self.table.setItem(at, place, item)
        self.table.resizeColumnsToContents()
        rows_px = self.table.verticalHeader().length() + self.table.horizontalHeader().sizeHint().height() + 24
        self.table.setMinimumHeight(min(rows_px, 460))

    def _limit(self, row: MonthOutput) -> str:
        return {
            Limit.SUN: self.tr("sun"),
            Limit.MOLD: self.tr("molds"),
            Limit.CREW: self.tr("crew"),
            Limit.FINISHING: self.tr("finishing"),
            Limit.RESIN: self.tr("resin"),
            Limit.TIME: self.tr("time"),
            Limit.SEVERAL: self.tr("several things"),
        }[row.limited_by]

    def showEvent(self, event: QShowEvent) -> None:
        """Begin with the first product when the page comes up for the first time."""
        super().showEvent(event)
        self._begin()

    def _begin(self) -> None:
        if self.isVisible() and self._is_idle and not self._has_begun:
            self._start()

    def _start(self) -> None:
        self._has_begun = True
        self.wanted.emit(self.product.currentData() or "", self.months.currentData())

    def _save(self) -> None:
        button = self.sender()
        if button is not None:
            self.save_wanted.emit(str(button.property("format")))

    def _enable(self) -> None:
        for widget in (self.product, self.months, self.start):
            widget.setEnabled(self._is_idle and not self._is_working)
        self.stop.setEnabled(self._is_working)
        for button in self.savers.values():
            button.setEnabled(self._has_found and not self._is_working)
