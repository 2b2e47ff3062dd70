"""The window's long jobs; each runs on a thread and opens its own sessions."""

import platform
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime

from yardplan.cycle.starts import latest_starts
from yardplan.cycle.windows import windows
from yardplan.domain.days import UnitDay, Window, YardDay
from yardplan.domain.errors import Contradiction, InvalidField, NotThere
from yardplan.domain.events import Event, EventKind
from yardplan.domain.live import LiveCook
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import Plan
from yardplan.domain.starts import LatestStart
from yardplan.domain.state import MadeCycle, YardState
from yardplan.domain.verification import Verified
from yardplan.domain.washing import WashGain
from yardplan.domain.weather_in_use import WeatherInUse
from yardplan.domain.yard import Yard
from yardplan.exchange.entries import Entry
from yardplan.forecast.battery import low_reserves
from yardplan.forecast.days import unit_days, yard_days
from yardplan.forecast.overrule import Overrule
from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import Database
from yardplan.ui.background import Tell
from yardplan.ui.settings import seat_person
from yardplan.ui.sky_figures import sky_figures
from yardplan.usecases.clock import yard_now
from yardplan.usecases.live import estimate_made
from yardplan.usecases.logbook import log_entry, log_sun, yard_state
from yardplan.usecases.outlook import Outlook, make_outlook
from yardplan.usecases.overruling import overrules_in_use
from yardplan.usecases.planning import make_plan, plan_in_hand
from yardplan.usecases.publishing import publish
from yardplan.usecases.replanning import Replanned, replan
from yardplan.usecases.verification import verify_outlooks
from yardplan.usecases.washing import wash_gains
from yardplan.usecases.weather import weather_in_use

UnitOn = tuple[str, date]
"""A unit on a day."""


@dataclass(frozen=True, eq=False)
class Sky:
    """What is told of an outlook's sky.

    Attributes
    ----------
    fans : dict
        Heat of each unit and day.
    high_kw : float
        Highest P90 of all units and days [kW].
    windows : dict
        Windows of each unit and day, by product.
    latest : dict
        Latest safe starts of each unit and day, by chamber, mold and product.
    overrules : tuple of Overrule
        What was said by hand and stands, also for other days.
    notes : tuple of str
        Sentences on what should be looked at.
    """

    weather: WeatherInUse
    days: tuple[YardDay, ...]
    fans: dict[UnitOn, UnitDay]
    high_kw: float
    windows: dict[UnitOn, dict[str, Window]]
    latest: dict[UnitOn, tuple[LatestStart, ...]]
    overrules: tuple[Overrule, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Today:
    """How the yard stands now.

    Attributes
    ----------
    in_force : StoredPlan or None
        The plan that was published last, where the yard still has all that it names.
    person : str
        Who sits here.
    """

    state: YardState
    yard: Yard
    in_force: StoredPlan | None
    person: str


@dataclass(frozen=True, eq=False)
class Kept:
    """What was logged, and how the yard stands with it; `trouble` says why nothing was kept."""

    today: Today
    events: tuple[Event, ...] = ()
    differs: tuple[str, ...] = ()
    trouble: str = ""


@dataclass(frozen=True, eq=False)
class Week:
    """What the window shows: an outlook with its sky, and the plan for it, if there is one.

    `unfit_number` is the number of the newest plan where that names things that the yard no longer has, else 0.
    """

    outlook: Outlook
    sky: Sky
    today: Today
    stored: StoredPlan | None
    unfit_number: int = 0


def read_week(database: Database, _tell: Tell) -> Week:
    """Return the plan to look at with the outlook of its days; without a plan the outlook of the coming week."""
    now, stored = yard_now(database), plan_in_hand(database)
    unfit_number = 0
    if stored is not None:
        days = stored.outcome.plan.grid.days
        outlook = make_outlook(database, now=now, first_on=days[0][0], days=len(days), confidence=stored.confidence)
        if outlook.grid == stored.outcome.plan.grid and plan_fits(stored.outcome.plan, outlook.yard):
            return Week(outlook, _sky(database, outlook), read_today(database), stored)
        unfit_number = stored.number
    outlook = make_outlook(database, now=now)
    return Week(outlook, _sky(database, outlook), read_today(database), None, unfit_number)


def change_and_read(database: Database, change: Callable[[], object], tell: Tell) -> Week:
    """Change something in the database, then read all anew."""
    change()
    return read_week(database, tell)


def weigh_wash(outlook: Outlook, on: date, _tell: Tell) -> tuple[WashGain, ...]:
    """Return what a wash of each unit's mirrors before the sun of a day would bring."""
    return wash_gains(outlook, on)


def weigh_outlooks(database: Database, days: int, _tell: Tell) -> Verified:
    """Return how good the outlooks of the last days were."""
    return verify_outlooks(database, now=yard_now(database), days=days)


def read_today(database: Database, _tell: Tell | None = None) -> Today:
    """Return how the yard stands now."""
    state, yard, in_force = yard_state(database, now=yard_now(database))
    if in_force is not None and not plan_fits(in_force.outcome.plan, yard):
        in_force = None
    return Today(state, yard, in_force, person())


def keep_entry(database: Database, entry: Entry, at: datetime | None, by: str, _tell: Tell) -> Kept:
    """Keep an entry of the log and return how the yard stands then; one that cannot be true is told, not raised."""
    try:
        logged = log_entry(database, replace(entry, at=at), by=by or person(), now=yard_now(database), seat=seat())
    except (Contradiction, InvalidField, NotThere) as error:
        return Kept(read_today(database), trouble=str(error))
    differs = tuple(told for one in logged for told in one.differs)
    return Kept(read_today(database), tuple(one.event for one in logged), differs)


def take_back(database: Database, events: tuple[Event, ...], by: str, _tell: Tell) -> Kept:
    """Say that entries were wrong, the last one first."""
    for event in reversed(events):
        kept = keep_entry(database, Entry(EventKind.VOID, corrects=event.number), None, by, _tell)
        if kept.trouble:
            return kept
    return Kept(read_today(database))


def publish_plan(database: Database, number: int, _tell: Tell, *, anyway: bool) -> Today:
    """Put a plan into force."""
    publish(database, number, by=person(), now=yard_now(database), seat=seat(), anyway=anyway)
    return read_today(database)


def keep_sun(database: Database, dni_w_m2: float, by: str, _tell: Tell) -> float:
    """Keep a reading of the sun by hand and return it."""
    return log_sun(database, dni_w_m2, by=by or person(), at=yard_now(database)).dni_w_m2


def estimate(database: Database, made: MadeCycle, air_c: float, _tell: Tell) -> LiveCook:
    """Return what an inside air that was just read says of a cook."""
    return estimate_made(database, made, yard_now(database), air_c)


def find_ways(database: Database, seconds: float, stop: Stop, tell: Tell) -> Replanned:
    """Return ways to go on from now; tells each as soon as it is found."""
    return replan(database, now=yard_now(database), by=person(), seconds=seconds, stop=stop, on_way=tell)


def seat() -> str:
    """Return the name of this computer."""
    return platform.node() or "unknown"


def person() -> str:
    """Return the name of the person at this seat."""
    return seat_person()


def _sky(database: Database, outlook: Outlook) -> Sky:
    sky_figures(outlook)  # so that the window finds them worked out
    yard, heat, cook = outlook.yard, outlook.heat, outlook.cook
    by_product: dict[UnitOn, dict[str, Window]] = defaultdict(dict)
    for window in windows(yard, cook, outlook.confidence):
        by_product[window.unit_id, window.on][window.product_id] = window
    latest: dict[UnitOn, list[LatestStart]] = defaultdict(list)
    for start in latest_starts(yard, cook, outlook.confidence):
        latest[start.unit_id, start.on].append(start)
    fans = {(day.unit_id, day.on): day for day in unit_days(heat)}
    return Sky(
        weather=weather_in_use(database, now=outlook.now),
        days=yard_days(yard.site, heat),
        fans=fans,
        high_kw=max(float(day.heat_kw[2].max(initial=0)) for day in fans.values()),
        windows=dict(by_product),
        latest={key: tuple(rows) for key, rows in latest.items()},
        overrules=overrules_in_use(database, now=outlook.now),
        notes=(*outlook.skies.warnings, *low_reserves(yard)),
    )


def build_week(database: Database, confidence: float, limits: Limits, stop: Stop, tell: Tell) -> Week:
    """Look at the sky again, so that orders and weather are the newest, then search; tells outlook and progress."""
    outlook = make_outlook(database, now=yard_now(database), confidence=confidence)
    tell(outlook)
    sky = _sky(database, outlook)
    return Week(outlook, sky, read_today(database), make_plan(database, outlook, limits, stop, tell, made_by=person()))


def plan_fits(plan: Plan, yard: Yard) -> bool:
    """Tell whether all that a plan names is still in the yard."""
    chambers, molds = {chamber.id for chamber in yard.chambers}, {mold.id for mold in yard.molds}
    people, benches = {person.id for person in yard.operators}, {bench.id for bench in yard.benches}
    steps = {product.id: len(product.routing) for product in yard.products}
    products = {cycle.id: cycle.product_id for cycle in plan.cycles}
    return (
        all(
            row.chamber_id in chambers
            and row.product_id in steps
            and row.mold.mold_id in molds
            and people.issuperset(row.charge_crew + row.demold_crew)
            for row in plan.cycles
        )
        and all(
            row.chamber_id in chambers and row.mold_in.mold_id in molds and people.issuperset(row.crew)
            for row in plan.mold_changes
        )
        and all(
            row.bench_id in benches and row.operator_id in people and row.step_ix < steps[products[row.cycle_id]]
            for row in plan.finishing
        )
    )
