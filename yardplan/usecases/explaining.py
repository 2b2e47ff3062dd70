"""Explain why an order is late or an hour is empty, and measure what would help by solving again."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from yardplan.domain.equipment import Unit
from yardplan.domain.errors import NotThere, require
from yardplan.domain.explained import Effect, Explanation, Fact, Limit
from yardplan.domain.outcome import SolveOutcome, StoredPlan
from yardplan.domain.plan import Cycle, OrderResult, Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.what_if import (
    AnyChange,
    ClearDay,
    MoreEnergy,
    MoreStock,
    OneMoreBench,
    OneMoreCopy,
    OneMoreLoader,
    OneMorePerson,
    OneMoreUnit,
    Overtime,
)
from yardplan.solve.blockers import Blockers
from yardplan.solve.effects import Settled, laid_alone, settle, tried
from yardplan.solve.goal import goal_parts
from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import Database
from yardplan.usecases.outlook import Outlook
from yardplan.usecases.planning import problem_of, with_locks
from yardplan.usecases.what_if import changed_problem, outlook_of_plan

MOST_FACTS = 4
MOST_TRIED = 4
"""How many changes are measured by solving again."""
OVERTIME_DAYS = 3
"""How many evenings before the goal are looked at."""
MORE_KWH = 5.0
"""Energy that is tried where benches lack it [kWh]."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """A change that may help, the question with it, and how much by a quick look."""

    change: AnyChange
    problem: Problem
    start: Plan | None
    looks: tuple[float, float]
    """Cost that goes when the order alone is laid anew, then the share of the fact behind it."""


def explain_order(
    database: Database,
    stored: StoredPlan,
    order_id: str,
    limits: Limits,
    stop: Stop,
    on_step: Callable[[str], None] = lambda words: None,
) -> Explanation:
    """Return why an order ends when it does, and what the most promising changes would bring.

    Parameters
    ----------
    limits : Limits
        Of each search: two of the unchanged question, and one for each of at most four changes.
    stop : Stop
        Ends it early; what was measured up to then is told.
    on_step : callable
        Told in words what is searched for next.

    Raises
    ------
    NotThere
        If no such order is open.
    """
    require(not stored.draft, "explain", "", "plan", stored.number, "a plan that is no draft")
    outlook = outlook_of_plan(database, stored)
    problem, plan = with_locks(problem_of(outlook), stored), stored.outcome.plan
    before = result_of(problem, plan, order_id)
    facts = Blockers(problem, plan).of_order(order_id)
    on_step("the question as it is")
    base = settle(problem, plan, limits, stop)
    alone = laid_alone(problem, base.first.plan, order_id)
    as_it_is = goal_parts(problem, alone).cost if alone else base.first.parts.cost
    as_it_is = min(as_it_is, base.first.parts.cost)
    found = []
    for change, share in _order_changes(outlook, problem, order_id, facts):
        if stop.is_requested:
            break
        changed = changed_problem(database, outlook, (change,), stored)
        start = laid_alone(changed, base.first.plan, order_id)
        gain = as_it_is - goal_parts(changed, start).cost if start else 0
        found.append(Candidate(change, changed, start, (max(gain, 0), share)))
    found.sort(key=lambda one: one.looks, reverse=True)
    effects, untried = _measured(base, found, order_id, limits, stop, on_step)
    order = next(order for order in problem.orders if order.id == order_id)
    subject = f"{order.id}, {order.quantity} {order.product_id} {order.color} for {order.customer}"
    after = result_of(problem, base.second.plan, order_id)
    return Explanation(subject, before, after, _most_weighty(facts), effects, base.search_cost_less, untried)


def explain_hour(
    database: Database,
    stored: StoredPlan,
    chamber_id: str,
    at: datetime,
    limits: Limits,
    stop: Stop,
    on_step: Callable[[str], None] = lambda words: None,
) -> Explanation:
    """Return why a chamber is empty at an instant, and what changes would bring in all; see `explain_order`.

    Raises
    ------
    NotThere
        If there is no such chamber.
    InvalidField
        If the instant is not within the plan.
    """
    require(not stored.draft, "explain", "", "plan", stored.number, "a plan that is no draft")
    outlook = outlook_of_plan(database, stored)
    problem, plan, grid = with_locks(problem_of(outlook), stored), stored.outcome.plan, outlook.grid
    unit = problem.yard.unit_of(chamber_id)
    slot = grid.slot(at)
    days = f"within the plan, {grid.local(0):%Y-%m-%d %H:%M} to {grid.local(grid.n_slots):%Y-%m-%d %H:%M}"
    require(0 <= slot < grid.n_slots, "explain", chamber_id, "at", f"{at:%Y-%m-%d %H:%M}", days)
    blockers = Blockers(problem, plan)
    subject = f"chamber {chamber_id} at {grid.local(slot):%a %d %b %H:%M}"
    at_work = blockers.at_work(chamber_id, slot)
    if at_work is not None:
        until = f"{grid.local(at_work.end_slot):%a %H:%M}"
        doing = (
            f"{at_work.order_id} {at_work.product_id}" if isinstance(at_work, Cycle) else f"hanging {at_work.mold_in}"
        )
        fact = Fact(Limit.CHAMBER, 1.0, (at_work.id,), f"not empty: {doing} until {until}")
        return Explanation(subject, None, None, (fact,), (), 0, ())
    facts = blockers.of_hour(chamber_id, slot)
    on_step("the question as it is")
    base = settle(problem, plan, limits, stop)
    found = [
        Candidate(change, changed_problem(database, outlook, (change,), stored), None, (0.0, share))
        for change, share in _hour_changes(problem, unit, grid.local(slot), facts)
        if not stop.is_requested
    ]
    found.sort(key=lambda one: one.looks, reverse=True)
    effects, untried = _measured(base, found, "", limits, stop, on_step)
    return Explanation(subject, None, None, _most_weighty(facts), effects, base.search_cost_less, untried)


def result_of(problem: Problem, plan: Plan, order_id: str) -> OrderResult:
    """Return what a plan makes of one order.

    Raises
    ------
    NotThere
        If no such order is open.
    """
    for found in order_results(plan, problem.orders, problem.yard):
        if found.order_id == order_id:
            return found
    raise NotThere("open order", order_id, f"known are {', '.join(order.id for order in problem.orders)}")


def _measured(
    base: Settled,
    found: Sequence[Candidate],
    order_id: str,
    limits: Limits,
    stop: Stop,
    on_step: Callable[[str], None],
) -> tuple[tuple[Effect, ...], tuple[AnyChange, ...]]:
    """Return the effects of the most promising changes, the best first, and the changes that were not tried."""
    effects: list[Effect] = []
    for candidate in found[:MOST_TRIED]:
        if stop.is_requested:
            break
        on_step(f"with {candidate.change.words}")
        outcome = tried(base, candidate.problem, limits, stop, candidate.start)
        if not stop.is_requested:
            effects.append(effect_of(base, candidate.change, candidate.problem, outcome, order_id))
    untried = tuple(candidate.change for candidate in found[len(effects) :])
    key = (lambda row: (row.pieces_more, row.earlier_slots, row.cost_less)) if order_id else (lambda row: row.cost_less)
    return tuple(sorted(effects, key=key, reverse=True)), untried


def effect_of(base: Settled, change: AnyChange, changed: Problem, outcome: SolveOutcome, order_id: str = "") -> Effect:
    """Return what a change brought against the unchanged question that was searched on as long."""
    problem, held = base.problem, base.second
    grid = problem.grid
    day = 24 * 60 / grid.slot_min
    pieces = [
        sum(row.pieces_missing for row in order_results(plan, asked.orders, asked.yard))
        for asked, plan in ((problem, held.plan), (changed, outcome.plan))
    ]
    late = [parts.promised_late_slots + parts.other_late_slots for parts in (held.parts, outcome.parts)]
    result, earlier, more = None, 0, 0
    if order_id:
        old, result = result_of(problem, held.plan, order_id), result_of(changed, outcome.plan, order_id)
        ends = [grid.n_slots if row.finish_slot is None else row.finish_slot for row in (old, result)]
        earlier, more = ends[0] - ends[1], old.pieces_missing - result.pieces_missing
    cost_less = held.parts.cost - outcome.parts.cost
    return Effect(change, result, earlier, more, (late[0] - late[1]) / day, pieces[0] - pieces[1], cost_less)


def _most_weighty(facts: Sequence[Fact]) -> tuple[Fact, ...]:
    """Return the facts to tell; what takes no more than a hundredth of the time does not count."""
    weighty = [fact for fact in facts if fact.share > 0.01]
    return tuple(weighty[:MOST_FACTS]) or tuple(facts[:1])


def _order_changes(
    outlook: Outlook, problem: Problem, order_id: str, facts: Sequence[Fact]
) -> Iterator[tuple[AnyChange, float]]:
    """Return changes that may help an order, each with the share of the fact that speaks for it."""
    yard, grid = problem.yard, problem.grid
    order = next(order for order in problem.orders if order.id == order_id)
    product = yard.product(order.product_id)
    share = {fact.limit: fact.share for fact in facts}
    names = {fact.limit: fact.names for fact in facts}

    def of(*limits: Limit) -> float:
        return max((share.get(limit, 0.0) for limit in limits), default=0.0)

    for mold_id in product.mold_ids:
        yield OneMoreCopy(mold_id), of(Limit.MOLD)
    unit = _best_unit(problem, product.id)
    if unit is not None:
        yield OneMoreUnit(unit.id), of(Limit.CHAMBER, Limit.BEAM)
    for shift_id in sorted({duty.shift_id for person in yard.operators for duty in person.duties}):
        yield OneMorePerson(shift_id), of(Limit.HANDLING, Limit.MOLD_CHANGE, Limit.FINISHERS)
    if Limit.MOLD_CHANGE in share:
        yield OneMoreLoader(), of(Limit.MOLD_CHANGE)
    until = [on for on, first, _ in grid.days if first < grid.slot(order.goal_at) and grid.slot(order.goal_at) > 0]
    days = until or [on for on, _, _ in grid.days]
    if product.routing:
        for on in days[-OVERTIME_DAYS:]:
            yield Overtime(on), of(Limit.SHIFT)
    cloudiest = _cloudiest(outlook, days)
    if cloudiest is not None:
        yield ClearDay(cloudiest), max(of(Limit.SUN), 0.01)
    for kind in names.get(Limit.BENCH, ()):
        yield OneMoreBench(next(bench.id for bench in yard.benches if bench.kind == kind)), of(Limit.BENCH)
    for kind in names.get(Limit.ENERGY, ()):
        for unit_id in sorted({bench.unit_id for bench in yard.benches if bench.kind == kind}):
            yield MoreEnergy(unit_id, MORE_KWH), of(Limit.ENERGY)
    for item_id in names.get(Limit.STOCK, ()):
        used = product.shot_kg + dict(product.inserts).get(item_id, 0)
        yield MoreStock(item_id, float(np.ceil(used * order.quantity))), of(Limit.STOCK)


def _hour_changes(
    problem: Problem, unit: Unit, at: datetime, facts: Sequence[Fact]
) -> Iterator[tuple[AnyChange, float]]:
    """Return changes that may fill an hour of a chamber of a unit."""
    yard = problem.yard
    share = {fact.limit: fact.share for fact in facts}
    if Limit.SUN in share:
        yield ClearDay(at.date()), share[Limit.SUN]
    if Limit.MOLD in share:
        late = [order.product_id for order in problem.orders]
        molds = {mold_id for product_id in late for mold_id in yard.product(product_id).mold_ids}
        fitting = [m for m in yard.molds if m.id in molds and any(yard.fits(m, chamber) for chamber in unit.chambers)]
        scarce = sorted(fitting, key=lambda mold: (mold.copies * mold.cavities, mold.id))
        for mold in scarce[:2]:
            yield OneMoreCopy(mold.id), share[Limit.MOLD]
    if Limit.BEAM in share:
        yield OneMoreUnit(unit.id), share[Limit.BEAM]
    crew = max(share.get(Limit.HANDLING, 0.0), share.get(Limit.MOLD_CHANGE, 0.0))
    if crew:
        for shift in yard.shifts:
            if shift.start_local <= at.time() < shift.end_local:
                yield OneMorePerson(shift.id), crew
    if Limit.MOLD_CHANGE in share:
        yield OneMoreLoader(), share[Limit.MOLD_CHANGE]


def _best_unit(problem: Problem, product_id: str) -> Unit | None:
    """Return the unit in which a product can be started longest, None where it can be made in none."""
    yard, cook = problem.yard, problem.cook
    ix = cook.confidence_ix(problem.confidence)
    product = yard.product(product_id)
    starts: dict[str, int] = {}
    for recipe_ix, recipe in enumerate(cook.recipes):
        if recipe.product_id == product_id:
            for unit_ix, unit in enumerate(yard.units):
                mold = yard.mold(recipe.mold_id)
                if any(yard.fits(mold, chamber, product) for chamber in unit.chambers):
                    count = int(np.count_nonzero(cook.cook_slots[ix, recipe_ix, unit_ix]))
                    starts[unit.id] = max(starts.get(unit.id, 0), count)
    best = max(starts, key=lambda unit_id: starts[unit_id], default=None)
    return yard.unit(best) if best is not None and starts[best] else None


def _cloudiest(outlook: Outlook, days: Sequence[date]) -> date | None:
    """Return the day that a clear sky would bring most direct light, None where none would bring any."""
    skies = outlook.skies
    lost = np.clip(skies.clear.dni_w_m2 - np.median(skies.dni_w_m2, axis=0), 0, None)
    brings = {on: float(lost[first:after].sum()) for on, first, after in outlook.grid.days if on in days}
    best = max(brings, key=lambda on: brings[on], default=None)
    return best if best is not None and brings[best] > 0 else None
