"""Keep capacity for a customer until a day, let go of it, and turn it into orders."""

import json
from dataclasses import replace
from datetime import date, datetime, timedelta

from yardplan.domain.errors import InvalidField, OutOfDate, require
from yardplan.domain.orders import Order
from yardplan.domain.quotes import Hold, Wish
from yardplan.domain.slots import local_midnight, zone
from yardplan.store.engine import Database, Session
from yardplan.store.promises import add_hold, end_hold, read_holds, read_quote
from yardplan.store.read import read_yard
from yardplan.store.write import add_orders
from yardplan.usecases.quoting import changed_since, today_of


def hold_quote(database: Database, number: int, *, customer: str, until_on: date, now: datetime, by: str) -> Hold:
    """Keep the capacity of a quote for a customer until the end of a local day.

    Seats take turns: of two that hold quotes for the same place, the second is refused, because its quote no longer
    rests on what there is.

    Raises
    ------
    OutOfDate
        If plan, orders, stock or holds are no longer those that the quote was made on.
    InvalidField
        If the day is over, or the quote has no date at its confidence.
    """
    with database.begin() as session:
        return _local(session, _held(session, number, customer=customer, until_on=until_on, now=now, by=by))


def _held(session: Session, number: int, *, customer: str, until_on: date, now: datetime, by: str) -> Hold:
    stored = read_quote(session, number)
    today = today_of(session, now)
    require(until_on >= today, "hold", str(number), "until", until_on.isoformat(), f"a date from today, {today}, on")
    reasons = changed_since(session, stored, now)
    if reasons:
        raise OutOfDate("quote", str(number), reasons)
    document = json.loads(stored.document)
    confidence = document["confidence"]
    ready = document[f"p{100 * confidence:.0f}"]["ready"]
    if ready is None:
        raise InvalidField("hold", str(number), "quote", "no date", "a quote that has one at its confidence")
    wishes = tuple(Wish(row["product"], row["color"], row["quantity"]) for row in document["wishes"])
    at = datetime.fromisoformat(ready)
    hold = Hold("", number, customer, wishes, until_on, at, confidence, now, by)
    return add_hold(session, hold, at=now)


def holds_of(database: Database, *, now: datetime) -> tuple[Hold, ...]:
    """Return the holds that stand now."""
    with database.begin_read() as session:
        return tuple(_local(session, hold) for hold in read_holds(session, today_of(session, now)))


def release_hold(database: Database, hold_id: str, *, now: datetime, by: str) -> Hold:
    """Let go of a hold before its date; raises `NotThere` if it does not stand."""
    with database.begin() as session:
        hold = end_hold(session, hold_id, by=by, at=now, on=today_of(session, now), why="released")
        return _local(session, hold)


def order_hold(database: Database, hold_id: str, *, customer: str = "", now: datetime, by: str) -> tuple[Order, ...]:
    """Turn a hold into promised orders, one for each product; they are named after it.

    Raises
    ------
    NotThere
        If no such hold stands.
    """
    with database.begin() as session:
        return _ordered(session, hold_id, customer=customer, now=now, by=by)


def order_quote(database: Database, number: int, *, customer: str, now: datetime, by: str) -> tuple[Order, ...]:
    """Turn a quote into promised orders at once: it is held and ordered, or neither; raises as `hold_quote`."""
    with database.begin() as session:
        hold = _held(session, number, customer=customer, until_on=today_of(session, now), now=now, by=by)
        return _ordered(session, hold.id, customer=customer, now=now, by=by)


def order_wish(database: Database, number: int, *, customer: str, now: datetime, by: str) -> tuple[Order, ...]:
    """Note what a quote asked as orders that are due on the wished day and promised to nobody.

    Raises
    ------
    InvalidField
        If no day was wished, or the wish was noted before.
    """
    with database.begin() as session:
        document = json.loads(read_quote(session, number).document)
        if document["wish_on"] is None:
            raise InvalidField("quote", str(number), "wish", "no day", "a quote with a wished day")
        leaves_on = date.fromisoformat(document["wish_on"]) - timedelta(days=document["lead_days"])
        due_at = local_midnight(leaves_on + timedelta(days=1), read_yard(session).site.tz)
        several = len(document["wishes"]) > 1
        orders = tuple(
            Order(
                id=f"W{number}-{ix}" if several else f"W{number}",
                customer=customer,
                product_id=row["product"],
                color=row["color"],
                quantity=row["quantity"],
                due_at=due_at,
                note=f"quote {number}",
            )
            for ix, row in enumerate(document["wishes"], 1)
        )
        return add_orders(session, orders, by=by, at=now)


def _ordered(session: Session, hold_id: str, *, customer: str, now: datetime, by: str) -> tuple[Order, ...]:
    hold = end_hold(session, hold_id, by=by, at=now, on=today_of(session, now), why="became an order")
    return add_orders(session, hold.orders(customer), by=by, at=now)


def _local(session: Session, hold: Hold) -> Hold:
    """Return a hold with its promise on the yard's clock."""
    return replace(hold, promise_at=hold.promise_at.astimezone(zone(read_yard(session).site.tz)))
