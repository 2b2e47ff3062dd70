"""A plan: what is done where, when and by whom, on the slots of its grid."""

from collections import defaultdict
from dataclasses import dataclass

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import require
from yardplan.domain.orders import Order
from yardplan.domain.people import Downtime, ResourceKind
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard


@dataclass(frozen=True)
class Cycle:
    """One charge -> heat -> cool -> demold of a mold in a chamber.

    The slots mark, in order: start of handling (a clean-down of `clean_slots` first, then charging), start of
    heat, end of heat, end of cooling, start and end of demolding. Between charging and heat, and between
    cooling and demolding, there may be a wait. Slots may lie before the grid for work that already runs.
    """

    id: str
    order_id: str
    product_id: str
    color: str
    mold: MoldCopy
    chamber_id: str
    pieces: int
    charge_slot: int
    clean_slots: int
    heat_slot: int
    heat_end_slot: int
    cool_end_slot: int
    demold_slot: int
    end_slot: int
    charge_crew: tuple[str, ...]
    demold_crew: tuple[str, ...]
    locked: bool = False


@dataclass(frozen=True)
class MoldChange:
    """Taking the mold out of a chamber (`mold_out` None: it was empty) and hanging another one."""

    id: str
    chamber_id: str
    mold_out: MoldCopy | None
    mold_in: MoldCopy
    start_slot: int
    end_slot: int
    crew: tuple[str, ...]
    locked: bool = False


@dataclass(frozen=True)
class FinishJob:
    """One routing step for all pieces of one cycle, at a bench."""

    id: str
    cycle_id: str
    step_ix: int
    bench_id: str
    operator_id: str
    start_slot: int
    end_slot: int
    kwh: float
    locked: bool = False


@dataclass(frozen=True)
class UpkeepJob:
    """When and by whom an `Upkeep` is done; its resource does nothing else meanwhile."""

    id: str
    upkeep_id: str
    start_slot: int
    end_slot: int
    crew: tuple[str, ...]
    locked: bool = False


@dataclass(frozen=True)
class Plan:
    """A whole plan; the rows are kept sorted by start, then id."""

    grid: SlotGrid
    cycles: tuple[Cycle, ...] = ()
    mold_changes: tuple[MoldChange, ...] = ()
    finishing: tuple[FinishJob, ...] = ()
    upkeep: tuple[UpkeepJob, ...] = ()

    def __post_init__(self) -> None:
        for name, slot in (
            ("cycles", "charge_slot"),
            ("mold_changes", "start_slot"),
            ("finishing", "start_slot"),
            ("upkeep", "start_slot"),
        ):
            rows = getattr(self, name)
            ids = {row.id for row in rows}
            require(len(ids) == len(rows), "plan", "", name, "an id twice", "ids that are used once")
            key = lambda row, slot=slot: (getattr(row, slot), row.id)  # noqa: E731 - a sort key, used on the spot
            object.__setattr__(self, name, tuple(sorted(rows, key=key)))


def upkeep_downtimes(jobs: tuple[UpkeepJob, ...], yard: Yard, grid: SlotGrid) -> tuple[Downtime, ...]:
    """Return the down-times of the resources and people of upkeep jobs; a job that the yard no longer asks has none."""
    known = {upkeep.id: upkeep for upkeep in yard.upkeep}
    return tuple(
        Downtime(kind, ident, grid.at(job.start_slot), grid.at(job.end_slot), upkeep.name)
        for job in jobs
        if (upkeep := known.get(job.upkeep_id)) is not None
        for kind, ident in (
            (upkeep.kind, upkeep.resource_id),
            *((ResourceKind.OPERATOR, person) for person in job.crew),
        )
    )


@dataclass(frozen=True)
class OrderResult:
    """What a plan makes of one order.

    `finish_slot` is the end of its last finishing step (of demolding where nothing is finished), None while
    pieces are missing at the end of the plan. `late_slots` counts from `Order.goal_at`; for an unfinished order
    that is due inside the plan it counts to the end of the grid.
    """

    order_id: str
    pieces_planned: int
    pieces_missing: int
    finish_slot: int | None
    late_slots: int

    @property
    def state(self) -> str:
        """One of ``on time``, ``late``, ``unfinished``."""
        if self.finish_slot is None:
            return "unfinished"
        return "late" if self.late_slots > 0 else "on time"


def order_results(plan: Plan, orders: tuple[Order, ...], yard: Yard) -> tuple[OrderResult, ...]:
    """Return what the plan makes of each order: only pieces through their whole routing count.

    Returns
    -------
    tuple of OrderResult
        One for each order, in the order given.
    """
    done_steps: dict[str, int] = defaultdict(int)
    finish_slot: dict[str, int] = {}
    for job in plan.finishing:
        done_steps[job.cycle_id] += 1
        finish_slot[job.cycle_id] = max(finish_slot.get(job.cycle_id, job.end_slot), job.end_slot)
    steps = {product.id: len(product.routing) for product in yard.products}
    ready: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for cycle in plan.cycles:
        if done_steps[cycle.id] == steps[cycle.product_id]:
            ready[cycle.order_id].append((finish_slot.get(cycle.id, cycle.end_slot), cycle.pieces))
    results = []
    for order in orders:
        planned, end = 0, 0
        for slot, pieces in sorted(ready[order.id]):
            if planned < order.quantity:
                planned, end = planned + pieces, slot
        missing = max(order.quantity - planned, 0)
        goal_slot = plan.grid.slot(order.goal_at)
        reached = plan.grid.n_slots if missing else end
        late = max(reached - goal_slot, 0)
        results.append(OrderResult(order.id, planned, missing, None if missing else end, late))
    return tuple(results)
