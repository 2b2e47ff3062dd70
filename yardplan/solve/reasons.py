"""Why an order is not finished in a plan."""

from collections import Counter

from yardplan.domain.people import HANDLING
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.rules import Blocked, Why
from yardplan.solve.bookings import Bookings
from yardplan.solve.compiled import Compiled, Line, first_slot, runs


def blocked_orders(compiled: Compiled, plan: Plan) -> tuple[Blocked, ...]:
    """Return, for each order that a plan leaves unfinished, the first reason that holds on its own.

    What lasts (mold, sun, crew, bench) is judged against kept work alone, what is used up (resin, inserts, energy)
    against the whole plan. `NO_ROOM` is left where no single rule stands in the way.
    """
    problem = compiled.problem
    alone, whole = Bookings(compiled, problem.kept), Bookings(compiled, plan)
    results = order_results(plan, problem.orders, problem.yard)
    return tuple(
        _reason(compiled, line, plan, alone, whole, result.pieces_missing)
        for line, result in zip(compiled.lines, results, strict=True)
        if result.pieces_missing > 0
    )


def _reason(compiled: Compiled, line: Line, plan: Plan, alone: Bookings, whole: Bookings, missing: int) -> Blocked:
    molded = sum(cycle.pieces for cycle in plan.cycles if cycle.order_id == line.order.id)
    to_mold = (_no_mold, _no_heat, _no_handlers) if molded < line.order.quantity else ()
    for find in (*to_mold, _no_finishers, _no_bench):
        found = find(compiled, line, alone)
        if found is not None:
            return Blocked(line.order.id, *found)
    short = _no_stock(compiled, line, whole) if to_mold else None
    short = short or _no_energy(compiled, line, plan, alone, whole)
    if short is not None:
        return Blocked(line.order.id, *short)
    return Blocked(line.order.id, Why.NO_ROOM, f"{missing} of {line.order.quantity} pieces")


def _no_mold(compiled: Compiled, line: Line, alone: Bookings) -> tuple[Why, str] | None:
    product = line.make.product
    if any(compiled.fits(mold, place.id, product.id) for mold in product.mold_ids for place in compiled.places):
        return None
    return Why.NO_MOLD_FITS, ", ".join(product.mold_ids)


def _no_heat(compiled: Compiled, line: Line, alone: Bookings) -> tuple[Why, str] | None:
    product = line.make.product
    for mold_id in product.mold_ids:
        for place in compiled.places:
            row = compiled.row(mold_id, product.id, place.id)
            if row is not None and row.starts & place.open:
                return None
    return Why.NO_HEAT, f"{product.id}, {product.piat_c:g} °C at {100 * compiled.problem.confidence:.0f} %"


def _no_handlers(compiled: Compiled, line: Line, alone: Bookings) -> tuple[Why, str] | None:
    make = line.make
    charge = HANDLING, make.product.charge_crew, make.charge_slots
    return _no_crew(compiled, [charge, (HANDLING, make.product.demold_crew, make.demold_slots)], alone)


def _no_finishers(compiled: Compiled, line: Line, alone: Bookings) -> tuple[Why, str] | None:
    return _no_crew(compiled, [(step.skill, 1, step.slots) for step in line.make.steps], alone)


def _no_crew(compiled: Compiled, needs: list[tuple[str, int, int]], alone: Bookings) -> tuple[Why, str] | None:
    for skill, count, length in needs:
        if count and not alone.crew_starts(((skill, count),), length):
            return Why.NO_CREW, f"{count} x {skill} for {length * compiled.grid.slot_min} min"
    return None


def _no_bench(compiled: Compiled, line: Line, alone: Bookings) -> tuple[Why, str] | None:
    for step in line.make.steps:
        benches = compiled.benches_of.get(step.bench_kind, [])
        if not any(
            runs(alone.bench_free[bench] & alone.power_ok(compiled.bench_unit[bench], step.watts), step.slots)
            for bench in benches
        ):
            return Why.NO_BENCH, f"{step.bench_kind}, {step.watts / 1000:g} kW for {step.slots} slots"
    return None


def _no_stock(compiled: Compiled, line: Line, whole: Bookings) -> tuple[Why, str] | None:
    product = line.make.product
    cavities = [compiled.molds[mold_id].cavities for mold_id in compiled.recipes[product.id]]
    inserts = {item_id for item_id, _ in product.inserts}
    for item_id, amount in compiled.uses(product.id, line.order.color, min(cavities)).items():
        if whole.stock_from({item_id: amount}) is None:
            left = sum(change for _, change in whole.stock[item_id])
            why = Why.NO_INSERTS if item_id in inserts else Why.NO_RESIN
            return why, f"{item_id}: {max(left, 0) / 1000:g} left, {amount / 1000:g} for one cycle"
    return None


def _no_energy(compiled: Compiled, line: Line, plan: Plan, alone: Bookings, whole: Bookings) -> tuple[Why, str] | None:
    """Look for a step that lacks energy at the best of all times at which people and benches could do it."""
    per_kwh = 1000 * 60 / compiled.grid.slot_min
    for first, ready in _to_finish(compiled, line, plan):
        for step, name in zip(line.make.steps[first:], line.make.product.routing[first:], strict=True):
            ready += step.rest_slots
            people = alone.crew_starts(((step.skill, 1),), step.slots) >> max(ready, 0) << max(ready, 0)
            lacks = []
            for bench in compiled.benches_of.get(step.bench_kind, []):
                unit_ix = compiled.bench_unit[bench]
                starts = people & runs(alone.bench_free[bench] & alone.power_ok(unit_ix, step.watts), step.slots)
                left = whole.span_left[unit_ix]
                cuts = compiled.energy_cuts(starts, step.slots, range(len(left)))
                lacks += [max((slots * step.watts - left[ix] for ix, slots in use), default=0) for _, use in cuts]
            if lacks and step.watts and min(lacks) > 0:
                return Why.NO_ENERGY, f"{name.name}, {step.kwh:.2g} kWh: short by {min(lacks) / per_kwh:.2g} kWh"
            ready += step.slots
    return None


def _to_finish(compiled: Compiled, line: Line, plan: Plan) -> list[tuple[int, int]]:
    """Return what the cycles of an order, or a new one, still lack: (first step, slot from which it rests)."""
    done = Counter(job.cycle_id for job in plan.finishing)
    ends = {job.cycle_id: job.end_slot for job in sorted(plan.finishing, key=lambda job: job.end_slot)}
    found = [
        (done[cycle.id], ends.get(cycle.id, cycle.end_slot))
        for cycle in plan.cycles
        if cycle.order_id == line.order.id and done[cycle.id] < len(line.make.steps)
    ]
    if found:
        return found
    rows = [
        row
        for mold_id in line.make.product.mold_ids
        for place in compiled.places
        if (row := compiled.row(mold_id, line.make.product.id, place.id)) is not None
    ]
    molded = [heat + row.cook[heat] + row.cool[heat] for row in rows if (heat := first_slot(row.starts)) is not None]
    return [(0, min(molded) + line.make.demold_slots)] if molded else []
