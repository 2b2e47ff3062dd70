"""The tables of what a yard is made of.

Rows stay inside `store`; `read` and `write` turn them into the domain's frozen values. Columns carry the names of
the domain's fields, and mean and measure what those say. `position` keeps the order of a tuple.
"""

from datetime import date, datetime, time

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from yardplan.domain.equipment import MoldCopy, MoldMetal
from yardplan.domain.people import ResourceKind
from yardplan.domain.products import ItemKind
from yardplan.store.columns import Dates, Row, Words


class SiteRow(Row):
    """The one site; its version stands for the whole yard."""

    __tablename__ = "site"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    name: Mapped[str]
    latitude_deg: Mapped[float]
    longitude_deg: Mapped[float]
    altitude_m: Mapped[float]
    tz: Mapped[str]
    min_elevation_deg: Mapped[float]
    stow_gust_m_s: Mapped[float]
    resume_gust_m_s: Mapped[float]
    linke: Mapped[float | None]
    loaders: Mapped[int]
    humidity_pct: Mapped[float]
    handling_sun_frac: Mapped[float]
    colors: Mapped[Words]
    row_version: Mapped[int] = mapped_column()
    __mapper_args__ = {"version_id_col": row_version}  # noqa: RUF012 - SQLAlchemy reads this name from the class


class UnitRow(Row):
    """A unit without its chambers and mirrors."""

    __tablename__ = "unit"
    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    name: Mapped[str]
    target_up_m: Mapped[float]
    washed_on: Mapped[date]
    soiling_per_day_frac: Mapped[float]
    max_mold_heat_kw: Mapped[float]
    pv_kw: Mapped[float]
    battery_kwh: Mapped[float]
    reserve_kwh: Mapped[float]
    round_trip_frac: Mapped[float]
    inverter_kw: Mapped[float]
    base_day_kw: Mapped[float]
    base_night_kw: Mapped[float]
    wind_through_frac: Mapped[float]
    washes_on: Mapped[Dates]
    wash_min: Mapped[int]
    wash_crew: Mapped[int]


class ChamberRow(Row):
    """A chamber of a unit."""

    __tablename__ = "chamber"
    id: Mapped[str] = mapped_column(primary_key=True)
    unit_id: Mapped[str] = mapped_column(ForeignKey("unit.id"))
    position: Mapped[int]
    max_swing_m: Mapped[float]
    max_load_kg: Mapped[float]


class HeliostatRow(Row):
    """A mirror of a unit's field."""

    __tablename__ = "heliostat"
    unit_id: Mapped[str] = mapped_column(ForeignKey("unit.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    east_m: Mapped[float]
    north_m: Mapped[float]
    up_m: Mapped[float]
    width_m: Mapped[float]
    height_m: Mapped[float]
    reflectance_frac: Mapped[float]


class MoldRow(Row):
    """A mold with all its copies."""

    __tablename__ = "mold"
    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    name: Mapped[str]
    metal: Mapped[MoldMetal]
    shell_kg: Mapped[float]
    surface_m2: Mapped[float]
    target_m: Mapped[float]
    swing_m: Mapped[float]
    absorptance_frac: Mapped[float]
    emittance_frac: Mapped[float]
    cavities: Mapped[int]
    copies: Mapped[int]
    change_min: Mapped[int]
    change_crew: Mapped[int]
    max_shell_c: Mapped[float]


class HungRow(Row):
    """What hangs in a chamber."""

    __tablename__ = "hung"
    chamber_id: Mapped[str] = mapped_column(ForeignKey("chamber.id"), primary_key=True)
    position: Mapped[int]
    mold: Mapped[MoldCopy]
    grade: Mapped[str]
    color: Mapped[str]


class ItemRow(Row):
    """A stock item."""

    __tablename__ = "item"
    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    name: Mapped[str]
    kind: Mapped[ItemKind]
    on_hand: Mapped[float]
    grade: Mapped[str]
    color: Mapped[str]
    piece_kg: Mapped[float]
    lead_days: Mapped[int | None]


class DeliveryRow(Row):
    """A delivery of a stock item."""

    __tablename__ = "delivery"
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    item_id: Mapped[str] = mapped_column(ForeignKey("item.id"))
    arrives_at: Mapped[datetime]
    amount: Mapped[float]


class ProductRow(Row):
    """A product without its molds, routing and inserts."""

    __tablename__ = "product"
    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    name: Mapped[str]
    resin_grade: Mapped[str]
    shot_kg: Mapped[float]
    wall_mm: Mapped[float]
    piat_c: Mapped[float]
    demold_c: Mapped[float]
    charge_min: Mapped[int]
    charge_crew: Mapped[int]
    demold_min: Mapped[int]
    demold_crew: Mapped[int]


class ProductMoldRow(Row):
    """A mold that can make a product."""

    __tablename__ = "product_mold"
    product_id: Mapped[str] = mapped_column(ForeignKey("product.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    mold_id: Mapped[str] = mapped_column(ForeignKey("mold.id"))


class ProductInsertRow(Row):
    """Inserts in one piece of a product."""

    __tablename__ = "product_insert"
    product_id: Mapped[str] = mapped_column(ForeignKey("product.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    item_id: Mapped[str] = mapped_column(ForeignKey("item.id"))
    count: Mapped[int]


class FinishStepRow(Row):
    """A step of a product's routing."""

    __tablename__ = "finish_step"
    product_id: Mapped[str] = mapped_column(ForeignKey("product.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    bench_kind: Mapped[str]
    skill: Mapped[str]
    minutes: Mapped[int]
    power_kw: Mapped[float]
    rest_min: Mapped[int]


class CleanDownRow(Row):
    """A rule for the cleaning between two colors."""

    __tablename__ = "clean_down"
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    from_color: Mapped[str]
    to_color: Mapped[str]
    minutes: Mapped[int]


class BenchRow(Row):
    """A finishing place."""

    __tablename__ = "bench"
    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    name: Mapped[str]
    kind: Mapped[str]
    unit_id: Mapped[str] = mapped_column(ForeignKey("unit.id"))


class LoadRow(Row):
    """What units take by the clock."""

    __tablename__ = "load"
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    name: Mapped[str]
    unit_id: Mapped[str]
    from_local: Mapped[time]
    to_local: Mapped[time]
    kw: Mapped[float]


class WorkRestRow(Row):
    """A row of the yard's own table of work and rest in the heat."""

    __tablename__ = "work_rest"
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    from_f: Mapped[float]
    moderate_min: Mapped[int]
    heavy_min: Mapped[int]


class ShiftRow(Row):
    """A shift without its breaks."""

    __tablename__ = "shift"
    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    start_local: Mapped[time]
    end_local: Mapped[time]
    overtime: Mapped[bool]


class ShiftBreakRow(Row):
    """A break in a shift."""

    __tablename__ = "shift_break"
    shift_id: Mapped[str] = mapped_column(ForeignKey("shift.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    start_local: Mapped[time]
    minutes: Mapped[int]


class OperatorRow(Row):
    """A person of the crew, without duties and days off."""

    __tablename__ = "operator"
    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    name: Mapped[str]
    skills: Mapped[Words]
    jobs_at_once: Mapped[int]


class DutyRow(Row):
    """A duty of an operator; `weekdays` as digits, 0 for Monday."""

    __tablename__ = "duty"
    operator_id: Mapped[str] = mapped_column(ForeignKey("operator.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    shift_id: Mapped[str] = mapped_column(ForeignKey("shift.id"))
    weekdays: Mapped[str]
    first_on: Mapped[date | None]
    last_on: Mapped[date | None]


class DayOffRow(Row):
    """A day off of an operator."""

    __tablename__ = "day_off"
    operator_id: Mapped[str] = mapped_column(ForeignKey("operator.id"), primary_key=True)
    off_on: Mapped[date] = mapped_column(primary_key=True)


class DowntimeRow(Row):
    """A down-time of any resource."""

    __tablename__ = "downtime"
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    kind: Mapped[ResourceKind]
    resource_id: Mapped[str]
    start_at: Mapped[datetime]
    end_at: Mapped[datetime]
    reason: Mapped[str]


class UpkeepRow(Row):
    """Upkeep that is due."""

    __tablename__ = "upkeep"
    id: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    name: Mapped[str]
    kind: Mapped[ResourceKind]
    resource_id: Mapped[str]
    minutes: Mapped[int]
    skill: Mapped[str]
    crew: Mapped[int]
    from_at: Mapped[datetime]
    due_at: Mapped[datetime]


YARD_ROWS: tuple[type[Row], ...] = (
    UnitRow, ChamberRow, HeliostatRow, MoldRow, HungRow, ItemRow, DeliveryRow, ProductRow, ProductMoldRow,
    ProductInsertRow, FinishStepRow, CleanDownRow, BenchRow, LoadRow, WorkRestRow, ShiftRow, ShiftBreakRow, OperatorRow,
    DutyRow, DayOffRow, DowntimeRow, UpkeepRow,
)  # fmt: skip
"""What a yard is made of beside the site, each after what it refers to."""
