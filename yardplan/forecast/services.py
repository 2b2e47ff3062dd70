"""Two JSON formats of forecast services, read into hourly means.

Cloud layers: GeoJSON with instants of cloud layers, temperature, wind and gusts, hourly at first and every six hours
later, and the rain of the time after each, no irradiance; the format of the open service at `OPEN_ADDRESS`, whose terms
allow commercial use with the credit line `OPEN_CREDIT`, but want a contact in the User-Agent, at most four decimals of
a place, and no question before the answer expires. Source: MET Weather API, Locationforecast 2.0 data model, General
forecast JSON format, and Terms of Service, at https://api.met.no/doc (read 2026).

Irradiance: hourly columns with direct irradiance, for a service at an address of the user's own, perhaps with members
of an ensemble. Irradiance, gusts and rain belong to the hour before their time, all else is an instant. Source:
Open-Meteo, Weather Forecast API and Ensemble API, at https://open-meteo.com/en/docs (read 2026); its code is open and
can be run by anybody, its public server is for non-commercial use only, so no address is preset.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any, NoReturn
from urllib.parse import parse_qsl, urlencode, urlsplit, urlunsplit

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.equipment import Site
from yardplan.domain.errors import ServiceTrouble
from yardplan.domain.tables import FloatArray, Weather
from yardplan.domain.weather_in_use import ServiceFormat
from yardplan.forecast.client import shown
from yardplan.forecast.sky import Floats

OPEN_ADDRESS = "https://api.met.no/weatherapi/locationforecast/2.0/complete"
OPEN_CREDIT = "Weather forecast from MET Norway (api.met.no), CC BY 4.0; changed: turned into hourly means"

HIGH_CLOUD_FRAC = 0.4
"""What a high cloud counts for, since the sun shines through it in part; from memory, to be learned from the log."""

LONGEST_BRIDGE_H = 6
"""The widest step that the cloud-layer format is published in; instants further apart leave a gap between them."""

USELESS_WAIT_S = 3600.0
"""How long a service whose answer cannot be read is left alone."""

_FARTHEST_DEG = 1.0  # of latitude or longitude: models answer for the middle of a grid cell
_LIMITS = {"%": (-0.5, 100.5), "celsius": (-90, 60), "m/s": (0, 115), "W/m²": (0, 1420), "mm": (0, 500)}
_LAYER_COLUMNS = {
    "air_temperature": "celsius",
    "cloud_area_fraction": "%",
    "cloud_area_fraction_low": "%",
    "cloud_area_fraction_medium": "%",
    "cloud_area_fraction_high": "%",
    "fog_area_fraction": "%",
    "wind_speed": "m/s",
    "wind_speed_of_gust": "m/s",
}
_HOUR_COLUMNS = {
    "direct_normal_irradiance": "W/m²",
    "shortwave_radiation": "W/m²",
    "diffuse_radiation": "W/m²",
    "cloud_cover": "%",
    "cloud_cover_low": "%",
    "cloud_cover_mid": "%",
    "cloud_cover_high": "%",
    "temperature_2m": "°C",
    "wind_speed_10m": "m/s",
    "wind_gusts_10m": "m/s",
    "precipitation": "mm",
}
_RAIN_HOURS = (1, 6)  # how long the spans are that the cloud-layer format tells the rain of


@dataclass(frozen=True)
class Service:
    """A forecast service: its address without the place, and the credit line that its terms ask for.

    The address may carry a query of its own, such as a key or the name of a model, which is never shown.
    """

    format: ServiceFormat = ServiceFormat.CLOUD_LAYERS
    address: str = OPEN_ADDRESS
    credit: str = OPEN_CREDIT

    @property
    def name(self) -> str:
        """The address without a query, a password and a scheme."""
        return shown(self.address)

    def url(self, site: Site) -> str:
        """Return the address that asks for the weather at a site, to four decimals of a degree (some 10 m)."""
        place = {"latitude": f"{site.latitude_deg:.4f}", "longitude": f"{site.longitude_deg:.4f}"}
        if self.format is ServiceFormat.CLOUD_LAYERS:
            asked = {"lat": place["latitude"], "lon": place["longitude"], "altitude": f"{site.altitude_m:.0f}"}
        else:
            units = {"temperature_unit": "celsius", "wind_speed_unit": "ms"}
            times = {"timeformat": "unixtime", "timezone": "GMT", "forecast_days": "8"}
            asked = {**place, "hourly": ",".join(_HOUR_COLUMNS), **units, **times}
        parts = urlsplit(self.address)
        kept = [pair for pair in parse_qsl(parts.query, keep_blank_values=True) if pair[0] not in asked]
        return urlunsplit(parts._replace(query=urlencode([*kept, *asked.items()], safe=","), fragment=""))


@dataclass(frozen=True, eq=False)
class Forecast:
    """What a service said.

    Attributes
    ----------
    weather : Weather
        Hourly means; `cloud_frac` is the effective cover of `effective_cover`; DNI is NaN where none is stated.
    members : tuple of Weather
        Further members of an ensemble on the same steps, equally likely; NaN where they state nothing.
    warnings : tuple of str
        What was left out or taken otherwise, in words.
    """

    weather: Weather
    members: tuple[Weather, ...] = ()
    warnings: tuple[str, ...] = ()


def effective_cover(low_frac: Floats, mid_frac: Floats, high_frac: Floats) -> Floats:
    """Return the share of direct light that layers of cloud, overlapping at random, take away [0 to 1]."""
    return 1 - (1 - low_frac) * (1 - mid_frac) * (1 - HIGH_CLOUD_FRAC * high_frac)


def read_forecast(service: Service, body: bytes, site: Site, fetched_at: datetime) -> Forecast:
    """Read what a service answered.

    Instants become the mean of the hour between two of them; where they lie up to six hours apart, that of the
    straight line between them, and gusts the stronger end. Nothing bridges a key or a time that is not there. Values
    that cannot be are left out and counted in the warnings.

    Parameters
    ----------
    fetched_at : datetime
        When it was answered; stands for the time of issue where the format states none.

    Raises
    ------
    ServiceTrouble
        If it is not of the service's format, in other units, for another place, or of times that are past or out of
        order.
    """
    reading = _Reading(service, site, fetched_at)
    try:
        document = json.loads(body, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        reading.fail(f"answered what is no JSON ({str(error)[:80]})")
    read = reading.cloud_layers if service.format is ServiceFormat.CLOUD_LAYERS else reading.irradiance
    weather, members = read(document)
    if not np.isfinite([weather.cloud_frac, weather.dni_w_m2]).any():
        reading.fail("states neither cloud cover nor direct irradiance in any hour")
    return Forecast(weather, members, tuple(reading.warnings))


def _no_number(text: str) -> NoReturn:
    raise ValueError(f"{text} is not a number")


class _Reading:
    """One reading of one answer."""

    def __init__(self, service: Service, site: Site, fetched_at: datetime) -> None:
        self._service, self._site, self._fetched_at = service, site, fetched_at
        self.warnings: list[str] = []

    def fail(self, reason: str) -> NoReturn:
        raise ServiceTrouble(self._service.name, reason, USELESS_WAIT_S)

    def cloud_layers(self, document: object) -> tuple[Weather, tuple[Weather, ...]]:
        """Return the weather in a document of cloud layers."""
        coordinates = self._find(document, list, "geometry", "coordinates")
        if len(coordinates) < 2:
            self.fail("has no longitude and latitude in geometry.coordinates")
        self._check_place(latitude=coordinates[1], longitude=coordinates[0])
        units = self._find(document, dict, "properties", "meta", "units")
        issued_at = self._utc(self._find(document, str, "properties", "meta", "updated_at"), "meta.updated_at")
        steps = self._find(document, list, "properties", "timeseries")
        times = [self._utc(self._find(step, str, "time"), "timeseries.time") for step in steps]
        details = [self._find(step, dict, "data", "instant", "details") for step in steps]
        unix_s = self._checked_times(np.array([at.timestamp() for at in times]))
        columns = {
            name: self._column(name, unit, units.get(name), [detail.get(name) for detail in details])
            for name, unit in _LAYER_COLUMNS.items()
        }
        low = columns["cloud_area_fraction_low"]
        low = np.where(columns["fog_area_fraction"] > low, columns["fog_area_fraction"], low)
        mid, high = columns["cloud_area_fraction_medium"], columns["cloud_area_fraction_high"]
        instants = {
            "temp_c": columns["air_temperature"],
            "wind_m_s": columns["wind_speed"],
            "cloud_frac": self._cover(columns["cloud_area_fraction"], low, mid, high),
        }
        hours, before, part = _hours(unix_s)
        arrays = {name: values[before] + part * np.diff(values)[before] for name, values in instants.items()}
        gust = columns["wind_speed_of_gust"]
        arrays["gust_m_s"] = np.maximum(gust[before], gust[before + 1])
        far = np.diff(unix_s)[before] > LONGEST_BRIDGE_H * 3600
        arrays["rain_mm"] = self._rain(steps, np.diff(unix_s), units)[before]
        arrays = {name: np.where(far, np.nan, values) for name, values in arrays.items()}
        return self._weather(hours, arrays, issued_at), ()

    def _rain(self, steps: list[Any], apart_s: Floats, units: Mapping[str, Any]) -> Floats:
        """Return the rain an hour after each instant, from what is told of just the time up to the next one."""
        rain = np.full(len(apart_s), np.nan)
        for hours in _RAIN_HOURS:
            spans = [step["data"].get(f"next_{hours}_hours") for step in steps[:-1]]
            details = [span.get("details") if isinstance(span, dict) else None for span in spans]
            cells = [detail.get("precipitation_amount") if isinstance(detail, dict) else None for detail in details]
            column = self._column("precipitation_amount", "mm", units.get("precipitation_amount"), cells)
            rain = np.where(apart_s == hours * 3600, column / hours, rain)
        return rain

    def irradiance(self, document: object) -> tuple[Weather, tuple[Weather, ...]]:
        """Return the weather in a document of hourly columns, and its members."""
        self._check_place(
            latitude=self._find(document, float, "latitude"), longitude=self._find(document, float, "longitude")
        )
        units, table = self._find(document, dict, "hourly_units"), self._find(document, dict, "hourly")
        if units.get("time") != "unixtime" or self._find(document, int, "utc_offset_seconds") != 0:
            self.fail("answered times that are not seconds since 1970 in UTC, which was asked for")
        seconds = self._find(table, list, "time")
        if not all(type(second) is int and 0 < second < 2**32 for second in seconds):
            self.fail("has times that are not seconds since 1970")
        unix_s = self._checked_times(np.array(seconds, dtype=np.float64))
        if np.any(np.diff(unix_s) != 3600):
            self.fail("has times that are not an hour apart")
        endings = {name.rpartition("_member")[2] for name in table if "_member" in name}
        if not all(ending.isdecimal() for ending in endings):
            self.fail(f"has columns of members that are not numbered: {', '.join(sorted(endings))}")
        found = [
            self._columns(table, units, f"_member{ending}" if ending else "", len(unix_s))
            for ending in ("", *sorted(endings, key=int))
        ]
        weather, *members = (self._weather(unix_s[:-1], arrays, self._fetched_at) for arrays in found)
        labels = (f"{weather.source}, member {ix}" for ix in range(1, len(members) + 1))
        return weather, tuple(replace(member, source=label) for member, label in zip(members, labels, strict=True))

    def _columns(
        self, table: Mapping[str, Any], units: Mapping[str, Any], ending: str, n_times: int
    ) -> dict[str, Floats]:
        """Return the hourly means of the columns with an ending."""
        columns = {}
        for name, unit in _HOUR_COLUMNS.items():
            cells = table.get(name + ending, [None] * n_times)
            if not isinstance(cells, list) or len(cells) != n_times:
                self.fail(f"has another number of values in {name + ending} than of times")
            columns[name] = self._column(name + ending, unit, units.get(name + ending), cells)
        layers = (columns[f"cloud_cover_{layer}"] for layer in ("low", "mid", "high"))
        instants = {
            "temp_c": columns["temperature_2m"],
            "wind_m_s": columns["wind_speed_10m"],
            "cloud_frac": self._cover(columns["cloud_cover"], *layers),
        }
        of_hour_before = {
            "dni_w_m2": columns["direct_normal_irradiance"],
            "ghi_w_m2": columns["shortwave_radiation"],
            "dhi_w_m2": columns["diffuse_radiation"],
            "gust_m_s": columns["wind_gusts_10m"],
            "rain_mm": columns["precipitation"],
        }
        means = {name: (values[:-1] + values[1:]) / 2 for name, values in instants.items()}
        return means | {name: values[1:] for name, values in of_hour_before.items()}

    def _find(self, document: object, kind: type, *path: str) -> Any:
        found = document
        for key in path:
            found = found.get(key) if isinstance(found, dict) else None
        if kind is float and type(found) is int:
            found = float(found)
        if type(found) is not kind:
            place = ".".join(path)
            self.fail(f"is not in the expected format ({self._service.format}): {place} is {str(found)[:40]!r}")
        return found

    def _utc(self, text: str, place: str) -> datetime:
        try:
            at = datetime.fromisoformat(text)
        except ValueError:
            at = None
        if at is None or at.utcoffset() is None:
            self.fail(f"has {text[:40]!r} in {place}; expected a time with its offset")
        return at.astimezone(UTC)

    def _check_place(self, *, latitude: object, longitude: object) -> None:
        for name, found, asked in (
            ("latitude", latitude, self._site.latitude_deg),
            ("longitude", longitude, self._site.longitude_deg),
        ):
            far = not isinstance(found, int | float) or abs((found - asked + 180) % 360 - 180) > _FARTHEST_DEG
            if far:
                self.fail(f"answered for another place: {name} {str(found)[:20]} where {asked:.4f} was asked for")

    def _checked_times(self, unix_s: Floats) -> Floats:
        if len(unix_s) < 2:
            self.fail(f"has {len(unix_s)} times; expected at least two")
        if np.any(unix_s % 3600):
            self.fail("has times that are not full hours")
        if np.any(np.diff(unix_s) <= 0):
            self.fail("has times that repeat or go back")
        if unix_s[-1] <= self._fetched_at.timestamp():
            last = datetime.fromtimestamp(unix_s[-1], UTC)
            self.fail(f"ends at {last:%Y-%m-%d %H:%M} UTC, which is past; is the clock of this computer right?")
        if unix_s[-1] - unix_s[0] > 60 * 86400:
            self.fail("spans more than 60 days, which is no forecast")
        return unix_s

    def _column(self, name: str, unit: str, stated: object, cells: Iterable[object]) -> Floats:
        """Return a column as numbers, shares for percents; NaN where nothing is stated or what cannot be."""
        values = []
        for cell in cells:
            if cell is None:
                values.append(np.nan)
            elif isinstance(cell, int | float) and not isinstance(cell, bool):
                values.append(float(min(max(cell, -1e9), 1e9)))  # a longer integer would not become a float
            else:
                self.fail(f"has {str(cell)[:40]!r} in {name}; expected a number")
        column = np.array(values)
        if np.isnan(column).all():
            return column
        if stated != unit:
            self.fail(f"gives {name} in {str(stated)[:20]!r}; expected {unit}")
        low, high = _LIMITS["celsius" if unit == "°C" else unit]
        wrong = (column < low) | (column > high)
        if wrong.any():
            self.warnings.append(f"{wrong.sum()} value(s) of {name} that cannot be were left out")
        column = np.where(wrong, np.nan, column)
        return np.clip(column, 0, 100) / 100 if unit == "%" else column

    def _cover(self, total: Floats, low: Floats, mid: Floats, high: Floats) -> Floats:
        """Return the effective cover, and the total one where a layer is not stated."""
        cover = effective_cover(low, mid, high)
        unlayered = np.isnan(cover) & np.isfinite(total)
        text = "some hours state no cloud layers: total cover was taken, which counts thin high clouds in full"
        if unlayered.any() and text not in self.warnings:
            self.warnings.append(text)
        return np.where(unlayered, total, cover)

    def _weather(self, hours_s: Floats, arrays: Mapping[str, Floats], issued_at: datetime) -> Weather:
        gaps = np.full(len(hours_s), np.nan)
        first_at = datetime.fromtimestamp(hours_s[0], UTC)
        return Weather(
            starts_at=tuple(first_at + timedelta(hours=ix) for ix in range(len(hours_s))),
            step_min=60,
            dni_w_m2=_single(arrays.get("dni_w_m2", gaps)),
            ghi_w_m2=_single(arrays.get("ghi_w_m2", gaps)),
            dhi_w_m2=_single(arrays.get("dhi_w_m2", gaps)),
            temp_c=_single(arrays["temp_c"]),
            wind_m_s=_single(arrays["wind_m_s"]),
            gust_m_s=_single(arrays["gust_m_s"]),
            cloud_frac=_single(arrays["cloud_frac"]),
            source=f"forecast of {self._service.name}",
            issued_at=issued_at,
            rain_mm=_single(arrays["rain_mm"]) if np.isfinite(arrays["rain_mm"]).any() else None,
        )


def _hours(unix_s: Floats) -> tuple[Floats, NDArray[np.intp], Floats]:
    """Return the hours between instants, the instant before each, and how far its middle is on the way to the next."""
    hours_s: Floats = np.arange(unix_s[0], unix_s[-1], 3600.0)
    middles_s = hours_s + 1800
    before = np.searchsorted(unix_s, middles_s) - 1
    return hours_s, before, (middles_s - unix_s[before]) / np.diff(unix_s)[before]


def _single(values: Floats) -> FloatArray:
    return values.astype(np.float32)
