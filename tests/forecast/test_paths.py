import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yardplan.forecast.paths import DAY_MEMORY, DAY_SHARE, HOUR_MEMORY, Readings, pulled, stories

START_S = 1_810_000_800.0 - 1_810_000_800 % 3600
HOURS = np.arange(10 * 24)
DAY = 739_000 + HOURS // 24


def made(n_scenarios: int = 2000, seed: int = 1) -> np.ndarray:
    return stories(START_S + HOURS * 3600.0, DAY, n_scenarios, seed)


def test_stories_are_standard_normal_in_every_hour():
    story = made()
    # 2000 draws spread evenly; the sums over hours and days leave a few percent
    assert np.abs(story.mean(axis=0)).max() < 0.05
    assert story.std(axis=0) == pytest.approx(np.ones(len(HOURS)), abs=0.06)


def test_hours_and_days_are_as_alike_as_the_shares_say():
    story = made(8000)
    same_day = np.corrcoef(story[:, 10], story[:, 13])[0, 1]
    next_day = np.corrcoef(story[:, 12], story[:, 36])[0, 1]
    week_later = np.corrcoef(story[:, 12], story[:, 12 + 7 * 24])[0, 1]
    # 8000 draws scatter by 0.011
    assert same_day == pytest.approx(DAY_SHARE + (1 - DAY_SHARE) * HOUR_MEMORY**3, abs=0.04)
    assert next_day == pytest.approx(DAY_SHARE * DAY_MEMORY + (1 - DAY_SHARE) * HOUR_MEMORY**24, abs=0.04)
    assert abs(week_later) < 0.04


def test_one_seed_one_story_whatever_the_axis_begins_with():
    assert np.array_equal(made(50), made(50))
    assert not np.allclose(made(50), made(50, seed=2))
    later = stories(START_S + HOURS[48:] * 3600.0, DAY[48:], 50, 1)
    assert later == pytest.approx(made(50)[:, 48:], abs=2e-3)


@pytest.mark.parametrize("n_scenarios", [1, 2, 21])
def test_few_scenarios_are_spread_evenly(n_scenarios):
    story = made(n_scenarios)
    assert np.isfinite(story).all()
    assert np.abs(story.mean(axis=0)).max() < 0.9
    if n_scenarios == 1:
        assert np.abs(story).max() < 1e-12  # the middle of everything


def test_readings_pull_the_next_hours_and_are_forgotten():
    read = Readings(np.array([8, 9, 10]), np.array([1.5, 1.5, 1.5]), np.array([0.1, 0.1, 0.1]))
    before = made(4000)
    after = pulled(before, DAY, read, 1)
    moved = after.mean(axis=0) - before.mean(axis=0)
    assert moved[10] > 1.2
    assert moved[11] > moved[13] > moved[16] > 0.2
    assert abs(moved[5 * 24 + 12]) < 0.05
    assert after[:, 11].std() < 0.75 * before[:, 11].std()
    assert after[:, 5 * 24].std() == pytest.approx(before[:, 5 * 24].std(), rel=0.02)


def test_pull_is_that_of_the_normal_law():
    """One reading: mean and spread in closed form, correlation over 1 + noise."""
    noise, lead = 0.4, 2
    read = Readings(np.array([10]), np.array([1.0]), np.array([noise]))
    after = pulled(made(20000), DAY, read, 1)
    correlation = DAY_SHARE + (1 - DAY_SHARE) * HOUR_MEMORY**lead
    assert after[:, 10 + lead].mean() == pytest.approx(correlation / (1 + noise), abs=0.03)
    assert after[:, 10 + lead].var() == pytest.approx(1 - correlation**2 / (1 + noise), abs=0.04)


@given(st.lists(st.tuples(st.integers(0, 239), st.floats(-2.6, 2.6), st.floats(0.1, 5)), min_size=0, max_size=15))
def test_any_readings_leave_finite_stories(rows):
    rows = sorted({row[0]: row for row in rows}.values())
    read = Readings(
        np.array([row[0] for row in rows], dtype=np.intp),
        np.array([row[1] for row in rows]),
        np.array([row[2] for row in rows]),
    )
    after = pulled(made(5), DAY, read, 1)
    assert np.isfinite(after).all()
    assert np.abs(after).max() < 12


def test_no_readings_change_nothing():
    none = np.empty(0)
    before = made(5)
    assert pulled(before, DAY, Readings(none.astype(np.intp), none, none), 1) is before
