"""Locks that clash, which plan is in hand, and what of a plan is frozen."""

from contextlib import contextmanager
from dataclasses import replace

import pytest

from tests.small_yard import at, small_problem
from tests.ui.weeks import cycle, small_outlook, small_plan, stored
from yardplan.domain.errors import LocksClash
from yardplan.domain.outcome import Publication
from yardplan.domain.plan import Plan
from yardplan.usecases import planning
from yardplan.usecases.editing import frozen_of
from yardplan.usecases.planning import plan_in_hand, with_locks


def test_locks_that_overlap_are_told_with_both_names_and_the_overlap_and_nothing_moves():
    problem = small_problem()
    slot = problem.grid.slot(at(0, 10))
    one = cycle("C1", "1A", slot, problem.orders[0], locked=True)
    two = cycle("C2", "1A", slot + 21, problem.orders[0], "P3", locked=True)
    with pytest.raises(LocksClash) as caught:
        with_locks(problem, stored(Plan(problem.grid, (one, two))))
    assert any("1A would be used twice" in text and "C1" in text and "C2" in text for text in caught.value.reasons)
    assert {"C1", "C2"} <= set(caught.value.cycle_ids)
    assert "unlock one of" in str(caught.value)


def test_locks_of_a_plan_for_other_days_or_closed_orders_do_not_bind():
    problem = small_problem()
    row = cycle("C1", "1A", problem.grid.slot(at(0, 10)), problem.orders[0], locked=True)
    plan = stored(Plan(problem.grid, (replace(row, order_id="gone"), replace(row, id="C2", locked=False))))
    assert with_locks(problem, plan) is problem
    assert with_locks(problem, None) is problem


def test_the_plan_in_hand_is_the_newest_or_the_one_published_since(monkeypatch):
    """Ways to go on are kept as plan versions; the newest is not the one that was taken."""
    newest = stored(small_plan(small_outlook()), 6)

    class Known:
        @contextmanager
        def begin_read(self):
            yield None

    monkeypatch.setattr(planning, "read_plan", lambda _session, number=6: replace(newest, number=number))
    for when, wanted in ((newest.made_at, 4), (newest.made_at.replace(year=2000), 6)):
        known = (Publication(1, 4, when, "tester", "seat", ""),)
        monkeypatch.setattr(planning, "read_publications", lambda _session, known=known: known)
        assert plan_in_hand(Known()).number == wanted
    monkeypatch.setattr(planning, "read_publications", lambda _session: ())
    assert plan_in_hand(Known()).number == 6


def test_only_what_lies_in_the_frozen_hours_of_the_plan_in_force_counts():
    plan = small_plan(small_outlook())
    force = stored(plan)
    near, far = plan.cycles[0], plan.cycles[-1]
    assert near.charge_slot < far.charge_slot
    moved = lambda row: replace(  # noqa: E731 - short, used on the spot
        plan, cycles=tuple(replace(one, chamber_id="1B") if one is row else one for one in plan.cycles)
    )
    hours = {"now": at(0, 7.5), "hours": 4.0}
    assert [pair.old.id for pair in frozen_of(force, moved(near), **hours)] == [near.id]
    assert frozen_of(force, replace(plan, cycles=plan.cycles[:-1]), **hours) == ()
    assert frozen_of(None, moved(near), **hours) == ()
    assert frozen_of(force, plan, **hours) == ()


def test_a_locked_cycle_begins_when_it_did_and_takes_as_long_as_the_sun_now_lets_it():
    problem = small_problem()
    row = cycle("C1", "1A", problem.grid.slot(at(0, 11)), problem.orders[0], locked=True)
    plan = stored(Plan(problem.grid, (row,)))
    (now,) = with_locks(problem, plan).kept.cycles
    cook_slots = problem.cook.cook_slots.copy()
    cook_slots[cook_slots > 0] += 3
    slower = replace(problem, cook=replace(problem.cook, cook_slots=cook_slots))
    (later,) = with_locks(slower, plan).kept.cycles
    assert (later.charge_slot, later.heat_slot) == (now.charge_slot, now.heat_slot) == (row.charge_slot, row.heat_slot)
    assert later.heat_end_slot == now.heat_end_slot + 3
    assert later.end_slot - later.demold_slot == row.end_slot - row.demold_slot
    assert later.demold_slot >= later.cool_end_slot
