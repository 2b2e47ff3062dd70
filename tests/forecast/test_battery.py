from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.small_yard import small_unit, small_yard, with_units
from yardplan.forecast.battery import battery_gain_kwh, battery_path_kwh, suggested_reserve_kwh


def unit_with(**changes):
    return with_units(small_yard(), **changes).units[0]


def test_usable_energy_of_a_battery():
    """Arithmetic: 5.12 kWh, 90 % of it used, 0.95 on the way out are 4.3776 kWh at the loads."""
    unit = unit_with(battery_kwh=5.12, reserve_kwh=0.512, round_trip_frac=0.95**2, inverter_kw=5.0)
    drawn = battery_gain_kwh(unit, np.array([-4.3776]), 1.0)
    assert battery_path_kwh(unit, np.array(5.12), drawn)[-1] == pytest.approx(unit.reserve_kwh)


def test_losses_each_way():
    """Arithmetic: a load of 3.0 kWh through 0.93 of battery and 0.96 of inverter draws 3.3602 kWh."""
    unit = unit_with(round_trip_frac=(0.93 * 0.96) ** 2)
    assert battery_gain_kwh(unit, np.array([-3.0, 3.0]), 1.0) == pytest.approx([-3.3602, 3 * 0.8928], abs=1e-4)
    assert battery_gain_kwh(unit, np.array([-50.0, 50.0]), 1.0) == pytest.approx([-5 / 0.8928, 5 * 0.8928])  # 5 kW
    there_and_back = battery_gain_kwh(unit, np.array([2.0, -2.0 * 0.8928**2]), 1.0)
    assert there_and_back.sum() == pytest.approx(0.0)


@given(
    net_kw=st.lists(st.floats(-6, 6), min_size=1, max_size=40), start=st.floats(0, 1), round_trip=st.floats(0.5, 1.0)
)
def test_no_energy_comes_from_nowhere(net_kw, start, round_trip):
    """What is stored, lost on the way, spilled and not served adds up to what came and went."""
    unit = unit_with(round_trip_frac=round_trip)
    path = battery_path_kwh(unit, np.array(20.0 * start), battery_gain_kwh(unit, np.array(net_kw), 0.25))
    assert path[0] == pytest.approx(20.0 * start)
    for before, after, net in zip(path[:-1], path[1:], net_kw, strict=True):
        through_kwh = min(abs(net), unit.inverter_kw) * 0.25  # at the loads' side
        if net >= 0:
            taken = (after - before) / sqrt(round_trip)
            spilled = through_kwh - taken
            assert spilled == pytest.approx(0) if after < 20.0 - 1e-9 else spilled >= -1e-9
        else:
            given_ = (before - after) * sqrt(round_trip)
            missing = through_kwh - given_
            assert missing == pytest.approx(0) if after > 1e-9 else missing >= -1e-9
        assert 0 <= after <= 20.0


def test_a_suggested_reserve_turns_a_mold_stows_the_field_and_wakes_up():
    """12 mirrors there and back at 3 Wh, two chambers of 0.4 kW for 2 h, 0.8 kW for 2 h; 0.96 out of the battery."""
    unit = small_unit(n_mirrors=12)
    assert suggested_reserve_kwh(unit) == pytest.approx((0.072 + 1.6 + 1.6) / sqrt(0.92))
    assert suggested_reserve_kwh(unit, turn_h=4) - suggested_reserve_kwh(unit) == pytest.approx(1.6 / sqrt(0.92))
    assert suggested_reserve_kwh(unit) < unit.reserve_kwh
