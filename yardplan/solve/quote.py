"""Earliest dates of new work: cycles are put into the free places of a plan, and nothing in it moves."""

from bisect import insort
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.quotes import Dates, Earliest, Finished, Help, Limit, Ready, Wish
from yardplan.domain.slots import local_midnight
from yardplan.solve.compiled import Compiled
from yardplan.solve.insert import Added, Inserter

MOST_HELPS = 3

_TRIED = (Limit.RESIN, Limit.MOLD, Limit.SUN, Limit.CREW, Limit.FINISHING)


class Stage:
    """What is laid at one confidence, and the pieces in it that are nobody's."""

    def __init__(self, inserter: Inserter, free: dict[tuple[str, str], list[tuple[int, int]]]) -> None:
        self.inserter = inserter
        self.free = free
        """For each (product, color), pieces that no order takes: (slot from which on, how many), in order of time."""

    def copied(self) -> "Stage":
        """Return one that goes on from here on its own."""
        return Stage(self.inserter.copied(), {key: list(rows) for key, rows in self.free.items()})

    def relieved(self, limit: Limit, product_id: str) -> "Stage":
        """Return one that goes on from here with more of one resource."""
        return Stage(self.inserter.relieved(limit, product_id), {key: list(rows) for key, rows in self.free.items()})

    def take(self, wish: Wish, order_id: str) -> tuple[list[int], list[Added]]:
        """Put in what a wish takes: pieces that are nobody's first, then new cycles.

        Returns
        -------
        list of int
            Slot from which on each piece is ready, rising; shorter than the quantity where no room is left.
        list of Added
            The cycles that were put in.
        """
        key = (wish.product_id, wish.color)
        supply = [(slot, pieces) for slot, pieces in self.free.get(key, [])]
        added: list[Added] = []
        reached = self.inserter.compiled.now_slot
        while sum(pieces for slot, pieces in supply if slot <= reached) < wish.quantity:
            one = self.inserter.next(wish.product_id, wish.color, order_id)
            if one is None:
                break
            added.append(one)
            # A cycle never counts as ready before those put in before it: so more pieces are never ready earlier.
            reached = max(reached, one.ready_slot)
            insort(supply, (reached, one.cycle.pieces))
        slots = [slot for slot, pieces in supply for _ in range(pieces)][: wish.quantity]
        left = [slot for slot, pieces in supply for _ in range(pieces)][wish.quantity :]
        self.free[key] = [(slot, left.count(slot)) for slot in sorted(set(left))]
        return slots, added


class Book:
    """The order book laid on a plan at each confidence of its cook table, ready for any number of quotes.

    Parameters
    ----------
    problem : Problem
        Yard, open orders, sun and electricity; its grid may go on beyond that of the plan.
    plan : Plan
        What is laid; its rows stay where they are. On the problem's grid.
    finished : sequence of Finished
        Pieces in stock; those on a quality hold are not promised.
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
        finished: Sequence[Finished] = (),
        since: Sequence[Sequence[Wish]] = (),
    ) -> None:
        self.problem, self.plan = problem, plan
        self.chains: dict[float, list[Stage]] = {}
        for confidence in problem.cook.confidences:
            compiled = Compiled(replace(problem, confidence=confidence, kept=Plan(problem.grid)))
            chain = [self._laid(compiled, finished)]
            for number, wishes in enumerate(since, 1):
                stage = chain[-1].copied()
                for wish in wishes:
                    stage.take(wish, f"held.{number}.{wish.product_id}")
                chain.append(stage)
            self.chains[confidence] = chain

    def _laid(self, compiled: Compiled, finished: Sequence[Finished]) -> Stage:
        """Return the plan with its loose ends: finishing and missing pieces of open orders that did not fit in it."""
        problem, plan = self.problem, self.plan
        inserter = Inserter(compiled, plan)
        free: dict[tuple[str, str], list[tuple[int, int]]] = defaultdict(list)
        for row in finished:
            if row.free:
                free[row.product_id, row.color].append((compiled.now_slot, row.free))
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
                free[order.product_id, order.color].append((result.finish_slot, molded - order.quantity))
        stage = Stage(inserter, {key: sorted(rows) for key, rows in free.items()})
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
        earliest: list[Earliest] = []
        sure: list[list[int]] = [[-1] * wish.quantity for wish in wishes]
        for confidence, chain in self.chains.items():
            for stage in chain:
                sure = _later(sure, self._slots(stage, wishes))
            earliest.append(self._told(confidence, sure, wishes, by_slot))
        limit, detail, helps = self._limits(wishes)
        stock = tuple(self._in_stock(wish) for wish in wishes)
        return Dates(tuple(earliest), stock, limit, detail, helps)

    def offer(self, wishes: Sequence[Wish], confidence: float, order_id: str) -> tuple[Added, ...]:
        """Return the cycles that wishes would get at a confidence, on top of all that is laid and held."""
        stage = self.chains[confidence][-1].copied()
        return tuple(one for wish in wishes for one in stage.take(wish, order_id)[1])

    def _slots(self, stage: Stage, wishes: Sequence[Wish]) -> list[list[int]]:
        trial = stage.copied()
        return [trial.take(wish, "quote")[0] for wish in wishes]

    def _in_stock(self, wish: Wish) -> int:
        """Return the pieces of a wish that lie finished, once what was promised since the plan is taken."""
        stage = next(iter(self.chains.values()))[-1]
        rows = stage.free.get((wish.product_id, wish.color), [])
        now_slot = stage.inserter.compiled.now_slot
        return min(sum(pieces for slot, pieces in rows if slot <= now_slot), wish.quantity)

    def _told(self, confidence: float, slots: list[list[int]], wishes: Sequence[Wish], by_slot: int | None) -> Earliest:
        grid = self.problem.grid
        together = sorted(slot for row in slots for slot in row)
        complete = len(together) == sum(wish.quantity for wish in wishes)
        deliveries = tuple(Ready(grid.local(slot), together.count(slot)) for slot in sorted(set(together)))
        by_wish = None if by_slot is None else sum(slot <= by_slot for slot in together)
        return Earliest(confidence, grid.local(together[-1]) if complete else None, deliveries, by_wish)

    # --- what stands in the way ------------------------------------------------------------------------------

    def _limits(self, wishes: Sequence[Wish]) -> tuple[Limit, str, tuple[Help, ...]]:
        """Try more of each resource by itself; the one that helps most is what limits."""
        problem = self.problem
        stage = self.chains[problem.confidence][-1]
        compiled = stage.inserter.compiled
        impossible = next((wish for wish in wishes if not compiled.recipes[wish.product_id]), None)
        if impossible is not None:
            return _cannot_be_made(compiled, impossible)
        base = self._slots(stage, wishes)
        last = max(range(len(wishes)), key=lambda ix: _last(base[ix], wishes[ix]))
        reached = max(_last(row, wish) for row, wish in zip(base, wishes, strict=True))
        found = []
        for limit in _TRIED:
            trial = stage.relieved(limit, wishes[last].product_id)
            slots = [trial.take(wish, "quote")[0] for wish in wishes]
            slot = max(_last(row, wish) for row, wish in zip(slots, wishes, strict=True))
            if slot < reached:
                found.append((slot, limit))
        if not found:
            alone = Stage(Inserter(compiled, Plan(problem.grid)), {})
            free = max(_last(row, wish) for row, wish in zip(self._slots(alone, wishes), wishes, strict=True))
            return Limit.TIME if free >= reached else Limit.SEVERAL, "", ()
        found.sort(key=lambda pair: pair[0])
        grid = problem.grid
        day = grid.local(min(reached, grid.n_slots)).date()
        helps = tuple(
            Help(limit, self._more(compiled, limit, wishes[last]), grid.local(slot))
            for slot, limit in found
            if reached > grid.n_slots or grid.local(slot).date() < day
        )[:MOST_HELPS]
        return found[0][1], self._short(compiled, found[0][1], wishes[last]), helps

    def _short(self, compiled: Compiled, limit: Limit, wish: Wish) -> str:
        product = compiled.makes[wish.product_id].product
        match limit:
            case Limit.MOLD:
                return f"mold {' or '.join(compiled.recipes[wish.product_id])}"
            case Limit.RESIN:
                resin = self.problem.yard.resin(product.resin_grade, wish.color)
                return f"{product.resin_grade} in {wish.color}" if resin is None else f"{resin.name} or inserts"
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
                unit_ix = self.chains[self.problem.confidence][-1].inserter.best_unit(wish.product_id)
                return f"one more unit like {compiled.units[unit_ix or 0]}"
            case Limit.CREW:
                return "enough people for every handling within working hours"
            case _:
                return "enough benches, people and electricity for finishing"


def _later(one: list[list[int]], two: list[list[int]]) -> list[list[int]]:
    """Return the later slot for each piece; a piece that one of them does not reach is not reached."""
    return [[max(pair) for pair in zip(a, b, strict=False)] for a, b in zip(one, two, strict=True)]


def _last(slots: list[int], wish: Wish) -> int:
    """Return the slot of a wish's last piece; far away where it is not reached."""
    return slots[-1] if len(slots) == wish.quantity else 10**9


def _nth(number: int) -> str:
    return {2: "second", 3: "third"}.get(number, f"{number}th")


def _cannot_be_made(compiled: Compiled, wish: Wish) -> tuple[Limit, str, tuple[Help, ...]]:
    product = compiled.makes[wish.product_id].product
    if any(compiled.fits(mold, place.id, product.id) for mold in product.mold_ids for place in compiled.places):
        return Limit.SUN, f"no start in these days reaches {product.piat_c:g} °C in {product.id}", ()
    return Limit.MOLD, f"no mold that can make {product.id} fits a chamber: {', '.join(product.mold_ids)}", ()
