"""Verification: what was said of the sun, as it was said, against what was read.

Figures of few days say little: the share of readings in a band scatters by chance, which is shown beside it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import BoolArray, Weather
from yardplan.domain.verification import LEVELS, STRONG_SUN_W_M2, LeadScores, Shown, Verification
from yardplan.forecast.blend import SeasonOfHours
from yardplan.forecast.conditional import LOW_SUN_DEG, index_crps, samples
from yardplan.forecast.hours import HOUR_S, Places, YardHours
from yardplan.forecast.readings import sun_log
from yardplan.forecast.scenarios import Skies
from yardplan.forecast.scores import (
    bias,
    brier,
    crps,
    hits_by_chance,
    interval_score,
    place_in,
    rmse,
    share_within,
    skill,
)
from yardplan.forecast.sky import Floats
from yardplan.forecast.weather import TypicalYear

LEADS_H = ((0.0, 6.0), (6.0, 24.0), (24.0, 48.0), (48.0, 96.0), (96.0, 168.0))
"""Hours between the making of an outlook and the hour that it speaks of."""

LONGEST_LEAD = timedelta(hours=LEADS_H[-1][1])
"""Outlooks are not judged further ahead."""

ENOUGH_DAYS = 15
"""Days below which nothing should be concluded."""

PERSISTENCE_DAYS = 3
"""How old the last reading of an hour may be that persistence takes."""

_BAND = (0.1, 0.9)
_BINS = 10
_JUMP_DAYS, _JUMP_W_M2 = 7, 60.0


def shown(skies: Skies, now: datetime) -> Shown:
    """Return what an outlook says of the sunlit hours after `now` that will be judged, in the form that is kept."""
    grid = skies.grid
    slots_s = grid.start_at.timestamp() + np.arange(grid.n_slots) * grid.slot_min * 60.0
    hour = np.floor(slots_s / HOUR_S).astype(np.intp)
    per_hour = 60 // grid.slot_min
    first = np.flatnonzero(np.diff(hour, prepend=hour[0] - 1))
    whole = first[np.diff(np.append(first, len(hour))) == per_hour]
    lead = slots_s[whole] - now.timestamp()
    whole = whole[(lead >= 0) & (lead < LONGEST_LEAD.total_seconds())]
    means = np.array([skies.dni_w_m2[:, at : at + per_hour].mean(axis=1) for at in whole])
    means = means.reshape(len(whole), len(skies.dni_w_m2))
    lit = np.array([skies.clear.dni_w_m2[at : at + per_hour].any() for at in whole], dtype=np.bool_)
    quantiles = np.quantile(means[lit], LEVELS, axis=1).astype(np.float32)
    return Shown(now, slots_s[whole][lit], quantiles)


def verify(
    site: Site,
    year: TypicalYear,
    outlooks: Sequence[Shown],
    measured: Sequence[Weather],
    *,
    now: datetime,
    days: int = 60,
) -> Verification:
    """Return how the outlooks of the last `days` fared against what was read, by hours of lead.

    Hours count when at least three quarters of them were read and the sun stood above `LOW_SUN_DEG`.
    """
    log = sun_log(site, measured, now, 5, linke=site.linke, days=days + PERSISTENCE_DAYS)
    first_at = now - timedelta(days=days + PERSISTENCE_DAYS)
    if log is None or not outlooks:
        return Verification((), ())
    grid = SlotGrid(first_at, (days + PERSISTENCE_DAYS) * 288, site.tz)
    hours = YardHours.around(site, grid, now, site.linke)
    index, covered = log.hours_on(hours)
    index = np.where(covered >= 0.75, index, np.nan)
    season = SeasonOfHours(samples(year), hours, southern=site.latitude_deg < 0)
    climate_crps = np.full(len(index), np.nan)
    climate_crps[hours.lit] = index_crps(season.by_cloud.climatology(), np.nan_to_num(index[hours.lit]))
    cases = _cases(outlooks, hours, index, climate_crps * hours.sun.clear_dni_w_m2)
    found = tuple(
        _scores(span, cases.at(which))
        for span in LEADS_H
        if (which := (cases.lead_h >= span[0]) & (cases.lead_h < span[1])).any()
    )
    return Verification(found, (*_jump(cases), *log.warnings))


@dataclass(frozen=True, eq=False)
class _Cases:
    """Hours of outlooks that were read; every array is (case,), `quantiles` (case, level), energies in W/m2."""

    lead_h: Floats
    day: Places
    quantiles: Floats
    came: Floats
    persistence: Floats
    climate_crps: Floats

    def at(self, which: BoolArray) -> "_Cases":
        return _Cases(*(getattr(self, name)[which] for name in self.__dataclass_fields__))

    @property
    def mean(self) -> Floats:
        """What an outlook says on average: the mean of its quantiles."""
        mean: Floats = (self.quantiles[:, 1:] + self.quantiles[:, :-1]).mean(axis=1) / 2
        return mean


def _cases(outlooks: Sequence[Shown], hours: YardHours, index: Floats, climate_crps: Floats) -> _Cases:
    parts = []
    for outlook in outlooks:
        made_s = outlook.made_at.timestamp()
        place = np.rint((outlook.start_s - hours.sun.start_s[0]) / HOUR_S).astype(np.intp)
        inside = (place >= 0) & (place < len(index))
        known = np.flatnonzero(inside)
        known = known[np.isfinite(index[place[known]]) & (hours.sun.elevation_deg[place[known]] >= LOW_SUN_DEG)]
        place = place[known]
        clear = hours.sun.clear_dni_w_m2[place]
        parts.append(
            _Cases(
                (outlook.start_s[known] + HOUR_S / 2 - made_s) / HOUR_S,
                hours.day[place],
                outlook.dni_w_m2[:, known].T.astype(np.float64),
                index[place] * clear,
                _persistence(index, place, int((made_s - hours.sun.start_s[0]) // HOUR_S)) * clear,
                climate_crps[place],
            )
        )
    return _Cases(*(np.concatenate([getattr(part, name) for part in parts]) for name in _Cases.__dataclass_fields__))


def _persistence(index: Floats, place: Places, made: int) -> Floats:
    """Return the index of the same hour on the last day that was read when the outlook was made, NaN if long ago."""
    last = place - 24 * np.maximum(-(-(place - made + 1) // 24), 1)
    found = np.full(len(place), np.nan)
    for back in range(PERSISTENCE_DAYS):
        before = last - 24 * back
        there = np.where(before >= 0, index[np.maximum(before, 0)], np.nan)
        found = np.where(np.isnan(found), there, found)
    return found


def _scores(lead_h: tuple[float, float], cases: _Cases) -> LeadScores:
    came, quantiles, mean = cases.came, cases.quantiles.T, cases.mean
    low, high = (quantiles[int(np.argmin(np.abs(LEVELS - level)))] for level in _BAND)
    below, at = place_in(LEVELS, quantiles, came)
    strong_below, _ = place_in(LEVELS, quantiles, np.full(len(came), STRONG_SUN_W_M2))
    score, error = float(np.mean(crps(LEVELS, quantiles, came))), rmse(mean, came)
    days, nominal = len(np.unique(cases.day)), _BAND[1] - _BAND[0]
    fewest, most = hits_by_chance(days, nominal)
    persisted = np.isfinite(cases.persistence)
    edges = np.linspace(0, 1, _BINS + 1)
    return LeadScores(
        lead_h=lead_h,
        hours=len(came),
        days=days,
        bias_w_m2=bias(mean, came),
        rmse_w_m2=error,
        nrmse_frac=error / float(came.mean()) if came.any() else float("nan"),
        crps_w_m2=score,
        band_score_w_m2=float(np.mean(interval_score(low, high, came, nominal))),
        strong_sun_brier=brier(1 - strong_below, (came > STRONG_SUN_W_M2).astype(np.float64)),
        in_band_frac=float(share_within(below, at, *_BAND).mean()),
        in_band_by_chance=(fewest / days, most / days),
        skill_climate=skill(score, float(cases.climate_crps.mean())),
        skill_persistence=skill(
            rmse(mean[persisted], came[persisted]), rmse(cases.persistence[persisted], came[persisted])
        )
        if persisted.any()
        else float("nan"),
        ranks_frac=tuple(float(share_within(below, at, start, end).mean()) for start, end in pairwise(edges)),
        enough=days >= ENOUGH_DAYS,
    )


def _jump(cases: _Cases) -> tuple[str, ...]:
    """Return a warning where the bias of the last days is not that of the days before: a weather model was changed."""
    error, day = cases.mean - cases.came, cases.day
    late = day > day.max(initial=0) - _JUMP_DAYS
    by_day = [np.array([error[part & (day == on)].mean() for on in np.unique(day[part])]) for part in (~late, late)]
    if min(len(part) for part in by_day) < _JUMP_DAYS - 2:
        return ()
    before, after = by_day
    chance = np.sqrt(before.var(ddof=1) / len(before) + after.var(ddof=1) / len(after))
    moved = float(after.mean() - before.mean())
    if abs(moved) < max(_JUMP_W_M2, 3 * chance):
        return ()
    way = "sunnier" if moved > 0 else "duller"
    return (f"outlooks of the last {_JUMP_DAYS} days are {abs(moved):.0f} W/m2 {way} against the readings than before",)
