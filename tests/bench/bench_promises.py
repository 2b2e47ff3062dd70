"""Whether quoted dates are kept as often as they say: ``python -m tests.bench.bench_promises``.

Weeks are simulated on an invented yard of two units. The weeks of a typical year are halved: quotes know only the one
half, and the weather that comes is of the other. For each place, half and season a plan is laid, random quotes are
made on it, and the work of each is put into the plan as an order; then plan and order are replayed under weeks of
the half that was held out. Told is how often the order was ready by the instant quoted, beside the chance that the
quote gave it: that is more than its name where many skies end alike. Nothing is asserted.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import os
from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from time import perf_counter

import numpy as np

from tests.forecast.trials import year_of
from tests.small_yard import small_mold, small_yard
from yardplan.domain.equipment import Heliostat
from yardplan.domain.orders import Order
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.quotes import Wish
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import SkyCooks
from yardplan.domain.yard import Yard
from yardplan.forecast.electricity import power_table
from yardplan.forecast.scenarios import climatology
from yardplan.forecast.weather import HOURS, TypicalYear
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.quote import Book
from yardplan.solve.risk import replay
from yardplan.usecases.ahead import N_SCENARIOS, SPREAD_DAYS
from yardplan.usecases.outlook import heat_and_cooks

SHIFTS = 9
CONFIDENCES = (0.5, 0.8, 0.95)
WEEK_H = 168


def yard_of_two() -> Yard:
    """Two units with mirrors enough for a dull climate, rising from row to row, four molds, two products."""
    yard = small_yard(2, n_people=8)
    field = tuple(
        Heliostat(4.0 * (ix % 14) - 26.0, 12.0 + 4.0 * (ix // 14), 1.5 + ix // 14, 1.22, 1.83, 0.93)
        for ix in range(112)
    )
    units = tuple(replace(unit, field=field, target_up_m=4.0) for unit in yard.units)
    return replace(yard, units=units, molds=(small_mold("M1", copies=2), small_mold("M2", copies=2)))


def halved(year: TypicalYear, parity: int) -> TypicalYear:
    """Return a typical year in which weeks of the other half have the weather of the week beside them."""
    hour = np.arange(HOURS)
    week = hour // WEEK_H
    other = week % 2 != parity
    source = np.where(other, hour + np.where(week % 2, -WEEK_H, WEEK_H), hour) % HOURS
    weather = year.weather
    names = ("dni_w_m2", "ghi_w_m2", "dhi_w_m2", "temp_c", "wind_m_s", "gust_m_s", "cloud_frac")
    return replace(year, weather=replace(weather, **{name: getattr(weather, name)[source] for name in names}))


def orders_of(rng: np.random.Generator, grid: SlotGrid) -> tuple[Order, ...]:
    products, colors = ("TANK", "BIN"), ("sand", "black")
    return tuple(
        Order(
            f"Y-{ix}", "", str(rng.choice(products)), str(rng.choice(colors)), int(rng.integers(2, 7)),
            grid.at(288 * int(rng.integers(2, 7))), priority=int(rng.integers(1, 4)),
        )
        for ix in range(int(rng.integers(3, 8)))
    )  # fmt: skip


def simulate(
    place: str, parity: int, first_on: date, n_quotes: int, days: int, seed: int
) -> list[tuple[float, bool, float]]:
    """Return (confidence, kept, chance that was told) for each quote and each held-out week."""
    rng = np.random.default_rng(seed)
    yard = yard_of_two()
    grid = SlotGrid.of_days(first_on, days, yard.site.tz)
    year = year_of(place)
    heat, cook, known = heat_and_cooks(
        yard,
        climatology(yard.site, halved(year, parity), grid, n_scenarios=N_SCENARIOS, spread_days=SPREAD_DAYS),
        seed=0,
    )
    held_out = climatology(yard.site, halved(year, 1 - parity), grid, n_scenarios=SHIFTS, spread_days=SPREAD_DAYS)
    came: SkyCooks = heat_and_cooks(yard, held_out, seed=0)[2]
    problem = Problem(
        yard, orders_of(rng, grid), grid, cook, power_table(yard, heat, confidence=0.8), grid.start_at, 0.8, Plan(grid)
    )
    plan = dispatch(Compiled(problem), MANNERS[2])
    book = Book(problem, plan, known)
    found = []
    for _ in range(n_quotes):
        wish = Wish(str(rng.choice(["TANK", "BIN"])), str(rng.choice(["sand", "black"])), int(rng.integers(1, 9)))
        dates = book.dates([wish])
        if any(row.ready_at is None for row in dates.earliest):
            continue
        added = book.offer([wish], "NEW")
        whole = Plan(
            grid,
            (*plan.cycles, *(row.cycle for row in added)),
            (*plan.mold_changes, *(row.change for row in added if row.change)),
            (*plan.finishing, *(job for row in added for job in row.jobs)),
        )
        order = Order("NEW", "", wish.product_id, wish.color, wish.quantity, grid.end_at)
        asked = replace(problem, orders=(*problem.orders, order))
        finish = replay(asked, whole, came)[-1]
        for row in dates.earliest:
            told = grid.slot(row.ready_at)
            found += [(row.confidence, slot <= told, row.chance_frac or 0.0) for slot in finish.tolist()]
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--places", nargs="+", default=["Tucson", "Miami"])
    parser.add_argument("--dates", type=int, default=6)
    parser.add_argument("--quotes", type=int, default=6)
    parser.add_argument("--days", type=int, default=14)
    options = parser.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start")
    began = perf_counter()
    kept: dict[float, list[bool]] = defaultdict(list)
    chances: dict[float, list[float]] = defaultdict(list)
    weeks = 0
    for place in options.places:
        of_place: dict[float, list[bool]] = defaultdict(list)
        for parity in (0, 1):
            for ix in range(options.dates):
                first_on = date(2027, 2, 1) + timedelta(days=round(300 / options.dates * ix))
                rows = simulate(place, parity, first_on, options.quotes, options.days, seed=100 * parity + ix)
                weeks += SHIFTS
                for confidence, good, chance in rows:
                    of_place[confidence].append(good)
                    chances[confidence].append(chance)
        for confidence, goods in of_place.items():
            kept[confidence] += goods
        told = ", ".join(f"P{100 * c:.0f} {np.mean(of_place[c]):.1%}" for c in CONFIDENCES if of_place[c])
        print(f"{place}: kept {told}", flush=True)
    told = ", ".join(f"P{100 * c:.0f} {np.mean(kept[c]):.1%} of {len(kept[c])}" for c in CONFIDENCES)
    said = ", ".join(f"P{100 * c:.0f} {np.mean(chances[c]):.1%}" for c in CONFIDENCES)
    print(f"the quotes themselves gave their dates a chance of: {said}")
    print(f"{weeks} simulated weeks in {perf_counter() - began:.0f} s: kept {told}")


if __name__ == "__main__":
    main()
