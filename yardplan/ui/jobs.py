"""The window's long jobs; each runs on a thread and opens its own sessions."""

import getpass
from dataclasses import dataclass

from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import Plan
from yardplan.domain.yard import Yard
from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import Database
from yardplan.ui.background import Tell
from yardplan.usecases.clock import yard_now
from yardplan.usecases.outlook import Outlook, make_outlook
from yardplan.usecases.planning import latest_plan, make_plan


@dataclass(frozen=True, eq=False)
class Week:
    """What the window shows: an outlook and the plan for it, if there is one.

    `unfit_number` is the number of the newest plan where that names things that the yard no longer has, else 0.
    """

    outlook: Outlook
    stored: StoredPlan | None
    unfit_number: int = 0


def read_week(database: Database, _tell: Tell) -> Week:
    """Return the newest plan with the outlook of its days; without a plan the outlook of the coming week."""
    now, stored = yard_now(database), latest_plan(database)
    if stored is None:
        return Week(make_outlook(database, now=now), None)
    days = stored.outcome.plan.grid.days
    outlook = make_outlook(database, now=now, first_on=days[0][0], days=len(days), confidence=stored.confidence)
    if outlook.grid != stored.outcome.plan.grid or not plan_fits(stored.outcome.plan, outlook.yard):
        return Week(make_outlook(database, now=now), None, stored.number)
    return Week(outlook, stored)


def build_week(database: Database, confidence: float, limits: Limits, stop: Stop, tell: Tell) -> Week:
    """Look at the sky again, so that orders and weather are the newest, then search; tells outlook and progress."""
    outlook = make_outlook(database, now=yard_now(database), confidence=confidence)
    tell(outlook)
    return Week(outlook, make_plan(database, outlook, limits, stop, tell, made_by=_person()))


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


def _person() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # a container may know no name for its user
        return "unknown"
