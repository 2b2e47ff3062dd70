"""The Orders page: what was asked, what the plan makes of it."""

from dataclasses import dataclass
from math import inf
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import order_results
from yardplan.ui.words import Words
from yardplan.usecases.outlook import Outlook

Index = QModelIndex | QPersistentModelIndex
NO_INDEX = QModelIndex()
QUANTITY, DUE = 4, 5


@dataclass(frozen=True)
class OrderRow:
    """One order as it is listed: each cell's words and what it is sorted by."""

    order_id: str
    cells: tuple[str, ...]
    keys: tuple[Any, ...]


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
            words.day_time(finish_slot) if finish_slot is not None else "",
            words.chance(chance) if chance is not None else "",
            state,
            blocked.get(order.id, ""),
        )
        keys = (
            order.id,
            order.customer.casefold(),
            cells[2].casefold(),
            order.color,
            order.quantity,
            order.due_at.timestamp(),
            order.promise_at.timestamp() if order.promise_at else inf,
            float(finish_slot) if finish_slot is not None else inf,
            chance if chance is not None else inf,
            severity,
            cells[10],
        )
        rows.append(OrderRow(order.id, cells, keys))
    return tuple(rows)


class OrderModel(QAbstractTableModel):
    """Frozen rows as a table; new ones replace all."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[OrderRow, ...] = ()
        self._heads = (
            self.tr("Order"),
            self.tr("Customer"),
            self.tr("Product"),
            self.tr("Color"),
            self.tr("Quantity"),
            self.tr("Due"),
            self.tr("Promised"),
            self.tr("Finish"),
            self.tr("Chance"),
            self.tr("State"),
            self.tr("Reason"),
        )

    def show_rows(self, rows: tuple[OrderRow, ...]) -> None:
        """Take new rows."""
        self.beginResetModel()
        self._rows = rows
        self.endResetModel()

    def row(self, at: int) -> OrderRow:
        """Return a row by its position."""
        return self._rows[at]

    def rowCount(self, parent: Index = NO_INDEX) -> int:
        """Return how many orders there are."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = NO_INDEX) -> int:
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(self._heads)

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
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a column's head."""
        if orientation is Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return self._heads[section]
        return None


class _Sorted(QSortFilterProxyModel):
    def lessThan(self, left: Index, right: Index) -> bool:
        model = self.sourceModel()
        if not isinstance(model, OrderModel):
            return super().lessThan(left, right)
        one, two = model.row(left.row()), model.row(right.row())
        return bool((one.keys[left.column()], one.order_id) < (two.keys[right.column()], two.order_id))


class OrdersPage(QWidget):
    """The table with its filter.

    Signals
    -------
    order_chosen(str)
        The order of the current row; empty when there is none.
    order_opened(str)
        A row was double-clicked, or Enter was pressed on it.
    """

    order_chosen = Signal(str)
    order_opened = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = OrderModel(self)
        self._sorted = _Sorted(self)
        self._sorted.setSourceModel(self._model)
        self._sorted.setFilterKeyColumn(-1)
        self._sorted.setFilterCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.filter = QLineEdit()
        self.filter.setObjectName("filter")
        self.filter.setPlaceholderText(self.tr("Filter: order, customer, product, late, unfinished ..."))
        self.filter.setClearButtonEnabled(True)
        self.filter.setAccessibleName(self.tr("Filter orders"))
        self.filter.textChanged.connect(self._filter)
        self._count = QLabel()
        self.table = QTableView()
        self.table.setObjectName("orders")
        self.table.setAccessibleName(self.tr("Orders"))
        self.table.setModel(self._sorted)
        self.table.setSortingEnabled(True)
        self.table.sortByColumn(DUE, Qt.SortOrder.AscendingOrder)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setAlternatingRowColors(True)
        self.table.setShowGrid(False)
        self.table.setWordWrap(False)
        self.table.setTabKeyNavigation(False)
        self.table.setFrameShape(QFrame.Shape.NoFrame)
        self.table.verticalHeader().hide()
        self.table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.table.horizontalHeader().setHighlightSections(False)
        self.table.horizontalHeader().setStretchLastSection(True)
        self.table.selectionModel().currentRowChanged.connect(self._current_changed)
        self.table.activated.connect(self._open)
        row = QHBoxLayout()
        row.setContentsMargins(8, 6, 8, 6)
        row.addWidget(self.filter, 1)
        row.addWidget(self._count)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(row)
        column.addWidget(self.table, 1)
        self.setFocusProxy(self.table)

    @property
    def order_id(self) -> str:
        """The order of the current row, empty where there is none."""
        index = self.table.currentIndex()
        return self._model.row(self._sorted.mapToSource(index).row()).order_id if index.isValid() else ""

    def show_rows(self, rows: tuple[OrderRow, ...]) -> None:
        """List orders; the current one stays current where it is still there."""
        kept = self.order_id
        self._model.show_rows(rows)
        self.table.resizeColumnsToContents()
        self._tell_count()
        self.choose(kept)

    def choose(self, order_id: str) -> None:
        """Make an order's row the current one; an empty number leaves no row current."""
        if not order_id:
            self.table.setCurrentIndex(NO_INDEX)
            self.table.clearSelection()
        for at in range(self._sorted.rowCount()):
            index = self._sorted.index(at, 0)
            if self._model.row(self._sorted.mapToSource(index).row()).order_id == order_id:
                self.table.setCurrentIndex(index)
                return

    def _filter(self, text: str) -> None:
        self._sorted.setFilterFixedString(text)
        self._tell_count()

    def _tell_count(self) -> None:
        self._count.setText(
            self.tr("{shown} of {all}").format(shown=self._sorted.rowCount(), all=self._model.rowCount())
        )

    def _current_changed(self) -> None:
        self.order_chosen.emit(self.order_id)

    def _open(self) -> None:
        self.order_opened.emit(self.order_id)
