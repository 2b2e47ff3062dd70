"""Time labels against the sun, on public typical years and on invented clear days.

Source of the bar of half an hour and an hour: what a slip does to clear mornings and afternoons was measured on public
typical years (module docstring); the years here ship with pvlib and with the demo yard.
"""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pvlib
import pytest

from tests.forecast.made_years import made_year, typical
from yardplan import paths
from yardplan.domain.equipment import Site
from yardplan.domain.errors import InvalidField
from yardplan.domain.tables import Weather
from yardplan.forecast.time_guard import Verdict, check_labels
from yardplan.forecast.weather import TypicalYear, read_typical_year

SHIPPED = Path(pvlib.__file__).parent / "data"
YEARS = {
    "arid": paths.demo_folder() / "typical_year.epw",
    "wooded": SHIPPED / "723170TYA.CSV",
    "far north": SHIPPED / "703165TY.csv",
    "humid": SHIPPED / "12839.tm2",
}


def moved(weather: Weather, minutes: float) -> Weather:
    return replace(weather, starts_at=tuple(at + timedelta(minutes=minutes) for at in weather.starts_at))


def part(weather: Weather, first: int, after: int) -> Weather:
    names = ("dni_w_m2", "ghi_w_m2", "dhi_w_m2", "temp_c", "wind_m_s", "gust_m_s", "cloud_frac")
    cut = {name: getattr(weather, name)[first:after] for name in names}
    return replace(weather, starts_at=weather.starts_at[first:after], **cut)


def site_of(year: TypicalYear) -> Site:
    return Site(year.name, year.latitude_deg, year.longitude_deg, year.altitude_m, "UTC")


@pytest.fixture(scope="module", params=YEARS)
def year(request) -> TypicalYear:
    return read_typical_year(YEARS[request.param])


def test_public_years_with_right_labels_are_right(year):
    found = check_labels(year.weather, site_of(year))
    assert found.verdict is Verdict.RIGHT, found.text
    assert abs(found.asymmetry) < 0.12
    assert found.dark_frac < 0.0005


@pytest.mark.parametrize("minutes", [-60, -30, 30, 60])
def test_labels_off_by_half_an_hour_and_an_hour_are_found_with_their_size(year, minutes):
    found = check_labels(moved(year.weather, minutes), site_of(year))
    assert found.verdict is Verdict.WRONG, found.text
    assert found.shift_min == pytest.approx(-minutes, abs=8)
    assert f"{abs(found.shift_min):.0f} min {'earlier' if minutes > 0 else 'later'}" in found.text


@pytest.mark.parametrize("hours", [-7, 7])
def test_local_stamps_taken_for_utc_leave_light_in_the_dark(year, hours):
    found = check_labels(moved(year.weather, 60 * hours), site_of(year))
    assert found.verdict is Verdict.WRONG
    assert found.dark_frac > 0.05
    assert "logged with the sun down" in found.text


def test_the_same_on_the_southern_hemisphere():
    place = (-23.5, -68.2, 2400.0, -4.0)
    year = typical(made_year(0.8, place))
    site = site_of(year)
    assert check_labels(year.weather, site).verdict is Verdict.RIGHT
    assert check_labels(moved(year.weather, 30), site).shift_min == pytest.approx(-30, abs=3)


def test_afternoons_that_are_cloudier_do_not_count_as_a_shift():
    year = typical(made_year(lambda day, solar_h: np.where((solar_h > 13) & (day % 3 > 0), 0.1, 0.8)))
    found = check_labels(year.weather, site_of(year))
    assert found.verdict is Verdict.RIGHT
    assert abs(found.shift_min) < 5


def test_few_days_are_not_judged_but_light_in_the_dark_is():
    year = typical(made_year(0.9))
    week = part(year.weather, 24 * 100, 24 * 107)
    assert check_labels(week, site_of(year)).verdict is Verdict.UNKNOWN
    assert check_labels(moved(week, 30), site_of(year)).verdict is Verdict.UNKNOWN
    assert check_labels(moved(week, 90), site_of(year)).verdict is Verdict.WRONG


def test_some_weeks_are_only_doubtful():
    year = typical(made_year(0.9))
    weeks = part(year.weather, 24 * 100, 24 * 120)
    assert check_labels(weeks, site_of(year)).verdict is Verdict.RIGHT
    found = check_labels(moved(weeks, 30), site_of(year))
    assert (found.verdict, found.days) == (Verdict.DOUBTFUL, 20)
    assert "may be off" in found.text


@pytest.mark.parametrize("value", [np.nan, 0.0])
def test_weather_without_direct_light_is_not_judged(value):
    year = typical(made_year(0.9))
    without = replace(year.weather, dni_w_m2=np.full(len(year.weather.starts_at), value, np.float32))
    found = check_labels(without, site_of(year))
    assert found.verdict is Verdict.UNKNOWN
    assert np.isnan(found.shift_min)


def test_a_polar_night_is_not_judged():
    year = typical(made_year(0.9, (78.2, 15.6, 10.0, 1.0)))
    found = check_labels(part(year.weather, 0, 24 * 30), site_of(year))
    assert found.verdict is Verdict.UNKNOWN


def test_gaps_are_left_out():
    year = typical(made_year(0.9))
    dni = year.weather.dni_w_m2.copy()
    dni[::3] = np.nan
    found = check_labels(moved(replace(year.weather, dni_w_m2=dni), -60), site_of(year))
    assert found.verdict is Verdict.WRONG
    assert found.shift_min == pytest.approx(60, abs=5)


def test_steps_with_holes_are_refused():
    year = typical(made_year(0.9))
    week = part(year.weather, 0, 100)
    holed = replace(week, starts_at=(*week.starts_at[:99], week.starts_at[99] + timedelta(hours=1)))
    with pytest.raises(InvalidField, match="steps without holes"):
        check_labels(holed, site_of(year))
