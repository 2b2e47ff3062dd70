"""How good plans get, and how fast: the search beside the dispatch rules on invented weeks, run on demand.

    python -m tests.bench.bench_planner [--units 6] [--days 7] [--sky mixed] [--load 0.95] [--seeds 0 1 2 3 4]
                                        [--people 2] [--seconds 60] [--output]

Prints for each seed the time of the first checked plan, what the three rules cost, the cost over time as a share of
the best rule, weighted lateness beside that of the rules, the bound and the gap; then medians and worst over the
seeds, and the memory of this process and the largest worker. With --output only missing pieces cost, so that the
search goes for output and the bound tells the most that heat and molds allow; ask for more than that (--load 1.5) and
have people enough (--people 4). Every plan told is checked anew. Figures are printed, not asserted.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import os
import resource
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from tests.bench.weeks import SKIES, week
from yardplan.domain.outcome import GoalParts, Progress
from yardplan.domain.problem import GoalWeights, Problem
from yardplan.solve.beam_days import beam_days
from yardplan.solve.bookings import Bookings
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.goal import goal_parts
from yardplan.solve.run import Limits, Stop, solve

OUTPUT = GoalWeights(
    promised_late=0,
    other_late=0,
    mold_change=0,
    clean_down=0,
    overtime=0,
    evening=0,
    slack=0,
    missing_piece_share=50_000,
)
"""Only missing pieces cost."""

MARKS_S = (2, 5, 10, 30, 60, 120, 180, 600)


@dataclass(frozen=True)
class Figures:
    """What one week came to."""

    first_s: float
    share: float
    gap: float
    late_share: float
    output_share: float


def lateness(parts: GoalParts, weights: GoalWeights) -> int:
    """Return the weighted lateness: promised and other slots late, and what is missing."""
    late = weights.promised_late * parts.promised_late_slots + weights.other_late * parts.other_late_slots
    return late + weights.missing_piece_share * parts.missing_thousandths


def most_heats(problem: Problem, compiled: Compiled) -> float:
    """Return how many heats the beams and chambers allow at most, whatever is heated."""
    days = beam_days(compiled, Bookings(compiled, problem.kept))
    return float(days.best(np.ones(days.cook.shape))[0].sum())


def measure(seed: int, options: argparse.Namespace) -> Figures:
    problem = week(seed, options.units, options.load, options.days, options.sky, options.people)
    if options.output:
        problem = replace(problem, weights=OUTPUT)
    compiled = Compiled(problem)
    rules = {manner.name: goal_parts(problem, dispatch(compiled, manner)) for manner in MANNERS}
    best = min(parts.cost for parts in rules.values())
    told: list[Progress] = []
    outcome = solve(problem, Limits(options.seconds, seed=seed), Stop(), told.append)
    for progress in told:
        assert check(problem, progress.plan) == ()
    assert check(problem, outcome.plan) == ()
    marks = [mark for mark in MARKS_S if mark < options.seconds]
    at = {mark: min((p.parts.cost for p in told if p.seconds <= mark), default=0) for mark in marks}
    cavities = [compiled.molds[line.make.product.mold_ids[0]].cavities for line in compiled.lines]
    asked = sum(-(-line.order.quantity // each) for line, each in zip(compiled.lines, cavities, strict=True))
    weights, parts = problem.weights, outcome.parts
    late = {name: lateness(each, weights) for name, each in rules.items()}
    print(f"seed {seed}: {len(problem.orders)} orders, {asked} cycles asked", end="")
    print(
        f", heat allows {most_heats(problem, compiled):.0f} of the shortest; first checked plan {told[0].seconds:.2f} s"
    )
    print("  rules:", ", ".join(f"{name} {each.cost:,}" for name, each in rules.items()))
    print("  share of the best rule:", ", ".join(f"{mark} s {cost / best:.1%}" for mark, cost in at.items()), end="")
    print(f", {outcome.seconds:.0f} s {parts.cost / best:.1%}")
    print("  weighted lateness as a share of", end=" ")
    print(", ".join(f"{name} {lateness(parts, weights) / max(each, 1):.1%}" for name, each in late.items()))
    print(f"  {outcome.status}, cost {parts.cost:,}, bound {outcome.bound:,}, gap {outcome.gap_frac:.1%}")
    print(f"  {parts}")
    print(f"  {len(outcome.plan.cycles)} cycles, {len(outcome.plan.finishing)} finishing jobs", flush=True)
    whole = sum(weights.missing_piece_share * order.priority * 1000 for order in problem.orders)
    output = (whole - weights.missing_piece_share * parts.missing_thousandths) / (whole - outcome.bound)
    least = min(late.values())
    return Figures(
        told[0].seconds, parts.cost / best, outcome.gap_frac, lateness(parts, weights) / max(least, 1), output
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--units", type=int, default=6)
    parser.add_argument("--days", type=int, default=7)
    parser.add_argument("--sky", choices=SKIES, default="mixed")
    parser.add_argument("--load", type=float, default=0.95)
    parser.add_argument("--seeds", type=int, nargs="+", default=[0, 1, 2, 3, 4])
    parser.add_argument("--people", type=int, default=2)
    parser.add_argument("--output", action="store_true")
    parser.add_argument("--seconds", type=float, default=60.0)
    options = parser.parse_args()
    print(
        f"{options.units} units, {options.days} days, {options.sky}, load {options.load}, {options.seconds:.0f} s;",
        end=" ",
    )
    print(f"{os.cpu_count()} cores, load of the machine {os.getloadavg()[0]:.1f} at the start", flush=True)
    found = [measure(seed, options) for seed in options.seeds]
    for name, values in (
        ("first checked plan [s]", [each.first_s for each in found]),
        ("cost as a share of the best rule", [each.share for each in found]),
        ("weighted lateness as a share of the best rule", [each.late_share for each in found]),
        ("gap", [each.gap for each in found]),
    ):
        print(f"{name}: median {median(values):.3f}, worst {max(values):.3f} of {len(found)} seeds")
    if options.output:
        shares = [each.output_share for each in found]
        print(f"weighted output as a share of the bound: median {median(shares):.3f}, worst {min(shares):.3f}")
    usage = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    own, worker = (each.ru_maxrss / 1024 for each in usage)
    workers = resource.getrusage(resource.RUSAGE_CHILDREN)
    print(f"peak memory {own:.0f} MB, largest worker {worker:.0f} MB", end="; ")
    print(f"workers' CPU time {workers.ru_utime + workers.ru_stime:.0f} s")
    print(f"load of the machine {os.getloadavg()[0]:.1f} at the end")


if __name__ == "__main__":
    main()
