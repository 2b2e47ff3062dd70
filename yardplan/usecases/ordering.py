"""Edit the order book: change, add and take out orders, take in a file of them; each edit can be taken back."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from yardplan.domain.errors import NotThere
from yardplan.domain.order_changes import Double, OrderChange, changes_of, doubles
from yardplan.domain.orders import Order
from yardplan.domain.yard import Yard
from yardplan.exchange.order_files import FoundOrders, edited, find_orders
from yardplan.store.engine import Database
from yardplan.store.read import has_yard, read_orders, read_yard
from yardplan.store.write import add_orders, delete_orders, update_order


@dataclass(frozen=True, eq=False)
class OrderPreview:
    """What a file of orders would bring; nothing is changed.

    Attributes
    ----------
    known : dict of str to Order
        The order book by number, as of the reading.
    doubles : dict of str to list of Order
        Orders of the file whose number is there already or comes more than once, by number.
    """

    path: Path
    yard: Yard
    known: dict[str, Order]
    found: FoundOrders
    doubles: dict[str, list[Order]]

    def changes(
        self, choices: Mapping[str, Double], left_out: Collection[str] = frozenset()
    ) -> tuple[OrderChange, ...]:
        """Return what taking in the good rows changes, but for some numbers; see `changes_of`."""
        return changes_of(self.known, [order for _, order in self.found.rows if order.id not in left_out], choices)


def open_orders(database: Database) -> tuple[Order, ...]:
    """Return the order book."""
    with database.begin_read() as session:
        return read_orders(session)


def preview_orders(database: Database, path: Path) -> OrderPreview:
    """Read a file of orders and say what it would bring.

    Raises
    ------
    NotThere
        If there is no yard yet.
    """
    with database.begin_read() as session:
        if not has_yard(session):
            raise NotThere("yard", database.url, "orders need one: bring it in with `yardplan import yard` first")
        yard, orders = read_yard(session), read_orders(session)
    known, found = {order.id: order for order in orders}, find_orders(path, yard)
    return OrderPreview(path, yard, known, found, doubles(known, [order for _, order in found.rows]))


def change_orders(
    database: Database, changes: Sequence[OrderChange], *, by: str, now: datetime
) -> tuple[OrderChange, ...]:
    """Make changes, all or none; returns them as they were made, ready to be taken back.

    Raises
    ------
    ChangedElsewhere
        If an order is no longer as it was when it was read.
    InvalidField
        If a number is taken, or an order is for something that the yard does not make.
    """
    made: dict[int, OrderChange] = {}
    fresh, gone = list[tuple[int, Order]](), list[Order]()
    with database.begin() as session:
        for ix, change in enumerate(changes):
            if change.before is None and change.after is not None:
                fresh.append((ix, change.after))
            elif change.after is None and change.before is not None:
                gone.append(change.before)
                made[ix] = change
            elif change.before is not None and change.after is not None:
                wanted = replace(change.after, row_version=change.before.row_version)
                made[ix] = OrderChange(change.before, update_order(session, wanted, by=by, at=now))
        if gone:
            delete_orders(session, gone, by=by, at=now)
        if fresh:
            added = add_orders(session, [order for _, order in fresh], by=by, at=now)
            made.update({ix: OrderChange(None, order) for (ix, _), order in zip(fresh, added, strict=True)})
    return tuple(made[ix] for ix in sorted(made))


def set_order(
    database: Database, order_id: str, cells: Mapping[str, str] | None, *, is_new: bool = False, by: str, now: datetime
) -> OrderChange:
    """Change one order by values told as in a file of orders, add it, or take it out; returns what was made.

    Parameters
    ----------
    cells : mapping of str to str, or None
        Values by column; None takes the order out.

    Raises
    ------
    NotThere
        If there is no yard, or no order of that number to be changed.
    InvalidField
        If a value cannot be, or the number of a new order is taken.
    """
    with database.begin_read() as session:
        if not has_yard(session):
            raise NotThere("yard", database.url, "bring one in with `yardplan import yard` first")
        yard, orders = read_yard(session), {order.id: order for order in read_orders(session)}
    if not is_new and order_id not in orders:
        raise NotThere("open order", order_id, f"known are {', '.join(orders) or 'none'}")
    before = None if is_new else orders[order_id]
    after = None if cells is None else edited(order_id, cells, yard, before)
    return change_orders(database, (OrderChange(before, after),), by=by, now=now)[0]
