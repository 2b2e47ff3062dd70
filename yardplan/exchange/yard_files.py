"""A yard as a folder of readable files: ``site.toml`` and one CSV file for each kind of thing."""

import shutil
import tempfile
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

from yardplan.domain.equipment import Bench, Chamber, Heliostat, Hung, Load, Mold, Unit
from yardplan.domain.errors import BadFile, CannotWrite, InvalidField, RowProblem
from yardplan.domain.field import field_rows
from yardplan.domain.heat_work import WorkRest
from yardplan.domain.log import LoggedCycle
from yardplan.domain.orders import Order, check_orders
from yardplan.domain.people import Downtime, Duty, Operator, Shift, Upkeep
from yardplan.domain.products import CleanDown, Delivery, FinishStep, Item, Product
from yardplan.domain.slots import zone
from yardplan.domain.yard import Yard
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.rows import Reading, Row, Table, write_rows, write_whole
from yardplan.exchange.site_file import SITE_FILE, read_site, site_text

ORDER_FIELDS = {"id": "order", "product_id": "product", "due_at": "due", "promise_at": "promise"}
"""Columns of an order's fields that have another name there."""
LOG_FIELDS = {
    **{"id": "cycle", "chamber_id": "chamber", "product_id": "product", "charged_at": "charged", "heat_at": "heat"},
    **{"piat_at": "piat", "demolded_at": "demolded", "pieces_good": "good", "pieces_scrapped": "scrapped"},
}
_Thing = TypeVar("_Thing")


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
    reader = _Reader(folder, Reading(zone(site.tz)), {("site", site.name): Row(SITE_FILE, 0, {})})
    reader.check_names({top[key] for key in ("weather", "measured_sun") if key in top})
    yard_parts = reader.yard_parts()
    orders = reader.all(tables.ORDERS, "order", Order, ORDER_FIELDS)
    logged = reader.all(tables.LOG, "logged cycle", LoggedCycle, LOG_FIELDS)
    reader.stop_if_bad()
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


@dataclass
class _Reader:
    """Reads the tables of one folder; `rows_of` remembers which row each thing came from."""

    folder: Path
    reading: Reading
    rows_of: dict[tuple[str, str], Row]

    def check_names(self, others: set[str]) -> None:
        known = {table.file for table in tables.TABLES} | others
        for path in sorted(self.folder.glob("*.csv")):
            if path.name not in known:
                text = f"is not a file of a yard; expected {', '.join(table.file for table in tables.TABLES)}"
                self.reading.problems.append(RowProblem(0, "", text, path.name))

    def stop_if_bad(self) -> None:
        if self.reading.problems:
            raise BadFile(self.folder, tuple(self.reading.problems))

    def rows(self, table: Table) -> list[Row]:
        path = self.folder / table.file
        return [] if table.optional and not path.exists() else self.reading.rows(path, table)

    def make(
        self, row: Row, thing: str, ident: str, cls: Callable[..., _Thing], values: dict[str, Any]
    ) -> list[_Thing]:
        """Return the thing in a list; an empty one, and a problem noted, where its values make no sense."""
        self.rows_of.setdefault((thing, ident), row)
        try:
            return [cls(**values)]
        except InvalidField as error:
            self.reading.problems.append(self.place(error, row))
            return []

    def all(
        self, table: Table, thing: str, cls: Callable[..., _Thing], renamed: Mapping[str, str], ident: str = ""
    ) -> tuple[_Thing, ...]:
        """Return one thing for each row; `renamed` gives the columns of fields with another name."""
        found: list[_Thing] = []
        for row in self.rows(table):
            named = str(row[ident or table.columns[0].name])
            found += self.make(row, thing, named, cls, fields_of(row, renamed))
        return tuple(found)

    def place(self, error: InvalidField, row: Row | None = None) -> RowProblem:
        row = row or self.rows_of.get((error.thing, error.ident))
        text = f"{error.field} of {error.thing} {error.ident} is {error.value!r}; expected {error.expected}"
        if row is None:
            return RowProblem(0, "", text, self.folder.name)
        return row.problem(error.field if error.field in row.values else "", text)

    def yard_parts(self) -> dict[str, Any]:
        units = self._units()
        molds = self.all(tables.MOLDS, "mold", Mold, {"id": "mold"})
        if len(molds) == len(self.reading.known.get("mold", ())) > 0:  # else the copies are not all known
            copies = {f"{mold.id}#{copy + 1}" for mold in molds for copy in range(mold.copies)}
            self.reading.known["mold copy"] = copies
        before = len(self.reading.problems)
        benches = self.all(tables.BENCHES, "bench", Bench, {"id": "bench", "unit_id": "unit"})
        if len(self.reading.problems) == before:
            self.reading.known["bench kind"] = {bench.kind for bench in benches}
        return {
            "units": units,
            "molds": molds,
            "benches": benches,
            "items": self.all(tables.STOCK, "stock item", Item, {"id": "item"}),
            "products": self._products(),
            "shifts": self.all(tables.SHIFTS, "shift", Shift, {"id": "shift"}),
            "operators": self._operators(),
            "clean_downs": self.all(tables.CLEAN_DOWNS, "clean-down", CleanDown, {}),
            "deliveries": self.all(tables.DELIVERIES, "delivery", Delivery, {"item_id": "item"}),
            "downtimes": self.all(tables.DOWNTIMES, "down-time", Downtime, {"resource_id": "resource"}, "reason"),
            "upkeep": self.all(tables.UPKEEP, "upkeep", Upkeep, {"id": "upkeep", "resource_id": "resource"}, "upkeep"),
            "hung": self.all(tables.HUNG, "hung mold", Hung, {"chamber_id": "chamber"}, "mold"),
            "work_rest": self.all(tables.WORK_REST, "work and rest", WorkRest, {}, "from_f"),
            "loads": self.all(tables.LOADS, "load", Load, {"name": "load", "unit_id": "unit"}),
        }

    def _units(self) -> tuple[Unit, ...]:
        unit_rows = self.rows(tables.UNITS)
        chambers: dict[str, list[Chamber]] = defaultdict(list)
        mirrors: dict[str, list[Heliostat]] = defaultdict(list)
        before = len(self.reading.problems)
        for row in self.rows(tables.CHAMBERS):
            values = fields_of(row, {"id": "chamber"})
            chambers[values.pop("unit")] += self.make(row, "chamber", row["chamber"], Chamber, values)
        for row in self.rows(tables.HELIOSTATS):
            values = dict(row.values)
            mirrors[values.pop("unit")] += self.make(row, "heliostat", "", Heliostat, values)
        for row in self.rows(tables.FIELDS):
            values = dict(row.values)
            mirrors[values.pop("unit")] += [
                mirror for rows in self.make(row, "field", "", field_rows, values) for mirror in rows
            ]
        parts_bad = len(self.reading.problems) > before
        units: list[Unit] = []
        for row in unit_rows:
            ident = row["unit"]
            values = fields_of(row, {"id": "unit"})
            values |= {"chambers": tuple(chambers[ident]), "field": tuple(mirrors[ident])}
            if parts_bad and not (chambers[ident] and mirrors[ident]):
                continue  # else the unit would be blamed for the rows that could not be read
            units += self.make(row, "unit", ident, Unit, values)
        return tuple(units)

    def _products(self) -> tuple[Product, ...]:
        product_rows = self.rows(tables.PRODUCTS)
        steps: dict[str, list[tuple[int, FinishStep]]] = defaultdict(list)
        for row in self.rows(tables.ROUTING):
            values = {name: row[name] for name in row.values if name not in ("product", "step")}
            made = self.make(row, "finishing step", row["name"], FinishStep, values)
            if row["step"] in (number for number, _ in steps[row["product"]]):
                text = f"step {row['step']} of {row['product']} is there already; expected each step once"
                self.reading.problems.append(row.problem("step", text))
            steps[row["product"]] += [(row["step"], step) for step in made]
        inserts: dict[str, list[tuple[str, int]]] = defaultdict(list)
        for row in self.rows(tables.INSERTS):
            inserts[row["product"]].append((row["item"], row["count"]))
        products: list[Product] = []
        for row in product_rows:
            ident = row["product"]
            values = fields_of(row, {"id": "product", "mold_ids": "molds"})
            values["routing"] = tuple(step for _, step in sorted(steps[ident], key=lambda pair: pair[0]))
            values["inserts"] = tuple(inserts[ident])
            products += self.make(row, "product", ident, Product, values)
        return tuple(products)

    def _operators(self) -> tuple[Operator, ...]:
        operator_rows = self.rows(tables.OPERATORS)
        duties: dict[str, list[Duty]] = defaultdict(list)
        for row in self.rows(tables.DUTIES):
            duties[row["operator"]].append(Duty(row["shift"], row["weekdays"], row["first_on"], row["last_on"]))
        days_off = defaultdict(set)
        for row in self.rows(tables.DAYS_OFF):
            days_off[row["operator"]].add(row["day_off"])
        operators: list[Operator] = []
        for row in operator_rows:
            ident = row["operator"]
            values = fields_of(row, {"id": "operator"}) | {"skills": frozenset(row["skills"])}
            values |= {"duties": tuple(duties[ident]), "days_off": frozenset(days_off[ident])}
            operators += self.make(row, "operator", ident, Operator, values)
        return tuple(operators)


def fields_of(row: Row, renamed: Mapping[str, str]) -> dict[str, Any]:
    """Return the values of a row by field; `renamed` gives the columns of fields with another name."""
    taken = {column: field for field, column in renamed.items()}
    return {taken.get(column, column): value for column, value in row.values.items()}


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
            for table, rows in _yard_rows(yard, orders, logged):
                write_rows(fresh / table.file, table, rows, tz, notice=notice)
            for file in (weather_path, sun_path):
                if file:
                    shutil.copyfile(file, fresh / file.name)
            if folder.exists():
                folder.rmdir()
            fresh.rename(folder)
    except OSError as error:
        raise CannotWrite(folder, error.strerror or str(error)) from error


def _yard_rows(
    yard: Yard, orders: tuple[Order, ...], logged: tuple[LoggedCycle, ...]
) -> Iterable[tuple[Table, list[dict[str, Any]]]]:
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
    yield tables.ORDERS, order_rows(orders)
    yield tables.LOG, [_renamed(row, LOG_FIELDS) for row in logged]


def order_rows(orders: tuple[Order, ...]) -> list[dict[str, Any]]:
    """Return the rows of the table of orders."""
    return [_renamed(row, ORDER_FIELDS) for row in orders]


def _renamed(thing: object, renamed: Mapping[str, str]) -> dict[str, Any]:
    return {**vars(thing), **{column: getattr(thing, field) for field, column in renamed.items()}}
