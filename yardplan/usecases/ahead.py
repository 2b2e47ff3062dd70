"""Look further than the forecast reaches: from there on, days of a typical year stand in.

A far day is that of the middle of its week in a typical year, with scenarios made of all days of that season: the sun
moves little in three days, and one such day is worked out instead of seven. It goes on the same slots as the near
days, so mold, crew, resin and battery count on without a seam. A sky goes on from day to day through the typical
year, so that spells of weather stay whole and dull weeks even out as they do.
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
from yardplan.forecast.scenarios import climatology, scenario_shifts
from yardplan.forecast.weather import TypicalYear
from yardplan.usecases.heat_rule import limits_of
from yardplan.usecases.outlook import Outlook, heat_and_cooks

SPREAD_DAYS = 20
"""Days of the typical year before and after a far day that it may turn out like: six weeks of weather."""

N_SCENARIOS = 2 * SPREAD_DAYS + 1
"""Skies of a far day: one for each of these days."""

STEP_DAYS = 7
"""One far day is worked out for so many."""


Picks = tuple[NDArray[np.intp], NDArray[np.intp]]
"""Where a stretch of the long grid comes from: slots of a shorter one (slot,), and its scenarios (slot, scenario)."""


@dataclass(frozen=True, eq=False)
class TypicalDay:
    """A day of a typical year: heat and cooks on the grid of that one day."""

    heat: HeatTable
    cook: CookTable
    sky_cooks: SkyCooks


@lru_cache(maxsize=64)
def typical_day(yard: Yard, year: TypicalYear, calibrations: tuple[Calibration, ...], on: date) -> TypicalDay:
    """Return the day `on` in a typical year."""
    grid = SlotGrid.of_days(on, 1, yard.site.tz)
    skies = climatology(yard.site, year, grid, n_scenarios=N_SCENARIOS, spread_days=SPREAD_DAYS)
    return TypicalDay(*heat_and_cooks(yard, skies, calibrations, seed=0))


def problem_ahead(outlook: Outlook, year: TypicalYear, days: int) -> tuple[Problem, SkyCooks]:
    """Return the question of an outlook and its cooks under each sky, gone on with a typical year to `days` days.

    Nothing is kept.
    """
    near, yard = outlook.grid, outlook.yard
    first_on = near.days[0][0]
    grid = SlotGrid(near.start_at, near.slot(local_midnight(first_on + timedelta(days=days), near.tz)), near.tz)
    n_scenarios = outlook.heat.field_kw.shape[0]
    heat, cook, skies = [outlook.heat], [outlook.cook], [outlook.sky_cooks]
    picks: list[Picks] = [(np.arange(near.n_slots), np.tile(np.arange(n_scenarios), (near.n_slots, 1)))]
    far = grid.days[len(near.days) :]
    for ix in range(0, len(far), STEP_DAYS):
        week = far[ix : ix + STEP_DAYS]
        middle_on = week[len(week) // 2][0]
        day = typical_day(yard, year, outlook.calibrations, middle_on)
        heat.append(day.heat)
        cook.append(day.cook)
        skies.append(day.sky_cooks)
        slots = [same_sun(grid, first, after, day.heat.grid) for _, first, after in week]
        sky = [
            np.tile(skies_after(n_scenarios, (on - middle_on).days), (after - first, 1)) for on, first, after in week
        ]
        picks.append((np.concatenate(slots), np.concatenate(sky)))
    heat_ahead = _heat_on(grid, heat, picks)
    problem = Problem(
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
    return problem, _skies_on(grid, skies, picks)


def skies_after(n_scenarios: int, days: int) -> NDArray[np.intp]:
    """Return which scenario of a far day each sky has so many days after it: its next days of the typical year.

    Past the last day around the date the first one follows.
    """
    shifts = scenario_shifts(N_SCENARIOS, spread_days=SPREAD_DAYS)
    place = np.empty(N_SCENARIOS, np.intp)
    place[shifts - shifts.min()] = np.arange(N_SCENARIOS)
    here = np.resize(shifts, n_scenarios) - shifts.min()
    found: NDArray[np.intp] = place[(here + days) % N_SCENARIOS]
    return found


def same_sun(grid: SlotGrid, first: int, after: int, day: SlotGrid) -> NDArray[np.intp]:
    """Return, for each slot of a local day, the slot of another day at the same time of day in UTC."""
    days_between = round((grid.at(first) - day.start_at) / timedelta(days=1))
    start = day.slot(grid.at(first) - timedelta(days=days_between))
    return np.clip(np.arange(start, start + after - first), 0, day.n_slots - 1)


def _heat_on(grid: SlotGrid, parts: list[HeatTable], picks: list[Picks]) -> HeatTable:
    def joined(name: str) -> NDArray[np.float32]:
        found = []
        for part, (slot, sky) in zip(parts, picks, strict=True):
            rows = np.moveaxis(getattr(part, name), 0, -1)  # scenarios last, as in `sky`
            found.append(np.take_along_axis(rows[..., slot, :], _like(sky, rows.ndim), axis=-1))
        return np.moveaxis(np.concatenate(found, axis=-2), -1, 0)

    elevation = np.concatenate([part.elevation_deg[slot] for part, (slot, _) in zip(parts, picks, strict=True)])
    first = parts[0]
    return HeatTable(
        grid, first.unit_ids, joined("field_kw"), joined("temp_c"), joined("wind_m_s"), joined("dni_w_m2"),
        joined("ghi_w_m2"), elevation, first.source, first.issued_at, first.seed,
    )  # fmt: skip


def _like(sky: NDArray[np.intp], ndim: int) -> NDArray[np.intp]:
    """Return scenarios by slot with as many axes before them as an array has."""
    return sky.reshape((1,) * (ndim - 2) + sky.shape)


def _skies_on(grid: SlotGrid, parts: list[SkyCooks], picks: list[Picks]) -> SkyCooks:
    first = parts[0]
    cook, cool = (
        np.concatenate(
            [
                np.take_along_axis(getattr(part, name)[:, :, slot], _like(sky, 4), axis=-1)
                for part, (slot, sky) in zip(parts, picks, strict=True)
            ],
            axis=2,
        )
        for name in ("cook_slots", "cool_slots")
    )
    return SkyCooks(grid, first.recipes, first.unit_ids, cook, cool)


def _cooks_on(grid: SlotGrid, parts: list[CookTable], picks: list[Picks]) -> CookTable:
    first = parts[0]
    cook, cool, kwh = (
        np.concatenate([getattr(part, name)[..., slot] for part, (slot, _) in zip(parts, picks, strict=True)], axis=-1)
        for name in ("cook_slots", "cool_slots", "heat_kwh")
    )
    return CookTable(grid, first.recipes, first.unit_ids, first.confidences, cook, cool, kwh)
