"""Latest safe starts, and why a start is refused."""

from math import ceil

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.heating import Skies
from yardplan.cycle.table import MAX_COOK_MIN, recipe_model
from yardplan.cycle.trace import trace
from yardplan.domain.errors import NotThere
from yardplan.domain.starts import LatestStart, StartOutcome, StartVerdict
from yardplan.domain.tables import NEVER, CookTable, HeatTable, Recipe
from yardplan.domain.yard import Yard


def latest_starts(yard: Yard, cook: CookTable, confidence: float) -> tuple[LatestStart, ...]:
    """Return the last safe start of each day, chamber, mold and product that has one, in that order.

    Raises
    ------
    InvalidField
        If the cook table has no such confidence.
    """
    at = cook.confidence_ix(confidence)
    found = []
    for on, first, after in cook.grid.days:
        for unit_ix, unit in enumerate(yard.units):
            for chamber in unit.chambers:
                for recipe, slots in zip(cook.recipes, cook.cook_slots[at, :, unit_ix, first:after], strict=True):
                    starts = np.flatnonzero(slots != NEVER)
                    if starts.size and yard.fits(yard.mold(recipe.mold_id), chamber, yard.product(recipe.product_id)):
                        slot = first + int(starts[-1])
                        found.append(LatestStart(on, unit.id, chamber.id, *recipe, slot))
    return tuple(found)


def judge_start(
    yard: Yard,
    heat: HeatTable,
    cook: CookTable,
    landing_frac: NDArray[np.floating],
    loss_factor: NDArray[np.floating],
    recipe: Recipe,
    unit_id: str,
    slot: int,
    confidence: float,
) -> StartVerdict:
    """Return what becomes of a cook that starts at a slot.

    Of a start that the cook table refuses, the one sky is followed that just counts: of those with most heat to come,
    the share `confidence` is no worse.

    Parameters
    ----------
    landing_frac : ndarray (mold, unit, slot)
        As `cook_table` got it.
    loss_factor : ndarray (mold, unit)
        As `cook_table` got it.

    Raises
    ------
    NotThere
        If the slot is not on the grid.
    """
    grid = heat.grid
    if not 0 <= slot < grid.n_slots:
        raise NotThere(
            "start", str(grid.local(slot)), f"the outlook is from {grid.local(0)} to {grid.local(grid.n_slots)}"
        )
    unit, mold, product = yard.unit(unit_id), yard.mold(recipe.mold_id), yard.product(recipe.product_id)
    unit_ix, mold_ix = yard.units.index(unit), yard.molds.index(mold)
    row = cook.cook_slots[cook.confidence_ix(confidence), cook.recipes.index(recipe), unit_ix]
    day = next(slice(first, after) for _, first, after in grid.days if first <= slot < after)
    starts = day.start + np.flatnonzero(row[day] != NEVER)
    window = (int(starts[0]), int(starts[-1])) if starts.size else (None, None)

    def verdict(outcome: StartOutcome, *figures: float) -> StartVerdict:
        end_slot, peak_c, heat_kw, loss_kw = (*figures, None, None, None, None)[:4]
        return StartVerdict(
            unit_id, mold.id, product.id, slot, confidence, outcome, product.piat_c,
            end_slot, peak_c, heat_kw, loss_kw, *window,
        )  # fmt: skip

    if not any(yard.fits(mold, chamber, product) for chamber in unit.chambers):
        return verdict(StartOutcome.NO_FIT)
    if row[slot] != NEVER:
        return verdict(StartOutcome.REACHES, float(slot + row[slot]), product.piat_c)
    model = recipe_model(yard, mold, product, unit, float(loss_factor[mold_ix, unit_ix]))
    share = mold.absorptance_frac * landing_frac[mold_ix, unit_ix, slot : day.stop]
    absorbed_kw = np.minimum(heat.field_kw[:, unit_ix, slot : day.stop] * share, unit.max_mold_heat_kw)
    if not absorbed_kw[:, 0].any():
        return verdict(StartOutcome.NO_SUN)
    temp_c, wind_m_s = heat.temp_c[:, slot : day.stop], heat.wind_m_s[:, slot : day.stop]
    skies = Skies(model, 1000 * absorbed_kw.T[None], temp_c.T, wind_m_s.T, grid.slot_min * 60.0)
    scenario = np.arange(skies.n_scenarios)
    now = np.zeros_like(scenario)
    ended = skies.heat_up(skies.cold(now, scenario), now, now, scenario, np.full_like(now, skies.n_slots))
    reach = min(ceil(MAX_COOK_MIN / grid.slot_min), skies.n_slots)
    order = np.lexsort((-absorbed_kw[:, :reach].sum(axis=1), ended.slots))
    counts = int(order[max(ceil(confidence * scenario.size - 1e-9), 1) - 1])
    if np.isfinite(ended.slots[counts]):
        too_long = ended.slots[counts] * grid.slot_min > MAX_COOK_MIN
        outcome = StartOutcome.TOO_LONG if too_long else StartOutcome.NO_COOLING
        return verdict(outcome, slot + float(ended.slots[counts]), product.piat_c)
    sun_kw, air_c, wind = (values[counts].astype(np.float64) for values in (absorbed_kw, temp_c, wind_m_s))
    one = trace(model, sun_kw, air_c, wind, slot_min=grid.slot_min)
    top = int(np.argmax(one.air_c))
    return verdict(
        StartOutcome.STALLS,
        slot + float(one.minute[top]) / grid.slot_min,
        float(one.air_c[top]),
        float(one.absorbed_kw[top]),
        float(one.convection_kw[top] + one.radiation_kw[top]),
    )
