"""Dates and numbers as the locale writes them."""

import re
from datetime import date, datetime, time

from PySide6.QtCore import QDate, QLocale, QTime


def clock_text(at: datetime | time) -> str:
    """Return a local time of day by the locale."""
    return QLocale().toString(QTime(at.hour, at.minute), QLocale.FormatType.ShortFormat)


def hour_text(at: datetime | time) -> str:
    """Return a local full hour as short as the locale allows: ``09:00`` or ``9 AM``."""
    if re.search("a", QLocale().timeFormat(QLocale.FormatType.ShortFormat), re.IGNORECASE) and at.minute == 0:
        return QLocale().toString(QTime(at.hour, 0), "h AP")
    return clock_text(at)


def day_text(at: date) -> str:
    """Return a local day with its weekday, in the locale's order of day and month."""
    return QLocale().toString(QDate(at.year, at.month, at.day), "ddd MMM d" if is_month_first() else "ddd d MMM")


def long_day_text(at: date) -> str:
    """Return a local day with its weekday, its month in letters and its year."""
    return QLocale().toString(QDate(at.year, at.month, at.day), QLocale.FormatType.LongFormat)


def month_text(first_on: date) -> str:
    """Return a month with its year, in few letters."""
    return QLocale().toString(QDate(first_on.year, first_on.month, 1), "MMM yyyy")


def day_time_text(at: datetime) -> str:
    """Return a local day and time."""
    return f"{day_text(at)} {clock_text(at)}"


def due_text(at: datetime) -> str:
    """Return a local due date; midnight is the end of the day before, as due dates are written."""
    if (at.hour, at.minute) == (0, 0):
        on = QDate(at.year, at.month, at.day).addDays(-1)
        return QLocale().toString(on, "ddd MMM d" if is_month_first() else "ddd d MMM")
    return day_time_text(at)


def decimal_text(value: float, digits: int) -> str:
    """Return a number by the locale."""
    return QLocale().toString(float(value), "f", digits)


def percent_text(share: float) -> str:
    """Return a share as a whole percentage."""
    return f"{decimal_text(100 * share, 0)}{QLocale().percent()}"


def is_month_first() -> bool:
    """Tell whether the locale writes the month before the day."""
    short = QLocale().dateFormat(QLocale.FormatType.ShortFormat)
    return short.find("M") < short.find("d")
