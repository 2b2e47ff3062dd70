"""Work that the log tells is done or runs, carried into a question as kept work."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from yardplan.domain.people import HANDLING, Downtime, ResourceKind
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.standing import back_at, carried, in_plan
from yardplan.domain.state import MadeCycle, Phase, YardState
from yardplan.solve.bookings import Bookings
from yardplan.solve.compiled import Compiled, CookRow, first_slot, span_mask
from yardplan.solve.dispatch import best_heat
from yardplan.solve.follow import follow, mend
from yardplan.solve.names import named

COOL_SLOTS = 12
"""Cooling of a cook of which the table knows none: an hour at five minutes a slot (own assumption)."""


@dataclass(frozen=True)
class Carried:
    """A question with the work in hand kept, and in words what cannot go on as it was."""

    problem: Problem
    told: tuple[str, ...]


def carry(
    problem: Problem, state: YardState, before: Plan, ends: Mapping[str, int | None], *, frozen_slots: int
) -> Carried:
    """Return the question with all work in hand kept: what runs, what waits for finishing, what is locked or frozen.

    Parameters
    ----------
    problem : Problem
        With the yard as it stands, the orders still to be made, and nothing kept.
    before : Plan
        What the plan in force still has, on the grid of the problem.
    ends : mapping by made cycle
        Slot in which its cook is expected to end, None if it is not expected to reach its peak. Cooks that are not in
        it go by the cook table from when they began.
    frozen_slots : int
        Jobs that begin within so many slots stay as they are, as locked ones do, as far as they can.
    """
    work = _Work(problem, state, before)
    work.past()
    order = (Phase.COOLING, Phase.HEATING, Phase.HOLDING, Phase.CHARGED)
    for made in sorted(work.running, key=lambda made: (order.index(made.phase), made.charged_at)):
        work.run(made, ends)
    for made in state.cycles:
        if made.phase is Phase.LOST:
            work.give_up(made, "was given up")
    kept = work.plan()
    asked = work.problem_with(kept)
    near = {
        row.id: row
        for row in before.cycles
        if row.charge_slot >= asked.now_slot and (row.locked or row.charge_slot < asked.now_slot + frozen_slots)
    }
    if near:
        kept = _with_near(asked, before, near, work.told)
        asked = work.problem_with(kept)
    return Carried(asked, tuple(work.told))


def _with_near(asked: Problem, before: Plan, near: Mapping[str, Cycle], told: list[str]) -> Plan:
    """Return kept work with the near jobs that can stay, each with the mold change before it."""
    kept = asked.kept
    followed = follow(settled(asked), before, only=frozenset(near))
    free = {(row.chamber_id, row.order_id, row.charge_slot): row for row in near.values()}
    stay: list[Cycle] = []
    names: dict[str, str] = {}
    taken = {row.id for row in kept.cycles}
    for row in followed.cycles:
        was = free.get((row.chamber_id, row.order_id, row.charge_slot))
        if was is not None and row.id not in taken:
            names[row.id] = was.id
            stay.append(replace(row, id=was.id, locked=was.locked))
    lost = set(near) - {row.id for row in stay}
    told += [f"{ident} is locked and cannot stay as it was" for ident in sorted(lost) if near[ident].locked]
    ids = {row.id for row in kept.mold_changes}
    changes = [
        replace(row, id=f"K{row.id.lstrip('~')}")
        for row in followed.mold_changes
        if row.id not in ids
        and any(
            cycle.chamber_id == row.chamber_id and cycle.mold == row.mold_in and cycle.charge_slot >= row.end_slot
            for cycle in stay
        )
    ]
    return replace(kept, cycles=(*kept.cycles, *stay), mold_changes=(*kept.mold_changes, *changes))


@dataclass
class _Work:
    problem: Problem
    state: YardState
    before: Plan
    cycles: list[Cycle] = field(default_factory=list)
    changes: list[MoldChange] = field(default_factory=list)
    jobs: list[FinishJob] = field(default_factory=list)
    downs: list[Downtime] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.grid, self.now = self.problem.grid, self.problem.now_slot
        self.yard = self.problem.yard
        self.orders = {order.id for order in self.problem.orders}
        self.products = {product.id: product for product in self.yard.products}
        known = [made for made in carried(self.state) if made.order_id in self.orders]
        self.waiting = [made for made in known if made.phase is Phase.FINISHING]
        self.running = [made for made in known if made.phase is not Phase.FINISHING]
        self.planned = {row.id: row for row in self.before.cycles}
        self.compiled: Compiled
        self.book: Bookings

    def past(self) -> None:
        """Carry what is over: emptied cycles with finishing to come, its steps so far, and mold changes."""
        since_at = min((made.charged_at for made in (*self.waiting, *self.running)), default=self.state.now)
        for at, chamber_id, mold in self.state.hangings:
            if at > since_at:
                slot = min(self.grid.slot(at), self.now - 1)
                out = next((row.mold_in for row in reversed(self.changes) if row.chamber_id == chamber_id), None)
                out = out or next((row.mold for row in self.yard.hung if row.chamber_id == chamber_id), None)
                self.changes.append(MoldChange(f"K{len(self.changes) + 1}", chamber_id, out, mold, slot, slot, ()))
        for made in self.waiting:
            assert made.demolded_at is not None
            end = min(self.grid.slot(made.demolded_at), self.now - 1)
            charge = self._charge_slot(made, end)
            heat, off = self._lit(made, charge, end)
            self._add(made, (charge, heat, off, end, end, end))
            self._steps(made)
        self.book_now()

    def run(self, made: MadeCycle, ends: Mapping[str, int | None]) -> None:
        """Carry a cycle that is in its chamber: when its cook ends, and when it can be emptied by whom."""
        place = self.compiled.place_of[made.chamber_id]
        row = self.compiled.row(made.mold.mold_id, made.product_id, made.chamber_id)
        charge = self._charge_slot(made, self.now - 1)
        spans = self._heat(made, row, ends, charge)
        if spans is None:
            self.give_up(made, "is not expected to reach its peak today")
            return
        heat, heat_end, cool_end = spans
        product = self.products[made.product_id]
        length = self.compiled.makes[made.product_id].demold_slots
        needs = ((HANDLING, product.demold_crew),)
        can = self.book.crew_starts(needs, length) & place.open
        demold = first_slot(can, max(cool_end, self.now))
        if demold is None or demold + length > self.compiled.n_slots:
            demold = min(max(cool_end, self.now), self.compiled.n_slots - length)
        was = self.planned.get(made.planned_id)
        crew = was.demold_crew if was else ()
        if not crew or any(not self.book.person_starts(person, length) >> demold & 1 for person in crew):
            crew = self.book.choose_crew(needs, demold, length) or ()
        slots = (charge, heat, heat_end, cool_end, demold, demold + length)
        self.book.book_cycle(self._add(made, slots, crew))

    def give_up(self, made: MadeCycle, why: str) -> None:
        """Tell that a cook is not counted on, and block its chamber until it can be emptied."""
        self.told.append(f"{made.id} ({made.product_id} for {made.order_id}) in {made.chamber_id} {why}: made again")
        minutes = self.grid.slot_min * COOL_SLOTS + (
            self.products[made.product_id].demold_min if made.product_id in self.products else 0
        )
        until_at = self.state.now + timedelta(minutes=minutes)
        self.downs.append(
            Downtime(ResourceKind.CHAMBER, made.chamber_id, self.state.now, until_at, f"{made.id} is still in it")
        )

    def plan(self) -> Plan:
        """Return all that is kept so far."""
        known = {upkeep.id for upkeep in self.yard.upkeep}
        away = set(self.state.absent)
        upkeep = tuple(row for row in self.before.upkeep if row.upkeep_id in known and not away.intersection(row.crew))
        return Plan(self.grid, tuple(self.cycles), tuple(self.changes), tuple(self.jobs), upkeep)

    def problem_with(self, kept: Plan) -> Problem:
        """Return the question with kept work; orders ask for no less than what is kept of them."""
        made: dict[str, int] = {}
        for cycle in kept.cycles:
            made[cycle.order_id] = made.get(cycle.order_id, 0) + cycle.pieces
        return replace(
            self.problem,
            yard=replace(self.yard, downtimes=(*self.yard.downtimes, *self.downs)),
            orders=tuple(
                replace(order, quantity=max(order.quantity, made.get(order.id, 0))) for order in self.problem.orders
            ),
            kept=kept,
        )

    def book_now(self) -> None:
        """Look anew at what is free beside what is kept so far."""
        asked = self.problem_with(self.plan())
        self.compiled = Compiled(asked.with_upkeep(asked.kept.upkeep))
        self.book = Bookings(self.compiled, Plan(self.grid, tuple(self.cycles), tuple(self.changes), tuple(self.jobs)))

    # --- parts of a cycle ----------------------------------------------------------------------------------------

    def _heat(
        self, made: MadeCycle, row: CookRow | None, ends: Mapping[str, int | None], charge: int
    ) -> tuple[int, int, int] | None:
        """Return start and end of heating and end of cooling, None if the peak is not expected."""
        unit_ix = self.compiled.place_of[made.chamber_id].unit_ix
        field = self.book.field_free[unit_ix] & ~self._stowed(self.compiled.units[unit_ix])
        if made.piat_at is not None:
            heat, off = self._lit(made, charge, self.now - 1)
            return heat, off, max(self.grid.slot(made.piat_at) + self._cool(row, heat), self.now)
        if row is None:
            return None
        if made.phase is Phase.CHARGED:
            start = best_heat(row, field, self.compiled.place_of[made.chamber_id].open, self.now, self.compiled.n_slots)
            if start is None:
                return None
            return start, start + row.cook[start], start + row.cook[start] + row.cool[start]
        first = max(self.grid.slot(made.heats[0][0]), 0)
        heated = sum(max(self.grid.slot(end or self.state.now) - self.grid.slot(start), 0) for start, end in made.heats)
        needed = max(row.cook[first], heated + 1) if row.cook[first] else 0
        end = ends.get(made.id, self.now + needed - heated if needed else None)
        if end is None or end > self.compiled.n_slots:
            return None
        left = max(end - self.now, 1)
        start = self._clip(made.heats[-1][0], charge, self.now - 1)
        if made.phase is Phase.HOLDING:
            free = self._run(field, left)
            if free is None:
                return None
            start, end = free, free + left
        else:
            end = max(end, self.now + 1)
        return start, end, end + self._cool(row, first)

    def _lit(self, made: MadeCycle, low: int, high: int) -> tuple[int, int]:
        """Return the last time with the mirrors on it, when they were elsewhere before and after."""
        on_at, off_at = made.heats[-1] if made.heats else (made.charged_at, made.charged_at)
        heat = self._clip(on_at, low, high)
        return heat, self._clip(off_at or on_at, heat, high)

    def _run(self, field: int, length: int) -> int | None:
        at = first_slot(field, self.now)
        while at is not None and field >> at & ((1 << length) - 1) != (1 << length) - 1:
            at = first_slot(field, at + 1)
        return at

    def _stowed(self, unit_id: str) -> int:
        out = self.state.stowed.get(unit_id)
        if out is None:
            return 0
        return span_mask(self.now, self.grid.slot_up(back_at(out, self.state.now, self.grid.tz)))

    def _cool(self, row: CookRow | None, heat: int) -> int:
        if row is None:
            return COOL_SLOTS
        return row.cool[max(heat, 0)] or max(row.cool) or COOL_SLOTS

    def _charge_slot(self, made: MadeCycle, latest: int) -> int:
        """Return when charging began: its length before it was done, and after what was in the chamber before."""
        length = self.grid.slots_up(self.products[made.product_id].charge_min)
        ends = [row.end_slot for row in self.cycles if row.chamber_id == made.chamber_id]
        ends += [row.end_slot for row in self.changes if row.chamber_id == made.chamber_id]
        before = [end for end in ends if end <= self.grid.slot(made.charged_at)]
        return min(max([self.grid.slot(made.charged_at) - length, *before]), latest)

    def _clip(self, at: datetime, low: int, high: int) -> int:
        return max(min(self.grid.slot(at), high), low)

    def _add(self, made: MadeCycle, slots: tuple[int, int, int, int, int, int], crew: tuple[str, ...] = ()) -> Cycle:
        taken = set(self.names.values())
        ident = made.planned_id if made.planned_id and made.planned_id not in taken else made.id
        self.names[made.id] = ident
        charge, heat, heat_end, cool_end, demold, end = slots
        cycle = Cycle(
            ident, made.order_id, made.product_id, made.color, made.mold, made.chamber_id, in_plan(made),
            charge, 0, heat, heat_end, cool_end, demold, end, (), crew,
        )  # fmt: skip
        self.cycles.append(cycle)
        return cycle

    def _steps(self, made: MadeCycle) -> None:
        routing, ident = self.products[made.product_id].routing, self.names[made.id]
        for step in made.steps:
            if step.step_ix >= len(routing):
                continue
            asked = routing[step.step_ix]
            start = min(self.grid.slot(step.started_at), self.now - 1)
            if step.done_at is None:
                end = max(start + self.grid.slots_up(asked.minutes), self.now + 1)
            else:
                end = min(max(self.grid.slot(step.done_at), start), self.now)
            kwh = asked.power_kw * asked.minutes / 60
            self.jobs.append(
                FinishJob(
                    f"{ident}.{step.step_ix + 1}", ident, step.step_ix, step.bench_id, step.person, start, end, kwh
                )
            )


def settled(problem: Problem) -> Compiled:
    """Return a question with the upkeep that it keeps as down-times, ready for `old_plan`."""
    return Compiled(problem.with_upkeep(problem.kept.upkeep))


def old_plan(problem: Problem, before: Plan, *, asked: Compiled | None = None) -> Plan:
    """Return what becomes of the plan in force if it is kept; see `follow`. `asked`: see `settled`."""
    asked = asked or settled(problem)
    return replace(named(follow(asked, before), asked.problem.kept), upkeep=problem.kept.upkeep)


def mended_plan(problem: Problem, old: Plan, *, asked: Compiled | None = None) -> Plan:
    """Return the plan in force as it was followed, with what it misses put into free places; see `mend`."""
    return mend(asked or settled(problem), old)
