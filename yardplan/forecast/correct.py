"""Bias correction: what the archive of forecasts and readings says of the distributions, if it helps.

Each reading has a place in the distribution that was believed for its hour; as a normal score it has mean 0 and
standard deviation 1 when forecasts are right. Too sunny forecasts shift the mean, too sure ones widen it. Both are
taken from the last weeks by hours of lead, drawn toward "right" while there are few days, and applied only when they
would have bettered the score on days that were held out from the fit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import BoolArray, Weather
from yardplan.domain.verification import BiasCorrection
from yardplan.forecast.blend import Belief, SeasonOfHours, belief
from yardplan.forecast.conditional import LOW_SUN_DEG, cdf_at, index_crps, samples
from yardplan.forecast.hours import Places, YardHours
from yardplan.forecast.readings import sun_log
from yardplan.forecast.sky import Floats
from yardplan.forecast.weather import TypicalYear

WINDOW_DAYS = 45
"""Days that a correction is fitted to; longer ones keep the faults of a weather model that was since changed."""

LEAST_DAYS = 10
"""Days with both forecast and readings below which nothing is corrected."""

_LEAD_CENTERS_H = (12.0, 36.0, 72.0, 132.0)
_PRIOR_DAYS = 8.0
_APART_S = 12 * 3600.0
_BLOCK_DAYS = 5  # left out together: the errors of neighboring days are alike
_SPREADS = (0.6, 1.8)


@dataclass(frozen=True, eq=False)
class Pairs:
    """Hours of which there are both a forecast's distribution and readings; every array is (pair,) but `cdf`.

    Attributes
    ----------
    day : ndarray
        Local day of the hour, counted from the year 1.
    lead_h : ndarray [h]
        From the making of the forecast to the middle of the hour.
    clear_w_m2 : ndarray [W/m2]
        Direct light of a cloudless sky.
    cdf : ndarray (pair, node)
        What was believed when the forecast was made, uncorrected and without readings.
    index : ndarray
        The clear-sky index that was read.
    """

    day: Places
    lead_h: Floats
    clear_w_m2: Floats
    cdf: Floats
    index: Floats

    def at(self, which: Places | BoolArray) -> "Pairs":
        """Return some of the pairs."""
        return Pairs(*(getattr(self, name)[which] for name in self.__dataclass_fields__))


@dataclass(frozen=True)
class Correction:
    """How distributions are moved and widened, by hours of lead.

    Attributes
    ----------
    shift, spread : tuple of float
        Mean and standard deviation of the readings' normal scores at each of the lead times, drawn toward 0 and 1.
    days : int
        Days that it rests on.
    gain_frac : float
        Share by which it lowered the score of days that were held out.
    """

    shift: tuple[float, ...]
    spread: tuple[float, ...]
    days: int
    gain_frac: float

    def applied(self, cdf: Floats, lead_h: Floats, share: Floats | float = 1.0) -> Floats:
        """Return the distributions corrected, where a forecast has only a `share` by that much."""
        from scipy.special import ndtr, ndtri

        shift = (np.interp(lead_h, _LEAD_CENTERS_H, self.shift) * share)[:, None]
        spread = (np.interp(lead_h, _LEAD_CENTERS_H, self.spread) ** share)[:, None]
        corrected: Floats = ndtr((ndtri(np.clip(cdf, 0, 1)) - shift) / spread)
        return corrected

    def corrected(self, believed: Belief) -> Belief:
        """Return what is believed, corrected."""
        return replace(believed, cdf=self.applied(believed.cdf, believed.lead_h, believed.forecast_share))


@dataclass(frozen=True)
class Learned:
    """What pairs teach: the correction if it helps, and what can be told of it."""

    correction: Correction | None
    told: BiasCorrection


def pairs_of(
    site: Site, year: TypicalYear, forecasts: Sequence[tuple[Weather, ...]], measured: Sequence[Weather], now: datetime
) -> Pairs:
    """Return what the forecasts of the last `WINDOW_DAYS` said beside what was read.

    Parameters
    ----------
    forecasts : sequence of tuple of Weather
        As they were received, each with its `issued_at` and followed by the further members of its ensemble; the
        first of every twelve hours is used.
    """
    log = sun_log(site, measured, now, 5, linke=site.linke)
    first_at = now - timedelta(days=WINDOW_DAYS)
    usable: dict[int, tuple[Weather, ...]] = {}
    for said in sorted(forecasts, key=lambda it: _issued_s(it[0])):
        if first_at.timestamp() <= _issued_s(said[0]) < now.timestamp():
            usable.setdefault(int(_issued_s(said[0]) // _APART_S), said)
    if log is None or not usable:
        return _no_pairs()
    grid = SlotGrid(first_at, WINDOW_DAYS * 288, site.tz)
    hours = YardHours.around(site, grid, now, site.linke)
    index, covered = log.hours_on(hours)
    lit = hours.lit
    index, covered = index[lit], covered[lit]
    read = np.isfinite(index) & (covered > 0.75) & (hours.sun.elevation_deg[lit] >= LOW_SUN_DEG)
    season = SeasonOfHours(samples(year), hours, southern=site.latitude_deg < 0)
    found = []
    for forecast, *members in usable.values():
        assert forecast.issued_at is not None
        believed, _ = belief(season, forecast, forecast.issued_at, members)
        later = hours.sun.start_s[lit] >= _issued_s(forecast)
        both = np.flatnonzero(read & later & (believed.forecast_share > 0))
        found.append(
            Pairs(
                hours.day[lit][both],
                believed.lead_h[both],
                hours.sun.clear_dni_w_m2[lit][both],
                believed.cdf[both],
                index[both],
            )
        )
    return Pairs(*(np.concatenate([getattr(part, name) for part in found]) for name in Pairs.__dataclass_fields__))


def fit_correction(pairs: Pairs) -> Learned:
    """Return the correction that the pairs ask for; none where there are too few days or it does not help.

    It helps when the score of the days that were held out, a few together, falls by more than half its standard error.
    The score is the continuous ranked probability score in W/m2.
    """
    days = np.unique(pairs.day)
    told = BiasCorrection(False, len(days), LEAST_DAYS)
    if len(days) < LEAST_DAYS:
        return Learned(None, told)
    score = _scores(pairs)
    before = index_crps(pairs.cdf, pairs.index) * pairs.clear_w_m2
    after = np.empty_like(before)
    block = (pairs.day - days[0]) // _BLOCK_DAYS
    for held in np.unique(block):
        out = block == held
        fitted = _fitted(pairs.at(~out), score[~out])
        after[out] = index_crps(fitted.applied(pairs.cdf[out], pairs.lead_h[out]), pairs.index[out])
        after[out] *= pairs.clear_w_m2[out]
    place = np.searchsorted(days, pairs.day)
    gain = (np.bincount(place, before) - np.bincount(place, after)) / np.bincount(place)
    gain_frac = float(1 - after.sum() / before.sum())
    correction = replace(_fitted(pairs, score), gain_frac=gain_frac)
    told = replace(told, gain_frac=gain_frac, shift=correction.shift[0])
    if gain.mean() <= gain.std() / np.sqrt(len(days)) / 2:
        return Learned(None, told)
    return Learned(correction, replace(told, applied=True))


def _scores(pairs: Pairs) -> Floats:
    """Return the normal score of each reading; one of a dark hour lies in the middle of the dark ones."""
    from scipy.special import ndtri

    below, at = cdf_at(pairs.cdf, pairs.index)
    score: Floats = ndtri(np.clip((below + at) / 2, 0.005, 0.995))
    return score


def _fitted(pairs: Pairs, score: Floats) -> Correction:
    shift, spread = [], []
    for center_h in _LEAD_CENTERS_H:
        weight = np.exp(-0.5 * (np.log((pairs.lead_h + 6) / (center_h + 6)) / 0.4) ** 2)
        days = _effective_days(pairs.day, weight)
        trust = days / (days + _PRIOR_DAYS)
        mean = float(np.average(score, weights=weight + 1e-12))
        deviation = float(np.sqrt(np.average((score - mean) ** 2, weights=weight + 1e-12)))
        shift.append(trust * mean)
        spread.append(float(np.clip(deviation, *_SPREADS)) ** trust)
    return Correction(tuple(shift), tuple(spread), len(np.unique(pairs.day)), 0.0)


def _effective_days(day: Places, weight: Floats) -> float:
    """Return how many days carry the weight: the square of its sum by day over the sum of its squares."""
    by_day = np.bincount(day - day.min(), weight)
    return float(by_day.sum() ** 2 / max((by_day**2).sum(), 1e-12))


def _issued_s(forecast: Weather) -> float:
    return forecast.issued_at.timestamp() if forecast.issued_at is not None else float("-inf")


def _no_pairs() -> Pairs:
    none = np.empty(0)
    return Pairs(none.astype(np.intp), none, none, np.empty((0, 0)), none)
