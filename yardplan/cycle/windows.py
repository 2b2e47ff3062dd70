"""When each product can be cooked, and how often a day."""

import numpy as np

from yardplan.domain.days import Window
from yardplan.domain.tables import NEVER, CookTable, IntArray
from yardplan.domain.yard import Yard


def windows(yard: Yard, cook: CookTable, confidence: float) -> tuple[Window, ...]:
    """Return the windows of each local day, unit and product of which a cook reaches PIAT, in that order.

    Of several molds that can make a product the one counts that allows most cooks.

    Raises
    ------
    InvalidField
        If the cook table has no such confidence.
    """
    at = cook.confidence_ix(confidence)
    found = []
    for on, first, after in cook.grid.days:
        for unit_ix, unit in enumerate(yard.units):
            best: dict[str, Window] = {}
            for recipe, slots in zip(cook.recipes, cook.cook_slots[at, :, unit_ix, first:after], strict=True):
                mold, product = yard.mold(recipe.mold_id), yard.product(recipe.product_id)
                starts = np.flatnonzero(slots != NEVER)
                if not starts.size or not any(yard.fits(mold, chamber, product) for chamber in unit.chambers):
                    continue
                cooks = _one_after_another(slots)
                if product.id not in best or cooks > best[product.id].cooks:
                    start, end = first + int(starts[0]), first + int(starts[-1])
                    best[product.id] = Window(on, unit.id, product.id, mold.id, start, end, cooks)
            found += [best[product.id] for product in yard.products if product.id in best]
    return tuple(found)


def _one_after_another(slots: IntArray) -> int:
    """Return how many cooks can follow each other, each starting as soon as it can."""
    cooks, slot = 0, 0
    while slot < slots.size:
        lasts = int(slots[slot])
        cooks, slot = (cooks + 1, slot + lasts) if lasts != NEVER else (cooks, slot + 1)
    return cooks
