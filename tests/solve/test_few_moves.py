"""A plan that may change only a little: the limit holds, the rules hold, and promised orders come first."""

from dataclasses import replace

import pytest

from tests.small_yard import at, small_problem
from yardplan.domain.moves import anchors, moved
from yardplan.domain.orders import Order
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.tables import NEVER
from yardplan.solve.carry import mended_plan, old_plan
from yardplan.solve.check import check
from yardplan.solve.few_moves import few_moves
from yardplan.solve.goal import goal_parts
from yardplan.solve.run import Limits, Stop, solve

ORDERS = (
    Order("Y-1", "Invented Farm", "TANK", "sand", 6, at(1, 24), at(1, 24), 2),
    Order("Y-2", "Invented Depot", "TANK", "sand", 9, at(2, 24), None, 1),
    Order("Y-3", "Invented School", "BIN", "sand", 10, at(2, 24), None, 1),
)


def cloudy_morning() -> tuple[Problem, Plan]:
    """What a plan of the small yard becomes if nothing cooks on the first day."""
    problem = small_problem(orders=ORDERS)
    before = solve(problem, Limits(None, work=2.0, workers=1), Stop(), lambda progress: None).plan
    cook_slots = problem.cook.cook_slots.copy()
    cook_slots[..., :288] = NEVER
    cloudy = replace(problem, cook=replace(problem.cook, cook_slots=cook_slots), before=before)
    return cloudy, mended_plan(cloudy, old_plan(cloudy, before))


@pytest.mark.parametrize("most", [0, 2, 5])
def test_no_more_jobs_move_than_may(most: int) -> None:
    problem, plan = cloudy_morning()
    jobs = tuple(job for job in anchors(problem.before, problem.now_slot) if job not in moved([job], plan))
    assert len(jobs) > most
    outcome = few_moves(problem, plan, jobs, most, seconds=1.5, stop=Stop(), seed=1)
    assert len(moved(jobs, outcome.plan)) <= most
    assert check(problem, outcome.plan) == ()
    assert outcome.parts == goal_parts(problem, outcome.plan)
    assert outcome.parts.cost <= goal_parts(problem, plan).cost


def test_jobs_of_others_give_way_to_a_promised_order() -> None:
    problem, plan = cloudy_morning()
    late = {row.order_id: row.late_slots + row.pieces_missing for row in order_results(plan, ORDERS, problem.yard)}
    assert late["Y-1"] > 0  # else there is nothing to mend
    jobs = anchors(problem.before, problem.now_slot)
    outcome = few_moves(problem, plan, jobs, len(jobs), seconds=4.0, stop=Stop(), seed=1)
    assert outcome.parts.promised_late_slots < goal_parts(problem, plan).promised_late_slots
    assert check(problem, outcome.plan) == ()


def test_a_stop_gives_the_plan_at_hand() -> None:
    problem, plan = cloudy_morning()
    stop = Stop()
    stop.request()
    outcome = few_moves(problem, plan, (), 0, seconds=60.0, stop=stop, seed=1)
    assert check(problem, outcome.plan) == ()
