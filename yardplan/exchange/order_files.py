"""Orders as CSV or XLSX.

Columns, in any order: ``order, customer, product, color, quantity, due, promise, priority, note``; the first
row names them. ``due`` and ``promise`` are a date, which means the end of that day, or a date and time by the
yard's clock. ``customer, promise, priority`` and ``note`` may be blank or left out. In a spreadsheet a cell with
a date and no time of day is a date, and of a formula its value is taken.
"""

from dataclasses import replace
from pathlib import Path

from yardplan.domain.errors import BadFile, InvalidField, RowProblem
from yardplan.domain.orders import Order, check_orders
from yardplan.domain.slots import zone
from yardplan.domain.yard import Yard
from yardplan.exchange import yard_tables
from yardplan.exchange.rows import Reading, Row, write_rows
from yardplan.exchange.yard_files import ORDER_FIELDS, order_rows
from yardplan.exchange.yard_reader import fields_of


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
    reading = Reading(zone(yard.site.tz))
    reading.known["product"] = {product.id for product in yard.products}
    rows = reading.rows(path, replace(yard_tables.ORDERS, file=path.name))
    orders = []
    for row in rows:
        ident = row["order"]
        if ident in known_ids:
            text = f"is {ident!r}, which the yard has already; expected a new number: nothing is merged or replaced"
            reading.problems.append(row.problem("order", text))
        try:
            order = Order(**fields_of(row, ORDER_FIELDS))
            check_orders((order,), yard)
            orders.append(order)
        except InvalidField as error:
            reading.problems.append(_at(row, error))
    if not rows and not reading.problems:
        reading.problems.append(RowProblem(0, "", "has no orders; expected a row for each under the first row"))
    if reading.problems:
        in_order = sorted(reading.problems, key=lambda found: found.row)
        raise BadFile(path, tuple(replace(found, file="") for found in in_order))
    return tuple(orders)


def _at(row: Row, error: InvalidField) -> RowProblem:
    return row.problem(error.field, f"is {error.value!r}; expected {error.expected}")


def write_orders(path: Path, orders: tuple[Order, ...], tz: str) -> None:
    """Write orders as CSV that `read_orders` reads back equal, whole or not at all.

    It starts with a byte-order mark, by which spreadsheets know UTF-8, and no cell can act as a formula.
    """
    table = replace(yard_tables.ORDERS, about="")
    write_rows(path, table, order_rows(orders), zone(tz), mark=True)
