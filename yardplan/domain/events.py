"""What happens in the yard, as the crew logs it. Append-only: a wrong entry is corrected by a new one, never edited."""

from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import datetime
from enum import StrEnum

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import require, require_ranges


class EventKind(StrEnum):
    """What can be logged, by the word that a foreman types."""

    CHARGE = "charge"
    """A mold is charged and closed: its cycle begins."""
    HEAT = "heat"
    """The mirrors are on the mold; also when they come back after a hold."""
    HOLD = "hold"
    """The cook lost its heat: a cloud, or the mirrors went elsewhere; the mold keeps turning."""
    PIAT = "piat"
    """The inside air peaked: the cook is done, cooling begins."""
    DEMOLD = "demold"
    """The mold is emptied; all its pieces count as good until somebody says otherwise."""
    PIECES = "pieces"
    """How many pieces of a cycle are good, scrapped, or to be reworked; the newest count holds."""
    DECIDE = "decide"
    """What a person decided about a cook that lost its sun."""
    STEP = "step"
    """A finishing step was begun."""
    DONE = "done"
    """A finishing step is done."""
    MOLD = "mold"
    """Another mold hangs in a chamber now."""
    DOWN = "down"
    """A unit, chamber or bench is out of work."""
    UP = "up"
    """It works again."""
    STOW = "stow"
    """The mirrors of a unit, or of all, are stowed: no heat."""
    UNSTOW = "unstow"
    """They are back at work."""
    WASH = "wash"
    """The mirrors of a unit were washed."""
    RESIN = "resin"
    """A delivery of a stock item came in."""
    COUNT = "count"
    """Somebody counted what is on hand of a stock item; from then on that figure holds."""
    ABSENT = "absent"
    """An operator is not there."""
    BACK = "back"
    """An operator is there again."""
    NOTE = "note"
    """What the next shift must know about a unit, an order, or anything else."""
    VOID = "void"
    """An earlier entry was wrong, and nothing stands in its place."""


class Choice(StrEnum):
    """What can be done with a cook that lost its sun."""

    WAIT = "wait"
    """Keep turning and wait."""
    FINISH = "finish"
    """Finish it on the sun that came back."""
    ACCEPT = "accept"
    """End it below its peak; the pieces are looked at before they count."""
    SCRAP = "scrap"
    """Give it up."""


_TELLS: dict[EventKind, tuple[tuple[str, ...], tuple[str, ...]]] = {
    EventKind.CHARGE: (("subject", "mold", "order_id", "product_id", "color", "cycle_id"), ("planned_id",)),
    EventKind.HEAT: (("subject",), ()),
    EventKind.HOLD: (("subject",), ()),
    EventKind.PIAT: (("subject", "amount"), ()),
    EventKind.DEMOLD: (("subject",), ()),
    EventKind.PIECES: (("cycle_id", "good", "scrapped", "rework"), ()),
    EventKind.DECIDE: (("subject", "choice"), ("amount",)),
    EventKind.STEP: (("subject", "cycle_id", "step_ix", "person"), ()),
    EventKind.DONE: (("subject", "cycle_id", "step_ix", "person"), ()),
    EventKind.MOLD: (("subject", "mold"), ()),
    EventKind.DOWN: (("subject",), ("until_at",)),
    EventKind.UP: (("subject",), ()),
    EventKind.STOW: ((), ("subject", "until_at")),
    EventKind.UNSTOW: ((), ("subject",)),
    EventKind.WASH: (("subject",), ()),
    EventKind.RESIN: (("subject", "amount"), ()),
    EventKind.COUNT: (("subject", "amount"), ()),
    EventKind.ABSENT: (("subject",), ("until_at",)),
    EventKind.BACK: (("subject",), ()),
    EventKind.NOTE: (("reason",), ("subject",)),
    EventKind.VOID: (("corrects",), ()),
}
"""For each kind the fields that it must have, and those that it may have beside ``reason`` and ``corrects``."""

_ALWAYS = {"kind", "at", "entered_at", "by", "seat", "number", "reason", "corrects"}


@dataclass(frozen=True)
class Event:
    """One entry of the log.

    Attributes
    ----------
    at, entered_at : datetime
        When it happened, and when it was put in.
    by, seat : str
        Who put it in, and where.
    subject : str
        What it is about: the chamber of a cycle or mold change; the bench of a finishing step; a unit, an operator,
        a stock item. Empty: all units.
    cycle_id : str
        The cycle that was made; given when it is charged, such as ``2B-0518-1``, and never used again.
    planned_id : str
        The cycle of the plan that it carries out; empty if none.
    amount : float or None
        kg or pieces of a stock item; the peak of the inside air [C].
    person : str
        Operator at a finishing step.
    until_at : datetime or None
        Until when it is expected to last.
    corrects : int or None
        Number of the earlier entry that does not hold any more.
    number : int
        Counts up from 1 as entries come in; 0 for one that is not kept yet.
    """

    kind: EventKind
    at: datetime
    entered_at: datetime
    by: str
    seat: str = ""
    subject: str = ""
    mold: MoldCopy | None = None
    order_id: str = ""
    product_id: str = ""
    color: str = ""
    cycle_id: str = ""
    planned_id: str = ""
    step_ix: int | None = None
    person: str = ""
    good: int | None = None
    scrapped: int | None = None
    rework: int | None = None
    amount: float | None = None
    choice: Choice | None = None
    until_at: datetime | None = None
    reason: str = ""
    corrects: int | None = None
    number: int = 0

    def __post_init__(self) -> None:
        for name in ("at", "entered_at", "until_at"):
            at = getattr(self, name)
            require(at is None or at.tzinfo is not None, "log entry", str(self.kind), name, at, "an aware instant")
        needed, allowed = _TELLS[self.kind]
        for name in (one.name for one in fields(self)):
            told = getattr(self, name) not in (None, "")
            if name in needed:
                require(told, "log entry", str(self.kind), name, getattr(self, name), "to be told")
            elif name not in _ALWAYS and name not in allowed:
                require(not told, "log entry", str(self.kind), name, getattr(self, name), "nothing")
        for name in ("good", "scrapped", "rework", "step_ix"):
            if getattr(self, name) is not None:
                require_ranges(self, "log entry", str(self.kind), {name: (0, 1000)})
        if self.amount is not None:
            # an inside air that ends a cook, or kg and pieces
            degrees = self.kind in (EventKind.PIAT, EventKind.DECIDE)
            require_ranges(self, "log entry", str(self.kind), {"amount": (-40, 350) if degrees else (0, 1e7)})
        if self.until_at is not None:
            require(
                self.until_at > self.at,
                "log entry",
                str(self.kind),
                "until_at",
                self.until_at.isoformat(),
                f"a time after {self.at.isoformat()}",
            )


def in_force(events: Iterable[Event]) -> tuple[Event, ...]:
    """Return the entries that hold, in the order in which they happened.

    An entry that a later one corrects is left out; the correction takes its place among entries of the same moment.
    A void that is void itself brings back what it took away.
    """
    events = sorted(events, key=lambda event: event.number)
    corrected: set[int] = set()
    for event in reversed(events):
        if event.corrects is not None and not (event.kind is EventKind.VOID and event.number in corrected):
            corrected.add(event.corrects)
    place: dict[int, int] = {}
    for event in events:
        place[event.number] = event.number if event.corrects is None else place.get(event.corrects, event.corrects)
    held = (event for event in events if event.number not in corrected and event.kind is not EventKind.VOID)
    return tuple(sorted(held, key=lambda event: (event.at, place[event.number])))
