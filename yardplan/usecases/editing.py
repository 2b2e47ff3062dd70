"""Change a plan by hand: every edit is judged, and what was changed becomes a version of its own."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from yardplan.domain.difference import Pair, on_grid
from yardplan.domain.edits import Add, Edit, Edited, Move, Split, frozen_changes
from yardplan.domain.errors import NotThere, Refused, require
from yardplan.domain.outcome import SolveOutcome, Status, StoredPlan
from yardplan.domain.plan import Cycle, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.slots import SlotGrid
from yardplan.exchange.edit_words import edit_words, pair_words
from yardplan.solve.check import check
from yardplan.solve.edit import Editor, staying, without_closed
from yardplan.solve.goal import goal_parts
from yardplan.solve.risk import plan_risk
from yardplan.store.engine import Database
from yardplan.store.kept_yards import read_yard_of_plan
from yardplan.store.read import read_setting
from yardplan.store.write import write_setting
from yardplan.usecases.logbook import plan_in_force
from yardplan.usecases.outlook import Outlook, make_outlook
from yardplan.usecases.planning import keep_plan, plan_in_hand, problem_of
from yardplan.usecases.publishing import publish

FROZEN_H = "frozen_h"
DEFAULT_FROZEN_H = 24.0
"""How far ahead the plan in force is frozen: a change of it takes a reason and a name [h] (own assumption)."""


def frozen_h(database: Database) -> float:
    """Return for how many hours from now the plan in force is frozen [h]."""
    with database.begin_read() as session:
        return float(read_setting(session, FROZEN_H) or DEFAULT_FROZEN_H)


def set_frozen_h(database: Database, hours: float, *, by: str, at: datetime) -> None:
    """Set for how many hours from now the plan in force is frozen; for all seats.

    Raises
    ------
    InvalidField
        If they are less than 0 or more than four weeks.
    """
    require(0 <= hours <= 672, "frozen period", "", "hours", hours, "a number from 0 to 672")
    with database.begin() as session:
        write_setting(session, FROZEN_H, f"{hours:g}", by=by, at=at)


def frozen_of(in_force: StoredPlan | None, plan: Plan, *, now: datetime, hours: float) -> tuple[Pair[Cycle], ...]:
    """Return the cycles of the plan in force that a plan moves, adds or drops within its frozen period.

    A plan for other days leaves those of the plan in force alone: only what lies in the days of both counts.
    """
    if in_force is None:
        return ()
    old, grid = in_force.outcome.plan, plan.grid
    if old.grid.slot_min != grid.slot_min or (old.grid.start_at - grid.start_at) % timedelta(minutes=grid.slot_min):
        return ()
    old = on_grid(old, grid)
    first, after = max(grid.slot(now), 0), grid.n_slots
    old = replace(old, cycles=tuple(row for row in old.cycles if first <= row.charge_slot < after))
    new = replace(plan, cycles=tuple(row for row in plan.cycles if first <= row.charge_slot))
    return frozen_changes(old, new, grid.slot_up(now + timedelta(hours=hours)))


def question_to_edit(database: Database, outlook: Outlook, base: StoredPlan) -> Problem:
    """Return the question that an edit of a plan is judged by: the yard as it is now, the sky as it is known now.

    A plan that was made in the middle of work began with other molds hanging, other stock and what the log told was out
    of work; these are taken from the yard that it was made for.
    """
    problem = problem_of(outlook)
    with database.begin_read() as session:
        own = read_yard_of_plan(session, base.number)
    if own is None or own.hung == problem.yard.hung:
        return problem
    downtimes = tuple(dict.fromkeys((*problem.yard.downtimes, *own.downtimes)))
    yard = replace(problem.yard, hung=own.hung, items=own.items, deliveries=own.deliveries, downtimes=downtimes)
    return replace(problem, yard=yard)


def save_edited(
    database: Database,
    outlook: Outlook,
    base: StoredPlan,
    plan: Plan,
    *,
    by: str,
    notes: tuple[str, ...] = (),
) -> StoredPlan:
    """Keep a plan that was changed by hand as a new version; its `notes` say what was changed, by whom and why.

    Raises
    ------
    Refused
        If it breaks a rule that the plan it began from keeps.
    """
    asked = question_to_edit(database, outlook, base)
    problem = replace(asked, kept=staying(asked, plan))
    _require_checked(asked, base.outcome.plan, problem, plan)
    outcome = SolveOutcome(plan, Status.EDITED, goal_parts(problem, plan), 0, base.outcome.blocked, 0.0, 0)
    risk = plan_risk(problem, plan, outlook.sky_cooks)
    return keep_plan(database, problem, outcome, heat_source=outlook.heat.source, by=by, risk=risk, notes=notes)


def _require_checked(asked: Problem, old: Plan, problem: Problem, plan: Plan) -> None:
    broken = check(problem, plan)
    if broken:
        old = without_closed(asked, old)
        standing = {(row.rule, row.jobs) for row in check(replace(asked, kept=staying(asked, old)), old)}
        reasons = tuple(row.text for row in broken if (row.rule, row.jobs) not in standing)
        if reasons:
            raise Refused("the plan was not kept", reasons)


@dataclass(frozen=True, eq=False)
class Made:
    """An edit that was made and kept: in words, what it came to, and the plan before."""

    stored: StoredPlan
    told: str
    found: Edited
    before: Plan
    outlook: Outlook


def edit_plan(
    database: Database,
    asked: Callable[[SlotGrid], Edit],
    *,
    now: datetime,
    by: str,
    reason: str = "",
    name: str = "",
) -> Made:
    """Make one edit of the plan in hand and keep the result as a new version.

    Parameters
    ----------
    asked : callable
        The edit, given the grid of the plan.
    reason, name : str
        Why, and who says so; both are needed if a cycle of the plan in force is changed in its frozen period.

    Raises
    ------
    Refused
        If it cannot be done; says why.
    NotThere
        If there is no plan, or nothing of the name.
    InvalidField
        If reason or name are missing.
    """
    base = plan_in_hand(database)
    if base is None:
        raise NotThere("plan", "", "build one first with `yardplan plan`")
    outlook = outlook_to_edit(database, base, now=now)
    problem, plan = question_to_edit(database, outlook, base), base.outcome.plan
    edit = asked(plan.grid)
    _require_known(edit, problem, plan)
    editor = Editor(problem, plan)
    found = editor.checked(edit)
    told = edit_words(edit, editor.plan, found.plan)
    if not found.is_done:
        raise Refused(told, found.reasons)
    with database.begin_read() as session:
        in_force = plan_in_force(session)
    frozen = frozen_between(in_force, editor.plan, found.plan, now=now, hours=frozen_h(database))
    notes = [told]
    if frozen:
        require(bool(reason.strip()), "edit", told, "reason", reason, f"a reason: {pair_words(frozen[0], plan.grid)}")
        require(bool(name.strip()), "edit", told, "name", name, "the name of who says so")
        notes += frozen_notes(frozen, plan.grid, reason=reason, name=name)
    stored = save_edited(database, outlook, base, found.plan, by=by, notes=tuple(notes))
    return Made(stored, told, found, editor.plan, outlook)


def frozen_between(
    in_force: StoredPlan | None, old: Plan, new: Plan, *, now: datetime, hours: float
) -> tuple[Pair[Cycle], ...]:
    """Return what an edit changes in the frozen period of the plan in force; nothing where no plan is."""
    if in_force is None:
        return ()
    until = old.grid.slot_up(now + timedelta(hours=hours))
    return frozen_changes(old, new, until)


def frozen_notes(found: tuple[Pair[Cycle], ...], grid: SlotGrid, *, reason: str, name: str) -> list[str]:
    """Return what goes into the record of frozen changes: what was, what is, who says so and why."""
    return [f"frozen: {pair_words(pair, grid)}; {name.strip()}: {reason.strip()}" for pair in found]


def outlook_to_edit(database: Database, base: StoredPlan, *, now: datetime) -> Outlook:
    """Return the outlook on the days of a plan as it is known now."""
    days = base.outcome.plan.grid.days
    return make_outlook(database, now=now, first_on=days[0][0], days=len(days), confidence=base.confidence, keep=False)


def _require_known(asked: Edit, problem: Problem, plan: Plan) -> None:
    """Raise `NotThere` where an edit names a cycle, an order or a chamber that there is not."""
    if isinstance(asked, Add):
        orders = {order.id for order in problem.orders}
        if asked.order_id not in orders:
            raise NotThere("open order", asked.order_id, f"open are {', '.join(sorted(orders)) or 'none'}")
    elif asked.cycle_id not in {row.id for row in plan.cycles}:
        raise NotThere("cycle", asked.cycle_id, "`yardplan plan --json` lists them")
    if isinstance(asked, Move | Split | Add):
        chambers = [chamber.id for chamber in problem.yard.chambers]
        if asked.chamber_id not in chambers:
            raise NotThere("chamber", asked.chamber_id, f"known are {', '.join(chambers)}")


def publish_edited(
    database: Database, number: int, plan: Plan, *, now: datetime, by: str, seat: str, reason: str, anyway: bool
) -> None:
    """Put a plan into force; where it changes the frozen period of the one in force, a reason is needed.

    Raises
    ------
    InvalidField
        If it does and there is none.
    """
    with database.begin_read() as session:
        in_force = plan_in_force(session)
    frozen = frozen_of(in_force, plan, now=now, hours=frozen_h(database))
    if frozen:
        require(bool(reason.strip()), "plan", str(number), "reason", reason, _why(frozen, plan.grid))
    publish(database, number, by=by, now=now, seat=seat, reason=reason, anyway=anyway)


def _why(frozen: tuple[Pair[Cycle], ...], grid: SlotGrid) -> str:
    return f"a reason, since it changes {len(frozen)} frozen cycle(s), such as {pair_words(frozen[0], grid)}"
