"""What the checker's rules look at: the plan's rows with their names looked up, and words for the sentences."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.people import HANDLING, RIGGING
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan, UpkeepJob
from yardplan.domain.problem import Problem
from yardplan.domain.products import FinishStep
from yardplan.domain.rules import Rule, Violation

Row = Cycle | MoldChange | FinishJob | UpkeepJob


class Span(NamedTuple):
    """What a row does in ``[start_slot, end_slot)``, with the people it takes.

    `crew_needed` is how many different people it must be, `skill` what they must know; both are empty where a
    span only occupies a place.
    """

    row: Row
    doing: str
    start_slot: int
    end_slot: int
    people: tuple[str, ...] = ()
    crew_needed: int = 0
    skill: str = ""

    def overlaps(self, start_slot: int, end_slot: int) -> bool:
        """Tell whether the span shares a moment with ``[start_slot, end_slot)``."""
        return max(self.start_slot, start_slot) < min(self.end_slot, end_slot)


class Case:
    """A problem and a plan on the same grid, with the look-ups that the rules share.

    `cycles`, `changes` and `finishing` (jobs with their routing steps) hold only what can be judged; `plan` holds
    all. `work` is what people do in them.
    """

    def __init__(self, problem: Problem, plan: Plan) -> None:
        yard = problem.yard
        self.problem, self.plan, self.yard, self.grid = problem, plan, yard, problem.grid
        self.now_slot, self.n_slots = problem.now_slot, problem.grid.n_slots
        self.orders = {order.id: order for order in problem.orders}
        self.products = {product.id: product for product in yard.products}
        self.molds = {mold.id: mold for mold in yard.molds}
        self.copies = set(yard.mold_copies)
        self.chambers = {chamber.id: chamber for chamber in yard.chambers}
        self.unit_ix = {chamber.id: ix for ix, unit in enumerate(yard.units) for chamber in unit.chambers}
        self.benches = {bench.id: bench for bench in yard.benches}
        self.people = {operator.id: operator for operator in yard.operators}
        self.upkeep = {upkeep.id: upkeep for upkeep in yard.upkeep}
        kept = problem.kept
        kept_rows: tuple[Row, ...] = (*kept.cycles, *kept.mold_changes, *kept.finishing, *kept.upkeep)
        self._kept = {(type(row), row.id): row for row in kept_rows}
        self._plan_cycles = {cycle.id for cycle in plan.cycles}
        self.cycles = tuple(row for row in plan.cycles if self._can_judge(row))
        self.changes = tuple(row for row in plan.mold_changes if self._can_judge(row))
        self.cycle = {cycle.id: cycle for cycle in self.cycles}
        self.finishing = tuple(
            (row, step) for row in plan.finishing if self._can_judge(row) and (step := self.step(row))
        )
        self.upkeep_jobs = tuple(row for row in plan.upkeep if self._can_judge(row))
        self.work = tuple(self._all_work())

    @property
    def rows(self) -> tuple[Row, ...]:
        """All rows of the plan."""
        return (*self.plan.cycles, *self.plan.mold_changes, *self.plan.finishing, *self.plan.upkeep)

    def unknown(self, row: Row) -> Iterator[tuple[str, str]]:
        """Yield kind and name of whatever a row names that does not exist."""
        people: tuple[str, ...]
        if isinstance(row, Cycle):
            yield from (
                (kind, name)
                for kind, name, known in (
                    ("order", row.order_id, self.orders),
                    ("product", row.product_id, self.products),
                    ("chamber", row.chamber_id, self.chambers),
                )
                if name not in known
            )
            molds: tuple[MoldCopy | None, ...] = (row.mold,)
            people = row.charge_crew + row.demold_crew
        elif isinstance(row, MoldChange):
            if row.chamber_id not in self.chambers:
                yield "chamber", row.chamber_id
            molds, people = (row.mold_out, row.mold_in), row.crew
        elif isinstance(row, UpkeepJob):
            if row.upkeep_id not in self.upkeep:
                yield "upkeep", row.upkeep_id
            molds, people = (), row.crew
        else:
            if row.cycle_id not in self._plan_cycles:
                yield "cycle", row.cycle_id
            if row.bench_id not in self.benches:
                yield "bench", row.bench_id
            molds, people = (), (row.operator_id,)
        yield from (("mold", str(mold)) for mold in molds if mold is not None and mold not in self.copies)
        yield from (("person", person) for person in sorted(set(people)) if person not in self.people)

    def is_kept(self, row: Row) -> bool:
        """Tell whether the row is one of the kept ones, unchanged."""
        return self._kept.get((type(row), row.id)) == row

    def is_fact(self, row: Row) -> bool:
        """Tell whether the row is kept work that has started: no rule about itself can change it any more."""
        return self.is_kept(row) and row_span(row)[0] < self.now_slot

    def is_near(self, row: Row) -> bool:
        """Tell whether all slots of a row lie within a year of the plan's days."""
        return all(map(self._is_near, _slots(row)))

    def step(self, job: FinishJob) -> FinishStep | None:
        """Return the routing step of a finishing job; None where its cycle or the step is not there."""
        cycle = self.cycle.get(job.cycle_id)
        routing = self.products[cycle.product_id].routing if cycle else ()
        return routing[job.step_ix] if 0 <= job.step_ix < len(routing) else None

    def handling(self, cycle: Cycle) -> tuple[Span, Span]:
        """Return charging (with its clean-down) and demolding of a cycle."""
        product = self.products[cycle.product_id]
        charged_slot = cycle.charge_slot + cycle.clean_slots + self.grid.slots_up(product.charge_min)
        charge = (cycle.charge_slot, charged_slot, cycle.charge_crew, product.charge_crew)
        demold = (cycle.demold_slot, cycle.end_slot, cycle.demold_crew, product.demold_crew)
        name = self.name(cycle)
        return Span(cycle, f"charging of {name}", *charge, HANDLING), Span(
            cycle, f"demolding of {name}", *demold, HANDLING
        )

    def when(self, slot: int) -> str:
        """Return a slot's start on the yard's clock, for a sentence."""
        return f"{self.grid.local(slot):%a %b %d %H:%M}" if self._is_near(slot) else f"slot {slot}"

    def from_to(self, start_slot: int, end_slot: int) -> str:
        """Return a stretch of time for a sentence; a day is named once."""
        start, end = self.when(start_slot), self.when(end_slot)
        same_day = start[:-5] == end[:-5]
        return f"{start} to {end[-5:] if same_day else end}"

    def minutes(self, slots: int) -> str:
        """Return a number of slots as minutes, for a sentence."""
        return f"{slots * self.grid.slot_min} min"

    def name(self, row: Row) -> str:
        """Return what a row is called in a sentence."""
        if isinstance(row, Cycle):
            return f"cycle {row.id} in {row.chamber_id}"
        if isinstance(row, MoldChange):
            return f"mold change {row.id} in {row.chamber_id}"
        if isinstance(row, UpkeepJob):
            return f"upkeep job {row.id}"
        return f"finishing job {row.id} at {row.bench_id}"

    def _can_judge(self, row: Row) -> bool:
        # Crews are judged by the people in them who are known.
        return self.is_near(row) and all(kind == "person" for kind, _ in self.unknown(row))

    def _is_near(self, slot: int) -> bool:
        year_slots = 366 * 24 * 60 // self.grid.slot_min
        return -year_slots <= slot <= self.n_slots + year_slots

    def _all_work(self) -> Iterator[Span]:
        for cycle in self.cycles:
            yield from self.handling(cycle)
        for change in self.changes:
            span = (change.start_slot, change.end_slot)
            crew = 1 + self.molds[change.mold_in.mold_id].change_crew
            yield Span(change, self.name(change), *span, change.crew, crew, RIGGING)
        for job, step in self.finishing:
            span = (job.start_slot, job.end_slot)
            yield Span(job, f"{self.name(job)} ({step.name})", *span, (job.operator_id,), 1, step.skill)
        for care in self.upkeep_jobs:
            upkeep = self.upkeep[care.upkeep_id]
            doing = f"{self.name(care)} ({upkeep.name})"
            yield Span(care, doing, care.start_slot, care.end_slot, care.crew, upkeep.crew, upkeep.skill)


def row_span(row: Row) -> tuple[int, int]:
    """Return first slot of a row and the slot after its last."""
    return (row.charge_slot if isinstance(row, Cycle) else row.start_slot), row.end_slot


def crowded(spans: Iterable[Span], most: int) -> Iterator[tuple[Span, ...]]:
    """Yield, for each span that begins while `most` others run, all that run then; an end frees its slot."""
    running: list[Span] = []
    for span in sorted(spans, key=lambda span: (span.start_slot, span.end_slot, span.row.id)):
        running = [other for other in running if other.end_slot > span.start_slot] + [span]
        if len(running) > most:
            yield tuple(running)


def broken(rule: Rule, text: str, *rows: Row) -> Violation:
    """Return a violation of `rule` by `rows`."""
    return Violation(rule, tuple(dict.fromkeys(row.id for row in rows)), text)


def _slots(row: Row) -> tuple[int, ...]:
    if isinstance(row, Cycle):
        phases = (row.heat_slot, row.heat_end_slot, row.cool_end_slot, row.demold_slot)
        return (row.charge_slot, row.clean_slots, *phases, row.end_slot)
    return row.start_slot, row.end_slot
