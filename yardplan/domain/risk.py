"""What the weather may do to a finished plan."""

from dataclasses import dataclass

SHARES = (0.5, 0.8, 0.95)
"""Shares of the scenarios for which finish dates are told."""


@dataclass(frozen=True)
class OrderRisk:
    """What becomes of one order over all scenarios of the sky.

    Attributes
    ----------
    chance_frac : float or None
        Share of scenarios in which it is finished by `Order.goal_at`; None where that instant lies after the plan's
        days and the order may not be finished within them: what comes then is not known.
    p50_slot, p80_slot, p95_slot : int or None
        Slot by which it is finished in that share of scenarios; None: not within the plan's days.
    """

    order_id: str
    chance_frac: float | None
    p50_slot: int | None
    p80_slot: int | None
    p95_slot: int | None

    @property
    def dates(self) -> tuple[tuple[float, int | None], ...]:
        """Each share of the scenarios with the slot by which the order is finished in it."""
        return tuple(zip(SHARES, (self.p50_slot, self.p80_slot, self.p95_slot), strict=True))


@dataclass(frozen=True)
class PlanRisk:
    """A plan replayed over all scenarios.

    Attributes
    ----------
    n_scenarios : int
        How many skies there were.
    orders : tuple of OrderRisk
        In the problem's order.
    promised_frac : float
        Share of scenarios in which every promised order that the plan has on time, and whose chance is known, is on
        time.
    all_frac : float
        The same for all orders that the plan has on time.
    """

    n_scenarios: int
    orders: tuple[OrderRisk, ...]
    promised_frac: float
    all_frac: float


def of_twenty(chance_frac: float) -> int:
    """Return a chance as whole cases of twenty, never more than it is: a person can picture it."""
    return int(20 * chance_frac + 1e-9)
