"""One section of the Yard page: a table, the form of its current row, and the parts of that row."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QHBoxLayout, QSplitter, QTabWidget, QVBoxLayout, QWidget

from yardplan.domain.yard import Yard
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.rows import Table
from yardplan.exchange.yard_draft import BLANK, YardDraft, owner_column
from yardplan.ui.field_panel import FieldPanel
from yardplan.ui.palette import Palette
from yardplan.ui.yard_form import RowForm
from yardplan.ui.yard_table import Place, TableEditor
from yardplan.ui.yard_words import YardWords

FORM_PX = 350
TABLE_PX = 190


class Section(QWidget):
    """A section. The site has one row and needs no table.

    Signals
    -------
    changed(object, str)
        A new draft, and in words what was done.
    """

    changed = Signal(object, str)

    def __init__(self, table: Table, words: YardWords, colors: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table = table
        self._words = words
        self._draft, self._problems = BLANK, dict[Place, str]()
        self._yard: Yard | None = None
        self.main = TableEditor(table, words) if table is not tables.SITE else None
        self.form = RowForm(table, words)
        self.form.typed.connect(self._type)
        self.parts = {part: TableEditor(part, words) for part in tables.PARTS.get(table, ())}
        self.field = FieldPanel(colors, words) if table is tables.UNITS else None
        self.tabs = QTabWidget()
        self.tabs.setObjectName("parts")
        self.tabs.setAccessibleName(self.tr("Parts of the chosen row of {table}").format(table=words.title(table)))
        self.tabs.setDocumentMode(True)
        self._make()

    def show_draft(self, draft: YardDraft, problems: dict[Place, str]) -> None:
        """Show a draft and what is wrong with it."""
        self._draft, self._problems = draft, problems
        if self.main is not None:
            self.main.show_rows(draft, problems)
        self._show_row()

    def show_yard(self, yard: Yard | None) -> None:
        """Take the last yard that a draft came to, which is what can be drawn."""
        self._yard = yard
        self._show_field()

    def go(self, place: Place) -> None:
        """Give the keys to a cell."""
        file, row, column = place
        part = next((found for found in self.parts if found.file == file), None)
        if part is None:
            if self.main is not None:
                self.main.choose(row, column)
            self.form.focus_cell(column)
            return
        at = [found.name for found in part.columns].index(owner_column(part))
        owner = self._draft.rows(part)[row][at]
        names = [cells[0] for cells in self._draft.rows(self.table)]
        if self.main is not None and owner in names:
            self.main.choose(names.index(owner))
        self.tabs.setCurrentWidget(self.parts[part])
        self.parts[part].choose(row, column)
        self.parts[part].view.setFocus()

    def set_colors(self, colors: Palette, sign: QIcon) -> None:
        """Take a theme's colors, and the sign of cells that must be looked at."""
        for editor in (self.main, *self.parts.values()):
            if editor is not None:
                editor.model.set_sign(sign)
        if self.field is not None:
            self.field.set_colors(colors)

    @property
    def owner(self) -> str:
        """The name of the current row, empty where there is none."""
        row = self.main.row if self.main is not None else 0
        rows = self._draft.rows(self.table)
        return rows[row][0] if 0 <= row < len(rows) else ""

    def _make(self) -> None:
        left = QSplitter(Qt.Orientation.Vertical)
        left.setObjectName("rows_and_parts")
        left.setChildrenCollapsible(False)
        if self.main is not None:
            self.main.changed.connect(self.changed)
            self.main.row_chosen.connect(self._show_row)
            left.addWidget(self.main)
        if self.field is not None:
            self.field.changed.connect(self.changed)
            self.field.mirror_chosen.connect(self._choose_mirror)
            self.tabs.addTab(self.field, self.tr("Field"))
        for part, editor in self.parts.items():
            editor.changed.connect(self.changed)
            self.tabs.addTab(editor, self._words.title(part))
            if part is tables.HELIOSTATS:
                editor.row_chosen.connect(self._mark_mirror)
        if self.tabs.count():
            left.addWidget(self.tabs)
            left.setSizes([TABLE_PX, 5 * TABLE_PX if self.field is not None else TABLE_PX])
            left.setStretchFactor(0, 0 if self.field is not None else 1)
            left.setStretchFactor(1, 1)
        across = QSplitter(Qt.Orientation.Horizontal)
        across.setObjectName("rows_and_form")
        across.setChildrenCollapsible(False)
        if self.main is None:
            column = QVBoxLayout(self)
            column.setContentsMargins(0, 0, 0, 0)
            self.form.setMaximumWidth(2 * FORM_PX)
            column.addWidget(self.form)
            self.setFocusProxy(self.form.editors[self.table.columns[0].name])
            return
        across.addWidget(left)
        across.addWidget(self.form)
        self.form.setMinimumWidth(FORM_PX - 60)
        across.setSizes([700, FORM_PX])
        across.setStretchFactor(0, 1)
        across.setStretchFactor(1, 0)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(across)
        self.setFocusProxy(self.main)

    def _show_row(self) -> None:
        row = self.main.row if self.main is not None else 0
        self.form.show_row(self._draft, row, self._problems)
        for editor in self.parts.values():
            editor.show_rows(self._draft, self._problems, self.owner)
        self._show_field()

    def _show_field(self) -> None:
        if self.field is not None:
            self.field.show_unit(self._draft, self.owner, self._yard)

    def _type(self, row: int, column: str, text: str) -> None:
        told = self.tr("{column} of {table}").format(
            column=self._words.column(self.table, column), table=self._words.title(self.table)
        )
        self.changed.emit(self._draft.with_cell(self.table, row, column, text), told)

    def _choose_mirror(self, mirror: int) -> None:
        editor = self.parts[tables.HELIOSTATS]
        if mirror < len(editor.model.rows):
            editor.choose(editor.model.rows[mirror])

    def _mark_mirror(self, row: int) -> None:
        rows = self.parts[tables.HELIOSTATS].model.rows
        if self.field is not None and row in rows and self.tabs.currentWidget() is not self.field:
            self.field.choose(rows.index(row))


def owner_table(file: str) -> Table | None:
    """Return the table whose section shows the table of a file, None where none does."""
    for owner, parts in tables.PARTS.items():
        if file in [part.file for part in parts]:
            return owner
    return next((table for table in (tables.SITE, *tables.TABLES) if table.file == file), None)
