"""Heat that each unit's field can send to a mold, and what a day of it looks like."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import BoolArray, FloatArray, HeatTable
from yardplan.domain.yard import Yard
from yardplan.forecast.dirt import clean_slots
from yardplan.forecast.mirrors import mirror_area_m2
from yardplan.forecast.scenarios import Skies, climatology
from yardplan.forecast.sun_table import open_share
from yardplan.forecast.weather import TypicalYear

QUANTILES = (0.1, 0.5, 0.9)

_RISE_DEG = -0.8333  # geometric height of the sun's center when its upper rim is seen: 16' of radius, 34' of refraction


@dataclass(frozen=True, eq=False)
class DaySummary:
    """One local day of one unit.

    Attributes
    ----------
    sunrise_at, sunset_at : datetime or None
        First rise and last set of the upper rim within that day [UTC]; None where there is none.
    kwh : tuple of float [kWh]
        Heat of the day at the `QUANTILES`: P10 is passed in nine scenarios of ten.
    first_slot : int
        Slot of the grid that the day begins with.
    heat_kw : ndarray float32 (quantile, slot of the day) [kW]
        The `QUANTILES` slot by slot; they do not add up to those of the day.
    """

    on: date
    unit_id: str
    sunrise_at: datetime | None
    sunset_at: datetime | None
    kwh: tuple[float, ...]
    first_slot: int
    heat_kw: FloatArray


def heat_table(yard: Yard, year: TypicalYear, grid: SlotGrid, *, n_scenarios: int = 21, seed: int = 0) -> HeatTable:
    """Return the heat of every unit over scenarios made from a typical year; see `climatology` and `field_heat`."""
    return field_heat(yard, climatology(yard.site, year, grid, n_scenarios=n_scenarios, seed=seed), seed=seed)


def field_heat(yard: Yard, skies: Skies, *, seed: int) -> HeatTable:
    """Return the heat that leaves each unit's mirrors toward its mold.

    Direct light on the field's mirrors, less what neighbors shade and block and what dirt takes; none under the
    site's least elevation and none while the mirrors are stowed. What a unit lets on a mold at most is not cut off
    here but from what lands on the mold, since the field drops mirrors by the mold's heat. Down-time of units is the
    planner's. Skies that know no rain leave the cleaning of mirrors to their wash dates.
    """
    grid, sun = skies.grid, skies.clear.sun
    heat_kw = np.zeros((skies.dni_w_m2.shape[0], len(yard.units), grid.n_slots), np.float32)
    working = np.flatnonzero(sun.elevation_deg >= max(yard.site.min_elevation_deg, 0.0))
    elevation_deg, azimuth_deg = sun.elevation_deg[working], sun.azimuth_deg[working]
    dni_kw_m2 = np.where(stowed(yard.site, skies.gust_m_s), 0, skies.dni_w_m2)[:, working] / np.float32(1000)
    for ix, unit in enumerate(yard.units):
        area_m2 = mirror_area_m2(unit, elevation_deg, azimuth_deg) * open_share(unit, elevation_deg, azimuth_deg)
        area_m2 = area_m2 * clean_slots(unit, grid, skies.rain_mm)[:, working]
        heat_kw[:, ix, working] = dni_kw_m2 * area_m2.astype(np.float32)
    return HeatTable(
        grid=grid,
        unit_ids=tuple(unit.id for unit in yard.units),
        field_kw=heat_kw,
        temp_c=skies.temp_c,
        wind_m_s=skies.wind_m_s,
        dni_w_m2=skies.dni_w_m2,
        ghi_w_m2=skies.ghi_w_m2,
        elevation_deg=sun.elevation_deg.astype(np.float32),
        source=skies.source,
        issued_at=skies.issued_at,
        seed=seed,
    )


def stowed(site: Site, gust_m_s: FloatArray) -> BoolArray:
    """Tell in which slots the mirrors are stowed: from a gust at the stow limit on, until one is below the other.

    Parameters
    ----------
    gust_m_s : ndarray (scenario, slot) [m/s]

    Returns
    -------
    ndarray bool (scenario, slot)
        Mirrors are at work when the grid begins, unless its first gust is too strong.
    """
    stow, resume = gust_m_s >= site.stow_gust_m_s, gust_m_s < site.resume_gust_m_s
    slots = np.arange(gust_m_s.shape[1])
    # the last slot so far that decided, one way or the other; -1 before any
    decided = np.maximum.accumulate(np.where(stow | resume, slots, -1), axis=1)
    return np.take_along_axis(stow, np.maximum(decided, 0), axis=1) & (decided >= 0)


def day_summaries(heat: HeatTable) -> tuple[DaySummary, ...]:
    """Return one summary for each local day and unit, in that order."""
    grid, slot_h = heat.grid, heat.grid.slot_min / 60
    rises, sets = _crossings(grid, heat.elevation_deg)
    found = []
    for on, first, after in grid.days:
        start_at, end_at = grid.at(first), grid.at(after)
        sunrise_at = next((at for at in rises if start_at <= at < end_at), None)
        sunset_at = next((at for at in reversed(sets) if start_at <= at < end_at), None)
        day_kw = heat.field_kw[:, :, first:after]
        kwh = np.quantile(day_kw.sum(axis=2, dtype=np.float64) * slot_h, QUANTILES, axis=0)
        by_slot = np.quantile(day_kw, QUANTILES, axis=0).astype(np.float32)
        for ix, unit_id in enumerate(heat.unit_ids):
            day_kwh = tuple(float(value) for value in kwh[:, ix])
            found.append(DaySummary(on, unit_id, sunrise_at, sunset_at, day_kwh, first, by_slot[:, ix]))
    return tuple(found)


def _crossings(grid: SlotGrid, elevation_deg: FloatArray) -> tuple[list[datetime], list[datetime]]:
    """Return the instants of sunrise and sunset within the grid.

    Refraction makes the apparent height jump at the horizon, so the two samples on the dark side, which are
    geometric, are drawn on to the height of sunrise; where the night is too short for two, the border of the
    first sunlit slot stands.
    """
    up = elevation_deg > _RISE_DEG
    rises: list[datetime] = []
    sets: list[datetime] = []
    for slot in np.flatnonzero(up[1:] != up[:-1]) + 1:
        rising = bool(up[slot])
        near, far = (slot - 1, slot - 2) if rising else (slot, slot + 1)
        border = float(slot)
        if 0 <= far < grid.n_slots and not up[far] and elevation_deg[far] < elevation_deg[near]:
            climb_deg = float(elevation_deg[near] - elevation_deg[far])
            slots = min((_RISE_DEG - float(elevation_deg[near])) / climb_deg, 1.0)
            border = near + 0.5 + (slots if rising else -slots)
        (rises if rising else sets).append(grid.start_at + timedelta(minutes=grid.slot_min * border))
    return rises, sets
