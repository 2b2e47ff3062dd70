"""Temperature, wind and gusts that go along with the scenarios of the sun."""

from datetime import datetime

import numpy as np

from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import FloatArray, Weather
from yardplan.forecast.blend import HANDOVER_H, mode_of
from yardplan.forecast.hours import HOUR_S, bridged, means_over
from yardplan.forecast.scenarios import Skies, SkyMode
from yardplan.forecast.sky import Floats, slot_middles
from yardplan.forecast.weather import GUST_FACTOR

TEMP_CORRELATION = ((12.0, 0.97), (36.0, 0.95), (84.0, 0.88), (132.0, 0.80), (228.0, 0.55))
WIND_CORRELATION = ((12.0, 0.85), (36.0, 0.78), (84.0, 0.65), (132.0, 0.50), (228.0, 0.30))
"""Hours since a forecast was made, and the correlation of its departures from the climate with what comes; assumed."""


def air_with_forecast(climate: Skies, forecast: Weather | None, now: datetime) -> tuple[FloatArray, ...]:
    """Return temperature, wind and gust of the climate's scenarios, drawn to the forecast: ndarray (scenario, slot).

    The regression of what comes on the forecast: the mean takes the share `correlation` of the forecast's departure
    from the climate, and the scenarios keep the spread that the forecast leaves open. So without a forecast, and
    after its end, they are those of the climate. Gusts that are not forecast follow from the wind by `GUST_FACTOR`.
    """
    fields = (climate.temp_c, climate.wind_m_s, climate.gust_m_s)
    if forecast is None or forecast.issued_at is None or mode_of(forecast, now) is SkyMode.CLIMATOLOGY:
        return fields
    grid = climate.grid
    first_s = np.floor(grid.start_at.timestamp() / HOUR_S - 1) * HOUR_S
    n_hours = int(np.ceil((grid.end_at.timestamp() - first_s) / HOUR_S)) + 1
    said, _ = means_over(forecast, first_s, 60, n_hours)
    gust = np.where(np.isnan(said["gust_m_s"]), said["wind_m_s"] * GUST_FACTOR, said["gust_m_s"])
    temp_c, wind_m_s, gust_m_s = (
        _drawn(field, values, known, grid, first_s, forecast.issued_at.timestamp())
        for field, values, known in (
            (climate.temp_c, said["temp_c"], TEMP_CORRELATION),
            (climate.wind_m_s, said["wind_m_s"], WIND_CORRELATION),
            (climate.gust_m_s, gust, WIND_CORRELATION),
        )
    )
    wind_m_s = np.maximum(wind_m_s, 0)
    return temp_c, wind_m_s, np.maximum(gust_m_s, wind_m_s)


def _drawn(
    climate: FloatArray,
    hourly: Floats,
    correlation: tuple[tuple[float, float], ...],
    grid: SlotGrid,
    first_s: float,
    issued_s: float,
) -> FloatArray:
    hourly = bridged(hourly, np.ones(len(hourly), dtype=np.bool_))
    good = np.flatnonzero(np.isfinite(hourly))
    if len(good) == 0:
        return climate
    middles = slot_middles(grid)
    place = (middles - first_s) / HOUR_S - 0.5
    forecast = np.interp(place, good, hourly[good])
    there = np.isfinite(hourly)[np.clip(np.rint(place).astype(np.intp), 0, len(hourly) - 1)]
    lead_h, values = zip(*correlation, strict=True)
    share = np.interp((middles - issued_s) / HOUR_S, lead_h, values)
    ends_s = first_s + (good[-1] + 1) * HOUR_S
    share = share * np.clip((ends_s - middles) / HOUR_S / HANDOVER_H, 0, 1) * there
    mean = climate.mean(axis=0, dtype=np.float64)
    drawn: Floats = mean + share * (forecast - mean) + np.sqrt(1 - share**2) * (climate - mean)
    return drawn.astype(np.float32)
