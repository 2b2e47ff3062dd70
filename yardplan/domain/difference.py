"""The rows of two plans in pairs: what was moved, added or dropped.

The pieces of one order are interchangeable, so its cycles are matched where they are, not by their names.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from enum import StrEnum
from itertools import chain
from typing import Generic, TypeVar

from yardplan.domain.errors import require
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan, UpkeepJob
from yardplan.domain.slots import SlotGrid

CHAMBER_SLOTS = 24
"""Another chamber counts as much as two hours when cycles are matched,"""
MOLD_SLOTS = 24
"""another mold as much,"""
COPY_SLOTS = 6
"""another copy of the same mold half an hour."""


class What(StrEnum):
    """What of a row is different."""

    CHAMBER = "chamber"
    MOLD = "mold"
    START = "start"
    TIMES = "times"
    """Heating, cooling, demolding or the end, beside the start."""
    BENCH = "bench"
    CREW = "crew"
    LOCK = "lock"
    OTHER = "other"


_FIELD_IS = {
    "chamber_id": What.CHAMBER,
    "mold": What.MOLD,
    "mold_in": What.MOLD,
    "mold_out": What.MOLD,
    "charge_slot": What.START,
    "start_slot": What.START,
    "heat_slot": What.TIMES,
    "heat_end_slot": What.TIMES,
    "cool_end_slot": What.TIMES,
    "demold_slot": What.TIMES,
    "end_slot": What.TIMES,
    "bench_id": What.BENCH,
    "charge_crew": What.CREW,
    "demold_crew": What.CREW,
    "crew": What.CREW,
    "operator_id": What.CREW,
    "locked": What.LOCK,
}
_NAMES = {"id", "cycle_id"}

RowT = TypeVar("RowT", Cycle, MoldChange, FinishJob, UpkeepJob)


@dataclass(frozen=True)
class Pair(Generic[RowT]):
    """One thing in two plans: dropped where `new` is None, added where `old` is None."""

    old: RowT | None
    new: RowT | None

    @property
    def what(self) -> frozenset[What]:
        """What is different beside names; nothing for a row that was added or dropped."""
        old, new = self.old, self.new
        if old is None or new is None:
            return frozenset()
        differing = (name for name in vars(old) if getattr(old, name) != getattr(new, name) and name not in _NAMES)
        return frozenset(_FIELD_IS.get(name, What.OTHER) for name in differing)

    @property
    def is_same(self) -> bool:
        """Whether both plans have it alike, under whatever name."""
        return self.old is not None and self.new is not None and not self.what


@dataclass(frozen=True)
class Difference:
    """All rows of two plans in pairs, on the grid of the new one; each row is in exactly one pair."""

    grid: SlotGrid
    cycles: tuple[Pair[Cycle], ...]
    mold_changes: tuple[Pair[MoldChange], ...]
    finishing: tuple[Pair[FinishJob], ...]
    upkeep: tuple[Pair[UpkeepJob], ...]

    @property
    def is_empty(self) -> bool:
        """Whether both plans are alike but for names."""
        kinds = (self.cycles, self.mold_changes, self.finishing, self.upkeep)
        return all(pair.is_same for pairs in kinds for pair in pairs)


def difference(old: Plan, new: Plan) -> Difference:
    """Return the rows of two plans in pairs.

    Cycles of one order are matched greedily, those that are alike first, then the nearest by time, chamber and mold;
    mold changes by chamber and mold; finishing jobs by their cycle and step; upkeep by what is done.
    """
    old = on_grid(old, new.grid)
    cycles = tuple(_matched(old.cycles, new.cycles, _order_key, _cycles_apart))
    renamed = {pair.old.id: pair.new.id for pair in cycles if pair.old and pair.new}
    at_place = {(job.cycle_id, job.step_ix): job for job in new.finishing}
    finishing: list[Pair[FinishJob]] = []
    for job in old.finishing:
        found = at_place.get((renamed.get(job.cycle_id, ""), job.step_ix))
        if found is not None:
            del at_place[found.cycle_id, found.step_ix]
        finishing.append(Pair(job, found))
    matched = {pair.new.id for pair in finishing if pair.new}
    finishing += [Pair(None, job) for job in new.finishing if job.id not in matched]
    changes = tuple(_matched(old.mold_changes, new.mold_changes, _hanging_key, _changes_apart))
    upkeep = tuple(_matched(old.upkeep, new.upkeep, lambda row: row.upkeep_id, _upkeep_apart))
    return Difference(new.grid, cycles, changes, tuple(finishing), upkeep)


def applied(found: Difference, old: Plan) -> Plan:
    """Return the plan that the differences make of the old one: the new plan.

    Raises
    ------
    InvalidField
        If they are differences from another plan.
    """
    old = on_grid(old, found.grid)

    def rows(have: tuple[RowT, ...], pairs: tuple[Pair[RowT], ...]) -> tuple[RowT, ...]:
        known = {pair.old.id: pair for pair in pairs if pair.old}
        foreign = next((row for row in have if row.id not in known or known[row.id].old != row), None)
        require(foreign is None, "difference", foreign.id if foreign else "", "old", foreign, "the plan compared")
        stay = (known[row.id].new for row in have)
        come = (pair.new for pair in pairs if pair.old is None)
        return tuple(row for row in chain(stay, come) if row is not None)

    return Plan(
        found.grid,
        rows(old.cycles, found.cycles),
        rows(old.mold_changes, found.mold_changes),
        rows(old.finishing, found.finishing),
        rows(old.upkeep, found.upkeep),
    )


def on_grid(plan: Plan, grid: SlotGrid) -> Plan:
    """Return a plan with its slots counted from the start of another grid; its rows stay at their instants.

    Raises
    ------
    InvalidField
        If the slots of both grids do not coincide.
    """
    if plan.grid == grid:
        return plan
    by = shift_slots(plan.grid, grid)

    def moved(rows: tuple[RowT, ...]) -> tuple[RowT, ...]:
        return tuple(
            replace(row, **{name: value + by for name, value in vars(row).items() if _is_place(name)}) for row in rows
        )

    return Plan(grid, moved(plan.cycles), moved(plan.mold_changes), moved(plan.finishing), moved(plan.upkeep))


def shift_slots(old: SlotGrid, new: SlotGrid) -> int:
    """Return how many slots later the same instant counts on the new grid."""
    rest = (old.start_at - new.start_at) % timedelta(minutes=new.slot_min)
    require(
        old.slot_min == new.slot_min and not rest,
        "comparison",
        "",
        "grid",
        f"{old.start_at} by {old.slot_min} min against {new.start_at} by {new.slot_min} min",
        "two plans whose slots coincide",
    )
    return (old.start_at - new.start_at) // timedelta(minutes=new.slot_min)


def _is_place(name: str) -> bool:
    return name.endswith("_slot")


def _order_key(row: Cycle) -> Hashable:
    return row.order_id, row.product_id, row.color


def _hanging_key(row: MoldChange) -> Hashable:
    return row.chamber_id, row.mold_in.mold_id


def _cycles_apart(old: Cycle, new: Cycle) -> int:
    return (
        abs(old.charge_slot - new.charge_slot)
        + CHAMBER_SLOTS * (old.chamber_id != new.chamber_id)
        + MOLD_SLOTS * (old.mold.mold_id != new.mold.mold_id)
        + COPY_SLOTS * (old.mold != new.mold)
    )


def _changes_apart(old: MoldChange, new: MoldChange) -> int:
    return abs(old.start_slot - new.start_slot) + COPY_SLOTS * (old.mold_in != new.mold_in)


def _upkeep_apart(old: UpkeepJob, new: UpkeepJob) -> int:
    return abs(old.start_slot - new.start_slot)


def _matched(
    old: Iterable[RowT], new: Iterable[RowT], key: Callable[[RowT], Hashable], apart: Callable[[RowT, RowT], int]
) -> Iterator[Pair[RowT]]:
    """Match rows of equal keys: alike ones, then the two nearest that are left, and so on."""
    groups: dict[Hashable, tuple[list[RowT], list[RowT]]] = defaultdict(lambda: ([], []))
    for row in old:
        groups[key(row)][0].append(row)
    for row in new:
        groups[key(row)][1].append(row)
    for was, now in groups.values():
        near = sorted(
            ((not Pair(one, two).is_same, apart(one, two), one.id != two.id, i, j), i, j)
            for i, one in enumerate(was)
            for j, two in enumerate(now)
        )
        partner: dict[int, int] = {}
        taken: set[int] = set()
        for _, i, j in near:
            if i not in partner and j not in taken:
                partner[i] = j
                taken.add(j)
        yield from (Pair(one, now[partner[i]] if i in partner else None) for i, one in enumerate(was))
        yield from (Pair(None, two) for j, two in enumerate(now) if j not in taken)
