"""How long quotes take, and whether they hold: ``python -m tests.bench.bench_quote [--quotes 50] [--confidence 0.5]``.

Six units are planned whose orders take most of the first of two weeks, about 300 cycles; then as many different
quotes are asked, each for three confidences with what limits it and what would help. Of dates quoted at the confidence
of the plan, P50 unless said otherwise, the order is then planned for real: the planner gets it beside the plan,
promised for the quoted time, and the checked outcome is looked at. Nothing is asserted.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import os
from dataclasses import replace
from statistics import median, quantiles
from time import perf_counter

import numpy as np

from tests.bench.weeks import COLORS, week
from tests.solve.test_quote import skies_of
from yardplan.domain.orders import Order
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.quotes import Wish
from yardplan.domain.tables import CookTable
from yardplan.solve.quote import Book
from yardplan.solve.run import Limits, Stop, solve


def with_three_confidences(problem: Problem) -> Problem:
    """The same week with cooks 10 % shorter at P50 and 20 % longer at P95."""
    cook = problem.cook
    slots, cool = cook.cook_slots[0], cook.cool_slots[0]
    short = np.where(slots > 0, np.maximum(np.ceil(0.9 * slots), 1), 0).astype(np.int32)
    long = np.where((slots > 0) & (slots < 36), np.ceil(1.2 * slots), 0).astype(np.int32)
    cools = [np.where(one > 0, cool, 0) for one in (short, slots, long)]
    table = CookTable(
        cook.grid, cook.recipes, cook.unit_ids, (0.5, 0.8, 0.95), np.stack([short, slots, long]), np.stack(cools),
        cook.heat_kwh,
    )  # fmt: skip
    return replace(problem, cook=table)


def confirmed(problem: Problem, plan: Plan, wish: Wish, told_at: object, seconds: float) -> bool:
    """Plan all orders and the new one for real, from the plan on; tell whether it is ready when it was said to be."""
    order = Order("NEW", "", wish.product_id, wish.color, wish.quantity, told_at, told_at, 9)
    asked = replace(problem, orders=(*problem.orders, order))
    outcome = solve(asked, Limits(seconds), Stop(), lambda _: None, start=plan)
    result = order_results(outcome.plan, asked.orders, asked.yard)[-1]
    return result.finish_slot is not None and problem.grid.at(result.finish_slot) <= told_at


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quotes", type=int, default=50)
    parser.add_argument("--confirm", type=int, default=20)
    parser.add_argument("--plan-seconds", type=float, default=10.0)
    parser.add_argument("--load", type=float, default=0.42)
    parser.add_argument("--days", type=int, default=14)
    parser.add_argument("--confidence", type=float, default=0.5)
    options = parser.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start")
    problem = with_three_confidences(week(0, load=options.load, days=options.days))
    problem = replace(problem, confidence=options.confidence)
    plan = solve(problem, Limits(options.plan_seconds), Stop(), lambda _: None).plan
    print(f"{len(plan.cycles)} cycles, {len(plan.finishing)} finishing jobs, {len(problem.orders)} orders")
    began = perf_counter()
    book = Book(problem, plan, skies_of(problem))
    print(f"the order book laid once, replayed under 20 skies: {perf_counter() - began:.2f} s")
    rng = np.random.default_rng(7)
    took, told = [], []
    products = [row.id for row in problem.yard.products]
    for _ in range(options.quotes):
        wish = Wish(str(rng.choice(products)), str(rng.choice(COLORS)), int(rng.integers(1, 13)))
        began = perf_counter()
        dates = book.dates([wish])
        took.append(perf_counter() - began)
        told.append((wish, dates))
    print(f"quote, three confidences with limit and helps: median {median(took):.3f} s, ", end="")
    print(f"9 of 10 within {quantiles(took, n=10)[-1]:.3f} s, longest {max(took):.3f} s")
    inside = [
        (wish, row.ready_at) for wish, dates in told if (row := dates.at(options.confidence)).ready_at is not None
    ]
    print(f"P{100 * options.confidence:.0f} date within these weeks: {len(inside)} of {options.quotes}")
    chosen = inside[: options.confirm]
    kept = sum(confirmed(problem, plan, wish, told_at, options.plan_seconds) for wish, told_at in chosen)
    print(f"planned for real: reached in {kept} of {len(chosen)}; load {os.getloadavg()[0]:.1f} at the end")


if __name__ == "__main__":
    main()
