from dataclasses import replace
from datetime import date
from math import cos, exp, radians, sin

import numpy as np
import pytest

from tests.forecast.made_years import made_year, typical
from tests.small_yard import MONDAY, TZ, small_yard, with_units
from yardplan import paths
from yardplan.domain.equipment import Site
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import HeatTable
from yardplan.forecast import pv
from yardplan.forecast.heat import heat_table
from yardplan.forecast.pv import pv_dc_frac, unit_pv_kw
from yardplan.forecast.sky import Sun, slot_middles, sun_position
from yardplan.forecast.weather import read_typical_year


def flat_heat(dni_w_m2, ghi_w_m2, temp_c=20.0, wind_m_s=5.0, n_slots=1):
    grid = SlotGrid(SlotGrid.of_days(MONDAY, 1, TZ).start_at, n_slots, TZ)
    rows = [np.full((1, n_slots), value, np.float32) for value in (temp_c, wind_m_s, dni_w_m2, ghi_w_m2)]
    field = np.zeros((1, 1, n_slots), np.float32)
    return HeatTable(grid, ("U1",), field, *rows, np.full(n_slots, 50.0), "made", None, 0)


def flat_frac(ghi_w_m2, temp_c=20.0, wind_m_s=5.0):
    """PV over nameplate on the equator with the sun overhead: modules lie flat and get the global light."""
    sun = Sun(np.array([90.0]), np.array([180.0]), np.array([0.0]))
    site = Site("Flat", 0.0, 0.0, 0.0, "UTC")
    return float(pv_dc_frac(site, flat_heat(ghi_w_m2, ghi_w_m2, temp_c, wind_m_s), sun)[0, 0])


@pytest.mark.parametrize(
    ("light_w_m2", "cell_c", "per_k", "peak_w", "expected_w"),
    [(900.0, 30.0, -0.003, 1000.0, 886.5), (1000.0, 65.0, -0.0047, 4000.0, 3248.0)],
)
def test_direct_current(monkeypatch, light_w_m2, cell_c, per_k, peak_w, expected_w):
    """Source: Dobos 2014, NREL/TP-6A20-62641: G/1000 x P0 x (1 + g (Tc - 25)), less 14.0757 % of system losses."""
    monkeypatch.setattr("pvlib.temperature.sapm_cell", lambda light, *rest, **more: np.full_like(light, cell_c))
    monkeypatch.setattr(pv, "POWER_PER_K", per_k)
    assert flat_frac(light_w_m2) * peak_w == pytest.approx(expected_w * (1 - 0.140757), rel=1e-5)


@pytest.mark.parametrize(
    ("light_w_m2", "temp_c", "wind_m_s", "low_c", "high_c"),
    [
        # Faiman 2008: Ta + G / (25 + 6.84 v); King et al. 2004, SAND2004-3535: glass on glass, which is warmer
        (900.0, 20.0, 5.0, 35.203, 43.509),
        # Ross 1980, NOCT of 45: Ta + 25 / 800 x G at 1 m/s, with 7 K on either side for other mountings
        (800.0, 20.0, 1.0, 45.0 - 7, 45.0 + 7),
        (1000.0, 35.0, 1.0, 66.25 - 7, 66.25 + 7),
    ],
)
def test_cells_are_as_warm_as_other_models_say(light_w_m2, temp_c, wind_m_s, low_c, high_c):
    frac = flat_frac(light_w_m2, temp_c, wind_m_s) / (1 - 0.140757)
    cell_c = 25 + (frac / (light_w_m2 / 1000) - 1) / pv.POWER_PER_K
    assert low_c < cell_c < high_c


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
    monkeypatch.setattr(pv, "pv_dc_frac", lambda site, heat, sun: dc)
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


def test_pv_faces_the_equator():
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
