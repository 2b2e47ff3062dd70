"""The sky as it was: measured direct light, with the season's air around it."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import BoolArray, Weather
from yardplan.forecast.hours import YardHours
from yardplan.forecast.readings import sun_log
from yardplan.forecast.scenarios import Skies, climatology
from yardplan.forecast.weather import TypicalYear


def skies_as_measured(
    site: Site, year: TypicalYear, measured: Sequence[Weather], grid: SlotGrid
) -> tuple[Skies, BoolArray]:
    """Return the one sky that was, and in which slots it is known: ndarray bool (slot,), the night among them.

    Direct light is what was read; where nothing good was, it is 0 and the slot is not known. Air and wind were not
    measured: they are the means of the season, without gusts that stow.
    """
    days = (grid.end_at - grid.start_at) // timedelta(days=1) + 2
    log = sun_log(site, measured, grid.end_at, grid.slot_min, linke=site.linke, days=days)
    season = climatology(site, year, grid)
    hours = YardHours.around(site, grid, grid.end_at, site.linke)
    read_w_m2 = np.full(grid.n_slots, np.nan)
    if log is not None:
        read_w_m2 = log.slots_on(hours)[0][hours.first_slot : hours.first_slot + grid.n_slots]
    dark = season.clear.dni_w_m2 <= 0
    means = {name: getattr(season, name).mean(axis=0, keepdims=True) for name in ("ghi_w_m2", "temp_c", "wind_m_s")}
    skies = replace(
        season,
        dni_w_m2=np.where(dark, 0, np.nan_to_num(read_w_m2)).astype(np.float32)[None, :],
        gust_m_s=means["wind_m_s"],
        source=", ".join(one.source for one in measured),
        **means,
    )
    return skies, dark | np.isfinite(read_w_m2)
