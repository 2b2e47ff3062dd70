"""The form of a quote: products, colors, quantities, the wished day and the days on the way."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFormLayout,
    QGridLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSpinBox,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.quotes import Wish
from yardplan.domain.yard import Yard
from yardplan.ui.look import in_order
from yardplan.ui.typed import DayEdit, read_quantity

MOST_LINES = 8
LONGEST_LEAD_DAYS = 365


class WishLine:
    """One product of a quote: what, in which color, how many."""

    def __init__(self, number: int, form: "WishForm") -> None:
        self.product = QComboBox()
        self.product.setAccessibleName(form.tr("Product {n}").format(n=number))
        self.color = QComboBox()
        self.color.setAccessibleName(form.tr("Color {n}").format(n=number))
        self.quantity = QLineEdit("1")
        self.quantity.setAccessibleName(form.tr("Quantity {n}").format(n=number))
        self.quantity.setMaximumWidth(self.quantity.fontMetrics().horizontalAdvance("100,000") + 20)
        self.quantity.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.drop = QToolButton()
        self.drop.setText("✕")
        self.drop.setAccessibleName(form.tr("Leave product {n} out").format(n=number))
        self.drop.setToolTip(self.drop.accessibleName())
        self.widgets: tuple[QWidget, ...] = (self.product, self.color, self.quantity, self.drop)
        for name, widget in zip(("product", "color", "quantity", "drop"), self.widgets, strict=True):
            widget.setObjectName(f"wish_{name}_{number}")


class WishForm(QWidget):
    """What a customer would like to have.

    Signals
    -------
    asked()
        The dates are wanted; see `wishes`.
    changed()
        Something else is in the form.
    """

    asked = Signal()
    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._yard: Yard | None = None
        self._is_idle = True
        self.lines: list[WishLine] = []
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(4)
        self._grid.setColumnStretch(0, 3)
        self._grid.setColumnStretch(1, 1)
        self.more = QPushButton(self.tr("Add a product"))
        self.more.setObjectName("wish_more")
        self.more.clicked.connect(self._add_line)
        self.wish = DayEdit("wish_on", self.tr("Wished day"))
        self.wish.changed.connect(self._tell)
        self.wish.entered.connect(self._ask)
        self.lead_days = QSpinBox()
        self.lead_days.setObjectName("lead_days")
        self.lead_days.setAccessibleName(self.tr("Days on the way to the customer"))
        self.lead_days.setRange(0, LONGEST_LEAD_DAYS)
        self.lead_days.setSuffix(self.tr(" days"))
        self.lead_days.valueChanged.connect(self.changed)
        self.may_move = QCheckBox(self.tr("Work that is promised to nobody may move"))
        self.may_move.setObjectName("may_move")
        self.may_move.toggled.connect(self.changed)
        self.check = QPushButton(self.tr("Check dates"))
        self.check.setObjectName("check_dates")
        self.check.setProperty("kind", "press")
        self.check.clicked.connect(self._ask)
        self._trouble = QLabel()
        self._trouble.setObjectName("wish_trouble")
        self._trouble.setProperty("kind", "trouble")
        self._trouble.setWordWrap(True)
        form = QFormLayout()
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        form.addRow(self.tr("Wished for"), self.wish)
        form.addRow(self.tr("On the way"), self.lead_days)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(self._grid)
        column.addWidget(self.more, 0, Qt.AlignmentFlag.AlignLeft)
        column.addLayout(form)
        column.addWidget(self.may_move)
        column.addWidget(self.check)
        column.addWidget(self._trouble)
        self._add_line()
        self._tell()

    def show_yard(self, yard: Yard) -> None:
        """Offer a yard's products; what is chosen stays chosen where it is still there."""
        self._yard = yard
        for line in self.lines:
            self._fill(line)
        self._tell()

    def show_trouble(self, text: str) -> None:
        """Say why no date can be told."""
        self._trouble.setText(text)
        self._trouble.setVisible(bool(text))

    def set_idle(self, is_idle: bool) -> None:
        """Let be asked while nothing else is."""
        self._is_idle = is_idle
        self._tell()

    @property
    def wishes(self) -> tuple[Wish, ...]:
        """What is in the form; nothing where a quantity is none."""
        found = []
        for line in self.lines:
            pieces = read_quantity(line.quantity.text()).pieces
            if pieces is None or not line.product.currentData() or not line.color.currentText():
                return ()
            found.append(Wish(line.product.currentData(), line.color.currentText(), pieces))
        return tuple(found)

    @property
    def keys_in_order(self) -> tuple[QWidget, ...]:
        """What takes the keys, in the order of the tab key."""
        lines = (widget for line in self.lines for widget in line.widgets)
        return (*lines, self.more, self.wish.line, self.lead_days, self.may_move, self.check)

    def choose(self, number: int, product_id: str, color: str, quantity: str) -> None:
        """Fill in one line, which is added where there is none yet."""
        while len(self.lines) <= number:
            self._add_line()
        line = self.lines[number]
        line.product.setCurrentIndex(line.product.findData(product_id))
        line.color.setCurrentText(color)
        line.quantity.setText(quantity)

    def _add_line(self) -> None:
        if len(self.lines) >= MOST_LINES:
            return
        line = WishLine(len(self.lines) + 1, self)
        for column, widget in enumerate(line.widgets):
            self._grid.addWidget(widget, len(self.lines), column)
        line.product.currentIndexChanged.connect(self._fill_colors)
        line.color.currentIndexChanged.connect(self._tell)
        line.quantity.textChanged.connect(self._tell)
        line.quantity.returnPressed.connect(self._ask)
        line.drop.clicked.connect(self._drop_line)
        self.lines.append(line)
        self._fill(line)
        in_order(*self.keys_in_order)
        self._tell()
        if self.isVisible():
            line.product.setFocus()

    def _drop_line(self) -> None:
        """Take out the line of the button: those below move up, so that numbers stay in order."""
        at = next(ix for ix, line in enumerate(self.lines) if line.drop is self.sender())
        kept = [
            (one.product.currentData(), one.color.currentText(), one.quantity.text())
            for ix, one in enumerate(self.lines)
            if ix != at
        ]
        last = self.lines.pop()
        for widget in last.widgets:
            self._grid.removeWidget(widget)
            widget.deleteLater()
        for number, (product_id, color, quantity) in enumerate(kept):
            self.choose(number, product_id, color, quantity)
        self.lines[min(at, len(self.lines) - 1)].product.setFocus()
        self._tell()

    def _fill(self, line: WishLine) -> None:
        if self._yard is None:
            return
        kept = line.product.currentData()
        line.product.blockSignals(True)
        line.product.clear()
        for product in self._yard.products:
            line.product.addItem(product.name, product.id)
            line.product.setItemData(line.product.count() - 1, product.id, Qt.ItemDataRole.ToolTipRole)
        line.product.setCurrentIndex(max(line.product.findData(kept), 0))
        line.product.blockSignals(False)
        self._fill_color(line)

    def _fill_colors(self) -> None:
        for line in self.lines:
            if line.product is self.sender():
                self._fill_color(line)
        self._tell()

    def _fill_color(self, line: WishLine) -> None:
        if self._yard is None or not line.product.currentData():
            return
        grade, kept = self._yard.product(line.product.currentData()).resin_grade, line.color.currentText()
        line.color.blockSignals(True)
        line.color.clear()
        line.color.addItems(sorted(item.color for item in self._yard.items if item.grade == grade))
        line.color.setCurrentIndex(max(line.color.findText(kept), 0))
        line.color.blockSignals(False)

    def _tell(self) -> None:
        """Say what is wrong in the form as it is typed, and let be asked what can be."""
        troubles = [read_quantity(line.quantity.text()).trouble for line in self.lines] + [self.wish.trouble]
        self.show_trouble("\n".join(filter(None, troubles)))
        self.check.setEnabled(self._is_idle and bool(self.wishes) and not self.wish.trouble)
        self.more.setEnabled(len(self.lines) < MOST_LINES)
        for line in self.lines:
            line.drop.setVisible(len(self.lines) > 1)
        self.changed.emit()

    def _ask(self) -> None:
        if self.check.isEnabled():
            self.asked.emit()
