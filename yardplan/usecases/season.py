"""Months ahead: what the yard can make of each product in a typical year, and what the order book takes of it."""

from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from math import ceil

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.quotes import Limit
from yardplan.domain.season import MonthOutput, Season
from yardplan.domain.slots import SlotGrid, zone
from yardplan.domain.tables import CookTable, HeatTable
from yardplan.domain.yard import Yard
from yardplan.forecast.electricity import power_table
from yardplan.forecast.scenarios import scenario_shifts
from yardplan.solve.season import Filler, Output
from yardplan.store.engine import Database
from yardplan.store.read import read_calibrations, read_orders, read_yard
from yardplan.usecases.ahead import N_SCENARIOS, SPREAD_DAYS, TypicalDay, typical_day
from yardplan.usecases.skies import stored_typical_year

RANKS = (0.1, 0.3, 0.5, 0.7, 0.9)
"""Days of a month that are filled, by rank of the cooks they allow; those between are told from them."""

MIDDLES = (6, 16, 26)
"""Days of a month whose sun stands for the days around them."""

SPELL_DAYS = 5
"""Days on end that are drawn together for the spread of months, so that spells of weather stay whole."""

N_MONTHS = 400


def season(
    database: Database,
    *,
    now: datetime,
    n_months: int = 12,
    product_ids: tuple[str, ...] = (),
    on_month: Callable[[date], None] = lambda first_on: None,
) -> Season:
    """Return what the yard can make in the months after `now`.

    Each day of a month has the sky of its own day in a typical year, under the sun of the nearest of three days of the
    month. Five of these skies, from dull to bright by how many cooks they allow, are filled with a product within all
    rules: molds, crew, benches, battery. Output under the other skies is read off between them. For the spread, months
    are drawn from these days in spells of five.

    Parameters
    ----------
    product_ids : tuple of str
        Only these; all where none is named.
    on_month : callable
        Told each month before it is worked out.

    Raises
    ------
    NotThere
        If there is no yard, no weather or no such product.
    """
    with database.begin_read() as session:
        year = stored_typical_year(database, session)
        yard, orders, calibrations = read_yard(session), read_orders(session), read_calibrations(session)
    products = [yard.product(ident) for ident in product_ids] or list(yard.products)
    rows: list[MonthOutput] = []
    source = ""
    for first_on in _months(now.astimezone(zone(yard.site.tz)).date(), n_months):
        on_month(first_on)
        after_on = (first_on + timedelta(days=31)).replace(day=1)
        middles = {middle: typical_day(yard, year, calibrations, first_on.replace(day=middle)) for middle in MIDDLES}
        source = middles[MIDDLES[0]].heat.source
        skies = [_sky_of(middles, first_on + timedelta(days=ix)) for ix in range((after_on - first_on).days)]
        for product in products:
            due = (
                order.quantity
                for order in orders
                if order.product_id == product.id
                and first_on <= order.goal_at.astimezone(zone(yard.site.tz)).date() < after_on
            )
            rows.append(_month(yard, first_on, skies, product.id, sum(due)))
    return Season(tuple(rows), source)


def _months(today: date, count: int) -> Iterator[date]:
    """Yield the first days of the months after a day."""
    first_on = today.replace(day=1)
    for _ in range(count):
        first_on = (first_on + timedelta(days=31)).replace(day=1)
        yield first_on


def _sky_of(middles: dict[int, TypicalDay], on: date) -> tuple[TypicalDay, int]:
    """Return the sky of a day: the nearest day that was worked out, and its scenario of that date."""
    middle = min(middles, key=lambda day: abs(day - on.day))
    shift = on.day - middle
    return middles[middle], int(np.flatnonzero(scenario_shifts(N_SCENARIOS, spread_days=SPREAD_DAYS) == shift)[0])


def _cooks(day: TypicalDay, sky: int, product_id: str) -> int:
    """Return how many cooks of a product can follow each other under a sky, on all units together."""
    cook = day.sky_cooks
    found = 0
    for unit_ix in range(len(cook.unit_ids)):
        most = 0
        for recipe_ix, recipe in enumerate(cook.recipes):
            if recipe.product_id == product_id:
                slots = cook.cook_slots[recipe_ix, unit_ix, :, sky].tolist()
                count = at = 0
                while at < len(slots):
                    count, at = (count + 1, at + slots[at]) if slots[at] else (count, at + 1)
                most = max(most, count)
        found += most
    return found


def _warm_up_days(yard: Yard, product_id: str) -> int:
    """Return the days after which as many pieces come through finishing each day as are molded."""
    return 1 + ceil(sum(step.rest_min + step.minutes for step in yard.product(product_id).routing) / 1440)


def _under(yard: Yard, day: TypicalDay, sky: int, n_days: int) -> Problem:
    """Return the problem of a day under one sky, so many times on end."""
    one = day.heat.grid
    grid = SlotGrid.of_days(one.days[0][0], n_days, yard.site.tz)
    pick = np.arange(grid.n_slots) % one.n_slots
    cook, cool = (
        getattr(day.sky_cooks, name)[:, :, pick, sky].astype(np.int32)[None] for name in ("cook_slots", "cool_slots")
    )
    table = CookTable(grid, day.cook.recipes, day.cook.unit_ids, (0.5,), cook, cool, day.cook.heat_kwh[..., pick])
    heat = day.heat
    heat_table = HeatTable(
        grid, heat.unit_ids, heat.field_kw[[sky]][..., pick], heat.temp_c[[sky]][..., pick],
        heat.wind_m_s[[sky]][..., pick], heat.dni_w_m2[[sky]][..., pick], heat.ghi_w_m2[[sky]][..., pick],
        heat.elevation_deg[pick], heat.source, heat.issued_at, heat.seed,
    )  # fmt: skip
    power = power_table(yard, heat_table, confidence=0.5)
    return Problem(yard, (), grid, table, power, grid.start_at, 0.5, Plan(grid))


def _month(
    yard: Yard, first_on: date, skies: list[tuple[TypicalDay, int]], product_id: str, ordered: int
) -> MonthOutput:
    cooks = np.array([_cooks(day, sky, product_id) for day, sky in skies], np.float64)
    by_cooks = np.argsort(cooks, kind="stable")
    known = [int(by_cooks[round(rank * (len(skies) - 1))]) for rank in RANKS]
    warm_up = _warm_up_days(yard, product_id)
    fillers = [Filler(_under(yard, *skies[ix], warm_up + 1)) for ix in known]
    outputs = [filler.output(product_id, warm_up_days=warm_up) for filler in fillers]
    pieces = np.array([row.pieces for row in outputs])
    # Skies with the same number of cooks share what was counted; without any cook nothing is made.
    at = np.unique([0.0, *cooks[known]])
    made = np.array([pieces[cooks[known] == one].mean() if one else 0.0 for one in at])
    daily = np.interp(cooks, at, made)
    p10, p50, p90 = (int(value) for value in np.floor(np.quantile(_drawn(daily), (0.1, 0.5, 0.9)) + 1e-9))
    middle = len(outputs) // 2
    limit = fillers[middle].limit(product_id, outputs[middle].pieces, warm_up_days=warm_up) if p50 else Limit.SUN
    return MonthOutput(first_on, product_id, p10, p50, p90, _shared(p50, outputs, yard), limit, ordered)


def _drawn(daily: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the sums of months drawn from the days of a month in spells: ndarray (month,)."""
    rng, n_days = np.random.default_rng(0), len(daily)
    n_spells = -(-n_days // SPELL_DAYS)
    first = rng.integers(0, len(daily), (N_MONTHS, n_spells, 1))
    days = ((first + np.arange(SPELL_DAYS)) % len(daily)).reshape(N_MONTHS, -1)[:, :n_days]
    sums: NDArray[np.float64] = daily[days].sum(axis=1)
    return sums


def _shared(pieces: int, outputs: list[Output], yard: Yard) -> tuple[tuple[str, int], ...]:
    """Share pieces out to units as on the days that were filled, whole pieces that add up."""
    each = [sum(row.by_unit[unit.id] for row in outputs) for unit in yard.units]
    if not sum(each):
        return tuple((unit.id, 0) for unit in yard.units)
    edges = np.round(np.cumsum(each) / sum(each) * pieces).astype(int)
    return tuple(zip((unit.id for unit in yard.units), np.diff(edges, prepend=0).tolist(), strict=True))
