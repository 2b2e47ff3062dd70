"""From the heat that the mirrors send to cook and cooling times by start slot."""

import os
from collections import defaultdict
from collections.abc import Collection
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.balance import ZERO_C, CycleModel, State, Stepper, cycle_model
from yardplan.domain.errors import NotThere, require
from yardplan.domain.tables import NEVER, CookTable, FloatArray, HeatTable, IntArray, Recipe
from yardplan.domain.yard import Yard

MAX_COOK_MIN = 180
"""A cook that takes longer counts as lost: long heat ages the resin (site rule, common practice, no source)."""
MAX_COOL_MIN = 360
_BATCH = 16_000
"""Cycles that are stepped together; their arrays then stay in the processor's cache."""


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
    intercept_frac : ndarray (mold, unit)
        Share of that which lands on the mold, in the yard's order.
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
    mold_ix = {mold.id: ix for ix, mold in enumerate(yard.molds)}
    same: defaultdict[_Job, list[tuple[int, int]]] = defaultdict(list)
    for recipe_ix, recipe in enumerate(table.recipes):
        if recipe.mold_id not in mold_ids:
            continue
        mold, product = yard.mold(recipe.mold_id), yard.product(recipe.product_id)
        for unit_ix, unit in enumerate(yard.units):
            cook[:, recipe_ix, unit_ix], cool[:, recipe_ix, unit_ix], kwh[recipe_ix, unit_ix] = NEVER, 0, 0
            if any(yard.fits(mold, chamber, product) for chamber in unit.chambers):
                at = mold_ix[mold.id], unit_ix
                model = cycle_model(mold, product, yard.site.altitude_m, float(factors[at]))
                job = _Job(
                    model, unit_ix, float(intercept_frac[at]) * mold.absorptance_frac, unit.max_mold_heat_kw * 1000.0
                )
                same[job].append((recipe_ix, unit_ix))
    sky = _Sky(heat, table.confidences, max(int(max_cook_min / heat.grid.slot_min), 1))
    # numpy lets go of the interpreter while it works on arrays of this size, so threads share the cores
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        for places, found in zip(same.values(), pool.map(sky.cook, same), strict=True):
            for recipe_ix, unit_ix in places:
                cook[:, recipe_ix, unit_ix], cool[:, recipe_ix, unit_ix], kwh[recipe_ix, unit_ix] = found
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


@dataclass(frozen=True)
class _Job:
    """A cook to be worked out; recipes and units with equal ones share the result."""

    model: CycleModel
    unit_ix: int
    absorbed_frac: float
    max_w: float


class _Sky:
    """The scenarios of a heat table, laid out (slot, scenario) for stepping, and what is asked of them."""

    def __init__(self, heat: HeatTable, confidences: tuple[float, ...], max_slots: int) -> None:
        self.heat, self.max_slots, self.slot_s = heat, max_slots, heat.grid.slot_min * 60.0
        self.n_scenarios, _, self.n_slots = heat.field_kw.shape
        self.ambient_k = np.ascontiguousarray(heat.temp_c.T) + np.float32(ZERO_C)
        self.wind_m_s = np.ascontiguousarray(heat.wind_m_s.T)
        self.ranks = [max(int(np.ceil(share * self.n_scenarios - 1e-9)), 1) - 1 for share in confidences]

    def cook(self, job: _Job) -> tuple[IntArray, IntArray, FloatArray]:
        """Return cook slots, cool slots (confidence, start slot) and median heat [kWh] (start slot)."""
        field_w = self.heat.field_kw[:, job.unit_ix].T * np.float32(1000.0 * job.absorbed_frac)
        absorbed_w = np.ascontiguousarray(np.minimum(field_w, np.float32(job.max_w)))
        starts = np.flatnonzero(absorbed_w.any(axis=1))
        cook = np.full((len(self.ranks), self.n_slots), NEVER, np.int32)
        cool, kwh = np.zeros_like(cook), np.zeros(self.n_slots, np.float32)
        if not starts.size:
            return cook, cool, kwh
        taken, excess_k = self._heat_up(job.model, absorbed_w, starts)
        cooling = self._cool_down(job.model, starts, taken, excess_k)
        taken[np.isinf(cooling)] = np.inf
        absorbed = self._absorbed_kwh(absorbed_w, starts, taken)
        cooling.sort(axis=1)
        absorbed.sort(axis=1)
        n_done = np.isfinite(taken).sum(axis=1)
        taken.sort(axis=1)
        for ix, rank in enumerate(self.ranks):
            done = np.isfinite(taken[:, rank])
            end = starts[done] + np.ceil(taken[done, rank]).astype(np.int32)
            # a charge laid in later is a little warmer than one that waited in the cold: never ahead all the same
            cook[ix, starts[done]] = np.maximum.accumulate(end) - starts[done]
            cool[ix, starts[done]] = np.ceil(cooling[done, rank])
        some = n_done > 0
        kwh[starts[some]] = absorbed[some, (n_done[some] - 1) // 2]
        return cook, cool, kwh

    def _heat_up(
        self, model: CycleModel, absorbed_w: FloatArray, starts: NDArray[np.intp]
    ) -> tuple[FloatArray, FloatArray]:
        """Return slots to PIAT (start, scenario), infinite if never, and then the shell's excess over PIAT [K]."""
        taken = np.full((starts.size, self.n_scenarios), np.inf, np.float32)
        excess_k = np.zeros_like(taken)
        blown = model.wind_w_m2_k(self.wind_m_s).astype(np.float32)
        weather = tuple(array.ravel() for array in (absorbed_w, self.ambient_k, blown))
        hopeful = np.flatnonzero(self._may_reach(model, absorbed_w)[starts])
        stepper = Stepper(model, self.slot_s)
        for first in range(0, hopeful.size, _BATCH):
            self._heat_batch(stepper, weather, starts, hopeful[first : first + _BATCH], taken, excess_k)
        return taken, excess_k

    def _heat_batch(
        self,
        stepper: Stepper,
        weather: tuple[FloatArray, ...],
        starts: NDArray[np.intp],
        cells: NDArray[np.intp],
        taken: FloatArray,
        excess_k: FloatArray,
    ) -> None:
        piat_k = np.float32(stepper.model.piat_c + ZERO_C)
        row, scenario = np.divmod(cells, self.n_scenarios)
        at = starts[row] * self.n_scenarios + scenario
        end = self.n_slots * self.n_scenarios
        state = State.cold(weather[1].take(at) - np.float32(ZERO_C))
        over = np.zeros(cells.size, np.bool_)
        for age in range(self.max_slots):
            air_k = state.air_k.copy()
            stepper.advance(state, *(array.take(at) for array in weather))
            new = np.flatnonzero((state.peak_k >= piat_k) & ~over)
            if new.size:
                share = (piat_k - air_k[new]) / (state.peak_k[new] - air_k[new])
                taken.ravel()[cells[new]] = age + share
                before_k = state.before_k[new]
                excess_k.ravel()[cells[new]] = before_k + share * (state.shell_k[new] - before_k) - piat_k
                over[new] = True
            at += self.n_scenarios
            over |= at >= end
            if np.count_nonzero(over) > over.size // 8 or at.max() >= end:
                left = np.flatnonzero(~over)
                if not left.size:
                    return
                state, at, cells, over = state.take(left), at.take(left), cells.take(left), over.take(left)

    def _may_reach(self, model: CycleModel, absorbed_w: FloatArray) -> NDArray[np.bool_]:
        """Tell which starts (slot, scenario) get at least the heat that is stored in mold and charge at PIAT."""
        received_j = np.zeros((self.n_slots + 1, self.n_scenarios))
        np.cumsum(absorbed_w, axis=0, dtype=np.float64, out=received_j[1:])
        received_j *= self.slot_s
        last = np.minimum(np.arange(self.n_slots) + self.max_slots, self.n_slots)
        return received_j[last] - received_j[:-1] >= model.to_piat_j(self.ambient_k)

    def _cool_down(
        self, model: CycleModel, starts: NDArray[np.intp], taken: FloatArray, excess_k: FloatArray
    ) -> FloatArray:
        """Return slots of cooling (start, scenario), infinite where it is never cool, from the air at the end of heat.

        Cooling is stepped for a few temperatures of outside air and shell, and read off between them.
        """
        done = np.isfinite(taken)
        cooling = np.full_like(taken, np.inf)
        if not done.any():
            return cooling
        row, scenario = np.nonzero(done)
        end = np.minimum(starts[row] + taken[done].astype(np.int32), self.n_slots - 1)
        outside_k, excess = self.ambient_k[end, scenario], excess_k[done]
        outside_nodes = np.linspace(outside_k.min(), outside_k.max() + 0.1, 6, dtype=np.float64)
        excess_nodes = np.linspace(excess.min(), excess.max() + 0.1, 5, dtype=np.float64)
        slots = cooling_min(model, *np.meshgrid(outside_nodes, excess_nodes, indexing="ij")) * 60.0 / self.slot_s
        x, i = _between(outside_nodes, outside_k)
        y, j = _between(excess_nodes, excess)
        near = slots[i, j] + y * (slots[i, j + 1] - slots[i, j])
        far = slots[i + 1, j] + y * (slots[i + 1, j + 1] - slots[i + 1, j])
        cooling[done] = near + x * (far - near)
        return cooling

    def _absorbed_kwh(self, absorbed_w: FloatArray, starts: NDArray[np.intp], taken: FloatArray) -> FloatArray:
        """Return the heat absorbed up to PIAT (start, scenario) [kWh], infinite if it is never reached."""
        received = np.zeros((self.n_slots + 1, self.n_scenarios))
        np.cumsum(absorbed_w, axis=0, dtype=np.float64, out=received[1:])
        kwh = np.full_like(taken, np.inf)
        row, scenario = np.nonzero(np.isfinite(taken))
        whole = taken[row, scenario].astype(np.int32)
        end = starts[row] + whole
        part = taken[row, scenario] - whole
        last = np.minimum(end, self.n_slots - 1)
        sums = received[end, scenario] - received[starts[row], scenario] + part * absorbed_w[last, scenario]
        kwh[row, scenario] = sums * (self.slot_s / 3.6e6)
        return kwh


def cooling_min(
    model: CycleModel, outside_k: NDArray[np.float64], excess_k: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return minutes from PIAT to the demold temperature with fans on; infinite if longer than `MAX_COOL_MIN`.

    Parameters
    ----------
    outside_k : ndarray
        Air outside, constant [K].
    excess_k : ndarray
        How far the shell is above PIAT when heating ends [K]; the polymer lies between as in a steady ramp.
    """
    demold_k = model.demold_c + ZERO_C
    stepper = Stepper(model, 60.0, cooling=True)
    state = State.ended(model, excess_k.ravel())
    outside = outside_k.ravel()
    fan = np.full_like(outside, model.fan_w_m2_k)
    minutes = np.full(outside.size, np.inf)
    for minute in range(MAX_COOL_MIN):
        before_k = state.air_k.copy()
        stepper.advance(state, np.zeros_like(outside), outside, fan)
        new = (state.air_k <= demold_k) & np.isinf(minutes)
        minutes[new] = minute + (before_k[new] - demold_k) / (before_k[new] - state.air_k[new])
        if np.isfinite(minutes).all():
            break
    return minutes.reshape(outside_k.shape)


def _between(nodes: NDArray[np.float64], values: FloatArray) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Return how far between two nodes each value lies, and the position of the lower one."""
    ix = np.clip(np.searchsorted(nodes, values, side="right") - 1, 0, nodes.size - 2)
    return (values - nodes[ix]) / (nodes[ix + 1] - nodes[ix]), ix


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
        require(array.shape == shape, "cook table", "", name, array.shape, f"shape {shape} (mold, unit)")
    ok = bool(np.all((intercept_frac >= 0) & (intercept_frac <= 1)))
    require(ok, "cook table", "", "intercept_frac", "outside", "shares from 0 to 1")
    ok = bool(np.all(np.isfinite(loss_factor) & (loss_factor > 0)))
    require(ok, "cook table", "", "loss_factor", "NaN or not above zero", "finite numbers above 0")
