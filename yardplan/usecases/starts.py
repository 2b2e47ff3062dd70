"""Say what becomes of a start: when PIAT is reached, or why the cook would be lost."""

from datetime import UTC, datetime, time

import numpy as np

from yardplan.cycle.starts import judge_start
from yardplan.domain.calibration import factors_of
from yardplan.domain.errors import require
from yardplan.domain.slots import clock_instants
from yardplan.domain.starts import StartVerdict
from yardplan.domain.tables import NEVER, IntArray, Recipe
from yardplan.forecast.sun_table import intercept_slots
from yardplan.usecases.outlook import Outlook


def start_verdicts(outlook: Outlook, product_id: str, at: time | None = None) -> tuple[StartVerdict, ...]:
    """Return for each unit what becomes of a start of a product on the outlook's first day.

    Of several molds that can make it the one counts that can be started longest.

    Parameters
    ----------
    at : time or None
        By the yard's clock; None asks for the first start that is refused after the latest safe one, or where there
        is none for the one at the best sun.

    Raises
    ------
    NotThere
        If there is no such product.
    InvalidField
        If the clock does not show that time on that day.
    """
    yard, grid, heat, cook = outlook.yard, outlook.grid, outlook.heat, outlook.cook
    product = yard.product(product_id)
    on, first, after = grid.days[0]
    asked = None
    if at is not None:
        instants = clock_instants(datetime.combine(on, at), grid.zone)
        require(bool(instants), "start", product_id, "at", f"{at:%H:%M}", f"a time that the clock shows on {on}")
        asked = grid.slot(instants[0].astimezone(UTC))
    heat_factor, loss_factor = factors_of(yard, outlook.calibrations)
    landing_frac = intercept_slots(yard, grid) * heat_factor[:, :, None].astype(np.float32)
    rows = cook.cook_slots[cook.confidence_ix(outlook.confidence)]
    found = []
    for unit_ix, unit in enumerate(yard.units):
        by_recipe = {
            recipe: rows[cook.recipes.index(recipe), unit_ix, first:after]
            for recipe in (Recipe(mold_id, product.id) for mold_id in product.mold_ids)
        }
        recipe = max(by_recipe, key=lambda recipe: (_last(by_recipe[recipe]), _fits(outlook, recipe, unit_ix)))
        last = _last(by_recipe[recipe])
        slot = asked
        if slot is None:
            best = int(np.argmax(np.median(heat.field_kw[:, unit_ix, first:after], axis=0)))
            slot = first + (last + 1 if 0 <= last < after - first - 1 else best)
        found.append(
            judge_start(yard, heat, cook, landing_frac, loss_factor, recipe, unit.id, slot, outlook.confidence)
        )
    return tuple(found)


def _last(slots: IntArray) -> int:
    starts = np.flatnonzero(slots != NEVER)
    return int(starts[-1]) if starts.size else -1


def _fits(outlook: Outlook, recipe: Recipe, unit_ix: int) -> bool:
    yard, unit = outlook.yard, outlook.yard.units[unit_ix]
    mold, product = yard.mold(recipe.mold_id), yard.product(recipe.product_id)
    return any(yard.fits(mold, chamber, product) for chamber in unit.chambers)
