"""Buy chance with slack: orders that the weather may easily make late are pulled forward, and the rest makes room.

The planner knows the sun only at one confidence for each cook, so a plan may be on time in every order and yet lose
many of them under a dull sky. Here the finished plan is replayed under all skies; each order with a poor chance is
asked to be finished earlier, by as much as it slips in a sky of the planning confidence; a short search goes on from
the plan with that in its goal, and what it finds is replayed and judged. This is repeated, each time from the best.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from yardplan.domain.outcome import Progress, SolveOutcome, Status
from yardplan.domain.plan import OrderResult, Plan, order_results
from yardplan.domain.problem import Early, Problem
from yardplan.domain.risk import PlanRisk
from yardplan.domain.tables import SkyCooks
from yardplan.solve.compiled import Compiled
from yardplan.solve.goal import goal_parts
from yardplan.solve.reasons import blocked_orders
from yardplan.solve.risk import plan_risk
from yardplan.solve.run import Limits, Stop, solve

ROUNDS = 3
"""Searches, each from the best plan so far, with orders that are still poor asked for still earlier."""

EARLY_TIMES = 400
"""What a slot too late for its chance counts, in slots of slack: less than half of what a slot too late counts."""

PROMISED_COUNTS = 3
"""How much more the chance of a promised order counts than that of another one."""

MOST_COST = 1.1
"""A plan that costs more than so many times the old one is not taken, whatever its chances."""


@dataclass(frozen=True)
class Judged:
    """A plan with what the weather may do to it, and what its chances lack."""

    plan: Plan
    results: tuple[OrderResult, ...]
    risk: PlanRisk
    cost: int
    lack: float
    """Sum over all orders of what the chance is below the planning confidence, times priority."""


def buy_chance(
    problem: Problem,
    outcome: SolveOutcome,
    cooks: SkyCooks,
    limits: Limits,
    stop: Stop,
    on_better: Callable[[Progress], None],
) -> SolveOutcome:
    """Return a plan whose orders lack less chance, or the outcome as it is if none is found.

    Taken is only a plan in which no promised order is late or unfinished that was on time, promised orders are no
    later together, their common chance is no less, and the cost rises by no more than a tenth.

    Parameters
    ----------
    outcome : SolveOutcome
        What the search for the problem came to; its bound stays true.
    limits : Limits
        For all further searches together.
    on_better : callable
        Told each plan that is taken.
    """
    best = first = judge(problem, outcome.plan, cooks)
    pulled: dict[str, Early] = {}
    seconds = 0.0

    def consider(progress: Progress) -> None:
        nonlocal best
        if goal_parts(problem, progress.plan).cost > MOST_COST * first.cost:
            return  # such as the plans of the dispatch rules, which every search begins with
        judged = judge(problem, progress.plan, cooks)
        if is_better(problem, first, best, judged):
            best = judged
            on_better(replace(progress, parts=goal_parts(problem, judged.plan), bound=outcome.bound))

    share = Limits(
        None if limits.seconds is None else limits.seconds / ROUNDS,
        None if limits.work is None else limits.work / ROUNDS,
        limits.workers,
        limits.seed,
    )
    for _ in range(ROUNDS):
        pulled |= {row.order_id: row for row in _pull(problem, best, pulled)}
        if not pulled or stop.is_requested:
            break
        question = replace(problem, early=tuple(pulled.values()))
        seconds += solve(question, share, stop, consider, best.plan).seconds
    if best is first:
        return replace(outcome, seconds=outcome.seconds + seconds)
    parts = goal_parts(problem, best.plan)
    is_proven = parts.cost <= outcome.bound
    status = Status.STOPPED if stop.is_requested else Status.PROVEN if is_proven else Status.GOOD
    blocked = blocked_orders(Compiled(problem), best.plan)
    return replace(
        outcome, plan=best.plan, status=status, parts=parts, blocked=blocked, seconds=outcome.seconds + seconds
    )


def judge(problem: Problem, plan: Plan, cooks: SkyCooks) -> Judged:
    """Replay a plan and count what its chances lack."""
    risk = plan_risk(problem, plan, cooks)
    lack = sum(
        order.priority
        * (PROMISED_COUNTS if order.promise_at else 1)
        * max(problem.confidence - (problem.confidence if row.chance_frac is None else row.chance_frac), 0.0)
        for order, row in zip(problem.orders, risk.orders, strict=True)
    )
    results = order_results(plan, problem.orders, problem.yard)
    return Judged(plan, results, risk, goal_parts(problem, plan).cost, lack)


def is_better(problem: Problem, first: Judged, best: Judged, new: Judged) -> bool:
    """Tell whether a plan is to be taken instead of the best so far; see `buy_chance`."""
    promised = [order.promise_at is not None for order in problem.orders]
    kept = all(
        now.state == "on time" or was.state != "on time"
        for was, now, is_promised in zip(first.results, new.results, promised, strict=True)
        if is_promised
    )
    return (
        new.lack < best.lack - 1e-9
        and kept
        and _promised_late(problem, new) <= _promised_late(problem, first)
        and new.risk.promised_frac >= first.risk.promised_frac - 1e-9
        and new.cost <= MOST_COST * first.cost
    )


def _promised_late(problem: Problem, judged: Judged) -> int:
    return sum(
        order.priority * row.late_slots
        for order, row in zip(problem.orders, judged.results, strict=True)
        if order.promise_at is not None
    )


def _pull(problem: Problem, judged: Judged, pulled: dict[str, Early]) -> list[Early]:
    """Return by when orders with a poor chance should be done: earlier by as much as they slip beyond their goal."""
    grid, found = problem.grid, []
    for order, result, row in zip(problem.orders, judged.results, judged.risk.orders, strict=True):
        if result.state != "on time" or row.chance_frac is None or row.chance_frac >= problem.confidence - 1e-9:
            continue
        done = next((slot for share, slot in row.dates if share >= problem.confidence - 1e-9), None)
        slips = (grid.n_slots if done is None else done) - grid.slot(order.goal_at)
        before = pulled[order.id].by_slot if order.id in pulled else grid.slot(order.goal_at)
        by_slot = max(before - max(slips, 12), problem.now_slot)
        found.append(Early(order.id, by_slot, EARLY_TIMES * (PROMISED_COUNTS if order.promise_at else 1)))
    return found
