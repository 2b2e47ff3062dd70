"""From the rows of a yard's tables to the things that they tell of, wherever the rows come from."""

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from yardplan.domain.equipment import Bench, Chamber, Heliostat, Hung, Load, Mold, Unit
from yardplan.domain.errors import InvalidField, RowProblem
from yardplan.domain.field import field_rows
from yardplan.domain.heat_work import WorkRest
from yardplan.domain.people import Downtime, Duty, Operator, Shift, Upkeep
from yardplan.domain.products import CleanDown, Delivery, FinishStep, Item, Product
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.rows import Reading, Row, Table

_COLUMNS = {"mold_ids": "molds"}
"""Columns of fields with quite another name."""
_Thing = TypeVar("_Thing")


@dataclass
class YardReader:
    """Makes the parts of a yard of the rows of its tables; problems are noted in `reading`.

    Attributes
    ----------
    source : Path
        What the rows come from, to be named where no row is at fault.
    rows : callable
        Gives the good rows of a table.
    rows_of : dict
        Which row each thing came from.
    """

    source: Path
    reading: Reading
    rows: Callable[[Table], list[Row]]
    rows_of: dict[tuple[str, str], Row]

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
        """Return what is wrong with a thing at the row that it came from, and its column where one bears the name."""
        row = row or self.rows_of.get((error.thing, error.ident))
        text = f"{error.field} of {error.thing} {error.ident} is {error.value!r}; expected {error.expected}"
        if row is None:
            return RowProblem(0, "", text, self.source.name)
        columns = (error.field, error.field.removesuffix("_id"), _COLUMNS.get(error.field, ""))
        return row.problem(next((name for name in columns if name in row.values), ""), text)

    def yard_parts(self) -> dict[str, Any]:
        """Return the arguments of a `Yard` beside its site and colors."""
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
