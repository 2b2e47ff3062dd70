"""Why an order is late or an hour is empty: what stands in the way, and what would help."""

from dataclasses import dataclass
from enum import StrEnum

from yardplan.domain.plan import OrderResult
from yardplan.domain.what_if import AnyChange


class Limit(StrEnum):
    """What can stand in the way of work."""

    SUN = "sun"
    """No start reaches PIAT then."""
    CHAMBER = "chamber"
    """Other work is in the chamber."""
    BEAM = "beam"
    """The unit's mirrors heat another chamber."""
    MOLD = "mold"
    """All copies of its molds hang or run elsewhere."""
    MOLD_CHANGE = "mold_change"
    """Nobody, or no loader, is free to hang the mold."""
    HANDLING = "handling"
    """Nobody is free to charge."""
    STOCK = "stock"
    """Resin or inserts are used up, or not there yet."""
    SHIFT = "shift"
    """Nobody who can do it is on shift."""
    FINISHERS = "finishers"
    """All who can do a finishing step are busy."""
    BENCH = "bench"
    """All benches of the kind are busy or down."""
    ENERGY = "energy"
    """Sun and battery leave no power or energy for the benches then."""
    REST = "rest"
    """Parts have to rest before they are finished."""
    DOWN = "down"
    """The chamber, its unit or the yard is out of work."""


@dataclass(frozen=True)
class Fact:
    """One thing that stands in the way.

    Attributes
    ----------
    share : float
        In which share of the time that counts it does so, 0 to 1: of the sunny time of all places that suit the order
        (molding), or of the time that its parts wait (finishing).
    names : tuple of str
        Molds, skills, bench kinds, stock items or other work concerned.
    text : str
        The fact as a sentence without its full stop.
    """

    limit: Limit
    share: float
    names: tuple[str, ...]
    text: str


@dataclass(frozen=True)
class Effect:
    """What one change was measured to bring, against the unchanged question searched for as long.

    Attributes
    ----------
    result : OrderResult or None
        What becomes of the order that was asked about; None where an hour was.
    earlier_slots, pieces_more : int
        For that order; an unfinished one counts as finished at the end of the plan.
    late_days_less : float
        Weighted days late of all orders that go away [d].
    all_pieces_more : int
        Finished pieces of all orders that come.
    cost_less : int
        Of the goal's cost.
    """

    change: AnyChange
    result: OrderResult | None
    earlier_slots: int
    pieces_more: int
    late_days_less: float
    all_pieces_more: int
    cost_less: int


@dataclass(frozen=True)
class Explanation:
    """What stands in the way, the most weighty first, and the measured effects of changes, the best first.

    Attributes
    ----------
    subject : str
        What was asked about, in words.
    before, searched : OrderResult or None
        The order in the plan, and after the same search on as each change had; None where an hour was asked about.
    search_cost_less : int
        What the last search of the unchanged question alone took off the goal's cost: effects no greater than that may
        be luck.
    untried : tuple of AnyChange
        Changes that looked less promising, or came after the search was stopped.
    """

    subject: str
    before: OrderResult | None
    searched: OrderResult | None
    facts: tuple[Fact, ...]
    effects: tuple[Effect, ...]
    search_cost_less: int
    untried: tuple[AnyChange, ...]
