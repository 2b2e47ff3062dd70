"""Heat that each unit's field can send to a mold."""

import os
from concurrent.futures import ThreadPoolExecutor

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

    def send(ix: int) -> None:
        unit = yard.units[ix]
        area_m2 = mirror_area_m2(unit, elevation_deg, azimuth_deg) * open_share(unit, elevation_deg, azimuth_deg)
        area_m2 = area_m2 * clean_slots(unit, grid, skies.rain_mm)[:, working]
        heat_kw[:, ix, working] = dni_kw_m2 * area_m2.astype(np.float32)

    with ThreadPoolExecutor(
        os.cpu_count()
    ) as pool:  # the first time shading takes long, mostly outside the interpreter
        list(pool.map(send, range(len(yard.units))))
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
