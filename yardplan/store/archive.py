"""Forecasts as they were got, outlooks as they were shown, the sun that was measured: all are only ever added to."""

import gzip
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from io import BytesIO
from itertools import pairwise
from typing import Any

import numpy as np
from sqlalchemy import func, select
from sqlalchemy.orm import Session, undefer

from yardplan.domain.errors import InvalidField, NotThere
from yardplan.domain.log import SunReading
from yardplan.domain.tables import Weather
from yardplan.domain.verification import Shown
from yardplan.store import tables as t
from yardplan.store.columns import columns_of, value_of
from yardplan.store.read import EPOCH, WEATHER_ARRAYS
from yardplan.store.write import count_change, insert_rows, record


@dataclass(frozen=True, eq=False)
class StoredForecast:
    """A forecast as it was got.

    Attributes
    ----------
    service : str
        Name of the service, or of the kind of file, that it came from.
    question : str
        Mark of the exact question that it answers; empty for a file.
    latitude_deg, longitude_deg : float
        Where it is for.
    credit : str
        The line that its terms ask to be shown.
    fetched_at : datetime
        When it was got; when it was issued is in its weather.
    etag, last_modified : str
        To be sent as they are with the next question to the service; empty where it gave none.
    warnings : tuple of str
        What was left out or taken otherwise, in words.
    members : tuple of Weather
        Further members of an ensemble on the same steps.
    """

    number: int
    service: str
    question: str
    latitude_deg: float
    longitude_deg: float
    credit: str
    fetched_at: datetime
    etag: str
    last_modified: str
    warnings: tuple[str, ...]
    weather: Weather
    members: tuple[Weather, ...]

    @property
    def issued_at(self) -> datetime:
        """When it was made."""
        return self.weather.issued_at or self.fetched_at


@dataclass(frozen=True)
class ServiceState:
    """How asking a service went the last time.

    Attributes
    ----------
    checked_at : datetime or None
        When it last answered, also that nothing has changed.
    rest_until_at : datetime or None
        It is not to be asked before.
    trouble : str
        Why it gave nothing the last time, in words; empty if it did.
    """

    service: str
    checked_at: datetime | None = None
    rest_until_at: datetime | None = None
    trouble: str = ""


def add_forecast(
    session: Session,
    weather: Weather,
    members: Sequence[Weather] = (),
    *,
    service: str,
    latitude_deg: float,
    longitude_deg: float,
    credit: str,
    payload: bytes,
    fetched_at: datetime,
    question: str = "",
    etag: str = "",
    last_modified: str = "",
    warnings: tuple[str, ...] = (),
) -> bool:
    """Keep a forecast with the document that it was read from; the arguments are those of `StoredForecast`.

    Returns
    -------
    bool
        Whether it is new: the same answer to the same question is kept once, however often it comes in a row.
    """
    newest = newest_forecast(session, service)
    if newest is not None and newest.question == question and read_payload(session, newest.number) == payload:
        return False
    starts_us = [(start - EPOCH) // timedelta(microseconds=1) for start in weather.starts_at]
    arrays: dict[str, Any] = {"starts_us": np.array(starts_us, np.int64)}
    every = (weather, *members)
    arrays |= {name: np.stack([getattr(one, name) for one in every]) for name in WEATHER_ARRAYS}
    if any(one.rain_mm is not None for one in every):
        none = np.full(len(starts_us), np.nan, np.float32)
        arrays["rain_mm"] = np.stack([none if one.rain_mm is None else one.rain_mm for one in every])
    packed = BytesIO()
    np.savez_compressed(packed, **arrays)
    row = {
        "number": (session.scalar(select(func.max(t.ForecastRow.number))) or 0) + 1,
        "service": service,
        "question": question,
        "latitude_deg": latitude_deg,
        "longitude_deg": longitude_deg,
        "credit": credit,
        "issued_at": weather.issued_at or fetched_at,
        "fetched_at": fetched_at,
        "etag": etag,
        "last_modified": last_modified,
        "warnings": warnings,
        "arrays": packed.getvalue(),
        "payload": gzip.compress(payload, mtime=0),
    }
    insert_rows(session, t.ForecastRow, [columns_of(t.ForecastRow, weather, **row)])
    count_change(session)
    return True


def newest_forecast(
    session: Session, service: str | None = None, *, known_at: datetime | None = None
) -> StoredForecast | None:
    """Return the forecast that was got last, of any service or of one; None where there is none yet.

    With `known_at`, the last one that was there at that instant: a plan is judged by what was known when it was made.
    """
    newest = select(t.ForecastRow).order_by(t.ForecastRow.number.desc()).limit(1)
    if known_at is not None:
        newest = newest.where(t.ForecastRow.fetched_at <= known_at)
    if service is not None:
        newest = newest.where(t.ForecastRow.service == service)
    row = session.scalar(newest.options(undefer(t.ForecastRow.arrays)))
    return None if row is None else _stored(row)


def read_forecasts(session: Session, start_at: datetime, end_at: datetime) -> tuple[StoredForecast, ...]:
    """Return the forecasts that were issued from one instant on and before another, as they were issued."""
    issued = t.ForecastRow.issued_at
    rows = select(t.ForecastRow).where(issued >= start_at, issued < end_at).order_by(issued, t.ForecastRow.number)
    return tuple(_stored(row) for row in session.scalars(rows.options(undefer(t.ForecastRow.arrays))))


def read_payload(session: Session, number: int) -> bytes:
    """Return the document that a forecast was read from; raises `NotThere` where there is no such forecast."""
    packed = session.scalar(select(t.ForecastRow.payload).where(t.ForecastRow.number == number))
    if packed is None:
        raise NotThere("forecast", str(number), "it was never kept")
    return gzip.decompress(packed)


def _stored(row: t.ForecastRow) -> StoredForecast:
    with np.load(BytesIO(row.arrays), allow_pickle=False) as packed:
        starts_at = tuple(EPOCH + timedelta(microseconds=us) for us in packed["starts_us"].tolist())
        stacked = {name: packed[name] for name in WEATHER_ARRAYS}
        rain_mm = packed.get("rain_mm", [None] * len(stacked[WEATHER_ARRAYS[0]]))
    weather, *members = (
        value_of(
            Weather, row, starts_at=starts_at, rain_mm=rain, **{name: values[ix] for name, values in stacked.items()}
        )
        for ix, rain in enumerate(rain_mm)
    )
    return value_of(StoredForecast, row, weather=weather, members=tuple(members))


SHOWN_APART = timedelta(hours=1)
"""Of outlooks that say something of the same hours, the first one in this time is kept."""


def add_shown(session: Session, shown: Shown) -> bool:
    """Keep an outlook as it was shown; returns whether it is new: it has hours, and none just before had them all.

    This counts as no change: what the other seats see is the same.
    """
    if not len(shown.start_s):
        return False
    row = t.ShownOutlookRow
    first_at, last_at = (EPOCH + timedelta(seconds=float(shown.start_s[ix])) for ix in (0, -1))
    just_before = row.made_at > shown.made_at - SHOWN_APART, row.made_at <= shown.made_at
    covered = select(row.number).where(*just_before, row.first_at <= first_at, row.last_at >= last_at)
    if session.scalar(covered.limit(1)) is not None:
        return False
    packed = BytesIO()
    np.savez_compressed(packed, start_s=shown.start_s, dni_w_m2=shown.dni_w_m2)
    number = (session.scalar(select(func.max(row.number))) or 0) + 1
    rest = {"number": number, "first_at": first_at, "last_at": last_at, "arrays": packed.getvalue()}
    insert_rows(session, row, [columns_of(row, shown, **rest)])
    return True


def read_shown(session: Session, start_at: datetime, end_at: datetime) -> tuple[Shown, ...]:
    """Return the outlooks that were made from one instant to another, both included, in their order."""
    made_at = t.ShownOutlookRow.made_at
    rows = select(t.ShownOutlookRow).where(made_at >= start_at, made_at <= end_at)
    found = []
    for row in session.scalars(rows.order_by(made_at, t.ShownOutlookRow.number)):
        with np.load(BytesIO(row.arrays), allow_pickle=False) as arrays:
            found.append(Shown(row.made_at, arrays["start_s"], arrays["dni_w_m2"]))
    return tuple(found)


def read_service_state(session: Session, service: str) -> ServiceState:
    """Return how asking a service went the last time; one that was never asked has neither answer nor trouble."""
    row = session.get(t.ForecastServiceRow, service)
    return ServiceState(service) if row is None else value_of(ServiceState, row)


def write_service_state(session: Session, state: ServiceState) -> None:
    """Keep how asking a service went."""
    session.merge(t.ForecastServiceRow(**columns_of(t.ForecastServiceRow, state)))
    count_change(session)


def add_sun_readings(session: Session, readings: Iterable[SunReading], *, by: str, at: datetime) -> int:
    """Add what was measured, all or none; readings that are there already, as in a file that has grown, are skipped.

    Returns
    -------
    int
        How many were new.

    Raises
    ------
    InvalidField
        If readings of one source overlap each other or one that is there already, which is never overwritten.
    """
    new: list[SunReading] = []
    by_source: dict[str, list[SunReading]] = {}
    for reading in readings:
        by_source.setdefault(reading.source, []).append(reading)
    for source, given in by_source.items():
        first_at = min(reading.start_at for reading in given) - timedelta(hours=1)  # the longest step before
        there = set(read_sun_readings(session, first_at, max(reading.end_at for reading in given), source=source))
        fresh = [reading for reading in given if reading not in there]
        for before, after in pairwise(sorted([*there, *fresh], key=lambda reading: reading.start_at)):
            if before.end_at > after.start_at:
                found = f"{before.dni_w_m2:g} W/m2 from {before.start_at} and {after.dni_w_m2:g} from {after.start_at}"
                raise InvalidField("sun reading", source, "start_at", found, "readings that do not overlap")
        new += fresh
    insert_rows(session, t.SunReadingRow, [columns_of(t.SunReadingRow, reading) for reading in new])
    if new:
        record(session, by, at, f"sun readings added: {len(new)} of {', '.join(sorted(by_source))}")
    return len(new)


def read_sun_readings(
    session: Session, start_at: datetime, end_at: datetime, *, source: str | None = None
) -> tuple[SunReading, ...]:
    """Return what was measured in steps that start from one instant on and before another, in their order."""
    row = t.SunReadingRow
    wanted = select(row).where(row.start_at >= start_at, row.start_at < end_at).order_by(row.start_at, row.source)
    if source is not None:
        wanted = wanted.where(row.source == source)
    return tuple(value_of(SunReading, found) for found in session.scalars(wanted))
