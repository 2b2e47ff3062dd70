"""Bring in a yard, orders or weather from files: all of a file or nothing of it."""

from datetime import datetime
from pathlib import Path

from yardplan.domain.equipment import Site
from yardplan.domain.errors import NotThere
from yardplan.domain.log import SunReading
from yardplan.domain.orders import check_orders
from yardplan.exchange.order_files import read_orders as read_order_file
from yardplan.exchange.yard_files import read_yard_folder
from yardplan.forecast.battery import low_reserves
from yardplan.forecast.weather import read_typical_year
from yardplan.store.engine import Database
from yardplan.store.read import has_yard, read_orders, read_yard
from yardplan.store.write import add_logged_cycles, add_orders, write_setting, write_weather_year, write_yard
from yardplan.usecases.clock import CLOCK_AT
from yardplan.usecases.own_weather import SUN_SOURCE, add_measured, judged_labels, measured_readings


def import_yard(database: Database, folder: Path, *, by: str, at: datetime) -> str:
    """Replace the yard by the one in a folder; its orders, log and weather are added where it has them.

    Returns
    -------
    str
        What was taken, in words, and units whose battery keeps too little.

    Raises
    ------
    BadFile
        Lists every bad row of every file; the database is unchanged then.
    """
    found = read_yard_folder(folder)
    year = read_typical_year(found.weather_path) if found.weather_path else None
    readings: list[SunReading] = []
    if found.sun_path:
        yard_at = found.clock_at or at
        readings, _ = measured_readings(found.sun_path, found.yard.site, at=yard_at, source=SUN_SOURCE)
    with database.begin() as session:
        # Orders that the yard already has must still make sense in the new one.
        check_orders(read_orders(session) + found.orders, found.yard)
        write_yard(session, found.yard, by=by, at=at)
        add_orders(session, found.orders, by=by, at=at)
        add_logged_cycles(session, found.logged, by=by, at=at)
        if found.clock_at:
            write_setting(session, CLOCK_AT, found.clock_at.isoformat(), by=by, at=at)
        if year:
            write_weather_year(session, **vars(year), by=by, at=at)
        if found.sun_path:
            add_measured(session, found.sun_path, readings, by=by, at=at)
    return (
        f"{found.yard.site.name}: {len(found.yard.units)} units, {len(found.yard.molds)} molds, "
        f"{len(found.yard.products)} products, {len(found.yard.operators)} operators, "
        f"{len(found.orders)} orders, {len(found.logged)} logged cycles"
        + "".join(f"\nNote: {note}." for note in low_reserves(found.yard))
    )


def import_orders(database: Database, path: Path, *, by: str, at: datetime) -> str:
    """Add the orders of a CSV or XLSX file; returns what was taken, in words."""
    with database.begin() as session:
        if not has_yard(session):
            raise NotThere("yard", database.url, "orders need one: bring it in with `yardplan import yard` first")
        yard = read_yard(session)
        known_ids = frozenset(order.id for order in read_orders(session))
        orders = read_order_file(path, yard, known_ids=known_ids)
        add_orders(session, orders, by=by, at=at)
    return f"{path.name}: {len(orders)} orders"


def import_weather(database: Database, path: Path, *, by: str, at: datetime) -> str:
    """Take a typical-year file as the yard's weather; returns what was taken, in words.

    Raises
    ------
    BadFile
        If it cannot be read as one, or its time labels do not go with the sun of its place.
    """
    year = read_typical_year(path)
    place = Site(year.name, year.latitude_deg, year.longitude_deg, year.altitude_m, "UTC")
    finding = judged_labels(path, year.weather, place)
    with database.begin() as session:
        write_weather_year(session, **vars(year), by=by, at=at)
    return f"{path.name}: {len(year.weather.starts_at)} hours of {year.name}; {finding.text}"
