from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.forecast.made_years import made_year, typical
from tests.small_yard import MONDAY, TZ, small_unit, small_yard
from yardplan.domain.days import Sky
from yardplan.domain.equipment import Heliostat, Site
from yardplan.domain.field import field_rows
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.days import yard_days
from yardplan.forecast.heat import field_heat, heat_table, stowed
from yardplan.forecast.mirrors import attenuation_frac, mirror_area_m2, toward_sun
from yardplan.forecast.scenarios import climatology
from yardplan.forecast.sun_table import open_share

DAY = SlotGrid.of_days(MONDAY, 1, TZ)


@pytest.fixture(scope="module")
def year():
    return typical(made_year(lambda day, solar_h: 0.2 + 0.1 * (day % 8)))


@pytest.fixture(scope="module")
def skies(year):
    return climatology(small_yard().site, year, DAY)


def with_units(yard, **changes):
    return replace(yard, units=tuple(replace(unit, **changes) for unit in yard.units))


def with_site(yard, **changes):
    return replace(yard, site=replace(yard.site, **changes))


def test_heat_is_direct_light_times_the_dirty_field(skies):
    yard = small_yard(2)
    heat = field_heat(yard, skies, seed=5)
    noon = int(heat.elevation_deg.argmax())
    sun = skies.clear.sun
    area_m2 = mirror_area_m2(yard.units[1], sun.elevation_deg[[noon]], sun.azimuth_deg[[noon]])[0]
    dirty_m2 = area_m2 * 0.996**3  # washed three days before; in one row no mirror is in another's way at noon
    assert heat.field_kw[:, 1, noon] == pytest.approx(skies.dni_w_m2[:, noon] * dirty_m2 / 1000, rel=1e-5)
    assert heat.unit_ids == ("U1", "U2")
    assert (heat.seed, heat.issued_at) == (5, None)
    assert "Test mesa" in heat.source


def test_no_heat_under_the_least_elevation(skies):
    for least_deg in (0.0, 10.0, 30.0):
        heat = field_heat(with_site(small_yard(), min_elevation_deg=least_deg), skies, seed=0)
        assert not heat.field_kw[:, :, heat.elevation_deg < least_deg].any()
        assert (heat.field_kw[:, :, heat.elevation_deg > least_deg + 0.1] > 0).all()


def test_what_a_unit_lets_on_a_mold_does_not_cut_what_its_field_sends(skies):
    free, held = (field_heat(with_units(small_yard(), max_mold_heat_kw=kw), skies, seed=0) for kw in (99.0, 9.0))
    assert np.array_equal(free.field_kw, held.field_kw)
    assert held.field_kw.max() > 9


def test_crowded_mirrors_send_less_and_mirrors_far_apart_the_plain_sum_of_cosines(skies):
    """With nothing in the way the sum over the field is the analytic one, mirror by mirror, slot by slot."""
    apart = tuple(Heliostat(40.0 * i - 100, 60.0, 1.5, 1.22, 1.83, 0.93) for i in range(6))
    crowd = tuple(Heliostat(1.5 * (i % 3), 6.0 + 2.2 * (i // 3), 1.5, 1.22, 1.83, 0.93) for i in range(6))
    sun = skies.clear.sun
    up = np.flatnonzero(sun.elevation_deg >= 10)
    to_sun = toward_sun(sun.elevation_deg[up], sun.azimuth_deg[up])
    for field, free in ((apart, True), (crowd, False)):
        yard = with_units(small_yard(), field=field, soiling_per_day_frac=0.0)
        plain_m2 = 0.0
        for mirror in field:
            to_target = np.array([-mirror.east_m, -mirror.north_m, 2.5 - 1.5])
            slant_m = np.linalg.norm(to_target)
            cosine = np.sqrt((1 + to_sun @ (to_target / slant_m)) / 2)
            plain_m2 = plain_m2 + mirror.area_m2 * 0.93 * attenuation_frac(slant_m) * cosine
        expected = skies.dni_w_m2[:, up] * plain_m2 / 1000
        found = field_heat(yard, skies, seed=0).field_kw[:, 0, up]
        if free:
            assert found == pytest.approx(expected, rel=2e-6)
        else:
            assert (found <= expected * (1 + 2e-6)).all()
            assert found.sum() < 0.9 * expected.sum()


def test_rain_cleans_mirrors_where_it_is_known(skies):
    yard = with_units(small_yard(), washed_on=MONDAY - timedelta(days=20), soiling_per_day_frac=0.01)
    grid = SlotGrid.of_days(MONDAY, 2, TZ)
    dry = climatology(yard.site, typical(made_year(0.9)), grid, n_scenarios=2)
    rain_mm = np.zeros((2, grid.n_slots), np.float32)
    rain_mm[1, 30] = 8
    plain, rained = (field_heat(yard, sky, seed=0).field_kw for sky in (dry, replace(dry, rain_mm=rain_mm)))
    assert np.array_equal(rained[0], plain[0])
    assert np.array_equal(rained[1, :, :288], plain[1, :, :288])
    assert rained[1, :, 288:].sum() == pytest.approx(plain[1, :, 288:].sum() / 0.99**21, rel=1e-5)


def test_stow_lets_go_below_the_lower_limit_only():
    site = Site("Windy", 35, -106, 1600, TZ, stow_gust_m_s=14, resume_gust_m_s=11)
    gust_m_s = np.array([[5, 13, 14, 13, 11, 10.9, 13, 15, 12], [12, 13, 5, 20, 20, 20, 20, 20, 20]], np.float32)
    expected = [[0, 0, 1, 1, 1, 0, 0, 1, 1], [0, 0, 0, 1, 1, 1, 1, 1, 1]]
    assert stowed(site, gust_m_s).astype(int).tolist() == expected


@given(st.lists(st.floats(0, 25), min_size=1, max_size=40), st.floats(2, 20), st.floats(0, 5))
def test_stow_against_a_plain_loop(gusts, resume, gap):
    site = Site("Windy", 35, -106, 1600, TZ, stow_gust_m_s=resume + gap, resume_gust_m_s=resume)
    state, expected = False, []
    for gust in gusts:
        state = gust >= site.stow_gust_m_s or (state and gust >= site.resume_gust_m_s)
        expected.append(state)
    assert stowed(site, np.array([gusts]))[0].tolist() == expected


def test_storm_gives_no_heat(year):
    yard = small_yard()
    stormy = climatology(yard.site, typical(made_year(0.9, wind_m_s=9.4)), DAY)  # gusts of 14.1 m/s
    assert stormy.dni_w_m2.any()
    assert not field_heat(yard, stormy, seed=0).field_kw.any()
    assert field_heat(yard, climatology(yard.site, typical(made_year(0.9, wind_m_s=9.2)), DAY), seed=0).field_kw.any()


@settings(max_examples=25, deadline=None)
@given(brighter=st.floats(1, 1.5), days=st.integers(0, 30), rate=st.floats(0, 0.01), worse=st.floats(0, 0.02))
def test_more_sun_never_gives_less_and_dirt_never_more(skies, brighter, days, rate, worse):
    yard = with_units(small_yard(), washed_on=MONDAY - timedelta(days=days), soiling_per_day_frac=rate)
    base = field_heat(yard, skies, seed=0).field_kw
    bright = replace(skies, dni_w_m2=(skies.dni_w_m2 * np.float32(brighter)).astype(np.float32))
    assert (field_heat(yard, bright, seed=0).field_kw >= base).all()
    dirtier = with_units(yard, soiling_per_day_frac=rate + worse)
    longer = with_units(yard, washed_on=MONDAY - timedelta(days=days + 5))
    for dirty in (dirtier, longer):
        assert (field_heat(dirty, skies, seed=0).field_kw <= base).all()


def test_a_large_field_in_good_sun_gives_what_the_trade_expects():
    """Common practice, no source: 48 mirrors of about 2.2 m2 bring almost 100 kW, large fields 250 kW."""
    field = field_rows(48, 14, 4, 2.6, 65, 1.3, 1.22, 1.83, 0.93, row_rise_m=1.0)
    on = date(2027, 10, 4)
    yard = with_units(small_yard(), field=field, target_up_m=3.0, washed_on=on)
    heat = heat_table(yard, typical(made_year(1.0)), SlotGrid.of_days(on, 1, TZ), n_scenarios=1)
    assert 80 <= heat.field_kw.max() <= 105
    noon = np.array([45.0]), np.array([180.0])  # and 1 kW/m2, as on a dry plateau
    kw = mirror_area_m2(yard.units[0], *noon) * open_share(yard.units[0], *noon)
    assert 85 <= kw[0] <= 105
    assert 1.7 <= kw[0] / 48 <= 2.1


def test_a_week_without_sun_and_the_polar_night_give_zeros():
    dark = typical(made_year(0.0))
    week = SlotGrid.of_days(MONDAY, 7, TZ)
    heat = heat_table(small_yard(2), dark, week, n_scenarios=3)
    assert heat.field_kw.shape == (3, 2, week.n_slots)
    assert not heat.field_kw.any()
    days = yard_days(small_yard().site, heat)
    assert all((day.kwh, day.sun_frac, day.stow) == ((0, 0, 0), 0, None) for day in days)
    assert {spell.sky for day in days for spell in day.spells} == {Sky.CLOUDS}
    north = with_site(small_yard(), latitude_deg=78.2, longitude_deg=15.6, altitude_m=10.0, tz="Arctic/Longyearbyen")
    grid = SlotGrid.of_days(date(2026, 12, 18), 2, "Arctic/Longyearbyen")
    night = heat_table(north, typical(made_year(0.9)), grid, n_scenarios=2)
    assert not night.field_kw.any()
    found = yard_days(north.site, night)
    assert {(day.sunrise_at, day.sunset_at, day.spells, day.sun_frac) for day in found} == {(None, None, (), 0.0)}


def test_southern_fields_look_north(year):
    """Mirrors south of the mold, which face the sun in the north, work best in the southern hemisphere."""
    south = with_site(small_yard(), latitude_deg=-28.4, longitude_deg=21.3, tz="Africa/Johannesburg")
    grid = SlotGrid.of_days(date(2027, 6, 21), 1, "Africa/Johannesburg")
    mirrored = tuple(replace(mirror, north_m=-mirror.north_m) for mirror in small_unit().field)
    good, bad = (
        heat_table(with_units(south, field=field), year, grid, n_scenarios=1).field_kw.sum()
        for field in (mirrored, small_unit().field)
    )
    assert good > 1.3 * bad
