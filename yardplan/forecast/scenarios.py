"""Skies that may come: a typical year's clouds laid on the yard's own sun and dates."""

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.equipment import Site
from yardplan.domain.errors import require
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import FloatArray
from yardplan.domain.verification import BiasCorrection
from yardplan.forecast.overrule import Overrule
from yardplan.forecast.sky import ClearSky, Floats, clear_sky, slot_middles
from yardplan.forecast.weather import HOURS, TypicalYear

SPREAD_DAYS = 10
"""Days before and after the date from which a typical year's weather is taken to be of the same season."""

INDEX_CAP = 1.15
"""Highest clear-sky index: above it the clear sky of the file's place is wrong, not the sky clearer."""

EXTRA_CAP = 1.1
"""Direct light never passes this share of what falls outside the atmosphere."""

LAPSE_C_PER_M = 0.0065
"""Fall of temperature with height. Source: ISO 2533, Standard Atmosphere."""

_LOW_SUN_DEG = 7.0  # under this the quotient of two small numbers says nothing about clouds


class SkyMode(StrEnum):
    """What the scenarios rest on."""

    FORECAST = "forecast"
    STALE = "stale"
    CLIMATOLOGY = "climatology"


@dataclass(frozen=True, eq=False)
class Skies:
    """Scenarios of the sky over the yard.

    Attributes
    ----------
    clear : ClearSky
        The sun and the cloudless sky at the middle of each slot.
    dni_w_m2, ghi_w_m2, temp_c, wind_m_s, gust_m_s : ndarray float32 (scenario, slot)
        Direct normal and global horizontal irradiance, air, wind and gusts.
    source : str
        Where they come from, in words that can be shown.
    issued_at : datetime or None
        When a forecast was made; None for climatology.
    rain_mm : ndarray float32 (scenario, slot) or None
        Rain that falls in each slot, where it is known.
    mode : SkyMode
        What they rest on.
    age_h : float or None
        Hours since the forecast was made; None for climatology.
    overrules : tuple of Overrule
        What was set by hand and has the last word.
    warnings : tuple of str
        What has to be told with them: gaps, readings that were left out, an old forecast.
    correction : BiasCorrection or None
        Whether the forecast was corrected by the log, and why or why not; None without a forecast.
    """

    grid: SlotGrid
    clear: ClearSky
    dni_w_m2: FloatArray
    ghi_w_m2: FloatArray
    temp_c: FloatArray
    wind_m_s: FloatArray
    gust_m_s: FloatArray
    source: str
    issued_at: datetime | None = None
    rain_mm: FloatArray | None = None
    mode: SkyMode = SkyMode.CLIMATOLOGY
    age_h: float | None = None
    overrules: tuple[Overrule, ...] = ()
    warnings: tuple[str, ...] = ()
    correction: BiasCorrection | None = None


def climatology(
    site: Site,
    year: TypicalYear,
    grid: SlotGrid,
    *,
    n_scenarios: int = 21,
    seed: int = 0,
    spread_days: int = SPREAD_DAYS,
) -> Skies:
    """Return scenarios made of the typical year's own days around the same date.

    Scenario k takes consecutive days that start some days before or after the date, spread evenly over +-10 days, so
    spells of weather stay whole. More than 21 scenarios repeat the same days: the file holds no others. Hours are
    matched by apparent solar time, so that a morning stays a morning at another longitude; between hemispheres the
    year is turned by half. The clear-sky index of an hour (direct light over that of a cloudless sky at the file's
    place) keeps its mean over that hour and runs evenly into the next one; under a low sun the nearest hours stand
    in. Temperature is corrected to the yard's altitude by `LAPSE_C_PER_M`; wind and gusts are taken as they are.

    Parameters
    ----------
    seed : int
        Orders the scenarios; the set is the same for every seed.
    spread_days : int
        Days before and after the date; more of them hold more weather that is not alike, less of the season.
    """
    require(n_scenarios >= 1, "scenarios", site.name, "n_scenarios", n_scenarios, "at least 1")
    middles_s = slot_middles(grid)
    clear = clear_sky(middles_s, site.latitude_deg, site.longitude_deg, site.altitude_m, site.linke)
    days, which = _start_days(n_scenarios, seed, spread_days)
    if site.latitude_deg * year.latitude_deg < 0:
        days = days + 182
    new_year_s = datetime(grid.start_at.year, 1, 1, tzinfo=UTC).timestamp()
    solar_day = _solar_day(middles_s - new_year_s, site.longitude_deg, clear.sun.equation_of_time_min)
    hours = _HoursOfYear(year)
    at_hour = hours.at(solar_day[None, :] + days[:, None])

    direct, total = hours.clear_sky_indices()
    dni = np.minimum(_evenly(direct, at_hour, INDEX_CAP) * clear.dni_w_m2, EXTRA_CAP * clear.extra_w_m2)
    beam = dni * np.sin(np.radians(np.clip(clear.sun.elevation_deg, 0, None)))
    ghi = np.maximum(_evenly(total, at_hour, INDEX_CAP) * clear.ghi_w_m2, beam)
    warmer_k = LAPSE_C_PER_M * (year.altitude_m - site.altitude_m)
    weather = year.weather
    return Skies(
        grid=grid,
        clear=clear,
        dni_w_m2=dni.astype(np.float32)[which],
        ghi_w_m2=ghi.astype(np.float32)[which],
        temp_c=(_between(weather.temp_c, at_hour) + warmer_k).astype(np.float32)[which],
        wind_m_s=_between(weather.wind_m_s, at_hour).astype(np.float32)[which],
        gust_m_s=_between(weather.gust_m_s, at_hour).astype(np.float32)[which],
        source=f"climatology: {weather.source}, laid on the clear sky of {site.name}",
    )


def scenario_shifts(n_scenarios: int, seed: int = 0, spread_days: int = SPREAD_DAYS) -> NDArray[np.intp]:
    """Return by how many days each scenario of `climatology` starts before or after the date: ndarray (scenario,)."""
    days, which = _start_days(n_scenarios, seed, spread_days)
    return days[which].astype(np.intp)


def _start_days(n_scenarios: int, seed: int, spread_days: int) -> tuple[Floats, NDArray[np.intp]]:
    """Return the distinct shifts in days, and which of them each scenario takes."""
    width = 2 * spread_days + 1
    shifts = np.rint((np.arange(n_scenarios) + 0.5) * width / n_scenarios - width / 2)
    days, which = np.unique(shifts, return_inverse=True)
    return days.astype(np.float64), np.random.default_rng(seed).permutation(which)


def _solar_day(since_new_year_s: Floats, longitude_deg: float, equation_of_time_min: Floats) -> Floats:
    """Return apparent solar time at a longitude, as days since the year began there."""
    return since_new_year_s / 86400 + longitude_deg / 360 + equation_of_time_min / 1440


@lru_cache(maxsize=2)
def year_sky(year: TypicalYear) -> ClearSky:
    """Return the sun and the cloudless sky over the file's place, at the middle of each quarter of its hours."""
    start_s = year.weather.starts_at[0].timestamp()
    quarters_s: Floats = start_s + (np.arange(HOURS * 4, dtype=np.float64) + 0.5) * 900
    return clear_sky(quarters_s, year.latitude_deg, year.longitude_deg, year.altitude_m)


class _HoursOfYear:
    """The hours of a typical year under its own sun, the last running on into the first."""

    def __init__(self, year: TypicalYear) -> None:
        self._year, self._sky = year, year_sky(year)
        start_s = year.weather.starts_at[0].timestamp()
        new_year_s = datetime(year.weather.starts_at[HOURS // 2].year, 1, 1, tzinfo=UTC).timestamp()
        middles_s: Floats = start_s + (np.arange(HOURS, dtype=np.float64) + 0.5) * 3600
        equation_min = self._sky.sun.equation_of_time_min[2::4]
        self._middles_day = _solar_day(middles_s - new_year_s, year.longitude_deg, equation_min)

    def at(self, solar_day: Floats) -> Floats:
        """Return the place of an instant on the axis of hours, where hour i reaches from i to i + 1."""
        first = self._middles_day[0]
        turned = first + (solar_day - first) % 365
        around = np.append(self._middles_day, first + 365)
        place: Floats = np.interp(turned, around, np.arange(HOURS + 1) + 0.5)
        return place

    def clear_sky_indices(self) -> tuple[Floats, Floats]:
        """Return each hour's direct and global irradiance over that of a clear sky; low suns borrow from neighbors."""
        high = self._sky.sun.elevation_deg.reshape(HOURS, 4).mean(axis=1) >= _LOW_SUN_DEG
        ix = np.flatnonzero(high)
        found = []
        for measured, clear in (
            (self._year.weather.dni_w_m2, self._sky.dni_w_m2),
            (self._year.weather.ghi_w_m2, self._sky.ghi_w_m2),
        ):
            index = measured[ix].astype(np.float64) / clear.reshape(HOURS, 4).mean(axis=1)[ix]
            found.append(np.interp(np.arange(HOURS), ix, np.minimum(index, INDEX_CAP), period=HOURS))
        return found[0], found[1]


def _evenly(hourly: Floats, at_hour: Floats, cap: float) -> Floats:
    """Return hourly means as a path of straight pieces that keeps each hour's mean and stays within 0 and `cap`.

    At the border of two hours the path takes their mean, pulled in on either side as far as the bounds ask; the
    middle of the hour follows from its mean. Between an hour at one bound and one at the other it jumps.
    """
    before, after = np.roll(hourly, 1), np.roll(hourly, -1)
    lowest, highest = 2 * hourly - cap, 2 * hourly
    left = np.clip((before + hourly) / 2, lowest, highest)
    right = np.clip((hourly + after) / 2, lowest, highest)
    middle = 2 * hourly - (left + right) / 2
    hour = np.floor(at_hour).astype(np.intp)
    part = 2 * (at_hour - hour)
    ix = hour % len(hourly)
    first_half = left[ix] + (middle[ix] - left[ix]) * part
    second_half = middle[ix] + (right[ix] - middle[ix]) * (part - 1)
    return np.where(part < 1, first_half, second_half)


def _between(hourly: FloatArray, at_hour: Floats) -> Floats:
    """Return hourly means joined by straight lines from the middle of an hour to the next."""
    place = at_hour - 0.5
    hour = np.floor(place).astype(np.intp)
    part = place - hour
    low, high = hourly[hour % len(hourly)], hourly[(hour + 1) % len(hourly)]
    return low + (high - low) * part
