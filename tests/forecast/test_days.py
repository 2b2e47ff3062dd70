from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from tests.forecast.made_years import made_year, typical
from tests.small_yard import MONDAY, TZ, small_yard
from yardplan.domain.days import QUANTILES, Sky, Stow
from yardplan.domain.equipment import Site
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import HeatTable
from yardplan.forecast.days import unit_days, yard_days
from yardplan.forecast.heat import heat_table
from yardplan.forecast.sky import clear_sky, slot_middles, sun_position


@pytest.fixture(scope="module")
def year():
    return typical(made_year(lambda day, solar_h: 0.2 + 0.1 * (day % 8)))


@pytest.mark.parametrize(("first_on", "slots"), [(date(2027, 3, 12), 2004), (date(2027, 11, 5), 2028)])
def test_weeks_with_a_clock_change(year, first_on, slots):
    grid = SlotGrid.of_days(first_on, 7, TZ)
    heat = heat_table(small_yard(), year, grid, n_scenarios=3)
    units, days = unit_days(heat), yard_days(small_yard().site, heat)
    assert grid.n_slots == slots
    assert [day.heat_kw.shape[1] for day in units] == [after - first for _, first, after in grid.days]
    for day, unit in zip(days, units, strict=True):
        assert day.kwh == pytest.approx(unit.kwh)  # there is one unit
    assert sum(day.kwh[1] for day in days) > 0
    hours = [(day.sunset_at - day.sunrise_at) / timedelta(hours=1) for day in days]
    assert max(hours) - min(hours) < 0.5


def test_summaries_add_up(year):
    grid = SlotGrid.of_days(MONDAY, 3, TZ)
    heat = heat_table(small_yard(2), year, grid)
    days = unit_days(heat)
    assert [(day.on, day.unit_id) for day in days[:3]] == [
        (MONDAY, "U1"), (MONDAY, "U2"), (MONDAY + timedelta(days=1), "U1")
    ]  # fmt: skip
    second = days[3]
    kwh = sorted(heat.field_kw[:, 1, 288:576].sum(axis=1, dtype=float) / 12)
    assert second.kwh == pytest.approx([kwh[2], kwh[10], kwh[18]])  # of 21 scenarios, two below P10 and so on
    assert second.first_slot == 288
    assert (np.diff(second.heat_kw, axis=0) >= 0).all()
    assert second.heat_kw.shape == (len(QUANTILES), 288)
    both = sorted(heat.field_kw[:, :, 288:576].sum(axis=(1, 2), dtype=float) / 12)
    assert yard_days(small_yard().site, heat)[1].kwh == pytest.approx([both[2], both[10], both[18]])
    assert second.heat_kw[1, 150] == pytest.approx(np.median(heat.field_kw[:, 1, 288 + 150]))


@pytest.mark.parametrize(
    ("place", "on", "tz", "rise", "set_"),
    [
        # center of the sun at -0.8333 degrees; computed by two libraries (SPA; ephem with horizon -0:50)
        ((-28.4478, 21.2561, 835.0), "2025-06-21", "Africa/Johannesburg", "07:26:52", "17:46:46"),
        ((-28.4478, 21.2561, 835.0), "2025-12-21", "Africa/Johannesburg", "05:34:24", "19:31:52"),
        ((-22.456, -68.929, 2260.0), "2025-06-21", "America/Santiago", "07:14:51", "18:00:21"),
        ((30.9189, -6.8934, 1136.0), "2025-06-21", "Africa/Casablanca", "06:24:46", "20:34:04"),
    ],
)
def test_sunrise_and_sunset(place, on, tz, rise, set_):
    grid = SlotGrid.of_days(date.fromisoformat(on), 1, tz)
    (day,) = days_at(grid, place)
    for found, expected in ((day.sunrise_at, rise), (day.sunset_at, set_)):
        assert abs((found - local_time(grid, on, expected)).total_seconds()) < 10


def test_sunrise_and_sunset_of_the_published_example():
    """Reda and Andreas 2004, table A5.1; the sunset falls on the day of UT, which is the local day before."""
    grid = SlotGrid.of_days(date(2003, 10, 16), 2, "Etc/GMT+7")
    before, day = days_at(grid, (39.742476, -105.1786, 1830.14))
    assert abs((day.sunrise_at - local_time(grid, "2003-10-17", "06:12:43")).total_seconds()) < 10
    assert abs((before.sunset_at - local_time(grid, "2003-10-16", "17:20:19")).total_seconds()) < 10


def test_a_grid_that_begins_just_before_sunrise_has_the_border_of_its_slot():
    place = (-28.4478, 21.2561, 835.0)
    whole = SlotGrid.of_days(date(2025, 6, 21), 1, "Africa/Johannesburg")
    (day,) = days_at(whole, place)
    up = no_heat(whole, place).elevation_deg > -0.8333
    last_dark = int(up.argmax()) - 1
    (cut,) = days_at(SlotGrid(whole.at(last_dark), 12, whole.tz), place)
    assert cut.sunrise_at == whole.at(last_dark + 1)
    assert abs(cut.sunrise_at - day.sunrise_at) <= timedelta(minutes=whole.slot_min)


def days_at(grid, place):
    return yard_days(Site("There", *place, grid.tz), no_heat(grid, place))


def no_heat(grid, place):
    sun = sun_position(slot_middles(grid), *place)
    flat = np.zeros((1, grid.n_slots), np.float32)
    return HeatTable(grid, ("U1",), flat[:, None], flat, flat, flat, flat, sun.elevation_deg, "made", None, 0)


def local_time(grid, on, clock):
    return datetime.fromisoformat(f"{on}T{clock}").replace(tzinfo=grid.zone).astimezone(UTC)


MESA = small_yard().site
DAY = SlotGrid.of_days(MONDAY, 1, TZ)


def under(shares, grid=DAY, site=MESA):
    """Heat of skies that let a share of a cloudless one's direct light through, by the local hour."""
    place = site.latitude_deg, site.longitude_deg, site.altitude_m
    sky = clear_sky(slot_middles(grid), *place, site.linke)
    hours = np.array([grid.local(slot).hour for slot in range(grid.n_slots)])
    dni = np.stack([sky.dni_w_m2 * np.vectorize(share)(hours) for share in shares])
    return HeatTable(grid, ("U1",), 0.05 * dni[:, None], dni, dni, dni, dni, sky.sun.elevation_deg, "made", None, 0)


def told(heat, site=MESA):
    (day,) = yard_days(site, heat)
    grid = heat.grid
    return [
        (f"{grid.local(spell.first_slot):%H}", f"{grid.local(spell.after_slot - 1):%H}", spell.sky)
        for spell in day.spells
    ]


def test_hours_alike_make_a_spell():
    clear, late, never = (lambda hour: 0.95), (lambda hour: 0.95 if hour < 14 else 0.1), (lambda hour: 0.2)
    assert told(under([clear] * 3)) == [("06", "19", Sky.SUN)]
    assert told(under([late] * 7 + [clear] * 3)) == [("06", "13", Sky.SUN), ("14", "19", Sky.CLOUDS)]
    for n_late in (4, 5, 6):
        skies = [late] * n_late + [clear] * (10 - n_late)
        assert told(under(skies)) == [("06", "13", Sky.SUN), ("14", "19", Sky.UNSURE)]
    assert told(under([never])) == [("06", "19", Sky.CLOUDS)]


def test_an_hour_unlike_its_neighbors_is_no_spell():
    assert told(under([lambda hour: 0.1 if hour == 12 else 0.9])) == [("06", "19", Sky.SUN)]
    assert told(under([lambda hour: 0.1 if hour == 19 else 0.9])) == [("06", "19", Sky.SUN)]
    assert len(told(under([lambda hour: 0.1 if hour in (12, 13) else 0.9]))) == 3


def test_the_day_is_graded_by_its_median_sun():
    days = yard_days(MESA, under([lambda hour, k=k: k / 10 for k in range(1, 10)]))
    assert days[0].sun_frac == pytest.approx(0.5, abs=1e-6)


def test_a_stow_is_told_with_its_hours_and_its_chance():
    heat = under([lambda hour: 0.9] * 10)
    hours = np.array([DAY.local(slot).hour for slot in range(DAY.n_slots)])
    stowed = heat.field_kw.copy()
    stowed[:3, 0, hours == 13] = 0
    stowed[:2, 0, hours == 15] = 0
    (day,) = yard_days(MESA, replace(heat, field_kw=stowed))
    assert day.stow == Stow(13 * 12, 16 * 12, pytest.approx(0.3))
    assert yard_days(MESA, heat)[0].stow is None


@pytest.mark.parametrize(
    ("place", "tz", "on"),
    [
        ((28.6, 77.2, 216.0), "Asia/Kolkata", date(2027, 5, 17)),  # half an hour off the whole ones
        ((-31.9, 141.5, 300.0), "Australia/Adelaide", date(2027, 4, 4)),  # and clocks put back that day
        ((78.2, 15.6, 10.0), "Arctic/Longyearbyen", date(2027, 6, 21)),  # sun all night
    ],
)
def test_days_are_local_wherever_the_yard_stands(place, tz, on):
    site = Site("There", *place, tz)
    grid = SlotGrid.of_days(on, 1, tz)
    heat = under([lambda hour: 0.9], grid, site)
    (day,) = yard_days(site, heat)
    usable = np.flatnonzero(heat.elevation_deg >= site.min_elevation_deg)
    (spell,) = day.spells
    assert (spell.sky, spell.first_slot, spell.after_slot) == (Sky.SUN, usable[0], usable[-1] + 1)
    assert (day.first_slot, day.after_slot, day.on) == (0, grid.n_slots, on)
    if tz.startswith("Arctic"):
        assert (day.sunrise_at, day.sunset_at) == (None, None)
    else:
        assert 9 < (day.sunset_at - day.sunrise_at) / timedelta(hours=1) < 15
