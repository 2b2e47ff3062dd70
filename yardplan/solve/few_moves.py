"""Few changes to a plan: the search decides which, and all but a small share of the jobs stay where they are."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from heapq import heappop, heappush
from itertools import count, islice, zip_longest
from random import Random
from time import perf_counter
from typing import NamedTuple

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.moves import Anchor, moved
from yardplan.domain.orders import Order
from yardplan.domain.outcome import SolveOutcome, Status
from yardplan.domain.plan import Cycle, Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.solve.carry import mended_plan, old_plan, settled
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled, Line
from yardplan.solve.goal import goal_parts
from yardplan.solve.names import named
from yardplan.solve.reasons import blocked_orders
from yardplan.solve.stopping import Stop

DEEPEST = 3
"""How many swaps may follow the first in a chain."""

BROADEST = 12
"""How many swaps are tried from what a chain led to."""

RANDOM_TRIES = 20
"""Groups of jobs drawn at random for each order, after those that lie side by side."""


def few_moves(
    problem: Problem, plan: Plan, jobs: Collection[Anchor], most: int, *, seconds: float, stop: Stop, seed: int
) -> SolveOutcome:
    """Search for a better plan that moves at most so many of some jobs.

    First jobs give way to promised orders that are late, in chains; then parts of the plan are laid anew as in any
    search. A plan that moves more than it may is never taken, whatever the goal weighs.

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
    from yardplan.solve.improve import Improver  # ortools takes half a second to import

    began, random, asked = perf_counter(), Random(seed), settled(problem)
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
        return mended_plan(problem, old_plan(problem, jobs_to_do, asked=asked), asked=asked)

    take(followed(plan))
    known: set[tuple[str, ...]] = set()
    while not is_over():
        if not any(take(found) for found in _chains(problem, asked, plan, jobs, most, known, random, is_over)):
            break
    improver = Improver(asked, stop, seed, timed=True, opening=0)
    while not is_over():
        take(replace(improver.stint(plan, lambda work: work > 0).plan, upkeep=plan.upkeep))
    status = Status.STOPPED if stop.is_requested else Status.GOOD if found_better else Status.FALLBACK
    blocked = blocked_orders(Compiled(problem.with_upkeep(plan.upkeep)), plan)
    return SolveOutcome(plan, status, goal_parts(problem, plan), 0, blocked, perf_counter() - began, seed)


def _chains(
    problem: Problem,
    asked: Compiled,
    plan: Plan,
    jobs: Collection[Anchor],
    most: int,
    known: set[tuple[str, ...]],
    random: Random,
    is_over: Callable[[], bool],
) -> Iterator[Plan]:
    """Yield plans in which jobs give way to promised orders, and others to those that gave way, and so on.

    What a swap leaves behind is followed. Where that mends its order but hurts others, these are mended next: by turns
    a swap of the plan itself is tried, and one of the cheapest plan that such a swap led to.
    """
    late = _late_slots(asked, plan)
    root = _Tip(0, 0, plan, (swap for swap in _swaps(asked, plan, late, random) if swap.key not in known))
    ends, has_more = list[_Tip](), True
    for turn in count():
        if is_over() or not (has_more or ends):
            return
        tip = ends[0] if ends and (turn % 2 or not has_more) else root
        swap = next(tip.swaps, None)
        if swap is None:
            if tip is root:
                has_more = False
            else:
                heappop(ends)
            continue
        if tip is root:
            known.add(swap.key)
        tried = _swapped(asked, tip.plan, swap)
        found = mended_plan(problem, old_plan(problem, tried, asked=asked), asked=asked)
        yield found
        left = _late_slots(asked, found)
        hurt = {order_id: slots for order_id, slots in left.items() if slots > late.get(order_id, 0)}
        is_mended = left.get(swap.order.id, 0) < _late_slots(asked, tip.plan)[swap.order.id]
        if tip.depth < DEEPEST and is_mended and hurt and len(moved(jobs, found)) < most:
            swaps = islice(_swaps(asked, found, hurt, random), BROADEST)
            heappush(ends, _Tip(goal_parts(problem, found).cost, turn + 1, found, swaps, tip.depth + 1))


class _Tip(NamedTuple):
    """A plan that swaps led to, what can be tried from there, and how many swaps deep it is."""

    cost: int
    turn: int
    plan: Plan
    swaps: Iterator["_Swap"]
    depth: int = 0


def _late_slots(compiled: Compiled, plan: Plan) -> dict[str, int]:
    """Return by how much the promised orders that are late are late."""
    results = order_results(plan, compiled.problem.orders, compiled.problem.yard)
    return {
        row.order_id: row.late_slots
        for row in results
        if row.late_slots and compiled.line_of[row.order_id].order.promise_at
    }


class _Swap(NamedTuple):
    """Jobs that give way to a promised order."""

    order: Order
    gone: tuple[Cycle, ...]

    @property
    def key(self) -> tuple[str, ...]:
        """What it is told by, whatever the jobs are called now."""
        return self.order.id, *(f"{row.chamber_id} {row.charge_slot} {row.order_id}" for row in self.gone)


def _swaps(compiled: Compiled, plan: Plan, late: Collection[str], random: Random) -> Iterator[_Swap]:
    """Yield for some promised orders that are late the jobs of others that can give way to them.

    As many as the order lacks cycles in time, since it is late until it has all. Those in the same mold come first,
    because they cost no change, then those that nobody was promised before those that were promised for later, and of
    these the latest that are still in time; what was promised for sooner gives way only where nothing else can. The
    orders take turns. After neighbors in this order come some at random.
    """
    kept = {row.id for row in compiled.problem.kept.cycles}
    results = {row.order_id: row for row in order_results(plan, compiled.problem.orders, compiled.problem.yard)}
    short = [line for line in compiled.lines if line.order.id in late]
    turns: list[list[_Swap]] = []
    for line in sorted(short, key=lambda line: (-line.order.priority, line.goal_slot, line.order.id)):
        product_id, molds = line.order.product_id, compiled.recipes[line.order.product_id]
        tail = line.make.demold_slots + sum(step.rest_slots + step.slots for step in line.make.steps)
        ways = [
            (row.mold.mold_id not in molds, other.order.promise_at is not None, -row.charge_slot, row.id, row)
            for row in plan.cycles
            for other in (compiled.line_of[row.order_id],)
            if row.id not in kept
            and other is not line
            and row.end_slot + tail <= line.goal_slot
            and any(compiled.row(mold_id, product_id, row.chamber_id) for mold_id in molds)
        ]
        every = [row for *_, row in sorted(ways, key=lambda way: way[:4])]
        rows = [row for row in every if _gives_way(compiled.line_of[row.order_id], line)]
        cavities = min((compiled.molds[mold_id].cavities for mold_id in molds), default=1)
        behind = sum(row.order_id == line.order.id and row.end_slot + tail > line.goal_slot for row in plan.cycles)
        count = max(-(-results[line.order.id].pieces_missing // cavities) + behind, 1)
        if count > len(rows):
            rows = every
        if count <= len(rows):
            groups = [rows[at : at + count] for at in range(len(rows) - count + 1)]
            groups += [random.sample(rows, count) for _ in range(RANDOM_TRIES)]
            turns.append([_Swap(line.order, tuple(group)) for group in groups])
    yield from (swap for turn in zip_longest(*turns) for swap in turn if swap is not None)


def _gives_way(other: Line, line: Line) -> bool:
    """Tell whether an order may rather wait than another: nobody was promised it, or it was promised for later."""
    return other.order.promise_at is None or other.goal_slot > line.goal_slot


def _swapped(compiled: Compiled, plan: Plan, swap: _Swap) -> Plan:
    """Return the jobs of a plan with some made for another order instead, as something to be followed."""
    order, gone = swap.order, {row.id for row in swap.gone}

    def made_instead(row: Cycle) -> Cycle:
        mold = _mold_for(compiled, plan, order, row)
        return replace(
            row, id=f"~s{row.id}", order_id=order.id, product_id=order.product_id, color=order.color, mold=mold,
            pieces=compiled.molds[mold.mold_id].cavities,
        )  # fmt: skip

    return replace(
        plan,
        cycles=tuple(made_instead(row) if row.id in gone else row for row in plan.cycles),
        finishing=tuple(row for row in plan.finishing if row.cycle_id not in gone),
    )


def _mold_for(compiled: Compiled, plan: Plan, order: Order, row: Cycle) -> MoldCopy:
    """Return the mold for an order in the place of a cycle: one that hangs there anyway, else one that is at rest."""
    molds = compiled.recipes[order.product_id]
    rows = sorted((other for other in plan.cycles if other.chamber_id == row.chamber_id), key=lambda c: c.charge_slot)
    at = rows.index(row)
    near = [other.mold for other in (row, *rows[:at][-1:], *rows[at + 1 :][:1]) if other.mold.mold_id in molds]
    if near:
        return near[0]
    busy = {
        other.mold for other in plan.cycles if other.charge_slot < row.end_slot and other.end_slot > row.charge_slot
    }
    copies = [
        copy
        for mold_id in molds
        if compiled.row(mold_id, order.product_id, row.chamber_id)
        for copy in compiled.copies_of[mold_id]
    ]
    return next((copy for copy in copies if copy not in busy), copies[0])
