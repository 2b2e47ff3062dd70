"""Ten questions about the demo yard: what Explain measures, and what solving the changed yard fresh says.

    python -m tests.bench.bench_explain [--work 2] [--fresh-work 5]

Explain searches on from one plan, with the same work for each question. A fresh search begins with nothing: once for
each changed yard, and with three seeds for the unchanged one, whose spread says what a fresh search can tell at all.
An answer is confirmed if the two effects on the cost differ by no more than that spread, or have the same sign and are
both beyond it. Nothing is asserted.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import os
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter

from yardplan.domain.outcome import SolveOutcome
from yardplan.domain.plan import OrderResult, order_results
from yardplan.domain.problem import Problem
from yardplan.exchange.change_words import change_of
from yardplan.solve.effects import laid_alone, settle, tried
from yardplan.solve.run import Limits, Stop, solve
from yardplan.store.engine import Database, open_database
from yardplan.usecases.clock import yard_now
from yardplan.usecases.demo import make_demo
from yardplan.usecases.explaining import effect_of, result_of
from yardplan.usecases.outlook import make_outlook
from yardplan.usecases.planning import problem_of
from yardplan.usecases.what_if import changed_problem

PLAN_WORK = 5.0
QUESTIONS = (
    ("Y-1004", "unit U5"),
    ("Y-1004", "copy M04"),
    ("Y-1008", "copy M01"),
    ("Y-1006", "copy M02"),
    ("Y-1006", "operator day"),
    ("Y-1004", "operator late"),
    ("Y-1006", "overtime friday"),
    ("Y-1004", "clear wednesday"),
    ("Y-1004", "confidence 0.5"),
    ("Y-1008", "order Y-1004 quantity=12"),
)


def fresh(problem: Problem, work: float, seed: int = 0) -> SolveOutcome:
    return solve(problem, Limits(seconds=None, work=work, seed=seed), Stop(), lambda progress: None)


def told(problem: Problem, outcome: SolveOutcome) -> tuple[float, int, float]:
    """Cost in millions, pieces missing, weighted days late."""
    missing = sum(row.pieces_missing for row in order_results(outcome.plan, problem.orders, problem.yard))
    late = outcome.parts.promised_late_slots + outcome.parts.other_late_slots
    return outcome.parts.cost / 1e6, missing, late / 288


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--work", type=float, default=2.0)
    parser.add_argument("--fresh-work", type=float, default=5.0)
    options = parser.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start; cost in millions", flush=True)
    with TemporaryDirectory() as folder:
        database = open_database(make_demo(Path(folder) / "demo.sqlite"))
        try:
            measure(database, options.work, options.fresh_work)
        finally:
            database.close()
    print(f"load {os.getloadavg()[0]:.1f} at the end")


def measure(database: Database, work: float, fresh_work: float) -> None:
    began = perf_counter()
    outlook = make_outlook(database, now=yard_now(database))
    problem = problem_of(outlook)
    base = settle(problem, fresh(problem, PLAN_WORK).plan, Limits(seconds=None, work=work), Stop())
    cost, missing, late = told(problem, base.second)
    print(f"unchanged, searched on: cost {cost:.2f}, {missing} pieces missing, {late:.1f} weighted days late")
    print(f"the last search alone took off {base.search_cost_less / 1e6:.2f}", flush=True)
    unchanged = [told(problem, fresh(problem, fresh_work, seed)) for seed in range(3)]
    costs = [row[0] for row in unchanged]
    spread = max(costs) - min(costs)
    middle = [median(row[ix] for row in unchanged) for ix in range(3)]
    print(f"unchanged, fresh, three seeds: cost {', '.join(f'{one:.2f}' for one in costs)}, spread {spread:.2f}")
    print(f"{'question':34} | explain: cost, pieces, days, order | fresh: cost, pieces, days, order | confirmed")
    for order_id, text in QUESTIONS:
        change = change_of(text, outlook.grid)
        changed = changed_problem(database, outlook, (change,))
        start = laid_alone(changed, base.first.plan, order_id)
        found = tried(base, changed, Limits(seconds=None, work=work), Stop(), start)
        effect = effect_of(base, change, changed, found, order_id)
        again = fresh(changed, fresh_work)
        gains = [was - now for was, now in zip(middle, told(changed, again), strict=True)]
        mine = effect.cost_less / 1e6
        alike = abs(mine - gains[0]) <= spread or (mine * gains[0] > 0 and min(abs(mine), abs(gains[0])) > spread)
        print(
            f"{order_id} with {text:22} | {mine:7.2f} {effect.all_pieces_more:3} {effect.late_days_less:6.1f} "
            f"{_order(effect.result)} | {gains[0]:7.2f} {gains[1]:3.0f} {gains[2]:6.1f} "
            f"{_order(result_of(changed, again.plan, order_id))} | {'yes' if alike else 'no'} "
            f"({perf_counter() - began:.0f} s)",
            flush=True,
        )


def _order(result: OrderResult | None) -> str:
    if result is None:
        return "-"
    return f"{result.pieces_missing} missing" if result.pieces_missing else f"{result.late_slots / 12:.0f} h late"


if __name__ == "__main__":
    main()
