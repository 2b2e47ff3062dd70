"""Where the sun stands, and what it gives through a cloudless sky."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.slots import SlotGrid

Floats = NDArray[np.float64]

_DELTA_T_S = 67.0  # terrestrial time less UT1; ten seconds more move the sun by less than 0.0002 degrees
_REFRACTION_DEG = 0.5667  # of the atmosphere at sunrise, as in the source of the algorithm
_MEAN_TEMP_C = 12.0  # for refraction only


@dataclass(frozen=True, eq=False)
class Sun:
    """Where the sun stands, one value an instant.

    Attributes
    ----------
    elevation_deg : ndarray (instant,) [deg]
        Apparent height of the center, refraction included.
    azimuth_deg : ndarray (instant,) [deg]
        Clockwise from north.
    equation_of_time_min : ndarray (instant,) [min]
        Apparent less mean solar time.
    """

    elevation_deg: Floats
    azimuth_deg: Floats
    equation_of_time_min: Floats


@dataclass(frozen=True, eq=False)
class ClearSky:
    """What the sun gives without clouds, one value an instant, 0 while it is down.

    Attributes
    ----------
    sun : Sun
        Where it stands.
    dni_w_m2, ghi_w_m2 : ndarray (instant,) [W/m2]
        Direct normal and global horizontal irradiance.
    extra_w_m2 : ndarray (instant,) [W/m2]
        Normal irradiance outside the atmosphere, by day and by night.
    """

    sun: Sun
    dni_w_m2: Floats
    ghi_w_m2: Floats
    extra_w_m2: Floats


def sun_position(unix_s: Floats, latitude_deg: float, longitude_deg: float, altitude_m: float) -> Sun:
    """Return where the sun stands.

    Source: Reda and Andreas, Solar position algorithm for solar radiation applications, Solar Energy 76(5), 2004;
    good to 0.0003 degrees from the year -2000 to 6000. Refraction for the standard pressure of the altitude.

    Parameters
    ----------
    unix_s : ndarray (instant,) [s]
        Seconds since 1970-01-01 UTC.
    """
    from pvlib import atmosphere, spa  # half a second to import; only where the sun is asked for

    pressure_hpa = atmosphere.alt2pres(altitude_m) / 100
    found = spa.solar_position(
        unix_s, latitude_deg, longitude_deg, altitude_m, pressure_hpa, _MEAN_TEMP_C, _DELTA_T_S, _REFRACTION_DEG
    )
    apparent_elevation, azimuth, equation_of_time = found[2], found[4], found[5]  # not as pvlib's docstring says
    return Sun(apparent_elevation, azimuth, equation_of_time)


def clear_sky(
    unix_s: Floats, latitude_deg: float, longitude_deg: float, altitude_m: float, linke: float | None = None
) -> ClearSky:
    """Return the sun and what it gives through a cloudless sky.

    Source: Ineichen and Perez, A new airmass independent formulation for the Linke turbidity coefficient, Solar
    Energy 73, 2002, as in pvlib without its high-turbidity enhancement; air mass by Kasten and Young 1989,
    corrected to the standard pressure of the altitude; extraterrestrial irradiance by Spencer 1971.

    Parameters
    ----------
    unix_s : ndarray (instant,) [s]
        Seconds since 1970-01-01 UTC.
    linke : float or None
        Linke turbidity; None takes the monthly world map that ships with pvlib, interpolated to days.
    """
    from pvlib import atmosphere, clearsky, irradiance

    sun = sun_position(unix_s, latitude_deg, longitude_deg, altitude_m)
    day_of_year = _day_of_year(unix_s)
    extra = np.asarray(irradiance.get_extra_radiation(day_of_year, method="spencer"))
    if linke is None:
        turbidity = _mapped_linke(latitude_deg, longitude_deg, day_of_year)
    else:
        turbidity = np.full(unix_s.shape, float(linke))
    up = sun.elevation_deg > 0
    zenith = np.where(up, 90 - sun.elevation_deg, 90.0)
    airmass = atmosphere.get_absolute_airmass(
        atmosphere.get_relative_airmass(zenith, model="kastenyoung1989"), atmosphere.alt2pres(altitude_m)
    )
    sky = clearsky.ineichen(zenith, airmass, turbidity, altitude_m, extra, perez_enhancement=False)
    dni, ghi = (np.where(up, np.nan_to_num(np.asarray(sky[name])), 0.0) for name in ("dni", "ghi"))
    return ClearSky(sun, dni, ghi, extra)


def slot_middles(grid: SlotGrid) -> Floats:
    """Return the middle of each slot as seconds since 1970-01-01 UTC: ndarray (slot,) [s]."""
    middles: Floats = grid.start_at.timestamp() + (np.arange(grid.n_slots, dtype=np.float64) + 0.5) * grid.slot_min * 60
    return middles


def _mapped_linke(latitude_deg: float, longitude_deg: float, day_of_year: Floats) -> Floats:
    """Return the Linke turbidity of pvlib's world map, joined by straight lines from mid-month to mid-month."""
    import pandas as pd
    from pvlib import clearsky

    # Month by month, since pvlib's own interpolation calls what pandas 3.1 warns of
    middles = pd.DatetimeIndex([f"2001-{month:02d}-15" for month in range(1, 13)], tz="UTC")
    monthly = clearsky.lookup_linke_turbidity(middles, latitude_deg, longitude_deg, interp_turbidity=False)
    linke: Floats = np.interp(day_of_year, middles.day_of_year, monthly.to_numpy(dtype=float), period=365)
    return linke


def _day_of_year(unix_s: Floats) -> Floats:
    """Return the day of the year in UTC, from 1."""
    days = np.floor(unix_s / 86400).astype(np.int64).astype("datetime64[D]")
    day_of_year: Floats = (days - days.astype("datetime64[Y]")).astype(np.float64) + 1
    return day_of_year
