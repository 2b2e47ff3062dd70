from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.forecast.made_years import TUCSON, made_year, typical
from tests.forecast.trials import year_of
from yardplan.forecast.conditional import (
    INDEX_NODES,
    LOW_SUN_DEG,
    Likeness,
    _forecast_chance,
    cdf_at,
    conditional_cdf,
    cover_of_total,
    index_crps,
    inverse,
    lead_climatology_share,
    lead_rank_correlation,
    mean_index,
    mixed,
    samples,
    total_of_direct,
)
from yardplan.forecast.scenarios import INDEX_CAP
from yardplan.forecast.scores import crps


@pytest.fixture(scope="module")
def tucson():
    return samples(year_of("Tucson"))


@pytest.fixture(scope="module")
def like(tucson):
    """Every 29th hour of the year itself, so all seasons and times of day."""
    return Likeness.of(tucson, tucson.sun.at(np.arange(0, len(tucson.index), 29)))


def step_at(index: float) -> np.ndarray:
    return (index <= INDEX_NODES).astype(float)[None]


def test_samples_are_the_hours_with_a_high_sun(tucson):
    assert (tucson.sun.elevation_deg >= LOW_SUN_DEG).all()
    assert 3900 < len(tucson.index) < 4100
    assert (tucson.index >= 0).all()
    assert (tucson.index <= INDEX_CAP).all()
    noon = np.abs(tucson.sun.solar_h - 12) < 0.5
    # by the sun's geometry: highest at solar noon, 90 - |latitude - declination| in June
    june = noon & (np.abs(tucson.sun.day_of_year - 171) < 3)
    assert tucson.sun.elevation_deg[june].mean() == pytest.approx(90 - (32.17 - 23.44), abs=1.5)


@given(st.lists(st.floats(0, 1), min_size=2, max_size=2), st.floats(0, 0.99))
def test_more_forecast_cloud_never_gives_more_sun(like, clouds, rank_correlation):
    hours = like.clear_tenths.shape[0]
    table = like.table(np.full(hours, rank_correlation))
    clearer, duller = (conditional_cdf(table, np.full(hours, cloud)) for cloud in sorted(clouds))
    assert (duller >= clearer - 1e-12).all()
    assert (mean_index(duller) <= mean_index(clearer) + 1e-12).all()


@given(st.floats(0, 1), st.floats(0, 0.99), st.floats(0, 1))
def test_distributions_are_distributions(like, cloud, rank_correlation, share):
    hours = like.clear_tenths.shape[0]
    told = conditional_cdf(like.table(np.full(hours, rank_correlation)), np.full(hours, cloud))
    cdf = mixed(told, like.climatology(), np.full(hours, share))
    assert np.isfinite(cdf).all()
    assert (np.diff(cdf, axis=1) >= -1e-12).all()
    assert (cdf >= 0).all()
    assert cdf[:, -1] == pytest.approx(1)


def test_a_forecast_that_knows_nothing_is_the_climate(like):
    hours = like.clear_tenths.shape[0]
    for cloud in (0.0, 0.5, 1.0):
        told = conditional_cdf(like.table(np.zeros(hours)), np.full(hours, cloud))
        assert np.abs(told - like.climatology()).max() < 1e-3


def test_a_better_forecast_says_more(like):
    hours = like.clear_tenths.shape[0]
    apart = []
    for rank_correlation in (0.2, 0.5, 0.8, 0.95):
        table = like.table(np.full(hours, rank_correlation))
        dull, clear = (mean_index(conditional_cdf(table, np.full(hours, cloud))) for cloud in (1.0, 0.0))
        apart.append(float((clear - dull).mean()))
    assert apart == sorted(apart)
    assert apart[-1] > 2 * apart[0]


def test_mixing_is_of_chances_not_of_values():
    """Half clear, half dark stays clear or dark; half of each value would be a sky that never is."""
    cdf = mixed(step_at(0.0), step_at(1.0), np.array([0.5]))
    values = inverse(cdf, np.array([[0.1], [0.4], [0.6], [0.9]]))[:, 0]
    assert values[:2] == pytest.approx([0, 0], abs=0.02)
    assert values[2:] == pytest.approx([1, 1], abs=0.02)
    assert mean_index(cdf)[0] == pytest.approx(0.5, abs=0.01)


@given(
    st.lists(st.floats(0, 1), min_size=len(INDEX_NODES) - 1, max_size=len(INDEX_NODES) - 1),
    st.floats(0, INDEX_CAP),
)
def test_score_agrees_with_the_score_of_quantiles(steps, came):
    """Two forms of one score: the integral over the index, and that over the chances."""
    rises = np.array(steps) + 1e-3
    cdf = np.concatenate([[0.0], np.cumsum(rises) / rises.sum()])
    by_index = index_crps(cdf[None], np.array([came]))[0]
    by_chance = crps(cdf, INDEX_NODES[:, None], np.array([came]))[0]
    assert by_index == pytest.approx(by_chance, abs=1e-9)


def test_score_of_certainty_is_the_distance():
    assert index_crps(step_at(0.494), np.array([0.8]))[0] == pytest.approx(
        0.3 + 0.0125 / 3, abs=1e-9
    )  # rises over a step


def test_places_in_a_distribution(like):
    cdf = like.climatology()
    chance = np.full((1, len(cdf)), 0.7)
    index = inverse(cdf, chance)[0]
    below, at = cdf_at(cdf, index)
    above_lump = index > 0
    assert at[above_lump] == pytest.approx(0.7, abs=1e-9)
    assert np.array_equal(below[above_lump], at[above_lump])
    below, at = cdf_at(cdf, np.zeros(len(cdf)))
    assert not below.any()
    assert np.array_equal(at, cdf[:, 0])


def test_made_forecasts_and_clouds_share_their_frequencies():
    """The chances of tenths form a Gaussian copula: rows and columns have the frequencies of the clouds."""
    frequencies = np.array([30, 5, 0, 8, 7, 10, 4, 6, 9, 6, 15]) / 100
    edges = np.concatenate([[0], np.cumsum(frequencies)])
    joint = _forecast_chance(edges, np.array([0.0, 0.6, 0.9])) * frequencies
    for table in joint:
        assert table.sum(axis=0) == pytest.approx(frequencies, abs=2e-3)
        assert table.sum(axis=1) == pytest.approx(frequencies, abs=3e-3)
    assert joint[0] == pytest.approx(np.outer(frequencies, frequencies), abs=1e-3)


def test_between_hemispheres_the_year_is_turned(tucson):
    """A yard in the south has its December like a northern June."""
    sun = tucson.sun.at(np.flatnonzero(np.abs(tucson.sun.solar_h - 12) < 0.5))
    opposite = replace(sun, day_of_year=(sun.day_of_year + 182.5) % 365)
    here = mean_index(Likeness.of(tucson, sun).climatology())
    there = mean_index(Likeness.of(tucson, opposite, southern=True).climatology())
    assert there == pytest.approx(here, abs=1e-9)


def test_years_without_clouds_take_them_from_global_light():
    # Source: Larson et al. 2016, global = (0.35 + 0.65 (1 - cover)) x clear sky
    assert cover_of_total(np.array([1.0, 0.35, 0.675, 1.2, 0.1])) == pytest.approx([0, 1, 0.5, 0, 1])
    year = typical(made_year(0.5, TUCSON))
    bare = replace(year, weather=replace(year.weather, cloud_frac=np.full(8760, np.nan)))
    found = samples(bare)
    assert np.isfinite(found.clouded_frac).all()
    assert found.clouded_frac == pytest.approx(cover_of_total(found.total_index))


def test_global_light_rises_with_direct_light(tucson):
    total = total_of_direct(tucson)
    assert np.isfinite(total).all()
    assert 0.15 < total[0] < 0.6
    at_one = total[np.searchsorted(INDEX_NODES, 0.95)]
    assert at_one == pytest.approx(1, abs=0.1)
    assert (np.diff(total[:80:8]) > 0).all()


def test_with_lead_a_forecast_counts_less():
    lead = np.array([0.0, 12, 36, 84, 132, 300])
    assert lead_rank_correlation(lead) == pytest.approx([0.85, 0.85, 0.75, 0.60, 0.50, 0.50])
    assert (np.diff(lead_climatology_share(lead)) >= 0).all()
