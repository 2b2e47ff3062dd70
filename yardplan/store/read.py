"""From rows to the domain's frozen values."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from io import BytesIO
from typing import TypeVar

import numpy as np
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from yardplan.domain.calibration import Calibration
from yardplan.domain.equipment import Bench, Chamber, Heliostat, Hung, Load, Mold, Site, Unit
from yardplan.domain.errors import NotThere
from yardplan.domain.heat_work import WorkRest
from yardplan.domain.log import LoggedCycle
from yardplan.domain.orders import Order
from yardplan.domain.outcome import GoalParts, SolveOutcome, StoredPlan
from yardplan.domain.people import Downtime, Duty, Operator, Shift, Upkeep
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan, UpkeepJob
from yardplan.domain.products import CleanDown, Delivery, FinishStep, Item, Product
from yardplan.domain.risk import OrderRisk, PlanRisk
from yardplan.domain.rules import Blocked
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import Weather
from yardplan.domain.yard import Yard
from yardplan.store import tables as t
from yardplan.store import yard_tables as y
from yardplan.store.columns import Row, value_of

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

WEATHER_ARRAYS = ("dni_w_m2", "ghi_w_m2", "dhi_w_m2", "temp_c", "wind_m_s", "gust_m_s", "cloud_frac")
"""The arrays of a `Weather`, by the names that they have in the stored npz; beside them ``starts_us``."""


@dataclass(frozen=True, eq=False)
class StoredYear:
    """The typical year in use: its weather, and the place where that was measured."""

    weather: Weather
    latitude_deg: float
    longitude_deg: float
    altitude_m: float
    name: str


@dataclass(frozen=True)
class AuditEntry:
    """One change: when on the yard's clock, by whom, and what in words."""

    at: datetime
    by: str
    what: str


def has_yard(session: Session) -> bool:
    """Tell whether there is a yard."""
    return read_yard_version(session) > 0


def read_yard_version(session: Session) -> int:
    """Return the version that counts up with each writing of the yard; 0 where there is none."""
    return session.scalar(select(y.SiteRow.row_version)) or 0


def read_yard(session: Session) -> Yard:
    """Return the yard; raises `NotThere` where there is none."""
    site = session.scalar(select(y.SiteRow))
    if site is None:
        raise NotThere("yard", "", "bring one in first")
    chambers = _by("unit_id", _all(session, y.ChamberRow))
    mirrors = _by("unit_id", _all(session, y.HeliostatRow))
    molds = _by("product_id", _all(session, y.ProductMoldRow))
    inserts = _by("product_id", _all(session, y.ProductInsertRow))
    steps = _by("product_id", _all(session, y.FinishStepRow))
    breaks = _by("shift_id", _all(session, y.ShiftBreakRow))
    duties = _by("operator_id", _all(session, y.DutyRow))
    days_off = _by("operator_id", session.scalars(select(y.DayOffRow)))
    return Yard(
        site=value_of(Site, site),
        units=tuple(
            value_of(
                Unit,
                unit,
                chambers=tuple(value_of(Chamber, row) for row in chambers[unit.id]),
                field=tuple(value_of(Heliostat, row) for row in mirrors[unit.id]),
            )
            for unit in _all(session, y.UnitRow)
        ),
        molds=tuple(value_of(Mold, row) for row in _all(session, y.MoldRow)),
        products=tuple(
            value_of(
                Product,
                product,
                mold_ids=tuple(row.mold_id for row in molds[product.id]),
                routing=tuple(value_of(FinishStep, row) for row in steps[product.id]),
                inserts=tuple((row.item_id, row.count) for row in inserts[product.id]),
            )
            for product in _all(session, y.ProductRow)
        ),
        items=tuple(value_of(Item, row) for row in _all(session, y.ItemRow)),
        benches=tuple(value_of(Bench, row) for row in _all(session, y.BenchRow)),
        shifts=tuple(
            value_of(Shift, shift, breaks=tuple((row.start_local, row.minutes) for row in breaks[shift.id]))
            for shift in _all(session, y.ShiftRow)
        ),
        operators=tuple(
            value_of(
                Operator,
                person,
                skills=frozenset(person.skills),
                duties=tuple(
                    value_of(Duty, row, weekdays=frozenset(map(int, row.weekdays))) for row in duties[person.id]
                ),
                days_off=frozenset(row.off_on for row in days_off[person.id]),
            )
            for person in _all(session, y.OperatorRow)
        ),
        clean_downs=tuple(value_of(CleanDown, row) for row in _all(session, y.CleanDownRow)),
        deliveries=tuple(value_of(Delivery, row) for row in _all(session, y.DeliveryRow)),
        downtimes=tuple(value_of(Downtime, row) for row in _all(session, y.DowntimeRow)),
        upkeep=tuple(value_of(Upkeep, row) for row in _all(session, y.UpkeepRow)),
        hung=tuple(value_of(Hung, row) for row in _all(session, y.HungRow)),
        work_rest=tuple(value_of(WorkRest, row) for row in _all(session, y.WorkRestRow)),
        loads=tuple(value_of(Load, row) for row in _all(session, y.LoadRow)),
        colors=site.colors,
    )


def read_orders(session: Session) -> tuple[Order, ...]:
    """Return all orders as they came in, each with the version that an edit has to name."""
    return tuple(value_of(Order, row) for row in session.scalars(select(t.OrderRow).order_by(t.OrderRow.entry)))


def read_logged_cycles(session: Session) -> tuple[LoggedCycle, ...]:
    """Return the log as it was written."""
    rows = session.scalars(select(t.LoggedCycleRow).order_by(t.LoggedCycleRow.entry))
    return tuple(value_of(LoggedCycle, row) for row in rows)


def read_calibrations(session: Session, known_at: datetime | None = None) -> tuple[Calibration, ...]:
    """Return the newest calibrations that were fitted by an instant; none where nothing was fitted yet."""
    row = t.CalibrationRow
    fits = select(func.max(row.fit_number))
    newest = (fits if known_at is None else fits.where(row.fitted_at <= known_at)).scalar_subquery()
    found = session.scalars(select(row).where(row.fit_number == newest).order_by(row.unit_id, row.mold_id))
    return tuple(value_of(Calibration, one) for one in found)


def plan_numbers(session: Session) -> tuple[int, ...]:
    """Return the numbers of all plan versions, rising."""
    return tuple(session.scalars(select(t.PlanRow.number).order_by(t.PlanRow.number)))


def read_plan(session: Session, number: int | None = None) -> StoredPlan | None:
    """Return a plan version; without a number the newest that is no draft, None where there is none yet.

    Raises
    ------
    NotThere
        If no version has that number.
    """
    if number is None:
        number = session.scalar(select(func.max(t.PlanRow.number)).where(t.PlanRow.draft == ""))
        if number is None:
            return None
    row = session.get(t.PlanRow, number)
    if row is None:
        known = ", ".join(map(str, plan_numbers(session))) or "none yet"
        raise NotThere("plan", str(number), f"known are {known}")
    plan = Plan(
        grid=value_of(SlotGrid, row),
        cycles=tuple(value_of(Cycle, part) for part in _of_plan(session, t.CycleRow, number)),
        mold_changes=tuple(value_of(MoldChange, part) for part in _of_plan(session, t.MoldChangeRow, number)),
        finishing=tuple(value_of(FinishJob, part) for part in _of_plan(session, t.FinishJobRow, number)),
        upkeep=tuple(value_of(UpkeepJob, part) for part in _of_plan(session, t.UpkeepJobRow, number)),
    )
    blocked = sorted(_of_plan(session, t.BlockedRow, number), key=lambda part: part.position)
    outcome = value_of(
        SolveOutcome,
        row,
        plan=plan,
        parts=value_of(GoalParts, row),
        blocked=tuple(value_of(Blocked, part) for part in blocked),
    )
    return value_of(StoredPlan, row, outcome=outcome, risk=_risk_of(session, number))


def _risk_of(session: Session, number: int) -> PlanRisk | None:
    row = session.get(t.PlanRiskRow, number)
    if row is None:
        return None
    orders = sorted(_of_plan(session, t.OrderRiskRow, number), key=lambda part: part.position)
    return value_of(PlanRisk, row, orders=tuple(value_of(OrderRisk, part) for part in orders))


def read_weather_year(session: Session) -> StoredYear | None:
    """Return the typical year in use, None where there is none yet."""
    row = session.scalar(select(t.WeatherYearRow))
    if row is None:
        return None
    with np.load(BytesIO(row.arrays), allow_pickle=False) as arrays:
        starts_at = tuple(EPOCH + timedelta(microseconds=us) for us in arrays["starts_us"].tolist())
        weather = value_of(
            Weather, row, starts_at=starts_at, rain_mm=None, **{name: arrays[name] for name in WEATHER_ARRAYS}
        )
    return value_of(StoredYear, row, weather=weather)


def read_setting(session: Session, key: str) -> str | None:
    """Return a setting that all seats share, None where it was never written."""
    return session.scalar(select(t.SettingRow.value).where(t.SettingRow.key == key))


def read_change_count(session: Session) -> int:
    """Return a number that every write counts up; a seat that sees it move reads again."""
    return session.scalars(select(t.ChangeCountRow.count)).one()


def read_audit(session: Session, newest: int = 100) -> tuple[AuditEntry, ...]:
    """Return who changed what, the newest first."""
    rows = session.scalars(select(t.AuditRow).order_by(t.AuditRow.number.desc()).limit(newest))
    return tuple(value_of(AuditEntry, row) for row in rows)


_Row = TypeVar("_Row", bound=Row)


def _all(session: Session, kind: type[_Row]) -> Iterable[_Row]:
    return session.scalars(select(kind).order_by(kind.__table__.c.position))


def _of_plan(session: Session, kind: type[_Row], number: int) -> Iterable[_Row]:
    return session.scalars(select(kind).where(kind.__table__.c.plan_number == number))


def _by(name: str, rows: Iterable[_Row]) -> defaultdict[str, list[_Row]]:
    """Group rows by a column, each group in the order given."""
    groups: defaultdict[str, list[_Row]] = defaultdict(list)
    for row in rows:
        groups[getattr(row, name)].append(row)
    return groups
