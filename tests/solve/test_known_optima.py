"""Published scheduling problems as degenerate yards, solved by the same code as a week of cycles.

A machine is a chamber, or a bench of its own kind; a unit of time is one slot. Cooks take what the job takes at any
hour, handling takes nothing, and a goal instant D asks for a makespan: nothing is late at the optimum, and exactly
one slot is late one slot before it.
"""

from datetime import time

import numpy as np
import pytest

from tests.small_yard import EVERY_DAY, MONDAY, TZ, hand_made_power, small_mold, small_unit
from yardplan.domain.equipment import Bench, Chamber, Hung, MoldCopy, Site
from yardplan.domain.orders import Order
from yardplan.domain.outcome import SolveOutcome
from yardplan.domain.people import Duty, Operator, Shift
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import GoalWeights, Problem
from yardplan.domain.products import FinishStep, Item, ItemKind, Product
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import CookTable, PowerTable, Recipe
from yardplan.domain.yard import Yard
from yardplan.solve.check import check
from yardplan.solve.run import Limits, Stop, solve

NOTHING = {
    "promised_late": 0, "other_late": 0, "late_order": 0, "missing_piece_share": 0, "mold_change": 0,
    "clean_down": 0, "overtime": 0, "evening": 0, "slack": 0, "slack_slots": 0,
}  # fmt: skip
LATENESS = GoalWeights(**(NOTHING | {"other_late": 1, "missing_piece_share": 100}))
LATE_COUNT = GoalWeights(**(NOTHING | {"late_order": 1, "missing_piece_share": 100}))


def degenerate(cooks, routings, goals, weights, *, priorities=None, chamber_each=False, days=1) -> Problem:
    """Job j cooks `cooks[j]` slots in a chamber, then visits (bench kind, slots) `routings[j]`; due at `goals[j]`."""
    n = len(cooks)
    unit_of = [j if chamber_each else 0 for j in range(n)]
    n_units = max(unit_of) + 1
    grid = SlotGrid.of_days(MONDAY, days, TZ)
    units = []
    for ix in range(n_units):
        unit = small_unit(ix + 1)
        object.__setattr__(unit, "chambers", (Chamber(f"{ix + 1}A", 2.4, 900.0),))
        units.append(unit)
    kinds = sorted({kind for routing in routings for kind, _ in routing})
    products = tuple(
        Product(
            f"J{j}", f"Job {j}", "LLDPE", 1.0, 4.0, 200.0, 70.0, 0, 0, 0, 0, (f"M{unit_of[j]}",),
            tuple(FinishStep(f"step {k}", kind, "bench", 5 * slots, 0.0) for k, (kind, slots) in enumerate(routing)),
        )
        for j, routing in enumerate(routings)
    )  # fmt: skip
    yard = Yard(
        site=Site("Degenerate yard", 35.0, -106.0, 1600.0, TZ),
        units=tuple(units),
        molds=tuple(small_mold(f"M{ix}") for ix in range(n_units)),
        products=products,
        items=(Item("R", "Resin", ItemKind.RESIN, 1e6, "LLDPE", "sand"),),
        benches=tuple(Bench(f"W-{kind}", f"Bench {kind}", kind, "U1") for kind in kinds),
        shifts=(Shift("whole day", time(0), time(0)),),
        operators=tuple(
            Operator(f"P{ix}", f"Person {ix}", frozenset({"bench"}), (Duty("whole day", EVERY_DAY),))
            for ix in range(max(len(kinds), 1))
        ),
        hung=tuple(Hung(f"{ix + 1}A", MoldCopy(f"M{ix}", 1), "LLDPE", "sand") for ix in range(n_units)),
    )
    orders = tuple(
        Order(f"Y-{j}", "Invented", f"J{j}", "sand", 1, grid.at(goals[j]), None, (priorities or [1] * n)[j])
        for j in range(n)
    )
    recipes = tuple(Recipe(f"M{unit_of[j]}", f"J{j}") for j in range(n))
    cook = np.zeros((1, n, n_units, grid.n_slots), np.int32)
    for j, slots in enumerate(cooks):
        cook[0, j, unit_of[j], : grid.n_slots - slots] = slots
    cook_table = CookTable(
        grid, recipes, tuple(unit.id for unit in units), (0.8,), cook, np.zeros_like(cook), np.zeros(cook.shape[1:])
    )
    power: PowerTable = hand_made_power(yard, grid)
    return Problem(yard, orders, grid, cook_table, power, grid.start_at, 0.8, Plan(grid), weights)


def solved(problem: Problem, work: float = 40.0) -> SolveOutcome:
    outcome = solve(problem, Limits(seconds=None, work=work), Stop(), lambda progress: None)
    assert check(problem, outcome.plan) == ()
    assert all(row.pieces_missing == 0 for row in order_results(outcome.plan, problem.orders, problem.yard))
    assert outcome.bound <= outcome.parts.cost
    return outcome


def makespan_is(best: int, cooks, routings, **options) -> None:
    n = len(cooks)
    assert solved(degenerate(cooks, routings, [best] * n, LATENESS, **options)).parts.cost == 0
    assert solved(degenerate(cooks, routings, [best - 1] * n, LATENESS, **options)).parts.cost == 1


@pytest.mark.parametrize(
    ("jobs", "best"),
    [
        # Johnson's two-machine rule; data of a tutorial page, optimum by brute force over all orders.
        ([(5, 8), (3, 9), (8, 7), (7, 2), (4, 6)], 35),
        ([(3, 8), (12, 10), (5, 9), (2, 6), (9, 3), (11, 1)], 43),
    ],
)
def test_johnsons_two_machines_are_a_chamber_and_a_bench(jobs, best):
    makespan_is(best, [a for a, _ in jobs], [[("two", b)] for _, b in jobs])


def test_three_machines_in_a_row():
    # Permutation optimum 18 by brute force; for three machines it is also the optimum of all schedules here.
    jobs = [(2, 3, 2), (4, 1, 3), (3, 4, 1), (5, 2, 4)]
    makespan_is(18, [a for a, _, _ in jobs], [[("two", b), ("three", c)] for _, b, c in jobs])


def test_the_six_by_six_job_shop_takes_55():
    # Fisher and Thompson 1963, problem FT06: optimal makespan 55. Each job is released by a cook of one slot.
    rows = """2,1 0,3 1,6 3,7 5,3 4,6 | 1,8 2,5 4,10 5,10 0,10 3,4 | 2,5 3,4 5,8 0,9 1,1 4,7
            | 1,5 0,5 2,5 3,3 4,8 5,9 | 2,9 1,3 4,5 5,4 0,3 3,1 | 1,3 3,3 5,9 0,10 4,4 2,1"""
    routings = [
        [(f"machine {machine}", int(slots)) for machine, slots in (cell.split(",") for cell in row.split())]
        for row in rows.split("|")
    ]
    makespan_is(1 + 55, [1] * 6, routings, chamber_each=True)


def test_fewest_late_orders_on_one_machine():
    # Moore 1968 (rule of Moore and Hodgson); Pinedo, Scheduling, example 3.3.3 (from memory), optimum by brute force.
    outcome = solved(degenerate([7, 8, 4, 6, 6], [[]] * 5, [9, 17, 18, 19, 21], LATE_COUNT))
    assert outcome.parts.late_orders == 2


def test_least_total_tardiness_on_one_machine():
    # Pinedo, Scheduling, example 3.4.5 (from memory), optimum 370 by brute force.
    cooks, goals = [121, 79, 147, 83, 130], [260, 266, 266, 336, 337]
    assert solved(degenerate(cooks, [[]] * 5, goals, LATENESS, days=3)).parts.cost == 370


def test_least_weighted_completion_on_one_machine():
    # Smith 1956, ratio rule: sum of weighted completion times 106, by brute force.
    problem = degenerate([4, 2, 6, 3, 5], [[]] * 5, [0] * 5, LATENESS, priorities=[2, 1, 4, 3, 1])
    assert solved(problem).parts.cost == 106
