"""Kept work: what has started is a fact, but it still occupies what it uses."""

from dataclasses import replace

import pytest

from tests.solve.hand_plan import GRID, changed, hand_plan, hand_problem, moment, slot, without
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Rule, Violation
from yardplan.solve.check import check

# C1 was charged by someone without a shift then, heats too short, cools too short, and its demolding takes too long.
ODD = changed(
    hand_plan(), "C1", charge_slot="Mon 05:00", heat_slot="Mon 09:00", heat_end_slot="Mon 09:05",
    cool_end_slot="Mon 09:15", demold_slot="Mon 09:10", end_slot="Mon 10:10", clean_slots=1, pieces=3,
    charge_crew=("P2", "P3"), demold_crew=(),
)  # fmt: skip


def keeping(plan: Plan, *idents: str, now: str = "Mon 08:00") -> Problem:
    """The hand-made problem in which these rows of a plan are kept."""
    kept = Plan(
        GRID,
        tuple(row for row in plan.cycles if row.id in idents),
        tuple(row for row in plan.mold_changes if row.id in idents),
        tuple(row for row in plan.finishing if row.id in idents),
    )
    problem = replace(hand_problem(), now=moment(now), kept=kept)
    items = tuple(replace(item, on_hand=1000.0) for item in problem.yard.items)
    return replace(problem, yard=replace(problem.yard, items=items))


def named(violations: tuple[Violation, ...]) -> list[tuple[Rule, tuple[str, ...]]]:
    return [(violation.rule, violation.jobs) for violation in violations]


def test_work_that_has_started_is_a_fact() -> None:
    assert check(keeping(ODD, "C1"), ODD) == ()
    found = {violation.rule for violation in check(keeping(ODD), ODD)}
    assert found >= {
        Rule.HORIZON,
        Rule.QUANTITY,
        Rule.SEQUENCE,
        Rule.COOK,
        Rule.COOL,
        Rule.CLEAN_DOWN,
        Rule.CREW_SIZE,
        Rule.CREW_SHIFT,
    }


def test_kept_work_that_has_not_started_is_judged() -> None:
    found = check(keeping(ODD, "C1", now="Mon 05:00"), ODD)
    assert {violation.rule for violation in found} >= {Rule.SEQUENCE, Rule.COOK, Rule.CREW_SIZE}
    assert Rule.HORIZON not in {violation.rule for violation in found}


def test_finishing_and_changes_that_have_started_are_facts() -> None:
    plan = changed(hand_plan(), "X1", end_slot="Mon 15:10", mold_out=None, crew=("P5",))
    plan = changed(plan, "F4", bench_id="T1", operator_id="P5", end_slot="Mon 16:40", kwh=9.0)
    rows = ("C1", "C2", "C3", "X1", "F4")
    assert check(keeping(plan, *rows, now="Mon 16:35"), plan) == ()
    assert check(keeping(plan, *rows, now="Mon 14:00"), plan) != ()


def test_a_mold_that_hangs_by_now_is_a_fact() -> None:
    """C1 and X1 use molds for which chamber 1A is too weak by the data of today."""
    problem = keeping(hand_plan(), "C1", "X1", now="Mon 14:35")
    (unit,) = problem.yard.units
    weak = replace(unit, chambers=(replace(unit.chambers[0], max_load_kg=165.0), unit.chambers[1]))
    problem = replace(problem, yard=replace(problem.yard, units=(weak,)))
    plan = without(hand_plan(), "C2", "C3", "F3", "F4")
    assert named(check(problem, plan)) == [(Rule.MOLD_FIT, ("C4",))]
    assert named(check(problem, without(plan, "C4"))) == []


def test_new_work_must_leave_room_for_what_runs() -> None:
    """C1 has run since before the grid and stays in 1A until 13:00; its heat takes the field until 10:40."""
    running = changed(
        hand_plan(), "C1", charge_slot=-20, heat_slot="Mon 07:00", heat_end_slot="Mon 10:40",
        cool_end_slot="Mon 12:00", demold_slot="Mon 12:45", end_slot="Mon 13:00",
    )  # fmt: skip
    assert named(check(keeping(running, "C1"), running)) == [(Rule.FIELD, ("C1", "C2"))]
    both = changed(running, "C1", heat_end_slot="Mon 10:30", demold_slot="Mon 14:35", end_slot="Mon 14:50")
    assert (
        named(check(keeping(both, "C1"), both))
        == [
            (Rule.CHAMBER, ("C1", "X1")),
            (Rule.CREW_LIMIT, ("C1", "C9")),
        ][:1]
    )


def test_two_kept_rows_that_clash_are_told() -> None:
    plan = changed(hand_plan(), "C3", charge_slot="Mon 12:10")
    assert named(check(keeping(plan, "C2", "C3"), plan)) == [(Rule.CHAMBER, ("C2", "C3"))]
    assert named(check(keeping(plan, "C2", "C3", now="Mon 13:00"), without(plan, "C1", "F1", "F2"))) == [
        (Rule.CHAMBER, ("C2", "C3"))
    ]


def test_kept_work_may_end_after_the_plans_days() -> None:
    plan = changed(hand_plan(), "C4", demold_slot=GRID.n_slots - 2, end_slot=GRID.n_slots + 5)
    assert Rule.HORIZON not in {violation.rule for violation in check(keeping(plan, "C4"), plan)}
    assert Rule.HORIZON in {violation.rule for violation in check(keeping(plan), plan)}


@pytest.mark.parametrize("ident", ["C2", "X1", "F4"])
def test_a_kept_row_that_is_missing_is_told(ident: str) -> None:
    found = check(keeping(hand_plan(), ident), without(hand_plan(), ident))
    kept = [violation for violation in found if violation.rule is Rule.KEPT]
    assert named(tuple(kept)) == [(Rule.KEPT, (ident,))]
    assert "not in the plan" in kept[0].text


def test_a_kept_row_that_was_changed_says_what() -> None:
    (violation,) = check(keeping(hand_plan(), "C1"), changed(hand_plan(), "C1", charge_slot="Mon 08:55"))
    assert (violation.rule, violation.jobs) == (Rule.KEPT, ("C1",))
    assert violation.text.endswith("was changed: charge from Mon May 17 09:00 to Mon May 17 08:55")
    found = check(keeping(hand_plan(), "C1"), changed(hand_plan(), "C1", pieces=2))
    assert [v.text.split("changed: ")[1] for v in found if v.rule is Rule.KEPT] == ["pieces from 1 to 2"]


def test_what_was_charged_before_the_grid_has_taken_its_resin() -> None:
    running = changed(
        hand_plan(), "C1", charge_slot=-20, heat_slot=-10, heat_end_slot=5, cool_end_slot=10, demold_slot=96
    )
    problem = keeping(running, "C1")
    items = tuple(
        replace(item, on_hand=0.0 if item.color == "sand" else 16.0) for item in problem.yard.items
    )  # 8 kg come at 09:15, C2 takes them at 09:20
    problem = replace(problem, yard=replace(problem.yard, items=items))
    assert check(problem, running) == ()
    in_grid = changed(running, "C1", charge_slot=0)
    kept = replace(problem, kept=replace(problem.kept, cycles=in_grid.cycles[:1]))
    assert named(check(kept, in_grid)) == [(Rule.STOCK, ("C1", "C2"))]


def test_power_that_was_drawn_before_now_is_past() -> None:
    """F1 and F3 draw 2 kW together from 20:00 to 20:10."""
    problem = keeping(hand_plan(), "C1", "C2", "C3", "X1", "F1", "F3", "F4", now="Mon 20:05")
    weak = problem.power.finish_kw.copy()
    weak[:, : slot("Mon 20:05")] = 0.1
    past = replace(problem, power=replace(problem.power, finish_kw=weak))
    assert check(past, hand_plan()) == ()
    weak = weak.copy()
    weak[:, : slot("Mon 20:10")] = 0.1
    ahead = replace(problem, power=replace(problem.power, finish_kw=weak))
    assert named(check(ahead, hand_plan())) == [(Rule.BENCH_POWER, ("F1", "F3"))]


def test_an_evening_counts_as_a_whole_until_it_is_over() -> None:
    """By 20:15 on Monday F1 is done; what it drew is gone from the evening's energy."""
    idents = ("C1", "C2", "C3", "X1", "F1", "F2", "F3", "F4")
    short = [(Rule.BENCH_ENERGY, ("F1", "F3"))]
    for now, expected in (("Mon 20:15", short), ("Tue 05:55", short), ("Tue 06:00", [])):
        problem = keeping(hand_plan(), *idents, now=now)
        weak = replace(problem.power, span_kwh=problem.power.span_kwh - 0.1)
        assert named(check(replace(problem, power=weak), hand_plan())) == expected


def test_kept_work_from_long_ago_cannot_be_judged() -> None:
    """A year has at most 366 days of 288 slots."""
    year_slots = 366 * 288
    plan = changed(without(hand_plan(), "F1", "F2"), "C1", charge_slot=-year_slots)
    assert Rule.HORIZON not in {violation.rule for violation in check(keeping(plan, "C1"), plan)}
    plan = changed(plan, "C1", charge_slot=-year_slots - 1)
    assert named(check(keeping(plan, "C1"), plan)) == [(Rule.HORIZON, ("C1",))]
    plan = changed(plan, "C1", charge_slot=0, end_slot=GRID.n_slots + year_slots)
    assert Rule.HORIZON not in {violation.rule for violation in check(keeping(plan, "C1"), plan)}
    plan = changed(plan, "C1", end_slot=GRID.n_slots + year_slots + 1)
    assert named(check(keeping(plan, "C1"), plan)) == [(Rule.HORIZON, ("C1",))]
