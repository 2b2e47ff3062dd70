"""A plan replayed under one sky the plain way: job by job, slot by slot, person by person."""

from collections.abc import Callable, Iterator
from functools import cache
from itertools import permutations

from yardplan.domain.people import HANDLING, LOADER, RIGGING, ResourceKind
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.tables import Recipe, SkyCooks
from yardplan.solve.compiled import Compiled
from yardplan.solve.pools import work_of
from yardplan.solve.risk import BEYOND

Row = Cycle | MoldChange | FinishJob


class SlowReplay:
    """One scenario; every method answers by looking at all rows of the plan."""

    def __init__(self, problem: Problem, plan: Plan, cooks: SkyCooks, scenario: int) -> None:
        self.problem, self.plan, self.cooks, self.scenario = problem, plan, cooks, scenario
        self.compiled = Compiled(problem)
        self.now, self.n_slots = problem.now_slot, problem.grid.n_slots
        self.work = list(work_of(self.compiled, plan))
        self.cycles = {cycle.id: cycle for cycle in plan.cycles}
        kept = problem.kept
        self.held = {row.id for rows in (kept.cycles, kept.mold_changes, kept.finishing) for row in rows}
        for name in ("charge_end", "heat_start", "demold_end", "change_end", "finish_end"):
            setattr(self, name, cache(getattr(self, name)))

    def order_finish(self, order_id: str, quantity: int) -> int:
        lots = []
        for cycle in self.plan.cycles:
            jobs = [job for job in self.plan.finishing if job.cycle_id == cycle.id]
            if cycle.order_id == order_id and len(jobs) == len(self.compiled.makes[cycle.product_id].steps):
                lots.append((max([self.finish_end(job) for job in jobs], default=self.demold_end(cycle)), cycle.pieces))
        done = 0
        for slot, pieces in sorted(lots):
            done += pieces
            if done >= quantity:
                return slot
        return BEYOND

    def charge_end(self, cycle: Cycle) -> int:
        make = self.compiled.makes[cycle.product_id]
        length = cycle.clean_slots + make.charge_slots
        ready = max([self.before_in_chamber(cycle), self.stock_slot(cycle)])
        crews = self.crews([HANDLING] * make.product.charge_crew)
        return self.soonest(
            cycle, cycle.charge_slot, length, ready, cycle.charge_crew,
            lambda slot: self.is_open(cycle, slot, max(length, 1)) and self.has_crew(crews, slot, length),
        )  # fmt: skip

    def heat_start(self, cycle: Cycle) -> tuple[int, int]:
        """When the cook ends and when it is cooled."""
        if cycle.heat_slot < self.now:
            return cycle.heat_end_slot, cycle.cool_end_slot
        unit = self.problem.yard.unit_of(cycle.chamber_id)
        chambers = {chamber.id for chamber in unit.chambers}
        key = cycle.heat_slot, cycle.heat_end_slot, cycle.id
        before = [
            row for row in self.plan.cycles
            if row.chamber_id in chambers and (row.heat_slot, row.heat_end_slot, row.id) < key
        ]  # fmt: skip
        ready = max([self.charge_end(cycle), *(self.heat_start(row)[0] for row in before)])
        if cycle.id in self.held or cycle.locked:
            ready = max(ready, cycle.heat_slot)
        at = self.cooks.recipes.index(Recipe(cycle.mold.mold_id, cycle.product_id)), self.problem.yard.units.index(unit)
        over, cooled = [BEYOND], [BEYOND]
        for slot in range(max(ready, 0), self.n_slots):
            cook = int(self.cooks.cook_slots[(*at, slot, self.scenario)])
            cool = int(self.cooks.cool_slots[(*at, slot, self.scenario)])
            if cook and slot + cook + cool <= self.n_slots and self.is_open(cycle, slot, cook + cool, mold=False):
                over.append(slot + cook)
                cooled.append(slot + cook + cool)
        return min(over), min(cooled)

    def demold_end(self, cycle: Cycle) -> int:
        make = self.compiled.makes[cycle.product_id]
        crews = self.crews([HANDLING] * make.product.demold_crew)
        length = make.demold_slots
        return self.soonest(
            cycle, cycle.demold_slot, length, self.heat_start(cycle)[1], cycle.demold_crew,
            lambda slot: self.is_open(cycle, slot, max(length, 1)) and self.has_crew(crews, slot, length),
        )  # fmt: skip

    def change_end(self, change: MoldChange) -> int:
        length = change.end_slot - change.start_slot
        key = change.start_slot, change.end_slot, change.id
        out = [
            row for row in self.plan.mold_changes
            if row.mold_out == change.mold_in and (row.start_slot, row.end_slot, row.id) < key
        ]  # fmt: skip
        ready = max([self.before_in_chamber(change), *(self.change_end(row) for row in out)])
        riggers = self.compiled.molds[change.mold_in.mold_id].change_crew
        crews = self.crews([LOADER] + [RIGGING] * riggers)

        def can(slot: int) -> bool:
            for at in range(slot, slot + length):
                others = sum(
                    row is not change and row.start_slot <= at < row.end_slot for row in self.plan.mold_changes
                )
                if others >= self.problem.yard.site.loaders:
                    return False
            open_slots = self.compiled.place_of[change.chamber_id].open
            return all(open_slots >> at & 1 for at in range(slot, slot + length)) and self.has_crew(crews, slot, length)

        return self.soonest(change, change.start_slot, length, ready, change.crew, can)

    def finish_end(self, job: FinishJob) -> int:
        cycle = self.cycles[job.cycle_id]
        step = self.compiled.makes[cycle.product_id].steps[job.step_ix]
        before = [row for row in self.plan.finishing if (row.cycle_id, row.step_ix) == (job.cycle_id, job.step_ix - 1)]
        ready = (self.finish_end(before[0]) if before else self.demold_end(cycle)) + step.rest_slots
        crews = self.crews([step.skill])
        others = [row for row in self.plan.finishing if row is not job]

        def can(slot: int) -> bool:
            return self.has_crew(crews, slot, step.slots) and any(
                self.has_bench(bench_id, slot, step.slots, step.watts, others)
                for bench_id in self.compiled.benches_of[step.bench_kind]
            )

        return self.soonest(job, job.start_slot, step.slots, ready, (job.operator_id,), can)

    def soonest(
        self, row: Row, planned: int, length: int, ready: int, crew: tuple[str, ...], can: Callable[[int], bool]
    ) -> int:
        """Take the job's own work out of everybody's time, and try each slot."""
        if planned < self.now:
            return planned + length
        if row.id in self.held or row.locked:
            ready = max(ready, planned)
        mine = planned, planned + length, crew
        self.others = [work for work in self.work if work != mine]
        self.others += [mine] * (self.work.count(mine) - 1)
        for slot in range(max(ready, 0), self.n_slots):
            inside = self.now <= slot and slot + length <= self.n_slots
            if slot == planned or (inside and can(slot)):
                return slot + length
        return BEYOND

    def before_in_chamber(self, row: Cycle | MoldChange) -> int:
        rows = [*self.plan.cycles, *self.plan.mold_changes]
        ends = [
            self.demold_end(other) if isinstance(other, Cycle) else self.change_end(other)
            for other in rows
            if other.chamber_id == row.chamber_id and other is not row and _span(other) < _span(row)
        ]
        return max(ends, default=0)

    def stock_slot(self, cycle: Cycle) -> int:
        """The first slot at which all cycles planned up to this one have what they use."""
        if cycle.charge_slot < 0:
            return 0
        key, uses = (cycle.charge_slot, cycle.id), self.compiled.uses
        first = [row for row in self.plan.cycles if row.charge_slot >= 0 and (row.charge_slot, row.id) <= key]
        for slot in range(self.n_slots):
            there = {
                item: sum(amount for at, amount in rows if at <= slot) for item, rows in self.compiled.supply.items()
            }
            if all(
                sum(uses(row.product_id, row.color, row.pieces).get(item, 0) for row in first) <= there[item]
                for item in uses(cycle.product_id, cycle.color, cycle.pieces)
            ):
                return slot
        return BEYOND

    def is_open(self, cycle: Cycle, slot: int, length: int, *, mold: bool = True) -> bool:
        place, copy = self.compiled.place_of[cycle.chamber_id].open, self.compiled.copy_open[cycle.mold]
        return all(place >> at & 1 and (not mold or copy >> at & 1) for at in range(slot, slot + length))

    def crews(self, skills: list[str]) -> list[tuple[str, ...]]:
        """All groups of different people who have the skills, in their order."""
        people = self.compiled.people
        return [
            crew for crew in permutations(people, len(skills))
            if all(skill in people[person].skills for skill, person in zip(skills, crew, strict=True))
        ]  # fmt: skip

    def has_crew(self, crews: list[tuple[str, ...]], slot: int, length: int) -> bool:
        free = {person for person in self.compiled.people if not length or self.is_free(person, slot, length)}
        return any(free.issuperset(crew) for crew in crews)

    def is_free(self, person: str, slot: int, length: int) -> bool:
        if not any(w.start <= slot and slot + length <= w.end for w in self.compiled.windows[person]):
            return False
        most = self.compiled.people[person].jobs_at_once
        return all(
            sum(start <= at < end and person in crew for start, end, crew in self.others) < most
            for at in range(slot, slot + length)
        )

    def has_bench(self, bench_id: str, slot: int, length: int, watts: int, others: list[FinishJob]) -> bool:
        compiled, unit_ix = self.compiled, self.compiled.bench_unit[bench_id]
        down = compiled.down(ResourceKind.YARD, "") | compiled.down(ResourceKind.BENCH, bench_id)
        if any(down >> at & 1 for at in range(slot, slot + length)):
            return False
        if any(row.bench_id == bench_id and row.start_slot < slot + length and slot < row.end_slot for row in others):
            return False
        drawn = dict.fromkeys(range(self.n_slots), 0)
        for at, more in [*self.draws(unit_ix, others), *((at, watts) for at in range(slot, slot + length))]:
            drawn[at] += more
        return all(drawn[at] <= compiled.finish_watts[unit_ix][at] for at in range(slot, slot + length)) and all(
            not watts
            or not max(min(after, slot + length) - max(first, slot), 0)
            or sum(drawn[at] for at in range(first, after)) <= compiled.span_watt_slots[unit_ix][span]
            for span, (first, after) in compiled.energy_spans
        )

    def draws(self, unit_ix: int, jobs: list[FinishJob]) -> Iterator[tuple[int, int]]:
        for job in jobs:
            if self.compiled.bench_unit[job.bench_id] == unit_ix:
                step = self.compiled.makes[self.cycles[job.cycle_id].product_id].steps[job.step_ix]
                yield from ((at, step.watts) for at in range(max(job.start_slot, 0), min(job.end_slot, self.n_slots)))


def _span(row: Cycle | MoldChange) -> tuple[int, int, str, str]:
    is_cycle = isinstance(row, Cycle)
    start = row.charge_slot if is_cycle else row.start_slot
    return start, row.end_slot, "charge" if is_cycle else "change", row.id
