"""What the days of a heat table look like: sunrise, heat, and what the sky most likely does."""

from datetime import datetime, timedelta
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.days import QUANTILES, Sky, Spell, Stow, UnitDay, YardDay
from yardplan.domain.equipment import Site
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import FloatArray, HeatTable
from yardplan.forecast.sky import Floats, clear_sky, slot_middles

SUNNY_INDEX = 0.6
"""An hour counts as sunny from this share of a cloudless one on; own measure, no source."""
LIKELY = 0.7
"""Share of scenarios from which on something is called likely."""
STOW_CHANCE = 0.1
"""Share of scenarios from which on a stow is told."""
SUNSHINE_W_M2 = 120.0
"""Direct light from which on the sun shines. Source: WMO-No. 8, ch. 8 (from memory)."""

_RISE_DEG = -0.8333  # geometric height of the sun's center when its upper rim is seen: 16' of radius, 34' of refraction


def unit_days(heat: HeatTable) -> tuple[UnitDay, ...]:
    """Return one summary for each local day and unit, in that order."""
    found = []
    for on, first, after in heat.grid.days:
        day_kw = heat.field_kw[:, :, first:after]
        kwh = np.quantile(_kwh(heat.grid, day_kw), QUANTILES, axis=0)
        by_slot = np.quantile(day_kw, QUANTILES, axis=0).astype(np.float32)
        for ix, unit_id in enumerate(heat.unit_ids):
            day_kwh = tuple(float(value) for value in kwh[:, ix])
            found.append(UnitDay(on, unit_id, day_kwh, first, by_slot[:, ix]))
    return tuple(found)


def yard_days(site: Site, heat: HeatTable) -> tuple[YardDay, ...]:
    """Return one summary for each local day.

    An hour is likely sunny, or likely not, where at least `LIKELY` of the scenarios say so; hours alike make a
    spell, and one shorter than two hours joins the one before.
    """
    grid = heat.grid
    place = site.latitude_deg, site.longitude_deg, site.altitude_m, site.linke
    clear_w_m2 = clear_sky(slot_middles(grid), *place).dni_w_m2
    usable = (heat.elevation_deg >= site.min_elevation_deg) & (clear_w_m2 >= SUNSHINE_W_M2)
    rises, sets = _crossings(grid, heat.elevation_deg)
    found = []
    for on, first, after in grid.days:
        start_at, end_at = grid.at(first), grid.at(after)
        kwh = np.quantile(_kwh(grid, heat.field_kw[:, :, first:after]).sum(axis=1), QUANTILES)
        lit = first + np.flatnonzero(usable[first:after])
        share = heat.dni_w_m2[:, lit].sum(axis=1) / clear_w_m2[lit].sum() if lit.size else np.zeros(1)
        found.append(
            YardDay(
                on=on,
                first_slot=first,
                after_slot=after,
                sunrise_at=next((at for at in rises if start_at <= at < end_at), None),
                sunset_at=next((at for at in reversed(sets) if start_at <= at < end_at), None),
                kwh=tuple(float(value) for value in kwh),
                sun_frac=float(np.median(share)),
                spells=_spells(heat, clear_w_m2, lit),
                stow=_stow(heat, lit),
            )
        )
    return tuple(found)


def _kwh(grid: SlotGrid, heat_kw: FloatArray) -> Floats:
    total: Floats = heat_kw.sum(axis=-1, dtype=np.float64) * (grid.slot_min / 60)
    return total


def _hours(grid: SlotGrid, lit: NDArray[np.intp]) -> list[list[int]]:
    """Return slots by the hours of the yard's clock, in order."""
    return [list(slots) for _, slots in groupby(lit.tolist(), lambda slot: grid.local(slot).hour)]


def _spells(heat: HeatTable, clear_w_m2: Floats, lit: NDArray[np.intp]) -> tuple[Spell, ...]:
    hours = _hours(heat.grid, lit)
    skies = []
    for slots in hours:
        sunny = np.mean(heat.dni_w_m2[:, slots].mean(axis=1) >= SUNNY_INDEX * clear_w_m2[slots].mean())
        skies.append(Sky.SUN if sunny >= LIKELY else Sky.CLOUDS if sunny <= 1 - LIKELY else Sky.UNSURE)
    for at in range(len(skies)):
        around = skies[max(at - 1, 0) : at] + skies[at + 1 : at + 2]
        if around and skies[at] not in around:
            skies[at] = around[0]
    spells = []
    for sky, group in groupby(zip(skies, hours, strict=True), lambda pair: pair[0]):
        slots = [slot for _, hour in group for slot in hour]
        spells.append(Spell(slots[0], slots[-1] + 1, sky))
    return tuple(spells)


def _stow(heat: HeatTable, lit: NDArray[np.intp]) -> Stow | None:
    dark = (heat.dni_w_m2 >= SUNSHINE_W_M2) & ~heat.field_kw.any(axis=1)
    chances = [(slots, float(dark[:, slots].any(axis=1).mean())) for slots in _hours(heat.grid, lit)]
    windy = [(slots, chance) for slots, chance in chances if chance >= STOW_CHANCE]
    if not windy:
        return None
    return Stow(windy[0][0][0], windy[-1][0][-1] + 1, max(chance for _, chance in windy))


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
