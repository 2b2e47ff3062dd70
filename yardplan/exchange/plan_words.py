"""A plan in plain words."""

from datetime import datetime, timedelta

from yardplan.domain.orders import Order
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard

_STATES = ("on time", "late", "unfinished")


def order_counts(plan: Plan, orders: tuple[Order, ...], yard: Yard) -> str:
    """Return how many orders are on time, late and unfinished, in words."""
    results = order_results(plan, orders, yard)
    return ", ".join(f"{sum(row.state == state for row in results)} {state}" for state in _STATES)


def plan_words(stored: StoredPlan, orders: tuple[Order, ...], yard: Yard) -> str:
    """Return a plan in words: what it counts on, what it holds, and each order that is late or unfinished."""
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
                f"{goal} {_by_when(order.goal_at, grid)}{blocked.get(order.id, '')}"
            )
    return "\n".join(lines)


def _by_when(at: datetime, grid: SlotGrid) -> str:
    """Return an instant in words: midnight is the end of the day before."""
    local = at.astimezone(grid.zone)
    ends_day = (local.hour, local.minute) == (0, 0)
    return f"{local - timedelta(days=1):end of %a %d %b}" if ends_day else f"{local:%a %d %b %H:%M}"
