"""No plan costs less than the bound, and what a unit can heat in a day is exact."""

from functools import cache
from itertools import count
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.bench.weeks import week
from tests.small_yard import at, small_problem, small_yard
from tests.solve.test_models import SETTINGS, with_kept_work
from tests.solve.yards import small_problems
from yardplan.domain.orders import Order
from yardplan.solve.beam_days import BeamDays, beam_days
from yardplan.solve.bookings import Bookings
from yardplan.solve.bound import lower_bound
from yardplan.solve.bound_together import cost_together
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.goal import Costing, kept_cost


def random_days(seed: int) -> tuple[BeamDays, np.ndarray]:
    rng = np.random.default_rng(seed)
    n_slots, n_recipes, n_days = 14, 3, 2
    shape = (n_slots, n_recipes, n_days)
    cook = rng.integers(0, 5, shape)
    may = (rng.random((2, *shape)) < 0.7) & (cook > 0)
    turn = np.broadcast_to(rng.integers(1, 5, (1, n_recipes, 1)), shape).copy()
    recipes = tuple((f"M{ix}", f"P{ix}") for ix in range(n_recipes))
    days = BeamDays(recipes, ((0, n_slots),) * n_days, cook, turn, rng.integers(0, 3, n_recipes), may)
    return days, rng.integers(0, 9, shape).astype(float)


def most_worth(days: BeamDays, worth: np.ndarray, day: int) -> float:
    """Try every way: each next heat in any chamber at any later slot."""

    @cache
    def best(beam_from: int, empty: tuple[int, int]) -> float:
        most = 0.0
        for slot in range(beam_from, days.cook.shape[0]):
            for recipe in range(len(days.recipes)):
                for chamber in range(2):
                    if days.may[chamber, slot, recipe, day] and empty[chamber] + days.charge[recipe] <= slot:
                        end = slot + int(days.cook[slot, recipe, day])
                        after = list(empty)
                        after[chamber] = end + int(days.turn[slot, recipe, day])
                        most = max(most, worth[slot, recipe, day] + best(end, (after[0], after[1])))
        return most

    return best(0, (-99, -99))


@pytest.mark.parametrize("seed", range(8))
def test_what_a_unit_can_heat_in_a_day_is_exact(seed):
    days, worth = random_days(seed)
    value, counts = days.best(worth)
    for day in range(2):
        assert value[day] == most_worth(days, worth, day)
        assert (counts[:, :, day] * worth[:, :, day]).sum() == value[day]


@SETTINGS
@given(drawn=small_problems(), seed=st.integers(0, 2**20), keep=st.booleans())
def test_no_plan_costs_less_than_the_bound(drawn, seed, keep):
    problem = drawn.problem
    if keep:
        problem = with_kept_work(problem, Random(seed))
    compiled, costing = Compiled(problem), Costing(problem)
    bound = lower_bound(compiled)
    for manner in MANNERS:
        assert bound <= costing.parts(dispatch(compiled, manner)).cost


@pytest.mark.parametrize("seed", range(3))
def test_no_plan_of_a_crowded_week_costs_less_than_the_bound(seed):
    problem = week(seed, n_units=2, load=1.6, days=3)
    compiled = Compiled(problem)
    bound = lower_bound(compiled)
    costs = [Costing(problem).parts(dispatch(compiled, manner)).cost for manner in MANNERS]
    assert 0 < bound <= min(costs)
    assert min(costs) < 20 * bound  # it says something, too


def test_orders_that_fit_alone_but_not_together_are_seen():
    # Each order alone fits into the day's sun; both molds on one beam do not. By hand: cooks of at least 9 slots from
    # 09:00 to 15:30 leave room for 8 or 9 heats, 12 are asked for.
    orders = tuple(
        Order(f"Y-{ix}", "Invented", product, "sand", 6, at(1, 0)) for ix, product in enumerate(["TANK", "BIN"])
    )
    problem = small_problem(small_yard(n_people=12), orders=orders, days=1)
    compiled = Compiled(problem)
    alone = {line.ix: 0 for line in compiled.lines}
    together = cost_together(compiled, Bookings(compiled, problem.kept), alone, lambda: False)
    assert together > problem.weights.missing_piece_share * 1000 * 2 / 6
    assert together <= min(Costing(problem).parts(dispatch(compiled, manner)).cost for manner in MANNERS)


def test_a_bound_that_is_cut_short_is_still_one():
    compiled = Compiled(week(0, n_units=2, load=1.6, days=3))
    whole = lower_bound(compiled)
    for most in (0, 20, 400, 2000, 4000):
        calls = count()
        assert 0 <= lower_bound(compiled, lambda calls=calls, most=most: next(calls) >= most) <= whole


def test_kept_heat_is_not_given_twice():
    problem = small_problem()
    compiled = Compiled(problem)
    plan = dispatch(compiled, MANNERS[0])
    free = beam_days(compiled, Bookings(compiled, problem.kept))
    taken = beam_days(compiled, Bookings(compiled, plan))
    ones = np.ones(free.cook.shape)
    assert taken.best(ones)[0].sum() < free.best(ones)[0].sum()
    assert not (taken.may & ~free.may).any()
    assert kept_cost(problem) == 0
