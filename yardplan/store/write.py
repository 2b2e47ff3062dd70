"""From the domain's frozen values to rows. Every change is counted and audited; nobody here reads the clock.

All functions want a session of `Database.begin`, whose end keeps all that they did or nothing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from io import BytesIO
from typing import Any

import numpy as np
from sqlalchemy import delete, func, insert, select, update
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import flag_modified, set_committed_value
from sqlalchemy.orm.exc import StaleDataError

from yardplan.domain.calibration import Calibration
from yardplan.domain.errors import ChangedElsewhere, InvalidField
from yardplan.domain.log import LoggedCycle
from yardplan.domain.orders import Order, check_orders
from yardplan.domain.outcome import SolveOutcome, StoredPlan
from yardplan.domain.risk import PlanRisk
from yardplan.domain.tables import Weather
from yardplan.domain.yard import Yard
from yardplan.store import tables as t
from yardplan.store import yard_tables as y
from yardplan.store.columns import Row, columns_of
from yardplan.store.kept_yards import YardVersion, has_yard_version, keep_yard, keep_yard_version
from yardplan.store.read import EPOCH, WEATHER_ARRAYS, plan_numbers, read_orders, read_yard

SITE_NUMBER = 1


def write_yard(
    session: Session, yard: Yard, *, by: str, at: datetime, seen_version: int | None = None, what: str = "written"
) -> int:
    """Replace the yard as a whole, or write the first one; what it was stays as an earlier version.

    Parameters
    ----------
    what : str
        What was changed, in words.
    seen_version : int or None
        `read_yard_version` as of the reading of what was edited; None replaces whatever is there.

    Returns
    -------
    int
        The new version.

    Raises
    ------
    ChangedElsewhere
        If the yard is no longer the version that was seen.
    InvalidField
        If there are orders that make no sense in this yard; edit or delete those first.
    """
    check_orders(read_orders(session), yard)
    site = columns_of(y.SiteRow, yard.site, colors=yard.colors)
    row = session.get(y.SiteRow, SITE_NUMBER)
    if row is not None:
        if not has_yard_version(session, row.row_version):  # written before versions were kept
            told = YardVersion(row.row_version, at, "", "as it was before versions were kept")
            keep_yard_version(session, read_yard(session), told)
        seen = row.row_version if seen_version is None else seen_version
        _edit(session, row, seen, site, "yard", yard.site.name)
    elif not seen_version:
        row = y.SiteRow(number=SITE_NUMBER, **site)
        session.add(row)
        session.flush()
    else:
        raise ChangedElsewhere("yard", yard.site.name)
    for kind in reversed(y.YARD_ROWS):
        session.execute(delete(kind))
    rows = _yard_rows(yard)
    for kind in y.YARD_ROWS:
        insert_rows(session, kind, rows[kind])
    keep_yard_version(session, yard, YardVersion(row.row_version, at, by, what))
    record(session, by, at, f"yard {yard.site.name}: {what}")
    return row.row_version


def _yard_rows(yard: Yard) -> dict[type[Row], list[dict[str, Any]]]:
    rows: dict[type[Row], list[dict[str, Any]]] = {kind: [] for kind in y.YARD_ROWS}

    def put(kind: type[Row], values: Iterable[Any], **rest: Any) -> None:
        rows[kind] += [columns_of(kind, value, position=ix, **rest) for ix, value in enumerate(values)]

    put(y.UnitRow, yard.units)
    for unit in yard.units:
        put(y.ChamberRow, unit.chambers, unit_id=unit.id)
        put(y.HeliostatRow, unit.field, unit_id=unit.id)
    put(y.MoldRow, yard.molds)
    put(y.HungRow, yard.hung)
    put(y.ItemRow, yard.items)
    put(y.DeliveryRow, yard.deliveries)
    put(y.ProductRow, yard.products)
    for product in yard.products:
        put(y.FinishStepRow, product.routing, product_id=product.id)
        rows[y.ProductMoldRow] += [
            {"product_id": product.id, "position": ix, "mold_id": mold_id}
            for ix, mold_id in enumerate(product.mold_ids)
        ]
        rows[y.ProductInsertRow] += [
            {"product_id": product.id, "position": ix, "item_id": item_id, "count": count}
            for ix, (item_id, count) in enumerate(product.inserts)
        ]
    put(y.CleanDownRow, yard.clean_downs)
    put(y.BenchRow, yard.benches)
    put(y.LoadRow, yard.loads)
    put(y.WorkRestRow, yard.work_rest)
    put(y.ShiftRow, yard.shifts)
    for shift in yard.shifts:
        rows[y.ShiftBreakRow] += [
            {"shift_id": shift.id, "position": ix, "start_local": start, "minutes": minutes}
            for ix, (start, minutes) in enumerate(shift.breaks)
        ]
    rows[y.OperatorRow] += [
        columns_of(y.OperatorRow, person, position=ix, skills=tuple(sorted(person.skills)))
        for ix, person in enumerate(yard.operators)
    ]
    for person in yard.operators:
        rows[y.DutyRow] += [
            columns_of(
                y.DutyRow, duty, operator_id=person.id, position=ix, weekdays="".join(map(str, sorted(duty.weekdays)))
            )
            for ix, duty in enumerate(person.duties)
        ]
        rows[y.DayOffRow] += [{"operator_id": person.id, "off_on": on} for on in sorted(person.days_off)]
    put(y.DowntimeRow, yard.downtimes)
    put(y.UpkeepRow, yard.upkeep)
    return rows


def add_orders(session: Session, orders: Sequence[Order], *, by: str, at: datetime) -> tuple[Order, ...]:
    """Add new orders, all or none; returns them with their version.

    Raises
    ------
    InvalidField
        If a number is taken, or an order is for something that the yard does not make.
    NotThere
        If there is no yard yet.
    """
    check_orders(read_orders(session) + tuple(orders), read_yard(session))
    entry = session.scalar(select(func.max(t.OrderRow.entry))) or 0
    fresh = tuple(replace(order, row_version=1) for order in orders)
    insert_rows(
        session, t.OrderRow, [columns_of(t.OrderRow, order, entry=entry + ix) for ix, order in enumerate(fresh, 1)]
    )
    record(session, by, at, f"orders added: {_listed(order.id for order in orders)}")
    return fresh


def update_order(session: Session, order: Order, *, by: str, at: datetime) -> Order:
    """Keep an edited order; returns it with its new version.

    Raises
    ------
    ChangedElsewhere
        If the stored order is no longer of the version that `order` carries, or is gone.
    InvalidField
        If the order is for something that the yard does not make.
    """
    row = session.get(t.OrderRow, order.id)
    if row is None:
        raise ChangedElsewhere("order", order.id)
    check_orders((order,), read_yard(session))
    columns = columns_of(t.OrderRow, order)
    del columns["row_version"]
    changes = [f"{name} {getattr(row, name)} -> {new}" for name, new in columns.items() if getattr(row, name) != new]
    _edit(session, row, order.row_version, columns, "order", order.id)
    record(session, by, at, f"order {order.id}: {', '.join(changes) or 'nothing changed'}")
    return replace(order, row_version=row.row_version)


def delete_order(session: Session, order: Order, *, by: str, at: datetime) -> None:
    """Delete an order; see `delete_orders`."""
    delete_orders(session, (order,), by=by, at=at)


def delete_orders(session: Session, orders: Sequence[Order], *, by: str, at: datetime) -> None:
    """Delete orders, all or none; raises `ChangedElsewhere` if one is not of the version it carries, or is gone."""
    ids = [order.id for order in orders]
    rows = session.execute(select(t.OrderRow.id, t.OrderRow.row_version).where(t.OrderRow.id.in_(ids)))
    versions = {ident: version for ident, version in rows}
    for order in orders:
        if versions.get(order.id) != order.row_version:
            raise ChangedElsewhere("order", order.id)
    session.execute(delete(t.OrderRow).where(t.OrderRow.id.in_(ids)))
    told = (f"{order.id}, {order.quantity} {order.product_id} for {order.customer}" for order in orders)
    record(session, by, at, f"orders deleted: {_listed(told)}")


def add_plan(
    session: Session,
    outcome: SolveOutcome,
    *,
    made_at: datetime,
    made_by: str,
    confidence: float,
    heat_source: str,
    fingerprint: str,
    yard: Yard | None = None,
    risk: PlanRisk | None = None,
    draft: str = "",
    changes: tuple[str, ...] = (),
) -> StoredPlan:
    """Keep the plan of a search as a new version; earlier ones stay, with the yard that it was made for.

    The other arguments are those of `StoredPlan`.
    """
    number = max(plan_numbers(session), default=0) + 1
    based_on = session.scalar(select(func.max(t.PublicationRow.number))) or 0
    stored = StoredPlan(
        number, made_at, made_by, confidence, heat_source, fingerprint, outcome, risk, based_on, draft, changes
    )
    plan = outcome.plan
    parts = [columns_of(t.PlanRow, value) for value in (stored, plan.grid, outcome, outcome.parts)]
    digest = keep_yard(session, yard) if yard is not None else ""
    columns = {name: value for part in parts for name, value in part.items()}
    insert_rows(session, t.PlanRow, [columns | {"yard_digest": digest}])
    for kind, rows in (
        (t.CycleRow, plan.cycles),
        (t.MoldChangeRow, plan.mold_changes),
        (t.FinishJobRow, plan.finishing),
        (t.UpkeepJobRow, plan.upkeep),
    ):
        insert_rows(session, kind, [columns_of(kind, row, plan_number=number) for row in rows])
    insert_rows(
        session,
        t.BlockedRow,
        [columns_of(t.BlockedRow, row, plan_number=number, position=ix) for ix, row in enumerate(outcome.blocked)],
    )
    if risk is not None:
        insert_rows(session, t.PlanRiskRow, [columns_of(t.PlanRiskRow, risk, plan_number=number)])
        insert_rows(
            session,
            t.OrderRiskRow,
            [columns_of(t.OrderRiskRow, row, plan_number=number, position=ix) for ix, row in enumerate(risk.orders)],
        )
    what = f"draft {number} kept" if draft else f"plan {number} made"
    record(session, made_by, made_at, f"{what}: {outcome.status}, cost {outcome.parts.cost}")
    return stored


def add_logged_cycles(session: Session, cycles: Sequence[LoggedCycle], *, by: str, at: datetime) -> None:
    """Add to the log, all or none; raises `InvalidField` if an id was used before. Nothing is ever changed in it."""
    taken = set(session.scalars(select(t.LoggedCycleRow.id)))
    for cycle in cycles:
        if cycle.id in taken:
            raise InvalidField("logged cycle", cycle.id, "id", cycle.id, "an id that the log does not have yet")
        taken.add(cycle.id)
    entry = session.scalar(select(func.max(t.LoggedCycleRow.entry))) or 0
    rows = [columns_of(t.LoggedCycleRow, cycle, entry=entry + ix) for ix, cycle in enumerate(cycles, 1)]
    insert_rows(session, t.LoggedCycleRow, rows)
    record(session, by, at, f"cycles logged: {_listed(cycle.id for cycle in cycles)}")


def add_calibrations(session: Session, calibrations: Sequence[Calibration], *, by: str, at: datetime) -> None:
    """Add what was fitted together, which counts from now on; older fits are kept."""
    number = (session.scalar(select(func.max(t.CalibrationRow.fit_number))) or 0) + 1
    insert_rows(
        session, t.CalibrationRow, [columns_of(t.CalibrationRow, one, fit_number=number) for one in calibrations]
    )
    record(session, by, at, f"calibration {number}: {len(calibrations)} molds on units fitted")


def write_weather_year(
    session: Session,
    *,
    name: str,
    latitude_deg: float,
    longitude_deg: float,
    altitude_m: float,
    weather: Weather,
    by: str,
    at: datetime,
) -> None:
    """Take a typical year into use, instead of the one before; the place is where it was measured."""
    starts_us = [(start - EPOCH) // timedelta(microseconds=1) for start in weather.starts_at]
    packed = BytesIO()
    np.savez_compressed(
        packed, starts_us=np.array(starts_us, np.int64), **{name: getattr(weather, name) for name in WEATHER_ARRAYS}
    )
    place = {"name": name, "latitude_deg": latitude_deg, "longitude_deg": longitude_deg, "altitude_m": altitude_m}
    session.execute(delete(t.WeatherYearRow))
    insert_rows(session, t.WeatherYearRow, [columns_of(t.WeatherYearRow, weather, arrays=packed.getvalue(), **place)])
    record(session, by, at, f"typical year {name} taken into use")


def write_setting(session: Session, key: str, value: str, *, by: str, at: datetime, told_as: str | None = None) -> None:
    """Keep a setting that all seats share; the audit tells `told_as` instead of a value that may be secret."""
    session.merge(t.SettingRow(key=key, value=value))
    record(session, by, at, f"setting {key}: {value if told_as is None else told_as}")


def _edit(
    session: Session, row: t.OrderRow | y.SiteRow, seen: int, values: dict[str, Any], thing: str, ident: str
) -> None:
    """Change a row if it still is of the version seen, which the database itself compares."""
    set_committed_value(row, "row_version", seen)
    for name, value in values.items():
        setattr(row, name, value)
        flag_modified(row, name)  # so that an edit which changes nothing is compared too
    _flush_seen(session, thing, ident)


def _flush_seen(session: Session, thing: str, ident: str) -> None:
    try:
        session.flush()
    except StaleDataError as error:
        raise ChangedElsewhere(thing, ident) from error


def insert_rows(session: Session, kind: type[Row], rows: list[dict[str, Any]]) -> None:
    """Add rows, if there are any."""
    if rows:
        session.execute(insert(kind), rows)


def record(session: Session, by: str, at: datetime, what: str) -> None:
    """Put a change into the audit and count it."""
    session.add(t.AuditRow(at=at, by=by, what=what))
    count_change(session)


def count_change(session: Session) -> None:
    """Count a change, so that other seats read again."""
    session.execute(update(t.ChangeCountRow).values(count=t.ChangeCountRow.count + 1))


def _listed(names: Iterable[str]) -> str:
    found = list(names)
    return ", ".join(found[:20]) + (f" and {len(found) - 20} more" if len(found) > 20 else "")
