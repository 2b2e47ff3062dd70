"""Months ahead: what the yard can make of each product in a typical year, and what the order book takes of it."""

from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from math import ceil

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.orders import Order
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.quotes import Limit
from yardplan.domain.season import MonthOutput, Season
from yardplan.domain.slots import SlotGrid, zone
from yardplan.domain.tables import CookTable, HeatTable
from yardplan.domain.yard import Yard
from yardplan.forecast.electricity import power_table
from yardplan.solve.season import Filler, Output
from yardplan.store.engine import Database
from yardplan.store.read import read_calibrations, read_orders, read_yard
from yardplan.usecases.ahead import TypicalDay, typical_day
from yardplan.usecases.skies import stored_typical_year

RANKS = (0.1, 0.3, 0.5, 0.7, 0.9)
"""Days of a season that are filled, by rank of their heat; those between are told from them."""

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

    Of each month the middle day of a typical year stands for all, under the skies of the 21 days around it. Five of
    these, from dull to bright, are filled with a product within all rules: molds, crew, benches, battery. Output under
    the other skies is read off between them by heat. Months are drawn from these days in spells of five.

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
        day = typical_day(yard, year, calibrations, first_on + timedelta(days=14))
        source = day.heat.source
        for warm_up in sorted({_warm_up_days(yard, product.id) for product in products}):
            fillers = [Filler(_under(yard, day, sky, warm_up + 1)) for sky in _ranked(day.heat)]
            for product in products:
                if _warm_up_days(yard, product.id) == warm_up:
                    rows.append(_month(yard, first_on, day.heat, fillers, product.id, orders))
    rank = {product.id: ix for ix, product in enumerate(products)}
    return Season(tuple(sorted(rows, key=lambda row: (row.first_on, rank[row.product_id]))), source)


def _months(today: date, count: int) -> Iterator[date]:
    """Yield the first days of the months after a day."""
    first_on = today.replace(day=1)
    for _ in range(count):
        first_on = (first_on + timedelta(days=31)).replace(day=1)
        yield first_on


def _heat_kwh(heat: HeatTable) -> NDArray[np.float64]:
    """Return the heat of all units over a day under each sky: ndarray (scenario,) [kWh]."""
    found: NDArray[np.float64] = heat.field_kw.sum(axis=(1, 2), dtype=np.float64) * heat.grid.slot_min / 60
    return found


def _ranked(heat: HeatTable) -> list[int]:
    """Return the skies of `RANKS`, from dull to bright."""
    by_heat = np.argsort(_heat_kwh(heat), kind="stable")
    return [int(by_heat[round(rank * (len(by_heat) - 1))]) for rank in RANKS]


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
    yard: Yard, first_on: date, heat: HeatTable, fillers: list[Filler], product_id: str, orders: tuple[Order, ...]
) -> MonthOutput:
    after_on = (first_on + timedelta(days=31)).replace(day=1)
    n_days = (after_on - first_on).days
    warm_up = _warm_up_days(yard, product_id)
    outputs = [filler.output(product_id, warm_up_days=warm_up) for filler in fillers]
    kwh = _heat_kwh(heat)
    known_kwh = np.sort(kwh)[[round(rank * (len(kwh) - 1)) for rank in RANKS]]
    # More heat never makes fewer pieces; that a filled day may hold one less by chance is evened out.
    known = np.maximum.accumulate([row.pieces for row in outputs])
    daily = np.interp(kwh, known_kwh, known)
    p10, p50, p90 = (int(value) for value in np.floor(np.quantile(_drawn(daily, n_days), (0.1, 0.5, 0.9)) + 1e-9))
    middle = outputs[len(outputs) // 2]
    tz = zone(yard.site.tz)
    due = (
        order.quantity
        for order in orders
        if order.product_id == product_id and first_on <= order.goal_at.astimezone(tz).date() < after_on
    )
    limit = fillers[len(fillers) // 2].limit(product_id, middle.pieces, warm_up_days=warm_up) if p50 else Limit.SUN
    return MonthOutput(first_on, product_id, p10, p50, p90, _shared(p50, middle, yard), limit, sum(due))


def _drawn(daily: NDArray[np.float64], n_days: int) -> NDArray[np.float64]:
    """Return the sums of months drawn from days in spells: ndarray (month,)."""
    rng = np.random.default_rng(0)
    n_spells = -(-n_days // SPELL_DAYS)
    first = rng.integers(0, len(daily), (N_MONTHS, n_spells, 1))
    days = ((first + np.arange(SPELL_DAYS)) % len(daily)).reshape(N_MONTHS, -1)[:, :n_days]
    sums: NDArray[np.float64] = daily[days].sum(axis=1)
    return sums


def _shared(pieces: int, middle: Output, yard: Yard) -> tuple[tuple[str, int], ...]:
    """Share pieces out to units as on a middling day, whole pieces that add up."""
    total = sum(middle.by_unit.values())
    if not total:
        return tuple((unit.id, 0) for unit in yard.units)
    so_far = np.cumsum([middle.by_unit[unit.id] for unit in yard.units])
    edges = np.round(so_far / total * pieces).astype(int)
    return tuple(zip((unit.id for unit in yard.units), np.diff(edges, prepend=0).tolist(), strict=True))
