"""Proper scores of forecasts. Lower is better; every function takes arrays and gives one value a case."""

import numpy as np

from yardplan.forecast.sky import Floats


def bias(said: Floats, came: Floats) -> float:
    """Return the mean of what was said less what came."""
    return float(np.mean(said - came))


def rmse(said: Floats, came: Floats) -> float:
    """Return the root of the mean squared error."""
    return float(np.sqrt(np.mean((said - came) ** 2)))


def skill(score: float, reference: float) -> float:
    """Return the share by which a score is below that of a reference; NaN where the reference is perfect.

    Source: Yang et al., Verification of deterministic solar forecasts, Solar Energy 210, 2020 (abstract).
    """
    return 1 - score / reference if reference > 0 else float("nan")


def pinball(level: Floats | float, quantile: Floats, came: Floats) -> Floats:
    """Return the score of quantiles: max(t (y - q), (t - 1) (y - q)).

    Source: Koenker and Bassett, Econometrica 46, 1978 (from memory).
    """
    missed = came - quantile
    score: Floats = np.maximum(level * missed, (level - 1) * missed)
    return score


def crps(levels: Floats, quantiles: Floats, came: Floats) -> Floats:
    """Return the continuous ranked probability score of distributions given by quantiles.

    Twice the integral of the pinball score over the levels, which is exact for quantiles that run straight between
    them. Source: Gneiting and Raftery, J. Am. Stat. Assoc. 102, 2007; Gneiting and Ranjan, J. Bus. Econ. Stat. 29,
    2011 for the integral (from memory).

    Parameters
    ----------
    levels : ndarray (level,)
        Rising from 0 to 1; a level that stands twice is a step of the quantiles.
    quantiles : ndarray (level, case)
    came : ndarray (case,)
    """
    steps = np.diff(levels)[:, None]
    low, high = quantiles[:-1], quantiles[1:]
    level_low, level_high = levels[:-1, None], levels[1:, None]
    at_low, at_high = pinball(level_low, low, came), pinball(level_high, high, came)
    # Between two levels the score is a parabola on either side of what came: Simpson's rule is exact
    rise = np.where(high > low, high - low, 1.0)
    part = np.where(high > low, (np.clip(came, low, high) - low) / rise, np.where(came >= low, 1.0, 0.0))
    level_at = level_low + part * (level_high - level_low)
    middle_below = pinball((level_low + level_at) / 2, low + (high - low) * part / 2, came)
    middle_above = pinball((level_at + level_high) / 2, low + (high - low) * (1 + part) / 2, came)
    below = part * (at_low + 4 * middle_below + np.where(part < 1, 0, at_high))
    above = (1 - part) * (np.where(part > 0, 0, at_low) + 4 * middle_above + at_high)
    total: Floats = 2 * (steps * (below + above) / 6).sum(axis=0)
    return total


def interval_score(low: Floats, high: Floats, came: Floats, nominal: float) -> Floats:
    """Return the score of a central band: its width, and what lies outside weighed by 2 / (1 - nominal).

    Source: Gneiting and Raftery, J. Am. Stat. Assoc. 102, 2007.
    """
    outside = np.maximum(low - came, 0) + np.maximum(came - high, 0)
    score: Floats = high - low + 2 / (1 - nominal) * outside
    return score


def brier(chance: Floats, happened: Floats) -> float:
    """Return the mean squared error of chances. Source: Brier, Monthly Weather Review 78, 1950."""
    return float(np.mean((chance - happened) ** 2))


def place_in(levels: Floats, quantiles: Floats, came: Floats) -> tuple[Floats, Floats]:
    """Return the chance that a distribution gives to less than what came, and to no more than it.

    They differ where the distribution has a lump, such as that of dark hours at zero.

    Parameters
    ----------
    levels : ndarray (level,)
    quantiles : ndarray (level, case)
    came : ndarray (case,)
    """
    cases = quantiles.shape[1]
    below, at = np.empty(cases), np.empty(cases)
    for case in range(cases):
        column, value = quantiles[:, case], came[case]
        first, last = np.searchsorted(column, value, "left"), np.searchsorted(column, value, "right")
        if last > first:
            below[case] = 0.0 if first == 0 else levels[first]
            at[case] = levels[last - 1]
        elif first in (0, len(column)):
            below[case] = at[case] = 0.0 if first == 0 else 1.0
        else:
            part = (value - column[first - 1]) / (column[first] - column[first - 1])
            below[case] = at[case] = levels[first - 1] + part * (levels[first] - levels[first - 1])
    return below, at


def share_within(below: Floats, at: Floats, low: float, high: float) -> Floats:
    """Return how much of each case lies between two chances; lumps are spread evenly over theirs.

    Source: Czado, Gneiting and Held, Predictive model assessment for count data, Biometrics 65, 2009 (from memory).
    """
    width = at - below
    spread = np.clip(np.minimum(at, high) - np.maximum(below, low), 0, None) / np.where(width > 0, width, 1.0)
    inside: Floats = np.where(width > 0, spread, (below >= low) & ((below < high) | (high >= 1)))
    return inside


def hits_by_chance(cases: int, nominal: float) -> tuple[int, int]:
    """Return the fewest and the most hits that 95 of 100 series of independent cases have, each with that chance."""
    from scipy.stats import binom

    fewest, most = binom.interval(0.95, cases, nominal)
    return int(fewest), int(most)
