"""The tables of orders, plans, the log and what all seats share; those of the yard itself are in `yard_tables`.

Names of yard things in plans and logs are plain words: history outlives what it names.
"""

from datetime import date, datetime

from sqlalchemy import ForeignKey, Integer, LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.events import Choice, EventKind
from yardplan.domain.outcome import Status
from yardplan.domain.rules import Why
from yardplan.store import yard_tables as yard_tables  # an order refers to a product
from yardplan.store.columns import Row, Words


class OrderRow(Row):
    """An order; `entry` counts up as orders come in."""

    __tablename__ = "customer_order"
    id: Mapped[str] = mapped_column(primary_key=True)
    entry: Mapped[int] = mapped_column(unique=True)
    customer: Mapped[str]
    # Deferred, so that a yard can be replaced as a whole while there are orders.
    product_id: Mapped[str] = mapped_column(ForeignKey("product.id", deferrable=True, initially="DEFERRED"))
    color: Mapped[str]
    quantity: Mapped[int]
    due_at: Mapped[datetime]
    promise_at: Mapped[datetime | None]
    priority: Mapped[int]
    note: Mapped[str]
    row_version: Mapped[int] = mapped_column()
    __mapper_args__ = {"version_id_col": row_version}  # noqa: RUF012 - SQLAlchemy reads this name from the class


class WeatherYearRow(Row):
    """The typical year in use; `arrays` is a compressed npz with the arrays of a `Weather`."""

    __tablename__ = "weather_year"
    name: Mapped[str] = mapped_column(primary_key=True)
    latitude_deg: Mapped[float]
    longitude_deg: Mapped[float]
    altitude_m: Mapped[float]
    source: Mapped[str]
    step_min: Mapped[int]
    issued_at: Mapped[datetime | None]
    arrays: Mapped[bytes] = mapped_column(LargeBinary)


class KeptYardRow(Row):
    """A yard as it once was: a compressed document under the hash of its content."""

    __tablename__ = "kept_yard"
    digest: Mapped[str] = mapped_column(primary_key=True)
    document: Mapped[bytes] = mapped_column(LargeBinary)


class YardVersionRow(Row):
    """A version of the yard, numbered as the site's row."""

    __tablename__ = "yard_version"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    by: Mapped[str]
    what: Mapped[str]
    digest: Mapped[str] = mapped_column(ForeignKey("kept_yard.digest"))


class PlanRow(Row):
    """A plan version: its grid, how it was made, what it costs."""

    __tablename__ = "plan"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    made_at: Mapped[datetime]
    made_by: Mapped[str]
    confidence: Mapped[float]
    heat_source: Mapped[str]
    fingerprint: Mapped[str]
    start_at: Mapped[datetime]
    n_slots: Mapped[int]
    tz: Mapped[str]
    slot_min: Mapped[int]
    status: Mapped[Status]
    bound: Mapped[int]
    seconds: Mapped[float]
    seed: Mapped[int]
    cost: Mapped[int]
    promised_late_slots: Mapped[int]
    other_late_slots: Mapped[int]
    late_orders: Mapped[int]
    missing_thousandths: Mapped[int]
    mold_changes: Mapped[int]
    clean_downs: Mapped[int]
    overtime_slots: Mapped[int]
    evening_slots: Mapped[int]
    slack_slots: Mapped[int]
    moved: Mapped[int] = mapped_column(server_default="0")
    based_on: Mapped[int] = mapped_column(server_default="0")
    draft: Mapped[str] = mapped_column(server_default="")
    changes: Mapped[Words] = mapped_column(server_default="[]")
    yard_digest: Mapped[str] = mapped_column(server_default="")


class CycleRow(Row):
    """A cycle of a plan."""

    __tablename__ = "plan_cycle"
    plan_number: Mapped[int] = mapped_column(ForeignKey("plan.number"), primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    order_id: Mapped[str]
    product_id: Mapped[str]
    color: Mapped[str]
    mold: Mapped[MoldCopy]
    chamber_id: Mapped[str]
    pieces: Mapped[int]
    charge_slot: Mapped[int]
    clean_slots: Mapped[int]
    heat_slot: Mapped[int]
    heat_end_slot: Mapped[int]
    cool_end_slot: Mapped[int]
    demold_slot: Mapped[int]
    end_slot: Mapped[int]
    charge_crew: Mapped[Words]
    demold_crew: Mapped[Words]
    locked: Mapped[bool]


class MoldChangeRow(Row):
    """A mold change of a plan."""

    __tablename__ = "plan_mold_change"
    plan_number: Mapped[int] = mapped_column(ForeignKey("plan.number"), primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    chamber_id: Mapped[str]
    mold_out: Mapped[MoldCopy | None]
    mold_in: Mapped[MoldCopy]
    start_slot: Mapped[int]
    end_slot: Mapped[int]
    crew: Mapped[Words]
    locked: Mapped[bool]


class FinishJobRow(Row):
    """A finishing job of a plan."""

    __tablename__ = "plan_finish_job"
    plan_number: Mapped[int] = mapped_column(ForeignKey("plan.number"), primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    cycle_id: Mapped[str]
    step_ix: Mapped[int]
    bench_id: Mapped[str]
    operator_id: Mapped[str]
    start_slot: Mapped[int]
    end_slot: Mapped[int]
    kwh: Mapped[float]
    locked: Mapped[bool]


class UpkeepJobRow(Row):
    """An upkeep job of a plan."""

    __tablename__ = "plan_upkeep_job"
    plan_number: Mapped[int] = mapped_column(ForeignKey("plan.number"), primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    upkeep_id: Mapped[str]
    start_slot: Mapped[int]
    end_slot: Mapped[int]
    crew: Mapped[Words]
    locked: Mapped[bool]


class BlockedRow(Row):
    """An order of which a plan leaves something out."""

    __tablename__ = "plan_blocked"
    plan_number: Mapped[int] = mapped_column(ForeignKey("plan.number"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[str]
    why: Mapped[Why]
    detail: Mapped[str]


class PlanRiskRow(Row):
    """What the weather may do to a plan, for all orders together."""

    __tablename__ = "plan_risk"
    plan_number: Mapped[int] = mapped_column(ForeignKey("plan.number"), primary_key=True)
    n_scenarios: Mapped[int]
    promised_frac: Mapped[float]
    all_frac: Mapped[float]


class OrderRiskRow(Row):
    """What the weather may do to one order of a plan."""

    __tablename__ = "plan_order_risk"
    plan_number: Mapped[int] = mapped_column(ForeignKey("plan.number"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[str]
    chance_frac: Mapped[float | None]
    p50_slot: Mapped[int | None]
    p80_slot: Mapped[int | None]
    p95_slot: Mapped[int | None]


class LoggedCycleRow(Row):
    """A cycle that was made; rows are only ever added."""

    __tablename__ = "logged_cycle"
    id: Mapped[str] = mapped_column(primary_key=True)
    entry: Mapped[int] = mapped_column(unique=True)
    chamber_id: Mapped[str]
    mold: Mapped[MoldCopy]
    product_id: Mapped[str]
    color: Mapped[str]
    charged_at: Mapped[datetime]
    heat_at: Mapped[datetime]
    piat_at: Mapped[datetime | None]
    demolded_at: Mapped[datetime]
    piat_c: Mapped[float]
    pieces_good: Mapped[int]
    pieces_scrapped: Mapped[int]
    note: Mapped[str]


class EventRow(Row):
    """An entry of the log; rows are only ever added."""

    __tablename__ = "log_event"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    kind: Mapped[EventKind]
    at: Mapped[datetime]
    entered_at: Mapped[datetime]
    by: Mapped[str]
    seat: Mapped[str]
    subject: Mapped[str]
    mold: Mapped[MoldCopy | None]
    order_id: Mapped[str]
    product_id: Mapped[str]
    color: Mapped[str]
    cycle_id: Mapped[str]
    planned_id: Mapped[str]
    step_ix: Mapped[int | None]
    person: Mapped[str]
    good: Mapped[int | None]
    scrapped: Mapped[int | None]
    rework: Mapped[int | None]
    amount: Mapped[float | None]
    choice: Mapped[Choice | None]
    until_at: Mapped[datetime | None]
    reason: Mapped[str]
    corrects: Mapped[int | None]


class PublicationRow(Row):
    """Which plan came into force when; the newest holds, and rows are only ever added."""

    __tablename__ = "publication"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    plan_number: Mapped[int] = mapped_column(ForeignKey("plan.number"))
    at: Mapped[datetime]
    by: Mapped[str]
    seat: Mapped[str]
    reason: Mapped[str]


class CalibrationRow(Row):
    """What logged cycles taught about a mold on a unit; each fit has a number, and rows are only ever added."""

    __tablename__ = "calibration"
    fit_number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    unit_id: Mapped[str] = mapped_column(primary_key=True)
    mold_id: Mapped[str] = mapped_column(primary_key=True)
    heat_factor: Mapped[float]
    loss_factor: Mapped[float]
    spread_frac: Mapped[float]
    n_cycles: Mapped[int]
    residual_min: Mapped[float]
    fitted_at: Mapped[datetime]


class SunReadingRow(Row):
    """Sun that was measured; rows are only ever added."""

    __tablename__ = "sun_reading"
    source: Mapped[str] = mapped_column(primary_key=True)
    start_at: Mapped[datetime] = mapped_column(primary_key=True)
    step_min: Mapped[int]
    dni_w_m2: Mapped[float]
    ghi_w_m2: Mapped[float | None]


class ForecastRow(Row):
    """A forecast as it was got; rows are only ever added.

    `payload` is the document as answered, gzipped; `arrays` is a compressed npz with the arrays of a `Weather` and of
    its further members, stacked.
    """

    __tablename__ = "forecast"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    service: Mapped[str]
    question: Mapped[str]
    latitude_deg: Mapped[float]
    longitude_deg: Mapped[float]
    credit: Mapped[str]
    source: Mapped[str]
    issued_at: Mapped[datetime] = mapped_column(index=True)
    fetched_at: Mapped[datetime]
    etag: Mapped[str]
    last_modified: Mapped[str]
    warnings: Mapped[Words]
    step_min: Mapped[int]
    arrays: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    payload: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)


class ShownOutlookRow(Row):
    """The sun of an outlook as it was shown; rows are only ever added.

    `arrays` is a compressed npz with the starts of the hours [s] and their quantiles [W/m2].
    """

    __tablename__ = "shown_outlook"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    made_at: Mapped[datetime] = mapped_column(index=True)
    first_at: Mapped[datetime]
    last_at: Mapped[datetime]
    arrays: Mapped[bytes] = mapped_column(LargeBinary)


class ForecastServiceRow(Row):
    """How asking a forecast service went the last time."""

    __tablename__ = "forecast_service"
    service: Mapped[str] = mapped_column(primary_key=True)
    checked_at: Mapped[datetime | None]
    rest_until_at: Mapped[datetime | None]
    trouble: Mapped[str]


class QuoteRow(Row):
    """A quote as it was told; rows are only ever added. `state` marks the orders, plan, stock and holds behind it."""

    __tablename__ = "quote"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    made_at: Mapped[datetime]
    made_by: Mapped[str]
    plan_number: Mapped[int | None]
    outlook: Mapped[str]
    state: Mapped[str]
    document: Mapped[str]


class HoldRow(Row):
    """Capacity that is kept for a customer until a date."""

    __tablename__ = "hold"
    id: Mapped[str] = mapped_column(primary_key=True)
    entry: Mapped[int] = mapped_column(unique=True)
    quote_number: Mapped[int] = mapped_column(ForeignKey("quote.number"))
    customer: Mapped[str]
    until_on: Mapped[date]
    promise_at: Mapped[datetime]
    confidence: Mapped[float]
    made_at: Mapped[datetime]
    made_by: Mapped[str]


class HoldWishRow(Row):
    """What is held."""

    __tablename__ = "hold_wish"
    hold_id: Mapped[str] = mapped_column(ForeignKey("hold.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    product_id: Mapped[str]
    color: Mapped[str]
    quantity: Mapped[int]


class FinishedRow(Row):
    """Finished pieces in stock that no order takes."""

    __tablename__ = "finished_stock"
    product_id: Mapped[str] = mapped_column(primary_key=True)
    color: Mapped[str] = mapped_column(primary_key=True)
    free: Mapped[int]
    on_hold: Mapped[int]


class SettingRow(Row):
    """A setting that all seats share."""

    __tablename__ = "setting"
    key: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]


class AuditRow(Row):
    """Who changed what, and when on the yard's clock."""

    __tablename__ = "audit"
    number: Mapped[int] = mapped_column(Integer, primary_key=True)
    at: Mapped[datetime]
    by: Mapped[str]
    what: Mapped[str]


class ChangeCountRow(Row):
    """One row that every write counts up; who writes holds it until the end, so writers take turns."""

    __tablename__ = "change_count"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    count: Mapped[int]
