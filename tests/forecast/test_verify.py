"""Outlooks as they were shown, scored against readings."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from tests.forecast.made_weather import TUCSON_YARD, clear_dni, readings, weather
from tests.forecast.trials import year_of
from yardplan.domain.equipment import Site
from yardplan.domain.slots import SlotGrid
from yardplan.domain.verification import LEVELS, Shown
from yardplan.forecast.correct import fit_correction, pairs_of
from yardplan.forecast.skies import forecast_skies
from yardplan.forecast.verify import ENOUGH_DAYS, LEADS_H, shown, verify

YEAR = year_of("Tucson")
NOW = datetime(2027, 6, 20, 7, tzinfo=UTC)
DAYS = 24
FIRST = NOW - timedelta(days=DAYS)
STEPS = DAYS * 288


def hour_clear(start_s: np.ndarray) -> np.ndarray:
    first = datetime.fromtimestamp(start_s[0], UTC)
    hours = int((start_s[-1] - start_s[0]) / 3600) + 1
    means = clear_dni(TUCSON_YARD, first, 5, hours * 12).reshape(hours, 12).mean(axis=1)
    return means[np.rint((start_s - start_s[0]) / 3600).astype(int)]


def outlook(made_at: datetime, low: float, high: float, days: int = 4) -> Shown:
    """Say of every hour that its share of the clear sky lies evenly between two."""
    start_s = made_at.timestamp() + np.arange(days * 24) * 3600.0
    clear = hour_clear(start_s)
    lit = clear > 0
    share = low + (high - low) * LEVELS[:, None]
    return Shown(made_at, start_s[lit], (share * clear[lit]).astype(np.float32))


def outlooks(low: float, high: float) -> list[Shown]:
    return [outlook(FIRST + timedelta(days=n), low, high) for n in range(DAYS)]


def even_shares(seed: int = 0, low: float = 0.2, high: float = 1.0) -> np.ndarray:
    return np.random.default_rng(seed).uniform(low, high, DAYS * 24).repeat(12)


def scores(said: list[Shown], share, **more):
    return verify(TUCSON_YARD, YEAR, said, [readings(TUCSON_YARD, FIRST, 5, STEPS, share)], now=NOW, **more)


def test_right_outlooks_are_found_right():
    found = scores(outlooks(0.2, 1.0), even_shares())
    assert [one.lead_h for one in found.leads] == list(LEADS_H[1:4])  # made at midnight
    assert found.warnings == ()
    for one in found.leads:
        # some 250 independent hours: shares scatter by 0.025, means by 15 W/m2
        assert one.in_band_frac == pytest.approx(0.8, abs=0.08)
        assert abs(one.bias_w_m2) < 35
        assert one.ranks_frac == pytest.approx((0.1,) * 10, abs=0.08)
        assert sum(one.ranks_frac) == pytest.approx(1)
        assert one.enough == (one.days >= ENOUGH_DAYS)
        assert one.in_band_by_chance[0] < 0.8 < one.in_band_by_chance[1]
        assert 0 <= one.strong_sun_brier <= 0.25
    # an even spread of width w against itself: CRPS w / 6, RMSE w / sqrt(12), by hand
    day = found.leads[1]
    assert day.crps_w_m2 / day.rmse_w_m2 == pytest.approx(np.sqrt(12) / 6, rel=0.06)
    # yesterday's hour misses by w / sqrt(6): skill 1 - 1 / sqrt(2)
    assert day.skill_persistence == pytest.approx(1 - 1 / np.sqrt(2), abs=0.08)


def test_figures_of_a_constant_miss():
    """Everything is said to be 0.6 of the clear sky for sure, and 0.5 comes."""
    found = scores(outlooks(0.6, 0.6), 0.5)
    for one in found.leads:
        assert one.bias_w_m2 > 0
        assert one.crps_w_m2 == pytest.approx(one.bias_w_m2, rel=1e-3)  # of a sure forecast it is the distance
        assert one.nrmse_frac == pytest.approx(0.2, abs=0.02)
        assert one.in_band_frac == 0
        assert one.ranks_frac[0] == pytest.approx(1)
        # the band has no width: 2 / 0.2 times what lies outside
        assert one.band_score_w_m2 == pytest.approx(10 * one.bias_w_m2, rel=1e-3)


def test_persistence_is_the_last_day_that_was_read_before():
    """With the same sky every day yesterday's hour is perfect; the skill of a miss against it is undefined or worse."""
    for one in scores(outlooks(0.6, 0.6), 0.5).leads:
        assert one.skill_persistence < 0 or np.isnan(one.skill_persistence)


def test_sharp_and_right_beats_the_climate():
    found = scores(outlooks(0.65, 0.75), even_shares(1, 0.65, 0.75))
    assert all(one.skill_climate > 0.5 for one in found.leads)
    wrong = scores(outlooks(0.0, 0.05), even_shares(1, 0.65, 0.75))
    assert all(one.skill_climate < 0 for one in wrong.leads)


def test_hours_that_were_not_read_do_not_count():
    measured = readings(TUCSON_YARD, FIRST, 5, STEPS, 0.5)
    dni = measured.dni_w_m2.copy()
    dni[: STEPS // 2] = np.nan
    whole, half = (
        verify(TUCSON_YARD, YEAR, outlooks(0.2, 1.0), [it], now=NOW)
        for it in (measured, replace(measured, dni_w_m2=dni))
    )
    for one, other in zip(half.leads, whole.leads, strict=True):
        assert one.hours < 0.6 * other.hours
        assert not one.enough


def test_few_days_are_said_to_be_few():
    few = [outlook(NOW - timedelta(days=5 - n), 0.2, 1.0) for n in range(5)]
    assert not any(one.enough for one in scores(few, even_shares()).leads)


def test_nothing_to_judge_gives_no_scores():
    assert scores([], 0.5).leads == ()
    unread = weather(FIRST, 5, STEPS)
    assert verify(TUCSON_YARD, YEAR, outlooks(0.2, 1.0), [unread], now=NOW).leads == ()
    later = [outlook(NOW + timedelta(days=1), 0.2, 1.0)]
    assert scores(later, 0.5).leads == ()


def test_a_sudden_bias_is_told():
    share = np.where(np.arange(STEPS) < STEPS - 7 * 288, 0.6, 0.3) * np.random.default_rng(0).uniform(0.9, 1.1, STEPS)
    found = scores(outlooks(0.2, 1.0), share)
    assert any("sunnier against the readings than before" in text for text in found.warnings)
    assert scores(outlooks(0.2, 1.0), even_shares()).warnings == ()


def test_what_is_kept_of_an_outlook_is_what_was_shown():
    grid = SlotGrid(NOW, 2 * 288, TUCSON_YARD.tz)
    now = NOW + timedelta(hours=8, minutes=20)
    skies = forecast_skies(TUCSON_YARD, YEAR, None, (), grid, now=now, n_scenarios=101)
    kept = shown(skies, now)
    assert kept.made_at == now
    assert (kept.start_s >= now.timestamp()).all()
    assert (np.diff(kept.dni_w_m2, axis=0) >= 0).all()
    assert kept.dni_w_m2.shape == (len(LEVELS), len(kept.start_s))
    hour = int((kept.start_s[5] - NOW.timestamp()) // 300)
    means = skies.dni_w_m2[:, hour : hour + 12].mean(axis=1)
    assert kept.dni_w_m2[10, 5] == pytest.approx(np.median(means), abs=0.1)
    assert kept.dni_w_m2[[0, -1], 5] == pytest.approx([means.min(), means.max()], abs=0.1)


def test_outlooks_without_any_sun_are_kept_empty():
    night = SlotGrid(NOW, 3 * 12, TUCSON_YARD.tz)
    kept = shown(forecast_skies(TUCSON_YARD, YEAR, None, (), night, now=NOW, n_scenarios=5), NOW)
    assert kept.dni_w_m2.shape == (len(LEVELS), 0)
    assert len(kept.start_s) == 0


def test_the_programs_own_outlooks_are_fair_to_the_climate():
    """Skies drawn from the season itself, read from another draw: no bias, right band, no skill over the season."""
    made_at = FIRST + timedelta(hours=12)
    grid = SlotGrid(made_at, 20 * 288, TUCSON_YARD.tz)
    skies = forecast_skies(TUCSON_YARD, YEAR, None, (), grid, now=made_at, n_scenarios=200, seed=1)
    came = forecast_skies(TUCSON_YARD, YEAR, None, (), grid, now=made_at, n_scenarios=40, seed=2)
    bands, skills = [], []
    for path in came.dni_w_m2[:6]:
        measured = weather(made_at, 5, grid.n_slots, dni=path)
        found = verify(TUCSON_YARD, YEAR, [shown(skies, made_at)], [measured], now=made_at + timedelta(days=20))
        bands += [one.in_band_frac for one in found.leads]
        skills += [one.skill_climate for one in found.leads]
    assert np.mean(bands) == pytest.approx(0.8, abs=0.05)
    assert np.mean(skills) == pytest.approx(0.0, abs=0.05)


@pytest.mark.parametrize(
    ("site", "on", "lit"),
    [
        (Site("Half-hour zone", 26.9, 75.8, 431.0, "Asia/Kolkata"), date(2027, 5, 17), True),
        (Site("South", -28.4, 21.3, 835.0, "Africa/Johannesburg"), date(2027, 6, 20), True),
        (Site("Clocks go back", 40.4, -3.7, 660.0, "Europe/Madrid"), date(2027, 10, 29), True),
        (Site("Polar night", 78.2, 15.6, 20.0, "Arctic/Longyearbyen"), date(2027, 12, 20), False),
    ],
)
def test_outlooks_of_odd_places_are_kept_and_scored(site, on, lit):
    grid = SlotGrid.of_days(on, 4, site.tz)
    forecast = weather(grid.start_at, 60, 96, grid.start_at, cloud=0.5)
    skies = forecast_skies(site, YEAR, forecast, (), grid, now=grid.start_at, n_scenarios=11)
    kept = shown(skies, grid.start_at)
    measured = readings(site, grid.start_at, 5, grid.n_slots, 0.6)
    found = verify(site, YEAR, [kept], [measured], now=grid.end_at)
    assert bool(len(kept.start_s)) == bool(found.leads) == lit
    for one in found.leads:
        assert one.hours > 0
        assert np.isfinite([one.bias_w_m2, one.crps_w_m2, one.in_band_frac, one.skill_climate]).all()
    learned = fit_correction(pairs_of(site, YEAR, [(forecast,)], [measured], grid.end_at))
    assert (learned.told.applied, learned.told.days > 0) == (False, lit)


def test_hours_that_will_not_be_judged_are_not_kept():
    grid = SlotGrid(NOW, 12 * 288, TUCSON_YARD.tz)
    kept = shown(forecast_skies(TUCSON_YARD, YEAR, None, (), grid, now=NOW, n_scenarios=5), NOW)
    assert kept.start_s[-1] < NOW.timestamp() + LEADS_H[-1][1] * 3600
