"""What the rules of a model share: variables, and the work that each resource is asked for."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from yardplan.domain.plan import Cycle
from yardplan.solve.bookings import Bookings, add_level
from yardplan.solve.compiled import Compiled, Line, span_mask, spans, spread
from yardplan.solve.freed import Freed, Gap, Row
from yardplan.solve.pools import BenchPool, Pool, Pools, work_of

Literal = cp_model.IntVar
Linear = cp_model.LinearExpr | cp_model.IntVar | int


@dataclass(frozen=True)
class Option:
    """What a position may hold: a mold in the time it may hang there, and an order."""

    gap: Gap
    line: Line
    chosen: Literal


@dataclass(eq=False)
class Position:
    """A place in the sequence of cycles of a row; positions that are not used stand at the end."""

    row: Row
    ix: int
    present: Literal
    options: list[Option]
    charge: Literal
    heat: Literal
    cook: Linear
    cool: Linear
    demold: Literal
    end: Linear
    charged: Linear
    hangs: dict[Gap, Literal] = field(default_factory=dict)
    products: dict[str, Literal] = field(default_factory=dict)
    ready: Literal | None = None
    finished: dict[str, Literal] = field(default_factory=dict)
    finish: dict[str, Linear] = field(default_factory=dict)
    changes: dict[Gap, Literal] = field(default_factory=dict)
    changed: Literal | None = None
    change_start: Literal | None = None
    change_end: Linear | None = None
    cleans: dict[int, Literal] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class CrewJob:
    """A job of fixed length with the pools that may send people: (need, pool, how many-th, literal)."""

    start: Literal
    length: int
    present: Literal
    seats: list[tuple[int, Pool, Literal]]
    needs: tuple[tuple[str, int], ...]
    clean_slots: int = 0


@dataclass(frozen=True, eq=False)
class LastChange:
    """The change after a row's last cycle that hangs what fixed work needs."""

    gap: Gap
    needed: Literal
    start: Literal
    end: Linear
    job: CrewJob


@dataclass(frozen=True, eq=False)
class StepJob:
    """A finishing step of a free cycle (at a position) or of a fixed one."""

    owner: Position | Cycle
    product_id: str
    step_ix: int
    start: Literal
    length: int
    present: Literal
    crew: CrewJob
    seats: list[tuple[BenchPool, Literal]]


@dataclass(eq=False)
class Use:
    """What asks for a shared resource: intervals with their demands, and the slots in which they may lie."""

    intervals: list[cp_model.IntervalVar] = field(default_factory=list)
    demands: list[int] = field(default_factory=list)
    reach: int = 0

    def add(self, interval: cp_model.IntervalVar, demand: int, starts: int, length: int) -> None:
        """Add one request that may start in a mask of slots."""
        self.intervals.append(interval)
        self.demands.append(demand)
        self.reach |= spread(starts, length)


class PlanModel:
    """A CP-SAT model under construction, and after the solve the way back to a plan.

    Parameters
    ----------
    freed : Freed
        The part that is free; all else is fixed.
    whole : bool
        Whether the model must hold every plan there is, so that its bound is true for the problem.
    """

    def __init__(self, compiled: Compiled, pools: Pools, freed: Freed, *, whole: bool) -> None:
        self.compiled, self.pools, self.freed, self.whole = compiled, pools, freed, whole
        self.cp = cp_model.CpModel()
        self.book = Bookings(compiled, freed.fixed)
        self.true = self.cp.new_constant(1)
        self.latest = latest_finish(freed, compiled.n_slots, len(compiled.grid.days)) if not whole else compiled.n_slots
        self.crew_held, self.bench_held, self.loader_held = _held(compiled, pools, freed)
        self.rows: list[list[Position]] = []
        self.last_changes: dict[int, LastChange] = {}
        self.leaving: dict[tuple[int, int], Literal] = {}
        self.parked: dict[tuple[int, int], Literal] = {}
        self.heats: dict[int, list[cp_model.IntervalVar]] = defaultdict(list)
        self.crew_jobs: dict[tuple[int, str], list[CrewJob]] = defaultdict(list)
        self.crew_use: dict[int, Use] = defaultdict(Use)
        self.bench_use: dict[int, Use] = defaultdict(Use)
        self.loader_use = Use()
        self.power_use: dict[int, Use] = defaultdict(Use)
        self.steps: list[StepJob] = []
        self.regimes: list[tuple[Literal, int, Literal, Literal]] = []
        self.loose_ready: dict[str, Literal] = {}
        self.loose_finish: dict[str, Linear] = {}
        self.counted: dict[tuple[int, int], Literal] = {}
        self.cost: list[tuple[int, Linear]] = []

    def positions_in(self, row: Row) -> list[Position]:
        """Return the positions of a row."""
        return next(positions for at, positions in zip(self.freed.rows, self.rows, strict=True) if at is row)

    def slot_in(self, mask: int, name: str) -> Literal:
        """Return a variable whose values are the slots of a mask."""
        return self.cp.new_int_var_from_domain(domain_of(mask), name)

    def flag(self, name: str) -> Literal:
        """Return a yes-or-no variable."""
        return self.cp.new_bool_var(name)

    def both(self, one: Literal, two: Literal, name: str) -> Literal:
        """Return a literal that is true exactly if both are."""
        if one is two:
            return one
        lit = self.flag(name)
        self.cp.add_bool_or([one.negated(), two.negated(), lit])
        self.cp.add_implication(lit, one)
        self.cp.add_implication(lit, two)
        return lit

    def any_of(self, literals: Sequence[Literal], name: str) -> Literal:
        """Return a literal that is true exactly if one of several, of which at most one can be true, is."""
        if len(literals) == 1:
            return literals[0]
        lit = self.flag(name)
        self.cp.add(sum(literals) == lit)
        return lit


def latest_finish(freed: Freed, n_slots: int, n_days: int) -> int:
    """Return the slot by which the finishing of what is free is looked for: a day and a half on, or as late as now."""
    gone = {cycle.id for row in freed.rows for cycle in row.cycles} | {cycle.id for cycle, _ in freed.loose}
    now = max((job.end_slot for job in freed.plan.finishing if job.cycle_id in gone), default=0)
    molded = max((cycle.end_slot for row in freed.rows for cycle in row.cycles), default=n_slots)
    return min(max(now, molded + 3 * n_slots // (2 * n_days)), n_slots)


def _held(
    compiled: Compiled, pools: Pools, freed: Freed
) -> tuple[dict[int, list[int]], dict[int, list[int]], list[int]]:
    """Return what fixed work takes of each pool, each pool of benches, and the loaders: levels of masks."""
    crew = {pool.ix: [0] * pool.capacity for pool in pools.people}
    for start, end, people in work_of(compiled, freed.fixed):
        for person in people:
            pool = pools.pool_of(person, start)
            if pool is not None:
                add_level(crew[pool.ix], span_mask(start, end))
    benches = {pool.ix: [0] * len(pool.benches) for pool in pools.benches}
    for job in freed.fixed.finishing:
        if job.id not in pools.kept_ids:  # kept jobs are out of the benches' time already
            add_level(benches[pools.bench_pool[job.bench_id].ix], span_mask(job.start_slot, job.end_slot))
    loaders = [0] * compiled.problem.yard.site.loaders
    for change in freed.fixed.mold_changes:
        add_level(loaders, span_mask(change.start_slot, change.end_slot))
    return crew, benches, loaders


def domain_of(mask: int) -> cp_model.Domain:
    """Return the slots of a mask as a solver's domain."""
    return cp_model.Domain.from_intervals([[start, end - 1] for start, end in spans(mask)])


def positions_of(model: PlanModel) -> list[Position]:
    """Return all positions, row by row."""
    return [position for row in model.rows for position in row]
