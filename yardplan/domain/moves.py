"""Which jobs of the plan before stay where they were, and what it costs to move one.

A crew has hung molds and weighed resin for what comes next, so a job weighs half as much for every eight hours that it
lies further ahead; down to a tenth, since loads and rosters hang on later ones as well.
Source: common practice, no source; that nervousness is weighed by nearness is from memory of Sridharan, Berry and
Udayabhanu, Decision Sciences 19, 1988.
"""

from collections.abc import Iterable
from typing import NamedTuple

from yardplan.domain.plan import Cycle, Plan
from yardplan.domain.slots import SlotGrid

HALVES_H = 8.0
"""After so many hours a job weighs half as much [h]."""

FAR = 0.1
"""What a job weighs at least, however far ahead it is (own assumption)."""

STAYS_MIN = 30
"""A job stays if it begins no more than so much off, in the same chamber [min] (own assumption)."""


class Anchor(NamedTuple):
    """A job of the plan before that has not begun: where it was, and what it weighs [thousandths of one due now]."""

    chamber_id: str
    order_id: str
    charge_slot: int
    weight: int


def stay_slots(grid: SlotGrid) -> int:
    """Return by how many slots a job may shift and still count as staying."""
    return STAYS_MIN // grid.slot_min


def anchors(before: Plan | None, now_slot: int) -> tuple[Anchor, ...]:
    """Return the jobs of a plan that begin at `now_slot` or later."""
    if before is None:
        return ()
    half = HALVES_H * 60 / before.grid.slot_min
    return tuple(
        Anchor(row.chamber_id, row.order_id, row.charge_slot, round(1000 * _near(row.charge_slot - now_slot, half)))
        for row in before.cycles
        if row.charge_slot >= now_slot
    )


def moved(jobs: Iterable[Anchor], plan: Plan) -> tuple[Anchor, ...]:
    """Return the jobs that a plan does not keep where they were."""
    within = stay_slots(plan.grid)
    found: dict[tuple[str, str], list[Cycle]] = {}
    for row in plan.cycles:
        found.setdefault((row.chamber_id, row.order_id), []).append(row)
    return tuple(
        job
        for job in jobs
        if not any(abs(row.charge_slot - job.charge_slot) <= within for row in found.get(job[:2], ()))
    )


def _near(ahead_slots: int, half_slots: float) -> float:
    return FAR + (1 - FAR) * float(0.5 ** (ahead_slots / half_slots))
