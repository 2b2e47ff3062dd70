"""Rain of a forecast in the scenarios, and what it washes."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from tests.forecast.made_weather import TUCSON_YARD, weather
from tests.forecast.trials import year_of
from tests.small_yard import small_yard
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.dirt import RAIN_CLEANS_MM, clean_slots
from yardplan.forecast.rain import rain_notes, rain_with_forecast
from yardplan.forecast.skies import forecast_skies

GRID = SlotGrid.of_days(date(2027, 7, 19), 3, TUCSON_YARD.tz)
ISSUED = GRID.start_at - timedelta(hours=2)
SKIES = forecast_skies(TUCSON_YARD, year_of("Tucson"), None, (), GRID, now=ISSUED, n_scenarios=40)
SECOND_DAY = slice(288, 576)


def wet(mm_an_hour: float):
    """Rain from six in the evening of the second day for four hours."""
    rain = np.zeros(72)
    rain[42:46] = mm_an_hour
    return replace(weather(GRID.start_at, 60, 72, ISSUED), rain_mm=rain)


def test_rain_falls_in_the_dullest_scenarios_as_far_as_a_forecast_can_be_trusted():
    rain = rain_with_forecast(SKIES, [wet(2.0)], ISSUED)
    assert rain is not None
    of_day = rain[:, SECOND_DAY].sum(axis=1)
    assert set(np.round(of_day, 4)) == {0.0, 8.0}
    assert rain.sum() == pytest.approx(of_day.sum())
    assert rain[:, 288 + 17 * 12 : 288 + 18 * 12].max() == 0
    # a day and a half ahead a rank correlation of 0.74 is assumed
    assert (of_day > 0).mean() == pytest.approx(0.74, abs=0.03)
    light = SKIES.dni_w_m2[:, SECOND_DAY].sum(axis=1)
    assert light[of_day > 0].max() <= light[of_day == 0].min()


def test_members_share_the_scenarios():
    dry, half = wet(0.0), wet(1.0)
    rain = rain_with_forecast(SKIES, [dry, wet(2.0), half, dry], ISSUED)
    assert rain is not None
    of_day = rain[:, SECOND_DAY].sum(axis=1)
    for mm in (8.0, 4.0):
        assert (np.round(of_day, 4) == mm).mean() == pytest.approx(0.74 / 4, abs=0.04)


def test_a_day_of_rain_washes_from_the_midnight_after_and_is_told():
    skies = replace(SKIES, rain_mm=rain_with_forecast(SKIES, [wet(2.0)], ISSUED))
    unit = replace(small_yard().units[0], washed_on=date(2027, 7, 9), soiling_per_day_frac=0.01)
    clean = clean_slots(unit, GRID, skies.rain_mm)
    assert clean[:, 575].max() == clean[:, 575].min() == pytest.approx(0.99**11)
    assert sorted(set(np.round(clean[:, 576], 6))) == [round(0.99**12, 6), 1.0]
    (note,) = rain_notes(skies)
    assert note.startswith("rain may wash the mirrors on Tue 20 Jul (")
    little = wet(RAIN_CLEANS_MM / 4 - 0.1)
    assert rain_notes(replace(SKIES, rain_mm=rain_with_forecast(SKIES, [little], ISSUED))) == ()


def test_what_tells_no_rain_or_is_too_old_washes_nothing():
    assert rain_with_forecast(SKIES, [weather(GRID.start_at, 60, 72, ISSUED)], ISSUED) is None
    assert rain_with_forecast(SKIES, [wet(2.0)], ISSUED + timedelta(days=4)) is None
    assert rain_notes(SKIES) == ()
    gaps = replace(wet(2.0), rain_mm=np.full(72, np.nan))
    rain = rain_with_forecast(SKIES, [gaps], ISSUED)
    assert rain is not None
    assert not rain.any()
