"""How a cell of an order is typed: read by the locale, told back in words, refused where it cannot be."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, time
from functools import partial
from typing import Any

from PySide6.QtCore import QAbstractItemModel, QCoreApplication, QEvent, QLocale, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QLineEdit, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from yardplan.domain.orders import Order
from yardplan.domain.slots import zone
from yardplan.domain.yard import Yard
from yardplan.exchange.cells import END_OF_DAY
from yardplan.ui.dates import clock_text, long_day_text
from yardplan.ui.order_table import COLUMNS, ORDER_ROLE, Index
from yardplan.ui.typed import read_day, read_quantity


@dataclass(frozen=True)
class Cell:
    """What was typed: its text in a file of orders, and in words; or what is wrong with it."""

    text: str = ""
    words: str = ""
    trouble: str = ""


def read_cell(column: str, text: str, today: date) -> Cell:
    """Return what a text means in a column."""
    tr = QCoreApplication.translate
    text = text.strip()
    if column == "quantity":
        found = read_quantity(text)
        told = tr("order_cells", "{n} pieces").format(n=QLocale().toString(found.pieces or 0))
        return Cell(trouble=found.trouble) if found.trouble else Cell(str(found.pieces), told)
    if column == "priority":
        fits = re.fullmatch("[1-9]", text) is not None
        told = tr("order_cells", "Priority is 1 to 9, the weight of a day late.")
        return Cell(text, told) if fits else Cell(trouble=told)
    if column not in ("due", "promise"):
        return Cell(text, text)
    if not text:
        told = tr("order_cells", "An order needs a due date.")
        return Cell(trouble=told) if column == "due" else Cell("", tr("order_cells", "Nothing is promised."))
    return _read_instant(text, today)


def _read_instant(text: str, today: date) -> Cell:
    """Return a day, which means its end, or a day and a time."""
    with_time = re.fullmatch(r"(.*\S)\s+(\d{1,2}):(\d{2})", text)
    day = read_day(with_time.group(1) if with_time else text, today)
    if day.on is None:
        return Cell(trouble=day.trouble)
    told = long_day_text(day.on)
    if with_time is None:
        return Cell(day.on.isoformat(), told)
    hour, minute = int(with_time.group(2)), int(with_time.group(3))
    if hour > 23 or minute > 59:
        tr = QCoreApplication.translate
        return Cell(trouble=tr("order_cells", "There is no such time as {time}.").format(time=text.split()[-1]))
    at = time(hour, minute)
    return Cell(f"{day.on.isoformat()} {at:%H:%M}", f"{told}, {clock_text(at)}")


class CellEdit(QLineEdit):
    """A line for one cell.

    Signals
    -------
    told(str)
        What the text means, or what is wrong with it.
    """

    told = Signal(str)

    def __init__(self, read: Callable[[str], Cell], name: str, parent: QWidget) -> None:
        super().__init__(parent)
        self._read = read
        self.setObjectName("cell_edit")
        self.setAccessibleName(name)
        self.textEdited.connect(self._tell)

    @property
    def cell(self) -> Cell:
        """What is typed."""
        return self._read(self.text())

    def _tell(self) -> None:
        found = self.cell
        self.setAccessibleDescription(found.trouble or found.words)
        self.told.emit(found.trouble or found.words)


class OrderDelegate(QStyledItemDelegate):
    """Makes the editors of orders' cells; one with something wrong in it stays open.

    Signals
    -------
    told(str)
        What is typed means this, or this is wrong with it; empty when an editor opens.
    """

    told = Signal(str)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._yard: Yard | None = None
        self._today = date(2000, 1, 1)

    def show_yard(self, yard: Yard, today: date) -> None:
        """Take the yard whose products are offered, and its day."""
        self._yard, self._today = yard, today

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        """Return a list of products or colors, or a line."""
        name = str(index.model().headerData(index.column(), Qt.Orientation.Horizontal))
        column = COLUMNS[index.column()]
        self.told.emit("")
        if column in ("product", "color"):
            choice = QComboBox(parent)
            choice.setAccessibleName(name)
            choice.setObjectName("cell_choice")
            return choice
        line = CellEdit(partial(read_cell, column, today=self._today), name, parent)
        line.told.connect(self.told)
        return line

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        """Fill in what the order has."""
        order: Order = index.data(ORDER_ROLE)
        column = COLUMNS[index.column()]
        if isinstance(editor, QComboBox) and self._yard is not None:
            if column == "product":
                for product in self._yard.products:
                    editor.addItem(product.name, product.id)
                editor.setCurrentIndex(editor.findData(order.product_id))
            else:
                grade = self._yard.product(order.product_id).resin_grade
                for color in sorted(item.color for item in self._yard.items if item.grade == grade):
                    editor.addItem(color, color)
                editor.setCurrentIndex(editor.findData(order.color))
        elif isinstance(editor, CellEdit):
            editor.setText(self._text(order, column))
            editor.selectAll()

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: Index) -> None:
        """Hand on what was typed where it differs and can be."""
        order: Order = index.data(ORDER_ROLE)
        column = COLUMNS[index.column()]
        if isinstance(editor, QComboBox):
            if editor.currentData() != (order.product_id if column == "product" else order.color):
                model.setData(index, editor.currentData())
        elif isinstance(editor, CellEdit) and editor.text() != self._text(order, column) and not editor.cell.trouble:
            model.setData(index, editor.cell.text)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep an editor open while what is typed cannot be."""
        enters = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Tab, Qt.Key.Key_Backtab)
        if isinstance(watched, CellEdit) and isinstance(event, QKeyEvent) and event.type() is QEvent.Type.KeyPress:
            trouble = watched.cell.trouble
            if event.key() in enters and trouble:
                self.told.emit(trouble)
                return True
        return super().eventFilter(watched, event)

    def _text(self, order: Order, column: str) -> str:
        """Return what stands in an editor at first: days as in a file of orders, numbers by the locale."""
        if column == "quantity":
            return QLocale().toString(order.quantity)
        if column in ("due", "promise") and self._yard is not None:
            at = order.due_at if column == "due" else order.promise_at
            return END_OF_DAY.write(at, zone(self._yard.site.tz)) if at else ""
        values: dict[str, Any] = {"customer": order.customer, "priority": order.priority, "note": order.note}
        return str(values[column])
