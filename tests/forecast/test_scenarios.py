from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.forecast.made_years import TUCSON, made_year, typical
from tests.small_yard import MONDAY, TZ, small_yard
from yardplan import paths
from yardplan.domain.equipment import Site
from yardplan.domain.errors import InvalidField
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.scenarios import EXTRA_CAP, INDEX_CAP, LAPSE_C_PER_M, _evenly, climatology
from yardplan.forecast.weather import NOMINAL_YEAR, read_typical_year

AT_TUCSON = Site("Same place", 32.17, -110.88, 809.0, "America/Phoenix")


@pytest.fixture(scope="module")
def tucson():
    return read_typical_year(paths.demo_folder() / "typical_year.epw")


def hourly(values):
    """Means over clock hours of scenario, slot."""
    return values.astype(float).reshape(values.shape[0], -1, 12).mean(axis=2)


def of_file(year, name, first_on, days):
    first = datetime(first_on.year, first_on.month, first_on.day, 7, tzinfo=UTC)
    start = year.weather.starts_at.index(first)
    return getattr(year.weather, name)[start : start + 24 * days].astype(float)


def test_at_its_own_place_a_typical_year_comes_back(tucson):
    first_on = date(NOMINAL_YEAR, 5, 14)
    skies = climatology(AT_TUCSON, tucson, SlotGrid.of_days(first_on, 7, AT_TUCSON.tz), n_scenarios=1)
    high = hourly(skies.clear.sun.elevation_deg[None])[0] > 15
    for name in ("dni_w_m2", "ghi_w_m2"):
        back, there = hourly(getattr(skies, name))[0], of_file(tucson, name, first_on, 7)
        assert np.abs(back - there)[high].mean() < 0.01 * there[high].mean()
        assert back.sum() == pytest.approx(there.sum(), rel=0.01)
    for name in ("temp_c", "wind_m_s", "gust_m_s"):
        back, there = hourly(getattr(skies, name))[0], of_file(tucson, name, first_on, 7)
        assert np.corrcoef(back, there)[0, 1] > 0.99
        assert back.mean() == pytest.approx(there.mean(), rel=0.02)


def test_scenarios_are_whole_spells_of_the_season(tucson):
    """Each of the 21 scenarios is the file's own run of days, from ten before the date to ten after it."""
    first_on, days = date(NOMINAL_YEAR, 8, 6), 7
    skies = climatology(AT_TUCSON, tucson, SlotGrid.of_days(first_on, days, AT_TUCSON.tz), seed=3)
    of_days = hourly(skies.dni_w_m2).reshape(21, days, 24).sum(axis=2)
    runs = np.array([
        of_file(tucson, "dni_w_m2", first_on + timedelta(days=shift), days).reshape(days, 24).sum(axis=1)
        for shift in range(-10, 11)
    ])  # fmt: skip
    missed = np.abs(of_days[:, None] - runs).mean(axis=2) / runs.mean()
    ordered = np.sort(missed, axis=1)
    assert ordered[:, 0].max() < 0.05  # ten days of August change a clear day's sum by 2 to 3 %
    assert missed[missed.argmin(axis=1) == 10].min() < 0.01  # the spell of the very dates
    assert ordered[:, 1].min() > 0.1
    assert sorted(missed.argmin(axis=1)) == list(range(21))
    assert (np.diff(missed.argmin(axis=1)) < 0).any()


def test_a_seed_orders_the_scenarios_and_nothing_else(tucson):
    grid = SlotGrid.of_days(MONDAY, 2, TZ)
    site = small_yard().site
    one, again, other = (climatology(site, tucson, grid, seed=seed) for seed in (1, 1, 2))
    assert np.array_equal(one.dni_w_m2, again.dni_w_m2)
    assert not np.array_equal(one.dni_w_m2, other.dni_w_m2)
    assert np.array_equal(np.sort(one.dni_w_m2.sum(axis=1)), np.sort(other.dni_w_m2.sum(axis=1)))


def test_many_scenarios_repeat_the_season_in_equal_shares(tucson):
    skies = climatology(AT_TUCSON, tucson, SlotGrid.of_days(MONDAY, 1, AT_TUCSON.tz), n_scenarios=210)
    _, counts = np.unique(skies.dni_w_m2, axis=0, return_counts=True)
    assert counts.tolist() == [10] * 21
    with pytest.raises(InvalidField, match="n_scenarios"):
        climatology(AT_TUCSON, tucson, SlotGrid.of_days(MONDAY, 1, AT_TUCSON.tz), n_scenarios=0)


@given(st.lists(st.floats(0, INDEX_CAP), min_size=4, max_size=12))
def test_paths_keep_every_hourly_mean_and_their_bounds(means):
    hourly_index = np.array(means)
    inside = (np.arange(len(means) * 200) + 0.5) / 200
    path = _evenly(hourly_index, inside, INDEX_CAP)
    assert path.reshape(-1, 200).mean(axis=1) == pytest.approx(hourly_index, abs=1e-9)
    assert path.min() >= -1e-12
    assert path.max() <= INDEX_CAP + 1e-12


def test_paths_join_where_the_bounds_allow():
    path = _evenly(np.array([0.4, 0.6, 0.8, 0.6]), np.array([0.999999, 1.000001, 2.999999, 3.000001]), INDEX_CAP)
    assert path[0] == pytest.approx(path[1], abs=1e-4)
    assert path[2] == pytest.approx(path[3], abs=1e-4)


@pytest.mark.parametrize(
    ("longitude_deg", "tz"), [(-70.0, "America/Halifax"), (10.0, "Europe/Berlin"), (150.0, "Australia/Sydney")]
)
def test_mornings_stay_mornings_at_other_longitudes(longitude_deg, tz):
    year = typical(made_year(lambda day, solar_h: np.where(solar_h < 12, 0.9, 0.1)))
    site = Site("Elsewhere", 32.17, longitude_deg, 809.0, tz)
    skies = climatology(site, year, SlotGrid.of_days(date(2027, 2, 8), 3, tz))
    sun = skies.clear.sun
    share = skies.dni_w_m2 / np.maximum(skies.clear.dni_w_m2, 1)
    high = sun.elevation_deg > 15
    morning, afternoon = (high & (side * (sun.azimuth_deg - 180) > 15) for side in (-1, 1))
    assert share[:, morning].min() > 0.85
    assert share[:, afternoon].max() < 0.15


def test_seasons_turn_with_the_hemisphere():
    year = typical(made_year(lambda day, solar_h: np.where(abs(day - 182) < 60, 0.9, 0.1)))  # a clear northern summer
    south = Site("South", -28.4478, 21.2561, 835.0, "Africa/Johannesburg")
    for month, clear in ((12, True), (6, False)):
        skies = climatology(south, year, SlotGrid.of_days(date(2027, month, 21), 2, south.tz))
        share = skies.dni_w_m2.sum() / (21 * skies.clear.dni_w_m2.sum())
        assert share == pytest.approx(0.9 if clear else 0.1, abs=0.02)


def test_air_is_colder_above_the_file_and_warmer_below():
    year = typical(made_year(temp_c=20.0))
    high, low = (
        climatology(replace(AT_TUCSON, altitude_m=altitude_m), year, SlotGrid.of_days(MONDAY, 1, AT_TUCSON.tz)).temp_c
        for altitude_m in (1809.0, 309.0)
    )
    # Source: ISO 2533, 6.5 K in 1000 m
    assert low.mean() - high.mean() == pytest.approx(9.75, abs=0.01)
    assert LAPSE_C_PER_M == 0.0065
    assert high.mean() == pytest.approx(20 - 6.5, abs=0.1)


def test_light_never_passes_what_can_be():
    year = typical(made_year(1.4))  # a file whose own clear sky is too dim
    skies = climatology(replace(AT_TUCSON, linke=1.2, altitude_m=4000.0), year, SlotGrid.of_days(MONDAY, 2, "UTC"))
    assert (skies.dni_w_m2 <= EXTRA_CAP * skies.clear.extra_w_m2 + 1e-3).all()
    assert (skies.dni_w_m2 <= INDEX_CAP * skies.clear.dni_w_m2 + 1e-3).all()
    beam = skies.dni_w_m2 * np.sin(np.radians(np.clip(skies.clear.sun.elevation_deg, 0, None)))
    assert (skies.ghi_w_m2 >= beam - 1e-3).all()


@pytest.mark.parametrize(
    ("first_on", "days", "tz", "place"),
    [
        (date(2027, 3, 12), 7, "America/Denver", (35.0, -106.0, 1600.0)),  # 23 hours in one day
        (date(2027, 11, 5), 7, "America/Denver", (35.0, -106.0, 1600.0)),  # 25
        (date(2027, 4, 2), 5, "Australia/Lord_Howe", (-31.5, 159.1, 5.0)),  # half an hour back
        (date(2027, 6, 1), 3, "Asia/Kolkata", (26.9, 70.9, 225.0)),  # half-hour zone
        (date(2028, 2, 26), 5, "America/Denver", (35.0, -106.0, 1600.0)),  # leap day
        (date(2027, 12, 28), 7, "Africa/Johannesburg", (-28.4, 21.3, 835.0)),  # new year
        (date(2026, 12, 18), 3, "Arctic/Longyearbyen", (78.2, 15.6, 10.0)),  # no sun at all
        (date(2026, 6, 18), 3, "Arctic/Longyearbyen", (78.2, 15.6, 10.0)),  # no night at all
    ],
)
def test_odd_weeks_are_whole_finite_and_dark_at_night(tucson, first_on, days, tz, place):
    grid = SlotGrid.of_days(first_on, days, tz)
    skies = climatology(Site("Odd", *place, tz), tucson, grid, n_scenarios=5)
    for values in (skies.dni_w_m2, skies.ghi_w_m2, skies.temp_c, skies.wind_m_s, skies.gust_m_s):
        assert values.shape == (5, grid.n_slots)
        assert np.isfinite(values).all()
    night = skies.clear.sun.elevation_deg <= 0
    assert (skies.dni_w_m2 >= 0).all()
    assert not skies.dni_w_m2[:, night].any()
    assert not skies.ghi_w_m2[:, night].any()


def test_tucson_weeks_have_the_sun_of_tucson(tucson):
    """The demo year laid on its own place has its own month sums; the season of +-10 days is close to the month."""
    by_month = []
    for month in (1, 4, 7, 10):
        skies = climatology(AT_TUCSON, tucson, SlotGrid.of_days(date(2027, month, 12), 7, AT_TUCSON.tz))
        of_hours = of_file(tucson, "dni_w_m2", date(NOMINAL_YEAR, month, 1), 28)
        by_month.append((float(skies.dni_w_m2.mean()), float(of_hours.mean())))
    for laid, there in by_month:
        assert laid == pytest.approx(there, rel=0.1)


def test_the_place_of_a_year_needs_no_time_zone_of_the_yard():
    year = typical(made_year(0.8, TUCSON))
    skies = [
        climatology(replace(AT_TUCSON, tz=tz), year, SlotGrid(datetime(2027, 5, 17, 7, tzinfo=UTC), 288, tz))
        for tz in ("America/Phoenix", "Asia/Tokyo")
    ]
    assert np.array_equal(skies[0].dni_w_m2, skies[1].dni_w_m2)
