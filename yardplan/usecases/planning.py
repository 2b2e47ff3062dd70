"""Build a plan and keep it; check one that comes from anywhere."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

from yardplan.domain.difference import on_grid
from yardplan.domain.errors import LocksClash
from yardplan.domain.outcome import Progress, SolveOutcome, Status, StoredPlan
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.risk import PlanRisk
from yardplan.domain.rules import Rule
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard
from yardplan.exchange.fingerprint import fingerprint
from yardplan.solve.carry import old_plan
from yardplan.solve.chance import buy_chance
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.follow import as_it_cooks
from yardplan.solve.goal import goal_parts
from yardplan.solve.risk import plan_risk
from yardplan.solve.run import Limits, Stop, solve
from yardplan.store.day import read_publications
from yardplan.store.engine import Database
from yardplan.store.promises import read_holds
from yardplan.store.read import read_plan
from yardplan.store.write import add_plan, record
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

    Raises
    ------
    LocksClash
        If cycles of the plan in hand are locked where they cannot be.
    """
    problem = with_locks(problem_of(outlook), plan_in_hand(database))
    asked = with_holds(database, problem)
    if buys_chance and limits.seconds is not None:
        first, more = replace(limits, seconds=limits.seconds * 2 / 3), replace(limits, seconds=limits.seconds / 3)
        outcome = solve(asked, first, stop, on_better)
        outcome = buy_chance(asked, outcome, outlook.sky_cooks, more, stop, on_better)
    else:
        outcome = solve(asked, limits, stop, on_better)
    outcome = without_holds(problem, asked, outcome)
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
    notes: tuple[str, ...] = (),
) -> StoredPlan:
    """Keep what a search found as a new version, made at the moment of its question; see `StoredPlan`.

    The yard of the question is kept with it; `unchanged` is that yard without the changes of a draft. `notes` go into
    the audit with it, each under the number of the plan.
    """
    with database.begin() as session:
        stored = add_plan(
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
        for note in notes:
            record(session, by, problem.now, f"plan {stored.number}: {note}")
    return stored


def with_holds(database: Database, problem: Problem) -> Problem:
    """Return the question with what is held for customers among its orders, as far as it would be ready in its days."""
    grid, yard = problem.grid, problem.yard
    with database.begin_read() as session:
        holds = read_holds(session, problem.now.astimezone(grid.zone).date())
    products = {product.id: product.resin_grade for product in yard.products}
    resins = {(item.grade, item.color) for item in yard.items}
    held = tuple(
        order
        for hold in holds
        if hold.promise_at <= grid.end_at
        for order in hold.orders()
        if (products.get(order.product_id), order.color) in resins
    )
    return replace(problem, orders=(*problem.orders, *held)) if held else problem


def without_holds(problem: Problem, asked: Problem, outcome: SolveOutcome) -> SolveOutcome:
    """Return a plan without the cycles of what is held: nobody makes them yet, and their room stays free.

    The molds for them hang where they are needed. Nothing is known of how good the plan is without them, so its bound
    is 0.
    """
    if asked is problem:
        return outcome
    known = {order.id for order in problem.orders}
    plan = outcome.plan
    gone = {row.id for row in plan.cycles if row.order_id not in known}
    plan = replace(
        plan,
        cycles=tuple(row for row in plan.cycles if row.id not in gone),
        finishing=tuple(row for row in plan.finishing if row.cycle_id not in gone),
    )
    if check(problem, plan):  # a clean-down after what is held is not needed now, or comes later
        plan = old_plan(problem, plan)
    blocked = tuple(row for row in outcome.blocked if row.order_id in known)
    status = Status.GOOD if outcome.status is Status.PROVEN else outcome.status
    return replace(outcome, plan=plan, status=status, parts=goal_parts(problem, plan), bound=0, blocked=blocked)


def latest_plan(database: Database) -> StoredPlan | None:
    """Return the newest plan version, None where there is none yet."""
    with database.begin_read() as session:
        return read_plan(session)


def plan_in_hand(database: Database) -> StoredPlan | None:
    """Return the newest plan, or the one in force if it was published since: of several ways one was taken."""
    with database.begin_read() as session:
        newest, known = read_plan(session), read_publications(session)
        if newest is None or not known or known[-1].at < newest.made_at:
            return newest
        return read_plan(session, known[-1].plan_number)


def with_locks(problem: Problem, stored: StoredPlan | None) -> Problem:
    """Return the question with the locked cycles of a plan kept where they are, as far as they lie in its days.

    Raises
    ------
    LocksClash
        If they cannot all be there.
    """
    if stored is None or problem.kept.cycles:
        return problem
    grid, old = problem.grid, stored.outcome.plan.grid
    if old.slot_min != grid.slot_min or (old.start_at - grid.start_at) % timedelta(minutes=grid.slot_min):
        return problem
    plan, known = on_grid(stored.outcome.plan, grid), {order.id for order in problem.orders}
    locked = tuple(
        row for row in plan.cycles if row.locked and row.order_id in known and row.charge_slot >= problem.now_slot
    )
    if not locked:
        return problem
    compiled = Compiled(problem)
    asked = replace(problem, kept=Plan(grid, tuple(as_it_cooks(compiled, row) for row in locked)))
    hangs_later = (Rule.MOLD_CHANGE, Rule.MOLD_ONCE, Rule.CLEAN_DOWN)  # what hangs before is still to be planned
    broken = [row for row in check(asked, asked.kept) if row.rule not in hangs_later]
    if broken:
        raise LocksClash(
            tuple(dict.fromkeys(row.text for row in broken)), tuple(sorted({job for row in broken for job in row.jobs}))
        )
    return asked
