"""Say what the weather may do to the newest plan, as it is known now."""

from dataclasses import dataclass
from datetime import datetime

from yardplan.domain.errors import NotThere
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.problem import Problem
from yardplan.domain.risk import PlanRisk
from yardplan.domain.rules import Rule
from yardplan.solve.check import check
from yardplan.solve.risk import plan_risk
from yardplan.store.engine import Database
from yardplan.usecases.outlook import make_outlook
from yardplan.usecases.planning import latest_plan, problem_of


@dataclass(frozen=True, eq=False)
class LatestRisk:
    """The newest plan under the newest skies."""

    problem: Problem
    stored: StoredPlan
    risk: PlanRisk
    heat_source: str


def latest_risk(database: Database, *, now: datetime) -> LatestRisk:
    """Replay the newest plan under the skies that are known now; what has begun by now stays as planned.

    Raises
    ------
    NotThere
        If there is no plan yet, or it names what the yard or the open orders no longer have.
    """
    stored = latest_plan(database)
    if stored is None:
        raise NotThere("plan", "", "build one first with `yardplan plan`")
    grid = stored.outcome.plan.grid
    outlook = make_outlook(
        database, now=now, first_on=grid.local(0).date(), days=len(grid.days), confidence=stored.confidence
    )
    problem = problem_of(outlook)
    plan = stored.outcome.plan
    gone = [found.text for found in check(problem, plan) if found.rule in (Rule.KNOWN, Rule.MOLD_FIT)]
    if gone:
        raise NotThere("plan", str(stored.number), f"{gone[0]}; build a new one with `yardplan plan`")
    return LatestRisk(problem, stored, plan_risk(problem, plan, outlook.sky_cooks), outlook.heat.source)
