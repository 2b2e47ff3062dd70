"""How clear the hours may be: distributions of the clear-sky index, given the season and what a forecast says.

The clear-sky index of an hour is its direct light over that of a cloudless sky. Distributions are kept as CDFs on the
fixed `INDEX_NODES`, because CDFs can be mixed; averaging quantiles would squeeze skies that are either clear or dull.

Everything is learned from the hours of a typical year. A forecast is taken to rank the hours with a rank correlation
that falls with its age (`RANK_CORRELATION`); those values, and that its clouds are as frequent as those of the year,
are assumptions until a yard has its own archive of forecasts and readings: no public pairs of both were at hand.
Direct light of most typical years was itself modeled from cloud cover, so figures reached on such files show that
the method works, not how good a forecast will be in the field.
"""

from dataclasses import dataclass

import numpy as np

from yardplan.forecast.hours import Places, SunHours
from yardplan.forecast.scenarios import INDEX_CAP, year_sky
from yardplan.forecast.sky import Floats
from yardplan.forecast.weather import TypicalYear

INDEX_NODES: Floats = np.linspace(0, INDEX_CAP, 93)
"""Clear-sky indices at which a CDF is known; between them it runs straight, and at 0 it holds the dark hours."""

LOW_SUN_DEG = 7.0
"""Under this an index, the quotient of two small numbers, says nothing about clouds."""

RANK_CORRELATION = ((12.0, 0.85), (36.0, 0.75), (84.0, 0.60), (132.0, 0.50))
"""Hours since a forecast was made, and its rank correlation with what comes; an assumption.

With these, errors on three typical years (193 to 239 W/m2 a day ahead) are like the better of those published for
numerical weather prediction: 205 to 310 W/m2. Source: Nonnenmacher, Kaur and Coimbra, Renewable Energy 86, 2016
(abstract).
"""

CLIMATOLOGY_SHARE = ((48.0, 0.15), (84.0, 0.30), (132.0, 0.50))
"""Hours since a forecast was made, and the share of climatology that is mixed in."""

_SEASON_DAYS, _ELEVATION_DEG, _SOLAR_H = 35.0, 12.0, 3.0  # widths of what counts as like; chosen on three typical years
_TENTHS = np.linspace(0, 1, 11)
_STEPS_OF_TENTH = 25


@dataclass(frozen=True, eq=False)
class Samples:
    """Sunlit hours of a typical year to learn from; every array is (sample,).

    Attributes
    ----------
    sun : SunHours
        When they were.
    index, total_index : ndarray
        Direct and global light over that of a cloudless sky, direct within 0 and `INDEX_CAP`.
    clouded_frac : ndarray
        Cloud cover, 0 to 1; where the file has none, what its global light tells (`cover_of_total`).
    southern : bool
        Whether the file is from the southern hemisphere.
    """

    sun: SunHours
    index: Floats
    total_index: Floats
    clouded_frac: Floats
    southern: bool

    def at(self, which: Places) -> "Samples":
        """Return some of the samples."""
        return Samples(
            self.sun.at(which), self.index[which], self.total_index[which], self.clouded_frac[which], self.southern
        )


def samples(year: TypicalYear) -> Samples:
    """Return the hours of a typical year with the sun above `LOW_SUN_DEG`."""
    weather = year.weather
    start_s: Floats = np.array([at.timestamp() for at in weather.starts_at])
    sun = SunHours.of(start_s, year_sky(year), year.longitude_deg)
    high = np.flatnonzero(sun.elevation_deg >= LOW_SUN_DEG)
    sun = sun.at(high)
    index = np.clip(weather.dni_w_m2[high] / sun.clear_dni_w_m2, 0, INDEX_CAP)
    total_index = weather.ghi_w_m2[high] / sun.clear_ghi_w_m2
    cover = weather.cloud_frac[high].astype(np.float64)
    clouded = np.where(np.isnan(cover), cover_of_total(total_index), np.clip(cover, 0, 1))
    return Samples(sun, index, total_index, clouded, year.latitude_deg < 0)


def cover_of_total(total_index: Floats) -> Floats:
    """Return the cloud cover that global light over that of a cloudless sky tells of.

    Source: the linear relation 0.35 + 0.65 (1 - cover) of Larson, Nonnenmacher and Coimbra, Renewable Energy 91, 2016,
    as in pvlib's cloud-cover models, turned round.
    """
    cover: Floats = np.clip(1 - (total_index - 0.35) / 0.65, 0, 1)
    return cover


@dataclass(frozen=True, eq=False)
class Likeness:
    """How the sunlit hours of a yard look in a typical year: what the CDFs are made from.

    Attributes
    ----------
    clear_tenths : ndarray (hour, tenth, node)
        Weight of the like samples with so many tenths of cloud, and an index at or below the node.
    rank_edges : ndarray (tenth + 1,)
        Share of all samples with fewer tenths of cloud than that.
    """

    clear_tenths: Floats
    rank_edges: Floats

    @classmethod
    def of(cls, learned: Samples, sun: SunHours, *, southern: bool = False, by_index: bool = False) -> "Likeness":
        """Return the samples that are like each hour: of the season, the height of the sun and the time of day.

        Parameters
        ----------
        southern : bool
            Whether the yard is on the southern hemisphere; between hemispheres the year is turned by half.
        by_index : bool
            Sort the samples into tenths by their clear-sky index instead of cloud, for forecasts of direct light.
        """
        clouded = 1 - np.minimum(learned.index, 1) if by_index else learned.clouded_frac
        tenth = np.rint(clouded * 10).astype(np.intp)
        turned = 182.5 if southern != learned.southern else 0.0
        days = (sun.day_of_year[:, None] + turned - learned.sun.day_of_year + 182.5) % 365 - 182.5
        hours = (sun.solar_h[:, None] - learned.sun.solar_h + 12) % 24 - 12
        elevation = sun.elevation_deg[:, None] - learned.sun.elevation_deg
        weight = np.exp(
            -0.5 * ((days / _SEASON_DAYS) ** 2 + (elevation / _ELEVATION_DEG) ** 2 + (hours / _SOLAR_H) ** 2)
        )
        below = (learned.index[:, None] <= INDEX_NODES).astype(np.float64)
        counts = np.stack([weight[:, tenth == k] @ below[tenth == k] for k in range(len(_TENTHS))], axis=1)
        edges = np.concatenate([[0], np.cumsum(np.bincount(tenth, minlength=len(_TENTHS)))]) / len(tenth)
        # a trace of every sample keeps hours that are like none of them, such as a low sun at noon, defined
        return cls(counts + 1e-9 * below.sum(axis=0), edges)

    def at(self, which: Places) -> "Likeness":
        """Return what some of the hours look like."""
        return Likeness(self.clear_tenths[which], self.rank_edges)

    def climatology(self) -> Floats:
        """Return the CDF of each hour without any forecast: ndarray (hour, node)."""
        counts = self.clear_tenths.sum(axis=1)
        cdf: Floats = counts / counts[:, -1:]
        return cdf

    def table(self, rank_correlation: Floats) -> Floats:
        """Return the CDF of each hour for every tenth of forecast cloud.

        More forecast cloud never makes a clear sky more likely, whatever the samples say.

        Parameters
        ----------
        rank_correlation : ndarray (hour,)
            Of the forecast with what comes, 0 to below 1.

        Returns
        -------
        ndarray (hour, tenth, node)
        """
        chance = _forecast_chance(self.rank_edges, rank_correlation)
        counts = np.einsum("hkj,hjn->hkn", chance, self.clear_tenths)
        cdf = counts / counts[:, :, -1:]
        rising = np.maximum.accumulate(cdf, axis=1)
        from_above = np.minimum.accumulate(cdf[:, ::-1], axis=1)[:, ::-1]
        table: Floats = (rising + from_above) / 2
        return table


def conditional_cdf(table: Floats, clouded_frac: Floats) -> Floats:
    """Return the CDF of each hour at the forecast cloud, from the rows of a `Likeness.table`, mixed between tenths.

    Parameters
    ----------
    clouded_frac : ndarray (hour,)
        What the forecast says, 0 to 1; no NaN.

    Returns
    -------
    ndarray (hour, node)
    """
    place = np.clip(clouded_frac, 0, 1) * (len(_TENTHS) - 1)
    low = np.minimum(place.astype(np.intp), len(_TENTHS) - 2)
    part = (place - low)[:, None]
    hour = np.arange(len(low))
    cdf: Floats = (1 - part) * table[hour, low] + part * table[hour, low + 1]
    return cdf


def mixed(cdf: Floats, other: Floats, other_share: Floats) -> Floats:
    """Return the mixture of two CDFs (hour, node), with the share of the other for each hour."""
    return cdf + other_share[:, None] * (other - cdf)


def inverse(cdf: Floats, chance: Floats) -> Floats:
    """Return the clear-sky index that lies at a chance of each hour's CDF.

    Parameters
    ----------
    cdf : ndarray (hour, node)
    chance : ndarray (scenario, hour)

    Returns
    -------
    ndarray (scenario, hour)
    """
    found = np.empty_like(chance)
    for hour, row in enumerate(cdf):
        found[:, hour] = np.interp(chance[:, hour], row, INDEX_NODES)
    return found


def cdf_at(cdf: Floats, index: Floats) -> tuple[Floats, Floats]:
    """Return the CDF of each hour just below an index and at it; they differ at 0, where dark hours pile up."""
    place = np.clip(index, 0, INDEX_CAP) / INDEX_NODES[1]
    low = np.minimum(place.astype(np.intp), len(INDEX_NODES) - 2)
    part, hour = place - low, np.arange(len(low))
    at = (1 - part) * cdf[hour, low] + part * cdf[hour, low + 1]
    return np.where(index <= 0, 0.0, at), at


def mean_index(cdf: Floats) -> Floats:
    """Return the mean of each CDF: ndarray (hour,)."""
    below = (cdf[:, 1:] + cdf[:, :-1]).sum(axis=1) / 2 * INDEX_NODES[1]
    mean: Floats = INDEX_CAP - below
    return mean


def index_crps(cdf: Floats, index: Floats) -> Floats:
    """Return the continuous ranked probability score of each CDF against the index that came: ndarray (hour,).

    The integral of (CDF - step at what came) squared; source: Gneiting and Raftery, J. Am. Stat. Assoc. 102, 2007.
    Exact for CDFs that run straight between the nodes.
    """
    spacing = INDEX_NODES[1]
    place = np.clip(index, 0, INDEX_CAP) / spacing
    cell = np.minimum(place.astype(np.intp), len(INDEX_NODES) - 2)
    part, hour = place - cell, np.arange(len(cell))

    def squared(left: Floats, right: Floats) -> Floats:
        mean: Floats = (left * left + left * right + right * right) / 3
        return mean

    before, after = squared(cdf[:, :-1], cdf[:, 1:]), squared(1 - cdf[:, :-1], 1 - cdf[:, 1:])
    cells = np.arange(len(INDEX_NODES) - 1)
    whole = np.where(cells < cell[:, None], before, after)
    whole[hour, cell] = 0
    left, right = cdf[hour, cell], cdf[hour, cell + 1]
    at = left + part * (right - left)
    score: Floats = spacing * (whole.sum(axis=1) + part * squared(left, at) + (1 - part) * squared(1 - at, 1 - right))
    return score


def total_of_direct(learned: Samples) -> Floats:
    """Return the mean global light over that of a cloudless sky at each of the `INDEX_NODES`: ndarray (node,)."""
    weight = np.exp(-0.5 * ((INDEX_NODES[:, None] - learned.index) / 0.05) ** 2) + 1e-12
    total: Floats = weight @ learned.total_index / weight.sum(axis=1)
    return total


def lead_rank_correlation(lead_h: Floats) -> Floats:
    """Return the assumed rank correlation of a forecast with what comes, by hours since it was made."""
    hours, values = zip(*RANK_CORRELATION, strict=True)
    found: Floats = np.interp(lead_h, hours, values)
    return found


def lead_climatology_share(lead_h: Floats) -> Floats:
    """Return the share of climatology that is mixed in, by hours since the forecast was made."""
    hours, values = zip(*CLIMATOLOGY_SHARE, strict=True)
    found: Floats = np.interp(lead_h, hours, values)
    return found


def _forecast_chance(rank_edges: Floats, rank_correlation: Floats) -> Floats:
    """Return how likely each tenth of cloud is forecast where another one comes: ndarray (hour, forecast, come).

    Forecast and cloud that comes share a Gaussian copula with the same frequencies; a tenth that never comes takes
    the sliver of ranks at its place.
    """
    from scipy.special import ndtr, ndtri

    # Pearson's correlation of normal scores by Spearman's; source: Kruskal, J. Am. Stat. Assoc. 53, 1958
    pearson = 2 * np.sin(np.pi / 6 * np.clip(rank_correlation, 0, 0.9999))
    low, high = rank_edges[:-1], rank_edges[1:]
    narrow = high - low < 1e-3
    low, high = np.where(narrow, low - 5e-4, low), np.where(narrow, high + 5e-4, high)
    steps = (np.arange(_STEPS_OF_TENTH) + 0.5) / _STEPS_OF_TENTH
    come = ndtri(np.clip(low[:, None] + (high - low)[:, None] * steps, 1e-6, 1 - 1e-6))
    spread = np.sqrt(1 - pearson**2)[:, None, None, None]
    center = pearson[:, None, None, None] * come
    bounds = [ndtri(np.clip(edge, 0, 1))[:, None, None] for edge in (low, high)]
    below, at_most = (ndtr((bound - center) / spread) for bound in bounds)
    chance: Floats = (at_most - below).mean(axis=3)
    return chance + 1e-12
