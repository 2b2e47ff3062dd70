"""Few changes to a plan: the search decides which, and all but a small share of the jobs stay where they are."""

from collections.abc import Collection, Iterator
from dataclasses import replace
from itertools import takewhile, zip_longest
from random import Random
from time import perf_counter
from typing import NamedTuple

from yardplan.domain.moves import Anchor, moved
from yardplan.domain.orders import Order
from yardplan.domain.outcome import SolveOutcome, Status
from yardplan.domain.plan import Cycle, OrderResult, Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.solve.carry import mended_plan, old_plan
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.goal import goal_parts
from yardplan.solve.names import named
from yardplan.solve.reasons import blocked_orders
from yardplan.solve.run import Limits, solve
from yardplan.solve.stopping import Stop

TRY_SECONDS = 1.2
"""How long each set of released jobs is searched [s]."""


RANDOM_TRIES = 20
"""Groups of jobs drawn at random for each order, after those that lie side by side."""


def few_moves(
    problem: Problem, plan: Plan, jobs: Collection[Anchor], most: int, *, seconds: float, stop: Stop, seed: int
) -> SolveOutcome:
    """Search for a better plan that moves at most so many of some jobs.

    Again and again some jobs are released, around an order that is late and a chamber that could make it sooner, and
    the rest is kept as in work that must stay; so a plan never moves more than it may, whatever the goal weighs.

    Parameters
    ----------
    problem : Problem
        The question, with its own kept work.
    plan : Plan
        One that keeps the rules, to begin with.
    jobs : collection of Anchor
        Where jobs were before.
    most : int
        How many of them may be away from there.
    seconds : float
        Wall time [s].
    """
    began, random, compiled = perf_counter(), Random(seed), Compiled(problem)
    cost, found_better = goal_parts(problem, plan).cost, False

    def is_over() -> bool:
        return perf_counter() - began >= seconds or stop.is_requested

    def take(found: Plan) -> bool:
        nonlocal plan, cost, found_better
        found_cost = goal_parts(problem, found).cost
        if found_cost >= cost or len(moved(jobs, found)) > most:
            return False
        found = named(found, problem.kept)
        if check(problem, found):
            return False
        plan, cost, found_better = found, found_cost, True
        return True

    def followed(jobs_to_do: Plan) -> Plan:
        return mended_plan(problem, old_plan(problem, jobs_to_do))

    take(followed(plan))
    tried: set[tuple[str, ...]] = set()
    while not is_over():
        swap = next((swap for swap in _swaps(compiled, plan, random) if swap.key not in tried), None)
        if swap is None:
            break
        tried.add(swap.key)
        take(followed(_swapped(compiled, plan, swap)))
    while not is_over():
        released = _released(compiled, plan, most - len(moved(jobs, plan)), random)
        if not released:
            break
        asked = replace(problem, kept=_held(problem.kept, plan, released))
        limits = Limits(min(TRY_SECONDS, seconds - (perf_counter() - began)), workers=1, seed=random.randrange(2**31))
        take(solve(asked, limits, stop, lambda progress: None, plan, alone=True).plan)
    status = Status.STOPPED if stop.is_requested else Status.GOOD if found_better else Status.FALLBACK
    blocked = blocked_orders(Compiled(problem.with_upkeep(plan.upkeep)), plan)
    return SolveOutcome(plan, status, goal_parts(problem, plan), 0, blocked, perf_counter() - began, seed)


class _Swap(NamedTuple):
    """Jobs that give way to a promised order."""

    order: Order
    gone: tuple[Cycle, ...]

    @property
    def key(self) -> tuple[str, ...]:
        """What it is told by, whatever the jobs are called now."""
        return self.order.id, *(f"{row.chamber_id} {row.charge_slot} {row.order_id}" for row in self.gone)


def _swaps(compiled: Compiled, plan: Plan, random: Random) -> Iterator[_Swap]:
    """Yield for promised orders that lack pieces or are late the jobs of others that can give way to them.

    As many as the order lacks cycles in time, since it is late until it has all. Those in the same mold come first,
    because they cost no change, then those that nobody was promised before those that were promised for later, and of
    these the latest that are still in time; the orders take turns. After neighbors in this order come some at random.
    """
    kept = {row.id for row in compiled.problem.kept.cycles}
    results = {row.order_id: row for row in order_results(plan, compiled.problem.orders, compiled.problem.yard)}
    short = [line for line in compiled.lines if line.order.promise_at and results[line.order.id].late_slots > 0]
    turns: list[list[_Swap]] = []
    for line in sorted(short, key=lambda line: (-line.order.priority, line.goal_slot, line.order.id)):
        product_id, molds = line.order.product_id, compiled.recipes[line.order.product_id]
        tail = line.make.demold_slots + sum(step.rest_slots + step.slots for step in line.make.steps)
        ways = [
            (row.mold.mold_id not in molds, other.order.promise_at is not None, -row.charge_slot, row.id, row)
            for row in plan.cycles
            for other in (compiled.line_of[row.order_id],)
            if row.id not in kept
            and (other.order.promise_at is None or other.goal_slot > line.goal_slot)
            and row.end_slot + tail <= line.goal_slot
            and any(compiled.row(mold_id, product_id, row.chamber_id) for mold_id in molds)
        ]
        rows = [row for *_, row in sorted(ways, key=lambda way: way[:4])]
        cavities = min((compiled.molds[mold_id].cavities for mold_id in molds), default=1)
        behind = sum(row.order_id == line.order.id and row.end_slot + tail > line.goal_slot for row in plan.cycles)
        count = max(-(-results[line.order.id].pieces_missing // cavities) + behind, 1)
        if count <= len(rows):
            groups = [rows[at : at + count] for at in range(len(rows) - count + 1)]
            groups += [random.sample(rows, count) for _ in range(RANDOM_TRIES)]
            turns.append([_Swap(line.order, tuple(group)) for group in groups])
    yield from (swap for turn in zip_longest(*turns) for swap in turn if swap is not None)


def _swapped(compiled: Compiled, plan: Plan, swap: _Swap) -> Plan:
    """Return the jobs of a plan with some made for another order instead, as something to be followed."""
    order, molds = swap.order, compiled.recipes[swap.order.product_id]
    gone = {row.id for row in swap.gone}

    def made_instead(row: Cycle) -> Cycle:
        mold = row.mold if row.mold.mold_id in molds else compiled.copies_of[molds[0]][0]
        return replace(
            row, id=f"~s{row.id}", order_id=order.id, product_id=order.product_id, color=order.color, mold=mold,
            pieces=compiled.molds[mold.mold_id].cavities,
        )  # fmt: skip

    return replace(
        plan,
        cycles=tuple(made_instead(row) if row.id in gone else row for row in plan.cycles),
        finishing=tuple(row for row in plan.finishing if row.cycle_id not in gone),
    )


def _released(compiled: Compiled, plan: Plan, room: int, random: Random) -> frozenset[str]:
    """Return cycles that may be laid anew: a late order's last ones, and those in the way of it; none if none is late.

    At most `room` of them, so that not more are moved, whatever becomes of them.
    """
    kept = {row.id for row in compiled.problem.kept.cycles}
    free = [row for row in plan.cycles if row.id not in kept]
    results = order_results(plan, compiled.problem.orders, compiled.problem.yard)
    late = [row for row in results if row.late_slots > 0 or row.pieces_missing]
    if not late or room < 1:
        return frozenset()
    order = random.choices(late, [_urgency(compiled, row) for row in late])[0].order_id
    line = compiled.line_of[order]
    own = sorted((row for row in free if row.order_id == order), key=lambda row: -row.charge_slot)
    own = own[: max(room // 3, 1)]
    places = [
        place.id
        for place in compiled.places
        if any(
            compiled.row(mold_id, line.order.product_id, place.id)
            for mold_id in compiled.recipes[line.order.product_id]
        )
    ]
    if not places:
        return frozenset()
    chambers = set(random.sample(places, min(len(places), random.choice((1, 2, 2, 3)))))
    last = max(min(line.goal_slot, compiled.n_slots), compiled.now_slot + 1)
    since = random.randrange(compiled.now_slot, last)
    there = {row.id for row in own}
    in_the_way = [
        row for row in free if row.chamber_id in chambers and row.charge_slot >= since and row.id not in there
    ]
    in_the_way.sort(key=lambda row: (row.charge_slot, row.id))
    return frozenset(there | {row.id for row in in_the_way[: room - len(own)]})


def _urgency(compiled: Compiled, row: OrderResult) -> float:
    line = compiled.line_of[row.order_id]
    return (20.0 if line.order.promise_at else 1.0) * line.order.priority


def _held(kept: Plan, plan: Plan, released: frozenset[str]) -> Plan:
    """Return all of a plan as kept work but some cycles, their finishing, and mold changes that only serve them."""
    stays = {row.id for row in kept.mold_changes}
    return Plan(
        plan.grid,
        tuple(row for row in plan.cycles if row.id not in released),
        tuple(
            row
            for row in plan.mold_changes
            if row.id in stays or any(cycle.id not in released for cycle in _served(plan, row.chamber_id, row.end_slot))
        ),
        tuple(row for row in plan.finishing if row.cycle_id not in released),
        plan.upkeep,
    )


def _served(plan: Plan, chamber_id: str, since: int) -> list[Cycle]:
    """Return the cycles of a chamber from a mold change to the next one."""
    later = [row.start_slot for row in plan.mold_changes if row.chamber_id == chamber_id and row.start_slot >= since]
    until = min(later, default=plan.grid.n_slots)
    cycles = (row for row in plan.cycles if row.chamber_id == chamber_id and row.charge_slot >= since)
    return list(takewhile(lambda row: row.charge_slot < until, cycles))
