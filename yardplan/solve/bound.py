"""A cost that no plan can go below."""

from collections.abc import Callable
from math import floor

from yardplan.solve.bookings import Bookings
from yardplan.solve.bound_together import cost_together, lateness_cost
from yardplan.solve.compiled import Compiled, CookRow, Line, first_slot, spans
from yardplan.solve.goal import kept_cost

Ends = dict[tuple[str, str], list[int]]
"""For each mold and product, the earliest ends of heat of one mold's cycles."""


def lower_bound(compiled: Compiled, is_over: Callable[[], bool] = lambda: False) -> int:
    """Return a cost that no plan for the problem can go below.

    It is the larger of two relaxations, plus what kept work costs by itself (mold changes, clean-downs, overtime,
    evening slots: every plan holds these rows unchanged, and new rows add to each of these counts).

    *Each order alone* (`alone_cost`): what its lateness and missing pieces cost at least if it had the yard to itself.
    The cost is a sum over orders, and other orders only take resources away, so the sum of these is a bound.

    *All orders together*: see `bound_together.cost_together`.

    Parameters
    ----------
    is_over : callable
        Asked now and then; once true, what is known by then is returned.
    """
    book = Bookings(compiled, compiled.problem.kept, rests=False)
    ends = {
        (mold_id, product_id): cycle_ends(compiled, book, product_id, mold_id)
        for product_id in {line.order.product_id for line in compiled.lines}
        for mold_id in compiled.recipes[product_id]
    }
    tails = {product_id: _least_tail(compiled, product_id) for _, product_id in ends}
    reached = {line.ix: earliest_finish(compiled, ends, tails, line) for line in compiled.lines}
    alone = sum(alone_cost(compiled, line, *reached[line.ix]) for line in compiled.lines)
    together = cost_together(compiled, book, {ix: slot for ix, (slot, _) in reached.items()}, is_over)
    return kept_cost(compiled.problem) + max(alone, floor(together))


def cycle_ends(compiled: Compiled, book: Bookings, product_id: str, mold_id: str) -> list[int]:
    """Return the earliest ends of heat of one mold's cycles back to back, each on whichever unit ends it first.

    When a cycle ends is a function of when the mold is free that never falls, so taking the earliest end each time
    gives at least as many ends by any time as any plan.
    """
    make, ends, at = compiled.makes[product_id], list[int](), compiled.now_slot
    rows = [
        (row, row.starts & book.field_free[place.unit_ix])
        for place in compiled.places
        if (row := compiled.row(mold_id, product_id, place.id)) is not None
    ]
    while True:
        firsts = [first for row, starts in rows if (first := _first_ends(row, starts, at + make.charge_slots))]
        if not firsts:
            return ends
        ends.append(min(heated for heated, _ in firsts))
        at = min(cooled for _, cooled in firsts) + make.demold_slots


def _first_ends(row: CookRow, starts: int, at: int) -> tuple[int, int] | None:
    """Return the earliest end of heat from a slot on, and the earliest end of cooling, each the least by itself."""
    found: tuple[int, int] | None = None
    slot = first_slot(starts, at)
    while slot is not None and (found is None or slot < found[1]):
        heated = slot + row.cook[slot]
        cooled = heated + row.cool[slot]
        found = (heated, cooled) if found is None else (min(found[0], heated), min(found[1], cooled))
        slot = first_slot(starts, slot + 1)
    return found


def earliest_finish(compiled: Compiled, ends: Ends, tails: dict[str, int], line: Line) -> tuple[int, int]:
    """Return when an order is finished at the earliest if it had the yard to itself, and what is missing by the end.

    Its cycles are made as early as its molds allow (`cycle_ends`), finished without waiting for anybody; pieces of
    kept cycles count as finished from the start.
    """
    n_slots, order = compiled.n_slots, line.order
    tail = tails.get(order.product_id, 0)
    ready = [(0, line.kept_pieces)] if line.kept_pieces else []
    for mold_id in compiled.recipes[order.product_id]:
        cavities = compiled.molds[mold_id].cavities
        for end in ends[mold_id, order.product_id]:
            if end + tail <= n_slots:
                ready += [(end + tail, cavities)] * len(compiled.copies_of[mold_id])
    made = 0
    for slot, pieces in sorted(ready):
        made += pieces
        if made >= order.quantity:
            return slot, 0
    return n_slots, order.quantity - made


def alone_cost(compiled: Compiled, line: Line, reached: int, missing: int) -> int:
    """Return what an order's lateness and missing pieces cost at least if it had the yard to itself."""
    order, weights = line.order, compiled.problem.weights
    # Leaving a piece out may cost less than being late with the last one.
    share = -(-1000 * max(missing, 1) // order.quantity)
    incomplete = lateness_cost(compiled, line, compiled.n_slots) + order.priority * weights.missing_piece_share * share
    return incomplete if missing else min(incomplete, lateness_cost(compiled, line, reached))


def _least_tail(compiled: Compiled, product_id: str) -> int:
    """Return the least slots from the end of heat to the end of finishing."""
    cools = []
    for mold_id in compiled.recipes[product_id]:
        for place in compiled.places:
            row = compiled.row(mold_id, product_id, place.id)
            if row is not None:
                cools += [min(row.cool[slot] for slot in range(*span)) for span in spans(row.starts)]
    make = compiled.makes[product_id]
    return min(cools, default=0) + make.demold_slots + sum(step.rest_slots + step.slots for step in make.steps)
