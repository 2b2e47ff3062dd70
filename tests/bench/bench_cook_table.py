"""How long cook tables take: ``python -m tests.bench.bench_cook_table``. Prints figures, asserts nothing."""
# ruff: noqa: T201 - figures for a person to read

import os
import resource
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import numpy as np

from tests.small_yard import TZ, small_unit, small_yard
from yardplan.cycle import cooks, table
from yardplan.cycle.table import cook_table
from yardplan.domain.equipment import Mold, MoldMetal
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import NEVER, CookTable, HeatTable
from yardplan.domain.yard import Yard


def bench_yard(n_units: int = 6, n_products: int = 8) -> Yard:
    """Units of different size, and as many molds of different size, metal and wall as products."""
    yard = small_yard(n_units)
    molds, products = [], []
    for i in range(n_products):
        area_m2, wall_mm = 3.0 + 1.5 * i, 4.0 + 0.5 * i
        metal = MoldMetal.ALUMINUM if i % 3 else MoldMetal.STEEL
        molds.append(Mold(f"M{i}", f"Mold {i}", metal, 35 * area_m2, area_m2, 1.5, 1.8, 0.94, 0.9, 1, 2, 60, 1))
        shot_kg = 0.938 * area_m2 * wall_mm
        products.append(replace(yard.products[0], id=f"P{i}", shot_kg=shot_kg, wall_mm=wall_mm, mold_ids=(f"M{i}",)))
    units = tuple(replace(small_unit(i + 1), max_mold_heat_kw=250.0) for i in range(n_units))
    return replace(yard, units=units, molds=tuple(molds), products=tuple(products), hung=())


def bench_heat(yard: Yard, grid: SlotGrid, n_scenarios: int, seed: int = 0) -> HeatTable:
    """Clear and cloudy days with clouds that last, and fields of 55 to 120 kW that look different ways."""
    rng = np.random.default_rng(seed)
    hours = np.array([(local := grid.local(s)).hour + local.minute / 60 for s in range(grid.n_slots)])
    height = np.clip(np.sin((hours - 6.2) / 12.4 * np.pi) * np.sin(np.radians(72)), 0, 1)
    clear = np.where(height > np.sin(np.radians(10)), height**0.35, 0.0)
    day = rng.normal(size=(n_scenarios, len(grid.days))).repeat(288, axis=1)[:, : grid.n_slots]
    patch = np.zeros((n_scenarios, grid.n_slots))
    for s in range(1, grid.n_slots):
        patch[:, s] = 0.93 * patch[:, s - 1] + np.sqrt(1 - 0.93**2) * rng.normal(size=n_scenarios)
    sky = clear * np.clip(1.1 - 1.1 * np.clip(0.6 * patch + 0.8 * day - 0.4, 0, None), 0, 1)
    peaks_kw = np.linspace(55, 120, len(yard.units))
    field_kw = np.stack([sky * kw * (1 + 0.1 * np.sin((hours - 12) / 6 + i)) for i, kw in enumerate(peaks_kw)], axis=1)
    temp_c = 22 + 8 * np.sin((hours - 9) / 12 * np.pi) + 2 * rng.normal(size=(n_scenarios, 1))
    wind_m_s = np.abs(3 + 2 * rng.normal(size=(n_scenarios, 1)) + np.sin(hours))
    unit_ids = tuple(unit.id for unit in yard.units)
    return HeatTable(grid, unit_ids, field_kw, temp_c, wind_m_s, sky * 900, sky * 900, height, "bench", None, seed)


def heavier(yard: Yard) -> Yard:
    """The yard with one mold a little heavier at each call."""
    GRAMS.append(len(GRAMS))
    molds = (
        replace(mold, shell_kg=mold.shell_kg + 1e-3 * GRAMS[-1]) if mold.id == "M4" else mold for mold in yard.molds
    )
    return replace(yard, molds=tuple(molds))


GRAMS = [1]


def fresh(*asked: object) -> CookTable:
    """A table with nothing in memory."""
    table._memory.clear()
    return cook_table(*asked)


def clock(name: str, work: Callable[[], object]) -> None:
    """Print wall and processor time of five runs."""
    walls, cpus = [], []
    for _ in range(5):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        walls.append(time.perf_counter() - wall)
        cpus.append(time.process_time() - cpu)
    print(f"{name}: wall {min(walls):.2f} to {max(walls):.2f} s, processor {min(cpus):.2f} s")


def main() -> None:
    """Time whole tables and one mold of them, and compare the fast way of many scenarios with the exact one."""
    yard, grid = bench_yard(), SlotGrid.of_days(date(2027, 5, 17), 7, TZ)
    intercept_frac = np.full((len(yard.molds), len(yard.units)), 0.9)
    print(f"7 days, 6 units, 8 products; {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    for n_scenarios in (21, 200):
        heat = bench_heat(yard, grid, n_scenarios)
        clock(f"{n_scenarios} scenarios, whole table", lambda heat=heat: fresh(yard, heat, intercept_frac))
        clock(f"{n_scenarios} scenarios, one mold", lambda heat=heat: cook_table(heavier(yard), heat, intercept_frac))
        clock(f"{n_scenarios} scenarios, from memory", lambda heat=heat: cook_table(yard, heat, intercept_frac))
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    fast = fresh(yard, heat, intercept_frac)
    cooks._EXACT_SCENARIOS = n_scenarios
    exact = fresh(yard, heat, intercept_frac)
    both = (fast.cook_slots != NEVER) & (exact.cook_slots != NEVER)
    off = (fast.cook_slots - exact.cook_slots)[both]
    mixed = np.count_nonzero((fast.cook_slots != NEVER) != (exact.cook_slots != NEVER))
    shares = ", ".join(f"{n:+d}: {np.mean(off == n):.2%}" for n in range(off.min(), off.max() + 1))
    print(f"read off against exact, slots: {shares}; only one of them never: {mixed} of {both.sum()}")


if __name__ == "__main__":
    main()
