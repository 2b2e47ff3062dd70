"""One thing of a plan changed by hand: what stands in its way is pushed, all else stays as it was, row by row."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import count

from yardplan.domain.edits import Add, Edit, Edited, Lock, Move, Remove, Split, same_rows
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.people import HANDLING
from yardplan.domain.plan import Cycle, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Rule
from yardplan.domain.tables import NEVER
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.insert import Inserter
from yardplan.solve.lay_again import Layer, Wish, free_names

_OF_CREW = (Rule.CREW_SHIFT, Rule.CREW_LIMIT, Rule.CREW_HEAT)


class Editor:
    """Tries edits on one plan, quickly enough to be asked while a cycle is dragged.

    Parameters
    ----------
    problem : Problem
        The question, with nothing kept.
    plan : Plan
        On the grid of the problem. Locked work and what began before `now` stay as they are.
    """

    def __init__(self, problem: Problem, plan: Plan) -> None:
        self.problem, self.plan = problem, without_closed(problem, plan)
        self.asked = replace(problem, kept=staying(problem, self.plan))
        self.compiled = Compiled(self.asked.with_upkeep(self.plan.upkeep))
        self.rows = {row.id: row for row in self.plan.cycles}

    def checked(self, edit: Edit) -> Edited:
        """Return what an edit comes to; a plan with a broken rule that was not there before is refused."""
        found = self.tried(edit)
        if not found.is_done:
            return found
        broken = check(replace(self.problem, kept=staying(self.problem, found.plan)), found.plan)
        if broken:
            standing = {(row.rule, row.jobs) for row in check(self.asked, self.plan)}
            reasons = tuple(row.text for row in broken if (row.rule, row.jobs) not in standing)
            if reasons:
                return replace(found, plan=self.plan, pushed=(), reasons=reasons)
        return found

    def tried(self, edit: Edit) -> Edited:
        """Return what an edit comes to, by the planner's own arithmetic; `checked` judges it by every rule as well."""
        if isinstance(edit, Lock):
            row = self.rows[edit.cycle_id]
            rows = tuple(replace(one, locked=edit.locked) if one is row else one for one in self.plan.cycles)
            return Edited(replace(self.plan, cycles=rows), (row.id,))
        if isinstance(edit, Add):
            meant: tuple[Cycle, ...] = (self._new(edit),)
        else:
            meant = self._meant(edit)
            fixed = tuple(text for row in meant if (text := self._fixed(row)))
            if fixed:
                return self._refused(fixed, meant)
        if isinstance(edit, Remove):
            return self._laid(meant, ())
        first, at = meant[0].charge_slot, edit.charge_slot
        reasons = self._beside_now(meant[0], at)
        if reasons:
            return self._refused(reasons, meant)
        wishes = [
            Wish(row, edit.chamber_id, at + row.charge_slot - first, is_meant=True, is_firm=ix == 0)
            for ix, row in enumerate(meant)
        ]
        return self._laid(meant, wishes)

    def _meant(self, edit: Move | Split | Remove) -> tuple[Cycle, ...]:
        row = self.rows[edit.cycle_id]
        if not isinstance(edit, Split):
            return (row,)
        alike = (row.order_id, row.chamber_id)
        return tuple(
            one
            for one in self.plan.cycles
            if (one.order_id, one.chamber_id) == alike and one.charge_slot >= row.charge_slot and not one.locked
        ) or (row,)

    def _new(self, edit: Add) -> Cycle:
        """Return one more cycle of an order, as a pattern: its times are those of the mold's usual cook."""
        compiled, at = self.compiled, edit.charge_slot
        make = compiled.line_of[edit.order_id].make
        hung = hanging(self.plan, compiled.hung.get(edit.chamber_id), edit.chamber_id, at)
        mold_ids = make.product.mold_ids
        copy = hung if hung is not None and hung.mold_id in mold_ids else MoldCopy(mold_ids[0], 1)
        number = next(n for n in count(1) if f"C{n:03}" not in self.rows)
        slots = at + make.charge_slots
        return Cycle(
            f"C{number:03}", edit.order_id, make.product.id, compiled.line_of[edit.order_id].order.color, copy,
            edit.chamber_id, compiled.molds[copy.mold_id].cavities, at, 0, slots, slots + 1, slots + 1, slots + 1,
            slots + 1 + make.demold_slots, (), (),
        )  # fmt: skip

    # --- laying ----------------------------------------------------------------------------------------------

    def _laid(self, meant: Sequence[Cycle], wishes: Sequence[Wish]) -> Edited:
        gone = {row.id for row in meant}
        longest = max(self.compiled.change_slots.values(), default=0)
        since = min([row.charge_slot for row in meant] + [wish.at for wish in wishes]) - longest
        since = max(since, self.compiled.now_slot)
        kept_ids = {row.id for row in self.asked.kept.cycles}
        stay = tuple(row for row in self.plan.cycles if row.id in kept_ids or row.charge_slot < since)
        stay = tuple(row for row in stay if row.id not in gone)
        changes = served(self.plan, stay)
        ids = {row.id for row in stay}
        base = Plan(
            self.plan.grid,
            stay,
            tuple(row for row in self.plan.mold_changes if row.id in changes or row in self.asked.kept.mold_changes),
            tuple(
                job
                for job in self.plan.finishing
                if job in self.asked.kept.finishing or (job.cycle_id in ids and job.start_slot < since)
            ),
        )
        layer = Layer(self.compiled, self.plan, base, since)
        rest = [Wish(row, row.chamber_id, row.charge_slot) for row in self.plan.cycles if row.id not in ids | gone]
        plan = layer.lay((*wishes, *rest))
        if layer.late is not None:
            wish = wishes[0]
            reasons = self._broken(wish) or (self._no_room(wish, layer.late[0]),)
            return replace(self._refused(reasons, meant), first_slot=layer.late[0])
        plan, lost = self._elsewhere(plan, layer.lost)
        if lost:
            return self._refused(tuple(self._lost(row) for row in lost), meant)
        return Edited(plan, tuple(row.id for row in meant), same_rows(self.plan, plan, gone))

    def _elsewhere(self, plan: Plan, rows: Sequence[Cycle]) -> tuple[Plan, list[Cycle]]:
        """Put pushed cycles for which their day has no room left into free places; returns those that find none."""
        lost: list[Cycle] = []
        if not rows:
            return plan, lost
        inserter = Inserter(self.compiled, plan)
        cycles, changes, jobs = list(plan.cycles), list(plan.mold_changes), list(plan.finishing)
        names = free_names(self.plan, plan)
        for row in rows:
            added = inserter.next(row.product_id, row.color, row.order_id)
            if added is None or added.cycle.pieces < row.pieces:
                lost.append(row)
                continue
            cycles.append(replace(added.cycle, id=row.id))
            changes += [replace(added.change, id=next(names))] if added.change else []
            jobs += [replace(job, id=f"{row.id}.{job.step_ix + 1}", cycle_id=row.id) for job in added.jobs]
        return Plan(plan.grid, tuple(cycles), tuple(changes), tuple(jobs), plan.upkeep), lost

    def _refused(self, reasons: tuple[str, ...], meant: Iterable[Cycle]) -> Edited:
        return Edited(self.plan, tuple(row.id for row in meant), reasons=reasons)

    # --- why not ---------------------------------------------------------------------------------------------

    def _fixed(self, row: Cycle) -> str:
        if row.locked:
            return f"{row.id} in {row.chamber_id} is locked; unlock it first"
        if row.charge_slot < self.compiled.now_slot:
            return f"{row.id} in {row.chamber_id} began at {self._when(row.charge_slot)}; what has begun stays"
        return ""

    def _beside_now(self, row: Cycle, at: int) -> tuple[str, ...]:
        now, after = self.compiled.now_slot, self.compiled.n_slots
        if at < now:
            return (f"{row.id} would start at {self._when(at)}, new work may start from {self._when(now)} on",)
        if at >= after:
            return (f"{row.id} would start at {self._when(at)}, the plan's days end at {self._when(after)}",)
        return ()

    def _no_room(self, wish: Wish, first: int | None) -> str:
        told = f"there is no room for {wish.row.id} in {wish.chamber_id} at {self._when(wish.at)}"
        if first is None:
            return f"{told}, nor later on"
        return f"{told} with crew, heat and chamber free; the first is {self._when(first)}"

    def _lost(self, row: Cycle) -> str:
        return (
            f"{row.id} for {row.order_id} in {row.chamber_id}, {self._when(row.charge_slot)}, would be pushed, and "
            "there is no room for it any more"
        )

    def _when(self, slot: int) -> str:
        return f"{self.compiled.grid.local(slot):%a %H:%M}"

    def _broken(self, wish: Wish) -> tuple[str, ...]:
        """Return what the checker says of the cycle at the wanted place with all others where they are."""
        naive = self._naive(wish)
        near = self._near(naive)
        broken = [row for row in check(self.asked, near) if naive.id in row.jobs]
        # Somebody else might do it: its crew stands in the way only where nothing else does.
        others = [row for row in broken if row.rule not in _OF_CREW]
        return tuple(dict.fromkeys(row.text for row in others or broken))

    def _naive(self, wish: Wish) -> Cycle:
        compiled, row, at = self.compiled, wish.row, wish.at
        hung = hanging(self.plan, compiled.hung.get(wish.chamber_id), wish.chamber_id, at)
        copy = hung if hung is not None and compiled.row(hung.mold_id, row.product_id, wish.chamber_id) else row.mold
        make, cook = compiled.makes[row.product_id], compiled.row(copy.mold_id, row.product_id, wish.chamber_id)
        heat = min(at + row.heat_slot - row.charge_slot, compiled.n_slots - 1)
        minutes, cool = row.heat_end_slot - row.heat_slot, row.cool_end_slot - row.heat_end_slot
        if cook is not None and cook.cook[heat] != NEVER:
            minutes, cool = cook.cook[heat], cook.cool[heat]
        off = heat + minutes + cool
        end = off + make.demold_slots
        able = compiled.skilled((HANDLING,))  # one that is added has no crew yet: anybody who could
        return replace(
            row, chamber_id=wish.chamber_id, mold=copy, charge_slot=at, heat_slot=heat, heat_end_slot=heat + minutes,
            cool_end_slot=off, demold_slot=off, end_slot=end,
            charge_crew=row.charge_crew or able[: make.product.charge_crew],
            demold_crew=row.demold_crew or able[: make.product.demold_crew],
        )  # fmt: skip

    def _near(self, naive: Cycle) -> Plan:
        """Return what would not give way to a cycle: earlier or kept rows of its unit, mold, order, crew and day."""
        unit = self.problem.yard.unit_of(naive.chamber_id)
        chambers = {chamber.id for chamber in unit.chambers}
        chambers |= {row.chamber_id for row in self.plan.mold_changes if naive.mold in (row.mold_in, row.mold_out)}
        chambers |= {row.chamber_id for row in self.plan.cycles if row.mold == naive.mold}
        crew = {*naive.charge_crew, *naive.demold_crew}
        day = self.compiled.day_mask(naive.charge_slot)
        kept = {row.id for rows in (self.asked.kept.cycles, self.asked.kept.mold_changes) for row in rows}
        cycles = [
            row
            for row in self.plan.cycles
            if row.id != naive.id
            and (row.charge_slot < naive.charge_slot or row.id in kept)
            and (
                row.chamber_id in chambers
                or row.order_id == naive.order_id
                or (day >> max(row.charge_slot, 0) & 1 and not crew.isdisjoint((*row.charge_crew, *row.demold_crew)))
            )
        ]
        chambers |= {row.chamber_id for row in cycles}
        changes = [
            row
            for row in self.plan.mold_changes
            if row.chamber_id in chambers and (row.start_slot < naive.charge_slot or row.id in kept)
        ]
        jobs = [job for job in self.asked.kept.finishing if job.operator_id in crew]
        return Plan(self.plan.grid, (*cycles, naive), tuple(changes), tuple(jobs))


def without_closed(problem: Problem, plan: Plan) -> Plan:
    """Return a plan without the cycles of orders that are closed meanwhile."""
    known = {order.id for order in problem.orders}
    cycles = tuple(row for row in plan.cycles if row.order_id in known)
    ids = {row.id for row in cycles}
    return replace(plan, cycles=cycles, finishing=tuple(job for job in plan.finishing if job.cycle_id in ids))


def staying(problem: Problem, plan: Plan) -> Plan:
    """Return what no edit moves: work that is locked or began before `now`, and the mold changes for locked cycles."""
    now = problem.now_slot
    cycles = tuple(row for row in plan.cycles if row.locked or row.charge_slot < now)
    serving = served(plan, tuple(row for row in cycles if row.locked))
    return Plan(
        plan.grid,
        cycles,
        tuple(row for row in plan.mold_changes if row.locked or row.start_slot < now or row.id in serving),
        tuple(row for row in plan.finishing if row.locked or row.start_slot < now),
        plan.upkeep,
    )


def served(plan: Plan, cycles: Sequence[Cycle]) -> set[str]:
    """Return the mold changes, by id, that hang the molds of some cycles."""
    found = set()
    for row in cycles:
        before = (
            one
            for one in plan.mold_changes
            if one.chamber_id == row.chamber_id and one.mold_in == row.mold and one.start_slot <= row.charge_slot
        )
        change = max(before, key=lambda one: one.start_slot, default=None)
        if change is not None:
            found.add(change.id)
    return found


def hanging(plan: Plan, hung: MoldCopy | None, chamber_id: str, slot: int) -> MoldCopy | None:
    """Return the mold that hangs in a chamber in a slot; `hung` is what hung there when the plan began."""
    changes = [row for row in plan.mold_changes if row.chamber_id == chamber_id and row.end_slot <= slot]
    return max(changes, key=lambda row: row.end_slot).mold_in if changes else hung
