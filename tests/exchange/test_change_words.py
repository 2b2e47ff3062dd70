"""What a manager says of a what-if is read back as the same change; what cannot be meant is told."""

from datetime import date, datetime

import pytest

from tests.small_yard import MONDAY, TZ
from yardplan.domain.errors import InvalidField
from yardplan.domain.slots import SlotGrid
from yardplan.domain.what_if import ClearDay, OneMorePerson, OtherOrder, Overtime
from yardplan.exchange.change_words import change_of, moment_of

GRID = SlotGrid.of_days(MONDAY, 7, TZ)


@pytest.mark.parametrize(
    "text",
    [
        "copy M03", "operator late", "operator late:finishing+handling", "bench C1", "unit U2", "loader",
        "overtime 2027-05-20", "stock R-SAND=500", "energy U1=2.5", "clear 2027-05-19", "confidence 0.5",
        "order Y-12 due=2027-05-22 quantity=8 promise=none priority=3", "order Y-12 out",
    ],
)  # fmt: skip
def test_words_and_changes_are_two_ways_to_say_the_same(text):
    change = change_of(text, GRID)
    assert change.text == text
    assert change_of(change.text, GRID) == change
    assert change.words


def test_days_and_dates_are_those_of_the_plan():
    assert change_of("clear wednesday", GRID) == ClearDay(date(2027, 5, 19))
    assert change_of("overtime THU", GRID) == Overtime(date(2027, 5, 20))
    # A date means its end: midnight of the next day, at six hours behind UTC.
    order = change_of("order Y-1 due=2027-05-22 promise=2027-05-21T12:00", GRID)
    assert isinstance(order, OtherOrder)
    assert order.due_at == datetime.fromisoformat("2027-05-23T00:00-06:00")
    assert order.promise_at == datetime.fromisoformat("2027-05-21T12:00-06:00")
    assert change_of("operator late:rigging", GRID) == OneMorePerson("late", ("rigging",))


@pytest.mark.parametrize(
    "text",
    [
        "", "molds M03", "copy", "loader 2", "clear", "clear someday", "overtime 2027-13-01", "stock R-SAND",
        "stock R=x", "energy U1=", "order Y-1", "order Y-1 due=soon", "order Y-1 color=red", "order Y-1 quantity=x",
        "confidence much",
    ],
)  # fmt: skip
def test_what_cannot_be_understood_says_what_can(text):
    with pytest.raises(InvalidField, match="expected"):
        change_of(text, GRID)


def test_moments():
    assert moment_of("tue 13:00", GRID) == datetime.fromisoformat("2027-05-18T13:00-06:00")
    assert moment_of("2027-05-18 9:05", GRID) == datetime.fromisoformat("2027-05-18T09:05-06:00")
    spring = SlotGrid.of_days(date(2027, 3, 13), 3, TZ)
    with pytest.raises(InvalidField, match="the clock shows"):
        moment_of("2027-03-14 02:30", spring)
    for text in ("noon", "tue", "tue 25:00", ""):
        with pytest.raises(InvalidField, match="a day and a time"):
            moment_of(text, GRID)
