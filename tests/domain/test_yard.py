from dataclasses import replace
from datetime import date, time

import pytest

from tests.small_yard import MONDAY, at, small_mold, small_orders, small_problem, small_unit, small_yard
from yardplan.domain.equipment import Hung, Load, MoldCopy
from yardplan.domain.errors import ExpectedError, InvalidField, NotThere
from yardplan.domain.orders import check_orders
from yardplan.domain.people import Downtime, Duty, Operator, ResourceKind, Shift, shift_span
from yardplan.domain.products import CleanDown, Item, ItemKind


def test_a_field_out_of_range_is_named_with_what_was_expected():
    with pytest.raises(InvalidField, match=r"mold M9: cavities is 0; expected a number from 1 to 100"):
        replace(small_mold("M9"), cavities=0)
    with pytest.raises(InvalidField, match="reserve_kwh is 99; expected at most battery_kwh, which is 20"):
        replace(small_unit(), reserve_kwh=99)
    with pytest.raises(InvalidField, match="shot_kg is nan"):
        replace(small_yard().products[0], shot_kg=float("nan"))


def test_a_mold_that_fits_no_chamber_is_refused():
    yard = small_yard()
    with pytest.raises(InvalidField, match=r"mold M7: .* expected a mold that fits at least one chamber"):
        replace(yard, molds=(*yard.molds, small_mold("M7", swing_m=5.0)))


def test_the_charge_counts_when_a_mold_is_fitted():
    yard = small_yard()
    chamber = replace(yard.chambers[0], max_load_kg=170.0)
    assert yard.fits(yard.mold("M1"), chamber)
    assert not yard.fits(yard.mold("M1"), chamber, yard.product("TANK"))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"units": ()}, "at least one unit"),
        ({"molds": (small_mold("M1"), small_mold("M1"))}, "an id that no other one has"),
        ({"hung": (Hung("9Z", MoldCopy("M1", 1)),)}, "one of 1A, 1B"),
        ({"hung": (Hung("1A", MoldCopy("M1", 2)),)}, "one of M1#1, M2#1, M2#2"),
        ({"hung": (Hung("1A", MoldCopy("M1", 1)), Hung("1B", MoldCopy("M1", 1)))}, "each copy once"),
        ({"downtimes": (Downtime(ResourceKind.BENCH, "W9", at(0, 8), at(0, 9), "paint"),)}, "a bench, one of W1, W2"),
        ({"loads": (Load("fans", "U9", time(8), time(9), 0.3),)}, r"one of U1, or \* for each"),
        ({"operators": (Operator("P1", "One", frozenset(), (Duty("night", frozenset({0})),)),)}, "one of early, late"),
    ],
)
def test_a_reference_to_nothing_is_told(change, words):
    with pytest.raises(InvalidField, match=words):
        replace(small_yard(), **change)


@pytest.mark.parametrize(
    ("duties", "clash"),
    [
        ((Duty("early", frozenset({0})), Duty("late", frozenset({0}))), False),
        ((Duty("early", frozenset({0})), Duty("mid", frozenset({0}))), True),
        ((Duty("early", frozenset({0})), Duty("mid", frozenset({1}))), False),
        ((Duty("night", frozenset({6})), Duty("early", frozenset({0}))), True),  # Sunday night runs into Monday
        (
            (
                Duty("early", frozenset({0}), last_on=date(2027, 5, 1)),
                Duty("mid", frozenset({0}), first_on=date(2027, 5, 2)),
            ),
            False,
        ),
        (
            (Duty("early", frozenset({0}), last_on=date(2027, 5, 3)), Duty("mid", frozenset({0}), date(2027, 5, 3))),
            True,
        ),
    ],
)
def test_an_operator_is_never_in_two_places_by_the_calendar(duties, clash):
    shifts = (
        Shift("early", time(6), time(14)),
        Shift("mid", time(10), time(18)),
        Shift("late", time(14), time(22)),
        Shift("night", time(22), time(7)),
    )
    one = Operator("P1", "Person 1", frozenset({"handling"}), duties)
    if clash:
        with pytest.raises(InvalidField, match="Person 1 is on both shifts at once"):
            replace(small_yard(), shifts=shifts, operators=(one,))
    else:
        assert replace(small_yard(), shifts=shifts, operators=(one,)).operators == (one,)


def test_a_shift_past_midnight_ends_on_the_next_day():
    start, end = shift_span(Shift("night", time(22), time(6)), MONDAY)
    assert (end - start).total_seconds() == 8 * 3600


def test_the_most_exact_clean_down_rule_wins():
    yard = replace(
        small_yard(),
        clean_downs=(CleanDown("*", "*", 40), CleanDown("black", "*", 60), CleanDown("sand", "black", 15)),
    )
    assert yard.clean_down_min(("PE", "sand"), ("PE", "sand")) == 0
    assert yard.clean_down_min(("", ""), ("PE", "sand")) == 0
    assert yard.clean_down_min(("PE", "sand"), ("PE", "black")) == 15
    assert yard.clean_down_min(("PE", "black"), ("PE", "sand")) == 60
    assert yard.clean_down_min(("PE", "green"), ("PE", "sand")) == 40
    assert yard.clean_down_min(("PE", "sand"), ("PP", "sand")) == 40


def test_a_resin_needs_grade_and_color():
    with pytest.raises(InvalidField, match="both, for a resin"):
        Item("R", "Resin", ItemKind.RESIN, 1.0, "LLDPE", "")


def test_what_is_not_there_lists_what_is():
    with pytest.raises(NotThere, match="known are BIN, TANK"):
        small_yard().product("BOAT")
    with pytest.raises(NotThere, match="known are 1A, 1B"):
        small_yard().unit_of("7C")


@pytest.mark.parametrize("quantity", [0, -3, 2.5, True, 10_000_000])
def test_a_quantity_is_a_whole_number_of_pieces(quantity):
    with pytest.raises(InvalidField, match="a whole number of pieces from 1 to 100,000"):
        replace(small_orders()[0], quantity=quantity)


def test_orders_are_for_what_the_yard_makes():
    yard, (one, *_) = small_yard(), small_orders()
    check_orders(small_orders(), yard)
    for order, words in (
        (replace(one, product_id="BOAT"), "product is 'BOAT'; expected one of BIN, TANK"),
        (replace(one, color="pink"), "a color in which resin .* is kept: black, sand"),
    ):
        with pytest.raises(InvalidField, match=words):
            check_orders((order,), yard)
    with pytest.raises(InvalidField, match="a number that no other order has"):
        check_orders((one, one), yard)
    with pytest.raises(ExpectedError, match="a time with its offset"):
        replace(one, due_at=one.due_at.replace(tzinfo=None))


def test_a_problem_refuses_tables_of_another_grid():
    problem, other = small_problem(), small_problem(days=2)
    with pytest.raises(InvalidField, match="the grid of the problem"):
        replace(problem, cook=other.cook)
    with pytest.raises(InvalidField, match=r"one of \(0.8,\)"):
        replace(problem, confidence=0.9)
