"""What a customer could be told: when so many pieces can be ready, how sure that is, and what stands in the way."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from yardplan.domain.errors import require
from yardplan.domain.orders import Order


@dataclass(frozen=True)
class Wish:
    """So many pieces of one product in one color, as a customer might order them."""

    product_id: str
    color: str
    quantity: int

    def __post_init__(self) -> None:
        whole = isinstance(self.quantity, int) and not isinstance(self.quantity, bool)
        require(
            whole and 1 <= self.quantity <= 100_000,
            "quote",
            self.product_id,
            "quantity",
            self.quantity,
            "a whole number of pieces from 1 to 100,000",
        )


class Limit(StrEnum):
    """What keeps a date from being earlier."""

    SUN = "sun"
    """Fields and chambers: one more unit would bring it forward."""
    MOLD = "mold"
    """Physical molds: one more copy would bring it forward."""
    CREW = "crew"
    """People for handling and mold changes."""
    FINISHING = "finishing"
    """Benches, people at them, and electricity for them."""
    RESIN = "resin"
    """Resin or inserts."""
    TIME = "time"
    """Nothing is short: cooking, cooling, rest and finishing take so long."""
    SEVERAL = "several"
    """No single one of these; only more of several together would bring it forward."""


@dataclass(frozen=True)
class Ready:
    """Pieces that are ready at an instant."""

    at: datetime
    pieces: int


@dataclass(frozen=True)
class Earliest:
    """When all that is wished is ready at one confidence.

    Attributes
    ----------
    ready_at : datetime or None
        When the last piece is through finishing; None where that is not within the days looked at.
    deliveries : tuple of Ready
        How many pieces more are ready when, in order of time, up to the number wished.
    by_wish : int or None
        Pieces that can be with the customer on the wished date; None where none was given.
    chance_frac : float or None
        Share of the skies in which all is ready by then: at least the confidence, and more where many of them end
        alike, as they do when a shift, not the sun, says when the last piece is ready. None where there is no date.
    """

    confidence: float
    ready_at: datetime | None
    deliveries: tuple[Ready, ...]
    by_wish: int | None
    chance_frac: float | None = None

    @property
    def pieces(self) -> int:
        """Pieces that are ready within the days looked at, of those wished."""
        return sum(row.pieces for row in self.deliveries)


@dataclass(frozen=True)
class Help:
    """What would bring the date forward, tried out.

    Attributes
    ----------
    limit : Limit
        What there would be more of.
    what : str
        In words, such as ``a second copy of mold M03``.
    ready_at : datetime
        When all would be ready then, at the planning confidence.
    """

    limit: Limit
    what: str
    ready_at: datetime


@dataclass(frozen=True)
class ToBuy:
    """What has to be ordered at once for a quote, and when it is here.

    Attributes
    ----------
    amount : float
        Resin [kg] or inserts [pieces].
    kept_instead : tuple of str
        Other grades of the same color that are on hand and do not serve, by name.
    """

    item_id: str
    name: str
    amount: float
    is_resin: bool
    lead_days: int
    arrives_at: datetime
    kept_instead: tuple[str, ...] = ()


@dataclass(frozen=True)
class Moved:
    """An order that is promised to nobody and gives way to new work.

    Attributes
    ----------
    was_at, ready_at : datetime or None
        When it is ready by the plan, and when it would be; None where it is not within the days looked at.
    """

    order_id: str
    customer: str
    was_at: datetime | None
    ready_at: datetime | None


@dataclass(frozen=True)
class Dates:
    """When wishes can be ready, and what stands in the way.

    Attributes
    ----------
    earliest : tuple of Earliest
        At each confidence, rising.
    from_stock : tuple of int
        For each wish, pieces that lie finished and are nobody's.
    limited_by : Limit
        What keeps the date at the planning confidence from being earlier.
    limit_detail : str
        Its name or figures, in words.
    helps : tuple of Help
        At most three, the best first.
    twentieths : tuple of datetime
        Twenty equally likely instants at which all is ready, rising; as many of them as lie within the days looked at.
    to_buy : tuple of ToBuy
        What is neither on hand nor coming: the dates count on it being ordered at once.
    """

    earliest: tuple[Earliest, ...]
    from_stock: tuple[int, ...]
    limited_by: Limit
    limit_detail: str
    helps: tuple[Help, ...]
    twentieths: tuple[datetime, ...] = ()
    to_buy: tuple[ToBuy, ...] = ()

    def at(self, confidence: float) -> Earliest:
        """Return what is told at a confidence."""
        return next(row for row in self.earliest if abs(row.confidence - confidence) < 1e-9)


@dataclass(frozen=True)
class Quote:
    """The answer to sales: dates at rising confidences on one plan and one outlook.

    Attributes
    ----------
    wishes : tuple of Wish
        What was asked for.
    wish_on : date or None
        When the customer would like to have it.
    lead_days : int
        Days from the yard to the customer.
    confidence : float
        Planning confidence: the one that limits and helps are told at.
    plan_number : int or None
        The plan in whose free places the work would go; None where there is none.
    made_at : datetime
        When, on the yard's clock.
    outlook : str
        The weather behind it, in words.
    known_until, looked_until : date
        Last day with its own outlook; last day that was looked at. Between them a typical year stands in.
    state : str
        Mark of the orders, plan, stock and holds that it rests on: equal marks mean that nothing has changed.
    moves : tuple of Moved or None
        Who gives way, where work that is promised to nobody may; None where nothing may move.
    """

    wishes: tuple[Wish, ...]
    wish_on: date | None
    lead_days: int
    confidence: float
    plan_number: int | None
    made_at: datetime
    outlook: str
    known_until: date
    looked_until: date
    tz: str
    dates: Dates
    state: str = ""
    moves: tuple[Moved, ...] | None = None


@dataclass(frozen=True)
class Hold:
    """Capacity that is kept for a customer until a date, then free again by itself.

    Attributes
    ----------
    quote_number : int
        The quote that it comes from, which knows its plan and outlook.
    until_on : date
        Last local day on which it holds.
    promise_at : datetime
        When all would be ready at `confidence`: what an order made of it is promised for.
    """

    id: str
    quote_number: int
    customer: str
    wishes: tuple[Wish, ...]
    until_on: date
    promise_at: datetime
    confidence: float
    made_at: datetime
    made_by: str

    def orders(self, customer: str = "") -> tuple[Order, ...]:
        """Return the promised orders that it would become, one for each wish, named after it."""
        several = len(self.wishes) > 1
        return tuple(
            Order(
                id=f"{self.id}-{ix}" if several else self.id,
                customer=customer or self.customer,
                product_id=wish.product_id,
                color=wish.color,
                quantity=wish.quantity,
                due_at=self.promise_at,
                promise_at=self.promise_at,
                note=f"quote {self.quote_number}",
            )
            for ix, wish in enumerate(self.wishes, 1)
        )


@dataclass(frozen=True)
class Finished:
    """Finished pieces in stock: those that are nobody's, and those that wait for a quality hold to be cleared."""

    product_id: str
    color: str
    free: int
    on_hold: int = 0

    def __post_init__(self) -> None:
        for field in ("free", "on_hold"):
            value = getattr(self, field)
            require(0 <= value <= 1_000_000, "finished stock", self.product_id, field, value, "0 to 1,000,000 pieces")


def delivered_on(ready_at: datetime, lead_days: int) -> date:
    """Return the local day on which goods that are ready at a local instant are with the customer."""
    return ready_at.date() + timedelta(days=lead_days)
