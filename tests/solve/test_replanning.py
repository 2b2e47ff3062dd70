"""Work in hand is carried into a new question and never changes; the plan before is followed, and moves cost."""

from dataclasses import replace
from datetime import datetime

import pytest

from tests.day_streams import day_yard, end_of, legal_day
from tests.small_yard import MONDAY, TZ, at, hand_made_cook, hand_made_power, small_orders, small_problem
from yardplan.domain.events import Event
from yardplan.domain.history import state_of
from yardplan.domain.moves import Anchor, anchors, moved
from yardplan.domain.plan import Plan
from yardplan.domain.problem import GoalWeights, Problem
from yardplan.domain.slots import SlotGrid
from yardplan.domain.standing import carried, orders_to_make, standing_yard
from yardplan.domain.state import Phase, YardState
from yardplan.solve.carry import Carried, carry, old_plan
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.follow import follow
from yardplan.solve.goal import goal_parts
from yardplan.solve.run import Limits, Stop, solve

YARD = day_yard()
ORDERS = tuple(replace(order, quantity=12) for order in small_orders())
GRID = SlotGrid.of_days(MONDAY, 2, TZ)


def first_plan(problem: Problem) -> Plan:
    return solve(problem, Limits(seconds=None), Stop(), lambda progress: None).plan


def question(yard=YARD, now: datetime | None = None, orders=ORDERS) -> Problem:
    return Problem(
        yard=yard, orders=orders, grid=GRID, cook=hand_made_cook(yard, GRID), power=hand_made_power(yard, GRID),
        now=now or GRID.start_at, confidence=0.8, kept=Plan(GRID),
    )  # fmt: skip


PLAN = first_plan(question())


def asked_from(events: tuple[Event, ...], now: datetime) -> tuple[Carried, YardState]:
    state = state_of(YARD, None, events, now)
    problem = question(standing_yard(YARD, state, GRID), now, orders_to_make(ORDERS, state))
    first = GRID.slot(now)
    before = Plan(GRID, tuple(row for row in PLAN.cycles if row.charge_slot >= first))
    return carry(problem, state, before, {}, frozen_slots=6), state


def replanned_after(seed: int) -> None:
    """Plan anew after a legal day and hold the plan against it: all rules kept, work in hand a fact."""
    events = legal_day(seed, 18)
    now = end_of(events)
    found, state = asked_from(events, now)
    problem = found.problem
    plan = first_plan(problem)
    assert not check(problem, plan), seed
    kept = {row.id: row for row in problem.kept.cycles}
    for made in carried(state):
        told = any(text.startswith(made.id) for text in found.told)
        assert made.id in kept or told, (seed, made)
        if made.phase is Phase.FINISHING:
            row = kept[made.id]
            assert (row.pieces, row.mold, row.chamber_id) == (made.good + made.rework, made.mold, made.chamber_id)
            assert row.end_slot <= GRID.slot(now)
    assert {row.id: row for row in plan.cycles if row.id in kept} == kept
    for order in ORDERS:
        finished = state.orders[order.id].finished if order.id in state.orders else 0
        asked = {row.id: row.quantity for row in problem.orders}.get(order.id, 0)
        assert asked >= order.quantity - finished


@pytest.mark.parametrize("block", range(4))
def test_after_any_legal_day_the_new_plan_keeps_all_rules_and_work_in_hand_is_a_fact(block: int) -> None:
    for seed in range(block * 15, block * 15 + 15):  # 500 of them: tests/bench/bench_days.py
        replanned_after(seed)


def test_a_plan_that_nothing_disturbs_is_followed_to_the_slot() -> None:
    problem = question()
    followed = follow(Compiled(problem), PLAN)
    assert not check(problem, followed)
    assert not moved(anchors(PLAN, 0), followed)
    places = {(row.chamber_id, row.order_id, row.charge_slot) for row in PLAN.cycles}
    assert {(row.chamber_id, row.order_id, row.charge_slot) for row in followed.cycles} == places


def test_a_late_start_pushes_what_follows_in_its_chamber_and_drops_what_has_no_sun_left() -> None:
    problem = replace(question(), now=at(0, 11))
    followed = old_plan(problem, PLAN)
    assert not check(problem, followed)
    tuesday = GRID.slot(at(1, 0))
    was, now = ([row for row in plan.cycles if row.charge_slot < tuesday] for plan in (PLAN, followed))
    assert 0 < len(now) < len(was)
    assert min(row.charge_slot for row in now) == problem.now_slot
    held = {(row.chamber_id, row.order_id, row.charge_slot) for row in followed.cycles if row.charge_slot >= tuesday}
    later = {(row.chamber_id, row.order_id, row.charge_slot) for row in PLAN.cycles if row.charge_slot >= tuesday}
    assert len(held & later) >= 0.8 * len(later)


def test_moves_are_counted_by_how_soon_they_are() -> None:
    jobs = anchors(PLAN, 0)
    hours = {job: (job.charge_slot * 5) / 60 for job in jobs}
    assert all(job.weight == round(100 + 900 * 0.5 ** (hours[job] / 8)) for job in jobs)
    assert sum(job.weight for job in moved(jobs, Plan(GRID))) == sum(job.weight for job in jobs)
    shifted = Plan(GRID, tuple(replace(row, charge_slot=row.charge_slot + 6) for row in PLAN.cycles))
    assert not moved(jobs, shifted)
    shifted = Plan(GRID, tuple(replace(row, charge_slot=row.charge_slot + 7) for row in PLAN.cycles))
    assert len(moved(jobs, shifted)) == len(jobs)
    row = PLAN.cycles[0]
    assert moved([Anchor(row.chamber_id, "Y-9", row.charge_slot, 1)], PLAN)
    problem = replace(question(), before=PLAN, weights=GoalWeights(moved=7))
    empty, full = goal_parts(problem, Plan(GRID)), goal_parts(problem, PLAN)
    assert (empty.moved, full.moved) == (sum(job.weight for job in jobs), 0)
    assert empty.cost == goal_parts(question(), Plan(GRID)).cost + 7 * empty.moved


def test_the_search_counts_moves_as_the_goal_does_and_weighs_them() -> None:
    # a small question, solved as a whole: its cost and bound meet with moves in the goal as well
    base = small_problem(orders=tuple(replace(order, quantity=1) for order in small_orders()), days=1)
    plan = solve(base, Limits(seconds=None, work=0.6, workers=1), Stop(), lambda progress: None).plan
    later = replace(base, now=at(0, 10.5), before=plan)
    costs = {}
    for weight in (0, 100_000):
        asked = replace(later, weights=GoalWeights(moved=weight))
        start = follow(Compiled(asked), plan)
        outcome = solve(asked, Limits(seconds=None, work=0.6, workers=1), Stop(), lambda progress: None, start)
        assert not check(asked, outcome.plan)
        assert outcome.bound <= outcome.parts.cost
        assert outcome.parts == goal_parts(asked, outcome.plan)
        costs[weight] = outcome.parts
    assert costs[100_000].moved <= costs[0].moved


def test_locked_and_frozen_jobs_stay_and_what_cannot_is_told() -> None:
    state = state_of(YARD, None, (), at(0, 9))
    problem = question(standing_yard(YARD, state, GRID), at(0, 9))
    first = problem.now_slot
    before = Plan(GRID, tuple(row for row in PLAN.cycles if row.charge_slot >= first), PLAN.mold_changes)
    locked = before.cycles[-1].id
    before = replace(before, cycles=tuple(replace(row, locked=row.id == locked) for row in before.cycles))
    kept = carry(problem, state, before, {}, frozen_slots=12).problem.kept
    soon = {row.id for row in before.cycles if row.charge_slot < first + 12}
    assert soon | {locked} == {row.id for row in kept.cycles}
    places = {row.id: (row.chamber_id, row.charge_slot) for row in before.cycles}
    assert all(places[row.id] == (row.chamber_id, row.charge_slot) for row in kept.cycles)
    assert Compiled(replace(problem, kept=kept)).lines
    assert not check(replace(problem, kept=kept), first_plan(replace(problem, kept=kept)))
