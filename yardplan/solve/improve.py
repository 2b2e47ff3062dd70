"""Large-neighborhood search: lay a part of the plan anew, keep it if the plan costs no more, go on."""

from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from time import perf_counter

from yardplan.domain.plan import Plan
from yardplan.solve.compiled import Compiled
from yardplan.solve.ends import RELAYED, lay_again
from yardplan.solve.freed import Freed, Timeline
from yardplan.solve.goal import Costing
from yardplan.solve.model.build import build, hint, read_solution, solver_for
from yardplan.solve.neighborhoods import MODELED, View, blame_of
from yardplan.solve.pools import Pools, name_people
from yardplan.solve.stopping import Stop

SOLVE_SECONDS = 0.8
SOLVE_WORK = 0.3
"""What a sub-problem may take; the second in CP-SAT's deterministic units."""

BUILD_WORK = 0.002
"""What building a model counts for each cycle that is free."""

LAY_WORK = 0.0003
"""What a dispatch rule counts for each cycle of the plan that it lays, in CP-SAT's deterministic units."""

LEAST_SHARE = 0.04
"""Share of the time that each neighborhood gets though it brings nothing."""

MEMORY = 0.9
"""How much of what a neighborhood is known to bring stays known after one more try."""


@dataclass
class Kind:
    """A neighborhood with what it has brought so far: `worth` is its usual gain in millionths of cost by work."""

    name: str
    size: int = 14
    calls: int = 0
    hits: int = 0
    gain: int = 0
    work: float = 0.0
    recent_gain: float = 0.0
    recent_work: float = 0.0

    def learn(self, gain: int, before: int, work: float) -> None:
        """Count a try."""
        self.calls += 1
        self.hits += gain > 0
        self.gain += gain
        self.work += work
        self.recent_gain = MEMORY * self.recent_gain + gain / max(before, 1)
        self.recent_work = MEMORY * self.recent_work + work


@dataclass(frozen=True)
class Stint:
    """What one stretch of work came to: the best plan, its cost, and the deterministic work spent."""

    plan: Plan
    cost: int
    work: float


class Improver:
    """One worker's search; the same calls give the same plans where the time is not measured.

    Parameters
    ----------
    seed : int
        Each worker of a search has its own.
    timed : bool
        Whether the clock ends what takes long; else work alone does.
    opening : float
        Work to spend on laying plans all anew before the best of them is improved; seconds where it is timed.
    """

    def __init__(self, compiled: Compiled, stop: Stop, seed: int, *, timed: bool, opening: float) -> None:
        self.compiled, self.stop, self.timed, self.opening = compiled, stop, timed, opening
        self.pools, self.costing = Pools(compiled), Costing(compiled.problem)
        self.rng = Random(seed)
        self.kinds = {name: Kind(name) for name in (*MODELED, *RELAYED)}
        self.steps, self.spent = 0, 0.0
        self.plan: Plan | None = None
        self.mark = f"{seed}."

    def stint(self, plan: Plan, is_over: Callable[[float], bool]) -> Stint:
        """Search on from a plan until the work spent, or the time, is enough."""
        best, cost, work = plan, self.costing.parts(plan).cost, 0.0
        while not is_over(work) and not self.stop.is_requested:
            kind = self._choose()
            found, spent = self._try(kind, best, cost)
            work += spent
            self.spent += spent
            gain = 0
            if found is not None:
                new = self.costing.parts(found).cost
                if new <= cost:
                    gain = cost - new
                    best, cost = found, new
            kind.learn(gain, cost + gain, spent)
        self.plan = best
        return Stint(best, cost, work)

    def _choose(self) -> Kind:
        """Draw a neighborhood, so that the time goes where a unit of it brings most."""
        if self.spent < self.opening:
            return self.kinds["all anew"]
        kinds = list(self.kinds.values())
        fresh = [kind for kind in kinds if not kind.calls]
        if fresh:
            return self.rng.choice(fresh)
        yields = [kind.recent_gain / kind.recent_work for kind in kinds]
        total = sum(yields) or 1.0
        shares = [each / total + LEAST_SHARE for each in yields]
        calls = [share / kind.work * kind.calls for share, kind in zip(shares, kinds, strict=True)]
        return self.rng.choices(kinds, weights=calls)[0]

    def _try(self, kind: Kind, plan: Plan, cost: int) -> tuple[Plan | None, float]:
        """Lay a part of a plan anew; returns the new plan, None if nothing as good was found, and the work."""
        self.steps += 1
        mark, began = f"{self.mark}{self.steps}.", perf_counter()
        view = View(Timeline(self.compiled, plan), self.rng, kind.size, blame_of(self.compiled, plan))
        if kind.name in RELAYED:
            relay = RELAYED[kind.name](view)
            found = lay_again(self.compiled, relay, mark, cost)
            work = LAY_WORK * (len(plan.cycles) - len(relay.base.cycles) + 10)
        else:
            found, work = self._solve(kind, MODELED[kind.name](view), mark)
        return found, perf_counter() - began if self.timed else work

    def _solve(self, kind: Kind, part: Freed, mark: str) -> tuple[Plan | None, float]:
        model = build(self.compiled, self.pools, part)
        work = BUILD_WORK * (sum(len(row.cycles) for row in part.rows) + len(part.loose))
        if (not model.steps and not any(model.rows)) or not hint(model):
            return None, work + 0.01
        solver = solver_for(SOLVE_SECONDS if self.timed else None, SOLVE_WORK, self.rng.randrange(2**30))
        with self.stop.watching(solver):
            status = solver.solve(model.cp)
        solution = read_solution(model, solver, status, mark)
        kind.size = min(kind.size + 1, 40) if solution.is_best else max(kind.size - 1, 4)
        return solution.plan, work + solution.work


def merged(pools: Pools, base: Plan, now: Plan, other: Plan) -> Plan | None:
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
    return name_people(pools, Plan(base.grid, *rows))
