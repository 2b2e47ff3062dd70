"""Earliest dates of new work: cycles are put into the free places of a plan, and nothing in it moves."""

from bisect import insort
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import reduce
from math import ceil

import numpy as np

from yardplan.domain.orders import Order
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.products import Delivery
from yardplan.domain.quotes import Dates, Earliest, Finished, Help, Limit, Ready, ToBuy, Wish
from yardplan.domain.slots import local_midnight
from yardplan.domain.tables import SkyCooks
from yardplan.domain.yard import Yard
from yardplan.solve.compiled import Compiled
from yardplan.solve.insert import Added, Inserter
from yardplan.solve.risk import Slots
from yardplan.solve.sky_ready import SkyReady

MOST_HELPS = 3

_NEVER_SLOT = 10**9
_N_TICKS = 20
PURCHASE = 1e6
"""As much as anybody could use of a stock item."""

_TRIED = (Limit.RESIN, Limit.MOLD, Limit.SUN, Limit.CREW, Limit.FINISHING)


@dataclass(frozen=True, eq=False)
class Supply:
    """Pieces that come together: planned from a slot on, and under each sky."""

    slot: int
    pieces: int
    skies: Slots


@dataclass(frozen=True, eq=False)
class Taken:
    """What a wish takes.

    Attributes
    ----------
    slots : list of int
        Planned slot from which on each piece is ready, rising; shorter than the quantity where no room is left.
    skies : ndarray int32 (piece, scenario)
        Slot from which on so many pieces are ready under each sky.
    added : list of Added
        The cycles that were put in.
    """

    slots: list[int]
    skies: Slots
    added: list[Added]

    def slots_at(self, confidence: float, n_slots: int) -> list[int]:
        """Return from when on each piece is ready in a share of the skies, as far as that is within the grid."""
        rank = max(ceil(confidence * self.skies.shape[1] - 1e-9), 1) - 1
        found: list[int] = np.sort(self.skies, axis=1)[:, rank].tolist()
        return [slot for slot in found if slot <= n_slots]


class Stage:
    """What is laid, when it is ready under each sky, and the pieces in it that are nobody's."""

    def __init__(self, inserter: Inserter, ready: SkyReady, free: dict[tuple[str, str], list[Supply]]) -> None:
        self.inserter, self.ready = inserter, ready
        self.free = free
        """For each (product, color), pieces that no order takes, in order of time."""

    def copied(self) -> "Stage":
        """Return one that goes on from here on its own."""
        return Stage(self.inserter.copied(), self.ready.copied(), {key: list(rows) for key, rows in self.free.items()})

    def relieved(self, limit: Limit, product_id: str) -> "Stage":
        """Return one that goes on from here with more of one resource."""
        fresh = self.copied()
        fresh.inserter = self.inserter.relieved(limit, product_id)
        return fresh

    def take(self, wish: Wish, order_id: str) -> Taken:
        """Put in what a wish takes: pieces that are nobody's first, then new cycles.

        A cycle never counts as ready before those put in before it: so more pieces are never ready earlier.
        """
        key = (wish.product_id, wish.color)
        supply = list(self.free.get(key, []))
        added: list[Added] = []
        reached = self.inserter.compiled.now_slot
        skies = np.full(self.ready.n_scenarios, reached, np.int32)
        while sum(row.pieces for row in supply if row.slot <= reached) < wish.quantity:
            one = self.inserter.next(wish.product_id, wish.color, order_id)
            if one is None:
                break
            added.append(one)
            reached = max(reached, one.ready_slot)
            skies = np.maximum(skies, self.ready.add(one, self.inserter))
            insort(supply, Supply(reached, one.cycle.pieces, skies), key=lambda row: row.slot)
        each = [row for row in supply for _ in range(row.pieces)]
        used, left = each[: wish.quantity], each[wish.quantity :]
        self.free[key] = [replace(row, pieces=left.count(row)) for row in supply if row in left]
        by_sky = np.sort([row.skies for row in each], axis=0)[: len(used)] if each else np.zeros((0, len(skies)))
        return Taken([row.slot for row in used], by_sky.astype(np.int32), added)


class Book:
    """The order book laid on a plan, ready for any number of quotes.

    Work is put in with cooks at the planning confidence, as a plan would. When it is ready is then told by what becomes
    of it, and of all before it, under each single sky: a date at P80 is the one that is reached in 8 of 10 skies.

    Parameters
    ----------
    problem : Problem
        Yard, open orders, sun and electricity; its grid may go on beyond that of the plan.
    plan : Plan
        What is laid; its rows stay where they are. On the problem's grid.
    finished : sequence of Finished
        Pieces in stock; those on a quality hold are not promised.
    cooks : SkyCooks
        Cooks under each sky, on the problem's grid.
    since : sequence of sequence of Wish
        What was promised or held since the plan was made and is not in it, in order of time. Each one takes the
        places that those before it have left.

    Notes
    -----
    Work that the plan leaves out of open orders is put in first, in the order in which the orders came in.
    A fuller book never gives an earlier date: each quote is also worked out without the last, the last two, ... of
    `since`, and the latest of these dates is told.
    """

    def __init__(
        self,
        problem: Problem,
        plan: Plan,
        cooks: SkyCooks,
        finished: Sequence[Finished] = (),
        since: Sequence[Sequence[Wish]] = (),
    ) -> None:
        problem = replace(problem, yard=_with_purchases(problem))
        self.problem, self.plan = problem, plan
        self.compiled = Compiled(replace(problem, kept=Plan(problem.grid)))
        self.chain = [self._laid(cooks, finished)]
        for number, wishes in enumerate(since, 1):
            stage = self.chain[-1].copied()
            for wish in wishes:
                stage.take(wish, f"held.{number}.{wish.product_id}")
            self.chain.append(stage)

    def _laid(self, cooks: SkyCooks, finished: Sequence[Finished]) -> Stage:
        """Return the plan with its loose ends: finishing and missing pieces of open orders that did not fit in it."""
        problem, plan, compiled = self.problem, self.plan, self.compiled
        inserter = Inserter(compiled, plan)
        ready = SkyReady(replace(problem, kept=Plan(problem.grid)), plan, cooks)
        free: dict[tuple[str, str], list[Supply]] = defaultdict(list)

        def put(order: Order | Finished, slot: int, pieces: int) -> None:
            skies = np.full(cooks.n_scenarios, slot, np.int32)
            insort(free[order.product_id, order.color], Supply(slot, pieces, skies), key=lambda row: row.slot)

        for row in finished:
            if row.free:
                put(row, compiled.now_slot, row.free)
        done: dict[str, int] = defaultdict(int)
        for job in plan.finishing:
            done[job.cycle_id] += 1
        for cycle in plan.cycles:
            if done[cycle.id] < len(compiled.makes[cycle.product_id].steps) and cycle.order_id in compiled.line_of:
                inserter.finish(cycle, done[cycle.id])
        results = order_results(plan, problem.orders, problem.yard)
        for order, result in zip(problem.orders, results, strict=True):
            molded = sum(cycle.pieces for cycle in plan.cycles if cycle.order_id == order.id)
            if molded > order.quantity and result.finish_slot is not None:
                put(order, result.finish_slot, molded - order.quantity)
        stage = Stage(inserter, ready, free)
        for order in problem.orders:
            molded = sum(cycle.pieces for cycle in plan.cycles if cycle.order_id == order.id)
            if molded < order.quantity:
                missing = Wish(order.product_id, order.color, order.quantity - molded)
                stage.take(missing, order.id)
        return stage

    def dates(self, wishes: Sequence[Wish], *, wish_on: date | None = None, lead_days: int = 0) -> Dates:
        """Return when wishes can be ready together, at each confidence, and what stands in the way.

        Parameters
        ----------
        wish_on : date or None
            Local day on which the customer would like to have them.
        lead_days : int
            Days from the yard to the customer.
        """
        problem = self.problem
        by_slot = None
        if wish_on is not None:
            leaves_by = local_midnight(wish_on - timedelta(days=lead_days - 1), problem.grid.tz)
            by_slot = problem.grid.slot(leaves_by)
        takings = [self._taken(stage, wishes) for stage in self.chain]
        earliest = []
        for confidence in problem.cook.confidences:
            slots = [[one.slots_at(confidence, problem.grid.n_slots) for one in taken] for taken in takings]
            earliest.append(self._told(confidence, reduce(_later, slots), takings, wishes, by_slot))
        limit, detail, helps = self._limits(wishes, takings[-1])
        stock = tuple(self._in_stock(wish) for wish in wishes)
        ticks, to_buy = self._twentieths(takings, wishes), self._to_buy(takings[-1])
        return Dates(tuple(earliest), stock, limit, detail, helps, ticks, to_buy)

    def offer(self, wishes: Sequence[Wish], order_id: str) -> tuple[Added, ...]:
        """Return the cycles that wishes would get on top of all that is laid and held."""
        stage = self.chain[-1].copied()
        return tuple(one for wish in wishes for one in stage.take(wish, order_id).added)

    def _taken(self, stage: Stage, wishes: Sequence[Wish]) -> list[Taken]:
        trial = stage.copied()
        return [trial.take(wish, "quote") for wish in wishes]

    def _in_stock(self, wish: Wish) -> int:
        """Return the pieces of a wish that lie finished, once what was promised since the plan is taken."""
        rows = self.chain[-1].free.get((wish.product_id, wish.color), [])
        return min(sum(row.pieces for row in rows if row.slot <= self.compiled.now_slot), wish.quantity)

    def _twentieths(self, takings: list[list[Taken]], wishes: Sequence[Wish]) -> tuple[datetime, ...]:
        """Return when the last piece is ready in one of twenty skies, two, three, ..., as told at each confidence."""
        grid = self.problem.grid
        last: dict[int, list[int]] = defaultdict(list)
        for taken in takings:
            for one, wish in zip(taken, wishes, strict=True):
                if len(one.skies) < wish.quantity:
                    return ()
                skies = np.sort(one.skies[-1])
                for ix in range(_N_TICKS):
                    last[ix].append(int(skies[max(ceil((ix + 1) * len(skies) / _N_TICKS - 1e-9), 1) - 1]))
        return tuple(grid.local(max(slots)) for slots in last.values() if max(slots) <= grid.n_slots)

    def _to_buy(self, taken: Sequence[Taken]) -> tuple[ToBuy, ...]:
        """Return what new cycles take beyond what is on hand, comes anyway and is not used by other work."""
        yard, book = self.problem.yard, self.chain[-1].inserter.book
        wanted: dict[str, int] = defaultdict(int)
        for one in (added for row in taken for added in row.added):
            cycle = one.cycle
            for item_id, milli in self.compiled.uses(cycle.product_id, cycle.color, cycle.pieces).items():
                wanted[item_id] += milli
        found = []
        for item in yard.items:
            if item.lead_days is None or item.id not in wanted:
                continue
            left = sum(milli for _, milli in book.stock[item.id]) - round(1000 * PURCHASE)
            short = wanted[item.id] - max(left, 0)
            if short > 0:
                others = [row for row in yard.items if row.color == item.color and row.grade != item.grade]
                instead = tuple(row.name for row in others if item.is_resin and row.is_resin and row.on_hand > 0)
                at = arrives_at(self.problem, item.lead_days).astimezone(self.problem.grid.zone)
                found.append(ToBuy(item.id, item.name, short / 1000, item.is_resin, item.lead_days, at, instead))
        return tuple(found)

    def _told(
        self,
        confidence: float,
        slots: list[list[int]],
        takings: list[list[Taken]],
        wishes: Sequence[Wish],
        by_slot: int | None,
    ) -> Earliest:
        grid = self.problem.grid
        together = sorted(slot for row in slots for slot in row)
        complete = len(together) == sum(wish.quantity for wish in wishes)
        deliveries = tuple(Ready(grid.local(slot), together.count(slot)) for slot in sorted(set(together)))
        by_wish = None if by_slot is None else sum(slot <= by_slot for slot in together)
        if not complete:
            return Earliest(confidence, None, deliveries, by_wish)
        last = [np.max([one.skies[-1] for one in taken], axis=0) for taken in takings]
        chance = min(float(np.mean(ready <= together[-1])) for ready in last)
        return Earliest(confidence, grid.local(together[-1]), deliveries, by_wish, chance)

    # --- what stands in the way ------------------------------------------------------------------------------

    def _limits(self, wishes: Sequence[Wish], base: list[Taken]) -> tuple[Limit, str, tuple[Help, ...]]:
        """Try more of each resource by itself; the one that helps most is what limits."""
        problem, stage, compiled = self.problem, self.chain[-1], self.compiled
        impossible = next((wish for wish in wishes if not compiled.recipes[wish.product_id]), None)
        if impossible is not None:
            return _cannot_be_made(compiled, impossible)

        def lasts(taken: list[Taken]) -> list[int]:
            pairs = zip(taken, wishes, strict=True)
            return [_last(one.slots_at(problem.confidence, problem.grid.n_slots), wish) for one, wish in pairs]

        before = lasts(base)
        reached = max(before)
        last = before.index(reached)
        found = []
        for limit in _TRIED:
            slot = max(lasts(self._taken(stage.relieved(limit, wishes[last].product_id), wishes)))
            if slot < reached:
                found.append((slot, limit))
        if not found:
            is_free = self._alone(wishes) >= max(_last(one.slots, wish) for one, wish in zip(base, wishes, strict=True))
            return Limit.TIME if is_free else Limit.SEVERAL, "", ()
        found.sort(key=lambda pair: pair[0])
        grid = problem.grid
        day = grid.local(min(reached, grid.n_slots)).date()
        helps = tuple(
            Help(limit, self._more(compiled, limit, wishes[last]), grid.local(slot))
            for slot, limit in found
            if reached > grid.n_slots or grid.local(slot).date() < day
        )[:MOST_HELPS]
        return found[0][1], self._short(compiled, found[0][1], wishes[last]), helps

    def _alone(self, wishes: Sequence[Wish]) -> int:
        """Return when wishes would be ready if there were no other work."""
        inserter, slot = Inserter(self.compiled, Plan(self.problem.grid)), 0
        for wish in wishes:
            made = 0
            while made < wish.quantity:
                one = inserter.next(wish.product_id, wish.color, "alone")
                if one is None:
                    return _NEVER_SLOT
                made, slot = made + one.cycle.pieces, max(slot, one.ready_slot)
        return slot

    def _short(self, compiled: Compiled, limit: Limit, wish: Wish) -> str:
        product = compiled.makes[wish.product_id].product
        match limit:
            case Limit.MOLD:
                return f"mold {' or '.join(compiled.recipes[wish.product_id])}"
            case Limit.RESIN:
                resin = self.problem.yard.resin(product.resin_grade, wish.color)
                if resin is None:
                    return f"{product.resin_grade} in {wish.color}"
                more = f", {resin.lead_days} days until more is here" if resin.lead_days is not None else ""
                return f"{resin.name} or inserts{more}"
            case Limit.SUN:
                return "sun on the units that can make it"
            case Limit.CREW:
                return "people for handling and mold changes"
            case _:
                return "benches, people at them or electricity for finishing"

    def _more(self, compiled: Compiled, limit: Limit, wish: Wish) -> str:
        match limit:
            case Limit.MOLD:
                molds = compiled.recipes[wish.product_id]
                copies = compiled.molds[molds[0]].copies
                return f"a {_nth(copies + 1)} copy of mold {' or '.join(molds)}"
            case Limit.RESIN:
                return "resin and inserts on hand from the start"
            case Limit.SUN:
                unit_ix = self.chain[-1].inserter.best_unit(wish.product_id)
                return f"one more unit like {compiled.units[unit_ix or 0]}"
            case Limit.CREW:
                return "enough people for every handling within working hours"
            case _:
                return "enough benches, people and electricity for finishing"


def arrives_at(problem: Problem, lead_days: int) -> datetime:
    """Return when something is here that is ordered at once."""
    return problem.now + timedelta(days=lead_days)


def _with_purchases(problem: Problem) -> Yard:
    """Return the yard with as much of all that can be had as anybody may want, from when on it can be here."""
    yard = problem.yard
    more = tuple(
        Delivery(item.id, arrives_at(problem, item.lead_days), PURCHASE)
        for item in yard.items
        if item.lead_days is not None
    )
    return replace(yard, deliveries=yard.deliveries + more)


def _later(one: list[list[int]], two: list[list[int]]) -> list[list[int]]:
    """Return the later slot for each piece; a piece that one of them does not reach is not reached."""
    return [[max(pair) for pair in zip(a, b, strict=False)] for a, b in zip(one, two, strict=True)]


def _last(slots: list[int], wish: Wish) -> int:
    """Return the slot of a wish's last piece; far away where it is not reached."""
    return slots[-1] if len(slots) == wish.quantity else _NEVER_SLOT


def _nth(number: int) -> str:
    return {2: "second", 3: "third"}.get(number, f"{number}th")


def _cannot_be_made(compiled: Compiled, wish: Wish) -> tuple[Limit, str, tuple[Help, ...]]:
    product = compiled.makes[wish.product_id].product
    if any(compiled.fits(mold, place.id, product.id) for mold in product.mold_ids for place in compiled.places):
        return Limit.SUN, f"no start in these days reaches {product.piat_c:g} °C in {product.id}", ()
    return Limit.MOLD, f"no mold that can make {product.id} fits a chamber: {', '.join(product.mold_ids)}", ()
