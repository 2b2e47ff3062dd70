from dataclasses import replace
from datetime import time

import pytest

from tests.small_yard import EVERY_DAY, at, small_problem, small_yard, with_yard
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import InvalidField
from yardplan.domain.orders import Order
from yardplan.domain.people import Duty, Shift
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.problem import GoalWeights
from yardplan.solve.compiled import Compiled
from yardplan.solve.goal import cost_of, goal_parts, kept_cost, missing_thousandths

ORDERS = (
    Order("Y-1", "Invented", "TANK", "sand", 1, at(0, 12), at(0, 14), 2),
    Order("Y-2", "Invented", "BIN", "sand", 3, at(0, 20), None, 3),
    Order("Y-3", "Invented", "BIN", "black", 2, at(9, 0), None, 1),
)


def hand_plan(problem):
    """One tank finished at 15:00; one of three bins molded and not finished; a change and a clean-down."""
    tank = Cycle(
        "C001", "Y-1", "TANK", "sand", MoldCopy("M1", 1), "1A", 1, 120, 3, 126, 140, 150, 150, 153, ("P1",), ("P1",)
    )  # fmt: skip
    bin_ = Cycle("C002", "Y-2", "BIN", "sand", MoldCopy("M2", 1), "1B", 1, 130, 0, 140, 150, 160, 160, 162, (), ())
    change = MoldChange("H001", "1B", None, MoldCopy("M2", 1), 100, 112, ("P1", "P3"))
    jobs = (FinishJob("C001.1", "C001", 0, "W1", "P2", 176, 180, 0.33),)
    return Plan(problem.grid, (tank, bin_), (change,), jobs)


def test_each_part_counts_what_the_weights_say():
    problem = small_problem(orders=ORDERS, days=1, weights=GoalWeights(slack_slots=24))
    parts = goal_parts(problem, hand_plan(problem))
    assert parts.promised_late_slots == 2 * 12  # finished at 15:00, promised for 14:00, priority 2
    assert parts.other_late_slots == 3 * 48  # unfinished, due 20:00: counts to the end of the grid
    assert parts.late_orders == 2 + 3  # the third is due after the grid
    assert parts.missing_thousandths == 3 * 1000 + 1 * 1000
    assert (parts.mold_changes, parts.clean_downs, parts.overtime_slots, parts.evening_slots) == (1, 1, 0, 0)
    assert parts.slack_slots == 2 * (12 + 24) + 3 * (48 + 24)
    assert parts.cost == (
        1_000_000 * 24 + 10_000 * 144 + 50_000 * 4000 + 20_000 + 4_000 + 10 * parts.slack_slots
    )  # fmt: skip


def test_evening_and_overtime_count_by_slot_and_person():
    yard = small_yard()
    extra = Shift("early", time(6), time(14), overtime=True)
    problem = small_problem(replace(yard, shifts=(extra, yard.shifts[1])), orders=ORDERS, days=1)
    plan = hand_plan(problem)
    late = replace(plan.finishing[0], start_slot=238, end_slot=242)  # two of its four slots after 20:00
    parts = goal_parts(problem, replace(plan, finishing=(late,)))
    assert parts.evening_slots == 2
    # P1 and P3 are on the early shift: charging with its clean-down 6, demolding 3, the change 12 for each.
    assert parts.overtime_slots == 6 + 3 + 12 + 12


def test_a_day_off_is_no_overtime():
    yard = small_yard()
    night = Shift("night", time(22), time(2), overtime=True)
    people = tuple(replace(row, duties=(*row.duties, Duty("night", EVERY_DAY))) for row in yard.operators)
    problem = small_problem(replace(yard, shifts=(*yard.shifts, night), operators=people), orders=ORDERS, days=1)
    late = FinishJob("C001.1", "C001", 0, "W1", "P2", 276, 280, 0.33)
    plan = replace(hand_plan(problem), finishing=(late,))
    assert goal_parts(problem, plan).overtime_slots == 4
    off = with_yard(
        problem, operators=tuple(replace(row, days_off=frozenset({problem.grid.days[0][0]})) for row in people)
    )
    assert goal_parts(off, plan).overtime_slots == 0


def test_no_missing_piece_is_free():
    assert missing_thousandths(1, 3000) == 1
    assert missing_thousandths(0, 3000) == 0
    assert missing_thousandths(2, 3) == 667


def test_kept_work_costs_its_changes_and_clean_downs():
    problem = small_problem(orders=ORDERS, days=1)
    weights = problem.weights
    kept = replace(problem, kept=hand_plan(problem))
    assert kept_cost(kept) == weights.mold_change + weights.clean_down
    assert kept_cost(problem) == cost_of(weights, 0, 0, 0, 0, 0, 0, 0, 0, 0) == 0


def test_weights_beyond_exact_sums_are_refused():
    with pytest.raises(InvalidField, match="weights"):
        Compiled(small_problem(weights=GoalWeights(promised_late=10**13)))
