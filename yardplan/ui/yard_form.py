"""All cells of one row of a yard's table, one below the other, each with what is wrong with it."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFormLayout, QFrame, QLabel, QScrollArea, QVBoxLayout, QWidget

from yardplan.exchange.rows import Table
from yardplan.exchange.yard_draft import YardDraft, choices, title
from yardplan.ui.cell_editors import CellEditor
from yardplan.ui.yard_table import Problems
from yardplan.ui.yard_words import YardWords


class RowForm(QScrollArea):
    """The form of one table.

    Signals
    -------
    typed(int, str, str)
        Row of the draft, column and new text.
    """

    typed = Signal(int, str, str)

    def __init__(self, table: Table, words: YardWords, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table, self.row = table, -1
        self.editors: dict[str, CellEditor] = {}
        self.troubles: dict[str, QLabel] = {}
        self.setObjectName(f"form_{title(table)}")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._inside = QWidget()
        form = QFormLayout(self._inside)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        about = QLabel(words.about(table))
        about.setWordWrap(True)
        if about.text():
            form.addRow(about)
        self._whole = self._trouble("row")
        form.addRow(self._whole)
        for column in table.columns:
            name = words.column(table, column.name)
            editor = CellEditor(column, name)
            editor.committed.connect(self._type)
            trouble = self._trouble(column.name)
            field = QWidget()
            below = QVBoxLayout(field)
            below.setContentsMargins(0, 0, 0, 0)
            below.setSpacing(1)
            below.addWidget(editor)
            below.addWidget(trouble)
            label = QLabel(name)
            label.setBuddy(editor)
            form.addRow(label, field)
            self.editors[column.name], self.troubles[column.name] = editor, trouble
        self.setWidget(self._inside)

    def show_row(self, draft: YardDraft, row: int, problems: Problems) -> None:
        """Show a row of the draft; -1 shows none."""
        self.row = row
        self._inside.setEnabled(row >= 0)
        cells = draft.rows(self.table)[row] if row >= 0 else ("",) * len(self.table.columns)
        for column, text in zip(self.table.columns, cells, strict=True):
            editor = self.editors[column.name]
            if row >= 0:
                editor.set_choices(choices(draft, self.table, row, column))
            editor.set_text(text)
            self._tell(self.troubles[column.name], problems.get((self.table.file, row, column.name), ""))
            editor.line.setAccessibleDescription(self.troubles[column.name].text())
        self._tell(self._whole, problems.get((self.table.file, row, ""), ""))

    def focus_cell(self, column: str) -> None:
        """Give the keys to a cell."""
        editor = self.editors.get(column) or next(iter(self.editors.values()))
        editor.setFocus()
        editor.line.selectAll()
        self.ensureWidgetVisible(editor)

    def _trouble(self, name: str) -> QLabel:
        label = QLabel()
        label.setObjectName(f"trouble_{name}")
        label.setProperty("kind", "trouble")
        label.setWordWrap(True)
        label.hide()
        return label

    def _tell(self, label: QLabel, text: str) -> None:
        label.setText(f"⚠ {text}" if text else "")
        label.setVisible(bool(text))

    def _type(self, text: str) -> None:
        editor = self.sender()
        column = next(name for name, found in self.editors.items() if found is editor)
        if self.row >= 0:
            self.typed.emit(self.row, column, text)
