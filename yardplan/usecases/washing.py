"""Weigh a wash of the mirrors: what it would bring in heat and cooks, against the hours of the crew."""

from collections import Counter
from dataclasses import replace
from datetime import date

import numpy as np

from yardplan.cycle.windows import windows
from yardplan.domain.errors import require
from yardplan.domain.tables import CookTable
from yardplan.domain.washing import CookGain, WashGain
from yardplan.usecases.outlook import Outlook, heat_and_cooks


def wash_gains(outlook: Outlook, on: date) -> tuple[WashGain, ...]:
    """Return for each unit what a wash before the sun of the day `on` would bring over the days of the outlook.

    The same skies once more with clean mirrors, all the way to the cooks. Units do not touch each other's heat, so
    each figure holds whether others are washed or not. It counts no cook that the crew, molds or orders forbid.

    Raises
    ------
    InvalidField
        If the day is not one of the outlook's.
    """
    yard, grid = outlook.yard, outlook.grid
    days = [day for day, _, _ in grid.days]
    require(on in days, "wash", "", "on", str(on), f"a day from {days[0]} to {days[-1]}")
    washed = replace(yard, units=tuple(replace(unit, washes_on=(*unit.washes_on, on)) for unit in yard.units))
    heat, cook, _ = heat_and_cooks(washed, outlook.skies, outlook.calibrations, seed=outlook.heat.seed)
    before, after = _cooks(outlook, outlook.cook), _cooks(outlook, cook)
    slot_h = grid.slot_min / 60
    kwh_before, kwh_after = (table.field_kw.sum(axis=2, dtype=np.float64) * slot_h for table in (outlook.heat, heat))
    return tuple(
        WashGain(
            unit_id=unit.id,
            on=on,
            kwh=float(np.median(kwh_after[:, ix] - kwh_before[:, ix])),
            kwh_before=float(np.median(kwh_before[:, ix])),
            minutes=unit.wash_min,
            crew=unit.wash_crew,
            cooks=tuple(
                CookGain(product.id, before[unit.id, product.id], after[unit.id, product.id])
                for product in yard.products
                if after[unit.id, product.id]
            ),
        )
        for ix, unit in enumerate(yard.units)
    )


def _cooks(outlook: Outlook, cook: CookTable) -> Counter[tuple[str, str]]:
    counts: Counter[tuple[str, str]] = Counter()
    for window in windows(outlook.yard, cook, outlook.confidence):
        counts[window.unit_id, window.product_id] += window.cooks
    return counts
