"""What each unit's PV gives, by the steps of PVWatts."""

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.tables import FloatArray, HeatTable
from yardplan.domain.yard import Yard
from yardplan.forecast.sky import Sun

ALBEDO = 0.25
"""Of dry ground; common practice, no source."""

POWER_PER_K = -0.0035
"""Change of PV power with the temperature of the cell; common practice for crystalline silicon, no source."""

INVERTER_FRAC = 0.96
"""Nominal efficiency of the inverter. Source: Dobos, PVWatts Version 5 Manual, NREL/TP-6A20-62641, 2014."""


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
