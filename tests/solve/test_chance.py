"""Chance is bought with slack: what is promised moves away from dull skies, and nothing promised is given up for it."""

from dataclasses import replace

import numpy as np
import pytest

from tests.small_yard import at, planned_sun, small_problem
from yardplan.domain.outcome import SolveOutcome
from yardplan.domain.plan import order_results
from yardplan.domain.problem import Early, Problem
from yardplan.domain.tables import SkyCooks
from yardplan.solve.chance import buy_chance, is_better, judge
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.goal import goal_parts
from yardplan.solve.run import Limits, Stop, solve

LIMITS = Limits(None, work=1.5, workers=1)


def late_promise() -> tuple[Problem, SolveOutcome]:
    """Tanks that are promised by Tuesday night and were planned last, behind bins that nobody waits for."""
    problem = small_problem(days=3)
    tank, bin_order, _ = problem.orders
    orders = (
        replace(tank, due_at=at(1, 24), promise_at=at(1, 24), quantity=2),
        replace(bin_order, due_at=at(2, 24), promise_at=None, quantity=4),
    )
    problem = replace(problem, orders=orders)
    hurried = replace(
        problem,
        orders=(orders[0], replace(orders[1], priority=9, due_at=at(0, 6))),
        now=at(0, 12),
    )
    plan = solve(hurried, Limits(None, work=0.5, workers=1), Stop(), lambda progress: None).plan
    parts = goal_parts(problem, plan)
    return problem, SolveOutcome(plan, "good", parts, 0, (), 0.0, 0)


def dull_tuesday(problem: Problem) -> SkyCooks:
    """Ten skies, in half of which there is no sun on Tuesday."""
    sun = planned_sun(problem.cook, problem.confidence)
    cook = np.repeat(sun.cook_slots, 10, axis=3)
    cook[:, :, 288:576, :5] = 0
    return SkyCooks(sun.grid, sun.recipes, sun.unit_ids, cook, np.where(cook > 0, 7, 0))


def test_a_promise_is_moved_out_of_a_doubtful_day() -> None:
    problem, outcome = late_promise()
    cooks = dull_tuesday(problem)
    before = judge(problem, outcome.plan, cooks)
    assert order_results(outcome.plan, problem.orders, problem.yard)[0].state == "on time"
    assert before.risk.orders[0].chance_frac == 0.5
    taken: list[int] = []
    bought = buy_chance(problem, outcome, cooks, LIMITS, Stop(), lambda progress: taken.append(progress.parts.cost))
    after = judge(problem, bought.plan, cooks)
    assert check(problem, bought.plan) == ()
    assert after.risk.orders[0].chance_frac == 1.0
    assert after.lack < before.lack
    assert bought.parts == goal_parts(problem, bought.plan)
    assert taken[-1] == bought.parts.cost


def test_where_no_chance_is_poor_the_plan_stays() -> None:
    problem, outcome = late_promise()
    bought = buy_chance(problem, outcome, planned_sun(problem.cook, 0.8), LIMITS, Stop(), lambda progress: None)
    assert bought.plan is outcome.plan


def test_a_stop_before_it_begins_leaves_the_plan() -> None:
    problem, outcome = late_promise()
    stop = Stop()
    stop.request()
    assert buy_chance(problem, outcome, dull_tuesday(problem), LIMITS, stop, lambda progress: None).plan is outcome.plan


def test_no_promise_is_given_up_for_the_chance_of_others() -> None:
    problem, outcome = late_promise()
    cooks = dull_tuesday(problem)
    first = judge(problem, outcome.plan, cooks)
    late = tuple(
        replace(row, late_slots=5, finish_slot=600) if ix == 0 else row for ix, row in enumerate(first.results)
    )
    better = replace(first, lack=first.lack - 1)
    assert is_better(problem, first, first, better)
    assert not is_better(problem, first, first, replace(better, results=late))
    assert not is_better(problem, first, first, replace(better, cost=first.cost * 2))
    assert not is_better(problem, first, better, better)


@pytest.mark.parametrize("by_slot", [0, 200, 700])
def test_an_early_order_costs_what_it_is_later_than_asked(by_slot: int) -> None:
    problem, outcome = late_promise()
    plan = outcome.plan
    done = order_results(plan, problem.orders, problem.yard)[0].finish_slot
    early = replace(problem, early=(Early("Y-1", by_slot, 300),))
    more = goal_parts(early, plan).cost - goal_parts(problem, plan).cost
    assert more == 10 * 300 * problem.orders[0].priority * max(done - by_slot, 0)
    # and the model counts the same: a search from the plan is never worse by the plain count
    again = solve(early, Limits(None, work=0.3, workers=1), Stop(), lambda progress: None, plan)
    assert again.parts.cost <= goal_parts(early, plan).cost
    assert Compiled(early).problem is early
