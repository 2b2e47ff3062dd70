"""Rain that may fall in the scenarios of the sky: what a forecast says of days that wash the mirrors."""

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from yardplan.domain.tables import FloatArray, Weather
from yardplan.forecast.blend import mode_of
from yardplan.forecast.conditional import lead_rank_correlation
from yardplan.forecast.dirt import RAIN_CLEANS_MM
from yardplan.forecast.hours import HOUR_S
from yardplan.forecast.scenarios import Skies, SkyMode
from yardplan.forecast.sky import Floats, slot_middles


def rain_with_forecast(skies: Skies, forecasts: Sequence[Weather], now: datetime) -> FloatArray | None:
    """Return the rain of every scenario: ndarray (scenario, slot) [mm]; None where no forecast tells any.

    Day by day the dullest scenarios get the rain of the forecast, or those of its members, the wettest to the dullest;
    as many as the rank correlation of a forecast of that age says (0.85 to 0.5, an assumption), the others stay dry. So
    one wet forecast of next week does not wash the mirrors of all scenarios.

    Parameters
    ----------
    forecasts : sequence of Weather
        The forecast and the further members of its ensemble.
    """
    telling = [it for it in forecasts if it.rain_mm is not None and mode_of(it, now) is not SkyMode.CLIMATOLOGY]
    if not telling:
        return None
    grid, dni = skies.grid, skies.dni_w_m2
    middles = slot_middles(grid)
    falls = np.array([_on_slots(it, middles, grid.slot_min) for it in telling])
    rain = np.zeros(dni.shape, np.float32)
    for _, first, after in grid.days:
        issued_s = max(it.issued_at.timestamp() for it in telling if it.issued_at is not None)
        lead_h = max((middles[first:after].mean() - issued_s) / HOUR_S, 0.0)
        trusted = float(lead_rank_correlation(np.array(lead_h)))
        dullness = np.empty(len(dni))
        dullness[np.argsort(dni[:, first:after].sum(axis=1), kind="stable")] = (np.arange(len(dni)) + 0.5) / len(dni)
        wettest = np.argsort(-falls[:, first:after].sum(axis=1), kind="stable")
        place = np.floor(dullness / trusted * len(telling)).astype(np.intp)
        wet = np.flatnonzero(place < len(telling))
        rain[wet, first:after] = falls[wettest[place[wet]], first:after]
    return rain


def rain_notes(skies: Skies) -> tuple[str, ...]:
    """Return a sentence for each day on which rain may wash the mirrors."""
    if skies.rain_mm is None:
        return ()
    days = [(on, (skies.rain_mm[:, a:b].sum(axis=1) >= RAIN_CLEANS_MM).mean()) for on, a, b in skies.grid.days]
    return tuple(
        f"rain may wash the mirrors on {on:%a %d %b} ({chance:.0%}), after which less dirt is counted on"
        for on, chance in days
        if chance > 0
    )


def _on_slots(forecast: Weather, middles: Floats, slot_min: int) -> Floats:
    """Return the rain of a forecast in slots [mm]; none where it tells none."""
    assert forecast.rain_mm is not None
    step_s = forecast.step_min * 60
    place = np.floor((middles - forecast.starts_at[0].timestamp()) / step_s).astype(np.intp)
    inside = (place >= 0) & (place < len(forecast.rain_mm))
    told = np.where(inside, forecast.rain_mm[np.where(inside, place, 0)], 0)
    falls: Floats = np.nan_to_num(told) * slot_min / forecast.step_min
    return falls
