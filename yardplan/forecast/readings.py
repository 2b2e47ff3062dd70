"""What the yard's own instrument says: the log of direct light, with readings left out that cannot be true."""

from collections.abc import Sequence
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

FINE_MIN = 10
"""Longest readings that show clouds within an hour."""

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
    finely_read : ndarray of bool
        Where most of it is covered by readings of `FINE_MIN` at most, which show clouds within the hour.
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
    finely_read: BoolArray
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
    site: Site, measured: Sequence[Weather], now: datetime, slot_min: int, *, linke: float | None, days: int = LOG_DAYS
) -> SunLog | None:
    """Return the good readings of the last days before `now`; None where there are none.

    Left out are readings later than `now`, below zero or above `EXTRA_CAP` times what falls outside the atmosphere,
    lit ones that do not change for `STUCK_MIN`, and direct light far too low for the global light beside it, as from
    a dirty or badly tracking instrument. Where readings of several lengths say something of a slot their mean counts.
    """
    good, n_late, n_stuck = [], 0, 0
    for one in measured:
        times = _times_s(one)
        known = np.isfinite(one.dni_w_m2) & (times >= (now - timedelta(days=days)).timestamp())
        late = times + one.step_min * 60 > now.timestamp() + 1
        stuck = _stuck(one.dni_w_m2.astype(np.float64), times, one.step_min)
        n_late += int((known & late).sum())
        n_stuck += int((known & ~late & stuck).sum())
        usable = known & ~late & ~stuck
        if usable.any():
            good.append(replace(one, dni_w_m2=np.where(usable, one.dni_w_m2, np.nan).astype(np.float32)))
    warnings = _told((n_late, "later than now"), (n_stuck, "of a stuck instrument"))
    if not good:
        return None
    read_s = [(_times_s(one)[np.isfinite(one.dni_w_m2)], one.step_min * 60) for one in good]
    start_s = float(np.floor(min(times[0] for times, _ in read_s) / HOUR_S) * HOUR_S)
    end_s = max(times[-1] + step_s for times, step_s in read_s)
    n_slots = int(np.ceil((end_s - start_s) / HOUR_S)) * (60 // slot_min)
    slots, total, covered, finely = _on_slots(good, start_s, slot_min, n_slots)
    middles: Floats = start_s + (np.arange(n_slots, dtype=np.float64) + 0.5) * slot_min * 60
    sky = clear_sky(middles, site.latitude_deg, site.longitude_deg, site.altitude_m, linke)

    with np.errstate(divide="ignore", invalid="ignore"):
        impossible = (slots < _NIGHT_OFFSET_W_M2) | (slots > EXTRA_CAP * sky.extra_w_m2)
        dirty = (
            (slots < _DIRTY_INDEX * sky.dni_w_m2)
            & (total > _CLEAR_TOTAL_INDEX * sky.ghi_w_m2)
            & (sky.sun.elevation_deg > _HIGH_SUN_DEG)
        )
    warnings += _told(
        (int(impossible.sum()), "that cannot be true"), (int(dirty.sum()), "of a dirty or badly tracking instrument")
    )
    slots = np.where(impossible | dirty, np.nan, np.maximum(slots, 0))
    covered = np.where(np.isnan(slots), 0.0, covered)
    return SunLog(start_s, slot_min, slots, total, covered, finely, sky, warnings)


def _times_s(weather: Weather) -> Floats:
    return np.array([at.timestamp() for at in weather.starts_at], dtype=np.float64)


def _on_slots(
    good: Sequence[Weather], start_s: float, slot_min: int, n_slots: int
) -> tuple[Floats, Floats, Floats, BoolArray]:
    """Return direct and global light on slots, the covered share, and where most of a slot was read finely."""
    light, weight = np.zeros((2, n_slots)), np.zeros((2, n_slots))
    covered, finely = np.zeros(n_slots), np.zeros(n_slots, dtype=np.bool_)
    for one in good:
        means, share = means_over(one, start_s, slot_min, n_slots)
        both = np.stack([means["dni_w_m2"], means["ghi_w_m2"]])
        there = np.isfinite(both) * np.maximum(share, 1e-9)
        light += np.nan_to_num(both) * there
        weight += there
        covered = np.minimum(covered + share, 1.0)
        finely |= (share > 0.5) & (one.step_min <= FINE_MIN)
    slots, total = np.where(weight > 0, light / np.where(weight > 0, weight, 1), np.nan)
    return slots, total, covered, finely


def _stuck(values: Floats, times: Floats, step_min: int) -> BoolArray:
    """Tell which readings are part of a run of equal lit ones that is too long to be true."""
    same = (values[1:] == values[:-1]) & (values[1:] > 0) & (np.diff(times) <= step_min * 60 + 1)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], same, [False]]).astype(np.int8)))
    longest = max(_STUCK_READINGS, -(-STUCK_MIN // step_min))
    stuck = np.zeros(len(values), dtype=np.bool_)
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        stuck[first : last + 1] = last - first + 1 >= longest
    return stuck


def _told(*found: tuple[int, str]) -> tuple[str, ...]:
    return tuple(f"{count} readings {what} were left out" for count, what in found if count)
