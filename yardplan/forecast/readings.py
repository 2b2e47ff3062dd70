"""What the yard's own instrument says: the log of direct light, with readings left out that cannot be true."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.tables import BoolArray, Weather
from yardplan.forecast.hours import HOUR_S, YardHours, means_over
from yardplan.forecast.scenarios import EXTRA_CAP, INDEX_CAP
from yardplan.forecast.sky import ClearSky, Floats, clear_sky

LOG_DAYS = 45
"""Days of log that scenarios look at: older haze and clouds are of another season."""

STUCK_MIN = 30
"""Minutes for which lit readings that do not change at all mean a stuck instrument."""

_STUCK_READINGS = 6
_NIGHT_OFFSET_W_M2 = -10.0  # down to this a reading below zero is the instrument's zero; common practice, no source
_DIRTY_INDEX, _CLEAR_TOTAL_INDEX, _HIGH_SUN_DEG = 0.3, 0.95, 10.0


@dataclass(frozen=True, eq=False)
class SunLog:
    """Readings on equal slots of whole clock hours; every array is (slot,), NaN where there is no good reading.

    Attributes
    ----------
    start_s : float
        Start of the first slot since 1970-01-01 UTC [s].
    dni_w_m2, ghi_w_m2 : ndarray [W/m2]
        Means of the good readings in a slot.
    covered_frac : ndarray
        Share of the slot that they cover.
    sky : ClearSky
        At the middle of each slot.
    warnings : tuple of str
        What was left out, and why.
    """

    start_s: float
    slot_min: int
    dni_w_m2: Floats
    ghi_w_m2: Floats
    covered_frac: Floats
    sky: ClearSky
    warnings: tuple[str, ...]

    @property
    def per_hour(self) -> int:
        """Slots in an hour."""
        return 60 // self.slot_min

    def slots_on(self, hours: YardHours) -> tuple[Floats, Floats]:
        """Return direct light (NaN where not read) and its covered share on the slots of a yard's hours."""
        n_slots = hours.grid.n_slots
        place = np.arange(n_slots) + round((hours.grid.start_at.timestamp() - self.start_s) / (self.slot_min * 60))
        inside = (place >= 0) & (place < len(self.dni_w_m2))
        ix = np.where(inside, place, 0)
        return np.where(inside, self.dni_w_m2[ix], np.nan), np.where(inside, self.covered_frac[ix], 0.0)

    def hours_on(self, hours: YardHours) -> tuple[Floats, Floats]:
        """Return the clear-sky index of a yard's hours as far as they were read, and what share of them was."""
        dni, covered = (hours.by_hour(values) for values in self.slots_on(hours))
        clear = (hours.by_hour(hours.clear.dni_w_m2) * covered).sum(axis=1)
        index = np.nansum(dni * covered, axis=1) / np.where(clear > 0, clear, np.nan)
        return np.clip(index, 0, INDEX_CAP), covered.mean(axis=1)


def sun_log(
    site: Site, measured: Weather, now: datetime, slot_min: int, *, linke: float | None, days: int = LOG_DAYS
) -> SunLog | None:
    """Return the good readings of the last days before `now`; None where there are none.

    Left out are readings later than `now`, below zero or above `EXTRA_CAP` times what falls outside the atmosphere,
    lit ones that do not change for `STUCK_MIN`, and direct light far too low for the global light beside it, as from
    a dirty or badly tracking instrument.
    """
    now_s = now.timestamp()
    times: Floats = np.array([at.timestamp() for at in measured.starts_at], dtype=np.float64)
    known = np.isfinite(measured.dni_w_m2)
    late = times + measured.step_min * 60 > now_s + 1
    recent = times >= (now - timedelta(days=days)).timestamp()
    stuck = _stuck(measured.dni_w_m2.astype(np.float64), times, measured.step_min)
    usable = known & recent & ~late
    warnings = _told((known & recent & late, "later than now"), (usable & stuck, "of a stuck instrument"))
    usable &= ~stuck
    if not usable.any():
        return None
    dni = np.where(usable, measured.dni_w_m2, np.nan)
    start_s = float(np.floor(times[usable][0] / HOUR_S) * HOUR_S)
    n_slots = int(np.ceil((times[usable][-1] + measured.step_min * 60 - start_s) / HOUR_S)) * (60 // slot_min)
    good = replace(measured, dni_w_m2=dni.astype(np.float32))
    means, covered = means_over(good, start_s, slot_min, n_slots)
    middles: Floats = start_s + (np.arange(n_slots, dtype=np.float64) + 0.5) * slot_min * 60
    sky = clear_sky(middles, site.latitude_deg, site.longitude_deg, site.altitude_m, linke)

    slots, total = means["dni_w_m2"], means["ghi_w_m2"]
    with np.errstate(divide="ignore", invalid="ignore"):
        impossible = (slots < _NIGHT_OFFSET_W_M2) | (slots > EXTRA_CAP * sky.extra_w_m2)
        dirty = (
            (slots < _DIRTY_INDEX * sky.dni_w_m2)
            & (total > _CLEAR_TOTAL_INDEX * sky.ghi_w_m2)
            & (sky.sun.elevation_deg > _HIGH_SUN_DEG)
        )
    warnings += _told((impossible, "that cannot be true"), (dirty, "of a dirty or badly tracking instrument"))
    slots = np.where(impossible | dirty, np.nan, np.maximum(slots, 0))
    covered = np.where(np.isnan(slots), 0.0, covered)
    return SunLog(start_s, slot_min, slots, total, covered, sky, warnings)


def _stuck(values: Floats, times: Floats, step_min: int) -> BoolArray:
    """Tell which readings are part of a run of equal lit ones that is too long to be true."""
    same = (values[1:] == values[:-1]) & (values[1:] > 0) & (np.diff(times) <= step_min * 60 + 1)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], same, [False]]).astype(np.int8)))
    longest = max(_STUCK_READINGS, -(-STUCK_MIN // step_min))
    stuck = np.zeros(len(values), dtype=np.bool_)
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        stuck[first : last + 1] = last - first + 1 >= longest
    return stuck


def _told(*found: tuple[BoolArray, str]) -> tuple[str, ...]:
    return tuple(f"{int(which.sum())} readings {what} were left out" for which, what in found if which.any())
