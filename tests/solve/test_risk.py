"""A plan under single skies: agrees with the plain way, keeps to the plan in the planned sun, loses nothing by more."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.small_yard import planned_sun, small_problem
from tests.solve.slow_replay import SlowReplay
from tests.solve.yards import Drawn, small_problems
from yardplan.domain.errors import InvalidField
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.risk import of_twenty
from yardplan.domain.tables import SkyCooks
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.risk import BEYOND, plan_risk, replay

EXAMPLES = settings(max_examples=40, deadline=None)


def skies(problem: Problem, n_scenarios: int, seed: int) -> SkyCooks:
    """Skies around the planned one: each day's cooks take 0.6 to 1.8 times as long, and each has hours without sun."""
    rng, sun = np.random.default_rng(seed), planned_sun(problem.cook, problem.confidence)
    shape = len(problem.grid.days), n_scenarios
    factor, n_slots = rng.uniform(0.6, 1.8, shape), problem.grid.n_slots
    cloud_from, cloud_slots = rng.integers(100, 200, shape), rng.integers(0, 60, shape)
    slots = np.arange(n_slots)
    day = slots // 288
    since = slots[:, None] % 288 - cloud_from[day]
    dark = (since >= 0) & (since < cloud_slots[day])
    cook = np.where(dark, 0, np.ceil(sun.cook_slots * factor[day]))
    return SkyCooks(sun.grid, sun.recipes, sun.unit_ids, cook, np.where(cook > 0, sun.cool_slots, 0))


def sunnier(cooks: SkyCooks, seed: int) -> SkyCooks:
    """No cook longer, some shorter, and some starts that reach PIAT now: those before one that does, over by then."""
    rng = np.random.default_rng(seed)
    cook = cooks.cook_slots.astype(int)
    cook = np.where(cook > 0, np.maximum(cook - rng.integers(0, 4, cook.shape), 1), 0)
    risen = (cook == 0) & (rng.random(cook.shape) < 0.02)
    cool = np.where(risen, 7, cooks.cool_slots)
    return SkyCooks(cooks.grid, cooks.recipes, cooks.unit_ids, np.where(risen, 30, cook), cool)


def laid(problem: Problem, number: int = 2) -> Plan:
    return dispatch(Compiled(problem), MANNERS[number])


@EXAMPLES
@given(small_problems(), st.integers(0, 2), st.integers(0, 99))
def test_it_agrees_with_the_plain_way(drawn: Drawn, number: int, seed: int) -> None:
    problem = drawn.problem
    plan, cooks = laid(problem, number), skies(problem, 2, seed)
    finish = replay(problem, plan, cooks)
    for scenario in range(cooks.n_scenarios):
        slow = SlowReplay(problem, plan, cooks, scenario)
        for order, found in zip(problem.orders, finish[:, scenario].tolist(), strict=True):
            assert found == slow.order_finish(order.id, order.quantity)


@EXAMPLES
@given(small_problems(), st.integers(0, 2))
def test_in_the_planned_sun_the_plan_comes_true_or_better(drawn: Drawn, number: int) -> None:
    problem = drawn.problem
    plan = laid(problem, number)
    risk = plan_risk(problem, plan, planned_sun(problem.cook, problem.confidence))
    for row, result in zip(risk.orders, order_results(plan, problem.orders, problem.yard), strict=True):
        if result.finish_slot is not None:
            assert row.p95_slot is not None
            assert row.p95_slot <= result.finish_slot
            assert result.late_slots > 0 or row.chance_frac == 1
    assert risk.promised_frac == risk.all_frac == 1


@EXAMPLES
@given(small_problems(), st.integers(0, 99), st.integers(0, 99))
def test_more_sun_makes_no_order_later_and_no_chance_less(drawn: Drawn, seed: int, more: int) -> None:
    problem = drawn.problem
    plan, cooks = laid(problem), skies(problem, 5, seed)
    bright = sunnier(cooks, more)
    assert np.all(replay(problem, plan, bright) <= replay(problem, plan, cooks))
    was, now = plan_risk(problem, plan, cooks), plan_risk(problem, plan, bright)
    for dull, better in zip(was.orders, now.orders, strict=True):
        assert (better.chance_frac or 0) >= (dull.chance_frac or 0)
    assert (now.promised_frac, now.all_frac) >= (was.promised_frac, was.all_frac)


@EXAMPLES
@given(small_problems(), st.integers(0, 99))
def test_dates_rise_with_their_share_and_chances_fit_them(drawn: Drawn, seed: int) -> None:
    problem = drawn.problem
    risk = plan_risk(problem, laid(problem), skies(problem, 20, seed))
    for row, order in zip(risk.orders, problem.orders, strict=True):
        p50, p80, p95 = (BEYOND if s is None else s for s in (row.p50_slot, row.p80_slot, row.p95_slot))
        assert p50 <= p80 <= p95
        goal = problem.grid.slot(order.goal_at)
        for share, slot in ((0.5, p50), (0.8, p80), (0.95, p95)):
            assert row.chance_frac is None or (row.chance_frac >= share - 1e-9) == (slot <= goal)


@EXAMPLES
@given(small_problems(), st.integers(0, 1000))
def test_an_order_that_needs_no_more_sun_is_as_sure_as_the_plan(drawn: Drawn, hours: int) -> None:
    """Work has begun in the molds, then the sun never comes again: what was molded is finished as planned."""
    first = drawn.problem
    plan = laid(first)
    now = first.now + timedelta(minutes=5 * (hours % 600))
    slot = first.grid.slot_up(now)
    begun = {row.id for row in plan.cycles if row.charge_slot < slot}
    kept = Plan(
        plan.grid, tuple(row for row in plan.cycles if row.id in begun),
        tuple(row for row in plan.mold_changes if row.start_slot < slot),
        tuple(row for row in plan.finishing if row.start_slot < slot and row.cycle_id in begun),
    )  # fmt: skip
    problem = replace(first, now=now, kept=kept)
    sun = planned_sun(problem.cook, problem.confidence)
    dark = SkyCooks(sun.grid, sun.recipes, sun.unit_ids, 0 * sun.cook_slots, 0 * sun.cool_slots)
    risk = plan_risk(problem, plan, dark)
    for row, result in zip(risk.orders, order_results(plan, problem.orders, problem.yard), strict=True):
        waiting = [cycle.heat_slot >= slot for cycle in plan.cycles if cycle.order_id == row.order_id]
        if not any(waiting) and result.state == "on time":
            assert row.chance_frac == 1
        elif all(waiting):
            assert not row.chance_frac


def test_a_cook_that_never_comes_today_is_made_tomorrow() -> None:
    problem = small_problem(days=3)
    plan = laid(problem)
    sun = planned_sun(problem.cook, problem.confidence)
    cook = np.repeat(sun.cook_slots, 2, axis=3)
    cook[:, :, :288, 1] = 0  # no sun on the first day
    cooks = SkyCooks(sun.grid, sun.recipes, sun.unit_ids, cook, np.where(cook > 0, 7, 0))
    first = plan.cycles[0]
    alone = Plan(plan.grid, (first,), (), tuple(job for job in plan.finishing if job.cycle_id == first.id))
    one = replace(problem, orders=tuple(replace(o, quantity=1) for o in problem.orders if o.id == first.order_id))
    finish = replay(one, alone, cooks)[0]
    # the charged mold waits for the first start of the next day
    starts = np.flatnonzero(sun.cook_slots[0, 0, :, 0])
    tomorrow = int(starts[starts >= 288][0])
    heat_end = tomorrow + int(sun.cook_slots[0, 0, tomorrow, 0])
    assert finish[0] < 288
    assert heat_end + 7 + 3 + 24 + 4 <= finish[1] < 2 * 288  # cooling, demolding, rest, cutting
    risk = plan_risk(one, alone, cooks)
    assert risk.orders[0].p50_slot == finish[0]
    assert risk.orders[0].p80_slot == finish[1]


def test_cooks_of_another_grid_are_refused() -> None:
    problem = small_problem(days=3)
    with pytest.raises(InvalidField, match="grid"):
        plan_risk(problem, laid(problem), planned_sun(small_problem(days=2).cook, 0.8))


@pytest.mark.parametrize(("chance", "cases"), [(0.0, 0), (0.85, 17), (17 / 20, 17), (0.89, 17), (0.999, 19), (1, 20)])
def test_chances_are_told_as_cases_of_twenty(chance: float, cases: int) -> None:
    assert of_twenty(chance) == cases
