"""Rules of chambers and molds: ways to break them, and what they let pass."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.solve.hand_plan import (
    GRID,
    changed,
    hand_plan,
    hand_problem,
    hand_yard,
    rules,
    slot,
    with_chamber,
    with_mold,
    with_product,
    with_yard,
    without,
)
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.plan import MoldChange, Plan
from yardplan.domain.rules import Rule
from yardplan.solve.check import check

PLAN = hand_plan()
GRADE = hand_yard().products[1].resin_grade


@pytest.mark.parametrize(
    ("ident", "changes"),
    [
        ("C1", {"charge_slot": "Mon 09:05"}),  # 15 min of charging end at 09:20, heat starts at 09:15
        ("C1", {"end_slot": "Mon 11:15"}),
        ("C1", {"end_slot": "Mon 11:25"}),
        ("C1", {"cool_end_slot": "Mon 11:10"}),
    ],
)
def test_phases_follow_each_other_and_handling_has_its_length(ident: str, changes: dict[str, Any]) -> None:
    assert rules(hand_problem(), changed(PLAN, ident, **changes)) == {Rule.SEQUENCE}


def test_waits_before_heat_and_before_demolding_are_allowed() -> None:
    assert check(hand_problem(), changed(PLAN, "C1", charge_slot="Mon 08:00")) == ()
    later = changed(PLAN, "C1", demold_slot="Mon 11:30", end_slot="Mon 11:45", cool_end_slot="Mon 11:30")
    assert check(hand_problem(), later) == ()


def test_negative_clean_down_is_refused() -> None:
    assert rules(hand_problem(), changed(PLAN, "C1", clean_slots=-1)) == {Rule.SEQUENCE, Rule.CLEAN_DOWN}


def test_a_start_that_never_reaches_piat_is_refused_in_plain_words() -> None:
    """The hand-made sun stalls after 15:30; C4 heats on Monday at 15:40."""
    plan = changed(
        PLAN, "C4", charge_slot="Mon 15:30", heat_slot="Mon 15:40", heat_end_slot="Mon 17:00",
        cool_end_slot="Mon 17:35", demold_slot="Mon 17:35", end_slot="Mon 17:45",
        charge_crew=("P4",), demold_crew=("P4",),
    )  # fmt: skip
    (violation,) = check(hand_problem(), plan)
    assert violation.rule is Rule.COOK
    assert violation.text == (
        "cycle C4 in 1A starts to heat at Mon May 17 15:40, but at 80 % confidence PIAT is never reached from then"
    )


def test_the_first_slot_of_the_grid_is_judged_and_the_one_after_the_last_is_not() -> None:
    problem = replace(with_product("TANK", charge_min=0), now=GRID.start_at)
    midnight = changed(PLAN, "C1", charge_slot=0, heat_slot=0)
    assert Rule.COOK in rules(problem, midnight)
    after = changed(PLAN, "C4", heat_slot=GRID.n_slots, heat_end_slot=GRID.n_slots + 1, end_slot=GRID.n_slots + 9)
    assert Rule.HORIZON in rules(problem, after)
    assert Rule.COOK not in rules(problem, after)


def test_a_mold_that_the_cook_table_does_not_know_cannot_be_heated() -> None:
    problem = with_product("TANK", mold_ids=("M1", "M2"))
    plan = changed(
        PLAN, "C4", order_id="Y-1", product_id="TANK", color="sand", charge_slot="Tue 08:55", end_slot="Tue 11:20"
    )
    assert rules(problem, plan) == {Rule.COOK}


def test_the_planning_confidence_picks_the_row_of_the_cook_table() -> None:
    problem = hand_problem()
    slower = np.where(problem.cook.cook_slots[0] > 0, problem.cook.cook_slots[0] + 1, 0)
    cook = replace(
        problem.cook,
        confidences=(0.8, 0.95),
        cook_slots=np.stack([problem.cook.cook_slots[0], slower]),
        cool_slots=np.repeat(problem.cook.cool_slots, 2, axis=0),
    )
    assert check(replace(problem, cook=cook), PLAN) == ()
    violations = check(replace(problem, cook=cook, confidence=0.95), PLAN)
    assert [(violation.rule, violation.jobs) for violation in violations] == [
        (Rule.COOK, (ident,)) for ident in ("C1", "C2", "C3", "C4")
    ]


def test_two_chambers_cannot_hold_one_copy() -> None:
    """M2#1 hangs in 1B all the time; X1 would hang it in 1A."""
    plan = changed(changed(PLAN, "X1", mold_in=MoldCopy("M2", 1)), "C4", mold=MoldCopy("M2", 1))
    violations = check(hand_problem(), plan)
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.MOLD_ONCE, ("X1",))]


def test_a_mold_moves_only_after_it_was_taken_out() -> None:
    """X1 frees M1#1 at 15:30; it may be hung in 1B from then on, not before."""
    move = MoldChange(
        "X2", "1B", MoldCopy("M2", 1), MoldCopy("M1", 1), slot("Mon 15:30"), slot("Mon 16:30"), ("P2", "P4")
    )
    after = replace(PLAN, mold_changes=(*PLAN.mold_changes, move))
    after = changed(after, "F4", start_slot="Mon 16:30", end_slot="Mon 16:50")
    assert check(hand_problem(), after) == ()
    two_loaders = replace(hand_yard().site, loaders=2)
    crew = tuple(replace(row, jobs_at_once=2) for row in hand_yard().operators)
    problem = with_yard(site=two_loaders, operators=crew)
    before = changed(after, "X2", start_slot="Mon 15:25", end_slot="Mon 16:25")
    violations = check(problem, before)
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.MOLD_ONCE, ("X1", "X2"))]


def test_a_cycle_during_the_change_of_its_mold_is_refused() -> None:
    plan = changed(PLAN, "C1", demold_slot="Mon 14:25", end_slot="Mon 14:40", demold_crew=("P4",))
    assert Rule.CHAMBER in rules(hand_problem(), plan)


def test_a_mold_used_before_it_hangs_is_refused() -> None:
    assert rules(hand_problem(), without(PLAN, "X1")) == {Rule.MOLD_ONCE}


def test_swing_and_load_must_fit() -> None:
    heavy = with_chamber("1A", max_load_kg=170.0)  # 160 kg of shell and 20 kg of resin
    violations = check(heavy, PLAN)
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.MOLD_FIT, ("C1",))]
    assert "180 kg" in violations[0].text
    assert check(with_chamber("1A", max_load_kg=180.0), PLAN) == ()
    wide = with_mold("M2", swing_m=2.4)
    assert check(wide, PLAN) == ()
    (unit,) = wide.yard.units
    narrow = replace(unit, chambers=(replace(unit.chambers[0], max_swing_m=2.3), unit.chambers[1]))
    violations = check(replace(wide, yard=replace(wide.yard, units=(narrow,))), PLAN)
    assert [(violation.rule, violation.jobs) for violation in violations] == [
        (Rule.MOLD_FIT, ("C4",)),
        (Rule.MOLD_FIT, ("X1",)),
    ]


def test_the_load_counts_all_cavities() -> None:
    """160 kg of shell, two cavities of 20 kg each."""
    problem = with_chamber("1A", max_load_kg=200.0)
    two = tuple(replace(mold, cavities=2) if mold.id == "M1" else mold for mold in problem.yard.molds)
    items = tuple(replace(item, on_hand=1000.0) for item in problem.yard.items)
    problem = replace(problem, yard=replace(problem.yard, molds=two, items=items))
    plan = changed(PLAN, "C1", pieces=2)
    assert check(problem, plan) == ()
    (unit,) = problem.yard.units
    weak = replace(unit, chambers=(replace(unit.chambers[0], max_load_kg=199.0), unit.chambers[1]))
    violations = check(replace(problem, yard=replace(problem.yard, units=(weak,))), plan)
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.MOLD_FIT, ("C1",))]


def test_a_change_that_takes_no_time_lies_between_two_cycles() -> None:
    """C1 ends at 11:20, M2#2 is hung at that instant, C4 is charged at once."""
    plan = changed(PLAN, "X1", start_slot="Mon 11:20", end_slot="Mon 11:20", crew=("P1", "P3"))
    # 45 x (1 + (1 / 4)^2) = 47.8 -> 50 min
    plan = changed(
        plan, "C4", charge_slot="Mon 11:20", heat_slot="Mon 11:30", heat_end_slot="Mon 12:20",
        cool_end_slot="Mon 12:55", demold_slot="Mon 12:55", end_slot="Mon 13:05",
    )  # fmt: skip
    plan = without(plan, "C3", "F4")
    problem = with_mold("M2", change_min=0)
    problem = replace(problem, kept=Plan(GRID))
    assert check(problem, plan) == ()
    earlier = changed(plan, "X1", start_slot="Mon 11:15", end_slot="Mon 11:15")
    assert rules(problem, earlier) == {Rule.CHAMBER, Rule.MOLD_ONCE}


@pytest.mark.parametrize("mold_out", [None, MoldCopy("M2", 1), MoldCopy("M2", 2)])
def test_a_change_takes_out_what_hangs_there(mold_out: MoldCopy | None) -> None:
    assert rules(hand_problem(), changed(PLAN, "X1", mold_out=mold_out)) == {Rule.MOLD_CHANGE}


def test_an_empty_chamber_is_filled_by_a_change_that_takes_nothing_out() -> None:
    empty = with_yard(hung=hand_yard().hung[1:])
    plan = without(PLAN, "C1", "F1", "F2")
    assert check(empty, changed(plan, "X1", mold_out=None)) == ()
    assert rules(empty, plan) == {Rule.MOLD_CHANGE}


def test_hanging_what_hangs_already_is_refused() -> None:
    plan = changed(without(PLAN, "C4"), "X1", mold_in=MoldCopy("M1", 1))
    assert rules(hand_problem(), plan) == {Rule.MOLD_CHANGE}


def test_loaders_are_counted() -> None:
    none = with_yard(site=replace(hand_yard().site, loaders=0))
    assert rules(none, PLAN) == {Rule.MOLD_CHANGE}
    third = with_mold("M2", copies=3)
    crew = tuple(replace(row, jobs_at_once=2) for row in third.yard.operators)
    third = replace(third, yard=replace(third.yard, operators=crew))
    move = MoldChange(
        "X2", "1B", MoldCopy("M2", 1), MoldCopy("M2", 3), slot("Mon 15:25"), slot("Mon 16:25"), ("P2", "P4")
    )
    plan = replace(PLAN, mold_changes=(*PLAN.mold_changes, move))
    violations = check(third, plan)
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.MOLD_CHANGE, ("X1", "X2"))]
    more = replace(third, yard=replace(third.yard, site=replace(third.yard.site, loaders=2)))
    assert check(more, plan) == ()
    assert check(third, changed(plan, "X2", start_slot="Mon 15:30", end_slot="Mon 16:30")) == ()


def test_clean_down_is_exact_and_starts_from_what_the_mold_ran_last() -> None:
    longer = changed(PLAN, "C1", clean_slots=1, charge_slot="Mon 08:55")
    assert rules(hand_problem(), longer) == {Rule.CLEAN_DOWN}
    hung = tuple(replace(row, grade=GRADE, color="black") for row in hand_yard().hung)
    violations = check(with_yard(hung=hung), PLAN)  # any to any takes 30 min, on M1#1 and on M2#1
    assert [(violation.rule, violation.jobs) for violation in violations] == [
        (Rule.CLEAN_DOWN, ("C1",)),
        (Rule.CLEAN_DOWN, ("C2",)),
    ]
    assert "30 min" in violations[0].text
