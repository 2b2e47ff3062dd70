"""Weather stories: correlated standard normal paths that order the scenarios hour by hour.

Right distributions with independent hours give days that are all alike, and so a false certainty of a day's heat. Two
scales carry the dependence: what the hours of a day have in common, of which the next day remembers some, and clouds
that come and go within hours. The shares were chosen for the spread of day totals on typical years with made-up
forecasts, so they are assumptions for any one yard.
"""

from typing import NamedTuple

import numpy as np

from yardplan.forecast.hours import Places
from yardplan.forecast.sky import Floats

DAY_SHARE = 0.35
"""Share of the variance that all hours of a day have in common."""

DAY_MEMORY = 0.4
"""Correlation of that common part from one day to the next."""

HOUR_MEMORY = 0.75
"""Correlation of the other part from one hour to the next."""

READING_NOISE = 0.5
"""Variance of a whole hour's reading around its story: clouds shorter than the hours.

Less makes the next hour surer than it turned out to be, on three years of hours with made-up forecasts. Of a part of
an hour it grows with the root: at Payerne (June 2016, BSRN) a quarter of an hour correlates with the next hour by
0.73, the whole hour by 0.83.
"""

_SPIN_UP_DAYS = 10


class Readings(NamedTuple):
    """What was measured of some hours, on the scale of the stories; every array is (reading,).

    `hour` is the place on the axis of hours, `score` the normal score of what was read in that hour's distribution,
    `noise` the variance of the score around the story.
    """

    hour: Places
    score: Floats
    noise: Floats


def stories(start_s: Floats, day: Places, n_scenarios: int, seed: int) -> Floats:
    """Return one standard normal path a scenario: ndarray (scenario, hour).

    The noise belongs to the calendar, so scenario k tells the same story of an hour whatever the axis begins with: a
    plan made anew next morning sees the same skies with newer knowledge. In every hour and day the noise of the
    scenarios is spread evenly over the normal distribution, so that few scenarios still have the right spread.

    Parameters
    ----------
    start_s : ndarray (hour,) [s]
        Starts of consecutive clock hours since 1970-01-01 UTC.
    day : ndarray (hour,)
        Number of the day on the yard's clock that an hour belongs to, counted from the year 1.
    """
    first_h, last_h = int(start_s[0] // 3600), int(start_s[-1] // 3600)
    utc_days = range(first_h // 24 - _SPIN_UP_DAYS, last_h // 24 + 1)
    hourly = _remembering([_noise(n_scenarios, 24, (seed, 0, on)) for on in utc_days], HOUR_MEMORY)
    skipped_h = first_h - utc_days[0] * 24
    within = hourly[:, skipped_h : skipped_h + len(start_s)]
    days = range(int(day[0]) - _SPIN_UP_DAYS, int(day[-1]) + 1)
    common = _remembering([_noise(n_scenarios, 1, (seed, 1, on)) for on in days], DAY_MEMORY)
    path: Floats = np.sqrt(DAY_SHARE) * common[:, day - days[0]] + np.sqrt(1 - DAY_SHARE) * within
    return path


def pulled(story: Floats, day: Places, readings: Readings, seed: int) -> Floats:
    """Return the stories moved by what was read: ndarray (scenario, hour).

    Conditional simulation: the readings move each story by as much as they differ from it, less their noise, weighed
    by the correlation that is left; hours later a story is what it was. Source: Journel and Huijbregts, Mining
    Geostatistics, 1978, on conditioning by kriging (from memory).
    """
    if len(readings.hour) == 0:
        return story
    hours = np.arange(story.shape[1])
    among = _covariance(readings.hour, readings.hour, day)
    among[np.diag_indices_from(among)] += readings.noise
    gain = np.linalg.solve(among, _covariance(readings.hour, hours, day))
    blur = np.random.default_rng((seed, 2)).standard_normal((story.shape[0], len(readings.hour)))
    moved: Floats = story + (readings.score - story[:, readings.hour] - blur * np.sqrt(readings.noise)) @ gain
    return moved


def _covariance(these: Places, those: Places, day: Places) -> Floats:
    hours_apart = np.abs(these[:, None] - those)
    days_apart = np.abs(day[these][:, None] - day[those])
    covariance: Floats = DAY_SHARE * DAY_MEMORY**days_apart + (1 - DAY_SHARE) * HOUR_MEMORY**hours_apart
    return covariance


def _noise(n_scenarios: int, n_steps: int, key: tuple[int, int, int]) -> Floats:
    """Return standard normal noise (scenario, step), spread evenly over the scenarios in each step."""
    from scipy.special import ndtri

    places = np.broadcast_to((np.arange(n_scenarios) + 0.5) / n_scenarios, (n_steps, n_scenarios))
    noise: Floats = ndtri(np.random.default_rng(key).permuted(places, axis=1)).T
    return noise


def _remembering(noise: list[Floats], memory: float) -> Floats:
    """Return the first-order autoregression of unit variance that the noise of consecutive days drives."""
    path = np.concatenate(noise, axis=1)
    fresh = np.sqrt(1 - memory**2)
    for step in range(1, path.shape[1]):
        path[:, step] = memory * path[:, step - 1] + fresh * path[:, step]
    return path
