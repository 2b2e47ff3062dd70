from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.forecast.made_weather import TUCSON_YARD, readings, weather
from tests.forecast.trials import year_of
from tests.small_yard import small_yard
from yardplan.domain.equipment import Site
from yardplan.domain.errors import InvalidField
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.correct import Correction
from yardplan.forecast.heat import field_heat
from yardplan.forecast.overrule import overrule_of
from yardplan.forecast.scenarios import EXTRA_CAP, SkyMode, climatology
from yardplan.forecast.skies import forecast_skies

YEAR = year_of("Tucson")
MONDAY = date(2027, 7, 19)  # in the season of storms, when skies differ
GRID = SlotGrid.of_days(MONDAY, 7, TUCSON_YARD.tz)
NOW = GRID.at(6 * 12)
ISSUED = NOW - timedelta(hours=3)


def skies(forecast=None, measured=None, *, site=TUCSON_YARD, grid=GRID, now=NOW, n_scenarios=60, **more):
    return forecast_skies(
        site, YEAR, forecast, [measured] if measured else [], grid, now=now, n_scenarios=n_scenarios, **more
    )


def forecast_of(hours=240, issued_at=ISSUED, start_at=None, **values):
    start_at = start_at or issued_at.replace(minute=0)
    return weather(start_at, 60, hours, issued_at, **values)


def day_kwh(found, day=0):
    _, first, after = found.grid.days[day]
    return found.dni_w_m2[:, first:after].sum(axis=1) * found.grid.slot_min / 60e3


def spread(values):
    return float(np.quantile(values, 0.9) - np.quantile(values, 0.1))


def check_sound(found, n_scenarios=60):
    for name in ("dni_w_m2", "ghi_w_m2", "temp_c", "wind_m_s", "gust_m_s"):
        values = getattr(found, name)
        assert values.shape == (n_scenarios, found.grid.n_slots), name
        assert values.dtype == np.float32
        assert np.isfinite(values).all(), name
    for name in ("dni_w_m2", "ghi_w_m2", "wind_m_s", "gust_m_s"):
        assert (getattr(found, name) >= 0).all(), name
    down = found.clear.sun.elevation_deg <= 0
    assert not found.dni_w_m2[:, down].any()
    assert not found.ghi_w_m2[:, down].any()
    assert (found.dni_w_m2 <= EXTRA_CAP * found.clear.extra_w_m2 + 1e-3).all()
    beam = found.dni_w_m2 * np.sin(np.radians(np.clip(found.clear.sun.elevation_deg, 0, None)))
    assert (found.ghi_w_m2 >= beam - 0.1).all()


def test_no_forecast_is_the_climate_of_the_season():
    found = skies(n_scenarios=200)
    check_sound(found, 200)
    assert (found.mode, found.age_h, found.issued_at, found.warnings) == (SkyMode.CLIMATOLOGY, None, None, ())
    # weeks of every month have the light and warmth of the year's hours; single weeks of one year scatter by tenths
    made = [
        skies(grid=SlotGrid.of_days(date(2027, month, 12), 7, GRID.tz, 60), n_scenarios=20) for month in range(1, 13)
    ]
    for name in ("dni_w_m2", "ghi_w_m2", "temp_c"):
        mean = np.mean([getattr(it, name).mean() for it in made])
        assert mean == pytest.approx(getattr(YEAR.weather, name).mean(), rel=0.03), name


def test_modes_go_by_age():
    fresh = forecast_of(cloud=0.9)
    for age_h, mode in ((1, "forecast"), (12, "forecast"), (13, "stale"), (72, "stale"), (73, "climatology")):
        found = skies(fresh, now=ISSUED + timedelta(hours=age_h), n_scenarios=5)
        assert found.mode == mode
        assert bool(found.warnings) == (mode != "forecast")
        assert (found.issued_at == ISSUED) == (mode != "climatology")
        if mode != "climatology":
            assert found.age_h == pytest.approx(age_h)


def test_old_forecasts_widen_toward_the_climate():
    """The same clear or overcast day, said 3 hours to 3 days before."""
    climate = day_kwh(skies(n_scenarios=200), 1)
    medians, widths = [], []
    for age_h in (3, 24, 48, 71):
        issued_at = NOW - timedelta(hours=age_h)
        found = skies(forecast_of(issued_at=issued_at, cloud=1.0), n_scenarios=200)
        medians.append(float(np.median(day_kwh(found, 1))))
        clear = skies(forecast_of(issued_at=issued_at, cloud=0.0), n_scenarios=200)
        widths.append(spread(day_kwh(clear, 1)))
    assert medians == sorted(medians)
    assert widths == sorted(widths)
    assert medians[0] < 0.6 * np.median(climate)
    assert medians[-1] == pytest.approx(np.median(climate), rel=0.12)


def test_clouds_that_are_forecast_darken_and_clear_skies_brighten():
    totals = [np.median(day_kwh(skies(forecast_of(cloud=cloud)), 0)) for cloud in (0.0, 0.5, 1.0)]
    assert totals[0] > totals[1] > totals[2]


def test_members_widen_what_they_disagree_on_and_change_nothing_where_they_agree():
    half = forecast_of(cloud=0.5)
    alone, agreed = skies(half, n_scenarios=200), skies(half, n_scenarios=200, members=[half] * 3)
    assert np.array_equal(alone.dni_w_m2, agreed.dni_w_m2)
    split = skies(half, n_scenarios=200, members=[forecast_of(cloud=cloud) for cloud in (0.0, 1.0)] * 2)
    assert spread(day_kwh(split)) > 1.05 * spread(day_kwh(alone))
    # a member that says nothing does not count
    silent = forecast_of(temp=20.0)
    assert np.array_equal(alone.dni_w_m2, skies(half, n_scenarios=200, members=[silent]).dni_w_m2)
    # hours of which only a member speaks are its own
    short = forecast_of(hours=24, cloud=0.5)
    reached = skies(short, n_scenarios=200, members=[forecast_of(cloud=1.0)])
    assert np.median(day_kwh(reached, 1)) < 0.7 * np.median(day_kwh(skies(short, n_scenarios=200), 1))


def test_direct_light_goes_before_clouds():
    dni = 0.05 * np.ones(240)
    both = skies(forecast_of(dni=dni, cloud=0.0))
    clouds_only = skies(forecast_of(cloud=0.0))
    assert np.median(day_kwh(both)) < 0.7 * np.median(day_kwh(clouds_only))


def test_after_its_end_the_climate_takes_over_without_a_jump():
    two_days = skies(forecast_of(hours=60, cloud=1.0), n_scenarios=200)
    climate = skies(n_scenarios=200)
    assert two_days.mode == "forecast"
    ratio = [np.median(day_kwh(two_days, day)) / np.median(day_kwh(climate, day)) for day in range(7)]
    assert ratio[0] < 0.6
    assert ratio[1] < 0.75
    assert ratio[3:] == pytest.approx([1] * 4, abs=0.03)
    # by hour, the share of clear sky rises by less than it did over the last twelve hours together
    hourly = two_days.dni_w_m2.mean(axis=0).reshape(-1, 12).mean(axis=1)
    usual = climate.dni_w_m2.mean(axis=0).reshape(-1, 12).mean(axis=1)
    share = (hourly / np.maximum(usual, 1))[usual > 200]
    assert np.abs(np.diff(share)).max() < 0.25


def test_gaps_are_bridged_or_told():
    cloud = np.full(240, 1.0)
    short, long = cloud.copy(), cloud.copy()
    noon = 24 + int((GRID.at(12 * 12) - ISSUED.replace(minute=0)) / timedelta(hours=1))
    short[noon : noon + 2] = np.nan
    long[noon - 2 : noon + 4] = np.nan
    whole, bridged, broken = (skies(forecast_of(cloud=values)) for values in (cloud, short, long))
    assert np.array_equal(whole.dni_w_m2, bridged.dni_w_m2)
    assert bridged.warnings == ()
    assert len(broken.warnings) == 1
    assert broken.warnings[0].startswith("the forecast says nothing from Tue 20 Jul 10:00 to Tue 20 Jul 16:00")
    assert day_kwh(broken, 1).mean() > day_kwh(whole, 1).mean()
    check_sound(broken)


@pytest.mark.parametrize("field", ["cloud", "dni"])
@pytest.mark.parametrize("wrong", [-5.0, 8000.0])
def test_values_that_cannot_be_true_are_gaps(field, wrong):
    found = skies(forecast_of(**{field: wrong}), n_scenarios=10)
    assert found.mode == "climatology"
    assert np.array_equal(found.dni_w_m2, skies(n_scenarios=10).dni_w_m2)


def test_a_forecast_that_says_nothing_of_these_days_is_told():
    past = forecast_of(hours=24, start_at=NOW - timedelta(days=3), cloud=0.5)
    found = skies(past)
    assert found.mode == "climatology"
    assert found.warnings == ("the forecast says nothing of these days; the outlook is that of the season",)
    empty = skies(forecast_of())
    assert empty.mode == "climatology"
    check_sound(empty)


def test_a_forecast_of_the_future_tells_of_the_clock():
    found = skies(forecast_of(issued_at=NOW + timedelta(hours=5), cloud=0.5))
    assert "check this computer's clock" in found.warnings[0]
    check_sound(found)


def test_a_forecast_without_its_time_is_not_used():
    found = skies(weather(NOW, 60, 100, cloud=1.0))
    assert found.mode == "climatology"
    assert "does not say when it was made" in found.warnings[0]


def test_hour_means_follow_the_hours_whatever_the_slots():
    """The same stories in slots of 5 and 60 minutes: clouds within the hour do not change its light."""
    hourly = SlotGrid(GRID.start_at, 7 * 24, GRID.tz, 60)
    fine, coarse = (skies(forecast_of(cloud=0.5), grid=grid, n_scenarios=40).dni_w_m2 for grid in (GRID, hourly))
    of_fine = fine.reshape(40, -1, 12).mean(axis=2)
    high = coarse.mean(axis=0) > 100
    assert np.corrcoef(of_fine[:, high].ravel(), coarse[:, high].ravel())[0, 1] > 0.999
    assert of_fine.sum() == pytest.approx(coarse.sum(), rel=0.01)


def test_readings_stand_and_pull_the_next_hours():
    now = GRID.at(10 * 12)
    start_at = GRID.at(5 * 12)
    dull = readings(TUCSON_YARD, start_at, 5, 60, 0.05)
    bright = readings(TUCSON_YARD, start_at, 5, 60, 1.0)
    none, low, high = (skies(forecast_of(cloud=0.5), it, now=now, n_scenarios=200) for it in (None, dull, bright))
    read = slice(7 * 12, 10 * 12)
    assert low.dni_w_m2[:, read] == pytest.approx(np.tile(dull.dni_w_m2[24:], (200, 1)), abs=0.5)
    assert high.dni_w_m2[:, read] == pytest.approx(np.tile(bright.dni_w_m2[24:], (200, 1)), abs=0.5)
    for first, after, least in ((120, 132, 0.3), (132, 144, 0.2), (156, 168, 0.03)):
        means = [float(found.dni_w_m2[:, first:after].mean()) for found in (low, none, high)]
        assert means[0] < means[1] < means[2]
        assert (means[2] - means[0]) / means[1] > least
    later = [day_kwh(found, 4).mean() for found in (low, none, high)]
    assert later[0] == pytest.approx(later[2], rel=0.02)


def test_readings_narrow_the_next_hour():
    now = GRID.at(10 * 12)
    bright = readings(TUCSON_YARD, GRID.at(5 * 12), 5, 60, 1.0)
    without, with_them = (skies(None, it, now=now, n_scenarios=200) for it in (None, bright))
    widths = [spread(found.dni_w_m2[:, 120:132].mean(axis=1)) for found in (without, with_them)]
    assert widths[1] < 0.8 * widths[0]


def test_faulty_readings_are_told_and_do_no_harm():
    measured = readings(TUCSON_YARD, GRID.at(5 * 12), 5, 12)
    wild = replace(measured, dni_w_m2=5000.0 + np.arange(12))
    found = skies(None, wild, now=GRID.at(6 * 12))
    assert any("cannot be true" in text for text in found.warnings)
    check_sound(found)
    assert np.array_equal(found.dni_w_m2, skies(now=GRID.at(6 * 12)).dni_w_m2)


def test_haze_of_the_log_is_used_and_told():
    hazy = replace(TUCSON_YARD, linke=6.0)
    log = readings(hazy, GRID.start_at - timedelta(days=12), 5, 12 * 288)
    found, usual = skies(None, log), skies()
    assert "haze from the log (Linke 6" in found.source
    assert found.clear.dni_w_m2.max() < 0.9 * usual.clear.dni_w_m2.max()
    kept = skies(None, log, site=replace(TUCSON_YARD, linke=2.5))
    assert "haze" not in kept.source


def test_a_word_by_hand_is_last_and_shown():
    fog = overrule_of("fog until 10", NOW, GRID.tz)
    found = skies(forecast_of(cloud=0.0), overrules=[fog])
    before = skies(forecast_of(cloud=0.0))
    assert found.overrules == (fog,)
    assert not found.dni_w_m2[:, : 10 * 12].any()
    assert np.array_equal(found.dni_w_m2[:, 10 * 12 :], before.dni_w_m2[:, 10 * 12 :])
    assert (found.ghi_w_m2 <= before.ghi_w_m2 + 1e-3).all()
    clear = skies(forecast_of(cloud=1.0), overrules=[overrule_of("clear", NOW, GRID.tz)])
    today = slice(0, 288)
    assert (clear.dni_w_m2[:, today] >= 0.9 * clear.clear.dni_w_m2[today] - 0.5).all()


@settings(max_examples=8, deadline=None)
@given(st.sampled_from(["fog until 10", "dust tomorrow", "cloudy", "haze from 9 until 15"]), st.floats(0, 1))
def test_words_of_clouds_never_raise_direct_light(text, cloud):
    forecast = forecast_of(cloud=cloud)
    rule = overrule_of(text, NOW, GRID.tz)
    without, with_it = (skies(forecast, n_scenarios=8, overrules=rules) for rules in ([], [rule]))
    assert (with_it.dni_w_m2 <= without.dni_w_m2 + 1e-3).all()


def test_one_seed_the_same_skies():
    first, again, other = (skies(forecast_of(cloud=0.4), seed=seed) for seed in (7, 7, 8))
    for name in ("dni_w_m2", "ghi_w_m2", "temp_c", "wind_m_s", "gust_m_s"):
        assert np.array_equal(getattr(first, name), getattr(again, name))
    assert not np.array_equal(first.dni_w_m2, other.dni_w_m2)


def test_a_plan_made_later_sees_the_same_stories():
    """From Monday and from Tuesday on, scenario k of Thursday is the same sky but for what the age changes."""
    tuesday = SlotGrid.of_days(MONDAY + timedelta(days=1), 6, GRID.tz)
    ordered = [skies(grid=grid, now=GRID.at(72)).dni_w_m2[:, -3 * 288 :] for grid in (GRID, tuesday)]
    days = [values.reshape(60, 3, 288).sum(axis=2) for values in ordered]
    assert np.corrcoef(days[0].ravel(), days[1].ravel())[0, 1] > 0.99


def test_air_follows_the_forecast_and_returns_to_the_climate():
    typical = skies(n_scenarios=200)
    hot = forecast_of(cloud=0.3, temp=45.0, wind=12.0, gust=21.0)
    found = skies(hot, n_scenarios=200)
    first, last = slice(100, 200), slice(-200, None)
    assert found.temp_c[:, first].mean() == pytest.approx(45, abs=1.5)
    assert found.gust_m_s[:, first].mean() == pytest.approx(21, abs=4)
    assert found.gust_m_s[:, first].mean() > typical.gust_m_s[:, first].mean() + 8
    assert abs(found.temp_c[:, last].mean() - 45) > abs(found.temp_c[:, first].mean() - 45)
    assert found.temp_c[:, first].std() < typical.temp_c[:, first].std()
    assert (found.gust_m_s >= found.wind_m_s).all()
    short = skies(forecast_of(hours=30, temp=45.0), n_scenarios=200)
    assert short.temp_c[:, -288:].mean() == pytest.approx(typical.temp_c[:, -288:].mean(), abs=0.01)


def test_without_gusts_these_follow_from_the_wind():
    found = skies(forecast_of(wind=10.0), n_scenarios=100)
    assert found.gust_m_s[:, 60:180].mean() == pytest.approx(15, abs=2.5)


def test_sunny_scenarios_have_the_air_of_sunny_days():
    """What goes with what is the typical year's own: in the season of storms its sunny weeks are drier, not hotter."""

    def warmer_when_sunny(of):
        order = np.argsort(of.dni_w_m2.sum(axis=1))
        third = len(order) // 3
        return float(of.temp_c[order[-third:]].mean() - of.temp_c[order[:third]].mean())

    for month in (2, 7):
        grid = SlotGrid.of_days(date(2027, month, 19), 7, GRID.tz)
        typical = warmer_when_sunny(climatology(TUCSON_YARD, YEAR, grid, n_scenarios=210))
        assert warmer_when_sunny(skies(grid=grid, n_scenarios=210)) == pytest.approx(typical, abs=1e-3)


def test_heat_is_made_of_them_unchanged():
    yard = replace(small_yard(2), site=TUCSON_YARD)
    heat = field_heat(yard, skies(forecast_of(cloud=0.2), n_scenarios=10), seed=0)
    assert heat.field_kw.shape == (10, 2, GRID.n_slots)
    assert heat.field_kw.max() > 10
    assert heat.issued_at == ISSUED
    assert heat.source.startswith("forecast: made; climatology:")


def test_a_correction_moves_what_is_said():
    duller = Correction((-0.8,) * 4, (1.0,) * 4, 30, 0.1)
    forecast = forecast_of(cloud=0.3)
    before, after = (skies(forecast, correction=it) for it in (None, duller))
    assert np.median(day_kwh(after)) < np.median(day_kwh(before))
    alone = [skies(None, correction=it).dni_w_m2 for it in (None, duller)]
    assert np.array_equal(*alone)


ODD = [
    (date(2027, 3, 12), 4, "America/Denver", (35.0, -106.0, 1600.0)),  # a day of 23 hours
    (date(2027, 11, 5), 4, "America/Denver", (35.0, -106.0, 1600.0)),  # 25
    (date(2027, 4, 2), 3, "Australia/Lord_Howe", (-31.5, 159.1, 5.0)),  # half an hour back, southern
    (date(2027, 6, 1), 2, "Asia/Kolkata", (26.9, 70.9, 225.0)),  # half-hour zone
    (date(2027, 6, 1), 2, "Asia/Kathmandu", (27.7, 85.3, 1400.0)),  # three quarters
    (date(2028, 2, 28), 2, "America/Denver", (35.0, -106.0, 1600.0)),  # leap day
    (date(2027, 12, 30), 3, "Africa/Johannesburg", (-28.4, 21.3, 835.0)),  # new year
    (date(2026, 12, 18), 2, "Arctic/Longyearbyen", (78.2, 15.6, 10.0)),  # no sun at all
    (date(2026, 6, 18), 2, "Arctic/Longyearbyen", (78.2, 15.6, 10.0)),  # no night at all
]


@pytest.mark.parametrize(("first_on", "days", "tz", "place"), ODD)
@pytest.mark.parametrize("said", ["nothing", "clouds", "sun"])
def test_odd_weeks_are_whole_finite_and_dark_at_night(first_on, days, tz, place, said):
    site, grid = Site("Odd", *place, tz), SlotGrid.of_days(first_on, days, tz)
    now = grid.at(9 * 12)
    forecast = {
        "nothing": None,
        "clouds": weather(grid.start_at.replace(minute=0), 60, 24 * days, now - timedelta(hours=2), cloud=0.6),
        "sun": weather(grid.start_at.replace(minute=0), 60, 24 * days, now - timedelta(hours=2), dni=300.0),
    }[said]
    measured = readings(site, grid.at(4 * 12), 5, 60, 0.9)
    found = skies(forecast, measured, site=site, grid=grid, now=now, n_scenarios=5)
    check_sound(found, 5)
    if place[0] > 70 and first_on.month == 12:
        assert not found.dni_w_m2.any()
        assert found.mode == "climatology"


@pytest.mark.parametrize("slot_min", [1, 5, 15, 60])
def test_any_slot_that_divides_an_hour(slot_min):
    grid = SlotGrid(GRID.start_at, 2 * 1440 // slot_min, GRID.tz, slot_min)
    check_sound(skies(forecast_of(cloud=0.5), grid=grid, n_scenarios=3), 3)


def test_grids_that_begin_at_odd_minutes():
    grid = SlotGrid(GRID.start_at + timedelta(hours=8, minutes=23), 200, GRID.tz)
    measured = readings(TUCSON_YARD, GRID.at(5 * 12), 5, 60, 0.9)
    check_sound(skies(forecast_of(cloud=0.5), measured, grid=grid, now=GRID.at(10 * 12), n_scenarios=3), 3)


@settings(max_examples=15, deadline=None)
@given(
    st.lists(st.one_of(st.floats(0, 1), st.just(float("nan"))), min_size=1, max_size=60),
    st.sampled_from([15, 60, 360]),
    st.integers(-20, 100),
    st.integers(0, 3),
)
def test_any_forecast_gives_sound_skies(cloud, step_min, age_h, seed):
    issued_at = NOW - timedelta(hours=age_h)
    forecast = weather(issued_at.replace(minute=0), step_min, len(cloud), issued_at, cloud=np.array(cloud))
    check_sound(skies(forecast, n_scenarios=3, seed=seed), 3)


def test_bad_questions_are_refused():
    with pytest.raises(InvalidField, match="n_scenarios"):
        skies(n_scenarios=0)
    with pytest.raises(InvalidField, match="aware"):
        skies(now=datetime(2027, 7, 19, 6))  # noqa: DTZ001 - that is the fault
    with pytest.raises(InvalidField, match="divide an hour"):
        skies(grid=SlotGrid(datetime(2027, 7, 19, tzinfo=UTC), 100, "UTC", 7))


def test_one_reading_of_today_pulls_the_next_hours():
    """Overcast was forecast, and at half past nine somebody reads a sun that is as good as clear, or none."""
    overcast = forecast_of(cloud=0.8)
    read_at = GRID.at(9 * 12 + 6)
    now, next_hour = read_at + timedelta(minutes=5), slice(10 * 12, 11 * 12)
    plain, sunny, dark = (
        skies(overcast, read, now=now, n_scenarios=200).dni_w_m2
        for read in (None, readings(TUCSON_YARD, read_at, 5, 1, 0.95), readings(TUCSON_YARD, read_at, 5, 1, 0.0))
    )
    assert sunny[:, next_hour].mean() > 1.15 * plain[:, next_hour].mean() > 1.3 * dark[:, next_hour].mean()
    next_day = slice(288, 576)
    assert sunny[:, next_day].mean() == pytest.approx(plain[:, next_day].mean(), rel=0.1)
