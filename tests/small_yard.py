"""A small invented yard with a hand-made sun, for tests that need a whole problem but not the physics."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from yardplan.domain.equipment import Bench, Chamber, Heliostat, Hung, Mold, MoldCopy, MoldMetal, Site, Unit
from yardplan.domain.orders import Order
from yardplan.domain.people import HANDLING, LOADER, RIGGING, Duty, Operator, Shift
from yardplan.domain.plan import Plan
from yardplan.domain.problem import GoalWeights, Problem
from yardplan.domain.products import CleanDown, FinishStep, Item, ItemKind, Product
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import CookTable, PowerTable, Recipe, SkyCooks
from yardplan.domain.yard import Yard

TZ = "America/Denver"
MONDAY = date(2027, 5, 17)
EVERY_DAY = frozenset(range(7))


def small_unit(number: int = 1, n_mirrors: int = 12) -> Unit:
    side = [Heliostat(-9.0 + 3.0 * i, 12.0, 1.5, 1.22, 1.83, 0.93) for i in range(n_mirrors)]
    return Unit(
        id=f"U{number}", name=f"Unit {number}",
        chambers=(Chamber(f"{number}A", 2.4, 900.0), Chamber(f"{number}B", 2.4, 900.0)),
        field=tuple(side), target_up_m=2.5, washed_on=MONDAY - timedelta(days=3), soiling_per_day_frac=0.004,
        max_mold_heat_kw=120.0, pv_kw=6.0, battery_kwh=20.0, reserve_kwh=6.0, round_trip_frac=0.92,
        inverter_kw=5.0, base_day_kw=0.8, base_night_kw=0.4,
    )  # fmt: skip


def small_mold(ident: str, copies: int = 1, swing_m: float = 1.8) -> Mold:
    return Mold(ident, f"Mold {ident}", MoldMetal.ALUMINUM, 160.0, 6.0, 1.5, swing_m, 0.94, 0.9, 1, copies, 60, 1)


def small_yard(n_units: int = 1, n_people: int = 4) -> Yard:
    """A yard whose crew works 06:00 to 14:00 and 14:00 to 22:00, with two products and two colors."""
    steps = (FinishStep("cut", "bench", "finishing", 20, 1.0, rest_min=120),)
    products = (
        Product("TANK", "Tank", "LLDPE", 20.0, 6.0, 205.0, 70.0, 15, 1, 15, 1, ("M1",), steps),
        Product("BIN", "Bin", "LLDPE", 8.0, 4.0, 205.0, 70.0, 10, 1, 10, 1, ("M2",), steps),
    )
    shifts = (
        Shift("early", time(6), time(14), ((time(10), 20),)),
        Shift("late", time(14), time(22), ((time(18), 20),)),
    )
    skills = frozenset({HANDLING, RIGGING, LOADER, "finishing"})
    people = tuple(
        Operator(f"P{i + 1}", f"Person {i + 1}", skills, (Duty(shifts[i % 2].id, EVERY_DAY),)) for i in range(n_people)
    )
    return Yard(
        site=Site("Test mesa", 35.0, -106.0, 1600.0, TZ),
        units=tuple(small_unit(i + 1) for i in range(n_units)),
        molds=(small_mold("M1"), small_mold("M2", copies=2)),
        products=products,
        items=(
            Item("R-SAND", "PE sand", ItemKind.RESIN, 5000.0, "LLDPE", "sand"),
            Item("R-BLACK", "PE black", ItemKind.RESIN, 5000.0, "LLDPE", "black"),
        ),
        benches=(Bench("W1", "Bench 1", "bench", "U1"), Bench("W2", "Bench 2", "bench", "U1")),
        shifts=shifts, operators=people,
        clean_downs=(CleanDown("*", "*", 30), CleanDown("sand", "black", 15)),
        hung=(Hung("1A", MoldCopy("M1", 1), "LLDPE", "sand"), Hung("1B", MoldCopy("M2", 1))),
        colors=("sand", "black"),
    )  # fmt: skip


def at(day: int, hour: float) -> datetime:
    """Instant of a local hour, counted from the Monday of the test week."""
    midnight = SlotGrid.of_days(MONDAY + timedelta(days=day), 1, TZ).start_at
    return midnight + timedelta(hours=hour)


def small_orders() -> tuple[Order, ...]:
    return (
        Order("Y-1", "Invented Farm", "TANK", "sand", 4, at(1, 24), at(1, 24), 2),
        Order("Y-2", "Invented Depot", "BIN", "black", 5, at(2, 24), None, 1),
        Order("Y-3", "Invented School", "BIN", "sand", 3, at(2, 24), at(2, 24), 1),
    )


def hand_made_cook(yard: Yard, grid: SlotGrid, cook_min: float = 45, cool_min: float = 35) -> CookTable:
    """Cooks are possible from 09:00 on; they take longer off noon and stall late in the afternoon."""
    recipes = tuple(Recipe(mold_id, product.id) for product in yard.products for mold_id in product.mold_ids)
    hours = np.array([(local := grid.local(s)).hour + local.minute / 60 for s in range(grid.n_slots)])
    factor = 1.0 + ((hours - 12.5) / 4.0) ** 2
    slots = np.where((hours >= 9) & (hours <= 15.5), np.ceil(cook_min * factor / grid.slot_min), 0).astype(np.int32)
    cook = np.broadcast_to(slots, (1, len(recipes), len(yard.units), grid.n_slots)).copy()
    cool = np.where(cook > 0, grid.slots_up(cool_min), 0).astype(np.int32)
    kwh = np.where(cook[0] > 0, 20.0, 0.0).astype(np.float32)
    return CookTable(grid, recipes, tuple(unit.id for unit in yard.units), (0.8,), cook, cool, kwh)


def planned_sun(cook: CookTable, confidence: float) -> SkyCooks:
    """One sky: just what a plan at a confidence counts on."""
    at = cook.confidence_ix(confidence)
    return SkyCooks(
        cook.grid, cook.recipes, cook.unit_ids, cook.cook_slots[at][..., None], cook.cool_slots[at][..., None]
    )


def hand_made_power(yard: Yard, grid: SlotGrid, evening_kwh: float = 6.0) -> PowerTable:
    """Five kW for benches at any time, and `evening_kwh` for each unit from 20:00 to 06:00; no less by day."""
    n_units = len(yard.units)
    ix, spans = np.full(grid.n_slots, -1, np.int32), list[tuple[int, int]]()
    for slot in range(grid.n_slots):
        if 6 <= grid.local(slot).hour < 20:
            continue
        first = spans.pop()[0] if spans and spans[-1][1] == slot else slot
        spans.append((first, slot + 1))
        ix[slot] = len(spans) - 1
    finish = np.full((n_units, grid.n_slots), 5.0, np.float32)
    energy = np.full((n_units, len(spans)), evening_kwh, np.float32)
    charge = np.full((n_units, grid.n_slots), 15.0, np.float32)
    return PowerTable(grid, tuple(unit.id for unit in yard.units), finish, tuple(spans), energy, ix, charge)


def small_problem(
    yard: Yard | None = None, orders: tuple[Order, ...] | None = None, days: int = 3, weights: GoalWeights | None = None
) -> Problem:
    yard = yard or small_yard()
    grid = SlotGrid.of_days(MONDAY, days, TZ)
    return Problem(
        yard=yard, orders=small_orders() if orders is None else orders, grid=grid, cook=hand_made_cook(yard, grid),
        power=hand_made_power(yard, grid), now=grid.start_at.astimezone(UTC), confidence=0.8, kept=Plan(grid),
        weights=weights or GoalWeights(),
    )  # fmt: skip


def with_units(yard: Yard, **changes: object) -> Yard:
    """The same yard with fields of all its units replaced."""
    return replace(yard, units=tuple(replace(unit, **changes) for unit in yard.units))


def with_yard(problem: Problem, **changes: object) -> Problem:
    """The same problem with parts of its yard replaced."""
    return replace(problem, yard=replace(problem.yard, **changes))
