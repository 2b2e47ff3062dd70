"""What is different between two plans, and what the differences mean for orders, crew and sun."""

from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import combinations

from yardplan.domain.difference import Difference, difference, on_grid, shift_slots
from yardplan.domain.orders import Order
from yardplan.domain.plan import Cycle, MoldChange, OrderResult, Plan, order_results
from yardplan.domain.problem import Problem

NEAR_HALVES_H = 8.0
"""A move weighs half as much for every eight hours that it lies further ahead [h]."""


@dataclass(frozen=True)
class Answer:
    """A plan with the question that it answers."""

    problem: Problem
    plan: Plan


@dataclass(frozen=True)
class OrderChange:
    """What two plans make of one order, in slots of the new grid; None where a question does not have it."""

    order_id: str
    old_order: Order | None
    new_order: Order | None
    old: OrderResult | None
    new: OrderResult | None
    earlier_slots: int
    """By how much it is finished earlier; an unfinished one counts as finished at the end of its plan."""

    @property
    def is_same(self) -> bool:
        """Whether nothing that the customer sees is different."""
        return self.old == self.new and self.old_order == self.new_order

    @property
    def states(self) -> tuple[str, str]:
        """State in the old and the new plan, `not asked` where it is not in the question."""
        old, new = (result.state if result else "not asked" for result in (self.old, self.new))
        return old, new


@dataclass(frozen=True)
class Use:
    """What a plan makes, and what it takes for it.

    `heat_kwh` is the median heat of its cooks that begin inside the grid [kWh]; `beam_h` hours of heating, `chamber_h`
    from charging to the end of demolding, `crew_h` person-hours of all work, `bench_h` hours at benches [h].
    """

    cycles: int
    pieces: int
    heat_kwh: float
    beam_h: float
    chamber_h: float
    crew_h: float
    bench_h: float
    bench_kwh: float
    mold_changes: int
    clean_downs: int


@dataclass(frozen=True)
class Nervousness:
    """How much a new plan upsets an old one; all 0 for the same plan.

    Attributes
    ----------
    moved_h : float
        Sum over matched cycles of the hours by which charging moves, each weighed 1 now and half as much for every
        `NEAR_HALVES_H` that the earlier of both starts lies ahead [h].
    reversed_frac : float
        Share of the pairs of cycles that stay in one chamber which follow each other the other way round; two cycles of
        one order are never such a pair.
    wasted_changes : tuple of MoldChange
        Mold changes of the old plan that are gone, or that no cycle follows any more.

    Notes
    -----
    Source: the first is in the manner of Sridharan, Berry and Udayabhanu, Measuring master production schedule
    stability under rolling planning horizons, Decision Sciences 19, 1988, the second of Wu, Storer and Chang,
    One-machine rescheduling heuristics with efficiency and stability as criteria, Computers and Operations Research
    20(1), 1993. Both from memory.
    """

    moved_h: float
    reversed_frac: float
    wasted_changes: tuple[MoldChange, ...]


@dataclass(frozen=True)
class Comparison:
    """Everything that is different between two answers."""

    difference: Difference
    orders: tuple[OrderChange, ...]
    old_use: Use
    new_use: Use
    nervousness: Nervousness


def compare(old: Answer, new: Answer, *, now_slot: int | None = None) -> Comparison:
    """Return what is different between two plans; their questions may differ too.

    Parameters
    ----------
    now_slot : int or None
        Slot of the new grid from which moves are weighed; None: the `now` of the new question.

    Raises
    ------
    InvalidField
        If the slots of both plans do not coincide.
    """
    found = difference(old.plan, new.plan)
    before = on_grid(old.plan, new.plan.grid)
    weighed_from = new.problem.now_slot if now_slot is None else now_slot
    return Comparison(
        found,
        _order_changes(old, new, shift_slots(old.plan.grid, new.plan.grid)),
        use_of(old),
        use_of(new),
        nervousness(found, before, new.plan, weighed_from),
    )


def use_of(answer: Answer) -> Use:
    """Return what a plan makes and takes; see `Use`."""
    plan, problem = answer.plan, answer.problem
    cook, hour = problem.cook, 60 / plan.grid.slot_min
    recipe_ix = {tuple(recipe): ix for ix, recipe in enumerate(cook.recipes)}
    unit_ix = {chamber.id: ix for ix, unit in enumerate(problem.yard.units) for chamber in unit.chambers}
    charge_slots = {row.id: plan.grid.slots_up(row.charge_min) for row in problem.yard.products}
    heat_kwh, crew_slots = 0.0, 0
    for row in plan.cycles:
        recipe = recipe_ix.get((row.mold.mold_id, row.product_id))
        if recipe is not None and 0 <= row.heat_slot < plan.grid.n_slots:
            heat_kwh += float(cook.heat_kwh[recipe, unit_ix[row.chamber_id], row.heat_slot])
        crew_slots += len(row.charge_crew) * (row.clean_slots + charge_slots[row.product_id])
        crew_slots += len(row.demold_crew) * (row.end_slot - row.demold_slot)
    crew_slots += sum(len(row.crew) * (row.end_slot - row.start_slot) for row in plan.mold_changes)
    bench_slots = sum(row.end_slot - row.start_slot for row in plan.finishing)
    return Use(
        cycles=len(plan.cycles),
        pieces=sum(row.pieces for row in plan.cycles),
        heat_kwh=heat_kwh,
        beam_h=sum(row.heat_end_slot - row.heat_slot for row in plan.cycles) / hour,
        chamber_h=sum(row.end_slot - row.charge_slot for row in plan.cycles) / hour,
        crew_h=(crew_slots + bench_slots) / hour,
        bench_h=bench_slots / hour,
        bench_kwh=float(sum(row.kwh for row in plan.finishing)),
        mold_changes=len(plan.mold_changes),
        clean_downs=sum(row.clean_slots > 0 for row in plan.cycles),
    )


def nervousness(found: Difference, old: Plan, new: Plan, now_slot: int) -> Nervousness:
    """Return how much a new plan upsets an old one, both on one grid, seen at `now_slot`; see `Nervousness`."""
    hour = 60 / new.grid.slot_min
    both = [(pair.old, pair.new) for pair in found.cycles if pair.old and pair.new]
    moved_h = 0.0
    for before, after in both:
        ahead_h = max(min(before.charge_slot, after.charge_slot) - now_slot, 0) / hour
        moved_h += 0.5 ** (ahead_h / NEAR_HALVES_H) * abs(after.charge_slot - before.charge_slot) / hour
    pairs = turned = 0
    stayed: dict[str, list[tuple[Cycle, Cycle]]] = defaultdict(list)
    for before, after in both:
        if before.chamber_id == after.chamber_id:
            stayed[before.chamber_id].append((before, after))
    for rows in stayed.values():
        for (one, one_now), (two, two_now) in combinations(rows, 2):
            pairs += 1
            is_turned = (one.charge_slot < two.charge_slot) != (one_now.charge_slot < two_now.charge_slot)
            turned += one.order_id != two.order_id and is_turned
    wasted = tuple(
        pair.old
        for pair in found.mold_changes
        if pair.old and _serves(old, pair.old) and not (pair.new and _serves(new, pair.new))
    )
    return Nervousness(moved_h, turned / pairs if pairs else 0.0, wasted)


def _serves(plan: Plan, change: MoldChange) -> bool:
    """Tell whether a cycle runs on a mold between its change and the chamber's next one."""
    later = (
        row.start_slot
        for row in plan.mold_changes
        if row.chamber_id == change.chamber_id and row.start_slot > change.start_slot
    )
    until = min(later, default=None)
    return any(
        row.chamber_id == change.chamber_id
        and row.mold == change.mold_in
        and row.charge_slot >= change.end_slot
        and (until is None or row.charge_slot < until)
        for row in plan.cycles
    )


def _order_changes(old: Answer, new: Answer, by: int) -> tuple[OrderChange, ...]:
    def results(answer: Answer, shift: int) -> dict[str, tuple[Order, OrderResult, int]]:
        problem, plan = answer.problem, answer.plan
        found = order_results(plan, problem.orders, problem.yard)
        return {
            order.id: (
                order,
                replace(row, finish_slot=None if row.finish_slot is None else row.finish_slot + shift),
                (plan.grid.n_slots if row.finish_slot is None else row.finish_slot) + shift,
            )
            for order, row in zip(problem.orders, found, strict=True)
        }

    before, after = results(old, by), results(new, 0)
    found = []
    for order_id in dict.fromkeys([*before, *after]):
        one, two = before.get(order_id), after.get(order_id)
        found.append(
            OrderChange(
                order_id,
                one[0] if one else None,
                two[0] if two else None,
                one[1] if one else None,
                two[1] if two else None,
                one[2] - two[2] if one and two else 0,
            )
        )
    return tuple(found)
