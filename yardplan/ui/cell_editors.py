"""Editors of single cells of a yard's tables, by what a column holds."""

from zoneinfo import ZoneInfo

from PySide6.QtCore import QDate, Qt, Signal
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import (
    QCalendarWidget,
    QComboBox,
    QHBoxLayout,
    QLineEdit,
    QMenu,
    QToolButton,
    QWidget,
    QWidgetAction,
)

from yardplan.exchange.cells import DATE, DATES, DAYS, NAMES, NUMBER, WHOLE
from yardplan.exchange.rows import REQUIRED, Column
from yardplan.ui.yard_units import shown_cell, stored_cell

NUMBERS = (NUMBER, WHOLE)
LISTS = (NAMES, DAYS, DATES)


class CellEditor(QWidget):
    """A line for a cell's text, with what can be chosen beside it: words, several of them, or a day.

    Anything can be typed; whether it makes sense is for the rules of the yard to say.

    Signals
    -------
    committed(str)
        The text was changed by a person and left.
    left()
        A person is done with it for the first time, whether it was changed or not.
    """

    committed = Signal(str)
    left = Signal()

    def __init__(self, column: Column, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._kind, self._name, self._is_left = column.kind, column.name, False
        self._stored = self._shown = ""
        self._choices: tuple[str, ...] = ()
        self._box = _Choice(self) if _is_choice(column) else None
        self.line = QLineEdit(self) if self._box is None else _line_of(self._box)
        focus: QWidget = self._box or self.line
        focus.setObjectName(f"cell_{column.name}")
        for widget in {focus, self.line}:
            widget.setAccessibleName(name)
        focus.setToolTip(column.kind.expected)
        self.line.setPlaceholderText(self._hint(column))
        self.setFocusProxy(focus)
        self.line.editingFinished.connect(self._commit)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2)
        row.addWidget(focus, 1)
        self._menu = self._add_menu(row, column.name, name) if column.kind in (*LISTS, DATE) else None
        if self._box is not None:
            self._box.activated.connect(self._commit)

    def _add_menu(self, row: QHBoxLayout, column: str, name: str) -> QMenu:
        menu = QMenu(self)
        menu.setAccessibleName(self.tr("Choose: {name}").format(name=name))
        menu.aboutToShow.connect(self._fill_menu)
        more = QToolButton(self)
        more.setObjectName(f"choose_{column}")
        more.setText("…")
        more.setAccessibleName(menu.accessibleName())
        more.setToolTip(menu.accessibleName())
        more.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        more.setMenu(menu)
        row.addWidget(more)
        return menu

    def text(self) -> str:
        """Return what is to be stored of what stands there."""
        typed = self.line.text().strip()
        return self._stored if typed == self._shown else stored_cell(self._name, typed)

    def set_text(self, text: str) -> None:
        """Put a stored text there that is no edit."""
        self._stored, self._shown = text, shown_cell(self._name, text)
        if self.line.text() != self._shown:
            self.line.setText(self._shown)
            self.line.setCursorPosition(0)

    def set_choices(self, choices: tuple[str, ...]) -> None:
        """Say what can be chosen."""
        if choices == self._choices:
            return
        self._choices = choices
        if self._box is not None:
            text = self.line.text()
            self._box.clear()
            self._box.addItems(list(choices))
            self.line.setText(text)

    def _hint(self, column: Column) -> str:
        """Return what a blank cell means, or how a filled one looks."""
        if column.default is not REQUIRED and column.default not in (None, (), ""):
            return self.tr("{value} if left blank").format(
                value=shown_cell(column.name, column.kind.write(column.default, ZoneInfo("UTC")))
            )
        example = column.kind.expected.partition("such as ")[2]
        return self.tr("such as {example}").format(example=example) if example else ""

    def _commit(self) -> None:
        if self.text() != self._stored:
            self._stored, self._shown = self.text(), self.line.text().strip()
            self.committed.emit(self._stored)
        if not self._is_left:
            self._is_left = True
            self.left.emit()

    def _put(self, text: str) -> None:
        self.line.setText(text)
        self._commit()

    def _fill_menu(self) -> None:
        menu = self._menu
        if menu is None:
            return
        menu.clear()
        if self._kind in (DATE, DATES):
            days = QCalendarWidget()
            days.setObjectName("days")
            days.setAccessibleName(menu.accessibleName())
            shown = QDate.fromString(self.text()[-10:], Qt.DateFormat.ISODate)
            days.setSelectedDate(shown if shown.isValid() else days.selectedDate())
            days.activated.connect(self._take_day)
            days.clicked.connect(self._take_day)
            holder = QWidgetAction(menu)
            holder.setDefaultWidget(days)
            menu.addAction(holder)
            return
        there = [word.strip() for word in self.text().split(";") if word.strip()]
        for word in dict.fromkeys((*self._choices, *there)):
            action = menu.addAction(word)
            action.setCheckable(True)
            action.setChecked(word in there)
            action.triggered.connect(self._take_words)

    def _take_day(self, day: QDate) -> None:
        if self._menu is not None:
            self._menu.close()
        text = day.toString(Qt.DateFormat.ISODate)
        self._put(f"{self.text()}; {text}" if self._kind is DATES and self.text() else text)

    def _take_words(self) -> None:
        if self._menu is not None:
            self._put("; ".join(action.text() for action in self._menu.actions() if action.isChecked()))


class _Choice(QComboBox):
    """A line with a list; turning the wheel over it scrolls the form, it does not change the yard."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setEditable(True)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.setMinimumContentsLength(6)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()


def _line_of(box: QComboBox) -> QLineEdit:
    line = box.lineEdit()
    assert line is not None  # an editable box has one
    return line


def _is_choice(column: Column) -> bool:
    free = (*NUMBERS, *LISTS, DATE)
    has_words = bool(column.kind.words or column.refers or column.name in _SHARED)
    return column.kind not in free and not column.names and has_words


_SHARED = ("skill", "grade", "resin_grade", "color", "from_color", "to_color", "kind", "resource", "unit", "tz")
"""Columns whose words are mostly those of other rows."""
