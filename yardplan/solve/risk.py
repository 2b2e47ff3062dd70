"""What becomes of a finished plan under each single sky: the plan replayed with cooks that end when they do.

How the replay decides, so simply that a foreman could say it beforehand:

* Each chamber, each mold and each unit's field keeps the order of the plan. A cook begins as soon as its mold is
  charged and the cook before it is over, at the first start that reaches PIAT in that sky; where there is none any
  more that day, it waits for the next one, charged, and all behind it wait too.
* Charging, demolding, mold changes and finishing are done as soon as what comes before them is over, sooner or later
  than planned, in any slots in which the plan's other work leaves people, loader, bench, power and energy for them,
  inside shifts and outside down-times. Nobody is taken away from what they are planned for. Work that has slipped
  does not stand in the way of other slipped work: it has left its own planned people idle, who help each other out.
* Nothing is charged before the resin and inserts of all cycles planned before it are there as well.
* What has started before now, and what is locked, does not move forward.
* Benches have the electricity that was promised at the planning confidence.

So each job's end is a function of the ends before it that never falls when they rise. Hence, by induction over the
jobs: a sky in which no cook ends later than the plan says ends no job later than the plan says, and more sun never
makes an order later. Rules that let one chamber overtake another would promise more, but lose both.
"""

from collections import defaultdict
from collections.abc import Callable
from functools import partial
from graphlib import TopologicalSorter
from itertools import pairwise
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import require
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.risk import SHARES, OrderRisk, PlanRisk
from yardplan.domain.tables import NEVER, Recipe, SkyCooks
from yardplan.solve.compiled import Compiled
from yardplan.solve.room import Room

Slots = NDArray[np.int32]
Ends = NDArray[np.int16]
Key = tuple[str, str]

BEYOND = 30_000
"""A slot after every grid: not within the plan's days."""


def plan_risk(problem: Problem, plan: Plan, cooks: SkyCooks) -> PlanRisk:
    """Replay a valid plan in every scenario and return each order's chance and dates; see the head of this file.

    Raises
    ------
    InvalidField
        If the cooks are not on the problem's grid and units.
    """
    for name, told in (("grid", problem.grid), ("unit_ids", problem.cook.unit_ids)):
        require(getattr(cooks, name) == told, "sky cooks", "", name, getattr(cooks, name), f"the problem's, {told}")
    finish = replay(problem, plan, cooks)
    n_slots = problem.grid.n_slots
    goals = np.array([problem.grid.slot(order.goal_at) for order in problem.orders], np.int64)
    in_time = (finish <= goals[:, None]) & (finish <= n_slots)
    ranks = [max(ceil(share * cooks.n_scenarios - 1e-9), 1) - 1 for share in SHARES]
    rows, on_time, promised = [], [], []
    for order, result, slots, good, goal in zip(
        problem.orders,
        order_results(plan, problem.orders, problem.yard),
        np.sort(finish, axis=1).tolist(),
        in_time,
        goals.tolist(),
        strict=True,
    ):
        dates = (slots[rank] if slots[rank] <= n_slots else None for rank in ranks)
        known = goal <= n_slots or slots[-1] <= n_slots
        rows.append(OrderRisk(order.id, float(good.mean()) if known else None, *dates))
        on_time.append(known and result.state == "on time")
        promised.append(on_time[-1] and order.promise_at is not None)
    return PlanRisk(
        cooks.n_scenarios, tuple(rows), _together(in_time[np.array(promised, bool)]), _together(in_time[on_time])
    )


def replay(problem: Problem, plan: Plan, cooks: SkyCooks) -> Slots:
    """Return when each order is finished under each sky: ndarray (order, scenario), `BEYOND` if not at all."""
    ends = Replay(problem, plan, cooks).ends()
    steps = {product.id: len(product.routing) for product in problem.yard.products}
    done: dict[str, list[FinishJob]] = defaultdict(list)
    for job in plan.finishing:
        done[job.cycle_id].append(job)
    of_order: dict[str, list[tuple[Slots, int]]] = defaultdict(list)
    for cycle in plan.cycles:
        jobs = done[cycle.id]
        if len(jobs) == steps[cycle.product_id]:
            last = np.maximum.reduce([ends["finish", job.id] for job in jobs] or [ends["demold", cycle.id]])
            of_order[cycle.order_id].append((last, cycle.pieces))
    found = np.full((len(problem.orders), cooks.n_scenarios), BEYOND, np.int32)
    for ix, order in enumerate(problem.orders):
        if sum(pieces for _, pieces in of_order[order.id]) >= order.quantity:
            found[ix] = _when_enough(of_order[order.id], order.quantity)
    return found


def _when_enough(lots: list[tuple[Slots, int]], quantity: int) -> Slots:
    """Return when so many pieces are there, from lots of (when under each sky, pieces)."""
    when = np.stack([slots for slots, _ in lots])
    by_time = np.argsort(when, axis=0, kind="stable")
    pieces = np.array([pieces for _, pieces in lots])[by_time]
    enough = np.argmax(np.cumsum(pieces, axis=0) >= quantity, axis=0)
    found: Slots = np.take_along_axis(np.take_along_axis(when, by_time, axis=0), enough[None], axis=0)[0]
    return found


def _together(in_time: NDArray[np.bool_]) -> float:
    """Return the share of scenarios in which all rows are true."""
    return float(in_time.all(axis=0).mean())


class Replay:
    """Jobs with what they wait for; each is a function from the slot at which it may start to its end."""

    def __init__(self, problem: Problem, plan: Plan, cooks: SkyCooks) -> None:
        self.compiled = compiled = Compiled(problem)
        self.cooks, self.room = cooks, Room(compiled, plan)
        kept = problem.kept
        self.fixed = {row.id for rows in (kept.cycles, kept.mold_changes, kept.finishing) for row in rows}
        self.waits: dict[Key, tuple[Key, ...]] = {}
        self.does: dict[Key, Callable[[Slots], Slots]] = {}
        self._heats: dict[tuple[Recipe, str], tuple[Ends, Ends]] = {}
        self._add_cycles(plan)
        self._add_changes(plan)
        self._add_chambers(plan)
        self._add_finishing(plan)

    def ends(self) -> dict[Key, Slots]:
        """Return when each job ends under each sky."""
        ends: dict[Key, Slots] = {}
        for key in TopologicalSorter(self.waits).static_order():
            ready = np.zeros(self.cooks.n_scenarios, np.int32)
            for before in self.waits[key]:
                np.maximum(ready, ends[before], out=ready)
            ends[key] = np.minimum(self.does[key](ready), BEYOND)
        return ends

    def _add_cycles(self, plan: Plan) -> None:
        stock_from = self._stock_from(plan)
        last_heat: dict[int, Key] = {}
        for cycle in sorted(plan.cycles, key=lambda row: (row.heat_slot, row.heat_end_slot, row.id)):
            make, ident = self.compiled.makes[cycle.product_id], cycle.id
            charge, heat, cool, demold = (("charge", ident), ("heat", ident), ("cool", ident), ("demold", ident))
            length = cycle.clean_slots + make.charge_slots
            charging, demolding = partial(self.room.charging, cycle), partial(self.room.demolding, cycle)
            self._add_work(charge, cycle, cycle.charge_slot, length, charging, stock_from[ident])
            unit_ix = self.compiled.place_of[cycle.chamber_id].unit_ix
            # cooling looks at the same moment as heating: when the mold is charged and the field is free
            self.waits[heat] = self.waits[cool] = (charge, *([last_heat[unit_ix]] if unit_ix in last_heat else []))
            last_heat[unit_ix] = heat
            self._add_heat(cycle, heat, cool)
            self._add_work(demold, cycle, cycle.demold_slot, make.demold_slots, demolding)
            self.waits[demold] = (cool,)

    def _add_heat(self, cycle: Cycle, heat: Key, cool: Key) -> None:
        if self._has_begun(cycle.heat_slot):
            self.does[heat] = partial(np.full_like, fill_value=cycle.heat_end_slot)
            self.does[cool] = partial(np.full_like, fill_value=cycle.cool_end_slot)
            return
        at_least = cycle.heat_slot if self._is_held(cycle) else 0
        over, cooled = self.heat_ends(cycle)
        self.does[heat] = partial(_read_off, over, at_least)
        self.does[cool] = partial(_read_off, cooled, at_least)

    def _add_changes(self, plan: Plan) -> None:
        taken_out: dict[MoldCopy, Key] = {}
        for change in sorted(plan.mold_changes, key=lambda row: (row.start_slot, row.end_slot, row.id)):
            key, length = ("change", change.id), change.end_slot - change.start_slot
            self._add_work(key, change, change.start_slot, length, partial(self.room.changing, change))
            if change.mold_in in taken_out:
                self.waits[key] = (taken_out[change.mold_in],)
            if change.mold_out is not None:
                taken_out[change.mold_out] = key

    def _add_chambers(self, plan: Plan) -> None:
        """Let the work of each chamber wait for what the plan does there before it."""
        rows: dict[str, list[tuple[int, int, Key, Key]]] = defaultdict(list)
        for cycle in plan.cycles:
            first, last = ("charge", cycle.id), ("demold", cycle.id)
            rows[cycle.chamber_id].append((cycle.charge_slot, cycle.end_slot, first, last))
        for change in plan.mold_changes:
            key = "change", change.id
            rows[change.chamber_id].append((change.start_slot, change.end_slot, key, key))
        for here in rows.values():
            here.sort()
            for (_, _, _, before), (_, _, key, _) in pairwise(here):
                self.waits[key] += (before,)

    def _add_finishing(self, plan: Plan) -> None:
        cycles = {cycle.id: cycle for cycle in plan.cycles}
        jobs = {(job.cycle_id, job.step_ix): job for job in plan.finishing}
        for (cycle_id, step_ix), job in jobs.items():
            cycle = cycles[cycle_id]
            step = self.compiled.makes[cycle.product_id].steps[step_ix]
            starts = partial(self.room.finishing, job, cycle)
            self._add_work(("finish", job.id), job, job.start_slot, step.slots, starts, rest_slots=step.rest_slots)
            before = jobs.get((cycle_id, step_ix - 1))
            self.waits["finish", job.id] = (("finish", before.id) if before else ("demold", cycle_id),)

    def _add_work(
        self,
        key: Key,
        row: Cycle | MoldChange | FinishJob,
        start: int,
        length: int,
        starts: Callable[[], int],
        at_least: int = 0,
        rest_slots: int = 0,
    ) -> None:
        """Add what people do: it starts in the next slot of a mask once it may."""
        self.waits[key] = ()
        if self._has_begun(start):
            self.does[key] = partial(np.full_like, fill_value=start + length)
            return
        at_least = max(at_least, start if self._is_held(row) else 0)

        def end(ready: Slots) -> Slots:
            table = following(starts(), self.compiled.n_slots)
            return table[_on(table, np.maximum(ready + rest_slots, at_least))] + length

        self.does[key] = end

    def _has_begun(self, slot: int) -> bool:
        return slot < self.compiled.now_slot

    def _is_held(self, row: Cycle | MoldChange | FinishJob) -> bool:
        return row.locked or row.id in self.fixed

    def _stock_from(self, plan: Plan) -> dict[str, int]:
        """Return for each cycle the slot from which on all cycles planned up to it have what they use."""
        used: dict[str, int] = defaultdict(int)
        found: dict[str, int] = {}
        for cycle in plan.cycles:
            found[cycle.id] = 0
            if cycle.charge_slot < 0:  # what was charged before the grid is no longer on hand
                continue
            for item, amount in self.compiled.uses(cycle.product_id, cycle.color, cycle.pieces).items():
                used[item] += amount
                there = 0
                for slot, come in self.compiled.supply[item]:
                    there += come
                    if there >= used[item]:
                        found[cycle.id] = max(found[cycle.id], slot)
                        break
        return found

    def heat_ends(self, cycle: Cycle) -> tuple[Ends, Ends]:
        """Return when a cook that may start from a slot on is over, and cooled: ndarrays (slot + 1, scenario)."""
        recipe = Recipe(cycle.mold.mold_id, cycle.product_id)
        if (recipe, cycle.chamber_id) not in self._heats:
            place, n_slots = self.compiled.place_of[cycle.chamber_id], self.compiled.n_slots
            at = self.cooks.recipes.index(recipe), place.unit_ix
            start = np.arange(n_slots, dtype=np.int16)[:, None]
            cook = self.cooks.cook_slots[at].astype(np.int16)
            cooled = start + cook + self.cooks.cool_slots[at]
            open_until = following(~place.open & (1 << n_slots) - 1, n_slots)[:-1, None]
            fits = (cook != NEVER) & (cooled <= np.minimum(open_until, n_slots))
            self._heats[recipe, cycle.chamber_id] = (
                _earliest_from(np.where(fits, start + cook, BEYOND)),
                _earliest_from(np.where(fits, cooled, BEYOND)),
            )
        return self._heats[recipe, cycle.chamber_id]


def _earliest_from(ends: NDArray[np.integer[Any]]) -> Ends:
    """Return the least of each row and all later ones, and a last row of `BEYOND`."""
    found = np.full((ends.shape[0] + 1, *ends.shape[1:]), BEYOND, np.int16)
    found[:-1] = np.minimum.accumulate(ends[::-1], axis=0)[::-1]
    return found


def _read_off(ends: NDArray[np.int16], at_least: int, ready: Slots) -> Slots:
    """Return what a table of ends (slot + 1, scenario) says for the slot of each scenario."""
    return ends[_on(ends, np.maximum(ready, at_least)), np.arange(ready.size)].astype(np.int32)


def following(mask: int, n_slots: int) -> Slots:
    """Return for each slot, and for the one after the grid, the next one of a mask: `BEYOND` where there is none."""
    cut = mask & (1 << n_slots) - 1
    bits = np.unpackbits(np.frombuffer(cut.to_bytes(n_slots // 8 + 1, "little"), np.uint8), bitorder="little")
    slots = np.where(bits[:n_slots], np.arange(n_slots, dtype=np.int32), BEYOND)
    return np.append(np.minimum.accumulate(slots[::-1])[::-1], np.int32(BEYOND))


def _on(table: NDArray[np.integer[Any]], slots: Slots) -> Slots:
    """Return slots as rows of a table whose last row stands for all after the grid."""
    return np.clip(slots, 0, table.shape[0] - 1)
