"""A plan in plain words."""

from yardplan.domain.orders import Order
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.quotes import Hold
from yardplan.domain.risk import of_twenty
from yardplan.domain.yard import Yard
from yardplan.exchange.day_words import by_when
from yardplan.exchange.quote_document import hold_words
from yardplan.exchange.risk_document import poor_orders

_STATES = ("on time", "late", "unfinished")


def order_counts(plan: Plan, orders: tuple[Order, ...], yard: Yard) -> str:
    """Return how many orders are on time, late and unfinished, in words."""
    results = order_results(plan, orders, yard)
    return ", ".join(f"{sum(row.state == state for row in results)} {state}" for state in _STATES)


def plan_words(
    stored: StoredPlan, orders: tuple[Order, ...], yard: Yard, holds: tuple[Hold, ...] = (), note: str = ""
) -> str:
    """Return a plan in words: what it counts on, what it holds, each order that is late or unfinished, and holds.

    Holds are capacity beside the plan that is kept for customers; see `Hold`. The note is told as it is.
    """
    outcome = stored.outcome
    plan, grid = outcome.plan, outcome.plan.grid
    results = order_results(plan, orders, yard)
    known = {order.id: order for order in orders}
    blocked = {
        row.order_id: f" ({row.why.replace('_', ' ')}{': ' + row.detail if row.detail else ''})"
        for row in outcome.blocked
    }
    lines = [
        f"Plan {stored.number}: {grid.local(0):%a %d %b} to {grid.local(grid.n_slots - 1):%a %d %b %Y}, "
        f"at {stored.confidence:.0%} confidence, {outcome.status}",
        f"  sun: {stored.heat_source}",
        f"  orders: {order_counts(plan, orders, yard)}",
        f"  {len(plan.cycles)} cycles, {len(plan.mold_changes)} mold changes, {len(plan.finishing)} finishing jobs",
        f"  cost {outcome.parts.cost:,}, cannot be below {outcome.bound:,} (gap {outcome.gap_frac:.0%}), "
        f"seed {outcome.seed}, {outcome.seconds:.0f} s",
    ]
    if stored.risk is not None:
        promised, every = of_twenty(stored.risk.promised_frac), of_twenty(stored.risk.all_frac)
        lines.append(
            f"  {stored.risk.n_scenarios} skies: in {promised} of 20 all promised orders that are on time here stay "
            f"so, in {every} of 20 the others as well"
        )
    placed = {job.upkeep_id: job for job in plan.upkeep}
    for upkeep in yard.upkeep:
        job = placed.get(upkeep.id)
        what = f"{upkeep.name} of {upkeep.kind} {upkeep.resource_id}"
        if job is not None:
            crew = f", {' and '.join(job.crew)}" if job.crew else ""
            lines.append(f"  upkeep: {what}, {grid.local(job.start_slot):%a %d %b %H:%M}{crew}")
        elif grid.slot(upkeep.due_at) <= grid.n_slots:
            lines.append(
                f"  upkeep not planned, no hour with people for it: {what}, due {by_when(upkeep.due_at, grid)}"
            )
    if note:
        lines.append(f"  {note}")
    for result in results:
        order = known[result.order_id]
        goal = "promised" if order.promise_at else "due"
        if result.state == "late" and result.finish_slot is not None:
            lines.append(
                f"  late: {order.id} {order.product_id}, {result.late_slots * grid.slot_min / 60:.1f} h after "
                f"the {goal} time, done {grid.local(result.finish_slot):%a %d %b %H:%M}"
            )
        elif result.state == "unfinished":
            lines.append(
                f"  unfinished: {order.id} {order.product_id}, {result.pieces_missing} of {order.quantity} missing, "
                f"{goal} {by_when(order.goal_at, grid)}{blocked.get(order.id, '')}"
            )
    for order, row in poor_orders(orders, results, stored.risk, stored.confidence) if stored.risk else ():
        lines.append(
            f"  poor chance: {order.id} {order.product_id}, on time in {of_twenty(row.chance_frac or 0)} of 20 skies, "
            f"{'promised' if order.promise_at else 'due'} {by_when(order.goal_at, grid)}, "
            f"in 16 of 20 skies done "
            + ("only after these days" if row.p80_slot is None else f"by {grid.local(row.p80_slot):%a %d %b %H:%M}")
        )
    lines += [f"  {hold_words(hold)}" for hold in holds]
    return "\n".join(lines)
