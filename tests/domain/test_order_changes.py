from dataclasses import replace

import pytest

from tests.small_yard import at, small_orders, small_yard
from yardplan.domain.order_changes import Double, OrderChange, changes_of, doubles, doubt

ONE, TWO, _ = small_orders()
KNOWN = {order.id: order for order in small_orders()}
TEN = replace(ONE, quantity=10)
TWELVE = replace(ONE, quantity=12)
FRESH = replace(ONE, id="Z-1")


def made(choice):
    return [
        (change.before, change.after)
        for change in changes_of(KNOWN, [FRESH, TEN, TWELVE], {} if choice is None else {"Y-1": choice})
    ]


def test_numbers_that_are_there_already_or_twice_in_the_file_are_found():
    assert doubles(KNOWN, [FRESH, TEN, TWELVE]) == {"Y-1": [TEN, TWELVE]}
    assert doubles({}, [FRESH, TEN, TWELVE]) == {"Y-1": [TEN, TWELVE]}
    assert doubles({}, [FRESH, TEN]) == {}


def test_by_default_what_is_there_stays_and_nothing_is_merged():
    assert made(None) == made(Double.KEEP) == [(None, FRESH)]


def test_the_last_one_in_the_file_takes_the_place():
    assert made(Double.REPLACE) == [(None, FRESH), (ONE, TWELVE)]
    assert changes_of(KNOWN, [replace(ONE, row_version=0)], {"Y-1": Double.REPLACE}) == (), "it says the same"


def test_others_come_in_under_new_numbers_that_nobody_has():
    (_, first), (_, second), (_, third) = made(Double.RENAME)
    assert (first, second, third) == (FRESH, replace(TEN, id="Y-1-2"), replace(TWELVE, id="Y-1-3"))
    taken = {**KNOWN, "Y-1-2": replace(TWO, id="Y-1-2")}
    (change,) = changes_of(taken, [TEN], {"Y-1": Double.RENAME})
    assert change.after.id == "Y-1-3"


@pytest.mark.parametrize(("choice", "ids"), [(Double.KEEP, [10]), (Double.REPLACE, [12]), (Double.RENAME, [10, 12])])
def test_twice_in_the_file_and_not_in_the_book(choice, ids):
    changes = changes_of({}, [TEN, TWELVE], {"Y-1": choice})
    assert [change.after.quantity for change in changes] == ids
    assert len({change.after.id for change in changes}) == len(changes)


def test_a_change_and_the_one_that_takes_it_back_tell_what_they_do():
    change = OrderChange(ONE, replace(ONE, quantity=7, due_at=at(3, 24)))
    assert change.words.startswith("order Y-1: quantity 4 -> 7, due_at ")
    assert change.taken_back.words.startswith("order Y-1: quantity 7 -> 4")
    assert OrderChange(None, ONE).words == "order Y-1 added"
    assert OrderChange(None, ONE).taken_back.words == "order Y-1 taken out"


def test_a_quantity_that_would_fill_the_yard_for_a_month_is_doubted_with_its_cycles():
    yard = small_yard()
    # two chambers, one cavity: 8 cycles a day for 30 days are 480
    assert doubt(replace(ONE, quantity=480), yard) == ""
    assert "481 Tank are 481 cycles" in doubt(replace(ONE, quantity=481), yard)
    assert "2 chambers" in doubt(replace(ONE, quantity=100_000), yard)
