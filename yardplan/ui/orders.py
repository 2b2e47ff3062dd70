"""The Orders page: what was asked, what the plan makes of it, and the order book edited in place."""

from collections.abc import Callable
from datetime import date

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QTableView,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.orders import Order
from yardplan.domain.yard import Yard
from yardplan.ui.order_cells import OrderDelegate
from yardplan.ui.order_table import DUE, NO_INDEX, OrderModel, OrderRow, Show

MEASURED_ROWS = 100
"""Rows whose cells are looked at for the width of columns; all of thousands would hold the window up."""


class OrdersPage(QWidget):
    """The table with its filters and what can be done with orders.

    Signals
    -------
    order_chosen(str)
        The order of the current row; empty when there is none.
    order_opened(str)
        A row was double-clicked where it cannot be edited, or Enter was pressed on it.
    edited(str, str, str)
        An order's number, a column as it is called in a file of orders, and what is to be there.
    add_wanted(), remove_wanted(str), undo_wanted(), redo_wanted(), import_wanted(), why_wanted(str)
        What was pressed.
    """

    order_chosen = Signal(str)
    order_opened = Signal(str)
    edited = Signal(str, str, str)
    add_wanted = Signal()
    remove_wanted = Signal(str)
    undo_wanted = Signal()
    redo_wanted = Signal()
    import_wanted = Signal()
    why_wanted = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._is_idle, self._read_only = False, ""
        self._undo_words = self._redo_words = ""
        self._model = OrderModel(self)
        self._model.edited.connect(self.edited)
        self.filter = QLineEdit()
        self.filter.setObjectName("filter")
        self.filter.setPlaceholderText(self.tr("Filter: order, customer, product, late, unfinished ..."))
        self.filter.setClearButtonEnabled(True)
        self.filter.setAccessibleName(self.tr("Filter orders"))
        self.filter.textChanged.connect(self._filter)
        self.kind = QComboBox()
        self.kind.setObjectName("filter_kind")
        self.kind.setAccessibleName(self.tr("Which orders are listed"))
        for show, text in (
            (Show.ALL, self.tr("All orders")),
            (Show.LATE, self.tr("Late or unfinished")),
            (Show.PROMISED, self.tr("Promised")),
            (Show.FREE, self.tr("Not promised")),
            (Show.UNPLANNED, self.tr("Not in the plan")),
        ):
            self.kind.addItem(text, show)
        self.kind.currentIndexChanged.connect(self._filter)
        self._count = QLabel()
        self.told = QLabel()
        self.told.setObjectName("order_told")
        self.told.setWordWrap(True)
        self.told.setMinimumHeight(self.told.sizeHint().height())
        self._make_table()
        std = QKeySequence.StandardKey
        self.add = self._press("order_add", self.tr("Add ..."), std.New, self.add_wanted.emit)
        self.remove = self._press("order_remove", self.tr("Take out"), std.Delete, self._remove)
        self.undo = self._press("order_undo", self.tr("Undo"), std.Undo, self.undo_wanted.emit)
        self.redo = self._press("order_redo", self.tr("Redo"), std.Redo, self.redo_wanted.emit)
        self.bring_in = self._press("order_import", self.tr("Bring in a file ..."), std.Open, self.import_wanted.emit)
        self.why = self._press("order_why", self.tr("Why late?"), "Ctrl+E", self._why)
        row = QHBoxLayout()
        row.setContentsMargins(8, 6, 8, 6)
        row.addWidget(self.filter, 1)
        row.addWidget(self.kind)
        row.addWidget(self._count)
        for action in (self.add, self.remove, self.undo, self.redo, self.bring_in, self.why):
            button = QToolButton()
            button.setDefaultAction(action)
            button.setObjectName(action.objectName())
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            row.addWidget(button)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(0)
        self.column.addLayout(row)
        self.column.addWidget(self.table, 1)
        self._empty = QLabel()
        self._empty.setObjectName("message")
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.setWordWrap(True)
        self._empty.hide()
        self.column.addWidget(self._empty, 8)
        foot = QHBoxLayout()
        foot.setContentsMargins(8, 4, 8, 4)
        foot.addWidget(self.told)
        self.column.addLayout(foot)
        self._enable()

    def _make_table(self) -> None:
        self.table = QTableView()
        self.table.setObjectName("orders")
        self.table.setAccessibleName(self.tr("Orders"))
        self.table.setModel(self._model)
        self.table.setSortingEnabled(True)
        self.table.sortByColumn(DUE, Qt.SortOrder.AscendingOrder)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        self._delegate = OrderDelegate(self.table)
        self._delegate.told.connect(self.told.setText)
        self.table.setItemDelegate(self._delegate)
        self.table.setAlternatingRowColors(True)
        self.table.setShowGrid(False)
        self.table.setWordWrap(False)
        self.table.setTabKeyNavigation(False)
        self.table.setFrameShape(QFrame.Shape.NoFrame)
        self.table.verticalHeader().hide()
        head = self.table.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setHighlightSections(False)
        head.setStretchLastSection(True)
        head.setResizeContentsPrecision(MEASURED_ROWS)
        self.table.selectionModel().currentRowChanged.connect(self._current_changed)
        self.table.activated.connect(self._open)

    # What is shown

    @property
    def order_id(self) -> str:
        """The order of the current row, empty where there is none."""
        index = self.table.currentIndex()
        return self._model.row(index.row()).order_id if index.isValid() else ""

    @property
    def order(self) -> Order | None:
        """The order of the current row."""
        index = self.table.currentIndex()
        return self._model.row(index.row()).order if index.isValid() else None

    def show_yard(self, yard: Yard, today: date) -> None:
        """Take the yard whose products orders can be for, and its day."""
        self._delegate.show_yard(yard, today)

    def show_rows(self, rows: tuple[OrderRow, ...]) -> None:
        """List orders; the current one stays current where it is still there."""
        kept, column = self.order_id, max(self.table.currentIndex().column(), 0)
        self._model.show_rows(rows)
        self.table.resizeColumnsToContents()
        self._tell_count()
        self.choose(kept, column)
        self._enable()

    def show_message(self, text: str) -> None:
        """Say where there is no order what to do."""
        self._empty.setText(text)
        self._empty.setVisible(bool(text))

    def choose(self, order_id: str, column: int = 0) -> None:
        """Make an order's row the current one; an empty number leaves no row current."""
        if not order_id:
            self.table.setCurrentIndex(NO_INDEX)
            self.table.clearSelection()
        place = self._model.place_of(order_id)
        if place is not None:
            self.table.setCurrentIndex(self._model.index(place, column))

    def show_news(self, text: str) -> None:
        """Say what was done or could not be."""
        self.told.setText(text)

    def show_steps(self, undo: str, redo: str) -> None:
        """Take what undo and redo would do, in words; empty where there is nothing."""
        self._undo_words, self._redo_words = undo, redo
        self._enable()

    def set_idle(self, is_idle: bool) -> None:
        """Let orders be changed while nothing else is being kept."""
        self._is_idle = is_idle
        self._enable()

    def set_read_only(self, reason: str) -> None:
        """Let nothing be changed, and say why; an empty reason lets all be again."""
        self._read_only = reason
        self._enable()

    # What is pressed

    def _press(self, name: str, text: str, keys: QKeySequence.StandardKey | str, do: Callable[[], object]) -> QAction:
        action = QAction(text, self)
        action.setObjectName(name)
        action.setShortcut(keys)
        action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)  # other pages have their own
        action.triggered.connect(do)
        self.addAction(action)
        return action

    def _enable(self) -> None:
        can = self._is_idle and not self._read_only
        self._model.can_edit = can
        has_row = bool(self.order_id)
        for action, enabled in (
            (self.add, can),
            (self.remove, can and has_row),
            (self.undo, can and bool(self._undo_words)),
            (self.redo, can and bool(self._redo_words)),
            (self.bring_in, can),
            (self.why, has_row),
        ):
            action.setEnabled(enabled)
            action.setToolTip(self._read_only or action.text())
        if not self._read_only:
            self.undo.setToolTip(self.tr("Undo: {what}").format(what=self._undo_words))
            self.redo.setToolTip(self.tr("Redo: {what}").format(what=self._redo_words))

    def _filter(self) -> None:
        kept = self.order_id
        self._model.set_filter(self.filter.text(), self.kind.currentData())
        self._tell_count()
        self.choose(kept)
        self._current_changed()

    def _tell_count(self) -> None:
        self._count.setText(self.tr("{shown} of {all}").format(shown=self._model.rowCount(), all=self._model.all_count))
        if self._model.rowCount():
            self.show_message("")
        elif self._model.all_count:
            self.show_message(self.tr("No order is like that: change the filter."))
        else:
            self.show_message(self.tr("There is no order yet: press “Add ...”, or “Bring in a file ...”."))

    def _current_changed(self) -> None:
        self._enable()
        self.order_chosen.emit(self.order_id)

    def _open(self) -> None:
        if self.table.state() is not QAbstractItemView.State.EditingState:
            self.order_opened.emit(self.order_id)

    def _remove(self) -> None:
        self.remove_wanted.emit(self.order_id)

    def _why(self) -> None:
        self.why_wanted.emit(self.order_id)
