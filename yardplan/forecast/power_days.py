"""What a day of electricity looks like, for a unit and for a shared finishing bay."""

from dataclasses import dataclass

import numpy as np

from yardplan.domain.days import QUANTILES, BayDay, PowerDay
from yardplan.domain.tables import HeatTable, PowerTable
from yardplan.domain.yard import Yard
from yardplan.forecast.pv import unit_pv_kw
from yardplan.forecast.sky import slot_middles, sun_position


@dataclass(frozen=True)
class _Sunset:
    """The evening that begins on a day."""

    evening: int
    first_slot: int
    after_slot: int


def power_days(yard: Yard, heat: HeatTable, power: PowerTable) -> tuple[PowerDay, ...]:
    """Return one summary for each local day and unit, in that order."""
    grid, site = heat.grid, yard.site
    sun = sun_position(slot_middles(grid), site.latitude_deg, site.longitude_deg, site.altitude_m)
    pv_kw = unit_pv_kw(yard, heat, sun)
    found = []
    for (on, first, after), sunset in zip(grid.days, _sunsets(power), strict=True):
        day_kwh = pv_kw[first:after].sum(axis=0, dtype=np.float64) * grid.slot_min / 60
        pv_kwh = np.quantile(day_kwh, QUANTILES, axis=0)
        for ix, unit in enumerate(yard.units):
            kwh, kw = _evening(power, ix, sunset) if sunset else (None, None)
            charge = float(power.charge_kwh[ix, sunset.first_slot]) if sunset else None
            found.append(PowerDay(on, unit.id, tuple(float(value) for value in pv_kwh[:, ix]), kwh, kw, charge))
    return tuple(found)


def bay_days(yard: Yard, power: PowerTable) -> tuple[BayDay, ...]:
    """Return for each local day with a sunset what the benches of each kind get together.

    Each unit's figure holds at the power table's confidence; they are added up, since all units stand under one sky.
    A bench lives on its own unit, so the sum is there for work that is spread over the bay. What a unit feeds to
    benches of several kinds is told with each of them.
    """
    found = []
    for (on, _, _), sunset in zip(power.grid.days, _sunsets(power), strict=True):
        if sunset is None:
            continue
        for kind in dict.fromkeys(bench.kind for bench in yard.benches):
            fed_by = {bench.unit_id for bench in yard.benches if bench.kind == kind}
            unit_ixs = [ix for ix, unit in enumerate(yard.units) if unit.id in fed_by]
            kwh, kw = np.sum([_evening(power, ix, sunset) for ix in unit_ixs], axis=0).tolist()
            found.append(BayDay(on, kind, tuple(yard.units[ix].id for ix in unit_ixs), kwh, kw))
    return tuple(found)


def _sunsets(power: PowerTable) -> list[_Sunset | None]:
    """Return for each local day the last evening that begins within it and has its energy told, None without one."""
    dark = power.evening_ix >= 0
    begins = np.flatnonzero(dark[1:] & ~dark[:-1]) + 1
    found: list[_Sunset | None] = []
    for _, first, after in power.grid.days:
        today = begins[(begins >= first) & (begins < after)]
        evening = int(power.evening_ix[today[-1]]) if today.size else None
        if evening is not None and np.isfinite(power.evening_kwh[:, evening]).all():
            ends = int(np.flatnonzero(power.evening_ix == evening)[-1]) + 1
            found.append(_Sunset(evening, int(today[-1]), ends))
        else:
            found.append(None)
    return found


def _evening(power: PowerTable, unit_ix: int, sunset: _Sunset) -> tuple[float, float]:
    """Return energy and least power of a unit for an evening [kWh, kW]."""
    least_kw = power.finish_kw[unit_ix, sunset.first_slot : sunset.after_slot].min()
    return float(power.evening_kwh[unit_ix, sunset.evening]), float(least_kw)
