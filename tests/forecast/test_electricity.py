from dataclasses import replace
from datetime import date
from math import cos, exp, radians, sin, sqrt

import numpy as np
import pytest

from tests.forecast.made_years import made_year, typical
from tests.small_yard import MONDAY, TZ, small_yard
from yardplan import paths
from yardplan.domain.equipment import Site
from yardplan.domain.errors import InvalidField
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import HeatTable
from yardplan.forecast import electricity
from yardplan.forecast.electricity import _Battery, power_table, pv_dc_frac, unit_pv_kw
from yardplan.forecast.heat import heat_table
from yardplan.forecast.sky import Sun, slot_middles, sun_position
from yardplan.forecast.weather import read_typical_year

WEEK = SlotGrid.of_days(MONDAY, 4, TZ)


@pytest.fixture(scope="module")
def mixed():
    """A year of clear and dull days in turn."""
    return typical(made_year(lambda day, solar_h: np.array([0.9, 0.7, 0.75, 0.8, 0.9, 0.65])[day % 6]))


@pytest.fixture(scope="module")
def heat(mixed):
    return heat_table(small_yard(2), mixed, WEEK)


def with_units(yard, **changes):
    return replace(yard, units=tuple(replace(unit, **changes) for unit in yard.units))


def flat_heat(dni_w_m2, ghi_w_m2, temp_c=20.0, wind_m_s=5.0, n_slots=1):
    grid = SlotGrid(WEEK.start_at, n_slots, TZ)
    rows = [np.full((1, n_slots), value, np.float32) for value in (temp_c, wind_m_s, dni_w_m2, ghi_w_m2)]
    field = np.zeros((1, 1, n_slots), np.float32)
    return HeatTable(grid, ("U1",), field, *rows, np.full(n_slots, 50.0), "made", None, 0)


def test_pv_steps_by_hand():
    """Tilt 30, facing south, sun at zenith 40 and azimuth 150: incidence 19.653; diffuse 120 gives 111.96 W/m2."""
    dni, dhi = 800.0, 120.0
    sun = Sun(np.array([50.0]), np.array([150.0]), np.array([0.0]))
    ghi = dni * sin(radians(50)) + dhi
    plane = dni * cos(radians(19.653)) + 111.96 + ghi * 0.25 * (1 - cos(radians(30))) / 2
    # Source: King et al. 2004, SAND2004-3535: open rack, glass on polymer
    cell_c = 20 + plane * exp(-3.56 - 0.075 * 5) + 3 * plane / 1000
    # Source: Dobos 2014, NREL/TP-6A20-62641: system loss 14.0757 %, linear with the cell's temperature
    expected = plane / 1000 * (1 - 0.0035 * (cell_c - 25)) * (1 - 0.140757)
    found = pv_dc_frac(Site("Tilted", 30.0, -106.0, 0.0, TZ), flat_heat(dni, ghi), sun)
    assert found[0, 0] == pytest.approx(expected, rel=1e-4)


def test_inverter_curve_and_clip(monkeypatch):
    """Source: Dobos 2014 (constants 0.96 and 0.9637); 4166.67 W nominal: 2000, 400, 4500 give 1924.05, 367.70, 4000."""
    dc = np.array([[0.2, 0.04, 0.45]], np.float32)
    monkeypatch.setattr(electricity, "pv_dc_frac", lambda site, heat, sun: dc)
    yard = with_units(small_yard(), pv_kw=10.0, inverter_kw=4.0)
    sun = Sun(np.full(3, 50.0), np.full(3, 180.0), np.zeros(3))
    kw = unit_pv_kw(yard, flat_heat(0, 0, n_slots=3), sun)
    assert kw[:, 0, 0] == pytest.approx([1.92405, 0.36770, 4.0], abs=1e-5)
    assert not unit_pv_kw(with_units(yard, pv_kw=0.0), flat_heat(0, 0, n_slots=3), sun).any()
    assert not unit_pv_kw(with_units(yard, inverter_kw=0.0), flat_heat(0, 0, n_slots=3), sun).any()


def test_a_year_of_pv_in_the_desert():
    """From memory: fixed PV tilted by the latitude gives 1600 to 1900 kWh a kW in Tucson by PVWatts."""
    yard = replace(small_yard(), site=Site("There", 32.17, -110.88, 809.0, "America/Phoenix"))
    year = read_typical_year(paths.demo_folder() / "typical_year.epw")
    grid = SlotGrid.of_days(date(2027, 1, 1), 365, yard.site.tz, slot_min=15)
    heat = heat_table(yard, year, grid, n_scenarios=1)
    sun = sun_position(slot_middles(grid), 32.17, -110.88, 809.0)
    kwh = unit_pv_kw(with_units(yard, pv_kw=1.0, inverter_kw=1.0), heat, sun).sum(dtype=float) / 4
    assert 1600 < kwh < 1900


def test_pv_faces_the_equator(mixed):
    """A clear winter day gives as much in the south as in the north, but for the sun's distance."""
    yard = small_yard()
    north = replace(yard, site=replace(yard.site, linke=3.0))
    south = replace(yard, site=replace(north.site, latitude_deg=-35.0, longitude_deg=139.0, tz="Australia/Adelaide"))
    kwh = []
    for where, on in ((north, date(2027, 12, 21)), (south, date(2027, 6, 21))):
        grid = SlotGrid.of_days(on, 1, where.site.tz)
        sky = heat_table(where, typical(made_year(0.9)), grid, n_scenarios=1)
        sun = sun_position(slot_middles(grid), where.site.latitude_deg, where.site.longitude_deg, 1600.0)
        kwh.append(unit_pv_kw(where, sky, sun).sum(dtype=float) / 12)
    assert kwh[1] == pytest.approx(kwh[0] * (1 - 0.065), rel=0.03)


def test_battery_losses_each_way():
    # arithmetic: a load of 3.0 kWh through 0.93 of battery and 0.96 of inverter draws 3.3602 kWh
    yard = with_units(small_yard(), round_trip_frac=(0.93 * 0.96) ** 2)
    battery = _Battery.of(yard)
    charge = np.array([[15.0]])
    assert battery.after(charge, np.array([[-3.0]]), 1.0) == pytest.approx(15 - 3.3602, abs=1e-4)
    assert battery.after(charge, np.array([[3.0]]), 1.0) == pytest.approx(15 + 3 * 0.8928)
    back = battery.after(battery.after(charge, np.array([[2.0]]), 1.0), np.array([[-2.0 * 0.8928**2]]), 1.0)
    assert back == pytest.approx(15.0)
    assert battery.after(charge, np.array([[50.0]]), 1.0) == pytest.approx(15 + 5 * 0.8928)  # inverter of 5 kW
    assert battery.after(charge, np.array([[4.0]]), 24.0) == pytest.approx(20.0)
    assert battery.after(charge, np.array([[-4.0]]), 24.0) == pytest.approx(0.0)
    assert battery.above_reserve(charge) == pytest.approx((15 - 6) * 0.8928)


def charge_at_sunrise(yard, heat, power, unit_ix, scenario, tried_evening, more_kwh=0.0):
    """Play a unit's battery slot by slot, evenings drawing evenly; earlier ones stop at the reserve, the tried one not.

    Returns the charge at the end of the tried evening, in which `more_kwh` is drawn beyond the promise.
    """
    unit, grid = yard.units[unit_ix], heat.grid
    sun = sun_position(slot_middles(grid), yard.site.latitude_deg, yard.site.longitude_deg, yard.site.altitude_m)
    pv_kw = unit_pv_kw(yard, heat, sun)[:, scenario, unit_ix]
    one_way, hours = sqrt(unit.round_trip_frac), grid.slot_min / 60
    lengths_h = np.bincount(power.evening_ix[power.evening_ix >= 0]) * hours
    charge, now, bench_kw = unit.reserve_kwh + lengths_h[0] * unit.base_night_kw / one_way, -1, 0.0
    for slot in range(grid.n_slots):
        evening = int(power.evening_ix[slot])
        if now == tried_evening and evening != now:
            return charge
        if evening >= 0 and evening != now:
            drawn_kwh = float(power.evening_kwh[unit_ix, evening])
            if evening == tried_evening:
                drawn_kwh += more_kwh
            else:
                left_kwh = (charge - unit.reserve_kwh) * one_way - lengths_h[evening] * unit.base_night_kw
                drawn_kwh = min(drawn_kwh, max(left_kwh, 0.0))
            bench_kw = drawn_kwh / lengths_h[evening]
        now = evening
        load_kw = unit.base_night_kw + bench_kw if evening >= 0 else unit.base_day_kw + electricity.DAY_BENCH_KW
        net_kw = pv_kw[slot] - load_kw
        charge += net_kw * hours * one_way if net_kw > 0 else net_kw * hours / one_way
        charge = min(max(charge, 0.0), unit.battery_kwh)
    raise AssertionError("the tried evening must end within the grid")


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.95])
def test_evening_energy_leaves_the_reserve_as_often_as_promised(heat, confidence):
    yard = small_yard(2)
    power = power_table(yard, heat, confidence=confidence)
    assert power.evening_kwh.shape == (2, 5)
    assert (power.evening_kwh[0, 1:] > 0).all()
    for evening in range(1, 4):  # the first is what is left of a night, the fifth runs on past the grid
        kept, kept_with_more = (
            sum(
                charge_at_sunrise(yard, heat, power, 0, scenario, evening, more_kwh) >= 6.0 - 1e-3
                for scenario in range(21)
            )
            for more_kwh in (0.0, 0.3)
        )
        assert kept >= confidence * 21
        assert kept_with_more < confidence * 21
    assert power.evening_kwh[0, 0] == 0


def test_the_last_evening_runs_on_to_sunrise(mixed):
    yard = small_yard()
    short = power_table(yard, heat_table(yard, typical(made_year(0.9)), WEEK), confidence=0.8)
    longer = SlotGrid.of_days(MONDAY, 5, TZ)
    full = power_table(yard, heat_table(yard, typical(made_year(0.9)), longer), confidence=0.8)
    assert short.evening_kwh[0, -1] == pytest.approx(full.evening_kwh[0, 4], rel=1e-3)
    assert short.evening_kwh[0, -1] > 0


def test_a_clear_day_fills_the_evening_and_rain_does_not():
    """Common practice, no source: 6 kW of PV and a battery carry an evening shift of finishing after a clear day."""
    yard = small_yard()
    clear = power_table(yard, heat_table(yard, typical(made_year(0.95)), WEEK), confidence=0.8)
    night_h = (clear.evening_ix == 2).sum() / 12
    # a full battery less the reserve and the night's base load; the last two hours of day draw on it already
    most = (20 - 6) * sqrt(0.92) - night_h * 0.4
    assert clear.evening_kwh[0, 1:].min() > most - 2 * (0.8 + electricity.DAY_BENCH_KW)
    assert clear.evening_kwh[0].max() < most + 1e-3
    rain = power_table(yard, heat_table(yard, typical(made_year(0.0)), WEEK), confidence=0.8)
    assert rain.evening_kwh[0].max() < 0.5
    assert (rain.charge_kwh[0, -288:] < clear.charge_kwh[0, -288:]).all()


def test_evenings_reach_from_sunset_to_sunrise(heat):
    power = power_table(small_yard(2), heat, confidence=0.8)
    up = heat.elevation_deg > 0
    assert (power.evening_ix[up] == -1).all()
    assert (power.evening_ix[~up] >= 0).all()
    at_midnights = [int(power.evening_ix[first]) for _, first, _ in WEEK.days]
    assert at_midnights == [0, 1, 2, 3]
    assert power.evening_ix.max() == 4


def test_power_for_benches(heat):
    yard = small_yard(2)
    power = power_table(yard, heat, confidence=0.8)
    night = power.evening_ix >= 0
    assert power.finish_kw[:, night] == pytest.approx(5.0 - 0.4)
    assert power.finish_kw.min() >= 0
    assert power.finish_kw[:, ~night].max() == pytest.approx(5.0 - 0.8)
    weak = power_table(with_units(yard, inverter_kw=0.5), heat, confidence=0.8)
    assert weak.finish_kw[:, ~night].max() == 0
    assert power.charge_kwh.min() >= 0
    assert power.charge_kwh.max() <= 20


def test_more_confidence_never_gives_more(heat):
    bold, careful = (power_table(small_yard(2), heat, confidence=confidence) for confidence in (0.5, 0.95))
    assert (careful.evening_kwh[:, 1] <= bold.evening_kwh[:, 1] + 1e-6).all()
    day = careful.evening_ix < 0
    assert careful.finish_kw[:, day].sum() <= bold.finish_kw[:, day].sum()


def test_units_with_benches_set_day_work_aside(heat):
    power = power_table(small_yard(2), heat, confidence=0.8)  # both benches hang on U1
    assert (power.evening_kwh[0] <= power.evening_kwh[1] + 1e-6).all()
    assert power.evening_kwh[0].sum() < power.evening_kwh[1].sum()


@pytest.mark.parametrize(
    ("on", "evenings"), [(date(2026, 12, 18), 1), (date(2026, 6, 18), 0)], ids=["no sun", "no night"]
)
def test_polar_night_and_midnight_sun(on, evenings):
    yard = small_yard()
    site = replace(yard.site, latitude_deg=78.2, longitude_deg=15.6, altitude_m=10.0, tz="Arctic/Longyearbyen")
    yard = replace(yard, site=site)
    grid = SlotGrid.of_days(on, 2, site.tz)
    power = power_table(yard, heat_table(yard, typical(made_year(0.9)), grid, n_scenarios=3), confidence=0.8)
    assert power.evening_kwh.shape == (1, evenings)
    assert not power.evening_kwh.any()
    assert set(power.evening_ix.tolist()) == ({0} if evenings else {-1})


@pytest.mark.parametrize("confidence", [0.0, 1.0, -1, 80])
def test_odd_confidences_are_refused(heat, confidence):
    with pytest.raises(InvalidField, match="confidence"):
        power_table(small_yard(2), heat, confidence=confidence)
