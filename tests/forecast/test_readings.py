from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.forecast.made_weather import TUCSON_YARD, clear_dni, readings, weather
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.hours import YardHours, bridged, means_over
from yardplan.forecast.readings import LOG_DAYS, sun_log
from yardplan.forecast.turbidity import fit_linke

MORNING = datetime(2027, 5, 17, 13, tzinfo=UTC)  # six on the yard's clock
NOON = MORNING + timedelta(hours=6)


def log_of(measured, now=NOON, slot_min=5):
    return sun_log(TUCSON_YARD, [measured], now, slot_min, linke=None)


def changed(measured, at, values):
    dni = measured.dni_w_m2.copy()
    dni[at] = values
    return replace(measured, dni_w_m2=dni)


def test_good_readings_come_back():
    log = log_of(readings(TUCSON_YARD, MORNING, 5, 60, 0.8))
    assert log.warnings == ()
    assert log.start_s == MORNING.timestamp()
    assert log.dni_w_m2[:60] == pytest.approx(0.8 * clear_dni(TUCSON_YARD, MORNING, 5, 60), rel=1e-5)
    assert np.array_equal(log.covered_frac, np.ones(60))


@pytest.mark.parametrize("step_min", [1, 5, 15, 30, 60])
def test_steps_of_any_length_give_the_same_hours(step_min):
    steps = 300 // step_min
    minutes = clear_dni(TUCSON_YARD, MORNING, 1, 300) * 0.7
    log = log_of(weather(MORNING, step_min, steps, dni=minutes.reshape(steps, -1).mean(axis=1)))
    grid = SlotGrid(MORNING, 12 * 12, TUCSON_YARD.tz)
    hours = YardHours.around(TUCSON_YARD, grid, MORNING - timedelta(days=9), None)
    index, covered = log.hours_on(hours)
    assert covered[:5] == pytest.approx(np.ones(5))
    assert index[1:5] == pytest.approx(np.full(4, 0.7), abs=0.01)
    assert not covered[5:].any()


def test_what_cannot_be_true_is_left_out_and_told():
    measured = readings(TUCSON_YARD, MORNING, 5, 60)
    log = log_of(changed(measured, [20, 21], [1800, -50]))
    assert np.isnan(log.dni_w_m2[[20, 21]]).all()
    assert np.isfinite(log.dni_w_m2[22])
    assert log.warnings == ("2 readings that cannot be true were left out",)


def test_the_zero_of_an_instrument_is_no_fault():
    log = log_of(changed(readings(TUCSON_YARD, MORNING, 5, 60), [0, 1], [-3, -1]))
    assert log.warnings == ()
    assert log.dni_w_m2[0] == 0


def test_a_stuck_instrument_is_left_out():
    log = log_of(changed(readings(TUCSON_YARD, MORNING, 5, 60), slice(20, 30), 700))
    assert np.isnan(log.dni_w_m2[20:30]).all()
    assert log.warnings == ("10 readings of a stuck instrument were left out",)
    five_equal = log_of(changed(readings(TUCSON_YARD, MORNING, 5, 60), slice(20, 25), 700))
    assert five_equal.warnings == ()
    dark = log_of(changed(readings(TUCSON_YARD, MORNING, 5, 60), slice(20, 40), 0))
    assert dark.warnings == ()  # cloud, not a fault


def test_equal_minutes_are_not_yet_stuck():
    minutes = np.repeat(np.arange(700, 730), 10).astype(float)
    assert log_of(weather(MORNING, 1, 300, dni=minutes)).warnings == ()


def test_direct_light_far_too_low_for_global_light_is_a_dirty_instrument():
    ghi = np.full(60, 1100.0)
    log = log_of(readings(TUCSON_YARD, MORNING, 5, 60, 0.2, ghi=ghi))
    high = log.sky.sun.elevation_deg[:60] > 10
    assert np.isnan(log.dni_w_m2[:60][high]).all()
    assert "dirty" in log.warnings[0]


def test_readings_of_the_future_are_not_used():
    log = log_of(readings(TUCSON_YARD, MORNING, 5, 60), now=MORNING + timedelta(hours=1, minutes=2))
    assert np.isfinite(log.dni_w_m2).sum() == 12
    assert log.warnings == ("48 readings later than now were left out",)


def test_nothing_good_is_no_log():
    assert log_of(weather(MORNING, 5, 12)) is None
    old = readings(TUCSON_YARD, MORNING - timedelta(days=LOG_DAYS + 2), 5, 12)
    assert log_of(old) is None


@given(
    st.lists(st.one_of(st.floats(-500, 3000), st.just(float("nan"))), min_size=1, max_size=80),
    st.sampled_from([1, 5, 10, 60]),
)
def test_any_readings_give_a_sound_log_or_none(values, step_min):
    log = log_of(weather(MORNING, step_min, len(values), dni=np.array(values)))
    if log is not None:
        good = log.dni_w_m2[np.isfinite(log.dni_w_m2)]
        assert (good >= 0).all()
        assert (good < 1600).all()
        assert ((log.covered_frac >= 0) & (log.covered_frac <= 1)).all()


def test_means_over_other_steps():
    hourly = weather(MORNING, 60, 3, cloud=np.array([0.0, 0.5, 1.0]))
    means, _ = means_over(hourly, MORNING.timestamp(), 20, 10)
    assert means["cloud_frac"] == pytest.approx([0, 0, 0, 0.5, 0.5, 0.5, 1, 1, 1, np.nan], nan_ok=True)
    six_hourly = weather(MORNING, 360, 1, cloud=0.25)
    means, _ = means_over(six_hourly, MORNING.timestamp(), 60, 7)
    assert means["cloud_frac"] == pytest.approx([0.25] * 6 + [np.nan], nan_ok=True)
    quarters = weather(MORNING, 15, 4, dni=np.array([100.0, 200, np.nan, 300]))
    means, covered = means_over(quarters, MORNING.timestamp(), 60, 1)
    assert means["dni_w_m2"][0] == pytest.approx(200)
    assert covered[0] == pytest.approx(0.75)


def test_short_gaps_are_bridged_and_long_ones_stay():
    every = np.ones(10, dtype=bool)
    values = np.array([np.nan, 0, np.nan, np.nan, 3, np.nan, np.nan, np.nan, 7, np.nan])
    assert bridged(values, every) == pytest.approx([np.nan, 0, 1, 2, 3, np.nan, np.nan, np.nan, 7, np.nan], nan_ok=True)
    assert np.isnan(bridged(np.full(4, np.nan), np.ones(4, dtype=bool))).all()


def days_of(linke: float, days: int, share=1.0):
    return readings(replace(TUCSON_YARD, linke=linke), MORNING - timedelta(days=days), 5, days * 288, share)


@pytest.mark.parametrize("linke", [2.2, 3.4, 5.1])
def test_haze_is_found_again_in_clear_days(linke):
    noise = 1 + 0.01 * np.random.default_rng(0).standard_normal(10 * 288)
    fitted = fit_linke(TUCSON_YARD, log_of(days_of(linke, 10, noise)))
    assert fitted is not None
    assert fitted.linke == pytest.approx(linke, abs=0.12)
    assert fitted.half_days >= 18


def test_cloudy_days_tell_nothing_of_haze():
    broken = np.where(np.random.default_rng(1).random(10 * 288) < 0.4, 0.1, 1.0)
    assert fit_linke(TUCSON_YARD, log_of(days_of(3.0, 10, broken))) is None
    assert fit_linke(TUCSON_YARD, log_of(days_of(3.0, 10, 0.0))) is None


def test_some_cloudy_days_do_not_spoil_the_clear_ones():
    rng = np.random.default_rng(2)
    share = np.where((np.arange(12 * 288) // 288) % 2 == 0, 1.0, np.where(rng.random(12 * 288) < 0.5, 0.2, 0.9))
    fitted = fit_linke(TUCSON_YARD, log_of(days_of(3.0, 12, share)))
    assert fitted is not None
    assert fitted.linke == pytest.approx(3.0, abs=0.15)


def test_few_clear_days_are_not_enough():
    assert fit_linke(TUCSON_YARD, log_of(days_of(3.0, 2))) is None


def test_readings_of_several_lengths_are_joined():
    """Half hours up to eleven, and two that somebody typed: they fill what is missing, and count as means beside."""
    log = sun_log(
        TUCSON_YARD,
        [
            readings(TUCSON_YARD, MORNING, 30, 10, 0.8),
            readings(TUCSON_YARD, MORNING + timedelta(minutes=5), 5, 1, 0.4),
            readings(TUCSON_YARD, NOON - timedelta(minutes=20), 5, 1, 0.5),
        ],
        NOON,
        5,
        linke=None,
    )
    clear, first = clear_dni(TUCSON_YARD, MORNING, 5, 72), 0.8 * clear_dni(TUCSON_YARD, MORNING, 30, 1)[0]
    assert log.warnings == ()
    assert log.dni_w_m2[[0, 2]] == pytest.approx([first, first], rel=1e-5)
    assert log.dni_w_m2[1] == pytest.approx((first + 0.4 * clear[1]) / 2, rel=1e-5)
    assert log.dni_w_m2[68] == pytest.approx(0.5 * clear[68], rel=1e-5)
    assert np.isnan(log.dni_w_m2[[61, 67, 69]]).all()
    assert np.flatnonzero(log.finely_read).tolist() == [1, 68]  # half hours do not show clouds that are shorter


def test_a_stuck_instrument_is_found_by_its_own_steps():
    """Half hours held over slots of five minutes are equal slots, but no stuck instrument."""
    assert log_of(readings(TUCSON_YARD, MORNING, 30, 10, 0.8)).warnings == ()
    both = sun_log(
        TUCSON_YARD,
        [weather(MORNING, 5, 60, dni=500.0), readings(TUCSON_YARD, MORNING, 30, 10, 0.8)],
        NOON, 5, linke=None,
    )  # fmt: skip
    assert both.warnings == ("60 readings of a stuck instrument were left out",)
    assert np.isfinite(both.dni_w_m2[:60]).all()
