"""Why an order is not finished in a plan."""

from yardplan.domain.people import HANDLING
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.rules import Blocked, Why
from yardplan.solve.bookings import Bookings
from yardplan.solve.compiled import Compiled, Line, runs


def blocked_orders(compiled: Compiled, plan: Plan) -> tuple[Blocked, ...]:
    """Return, for each order that a plan leaves unfinished, the first reason that holds on its own.

    What lasts (mold, sun, crew, bench) is judged against kept work alone, what is used up (resin, inserts) against
    the whole plan. `NO_ROOM` is left where no single rule stands in the way.
    """
    problem = compiled.problem
    alone, whole = Bookings(compiled, problem.kept), Bookings(compiled, plan)
    results = order_results(plan, problem.orders, problem.yard)
    return tuple(
        _reason(compiled, line, alone, whole, result.pieces_missing)
        for line, result in zip(compiled.lines, results, strict=True)
        if result.pieces_missing > 0
    )


def _reason(compiled: Compiled, line: Line, alone: Bookings, whole: Bookings, missing: int) -> Blocked:
    for find in (_no_mold, _no_heat, _no_crew, _no_bench):
        found = find(compiled, line, alone)
        if found is not None:
            return Blocked(line.order.id, *found)
    short = _no_stock(compiled, line, whole)
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


def _no_crew(compiled: Compiled, line: Line, alone: Bookings) -> tuple[Why, str] | None:
    make = line.make
    needs = [(HANDLING, make.product.charge_crew, make.charge_slots)]
    needs += [(HANDLING, make.product.demold_crew, make.demold_slots)]
    needs += [(step.skill, 1, step.slots) for step in make.steps]
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
