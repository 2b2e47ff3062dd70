"""Ends of a plan that a dispatch rule lays anew, with more or less of what the chambers did in turn."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random

from yardplan.domain.plan import Cycle, Plan
from yardplan.solve.compiled import Compiled, Line
from yardplan.solve.dispatch import Dispatcher, Manner, Placement, tardiness
from yardplan.solve.freed import Timeline, event_start, molds_of
from yardplan.solve.neighborhoods import View


@dataclass(frozen=True)
class Relay:
    """An end of a plan to be laid anew: the rest of it, the chambers that are open, and what these do first in turn."""

    base: Plan
    chambers: frozenset[str]
    manner: Manner
    follow: dict[str, list[int]]
    since: int


def all_anew(view: View) -> Relay:
    """Lay all that is not kept by the tardiness rule with its settings, and what orders weigh, bent at random."""
    chambers = {place.id for place in view.compiled.places}
    return _relay(view, chambers, view.compiled.now_slot, _bend(view.rng, len(view.compiled.lines)))


def bent_ends(view: View) -> Relay:
    """Lay the ends of some chambers, or of all, by the tardiness rule with its settings and orders bent at random."""
    rng, everything = view.rng, [place.id for place in view.compiled.places]
    kind = rng.random()
    if kind < 0.4:
        chambers = set(everything)
    elif kind < 0.7:
        chambers = set(rng.sample(everything, rng.randint(1, min(4, len(everything)))))
    else:
        chambers = _chambers_of(view, view.blamed()) | set(rng.sample(everything, min(2, len(everything))))
    return _relay(view, chambers, _since(view), _bend(rng, len(view.compiled.lines)))


def rush(view: View) -> Relay:
    """Let a costly order come first in one chamber from some time on."""
    rng, line = view.rng, view.blamed()
    product = line.make.product
    fit = [
        place.id
        for place in view.compiled.places
        if any(view.compiled.row(mold_id, product.id, place.id) for mold_id in product.mold_ids)
    ]
    if not fit:
        return bent_ends(view)
    chamber_id = rng.choice(fit)
    chambers = {chamber_id} | _chambers_of(view, line)
    return _relay(view, chambers, _since(view), lambda other, placed: _pull(other, placed, line, chamber_id))


def swap(view: View) -> Relay:
    """Let two chambers change their work from some time on."""
    rng = view.rng
    one, two = rng.sample(view.compiled.places, 2) if len(view.compiled.places) > 1 else view.compiled.places * 2
    since = _since(view)
    made = {
        place.id: {
            row.order_id for row in view.timeline.plan.cycles if row.chamber_id == place.id and row.charge_slot >= since
        }
        for place in (one, two)
    }
    other = {one.id: two.id, two.id: one.id}

    def bend(line: Line, placed: Placement) -> float:
        return 100.0 if line.order.id in made.get(other.get(placed.place.id, ""), ()) else 1.0

    return _relay(view, {one.id, two.id}, since, bend)


def more_of_order(view: View) -> Relay:
    """Let a chamber make cycles of a costly order from some time on, before all that it does in turn."""
    rng, line = view.rng, view.blamed()
    fit = [place.id for place in view.compiled.places if line.ix in view.compiled.ways(place.id)]
    if not fit:
        return bent_ends(view)
    used = [chamber_id for chamber_id in fit if chamber_id in _chambers_of(view, line)]
    chamber_id = rng.choice(used if used and rng.random() < 0.7 else fit)
    since = _begin_of_one(view, chamber_id)
    in_turn = _in_turn(view, since)
    at = rng.choice([0, 0, 0, 1, 2])
    in_turn[chamber_id][at:at] = [line.ix] * rng.choice([1, 1, 2, 3, 4, 6])
    return _follow(view, {chamber_id} | _chambers_of(view, line), since, in_turn)


def moved_run(view: View) -> Relay:
    """Move a run of cycles of one mold, or a part of it, to another chamber."""
    rng = view.rng
    one, two = rng.sample(view.compiled.places, 2) if len(view.compiled.places) > 1 else view.compiled.places * 2
    rows = _cycles_in(view, one.id, 0)
    if not rows:
        return bent_ends(view)
    first = rng.randrange(len(rows))
    last = first
    while last + 1 < len(rows) and rows[last + 1].mold == rows[first].mold and rng.random() < 0.9:
        last += 1
    since = min(rows[first].charge_slot, _begin_of_one(view, two.id))
    in_turn = _in_turn(view, since)
    begin = len(in_turn[one.id]) - (len(rows) - first)
    run = in_turn[one.id][begin : begin + last - first + 1]
    del in_turn[one.id][begin : begin + last - first + 1]
    others = [row.charge_slot for row in _cycles_in(view, two.id, since)]
    near = sum(slot < rows[first].charge_slot for slot in others)
    at = rng.choice([near, rng.randint(0, len(others))])
    if rng.random() < 0.5:  # an exchange: what the other chamber does meanwhile comes back
        in_turn[one.id][begin:begin] = in_turn[two.id][at : at + len(run)]
        del in_turn[two.id][at : at + len(run)]
    in_turn[two.id][at:at] = run
    return _follow(view, {one.id, two.id}, since, in_turn)


def other_turn(view: View) -> Relay:
    """Let a chamber do its cycles in another turn, or leave some out."""
    rng = view.rng
    chamber_id = rng.choice(view.compiled.places).id
    rows = _cycles_in(view, chamber_id, 0)
    if not rows:
        return bent_ends(view)
    first = rng.randrange(len(rows))
    since = rows[first].charge_slot
    in_turn = _in_turn(view, since)
    turn = in_turn[chamber_id]
    length = rng.randint(1, min(6, len(turn)))
    if rng.random() < 0.3:
        del turn[:length]
    else:
        at = rng.randint(length, min(length + 12, len(turn)))
        turn[:at] = turn[length:at] + turn[:length]
    return _follow(view, {chamber_id}, since, in_turn)


def loosened(view: View) -> Relay:
    """Let a rule decide what some chambers do, while the others go on in turn as they find room."""
    rng = view.rng
    places = view.compiled.places
    chosen = [place.id for place in rng.sample(places, min(rng.randint(1, 3), len(places)))]
    since = _since(view)
    in_turn = _in_turn(view, since)
    for chamber_id in chosen:
        del in_turn[chamber_id][rng.choice([0, 0, 2, 4]) :]
    return _follow(view, set(chosen), since, in_turn)


RELAYED: dict[str, Callable[[View], Relay]] = {
    "all anew": all_anew,
    "bent ends": bent_ends,
    "rush": rush,
    "swap": swap,
    "more of order": more_of_order,
    "moved run": moved_run,
    "other turn": other_turn,
    "loosened": loosened,
}
"""Ends that a dispatch rule lays anew."""


def _cycles_in(view: View, chamber_id: str, since: int) -> list[Cycle]:
    """Return the cycles of a chamber from a slot on that are not kept, in order of time."""
    timeline = view.timeline
    return [
        event
        for event in timeline.events[chamber_id]
        if isinstance(event, Cycle) and event.id not in timeline.kept_ids and event.charge_slot >= since
    ]


def _in_turn(view: View, since: int) -> dict[str, list[int]]:
    """Return for each chamber the orders that it serves from a slot on, in turn."""
    line_of = view.compiled.line_of
    return {
        place.id: [line_of[row.order_id].ix for row in _cycles_in(view, place.id, since)]
        for place in view.compiled.places
    }


def _begin_of_one(view: View, chamber_id: str) -> int:
    """Return when one of the cycles of a chamber begins."""
    rows = _cycles_in(view, chamber_id, 0)
    return view.rng.choice(rows).charge_slot if rows else view.compiled.now_slot


def _follow(view: View, chambers: set[str], since: int, in_turn: dict[str, list[int]]) -> Relay:
    relay = _relay(view, chambers, since, _bend(view.rng, len(view.compiled.lines)))
    long = view.rng.choice([3, 8, 30, 1000, 1000])
    return replace(relay, follow={chamber_id: in_turn[chamber_id][:long] for chamber_id in relay.chambers})


def _pull(other: Line, placed: Placement, line: Line, chamber_id: str) -> float:
    return 1000.0 if other is line and placed.place.id == chamber_id else 1.0


def _bend(rng: Random, n_lines: int) -> Callable[[Line, Placement], float]:
    spread = rng.choice([0, 0.2, 0.5, 1])
    bend = [2 ** rng.gauss(0, spread) for _ in range(n_lines)]
    return lambda line, placed: bend[line.ix]


def _since(view: View) -> int:
    first, n_slots = view.compiled.now_slot, view.compiled.n_slots
    return first + int(view.rng.random() ** 1.5 * (n_slots - first))


def _chambers_of(view: View, line: Line) -> set[str]:
    molds = line.make.product.mold_ids
    return {row.chamber_id for row in view.timeline.plan.cycles if row.mold.mold_id in molds}


def _relay(view: View, chambers: set[str], since: int, bend: Callable[[Line, Placement], float]) -> Relay:
    rng = view.rng
    base, open_chambers = _without_end(view.timeline, chambers, since)
    ahead, change, leveling = rng.choice([0.5, 0.7, 1, 1.5, 2, 3]), rng.choice([0, 20, 60, 100, 150]), rng.random()
    rule = tardiness(ahead, change, 0.5 + leveling / 2)

    def urgency(dispatcher: Dispatcher, line: Line, placed: Placement) -> float:
        return rule(dispatcher, line, placed) * bend(line, placed)

    return Relay(base, open_chambers, Manner("bent", urgency, overtime=rng.random() < 0.7), {}, rng.choice([0, since]))


def _without_end(timeline: Timeline, chambers: set[str], since: int) -> tuple[Plan, frozenset[str]]:
    """Return the plan without what some chambers do from a slot on, and the chambers that are open then.

    A chamber in which a mold goes on that the open ones held before is opened too: when and how clean it comes there
    is no longer certain.
    """
    plan, kept = timeline.plan, timeline.kept_ids
    while True:
        gone = [
            event
            for chamber_id in sorted(chambers)
            for event in timeline.events[chamber_id]
            if event.id not in kept and event_start(event) >= since
        ]
        molds = {copy for event in gone for copy in molds_of(event)}
        more = {
            chamber_id
            for chamber_id, events in timeline.events.items()
            if chamber_id not in chambers
            for event in events
            if event_start(event) >= since and molds.intersection(molds_of(event))
        }
        if not more:
            break
        chambers = chambers | more
    ids = {event.id for event in gone}
    base = Plan(
        plan.grid,
        tuple(row for row in plan.cycles if row.id not in ids),
        tuple(row for row in plan.mold_changes if row.id not in ids),
        tuple(row for row in plan.finishing if row.id in kept or (row.cycle_id not in ids and row.start_slot < since)),
    )
    return base, frozenset(chambers)


def lay_again(compiled: Compiled, task: Relay, mark: str, limit: int) -> Plan | None:
    """Return the plan with its end laid anew, None if it costs more than `limit`."""
    return Dispatcher(compiled, task.manner, task.base, task.chambers, mark, task.follow, task.since).plan_within(limit)
