"""How the yard stands at one moment, from the log alone."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import Contradiction
from yardplan.domain.events import Choice, Event
from yardplan.domain.log import LoggedCycle
from yardplan.domain.plan import Cycle


class Phase(StrEnum):
    """Where a cycle that was charged has come to."""

    CHARGED = "charged"
    HEATING = "heating"
    HOLDING = "holding"
    """The heat was lost before the peak."""
    COOLING = "cooling"
    LOST = "lost"
    """Given up, and still in the chamber."""
    FINISHING = "finishing"
    """Out of the mold, with finishing steps to come."""
    FINISHED = "finished"


@dataclass(frozen=True)
class MadeStep:
    """A finishing step that was begun; `done_at` is None while it lasts."""

    step_ix: int
    bench_id: str
    person: str
    started_at: datetime
    done_at: datetime | None = None


@dataclass(frozen=True)
class MadeCycle:
    """A cycle as it was made so far.

    Attributes
    ----------
    heats : tuple of (datetime, datetime or None)
        Times with the mirrors on the mold; the last one is open while it heats.
    piat_at : datetime or None
        When it peaked, or was accepted below its peak.
    good, scrapped, rework : int
        Pieces; 0 while it is in the mold.
    is_given_up : bool
        Whether it was decided to scrap the cook.
    decided : tuple of (datetime, Choice, str)
        What was decided about it, and by whom.
    n_steps : int
        Finishing steps of its product.
    """

    id: str
    planned_id: str
    chamber_id: str
    mold: MoldCopy
    order_id: str
    product_id: str
    color: str
    cavities: int
    n_steps: int
    charged_at: datetime
    heats: tuple[tuple[datetime, datetime | None], ...] = ()
    piat_at: datetime | None = None
    piat_c: float | None = None
    demolded_at: datetime | None = None
    good: int = 0
    scrapped: int = 0
    rework: int = 0
    reason: str = ""
    is_given_up: bool = False
    decided: tuple[tuple[datetime, Choice, str], ...] = ()
    steps: tuple[MadeStep, ...] = ()

    @property
    def phase(self) -> Phase:
        """Where it has come to."""
        if self.demolded_at is not None:
            done = sum(step.done_at is not None for step in self.steps)
            return Phase.FINISHED if done == self.n_steps or not self.good + self.rework else Phase.FINISHING
        if self.is_given_up:
            return Phase.LOST
        if self.piat_at is not None:
            return Phase.COOLING
        if not self.heats:
            return Phase.CHARGED
        return Phase.HEATING if self.heats[-1][1] is None else Phase.HOLDING


@dataclass(frozen=True)
class ChamberState:
    """What is in a chamber: the mold, what it ran last (empty: clean), and the cycle that is in it."""

    mold: MoldCopy | None
    grade: str
    color: str
    cycle: MadeCycle | None


@dataclass(frozen=True)
class OrderCount:
    """Pieces of an order: in chambers and not given up, good ones out of the mold, of these finished; and the rest."""

    in_chambers: int = 0
    good: int = 0
    finished: int = 0
    scrapped: int = 0
    rework: int = 0


@dataclass(frozen=True)
class Out:
    """Something that is not at work since an instant, and until when that is expected (None: nobody said)."""

    since_at: datetime
    until_at: datetime | None
    reason: str


@dataclass(frozen=True)
class YardState:
    """How the yard stands at `now`.

    Attributes
    ----------
    chambers : mapping by chamber
        What is in each.
    cycles : tuple of MadeCycle
        All that were charged, in the order of charging.
    hangings : tuple of (datetime, str, MoldCopy)
        Mold changes: when, in which chamber, and which mold hangs there since.
    orders : mapping by order
        Pieces made; orders of which nothing was charged are not in it.
    stock : mapping by item
        What is left on hand, by the log; below 0 where more was used than the yard knew of.
    received : tuple of (datetime, str, float)
        Deliveries that came: when, of which item, and how much.
    absent, down, stowed : mapping of Out
        Operators, equipment and the mirrors of units that are not at work.
    washed : mapping by unit
        When its mirrors were washed last by the log.
    notes : tuple of Event
        Shift notes, the newest last.
    doubts : tuple of (int, Contradiction)
        Entries by number that cannot be true in this yard, left out of all the rest.
    due : tuple of Cycle
        Cycles of the plan that should have been charged by now and were not, the earliest first.
    """

    now: datetime
    chambers: Mapping[str, ChamberState]
    cycles: tuple[MadeCycle, ...]
    hangings: tuple[tuple[datetime, str, MoldCopy], ...]
    orders: Mapping[str, OrderCount]
    stock: Mapping[str, float]
    received: tuple[tuple[datetime, str, float], ...]
    absent: Mapping[str, Out]
    down: Mapping[str, Out]
    stowed: Mapping[str, Out]
    washed: Mapping[str, datetime]
    notes: tuple[Event, ...]
    doubts: tuple[tuple[int, Contradiction], ...]
    due: tuple[Cycle, ...]

    @property
    def finishing(self) -> tuple[MadeCycle, ...]:
        """Cycles out of the mold that still have finishing steps to come."""
        return tuple(cycle for cycle in self.cycles if cycle.phase is Phase.FINISHING)

    @property
    def running(self) -> tuple[MadeCycle, ...]:
        """Cycles in chambers, in the order of charging."""
        return tuple(cycle for cycle in self.cycles if cycle.demolded_at is None)


def carries_out(made: MadeCycle, planned: Cycle, planned_at: datetime) -> bool:
    """Tell whether a made cycle is the one of a plan: its name, chamber and order, within a day."""
    return (made.planned_id, made.chamber_id, made.order_id) == (
        planned.id,
        planned.chamber_id,
        planned.order_id,
    ) and abs(made.charged_at - planned_at) < timedelta(days=1)


def logged_cycles(cycles: Iterable[MadeCycle]) -> tuple[LoggedCycle, ...]:
    """Return the cycles that went from charging to demolding, to learn from.

    Cooks that were interrupted, or accepted below their peak, are left out: their time of heating tells nothing of
    the mold.
    """
    return tuple(
        LoggedCycle(
            id=made.id,
            chamber_id=made.chamber_id,
            mold=made.mold,
            product_id=made.product_id,
            color=made.color,
            charged_at=made.charged_at,
            heat_at=made.heats[0][0],
            piat_at=made.piat_at,
            demolded_at=made.demolded_at,
            piat_c=made.piat_c,
            pieces_good=made.good,
            pieces_scrapped=made.scrapped,
            note=made.reason,
        )
        for made in cycles
        if made.demolded_at and made.piat_at and made.piat_c is not None and len(made.heats) == 1 and not made.decided
    )
