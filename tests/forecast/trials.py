"""Trials of the forecast on typical years: hours held out, forecasts made up by spoiling what came.

There are no pairs of real forecasts and readings to be had. A made forecast ranks the hours as the clouds that came do,
but for an error with a memory of eight hours; its rank correlation stands for its age. What is reached on these shows
that the method works and where it is calibrated, not how good a forecast will be in the field; direct light of most
typical years was itself modeled from cloud cover.
"""

from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

import numpy as np
import pvlib
from scipy.signal import lfilter
from scipy.special import ndtr, ndtri

from yardplan import paths
from yardplan.forecast.conditional import (
    INDEX_NODES,
    Likeness,
    Samples,
    cdf_at,
    conditional_cdf,
    index_crps,
    inverse,
    mean_index,
    mixed,
    samples,
)
from yardplan.forecast.paths import READING_NOISE, Readings, pulled, stories
from yardplan.forecast.scores import crps
from yardplan.forecast.sky import Floats
from yardplan.forecast.weather import TypicalYear, read_typical_year

SHIPPED = Path(pvlib.__file__).parent / "data"
FILES = {
    "Greensboro": SHIPPED / "723170TYA.CSV",
    "Miami": SHIPPED / "12839.tm2",
    "Tucson": paths.demo_folder() / "typical_year.epw",
}
ERROR_MEMORY_H = 8.0


@cache
def year_of(place: str) -> TypicalYear:
    return read_typical_year(FILES[place])


@dataclass(frozen=True, eq=False)
class Trial:
    """Hours to learn from and hours to be judged on; arrays are (judged hour,)."""

    place: str
    all_hours: Samples
    judged_ix: np.ndarray
    like: Likeness
    climate_cdf: Floats
    learned: Samples
    judged: Samples
    day: np.ndarray
    month_hour_cdf: Floats

    @property
    def clear_w_m2(self) -> Floats:
        return self.judged.sun.clear_dni_w_m2

    @property
    def climate_crps(self) -> float:
        """Of the better of two climatologies: by kernel, and by calendar month and hour."""
        return min(self.crps(self.climate_cdf), self.crps(self.month_hour_cdf))

    def crps(self, cdf: Floats) -> float:
        return float((index_crps(cdf, self.judged.index) * self.clear_w_m2).mean())

    def error_w_m2(self, cdf: Floats) -> Floats:
        return (mean_index(cdf) - self.judged.index) * self.clear_w_m2

    def in_band(self, cdf: Floats, nominal: float) -> float:
        """Share of hours inside a central band; dark hours are spread evenly over their lump."""
        below, at = cdf_at(cdf, self.judged.index)
        return float(in_band(below, at, nominal).mean())

    def forecast_cdf(self, rank_correlation: float, climate_share: float, seed: int) -> Floats:
        said = made_forecast(self.all_hours, rank_correlation, seed)[self.judged_ix]
        told = conditional_cdf(table_of(self.like, rank_correlation), said)
        return mixed(told, self.climate_cdf, np.full(len(said), climate_share))


@lru_cache(maxsize=8)
def table_of(like: Likeness, rank_correlation: float) -> Floats:
    return like.table(np.full(len(like.clear_tenths), rank_correlation))


def in_band(below: Floats, at: Floats, nominal: float) -> Floats:
    low, high = 0.5 - nominal / 2, 0.5 + nominal / 2
    width = at - below
    spread = np.clip(np.minimum(at, high) - np.maximum(below, low), 0, None) / np.where(width > 0, width, 1)
    return np.where(width > 0, spread, (below >= low) & (below < high))


def trial(place: str, split: str, year: TypicalYear | None = None) -> Trial:
    """Return a trial; `split` is "even weeks" or "odd weeks" to learn from, or "even days"."""
    year = year or year_of(place)
    every = samples(year)
    day = np.floor(every.sun.start_s / 86400 + year.longitude_deg / 360).astype(int)
    day = day - day[0]
    parity = (day if split.endswith("days") else day // 7) % 2
    learn = np.flatnonzero(parity == (1 if split.startswith("odd") else 0))
    judge = np.flatnonzero(parity == (0 if split.startswith("odd") else 1))
    learned, judged = every.at(learn), every.at(judge)
    like = Likeness.of(learned, judged.sun, southern=every.southern)
    return Trial(
        place, every, judge, like, like.climatology(), learned, judged, day[judge], _month_hour(learned, judged)
    )


def _month_hour(learned: Samples, judged: Samples) -> Floats:
    """CDFs of all hours learned of the same calendar month and hour of the solar day, or the nearest such hour."""
    key = [np.floor(part.sun.day_of_year / 30.42) * 24 + np.floor(part.sun.solar_h) for part in (learned, judged)]
    below = (learned.index[:, None] <= INDEX_NODES).astype(float)
    keys, ix = np.unique(key[0], return_inverse=True)
    table = np.stack([np.bincount(ix, weights=column) for column in below.T], axis=1)
    table /= np.bincount(ix)[:, None]
    return table[np.abs(key[1][:, None] - keys).argmin(axis=1)]


def made_forecast(every: Samples, rank_correlation: float, seed: int, *, of_index: bool = False) -> Floats:
    """Return made-up forecasts of cloud, or of the clear-sky index, for all hours of a year.

    Each value is as frequent as it is in what came.
    """
    rng = np.random.default_rng(seed)
    hour = np.rint((every.sun.start_s - every.sun.start_s[0]) / 3600).astype(int)
    memory = np.exp(-1 / ERROR_MEMORY_H)
    noise = rng.standard_normal(hour[-1] + 1) * np.sqrt(1 - memory**2)
    noise[0] /= np.sqrt(1 - memory**2)
    error = lfilter([1], [1, -memory], noise)[hour]
    came = every.index if of_index else every.clouded_frac
    rank = np.empty(len(came))
    rank[np.lexsort((rng.random(len(came)), came))] = (np.arange(len(came)) + 0.5) / len(came)
    pearson = 2 * np.sin(np.pi / 6 * rank_correlation)
    score = pearson * ndtri(rank) + np.sqrt(1 - pearson**2) * error
    return np.sort(came)[np.minimum((ndtr(score) * len(came)).astype(int), len(came) - 1)]


def made_ensemble(every: Samples, rank_correlation: float, seed: int, common: float, members: int) -> Floats:
    """Return made-up forecasts of cloud whose errors share a part of their variance: ndarray (member, hour).

    With 1 the members are all the same, with 0 their errors have nothing in common, which no real ensemble reaches.
    """
    rng = np.random.default_rng(seed)
    hour = np.rint((every.sun.start_s - every.sun.start_s[0]) / 3600).astype(int)
    memory = np.exp(-1 / ERROR_MEMORY_H)
    noise = rng.standard_normal((members + 1, hour[-1] + 1)) * np.sqrt(1 - memory**2)
    noise[:, 0] /= np.sqrt(1 - memory**2)
    error = lfilter([1], [1, -memory], noise, axis=1)[:, hour]
    rank = np.empty(len(hour))
    rank[np.lexsort((rng.random(len(rank)), every.clouded_frac))] = (np.arange(len(rank)) + 0.5) / len(rank)
    pearson = 2 * np.sin(np.pi / 6 * rank_correlation)
    own = np.sqrt(common) * error[0] + np.sqrt(1 - common) * error[1:]
    score = pearson * ndtri(rank) + np.sqrt(1 - pearson**2) * own
    said: Floats = np.sort(every.clouded_frac)[np.minimum((ndtr(score) * len(rank)).astype(int), len(rank) - 1)]
    return said


def persistence_rmse(case: Trial) -> float:
    """Error of the clear-sky index of the same hour a day earlier, where that was judged too."""
    at = dict(zip(np.rint(case.judged.sun.start_s / 3600).astype(int).tolist(), case.judged.index, strict=True))
    before = np.array([at.get(hour - 24, np.nan) for hour in at])
    error = ((before - case.judged.index) * case.clear_w_m2)[np.isfinite(before)]
    return float(np.sqrt((error**2).mean()))


def paths_of(case: Trial, cdf: Floats, n_scenarios: int, seed: int, *, dependent: bool = True) -> Floats:
    """Return scenarios of the judged hours [W/m2]: ndarray (scenario, hour)."""
    if dependent:
        hour = np.rint(case.judged.sun.start_s / 3600).astype(int)
        axis = np.arange(hour[0], hour[-1] + 1)
        day = np.interp(axis, hour, case.day).astype(int) + 730_000
        story = stories(axis * 3600.0, day, n_scenarios, seed)[:, hour - hour[0]]
    else:
        story = np.random.default_rng(seed).standard_normal((n_scenarios, len(cdf)))
    return inverse(cdf, ndtr(story)) * case.clear_w_m2


@dataclass(frozen=True)
class SumScores:
    """How sums of hours fared."""

    in_band_80: float
    count: int


@dataclass(frozen=True, eq=False)
class Sums:
    """Sums over hours with the same key [kWh/m2]: `said` is (scenario, sum), rising; `came` is (sum,)."""

    said: Floats
    came: Floats

    @property
    def scores(self) -> SumScores:
        below, at = (self.said < self.came).mean(axis=0), (self.said <= self.came).mean(axis=0)
        return SumScores(float(in_band(below, at, 0.8).mean()), len(self.came))

    @property
    def crps(self) -> float:
        return float(member_crps(self.said, self.came).mean())


def member_crps(rising: Floats, came: Floats) -> Floats:
    """Return the score of equally likely members (member, case), rising: they are steps of equal chance."""
    steps = np.repeat(np.linspace(0, 1, len(rising) + 1), 2)[1:-1]
    return crps(steps, np.repeat(rising, 2, axis=0), came)


def sums_of(case: Trial, scenarios: Floats, key: np.ndarray) -> Sums:
    """Return the sums over hours with the same key."""
    _, group = np.unique(key, return_inverse=True)
    said = np.stack([np.bincount(group, weights=row) for row in scenarios]) / 1000
    came = np.bincount(group, weights=case.judged.index * case.clear_w_m2) / 1000
    return Sums(np.sort(said, axis=0), came)


def climate_day_crps(case: Trial, near_days: int = 20) -> float:
    """CRPS of day totals from the shares of clear-sky energy that days of the season had where it was learned."""
    learned, clear = case.learned, case.learned.sun.clear_dni_w_m2
    on, group = np.unique(learned.sun.day_of_year, return_inverse=True)
    share = np.bincount(group, weights=learned.index * clear) / np.bincount(group, weights=clear)
    scores = []
    for day in np.unique(case.day):
        of = case.day == day
        energy = case.clear_w_m2[of].sum() / 1000
        near = np.abs((on - case.judged.sun.day_of_year[of][0] + 182) % 365 - 182) <= near_days
        said = np.sort(share[near] * energy)
        came = (case.judged.index * case.clear_w_m2)[of].sum() / 1000
        scores.append(member_crps(said[:, None], np.array([came]))[0])
    return float(np.mean(scores))


def nowcast(
    case: Trial, cdf: Floats, leads_h: tuple[int, ...], seed: int, *, every_day: int = 1, n_scenarios: int = 200
) -> dict[int, Floats]:
    """Return, for each lead, rows of the CRPS without and with readings [W/m2] and the share in the 80 % band.

    At each hour of each judged day the readings up to it pull the hours after it, by the program's own stories.
    """
    below, at = cdf_at(cdf, case.judged.index)
    score = ndtri(np.clip((below + at) / 2, 0.005, 0.995))
    hour = np.rint(case.judged.sun.start_s / 3600).astype(int)
    rows: dict[int, list[tuple[float, float, float]]] = {lead: [] for lead in leads_h}
    for day in np.unique(case.day)[::every_day]:
        of = np.flatnonzero(case.day == day)
        axis = np.arange(hour[of[0]], hour[of[-1]] + 1)
        days = np.full(len(axis), 730_000 + day)
        place = hour[of] - axis[0]
        story = stories(axis * 3600.0, days, n_scenarios, seed)
        without = inverse(cdf[of], ndtr(story[:, place]))
        for last in range(1, len(of)):
            read = Readings(place[:last], score[of[:last]], np.full(last, READING_NOISE))
            with_them = inverse(cdf[of], ndtr(pulled(story, days, read, seed)[:, place]))
            for lead in leads_h:
                ahead = np.flatnonzero(place == place[last - 1] + lead)
                if len(ahead) == 0:
                    continue
                ix, came = int(ahead[0]), case.judged.index[of[ahead]]
                clear = case.clear_w_m2[of[ix]]
                scores = [member_crps(np.sort(said[:, ix])[:, None], came)[0] * clear for said in (without, with_them)]
                low, high = (with_them[:, ix] < came).mean(), (with_them[:, ix] <= came).mean()
                rows[lead].append((*scores, float(in_band(np.array([low]), np.array([high]), 0.8)[0])))
    return {lead: np.array(found) for lead, found in rows.items()}
