"""Pairs of forecasts and readings, and what is learned from them."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr

from tests.forecast.made_weather import TUCSON_YARD, clear_dni, readings, weather
from tests.forecast.trials import year_of
from yardplan.forecast.conditional import INDEX_NODES, mean_index
from yardplan.forecast.correct import LEAST_DAYS, WINDOW_DAYS, Correction, Pairs, fit_correction, pairs_of

YEAR = year_of("Tucson")
NOW = datetime(2027, 6, 20, 12, tzinfo=UTC)
FIRST = NOW - timedelta(days=40)


def made_pairs(days: int, shift: float = 0.0, spread: float = 1.0, seed: int = 0) -> Pairs:
    """Hours whose distributions are right but for a shift and a spread of the normal scores."""
    rng = np.random.default_rng(seed)
    hours = days * 12
    centers = rng.uniform(-0.5, 1.0, hours)[:, None]
    cdf = ndtr((INDEX_NODES - 0.5 - 0.3 * centers) / 0.25)
    cdf[:, -1] = 1
    score = shift + spread * rng.standard_normal(hours)
    index = np.array([np.interp(ndtr(one), row, INDEX_NODES) for one, row in zip(score, cdf, strict=True)])
    lead_h = np.tile([12.0, 36, 60, 100], days * 3)
    return Pairs(739_000 + np.repeat(np.arange(days), 12), lead_h, np.full(hours, 800.0), cdf, index)


def test_right_forecasts_are_left_alone():
    fitted = [fit_correction(made_pairs(30, seed=seed)).correction for seed in range(12)]
    untouched = [
        it.told for it in map(fit_correction, (made_pairs(30, seed=n) for n in range(12))) if not it.correction
    ]
    assert all("did not help on those held out" in told.text for told in untouched)
    # chance lets some pass; what passes is small
    assert sum(it is not None for it in fitted) <= 5
    for it in fitted:
        if it is not None:
            assert np.abs(it.shift).max() < 0.25
            assert it.spread == pytest.approx((1,) * 4, abs=0.15)


@pytest.mark.parametrize("shift", [-0.8, 0.6])
def test_a_bias_is_found(shift):
    fitted = fit_correction(made_pairs(40, shift)).correction
    assert fitted is not None
    trust = 40 / (40 + 8)
    assert fitted.shift == pytest.approx((trust * shift,) * 4, abs=0.12)
    assert fitted.gain_frac > 0.05
    assert fitted.days == 40
    told = fit_correction(made_pairs(40, shift)).told
    assert told.applied
    way = "sunny" if shift < 0 else "dull"
    assert told.text.startswith(f"forecasts are corrected, since they were too {way}: learned on 40 days with measured")


@pytest.mark.parametrize(("spread", "wider"), [(1.6, True), (0.65, False)])
def test_a_wrong_spread_is_found(spread, wider):
    fitted = fit_correction(made_pairs(40, 0.0, spread)).correction
    assert fitted is not None
    assert (np.array(fitted.spread) > 1).all() == wider


def test_few_days_correct_little_and_too_few_nothing():
    too_few = fit_correction(made_pairs(LEAST_DAYS - 1, -1.5))
    assert too_few.correction is None
    assert f"on {LEAST_DAYS - 1} days, {LEAST_DAYS} are needed" in too_few.told.text
    few, many = (fit_correction(made_pairs(days, -0.8)).correction for days in (LEAST_DAYS + 2, 45))
    assert few is not None
    assert many is not None
    assert abs(np.mean(few.shift)) < abs(np.mean(many.shift))


def test_what_a_correction_learned_sets_the_hours_right():
    pairs, later = made_pairs(40, -0.8, 1.3), made_pairs(40, -0.8, 1.3, seed=5)
    fitted = fit_correction(pairs).correction
    assert fitted is not None
    corrected = fitted.applied(later.cdf, later.lead_h)
    before = (mean_index(later.cdf) - later.index).mean()
    after = (mean_index(corrected) - later.index).mean()
    assert abs(after) < 0.3 * abs(before)


@given(
    st.tuples(*[st.floats(-2, 2)] * 4),
    st.tuples(*[st.floats(0.6, 1.8)] * 4),
    st.lists(st.floats(0, 300), min_size=1, max_size=8),
    st.floats(0, 1),
)
def test_corrected_distributions_are_distributions(shift, spread, lead_h, share):
    correction = Correction(shift, spread, 30, 0.1)
    cdf = np.tile(np.clip(INDEX_NODES / 1.15, 0.1, 1), (len(lead_h), 1))
    corrected = correction.applied(cdf, np.array(lead_h), np.full(len(lead_h), share))
    assert np.isfinite(corrected).all()
    assert (np.diff(corrected, axis=1) >= 0).all()
    assert corrected[:, -1] == pytest.approx(1)
    untouched = correction.applied(cdf, np.array(lead_h), np.zeros(len(lead_h)))
    assert untouched == pytest.approx(cdf, abs=1e-12)


def archive(days: int, cloud: float = 0.2, step_days: int = 1) -> list:
    return [
        (weather(issued_at, 60, 96, issued_at, cloud=cloud),)
        for issued_at in (FIRST + timedelta(days=n) for n in range(0, days, step_days))
    ]


def test_pairs_are_hours_after_the_forecast_that_were_read():
    measured = readings(TUCSON_YARD, FIRST, 5, 20 * 288, 0.7)
    pairs = pairs_of(TUCSON_YARD, YEAR, archive(20), [measured], NOW)
    assert set(np.unique(np.ceil(pairs.lead_h / 24))) == {1, 2, 3, 4}
    assert (pairs.lead_h > 0).all()
    assert pairs.index == pytest.approx(np.full(len(pairs.index), 0.7), abs=0.01)
    assert len(np.unique(pairs.day)) >= 19
    assert pairs.cdf.shape == (len(pairs.index), len(INDEX_NODES))
    # 20 days with some 11 hours of sun above 7 degrees, each said by up to four forecasts
    assert 20 * 11 * 3 < len(pairs.index) < 20 * 13 * 4


def test_many_forecasts_of_a_day_count_once_in_twelve_hours():
    measured = readings(TUCSON_YARD, FIRST, 5, 4 * 288, 0.7)
    every_hour = [(weather(at, 60, 48, at, cloud=0.2),) for at in (FIRST + timedelta(hours=n) for n in range(24))]
    first_two = [every_hour[0], every_hour[12]]
    many, few = (pairs_of(TUCSON_YARD, YEAR, said, [measured], NOW) for said in (every_hour[::-1], first_two))
    assert np.array_equal(many.index, few.index)
    assert np.array_equal(many.lead_h, few.lead_h)


def test_a_forecast_that_says_clear_over_a_hazy_yard_is_learned_from():
    noise = np.random.default_rng(0).uniform(0.4, 0.6, 30 * 24).repeat(12)
    measured = readings(TUCSON_YARD, FIRST, 5, 30 * 288, noise)
    fitted = fit_correction(pairs_of(TUCSON_YARD, YEAR, archive(30, cloud=0.0), [measured], NOW)).correction
    assert fitted is not None
    assert max(fitted.shift) < -0.2


def test_nothing_to_learn_from_is_no_pair():
    measured = readings(TUCSON_YARD, FIRST, 5, 288, 0.7)
    assert len(pairs_of(TUCSON_YARD, YEAR, [], [measured], NOW).index) == 0
    unread = replace(measured, dni_w_m2=np.full(288, np.nan))
    assert len(pairs_of(TUCSON_YARD, YEAR, archive(5), [unread], NOW).index) == 0
    old = [(weather(at, 60, 96, at, cloud=0.1),) for at in [NOW - timedelta(days=WINDOW_DAYS + 3)]]
    assert len(pairs_of(TUCSON_YARD, YEAR, old, [measured], NOW).index) == 0
    nothing = fit_correction(pairs_of(TUCSON_YARD, YEAR, [], [measured], NOW))
    assert nothing.correction is None
    assert "none of this service has been met by measured sun yet" in nothing.told.text
    assert clear_dni(TUCSON_YARD, FIRST, 5, 288).any()
