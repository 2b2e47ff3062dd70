"""The JSON document of the heat outlook; times are ISO 8601 on the yard's clock with their offset."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any, Protocol
from zoneinfo import ZoneInfo

import numpy as np

from yardplan.domain.equipment import Unit
from yardplan.domain.tables import NEVER, CookTable, FloatArray, HeatTable
from yardplan.domain.yard import Yard
from yardplan.exchange.documents import grid_row


class DayOfUnit(Protocol):
    """One local day of one unit, as the forecast sums it up: P10, P50, P90 of its heat by slot and in all."""

    @property
    def on(self) -> date:
        """The local day."""

    @property
    def unit_id(self) -> str:
        """The unit."""

    @property
    def sunrise_at(self) -> datetime | None:
        """Rise of the sun's upper rim, None on a day without one."""

    @property
    def sunset_at(self) -> datetime | None:
        """Set of the sun's upper rim, None on a day without one."""

    @property
    def kwh(self) -> tuple[float, ...]:
        """Heat of the day [kWh]."""

    @property
    def first_slot(self) -> int:
        """Slot of the grid that the day begins with."""

    @property
    def heat_kw(self) -> FloatArray:
        """Heat (quantile, slot of the day) [kW]."""


def heat_document(
    yard: Yard,
    heat: HeatTable,
    cook: CookTable,
    days: Sequence[DayOfUnit],
    *,
    confidence: float,
    generated_at: datetime,
) -> dict[str, Any]:
    """Return the heat outlook as a document, see ``heat.schema.json``.

    Windows and cooks hold at `confidence`, which must be one of the cook table's. For a product that several
    molds can make, the mold that allows most cooks counts.
    """
    grid, units = heat.grid, {unit.id: unit for unit in yard.units}
    rows: dict[date, dict[str, Any]] = {}
    for day in days:
        row = rows.setdefault(
            day.on,
            {
                "date": str(day.on),
                "start": grid.local(day.first_slot).isoformat(),
                "sunrise": _minute(day.sunrise_at, grid.zone),
                "sunset": _minute(day.sunset_at, grid.zone),
                "units": [],
            },
        )
        row["units"].append(
            {
                "unit": day.unit_id,
                "heat_kw": _by_name(np.round(day.heat_kw.astype(np.float64), 2).tolist()),
                "kwh": _by_name([round(kwh, 2) for kwh in day.kwh]),
                "products": _windows(yard, units[day.unit_id], cook, day, confidence),
            }
        )
    return {
        "schema": "yardplan/heat/1",
        "generated_at": generated_at.astimezone(grid.zone).isoformat(),
        "heat_source": heat.source,
        "issued_at": None if heat.issued_at is None else heat.issued_at.astimezone(grid.zone).isoformat(),
        "seed": heat.seed,
        "confidence": confidence,
        "grid": grid_row(grid),
        "days": list(rows.values()),
    }


def _minute(at: datetime | None, tz: ZoneInfo) -> str | None:
    return None if at is None else at.astimezone(tz).isoformat(timespec="minutes")


def _by_name(quantiles: list[Any]) -> dict[str, Any]:
    return dict(zip(("p10", "p50", "p90"), quantiles, strict=True))


def _windows(yard: Yard, unit: Unit, cook: CookTable, day: DayOfUnit, confidence: float) -> list[dict[str, Any]]:
    """Return the heat window of each product of which a cook reaches PIAT on a unit that day."""
    after = day.first_slot + day.heat_kw.shape[1]
    at = cook.confidence_ix(confidence), slice(None), cook.unit_ids.index(unit.id), slice(day.first_slot, after)
    best: dict[str, dict[str, Any]] = {}
    for recipe, slots in zip(cook.recipes, cook.cook_slots[at], strict=True):
        mold, product = yard.mold(recipe.mold_id), yard.product(recipe.product_id)
        starts = np.flatnonzero(slots != NEVER)
        if not starts.size or not any(yard.fits(mold, chamber, product) for chamber in unit.chambers):
            continue
        n_cooks, slot = 0, int(starts[0])
        while slot < slots.size:
            n_cooks, slot = (n_cooks + 1, slot + int(slots[slot])) if slots[slot] != NEVER else (n_cooks, slot + 1)
        if n_cooks > best.get(product.id, {"cooks": 0})["cooks"]:
            first, last = (cook.grid.local(day.first_slot + int(start)).isoformat() for start in starts[[0, -1]])
            best[product.id] = {
                "product": product.id,
                "mold": mold.id,
                "window_start": first,
                "window_end": last,
                "cooks": n_cooks,
            }
    return [best[product.id] for product in yard.products if product.id in best]
