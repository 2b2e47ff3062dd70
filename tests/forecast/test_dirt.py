from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from tests.small_yard import MONDAY, TZ, small_unit
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.dirt import RAIN_CLEANS_MM, clean_slots


def by_day(unit, days, rain_mm=None):
    grid = SlotGrid.of_days(MONDAY, days, TZ)
    clean = clean_slots(unit, grid, rain_mm)
    for _, first, after in grid.days:
        assert (clean[:, first:after] == clean[:, [first]]).all()
    return clean[:, [first for _, first, _ in grid.days]]


@pytest.mark.parametrize(("rate", "days", "left"), [(0.005, 7, 0.96552), (0.003, 14, 0.95881)])
def test_dirt_compounds_by_the_day(rate, days, left):
    unit = replace(small_unit(), soiling_per_day_frac=rate, washed_on=MONDAY)
    assert by_day(unit, days + 1)[0, -1] == pytest.approx(left, abs=1e-5)  # arithmetic


def test_dirt_steps_at_local_midnight_and_a_wash_comes_before_the_sun():
    unit = replace(small_unit(), washed_on=MONDAY + timedelta(days=1), soiling_per_day_frac=0.01)
    assert by_day(unit, 4)[0] == pytest.approx([1, 1, 0.99, 0.99**2])


def test_enough_rain_cleans_from_the_next_day_in_its_own_scenario():
    unit = replace(small_unit(), washed_on=MONDAY - timedelta(days=10), soiling_per_day_frac=0.01)
    rain_mm = np.zeros((3, 4 * 288), np.float32)
    rain_mm[1, 288 + 100 : 288 + 160] = RAIN_CLEANS_MM / 60 * 1.001
    rain_mm[2, 288 + 100 : 288 + 160] = RAIN_CLEANS_MM / 60 * 0.99
    dry = [0.99**10, 0.99**11, 0.99**12, 0.99**13]
    assert by_day(unit, 4, rain_mm) == pytest.approx(np.array([dry, [*dry[:2], 1, 0.99], dry]))
