"""Look further than the forecast reaches: from there on, days of a typical year stand in.

A far day is that of the middle of its week in a typical year, with scenarios made of all days of that season: the sun
moves little in three days, and one such day is worked out instead of seven. It goes on the same slots as the near
days, so mold, crew, resin and battery count on without a seam.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.calibration import Calibration
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.slots import SlotGrid, local_midnight
from yardplan.domain.tables import CookTable, HeatTable, SkyCooks
from yardplan.domain.yard import Yard
from yardplan.forecast.electricity import power_table
from yardplan.forecast.scenarios import climatology
from yardplan.forecast.weather import TypicalYear
from yardplan.usecases.heat_rule import limits_of
from yardplan.usecases.outlook import Outlook, heat_and_cooks

N_SCENARIOS = 21
"""Skies of a far day: as many as a typical year has different days around a date."""

STEP_DAYS = 7
"""One far day is worked out for so many."""


@dataclass(frozen=True, eq=False)
class TypicalDay:
    """A day of a typical year: heat and cooks on the grid of that one day."""

    heat: HeatTable
    cook: CookTable
    sky_cooks: SkyCooks


@lru_cache(maxsize=64)
def typical_day(
    yard: Yard, year: TypicalYear, calibrations: tuple[Calibration, ...], on: date, n_scenarios: int = N_SCENARIOS
) -> TypicalDay:
    """Return the day `on` in a typical year."""
    grid = SlotGrid.of_days(on, 1, yard.site.tz)
    skies = climatology(yard.site, year, grid, n_scenarios=n_scenarios)
    return TypicalDay(*heat_and_cooks(yard, skies, calibrations, seed=0))


def problem_ahead(outlook: Outlook, year: TypicalYear, days: int) -> Problem:
    """Return the question of an outlook, gone on with a typical year to `days` days in all; nothing is kept."""
    near, yard = outlook.grid, outlook.yard
    first_on = near.days[0][0]
    grid = SlotGrid(near.start_at, near.slot(local_midnight(first_on + timedelta(days=days), near.tz)), near.tz)
    heat, cook = [outlook.heat], [outlook.cook]
    picks: list[NDArray[np.intp]] = [np.arange(near.n_slots)]
    far = grid.days[len(near.days) :]
    for ix in range(0, len(far), STEP_DAYS):
        week = far[ix : ix + STEP_DAYS]
        day = typical_day(yard, year, outlook.calibrations, week[len(week) // 2][0])
        heat.append(day.heat)
        cook.append(day.cook)
        picks.append(np.concatenate([_same_sun(grid, first, after, day.heat.grid) for _, first, after in week]))
    heat_ahead = _heat_on(grid, heat, picks)
    return Problem(
        yard=yard,
        orders=outlook.orders,
        grid=grid,
        cook=_cooks_on(grid, cook, picks),
        power=power_table(yard, heat_ahead, confidence=outlook.confidence),
        now=outlook.now,
        confidence=outlook.confidence,
        kept=Plan(grid),
        limits=limits_of(yard, heat_ahead, outlook.confidence) if outlook.limits else None,
    )


def _same_sun(grid: SlotGrid, first: int, after: int, day: SlotGrid) -> NDArray[np.intp]:
    """Return, for each slot of a local day, the slot of another day at the same time of day in UTC."""
    days_between = round((grid.at(first) - day.start_at) / timedelta(days=1))
    start = day.slot(grid.at(first) - timedelta(days=days_between))
    return np.clip(np.arange(start, start + after - first), 0, day.n_slots - 1)


def _heat_on(grid: SlotGrid, parts: list[HeatTable], picks: list[NDArray[np.intp]]) -> HeatTable:
    """Join heat; where a part has fewer scenarios they are repeated."""
    most = max(part.field_kw.shape[0] for part in parts)

    def joined(name: str) -> NDArray[np.float32]:
        arrays = [getattr(part, name) for part in parts]
        return np.concatenate(
            [rows[np.resize(np.arange(len(rows)), most)][..., pick] for rows, pick in zip(arrays, picks, strict=True)],
            axis=-1,
        )

    elevation = np.concatenate([part.elevation_deg[pick] for part, pick in zip(parts, picks, strict=True)])
    first = parts[0]
    return HeatTable(
        grid, first.unit_ids, joined("field_kw"), joined("temp_c"), joined("wind_m_s"), joined("dni_w_m2"),
        joined("ghi_w_m2"), elevation, first.source, first.issued_at, first.seed,
    )  # fmt: skip


def _cooks_on(grid: SlotGrid, parts: list[CookTable], picks: list[NDArray[np.intp]]) -> CookTable:
    first = parts[0]
    cook, cool, kwh = (
        np.concatenate([getattr(part, name)[..., pick] for part, pick in zip(parts, picks, strict=True)], axis=-1)
        for name in ("cook_slots", "cool_slots", "heat_kwh")
    )
    return CookTable(grid, first.recipes, first.unit_ids, first.confidences, cook, cool, kwh)
