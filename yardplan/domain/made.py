"""Cycles as they were made, from history and log alike; what was out of work meanwhile; starts beside their plan."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.events import Choice, Event, EventKind, in_force
from yardplan.domain.log import LoggedCycle
from yardplan.domain.plan import Cycle, Plan
from yardplan.domain.state import MadeCycle, MadeStep
from yardplan.domain.yard import Yard

IN_TIME = timedelta(minutes=30)
"""A start counts as in time within so much of its plan, early or late (own assumption)."""

NEAR = timedelta(days=1)
"""A cycle made further off than that is not the planned one."""


@dataclass(frozen=True)
class Made:
    """One cycle that was charged.

    Attributes
    ----------
    heats : tuple of (datetime, datetime)
        Times with the mirrors on the mold. Of a lost cook in history only its start is known: it counts until the
        unit's mirrors went to another mold, at the latest until it was demolded.
    demolded_at : datetime or None
        None while it is in its chamber.
    """

    id: str
    planned_id: str
    order_id: str
    unit_id: str
    chamber_id: str
    mold: MoldCopy
    product_id: str
    charged_at: datetime
    heats: tuple[tuple[datetime, datetime], ...]
    demolded_at: datetime | None
    good: int
    scrapped: int
    rework: int
    reason: str
    steps: tuple[MadeStep, ...] = ()

    @property
    def pieces(self) -> int:
        """Pieces that came out of the mold."""
        return self.good + self.scrapped + self.rework


def made_cycles(
    yard: Yard, history: Iterable[LoggedCycle], logged: Iterable[MadeCycle], now: datetime
) -> tuple[Made, ...]:
    """Return all cycles of chambers that the yard still has, in the order of charging."""
    units = {chamber.id: unit.id for unit in yard.units for chamber in unit.chambers}
    found = [
        Made(
            *(row.id, "", "", units[row.chamber_id], row.chamber_id, row.mold, row.product_id, row.charged_at),
            heats=((row.heat_at, row.piat_at or row.demolded_at),),
            demolded_at=row.demolded_at,
            good=row.pieces_good,
            scrapped=row.pieces_scrapped,
            rework=0,
            reason=row.note or ("" if row.piat_at else "lost before its peak"),
        )
        for row in history
        if row.chamber_id in units
    ]
    lost = {row.id for row in history if row.piat_at is None}
    lit = sorted((one.heats[0][0], one.unit_id) for one in found)
    for ix, one in enumerate(found):
        if one.id in lost:
            start_at, end_at = one.heats[0]
            next_at = min((at for at, unit_id in lit if unit_id == one.unit_id and at > start_at), default=end_at)
            found[ix] = replace(one, heats=((start_at, min(end_at, next_at)),))
    found += [
        Made(
            *(row.id, row.planned_id, row.order_id, units[row.chamber_id], row.chamber_id, row.mold, row.product_id),
            charged_at=row.charged_at,
            heats=tuple((start_at, end_at or row.piat_at or now) for start_at, end_at in row.heats),
            demolded_at=row.demolded_at,
            good=row.good,
            scrapped=row.scrapped,
            rework=row.rework,
            reason=row.reason or ("cook given up" if row.is_given_up else ""),
            steps=row.steps,
        )
        for row in logged
        if row.chamber_id in units
    ]
    return tuple(sorted(found, key=lambda one: (one.charged_at, one.id)))


@dataclass(frozen=True)
class Spell:
    """A time in which something was out of work, or a cook without its heat; `subject` is its id."""

    kind: EventKind
    subject: str
    start_at: datetime
    end_at: datetime


_ENDS = {EventKind.DOWN: EventKind.UP, EventKind.STOW: EventKind.UNSTOW, EventKind.ABSENT: EventKind.BACK}
_TAKES_UP = (EventKind.HEAT, EventKind.PIAT, EventKind.DEMOLD)


def spells(yard: Yard, events: Iterable[Event], now: datetime) -> tuple[Spell, ...]:
    """Return what the log tells of times out of work until `now`; what is not over yet lasts until then."""
    began: dict[tuple[EventKind, str], datetime] = {}
    found: list[Spell] = []

    def end(kind: EventKind, subject: str, at: datetime) -> None:
        start_at = began.pop((kind, subject), None)
        if start_at is not None and start_at < at:
            found.append(Spell(kind, subject, start_at, at))

    def subjects(event: Event) -> list[str]:
        return [event.subject] if event.subject else [unit.id for unit in yard.units]

    for event in in_force(events):
        if event.at > now:
            break
        if event.kind in (*_ENDS, EventKind.HOLD):
            for subject in subjects(event):
                began.setdefault((event.kind, subject), event.at)
        for kind, ending in _ENDS.items():
            if event.kind is ending:
                for subject in subjects(event):
                    end(kind, subject, event.at)
        if event.kind in _TAKES_UP or event.choice in (Choice.ACCEPT, Choice.SCRAP):
            end(EventKind.HOLD, event.subject, event.at)
    for kind, subject in list(began):
        end(kind, subject, now)
    return tuple(sorted(found, key=lambda one: (one.start_at, one.kind, one.subject)))


class Cause(StrEnum):
    """Why a cook did not begin as planned, as far as the log tells."""

    EQUIPMENT = "equipment down"
    WIND = "mirrors stowed"
    SUN = "no sun"
    CREW = "crew absent"
    MOLD = "mold not free"
    CHAMBER = "chamber not free"
    EARLY = "begun early"
    NOT_TOLD = "not told"


@dataclass(frozen=True)
class InForce:
    """A plan and the time through which it was the one in force."""

    plan: Plan
    from_at: datetime
    until_at: datetime


@dataclass(frozen=True)
class Start:
    """A planned start of heat; `made_at` is None where it did not happen, `cause` where it was in time."""

    planned_at: datetime
    made_at: datetime | None
    cause: Cause | None


def starts(
    yard: Yard, plans: Iterable[InForce], cycles: Sequence[Made], out: Sequence[Spell], now: datetime
) -> tuple[Start, ...]:
    """Return the starts of heat that were planned, each by the plan that was in force at its time.

    One that is still within `IN_TIME` of its plan and not made is left out. A start off its plan has one cause, the
    first of `Cause` that the log shows between the planned and the real start.
    """
    found = []
    for force in plans:
        grid = force.plan.grid
        for row in force.plan.cycles:
            planned_at = grid.at(row.heat_slot)
            if not force.from_at <= planned_at < min(force.until_at, now):
                continue
            one = _carried_out(row, grid.at(row.charge_slot), cycles)
            made_at = one.heats[0][0] if one and one.heats else None
            if made_at is None and planned_at + IN_TIME > now:
                continue
            in_time = made_at is not None and abs(made_at - planned_at) <= IN_TIME
            cause = None if in_time else _cause(yard, row, planned_at, made_at, cycles, out)
            found.append(Start(planned_at, made_at, cause))
    return tuple(sorted(found, key=lambda start: start.planned_at))


def _carried_out(row: Cycle, planned_at: datetime, cycles: Iterable[Made]) -> Made | None:
    name = (row.id, row.chamber_id, row.order_id)
    return next(
        (
            one
            for one in cycles
            if (one.planned_id, one.chamber_id, one.order_id) == name and abs(one.charged_at - planned_at) < NEAR
        ),
        None,
    )


def _cause(
    yard: Yard,
    row: Cycle,
    planned_at: datetime,
    made_at: datetime | None,
    cycles: Iterable[Made],
    out: Iterable[Spell],
) -> Cause:
    if made_at is not None and made_at < planned_at:
        return Cause.EARLY
    until_at = made_at or planned_at + IN_TIME
    unit = next((unit for unit in yard.units if row.chamber_id in {chamber.id for chamber in unit.chambers}), None)
    if unit is None:  # the yard has changed since
        return Cause.NOT_TOLD
    met = {(one.kind, one.subject) for one in out if one.start_at < until_at and one.end_at > planned_at}
    inside = [
        one
        for one in cycles
        if one.charged_at < planned_at and (one.demolded_at is None or one.demolded_at > planned_at)
    ]
    shown = {
        Cause.EQUIPMENT: {(EventKind.DOWN, row.chamber_id), (EventKind.DOWN, unit.id)} & met,
        Cause.WIND: {(EventKind.STOW, unit.id)} & met,
        Cause.SUN: {(EventKind.HOLD, chamber.id) for chamber in unit.chambers} & met,
        Cause.CREW: {(EventKind.ABSENT, person) for person in row.charge_crew} & met,
        Cause.MOLD: [one for one in inside if one.mold == row.mold and one.chamber_id != row.chamber_id],
        Cause.CHAMBER: [one for one in inside if one.chamber_id == row.chamber_id and one.planned_id != row.id],
    }
    return next((cause for cause, facts in shown.items() if facts), Cause.NOT_TOLD)
