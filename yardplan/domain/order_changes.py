"""Edits of the order book that can be taken back, and what becomes of orders whose number is there already."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import ceil

from yardplan.domain.orders import Order
from yardplan.domain.yard import Yard

FILLED_DAYS = 30
CYCLES_A_DAY = 8
"""A quantity that would fill all chambers that suit it for longer than this may be a slip.

Cycles of a chamber on a good day: common practice, no source.
"""


@dataclass(frozen=True)
class OrderChange:
    """One order as it was and as it is to be; None where there was none, or is to be none."""

    before: Order | None
    after: Order | None

    @property
    def taken_back(self) -> "OrderChange":
        """The change that brings the order back to what it was."""
        return OrderChange(self.after, self.before)

    @property
    def words(self) -> str:
        """What is changed, in words."""
        if self.before is None:
            return f"order {self.after.id} added" if self.after else "nothing"
        if self.after is None:
            return f"order {self.before.id} taken out"
        names = ("customer", "product_id", "color", "quantity", "due_at", "promise_at", "priority", "note")
        pairs = ((name, getattr(self.before, name), getattr(self.after, name)) for name in names)
        told = ", ".join(f"{name} {old} -> {new}" for name, old, new in pairs if old != new)
        return f"order {self.before.id}: {told or 'nothing'}"


class Double(StrEnum):
    """What becomes of orders from a file whose number is there already, or more than once in the file."""

    KEEP = "keep"
    """The order that was there first stays as it is."""
    REPLACE = "replace"
    """The last one in the file takes its place."""
    RENAME = "rename"
    """Those in the file come in under new numbers."""


def doubles(known: Mapping[str, Order], found: Iterable[Order]) -> dict[str, list[Order]]:
    """Return the orders of a file for each number that is there already or comes more than once, in order."""
    by_number: dict[str, list[Order]] = defaultdict(list)
    for order in found:
        by_number[order.id].append(order)
    return {ident: rows for ident, rows in by_number.items() if ident in known or len(rows) > 1}


def changes_of(
    known: Mapping[str, Order], found: Sequence[Order], choices: Mapping[str, Double]
) -> tuple[OrderChange, ...]:
    """Return what taking in the orders of a file changes.

    Parameters
    ----------
    known : mapping of str to Order
        The order book by number.
    choices : mapping of str to Double
        For each number of `doubles`; `Double.KEEP` where none is given.
    """
    several = doubles(known, found)
    taken = {*known, *(order.id for order in found)}
    changes = []
    for order in found:
        if order.id not in several:
            changes.append(OrderChange(None, order))
    for ident, rows in several.items():
        there, choice = known.get(ident), choices.get(ident, Double.KEEP)
        first = [OrderChange(None, rows[0])] if there is None else []
        match choice:
            case Double.KEEP:
                changes += first
            case Double.REPLACE:
                if there is None or not same(there, rows[-1]):
                    changes.append(OrderChange(there, rows[-1]))
            case Double.RENAME:
                changes += first
                for order in rows[len(first) :]:
                    fresh = _free(ident, taken)
                    taken.add(fresh)
                    changes.append(OrderChange(None, replace(order, id=fresh)))
    return tuple(changes)


def same(one: Order, two: Order) -> bool:
    """Tell whether two orders say the same, whatever version they are of."""
    return replace(one, row_version=0) == replace(two, row_version=0)


def _free(ident: str, taken: set[str]) -> str:
    number = 2
    while f"{ident}-{number}" in taken:
        number += 1
    return f"{ident}-{number}"


def doubt(order: Order, yard: Yard) -> str:
    """Return why a quantity may be a slip, with the cycles that it takes; empty where it looks right."""
    product = yard.product(order.product_id)
    molds = [yard.mold(mold_id) for mold_id in product.mold_ids]
    cycles = ceil(order.quantity / max(mold.cavities for mold in molds))
    n_chambers = sum(any(yard.fits(mold, chamber, product) for mold in molds) for chamber in yard.chambers)
    if cycles <= FILLED_DAYS * CYCLES_A_DAY * max(n_chambers, 1):
        return ""
    return (
        f"{order.quantity:,} {product.name} are {cycles:,} cycles; {n_chambers} chambers that suit it would make "
        f"nothing else for more than {FILLED_DAYS} days"
    )
