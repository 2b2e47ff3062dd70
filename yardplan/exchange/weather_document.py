"""The weather in use as a JSON document and in words; times are ISO 8601 on the yard's clock with their offset."""

from datetime import datetime
from typing import Any

import numpy as np

from yardplan.domain.slots import zone
from yardplan.domain.tables import Weather
from yardplan.domain.weather_in_use import WeatherInUse

_ARRAYS = ("dni_w_m2", "ghi_w_m2", "dhi_w_m2", "temp_c", "wind_m_s", "gust_m_s", "cloud_frac")


def weather_document(in_use: WeatherInUse, *, generated_at: datetime) -> dict[str, Any]:
    """Return the weather in use as a document, see ``weather.schema.json``; null marks a gap."""
    clock = zone(in_use.tz)

    def local(at: datetime | None) -> str | None:
        return at.astimezone(clock).isoformat() if at else None

    def steps(weather: Weather) -> dict[str, Any]:
        columns: dict[str, Any] = {name: _with_nulls(getattr(weather, name)) for name in _ARRAYS}
        rain_mm = None if weather.rain_mm is None else _with_nulls(weather.rain_mm)
        columns |= {"rain_mm": rain_mm}
        return {"step_min": weather.step_min, "start": [local(at) for at in weather.starts_at], **columns}

    return {
        "schema": "yardplan/weather/1",
        "generated_at": local(generated_at),
        "source": in_use.source,
        "credit": in_use.credit,
        "issued_at": local(in_use.issued_at),
        "fetched_at": local(in_use.fetched_at),
        "checked_at": local(in_use.checked_at),
        "ask_from": local(in_use.ask_from_at),
        "age_h": None if in_use.age_h is None else round(in_use.age_h, 2),
        "reaches_to": local(in_use.reaches_to_at),
        "trouble": in_use.trouble,
        "warnings": list(in_use.warnings),
        "forecast": steps(in_use.weather) if in_use.weather else None,
        "members": [steps(member) for member in in_use.members],
    }


def weather_words(document: dict[str, Any]) -> str:
    """Return what a weather document says, in plain words."""
    if document["forecast"]:
        members = f", with {len(document['members'])} further members" if document["members"] else ""
        lines = [
            f"{document['source']}, issued {_told(document['issued_at'])}, {document['age_h']:.1f} h old, "
            f"reaches to {_told(document['reaches_to'])}{members}"
        ]
    elif document["source"]:
        lines = [f"no forecast in use; plans count on {document['source']}"]
    else:
        lines = ["no weather yet: bring in a typical year with `yardplan import weather FILE`"]
    if document["credit"]:
        lines.append(f"  {document['credit']}")
    if document["checked_at"]:
        lines.append(f"  the service last answered {_told(document['checked_at'])}")
    if document["ask_from"]:
        lines.append(f"  it is not asked again before {_told(document['ask_from'])}")
    lines += [f"  note: {warning}" for warning in document["warnings"]]
    if document["trouble"]:
        lines.append(f"  no newer forecast: {document['trouble']}")
    return "\n".join(lines)


def _told(text: str) -> str:
    return f"{datetime.fromisoformat(text):%a %d %b %H:%M}"


def _with_nulls(values: Any) -> list[float | None]:
    return [round(float(value), 3) if np.isfinite(value) else None for value in values]
