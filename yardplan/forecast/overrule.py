"""What the manager knows better: "fog until 10" overrules every scenario, and stays visible as such."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from yardplan.domain.errors import require
from yardplan.domain.slots import SlotGrid, local_midnight, zone
from yardplan.domain.tables import FloatArray
from yardplan.forecast.sky import slot_middles

WORDS = {
    "fog": (0.0, 0.0),
    "dust": (0.0, 0.0),
    "storm": (0.0, 0.0),
    "dark": (0.0, 0.0),
    "overcast": (0.0, 0.05),
    "cloudy": (0.0, 0.4),
    "haze": (0.0, 0.75),
    "clear": (0.9, 1.2),
}
"""What a word says of direct light, as shares of a cloudless sky: at least, at most. Common practice, no source."""

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_TIME = r"(\d{1,2})(?::(\d{2}))?"
_SENTENCE = re.compile(rf"([a-z]+)(?: (?!from\b|until\b)(\S+))?(?: from {_TIME})?(?: until {_TIME})?")


@dataclass(frozen=True)
class Overrule:
    """Bounds for direct light that somebody set by hand, for a span of time.

    Attributes
    ----------
    start_at, end_at : datetime
        Aware instants; the end is not included.
    least_frac, most_frac : float
        Shares of a cloudless sky, 0 to 1.2.
    text : str
        What was said, for showing.
    """

    start_at: datetime
    end_at: datetime
    least_frac: float
    most_frac: float
    text: str

    def __post_init__(self) -> None:
        for field in ("start_at", "end_at"):
            at = getattr(self, field)
            require(at.tzinfo is not None, "overrule", self.text, field, at, "an aware instant")
        require(
            self.start_at < self.end_at, "overrule", self.text, "end_at", self.end_at, f"later than {self.start_at}"
        )
        require(
            0 <= self.least_frac <= self.most_frac <= 1.2,
            "overrule",
            self.text,
            "least_frac, most_frac",
            (self.least_frac, self.most_frac),
            "shares of a cloudless sky, from 0 to 1.2, in rising order",
        )

    def shown(self, tz: str) -> str:
        """Return it in words, with its span on the yard's clock."""
        start, end = (at.astimezone(zone(tz)) for at in (self.start_at, self.end_at))
        until = f"{end:%H:%M}" if end.date() == start.date() else f"{end:%a %d %b %H:%M}"
        return f"{self.text} ({start:%a %d %b %H:%M} to {until}, by hand)"


def overrule_of(text: str, now: datetime, tz: str) -> Overrule:
    """Return what a sentence such as "fog until 10" or "haze tomorrow from 13:00 until 16:30" says.

    A word of `WORDS`, then, if not today, the day (tomorrow, the name of the coming weekday, or a date such as
    2027-05-18), then `from` and `until` with hours of the yard's clock, each of which may be left out.

    Raises
    ------
    InvalidField
        If it cannot be understood, or is over already.
    """
    said = " ".join(text.lower().split())
    match = _SENTENCE.fullmatch(said)
    words = match is not None and match[1] in WORDS
    expected = f'one of {", ".join(WORDS)}, then a day, from and until, as in "fog until 10"'
    require(words, "overrule", text, "text", text, expected)
    assert match is not None
    on = _day(match[2] or "today", now.astimezone(zone(tz)).date(), text, expected)
    start_at = _instant(on, match[3], match[4], tz, text) if match[3] else local_midnight(on, tz)
    end_at = _instant(on, match[5], match[6], tz, text) if match[5] else local_midnight(on + timedelta(days=1), tz)
    require(end_at > now, "overrule", text, "text", text, "a time that is not over yet")
    least, most = WORDS[match[1]]
    return Overrule(start_at, end_at, least, most, " ".join(text.split()))


def overruled(index: FloatArray, grid: SlotGrid, overrules: Sequence[Overrule]) -> FloatArray:
    """Return the share of a cloudless sky, kept within what was set by hand; a later overrule goes before an earlier.

    Parameters
    ----------
    index : ndarray (scenario, slot)

    Returns
    -------
    ndarray (scenario, slot)
        A slot is overruled when its middle lies within the span.
    """
    if not overrules:
        return index
    index = index.copy()
    middles = slot_middles(grid)
    for rule in overrules:
        slots = (middles >= rule.start_at.timestamp()) & (middles < rule.end_at.timestamp())
        index[:, slots] = index[:, slots].clip(rule.least_frac, rule.most_frac)
    return index


def _day(word: str, today: date, text: str, expected: str) -> date:
    if word == "today":
        return today
    if word == "tomorrow":
        return today + timedelta(days=1)
    if word in _WEEKDAYS:
        return today + timedelta(days=(_WEEKDAYS.index(word) - today.weekday()) % 7)
    try:
        return date.fromisoformat(word)
    except ValueError:
        require(False, "overrule", text, "day", word, expected)
        raise AssertionError from None


def _instant(on: date, hour: str, minute: str | None, tz: str, text: str) -> datetime:
    minutes = int(hour) * 60 + int(minute or 0)
    require(
        minutes <= 24 * 60 and int(minute or 0) < 60, "overrule", text, "time", f"{hour}:{minute or 0}", "0:00 to 24:00"
    )
    if minutes == 24 * 60:
        return local_midnight(on + timedelta(days=1), tz)
    return datetime.combine(on, time(minutes // 60, minutes % 60), zone(tz))
