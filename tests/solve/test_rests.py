"""Work in the heat: every plan of the solver keeps the budget of any hour, whatever the limits are."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.small_yard import small_orders, small_problem, small_yard
from tests.solve.hand_plan import GRID, changed, hand_plan, hand_problem, rules, slot
from tests.solve.yards import Drawn, small_problems
from yardplan.domain.errors import InvalidField
from yardplan.domain.heat_work import NIOSH_TABLE, WorkLimits, WorkRest, check_work_rest, work_limits
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Rule
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.names import named
from yardplan.solve.rests import Rests
from yardplan.solve.run import Limits, Stop, solve

PLAN = hand_plan()


@st.composite
def hot_problems(draw: st.DrawFn) -> Drawn:
    """Small problems with limits that change every few hours."""
    problem = draw(small_problems()).problem
    n_slots = problem.grid.n_slots
    levels = draw(st.lists(st.sampled_from([60, 45, 30, 20, 15, 0]), min_size=4, max_size=30))
    heavy = np.repeat(levels, -(-n_slots // len(levels)))[:n_slots]
    moderate = np.maximum(heavy, draw(st.sampled_from([0, 20, 30, 60])))
    return Drawn(replace(problem, limits=WorkLimits(heavy, moderate)))


def flat(problem: Problem, heavy_min: int, moderate_min: int = 60) -> Problem:
    n_slots = problem.grid.n_slots
    return replace(problem, limits=WorkLimits(np.full(n_slots, heavy_min), np.full(n_slots, moderate_min)))


@settings(max_examples=30, deadline=None)
@given(hot_problems(), st.integers(0, 2))
def test_plans_by_dispatch_keep_the_budget(drawn: Drawn, number: int) -> None:
    problem = drawn.problem
    assert check(problem, named(dispatch(Compiled(problem), MANNERS[number]), problem.kept)) == ()


@settings(max_examples=8, deadline=None)
@given(hot_problems())
def test_plans_by_search_are_taken_and_keep_the_budget(drawn: Drawn) -> None:
    problem = drawn.problem
    outcome = solve(problem, Limits(None, work=0.4, workers=1), Stop(), lambda progress: None)
    assert check(problem, outcome.plan) == ()
    assert outcome.bound <= outcome.parts.cost


def test_search_goes_on_below_the_dispatch_rules_in_the_heat() -> None:
    problem = flat(small_problem(), 20)
    first = solve(problem, Limits(None), Stop(), lambda progress: None)
    found = solve(problem, Limits(None, work=3.0, workers=1), Stop(), lambda progress: None)
    assert check(problem, found.plan) == ()
    assert found.parts.cost <= first.parts.cost


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_jobs_with_their_rests_are_within_the_budget_of_any_hour(data: st.DataObject) -> None:
    """One person, random limits, jobs as close as their rests allow: counted hour by hour."""
    n_slots = 120
    levels = data.draw(st.lists(st.sampled_from([60, 45, 40, 35, 30, 25, 20, 15, 0]), min_size=6, max_size=24))
    heavy = np.repeat(levels, n_slots // len(levels) + 1)[:n_slots]
    moderate = np.maximum(heavy, data.draw(st.sampled_from([0, 25, 45, 60])))
    problem = replace(small_problem(days=1), orders=())
    limits = WorkLimits(np.append(heavy, [60] * (288 - n_slots)), np.append(moderate, [60] * (288 - n_slots)))
    rests = Rests(replace(problem, limits=limits))
    at, work = 0, np.zeros((2, n_slots), bool)
    while at < n_slots:
        is_heavy, length = data.draw(st.booleans()), data.draw(st.integers(1, 8))
        starts = rests.fit((1 << n_slots) - 1 >> at << at, -1, length, heavy=is_heavy)
        if not starts:
            break
        start = (starts & -starts).bit_length() - 1 + data.draw(st.sampled_from([0, 0, 1, 5]))
        if not starts >> start & 1:
            at += 1
            continue
        work[1 if is_heavy else 0, start : start + length] = True
        at = rests.end(start, start + length, heavy=is_heavy)
    both = work.any(axis=0)
    for first in range(n_slots):
        hour = slice(first, first + 12)
        for done, limit in ((work[1], heavy), (both, moderate)):
            if done[hour].any():
                assert 5 * done[hour].sum() <= limit[hour][done[hour]].min()


def test_at_caution_no_heavy_work_is_planned() -> None:
    assert not dispatch(Compiled(flat(small_problem(), 0, 0)), MANNERS[0]).cycles
    outcome = solve(flat(small_problem(), 0), Limits(None), Stop(), lambda progress: None)
    assert not outcome.plan.cycles
    assert rules(replace(hand_problem(), limits=flat(hand_problem(), 0).limits), PLAN) == {Rule.CREW_HEAT}


def test_a_rested_person_works_the_full_job_and_a_second_one_takes_the_next() -> None:
    """At 102 F 25 min of heavy work are allowed in an hour: P1, who demolds C1, charges C3 for 25 min from 12:15 on."""
    problem = replace(hand_problem(), limits=flat(hand_problem(), 25).limits)
    assert check(problem, changed(PLAN, "C1", demold_slot="Mon 11:20", end_slot="Mon 11:35")) == ()
    soon = changed(PLAN, "C1", demold_slot="Mon 11:40", end_slot="Mon 11:55")
    assert rules(problem, soon) == {Rule.CREW_HEAT}
    assert check(problem, changed(soon, "C1", demold_crew=("P3",))) == ()


def test_all_work_counts_for_the_moderate_limit() -> None:
    limits = WorkLimits(np.full(GRID.n_slots, 60), np.where(np.arange(GRID.n_slots) >= slot("Mon 19:00"), 25, 60))
    problem = replace(hand_problem(), limits=limits)
    # F1 and F2 of P2: 20 min and 10 min within 40 min
    found = [violation for violation in check(problem, PLAN) if "F1" in violation.jobs]
    assert [violation.rule for violation in found] == [Rule.CREW_HEAT]
    assert "30 min of work" in found[0].text


def test_the_default_table_is_the_one_of_the_source() -> None:
    """CDC/NIOSH, Heat Stress: Work/Rest Schedules (normal clothing), moderate and heavy columns, 90 to 112 F."""
    none = 60
    heavy = [none] * 5 + [45, 45, 40, 35, 35, 30, 30, 25, 20, 20, 15, 0, 0, 0, 0, 0, 0, 0]
    moderate = [none] * 10 + [45, 40, 35, 30, 30, 25, 20, 15, 0, 0, 0, 0, 0]
    at_f = np.arange(90.0, 113.0)
    found = work_limits(NIOSH_TABLE, at_f, at_f)
    assert found.heavy_min.tolist() == heavy
    assert found.moderate_min.tolist() == moderate
    between = work_limits(NIOSH_TABLE, at_f - 0.4, at_f - 0.4)  # rounded up to the safe side
    assert between.heavy_min.tolist() == heavy


@pytest.mark.parametrize(
    "rows", [(WorkRest(95, 60, 45), WorkRest(95, 60, 40)), (WorkRest(95, 60, 30), WorkRest(96, 60, 45))]
)
def test_a_table_never_allows_more_when_it_is_hotter(rows: tuple[WorkRest, ...]) -> None:
    with pytest.raises(InvalidField):
        check_work_rest(rows)


def test_heavy_work_is_never_allowed_longer_than_moderate() -> None:
    with pytest.raises(InvalidField, match="heavy_min"):
        WorkRest(95, 30, 45)


def test_limits_of_another_length_are_refused() -> None:
    with pytest.raises(InvalidField, match="limits"):
        replace(small_problem(), limits=WorkLimits(np.full(3, 60), np.full(3, 60)))


def test_the_heat_takes_cycles_from_a_full_plan() -> None:
    """With one person on shift and room for more, what is made falls as the heat rises."""
    yard = replace(small_yard(), operators=small_yard().operators[:1])
    orders = tuple(replace(order, quantity=20) for order in small_orders())
    problem = small_problem(yard, orders)
    made = [len(dispatch(Compiled(flat(problem, heavy)), MANNERS[0]).cycles) for heavy in (60, 20, 15, 0)]
    assert made[0] > made[1] >= made[2] > made[3] == 0
