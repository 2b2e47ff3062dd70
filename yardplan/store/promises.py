"""Quotes as they were told, holds, and finished pieces in stock."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from hashlib import blake2b

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from yardplan.domain.errors import NotThere
from yardplan.domain.quotes import Finished, Hold, Wish
from yardplan.store import tables as t
from yardplan.store.columns import columns_of, value_of
from yardplan.store.read import read_orders, read_yard_version
from yardplan.store.write import insert_rows, record


@dataclass(frozen=True)
class StoredQuote:
    """A quote as it was told.

    Attributes
    ----------
    plan_number : int or None
        The plan that it was made on; `outlook` the weather behind it, in words.
    state : str
        See `state_of`.
    document : str
        The quote as a JSON document.
    """

    number: int
    made_at: datetime
    made_by: str
    plan_number: int | None
    outlook: str
    state: str
    document: str


def state_of(session: Session, plan_number: int | None, on: date) -> str:
    """Return a mark of all that a quote on a plan rests on beside the weather: yard, orders, stock, the day's holds."""
    orders = [(order.id, order.row_version) for order in read_orders(session)]
    holds = [hold.id for hold in read_holds(session, on)]
    seen = (plan_number, read_yard_version(session), orders, holds, read_finished(session))
    return blake2b(repr(seen).encode(), digest_size=16).hexdigest()


def add_quote(session: Session, quote: StoredQuote, document: Callable[[int], str]) -> StoredQuote:
    """Keep a quote under the next number, with the document that names it; returns it with both."""
    number = (session.scalar(select(func.max(t.QuoteRow.number))) or 0) + 1
    stored = replace(quote, number=number, document=document(number))
    insert_rows(session, t.QuoteRow, [columns_of(t.QuoteRow, stored)])
    record(session, quote.made_by, quote.made_at, f"quote {number} made")
    return stored


def quote_numbers(session: Session) -> list[int]:
    """Return the numbers of all quotes, rising."""
    return list(session.scalars(select(t.QuoteRow.number).order_by(t.QuoteRow.number)))


def read_quote(session: Session, number: int) -> StoredQuote:
    """Return a quote by its number; raises `NotThere` if there is none such."""
    row = session.get(t.QuoteRow, number)
    if row is None:
        newest = session.scalar(select(func.max(t.QuoteRow.number)))
        raise NotThere("quote", str(number), f"the newest is {newest}" if newest else "none was made yet")
    return value_of(StoredQuote, row)


def add_hold(session: Session, hold: Hold, *, at: datetime) -> Hold:
    """Keep a hold under the name of its quote; returns it with that."""
    entry = (session.scalar(select(func.max(t.HoldRow.entry))) or 0) + 1
    stored = replace(hold, id=f"K{hold.quote_number}")
    insert_rows(session, t.HoldRow, [columns_of(t.HoldRow, stored, entry=entry)])
    wishes = [columns_of(t.HoldWishRow, wish, hold_id=stored.id, position=ix) for ix, wish in enumerate(hold.wishes)]
    insert_rows(session, t.HoldWishRow, wishes)
    record(session, hold.made_by, at, f"hold {stored.id} for {hold.customer} until {hold.until_on}")
    return stored


def read_holds(session: Session, on: date) -> tuple[Hold, ...]:
    """Return the holds that stand on a local day, in the order in which they were made; others have expired."""
    rows = session.scalars(select(t.HoldRow).where(t.HoldRow.until_on >= on).order_by(t.HoldRow.entry)).all()
    wishes: dict[str, list[Wish]] = {row.id: [] for row in rows}
    for wish in session.scalars(select(t.HoldWishRow).order_by(t.HoldWishRow.hold_id, t.HoldWishRow.position)):
        if wish.hold_id in wishes:
            wishes[wish.hold_id].append(value_of(Wish, wish))
    return tuple(value_of(Hold, row, wishes=tuple(wishes[row.id])) for row in rows)


def end_hold(session: Session, hold_id: str, *, by: str, at: datetime, on: date, why: str) -> Hold:
    """Take a hold away; returns what it was. Raises `NotThere` if none of that name stands on the local day `on`."""
    standing = {hold.id: hold for hold in read_holds(session, on)}
    if hold_id not in standing:
        known = ", ".join(standing) or "none"
        raise NotThere("hold", hold_id, f"it may have expired or become an order; standing are {known}")
    session.execute(delete(t.HoldWishRow).where(t.HoldWishRow.hold_id == hold_id))
    session.execute(delete(t.HoldRow).where(t.HoldRow.id == hold_id))
    record(session, by, at, f"hold {hold_id} {why}")
    return standing[hold_id]


def read_finished(session: Session) -> tuple[Finished, ...]:
    """Return the finished pieces in stock that no order takes."""
    rows = session.scalars(select(t.FinishedRow).order_by(t.FinishedRow.product_id, t.FinishedRow.color))
    return tuple(value_of(Finished, row) for row in rows)


def write_finished(session: Session, rows: Sequence[Finished], *, by: str, at: datetime) -> None:
    """Replace the count of finished pieces in stock."""
    session.execute(delete(t.FinishedRow))
    insert_rows(session, t.FinishedRow, [columns_of(t.FinishedRow, row) for row in rows])
    record(session, by, at, f"finished stock counted: {sum(row.free for row in rows)} free pieces")
