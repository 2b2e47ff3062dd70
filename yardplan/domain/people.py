"""Who works when, and what is out of work when.

Skills are words of the yard's own choosing; the plan itself asks for the three named here.
"""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum

from yardplan.domain.errors import require, require_ranges

HANDLING = "handling"
RIGGING = "rigging"
LOADER = "loader"


@dataclass(frozen=True)
class Shift:
    """Working time by the local clock; a shift whose end is not after its start ends on the next day.

    `breaks` are pairs of local start and minutes; `overtime` marks a shift that the goal keeps short.
    """

    id: str
    start_local: time
    end_local: time
    breaks: tuple[tuple[time, int], ...] = ()
    overtime: bool = False

    def __post_init__(self) -> None:
        for start, minutes in self.breaks:
            require(0 < minutes < 480, "shift", self.id, f"break at {start}", minutes, "1 to 479 min")


@dataclass(frozen=True)
class Duty:
    """On which weekdays (0 = Monday) and between which dates an operator works a shift."""

    shift_id: str
    weekdays: frozenset[int]
    first_on: date | None = None
    last_on: date | None = None

    def holds_on(self, on: date) -> bool:
        """Tell whether the duty applies to the local day `on`."""
        return (
            on.weekday() in self.weekdays
            and (self.first_on is None or on >= self.first_on)
            and (self.last_on is None or on <= self.last_on)
        )


@dataclass(frozen=True)
class Operator:
    """A person of the crew: skills, duties, days off, and how many jobs they may mind at once."""

    id: str
    name: str
    skills: frozenset[str]
    duties: tuple[Duty, ...]
    days_off: frozenset[date] = frozenset()
    jobs_at_once: int = 1

    def __post_init__(self) -> None:
        require_ranges(self, "operator", self.id, {"jobs_at_once": (1, 10)})
        for duty in self.duties:
            require(
                bool(duty.weekdays) and duty.weekdays <= frozenset(range(7)),
                "operator",
                self.id,
                "weekdays",
                sorted(duty.weekdays),
                "days 0 (Monday) to 6 (Sunday)",
            )


class ResourceKind(StrEnum):
    """What a down-time takes out of work."""

    YARD = "yard"
    UNIT = "unit"
    CHAMBER = "chamber"
    MOLD = "mold"
    BENCH = "bench"
    OPERATOR = "operator"


@dataclass(frozen=True)
class Downtime:
    """Maintenance, washing, a move, a holiday or a stow: the resource does nothing in ``[start_at, end_at)``.

    For a mold `resource_id` is ``mold id#copy``. A unit that is down can neither heat nor cool nor be handled.
    """

    kind: ResourceKind
    resource_id: str
    start_at: datetime
    end_at: datetime
    reason: str

    def __post_init__(self) -> None:
        aware = self.start_at.tzinfo is not None and self.end_at.tzinfo is not None
        require(aware, "down-time", self.resource_id, "start_at, end_at", self.start_at, "times with their offset")
        require(
            self.end_at > self.start_at,
            "down-time",
            self.resource_id,
            "end_at",
            self.end_at,
            "after start_at",
        )


@dataclass(frozen=True)
class Upkeep:
    """Washing, greasing or repair that is due within some days, its hour left to the planner.

    While it lasts the resource does nothing, as in a `Downtime`, and a crew is at it. A wash is a down-time of the
    unit, so that nobody stands among mirrors that heat.

    Attributes
    ----------
    kind, resource_id : ResourceKind, str
        What is cared for: a unit, a chamber, a bench, or a mold as ``mold id#copy``.
    minutes : int
        How long it takes [min].
    skill, crew : str, int
        What each of so many people must know; with a crew of 0 somebody from outside does it.
    from_at, due_at : datetime
        Between which instants it has to be begun and done.
    """

    id: str
    name: str
    kind: ResourceKind
    resource_id: str
    minutes: int
    skill: str
    crew: int
    from_at: datetime
    due_at: datetime

    def __post_init__(self) -> None:
        require_ranges(self, "upkeep", self.id, {"minutes": (5, 1440), "crew": (0, 10)})
        units = ResourceKind.UNIT, ResourceKind.CHAMBER, ResourceKind.MOLD, ResourceKind.BENCH
        require(self.kind in units, "upkeep", self.id, "kind", self.kind, "unit, chamber, mold or bench")
        require(
            bool(self.skill.strip()) or not self.crew, "upkeep", self.id, "skill", self.skill, "a skill of the crew"
        )
        aware = self.from_at.tzinfo is not None and self.due_at.tzinfo is not None
        require(aware, "upkeep", self.id, "from_at, due_at", self.from_at, "times with their offset")
        fits = self.due_at - self.from_at >= timedelta(minutes=self.minutes)
        require(fits, "upkeep", self.id, "due_at", self.due_at, f"at least {self.minutes} min after from_at")


def shift_span(shift: Shift, on: date) -> tuple[datetime, datetime]:
    """Return start and end of a shift that begins on the local day `on`, as local wall-clock times (naive)."""
    start = datetime.combine(on, shift.start_local)
    end = datetime.combine(on, shift.end_local)
    return start, end if end > start else end + timedelta(days=1)


def duties_clash(one: Duty, two: Duty, shifts: dict[str, Shift]) -> bool:
    """Tell whether two duties of one person ever overlap in time."""
    firsts = [duty.first_on for duty in (one, two) if duty.first_on]
    lasts = [duty.last_on for duty in (one, two) if duty.last_on]
    # A shift may run past midnight, hence the day on either side.
    start_on = max(firsts) - timedelta(days=1) if firsts else date(2024, 1, 1)
    end_on = min(lasts) + timedelta(days=1) if lasts else start_on + timedelta(days=9)
    span_days = min((end_on - start_on).days, 9)
    for offset in range(span_days + 1):
        on = start_on + timedelta(days=offset)
        if not one.holds_on(on):
            continue
        a_start, a_end = shift_span(shifts[one.shift_id], on)
        for near in (on - timedelta(days=1), on, on + timedelta(days=1)):
            if two.holds_on(near):
                b_start, b_end = shift_span(shifts[two.shift_id], near)
                if a_start < b_end and b_start < a_end:
                    return True
    return False
