"""Large-neighborhood search: lay a part of the plan anew, keep it if the plan costs no more, go on."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from random import Random
from time import perf_counter

from yardplan.domain.plan import Plan
from yardplan.solve.compiled import Compiled
from yardplan.solve.freed import Freed, Timeline
from yardplan.solve.goal import Costing
from yardplan.solve.model.build import build, hint, read_solution, solver_for
from yardplan.solve.neighborhoods import MODELED, RELAYED, View, blame_of, lay_again
from yardplan.solve.pools import Pools, name_people
from yardplan.solve.stopping import Stop

SOLVE_SECONDS = 0.8
SOLVE_WORK = 0.3
"""What a sub-problem may take; the second in CP-SAT's deterministic units."""

RELAYS = 4
"""How many ends a worker lays anew in one go where the time is not measured."""

RELAY_WORK = 0.1
"""What laying one end anew counts there, in CP-SAT's deterministic units."""

RELAY_SHARE = 0.6
"""How often the first worker lays ends anew: that is Python, and leaves the other core to the other workers' models."""


@dataclass
class Kind:
    """A neighborhood with what it has brought so far."""

    name: str
    size: int = 14
    calls: int = 0
    hits: int = 0
    gain: int = 0
    score: float = 1.0


@dataclass(frozen=True)
class Task:
    """One thing to try: a free part for a model, or (None) ends for dispatch rules."""

    kind: Kind
    part: Freed | None
    seed: int
    mark: str


@dataclass(frozen=True)
class Result:
    """What a task came to; `plan` is None if nothing as good was found."""

    task: Task
    plan: Plan | None
    work: float
    ended_early: bool


@dataclass
class Improver:
    """The search; see `improve`."""

    compiled: Compiled
    pools: Pools
    costing: Costing
    stop: Stop
    seed: int
    workers: int
    timed: bool
    kinds: dict[str, Kind] = field(default_factory=dict)
    rounds: int = 0
    work: float = 0.0

    def __post_init__(self) -> None:
        self.rng = Random(self.seed)
        self.kinds = {name: Kind(name) for name in (*MODELED, *RELAYED)}

    def round(self, plan: Plan, offer: Callable[[Plan], bool], executor: ThreadPoolExecutor) -> Plan:
        """Try one task a worker on the same plan, take what is good; returns the plan to go on with."""
        view = View(Timeline(self.compiled, plan), self.rng, 0, blame_of(self.compiled, plan))
        self.rounds += 1
        tasks = [self._task(view, number) for number in range(self.workers)]
        running = [executor.submit(self._run, task, plan) for task in tasks]
        self.stop.wait(running)
        now = plan
        for future in running:
            result = future.result()
            self.work += result.work
            now = self._take(result, plan, now, offer)
        return now

    def _task(self, view: View, number: int) -> Task:
        by_rule = number == 0 and self.rng.random() < RELAY_SHARE
        kinds = [kind for name, kind in self.kinds.items() if (name in RELAYED) == by_rule]
        kind = self.rng.choices(kinds, weights=[kind.score for kind in kinds])[0]
        view = View(view.timeline, view.rng, kind.size, view.blame)
        part = MODELED[kind.name](view) if kind.name in MODELED else None
        return Task(kind, part, self.rng.randrange(2**30), f"{self.rounds}.{number}.")

    def _run(self, task: Task, plan: Plan) -> Result:
        return self._relays(task, plan) if task.part is None else self._solve(task, task.part)

    def _relays(self, task: Task, plan: Plan) -> Result:
        """Lay ends anew, each on the best plan so far."""
        rng, began, count, best = Random(task.seed), perf_counter(), 0, plan
        least = self.costing.parts(plan).cost
        while not self.stop.is_requested:
            view = View(Timeline(self.compiled, best), rng, 0, blame_of(self.compiled, best))
            laid = lay_again(self.compiled, RELAYED[task.kind.name](view), f"{task.mark}{count}")
            cost = self.costing.parts(laid).cost
            if cost <= least:
                best, least = laid, cost
            count += 1
            if perf_counter() - began > SOLVE_SECONDS if self.timed else count == RELAYS:
                break
        work = perf_counter() - began if self.timed else RELAY_WORK * count
        return Result(task, None if best is plan else best, work, False)

    def _solve(self, task: Task, part: Freed) -> Result:
        model = build(self.compiled, self.pools, part)
        if (not model.steps and not any(model.rows)) or not hint(model):
            return Result(task, None, 0.01, True)
        solver = solver_for(SOLVE_SECONDS if self.timed else None, SOLVE_WORK, task.seed)
        with self.stop.watching(solver):
            status = solver.solve(model.cp)
        solution = read_solution(model, solver, status, task.mark)
        return Result(task, solution.plan, solution.work, solution.is_best)

    def _take(self, result: Result, base: Plan, now: Plan, offer: Callable[[Plan], bool]) -> Plan:
        kind, before = result.task.kind, self.costing.parts(now).cost
        kind.calls += 1
        taken = now
        if result.plan is not None:
            plan = result.plan if now is base else self._merged(base, now, result.plan)
            if plan is not None and self.costing.parts(plan).cost <= before and offer(plan):
                taken = plan
        gain = before - self.costing.parts(taken).cost
        kind.hits += gain > 0
        kind.gain += gain
        kind.score = max(0.8 * kind.score + 0.2 * (gain / max(before, 1) * 1000), 0.05)
        if result.task.part is not None:
            kind.size = min(kind.size + 1, 40) if result.ended_early else max(kind.size - 1, 4)
        return taken

    def _merged(self, base: Plan, now: Plan, other: Plan) -> Plan | None:
        """Return `now` with the change that led from `base` to `other`, None if both touch the same rows."""
        rows = []
        for part in ("cycles", "mold_changes", "finishing"):
            was = {row.id for row in getattr(base, part)}
            wanted = {row.id: row for row in getattr(other, part)}
            there = {row.id: row for row in getattr(now, part)}
            gone = was - set(wanted)
            if not gone <= set(there):
                return None
            added = [row for ident, row in wanted.items() if ident not in was]
            rows.append(tuple([row for ident, row in there.items() if ident not in gone] + added))
        cycles = {row.id for row in rows[0]}
        if any(job.cycle_id not in cycles for job in rows[2]):
            return None
        return name_people(self.pools, Plan(base.grid, *rows))
