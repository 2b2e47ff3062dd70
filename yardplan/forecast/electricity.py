"""What the sun leaves in each unit's battery for the benches."""

from dataclasses import dataclass

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.errors import require
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import BoolArray, FloatArray, HeatTable, IntArray, PowerTable
from yardplan.domain.yard import Yard
from yardplan.forecast.sky import Floats, Sun, slot_middles, sun_position

DAY_BENCH_KW = 0.5
"""Mean draw by day of the benches of a unit that has some, set aside before an evening's energy is promised.

Common practice, no source. Jobs by day are held to `finish_kw` slot by slot, not to an account of energy.
"""

ALBEDO = 0.25
"""Of dry ground; common practice, no source."""

POWER_PER_K = -0.0035
"""Change of PV power with the temperature of the cell; common practice for crystalline silicon, no source."""

INVERTER_FRAC = 0.96
"""Nominal efficiency of the inverter. Source: Dobos, PVWatts Version 5 Manual, NREL/TP-6A20-62641, 2014."""


def power_table(yard: Yard, heat: HeatTable, *, confidence: float) -> PowerTable:
    """Return the electricity left for finishing, which holds in the share `confidence` of the scenarios.

    Each unit's PV carries its base load and charges the battery, which gives what is missing; each way costs the
    square root of the round-trip efficiency. The grid is taken to begin with what leaves just the reserve at the
    first sunrise, and every evening's energy to be used up (benches stop at the reserve in scenarios that hold
    less), so that no evening counts on what an earlier one was promised. An evening's energy is what can be drawn
    after sunset so that the battery is still at its reserve at the next sunrise, which may lie after the grid's
    end. By day, benches may draw what the inverter has left over the base load, as far as PV and the battery above
    its reserve give it.

    Parameters
    ----------
    confidence : float
        Above 0 and below 1; the low tail of the scenarios is cut there.

    Raises
    ------
    InvalidField
        If `confidence` is out of range.
    """
    require(0 < confidence < 1, "power table", "", "confidence", confidence, "a share above 0 and below 1")
    grid, slot_h = heat.grid, heat.grid.slot_min / 60
    sun, rest_h = _sun_and_rest_of_night(yard.site, grid)
    day = sun.elevation_deg > 0
    evening_ix = _evenings(day)
    battery = _Battery.of(yard)
    base_kw = np.where(day[:, None], battery.base_day_kw, battery.base_night_kw)
    night_h = np.bincount(evening_ix[~day], minlength=int(evening_ix.max(initial=-1)) + 1) * slot_h
    if not day[-1]:
        night_h[-1] += rest_h
    night_kwh = night_h[:, None] * battery.base_night_kw

    pv_kw = unit_pv_kw(yard, heat, sun)
    first_night_kwh = 0.0 if day[0] else night_kwh[0]
    start_kwh = np.minimum(battery.reserve_kwh + first_night_kwh / battery.one_way_frac, battery.capacity_kwh)
    idle_kwh = np.broadcast_to(start_kwh, pv_kw.shape[1:])  # benches at rest
    used_kwh = idle_kwh  # benches take what they are promised
    charge_kwh, stored_kwh = np.empty_like(pv_kw), np.empty_like(pv_kw)
    evening_kwh = np.zeros((len(night_h), len(yard.units)))
    for slot in range(grid.n_slots):
        evening = int(evening_ix[slot])
        if evening >= 0 and (slot == 0 or day[slot - 1]):
            spare_kwh = battery.above_reserve(used_kwh) - night_kwh[evening]
            evening_kwh[evening] = np.maximum(_surely(spare_kwh, confidence), 0)
            taken_kwh = np.minimum(evening_kwh[evening], np.maximum(spare_kwh, 0))
            used_kwh = used_kwh - taken_kwh / battery.one_way_frac
        charge_kwh[slot], stored_kwh[slot] = idle_kwh, used_kwh
        net_kw = pv_kw[slot] - base_kw[slot]
        idle_kwh = battery.after(idle_kwh, net_kw, slot_h)
        used_kwh = battery.after(used_kwh, net_kw - battery.day_bench_kw if day[slot] else net_kw, slot_h)

    given_kw = pv_kw + battery.above_reserve(stored_kwh) / slot_h
    limit_kw = np.minimum(battery.inverter_kw, _surely(given_kw.swapaxes(0, 1), confidence))
    finish_kw = np.where(day[:, None], limit_kw, battery.inverter_kw) - base_kw
    return PowerTable(
        grid=grid,
        unit_ids=heat.unit_ids,
        finish_kw=np.maximum(finish_kw, 0).T.astype(np.float32),
        evening_kwh=evening_kwh.T.astype(np.float32),
        evening_ix=evening_ix,
        charge_kwh=np.median(charge_kwh, axis=1).T.astype(np.float32),
    )


def unit_pv_kw(yard: Yard, heat: HeatTable, sun: Sun) -> FloatArray:
    """Return what each unit's PV gives behind its inverter, which clips it at `inverter_kw`.

    Source: the inverter curve of PVWatts, as `pv_dc_frac` the steps before it.

    Returns
    -------
    ndarray float32 (slot, scenario, unit) [kW]
    """
    from pvlib import inverter

    dc_frac = pv_dc_frac(yard.site, heat, sun).T
    pv_kw = np.zeros((*dc_frac.shape, len(yard.units)), np.float32)
    for ix, unit in enumerate(yard.units):
        if unit.pv_kw > 0 and unit.inverter_kw > 0:
            pv_kw[:, :, ix] = inverter.pvwatts(dc_frac * unit.pv_kw, unit.inverter_kw / INVERTER_FRAC, INVERTER_FRAC)
    return pv_kw


def pv_dc_frac(site: Site, heat: HeatTable, sun: Sun) -> FloatArray:
    """Return PV power before the inverter over the power at the nameplate, system losses taken off.

    Modules face the equator, tilted by the latitude. Diffuse light counts as isotropic. Source: Dobos, PVWatts
    Version 5 Manual, NREL/TP-6A20-62641, 2014: open-rack cell temperature, linear loss with it, 14 % system loss.

    Returns
    -------
    ndarray float32 (scenario, slot)
    """
    from pvlib import irradiance, pvsystem, temperature

    tilt_deg, facing_deg = abs(site.latitude_deg), 180.0 if site.latitude_deg >= 0 else 0.0
    cosine = irradiance.aoi_projection(tilt_deg, facing_deg, 90 - sun.elevation_deg, sun.azimuth_deg)
    up = sun.elevation_deg > 0
    height = np.where(up, np.sin(np.radians(sun.elevation_deg)), 0).astype(np.float32)
    beam_frac = np.where(up, np.maximum(cosine, 0), 0).astype(np.float32)
    dhi_w_m2 = np.maximum(heat.ghi_w_m2 - heat.dni_w_m2 * height, 0)
    plane_w_m2 = (
        heat.dni_w_m2 * beam_frac
        + irradiance.isotropic(tilt_deg, dhi_w_m2)
        + irradiance.get_ground_diffuse(tilt_deg, heat.ghi_w_m2, ALBEDO)
    )
    open_rack = temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"]["open_rack_glass_polymer"]
    cell_c = temperature.sapm_cell(plane_w_m2, heat.temp_c, heat.wind_m_s, **open_rack)
    kept_frac = 1 - pvsystem.pvwatts_losses() / 100
    dc_frac: FloatArray = np.maximum(pvsystem.pvwatts_dc(plane_w_m2, cell_c, kept_frac, POWER_PER_K), 0)
    return dc_frac.astype(np.float32)


@dataclass(frozen=True, eq=False)
class _Battery:
    """Batteries of all units and what hangs on them; every array is (unit,)."""

    capacity_kwh: Floats
    reserve_kwh: Floats
    one_way_frac: Floats
    inverter_kw: Floats
    base_day_kw: Floats
    base_night_kw: Floats
    day_bench_kw: Floats

    @classmethod
    def of(cls, yard: Yard) -> "_Battery":
        fed = {bench.unit_id for bench in yard.benches}
        units = yard.units
        return cls(
            capacity_kwh=np.array([unit.battery_kwh for unit in units]),
            reserve_kwh=np.array([unit.reserve_kwh for unit in units]),
            one_way_frac=np.sqrt([unit.round_trip_frac for unit in units]),
            inverter_kw=np.array([unit.inverter_kw for unit in units]),
            base_day_kw=np.array([unit.base_day_kw for unit in units]),
            base_night_kw=np.array([unit.base_night_kw for unit in units]),
            day_bench_kw=np.array([DAY_BENCH_KW if unit.id in fed else 0.0 for unit in units]),
        )

    def above_reserve(self, charge_kwh: Floats | FloatArray) -> Floats:
        """Return the energy that loads can draw before the battery is down to its reserve."""
        return np.maximum(charge_kwh - self.reserve_kwh, 0) * self.one_way_frac

    def after(self, charge_kwh: Floats, net_kw: Floats, slot_h: float) -> Floats:
        """Return the charge after a slot of what PV gives less what the loads take, within the inverter's limit."""
        net_kwh = np.clip(net_kw, -self.inverter_kw, self.inverter_kw) * slot_h
        stored_kwh = np.where(net_kwh > 0, net_kwh * self.one_way_frac, net_kwh / self.one_way_frac)
        return np.clip(charge_kwh + stored_kwh, 0, self.capacity_kwh)


def _sun_and_rest_of_night(site: Site, grid: SlotGrid) -> tuple[Sun, float]:
    """Return the sun in the middle of each slot, and the hours from the grid's end to the next sunrise, at most 24."""
    day_slots = 24 * 60 // grid.slot_min
    longer = SlotGrid(grid.start_at, grid.n_slots + day_slots, grid.tz, grid.slot_min)
    sun = sun_position(slot_middles(longer), site.latitude_deg, site.longitude_deg, site.altitude_m)
    dark = sun.elevation_deg[grid.n_slots :] <= 0
    rest_slots = day_slots if dark.all() else int(np.argmin(dark))
    within = slice(grid.n_slots)
    sun = Sun(sun.elevation_deg[within], sun.azimuth_deg[within], sun.equation_of_time_min[within])
    return sun, rest_slots * grid.slot_min / 60


def _evenings(day: BoolArray) -> IntArray:
    """Return the number of the evening that each slot belongs to, -1 by day."""
    begins = ~day & np.concatenate([[True], day[:-1]])
    return np.where(day, -1, np.cumsum(begins) - 1).astype(np.int32)


def _surely(values: Floats, confidence: float) -> Floats:
    """Return the largest value that at least the share `confidence` of the first axis reaches."""
    return np.quantile(values, 1 - confidence + 1e-9, axis=0, method="lower")
