"""How good plans get, and how fast: the search beside the dispatch rules on invented weeks, run on demand.

    python -m tests.bench.bench_planner [--units 6] [--seeds 0 1 2 3 4] [--seconds 60]

Prints for each seed the time of the first checked plan, the cost after 5, 10, 30 s and at the end as a share of the
best dispatch rule, the bound, the gap, and the memory; then the median over the seeds. Nothing is asserted.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import os
import resource
from statistics import median

from tests.bench.weeks import week
from yardplan.domain.outcome import Progress
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.goal import goal_parts
from yardplan.solve.run import Limits, Stop, solve


def measure(seed: int, n_units: int, seconds: float) -> float:
    problem = week(seed, n_units)
    compiled = Compiled(problem)
    rules = {manner.name: dispatch(compiled, manner) for manner in MANNERS}
    costs = {name: goal_parts(problem, plan).cost for name, plan in rules.items()}
    best = min(costs.values())
    told: list[Progress] = []
    outcome = solve(problem, Limits(seconds, seed=seed), Stop(), told.append)
    marks = [mark for mark in (5, 10, 30, 60, 120) if mark < seconds]
    at = {mark: min((p.parts.cost for p in told if p.seconds <= mark), default=0) for mark in marks}
    cavities = [compiled.molds[line.make.product.mold_ids[0]].cavities for line in compiled.lines]
    asked = sum(-(-line.order.quantity // each) for line, each in zip(compiled.lines, cavities, strict=True))
    print(
        f"seed {seed}: {len(problem.orders)} orders, {asked} cycles asked; first checked plan {told[0].seconds:.2f} s"
    )
    print("  rules:", ", ".join(f"{name} {cost:,}" for name, cost in costs.items()))
    print("  share of the best rule:", ", ".join(f"{mark} s {cost / best:.1%}" for mark, cost in at.items()), end="")
    print(f", {outcome.seconds:.0f} s {outcome.parts.cost / best:.1%}")
    print(f"  {outcome.status}, cost {outcome.parts.cost:,}, bound {outcome.bound:,}, gap {outcome.gap_frac:.1%}")
    print(f"  {outcome.parts}")
    print(f"  {len(outcome.plan.cycles)} cycles, {len(outcome.plan.finishing)} finishing jobs", flush=True)
    return outcome.parts.cost / best


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--units", type=int, default=6)
    parser.add_argument("--seeds", type=int, nargs="+", default=[0, 1, 2, 3, 4])
    parser.add_argument("--seconds", type=float, default=60.0)
    options = parser.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start")
    shares = [measure(seed, options.units, options.seconds) for seed in options.seeds]
    print(f"median share of the best rule {median(shares):.1%} over {len(shares)} seeds")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
