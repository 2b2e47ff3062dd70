"""Look at the coming days: what heat, cooks and electricity the yard can count on."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from yardplan.cycle.starts import latest_starts
from yardplan.cycle.table import cook_tables
from yardplan.cycle.windows import windows
from yardplan.domain.calibration import Calibration, factors_of
from yardplan.domain.heat_work import WorkLimits
from yardplan.domain.orders import Order
from yardplan.domain.slots import SlotGrid, zone
from yardplan.domain.starts import StartVerdict
from yardplan.domain.tables import CookTable, HeatTable, PowerTable, SkyCooks
from yardplan.domain.washing import WashGain
from yardplan.domain.yard import Yard
from yardplan.exchange.heat_document import heat_document
from yardplan.forecast.battery import low_reserves
from yardplan.forecast.days import unit_days, yard_days
from yardplan.forecast.electricity import power_table
from yardplan.forecast.heat import field_heat
from yardplan.forecast.power_days import bay_days, power_days
from yardplan.forecast.rain import rain_notes
from yardplan.forecast.scenarios import Skies
from yardplan.forecast.sun_table import intercept_slots
from yardplan.forecast.verify import shown
from yardplan.store.archive import add_shown
from yardplan.store.engine import Database
from yardplan.store.read import read_calibrations, read_orders, read_setting, read_yard
from yardplan.usecases.charge import charge_in_use
from yardplan.usecases.heat_rule import heat_rule_off, heat_rule_words, limits_of
from yardplan.usecases.skies import skies_in_use, stored_typical_year

CONFIDENCE = "confidence"
DEFAULT_CONFIDENCE = 0.8
CONFIDENCES = (0.5, 0.8, 0.95)


@dataclass(frozen=True, eq=False)
class Outlook:
    """The yard, its open orders and the sun that it can count on, at one moment.

    `limits` is what people may work in the heat, None where that rule is switched off; `heat_rule` tells it in words.
    """

    yard: Yard
    orders: tuple[Order, ...]
    grid: SlotGrid
    heat: HeatTable
    cook: CookTable
    sky_cooks: SkyCooks
    power: PowerTable
    confidence: float
    now: datetime
    skies: Skies
    calibrations: tuple[Calibration, ...] = ()
    limits: WorkLimits | None = None
    heat_rule: str = ""


@dataclass(frozen=True)
class Standing:
    """The yard as the log leaves it, and units whose mirrors are stowed: (unit, from, to)."""

    yard: Yard
    stowed: tuple[tuple[str, datetime, datetime], ...] = ()


def make_outlook(
    database: Database,
    *,
    now: datetime,
    first_on: date | None = None,
    days: int = 7,
    confidence: float | None = None,
    seed: int = 0,
    keep: bool = True,
    stands: Standing | None = None,
) -> Outlook:
    """Return the outlook of `days` local days from `first_on` (default: the next Monday).

    The batteries begin with the charge that was read off within those days, else with just their reserve.

    Parameters
    ----------
    keep : bool
        Keep what it says of the sun, to be scored when the sun was measured. Not for one that nobody is shown.
    stands : Standing or None
        The yard and its mirrors as the log leaves them; None: as they were brought in.

    Raises
    ------
    NotThere
        If the database has no yard or no weather yet.
    """
    with database.begin_read() as session:
        year = stored_typical_year(database, session)
        yard, orders, calibrations = read_yard(session), read_orders(session), read_calibrations(session, now)
        confidence = confidence or float(read_setting(session, CONFIDENCE) or DEFAULT_CONFIDENCE)
    yard = stands.yard if stands else yard
    grid = SlotGrid.of_days(first_on or next_monday(now, yard.site.tz), days, yard.site.tz)
    skies = skies_in_use(database, yard, year, grid, now=now, seed=seed)
    heat, cook, sky_cooks = heat_and_cooks(yard, skies, calibrations, seed=seed, stowed=stands.stowed if stands else ())
    power = power_table(yard, heat, confidence=confidence, charge=charge_in_use(database, yard, grid, now=now))
    off = heat_rule_off(database)
    limits = None if off else limits_of(yard, heat, confidence)
    if keep:
        with database.begin() as session:
            add_shown(session, shown(skies, now))
    return Outlook(
        yard,
        orders,
        grid,
        heat,
        cook,
        sky_cooks,
        power,
        confidence,
        now,
        skies,
        calibrations,
        limits,
        heat_rule_words(yard, limits, off),
    )


def heat_and_cooks(
    yard: Yard,
    skies: Skies,
    calibrations: tuple[Calibration, ...] = (),
    *,
    seed: int,
    stowed: tuple[tuple[str, datetime, datetime], ...] = (),
) -> tuple[HeatTable, CookTable, SkyCooks]:
    """Return what the yard's mirrors make of skies, and the cooks that this allows, by what the log has taught.

    The cooks are told at each confidence, and under each single sky.
    """
    heat = _without(field_heat(yard, skies, seed=seed), stowed)
    heat_factor, loss_factor = factors_of(yard, calibrations)
    landing_frac = intercept_slots(yard, skies.grid) * heat_factor[:, :, None].astype(np.float32)
    return heat, *cook_tables(yard, heat, landing_frac, CONFIDENCES, loss_factor=loss_factor)


def _without(heat: HeatTable, stowed: tuple[tuple[str, datetime, datetime], ...]) -> HeatTable:
    """Return the heat without that of units whose mirrors are stowed."""
    if not stowed:
        return heat
    field_kw = heat.field_kw.copy()
    for unit_id, start_at, end_at in stowed:
        slots = slice(max(heat.grid.slot(start_at), 0), max(heat.grid.slot_up(end_at), 0))
        field_kw[:, heat.unit_ids.index(unit_id), slots] = 0.0
    return replace(heat, field_kw=field_kw)


def outlook_document(
    outlook: Outlook, washes: tuple[WashGain, ...] = (), starts: tuple[StartVerdict, ...] = ()
) -> dict[str, Any]:
    """Return heat and electricity of an outlook as a document; see `heat_document`."""
    return heat_document(
        outlook.heat,
        yard_days(outlook.yard.site, outlook.heat),
        unit_days(outlook.heat),
        windows(outlook.yard, outlook.cook, outlook.confidence),
        washes,
        power_days=power_days(outlook.yard, outlook.heat, outlook.power),
        bay_days=bay_days(outlook.yard, outlook.power),
        notes=(
            *(f"set by hand: {rule.shown(outlook.grid.tz)}" for rule in outlook.skies.overrules),
            *outlook.skies.warnings,
            *rain_notes(outlook.skies),
            *low_reserves(outlook.yard),
        ),
        calibrations=outlook.calibrations,
        correction=outlook.skies.correction,
        latest=latest_starts(outlook.yard, outlook.cook, outlook.confidence),
        starts=starts,
        confidence=outlook.confidence,
        generated_at=outlook.now,
    )


def next_monday(now: datetime, tz: str) -> date:
    """Return the first Monday after the local day of `now`."""
    today = now.astimezone(zone(tz)).date()
    return today + timedelta(days=7 - today.weekday())
