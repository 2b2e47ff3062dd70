"""From the heat that the mirrors send to cook and cooling times by start slot."""

import os
from collections import defaultdict
from collections.abc import Collection
from concurrent.futures import ThreadPoolExecutor
from datetime import date

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.balance import CycleModel, cycle_model
from yardplan.cycle.cooks import Cooks, Found, Place
from yardplan.domain.errors import NotThere, require
from yardplan.domain.tables import NEVER, CookTable, FloatArray, HeatTable, IntArray, Recipe
from yardplan.domain.yard import Yard

MAX_COOK_MIN = 180
"""A cook that takes longer counts as lost: long heat ages the resin (site rule, common practice, no source)."""


def cook_table(
    yard: Yard,
    heat: HeatTable,
    intercept_frac: NDArray[np.floating],
    confidences: tuple[float, ...] = (0.5, 0.8, 0.95),
    *,
    loss_factor: NDArray[np.floating] | None = None,
    max_cook_min: int = MAX_COOK_MIN,
) -> CookTable:
    """Return how long each recipe cooks and cools on each unit, for every start in sunlight.

    A cook may be interrupted by clouds as long as it reaches PIAT in the time allowed. A start in the dark, a
    cook that stalls or takes too long, and a mold that with its charge fits no chamber of the unit are `NEVER`.

    Parameters
    ----------
    heat : HeatTable
        What the fields send, over scenarios of the sky.
    intercept_frac : ndarray (mold, unit) or (mold, unit, slot)
        Share of that which lands on the mold, in the yard's order; times a calibration's heat factor, where
        there is one, so it may be a little above 1.
    confidences : tuple of float
        Rising shares of scenarios between 0 and 1.
    loss_factor : ndarray (mold, unit), optional
        Calibration of the losses; 1 where not given.
    max_cook_min : int
        Longest cook allowed [min].

    Raises
    ------
    InvalidField
        If the confidences or shapes are not as said, or a resin grade is unknown.
    """
    recipes = tuple(Recipe(mold_id, product.id) for product in yard.products for mold_id in product.mold_ids)
    shape = (len(confidences), len(recipes), len(yard.units), heat.grid.n_slots)
    empty = CookTable(
        heat.grid,
        recipes,
        tuple(unit.id for unit in yard.units),
        confidences,
        np.full(shape, NEVER, np.int32),
        np.zeros(shape, np.int32),
        np.zeros(shape[1:], np.float32),
    )
    return recook(
        empty,
        yard,
        heat,
        intercept_frac,
        [mold.id for mold in yard.molds],
        loss_factor=loss_factor,
        max_cook_min=max_cook_min,
    )


def recook(
    table: CookTable,
    yard: Yard,
    heat: HeatTable,
    intercept_frac: NDArray[np.floating],
    mold_ids: Collection[str],
    *,
    loss_factor: NDArray[np.floating] | None = None,
    max_cook_min: int = MAX_COOK_MIN,
) -> CookTable:
    """Return the table with the recipes of some molds worked out anew, after a change to those molds.

    The yard must have the table's units and recipes; the other arguments are as for `cook_table`.
    """
    factors = np.ones((len(yard.molds), len(yard.units))) if loss_factor is None else loss_factor
    _check(table, yard, heat, intercept_frac, factors)
    cook, cool, kwh = table.cook_slots.copy(), table.cool_slots.copy(), table.heat_kwh.copy()
    groups: defaultdict[CycleModel, dict[Place, list[tuple[int, int]]]] = defaultdict(lambda: defaultdict(list))
    for recipe_ix, recipe in enumerate(table.recipes):
        if recipe.mold_id in mold_ids:
            cook[:, recipe_ix], cool[:, recipe_ix], kwh[recipe_ix] = NEVER, 0, 0
            mold, product = yard.mold(recipe.mold_id), yard.product(recipe.product_id)
            mold_ix = yard.molds.index(mold)
            for unit_ix, unit in enumerate(yard.units):
                if any(yard.fits(mold, chamber, product) for chamber in unit.chambers):
                    model = cycle_model(mold, product, yard.site.altitude_m, float(factors[mold_ix, unit_ix]))
                    absorbed_frac = np.atleast_1d(intercept_frac[mold_ix, unit_ix] * mold.absorptance_frac)
                    place = Place(unit_ix, tuple(absorbed_frac.tolist()), unit.max_mold_heat_kw)
                    groups[model][place].append((recipe_ix, unit_ix))
    max_slots = max(int(max_cook_min / heat.grid.slot_min), 1)

    def find(model: CycleModel) -> Found:
        return Cooks(heat, model, list(groups[model]), table.confidences, max_slots).find()

    # numpy lets go of the interpreter while it works on arrays of this size, so threads share the cores
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        for model, found in zip(groups, pool.map(find, groups), strict=True):
            for place_ix, cells in enumerate(groups[model].values()):
                cook_slots, cool_slots, heat_kwh = _whole_slots(found, place_ix)
                for recipe_ix, unit_ix in cells:
                    cook[:, recipe_ix, unit_ix], cool[:, recipe_ix, unit_ix] = cook_slots, cool_slots
                    kwh[recipe_ix, unit_ix] = heat_kwh
    return CookTable(table.grid, table.recipes, table.unit_ids, table.confidences, cook, cool, kwh)


def heat_window(table: CookTable, recipe: Recipe, unit_id: str, on: date, confidence: float) -> tuple[int, int] | None:
    """Return the first and last slot of a local day from which a cook reaches PIAT, or None if there is none.

    Raises
    ------
    NotThere
        If the table has no such recipe or unit.
    """
    if recipe not in table.recipes:
        raise NotThere("recipe", f"{recipe.product_id} in {recipe.mold_id}", "see the molds of the product")
    if unit_id not in table.unit_ids:
        raise NotThere("unit", unit_id, f"known are {', '.join(table.unit_ids)}")
    row = table.cook_slots[table.confidence_ix(confidence), table.recipes.index(recipe), table.unit_ids.index(unit_id)]
    for day, first, after in table.grid.days:
        if day == on:
            starts = np.flatnonzero(row[first:after] != NEVER)
            return (first + int(starts[0]), first + int(starts[-1])) if starts.size else None
    return None


def latest_start(table: CookTable, recipe: Recipe, unit_id: str, on: date, confidence: float) -> int | None:
    """Return the last slot of a local day from which a cook still reaches PIAT, or None; as `heat_window`."""
    window = heat_window(table, recipe, unit_id, on, confidence)
    return window[1] if window else None


def _whole_slots(found: Found, place_ix: int) -> tuple[IntArray, IntArray, FloatArray]:
    """Round times up to slots, so that no start ends before an earlier one, nor with more confidence sooner."""
    heating, cooling = found.heating[:, place_ix], found.cooling[:, place_ix]
    done = np.isfinite(heating)
    start = np.arange(heating.shape[1])
    end = np.where(done, start + np.ceil(heating), 0.0)
    # a charge laid in later starts a little warmer than one that waited in the cold of dawn
    end = np.maximum.accumulate(np.maximum.accumulate(end, axis=1), axis=0)
    cook = np.where(done, end - start, NEVER).astype(np.int32)
    cool = np.where(done, np.ceil(cooling), 0.0).astype(np.int32)
    return cook, cool, np.where(done.any(axis=0), found.heat_kwh[place_ix], 0.0).astype(np.float32)


def _check(
    table: CookTable,
    yard: Yard,
    heat: HeatTable,
    intercept_frac: NDArray[np.floating],
    loss_factor: NDArray[np.floating],
) -> None:
    shares = table.confidences
    require(
        bool(shares) and all(0 < share < 1 for share in shares) and list(shares) == sorted(set(shares)),
        "cook table",
        "",
        "confidences",
        shares,
        "rising shares between 0 and 1",
    )
    units = tuple(unit.id for unit in yard.units)
    for name, ids in (("heat table", heat.unit_ids), ("cook table", table.unit_ids)):
        require(ids == units, name, "", "unit_ids", ids, f"the yard's units in their order, {units}")
    require(table.grid == heat.grid, "cook table", "", "grid", table.grid, "the grid of the heat table")
    shape = len(yard.molds), len(units)
    for name, array in (("intercept_frac", intercept_frac), ("loss_factor", loss_factor)):
        fits = array.shape == shape or (array is intercept_frac and array.shape == (*shape, heat.grid.n_slots))
        require(fits, "cook table", "", name, array.shape, f"shape {shape} (mold, unit)")
    ok = bool(np.all((intercept_frac >= 0) & (intercept_frac <= 1.5)))
    require(ok, "cook table", "", "intercept_frac", "outside", "shares from 0 to 1.5")
    ok = bool(np.all(np.isfinite(loss_factor) & (loss_factor > 0)))
    require(ok, "cook table", "", "loss_factor", "NaN or not above zero", "finite numbers above 0")
