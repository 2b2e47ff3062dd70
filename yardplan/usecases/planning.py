"""Build a plan and keep it; check one that comes from anywhere."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from yardplan.domain.outcome import Progress, SolveOutcome, StoredPlan
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.risk import PlanRisk
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard
from yardplan.exchange.fingerprint import fingerprint
from yardplan.solve.chance import buy_chance
from yardplan.solve.risk import plan_risk
from yardplan.solve.run import Limits, Stop, solve
from yardplan.store.engine import Database
from yardplan.store.read import read_plan
from yardplan.store.write import add_plan
from yardplan.usecases.outlook import Outlook, make_outlook


def problem_of(outlook: Outlook, kept: Plan | None = None) -> Problem:
    """Return the question that a plan answers; `kept` is work that stays as it is."""
    return Problem(
        yard=outlook.yard,
        orders=outlook.orders,
        grid=outlook.grid,
        cook=outlook.cook,
        power=outlook.power,
        now=outlook.now,
        confidence=outlook.confidence,
        kept=kept or Plan(outlook.grid),
        limits=outlook.limits,
    )


def problem_on(database: Database, grid: SlotGrid, *, now: datetime, confidence: float) -> Problem:
    """Return the question on a grid that is given, such as that of a plan which is there already."""
    first_on = grid.local(0).date()
    days = len(grid.days)
    outlook = make_outlook(database, now=now, first_on=first_on, days=days, confidence=confidence, keep=False)
    return problem_of(outlook)


def make_plan(
    database: Database,
    outlook: Outlook,
    limits: Limits,
    stop: Stop,
    on_better: Callable[[Progress], None],
    *,
    made_by: str,
    buys_chance: bool = False,
) -> StoredPlan:
    """Search for a plan and keep the best one as a new version; no session is open meanwhile.

    Parameters
    ----------
    on_better : callable
        Told each better checked plan, in the thread that runs this.
    buys_chance : bool
        Whether the last third of the time goes into better chances of orders that the weather may make late.
    """
    problem = problem_of(outlook)
    if buys_chance and limits.seconds is not None:
        first, more = replace(limits, seconds=limits.seconds * 2 / 3), replace(limits, seconds=limits.seconds / 3)
        outcome = solve(problem, first, stop, on_better)
        outcome = buy_chance(problem, outcome, outlook.sky_cooks, more, stop, on_better)
    else:
        outcome = solve(problem, limits, stop, on_better)
    risk = plan_risk(problem, outcome.plan, outlook.sky_cooks)
    return keep_plan(database, problem, outcome, heat_source=outlook.heat.source, by=made_by, risk=risk)


def keep_plan(
    database: Database,
    problem: Problem,
    outcome: SolveOutcome,
    *,
    heat_source: str,
    by: str,
    risk: PlanRisk | None = None,
    draft: str = "",
    changes: tuple[str, ...] = (),
    unchanged: Yard | None = None,
) -> StoredPlan:
    """Keep what a search found as a new version, made at the moment of its question; see `StoredPlan`.

    The yard of the question is kept with it; `unchanged` is that yard without the changes of a draft.
    """
    with database.begin() as session:
        return add_plan(
            session,
            outcome,
            made_at=problem.now,
            made_by=by,
            confidence=problem.confidence,
            heat_source=heat_source,
            fingerprint=fingerprint(problem),
            yard=unchanged or problem.yard,
            risk=risk,
            draft=draft,
            changes=changes,
        )


def latest_plan(database: Database) -> StoredPlan | None:
    """Return the newest plan version, None where there is none yet."""
    with database.begin_read() as session:
        return read_plan(session)
