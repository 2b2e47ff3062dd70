"""Invented weeks for the planner's benchmark: seeded yards under mixed weather, loaded close to what the sun gives."""

from dataclasses import replace
from datetime import UTC, date, time, timedelta

import numpy as np

from yardplan.domain.equipment import Bench, Chamber, Heliostat, Hung, Mold, MoldMetal, Site, Unit
from yardplan.domain.orders import Order
from yardplan.domain.people import HANDLING, LOADER, RIGGING, Duty, Operator, Shift
from yardplan.domain.plan import Plan
from yardplan.domain.problem import GoalWeights, Problem
from yardplan.domain.products import CleanDown, Delivery, FinishStep, Item, ItemKind, Product
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import CookTable, PowerTable, Recipe
from yardplan.domain.yard import Yard

TZ = "America/Denver"
MONDAY = date(2027, 5, 17)
COLORS = ("sand", "black", "green")
DAILY = frozenset(range(7))


SKIES = {
    "sunny": ([0.98, 0.9], [0.8, 0.2]),
    "mixed": ([0.98, 0.9, 0.75, 0.5], [0.4, 0.3, 0.2, 0.1]),
    "bad": ([0.9, 0.75, 0.5, 0.3], [0.2, 0.3, 0.3, 0.2]),
}
"""How clear days are on average, and how often."""


def week(
    seed: int, n_units: int = 6, load: float = 0.95, days: int = 7, sky: str = "mixed", people: int = 2
) -> Problem:
    """Return a problem whose orders ask for about `load` of the beams' time that its days allow.

    Up to a load of 1 the molds could make it all in about 0.8 of their time, were there enough of all else; above,
    they are asked for more than anybody can do. `people` is the crew by unit, two more are on top.
    """
    rng = np.random.default_rng(seed)
    yard = _yard(rng, n_units, people)
    grid = SlotGrid.of_days(MONDAY, days, TZ)
    cook = _cook(rng, yard, grid, sky)
    orders = _orders(rng, yard, grid, cook, load)
    return Problem(
        yard=yard, orders=orders, grid=grid, cook=cook, power=_power(yard, grid),
        now=grid.start_at.astimezone(UTC), confidence=0.8, kept=Plan(grid), weights=GoalWeights(),
    )  # fmt: skip


def _yard(rng: np.random.Generator, n_units: int, crew: int) -> Yard:
    units = tuple(_unit(ix + 1, int(rng.choice([36, 48, 60]))) for ix in range(n_units))
    n_molds = max(2 * n_units + 2, 4)
    molds = tuple(
        Mold(
            f"M{ix + 1:02}",
            f"Mold {ix + 1}",
            MoldMetal.ALUMINUM,
            180.0,
            6.0,
            1.5,
            2.6 if ix % 4 == 3 else 1.8,
            0.94,
            0.9,
            int(rng.choice([1, 1, 2])),
            1 + (ix % 3 == 0),
            int(rng.choice([45, 60, 75])),
            int(rng.choice([1, 1, 2])),
        )
        for ix in range(n_molds)
    )
    kinds = ("bench", "bench", "leak")
    products = []
    for ix in range(n_molds * 3 // 4):
        steps = [FinishStep("trim", "bench", "finishing", int(rng.choice([15, 20, 30])), 1.0, rest_min=120)]
        if ix % 3 == 0:
            steps.append(FinishStep("leak test", "leak", "testing", 15, 0.5, rest_min=0))
        mold_ids = [molds[ix].id] + ([molds[-1 - ix].id] if ix < n_molds // 4 else [])
        products.append(
            Product(
                f"P{ix + 1:02}",
                f"Product {ix + 1}",
                "PE-L",
                float(rng.integers(8, 40)),
                6.0,
                205.0,
                70.0,
                int(rng.choice([10, 15])),
                1,
                int(rng.choice([10, 15])),
                1,
                tuple(mold_ids),
                tuple(steps),
            )
        )
    shifts = (
        Shift("early", time(6), time(14), ((time(10), 20),)),
        Shift("late", time(13), time(21), ((time(17), 20),)),
        Shift("extra", time(21), time(23), (), overtime=True),
    )
    people = []
    for ix in range(crew * n_units + 2):
        skills = {HANDLING, "finishing"} if ix % 3 else {HANDLING, RIGGING, LOADER}
        if ix % 4 == 1:
            skills.add("testing")
        duties = [Duty(shifts[ix % 2].id, DAILY)]
        if ix % 6 == 3:
            duties.append(Duty("extra", frozenset({0, 2, 4})))
        people.append(Operator(f"O{ix + 1:02}", f"Operator {ix + 1}", frozenset(skills), tuple(duties)))
    items = tuple(
        Item(f"R-{color}", f"PE-L {color}", ItemKind.RESIN, 9000.0 * n_units, "PE-L", color) for color in COLORS
    )
    deliveries = (Delivery("R-green", SlotGrid.of_days(MONDAY + timedelta(days=1), 1, TZ).start_at, 5000.0),)
    yard = Yard(
        site=Site("Invented plateau", 35.0, -106.0, 1700.0, TZ, loaders=max(n_units // 4, 1)), units=units, molds=molds,
        products=tuple(products), items=items,
        benches=tuple(
            Bench(f"W{ix + 1}", f"Bench {ix + 1}", kinds[ix % 3], units[ix % n_units].id) for ix in range(n_units + 2)
        ),
        shifts=shifts, operators=tuple(people),
        clean_downs=(CleanDown("*", "*", 30), CleanDown("sand", "black", 15)), deliveries=deliveries, colors=COLORS,
    )  # fmt: skip
    small = [copy for copy in yard.mold_copies if yard.mold(copy.mold_id).swing_m < 2]
    hung = tuple(Hung(chamber.id, copy, "PE-L", "sand") for chamber, copy in zip(yard.chambers, small, strict=False))
    return replace(yard, hung=hung)


def _unit(number: int, mirrors: int) -> Unit:
    field = tuple(Heliostat(-30 + ix % 12 * 3.0, 12 + ix // 12 * 4.0, 1.5, 1.22, 1.83, 0.93) for ix in range(mirrors))
    return Unit(
        id=f"U{number}", name=f"Unit {number}",
        chambers=(Chamber(f"{number}A", 2.8, 1200.0), Chamber(f"{number}B", 2.8 if number % 2 else 2.2, 1200.0)),
        field=field, target_up_m=2.5, washed_on=MONDAY - timedelta(days=3), soiling_per_day_frac=0.004,
        max_mold_heat_kw=150.0, pv_kw=6.0, battery_kwh=20.0, reserve_kwh=6.0, round_trip_frac=0.92,
        inverter_kw=5.0, base_day_kw=0.8, base_night_kw=0.4,
    )  # fmt: skip


def _cook(rng: np.random.Generator, yard: Yard, grid: SlotGrid, kind: str) -> CookTable:
    """Heat a lump of the mold's size by a sun with clouds: long cooks off noon and under cloud, none when it stalls."""
    hours = np.array([(local := grid.local(slot)).hour + local.minute / 60 for slot in range(grid.n_slots)])
    sun = np.clip(np.sin(np.pi * (hours - 6.2) / 13.0), 0, None) ** 0.6
    sky = np.ones(grid.n_slots)
    for _, first, after in grid.days:
        mean = rng.choice(SKIES[kind][0], p=SKIES[kind][1])
        noise = np.convolve(rng.normal(0, 0.25, after - first + 11), np.ones(12) / 12, "valid") * (1.2 - mean) * 4
        sky[first:after] = np.clip(mean + noise, 0.05, 1)
    recipes = tuple(Recipe(mold_id, product.id) for product in yard.products for mold_id in product.mold_ids)
    shape = (1, len(recipes), len(yard.units), grid.n_slots)
    cook, cool, kwh = np.zeros(shape, np.int32), np.zeros(shape, np.int32), np.zeros(shape[1:], np.float32)
    for recipe_ix, recipe in enumerate(recipes):
        product, mold = yard.product(recipe.product_id), yard.mold(recipe.mold_id)
        need_kwh = 14 + 0.35 * product.shot_kg * mold.cavities
        cool_slots = grid.slots_up(float(rng.integers(30, 55)))
        for unit_ix, unit in enumerate(yard.units):
            net_kw = np.clip(1.6 * len(unit.field) * sun * sky - 14.0, -10, None)
            total = np.concatenate(([0.0], np.cumsum(net_kw * grid.slot_min / 60)))
            for slot in np.flatnonzero(net_kw > 0).tolist():
                reached = np.flatnonzero(total[slot + 1 : slot + 43] - total[slot] >= need_kwh)
                if reached.size:
                    cook[0, recipe_ix, unit_ix, slot] = reached[0] + 1
                    cool[0, recipe_ix, unit_ix, slot] = cool_slots
                    kwh[recipe_ix, unit_ix, slot] = need_kwh
    return CookTable(grid, recipes, tuple(unit.id for unit in yard.units), (0.8,), cook, cool, kwh)


def _power(yard: Yard, grid: SlotGrid) -> PowerTable:
    evening, spans = np.full(grid.n_slots, -1, np.int32), list[tuple[int, int]]()
    for slot in range(grid.n_slots):
        if 6 <= grid.local(slot).hour < 20:
            continue
        first = spans.pop()[0] if spans and spans[-1][1] == slot else slot
        spans.append((first, slot + 1))
        evening[slot] = len(spans) - 1
    n_units = len(yard.units)
    return PowerTable(
        grid, tuple(unit.id for unit in yard.units), np.full((n_units, grid.n_slots), 4.0, np.float32), tuple(spans),
        np.full((n_units, len(spans)), 3.0, np.float32), evening, np.full((n_units, grid.n_slots), 14.0, np.float32),
    )  # fmt: skip


def _orders(rng: np.random.Generator, yard: Yard, grid: SlotGrid, cook: CookTable, load: float) -> tuple[Order, ...]:
    """Share the beams' time of the week among products, `load` of it.

    Due dates are such as a careful office would give: an order of a mold is due some time after the molds could have
    made it and all the earlier orders of its molds, were there nothing else in the yard.
    """
    slots_left = load * sum(_beam_slots(cook.cook_slots[0, :, unit_ix, :]) for unit_ix in range(len(yard.units)))
    midnights = [grid.at(after) for _, _, after in grid.days]
    busy_days = {product.id: 0.0 for product in yard.products}
    orders: list[Order] = []
    while slots_left > 0 and min(busy_days.values()) < 0.8 * max(load, 1.0) * len(midnights):
        product = min(yard.products, key=lambda row: busy_days[row.id] + float(rng.random()) * 2)
        mold = yard.mold(product.mold_ids[0])
        cycles = int(rng.integers(3, 13))
        recipe_ix = cook.recipes.index(Recipe(mold.id, product.id))
        rows = cook.cook_slots[0, recipe_ix]
        slots_left -= cycles * float(np.median(rows[rows > 0]))
        busy_days[product.id] += cycles / (5.0 * mold.copies)
        due_day = int(busy_days[product.id] + 0.6 + float(rng.random()) * 1.5)
        due_at = midnights[min(due_day, len(midnights) - 1)]
        promised = bool(rng.random() < 0.4)
        number = len(orders) + 1
        orders.append(
            Order(
                f"Y-{number:03}",
                f"Invented customer {number}",
                product.id,
                str(rng.choice(COLORS)),
                cycles * mold.cavities,
                due_at,
                due_at if promised else None,
                int(rng.choice([1, 1, 2, 3])),
            )
        )
    return tuple(orders)


def _beam_slots(rows: np.ndarray) -> int:
    """Return the slots of the week in which at least half of the recipes can be heated on a unit."""
    return int(np.sum(np.mean(rows > 0, axis=0) >= 0.5))
