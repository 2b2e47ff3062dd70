"""How hazy the yard's own clear sky is: Linke turbidity fitted to the cloudless spells of its log.

The world map of turbidity is a climate mean on a coarse grid. Against a month of 1-minute readings at Payerne (June
2016, BSRN) it was half as hazy again as the sky, so the cloudless sun came out a fifth too weak.
"""

from typing import NamedTuple

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.forecast.readings import SunLog
from yardplan.forecast.sky import Floats, clear_sky

LEAST_HALF_DAYS = 5
"""Mornings and afternoons with a cloudless spell from which on the fit is used."""

_TRIED: Floats = np.array([1.2, 2.0, 3.0, 4.0, 5.0, 6.5, 8.0])
_LOW_SUN_DEG = 10.0
_SPELL_H, _LEAST_SPELL_H = 2.0, 1.5
_CLOSE, _CLOSE_SHARE = 0.03, 0.95  # how near to one turbidity the readings of a spell stay, and how many of them do


class FittedLinke(NamedTuple):
    """Linke turbidity of the yard's clear sky, and how many half days with a cloudless spell it is from."""

    linke: float
    half_days: int


def fit_linke(site: Site, log: SunLog) -> FittedLinke | None:
    """Return the turbidity that the cloudless spells of a log tell, None where there are too few.

    A spell of two hours counts as cloudless when nearly all its readings, under a sun above 10 degrees, lie close to
    the clear sky of one turbidity; that of the site is the median of theirs.
    """
    high = np.flatnonzero((log.sky.sun.elevation_deg > _LOW_SUN_DEG) & (log.dni_w_m2 > 0))
    if len(high) == 0:
        return None
    middles: Floats = log.start_s + (high.astype(np.float64) + 0.5) * log.slot_min * 60
    place = (site.latitude_deg, site.longitude_deg, site.altitude_m)
    clear = np.log([clear_sky(middles, *place, linke=float(linke)).dni_w_m2 for linke in _TRIED])
    read = np.log(log.dni_w_m2[high])
    solar_day = middles / 86400 + site.longitude_deg / 360 + log.sky.sun.equation_of_time_min[high] / 1440
    spell = np.floor(solar_day * 24 / _SPELL_H).astype(np.intp)
    found, half_days = [], set()
    for which in np.flatnonzero(np.bincount(spell - spell[0]) >= _LEAST_SPELL_H * log.per_hour) + spell[0]:
        of = spell == which
        linke = float(np.median(_linke_of(read[of], clear[:, of])))
        at_it = np.array([np.interp(linke, _TRIED, column) for column in clear[:, of].T])
        if np.mean(np.abs(read[of] - at_it) < _CLOSE) >= _CLOSE_SHARE:
            found.append(linke)
            half_days.add(which * _SPELL_H // 12)
    if len(half_days) < LEAST_HALF_DAYS:
        return None
    return FittedLinke(round(float(np.median(found)), 2), len(half_days))


def _linke_of(read: Floats, clear: Floats) -> Floats:
    """Return the turbidity at which the clear sky gives what was read: ndarray (slot,)."""
    return np.array([np.interp(-value, -column, _TRIED) for value, column in zip(read, clear.T, strict=True)])
