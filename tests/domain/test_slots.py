from datetime import UTC, date, datetime

import pytest

from yardplan.domain.errors import InvalidField
from yardplan.domain.slots import SlotGrid


@pytest.mark.parametrize(("on", "slots"), [(date(2027, 3, 14), 276), (date(2027, 7, 4), 288), (date(2027, 11, 7), 300)])
def test_a_day_has_fewer_or_more_slots_where_the_clocks_change(on, slots):
    # Clock changes of America/Denver 2027: IANA time-zone database (tzdata package).
    assert SlotGrid.of_days(on, 1, "America/Denver").n_slots == slots


def test_slot_and_instant_are_inverse_and_round_the_right_way():
    grid = SlotGrid.of_days(date(2027, 5, 17), 2, "America/Denver")
    for slot in (-7, 0, 5, 575):
        assert grid.slot(grid.at(slot)) == slot == grid.slot_up(grid.at(slot))
    between = datetime(2027, 5, 17, 12, 3, tzinfo=UTC)
    assert grid.slot_up(between) == grid.slot(between) + 1
    assert grid.slots_up(10) == 2
    assert grid.slots_up(10.1) == 3


def test_the_days_of_a_grid_touch_and_cover_it():
    grid = SlotGrid.of_days(date(2027, 11, 5), 4, "America/Denver")
    firsts = [first for _, first, _ in grid.days]
    afters = [after for _, _, after in grid.days]
    assert firsts[0] == 0
    assert afters[-1] == grid.n_slots
    assert firsts[1:] == afters[:-1]
    assert [on.day for on, _, _ in grid.days] == [5, 6, 7, 8]


def test_an_unknown_time_zone_is_named():
    with pytest.raises(InvalidField, match="Mars/Olympus"):
        SlotGrid.of_days(date(2027, 5, 17), 1, "Mars/Olympus")
