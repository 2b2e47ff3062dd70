"""What was planned beside what was made, by day, unit and order, with the reasons that the log tells."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from yardplan.domain.events import Choice, Event, EventKind, in_force
from yardplan.domain.plan import Plan
from yardplan.domain.slots import zone
from yardplan.domain.state import MadeCycle, YardState, carries_out
from yardplan.domain.yard import Yard


@dataclass(frozen=True)
class Share:
    """Cycles and pieces that were to be out of their molds, and those that were; `as_planned` are of both."""

    planned_cycles: int
    made_cycles: int
    as_planned: int
    planned_pieces: int
    good: int
    scrapped: int
    rework: int


@dataclass(frozen=True)
class Adherence:
    """How far a plan was kept until now; `reasons` are what the log tells, each with how often."""

    days: Mapping[date, Share]
    units: Mapping[str, Share]
    orders: Mapping[str, Share]
    reasons: tuple[tuple[str, int], ...]


def adherence(yard: Yard, plan: Plan, state: YardState, events: Iterable[Event]) -> Adherence:
    """Return what a plan wanted demolded from its first day until now beside what was, and why they differ.

    A cycle counts on the local day on which it was to be emptied, or was; one as planned is of the same order in the
    same chamber, within a day of its hour.
    """
    grid, now = plan.grid, state.now
    tz = zone(yard.site.tz)
    units = {chamber.id: unit.id for unit in yard.units for chamber in unit.chambers}
    planned = [row for row in plan.cycles if grid.at(row.end_slot) <= now]
    made = [one for one in state.cycles if one.demolded_at and grid.start_at <= one.demolded_at <= now]
    kept = {
        row.id: one for row in planned for one in made if carries_out(one, row, grid.at(row.charge_slot))
    }  # fmt: skip

    def shares(of_planned: Mapping[str, object], of_made: Mapping[str, object]) -> dict[object, Share]:
        names = dict.fromkeys([*of_planned.values(), *of_made.values()])
        found = {}
        for name in names:
            rows = [row for row in planned if of_planned[row.id] == name]
            ours = [one for one in made if of_made[one.id] == name]
            found[name] = Share(
                len(rows),
                len(ours),
                sum(row.id in kept for row in rows),
                sum(row.pieces for row in rows),
                sum(one.good for one in ours),
                sum(one.scrapped for one in ours),
                sum(one.rework for one in ours),
            )
        return found

    def day(at: datetime) -> date:
        return at.astimezone(tz).date()

    days = shares({row.id: day(grid.at(row.end_slot)) for row in planned}, {one.id: day(_out_at(one)) for one in made})
    by_unit = shares(
        {row.id: units.get(row.chamber_id, "") for row in planned},
        {one.id: units.get(one.chamber_id, "") for one in made},
    )
    orders = shares({row.id: row.order_id for row in planned}, {one.id: one.order_id for one in made})
    return Adherence(
        {on: days[on] for on in sorted(key for key in days if isinstance(key, date))},
        {str(name): by_unit[name] for name in sorted(by_unit, key=str)},
        {str(name): orders[name] for name in sorted(orders, key=str)},
        tuple(_reasons(events, grid.start_at, now).most_common()),
    )


def _out_at(made: MadeCycle) -> datetime:
    assert made.demolded_at is not None
    return made.demolded_at


def _reasons(events: Iterable[Event], start_at: datetime, now: datetime) -> Counter[str]:
    words = {
        EventKind.DOWN: "down",
        EventKind.STOW: "mirrors stowed",
        EventKind.ABSENT: "absent",
        EventKind.HOLD: "heat lost in a cook",
    }
    found: Counter[str] = Counter()
    for event in in_force(events):
        if not start_at <= event.at <= now:
            continue
        if event.kind in words:
            found[words[event.kind] + (f": {event.reason}" if event.reason else "")] += 1
        elif event.choice in (Choice.SCRAP, Choice.ACCEPT):
            found[f"cook decided: {event.choice}" + (f" ({event.reason})" if event.reason else "")] += 1
        elif event.kind is EventKind.PIECES and (event.scrapped or event.rework):
            found["pieces: " + (event.reason or "no reason said")] += (event.scrapped or 0) + (event.rework or 0)
    return found
