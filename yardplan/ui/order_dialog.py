"""A form for one new order."""

from collections.abc import Iterable
from datetime import date
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QComboBox, QDialog, QDialogButtonBox, QFormLayout, QLabel, QLineEdit, QWidget

from yardplan.domain.yard import Yard
from yardplan.ui.order_cells import CellEdit, read_cell


class AddOrder(QDialog):
    """What a new order needs; nothing is added before it is pressed.

    Signals
    -------
    wanted(str, object)
        The order's number, and its values by column as in a file of orders.
    """

    wanted = Signal(str, object)

    def __init__(self, yard: Yard, today: date, taken: Iterable[str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("add_order")
        self.setWindowTitle(self.tr("Add an order"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._yard, self._taken = yard, set(taken)
        self.number = QLineEdit(next_number(self._taken))
        self.number.setObjectName("new_number")
        self.product, self.color = QComboBox(), QComboBox()
        for product in yard.products:
            self.product.addItem(product.name, product.id)
        self.product.currentIndexChanged.connect(self._fill_colors)
        self.lines = {
            name: CellEdit(partial(read_cell, name, today=today), label, self)
            for name, label in (
                ("customer", self.tr("Customer")),
                ("quantity", self.tr("Quantity")),
                ("due", self.tr("Due")),
                ("promise", self.tr("Promised")),
                ("priority", self.tr("Priority")),
                ("note", self.tr("Note")),
            )
        }
        self.lines["priority"].setText("1")
        self._told = QLabel()
        self._told.setObjectName("new_told")
        self._told.setProperty("kind", "trouble")
        self._told.setWordWrap(True)
        self._told.setMinimumWidth(360)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
        self.ok = buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.ok.setText(self.tr("Add"))
        self.ok.setObjectName("new_add")
        for button in buttons.buttons():
            button.setIcon(QIcon())
        buttons.accepted.connect(self._add)
        buttons.rejected.connect(self.reject)
        form = QFormLayout(self)
        for label, widget in (
            (self.tr("Order"), self.number),
            (self.tr("Customer"), self.lines["customer"]),
            (self.tr("Product"), self.product),
            (self.tr("Color"), self.color),
            (self.tr("Quantity"), self.lines["quantity"]),
            (self.tr("Due"), self.lines["due"]),
            (self.tr("Promised"), self.lines["promise"]),
            (self.tr("Priority"), self.lines["priority"]),
            (self.tr("Note"), self.lines["note"]),
        ):
            widget.setAccessibleName(label)
            form.addRow(label, widget)
        form.addRow(self._told)
        form.addRow(buttons)
        for name, line in self.lines.items():
            line.setObjectName(f"new_{name}")
            line.textChanged.connect(self._tell)
        self.product.setObjectName("new_product")
        self.color.setObjectName("new_color")
        self.number.textChanged.connect(self._tell)
        self._fill_colors()
        self._tell()

    def show_trouble(self, text: str) -> None:
        """Say why the order could not be added."""
        self._told.setText(text)

    def _fill_colors(self) -> None:
        grade = self._yard.product(self.product.currentData()).resin_grade
        self.color.clear()
        self.color.addItems(sorted(item.color for item in self._yard.items if item.grade == grade))

    def _tell(self) -> None:
        """Say what is wrong or missing, else what the days mean in words."""
        number = self.number.text().strip()
        cells = {name: line.cell for name, line in self.lines.items()}
        wrong = [cells[name].trouble for name in cells if cells[name].trouble and self.lines[name].text()]
        if number in self._taken:
            wrong.insert(0, self.tr("There is an order {number} already.").format(number=number))
        days = [cells[name].words for name in ("due", "promise") if self.lines[name].text() and cells[name].words]
        self._told.setText("\n".join(wrong or days))
        self._told.setProperty("kind", "trouble" if wrong else "")
        self._told.style().unpolish(self._told)
        self._told.style().polish(self._told)
        self.ok.setEnabled(
            bool(number) and number not in self._taken and not any(one.trouble for one in cells.values())
        )

    def _add(self) -> None:
        cells = {name: line.cell.text for name, line in self.lines.items()}
        cells["product"], cells["color"] = self.product.currentData(), self.color.currentText()
        self.wanted.emit(self.number.text().strip(), cells)


def next_number(taken: Iterable[str]) -> str:
    """Return a number after the highest one that ends in digits, such as ``Y-1026`` after ``Y-1025``."""
    best: tuple[int, str, int] | None = None
    for name in taken:
        digits = len(name) - len(name.rstrip("0123456789"))
        if digits:
            found = (int(name[-digits:]), name[:-digits], digits)
            best = max(best, found) if best else found
    return f"{best[1]}{best[0] + 1:0{best[2]}d}" if best else "1"
