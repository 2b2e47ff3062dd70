from dataclasses import replace

import numpy as np
import pytest

from tests.small_yard import MONDAY, TZ, hand_made_power, small_yard
from yardplan.domain.errors import InvalidField
from yardplan.domain.slots import SlotGrid

GRID = SlotGrid.of_days(MONDAY, 2, TZ)
NOON, NIGHT = (144, 400), (240, 400)  # from 12:00 and from 20:00 to 09:20 of the next day


def power_with(*spans, kwh):
    return replace(hand_made_power(small_yard(), GRID), spans=spans, span_kwh=np.array([kwh]))


def test_an_evening_gets_the_least_of_the_spans_that_it_lies_in():
    # evenings: before 06:00, from 20:00, from 20:00 of the second day; the last one has no span
    assert power_with((0, 72), NOON, NIGHT, kwh=(1.0, 9.0, 7.0)).evening_kwh.tolist() == [[1.0, 7.0, np.inf]]
    assert power_with((0, 72), NOON, NIGHT, kwh=(1.0, 6.0, 7.0)).evening_kwh.tolist() == [[1.0, 6.0, np.inf]]


def test_work_by_day_takes_of_the_evening_what_no_sun_brings_back():
    power, drawn_kwh = power_with(NOON, NIGHT, kwh=(9.0, 7.0)), np.zeros(GRID.n_slots)
    drawn_kwh[150] = 1.5
    assert power.evening_left_kwh(0, drawn_kwh)[1] == pytest.approx(7.0)
    drawn_kwh[160] = 1.5
    assert power.evening_left_kwh(0, drawn_kwh)[1] == pytest.approx(6.0)
    drawn_kwh[250] = 2.0
    assert power.evening_left_kwh(0, drawn_kwh)[1] == pytest.approx(4.0)
    drawn_kwh[399] = 5.0
    assert power.evening_left_kwh(0, drawn_kwh)[1] == pytest.approx(-1.0)


@pytest.mark.parametrize("span", [(-1, 5), (5, 5), (6, 5), (570, 577)])
def test_spans_lie_in_the_grid(span):
    with pytest.raises(InvalidField, match="slots of the grid"):
        power_with(span, kwh=(1.0,))
