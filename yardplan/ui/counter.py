"""Carries out what is pressed on the Quote page, on a thread of its own."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial
from typing import Any

from PySide6.QtCore import QObject, Signal

from yardplan.domain.errors import DatabaseUnreadable, ExpectedError, NotThere, OutOfDate
from yardplan.domain.orders import Order
from yardplan.domain.quotes import Hold, Wish
from yardplan.domain.slots import zone
from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.ui.dates import long_day_text
from yardplan.ui.jobs import person
from yardplan.ui.quote import QuotePage, Sales, Told
from yardplan.ui.quote_words import QuoteWords
from yardplan.ui.trouble import what_first
from yardplan.usecases.access import write_trouble
from yardplan.usecases.clock import yard_now
from yardplan.usecases.holding import hold_quote, holds_of, order_hold, order_quote, order_wish, release_hold
from yardplan.usecases.quoting import (
    SalesBook,
    book_in_hand,
    latest_wish_on,
    make_quote,
    quote_unkept,
    quoted_again,
    recent_quotes,
    sales_yard,
)

RECENT = 30


class Shelf:
    """Keeps the order book that was laid last; only the counter's thread looks at it."""

    def __init__(self) -> None:
        self.laid: SalesBook | None = None

    def book(self, database: Database, wish_on: date | None = None) -> SalesBook:
        """Return the book, laid anew where it does not stand any more; the old one is let go of first."""
        now, laid = yard_now(database), self.laid
        self.laid = None
        self.laid = book_in_hand(database, laid, wish_on=wish_on, now=now)
        return self.laid


class Counter(QObject):
    """Between the Quote page and the order book.

    Signals
    -------
    failed(object)
        An exception that the page has no place for.
    ordered()
        Orders came in.
    """

    failed = Signal(object)
    ordered = Signal()

    def __init__(self, database: Database, page: QuotePage, parent: QObject) -> None:
        super().__init__(parent)
        self._database, self._page, self._shelf = database, page, Shelf()
        self._asked: dict[int, Callable[[object], None]] = {}
        self._number, self._why = 0, ""
        self._sales: Sales | None = None
        self.background = Background(self)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        page.shown.connect(self.read_again)
        page.asked.connect(self._quote)
        page.again.connect(self._again)
        page.hold_wanted.connect(self._hold)
        page.order_wanted.connect(self._order)
        page.wish_wanted.connect(self._note_wish)
        page.released.connect(self._release)
        page.hold_ordered.connect(self._order_hold)

    def read_again(self) -> None:
        """Look at holds and quotes again where the page is shown, and lay the book before somebody asks."""
        if self._page.isVisible() and not self._asked:
            self._ask(partial(_read, self._database), self._show)
            self._lay()

    def close(self) -> None:
        """Wait until all is kept."""
        self.background.close()

    @property
    def busy(self) -> bool:
        """Whether something is being done or waits to be."""
        return bool(self._asked)

    # Jobs

    def _ask(self, work: Callable[[Tell], object], then: Callable[[object], None]) -> None:
        self._asked[self.background.run(work)] = then

    def _press(self, work: Callable[[Tell], object], then: Callable[[object], None], news: str) -> None:
        self._page.set_idle(False)
        self._page.show_news(news)
        self._ask(work, then)

    def _done(self, request: int, result: object) -> None:
        then = self._asked.pop(request, None)
        if then is not None:
            then(result)

    def _failed(self, request: int, error: object) -> None:
        self._asked.pop(request, None)
        self._page.set_idle(True)
        if isinstance(error, OutOfDate):
            self._why = self.tr("Not kept: {why}. These are the dates as things are now.").format(
                why="; ".join(error.reasons)
            )
            self._again(self._number)
        elif isinstance(error, NotThere) and error.thing in ("yard", "weather"):
            self._page.show_message(what_first(error))
        elif isinstance(error, ExpectedError):
            self._page.show_news(str(error))
            if not isinstance(error, DatabaseUnreadable):
                self._ask(partial(_read, self._database), self._show)
        else:
            self._page.show_news("")
            self.failed.emit(error)

    def _lay(self) -> None:
        """Lay the book in advance: takes seconds, after which a quote takes a fraction of one."""
        self._ask(partial(_lay, self._database, self._shelf), self._show)

    def _show(self, sales: object) -> None:
        if isinstance(sales, Sales):
            self._sales = sales
            self._page.show_sales(sales)
            self._page.set_idle(True)

    # What is pressed

    def _quote(self, wishes: tuple[Wish, ...], wish_on: date | None, lead_days: int, may_move: bool) -> None:
        asked = Asked(wishes, wish_on, lead_days, may_move)
        work = partial(_quote, self._database, self._shelf, asked, self._sales)
        self._press(work, self._show_quote, self.tr("Looking for the earliest dates ..."))

    def _again(self, number: int) -> None:
        work = partial(_again, self._database, self._shelf, number)
        self._press(work, self._show_quote, self.tr("Looking for the earliest dates ..."))

    def _show_quote(self, found: object) -> None:
        if isinstance(found, Done) and found.told is not None:
            self._show(found.sales)
            self._page.show_quote(found.told)
            self._page.show_news(self._why)
            self._why = ""

    def _hold(self, number: int, customer: str, until_on: date) -> None:
        self._number = number
        work = partial(_hold, self._database, number, customer, until_on)
        self._press(work, self._show_done, self.tr("Keeping it ..."))

    def _release(self, hold_id: str) -> None:
        self._press(partial(_release, self._database, hold_id), self._show_done, self.tr("Letting go ..."))

    def _order(self, number: int, customer: str) -> None:
        self._number = number
        work = partial(_order, self._database, number, customer)
        self._press(work, self._show_done, self.tr("Ordering ..."))

    def _note_wish(self, number: int, customer: str) -> None:
        work = partial(_note_wish, self._database, number, customer)
        self._press(work, self._show_done, self.tr("Ordering ..."))

    def _order_hold(self, hold_id: str) -> None:
        self._press(partial(_order_hold, self._database, hold_id), self._show_done, self.tr("Ordering ..."))

    def _show_done(self, done: object) -> None:
        if not isinstance(done, Done):
            return
        self._show(done.sales)
        names = ", ".join(order.id for order in done.orders)
        if done.orders:
            is_promised = done.orders[0].promise_at is not None
            promised = self.tr("In the order book as {names}, promised for {day}.")
            wished = self.tr("In the order book as {names}, wished for {day} and not promised.")
            # Midnight ends the day before it.
            last = (done.orders[0].goal_at - timedelta(seconds=1)).astimezone(zone(done.sales.yard.site.tz))
            told = (promised if is_promised else wished).format(names=names, day=long_day_text(last))
        elif done.kept is not None:
            words = QuoteWords(done.sales.yard)
            told = self.tr("Kept: {hold}.") if done.kept in done.sales.holds else self.tr("Let go of {hold}.")
            told = told.format(hold=words.hold(done.kept))
        else:
            told = ""
        self._page.show_news(told)
        if done.orders:
            self.ordered.emit()
        self._lay()


@dataclass(frozen=True)
class Asked:
    """What is in the form."""

    wishes: tuple[Wish, ...]
    wish_on: date | None
    lead_days: int
    may_move: bool


@dataclass(frozen=True, eq=False)
class Done:
    """What sales look at after something was done, and what that was."""

    sales: Sales
    told: Told | None = None
    kept: Hold | None = None
    orders: tuple[Order, ...] = ()


def _read(database: Database, _tell: Tell) -> Sales:
    now = yard_now(database)
    yard = sales_yard(database)
    today = now.astimezone(zone(yard.site.tz)).date()
    quotes = tuple(Told(*one) for one in recent_quotes(database, now=now, count=RECENT))
    return Sales(yard, today, latest_wish_on(today), holds_of(database, now=now), quotes)


def _lay(database: Database, shelf: Shelf, _tell: Tell) -> None:
    shelf.book(database)


def _quote(database: Database, shelf: Shelf, asked: Asked, sales: Sales | None, tell: Tell) -> Done:
    """Quote and keep it; where nothing can be kept, quote from the book that was laid last."""
    last, wish_on, lead_days = shelf.laid, asked.wish_on, asked.lead_days
    try:
        if write_trouble(database):
            raise DatabaseUnreadable(database.url, "")
        now, laid = yard_now(database), shelf.book(database, wish_on)
        if asked.may_move:
            return Done(_read(database, tell), Told(_unkept(laid, asked, now)))
        document = make_quote(
            database, asked.wishes, wish_on=wish_on, lead_days=lead_days, now=now, by=person(), laid=laid
        )
        return Done(_read(database, tell), Told(document))
    except DatabaseUnreadable:
        if last is None or sales is None:
            raise
        shelf.laid = last
        return Done(sales, Told(_unkept(last, asked, last.problem.now)))


def _unkept(laid: SalesBook, asked: Asked, now: datetime) -> dict[str, Any]:
    return quote_unkept(
        laid, asked.wishes, wish_on=asked.wish_on, lead_days=asked.lead_days, now=now, may_move=asked.may_move
    )


def _again(database: Database, shelf: Shelf, number: int, tell: Tell) -> Done:
    now, laid = yard_now(database), shelf.book(database)
    document = quoted_again(database, number, now=now, by=person(), laid=laid)
    return Done(_read(database, tell), Told(document))


def _hold(database: Database, number: int, customer: str, until_on: date, tell: Tell) -> Done:
    kept = hold_quote(database, number, customer=customer, until_on=until_on, now=yard_now(database), by=person())
    return Done(_read(database, tell), kept=kept)


def _release(database: Database, hold_id: str, tell: Tell) -> Done:
    kept = release_hold(database, hold_id, now=yard_now(database), by=person())
    return Done(_read(database, tell), kept=kept)


def _order(database: Database, number: int, customer: str, tell: Tell) -> Done:
    orders = order_quote(database, number, customer=customer, now=yard_now(database), by=person())
    return Done(_read(database, tell), orders=orders)


def _note_wish(database: Database, number: int, customer: str, tell: Tell) -> Done:
    orders = order_wish(database, number, customer=customer, now=yard_now(database), by=person())
    return Done(_read(database, tell), orders=orders)


def _order_hold(database: Database, hold_id: str, tell: Tell) -> Done:
    orders = order_hold(database, hold_id, now=yard_now(database), by=person())
    return Done(_read(database, tell), orders=orders)
