from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from tests.forecast.made_years import made_year, typical
from tests.small_yard import MONDAY, TZ, small_yard, with_units
from yardplan.domain.equipment import Bench
from yardplan.domain.log import ChargeReading
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.battery import low_reserves, suggested_reserve_kwh
from yardplan.forecast.electricity import power_table
from yardplan.forecast.heat import heat_table
from yardplan.forecast.power_days import bay_days, power_days
from yardplan.forecast.pv import unit_pv_kw
from yardplan.forecast.sky import slot_middles, sun_position

GRID = SlotGrid.of_days(MONDAY, 3, TZ)


@pytest.fixture(scope="module")
def yard():
    benches = (
        Bench("C1", "", "cut", "U1"), Bench("F1", "", "fit", "U2"),
        Bench("C2", "", "cut", "U3"), Bench("C3", "", "cut", "U3"),
    )  # fmt: skip
    small = small_yard(3)
    units = tuple(replace(unit, battery_kwh=15.0 + 5 * ix) for ix, unit in enumerate(small.units, 1))
    return replace(small, units=units, benches=benches, products=tuple(replace(p, routing=()) for p in small.products))


@pytest.fixture(scope="module")
def heat(yard):
    return heat_table(yard, typical(made_year(lambda day, solar_h: np.array([0.9, 0.6, 0.8])[day % 3])), GRID)


@pytest.fixture(scope="module")
def power(yard, heat):
    return power_table(yard, heat, confidence=0.8)


def test_days_of_units(yard, heat, power):
    rows = power_days(yard, heat, power)
    assert [(row.on, row.unit_id) for row in rows][:4] == [
        (MONDAY, "U1"), (MONDAY, "U2"), (MONDAY, "U3"), (MONDAY + timedelta(days=1), "U1"),
    ]  # fmt: skip
    sun = sun_position(slot_middles(GRID), yard.site.latitude_deg, yard.site.longitude_deg, yard.site.altitude_m)
    tuesday_kwh = unit_pv_kw(yard, heat, sun)[288:576, :, 1].sum(axis=0) / 12
    tuesday = rows[4]
    assert tuesday.pv_kwh == pytest.approx(np.quantile(tuesday_kwh, (0.1, 0.5, 0.9)), rel=1e-4)
    # the first evening of the grid is what is left of Sunday's, so Tuesday's is the third
    assert tuesday.evening_kwh == power.evening_kwh[1, 2]
    assert tuesday.evening_kw == pytest.approx(5.0 - 0.4)
    sunset_slot = int(np.argmax(power.evening_ix == 2))
    assert 19 <= GRID.local(sunset_slot).hour <= 20
    assert tuesday.sunset_charge_kwh == power.charge_kwh[1, sunset_slot]
    assert rows[6].evening_kwh < rows[7].evening_kwh == rows[8].evening_kwh  # the larger ones are never full


def test_a_bay_gets_what_the_units_of_its_benches_have(yard, heat, power):
    rows = bay_days(yard, power)
    assert [(row.on, row.kind, row.unit_ids) for row in rows][:2] == [
        (MONDAY, "cut", ("U1", "U3")), (MONDAY, "fit", ("U2",)),
    ]  # fmt: skip
    assert len(rows) == 6
    one, two, three = (row.evening_kwh for row in power_days(yard, heat, power)[:3])
    assert rows[0].evening_kwh == pytest.approx(one + three)
    assert rows[1].evening_kwh == pytest.approx(two)
    assert rows[0].evening_kw == pytest.approx(2 * 4.6)


def test_without_a_sunset_there_is_no_evening(yard):
    arctic = replace(yard.site, latitude_deg=78.2, longitude_deg=15.6, altitude_m=10.0, tz="Arctic/Longyearbyen")
    arctic = replace(yard, site=arctic)
    grid = SlotGrid.of_days(date(2026, 6, 18), 2, arctic.site.tz)
    heat = heat_table(arctic, typical(made_year(0.9)), grid, n_scenarios=3)
    power = power_table(arctic, heat, confidence=0.8)
    assert {row.evening_kwh for row in power_days(arctic, heat, power)} == {None}
    assert bay_days(arctic, power) == ()


def test_evenings_before_the_charge_was_measured_are_not_told(yard, heat):
    power = power_table(yard, heat, confidence=0.8, charge=ChargeReading(GRID.at(432), {}))
    told = [row.evening_kwh is not None for row in power_days(yard, heat, power)]
    assert told == [False] * 3 + [True] * 6
    assert {row.on for row in bay_days(yard, power)} == {MONDAY + timedelta(days=1), MONDAY + timedelta(days=2)}


def test_a_reserve_that_is_low_is_told(yard):
    assert low_reserves(yard) == ()
    low = with_units(yard, reserve_kwh=1.0)
    told = low_reserves(low)
    assert len(told) == 3
    assert told[0].startswith("unit U1 keeps 1.0 kWh in its battery; ")
    assert told[0].endswith(f"it should keep about {suggested_reserve_kwh(low.units[0]):.1f} kWh")
    assert low_reserves(with_units(yard, reserve_kwh=suggested_reserve_kwh(yard.units[0]))) == ()
