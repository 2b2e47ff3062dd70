"""What the board tells of an outlook whatever the plan: worked out once, beside the window where that can be."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np

from yardplan.cycle.starts import latest_starts
from yardplan.ui.ribbons import HeatBand
from yardplan.usecases.outlook import Outlook


@dataclass(frozen=True, eq=False)
class SkyFigures:
    """Figures of an outlook.

    Attributes
    ----------
    bands : dict
        The band of heat of each unit.
    day_kwh : dict
        P10, P50 and P90 of the heat of each unit and day [kWh].
    latest : dict
        Slot of the latest safe start of each day, chamber, mold and product.
    """

    bands: dict[str, HeatBand]
    day_kwh: dict[tuple[str, date], list[float]]
    latest: dict[tuple[date, str, str, str], int]


@lru_cache(maxsize=1)
def sky_figures(outlook: Outlook) -> SkyFigures:
    """Return the figures of an outlook; those of the last one are kept, so a plan can be drawn anew quickly."""
    heat, grid = outlook.heat, outlook.grid
    bands, day_kwh = {}, {}
    for unit_ix, unit in enumerate(outlook.yard.units):
        field_kw = heat.field_kw[:, unit_ix, :]
        bands[unit.id] = HeatBand.of(field_kw)
        for on, first, after in grid.days:
            kwh = field_kw[:, first:after].sum(axis=1) * grid.slot_min / 60
            day_kwh[unit.id, on] = np.quantile(kwh, (0.1, 0.5, 0.9)).tolist()
    latest = {
        (row.on, row.chamber_id, row.mold_id, row.product_id): row.slot
        for row in latest_starts(outlook.yard, outlook.cook, outlook.confidence)
    }
    return SkyFigures(bands, day_kwh, latest)
