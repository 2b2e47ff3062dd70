from dataclasses import replace
from itertools import pairwise

import pytest

from tests.small_yard import MONDAY, TZ, hand_made_cook, small_orders, small_problem, small_yard, with_yard
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.plan import Plan
from yardplan.domain.products import CleanDown
from yardplan.domain.slots import SlotGrid
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, best_heat, dispatch, without_overtime
from yardplan.solve.goal import goal_parts
from yardplan.solve.names import named


@pytest.mark.parametrize("manner", [*MANNERS, *map(without_overtime, MANNERS)], ids=lambda manner: manner.name)
@pytest.mark.parametrize("n_units", [1, 2])
def test_every_manner_makes_a_valid_plan_that_finishes_all_orders(manner, n_units):
    problem = small_problem(small_yard(n_units))
    plan = dispatch(Compiled(problem), manner)
    assert check(problem, plan) == ()
    assert goal_parts(problem, plan).missing_thousandths == 0


@pytest.mark.parametrize("manner", MANNERS, ids=lambda manner: manner.name)
def test_kept_work_stays_and_is_built_around(manner):
    problem = small_problem(small_yard(2), days=4)
    first = named(dispatch(Compiled(problem), manner), problem.kept)
    kept = Plan(problem.grid, first.cycles[1::3], first.mold_changes[:1], ())
    later = replace(problem, kept=kept, now=problem.grid.at(130))
    plan = dispatch(Compiled(later), manner)
    assert check(later, plan) == ()
    assert set(kept.cycles) <= set(plan.cycles)


def test_the_two_chambers_of_a_unit_take_turns_with_the_field():
    problem = small_problem(orders=small_orders()[:1] + small_orders()[2:])
    plan = dispatch(Compiled(problem), MANNERS[0])
    heats = sorted(plan.cycles, key=lambda cycle: cycle.heat_slot)[:6]
    chambers = [cycle.chamber_id for cycle in heats]
    assert all(one != two for one, two in pairwise(chambers))


def test_the_best_start_of_heat_ends_first_and_waits_for_more_sun():
    problem = small_problem()
    row = Compiled(problem).row("M1", "TANK", "1A")
    everything = (1 << problem.grid.n_slots) - 1
    chosen = best_heat(row, everything, everything, 0, problem.grid.n_slots)
    ends = [slot + row.cook[slot] for slot in range(problem.grid.n_slots) if row.cook[slot]]
    assert chosen + row.cook[chosen] == min(ends)
    assert not any(
        slot + row.cook[slot] == min(ends) for slot in range(chosen + 1, problem.grid.n_slots) if row.cook[slot]
    )


def test_a_mold_that_hangs_where_it_cannot_be_heated_does_not_stop_the_rest():
    yard = small_yard()
    grid = SlotGrid.of_days(MONDAY, 3, TZ)
    cook = hand_made_cook(yard, grid)
    never = cook.cook_slots.copy()
    never[:, [recipe.mold_id == "M1" for recipe in cook.recipes]] = 0
    problem = replace(small_problem(yard), cook=replace(cook, cook_slots=never))
    plan = dispatch(Compiled(problem), MANNERS[0])
    assert check(problem, plan) == ()
    assert {cycle.product_id for cycle in plan.cycles} == {"BIN"}


def test_a_clean_down_follows_the_mold():
    problem = with_yard(small_problem(), clean_downs=(CleanDown("*", "*", 45),))
    plan = dispatch(Compiled(problem), MANNERS[0])
    by_mold = [cycle for cycle in plan.cycles if cycle.mold == MoldCopy("M2", 1)]
    for one, two in pairwise(by_mold):
        assert two.clean_slots == (9 if one.color != two.color else 0)
