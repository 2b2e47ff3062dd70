"""Read what a manager says of a what-if: a few words for each change.

``copy M03``, ``operator late``, ``bench C1``, ``unit U2``, ``loader``, ``overtime thursday``, ``stock R-SAND=500``,
``energy U1=5``, ``order Y-12 due=2027-05-22``, ``clear wednesday``, ``confidence 0.5``
"""

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from typing import Any

from yardplan.domain.errors import InvalidField, require
from yardplan.domain.slots import SlotGrid, clock_instants, local_midnight
from yardplan.domain.what_if import (
    AnyChange,
    AtConfidence,
    ClearDay,
    MoreEnergy,
    MoreStock,
    OneMoreBench,
    OneMoreCopy,
    OneMoreLoader,
    OneMorePerson,
    OneMoreUnit,
    OtherOrder,
    Overtime,
)

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def change_of(text: str, grid: SlotGrid) -> AnyChange:
    """Return what a few words such as ``copy M03`` or ``clear wednesday`` mean; a weekday is the first one of the grid.

    Raises
    ------
    InvalidField
        If they cannot be understood; says what can.
    """
    kind, _, rest = text.strip().partition(" ")
    rest = rest.strip()
    read = _READERS.get(kind)
    require(read is not None, "what-if", text, "change", kind, f"one of {', '.join(_READERS)}")
    require(bool(rest) == (kind != "loader"), "what-if", text, "change", text, f"words such as {_EXAMPLES[kind]!r}")
    assert read is not None
    try:
        return read(rest, grid)
    except ValueError:
        raise InvalidField("what-if", text, "change", text, f"words such as {_EXAMPLES[kind]!r}") from None


def moment_of(text: str, grid: SlotGrid) -> datetime:
    """Return the instant of words such as ``tue 13:00`` or ``2027-05-18 13:00`` on the yard's clock.

    Raises
    ------
    InvalidField
        If they cannot be understood, or the clock does not show that time on that day.
    """
    day, _, clock = text.strip().partition(" ")
    try:
        wall = datetime.combine(_day(day, grid), time.fromisoformat(clock.strip().zfill(5)))
    except ValueError:
        raise InvalidField("moment", "", "at", text, "a day and a time such as 'tue 13:00'") from None
    instants = clock_instants(wall, grid.zone)
    require(bool(instants), "moment", "", "at", text, "a time that the clock shows on that day")
    return instants[0]


def _person(rest: str, grid: SlotGrid) -> OneMorePerson:
    shift, _, skills = rest.partition(":")
    return OneMorePerson(shift, tuple(skills.split("+")) if skills else ())


def _amount(rest: str) -> tuple[str, float]:
    name, _, amount = rest.partition("=")
    return name, float(amount)


def _order(rest: str, grid: SlotGrid) -> OtherOrder:
    order_id, *edits = rest.split()
    found: dict[str, Any] = {}
    for edit in edits:
        field, _, value = edit.partition("=")
        if field in ("due", "promise") and value != "none":
            found[f"{field}_at"] = _instant(value, grid)
        elif edit == "promise=none":
            found["no_promise"] = True
        elif field in ("quantity", "priority"):
            found[field] = int(value)
        elif edit == "out":
            found["left_out"] = True
        else:
            raise ValueError(edit)
    if not found:
        raise ValueError(rest)
    return OtherOrder(order_id, **found, said=" ".join(edits))


def _instant(text: str, grid: SlotGrid) -> datetime:
    """Return an instant; a date means its local midnight's end."""
    if "T" not in text:
        return local_midnight(_day(text, grid) + timedelta(days=1), grid.tz)
    at = datetime.fromisoformat(text)
    return at if at.tzinfo else at.replace(tzinfo=grid.zone)


def _day(text: str, grid: SlotGrid) -> date:
    named = [ix for ix, name in enumerate(_WEEKDAYS) if len(text) >= 3 and name.startswith(text.lower())]
    if not named:
        return date.fromisoformat(text)
    return next((on for on, _, _ in grid.days if on.weekday() in named), grid.days[0][0])


_READERS: dict[str, Callable[[str, SlotGrid], AnyChange]] = {
    "copy": lambda rest, grid: OneMoreCopy(rest),
    "operator": _person,
    "bench": lambda rest, grid: OneMoreBench(rest),
    "unit": lambda rest, grid: OneMoreUnit(rest),
    "loader": lambda rest, grid: OneMoreLoader(),
    "overtime": lambda rest, grid: Overtime(_day(rest, grid)),
    "stock": lambda rest, grid: MoreStock(*_amount(rest)),
    "energy": lambda rest, grid: MoreEnergy(*_amount(rest)),
    "order": _order,
    "clear": lambda rest, grid: ClearDay(_day(rest, grid)),
    "confidence": lambda rest, grid: AtConfidence(float(rest)),
}
_EXAMPLES = {
    "copy": "copy M03",
    "operator": "operator late, or operator late:finishing",
    "bench": "bench C1",
    "unit": "unit U2",
    "loader": "loader",
    "overtime": "overtime thursday, or overtime 2027-05-20",
    "stock": "stock R-SAND=500",
    "energy": "energy U1=5",
    "order": "order Y-12 due=2027-05-22 quantity=8 promise=none priority=3, or order Y-12 out",
    "clear": "clear wednesday, or clear 2027-05-19",
    "confidence": "confidence 0.5",
}
