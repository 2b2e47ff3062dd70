"""The window's long jobs; each runs on a thread and opens its own sessions."""

import getpass
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from yardplan.cycle.starts import latest_starts
from yardplan.cycle.windows import windows
from yardplan.domain.days import UnitDay, Window, YardDay
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import Plan
from yardplan.domain.starts import LatestStart
from yardplan.domain.washing import WashGain
from yardplan.domain.weather_in_use import WeatherInUse
from yardplan.domain.yard import Yard
from yardplan.forecast.battery import low_reserves
from yardplan.forecast.days import unit_days, yard_days
from yardplan.forecast.overrule import Overrule
from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import Database
from yardplan.ui.background import Tell
from yardplan.usecases.clock import yard_now
from yardplan.usecases.outlook import Outlook, make_outlook
from yardplan.usecases.overruling import overrules_in_use
from yardplan.usecases.planning import latest_plan, make_plan
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
class Week:
    """What the window shows: an outlook with its sky, and the plan for it, if there is one.

    `unfit_number` is the number of the newest plan where that names things that the yard no longer has, else 0.
    """

    outlook: Outlook
    sky: Sky
    stored: StoredPlan | None
    unfit_number: int = 0


def read_week(database: Database, _tell: Tell) -> Week:
    """Return the newest plan with the outlook of its days; without a plan the outlook of the coming week."""
    now, stored = yard_now(database), latest_plan(database)
    unfit_number = 0
    if stored is not None:
        days = stored.outcome.plan.grid.days
        outlook = make_outlook(database, now=now, first_on=days[0][0], days=len(days), confidence=stored.confidence)
        if outlook.grid == stored.outcome.plan.grid and plan_fits(stored.outcome.plan, outlook.yard):
            return Week(outlook, _sky(database, outlook), stored)
        unfit_number = stored.number
    outlook = make_outlook(database, now=now)
    return Week(outlook, _sky(database, outlook), None, unfit_number)


def change_and_read(database: Database, change: Callable[[], object], tell: Tell) -> Week:
    """Change something in the database, then read all anew."""
    change()
    return read_week(database, tell)


def weigh_wash(outlook: Outlook, on: date, _tell: Tell) -> tuple[WashGain, ...]:
    """Return what a wash of each unit's mirrors before the sun of a day would bring."""
    return wash_gains(outlook, on)


def person() -> str:
    """Return the name of the person at this seat."""
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # a container may know no name for its user
        return "unknown"


def _sky(database: Database, outlook: Outlook) -> Sky:
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
    return Week(outlook, sky, make_plan(database, outlook, limits, stop, tell, made_by=person()))


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
