"""Weather made for tests: forecasts and readings over a yard."""

from datetime import datetime, timedelta

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.tables import Weather
from yardplan.forecast.sky import Floats, clear_sky

TUCSON_YARD = Site("Invented yard", 32.17, -110.88, 809.0, "America/Phoenix")


def weather(start_at: datetime, step_min: int, steps: int, issued_at: datetime | None = None, **values) -> Weather:
    """Return weather; fields that are not given are gaps. `dni`, `ghi`, `temp`, `wind`, `gust`, `cloud`."""
    fields = {
        name: np.broadcast_to(np.asarray(values.get(name, np.nan), dtype=float), (steps,)).copy()
        for name in ("dni", "ghi", "dhi", "temp", "wind", "gust", "cloud")
    }
    starts = tuple(start_at + timedelta(minutes=step_min * n) for n in range(steps))
    return Weather(starts, step_min, *fields.values(), source="made", issued_at=issued_at)


def clear_dni(site: Site, start_at: datetime, step_min: int, steps: int, linke: float | None = None) -> Floats:
    """Return the direct light of a cloudless sky at the middle of each step."""
    middles = start_at.timestamp() + (np.arange(steps) + 0.5) * step_min * 60
    return clear_sky(middles, site.latitude_deg, site.longitude_deg, site.altitude_m, linke or site.linke).dni_w_m2


def readings(site: Site, start_at: datetime, step_min: int, steps: int, index: Floats | float = 1.0, **values):
    """Return what an instrument reads under a share of the cloudless sky."""
    return weather(start_at, step_min, steps, dni=index * clear_dni(site, start_at, step_min, steps), **values)
