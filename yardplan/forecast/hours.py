"""Clock hours of the yard: what scenarios are decided on before clouds within the hour are laid in."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.equipment import Site
from yardplan.domain.errors import require
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import BoolArray, Weather
from yardplan.forecast.sky import ClearSky, Floats, clear_sky, slot_middles

Places = NDArray[np.intp]
"""Positions in an array."""

HOUR_S = 3600.0
_LOOK_BACK_H = 15
_FIELDS = ("dni_w_m2", "ghi_w_m2", "temp_c", "wind_m_s", "gust_m_s", "cloud_frac")


@dataclass(frozen=True, eq=False)
class SunHours:
    """Hours under the sun of a place; every array is (hour,).

    Attributes
    ----------
    start_s : ndarray [s]
        Start of each hour since 1970-01-01 UTC.
    elevation_deg : ndarray [deg]
        Mean height of the sun.
    clear_dni_w_m2, clear_ghi_w_m2 : ndarray [W/m2]
        Means under a cloudless sky.
    solar_h : ndarray [h]
        Apparent solar time at the middle, from 0 to 24.
    day_of_year : ndarray
        From 0, by UTC.
    """

    start_s: Floats
    elevation_deg: Floats
    clear_dni_w_m2: Floats
    clear_ghi_w_m2: Floats
    solar_h: Floats
    day_of_year: Floats

    @classmethod
    def of(cls, start_s: Floats, sky: ClearSky, longitude_deg: float) -> "SunHours":
        """Return the hours that a sky on equal steps makes up, the same number of steps in each."""
        elevation, dni, ghi, equation_min = (
            values.reshape(len(start_s), -1).mean(axis=1)
            for values in (sky.sun.elevation_deg, sky.dni_w_m2, sky.ghi_w_m2, sky.sun.equation_of_time_min)
        )
        solar_h = (start_s / HOUR_S + 0.5 + longitude_deg / 15 + equation_min / 60) % 24
        new_year = start_s.astype("datetime64[s]").astype("datetime64[Y]").astype("datetime64[s]").astype(np.float64)
        return cls(start_s, elevation, dni, ghi, solar_h, np.floor((start_s - new_year) / 86400))

    def at(self, which: Places) -> "SunHours":
        """Return some of the hours."""
        return SunHours(*(getattr(self, name)[which] for name in self.__dataclass_fields__))


@dataclass(frozen=True, eq=False)
class YardHours:
    """The whole hours around a grid of slots, and those before it that tell of `now`.

    Attributes
    ----------
    grid : SlotGrid
        Slots of all these hours; the wanted ones begin at its slot `first_slot`.
    clear : ClearSky
        At the middle of each slot.
    sun : SunHours
        The hours.
    day : ndarray (hour,)
        The yard's local day that the middle of each hour belongs to, counted from the year 1.
    """

    grid: SlotGrid
    first_slot: int
    clear: ClearSky
    sun: SunHours
    day: Places

    @classmethod
    def around(cls, site: Site, grid: SlotGrid, now: datetime, linke: float | None) -> "YardHours":
        """Return the hours that a grid touches, back to the morning of `now` where that is near.

        Raises
        ------
        InvalidField
            If an hour is no whole number of slots.
        """
        step = grid.slot_min
        require(60 % step == 0, "grid", site.name, "slot_min", step, "minutes that divide an hour, such as 5")
        first_at = grid.start_at
        if first_at - timedelta(days=1) < now < grid.end_at:
            first_at = min(first_at, now.astimezone(UTC) - timedelta(hours=_LOOK_BACK_H))
        before = -grid.slot(first_at)
        before += grid.at(-before).minute // step
        after = -(before + grid.n_slots) % (60 // step)
        wide = SlotGrid(grid.at(-before), before + grid.n_slots + after, grid.tz, step)
        clear = clear_sky(slot_middles(wide), site.latitude_deg, site.longitude_deg, site.altitude_m, linke)
        n_hours = wide.n_slots * step // 60
        start_s: Floats = wide.start_at.timestamp() + np.arange(n_hours, dtype=np.float64) * HOUR_S
        day = np.concatenate([np.full(last - first, on.toordinal()) for on, first, last in wide.days])
        sun = SunHours.of(start_s, clear, site.longitude_deg)
        return cls(wide, before, clear, sun, day[30 // step :: 60 // step])

    @property
    def lit(self) -> Places:
        """Hours in which there is direct light."""
        return np.flatnonzero(self.sun.clear_dni_w_m2 > 0)

    @property
    def per_hour(self) -> int:
        """Slots in an hour."""
        return 60 // self.grid.slot_min

    def by_hour(self, slots: Floats) -> Floats:
        """Return values of slots, the last axis, as hour, slot of the hour."""
        return slots.reshape(*slots.shape[:-1], -1, self.per_hour)


def means_over(weather: Weather, start_s: float, step_min: int, n_steps: int) -> tuple[dict[str, Floats], Floats]:
    """Return the values of a weather as means over other equal steps, and what share of each step it covers.

    Gaps stay out of the means; a step without any value is NaN. Steps longer than these hold for each of them.

    Returns
    -------
    means : dict of ndarray (step,)
        By the name of the field.
    covered_frac : ndarray (step,)
        Share of the step for which direct light is known, 0 to 1.
    """
    pieces = max(weather.step_min // step_min, 1)
    piece_s = weather.step_min * 60 / pieces
    times: Floats = np.array([at.timestamp() for at in weather.starts_at], dtype=np.float64)
    times = (times[:, None] + (np.arange(pieces) + 0.5) * piece_s).ravel()
    step = np.floor((times - start_s) / (step_min * 60)).astype(np.intp)
    inside = (step >= 0) & (step < n_steps)
    means, covered = {}, np.zeros(n_steps)
    for name in _FIELDS:
        values = np.repeat(getattr(weather, name).astype(np.float64), pieces)
        good = inside & np.isfinite(values)
        count = np.bincount(step[good], minlength=n_steps)
        total = np.bincount(step[good], weights=values[good], minlength=n_steps)
        means[name] = np.where(count > 0, total / np.maximum(count, 1), np.nan)
        if name == "dni_w_m2":
            covered = np.minimum(count * piece_s / (step_min * 60), 1.0)
    return means, covered


def bridged(values: Floats, among: BoolArray, longest: int = 2) -> Floats:
    """Return values (hour,) with gaps of a few hours joined by straight lines; longer ones stay NaN.

    Parameters
    ----------
    among : ndarray bool (hour,)
        Hours that count; the others are NaN in the result.
    """
    place = np.flatnonzero(among)
    series = values[place]
    good = np.flatnonzero(np.isfinite(series))
    found = np.full(len(values), np.nan)
    if len(good) == 0:
        return found
    ix = np.arange(len(series))
    after = np.searchsorted(good, ix)
    previous = good[np.maximum(after - 1, 0)]
    following = good[np.minimum(after, len(good) - 1)]
    short = (following - previous <= longest + 1) & (previous <= ix) & (ix <= following)
    joined = np.interp(ix, good, series[good])
    found[place] = np.where(np.isfinite(series) | short, joined, np.nan)
    return found
