"""How a single cell of a table is read and written.

Times without an offset are on the yard's own clock. Text that a spreadsheet would take for a formula is
written with a leading apostrophe, which reading takes off again (CWE-1236, formula elements in a CSV file).
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from typing import Any
from zoneinfo import ZoneInfo

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import require

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_RISKY = re.compile(r"'*[=+\-@\t\r]")
_INSTANT = re.compile(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d(:\d\d)?(Z|[+-]\d\d:\d\d)?")


class Unfit(ValueError):
    """A cell that is well formed but cannot be; the text completes "expected ..."."""


@dataclass(frozen=True)
class Kind:
    """What a column holds; `read` raises `ValueError` where a cell is not `expected`.

    `names_in` gives the names in a value that must be known; see `Column.refers`. `words` are all that there can be,
    where there are only a few.
    """

    expected: str
    read: Callable[[str, ZoneInfo], Any]
    write: Callable[[Any, ZoneInfo], str]
    names_in: Callable[[Any], tuple[str, ...]] = lambda value: (str(value),)
    words: tuple[str, ...] = ()


def instant(text: str, tz: ZoneInfo) -> datetime:
    """Return the instant [UTC] of an ISO date-time; without an offset it is on the clock of `tz`.

    Raises
    ------
    ValueError
        If it is not a date-time, or one that the clock of `tz` skips or shows twice.
    """
    if not _INSTANT.fullmatch(text):
        raise ValueError(text)
    at = datetime.fromisoformat(text)
    return at.astimezone(UTC) if at.tzinfo else _on_clock(at, tz)


def end_of_day(text: str, tz: ZoneInfo) -> datetime:
    """Return the instant [UTC] of a date-time; a date alone means the end of that local day."""
    if not re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        return instant(text, tz)
    return _on_clock(datetime.combine(date.fromisoformat(text) + timedelta(days=1), time()), tz)


def _on_clock(wall: datetime, tz: ZoneInfo) -> datetime:
    first, second = (wall.replace(tzinfo=tz, fold=fold).astimezone(UTC) for fold in (0, 1))
    if first.astimezone(tz).replace(tzinfo=None) != wall:
        raise Unfit("a time that the clock shows; it is put forward over this one")
    if first != second:
        offsets = " or ".join(at.astimezone(tz).isoformat()[-6:] for at in (first, second))
        raise Unfit(f"an offset with this time, {offsets}; the clock shows it twice that day")
    return first


def _write_instant(at: datetime, tz: ZoneInfo) -> str:
    local = at.astimezone(tz)
    text = local.strftime("%Y-%m-%d %H:%M:%S").removesuffix(":00")
    twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    return text + local.isoformat()[-6:] if twice else text


def _write_end_of_day(at: datetime, tz: ZoneInfo) -> str:
    local = at.astimezone(tz)
    return str(local.date() - timedelta(days=1)) if local.time() == time() else _write_instant(at, tz)


def _read_text(text: str, _: ZoneInfo) -> str:
    return text[1:] if text.startswith("'") and _RISKY.match(text) else text


def shielded(text: str) -> str:
    """Return text that no spreadsheet takes for a formula: one that it would begins with an apostrophe."""
    return f"'{text}" if _RISKY.match(text) else text


def _write_text(value: str, _: ZoneInfo) -> str:
    return shielded(value)


def _read_whole(text: str, _: ZoneInfo) -> int:
    if not re.fullmatch(r"[+-]?[0-9]+(\.0*)?", text):
        raise ValueError(text)
    return int(text.split(".")[0])


def _read_number(text: str, _: ZoneInfo) -> float:
    if not re.fullmatch(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)(e[+-]?[0-9]+)?", text, re.IGNORECASE):
        raise ValueError(text)
    return float(text)


def _write_number(value: float, _: ZoneInfo) -> str:
    return repr(float(value)).removesuffix(".0")


def _read_clock(text: str, _: ZoneInfo) -> time:
    if not re.fullmatch(r"[0-9]{2}:[0-9]{2}", text):
        raise ValueError(text)
    return time.fromisoformat(text)


def _read_date(text: str, _: ZoneInfo) -> date:
    if not re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        raise ValueError(text)
    return date.fromisoformat(text)


def _read_yes_no(text: str, _: ZoneInfo) -> bool:
    return {"yes": True, "no": False}[text.lower()]


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(";") if part.strip()]


def _write_names(names: tuple[str, ...] | frozenset[str], tz: ZoneInfo) -> str:
    for name in names:
        require(";" not in name, "list", "; ".join(names), "name", name, "a name without a semicolon")
    ordered = names if isinstance(names, tuple) else sorted(names)
    return _write_text("; ".join(ordered), tz)


def _read_weekdays(text: str, _: ZoneInfo) -> frozenset[int]:
    return frozenset(WEEKDAYS.index(part.capitalize()) for part in _parts(text))


def _read_breaks(text: str, tz: ZoneInfo) -> tuple[tuple[time, int], ...]:
    pairs = (part.split("+", 1) for part in _parts(text))
    return tuple((_read_clock(start.strip(), tz), _read_whole(minutes.strip(), tz)) for start, minutes in pairs)


def _read_copy(text: str, _: ZoneInfo) -> MoldCopy:
    mold_id, mark, copy = text.rpartition("#")
    if not (mark and mold_id and re.fullmatch(r"[1-9][0-9]*", copy)):
        raise ValueError(text)
    return MoldCopy(mold_id, int(copy))


def one_of(words: type[StrEnum]) -> Kind:
    """Return the kind of a column that holds a word of `words`."""
    return Kind(
        f"one of {', '.join(words)}",
        lambda text, _: words(text.lower()),
        lambda word, _: str(word),
        words=tuple(map(str, words)),
    )


TEXT = Kind("some text", _read_text, _write_text)
WHOLE = Kind("a whole number, without separators", _read_whole, lambda value, _: str(value))
NUMBER = Kind("a number with a decimal point, without separators", _read_number, _write_number)
DATE = Kind("a date such as 2027-05-17", _read_date, lambda value, _: str(value))
DATES = Kind(
    "dates such as 2027-05-17; 2027-05-20",
    lambda text, tz: tuple(_read_date(part, tz) for part in _parts(text)),
    lambda dates, _: "; ".join(str(on) for on in dates),
)
CLOCK = Kind("a time such as 06:30", _read_clock, lambda value, _: f"{value:%H:%M}")
INSTANT = Kind("a date and time such as 2027-05-17 06:30", instant, _write_instant)
END_OF_DAY = Kind("a date such as 2027-05-17, or a time such as 2027-05-17 06:30", end_of_day, _write_end_of_day)
YES_NO = Kind("yes or no", _read_yes_no, lambda value, _: "yes" if value else "no", words=("yes", "no"))
NAMES = Kind(
    "names with semicolons between them", lambda text, tz: tuple(_parts(_read_text(text, tz))), _write_names, tuple
)
DAYS = Kind(
    "weekdays such as Mon; Tue; Sat",
    _read_weekdays,
    lambda days, _: "; ".join(WEEKDAYS[day] for day in sorted(days)),
    words=WEEKDAYS,
)
BREAKS = Kind(
    "starts and minutes of breaks such as 09:00+15; 12:00+30",
    _read_breaks,
    lambda breaks, _: "; ".join(f"{start:%H:%M}+{minutes}" for start, minutes in breaks),
)
COPY = Kind("a mold and its copy such as M03#2", _read_copy, lambda value, tz: _write_text(str(value), tz))
