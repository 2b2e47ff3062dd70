"""Orders as CSV or XLSX.

Columns, in any order: ``order, customer, product, color, quantity, due, promise, priority, note``; the first
row names them. ``due`` and ``promise`` are a date, which means the end of that day, or a date and time by the
yard's clock. ``customer, promise, priority`` and ``note`` may be blank or left out. In a spreadsheet a cell with
a date and no time of day is a date, and of a formula its value is taken.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from yardplan.domain.errors import BadFile, InvalidField, RowProblem
from yardplan.domain.orders import Order, check_orders
from yardplan.domain.slots import zone
from yardplan.domain.yard import Yard
from yardplan.exchange import yard_tables
from yardplan.exchange.cells import Unfit
from yardplan.exchange.rows import REQUIRED, Reading, Row, write_rows
from yardplan.exchange.yard_files import ORDER_FIELDS, order_rows
from yardplan.exchange.yard_reader import fields_of


@dataclass(frozen=True)
class FoundOrders:
    """What a file of orders holds: good orders with their rows, and what is wrong with the other rows.

    Numbers may be there more than once, in the file and in the book.
    """

    rows: tuple[tuple[int, Order], ...]
    problems: tuple[RowProblem, ...]


def find_orders(path: Path, yard: Yard) -> FoundOrders:
    """Read all orders from a CSV or XLSX file that can be read, and say what is wrong with the other rows."""
    columns = tuple(replace(column, names="") for column in yard_tables.ORDERS.columns)
    reading = _reading(yard, mends=True)
    found = _orders(reading, reading.rows(path, replace(yard_tables.ORDERS, file=path.name, columns=columns)), yard)
    return FoundOrders(tuple((row.number, order) for row, order in found), _in_order(reading.problems))


def read_orders(path: Path, yard: Yard, *, known_ids: frozenset[str]) -> tuple[Order, ...]:
    """Read new orders from a CSV or XLSX file: all of them or none.

    Parameters
    ----------
    known_ids : frozenset of str
        Numbers that are taken already.

    Raises
    ------
    BadFile
        Lists every bad row with what is allowed there.
    """
    reading = _reading(yard)
    rows = reading.rows(path, replace(yard_tables.ORDERS, file=path.name))
    for row in rows:
        if row["order"] in known_ids:
            text = (
                f"is {row['order']!r}, which the yard has already; expected a new number: nothing is merged or replaced"
            )
            reading.problems.append(row.problem("order", text))
    orders = [order for _, order in _orders(reading, rows, yard)]
    if reading.problems:
        raise BadFile(path, _in_order(reading.problems))
    return tuple(orders)


def _reading(yard: Yard, *, mends: bool = False) -> Reading:
    reading = Reading(zone(yard.site.tz), mends=mends)
    reading.known["product"] = {product.id for product in yard.products}
    return reading


def _orders(reading: Reading, rows: list[Row], yard: Yard) -> list[tuple[Row, Order]]:
    found = []
    for row in rows:
        try:
            order = Order(**fields_of(row, ORDER_FIELDS))
            check_orders((order,), yard)
            found.append((row, order))
        except InvalidField as error:
            reading.problems.append(_at(row, error))
    if not rows and not reading.problems:
        reading.problems.append(RowProblem(0, "", "has no orders; expected a row for each under the first row"))
    return found


def _in_order(problems: list[RowProblem]) -> tuple[RowProblem, ...]:
    return tuple(replace(found, file="") for found in sorted(problems, key=lambda found: found.row))


def edited(ident: str, cells: Mapping[str, str], yard: Yard, before: Order | None = None) -> Order:
    """Return an order with values told as in a file of orders; a blank one is what a blank cell means there.

    Parameters
    ----------
    before : Order or None
        What it is made of; None for a new one.

    Raises
    ------
    InvalidField
        If there is no such column, a value cannot be, or one that must be is missing.
    """
    columns = {column.name: column for column in yard_tables.ORDERS.columns if column.name != "order"}
    unknown = next((name for name in cells if name not in columns), None)
    if unknown is not None:
        raise InvalidField("order", ident, unknown, cells[unknown], f"one of {', '.join(columns)}")
    fields = {column: field for field, column in ORDER_FIELDS.items()}
    values: dict[str, Any] = {}
    for name, column in columns.items():
        text = cells.get(name, "")
        if name not in cells and before is not None:
            continue
        if not text and column.default is REQUIRED:
            raise InvalidField("order", ident, name, text, column.kind.expected)
        try:
            value = column.kind.read(text, zone(yard.site.tz)) if text else column.default
        except (ValueError, KeyError, OverflowError) as error:
            expected = str(error) if isinstance(error, Unfit) else column.kind.expected
            raise InvalidField("order", ident, name, text, expected) from error
        values[fields.get(name, name)] = value
    made = replace(before, **values) if before is not None else Order(ident, **values)
    check_orders((made,), yard)
    return made


def _at(row: Row, error: InvalidField) -> RowProblem:
    return row.problem(error.field, f"is {error.value!r}; expected {error.expected}")


def write_orders(path: Path, orders: tuple[Order, ...], tz: str) -> None:
    """Write orders as CSV that `read_orders` reads back equal, whole or not at all.

    It starts with a byte-order mark, by which spreadsheets know UTF-8, and no cell can act as a formula.
    """
    table = replace(yard_tables.ORDERS, about="")
    write_rows(path, table, order_rows(orders), zone(tz), mark=True)
