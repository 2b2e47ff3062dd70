"""A search stopped at random moments: is there always a checked plan, how soon, and is nothing left behind?

    python -m tests.bench.bench_stops [--times 200] [--units 3] [--within 6]

Ends with an error at the first stop that gives no checked plan or leaves a process or thread.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import multiprocessing
import os
import threading
from collections import Counter
from random import Random
from statistics import median
from threading import Timer
from time import perf_counter

from tests.bench.weeks import week
from yardplan.domain.problem import Problem
from yardplan.solve.check import check
from yardplan.solve.run import Limits, Stop, solve


def stopped(problem: Problem, after_s: float, seed: int) -> tuple[str, float]:
    """Stop a search so long after its beginning; returns how it calls itself, and the seconds from stop to plan."""
    stop, asked = Stop(), [0.0]

    def ask() -> None:
        asked[0] = perf_counter()
        stop.request()

    timer = Timer(after_s, ask)
    timer.start()
    outcome = solve(problem, Limits(after_s + 60, seed=seed), stop, lambda progress: None)
    answered = perf_counter()
    timer.cancel()
    timer.join()
    broken = check(problem, outcome.plan)
    if broken:
        raise SystemExit(f"stopped after {after_s:.2f} s, seed {seed}: {broken[0].text}")
    return str(outcome.status), answered - asked[0]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--units", type=int, default=3)
    parser.add_argument("--within", type=float, default=6.0, help="Seconds in which the stop falls.")
    options = parser.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start")
    problem, random = week(0, options.units), Random(0)
    threads = set(threading.enumerate())
    waits, states = [], Counter[str]()
    for time_ix in range(options.times):
        status, wait_s = stopped(problem, random.uniform(0, options.within), time_ix)
        waits.append(wait_s)
        states[status] += 1
        left = [*multiprocessing.active_children(), *(set(threading.enumerate()) - threads)]
        if left:
            raise SystemExit(f"left after stop {time_ix + 1}: {left}")
    print(
        f"{options.times} stops within {options.within:g} s, {options.units} units, each a checked plan: {dict(states)}"
    )
    print(f"from stop to plan: median {median(waits):.2f} s, longest {max(waits):.2f} s; no process or thread left")


if __name__ == "__main__":
    main()
