"""What a change of the question is worth: both questions are searched on from the same plan with the same work."""

from collections import Counter
from dataclasses import dataclass, replace

from yardplan.domain.outcome import SolveOutcome
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.goal import goal_parts
from yardplan.solve.names import named
from yardplan.solve.run import Limits, Stop, solve
from yardplan.solve.upkeep import place_upkeep
from yardplan.solve.warm import still_legal

AT_ONCE = Limits(seconds=None)
"""Nothing but the dispatch rules and what is still legal of a plan."""


@dataclass(frozen=True)
class Settled:
    """An unchanged question searched on twice: `first` is where every change begins, `second` what it is held against.

    So a change gets no credit for what more search alone would have found.
    """

    problem: Problem
    first: SolveOutcome
    second: SolveOutcome

    @property
    def search_cost_less(self) -> int:
        """What the second search took off the cost: how much more search alone still brings."""
        return self.first.parts.cost - self.second.parts.cost


def settle(problem: Problem, plan: Plan, limits: Limits, stop: Stop) -> Settled:
    """Search on from a plan, and once more from there; see `Settled`."""
    first = solve(problem, limits, stop, lambda progress: None, start=plan)
    return Settled(problem, first, solve(problem, limits, stop, lambda progress: None, start=first.plan))


def tried(base: Settled, changed: Problem, limits: Limits, stop: Stop, start: Plan | None = None) -> SolveOutcome:
    """Return what a changed question comes to.

    Where the plan of the unchanged question is still legal, the answer costs no more than that: what a change allows
    beside what was allowed before can only help.

    Parameters
    ----------
    start : Plan or None
        Another plan to begin with, if it costs less than that of the unchanged question.
    """
    changed = _cared_for_as(changed, base.first.plan)
    begin = base.first.plan
    if start is not None and cheaper(changed, start, begin):
        begin = start
    found = solve(changed, limits, stop, lambda progress: None, start=begin)
    other = solve(changed, AT_ONCE, stop, lambda progress: None, start=base.second.plan)
    return other if other.parts.cost < found.parts.cost else found


def _cared_for_as(problem: Problem, plan: Plan) -> Problem:
    """Return a question with the upkeep of a plan kept, if that still keeps the rules.

    Placed anew, upkeep could stand where work is, say because one more person is there; then the change would seem to
    do harm.
    """
    if problem.kept.upkeep or problem.grid != plan.grid:
        return problem
    asked = replace(problem, kept=replace(problem.kept, upkeep=plan.upkeep))
    care = {job.id for job in plan.upkeep}
    return problem if any(care.intersection(row.jobs) for row in check(asked, asked.kept)) else asked


def cheaper(problem: Problem, one: Plan, two: Plan) -> bool:
    """Tell whether what a problem still allows of one plan costs less than what it allows of another."""
    problem = problem.with_upkeep(place_upkeep(problem))
    legal = still_legal(problem, one), still_legal(problem, two)
    costs = [goal_parts(problem, plan).cost if plan else None for plan in legal]
    return costs[0] is not None and (costs[1] is None or costs[0] < costs[1])


def laid_alone(problem: Problem, plan: Plan, order_id: str) -> Plan | None:
    """Return a plan with one order laid anew by the dispatch rules and all others where they are; None if none holds.

    A quick look at what a change could do for the order, were all else left alone. What no longer suits without the
    order, such as a clean-down, is laid anew as well.
    """
    problem = problem.with_upkeep(place_upkeep(problem))
    kept = {row.id for row in problem.kept.cycles}
    gone = {row.id for row in plan.cycles if row.order_id == order_id and row.id not in kept}
    rest = Plan(
        plan.grid,
        tuple(row for row in plan.cycles if row.id not in gone),
        plan.mold_changes,
        tuple(row for row in plan.finishing if row.cycle_id not in gone),
    )
    pieces = Counter[str]()
    for row in rest.cycles:
        pieces[row.order_id] += row.pieces
    # The others ask for no more than they have, so that the rules lay this order only.
    orders = tuple(
        order if order.id == order_id else replace(order, quantity=min(order.quantity, pieces[order.id]))
        for order in problem.orders
        if order.id == order_id or pieces[order.id]
    )
    alone = replace(problem, orders=orders)
    legal = still_legal(alone, rest)
    if legal is None:
        return None
    compiled = Compiled(alone)
    laid = [named(dispatch(compiled, manner, legal, mark="alone."), problem.kept) for manner in MANNERS]
    good = [found for found in laid if not check(problem, found)]
    return min(good, key=lambda found: goal_parts(problem, found).cost, default=None)
