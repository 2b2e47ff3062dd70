"""Further ways to break each rule, and what each rule lets pass."""

from dataclasses import replace
from math import nan
from typing import Any

import numpy as np
import pytest

from tests.small_yard import EVERY_DAY, hand_made_cook, small_unit
from tests.solve.hand_plan import (
    GRID,
    changed,
    hand_job,
    hand_plan,
    hand_power,
    hand_problem,
    hand_yard,
    moment,
    slot,
    without,
)
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.people import HANDLING, LOADER, RIGGING, Downtime, Duty, ResourceKind
from yardplan.domain.plan import MoldChange, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.products import Delivery, Item, ItemKind
from yardplan.domain.rules import Rule
from yardplan.domain.slots import SlotGrid
from yardplan.solve.check import check

PLAN = hand_plan()


def rules(problem: Problem, plan: Plan) -> set[Rule]:
    return {violation.rule for violation in check(problem, plan)}


def texts(problem: Problem, plan: Plan) -> str:
    return "\n".join(violation.text for violation in check(problem, plan))


def with_yard(**changes: Any) -> Problem:
    problem = hand_problem()
    return replace(problem, yard=replace(problem.yard, **changes))


def with_mold(ident: str, **changes: Any) -> Problem:
    molds = hand_yard().molds
    return with_yard(molds=tuple(replace(mold, **changes) if mold.id == ident else mold for mold in molds))


def with_chamber(ident: str, **changes: Any) -> Problem:
    (unit,) = hand_yard().units
    chambers = tuple(replace(chamber, **changes) if chamber.id == ident else chamber for chamber in unit.chambers)
    return with_yard(units=(replace(unit, chambers=chambers),))


def with_product(ident: str, **changes: Any) -> Problem:
    products = hand_yard().products
    return with_yard(products=tuple(replace(row, **changes) if row.id == ident else row for row in products))


def with_person(ident: str, **changes: Any) -> Problem:
    people = hand_yard().operators
    return with_yard(operators=tuple(replace(row, **changes) if row.id == ident else row for row in people))


def with_order(ident: str, **changes: Any) -> Problem:
    problem = hand_problem()
    orders = tuple(replace(order, **changes) if order.id == ident else order for order in problem.orders)
    return replace(problem, orders=orders)


def with_down(kind: ResourceKind, ident: str, start: str, end: str) -> Problem:
    down = Downtime(kind, ident, moment(start), moment(end), "service")
    return with_yard(downtimes=(*hand_yard().downtimes, down))


def only(skills: set[str], **people: set[str]) -> Problem:
    """Everyone has `skills`, but for those named."""
    everyone = hand_yard().operators
    return with_yard(
        operators=tuple(replace(row, skills=frozenset(people.get(row.id, skills | row.skills))) for row in everyone)
    )


@pytest.mark.parametrize(
    ("ident", "changes"),
    [
        ("C4", {"product_id": "BOAT"}),
        ("C4", {"mold": MoldCopy("M2", 3)}),
        ("C4", {"mold": MoldCopy("M9", 1)}),
        ("C4", {"chamber_id": "9Z"}),
        ("F3", {"bench_id": "W9"}),
        ("F3", {"cycle_id": "C9"}),
        ("F3", {"operator_id": "P9"}),
        ("C1", {"charge_crew": ("P9",)}),
        ("F3", {"id": "C4"}),
    ],
)
def test_unknown_names_and_ids_used_twice_are_told(ident: str, changes: dict[str, Any]) -> None:
    (violation,) = check(hand_problem(), changed(PLAN, ident, **changes))
    assert violation.rule is Rule.KNOWN
    assert violation.jobs == (changes.get("id", ident),)
    named = next(iter(changes.values()))
    assert (named[0] if isinstance(named, tuple) and not isinstance(named, MoldCopy) else str(named)) in violation.text


def test_mold_change_with_unknown_mold_or_chamber_is_told() -> None:
    plan = without(PLAN, "C4")
    assert rules(hand_problem(), changed(plan, "X1", mold_in=MoldCopy("M9", 1))) == {Rule.KNOWN}
    assert rules(hand_problem(), changed(plan, "X1", mold_out=MoldCopy("M9", 1))) == {Rule.KNOWN}
    assert rules(hand_problem(), changed(plan, "X1", chamber_id="9Z")) == {Rule.KNOWN}


def test_no_cycle_is_more_than_the_order_needs() -> None:
    (violation,) = check(with_order("Y-2", quantity=1), PLAN)
    assert violation.rule is Rule.QUANTITY
    assert violation.jobs == ("C3", "C4")
    assert check(with_order("Y-2", quantity=2), PLAN) == ()


def test_surplus_that_is_kept_is_not_the_plans_fault() -> None:
    problem = with_order("Y-2", quantity=1)
    both_kept = replace(problem, kept=replace(problem.kept, cycles=PLAN.cycles[2:]))
    assert check(both_kept, PLAN) == ()
    one_kept = replace(problem, kept=replace(problem.kept, cycles=PLAN.cycles[2:3]))
    (violation,) = check(one_kept, PLAN)
    assert violation.jobs == ("C4",)


def test_surplus_by_rounding_up_to_full_cavities_is_allowed() -> None:
    """Two cavities, three pieces: two cycles give four, and neither can be left out."""
    problem = with_mold("M2", cavities=2)
    problem = replace(problem, orders=tuple(replace(o, quantity=3) if o.id == "Y-2" else o for o in problem.orders))
    items = tuple(replace(item, on_hand=1000.0) for item in problem.yard.items)
    problem = replace(problem, yard=replace(problem.yard, items=items))
    plan = PLAN
    for ident in ("C2", "C3", "C4"):
        plan = changed(plan, ident, pieces=2)
    assert check(problem, plan) == ()
    fewer = replace(problem, orders=tuple(replace(o, quantity=2) if o.id == "Y-2" else o for o in problem.orders))
    assert rules(fewer, plan) == {Rule.QUANTITY}


def test_product_and_color_are_those_of_the_order() -> None:
    assert rules(with_order("Y-3", color="black"), PLAN) == {Rule.QUANTITY}
    assert rules(with_order("Y-3", product_id="TANK"), PLAN) == {Rule.QUANTITY}


def test_new_work_ends_inside_the_grid() -> None:
    late = Duty("late", EVERY_DAY)
    night = replace(hand_yard().shifts[0], id="night", start_local=hand_yard().shifts[1].end_local, breaks=())
    problem = with_yard(
        shifts=(*hand_yard().shifts, night),
        operators=tuple(
            replace(row, duties=(late, Duty("night", EVERY_DAY))) if row.id == "P2" else row
            for row in hand_yard().operators
        ),
    )
    inside = changed(PLAN, "F2", start_slot=GRID.n_slots - 2, end_slot=GRID.n_slots)
    assert check(problem, inside) == ()
    beyond = changed(PLAN, "F2", start_slot=GRID.n_slots - 1, end_slot=GRID.n_slots + 1)
    assert rules(problem, beyond) == {Rule.HORIZON}


def test_a_plan_on_other_slots_is_refused_as_a_whole() -> None:
    other = SlotGrid(GRID.start_at, GRID.n_slots - 1, GRID.tz)
    (violation,) = check(hand_problem(), Plan(other))
    assert (violation.rule, violation.jobs) == (Rule.HORIZON, ())


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
    grade = hand_yard().products[1].resin_grade
    hung = tuple(replace(row, grade=grade, color="black") for row in hand_yard().hung)
    violations = check(with_yard(hung=hung), PLAN)  # any to any takes 30 min, on M1#1 and on M2#1
    assert [(violation.rule, violation.jobs) for violation in violations] == [
        (Rule.CLEAN_DOWN, ("C1",)),
        (Rule.CLEAN_DOWN, ("C2",)),
    ]
    assert "30 min" in violations[0].text


@pytest.mark.parametrize(
    ("ident", "changes"),
    [
        ("X1", {"crew": ("P2", "P2")}),
        ("X1", {"crew": ("P2",)}),
        ("X1", {"crew": ("P2", "P4", "P5")}),
        ("C1", {"charge_crew": ()}),
        ("C1", {"demold_crew": ("P1", "P1")}),
    ],
)
def test_crews_are_of_exact_size_and_of_different_people(ident: str, changes: dict[str, Any]) -> None:
    assert rules(hand_problem(), changed(PLAN, ident, **changes)) == {Rule.CREW_SIZE}


ALL = {HANDLING, RIGGING, LOADER, "finishing"}


@pytest.mark.parametrize(
    ("skills", "is_fine"),
    [
        ({"P2": ALL, "P4": {RIGGING, "finishing"}}, True),
        ({"P2": {HANDLING, LOADER, "finishing"}, "P4": ALL}, True),
        ({"P2": {HANDLING, LOADER, "finishing"}, "P4": {RIGGING, "finishing"}}, True),
        ({"P2": ALL, "P4": {"finishing"}}, False),
        ({"P2": {HANDLING, RIGGING, "finishing"}, "P4": {RIGGING, "finishing"}}, False),
        ({"P2": {HANDLING, LOADER, "finishing"}, "P4": {LOADER, "finishing"}}, False),
    ],
)
def test_a_mold_change_takes_a_driver_and_riggers(skills: dict[str, set[str]], is_fine: bool) -> None:
    violations = check(only(set(), **skills), PLAN)
    assert [(violation.rule, violation.jobs) for violation in violations] == (
        [] if is_fine else [(Rule.CREW_SKILL, ("X1",))]
    )


def test_handling_takes_its_skill() -> None:
    problem = only(set(), P1={RIGGING}, P3=ALL)
    violations = check(problem, PLAN)
    assert {violation.rule for violation in violations} == {Rule.CREW_SKILL}
    assert {violation.jobs for violation in violations} == {("C1",), ("C3",), ("C4",)}


def test_a_person_who_may_mind_two_jobs_does_two_at_once_but_not_three() -> None:
    plan = changed(PLAN, "C1", demold_slot="Mon 12:15", end_slot="Mon 12:30")
    assert rules(hand_problem(), plan) == {Rule.CREW_LIMIT}
    two = with_person("P1", jobs_at_once=2)
    assert check(two, plan) == ()
    # C2 is demolded until 12:20 in the chamber where C3 is charged from 12:15 on, all by one person.
    third = changed(plan, "C2", demold_slot="Mon 12:10", end_slot="Mon 12:20", demold_crew=("P1",))
    violations = [(violation.rule, set(violation.jobs)) for violation in check(two, third)]
    assert violations == [(Rule.CHAMBER, {"C2", "C3"}), (Rule.CREW_LIMIT, {"C1", "C2", "C3"})]


@pytest.mark.parametrize(
    ("ident", "changes"),
    [
        ("F2", {"step_ix": 2}),
        ("F2", {"step_ix": -1}),
        ("F3", {"end_slot": "Mon 20:15"}),
        ("F3", {"kwh": 1 / 3 * 1.011}),
        ("F3", {"kwh": nan}),
        ("F2", {"kwh": 0.1}),
    ],
)
def test_steps_have_their_place_length_and_energy(ident: str, changes: dict[str, Any]) -> None:
    assert rules(hand_problem(), changed(PLAN, ident, **changes)) == {Rule.ROUTING}


def test_energy_may_be_off_by_a_hundredth() -> None:
    assert check(hand_problem(), changed(PLAN, "F3", kwh=1 / 3 * 1.009)) == ()


def test_a_step_is_done_once_and_not_without_the_one_before() -> None:
    again = hand_job("F5", "C3", 0, "W1", "P4", "Tue 16:30", "Tue 16:50", 1 / 3)
    violations = check(hand_problem(), replace(PLAN, finishing=(*PLAN.finishing, again)))
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.ROUTING, ("F4", "F5"))]
    assert rules(hand_problem(), without(PLAN, "F1")) == {Rule.ROUTING}


def test_unfinished_cycles_are_allowed() -> None:
    assert check(hand_problem(), without(PLAN, "F2")) == ()
    assert check(hand_problem(), without(PLAN, "F1", "F2", "F3")) == ()


def test_a_step_starts_after_the_one_before() -> None:
    plan = changed(PLAN, "F2", start_slot="Mon 20:05", end_slot="Mon 20:15", operator_id="P4", bench_id="T1")
    problem = with_yard(benches=tuple(replace(bench, kind="bench") for bench in hand_yard().benches))
    problem = replace(
        problem,
        yard=replace(problem.yard, operators=tuple(replace(row, jobs_at_once=2) for row in problem.yard.operators)),
    )
    assert rules(problem, plan) == {Rule.REST}
    assert check(problem, changed(plan, "F2", start_slot="Mon 20:10", end_slot="Mon 20:20")) == ()


def test_rest_counts_to_the_minute() -> None:
    """C2 is demolded at 12:15 and rests 120 min."""
    on_time = changed(without(PLAN, "X1", "C4"), "F3", bench_id="W1", start_slot="Mon 14:15", end_slot="Mon 14:35")
    assert check(hand_problem(), on_time) == ()
    early = changed(on_time, "F3", start_slot="Mon 14:10", end_slot="Mon 14:30")
    assert rules(hand_problem(), early) == {Rule.REST}


def test_a_bench_must_be_of_the_steps_kind() -> None:
    assert rules(hand_problem(), changed(PLAN, "F3", bench_id="T1")) == {Rule.BENCH}


def test_only_slots_after_sunset_draw_on_the_evening() -> None:
    """F1 has 2 and F3 has 4 slots of 1 kW after 20:00: 0.5 kWh."""
    problem = hand_problem()
    less = replace(problem.power, evening_kwh=problem.power.evening_kwh - np.float32(0.01))
    violations = check(replace(problem, power=less), PLAN)
    assert [violation.rule for violation in violations] == [Rule.EVENING_ENERGY]
    assert {"F1", "F3"} <= set(violations[0].jobs)
    assert "0.50 kWh" in violations[0].text
    day = replace(problem.power, evening_kwh=problem.power.evening_kwh * 0)
    assert check(replace(problem, power=day), without(PLAN, "F1", "F2", "F3")) == ()


def test_benches_fed_by_another_unit_draw_on_its_battery() -> None:
    """Half of the evening's work at a bench of the second unit leaves room in the first."""
    benches = tuple(replace(bench, unit_id="U2") if bench.id == "W2" else bench for bench in hand_yard().benches)
    yard = replace(hand_yard(), units=(small_unit(1), small_unit(2)), benches=benches)
    problem = replace(hand_problem(), yard=yard, cook=hand_made_cook(yard, GRID), power=hand_power(yard))
    later = changed(PLAN, "F1", start_slot="Mon 19:55", end_slot="Mon 20:15")
    assert check(problem, later) == ()
    weak = replace(problem.power, finish_kw=problem.power.finish_kw * np.float32([[1.0], [0.25]]))
    violations = check(replace(problem, power=weak), later)
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.EVENING_POWER, ("F3",))]


def test_power_is_judged_slot_by_slot() -> None:
    problem = hand_problem()
    finish_kw = problem.power.finish_kw.copy()
    finish_kw[:, slot("Mon 20:05")] = 1.9  # F1 and F3 draw 2 kW
    violations = check(replace(problem, power=replace(problem.power, finish_kw=finish_kw)), PLAN)
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.EVENING_POWER, ("F1", "F3"))]
    assert "20:05" in violations[0].text


def test_inserts_are_counted_like_resin() -> None:
    nut = Item("NUT", "Brass nut", ItemKind.INSERT, 4.0)
    tank, bin_ = hand_yard().products
    problem = with_yard(items=(*hand_yard().items, nut), products=(tank, replace(bin_, inserts=(("NUT", 2),))))
    violations = check(problem, PLAN)  # 2 each for C2, C3 and C4
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.STOCK, ("C4",))]
    come = (*problem.yard.deliveries, Delivery("NUT", moment("Tue 09:00"), 2.0))
    assert check(replace(problem, yard=replace(problem.yard, deliveries=come)), PLAN) == ()
    late = (*problem.yard.deliveries, Delivery("NUT", moment("Tue 09:01"), 2.0))
    assert rules(replace(problem, yard=replace(problem.yard, deliveries=late)), PLAN) == {Rule.STOCK}


def test_resin_that_is_not_kept_cannot_be_used() -> None:
    assert Rule.STOCK in rules(hand_problem(), changed(PLAN, "C1", color="green"))


@pytest.mark.parametrize(
    ("kind", "ident", "start", "end", "job"),
    [
        (ResourceKind.YARD, "", "Mon 09:55", "Mon 10:00", "C1"),
        (ResourceKind.UNIT, "U1", "Mon 09:55", "Mon 10:00", "C1"),
        (ResourceKind.CHAMBER, "1A", "Mon 09:55", "Mon 10:00", "C1"),
        (ResourceKind.CHAMBER, "1A", "Mon 09:10", "Mon 09:15", "C1"),
        (ResourceKind.CHAMBER, "1A", "Mon 11:00", "Mon 11:05", "C1"),
        (ResourceKind.CHAMBER, "1A", "Mon 11:15", "Mon 13:00", "C1"),
        (ResourceKind.CHAMBER, "1A", "Mon 12:00", "Mon 14:31", "X1"),
        (ResourceKind.MOLD, "M1#1", "Mon 09:55", "Mon 10:00", "C1"),
        (ResourceKind.OPERATOR, "P3", "Mon 09:25", "Mon 10:00", "C2"),
        (ResourceKind.OPERATOR, "P4", "Mon 20:19", "Mon 20:20", "F3"),
        (ResourceKind.BENCH, "W2", "Mon 19:50", "Mon 20:01", "F3"),
        (ResourceKind.YARD, "", "Mon 20:22", "Mon 20:23", "F2"),
    ],
)
def test_nothing_happens_on_what_is_down(kind: ResourceKind, ident: str, start: str, end: str, job: str) -> None:
    violations = check(with_down(kind, ident, start, end), PLAN)
    assert {(violation.rule, violation.jobs) for violation in violations} == {(Rule.DOWNTIME, (job,))}
    assert "service" in violations[0].text


@pytest.mark.parametrize(
    ("kind", "ident", "start", "end"),
    [
        (ResourceKind.CHAMBER, "1B", "Mon 09:30", "Mon 10:30"),  # C2 is charged and waits for the sun
        (ResourceKind.UNIT, "U1", "Mon 15:30", "Tue 09:00"),  # benches go on
        (ResourceKind.MOLD, "M1#1", "Mon 11:20", "Wed 00:00"),
        (ResourceKind.OPERATOR, "P3", "Mon 09:30", "Mon 12:05"),
        (ResourceKind.YARD, "", "Mon 20:30", "Tue 09:00"),
    ],
)
def test_down_times_beside_the_work_do_not_matter(kind: ResourceKind, ident: str, start: str, end: str) -> None:
    assert check(with_down(kind, ident, start, end), PLAN) == ()


def test_a_mold_that_is_down_does_not_wait_filled() -> None:
    problem = with_down(ResourceKind.MOLD, "M2#1", "Mon 09:35", "Mon 10:25")
    assert rules(problem, PLAN) == {Rule.DOWNTIME}
