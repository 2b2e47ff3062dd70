"""New work before all that is promised to nobody: how early it would be, and who gives way by how much.

What is promised, locked, begun or about to begin stays where it is. The rest is laid anew behind the new work, each
cycle where it is ready first. A search for a whole new plan may well find smaller moves, so these are told as at most.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from yardplan.domain.orders import Order
from yardplan.domain.plan import Cycle, MoldChange, Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.quotes import Dates, Finished, Moved, Wish
from yardplan.domain.tables import SkyCooks
from yardplan.solve.quote import Book

FENCE_H = 24
"""What begins so soon stays: its mold is hung and its resin weighed (common practice, no source) [h]."""

TOLD_MIN = 30
"""An order that is ready no more than so much later or earlier counts as staying [min]."""


def firm_part(problem: Problem, plan: Plan) -> Plan:
    """Return a plan without the cycles that may give way, what follows from them, and mold changes for nothing else."""
    promised = {order.id for order in problem.orders if order.promise_at is not None}
    fence_slot = problem.now_slot + FENCE_H * 60 // problem.grid.slot_min
    cycles = tuple(row for row in plan.cycles if row.order_id in promised or row.locked or row.charge_slot < fence_slot)
    left = {row.id for row in cycles}
    finishing = tuple(row for row in plan.finishing if row.cycle_id in left)
    changes = list(plan.mold_changes)
    for change in sorted(plan.mold_changes, key=lambda row: row.start_slot, reverse=True):
        if change.locked or change.start_slot < fence_slot or _is_needed(change, cycles, changes):
            continue
        changes.remove(change)
    return replace(plan, cycles=cycles, mold_changes=tuple(changes), finishing=finishing)


def _is_needed(change: MoldChange, cycles: Sequence[Cycle], changes: Sequence[MoldChange]) -> bool:
    """Tell whether work in the chamber comes after a mold change, or the mold that it takes out is hung later."""
    later = [row for row in changes if row.start_slot > change.start_slot]
    return (
        any(row.chamber_id == change.chamber_id and row.charge_slot >= change.start_slot for row in cycles)
        or any(row.chamber_id == change.chamber_id for row in later)
        or any(row.mold_in == change.mold_out for row in later)
    )


def rush(
    problem: Problem,
    plan: Plan,
    cooks: SkyCooks,
    wishes: Sequence[Wish],
    *,
    finished: Sequence[Finished] = (),
    since: Sequence[Sequence[Wish]] = (),
    wish_on: date | None = None,
    lead_days: int = 0,
) -> tuple[Dates, tuple[Moved, ...]]:
    """Return when wishes would be ready if work that is promised to nobody gave way, and who would move.

    Parameters
    ----------
    problem, plan, cooks, finished
        As of `Book`.
    since : sequence of sequence of Wish
        What was promised or held since the plan was made: it stays before the new work.
    """
    firm, orders, giving = firm_part(problem, plan), list[Order](), list[tuple[Order, int]]()
    for order in problem.orders:
        kept = sum(row.pieces for row in firm.cycles if row.order_id == order.id)
        if order.promise_at is not None:
            orders.append(order)
        else:
            if kept:
                orders.append(replace(order, quantity=min(kept, order.quantity)))
            if kept < order.quantity:
                giving.append((order, order.quantity - kept))
    book = Book(replace(problem, orders=tuple(orders)), firm, cooks, finished, since)
    dates = book.dates(wishes, wish_on=wish_on, lead_days=lead_days)
    stage = book.chain[-1].copied()
    for wish in wishes:
        stage.take(wish, "rush")
    grid, never = problem.grid, problem.grid.n_slots + 1
    results = {row.order_id: row for row in order_results(plan, problem.orders, problem.yard)}

    def was_slot(order: Order) -> int:
        row = results[order.id]
        return row.finish_slot if row.finish_slot is not None and not row.pieces_missing else never

    moved = []
    for order, missing in sorted(giving, key=lambda pair: was_slot(pair[0])):
        taken = stage.take(Wish(order.product_id, order.color, missing), order.id)
        ready = taken.slots[-1] if len(taken.slots) == missing else never
        was = was_slot(order)
        if abs(ready - was) * grid.slot_min > TOLD_MIN:
            at = [None if slot == never else grid.local(slot) for slot in (was, ready)]
            moved.append(Moved(order.id, order.customer, at[0], at[1]))
    return dates, tuple(moved)
