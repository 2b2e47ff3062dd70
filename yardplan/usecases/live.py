"""Tell of a running cook when it will reach PIAT, from its inside air and today's sun."""

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from math import ceil
from pathlib import Path

import numpy as np

from yardplan.cycle.live import MODEL_SPREAD, Met, live_estimate
from yardplan.cycle.table import recipe_model
from yardplan.domain.calibration import factors_of
from yardplan.domain.errors import NotThere, require
from yardplan.domain.live import LiveCook
from yardplan.domain.slots import SlotGrid, clock_instants, zone
from yardplan.domain.state import MadeCycle
from yardplan.domain.tables import Weather, means_between
from yardplan.exchange.thermocouple_file import read_thermocouples
from yardplan.forecast.heat import field_heat
from yardplan.forecast.sun_table import intercept_slots
from yardplan.store.engine import Database
from yardplan.store.read import read_calibrations, read_yard
from yardplan.usecases.own_weather import measured_sun
from yardplan.usecases.skies import skies_in_use, stored_typical_year

LONGEST = timedelta(hours=12)
"""No cook began longer ago than that."""


def estimate_cook(
    database: Database,
    *,
    chamber_id: str,
    mold_id: str,
    product_id: str,
    heat_at: datetime,
    readings: Sequence[tuple[datetime, float]],
    start_shell_c: float | None = None,
) -> LiveCook:
    """Return the estimate of a cook that runs in a chamber since `heat_at`.

    Parameters
    ----------
    readings : sequence of (instant, inside air [C])
        Since heating began; the last one is as of now. Earlier ones and those of cooks before are left out.

    Raises
    ------
    NotThere
        If the yard has no such chamber, mold or product.
    InvalidField
        If there is no reading of this cook, it began too long ago, or the mold does not make the product.
    """
    with database.begin_read() as session:
        year = stored_typical_year(database, session)
        yard, calibrations = read_yard(session), read_calibrations(session)
    unit, mold, product = yard.unit_of(chamber_id), yard.mold(mold_id), yard.product(product_id)
    require(
        mold_id in product.mold_ids, "live cook", product_id, "mold", mold_id, f"one of {', '.join(product.mold_ids)}"
    )
    own = sorted((at, air_c) for at, air_c in readings if at > heat_at)
    told = f"a reading of the inside air after {heat_at.isoformat()}"
    require(bool(own), "live cook", chamber_id, "readings", len(readings), told)
    now = own[-1][0]
    require(
        now - heat_at <= LONGEST, "live cook", chamber_id, "heat_at", heat_at.isoformat(), f"within {LONGEST} of now"
    )

    first_on = SlotGrid(heat_at, 1, yard.site.tz).local(0).date()
    n_days = (SlotGrid(now, 1, yard.site.tz).local(0).date() - first_on).days + 1
    grid = SlotGrid.of_days(first_on, n_days, yard.site.tz)
    skies = skies_in_use(database, yard, year, grid, now=now)
    heat_factor, loss_factor = factors_of(yard, calibrations)
    at = yard.molds.index(mold), yard.units.index(unit)
    share = heat_factor[at] * mold.absorptance_frac * intercept_slots(yard, grid)[at]
    heat = field_heat(yard, skies, seed=0)
    landing_kw = np.minimum(heat.field_kw[:, at[1]] * share, unit.max_mold_heat_kw)

    def met(start_at: datetime, end_at: datetime) -> Met:
        start, end = ((at - grid.start_at) / timedelta(minutes=grid.slot_min) for at in (start_at, end_at))
        n_slots = max(ceil(end - start - 1e-9), 1)
        edges = np.linspace(start, end, n_slots + 1)
        absorbed_kw, temp_c, wind_m_s = (means_between(one, edges) for one in (landing_kw, heat.temp_c, heat.wind_m_s))
        return Met(absorbed_kw, temp_c, wind_m_s, (end - start) * grid.slot_min / n_slots)

    own_calibration = next((one for one in calibrations if (one.unit_id, one.mold_id) == (unit.id, mold.id)), None)
    measured = measured_sun(database, start_at=heat_at - timedelta(hours=1), end_at=now)
    was_measured = any(_covers(one, heat_at, now) for one in measured)
    estimate = live_estimate(
        recipe_model(yard, mold, product, unit, float(loss_factor[at])),
        met(heat_at, now),
        met(now, grid.end_at),
        [((at - heat_at) / timedelta(minutes=1), air_c) for at, air_c in own],
        sun_was_measured=was_measured,
        heat_spread_frac=own_calibration.spread_frac if own_calibration else MODEL_SPREAD,
        start_shell_c=start_shell_c,
    )
    return LiveCook(
        chamber_id, unit.id, mold_id, product_id, product.piat_c, heat_at, now, was_measured, estimate, yard.site.tz
    )


def estimate_made(database: Database, made: MadeCycle, at: datetime, air_c: float) -> LiveCook:
    """Return the estimate of a cook that the log knows, from one reading of its inside air."""
    return estimate_cook(
        database,
        chamber_id=made.chamber_id,
        mold_id=made.mold.mold_id,
        product_id=made.product_id,
        heat_at=made.heats[0][0],
        readings=((at, air_c),),
    )


def readings_of(database: Database, path: Path, chamber_id: str) -> tuple[tuple[datetime, float], ...]:
    """Return a chamber's readings in a file of thermocouples.

    Raises
    ------
    BadFile
        If the file is not as `exchange.thermocouple_file` says.
    NotThere
        If it has no readings of the chamber.
    """
    with database.begin_read() as session:
        yard = read_yard(session)
    found = read_thermocouples(path, yard)
    if chamber_id not in found:
        raise NotThere(
            "reading of chamber", chamber_id, f"{path.name} has readings of {', '.join(sorted(found)) or 'none'}"
        )
    return found[chamber_id]


def heating_began(database: Database, clock: time, now: datetime) -> datetime:
    """Return the last instant before `now` at which the yard's clock showed a time.

    Raises
    ------
    InvalidField
        If it showed none such that day or the day before.
    """
    with database.begin_read() as session:
        tz = zone(read_yard(session).site.tz)
    today = now.astimezone(tz).date()
    shown = [
        at
        for on in (today - timedelta(days=1), today)
        for at in clock_instants(datetime.combine(on, clock), tz)
        if at < now
    ]
    require(bool(shown), "live cook", "", "since", f"{clock:%H:%M}", "a time that the clock showed today or yesterday")
    return shown[-1]


def _covers(measured: Weather, start_at: datetime, end_at: datetime) -> bool:
    """Tell whether the sun was measured for nine tenths of a time at least."""
    step = timedelta(minutes=measured.step_min)
    known = zip(measured.starts_at, np.isfinite(measured.dni_w_m2), strict=True)
    covered = sum(
        (max(min(at + step, end_at) - max(at, start_at), timedelta()) for at, is_read in known if is_read), timedelta()
    )
    return covered >= 0.9 * (end_at - start_at)
