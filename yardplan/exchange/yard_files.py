"""A yard as a folder of readable files: ``site.toml`` and one CSV file for each kind of thing."""

import shutil
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from yardplan.domain.errors import BadFile, CannotWrite, InvalidField, RowProblem
from yardplan.domain.log import LoggedCycle
from yardplan.domain.orders import Order, check_orders
from yardplan.domain.slots import zone
from yardplan.domain.yard import Yard
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.rows import Reading, Row, Table, write_rows, write_whole
from yardplan.exchange.site_file import SITE_FILE, read_site, site_text
from yardplan.exchange.yard_reader import YardReader

ORDER_FIELDS = {"id": "order", "product_id": "product", "due_at": "due", "promise_at": "promise"}
"""Columns of an order's fields that have another name there."""
LOG_FIELDS = {
    **{"id": "cycle", "chamber_id": "chamber", "product_id": "product", "charged_at": "charged", "heat_at": "heat"},
    **{"piat_at": "piat", "demolded_at": "demolded", "pieces_good": "good", "pieces_scrapped": "scrapped"},
}


@dataclass(frozen=True)
class YardFolder:
    """What a yard folder holds.

    Attributes
    ----------
    clock_at : datetime or None
        Instant at which this yard's clock stands still, for a yard that is made up [UTC].
    weather_path, sun_path : Path or None
        Typical-year file of the yard, and its own CSV of measured sun.
    notice : str
        What must be told with everything that comes from here, such as that it is invented.
    """

    yard: Yard
    orders: tuple[Order, ...]
    logged: tuple[LoggedCycle, ...]
    clock_at: datetime | None
    weather_path: Path | None
    notice: str = ""
    sun_path: Path | None = None


def read_yard_folder(folder: Path) -> YardFolder:
    """Read a yard with its orders and its log; `yard_tables` tells the files and their columns.

    Raises
    ------
    BadFile
        Lists every bad row of every file. Contradictions between good rows (a person on two shifts at once,
        a mold that fits no chamber) are looked for once all rows are good, and told one at a time.
    """
    if not folder.is_dir():
        raise BadFile(folder, (RowProblem(0, "", "is not a folder; expected one with site.toml and the CSV files"),))
    site, top = read_site(folder / SITE_FILE)
    reading = Reading(zone(site.tz))

    def rows(table: Table) -> list[Row]:
        path = folder / table.file
        return [] if table.optional and not path.exists() else reading.rows(path, table)

    reader = YardReader(folder, reading, rows, {("site", site.name): Row(SITE_FILE, 0, {})})
    reader.reading.problems += _strange_files(folder, {top[key] for key in ("weather", "measured_sun") if key in top})
    yard_parts = reader.yard_parts()
    orders = reader.all(tables.ORDERS, "order", Order, ORDER_FIELDS)
    logged = reader.all(tables.LOG, "logged cycle", LoggedCycle, LOG_FIELDS)
    if reading.problems:
        raise BadFile(folder, tuple(reading.problems))
    try:
        yard = Yard(site=site, colors=tuple(top.get("colors", ())), **yard_parts)
        for order in orders:
            check_orders((order,), yard)
    except InvalidField as error:
        raise BadFile(folder, (reader.place(error),)) from error
    return YardFolder(
        yard,
        orders,
        logged,
        top.get("clock_at"),
        folder / top["weather"] if "weather" in top else None,
        top.get("notice", ""),
        folder / top["measured_sun"] if "measured_sun" in top else None,
    )


def _strange_files(folder: Path, others: set[str]) -> list[RowProblem]:
    known = {table.file for table in tables.TABLES} | others
    text = f"is not a file of a yard; expected {', '.join(table.file for table in tables.TABLES)}"
    return [RowProblem(0, "", text, path.name) for path in sorted(folder.glob("*.csv")) if path.name not in known]


def write_yard_folder(
    folder: Path,
    yard: Yard,
    orders: tuple[Order, ...] = (),
    logged: tuple[LoggedCycle, ...] = (),
    *,
    clock_at: datetime | None = None,
    weather_path: Path | None = None,
    sun_path: Path | None = None,
    notice: str = "",
) -> None:
    """Write a yard as a folder that `read_yard_folder` reads back equal; complete, or not at all.

    Raises
    ------
    CannotWrite
        If the folder is there and not empty, or cannot be written.
    """
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise CannotWrite(folder, "it is there already; expected a new or an empty folder")
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder.parent, prefix=f".{folder.name}.") as scratch:
            fresh = Path(scratch) / folder.name
            fresh.mkdir()
            tz = zone(yard.site.tz)
            write_whole(fresh / SITE_FILE, site_text(yard, clock_at, weather_path, sun_path, notice))
            for table, rows in (*yard_rows(yard), *_other_rows(orders, logged)):
                write_rows(fresh / table.file, table, rows, tz, notice=notice)
            for file in (weather_path, sun_path):
                if file:
                    shutil.copyfile(file, fresh / file.name)
            if folder.exists():
                folder.rmdir()
            fresh.rename(folder)
    except OSError as error:
        raise CannotWrite(folder, error.strerror or str(error)) from error


def yard_rows(yard: Yard) -> Iterable[tuple[Table, list[dict[str, Any]]]]:
    """Return the rows of each table; what a table has no column for is left out when it is written."""
    yield tables.UNITS, [{**vars(unit), "unit": unit.id} for unit in yard.units]
    yield (
        tables.CHAMBERS,
        [{**vars(row), "chamber": row.id, "unit": unit.id} for unit in yard.units for row in unit.chambers],
    )
    yield tables.HELIOSTATS, [{**vars(mirror), "unit": unit.id} for unit in yard.units for mirror in unit.field]
    yield tables.MOLDS, [{**vars(mold), "mold": mold.id} for mold in yard.molds]
    yield tables.PRODUCTS, [{**vars(row), "product": row.id, "molds": row.mold_ids} for row in yard.products]
    yield tables.BENCHES, [{**vars(bench), "bench": bench.id, "unit": bench.unit_id} for bench in yard.benches]
    yield tables.WORK_REST, [vars(row) for row in yard.work_rest]
    yield tables.LOADS, [{**vars(load), "load": load.name, "unit": load.unit_id} for load in yard.loads]
    yield (
        tables.ROUTING,
        [
            {**vars(step), "product": product.id, "step": number}
            for product in yard.products
            for number, step in enumerate(product.routing, 1)
        ],
    )
    yield tables.STOCK, [{**vars(item), "item": item.id} for item in yard.items]
    yield (
        tables.INSERTS,
        [
            {"product": product.id, "item": item_id, "count": count}
            for product in yard.products
            for item_id, count in product.inserts
        ],
    )
    yield tables.DELIVERIES, [{**vars(row), "item": row.item_id} for row in yard.deliveries]
    yield tables.SHIFTS, [{**vars(shift), "shift": shift.id} for shift in yard.shifts]
    yield tables.OPERATORS, [{**vars(row), "operator": row.id} for row in yard.operators]
    yield (
        tables.DUTIES,
        [
            {**vars(duty), "operator": operator.id, "shift": duty.shift_id}
            for operator in yard.operators
            for duty in operator.duties
        ],
    )
    yield (
        tables.DAYS_OFF,
        [
            {"operator": operator.id, "day_off": day_off}
            for operator in yard.operators
            for day_off in sorted(operator.days_off)
        ],
    )
    yield tables.CLEAN_DOWNS, [dict(vars(row)) for row in yard.clean_downs]
    yield tables.DOWNTIMES, [{**vars(row), "resource": row.resource_id} for row in yard.downtimes]
    yield tables.UPKEEP, [{**vars(row), "upkeep": row.id, "resource": row.resource_id} for row in yard.upkeep]
    yield tables.HUNG, [{**vars(row), "chamber": row.chamber_id} for row in yard.hung]


def _other_rows(
    orders: tuple[Order, ...], logged: tuple[LoggedCycle, ...]
) -> Iterable[tuple[Table, list[dict[str, Any]]]]:
    yield tables.ORDERS, order_rows(orders)
    yield tables.LOG, [_renamed(row, LOG_FIELDS) for row in logged]


def order_rows(orders: tuple[Order, ...]) -> list[dict[str, Any]]:
    """Return the rows of the table of orders."""
    return [_renamed(row, ORDER_FIELDS) for row in orders]


def _renamed(thing: object, renamed: Mapping[str, str]) -> dict[str, Any]:
    return {**vars(thing), **{column: getattr(thing, field) for field, column in renamed.items()}}
