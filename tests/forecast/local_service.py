"""A forecast service on this computer that answers as it is told, and the documents that it answers with.

The documents are invented; their form is that of the published formats: MET Weather API, General forecast JSON format
(https://api.met.no/doc/ForecastJSON), and Open-Meteo, Weather Forecast API and Ensemble API
(https://open-meteo.com/en/docs).
"""

import gzip
import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Event, Thread
from typing import Any

NOW = datetime(2027, 5, 17, 13, 20, tzinfo=UTC)
"""When the tests ask."""

EXPIRES_AT = NOW + timedelta(minutes=31)
LAST_MODIFIED = "Mon, 17 May 2027 12:51:07 GMT"


@dataclass
class Reply:
    """One answer: `cut` bytes of the body are sent, with silence after them if `stalls`, or one by one if `drips`."""

    status: int = 200
    body: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)
    cut: int | None = None
    stalls: bool = False
    drips: bool = False


def good(document: dict[str, Any], **headers: str) -> Reply:
    """A whole answer with the headers that the open service sends."""
    usual = {
        "Content-Type": "application/json",
        "Date": format_datetime(NOW, usegmt=True),
        "Expires": format_datetime(EXPIRES_AT, usegmt=True),
        "Last-Modified": LAST_MODIFIED,
    }
    return Reply(body=json.dumps(document).encode(), headers=usual | headers)


def packed(reply: Reply) -> Reply:
    return Reply(reply.status, gzip.compress(reply.body), reply.headers | {"Content-Encoding": "gzip"})


class LocalService:
    """Gives the replies in their order, the last one again and again, and remembers what was asked."""

    def __init__(self, replies: Sequence[Reply]) -> None:
        self.replies = list(replies)
        self.asked: list[tuple[str, dict[str, str]]] = []
        self.over = Event()
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), self._handler())
        self._server.daemon_threads = False
        self.address = f"http://127.0.0.1:{self._server.server_port}/forecast"

    @property
    def n_asked(self) -> int:
        return len(self.asked)

    def _handler(self) -> type[BaseHTTPRequestHandler]:
        service = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                service.asked.append((self.path, {name.lower(): value for name, value in self.headers.items()}))
                reply = service.replies.pop(0) if len(service.replies) > 1 else service.replies[0]
                self.send_response_only(reply.status)
                headers = {"Content-Length": str(len(reply.body))} | reply.headers
                for name, value in headers.items():
                    self.send_header(name, value.replace("HERE", service.address.rpartition("/")[0]))
                self.end_headers()
                try:
                    if reply.drips:
                        for byte in reply.body:
                            self.wfile.write(bytes([byte]))
                            self.wfile.flush()
                            if service.over.wait(0.02):
                                break
                    else:
                        self.wfile.write(reply.body[: reply.cut])
                        self.wfile.flush()
                    if reply.stalls:
                        service.over.wait(5)
                except (BrokenPipeError, ConnectionResetError):
                    pass  # who asked has hung up, as it should
                self.close_connection = True

            def log_message(self, *_: object) -> None:
                pass

        return Handler

    @contextmanager
    def running(self) -> Iterator["LocalService"]:
        thread = Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        try:
            yield self
        finally:
            self.over.set()
            self._server.shutdown()
            self._server.server_close()
            thread.join()


@contextmanager
def answering(*replies: Reply) -> Iterator[LocalService]:
    """Run a service that gives these replies."""
    with LocalService(replies).running() as service:
        yield service


LAYER_UNITS = {
    "air_pressure_at_sea_level": "hPa",
    "air_temperature": "celsius",
    "cloud_area_fraction": "%",
    "cloud_area_fraction_high": "%",
    "cloud_area_fraction_low": "%",
    "cloud_area_fraction_medium": "%",
    "fog_area_fraction": "%",
    "precipitation_amount": "mm",
    "relative_humidity": "%",
    "wind_from_direction": "degrees",
    "wind_speed": "m/s",
    "wind_speed_of_gust": "m/s",
}


def layers_step(at: datetime, **details: float) -> dict[str, Any]:
    usual = {
        "air_pressure_at_sea_level": 1016.2,
        "air_temperature": 20.0,
        "cloud_area_fraction": 40.0,
        "cloud_area_fraction_high": 30.0,
        "cloud_area_fraction_low": 10.0,
        "cloud_area_fraction_medium": 20.0,
        "fog_area_fraction": 0.0,
        "relative_humidity": 31.0,
        "wind_from_direction": 225.0,
        "wind_speed": 4.0,
        "wind_speed_of_gust": 9.0,
    }
    return {
        "time": at.strftime("%Y-%m-%dT%H:%M:%SZ"),
        "data": {
            "instant": {"details": {name: value for name, value in (usual | details).items() if value is not None}},
            "next_1_hours": {"summary": {"symbol_code": "fair_day"}, "details": {"precipitation_amount": 0.0}},
        },
    }


def layers_document(steps: list[dict[str, Any]] | None = None, issued_at: datetime | None = None) -> dict[str, Any]:
    """Cloud layers at the small test yard: hourly for 54 h, then every 6 h for a week, unless steps are given."""
    first_at = NOW.replace(minute=0)
    hours = [*range(54), *range(54, 54 + 7 * 24 + 1, 6)]
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [-106.0, 35.0, 1600]},
        "properties": {
            "meta": {
                "updated_at": (issued_at or NOW - timedelta(minutes=35)).strftime("%Y-%m-%dT%H:%M:%SZ"),
                "units": dict(LAYER_UNITS),
            },
            "timeseries": steps or [layers_step(first_at + timedelta(hours=hour)) for hour in hours],
        },
    }


HOUR_UNITS = {
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
}


def hours_document(n_hours: int = 48, n_members: int = 0, **columns: list[float | None]) -> dict[str, Any]:
    """Hourly columns from the last midnight in UTC on, with the members of an ensemble; columns as given or even."""
    first_s = int(NOW.replace(hour=0, minute=0).timestamp())
    usual = {"direct_normal_irradiance": 700.0, "shortwave_radiation": 600.0, "diffuse_radiation": 90.0}
    usual |= {"cloud_cover": 20.0, "cloud_cover_low": 0.0, "cloud_cover_mid": 10.0, "cloud_cover_high": 50.0}
    usual |= {"temperature_2m": 18.0, "wind_speed_10m": 3.0, "wind_gusts_10m": 8.0}
    hourly: dict[str, list[Any]] = {"time": [first_s + 3600 * hour for hour in range(n_hours)]}
    units = {"time": "unixtime"}
    for member in range(n_members + 1):
        ending = f"_member{member:02d}" if member else ""
        for name, value in usual.items():
            hourly[name + ending] = [value + member] * n_hours
            units[name + ending] = HOUR_UNITS[name]
    return {
        "latitude": 35.02, "longitude": -105.97, "generationtime_ms": 0.2, "utc_offset_seconds": 0, "timezone": "GMT",
        "timezone_abbreviation": "GMT", "elevation": 1588.0, "hourly_units": units, "hourly": hourly | columns,
    }  # fmt: skip
