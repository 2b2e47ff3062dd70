"""Whatever a plan holds: it is judged without an error, by counting, and in whatever order its rows come."""

import ast
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

import yardplan.solve.check as checker
from tests.solve.hand_plan import changed, hand_plan, hand_problem
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Rule, Violation
from yardplan.solve.check import RULES, check

PROBLEM = hand_problem()
GRID = PROBLEM.grid

whole = st.integers() | st.integers(-400, GRID.n_slots + 400)
names = st.sampled_from(["C1", "C2", "F1", "X1", "Y-1", "Y-2", "TANK", "BIN", "1A", "1B", "W1", "T1", "P1", "P2", ""])
crews = st.lists(st.sampled_from(["P1", "P2", "P5", "nobody"]), max_size=3).map(tuple)
molds = st.builds(MoldCopy, st.sampled_from(["M1", "M2", "M9"]), st.integers(-1, 3))
cycles = st.builds(
    Cycle, names, st.sampled_from(["Y-1", "Y-2", "Y-9"]), st.sampled_from(["TANK", "BIN", "BOAT"]),
    st.sampled_from(["sand", "black", "pink"]), molds, st.sampled_from(["1A", "1B", "9Z"]), whole,
    whole, whole, whole, whole, whole, whole, whole, crews, crews, st.booleans(),
)  # fmt: skip
changes = st.builds(
    MoldChange, names, st.sampled_from(["1A", "1B", "9Z"]), st.none() | molds, molds, whole, whole, crews, st.booleans()
)
jobs = st.builds(
    FinishJob, names, names, whole, st.sampled_from(["W1", "W2", "T1", "W9"]), st.sampled_from(["P1", "P2", "nobody"]),
    whole, whole, st.floats(), st.booleans(),
)  # fmt: skip


def rows(row: st.SearchStrategy[Any]) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.lists(row, max_size=5, unique_by=lambda one: one.id).map(tuple)


plans = st.builds(Plan, st.just(GRID), rows(cycles), rows(changes), rows(jobs))


@settings(max_examples=300, deadline=None)
@given(plan=plans, kept=plans)
def test_no_plan_makes_the_checker_raise(plan: Plan, kept: Plan) -> None:
    known = replace(kept, cycles=tuple(cycle for cycle in kept.cycles if cycle.order_id != "Y-9"))
    for problem in (PROBLEM, replace(PROBLEM, kept=known)):
        for violation in check(problem, plan):
            assert isinstance(violation, Violation)
            assert violation.text
    check(replace(PROBLEM, kept=known), known)


@settings(max_examples=200, deadline=None)
@given(data=st.data())
def test_any_slots_in_a_valid_plan_are_judged_without_an_error(data: st.DataObject) -> None:
    plan = hand_plan()
    for row in (*plan.cycles, *plan.mold_changes, *plan.finishing):
        slots = {name: data.draw(whole) for name in vars(row) if name.endswith(("_slot", "_slots"))}
        plan = changed(plan, row.id, **slots)
    for violation in check(PROBLEM, plan):
        assert violation.jobs


def shifted(plan: Plan, move: Callable[[], int]) -> Plan:
    """The plan with every row moved as a whole by its own number of slots."""
    for row in (*plan.cycles, *plan.mold_changes, *plan.finishing):
        by = move()
        slots = {name: slot + by for name, slot in vars(row).items() if name.endswith("_slot")}
        plan = changed(plan, row.id, **slots)
    return plan


def is_twice(spans: Iterable[tuple[object, int, int]], most: Callable[[Any], int] = lambda key: 1) -> bool:
    """Count slot by slot how often each key is used."""
    used = Counter((key, slot) for key, start, end in spans for slot in range(start, end))
    return any(count > most(key) for (key, _), count in used.items())


@settings(max_examples=200, deadline=None)
@given(data=st.data())
def test_overlaps_and_sums_agree_with_counting_slot_by_slot(data: st.DataObject) -> None:
    problem = replace(PROBLEM, now=GRID.start_at)
    plan = shifted(hand_plan(), lambda: data.draw(st.integers(-80, 80)))
    yard = problem.yard
    products = {product.id: product for product in yard.products}
    handling_slots = {product.id: GRID.slots_up(product.charge_min) for product in yard.products}
    people = {row.id: row.jobs_at_once for row in yard.operators}
    product_of = {cycle.id: products[cycle.product_id] for cycle in plan.cycles}
    expected = {
        Rule.FIELD: is_twice(("U1", row.heat_slot, row.heat_end_slot) for row in plan.cycles),
        Rule.CHAMBER: is_twice(
            [(row.chamber_id, row.charge_slot, row.end_slot) for row in plan.cycles]
            + [(row.chamber_id, row.start_slot, row.end_slot) for row in plan.mold_changes]
        ),
        Rule.BENCH: is_twice((row.bench_id, row.start_slot, row.end_slot) for row in plan.finishing),
        Rule.CREW_LIMIT: is_twice(
            [
                (who, row.charge_slot, row.charge_slot + row.clean_slots + handling_slots[row.product_id])
                for row in plan.cycles
                for who in row.charge_crew
            ]
            + [(who, row.demold_slot, row.end_slot) for row in plan.cycles for who in row.demold_crew]
            + [(who, row.start_slot, row.end_slot) for row in plan.mold_changes for who in row.crew]
            + [(row.operator_id, row.start_slot, row.end_slot) for row in plan.finishing],
            people.__getitem__,
        ),
    }
    drawn_kw = np.zeros(GRID.n_slots)
    for job in plan.finishing:
        for slot in range(job.start_slot, job.end_slot):
            drawn_kw[slot] += product_of[job.cycle_id].routing[job.step_ix].power_kw
    expected[Rule.BENCH_POWER] = bool(np.any(drawn_kw > problem.power.finish_kw[0]))
    expected[Rule.BENCH_ENERGY] = any(
        drawn_kw[first:after].sum() / 12 > 0.5 + 1e-9 for first, after in problem.power.spans
    )
    found = {violation.rule for violation in check(problem, plan)}
    assert {rule: rule in found for rule in expected} == expected


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_the_order_of_rows_does_not_matter(data: st.DataObject) -> None:
    plan = shifted(hand_plan(), lambda: data.draw(st.integers(-30, 30)))

    def mixed(values: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(data.draw(st.permutations(values)))

    yard = PROBLEM.yard
    parts = ("molds", "products", "items", "benches", "shifts", "operators", "deliveries", "downtimes", "hung")
    other_yard = replace(yard, **{name: mixed(getattr(yard, name)) for name in parts})
    problem: Problem = replace(PROBLEM, yard=other_yard, orders=mixed(PROBLEM.orders))
    other = Plan(GRID, mixed(plan.cycles), mixed(plan.mold_changes), mixed(plan.finishing))
    assert check(problem, other) == check(PROBLEM, plan)


def test_every_rule_has_its_function() -> None:
    assert list(RULES) == list(Rule)
    assert len(set(RULES.values())) == len(Rule)


def test_the_checker_is_made_of_the_domain_alone() -> None:
    folder = Path(checker.__file__).parent
    files = sorted(folder.glob("check*.py"))
    assert len(files) > 1
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert node.level == 0
                modules = [f"{node.module}.{alias.name}" for alias in node.names]
            elif isinstance(node, ast.Import):
                modules = [alias.name for alias in node.names]
            else:
                continue
            for module in modules:
                assert not module.startswith("ortools")
                assert not module.startswith("yardplan") or module.startswith(
                    ("yardplan.domain.", "yardplan.solve.check")
                ), f"{file.name} imports {module}"
