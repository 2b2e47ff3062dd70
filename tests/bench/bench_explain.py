"""Ten questions about the demo yard: what Explain measures, and what solving the changed yard fresh says.

    python -m tests.bench.bench_explain [--work 4] [--fresh-seconds 20]

Explain searches on from one plan, with the same work for each question, and tells how much more search alone still
brings. A fresh search begins with nothing; of the unchanged yard and of each changed one the median of three seeds
counts, and the spread of the unchanged ones says how small an effect it can tell: two such medians differ by chance by
about half of it. An answer is confirmed where both find an effect on the cost of the same sign beyond what each can
tell, contradicted where the signs differ, else too small for a fresh search to tell. Nothing is asserted.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import os
from collections import Counter
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


SEEDS = (0, 1, 2)


def fresh(problem: Problem, limits: Limits) -> SolveOutcome:
    return solve(problem, limits, Stop(), lambda progress: None)


def sign_of(effect: float, least: float) -> int:
    """Return -1 or 1 for an effect beyond the least that can be told, else 0."""
    return 0 if abs(effect) <= least else 1 if effect > 0 else -1


def told(problem: Problem, outcome: SolveOutcome) -> tuple[float, int, float]:
    """Cost in millions, pieces missing, weighted days late."""
    missing = sum(row.pieces_missing for row in order_results(outcome.plan, problem.orders, problem.yard))
    late = outcome.parts.promised_late_slots + outcome.parts.other_late_slots
    return outcome.parts.cost / 1e6, missing, late / 288


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--work", type=float, default=4.0)
    parser.add_argument("--fresh-seconds", type=float, default=20.0)
    options = parser.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start; cost in millions", flush=True)
    with TemporaryDirectory() as folder:
        database = open_database(make_demo(Path(folder) / "demo.sqlite"))
        try:
            measure(database, options.work, options.fresh_seconds)
        finally:
            database.close()
    print(f"load {os.getloadavg()[0]:.1f} at the end")


def measure(database: Database, work: float, fresh_seconds: float) -> None:
    began = perf_counter()
    outlook = make_outlook(database, now=yard_now(database))
    problem = problem_of(outlook)
    limits = Limits(seconds=None, work=work)
    base = settle(problem, fresh(problem, Limits(seconds=None, work=PLAN_WORK)).plan, limits, Stop())
    cost, missing, late = told(problem, base.second)
    print(f"unchanged, searched on: cost {cost:.2f}, {missing} pieces missing, {late:.1f} weighted days late")
    least = abs(base.search_cost_less) / 1e6
    print(f"the last search alone took off {least:.2f}", flush=True)
    by_seed = [Limits(seconds=fresh_seconds, seed=seed) for seed in SEEDS]
    costs = sorted(told(problem, fresh(problem, each))[0] for each in by_seed)
    fresh_least = costs[-1] - costs[0]
    print(f"unchanged, fresh: cost {', '.join(f'{one:.2f}' for one in costs)}, spread {fresh_least:.2f}")
    print(f"{'question':34} | explain: cost, pieces, days, order | fresh: cost, order | answer")
    answers = Counter[str]()
    for order_id, text in QUESTIONS:
        change = change_of(text, outlook.grid)
        changed = changed_problem(database, outlook, (change,))
        start = laid_alone(changed, base.first.plan, order_id)
        effect = effect_of(base, change, changed, tried(base, changed, limits, Stop(), start), order_id)
        again = sorted((fresh(changed, each) for each in by_seed), key=lambda outcome: outcome.parts.cost)
        mine, gain = effect.cost_less / 1e6, median(costs) - told(changed, again[1])[0]
        signs = sign_of(mine, least) * sign_of(gain, fresh_least)
        answer = {1: "confirmed", -1: "contradicted", 0: "too small to tell"}[signs]
        answers[answer] += 1
        print(
            f"{order_id} with {text:22} | {mine:7.2f} {effect.all_pieces_more:3} {effect.late_days_less:6.1f} "
            f"{_order(effect.result)} | {gain:7.2f} {_order(result_of(changed, again[1].plan, order_id))} | {answer} "
            f"({perf_counter() - began:.0f} s)",
            flush=True,
        )
    print(", ".join(f"{count} {answer}" for answer, count in answers.items()))


def _order(result: OrderResult | None) -> str:
    if result is None:
        return "-"
    return f"{result.pieces_missing} missing" if result.pieces_missing else f"{result.late_slots / 12:.0f} h late"


if __name__ == "__main__":
    main()
