"""A small problem given to the solver as a whole: its best plan, and a bound on all plans."""

from dataclasses import dataclass
from math import ceil

from yardplan.domain.plan import Plan
from yardplan.solve.compiled import Compiled
from yardplan.solve.freed import Freed, Timeline, free_part
from yardplan.solve.goal import kept_cost
from yardplan.solve.model.build import build, hint, read_solution, solver_for
from yardplan.solve.pools import Pools
from yardplan.solve.stopping import Stop

MOST_CYCLES = 30
"""Problems that ask for more cycles are left to the search in parts."""


@dataclass(frozen=True)
class WholeResult:
    """The best plan found (None: none), a cost that no plan can go below, and the deterministic work spent."""

    plan: Plan | None
    bound: int
    work: float


def is_small(compiled: Compiled) -> bool:
    """Tell whether a problem may be given to the solver as a whole."""
    asked = 0
    for line in compiled.lines:
        cavities = [compiled.molds[mold_id].cavities for mold_id in compiled.recipes[line.order.product_id]]
        if cavities:
            asked += max(-(-(line.order.quantity - line.kept_pieces) // min(cavities)), 0)
    return asked <= MOST_CYCLES


def solve_whole(
    compiled: Compiled,
    pools: Pools,
    plan: Plan,
    stop: Stop,
    *,
    seconds: float | None,
    work: float | None,
    workers: int,
    seed: int,
) -> WholeResult:
    """Lay the whole plan anew, but for kept work, from a plan that is known."""
    freed = free_part(
        Timeline(compiled, plan),
        lambda event: True,
        [place.id for place in compiled.places],
        molds=frozenset(compiled.copies),
        empty_rows=lambda chamber_id: True,
        free_finish=lambda cycle: True,
    )
    model = build(compiled, pools, freed, whole=True)
    known = hint(model)
    solver = solver_for(seconds, work, seed, workers)
    solver.parameters.interleave_search = seconds is None and workers > 1  # repeatable with any number of workers
    if stop.is_requested:
        return WholeResult(None, 0, 0.0)
    with stop.watching(solver):
        status = solver.solve(model.cp)
    solution = read_solution(model, solver, status, "w.")
    bound = 0
    # A plan that the model does not know would show that the model does not hold every plan.
    if known and holds_every_plan(compiled, freed):
        bound = ceil(solution.bound - 1e-6) + kept_cost(compiled.problem)
    return WholeResult(solution.plan, max(bound, 0), solution.work)


def holds_every_plan(compiled: Compiled, freed: Freed) -> bool:
    """Tell whether the whole model leaves no plan out, so that its bound holds for the problem.

    It may leave some out where kept work lies ahead of free time in a chamber (molds could come and go between), and
    where kept cycles of an order may be more than it needs (it is then finished before its last cycle).
    """
    kept_pieces: dict[str, set[int]] = {}
    for cycle in compiled.problem.kept.cycles:
        kept_pieces.setdefault(cycle.order_id, set()).add(cycle.pieces)
    for line in compiled.lines:
        sizes = {compiled.molds[mold_id].cavities for mold_id in line.make.product.mold_ids}
        kept = kept_pieces.get(line.order.id)
        if kept and (kept != sizes or line.kept_pieces - min(kept) >= line.order.quantity):
            return False
    chambers = [row.place.id for row in freed.rows]
    return len(set(chambers)) == len(chambers) and all(row.must_hang is None for row in freed.rows)
