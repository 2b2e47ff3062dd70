"""Rules of finishing: ways to break them, and what they let pass."""

from dataclasses import replace
from math import nan
from typing import Any

import numpy as np
import pytest

from tests.small_yard import hand_made_cook, small_unit
from tests.solve.hand_plan import (
    GRID,
    changed,
    hand_job,
    hand_plan,
    hand_power,
    hand_problem,
    hand_yard,
    rules,
    slot,
    with_yard,
    without,
)
from yardplan.domain.rules import Rule
from yardplan.solve.check import check

PLAN = hand_plan()


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
    less = replace(problem.power, span_kwh=problem.power.span_kwh - np.float32(0.01))
    violations = check(replace(problem, power=less), PLAN)
    assert [violation.rule for violation in violations] == [Rule.BENCH_ENERGY]
    assert {"F1", "F3"} <= set(violations[0].jobs)
    assert "0.50 kWh" in violations[0].text
    first = replace(less, spans=less.spans[1:], span_kwh=less.span_kwh[:, 1:])
    assert rules(replace(problem, power=first), PLAN) == {Rule.BENCH_ENERGY}
    day = replace(problem.power, span_kwh=problem.power.span_kwh * 0)
    assert check(replace(problem, power=day), without(PLAN, "F1", "F2", "F3")) == ()


def test_energy_is_judged_in_each_span_and_the_shortest_broken_one_is_told() -> None:
    """F4 draws 1/3 kWh from 16:30 to 16:50, F1 and F3 2/3 kWh in the evening, 1 kWh in all."""
    problem = hand_problem()

    def told(*spans: tuple[str, str, float]) -> list[tuple[str, ...]]:
        power = replace(
            problem.power,
            spans=tuple((slot(first), slot(after)) for first, after, _ in spans),
            span_kwh=np.array([[kwh for _, _, kwh in spans]]),
        )
        found = check(replace(problem, power=power), PLAN)
        assert {violation.rule for violation in found} <= {Rule.BENCH_ENERGY}
        return [violation.jobs for violation in found]

    afternoon, evening, day = ("Mon 16:00", "Mon 17:00"), ("Mon 19:00", "Tue 06:00"), ("Mon 09:00", "Tue 09:00")
    assert told((*afternoon, 0.34), (*evening, 0.67), (*day, 1.0)) == []
    assert told((*afternoon, 0.33), (*evening, 0.67), (*day, 1.0)) == [("F4",)]
    assert told((*afternoon, 0.34), (*evening, 0.66), (*day, 1.0)) == [("F1", "F3")]
    assert told((*afternoon, 0.34), (*evening, 0.67), (*day, 0.99)) == [("F4", "F1", "F3")]
    assert told((*afternoon, 0.33), (*evening, 0.66), (*day, 0.99)) == [("F1", "F3"), ("F4",)]
    assert told((*evening, 0.66), ("Mon 09:00", "Tue 06:00", 0.99)) == [("F1", "F3")]
    assert told((*afternoon, 0.33), ("Mon 16:00", "Tue 06:00", 0.99)) == [("F4",)]
    assert told(("Mon 16:00", "Mon 20:00", 0.49)) == [("F4", "F1")]  # F3 starts at 20:00
    assert told(("Mon 20:10", "Mon 20:20", 0.16)) == [("F3",)]  # F1 ends at 20:10
    assert told(("Mon 16:35", "Mon 16:40", 0.08), (*day, 1.0)) == [("F4",)]
    assert told(("Mon 16:35", "Mon 16:40", 0.084), (*day, 1.0)) == []


def test_benches_fed_by_another_unit_draw_on_its_battery() -> None:
    """Half of the evening's work at a bench of the second unit leaves room in the first."""
    benches = tuple(replace(bench, unit_id="U2") if bench.id == "W2" else bench for bench in hand_yard().benches)
    yard = replace(hand_yard(), units=(small_unit(1), small_unit(2)), benches=benches)
    problem = replace(hand_problem(), yard=yard, cook=hand_made_cook(yard, GRID), power=hand_power(yard))
    later = changed(PLAN, "F1", start_slot="Mon 19:55", end_slot="Mon 20:15")
    assert check(problem, later) == ()
    weak = replace(problem.power, finish_kw=problem.power.finish_kw * np.float32([[1.0], [0.25]]))
    violations = check(replace(problem, power=weak), later)
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.BENCH_POWER, ("F3",))]


def test_power_is_judged_slot_by_slot() -> None:
    problem = hand_problem()
    finish_kw = problem.power.finish_kw.copy()
    finish_kw[:, slot("Mon 20:05")] = 1.9  # F1 and F3 draw 2 kW
    violations = check(replace(problem, power=replace(problem.power, finish_kw=finish_kw)), PLAN)
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.BENCH_POWER, ("F1", "F3"))]
    assert "20:05" in violations[0].text


def test_a_job_that_ends_when_power_runs_short_is_not_to_blame() -> None:
    """F1 ends at 20:10, F3 goes on."""
    problem = hand_problem()
    finish_kw = problem.power.finish_kw.copy()
    finish_kw[:, slot("Mon 20:10")] = 0.9
    violations = check(replace(problem, power=replace(problem.power, finish_kw=finish_kw)), PLAN)
    assert [(violation.rule, violation.jobs) for violation in violations] == [(Rule.BENCH_POWER, ("F3",))]


def test_power_is_judged_from_the_first_slot_on() -> None:
    problem = hand_problem()
    finish_kw = problem.power.finish_kw.copy()
    finish_kw[:, 0] = 0.9
    problem = replace(problem, now=GRID.start_at, power=replace(problem.power, finish_kw=finish_kw))
    found = check(problem, changed(PLAN, "F3", start_slot=-3, end_slot=1))
    assert [violation.jobs for violation in found if violation.rule is Rule.BENCH_POWER] == [("F3",)]
