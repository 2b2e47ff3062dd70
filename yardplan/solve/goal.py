"""What a plan costs, counted from the plan alone."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from yardplan.domain.moves import anchors, moved
from yardplan.domain.outcome import GoalParts
from yardplan.domain.people import Operator, shift_span
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import GoalWeights, Problem


def missing_thousandths(missing: int, quantity: int) -> int:
    """Return the share of an order that is missing, in thousandths, rounded up so that no missing piece is free."""
    return -(-1000 * missing // quantity)


class Costing:
    """Counts the goal of plans for one problem; what does not change from plan to plan is read once."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.early = {row.order_id: row for row in problem.early}
        self.evening = problem.power.evening_ix.tolist()
        self.charge_slots = {row.id: problem.grid.slots_up(row.charge_min) for row in problem.yard.products}
        self.anchors = anchors(problem.before, problem.now_slot)
        self.overtime = {row.id: spans for row in problem.yard.operators if (spans := _overtime(problem, row))}

    def parts(self, plan: Plan) -> GoalParts:
        """Return the cost of a plan and what it is made of; see `GoalWeights` for the units."""
        problem, weights = self.problem, self.problem.weights
        promised = other = late_orders = missing = slack = 0
        for order, result in zip(problem.orders, order_results(plan, problem.orders, problem.yard), strict=True):
            late = order.priority * result.late_slots
            if order.promise_at is None:
                other += late
            else:
                promised += late
            late_orders += order.priority * (result.late_slots > 0)
            missing += order.priority * missing_thousandths(result.pieces_missing, order.quantity)
            reached = problem.grid.n_slots if result.finish_slot is None else result.finish_slot
            early_slot = problem.grid.slot(order.goal_at) - weights.slack_slots
            slack += order.priority * max(reached - early_slot, 0)
            if order.id in self.early:
                early = self.early[order.id]
                slack += order.priority * early.times * max(reached - early.by_slot, 0)
        changes = len(plan.mold_changes)
        cleans = sum(cycle.clean_slots > 0 for cycle in plan.cycles)
        overtime = self._overtime_slots(plan) if self.overtime else 0
        evening = sum(
            self.evening[slot] >= 0
            for job in plan.finishing
            for slot in range(max(job.start_slot, 0), min(job.end_slot, problem.grid.n_slots))
        )
        upset = sum(job.weight for job in moved(self.anchors, plan))
        cost = cost_of(weights, promised, other, late_orders, missing, changes, cleans, overtime, evening, slack)
        cost += weights.moved * upset
        return GoalParts(cost, promised, other, late_orders, missing, changes, cleans, overtime, evening, slack, upset)

    def _overtime_slots(self, plan: Plan) -> int:
        return sum(
            max(min(end, span_end) - max(start, span_start), 0)
            for start, end, crew in self._work(plan)
            for person in crew
            for span_start, span_end in self.overtime.get(person, ())
        )

    def _work(self, plan: Plan) -> Iterable[tuple[int, int, tuple[str, ...]]]:
        for cycle in plan.cycles:
            charged = cycle.charge_slot + cycle.clean_slots + self.charge_slots[cycle.product_id]
            yield cycle.charge_slot, charged, cycle.charge_crew
            yield cycle.demold_slot, cycle.end_slot, cycle.demold_crew
        for change in plan.mold_changes:
            yield change.start_slot, change.end_slot, change.crew
        for job in plan.finishing:
            yield job.start_slot, job.end_slot, (job.operator_id,)


def goal_parts(problem: Problem, plan: Plan) -> GoalParts:
    """Return the cost of a plan and what it is made of; see `GoalWeights` for the units.

    An order counts as late where `OrderResult.late_slots` is above 0; slack counts for an unfinished order as if it
    were finished at the end of the grid. Kept work counts like any other.
    """
    return Costing(problem).parts(plan)


def cost_of(
    weights: GoalWeights,
    promised: int,
    other: int,
    late_orders: int,
    missing: int,
    changes: int,
    cleans: int,
    overtime: int,
    evening: int,
    slack: int,
) -> int:
    """Return the weighted sum of the goal's parts."""
    return (
        weights.promised_late * promised
        + weights.other_late * other
        + weights.late_order * late_orders
        + weights.missing_piece_share * missing
        + weights.mold_change * changes
        + weights.clean_down * cleans
        + weights.overtime * overtime
        + weights.evening * evening
        + weights.slack * slack
    )


def _overtime(problem: Problem, operator: Operator) -> list[tuple[int, int]]:
    """Return the slots of an operator's overtime shifts."""
    grid = problem.grid
    shifts = {shift.id: shift for shift in problem.yard.shifts if shift.overtime}
    days = [on for on, _, _ in grid.days]
    found = []
    for on in [days[0] - timedelta(days=1), *days]:
        for duty in operator.duties:
            if duty.shift_id in shifts and duty.holds_on(on) and on not in operator.days_off:
                start, end = (_utc(problem, naive) for naive in shift_span(shifts[duty.shift_id], on))
                found.append((grid.slot_up(start), grid.slot(end)))
    return found


def _utc(problem: Problem, naive: datetime) -> datetime:
    return naive.replace(tzinfo=problem.grid.zone).astimezone(UTC)


def kept_cost(problem: Problem) -> int:
    """Return what kept work costs in every plan: its mold changes, clean-downs, overtime and evening slots."""
    kept, weights = Costing(problem).parts(problem.kept), problem.weights
    return cost_of(weights, 0, 0, 0, 0, kept.mold_changes, kept.clean_downs, kept.overtime_slots, kept.evening_slots, 0)
