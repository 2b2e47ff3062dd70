"""Whether months ahead agree with plans day by day: ``python -m tests.bench.bench_season [--products TANK-800 ...]``.

For the sunniest and the dullest month of the demo yard's typical year, the whole month is filled with a product under
the sky of each of its own days, one cycle after another within all rules, and what comes through finishing is counted.
Beside it stands what `yardplan season` tells for that month. Nothing is asserted.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import os
from datetime import date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

import numpy as np

from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import CookTable
from yardplan.domain.yard import Yard
from yardplan.forecast.electricity import power_table
from yardplan.forecast.scenarios import climatology
from yardplan.forecast.weather import TypicalYear
from yardplan.solve.season import Filler
from yardplan.store.engine import open_database
from yardplan.store.read import read_yard
from yardplan.usecases.clock import yard_now
from yardplan.usecases.demo import make_demo
from yardplan.usecases.outlook import heat_and_cooks
from yardplan.usecases.season import season
from yardplan.usecases.skies import stored_typical_year

WARM_UP_DAYS = 3


def month_problem(yard: Yard, year: TypicalYear, first_on: date) -> tuple[Problem, int]:
    """Return a month of a typical year under its own days, some days early, and its number of days."""
    n_days = ((first_on + timedelta(days=31)).replace(day=1) - first_on).days
    grid = SlotGrid.of_days(first_on - timedelta(days=WARM_UP_DAYS), n_days + WARM_UP_DAYS, yard.site.tz)
    heat, cook, _ = heat_and_cooks(yard, climatology(yard.site, year, grid, n_scenarios=1), seed=0)
    power = power_table(yard, heat, confidence=0.5)
    table = CookTable(
        grid, cook.recipes, cook.unit_ids, (0.5,), cook.cook_slots[:1], cook.cool_slots[:1], cook.heat_kwh
    )
    return Problem(yard, (), grid, table, power, grid.start_at, 0.5, Plan(grid)), n_days


def grid_start(on: date, yard: Yard) -> datetime:
    return SlotGrid.of_days(on, 1, yard.site.tz).start_at


def sunshine(yard: Yard, year: TypicalYear, first_on: date) -> float:
    """Return the share of a cloudless sky's direct light that a month has."""
    grid = SlotGrid.of_days(first_on, 28, yard.site.tz)
    skies = climatology(yard.site, year, grid, n_scenarios=1)
    return float(skies.dni_w_m2.sum() / skies.clear.dni_w_m2.sum())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--products", nargs="+", default=["TANK-800", "TANK-3500", "PLANTER-200"])
    options = parser.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start")
    with TemporaryDirectory() as folder:
        database = open_database(make_demo(Path(folder) / "demo.sqlite"))
        now = yard_now(database)
        with database.begin_read() as session:
            yard, year = read_yard(session), stored_typical_year(database, session)
        months = [(date(2027, 6, 1) + timedelta(days=30.5 * ix)).replace(day=1) for ix in range(12)]
        shine = {first_on: sunshine(yard, year, first_on) for first_on in months}
        for first_on in (max(months, key=shine.__getitem__), min(months, key=shine.__getitem__)):
            began = perf_counter()
            asked_at = now if first_on == months[0] else grid_start(first_on - timedelta(days=10), yard)
            told = season(database, now=asked_at, n_months=1, product_ids=tuple(options.products))
            took = perf_counter() - began
            problem, n_days = month_problem(yard, year, first_on)
            filler = Filler(problem)
            print(f"{first_on:%B %Y}, {shine[first_on]:.0%} of a cloudless sky's light; season in {took:.0f} s")
            for row in told.months:
                if row.first_on == first_on:
                    made = filler.output(row.product_id, warm_up_days=WARM_UP_DAYS).pieces * n_days
                    off = row.p50 / made - 1 if made else float(np.inf)
                    print(f"  {row.product_id}: season {row.p10} / {row.p50} / {row.p90}, ", end="")
                    print(f"day by day {made:.0f}: {off:+.1%}; load {os.getloadavg()[0]:.1f}", flush=True)
        database.close()


if __name__ == "__main__":
    main()
