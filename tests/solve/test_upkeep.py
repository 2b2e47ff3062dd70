"""Upkeep finds its hour where the sun is worth least, and the plan keeps out of its way."""

from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from tests.small_yard import at, small_orders, small_problem, with_yard
from tests.solve.hand_plan import changed, hand_plan, hand_problem, rules, slot
from yardplan.domain.errors import InvalidField
from yardplan.domain.people import RIGGING, ResourceKind, Upkeep
from yardplan.domain.plan import Plan, UpkeepJob
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Rule
from yardplan.domain.tables import NEVER
from yardplan.solve.check import check
from yardplan.solve.run import Limits, Stop, solve
from yardplan.solve.upkeep import place_upkeep, slot_worth

WASH = Upkeep("WASH", "mirror wash", ResourceKind.UNIT, "U1", 90, RIGGING, 2, at(0, 9), at(2, 15))


def dull(problem: Problem, day: int) -> Problem:
    """The problem with clouds all day long, in which nothing cooks."""
    _, first, after = problem.grid.days[day]
    cook_slots = problem.cook.cook_slots.copy()
    cook_slots[..., first:after] = NEVER
    return replace(problem, cook=replace(problem.cook, cook_slots=cook_slots))


def in_daylight_only(problem: Problem) -> Problem:
    """The problem with a crew that works from 9 to 15, when the sun shines."""
    shifts = tuple(replace(shift, start_local=time(9), end_local=time(15), breaks=()) for shift in problem.yard.shifts)
    return with_yard(problem, shifts=shifts)


def test_a_wash_waits_for_an_hour_without_sun() -> None:
    (job,) = place_upkeep(with_yard(small_problem(), upkeep=(WASH,)))
    worth = slot_worth(small_problem())["U1"]
    assert worth[job.start_slot : job.end_slot].sum() == 0
    # Cooks start from 9:00 to 15:30 and are over some time later, so the first dark hour in which two are at work
    # is the evening of the first day.
    assert small_problem().grid.local(job.start_slot).hour >= 15
    assert job.start_slot < 288
    assert len(set(job.crew)) == 2


def test_a_wash_goes_to_the_cloudy_day_when_the_crew_works_in_sunlight_only() -> None:
    for day in (0, 1, 2):
        problem = dull(in_daylight_only(with_yard(small_problem(), upkeep=(WASH,))), day)
        (job,) = place_upkeep(problem)
        assert job.start_slot // 288 == day


def test_without_a_cloudy_day_it_goes_to_the_weakest_sun() -> None:
    problem = in_daylight_only(with_yard(small_problem(), upkeep=(WASH,)))
    (job,) = place_upkeep(problem)
    worth = slot_worth(problem)["U1"]
    lost = [worth[first : first + 18].sum() for first in range(slot("Mon 09:00"), slot("Mon 13:31"))]
    assert worth[job.start_slot : job.end_slot].sum() == pytest.approx(min(lost))


def test_a_slot_is_worth_one_over_the_shortest_cook_that_covers_it() -> None:
    problem = small_problem()
    worth = slot_worth(problem)["U1"]
    rows = problem.cook.cook_slots[0, :, 0]
    for at_slot in (slot("Mon 08:00"), slot("Mon 09:10"), slot("Mon 12:30"), slot("Tue 16:00")):
        each = []
        for row in rows:
            over = [n for start, n in enumerate(row.tolist()) if n != NEVER and start <= at_slot < start + n]
            each.append(1 / min(over) if over else 0.0)
        assert worth[at_slot] == pytest.approx(np.mean(each))


def test_the_week_is_laid_around_it_and_the_whole_passes_the_check() -> None:
    service = Upkeep("SERVICE", "drive service", ResourceKind.CHAMBER, "1A", 180, RIGGING, 1, at(0, 9), at(0, 14))
    paint = Upkeep("PAINT", "repaint", ResourceKind.MOLD, "M2#1", 600, "", 0, at(0, 6), at(1, 0))
    problem = with_yard(small_problem(), upkeep=(WASH, service, paint))
    told: list[Plan] = []
    outcome = solve(problem, Limits(None, work=3.0), Stop(), lambda progress: told.append(progress.plan))
    assert {job.upkeep_id for job in outcome.plan.upkeep} == {"WASH", "SERVICE", "PAINT"}
    assert len(outcome.plan.cycles) >= sum(order.quantity for order in small_orders()) // 2
    assert check(problem, outcome.plan) == ()
    assert all(check(problem, plan) == () for plan in told)
    care = next(job for job in outcome.plan.upkeep if job.upkeep_id == "SERVICE")
    in_1a = [row for row in outcome.plan.cycles if row.chamber_id == "1A"]
    assert all(row.demold_slot >= care.end_slot or row.end_slot <= care.start_slot for row in in_1a)


def test_what_nobody_can_do_is_left_out_and_the_rest_is_planned() -> None:
    nobody = replace(WASH, skill="diving")
    outcome = solve(with_yard(small_problem(), upkeep=(nobody,)), Limits(0.0), Stop(), lambda progress: None)
    assert outcome.plan.upkeep == ()
    assert outcome.plan.cycles


def test_overdue_upkeep_goes_to_the_next_hour_that_is_free() -> None:
    late = replace(WASH, from_at=at(-3, 9), due_at=at(-2, 9))
    problem = with_yard(small_problem(), upkeep=(late,))
    (job,) = place_upkeep(problem)
    assert Rule.UPKEEP not in {found.rule for found in check(problem, Plan(problem.grid, upkeep=(job,)))}


def test_kept_upkeep_stays() -> None:
    job = UpkeepJob("care.WASH", "WASH", slot("Tue 12:00"), slot("Tue 13:30"), ("P1", "P3"))
    problem = with_yard(small_problem(), upkeep=(WASH,))
    problem = replace(problem, kept=Plan(problem.grid, upkeep=(job,)))
    outcome = solve(problem, Limits(0.0), Stop(), lambda progress: None)
    assert outcome.plan.upkeep == (job,)
    assert check(problem, outcome.plan) == ()
    assert Rule.KEPT in {found.rule for found in check(problem, replace(outcome.plan, upkeep=()))}


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"end_slot": "Tue 14:25"}, Rule.UPKEEP),
        ({"start_slot": "Tue 17:45", "end_slot": "Tue 18:15", "crew": ("P2",)}, Rule.UPKEEP),
        ({"upkeep_id": "NONE"}, Rule.KNOWN),
        ({"crew": ()}, Rule.CREW_SIZE),
        ({"crew": ("P5",)}, Rule.CREW_SKILL),
        ({"crew": ("P1",)}, Rule.CREW_SHIFT),
        ({"start_slot": "Tue 18:00", "end_slot": "Tue 18:30"}, Rule.CREW_SHIFT),  # through the break
    ],
)
def test_an_upkeep_job_that_breaks_a_rule_is_refused(changes: dict[str, object], rule: Rule) -> None:
    assert rule in rules(hand_problem(), changed(hand_plan(), "K1", **changes))


def test_nothing_is_done_on_what_is_cared_for() -> None:
    early = replace(hand_problem().yard.upkeep[0], from_at=at(0, 8))
    problem = with_yard(hand_problem(), upkeep=(early,))
    plan = changed(hand_plan(), "K1", start_slot="Mon 10:40", end_slot="Mon 11:10", crew=("P3",))
    found = [violation for violation in check(problem, plan) if violation.rule is Rule.DOWNTIME]
    assert found
    assert found[0].jobs == ("C2", "K1")


def test_upkeep_is_done_once() -> None:
    plan = hand_plan()
    again = replace(plan.upkeep[0], id="K2", start_slot=slot("Tue 15:00"), end_slot=slot("Tue 15:30"))
    assert rules(hand_problem(), replace(plan, upkeep=(*plan.upkeep, again))) == {Rule.UPKEEP}


@pytest.mark.parametrize(
    "changes",
    [
        {"kind": ResourceKind.YARD},
        {"minutes": 0},
        {"crew": -1},
        {"skill": ""},
        {"due_at": at(0, 10)},
        {"from_at": at(0, 9).replace(tzinfo=None), "due_at": at(2, 15).replace(tzinfo=None)},
    ],
)
def test_upkeep_that_cannot_be_is_refused(changes: dict[str, object]) -> None:
    with pytest.raises(InvalidField, match="upkeep WASH"):
        replace(WASH, **changes)


def test_upkeep_of_something_unknown_is_refused() -> None:
    with pytest.raises(InvalidField, match="a unit, one of U1"):
        with_yard(small_problem(), upkeep=(replace(WASH, resource_id="U9"),))
