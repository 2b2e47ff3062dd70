"""Typical years made from a clear sky and a chosen share of it, as values and as files of each format."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from functools import cache

import numpy as np

from yardplan.domain.tables import Weather
from yardplan.forecast.sky import clear_sky
from yardplan.forecast.weather import GUST_FACTOR, HOURS, NOMINAL_YEAR, TypicalYear

TUCSON = (32.17, -110.88, 809.0, -7.0)
DELHI = (28.6, 77.2, 216.0, 5.5)


@dataclass
class MadeYear:
    """Hours on the place's own standard clock; every array is (hour,)."""

    place: tuple[float, float, float, float]
    dni: np.ndarray
    ghi: np.ndarray
    dhi: np.ndarray
    temp: np.ndarray
    wind: np.ndarray
    cloud: np.ndarray

    def local(self, hour: int) -> datetime:
        return datetime(NOMINAL_YEAR, 1, 1, tzinfo=timezone(timedelta(hours=self.place[3]))) + timedelta(hours=hour)


def made_year(
    index: float | Callable[[np.ndarray, np.ndarray], np.ndarray] = 0.8,
    place: tuple[float, float, float, float] = TUCSON,
    temp_c: float = 20.0,
    wind_m_s: float = 3.0,
) -> MadeYear:
    """Return a year whose direct light is `index` times a clear sky's.

    A function gets the day of the year (from 0) and the apparent solar time (h) of each hour.
    """
    clear_dni, clear_ghi, height, solar_h = _clear_hours(place)
    hours = np.arange(HOURS)
    share = index(hours // 24, solar_h) if callable(index) else np.full(HOURS, index)
    dni = share * clear_dni
    diffuse = 0.1 * clear_ghi
    warm = temp_c + 5 * np.sin(2 * np.pi * (solar_h - 9) / 24)
    cloud = np.round(10 * (1 - np.clip(share, 0, 1)))
    return MadeYear(place, dni, dni * height + diffuse, diffuse, warm, np.full(HOURS, wind_m_s), cloud)


@cache
def _clear_hours(place: tuple[float, float, float, float]) -> tuple[np.ndarray, ...]:
    """Clear direct and global light, sine of the sun's height, means over 5-minute middles; solar time of the hour."""
    latitude, longitude, altitude, clock_h = place
    start_s = datetime(NOMINAL_YEAR, 1, 1, tzinfo=UTC).timestamp() - clock_h * 3600
    sky = clear_sky(start_s + (np.arange(HOURS * 12) + 0.5) * 300, latitude, longitude, altitude)
    height = np.sin(np.radians(np.clip(sky.sun.elevation_deg, 0, None)))
    dni, ghi, sine = (values.reshape(HOURS, 12).mean(axis=1) for values in (sky.dni_w_m2, sky.ghi_w_m2, height))
    equation_h = sky.sun.equation_of_time_min[6::12] / 60
    solar_h = (np.arange(HOURS) + 0.5 - clock_h + longitude / 15 + equation_h) % 24
    return dni, ghi, sine, solar_h


def typical(year: MadeYear) -> TypicalYear:
    return TypicalYear(
        Weather(
            starts_at=tuple(year.local(hour).astimezone(UTC) for hour in range(HOURS)), step_min=60,
            dni_w_m2=year.dni, ghi_w_m2=year.ghi, dhi_w_m2=year.dhi, temp_c=year.temp, wind_m_s=year.wind,
            gust_m_s=year.wind * GUST_FACTOR, cloud_frac=year.cloud / 10, source="made",
        ), *year.place[:3], name="Invented place",
    )  # fmt: skip


def epw_text(year: MadeYear, name: str = "Invented place") -> str:
    latitude, longitude, altitude, clock_h = year.place
    head = [f"LOCATION,{name},ZZ,XXX,made,0,{latitude},{longitude},{clock_h},{altitude}"]
    head += ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
    head += [
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,made",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Monday,1/1,12/31",
    ]
    rows = []
    for hour in range(HOURS):
        at = year.local(hour)
        sun = f"{year.ghi[hour]:.2f},{year.dni[hour]:.2f},{year.dhi[hour]:.2f}"
        rest = f"999999,999999,999999,9999,180,{year.wind[hour]:.1f},{year.cloud[hour]:.0f},99,9999,99999,9,{'9' * 9}"
        air = f"{year.temp[hour]:.1f},5,50,92000,0,0,300"
        rows.append(f"{2000 + at.month % 7},{at.month},{at.day},{at.hour + 1},0,_,{air},{sun},{rest},99,0,0,88,0,0,99")
    return "\n".join(head + rows) + "\n"


def tmy3_text(year: MadeYear) -> str:
    latitude, longitude, altitude, clock_h = year.place
    head = [f'700000,"INVENTED PLACE",ZZ,{clock_h},{latitude},{longitude},{altitude:.0f}']
    head += [
        "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),Dry-bulb (C),Wspd (m/s),TotCld (tenths)"
    ]
    rows = []
    for hour in range(HOURS):
        at = year.local(hour)  # TMY3 dates 24:00 to the day that ends, in whichever year the month is from
        sun = f"{year.ghi[hour]:.2f},{year.dni[hour]:.2f},{year.dhi[hour]:.2f}"
        air = f"{year.temp[hour]:.1f},{year.wind[hour]:.1f},{year.cloud[hour]:.0f}"
        rows.append(f"{at:%m/%d}/{1996 + at.month % 5},{at.hour + 1:02d}:00,{sun},{air}")
    return "\n".join(head + rows) + "\n"


def pvgis_hours(year: MadeYear) -> list[tuple[str, float, float, float, float, float]]:
    """Hours of UTC with their values; PVGIS starts at 1 January in UTC, so the local year is rolled."""
    shift = round(year.place[3])
    found = []
    for utc_hour in range(HOURS):
        hour = (utc_hour + shift) % HOURS
        at = datetime(NOMINAL_YEAR, 1, 1, tzinfo=UTC) + timedelta(hours=utc_hour)
        values = (year.temp[hour], year.ghi[hour], year.dni[hour], year.dhi[hour], year.wind[hour])
        found.append((f"{2005 + at.month % 9}{at:%m%d:%H%M}", *(round(float(value), 2) for value in values)))
    return found


def pvgis_csv_text(year: MadeYear, offset_h: float = 0.5) -> str:
    latitude, longitude, altitude, _ = year.place
    head = [f"Latitude (decimal degrees): {latitude}", f"Longitude (decimal degrees): {longitude}"]
    head += [f"Elevation (m): {altitude}", f"Irradiance Time Offset (h): {offset_h}", "month,year"]
    head += [f"{month},{2005 + month % 9}" for month in range(1, 13)]
    head += ["time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP"]
    rows = [f"{at},{t},50,{g},{b},{d},300,{w},180,92000" for at, t, g, b, d, w in pvgis_hours(year)]
    return "\n".join(head + rows) + "\n\nT2m: 2-m air temperature (degree Celsius)\n"


def pvgis_json_text(year: MadeYear, offset_h: float = 0.5) -> str:
    latitude, longitude, altitude, _ = year.place
    location = {"latitude": latitude, "longitude": longitude, "elevation": altitude, "irradiance_time_offset": offset_h}
    names = ("time(UTC)", "T2m", "G(h)", "Gb(n)", "Gd(h)", "WS10m")
    hours = [dict(zip(names, row, strict=True)) for row in pvgis_hours(year)]
    outputs = {"months_selected": [], "tmy_hourly": hours}
    return json.dumps({"inputs": {"location": location}, "outputs": outputs, "meta": {"inputs": {}}})
