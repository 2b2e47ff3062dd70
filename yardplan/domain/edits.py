"""What a person changes in a plan by hand, and which of it lies in the frozen period of the plan in force."""

from collections.abc import Iterable
from dataclasses import dataclass

from yardplan.domain.difference import Pair, What, difference
from yardplan.domain.plan import Cycle, Plan


@dataclass(frozen=True)
class Move:
    """A cycle goes to another chamber, another time, or both; `charge_slot` is when its charging should begin."""

    cycle_id: str
    chamber_id: str
    charge_slot: int


@dataclass(frozen=True)
class Split:
    """A cycle and all later ones of its order in its chamber go on in another chamber, or from another time on."""

    cycle_id: str
    chamber_id: str
    charge_slot: int


@dataclass(frozen=True)
class Lock:
    """A cycle stays where it is whatever else is planned, or may move again."""

    cycle_id: str
    locked: bool = True


@dataclass(frozen=True)
class Remove:
    """A cycle is not made."""

    cycle_id: str


@dataclass(frozen=True)
class Add:
    """One more cycle of an order is made."""

    order_id: str
    chamber_id: str
    charge_slot: int


Edit = Move | Split | Lock | Remove | Add


@dataclass(frozen=True)
class Edited:
    """What an edit comes to.

    Attributes
    ----------
    plan : Plan
        The plan with the edit made, or as it was where `reasons` say why it cannot be.
    cycle_ids : tuple of str
        The cycles that were meant.
    pushed : tuple of Pair
        The other cycles that have to begin at another time, or elsewhere.
    reasons : tuple of str
        Sentences on why it cannot be done; none where it can.
    first_slot : int or None
        Where the wanted time is not free: when it could begin instead.
    """

    plan: Plan
    cycle_ids: tuple[str, ...] = ()
    pushed: tuple[Pair[Cycle], ...] = ()
    reasons: tuple[str, ...] = ()
    first_slot: int | None = None

    @property
    def is_done(self) -> bool:
        """Whether the edit can be made."""
        return not self.reasons


def moves_between(old: Plan, new: Plan) -> tuple[Pair[Cycle], ...]:
    """Return the cycles that were moved, added or dropped from one plan to another, names apart."""
    return tuple(pair for pair in difference(old, new).cycles if _is_moved(pair))


def frozen_changes(in_force: Plan, new: Plan, until_slot: int) -> tuple[Pair[Cycle], ...]:
    """Return what a plan moves, adds or drops of the plan in force before a slot of the new plan's grid."""
    return tuple(
        pair
        for pair in moves_between(in_force, new)
        if any(row is not None and row.charge_slot < until_slot for row in (pair.old, pair.new))
    )


def same_rows(old: Plan, new: Plan, but: Iterable[str] = ()) -> tuple[Pair[Cycle], ...]:
    """Return the cycles that both plans have under one name and that differ in place or time, without some."""
    left_out, now = set(but), {row.id: row for row in new.cycles}
    pairs = (Pair(row, now[row.id]) for row in old.cycles if row.id in now and row.id not in left_out)
    return tuple(pair for pair in pairs if _is_moved(pair))


def _is_moved(pair: Pair[Cycle]) -> bool:
    return pair.old is None or pair.new is None or bool(pair.what & {What.CHAMBER, What.MOLD, What.START})
