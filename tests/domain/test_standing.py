"""The yard as the log leaves it: what came early does not come again."""

from dataclasses import replace

from tests.day_streams import day_yard
from tests.small_yard import MONDAY, TZ, at
from yardplan.domain.events import Event, EventKind
from yardplan.domain.history import state_of
from yardplan.domain.products import Delivery
from yardplan.domain.slots import SlotGrid
from yardplan.domain.standing import standing_yard

YARD = replace(
    day_yard(),
    deliveries=(
        Delivery("R-SAND", at(0, 7), 100.0),
        Delivery("R-SAND", at(2, 7), 500.0),
        Delivery("R-SAND", at(9, 7), 600.0),
        Delivery("R-BLACK", at(2, 7), 300.0),
    ),
)


def to_come(*came: tuple[int, int, float]) -> list[tuple[str, float]]:
    events = tuple(
        Event(EventKind.RESIN, at(day, hour), at(day, hour), "Kim", subject="R-SAND", amount=kg, number=ix)
        for ix, (day, hour, kg) in enumerate(came, 1)
    )
    state = state_of(YARD, None, events, at(1, 12))
    yard = standing_yard(YARD, state, SlotGrid.of_days(MONDAY, 2, TZ))
    return [(row.item_id, row.amount) for row in yard.deliveries]


def test_what_nobody_logged_is_still_to_come_if_it_is_not_overdue():
    assert sorted(to_come()) == [("R-BLACK", 300.0), ("R-SAND", 500.0), ("R-SAND", 600.0)]


def test_what_came_is_the_first_that_was_expected():
    assert ("R-SAND", 500.0) in to_come((0, 8, 100.0))
    assert sorted(to_come((0, 8, 100.0), (1, 10, 500.0))) == [("R-BLACK", 300.0), ("R-SAND", 600.0)]


def test_the_rest_of_a_small_delivery_is_still_to_come():
    assert sorted(to_come((1, 10, 350.0))) == [("R-BLACK", 300.0), ("R-SAND", 250.0), ("R-SAND", 600.0)]


def test_what_is_expected_long_after_is_not_what_came():
    assert ("R-SAND", 600.0) in to_come((1, 10, 5000.0))
