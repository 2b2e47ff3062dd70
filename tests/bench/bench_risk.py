"""How fast a plan is replayed under all skies: invented weeks laid by a dispatch rule, run on demand.

    python -m tests.bench.bench_risk [--units 6] [--scenarios 200] [--seeds 0 1 2 3 4]

Prints for each seed the wall time, what the tables of single skies take, and how the chances lie. Nothing is asserted.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import os
import resource
from statistics import median
from time import perf_counter

import numpy as np

from tests.bench.weeks import week
from yardplan.domain.problem import Problem
from yardplan.domain.tables import SkyCooks
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.risk import plan_risk


def skies(problem: Problem, n_scenarios: int, seed: int) -> SkyCooks:
    """Lengthen and shorten the week's cooks so that about the planning confidence of the skies keep to the table.

    Each sky has one factor for each day, so that its cooks of a day go together.
    """
    rng = np.random.default_rng(seed)
    cook = problem.cook
    slots = cook.cook_slots[cook.confidence_ix(problem.confidence)][..., None]
    factor = np.ones((problem.grid.n_slots, n_scenarios))
    for _, first, after in problem.grid.days:
        factor[first:after] = np.exp(rng.normal(-0.17, 0.2, n_scenarios))
    start = np.arange(problem.grid.n_slots)[:, None]
    end = np.where(slots > 0, start + np.ceil(slots * factor), 0)
    found = np.maximum.accumulate(end, axis=2) - start
    found[(slots == 0) | (found > 42)] = 0
    cool = cook.cool_slots[cook.confidence_ix(problem.confidence)][..., None]
    return SkyCooks(problem.grid, cook.recipes, cook.unit_ids, found, np.where(found > 0, cool, 0))


def main() -> None:
    """Lay a week for each seed, replay it, print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--units", type=int, default=6)
    parser.add_argument("--scenarios", type=int, default=200)
    parser.add_argument("--seeds", type=int, nargs="+", default=[0, 1, 2, 3, 4])
    options = parser.parse_args()
    print(f"{options.units} units, {options.scenarios} skies; {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    walls = []
    for seed in options.seeds:
        problem = week(seed, options.units)
        plan = dispatch(Compiled(problem), MANNERS[-1])
        cooks = skies(problem, options.scenarios, seed)
        began = perf_counter()
        risk = plan_risk(problem, plan, cooks)
        walls.append(perf_counter() - began)
        chances = sorted(row.chance_frac for row in risk.orders if row.chance_frac is not None)
        print(
            f"seed {seed}: {len(plan.cycles)} cycles, {len(plan.finishing)} finishing jobs: {walls[-1]:.2f} s; tables "
            f"{(cooks.cook_slots.nbytes + cooks.cool_slots.nbytes) / 1e6:.0f} MB; chances: "
            + ", ".join(f"{name} {chances[int(share * (len(chances) - 1))]:.2f}" for name, share in
                        (("least", 0), ("quarter", 0.25), ("middle", 0.5), ("most", 1)))
            + f"; all promised on time {risk.promised_frac:.2f}"
        )  # fmt: skip
    print(f"median {median(walls):.2f} s, worst {max(walls):.2f} s")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
