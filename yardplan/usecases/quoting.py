"""Tell sales when something could be ready."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from yardplan.domain.errors import require
from yardplan.domain.orders import Order
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.quotes import Dates, Finished, Quote, Wish
from yardplan.domain.slots import zone
from yardplan.domain.tables import SkyCooks
from yardplan.domain.yard import Yard
from yardplan.exchange.quote_document import quote_document
from yardplan.solve.quote import Book
from yardplan.solve.rush import rush
from yardplan.store.engine import Database, Session
from yardplan.store.promises import (
    StoredQuote,
    add_quote,
    quote_numbers,
    read_finished,
    read_holds,
    read_quote,
    state_of,
)
from yardplan.store.read import read_plan, read_yard
from yardplan.usecases.ahead import problem_ahead
from yardplan.usecases.logbook import plan_in_force
from yardplan.usecases.outlook import make_outlook
from yardplan.usecases.overruling import overrules_in_use
from yardplan.usecases.skies import stored_typical_year
from yardplan.usecases.weather import weather_in_use

LOOK_DAYS = 42
"""How far a quote looks; further where the wished date asks for it."""

FURTHEST_DAYS = 98
_STANDS_FOR = timedelta(minutes=30)
"""A book that was laid longer ago does not know that time went by."""
_PAST_WISH_DAYS = 14
_LONGEST_LEAD_DAYS = 365
_NEAR_DAYS = 7
_MOST_NEAR_DAYS = 16


@dataclass(frozen=True, eq=False)
class SalesBook:
    """The order book laid on the plan in use and the days ahead, at one moment."""

    book: Book
    problem: Problem
    plan_number: int | None
    outlook: str
    known_until: date
    state: str
    cooks: SkyCooks
    finished: tuple[Finished, ...]
    firm_since: tuple[tuple[Wish, ...], ...]
    """What was promised or held since the plan was made."""
    unplanned: tuple[Order, ...]
    """Orders that the plan does not know and that are promised to nobody."""


def sales_book(database: Database, *, now: datetime, days: int = LOOK_DAYS) -> SalesBook:
    """Lay the order book for quotes; takes seconds, after which quotes take a fraction of one.

    The plan in use is the one in force, else the newest one, unless its days are over. Orders that it does not know
    come after it: promised ones first, then holds, then the others.
    """
    with database.begin_read() as session:
        year = stored_typical_year(database, session)
        tz = read_yard(session).site.tz
        today = now.astimezone(zone(tz)).date()
        stored = _plan_in_use(session, now)
        state = state_of(session, stored.number if stored else None, today)
        holds, finished = read_holds(session, today), read_finished(session)
    plan_days = len(stored.outcome.plan.grid.days) if stored else _NEAR_DAYS
    first_on = stored.outcome.plan.grid.local(0).date() if stored else today
    forecast = weather_in_use(database, now=now)
    known_days = plan_days
    if forecast.reaches_to_at is not None:  # whole days only
        known_days = (forecast.reaches_to_at.astimezone(zone(tz)).date() - first_on).days
    near_days = max(plan_days, min(known_days, _MOST_NEAR_DAYS))
    confidence = stored.confidence if stored else None
    outlook = make_outlook(database, now=now, first_on=first_on, days=near_days, confidence=confidence)
    problem, cooks = problem_ahead(outlook, year, max(days + (today - first_on).days, near_days))
    plan = _on_grid(problem, stored)
    known, later = _known_orders(outlook.orders, stored)
    firm: list[tuple[Wish, ...]] = [(_wish(order),) for order in later if order.promise_at is not None]
    firm += [hold.wishes for hold in holds]
    since = [*firm, *((_wish(order),) for order in later if order.promise_at is None)]
    asked = replace(problem, orders=known)
    return SalesBook(
        Book(asked, plan, cooks, finished, since),
        asked,
        stored.number if stored else None,
        outlook_mark(database, now=now),
        first_on + timedelta(days=near_days - 1),
        state,
        cooks,
        finished,
        tuple(firm),
        tuple(order for order in later if order.promise_at is None),
    )


def _on_grid(problem: Problem, stored: StoredPlan | None) -> Plan:
    """Return the plan in use on the longer grid, without work of what the yard or the orders no longer have."""
    if stored is None:
        return Plan(problem.grid)
    plan = stored.outcome.plan
    products = {row.id for row in problem.yard.products}
    copies = set(problem.yard.mold_copies)
    places = {row.id for row in problem.yard.chambers}
    orders = {row.id for row in problem.orders}
    cycles = tuple(
        row
        for row in plan.cycles
        if row.product_id in products and row.mold in copies and row.chamber_id in places and row.order_id in orders
    )
    left = {row.id for row in cycles}
    benches, people = {row.id for row in problem.yard.benches}, {row.id for row in problem.yard.operators}
    changes = (row for row in plan.mold_changes if row.chamber_id in places and row.mold_in in copies)
    jobs = (
        row for row in plan.finishing if row.cycle_id in left and row.bench_id in benches and row.operator_id in people
    )
    return Plan(problem.grid, cycles, tuple(changes), tuple(jobs))


def _known_orders(orders: tuple[Order, ...], stored: StoredPlan | None) -> tuple[tuple[Order, ...], tuple[Order, ...]]:
    """Tell orders that a plan was made for from those that came after it."""
    if stored is None:
        return orders, ()
    outcome = stored.outcome
    names = {row.order_id for row in outcome.plan.cycles} | {row.order_id for row in outcome.blocked}
    return (
        tuple(row for row in orders if row.id in names),
        tuple(row for row in orders if row.id not in names),
    )


def _wish(order: Order) -> Wish:
    return Wish(order.product_id, order.color, order.quantity)


def check_wishes(yard: Yard, wishes: Sequence[Wish], *, wish_on: date | None, lead_days: int, today: date) -> None:
    """Raise `InvalidField` or `NotThere` where something is asked that no yard could answer."""
    require(len(wishes) > 0, "quote", "", "wishes", 0, "at least one product")
    require(0 <= lead_days <= _LONGEST_LEAD_DAYS, "quote", "", "lead_days", lead_days, "0 to 365 days")
    for wish in wishes:
        product = yard.product(wish.product_id)
        colors = sorted(item.color for item in yard.items if item.grade == product.resin_grade)
        expected = f"a color in which resin {product.resin_grade} is kept: {', '.join(colors)}"
        require(wish.color in colors, "quote", wish.product_id, "color", wish.color, expected)
    if wish_on is not None:
        latest = latest_wish_on(today)
        require(wish_on >= today, "quote", "", "wish", wish_on.isoformat(), f"a date from today, {today}, on")
        expected = f"a date up to {latest}; further ahead nothing but `yardplan season` is told"
        require(wish_on <= latest, "quote", "", "wish", wish_on.isoformat(), expected)


def latest_wish_on(today: date) -> date:
    """Return the last day that can be wished for; further ahead only whole months are told."""
    return today + timedelta(days=FURTHEST_DAYS - _PAST_WISH_DAYS)


def sales_yard(database: Database) -> Yard:
    """Return the yard; raises `NotThere` where there is none, or no weather to quote on."""
    with database.begin_read() as session:
        stored_typical_year(database, session)
        return read_yard(session)


def make_quote(
    database: Database,
    wishes: Sequence[Wish],
    *,
    wish_on: date | None = None,
    lead_days: int = 0,
    now: datetime,
    by: str,
    laid: SalesBook | None = None,
) -> dict[str, Any]:
    """Tell when wishes could be ready, keep what was told, and return it as a document.

    Parameters
    ----------
    laid : SalesBook or None
        The book as it is, where it was laid before; see `book_in_hand`.

    Raises
    ------
    InvalidField, NotThere
        If a product or color is unknown, a number or a date cannot be.
    """
    yard = sales_yard(database)
    today = now.astimezone(zone(yard.site.tz)).date()
    check_wishes(yard, wishes, wish_on=wish_on, lead_days=lead_days, today=today)
    if laid is None:
        laid = sales_book(database, now=now, days=_look_days(wish_on, today))
    quote = _quote(laid, wishes, wish_on, lead_days, now, laid.book.dates(wishes, wish_on=wish_on, lead_days=lead_days))
    with database.begin() as session:
        # The number is known first when it is kept, and belongs in the document.
        told = StoredQuote(0, now, by, quote.plan_number, quote.outlook, quote.state, "")
        number = add_quote(session, told, lambda number: json.dumps(quote_document(quote, number))).number
    return quote_document(quote, number)


def quote_unkept(
    laid: SalesBook,
    wishes: Sequence[Wish],
    *,
    wish_on: date | None = None,
    lead_days: int = 0,
    now: datetime,
    may_move: bool = False,
) -> dict[str, Any]:
    """Tell when wishes could be ready without keeping that, as a document without a number; needs no database.

    Parameters
    ----------
    may_move : bool
        Let work that is promised to nobody and not locked give way, and tell who would move. To make it so takes a new
        plan.

    Raises
    ------
    InvalidField, NotThere
        As `make_quote`.
    """
    today = now.astimezone(laid.problem.grid.zone).date()
    check_wishes(laid.problem.yard, wishes, wish_on=wish_on, lead_days=lead_days, today=today)
    if not may_move:
        dates = laid.book.dates(wishes, wish_on=wish_on, lead_days=lead_days)
        return quote_document(_quote(laid, wishes, wish_on, lead_days, now, dates), None)
    problem = replace(laid.problem, orders=laid.problem.orders + laid.unplanned)
    dates, moves = rush(
        problem, laid.book.plan, laid.cooks, wishes, finished=laid.finished, since=laid.firm_since, wish_on=wish_on,
        lead_days=lead_days,
    )  # fmt: skip
    quote = replace(_quote(laid, wishes, wish_on, lead_days, now, dates), moves=moves)
    return quote_document(quote, None)


def _quote(
    laid: SalesBook, wishes: Sequence[Wish], wish_on: date | None, lead_days: int, now: datetime, dates: Dates
) -> Quote:
    problem = laid.problem
    return Quote(
        wishes=tuple(wishes),
        wish_on=wish_on,
        lead_days=lead_days,
        confidence=problem.confidence,
        plan_number=laid.plan_number,
        made_at=now.astimezone(problem.grid.zone),
        outlook=laid.outlook,
        known_until=laid.known_until,
        looked_until=problem.grid.days[-1][0],
        tz=problem.grid.tz,
        dates=dates,
        state=laid.state,
    )


def _look_days(wish_on: date | None, today: date) -> int:
    return max(LOOK_DAYS, (wish_on - today).days + _PAST_WISH_DAYS) if wish_on else LOOK_DAYS


def book_in_hand(
    database: Database, laid: SalesBook | None, *, wish_on: date | None = None, now: datetime
) -> SalesBook:
    """Return the book that was laid before if it still stands and reaches far enough, else a new one."""
    with database.begin_read() as session:
        today, (_, state) = today_of(session, now), _standing(session, now)
    if laid is not None and laid.state == state and laid.outlook == outlook_mark(database, now=now):
        grid = laid.problem.grid
        reaches = (grid.days[-1][0] - today).days + 1 >= _look_days(wish_on, today)
        if reaches and abs(now - laid.problem.now) <= _STANDS_FOR:
            return laid
    return sales_book(database, now=now, days=_look_days(wish_on, today))


def told_quote(database: Database, number: int, *, now: datetime) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Return a quote as it was told, and what has changed since; nothing if it still stands."""
    with database.begin_read() as session:
        stored, standing = read_quote(session, number), _standing(session, now)
    return _told(stored, standing, outlook_mark(database, now=now))


def recent_quotes(
    database: Database, *, now: datetime, count: int
) -> tuple[tuple[dict[str, Any], tuple[str, ...]], ...]:
    """Return the last quotes as they were told, the newest first, each with what has changed since."""
    with database.begin_read() as session:
        numbers = quote_numbers(session)[-count:]
        found, standing = [read_quote(session, number) for number in reversed(numbers)], _standing(session, now)
    mark = outlook_mark(database, now=now)
    return tuple(_told(stored, standing, mark) for stored in found)


def _told(stored: StoredQuote, standing: tuple[int | None, str], mark: str) -> tuple[dict[str, Any], tuple[str, ...]]:
    reasons = _changed(stored, *standing)
    if stored.outlook != mark:
        reasons = (*reasons, f"the outlook was {stored.outlook}, it is {mark} now")
    document: dict[str, Any] = json.loads(stored.document)
    return document, reasons


def outlook_mark(database: Database, *, now: datetime) -> str:
    """Return what the outlook rests on, in words: forecast and when it was issued, what was set by hand."""
    weather = weather_in_use(database, now=now)
    said = [rule.text for rule in overrules_in_use(database, now=now)]
    issued = f", issued {weather.issued_at.isoformat(timespec='minutes')}" if weather.issued_at else ""
    return f"{weather.source}{issued}" + "".join(f'; by hand "{text}"' for text in said)


def changed_since(session: Session, stored: StoredQuote, now: datetime) -> tuple[str, ...]:
    """Return why a quote no longer rests on what there is, in words; nothing where it does."""
    return _changed(stored, *_standing(session, now))


def _standing(session: Session, now: datetime) -> tuple[int | None, str]:
    """Return the number of the plan in use, and the mark of what quotes on it rest on."""
    plan = _plan_in_use(session, now)
    number = plan.number if plan else None
    return number, state_of(session, number, today_of(session, now))


def _changed(stored: StoredQuote, plan_number: int | None, state: str) -> tuple[str, ...]:
    if plan_number != stored.plan_number:
        return (f"based on {_plan_name(stored.plan_number)}, now {_plan_name(plan_number)}",)
    return ("orders, stock, yard or holds have changed since",) if stored.state != state else ()


def _plan_name(number: int | None) -> str:
    return f"plan {number}" if number else "no plan"


def _plan_in_use(session: Session, now: datetime) -> StoredPlan | None:
    """Return the plan in force, else the newest; None where there is none or its days are over."""
    stored = plan_in_force(session) or read_plan(session)
    return stored if stored and stored.outcome.plan.grid.end_at > now else None


def today_of(session: Session, now: datetime) -> date:
    """Return the yard's local day."""
    return now.astimezone(zone(read_yard(session).site.tz)).date()


def quoted_again(
    database: Database, number: int, *, now: datetime, by: str, laid: SalesBook | None = None
) -> dict[str, Any]:
    """Ask once more what a quote asked, as things are now; the day wished is left out where it is over."""
    with database.begin_read() as session:
        document = json.loads(read_quote(session, number).document)
        today = today_of(session, now)
    wish_on = date.fromisoformat(document["wish_on"]) if document["wish_on"] else None
    return make_quote(
        database,
        [Wish(row["product"], row["color"], row["quantity"]) for row in document["wishes"]],
        wish_on=wish_on if wish_on and wish_on >= today else None,
        lead_days=document["lead_days"],
        now=now,
        by=by,
        laid=laid,
    )


def wish_of(database: Database, product_id: str, quantity: str, color: str) -> Wish:
    """Return a wish from words; where the product's resin is kept in one color only, that one is meant.

    Raises
    ------
    InvalidField
        If the quantity is no whole number from 1 to 100,000, or a color has to be told.
    NotThere
        If there is no such product.
    """
    yard = sales_yard(database)
    product = yard.product(product_id)
    expected = "a whole number of pieces from 1 to 100,000"
    require(quantity.isdecimal(), "quote", product_id, "quantity", quantity, expected)
    if not color:
        colors = sorted(item.color for item in yard.items if item.grade == product.resin_grade)
        require(len(colors) == 1, "quote", product_id, "color", color, f"--color, one of {', '.join(colors)}")
        color = colors[0]
    return Wish(product_id, color, int(quantity))
