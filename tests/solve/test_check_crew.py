"""Rules of the crew, its hours apart: ways to break them, and what they let pass."""

from dataclasses import replace
from typing import Any

import pytest

from tests.solve.hand_plan import (
    changed,
    hand_plan,
    hand_problem,
    hand_yard,
    rules,
    with_person,
    with_product,
    with_yard,
)
from yardplan.domain.people import HANDLING, LOADER, RIGGING
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Rule
from yardplan.solve.check import check

PLAN = hand_plan()


def only(skills: set[str], **people: set[str]) -> Problem:
    """Everyone has `skills`, but for those named."""
    everyone = hand_yard().operators
    return with_yard(
        operators=tuple(replace(row, skills=frozenset(people.get(row.id, skills | row.skills))) for row in everyone)
    )


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


def test_work_that_takes_no_time_takes_no_ones_time() -> None:
    """Nobody is busy with a charging of 0 min, whatever their shift and their other work."""
    problem = with_product("TANK", charge_min=0)
    assert check(problem, changed(PLAN, "C1", charge_crew=("P2",))) == ()
    busy = changed(PLAN, "C1", charge_slot="Mon 09:15", charge_crew=("P3",))
    assert check(problem, changed(busy, "C2", charge_slot="Mon 09:15")) == ()
