"""What the yard itself knows of its weather: measured sun for the log, and forecasts that come as files."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from statistics import fmean

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.errors import BadFile, InvalidField, RowProblem, require
from yardplan.domain.log import SunReading
from yardplan.domain.slots import zone
from yardplan.domain.tables import Weather
from yardplan.domain.weather_in_use import end_of
from yardplan.forecast.own_csv import read_own_csv
from yardplan.forecast.scenarios import EXTRA_CAP
from yardplan.forecast.sky import clear_sky
from yardplan.forecast.time_guard import LabelFinding, Verdict, check_labels
from yardplan.store.archive import add_forecast, add_sun_readings, read_sun_readings
from yardplan.store.engine import Database, Session
from yardplan.usecases.weather import OWN_FILE, site_of

SUN_SOURCE = "pyrheliometer"
"""What measures the sun where nothing else is said."""

BY_HAND, TYPED_MIN = "by hand", 5
"""Source of readings that somebody typed, and the minutes that each stands for."""


def import_measured_sun(database: Database, path: Path, *, by: str, at: datetime, source: str = SUN_SOURCE) -> str:
    """Add the measured direct light in the yard's own CSV to the log; returns what was taken, in words.

    Readings that are there already are skipped, so a log may be brought in again when it has grown.

    Raises
    ------
    BadFile
        If the file is not as `forecast.own_csv` says, has no direct light, reaches past `at`, has labels that the sun
        contradicts, or contradicts what is there already. Nothing of it was taken.
    NotThere
        If there is no yard yet.
    """
    with database.begin_read() as session:
        site = site_of(session, database)
    readings, told = measured_readings(path, site, at=at, source=source)
    with database.begin() as session:
        n_new = add_measured(session, path, readings, by=by, at=at)
    counts = f"{n_new} readings of {readings[0].step_min} min, {len(readings) - n_new} were there already"
    return f"{path.name}: {counts}; {told}"


def measured_readings(path: Path, site: Site, *, at: datetime, source: str) -> tuple[list[SunReading], str]:
    """Return the direct light in the yard's own CSV, and what the sun says of its labels; raises `BadFile`."""
    weather = read_own_csv(path, site)
    measured = np.flatnonzero(np.isfinite(weather.dni_w_m2))
    if not measured.size:
        raise _refused(path, "dni_w_m2", "has no readings; expected the direct light that was measured")
    if (last_at := weather.starts_at[measured[-1]]) > at:
        text = f"has a reading of {_local(last_at, site)}, which is still to come; look at the clock and the zone"
        raise _refused(path, "dni_w_m2", text)
    finding = judged_labels(path, weather, site)
    readings = [
        SunReading(
            start_at=weather.starts_at[ix],
            step_min=weather.step_min,
            dni_w_m2=float(weather.dni_w_m2[ix]),
            source=source,
            ghi_w_m2=float(weather.ghi_w_m2[ix]) if np.isfinite(weather.ghi_w_m2[ix]) else None,
        )
        for ix in measured
    ]
    return readings, finding.text


def add_measured(session: Session, path: Path, readings: list[SunReading], *, by: str, at: datetime) -> int:
    """Add the readings of a file to the log; returns how many were new, raises `BadFile` if they contradict it."""
    try:
        return add_sun_readings(session, readings, by=by, at=at)
    except InvalidField as error:
        raise _refused(path, "dni_w_m2", f"contradicts the log: {error}") from error


def import_own_weather(database: Database, path: Path, *, by: str, at: datetime) -> str:
    """Take a CSV of the coming days as the forecast in use; returns what was taken, in words.

    Raises
    ------
    BadFile
        If the file is not as `forecast.own_csv` says, ends before `at`, or has labels that the sun contradicts.
    NotThere
        If there is no yard yet.
    """
    with database.begin_read() as session:
        site = site_of(session, database)
    weather = replace(read_own_csv(path, site), issued_at=at)
    if end_of(weather) <= at:
        text = f"ends at {_local(end_of(weather), site)}, which is past; measured sun is for `yardplan import measured`"
        raise _refused(path, "", text)
    if not np.isfinite([weather.dni_w_m2, weather.cloud_frac]).any():
        raise _refused(path, "", "has neither dni_w_m2 nor a cloud column; expected one of them")
    finding = judged_labels(path, weather, site)
    with database.begin() as session:
        add_forecast(
            session,
            weather,
            service=OWN_FILE,
            latitude_deg=site.latitude_deg,
            longitude_deg=site.longitude_deg,
            credit="",
            payload=path.read_bytes(),
            fetched_at=at,
            warnings=(finding.text,) if finding.verdict is Verdict.DOUBTFUL else (),
        )
    reach = f"{len(weather.starts_at)} steps of {weather.step_min} min to {_local(end_of(weather), site)}"
    return f"{path.name}: {reach}; {finding.text}"


def note_sun(database: Database, readings: Sequence[tuple[time, float]], *, by: str, at: datetime) -> str:
    """Add direct light that somebody read off today to the log; returns what was noted, in words.

    Each figure stands for the `TYPED_MIN` minutes before its time, which is one of the yard's clock.

    Raises
    ------
    InvalidField
        If a time is still to come, the sun was down then, or the figure cannot be; nothing was noted then.
    NotThere
        If there is no yard yet.
    """
    with database.begin() as session:
        site = site_of(session, database)
        today, found = at.astimezone(zone(site.tz)), []
        for clock, w_m2 in readings:
            read_at = today.replace(hour=clock.hour, minute=clock.minute, second=0, microsecond=0)
            told = f"{clock:%H:%M}={w_m2:g}"
            require(read_at <= at, "sun reading", told, "time", f"{clock:%H:%M}", f"one up to now, {today:%H:%M}")
            middle_s = np.array([read_at.timestamp() - TYPED_MIN * 30])
            sky = clear_sky(middle_s, site.latitude_deg, site.longitude_deg, site.altitude_m, site.linke)
            most = EXTRA_CAP * float(sky.extra_w_m2[0]) if sky.sun.elevation_deg[0] > 0 else 0.0
            expected = f"0 to {most:.0f} W/m2" if most else "0 W/m2, since the sun was down; is it the yard's clock?"
            require(0 <= w_m2 <= most, "sun reading", told, "dni_w_m2", f"{w_m2:g}", expected)
            found.append(SunReading(read_at.astimezone(UTC) - timedelta(minutes=TYPED_MIN), TYPED_MIN, w_m2, BY_HAND))
        n_new = add_sun_readings(session, found, by=by, at=at)
    rows = ", ".join(f"{clock:%H:%M} {w_m2:g} W/m2" for clock, w_m2 in readings)
    return rows + (f"; {len(found) - n_new} were there already" if n_new < len(found) else "")


def measured_sun(database: Database, *, start_at: datetime, end_at: datetime) -> tuple[Weather, ...]:
    """Return what was measured in steps that start from one instant on and before another.

    Steps have one length in a `Weather`, so there is one for each length. Where several sources measured the same
    step their mean counts.
    """
    with database.begin_read() as session:
        readings = read_sun_readings(session, start_at, end_at)
    lengths = sorted({reading.step_min for reading in readings})
    return tuple(_one_length([one for one in readings if one.step_min == step_min]) for step_min in lengths)


def _one_length(readings: Sequence[SunReading]) -> Weather:
    by_start: dict[datetime, list[SunReading]] = {}
    for reading in readings:
        by_start.setdefault(reading.start_at, []).append(reading)
    gaps = np.full(len(by_start), np.nan, np.float32)
    ghi = [[one.ghi_w_m2 for one in found if one.ghi_w_m2 is not None] for found in by_start.values()]
    return Weather(
        starts_at=tuple(by_start),
        step_min=readings[0].step_min,
        dni_w_m2=np.array([fmean(one.dni_w_m2 for one in found) for found in by_start.values()], np.float32),
        ghi_w_m2=np.array([fmean(found) if found else np.nan for found in ghi], np.float32),
        dhi_w_m2=gaps,
        temp_c=gaps,
        wind_m_s=gaps,
        gust_m_s=gaps,
        cloud_frac=gaps,
        source=f"measured: {', '.join(sorted({reading.source for reading in readings}))}",
    )


def judged_labels(path: Path, weather: Weather, site: Site) -> LabelFinding:
    """Return what the sun says of the labels; raises `BadFile` if they are wrong, or steps longer than an hour."""
    if weather.step_min > 60:
        raise _refused(path, "", f"has steps of {weather.step_min} min; expected 60 min at most")
    finding = check_labels(weather, site)
    if finding.verdict is Verdict.WRONG:
        raise _refused(path, "start or end", finding.text)
    return finding


def _local(at: datetime, site: Site) -> str:
    return f"{at.astimezone(zone(site.tz)):%Y-%m-%d %H:%M}"


def _refused(path: Path, column: str, text: str) -> BadFile:
    return BadFile(path, (RowProblem(0, column, text),))
