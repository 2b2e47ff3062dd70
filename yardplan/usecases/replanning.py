"""Plan anew from now: work in hand is a fact, and several ways to go on stand side by side before one is published."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from time import perf_counter

from yardplan.domain.difference import on_grid
from yardplan.domain.errors import NotThere
from yardplan.domain.moves import Anchor, anchors, moved
from yardplan.domain.outcome import GoalParts, StoredPlan
from yardplan.domain.overtime import TONIGHT, with_overtime
from yardplan.domain.plan import Plan
from yardplan.domain.problem import GoalWeights, Problem
from yardplan.domain.risk import PlanRisk
from yardplan.domain.standing import back_at, orders_to_make, standing_yard, washed_yard
from yardplan.domain.state import MadeCycle, Phase, YardState, carries_out
from yardplan.solve.carry import Carried, carry, mended_plan, old_plan
from yardplan.solve.few_moves import few_moves
from yardplan.solve.goal import goal_parts
from yardplan.solve.risk import plan_risk
from yardplan.solve.run import Limits, Stop, solve
from yardplan.store.engine import Database
from yardplan.store.read import read_plan
from yardplan.usecases.live import estimate_made
from yardplan.usecases.logbook import plan_in_force, read_book
from yardplan.usecases.outlook import Outlook, Standing, make_outlook
from yardplan.usecases.planning import keep_plan, problem_of, with_holds, without_holds

KEEP, LEAST, DATES, OVERTIME = "keep the old plan", "change as little as can be", "best for dates", TONIGHT

MOVED_COST = {LEAST: 20_000, DATES: 20, OVERTIME: 20}
"""What a thousandth of a job that is due now counts when it is moved; see `GoalWeights`. By the first, moving such a
job costs as much as 20 slots of a promised order, by the others as two slots of one that was not promised."""

SHARES = {LEAST: 0.45, DATES: 0.35, OVERTIME: 0.2}
"""Which part of the time each search gets."""

MOST_MOVED_FRAC = 0.2
"""Share of the jobs that need not move which may move if as little as can be is to change (own assumption)."""

FROZEN_MIN = 30
"""What begins so soon stays as it is [min] (own assumption)."""


@dataclass(frozen=True)
class Way:
    """One way to go on, with its effects.

    Attributes
    ----------
    number : int
        The plan version to publish; for the old plan the one that is in force.
    moved, untouched : int
        Jobs of the old plan that need not move, and how many of them this way moves.
    upset : int
        Weight of all jobs of the old plan that are moved [thousandths of one that is due now].
    """

    name: str
    number: int
    plan: Plan
    parts: GoalParts
    risk: PlanRisk
    moved: int
    untouched: int
    upset: int


@dataclass(frozen=True)
class Replanned:
    """All ways to go on from now, the old plan first, and what is to be known about the work in hand."""

    problem: Problem
    base: StoredPlan
    ways: tuple[Way, ...]
    told: tuple[str, ...]
    first_s: float
    seconds: float


def replan(
    database: Database,
    *,
    now: datetime,
    by: str,
    seconds: float = 15.0,
    frozen_min: int = FROZEN_MIN,
    air_c: Mapping[str, float] | None = None,
    seed: int = 0,
    stop: Stop | None = None,
    on_way: Callable[[Way], None] = lambda way: None,
) -> Replanned:
    """Return ways to go on from now, each checked and kept as a plan version; none is published.

    Parameters
    ----------
    seconds : float
        For all searches together [s]; the outlook comes before.
    air_c : mapping by chamber
        Inside air of cooks that run, read just now [C].
    stop : Stop or None
        Ends the searches early; each way is then the best that was found up to then.
    on_way : callable
        Told each way as soon as it is found, the old plan first.

    Raises
    ------
    NotThere
        If no plan was made yet, or the one in force is over.
    """
    began = perf_counter()
    outlook, state, base, before = _standing(database, now)
    ends = _ends(database, state, outlook, air_c or {})
    found = _question(outlook, state, before, ends, frozen_min)
    problem = replace(found.problem, before=before)
    followed = old_plan(problem, before)
    jobs = anchors(before, problem.now_slot)
    untouched = tuple(job for job in jobs if job not in moved(jobs, followed))
    ways = [_way(KEEP, base.number, problem, followed, outlook, jobs, untouched)]
    first_s = perf_counter() - began
    on_way(ways[0])
    asked = {LEAST: problem, DATES: problem, OVERTIME: replace(problem, yard=with_overtime(problem.yard, state.now))}
    start, stop = mended_plan(problem, followed), stop or Stop()
    for name, question in asked.items():
        own = replace(question, weights=replace(GoalWeights(), moved=MOVED_COST[name]))
        question = with_holds(database, own)
        share = SHARES[name] * seconds
        if name == LEAST:
            most = int(MOST_MOVED_FRAC * len(untouched))
            outcome = few_moves(question, start, untouched, most, seconds=share, stop=stop, seed=seed)
        else:  # processes take two seconds to come up, which the last search does not have
            limits = Limits(seconds=share, workers=2 if name == DATES else 1, seed=seed)
            outcome = solve(question, limits, stop, lambda progress: None, start)
            start = outcome.plan  # overtime only adds to what there is without it
        outcome = without_holds(own, question, outcome)
        way = _way(name, 0, own, outcome.plan, outlook, jobs, untouched)
        kept = keep_plan(database, own, outcome, heat_source=outlook.heat.source, by=by, risk=way.risk)
        ways.append(replace(way, number=kept.number))
        on_way(ways[-1])
    return Replanned(problem, base, tuple(ways), found.told, first_s, perf_counter() - began)


def _standing(database: Database, now: datetime) -> tuple[Outlook, YardState, StoredPlan, Plan]:
    """Return the outlook from now, how the yard stands, the plan in force, and what of it is still to come."""
    with database.begin_read() as session:
        book = read_book(database, session)
        base = plan_in_force(session) or read_plan(session)
    if base is None:
        raise NotThere("plan", "", "make one with `yardplan plan` and publish it first")
    state = book.state(now)
    plan = base.outcome.plan
    today = now.astimezone(plan.grid.zone).date()
    days = (plan.grid.days[-1][0] - today).days + 1
    if days < 1:
        raise NotThere("day ahead", f"plan {base.number}", "the plan in force is over: make a new one")
    stowed = tuple((unit_id, out.since_at, back_at(out, now, plan.grid.tz)) for unit_id, out in state.stowed.items())
    outlook = make_outlook(
        database,
        now=now,
        first_on=today,
        days=days,
        confidence=base.confidence,
        keep=False,
        stands=Standing(washed_yard(book.yard, state), stowed),
    )
    return outlook, state, base, _open(on_grid(plan, outlook.grid), state)


def _open(plan: Plan, state: YardState) -> Plan:
    """Return what of a plan was not begun yet; of yesterday's jobs those that were not are in the demand again."""
    grid = plan.grid
    begun = {
        row.id: row
        for row in plan.cycles
        if any(carries_out(made, row, grid.at(row.charge_slot)) for made in state.cycles)
    }
    cycles = tuple(row for row in plan.cycles if row.id not in begun and row.charge_slot >= 0)
    names = {row.id for row in cycles} | set(begun)
    first = grid.slot(state.now)
    return Plan(
        grid,
        cycles,
        tuple(row for row in plan.mold_changes if row.start_slot >= first),
        tuple(row for row in plan.finishing if row.cycle_id in names),
        tuple(row for row in plan.upkeep if row.end_slot > 0),
    )


def _question(
    outlook: Outlook, state: YardState, before: Plan, ends: Mapping[str, int | None], frozen_min: int
) -> Carried:
    yard, orders = standing_yard(outlook.yard, state, outlook.grid), orders_to_make(outlook.orders, state)
    problem = replace(problem_of(outlook), yard=yard, orders=orders)
    return carry(problem, state, before, ends, frozen_slots=outlook.grid.slots_up(frozen_min))


def _ends(database: Database, state: YardState, outlook: Outlook, air_c: Mapping[str, float]) -> dict[str, int | None]:
    """Return when cooks whose inside air was read are expected to end: as sure as can be of P50 and P90."""
    found: dict[str, int | None] = {}
    for chamber_id, read_c in air_c.items():
        if chamber_id not in state.chambers:
            raise NotThere("chamber", chamber_id, f"known are {', '.join(state.chambers)}")
        made = state.chambers[chamber_id].cycle
        if made is None or made.phase not in (Phase.HEATING, Phase.HOLDING):
            raise NotThere("running cook in chamber", chamber_id, "log its charging and heating first")
        found[made.id] = _live_end(database, made, outlook, state.now, read_c)
    return found


def _live_end(database: Database, made: MadeCycle, outlook: Outlook, now: datetime, read_c: float) -> int | None:
    cook = estimate_made(database, made, now, read_c)
    _, p50, p90 = cook.estimate.piat_min
    minutes = p90 if cook.estimate.chance >= 0.9 else p50
    if minutes == float("inf"):
        return None
    return outlook.grid.slot_up(now + timedelta(minutes=minutes))


def _way(
    name: str,
    number: int,
    problem: Problem,
    plan: Plan,
    outlook: Outlook,
    jobs: tuple[Anchor, ...],
    untouched: tuple[Anchor, ...],
) -> Way:
    upset = moved(jobs, plan)
    risk = plan_risk(problem, plan, outlook.sky_cooks)
    away = sum(job in upset for job in untouched)
    weight = sum(job.weight for job in upset)
    return Way(name, number, plan, goal_parts(problem, plan), risk, away, len(untouched), weight)
