"""From the heat that the mirrors send to cook and cooling times by start slot."""

import os
from collections import OrderedDict, defaultdict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from hashlib import blake2b
from math import ceil
from threading import Lock
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.cooks import Cooks, Found, Place
from yardplan.cycle.model import CycleModel, cycle_model
from yardplan.domain.equipment import Mold, Unit
from yardplan.domain.errors import require
from yardplan.domain.products import Product
from yardplan.domain.tables import NEVER, ByteArray, CookTable, FloatArray, HeatTable, IntArray, Recipe, SkyCooks
from yardplan.domain.yard import Yard

MAX_COOK_MIN = 180
"""A cook that takes longer counts as lost: long heat ages the resin (site rule, common practice, no source)."""

_KEPT_BYTES = 128_000_000
"""What rows that are remembered may take, each of a mold, a product and a unit; a week's row takes 300 kB."""


def cook_table(
    yard: Yard,
    heat: HeatTable,
    intercept_frac: NDArray[np.floating],
    confidences: tuple[float, ...] = (0.5, 0.8, 0.95),
    *,
    loss_factor: NDArray[np.floating] | None = None,
    max_cook_min: int = MAX_COOK_MIN,
) -> CookTable:
    """Return how long each recipe cooks and cools on each unit, for every start in sunlight; see `cook_tables`."""
    return cook_tables(yard, heat, intercept_frac, confidences, loss_factor=loss_factor, max_cook_min=max_cook_min)[0]


def cook_tables(
    yard: Yard,
    heat: HeatTable,
    intercept_frac: NDArray[np.floating],
    confidences: tuple[float, ...] = (0.5, 0.8, 0.95),
    *,
    loss_factor: NDArray[np.floating] | None = None,
    max_cook_min: int = MAX_COOK_MIN,
) -> tuple[CookTable, SkyCooks]:
    """Return how long each recipe cooks and cools on each unit, by confidence and under each scenario.

    A cook may be interrupted by clouds as long as it reaches PIAT in the time allowed. A start in the dark, a
    cook that stalls or takes too long, and a mold that with its charge fits no chamber of the unit are `NEVER`.
    Every cook starts with a cold mold, since the table does not know what was before: one that is still warm is
    over earlier, never later.

    Rows whose mold, product, unit and heat are the same as in a recent table are taken from memory, so a change to
    one mold costs the rows of that mold.

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
    factors = np.ones((len(yard.molds), len(yard.units))) if loss_factor is None else loss_factor
    _check(yard, heat, intercept_frac, confidences, factors)
    recipes = tuple(Recipe(mold_id, product.id) for product in yard.products for mold_id in product.mold_ids)
    shape = (len(confidences), len(recipes), len(yard.units), heat.grid.n_slots)
    cook, cool, kwh = np.full(shape, NEVER, np.int32), np.zeros(shape, np.int32), np.zeros(shape[1:], np.float32)
    each = np.full((2, *shape[1:], heat.field_kw.shape[0]), NEVER, np.uint8)
    max_slots = max(int(max_cook_min / heat.grid.slot_min), 1)
    digests = _digests(heat)
    cells: defaultdict[_Key, list[tuple[int, int]]] = defaultdict(list)
    for recipe_ix, recipe in enumerate(recipes):
        mold, product = yard.mold(recipe.mold_id), yard.product(recipe.product_id)
        mold_ix = yard.molds.index(mold)
        for unit_ix, unit in enumerate(yard.units):
            if any(yard.fits(mold, chamber, product) for chamber in unit.chambers):
                model = recipe_model(yard, mold, product, unit, float(factors[mold_ix, unit_ix]))
                absorbed_frac = np.float32(intercept_frac[mold_ix, unit_ix] * mold.absorptance_frac)
                place = Place(unit_ix, absorbed_frac.tobytes(), unit.max_mold_heat_kw)
                cells[_Key(digests[unit_ix], model, place, confidences, max_slots)].append((recipe_ix, unit_ix))
    for key, row in _rows(heat, list(cells)):
        for recipe_ix, unit_ix in cells[key]:
            cook[:, recipe_ix, unit_ix], cool[:, recipe_ix, unit_ix], kwh[recipe_ix, unit_ix] = row[:3]
            each[:, recipe_ix, unit_ix] = row.each
    units = tuple(unit.id for unit in yard.units)
    return (
        CookTable(heat.grid, recipes, units, confidences, cook, cool, kwh),
        SkyCooks(heat.grid, recipes, units, each[0], each[1]),
    )


def recipe_model(yard: Yard, mold: Mold, product: Product, unit: Unit, loss_factor: float = 1.0) -> CycleModel:
    """Return the model of a product in a mold on a unit of the yard."""
    return cycle_model(
        mold,
        product,
        yard.site.altitude_m,
        loss_factor,
        insert_kg=yard.insert_kg(product),
        wind_through_frac=unit.wind_through_frac,
    )


class _Key(NamedTuple):
    """All that a row depends on; `digest` stands for the heat of its unit."""

    digest: bytes
    model: CycleModel
    place: Place
    confidences: tuple[float, ...]
    max_slots: int


class _Row(NamedTuple):
    """Slots of heating and cooling (confidence, start), heat (start) [kWh], slots of each scenario (2, start, ...)."""

    cook_slots: IntArray
    cool_slots: IntArray
    heat_kwh: FloatArray
    each: ByteArray

    @property
    def nbytes(self) -> int:
        return sum(array.nbytes for array in self)


_memory: OrderedDict[_Key, _Row] = OrderedDict()
_memory_lock = Lock()


def _rows(heat: HeatTable, keys: list[_Key]) -> Iterator[tuple[_Key, _Row]]:
    """Give the row of each key, from memory or worked out; places of one model share the work."""
    missing: defaultdict[tuple[CycleModel, tuple[float, ...], int], list[_Key]] = defaultdict(list)
    for key in keys:
        with _memory_lock:
            row = _memory.get(key)
            if row is not None:
                _memory.move_to_end(key)
        if row is not None:
            yield key, row
        else:
            missing[key.model, key.confidences, key.max_slots].append(key)
    n_cores = os.cpu_count() or 1
    n_parts = ceil(n_cores / max(len(missing), 1))
    parts = [group[ix::n_parts] for group in missing.values() for ix in range(min(n_parts, len(group)))]

    def work_out(part: list[_Key]) -> Found:
        one = part[0]
        return Cooks(heat, one.model, [key.place for key in part], one.confidences, one.max_slots).find()

    # numpy lets go of the interpreter while it works on arrays of this size, so threads share the cores
    with ThreadPoolExecutor(n_cores) as pool:
        for part, found in zip(parts, pool.map(work_out, parts), strict=True):
            for ix, key in enumerate(part):
                row = _whole_slots(found, ix)
                with _memory_lock:
                    _memory[key] = row
                    left = _KEPT_BYTES - sum(kept.nbytes for kept in _memory.values())
                    while left < 0:
                        left += _memory.popitem(last=False)[1].nbytes
                yield key, row


def _digests(heat: HeatTable) -> list[bytes]:
    """Return a fingerprint of each unit's heat with the weather around it."""
    weather = blake2b(repr((heat.grid.slot_min, heat.temp_c.shape)).encode())
    weather.update(heat.temp_c.data)
    weather.update(heat.wind_m_s.data)
    found = []
    for unit_ix in range(len(heat.unit_ids)):
        digest = weather.copy()
        digest.update(np.ascontiguousarray(heat.field_kw[:, unit_ix]).data)
        found.append(digest.digest())
    return found


def _whole_slots(found: Found, place_ix: int) -> _Row:
    """Round times up to slots, so that no start ends before an earlier one, nor with more confidence sooner."""
    heating, cooling = found.heating[:, place_ix], found.cooling[:, place_ix]
    done = np.isfinite(heating)
    start = np.arange(heating.shape[1])
    end = np.where(done, start + np.ceil(heating), 0.0)
    # a charge laid in later starts a little warmer than one that waited in the cold of dawn
    end = np.maximum.accumulate(np.maximum.accumulate(end, axis=1), axis=0)
    cook = np.where(done, end - start, NEVER).astype(np.int32)
    cool = np.where(done, np.ceil(cooling), 0.0).astype(np.int32)
    return _Row(
        cook,
        cool,
        np.where(done.any(axis=0), found.heat_kwh[place_ix], 0.0).astype(np.float32),
        found.each[:, place_ix].copy(),
    )


def _check(
    yard: Yard,
    heat: HeatTable,
    intercept_frac: NDArray[np.floating],
    confidences: tuple[float, ...],
    loss_factor: NDArray[np.floating],
) -> None:
    require(
        bool(confidences) and all(0 < one < 1 for one in confidences) and list(confidences) == sorted(set(confidences)),
        "cook table",
        "",
        "confidences",
        confidences,
        "rising shares between 0 and 1",
    )
    units = tuple(unit.id for unit in yard.units)
    require(heat.unit_ids == units, "heat table", "", "unit_ids", heat.unit_ids, f"the yard's units in order, {units}")
    shape = len(yard.molds), len(units)
    for name, array in (("intercept_frac", intercept_frac), ("loss_factor", loss_factor)):
        fits = array.shape == shape or (array is intercept_frac and array.shape == (*shape, heat.grid.n_slots))
        require(fits, "cook table", "", name, array.shape, f"shape {shape} (mold, unit)")
    ok = bool(np.all((intercept_frac >= 0) & (intercept_frac <= 3)))
    require(ok, "cook table", "", "intercept_frac", "outside", "shares from 0 to 3")
    ok = bool(np.all(np.isfinite(loss_factor) & (loss_factor > 0)))
    require(ok, "cook table", "", "loss_factor", "NaN or not above zero", "finite numbers above 0")
