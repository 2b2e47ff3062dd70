"""What the forecast reaches, and how long it takes: ``python -m tests.bench.bench_forecast [FOLDER]``.

FOLDER holds the test data of pvlib's source distribution; with it a month of readings at Payerne (BSRN) and a year of
satellite hours (NSRDB) are judged too. They are not shipped. Prints figures, asserts nothing; takes some minutes.

What a bar asks and the data do not give: on the satellite year the CRPS of corrected forecasts is 126 to 128 W/m2 where
125 are asked. With no bias put in it is 124, which leaves next to nothing to learn from 30 days; a forecast that is
clipped at a clear sky has lost more than a shift can bring back. Mapping what is said by its rank reaches 126. All made
forecasts are made up from what came, so none of this is the skill of a real forecast at a real yard.
"""
# ruff: noqa: T201 - figures for a person to read

import os
import sys
import time
import tracemalloc
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
from pvlib import iotools

from tests.forecast.acceptance import (
    Row,
    cloud_rows,
    correction_rows,
    ensemble_rows,
    hourly_rows,
    mapping_rows,
    nowcast_rows,
    observed_cover_rows,
    sum_rows,
    telegraph,
)
from tests.forecast.trials import year_of
from yardplan.domain.equipment import Site
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import Weather
from yardplan.forecast.clouds import donors_of
from yardplan.forecast.readings import sun_log
from yardplan.forecast.skies import forecast_skies
from yardplan.forecast.sky import Floats, clear_sky
from yardplan.forecast.turbidity import fit_linke
from yardplan.forecast.weather import TypicalYear

SEEDS = 6
PAYERNE = (46.815, 6.944, 491.0)


def typical_year_rows() -> Iterator[Row]:
    yield from observed_cover_rows("Greensboro", 72, 0.50, 0.70)
    yield from observed_cover_rows("Tucson", 100, 0.75, None)
    for place, at_day_1 in (("Greensboro", 0.15), ("Tucson", 0.05), ("Miami", None)):
        for rank, share in ((0.85, 0.15), (0.75, 0.15), (0.6, 0.3), (0.5, 0.3)):
            least = at_day_1 if rank == 0.75 else 0.0 if rank == 0.5 else None
            yield from hourly_rows(place, rank, share, SEEDS, least)
    for place in ("Greensboro", "Tucson"):
        for common in (0.9, 0.4, 0.0):
            yield from ensemble_rows(place, SEEDS, common)
    for place in ("Greensboro", "Tucson", "Miami"):
        yield from sum_rows(place, SEEDS)
    for place in ("Greensboro", "Tucson"):
        yield from nowcast_rows(place, SEEDS)
        for injected in ((0.12, 0.12), (0.12, 0.0), (0.0, 0.0)):
            yield from correction_rows(place, SEEDS, injected)
    yield from cloud_rows("made sun and cloud, generator", *telegraph(2000, 0))
    logged, clear = telegraph(4000, 1)
    yield from cloud_rows("made sun and cloud, donors", *telegraph(2000, 0), donors=donors_of(logged, clear))


def measured_rows(folder: Path) -> Iterator[Row]:
    """Rows on data that are not shipped."""
    month, _ = iotools.read_bsrn(folder / "bsrn-pay0616.dat.gz")
    start_s = month.index[0].timestamp()
    site = Site("Payerne", *PAYERNE, "Europe/Zurich")
    readings = weather(datetime.fromtimestamp(start_s, UTC), 1, month["dni"].to_numpy(float), "Payerne")
    end = datetime.fromtimestamp(start_s, UTC) + timedelta(minutes=len(month))
    fitted = fit_linke(site, log) if (log := sun_log(site, [readings], end, 5, linke=None)) else None
    assert fitted is not None
    yield Row("Payerne, June: Linke turbidity fitted to clear spells", fitted.linke, f"{fitted.half_days} half days")
    hours = len(month) // 60
    slots = month["dni"].to_numpy(float)[: hours * 60].reshape(hours, 12, 5).mean(axis=2).clip(0)
    middles = start_s + (np.arange(hours * 12) + 0.5) * 300
    sky = clear_sky(middles, *PAYERNE, fitted.linke)
    clear = sky.dni_w_m2.reshape(hours, 12)
    high = sky.sun.elevation_deg.reshape(hours, 12).mean(axis=1) > 7
    whole = high & np.isfinite(slots).all(axis=1)
    day = np.arange(hours) // 24
    yield from cloud_rows("Payerne, generator, all days", slots[whole], clear[whole])
    held = whole & (day % 2 == 1)
    yield from cloud_rows("Payerne, generator, odd days", slots[held], clear[held])
    year = satellite_year(folder)
    yield from nowcast_rows("satellite year", SEEDS, year=year)
    yield from correction_rows("satellite year", SEEDS, (0.12, 0.12), year=year)
    yield from correction_rows("satellite year", SEEDS, (0.12, 0.0), year=year)
    yield from correction_rows("satellite year", SEEDS, (0.0, 0.0), year=year)
    yield from mapping_rows("satellite year", SEEDS, 0.12, year)


def satellite_year(folder: Path) -> TypicalYear:
    """A real year of half hours at 40.53 N, 108.54 W, as hours; its clouds are told from its global light."""
    table = pd.read_csv(folder / "test_read_psm4.csv", skiprows=2).iloc[:17520]
    dni, ghi, dhi, temp_c, wind = (
        table[name].to_numpy(float).reshape(-1, 2).mean(axis=1)
        for name in ("DNI", "GHI", "DHI", "Temperature", "Wind Speed")
    )
    start_at = datetime(2001, 1, 1, 7, tzinfo=UTC)
    starts = tuple(start_at + timedelta(hours=n) for n in range(8760))
    none = np.full(8760, np.nan)
    hours = Weather(starts, 60, dni, ghi, dhi, temp_c, wind, wind * 1.5, none, source="satellite year")
    return TypicalYear(hours, 40.53, -108.54, 2168.0, "satellite year")


def weather(
    start_at: datetime,
    step_min: int,
    dni: Floats,
    source: str,
    cloud: float = np.nan,
    issued_at: datetime | None = None,
) -> Weather:
    none = np.full(len(dni), np.nan)
    starts = tuple(start_at + timedelta(minutes=step_min * n) for n in range(len(dni)))
    return Weather(
        starts,
        step_min,
        dni,
        none,
        none,
        none,
        none,
        none,
        np.full(len(dni), cloud),
        source=source,
        issued_at=issued_at,
    )


def timing() -> None:
    """7 days x 5 minutes x 200 scenarios, with a forecast and today's readings."""
    site = Site("Tucson", 32.17, -110.88, 809.0, "America/Phoenix")
    grid = SlotGrid.of_days(date(2027, 5, 17), 7, site.tz)
    now = datetime(2027, 5, 17, 17, 20, tzinfo=UTC)
    issued_at = now - timedelta(hours=4)
    forecast = weather(now.replace(hour=13, minute=0), 60, np.full(200, np.nan), "made", 0.4, issued_at)
    morning = now.replace(hour=13, minute=0)
    middles = morning.timestamp() + (np.arange(52) + 0.5) * 300
    readings = weather(morning, 5, 0.8 * clear_sky(middles, 32.17, -110.88, 809.0).dni_w_m2, "made")
    year = year_of("Tucson")

    def once() -> None:
        forecast_skies(site, year, forecast, [readings], grid, now=now)

    walls, processors = [], []
    for _ in range(6):
        wall, processor = time.perf_counter(), time.process_time()
        once()
        walls.append(time.perf_counter() - wall)
        processors.append(time.process_time() - processor)
    tracemalloc.start()
    once()
    peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    print(f"\n{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; 7 days x 5 min x 200 scenarios:")
    print(f"first {walls[0]:.2f} s; warm, bar <= 1 s: wall {min(walls[1:]):.2f} to {max(walls[1:]):.2f} s, ", end="")
    print(f"processor {min(processors[1:]):.2f} s; all arrays at once, bar <= 40 MB: {peak_mb:.0f} MB")


def main() -> None:
    """Print all rows, then the times."""
    print(f"{'what':<62} {'bar':>14} {'reached':>9}  cases", flush=True)
    for row in typical_year_rows():
        print(row, flush=True)
    if len(sys.argv) > 1:
        for row in measured_rows(Path(sys.argv[1])):
            print(row, flush=True)
    timing()


if __name__ == "__main__":
    main()
