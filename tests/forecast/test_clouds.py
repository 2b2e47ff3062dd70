import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from tests.forecast.acceptance import telegraph
from yardplan.forecast.clouds import LEAST_DONORS, Donors, donors_of, within_hours
from yardplan.forecast.scenarios import INDEX_CAP

DAY_HOURS = 24
HOUR = np.arange(DAY_HOURS * 12).reshape(DAY_HOURS, 12) / 12
CLEAR = np.clip(950 * np.sin((HOUR - 6) / 12 * np.pi), 0, None).astype(np.float32)
LIT = CLEAR.any(axis=1)


def hour_means(slots: np.ndarray) -> np.ndarray:
    return (slots.astype(float) * CLEAR).sum(axis=2) / np.where(LIT, CLEAR.sum(axis=1), 1)


@given(arrays(float, (4, DAY_HOURS), elements=st.floats(0, INDEX_CAP)), st.integers(0, 9), st.booleans())
def test_every_hour_keeps_its_mean_and_its_bounds(index, seed, copied):
    donors = donors_of(*telegraph(1200, 1)) if copied else None
    slots = within_hours(index, CLEAR, 5, seed=seed, donors=donors)
    assert slots.shape == (4, DAY_HOURS, 12)
    assert np.isfinite(slots).all()
    assert slots.min() >= 0
    assert slots.max() <= INDEX_CAP + 1e-5
    # 0.01 W/m2 of an hour with up to 950
    assert hour_means(slots)[:, LIT] == pytest.approx(index[:, LIT], abs=1e-5)


def test_one_seed_one_sky():
    index = np.full((3, DAY_HOURS), 0.5)
    first, again, other = (within_hours(index, CLEAR, 5, seed=seed) for seed in (4, 4, 5))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_half_sunny_hours_are_neither_flat_nor_all_alike():
    slots = within_hours(np.full((400, DAY_HOURS), 0.5), CLEAR, 5, seed=0)[:, LIT]
    spread = slots.std(axis=2)
    assert np.median(spread) > 0.15
    assert np.quantile(spread, 0.05) < 0.15  # thin, even clouds
    assert np.quantile(spread, 0.95) > 0.35  # broken, thick ones


def test_clear_and_dark_hours_stay_even():
    for index in (0.0, 1.0, 1.1):
        slots = within_hours(np.full((20, DAY_HOURS), index), CLEAR, 5, seed=0)[:, LIT]
        assert np.abs(slots - index).max() < 0.01


def test_clouds_go_on_over_the_hour():
    """Neighboring slots are as alike across the border of two hours as within one, when both are half sunny."""
    slots = within_hours(np.full((3000, DAY_HOURS), 0.5), CLEAR, 5, seed=0)[:, 9:15]
    across = np.corrcoef(slots[:, 1, -1], slots[:, 2, 0])[0, 1]
    within = np.corrcoef(slots[:, 1, 5], slots[:, 1, 6])[0, 1]
    assert across > 0.6 * within


@pytest.mark.parametrize("slot_min", [5, 10, 15, 30, 60])
def test_slots_of_any_length_that_divides_an_hour(slot_min):
    clear = CLEAR.reshape(DAY_HOURS, 60 // slot_min, -1).mean(axis=2)
    slots = within_hours(np.full((5, DAY_HOURS), 0.6), clear, slot_min, seed=0)
    mean = (slots * clear).sum(axis=2)[:, LIT] / clear.sum(axis=1)[LIT]
    assert mean == pytest.approx(np.full(mean.shape, 0.6), abs=1e-5)


def test_night_only_has_no_clouds():
    slots = within_hours(np.full((2, 3), 0.4), np.zeros((3, 12), np.float32), 5, seed=0)
    assert np.array_equal(slots, np.full((2, 3, 12), 0.4, np.float32))


def test_donors_are_whole_hours_of_broken_cloud():
    came, clear = telegraph(200, 3)
    came[7, 4] = np.nan
    clear[8] = 0
    donors = donors_of(came, clear)
    assert (np.diff(donors.mean_index) >= 0).all()
    assert donors.mean_index.min() > 0.15
    assert donors.mean_index.max() < 0.85
    assert len(donors.mean_index) == len(donors.shape)
    assert donors.shape.mean(axis=1) == pytest.approx(donors.mean_index, abs=1e-5)  # even clear sky in each hour


def test_enough_donors_are_copied_from():
    """Logged hours whose sun comes in the first half only give hours whose sun comes in the first half."""
    mean = np.linspace(0.2, 0.8, LEAST_DONORS)
    shape = np.repeat(np.array([1.0] * 6 + [0.0] * 6, np.float32)[None], LEAST_DONORS, axis=0)
    flat_sky = np.full((5, 12), 800, np.float32)
    copied = within_hours(np.full((10, 5), 0.4), flat_sky, 5, seed=0, donors=Donors(mean, shape))
    assert copied[..., :6] == pytest.approx(np.full((10, 5, 6), 0.8), abs=1e-5)
    few = Donors(mean[1:], shape[1:])
    made = within_hours(np.full((10, 5), 0.4), flat_sky, 5, seed=0, donors=few)
    assert made[..., 6:].max() > 0.2
