"""What a search for a plan came to."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from yardplan.domain.plan import Plan
from yardplan.domain.risk import PlanRisk
from yardplan.domain.rules import Blocked


class Status(StrEnum):
    """How a plan came about."""

    PROVEN = "proven"
    """No plan can have a lower cost."""
    GOOD = "good"
    """The search ran its time; the gap says how far it may be from the best."""
    FALLBACK = "fallback"
    """The dispatch rules alone."""
    STOPPED = "stopped"
    """A person stopped the search; the best plan up to then."""
    EDITED = "edited"
    """Changed by hand; the search had no say in it."""
    IMPOSSIBLE = "impossible"
    """Nothing of what was asked can be planned; the reasons say why."""


@dataclass(frozen=True)
class GoalParts:
    """A plan's cost, and what it is made of; see `GoalWeights` for the units."""

    cost: int
    promised_late_slots: int
    other_late_slots: int
    late_orders: int
    missing_thousandths: int
    mold_changes: int
    clean_downs: int
    overtime_slots: int
    evening_slots: int
    slack_slots: int
    moved: int = 0


@dataclass(frozen=True)
class Progress:
    """Where a running search is: told each time a better checked plan is found."""

    plan: Plan
    parts: GoalParts
    bound: int
    seconds: float


@dataclass(frozen=True)
class SolveOutcome:
    """The best checked plan of a search.

    Attributes
    ----------
    bound : int
        No plan for the same problem can cost less; true by proof, 0 where nothing better is known.
    blocked : tuple of Blocked
        Orders of which something is left out, each with its reason.
    seconds : float
        Wall time of the search [s].
    """

    plan: Plan
    status: Status
    parts: GoalParts
    bound: int
    blocked: tuple[Blocked, ...]
    seconds: float
    seed: int

    @property
    def gap_frac(self) -> float:
        """How far the cost may be above the least possible, as a share of the cost."""
        return (self.parts.cost - self.bound) / self.parts.cost if self.parts.cost else 0.0


@dataclass(frozen=True)
class StoredPlan:
    """A plan version as it is kept; versions are only ever added.

    Attributes
    ----------
    number : int
        Counts up from 1.
    made_at : datetime
        When, on the yard's clock [UTC].
    confidence : float
        Planning confidence.
    heat_source : str
        The weather behind it, in words.
    fingerprint : str
        Hash of all inputs: equal fingerprints mean the same question.
    risk : PlanRisk or None
        What the weather may do to it; None where it was not asked.
    based_on : int
        Number of the publication that was in force when it was made, 0 for none.
    draft : str
        Name of an answer to a what-if, which is never in force; blank for a plan.
    changes : tuple of str
        What its question has changed, in the words of `OneMoreCopy` and the like.
    """

    number: int
    made_at: datetime
    made_by: str
    confidence: float
    heat_source: str
    fingerprint: str
    outcome: SolveOutcome
    risk: PlanRisk | None = None
    based_on: int = 0
    draft: str = ""
    changes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Publication:
    """A plan version that came into force, and who said so; `number` counts up from 1."""

    number: int
    plan_number: int
    at: datetime
    by: str
    seat: str
    reason: str
