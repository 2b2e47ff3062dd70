"""On a small yard with invented skies, through the real chain."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from tests.forecast.made_years import made_year, typical
from tests.small_yard import MONDAY, TZ, hand_made_power, small_yard
from yardplan.domain.errors import InvalidField
from yardplan.domain.field import field_rows
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.scenarios import climatology
from yardplan.usecases.outlook import Outlook, heat_and_cooks
from yardplan.usecases.washing import wash_gains

GRID = SlotGrid.of_days(MONDAY, 3, TZ)


def outlook(skies=None, **changes):
    yard = small_yard(2)
    field = field_rows(30, 14, 4, 2.6, 65, 1.3, 1.22, 1.83, 0.93, row_rise_m=1.0)
    dirty = replace(yard.units[0], field=field, soiling_per_day_frac=0.01, washed_on=MONDAY - timedelta(days=20))
    fresh = replace(dirty, id="U2", chambers=yard.units[1].chambers, washed_on=MONDAY)
    yard = replace(yard, units=(replace(dirty, **changes), fresh))
    skies = skies or climatology(yard.site, typical(made_year(lambda day, hour: 0.6 + 0.1 * (day % 4))), GRID)
    heat, cook, sky_cooks = heat_and_cooks(yard, skies, seed=0)
    power = hand_made_power(yard, GRID)
    return Outlook(yard, (), GRID, heat, cook, sky_cooks, power, 0.8, datetime(2027, 5, 15, tzinfo=UTC), skies)


@pytest.fixture(scope="module")
def weighed():
    look = outlook(wash_min=75, wash_crew=3)
    return look, wash_gains(look, MONDAY)


def test_a_wash_brings_back_what_dirt_took(weighed):
    look, (dirty, _) = weighed
    day_kwh = look.heat.field_kw[:, 0].reshape(-1, 3, 288).sum(axis=2, dtype=float) / 12
    lost = np.array([0.99**k / 0.99 ** (20 + k) - 1 for k in range(3)])  # arithmetic
    assert dirty.kwh == pytest.approx(np.median(day_kwh @ lost), rel=1e-5)
    assert dirty.kwh_before == pytest.approx(np.median(day_kwh.sum(axis=1)), rel=1e-6)
    assert (dirty.unit_id, dirty.on, dirty.crew_h) == ("U1", MONDAY, 3.75)
    assert dirty.best is not None
    assert all(gain.after >= gain.before for gain in dirty.cooks)


def test_mirrors_that_were_washed_that_day_gain_nothing(weighed):
    _, (_, fresh) = weighed
    assert fresh.kwh == 0
    assert fresh.best is None
    assert {gain.product_id for gain in fresh.cooks} == {"TANK", "BIN"}


def test_a_later_wash_brings_less(weighed):
    look, (first, _) = weighed
    later, _ = wash_gains(look, MONDAY + timedelta(days=2))
    assert 0 < later.kwh < first.kwh / 2
    assert later.on == MONDAY + timedelta(days=2)


def test_a_wash_that_is_planned_anyway_is_not_counted_twice():
    gain, _ = wash_gains(outlook(washes_on=(MONDAY,)), MONDAY)
    assert gain.kwh == 0


def test_rain_takes_part_of_the_gain():
    look = outlook()
    rain_mm = np.zeros_like(look.skies.dni_w_m2)
    rain_mm[:, 10] = 20
    wet, _ = wash_gains(outlook(replace(look.skies, rain_mm=rain_mm)), MONDAY)
    dry, _ = wash_gains(look, MONDAY)
    assert 0 < wet.kwh < dry.kwh / 2


def test_a_day_outside_the_outlook_is_refused(weighed):
    with pytest.raises(InvalidField, match="a day from 2027-05-17 to 2027-05-19"):
        wash_gains(weighed[0], MONDAY - timedelta(days=1))
