"""How long heat and cook tables take: ``python -m tests.bench.bench_heat``. Prints figures, asserts nothing."""
# ruff: noqa: T201 - figures for a person to read

import os
import resource
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import TypeVar

import numpy as np

from tests.bench.bench_cook_table import bench_yard
from tests.forecast.made_years import made_year, typical
from tests.small_yard import TZ
from yardplan.cycle.table import cook_table
from yardplan.domain.field import field_rows
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard
from yardplan.forecast.heat import field_heat
from yardplan.forecast.scenarios import Skies, climatology
from yardplan.forecast.sun_table import intercept_slots, open_share

N_SCENARIOS = 200
MIRRORS = (24, 32, 40, 48, 56, 64)

_Made = TypeVar("_Made")


def mirrored_yard() -> Yard:
    """Six units of different fields, eight molds of different outline."""
    yard = bench_yard()
    fields = [field_rows(n, 14, 4, 2.6, 70, 1.3, 1.22, 1.83, 0.93, row_rise_m=1.0) for n in MIRRORS]
    units = tuple(replace(unit, field=field, target_up_m=3.0) for unit, field in zip(yard.units, fields, strict=True))
    molds = tuple(replace(mold, target_m=1.2 + 0.15 * ix) for ix, mold in enumerate(yard.molds))
    return replace(yard, units=units, molds=molds)


def cloudy_skies(yard: Yard, grid: SlotGrid) -> Skies:
    """Days of a made typical year with clear, broken and dull ones, each scenario its own."""
    year = typical(made_year(lambda day, solar_h: 0.15 + 0.85 * ((day * 7 + solar_h // 3) % 11 / 10)))
    return climatology(yard.site, year, grid, n_scenarios=N_SCENARIOS)


def clock(name: str, work: Callable[[], _Made]) -> _Made:
    """Print wall and processor time of one run, and return what it made."""
    wall, cpu = time.perf_counter(), time.process_time()
    made = work()
    print(f"{name}: {time.perf_counter() - wall:.2f} s, processor {time.process_time() - cpu:.2f} s")
    return made


def main() -> None:
    """Time the chain from skies to cooks in a fresh process, and again with what is kept."""
    yard, grid = mirrored_yard(), SlotGrid.of_days(date(2027, 5, 17), 7, TZ)
    print(
        f"7 days, 6 units, 8 products, {N_SCENARIOS} scenarios; {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}"
    )
    skies = clock("skies of a typical year", lambda: cloudy_skies(yard, grid))

    def chain() -> object:
        return cook_table(yard, field_heat(yard, skies, seed=0), intercept_slots(yard, grid))

    began = time.perf_counter()
    heat = clock("heat, with shading worked out for the first time", lambda: field_heat(yard, skies, seed=0))
    intercept = clock("intercepts, the first time", lambda: intercept_slots(yard, grid))
    clock("cooks, the first time", lambda: cook_table(yard, heat, intercept))
    print(f"heat and cook tables, the first time: {time.perf_counter() - began:.2f} s")
    skies = replace(skies, dni_w_m2=skies.dni_w_m2 * np.float32(0.99))
    clock("the same fields under another sky", chain)
    clock("nothing new", chain)
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    one = replace(yard.units[2], target_up_m=3.01)  # a field not seen so far
    sun = skies.clear.sun
    up = sun.elevation_deg > yard.site.min_elevation_deg
    clock("shading of 48 mirrors for a week", lambda: open_share(one, sun.elevation_deg[up], sun.azimuth_deg[up]))


if __name__ == "__main__":
    main()
