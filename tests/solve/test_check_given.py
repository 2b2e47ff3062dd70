"""Names, quantities, the plan's days, stock and down-times: ways to break them, and what they let pass."""

from dataclasses import replace
from typing import Any

import pytest

from tests.small_yard import EVERY_DAY
from tests.solve.hand_plan import (
    GRID,
    changed,
    hand_plan,
    hand_problem,
    hand_yard,
    moment,
    rules,
    with_down,
    with_mold,
    with_order,
    with_yard,
    without,
)
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.people import Duty, ResourceKind
from yardplan.domain.plan import Plan
from yardplan.domain.products import Delivery, Item, ItemKind
from yardplan.domain.rules import Rule
from yardplan.domain.slots import SlotGrid
from yardplan.solve.check import check

PLAN = hand_plan()


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


def test_inserts_are_counted_for_each_piece() -> None:
    """Two cavities with two nuts in each piece: four nuts for C3, four for C4."""
    tank, bin_ = hand_yard().products
    molds = tuple(replace(mold, cavities=2) if mold.id == "M2" else mold for mold in hand_yard().molds)
    resins = tuple(replace(item, on_hand=1000.0) for item in hand_yard().items)
    plan = changed(changed(without(PLAN, "C2", "F3"), "C3", pieces=2, clean_slots=0), "C4", pieces=2)
    for there, expected in ((8.0, set()), (7.0, {Rule.STOCK})):
        nut = Item("NUT", "Brass nut", ItemKind.INSERT, there)
        products = (tank, replace(bin_, inserts=(("NUT", 2),)))
        problem = with_yard(molds=molds, products=products, items=(*resins, nut))
        assert rules(problem, plan) == expected


def test_resin_is_counted_to_the_gram() -> None:
    """20 kg for C1 and 8 kg for C2 of sand."""
    sand, black = hand_yard().items
    for there, expected in ((28.0, set()), (27.999, {Rule.STOCK})):
        problem = with_yard(items=(replace(sand, on_hand=there), black), deliveries=())
        assert rules(problem, PLAN) == expected


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
