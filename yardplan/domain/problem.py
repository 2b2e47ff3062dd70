"""The complete question that a plan answers. The solver and the checker read it, each in its own way."""

from dataclasses import dataclass, replace
from datetime import datetime

from yardplan.domain.errors import require
from yardplan.domain.heat_work import WorkLimits
from yardplan.domain.orders import Order, check_orders
from yardplan.domain.plan import Plan, UpkeepJob, upkeep_downtimes
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import CookTable, PowerTable
from yardplan.domain.yard import Yard


@dataclass(frozen=True)
class GoalWeights:
    """What the plan's cost counts, as whole numbers; each tier outweighs the next by far.

    cost = promised_late x (weighted slots that promised orders are late)
         + other_late x (weighted slots that the others are late)
         + late_order x (weighted number of late or unfinished orders that are due)
         + missing_piece_share x (weighted thousandths of orders' quantity not finished)
         + mold_change x (mold changes) + clean_down x (clean-downs)
         + overtime x (person-slots in overtime shifts) + evening x (finishing slots after sunset)
         + slack x (weighted slots by which orders finish later than `slack_slots` before their goal)
         + moved x (thousandths of jobs of the plan before that do not stay where they were, near ones counting more)

    The weight of an order is its priority; that of a job of the plan before is in `moves`.
    """

    promised_late: int = 1_000_000
    other_late: int = 10_000
    late_order: int = 0
    missing_piece_share: int = 50_000
    mold_change: int = 20_000
    clean_down: int = 4_000
    overtime: int = 400
    evening: int = 100
    slack: int = 10
    moved: int = 0
    slack_slots: int = 288


@dataclass(frozen=True)
class Early:
    """An order that should be finished by a slot before its goal, so that the weather may take time from it.

    Each slot later than `by_slot` counts like `times` slots of slack; see `GoalWeights.slack`.
    """

    order_id: str
    by_slot: int
    times: int


@dataclass(frozen=True, eq=False)
class Problem:
    """Yard, orders, sun and electricity at one moment.

    Attributes
    ----------
    orders : tuple of Order
        Open orders; quantities still to be made.
    now : datetime
        Nothing new may start before it.
    confidence : float
        Planning confidence; must be one of the cook table's.
    kept : Plan
        Work that stays as it is: running, frozen or locked. Its rows appear unchanged in every plan.
    limits : WorkLimits or None
        How much people may work in the heat; None where the rule does not hold.
    early : tuple of Early
        Orders, each at most once, to be finished well before their goal.
    before : Plan or None
        What the plan in force has from now on, where the crew counts on it already; see `GoalWeights.moved`.
    """

    yard: Yard
    orders: tuple[Order, ...]
    grid: SlotGrid
    cook: CookTable
    power: PowerTable
    now: datetime
    confidence: float
    kept: Plan
    weights: GoalWeights = GoalWeights()
    limits: WorkLimits | None = None
    early: tuple[Early, ...] = ()
    before: Plan | None = None

    def __post_init__(self) -> None:
        check_orders(self.orders, self.yard)
        self.cook.confidence_ix(self.confidence)
        for name, grid in (("cook", self.cook.grid), ("power", self.power.grid), ("kept", self.kept.grid)):
            require(grid == self.grid, "problem", "", name, grid, "the grid of the problem")
        require(
            self.cook.unit_ids == self.power.unit_ids == tuple(unit.id for unit in self.yard.units),
            "problem",
            "",
            "unit_ids",
            self.cook.unit_ids,
            "the yard's units in their order",
        )
        if self.limits is not None:
            n_slots = len(self.limits.heavy_min)
            require(n_slots == self.grid.n_slots, "problem", "", "limits", n_slots, f"{self.grid.n_slots} slots")
        open_orders = {order.id for order in self.orders}
        for cycle in self.kept.cycles:
            require(
                cycle.order_id in open_orders,
                "kept cycle",
                cycle.id,
                "order_id",
                cycle.order_id,
                "an open order",
            )

    def with_upkeep(self, jobs: tuple[UpkeepJob, ...]) -> "Problem":
        """Return the question that is left when these upkeep jobs are settled: each is a down-time of all it takes."""
        downtimes = self.yard.downtimes + upkeep_downtimes(jobs, self.yard, self.grid)
        yard = replace(self.yard, downtimes=downtimes, upkeep=())
        return replace(self, yard=yard, kept=replace(self.kept, upkeep=()))

    @property
    def now_slot(self) -> int:
        """First slot in which something new may start."""
        return max(self.grid.slot_up(self.now), 0)
