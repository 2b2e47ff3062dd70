"""How clean mirrors are: they lose a share a day, and washing or rain gives it back."""

import numpy as np

from yardplan.domain.equipment import Unit
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import FloatArray
from yardplan.forecast.sky import Floats

RAIN_CLEANS_MM = 6.0
"""Rain of a day that leaves mirrors clean. Source: Kimber, Mitchell, Nogradi and Wenger, The effect of soiling on
large grid-connected photovoltaic systems in California, 2006, as in pvlib's `soiling.kimber`."""


def clean_slots(unit: Unit, grid: SlotGrid, rain_mm: FloatArray | None = None) -> Floats:
    """Return the share of its reflectance that a field has left: (1 - rate) to the days since it was last clean.

    A rate of 0.1 to 1 % a day is usual. Source: NREL/TP-255-3369, 1990 (abstract). It steps at local midnight. A wash
    makes the field clean from the midnight before it, since mirrors are washed before the sun is on them; a day with
    `RAIN_CLEANS_MM` of rain from the midnight after. Rain before the grid begins is not known. A field that has
    never been washed when the grid begins counts as clean then.

    Parameters
    ----------
    rain_mm : ndarray (scenario, slot) [mm], optional
        Rain that falls in each slot; without it only washes clean.

    Returns
    -------
    ndarray (scenario, slot)
        Of one scenario only where no rain is given.
    """
    first_on = grid.days[0][0]
    washes = {unit.washed_on, *unit.washes_on}
    clean_on = max((on for on in washes if on <= first_on), default=first_on)
    days = np.full(1 if rain_mm is None else len(rain_mm), (first_on - clean_on).days)
    clean = np.ones((len(days), grid.n_slots))
    for on, first, after in grid.days:
        days[:] = 0 if on in washes else days
        clean[:, first:after] = (1 - unit.soiling_per_day_frac) ** days[:, None]
        days += 1
        if rain_mm is not None:
            days[rain_mm[:, first:after].sum(axis=1) >= RAIN_CLEANS_MM] = 0
    return clean
