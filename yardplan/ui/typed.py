"""Days and quantities as people type them: read by the locale, and told back in words before they count."""

import re
from dataclasses import dataclass
from datetime import date, timedelta

from PySide6.QtCore import QCoreApplication, QDate, QEvent, QLocale, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QWidget

from yardplan.ui.dates import decimal_text, is_month_first, long_day_text

MOST_PIECES = 100_000
_NAMED = ("d MMMM yyyy", "d MMM yyyy", "d. MMMM yyyy", "d. MMM yyyy", "MMMM d yyyy", "MMM d yyyy")


@dataclass(frozen=True)
class ReadDay:
    """What was typed for a day: the day, or nothing and what is wrong; both empty where nothing was typed."""

    on: date | None = None
    trouble: str = ""


def read_day(text: str, today: date) -> ReadDay:
    """Return the day that a text means to this seat: ISO, or in the locale's order of day and month.

    A day without a year is the next one from `today` on.
    """
    tr = QCoreApplication.translate
    text = " ".join(text.split())
    if not text:
        return ReadDay()
    numbers = re.fullmatch(r"(\d{1,4})[-./ ](\d{1,2})(?:[-./ ](\d{2}|\d{4}))?[.]?", text)
    try:
        if numbers:
            return ReadDay(_of_numbers(*numbers.groups(), today=today))
        named = _of_names(text, today)
    except ValueError:
        return ReadDay(trouble=tr("typed", "There is no such day as {text}.").format(text=text))
    if named is not None:
        return ReadDay(named)
    example = today + timedelta(days=10)
    short = QLocale().toString(QDate(example.year, example.month, example.day), QLocale.FormatType.ShortFormat)
    told = tr("typed", "“{text}” is no date; type it as {short} or {iso}.")
    return ReadDay(trouble=told.format(text=text, short=short, iso=example.isoformat()))


def _of_numbers(first: str, second: str, third: str | None, *, today: date) -> date:
    if len(first) == 4:
        if third is None:
            raise ValueError(first)
        return date(int(first), int(second), int(third))
    one, two = int(first), int(second)
    month, day = (one, two) if is_month_first() else (two, one)
    if third is not None:
        return date(int(third) + (2000 if len(third) == 2 else 0), month, day)
    return _next(month, day, today)


def _next(month: int, day: int, today: date) -> date:
    this_year = date(today.year, month, day)
    return this_year if this_year >= today else date(today.year + 1, month, day)


def _of_names(text: str, today: date) -> date | None:
    """Return a day whose month is written in letters; None where it is none, `ValueError` where there is no such."""
    words = re.sub(r"(?<=[^\W\d])\.|,|\bde\b", " ", text)  # Spanish: 3 de abril de 2026
    words = " ".join(words.split())
    has_year = re.search(r"\b\d{4}$", words) is not None
    # A leap year, so that the 29th of February is one.
    told = words if has_year else f"{words} 2000"
    for form in _NAMED:
        found = QLocale().toDate(told, form)
        if found.isValid():
            if has_year:
                return date(found.year(), found.month(), found.day())
            return _next(found.month(), found.day(), today)
    months = (QLocale().standaloneMonthName(number, kind) for number in range(1, 13) for kind in _MONTH_FORMS)
    if re.search(r"\d", words) and any(name.strip(".").casefold() in words.casefold() for name in months):
        raise ValueError(text)
    return None


_MONTH_FORMS = (QLocale.FormatType.LongFormat, QLocale.FormatType.ShortFormat)


@dataclass(frozen=True)
class ReadQuantity:
    """What was typed for a number of pieces: the number, or nothing and what is wrong."""

    pieces: int | None = None
    trouble: str = ""


def read_quantity(text: str) -> ReadQuantity:
    """Return the whole number of pieces that a text means to this seat, 1 to 100,000."""
    tr = QCoreApplication.translate
    text = text.strip()
    value, is_number = QLocale().toDouble(text)
    # "1,000" is one in some places and a thousand in others: pieces have no decimals at all.
    if not is_number or not value.is_integer() or QLocale().decimalPoint() in text:
        told = tr("typed", "“{text}” is no whole number of pieces; type one from 1 to {most}.")
    elif not 1 <= value <= MOST_PIECES:
        told = tr("typed", "{text} pieces cannot be; type a whole number from 1 to {most}.")
    else:
        return ReadQuantity(int(value))
    return ReadQuantity(trouble=told.format(text=text, most=decimal_text(MOST_PIECES, 0)))


class DayEdit(QWidget):
    """A line for a day, told back in words beside it; arrow keys up and down move it by a day.

    Signals
    -------
    changed()
        Another day, or something that is none, was typed.
    entered()
        Enter was pressed.
    """

    changed = Signal()
    entered = Signal()

    def __init__(self, name: str, label: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._today = date(2000, 1, 1)
        self._earliest: date | None = None
        self._latest: date | None = None
        self.line = QLineEdit()
        self.line.setObjectName(name)
        self.line.setAccessibleName(label)
        self.line.setMaximumWidth(self.line.fontMetrics().horizontalAdvance("0000-00-000") + 24)
        self.line.textChanged.connect(self._read)
        self.line.returnPressed.connect(self.entered)
        self.line.installEventFilter(self)
        self.words = QLabel()
        self.words.setObjectName(f"{name}_words")
        self.words.setWordWrap(True)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.line)
        row.addWidget(self.words, 1)
        self.setFocusProxy(self.line)
        self._found = ReadDay()

    def set_range(self, today: date, earliest: date | None, latest: date | None) -> None:
        """Take the yard's day and the days that may be typed."""
        self._today, self._earliest, self._latest = today, earliest, latest
        self.line.setPlaceholderText((today + timedelta(days=10)).isoformat())
        self._read()

    @property
    def on(self) -> date | None:
        """The day that is typed, None where there is none or a wrong one."""
        return self._found.on

    @property
    def trouble(self) -> str:
        """What is wrong with it, empty where nothing is."""
        return self._found.trouble

    def set_day(self, on: date | None) -> None:
        """Fill in a day."""
        self.line.setText(on.isoformat() if on else "")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Move the day by the arrow keys."""
        if event.type() is QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            step = {Qt.Key.Key_Up: 1, Qt.Key.Key_Down: -1}.get(Qt.Key(event.key()), 0)
            if step:
                self.set_day((self._found.on + timedelta(days=step)) if self._found.on else self._today)
                return True
        return super().eventFilter(watched, event)

    def _read(self) -> None:
        self._found = self._in_range(read_day(self.line.text(), self._today))
        told = self._found.trouble or (long_day_text(self._found.on) if self._found.on else "")
        self.words.setText(told)
        self.words.setProperty("kind", "trouble" if self._found.trouble else "")
        self.words.style().unpolish(self.words)
        self.words.style().polish(self.words)
        self.line.setAccessibleDescription(told)
        self.changed.emit()

    def _in_range(self, found: ReadDay) -> ReadDay:
        on = found.on
        if on is None:
            return found
        if self._earliest is not None and on < self._earliest:
            told = self.tr("{day} is over; type a day from {first} on.")
            return ReadDay(trouble=told.format(day=long_day_text(on), first=long_day_text(self._earliest)))
        if self._latest is not None and on > self._latest:
            told = self.tr("Do you mean {day}? Nothing is told beyond {last}.")
            return ReadDay(trouble=told.format(day=long_day_text(on), last=long_day_text(self._latest)))
        return found
