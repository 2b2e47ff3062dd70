"""What is believed of each hour: a forecast, as far as it is there and fresh, mixed with the climate of the season."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

import numpy as np

from yardplan.domain.tables import BoolArray, Weather
from yardplan.forecast.conditional import (
    Likeness,
    Samples,
    conditional_cdf,
    lead_climatology_share,
    lead_rank_correlation,
    mixed,
)
from yardplan.forecast.hours import HOUR_S, YardHours, bridged, means_over
from yardplan.forecast.scenarios import SkyMode
from yardplan.forecast.sky import Floats

FRESH_H, USABLE_H = 12.0, 72.0
"""Age of a forecast up to which it counts as fresh, and from which on it is no longer used [h]."""

HANDOVER_H = 12.0
"""Last hours of a forecast, over which climatology takes over."""

MOST_DNI_W_M2 = 1420.0
"""More does not reach the top of the atmosphere at any time of the year, but for a trifle."""

_STALE_SHARE_PER_H = 0.1 / 12
_LOW_SUN_DEG = 10.0  # under this, direct light of a forecast says less than its clouds


@dataclass(frozen=True, eq=False)
class Belief:
    """Distributions of the clear-sky index, for the hours of a yard that are lit.

    Attributes
    ----------
    cdf : ndarray (lit hour, node)
    forecast_share : ndarray (lit hour,)
        1 where the forecast counts in full, 0 where climatology stands alone.
    lead_h : ndarray (lit hour,) [h]
        Since the forecast was made; 0 where there is none.
    """

    cdf: Floats
    forecast_share: Floats
    lead_h: Floats


class SeasonOfHours:
    """The lit hours of a yard, and what a typical year has that is like them.

    Parameters
    ----------
    southern : bool
        Whether the yard is on the southern hemisphere.
    """

    def __init__(self, learned: Samples, hours: YardHours, *, southern: bool) -> None:
        self.hours = hours
        self.sun = hours.sun.at(hours.lit)
        self._learned, self._southern = learned, southern

    @cached_property
    def by_cloud(self) -> Likeness:
        """Samples sorted by their clouds."""
        return Likeness.of(self._learned, self.sun, southern=self._southern)

    @cached_property
    def by_index(self) -> Likeness:
        """Samples sorted by their direct light."""
        return Likeness.of(self._learned, self.sun, southern=self._southern, by_index=True)


def mode_of(forecast: Weather | None, now: datetime) -> SkyMode:
    """Return how far a forecast can be used, by its age alone."""
    if forecast is None or forecast.issued_at is None:
        return SkyMode.CLIMATOLOGY
    age_h = (now - forecast.issued_at) / timedelta(hours=1)
    if age_h > USABLE_H:
        return SkyMode.CLIMATOLOGY
    return SkyMode.FORECAST if age_h <= FRESH_H else SkyMode.STALE


def belief(
    season: SeasonOfHours, forecast: Weather | None, now: datetime, members: Sequence[Weather] = ()
) -> tuple[Belief, tuple[str, ...]]:
    """Return the distributions of all lit hours, and what has to be told of gaps.

    With more hours since the forecast was made it ranks the skies less well and climatology has a larger share, so a
    stale forecast widens by itself. Where it says nothing, or what cannot be true, for more than two hours
    climatology stands in. Its direct light goes before its clouds.

    The members of an ensemble count like the forecast itself: their distributions are mixed as CDFs, each as wide as
    that of a single forecast, since the spread of members alone is far less than the error of their models.
    """
    hours, sun, lit = season.hours, season.sun, season.hours.lit
    climate = season.by_cloud.climatology()
    if forecast is None or forecast.issued_at is None or mode_of(forecast, now) is SkyMode.CLIMATOLOGY:
        return Belief(climate, np.zeros(len(lit)), np.zeros(len(lit))), ()
    clouds, dull = (np.stack(rows) for rows in zip(*(_said(season, it) for it in (forecast, *members)), strict=True))
    lead_h = np.maximum((sun.start_s + HOUR_S / 2 - forecast.issued_at.timestamp()) / HOUR_S, 0)
    ranks = lead_rank_correlation(lead_h)
    cdf, known = climate, np.zeros(len(lit), dtype=np.bool_)
    if np.isfinite(clouds).any():
        cdf, known = _told(season.by_cloud, ranks, clouds, cdf, known)
    if np.isfinite(dull).any():
        cdf, known = _told(season.by_index, ranks, dull, cdf, known)
    age_h = (now - forecast.issued_at) / timedelta(hours=1)
    share = lead_climatology_share(lead_h) + max(age_h - FRESH_H, 0) * _STALE_SHARE_PER_H
    end_s = sun.start_s[known].max(initial=-np.inf) + HOUR_S
    share = np.clip(np.maximum(share, 1 - (end_s - sun.start_s) / HANDOVER_H / HOUR_S), 0, 1)
    share = np.where(known, share, 1.0)
    return Belief(mixed(cdf, climate, share), 1 - share, np.where(known, lead_h, 0)), _gaps(hours, known)


def _said(season: SeasonOfHours, forecast: Weather) -> tuple[Floats, Floats]:
    """Return the clouds of the lit hours, and by how much their direct light is dulled; NaN where nothing is said."""
    hours, sun, lit = season.hours, season.sun, season.hours.lit
    said, _ = means_over(forecast, hours.sun.start_s[0], 60, len(hours.sun.start_s))
    clouds = bridged(_possible(said["cloud_frac"], 1.001), np.ones(len(hours.day), dtype=np.bool_))[lit]
    high = sun.elevation_deg >= _LOW_SUN_DEG
    with np.errstate(divide="ignore", invalid="ignore"):
        index = np.where(high, _possible(said["dni_w_m2"], MOST_DNI_W_M2)[lit] / sun.clear_dni_w_m2, np.nan)
    index = bridged(index, high)
    index = np.where(high | np.isfinite(clouds), index, _nearest(index))  # a low sun borrows from the nearest hour
    return clouds, 1 - np.minimum(index, 1)


def _told(like: Likeness, ranks: Floats, clouded: Floats, cdf: Floats, known: BoolArray) -> tuple[Floats, BoolArray]:
    """Return the CDFs with those hours replaced of which some of the forecasts (forecast, hour) say something."""
    says = np.isfinite(clouded)
    spoken = np.flatnonzero(says.any(axis=0))
    table = like.at(spoken).table(ranks[spoken])
    each = [
        conditional_cdf(table, np.nan_to_num(row[spoken])) * here[spoken, None]
        for row, here in zip(clouded, says, strict=True)
    ]
    told = cdf.copy()
    told[spoken] = np.sum(each, axis=0) / says[:, spoken].sum(axis=0)[:, None]
    return told, known | says.any(axis=0)


def _possible(values: Floats, most: float) -> Floats:
    """Return values with NaN where they cannot be true, which then count as gaps."""
    return np.where((values >= 0) & (values <= most), values, np.nan)


def _nearest(values: Floats) -> Floats:
    """Return values (hour,) with NaN filled from the nearest hour that has one, within two hours."""
    good = np.flatnonzero(np.isfinite(values))
    if len(good) == 0:
        return values
    ix = np.arange(len(values))
    after = np.minimum(np.searchsorted(good, ix), len(good) - 1)
    before = np.maximum(after - 1, 0)
    closer = np.where(np.abs(good[before] - ix) <= np.abs(good[after] - ix), good[before], good[after])
    return np.where(np.abs(closer - ix) <= 2, values[closer], np.nan)


def _gaps(hours: YardHours, known: BoolArray) -> tuple[str, ...]:
    """Return a sentence for each gap of lit hours between hours that the forecast speaks of."""
    if not known.any():
        return ()
    lit, zone = hours.lit, hours.grid.zone
    first, last = int(np.argmax(known)), len(known) - int(np.argmax(known[::-1]))
    edges = np.flatnonzero(np.diff(np.concatenate([[False], ~known[first:last], [False]]).astype(np.int8))) + first
    told = []
    for start, after in zip(edges[::2], edges[1::2], strict=True):
        begins, ends = (
            datetime.fromtimestamp(hours.sun.start_s[lit[ix]] + plus, zone)
            for ix, plus in ((start, 0), (after - 1, HOUR_S))
        )
        told.append(f"the forecast says nothing from {begins:%a %d %b %H:%M} to {ends:%a %d %b %H:%M}")
    return tuple(told)
