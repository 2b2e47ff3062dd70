"""One table of a yard's draft: its rows in a view, edited in place, added, copied and removed."""

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import (
    QAbstractItemModel,
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHBoxLayout,
    QPushButton,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from yardplan.exchange.rows import Table
from yardplan.exchange.yard_draft import BLANK, YardDraft, choices, owner_column, title
from yardplan.ui.cell_editors import NUMBERS, CellEditor
from yardplan.ui.yard_units import shown_cell
from yardplan.ui.yard_words import YardWords

Index = QModelIndex | QPersistentModelIndex
NO_INDEX = QModelIndex()
Place = tuple[str, int, str]
"""A cell: file of its table, row from 0, column; a column of "" is the row as a whole."""
SIGN_PX = 14
Problems = Mapping[Place, str]


class TableModel(QAbstractTableModel):
    """The rows of a table, or of those parts of it that belong to one row of another table.

    Signals
    -------
    typed(int, str, str)
        Row of the draft, column and new text.
    """

    typed = Signal(int, str, str)

    def __init__(self, table: Table, words: YardWords, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        owner = owner_column(table)
        self.table, self.draft = table, BLANK
        self.columns = tuple(column for column in table.columns if column.name != owner)
        self.rows: tuple[int, ...] = ()
        self._heads = tuple(words.column(table, column.name) for column in self.columns)
        self._places = {column.name: ix for ix, column in enumerate(table.columns)}
        self._owner_at = self._places.get(owner, -1)
        self._problems: Problems = {}
        self._sign = QIcon()

    def show_rows(self, draft: YardDraft, problems: Problems, owner: str = "") -> None:
        """Take a draft and what is wrong with it; parts are those of the row `owner`."""
        found = draft.rows(self.table)
        rows = tuple(ix for ix, cells in enumerate(found) if self._owner_at < 0 or cells[self._owner_at] == owner)
        same = rows == self.rows
        if not same:
            self.beginResetModel()
        self.draft, self.rows, self._problems = draft, rows, problems
        if same and rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(rows) - 1, len(self.columns) - 1))
        elif not same:
            self.endResetModel()

    def set_sign(self, sign: QIcon) -> None:
        """Take the sign of cells that must be looked at."""
        self._sign = sign

    def problem(self, row: int, column: str) -> str:
        """Return what is wrong with a cell of the draft, empty where nothing is."""
        return self._problems.get((self.table.file, row, column), "")

    def _problem_of_row(self, row: int) -> str:
        """Return what is wrong with a row as a whole, or with one of its cells, which may be out of sight."""
        cells = (self.problem(row, column.name) for column in self.columns)
        return self.problem(row, "") or next((told for told in cells if told), "")

    def rowCount(self, parent: Index = NO_INDEX) -> int:
        """Return how many rows there are."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = NO_INDEX) -> int:
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(self.columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a cell's text, or what the role asks."""
        if not index.isValid():
            return None
        row, column = self.rows[index.row()], self.columns[index.column()]
        text = self.draft.rows(self.table)[row][self._places[column.name]]
        problem = self.problem(row, column.name) or (self._problem_of_row(row) if index.column() == 0 else "")
        if role == Qt.ItemDataRole.EditRole:
            return text
        text = shown_cell(column.name, text)
        if role == Qt.ItemDataRole.DisplayRole:
            return text
        if role == Qt.ItemDataRole.ToolTipRole:
            return problem or text
        if role == Qt.ItemDataRole.DecorationRole:
            return self._sign if problem else None
        if role == Qt.ItemDataRole.TextAlignmentRole and column.kind in NUMBERS:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.AccessibleTextRole:
            told = f"{self._heads[index.column()]}: {text}"
            return f"{told}; {problem}" if problem else told
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a column's head, above numbers at their side."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._heads[section]
        if role == Qt.ItemDataRole.TextAlignmentRole and self.columns[section].kind in NUMBERS:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Return that every cell can be edited."""
        return super().flags(index) | Qt.ItemFlag.ItemIsEditable

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Tell of a new text; the draft that comes back shows it."""
        if role != Qt.ItemDataRole.EditRole or str(value).strip() == index.data(Qt.ItemDataRole.EditRole):
            return False
        self.typed.emit(self.rows[index.row()], self.columns[index.column()].name, str(value))
        return True


class _CellDelegate(QStyledItemDelegate):
    """Edits cells in place by the editors of the form."""

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        model = index.model()
        assert isinstance(model, TableModel)
        column = model.columns[index.column()]
        head = str(model.headerData(index.column(), Qt.Orientation.Horizontal))
        editor = CellEditor(column, head, parent)
        editor.setAutoFillBackground(True)
        editor.left.connect(self._end)
        editor.set_choices(choices(model.draft, model.table, model.rows[index.row()], column))
        return editor

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        if isinstance(editor, CellEditor) and not editor.line.isModified():
            editor.set_text(str(index.data(Qt.ItemDataRole.EditRole)))
            editor.line.selectAll()

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: Index) -> None:
        if isinstance(editor, CellEditor):
            model.setData(index, editor.text(), Qt.ItemDataRole.EditRole)

    def _end(self) -> None:
        editor = self.sender()
        if isinstance(editor, CellEditor):
            self.commitData.emit(editor)
            self.closeEditor.emit(editor)

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        editor.setGeometry(option.rect)


class TableEditor(QWidget):
    """A table with its buttons.

    Signals
    -------
    changed(object, str)
        A new draft, and in words what was done.
    row_chosen(int)
        Row of the draft that is the current one, -1 for none.
    """

    changed = Signal(object, str)
    row_chosen = Signal(int)

    def __init__(self, table: Table, words: YardWords, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table = table
        self._words, self._owner = words, ""
        self._is_part = bool(owner_column(table))
        self._goes_to_new = False
        name = title(table)
        self.model = TableModel(table, words, self)
        self.model.typed.connect(self._type)
        self.view = QTableView()
        self.view.setObjectName(f"table_{name}")
        self.view.setAccessibleName(words.title(table))
        self.view.setModel(self.model)
        self.view.setItemDelegate(_CellDelegate(self.view))
        self.view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.view.setAlternatingRowColors(True)
        self.view.setShowGrid(False)
        self.view.setWordWrap(False)
        self.view.setTabKeyNavigation(False)
        self.view.setFrameShape(QFrame.Shape.NoFrame)
        self.view.setIconSize(QSize(SIGN_PX, SIGN_PX))
        self.view.verticalHeader().hide()
        self.view.horizontalHeader().setHighlightSections(False)
        self.view.horizontalHeader().setStretchLastSection(True)
        self.view.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.view.selectionModel().currentRowChanged.connect(self._choose)
        self.add = self._button(self.tr("Add"), self.tr("Add a row to {table}"), f"add_{name}", self._add)
        self.copy = self._button(
            self.tr("Duplicate"), self.tr("Duplicate the chosen row of {table}"), f"copy_{name}", self._copy
        )
        self.remove = self._button(
            self.tr("Remove"), self.tr("Remove the chosen row of {table}"), f"remove_{name}", self._remove
        )
        self.buttons = QHBoxLayout()
        self.buttons.setContentsMargins(8, 4, 8, 4)
        for button in (self.add, self.copy, self.remove):
            self.buttons.addWidget(button)
        self.buttons.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self.buttons)
        column.addWidget(self.view, 1)
        self.setFocusProxy(self.view)
        self._enable()

    @property
    def row(self) -> int:
        """The current row of the draft, -1 where there is none."""
        at = self.view.currentIndex().row()
        return self.model.rows[at] if 0 <= at < len(self.model.rows) else -1

    def show_rows(self, draft: YardDraft, problems: Problems, owner: str = "") -> None:
        """Show a draft; the current row stays current where it is still there, a new one becomes current."""
        at, column = self.view.currentIndex().row(), max(self.view.currentIndex().column(), 0)
        before, was_owner, self._owner = self.model.rowCount(), self._owner, owner
        first = not before
        self.model.show_rows(draft, problems, owner)
        count = self.model.rowCount()
        if first or was_owner != owner:
            self.view.resizeColumnsToContents()
            self.view.setColumnWidth(0, self.view.columnWidth(0) + SIGN_PX + 6)
            at = 0
        if count > before and self._goes_to_new:
            at, column = count - 1, 0
        self._goes_to_new = False
        if count and not self.view.currentIndex().isValid():
            self.view.setCurrentIndex(self.model.index(min(max(at, 0), count - 1), column))
        elif count and self.view.currentIndex().row() != at >= 0:
            self.view.setCurrentIndex(self.model.index(min(at, count - 1), column))
        self._enable()

    def choose(self, row: int, column: str = "") -> None:
        """Make a cell of the draft the current one."""
        if row in self.model.rows:
            names = [found.name for found in self.model.columns]
            at = names.index(column) if column in names else 0
            index = self.model.index(self.model.rows.index(row), at)
            self.view.setCurrentIndex(index)
            self.view.scrollTo(index)

    def _button(self, text: str, name: str, object_name: str, do: Any) -> QPushButton:
        button = QPushButton(text)
        button.setObjectName(object_name)
        button.setAccessibleName(name.format(table=self._words.title(self.table)))
        button.clicked.connect(do)
        return button

    def _type(self, row: int, column: str, text: str) -> None:
        told = self.tr("{column} of {table}").format(
            column=self._words.column(self.table, column), table=self._words.title(self.table)
        )
        self.changed.emit(self.model.draft.with_cell(self.table, row, column, text), told)

    def _add(self) -> None:
        self._goes_to_new = True
        told = self.tr("new row in {table}").format(table=self._words.title(self.table))
        self.changed.emit(self.model.draft.with_added(self.table, self._owner), told)

    def _copy(self) -> None:
        self._goes_to_new = True
        told = self.tr("copied row in {table}").format(table=self._words.title(self.table))
        self.changed.emit(self.model.draft.with_copy(self.table, self.row), told)

    def _remove(self) -> None:
        told = self.tr("removed row of {table}").format(table=self._words.title(self.table))
        self.changed.emit(self.model.draft.without(self.table, self.row), told)

    def _choose(self) -> None:
        self._enable()
        self.row_chosen.emit(self.row)

    def _enable(self) -> None:
        self.add.setEnabled(not self._is_part or bool(self._owner))
        self.copy.setEnabled(self.row >= 0)
        self.remove.setEnabled(self.row >= 0)
