"""Scores against closed forms and published or hand-counted values."""

from itertools import pairwise
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from yardplan.forecast.scores import (
    bias,
    brier,
    crps,
    hits_by_chance,
    interval_score,
    pinball,
    place_in,
    rmse,
    share_within,
    skill,
)


def gaussian_crps(mean: float, deviation: float, came: float) -> float:
    scores = np.linspace(-8, 8, 8001)
    return float(crps(norm.cdf(scores), (mean + deviation * scores)[:, None], np.array([came]))[0])


# Source: closed form s (z (2 Phi(z) - 1) + 2 phi(z) - 1 / sqrt(pi)), Gneiting and Raftery 2007; computed three ways
@pytest.mark.parametrize(
    ("mean", "deviation", "came", "expected"),
    [
        (0, 1, 0, (sqrt(2) - 1) / sqrt(np.pi)),
        (0, 1, 0, 0.233695),
        (0, 1, 1, 0.602441),
        (0, 1, -3, 2.436575),
        (5, 2, 6.5, 0.896289),
    ],
)
def test_crps_of_a_normal_distribution(mean, deviation, came, expected):
    assert gaussian_crps(mean, deviation, came) == pytest.approx(expected, abs=2e-6)


def test_crps_of_members():
    """Four members as steps of equal chance; the energy form gives 0.5 (computed three ways)."""
    levels = np.array([0, 0.25, 0.25, 0.5, 0.5, 0.75, 0.75, 1.0])
    members = np.array([2.0, 2, 4, 4, 5, 5, 7, 7])[:, None]
    assert crps(levels, members, np.array([4.5]))[0] == pytest.approx(0.5, abs=1e-12)


@given(st.lists(st.floats(0, 1000), min_size=3, max_size=12), st.floats(-100, 1100))
def test_crps_is_the_integral_over_the_distribution(values, came):
    """The other form: the integral of (CDF - step) squared, summed up finely."""
    quantiles = np.sort(np.array(values))
    levels = np.linspace(0, 1, len(quantiles))
    axis = np.linspace(-200, 1200, 140001)
    apart = quantiles + 1e-9 * np.arange(len(quantiles))
    cdf = np.where(axis < quantiles[0], 0, np.where(axis >= quantiles[-1], 1, np.interp(axis, apart, levels)))
    integral = ((cdf - (axis >= came)) ** 2).sum() * (axis[1] - axis[0])
    assert crps(levels, quantiles[:, None], np.array([came]))[0] == pytest.approx(integral, abs=0.2)


@pytest.mark.parametrize(
    ("level", "came", "expected"), [(0.9, 7, 1.8), (0.9, 4, 0.1), (0.1, 7, 0.2), (0.1, 4, 0.9)]
)  # computed two ways
def test_pinball(level, came, expected):
    assert pinball(level, np.array([5.0]), np.array([float(came)]))[0] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("came", "expected"), [(5, 5), (2, 25), (9, 25)])  # computed two ways
def test_interval_score(came, expected):
    score = interval_score(np.array([3.0]), np.array([8.0]), np.array([float(came)]), 0.9)
    assert score[0] == pytest.approx(expected, abs=1e-9)


def test_brier():
    # by hand
    chances, happened = np.array([0.9, 0.7, 0.2, 0.4, 0.1]), np.array([1.0, 1, 0, 1, 0])
    assert brier(chances, happened) == pytest.approx(0.102, abs=1e-12)
    # Source: Murphy 1973, reliability 0.00133 - resolution 0.10333 + uncertainty 0.24; by hand
    chances = np.repeat([0.1, 0.5, 0.9], [10, 4, 6])
    happened = np.concatenate([[1.0], np.zeros(9), [1, 1, 0, 0], [1, 1, 1, 1, 1, 0]])
    assert brier(chances, happened) == pytest.approx(0.00133 - 0.10333 + 0.24, abs=1e-5)


def test_errors_of_a_mean_and_skill_against_persistence():
    # by hand; usage as in Yang et al. 2020 (from memory)
    said, came = np.array([5.0, 6, 7, 4, 3]), np.array([6.0, 6, 5, 4.5, 2])
    persistence = np.array([5.0, 6, 6, 5, 4.5])
    assert rmse(said, came) == pytest.approx(1.1180, abs=1e-4)
    assert bias(said, came) == pytest.approx(0.3, abs=1e-12)
    assert rmse(said, came) / came.mean() == pytest.approx(0.2379, abs=1e-4)
    assert skill(rmse(said, came), rmse(persistence, came)) == pytest.approx(0.1425, abs=1e-4)


def test_hits_that_chance_allows():
    # binomial, 95 %
    assert hits_by_chance(100, 0.9) == (84, 95)
    assert hits_by_chance(50, 0.9) == (41, 49)


def test_ranks_of_readings_from_their_own_distribution_are_even():
    """Variance 1/12 of a uniform distribution; the spread of 20,000 draws is 0.0005."""
    rng = np.random.default_rng(3)
    levels = np.linspace(0, 1, 41)
    quantiles = np.quantile(rng.gamma(2, 100, 40000), levels)
    came = rng.gamma(2, 100, 20000)
    below, at = place_in(levels, np.repeat(quantiles[:, None], len(came), axis=1), came)
    assert np.array_equal(below, at)
    assert np.var(at) == pytest.approx(1 / 12, abs=0.003)
    shares = [share_within(below, at, low, low + 0.1).mean() for low in np.arange(10) / 10]
    assert shares == pytest.approx([0.1] * 10, abs=0.01)


def test_a_lump_at_zero_is_spread_evenly():
    """Half of the hours dark, and they are: places fill the lump, so nothing looks too good or too bad."""
    levels = np.linspace(0, 1, 11)
    quantiles = np.repeat(np.array([0, 0, 0, 0, 0, 0, 100, 200, 300, 400, 500.0])[:, None], 2, axis=1)
    below, at = place_in(levels, quantiles, np.array([0.0, 250.0]))
    assert below == pytest.approx([0, 0.75])
    assert at == pytest.approx([0.5, 0.75])
    assert share_within(below, at, 0.1, 0.9) == pytest.approx([0.8, 1])
    assert share_within(below, at, 0.0, 0.1) == pytest.approx([0.2, 0])


@given(st.lists(st.floats(0, 1000), min_size=2, max_size=9), st.floats(-10, 1010))
def test_tenths_of_the_distribution_share_out_every_reading(values, came):
    quantiles = np.sort(np.array(values))[:, None]
    below, at = place_in(np.linspace(0, 1, len(quantiles)), quantiles, np.array([came]))
    assert 0 <= below[0] <= at[0] <= 1
    edges = np.linspace(0, 1, 11)
    total = sum(share_within(below, at, low, high)[0] for low, high in pairwise(edges))
    assert total == pytest.approx(1)
