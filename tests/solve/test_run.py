from dataclasses import replace
from itertools import permutations, product
from random import Random
from threading import Timer

import numpy as np
import pytest

from tests.bench.weeks import week
from tests.small_yard import at, small_orders, small_problem, small_yard, with_yard
from yardplan.domain.equipment import Hung, MoldCopy
from yardplan.domain.orders import Order
from yardplan.domain.outcome import Status
from yardplan.domain.people import Operator
from yardplan.domain.plan import Plan
from yardplan.domain.problem import GoalWeights, Problem
from yardplan.domain.products import CleanDown
from yardplan.domain.rules import Why
from yardplan.solve.bound import lower_bound
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.goal import goal_parts
from yardplan.solve.run import Limits, Stop, solve

NOW = Limits(seconds=None)


def nothing(progress: object) -> None:
    """Nobody listens."""


def no_hands(problem: Problem) -> Problem:
    """The same problem with handling, mold changes and finishing that need nobody and no time but for mold changes."""
    yard = problem.yard
    products = tuple(
        replace(row, charge_min=0, charge_crew=0, demold_min=0, demold_crew=0, routing=()) for row in yard.products
    )
    molds = tuple(replace(row, change_crew=0) for row in yard.molds)
    everybody = tuple(
        replace(row, duties=tuple(replace(duty, shift_id="day") for duty in row.duties[:1])) for row in yard.operators
    )
    whole_day = replace(yard.shifts[0], id="day", start_local=yard.shifts[0].start_local.replace(hour=0), breaks=())
    whole_day = replace(whole_day, end_local=whole_day.start_local)
    return with_yard(problem, products=products, molds=molds, shifts=(whole_day,), operators=everybody)


def random_orders(rng: Random, products: list[str], count: int) -> tuple[Order, ...]:
    return tuple(
        Order(
            f"Y-{ix}", "Invented", rng.choice(products), rng.choice(["sand", "black"]), rng.randint(1, 2),
            at(0, rng.choice([10, 11, 12, 13])), at(0, 11.5) if rng.random() < 0.3 else None, rng.randint(1, 3),
        )
        for ix in range(count)
    )  # fmt: skip


def least_cost(problem: Problem) -> int:
    """Least cost of a yard without hands by trying every order of heats and every chamber, each as early as it can.

    Molds stay where they hang, and all pieces are made: true where a piece left out costs more than any lateness.
    A cook that starts later never ends earlier in the hand-made table, so nothing is gained by waiting.
    """
    cook, cool = problem.cook.cook_slots[0, 0, 0], problem.cook.cool_slots[0, 0, 0]
    hung = {row.chamber_id: row.mold for row in problem.yard.hung}
    weights, grid, n_slots = problem.weights, problem.grid, problem.grid.n_slots
    jobs = [order for order in problem.orders for _ in range(order.quantity)]
    places = {
        order.id: [c for c, mold in hung.items() if mold.mold_id in problem.yard.product(order.product_id).mold_ids]
        for order in problem.orders
    }
    best = None
    for sequence in set(permutations(range(len(jobs)))):
        for chambers in product(*(places[jobs[ix].id] for ix in sequence)):
            free, beam, ends, cleans = dict.fromkeys(hung, 0), 0, {}, 0
            state = {row.chamber_id: (row.grade, row.color) for row in problem.yard.hung}
            for ix, chamber in zip(sequence, chambers, strict=True):
                order = jobs[ix]
                now = (problem.yard.product(order.product_id).resin_grade, order.color)
                clean = grid.slots_up(problem.yard.clean_down_min(state[chamber], now))
                cleans += clean > 0
                state[chamber] = now
                slot = max(free[chamber] + clean, beam)
                while slot < n_slots and not cook[slot]:
                    slot += 1
                if slot >= n_slots:
                    break
                beam = slot + cook[slot]
                free[chamber] = beam + cool[slot]
                ends[order.id] = max(ends.get(order.id, 0), int(free[chamber]))
            else:
                cost = weights.clean_down * cleans
                for order in problem.orders:
                    late = max(ends[order.id] - grid.slot(order.goal_at), 0)
                    each = weights.promised_late if order.promise_at else weights.other_late
                    early = grid.slot(order.goal_at) - weights.slack_slots
                    cost += order.priority * (each * late + weights.slack * max(ends[order.id] - early, 0))
                best = cost if best is None else min(best, cost)
    assert best is not None
    return best


@pytest.mark.parametrize("seed", range(6))
def test_a_tiny_yard_is_solved_to_the_least_cost_of_all_plans(seed):
    rng = Random(seed)
    yard = small_yard()
    hung = (Hung("1A", MoldCopy("M2", 1), yard.products[0].resin_grade, "sand"), Hung("1B", MoldCopy("M2", 2)))
    problem = small_problem(yard, random_orders(rng, ["BIN"], 2), days=2, weights=GoalWeights(mold_change=10**7))
    problem = no_hands(with_yard(problem, hung=hung))
    outcome = solve(problem, Limits(seconds=None, work=60.0), Stop(), nothing)
    assert outcome.status is Status.PROVEN
    assert outcome.parts.cost == outcome.bound == least_cost(problem)
    assert lower_bound(Compiled(problem)) <= outcome.parts.cost


def test_one_chamber_changes_molds_in_the_best_order():
    # Two molds share chamber 1A; by hand: the order that is due first goes first, one change, nothing late.
    # The mold that hangs there makes what is due last; by hand: three cooks of an hour fit before the cook of a late
    # start, so changing first, back and forth, or later are the choices, and one change after two cooks is the best.
    problem = no_hands(small_problem(days=2))
    unit = replace(problem.yard.units[0], chambers=problem.yard.units[0].chambers[:1])
    yard = replace(problem.yard, units=(unit,), hung=(Hung("1A", MoldCopy("M1", 1)),))
    orders = (
        Order("Y-1", "Invented", "TANK", "sand", 2, at(0, 18)),
        Order("Y-2", "Invented", "BIN", "sand", 1, at(0, 18)),
    )
    problem = replace(problem, yard=yard, orders=orders, weights=GoalWeights(slack=0))
    outcome = solve(problem, Limits(seconds=None, work=60.0), Stop(), nothing)
    assert outcome.status is Status.PROVEN
    assert outcome.parts.cost == problem.weights.mold_change
    assert [cycle.product_id for cycle in outcome.plan.cycles] == ["TANK", "TANK", "BIN"]


@pytest.mark.parametrize("seed", range(3))
def test_the_bound_is_below_what_the_solver_proves(seed):
    rng = Random(seed)
    orders = tuple(
        replace(row, quantity=row.quantity + rng.randint(0, 4), due_at=at(0, 12)) for row in small_orders()[:2]
    )
    problem = small_problem(orders=orders, days=1)
    outcome = solve(problem, Limits(seconds=None, work=20.0), Stop(), nothing)
    assert check(problem, outcome.plan) == ()
    assert 0 < lower_bound(Compiled(problem)) <= outcome.bound <= outcome.parts.cost


def test_work_and_seed_give_the_same_plan_twice():
    problem = week(1, n_units=1, days=3)
    limits = Limits(seconds=None, work=1.0, seed=5)
    one, two = (solve(problem, limits, Stop(), nothing) for _ in range(2))
    assert one.plan == two.plan
    assert one.parts == two.parts
    assert one.seed == 5
    assert check(problem, one.plan) == ()


def test_each_better_plan_is_told_checked_and_cheaper():
    problem, told = week(2, n_units=1, days=3), []
    outcome = solve(problem, Limits(seconds=None, work=2.0), Stop(), told.append)
    costs = [progress.parts.cost for progress in told]
    assert costs == sorted(costs, reverse=True)
    assert len(set(costs)) == len(costs)
    for progress in told:
        assert check(problem, progress.plan) == ()
        assert goal_parts(problem, progress.plan) == progress.parts
        assert progress.bound <= progress.parts.cost
    assert outcome.parts.cost == costs[-1]
    assert outcome.bound <= outcome.parts.cost


@pytest.mark.parametrize("delay_s", [0.0, 0.05, 0.3, 0.9, 1.7])
def test_a_stopped_search_returns_its_best_plan_and_is_never_called_proven(delay_s):
    problem, stop = week(3, n_units=1, days=3), Stop()
    timer = Timer(delay_s, stop.request)
    timer.start()
    outcome = solve(problem, Limits(seconds=120), stop, nothing)
    timer.join()
    assert outcome.status is Status.STOPPED
    assert check(problem, outcome.plan) == ()
    assert outcome.plan.cycles


def test_a_stop_before_the_search_still_gives_a_plan():
    stop = Stop()
    stop.request()
    problem = small_problem()
    outcome = solve(problem, Limits(seconds=5), stop, nothing)
    assert outcome.status is Status.STOPPED
    assert check(problem, outcome.plan) == ()


def test_without_time_the_dispatch_rules_answer():
    outcome = solve(small_problem(), NOW, Stop(), nothing)
    assert outcome.status is Status.FALLBACK
    assert outcome.parts.missing_thousandths == 0


def test_nothing_to_do_is_proven_and_empty():
    outcome = solve(small_problem(orders=()), Limits(seconds=1), Stop(), nothing)
    assert outcome.status is Status.PROVEN
    assert outcome.plan.cycles == ()
    assert outcome.gap_frac == 0


def _never(problem: Problem) -> Problem:
    return replace(problem, cook=replace(problem.cook, cook_slots=np.zeros_like(problem.cook.cook_slots)))


def _no_power(problem: Problem) -> Problem:
    return replace(problem, power=replace(problem.power, finish_kw=np.zeros_like(problem.power.finish_kw)))


def _no_resin(problem: Problem) -> Problem:
    return with_yard(problem, items=tuple(replace(item, on_hand=3.0) for item in problem.yard.items))


def _no_handling(problem: Problem) -> Problem:
    return with_yard(
        problem, operators=(Operator("P1", "Person 1", frozenset({"finishing"}), problem.yard.operators[0].duties),)
    )


def _too_heavy(problem: Problem) -> Problem:
    return with_yard(problem, products=tuple(replace(row, shot_kg=900.0) for row in problem.yard.products))


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (_too_heavy, Why.NO_MOLD_FITS),
        (_never, Why.NO_HEAT),
        (_no_resin, Why.NO_RESIN),
        (_no_handling, Why.NO_CREW),
        (_no_power, Why.NO_BENCH),
    ],
)
def test_what_cannot_be_planned_is_told_with_its_reason(spoil, why):
    problem = spoil(small_problem())
    outcome = solve(problem, Limits(seconds=1), Stop(), nothing)
    assert check(problem, outcome.plan) == ()
    assert [blocked.why for blocked in outcome.blocked] == [why] * len(problem.orders)
    assert all(blocked.detail for blocked in outcome.blocked)
    assert (outcome.status is Status.IMPOSSIBLE) == (not outcome.plan.cycles)


def test_resin_for_a_part_of_an_order_makes_that_part():
    orders = (replace(small_orders()[0], quantity=6),)
    problem = small_problem(orders=orders)
    problem = with_yard(problem, items=tuple(replace(item, on_hand=45.0) for item in problem.yard.items))
    outcome = solve(problem, NOW, Stop(), nothing)
    assert len(outcome.plan.cycles) == 2  # 20 kg each
    assert [(blocked.order_id, blocked.why) for blocked in outcome.blocked] == [(orders[0].id, Why.NO_RESIN)]


def test_a_full_plan_says_that_there_is_no_room():
    orders = (replace(small_orders()[0], quantity=60),)
    outcome = solve(small_problem(orders=orders), NOW, Stop(), nothing)
    assert [blocked.why for blocked in outcome.blocked] == [Why.NO_ROOM]


def test_kept_work_that_breaks_rules_by_itself_is_no_plan():
    problem = small_problem()
    plan = solve(problem, NOW, Stop(), nothing).plan
    one = replace(plan.cycles[0], locked=True)
    twice = replace(one, id="C900", demold_crew=one.charge_crew)
    problem = replace(problem, kept=Plan(problem.grid, (one, twice)))
    outcome = solve(problem, Limits(seconds=1), Stop(), nothing)
    assert outcome.status is Status.IMPOSSIBLE
    assert outcome.plan == problem.kept
    assert all(blocked.detail for blocked in outcome.blocked)


def test_kept_work_costs_what_it_costs_in_every_plan():
    problem = small_problem(small_yard(2))
    first = solve(problem, NOW, Stop(), nothing).plan
    kept = Plan(problem.grid, first.cycles[:3], first.mold_changes, ())
    later = replace(problem, kept=kept, now=problem.grid.at(130))
    outcome = solve(later, Limits(seconds=None, work=3.0), Stop(), nothing)
    assert check(later, outcome.plan) == ()
    assert set(kept.cycles) <= set(outcome.plan.cycles)
    assert outcome.bound <= outcome.parts.cost
    ids = [row.id for row in (*outcome.plan.cycles, *outcome.plan.mold_changes, *outcome.plan.finishing)]
    assert len(ids) == len(set(ids))


def test_clean_downs_are_saved_by_making_a_color_at_a_time():
    orders = (
        Order("Y-1", "Invented", "TANK", "sand", 2, at(1, 24)),
        Order("Y-2", "Invented", "TANK", "black", 2, at(1, 24)),
    )
    problem = with_yard(small_problem(orders=orders, days=2), clean_downs=(CleanDown("*", "*", 30),))
    outcome = solve(problem, Limits(seconds=None, work=20.0), Stop(), nothing)
    assert outcome.parts.clean_downs == 1
