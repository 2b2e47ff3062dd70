"""The JSON document of the heat outlook; times are ISO 8601 on the yard's clock with their offset."""

from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np

from yardplan.domain.equipment import Unit
from yardplan.domain.tables import NEVER, CookTable, HeatTable, IntArray
from yardplan.domain.yard import Yard
from yardplan.exchange.documents import grid_row

SUNRISE_DEG = -0.8333
"""Height of the sun's center when its upper edge rises: its half width and standard refraction."""


def heat_document(
    yard: Yard, heat: HeatTable, cook: CookTable, *, confidence: float, generated_at: datetime
) -> dict[str, Any]:
    """Return the heat outlook as a document, see ``heat.schema.json``.

    Windows and cooks hold at `confidence`, which must be one of the cook table's. For a product that several
    molds can make, the mold that allows most cooks counts.
    """
    grid, ix = heat.grid, cook.confidence_ix(confidence)
    middles = grid.start_at + timedelta(minutes=grid.slot_min / 2)
    days = []
    for on, first, after in grid.days:
        rise, fall = _crossings(heat.elevation_deg[first:after])
        sun = [None if at is None else middles + timedelta(minutes=grid.slot_min * (first + at)) for at in (rise, fall)]
        texts = [None if at is None else at.astimezone(grid.zone).isoformat(timespec="minutes") for at in sun]
        units = []
        for unit_ix, unit in enumerate(yard.units):
            field_kw = heat.field_kw[:, unit_ix, first:after]
            kwh = field_kw.sum(axis=1) * (grid.slot_min / 60)
            units.append(
                {
                    "unit": unit.id,
                    "heat_kw": {name: row.tolist() for name, row in _quantiles(field_kw).items()},
                    "kwh": {name: float(row) for name, row in _quantiles(kwh).items()},
                    "products": _windows(yard, unit, cook, cook.cook_slots[ix, :, unit_ix, first:after], first),
                }
            )
        start = grid.local(first).isoformat()
        days.append({"date": str(on), "start": start, "sunrise": texts[0], "sunset": texts[1], "units": units})
    return {
        "schema": "yardplan/heat/1",
        "generated_at": generated_at.astimezone(grid.zone).isoformat(),
        "heat_source": heat.source,
        "issued_at": None if heat.issued_at is None else heat.issued_at.astimezone(grid.zone).isoformat(),
        "seed": heat.seed,
        "confidence": confidence,
        "grid": grid_row(grid),
        "days": days,
    }


def _quantiles(values: Any) -> dict[str, Any]:
    found = np.quantile(values.astype(np.float64), (0.1, 0.5, 0.9), axis=0).round(2)
    return dict(zip(("p10", "p50", "p90"), found, strict=True))


def _crossings(elevation_deg: Any) -> tuple[float | None, float | None]:
    """Return where the sun rises and sets, in slots from the middle of the first one; None where it does not."""
    rise = fall = None
    for ix, (before, after) in enumerate(pairwise(elevation_deg.astype(float))):
        if before < SUNRISE_DEG <= after:
            rise = ix + (SUNRISE_DEG - before) / (after - before)
        elif before >= SUNRISE_DEG > after:
            fall = ix + (before - SUNRISE_DEG) / (before - after)
    return rise, fall


def _windows(yard: Yard, unit: Unit, cook: CookTable, cook_slots: IntArray, first: int) -> list[dict[str, Any]]:
    """Return the heat window of each product that can be made on a unit and day; `cook_slots` (recipe, slot)."""
    grid = cook.grid
    rows = []
    for product in yard.products:
        best: tuple[int, str, int, int] | None = None
        for recipe, slots in zip(cook.recipes, cook_slots, strict=True):
            if recipe.product_id != product.id:
                continue
            mold = yard.mold(recipe.mold_id)
            starts = np.flatnonzero(slots != NEVER)
            if starts.size and any(yard.fits(mold, chamber, product) for chamber in unit.chambers):
                n_cooks, at = 0, int(starts[0])
                while at < slots.size:
                    n_cooks, at = (n_cooks + 1, at + int(slots[at])) if slots[at] != NEVER else (n_cooks, at + 1)
                if best is None or n_cooks > best[0]:
                    best = n_cooks, mold.id, int(starts[0]), int(starts[-1])
        if best:
            rows.append(
                {
                    "product": product.id,
                    "mold": best[1],
                    "window_start": grid.local(first + best[2]).isoformat(),
                    "window_end": grid.local(first + best[3]).isoformat(),
                    "cooks": best[0],
                }
            )
    return rows
