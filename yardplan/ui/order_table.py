"""Orders as a table that sorts, filters and is edited in place."""

from dataclasses import dataclass
from enum import StrEnum
from math import inf
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtWidgets import QWidget

from yardplan.domain.orders import Order
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import order_results
from yardplan.ui.words import ON_TIME, Words
from yardplan.usecases.outlook import Outlook

Index = QModelIndex | QPersistentModelIndex
NO_INDEX = QModelIndex()
QUANTITY, DUE, REASON = 4, 5, 11
COLUMNS = {1: "customer", 2: "product", 3: "color", 4: "quantity", 5: "due", 6: "promise", 7: "priority", 12: "note"}
"""Columns that can be edited, and what they are called in a file of orders."""

ORDER_ROLE = Qt.ItemDataRole.UserRole


class Show(StrEnum):
    """Which orders are listed."""

    ALL = "all"
    LATE = "late"
    """Late or unfinished."""
    PROMISED = "promised"
    FREE = "free"
    """Not promised."""
    UNPLANNED = "unplanned"
    """Nothing of it is in the plan."""


@dataclass(frozen=True)
class OrderRow:
    """One order as it is listed: each cell's words and what it is sorted by."""

    order: Order
    cells: tuple[str, ...]
    keys: tuple[Any, ...]
    shows: frozenset[Show]

    @property
    def order_id(self) -> str:
        """The order's number."""
        return self.order.id


def order_rows(outlook: Outlook, stored: StoredPlan | None, words: Words) -> tuple[OrderRow, ...]:
    """Return a row for each open order; without a plan the columns about it stay empty."""
    results, blocked, chances = {}, {}, {}
    if stored:
        chances = {row.order_id: row.chance_frac for row in stored.risk.orders} if stored.risk else {}
        results = {row.order_id: row for row in order_results(stored.outcome.plan, outlook.orders, outlook.yard)}
        blocked = {row.order_id: words.reason(row) for row in stored.outcome.blocked}
    rows = []
    for order in outlook.orders:
        result = results.get(order.id)
        finish_slot = result.finish_slot if result else None
        state = words.state(result, order) if result else ""
        chance = chances.get(order.id)
        severity = (result.pieces_missing > 0, result.late_slots) if result else (False, 0)
        cells = (
            order.id,
            order.customer,
            words.product(order.product_id),
            order.color,
            str(order.quantity),
            words.due(order.due_at),
            words.due(order.promise_at),
            str(order.priority),
            words.day_time(finish_slot) if finish_slot is not None else "",
            words.chance(chance) if chance is not None else "",
            state,
            blocked.get(order.id, ""),
            order.note,
        )
        keys = (
            order.id,
            order.customer.casefold(),
            cells[2].casefold(),
            order.color,
            order.quantity,
            order.due_at.timestamp(),
            order.promise_at.timestamp() if order.promise_at else inf,
            order.priority,
            float(finish_slot) if finish_slot is not None else inf,
            chance if chance is not None else inf,
            severity,
            cells[REASON],
            order.note.casefold(),
        )
        shows = {Show.ALL, Show.PROMISED if order.promise_at else Show.FREE}
        if result is not None and result.state != ON_TIME:
            shows.add(Show.LATE)
        if result is None or result.pieces_planned == 0:
            shows.add(Show.UNPLANNED)
        rows.append(OrderRow(order, cells, keys, frozenset(shows)))
    return tuple(rows)


class OrderModel(QAbstractTableModel):
    """Rows of orders; sorting and filtering are done here, because thousands of rows are too many for one by one.

    Signals
    -------
    edited(str, str, str)
        An order's number, the name of a column in a file of orders, and what is to be there.
    """

    edited = Signal(str, str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._all: tuple[OrderRow, ...] = ()
        self._rows: list[OrderRow] = []
        self._text, self._show = "", Show.ALL
        self._sorted_by, self._sense = DUE, Qt.SortOrder.AscendingOrder
        self.can_edit = False
        self._heads = (
            self.tr("Order"),
            self.tr("Customer"),
            self.tr("Product"),
            self.tr("Color"),
            self.tr("Quantity"),
            self.tr("Due"),
            self.tr("Promised"),
            self.tr("Priority"),
            self.tr("Finish"),
            self.tr("Chance"),
            self.tr("State"),
            self.tr("Reason"),
            self.tr("Note"),
        )

    def show_rows(self, rows: tuple[OrderRow, ...]) -> None:
        """Take new rows."""
        self.beginResetModel()
        self._all = rows
        self._pick()
        self.endResetModel()

    def set_filter(self, text: str, show: Show) -> None:
        """List only orders of a kind that have a text in any cell."""
        self.beginResetModel()
        self._text, self._show = text.casefold(), show
        self._pick()
        self.endResetModel()

    @property
    def all_count(self) -> int:
        """How many orders there are, listed or not."""
        return len(self._all)

    def row(self, at: int) -> OrderRow:
        """Return a row by its position."""
        return self._rows[at]

    def place_of(self, order_id: str) -> int | None:
        """Return the position of an order, None where it is not listed."""
        return next((ix for ix, row in enumerate(self._rows) if row.order_id == order_id), None)

    def rowCount(self, parent: Index = NO_INDEX) -> int:
        """Return how many orders are listed."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = NO_INDEX) -> int:
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(self._heads)

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Tell which cells can be edited."""
        flags = super().flags(index)
        return flags | Qt.ItemFlag.ItemIsEditable if self.can_edit and index.column() in COLUMNS else flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a cell's words, or what the role asks."""
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return row.cells[index.column()]
        if role == Qt.ItemDataRole.TextAlignmentRole and index.column() == QUANTITY:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{self._heads[index.column()]}: {row.cells[index.column()]}"
        return row.order if role == ORDER_ROLE else None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Ask for a cell to be changed; it shows the old words until that is done."""
        if not index.isValid() or role != Qt.ItemDataRole.EditRole or index.column() not in COLUMNS:
            return False
        self.edited.emit(self._rows[index.row()].order_id, COLUMNS[index.column()], str(value))
        return True

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a column's head."""
        if orientation is Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return self._heads[section]
        return None

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by the values of a column, orders with the same one by their numbers."""
        self.layoutAboutToBeChanged.emit()
        old = self.persistentIndexList()
        ids = [self._rows[index.row()].order_id for index in old]
        self._sorted_by, self._sense = column, order
        self._sort()
        places = {row.order_id: ix for ix, row in enumerate(self._rows)}
        self.changePersistentIndexList(
            old, [self.index(places[ident], index.column()) for ident, index in zip(ids, old, strict=True)]
        )
        self.layoutChanged.emit()

    def _pick(self) -> None:
        self._rows = [
            row
            for row in self._all
            if self._show in row.shows and (not self._text or any(self._text in cell.casefold() for cell in row.cells))
        ]
        self._sort()

    def _sort(self) -> None:
        if 0 <= self._sorted_by < len(self._heads):
            self._rows.sort(
                key=lambda row: (row.keys[self._sorted_by], row.order_id),
                reverse=self._sense is Qt.SortOrder.DescendingOrder,
            )
