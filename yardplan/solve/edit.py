"""One thing of a plan changed by hand: what stands in its way is pushed, all else stays as it was, row by row."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count

from yardplan.domain.edits import Add, Edit, Edited, Lock, Move, Remove, Split, same_rows
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.people import HANDLING
from yardplan.domain.plan import Cycle, MoldChange, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Rule
from yardplan.domain.tables import NEVER
from yardplan.solve.bookings import change_needs
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled, span_mask
from yardplan.solve.dispatch import Placement, Spot
from yardplan.solve.follow import Follower
from yardplan.solve.insert import Inserter

SNAP_MIN = 30
"""A cycle that cannot begin at the wanted time may begin so much later; it is refused beyond that (own assumption)."""

_OF_CREW = (Rule.CREW_SHIFT, Rule.CREW_LIMIT, Rule.CREW_HEAT)


@dataclass(frozen=True)
class _Wish:
    """A cycle that is to be laid: where, and when its charging should begin; `is_firm` if not later than `SNAP_MIN`."""

    row: Cycle
    chamber_id: str
    at: int
    is_meant: bool = False
    is_firm: bool = False


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
            _Wish(row, edit.chamber_id, at + row.charge_slot - first, is_meant=True, is_firm=ix == 0)
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

    def _laid(self, meant: Sequence[Cycle], wishes: Sequence[_Wish]) -> Edited:
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
        layer = _Layer(self.compiled, self.plan, base, since)
        rest = [_Wish(row, row.chamber_id, row.charge_slot) for row in self.plan.cycles if row.id not in ids | gone]
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
        names = _free_names(self.plan, plan)
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

    def _no_room(self, wish: _Wish, first: int | None) -> str:
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

    def _broken(self, wish: _Wish) -> tuple[str, ...]:
        """Return what the checker says of the cycle at the wanted place with all others where they are."""
        naive = self._naive(wish)
        near = self._near(naive)
        broken = [row for row in check(self.asked, near) if naive.id in row.jobs]
        # Somebody else might do it: its crew stands in the way only where nothing else does.
        others = [row for row in broken if row.rule not in _OF_CREW]
        return tuple(dict.fromkeys(row.text for row in others or broken))

    def _naive(self, wish: _Wish) -> Cycle:
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


class _Layer(Follower):
    """Lays wishes in order of time: a row that can stay does, the others go as soon after as they can."""

    def __init__(self, compiled: Compiled, before: Plan, base: Plan, since: int) -> None:
        super().__init__(compiled, before, base, since)
        self.there = {row.id: (row.chamber_id, row.charge_slot) for row in before.cycles}
        self.spot_of = {spot.place.id: spot for spot in self.spots}
        self.where = dict.fromkeys(compiled.copies)
        self.where |= {spot.hung: spot.place.id for spot in self.spots if spot.hung is not None}
        stays = self._timeline().stays()
        for copy, at in self.where.items():
            if at is None:
                ends = [until for _, until, _ in stays.get(copy, ()) if until <= compiled.n_slots]
                self.loose_from[copy] = max([compiled.now_slot, *ends])
        self.lost: list[Cycle] = []
        self.late: tuple[int | None] | None = None

    def lay(self, wishes: Sequence[_Wish]) -> Plan:
        """Return the plan, in which rows keep their names; says in `late` and `lost` what found no room."""
        for wish in sorted(wishes, key=lambda wish: (wish.at, not wish.is_meant, wish.row.id)):
            spot = self.spot_of[wish.chamber_id]
            while spot.kept and spot.limit is not None and spot.limit <= max(spot.at, wish.at):
                self._pass_kept(spot)
            was_there = wish.row.id in self.there and (wish.chamber_id, wish.at) == self.there[wish.row.id]
            if not was_there or not self._stays(spot, wish.row):
                was_at = spot.at
                placed = self._later(spot, wish)
                if placed is None or (not wish.is_meant and self._is_over(placed, wish.row)):
                    spot.at = was_at
                    self.lost.append(wish.row)
                elif wish.is_firm and self._is_late(placed, wish):
                    self.late = (placed.charge_slot if placed.charge_slot > wish.at else None,)
                    return self.before
                else:
                    self.crews = {
                        placed.charge_slot: wish.row.charge_crew,
                        placed.demold_slot: wish.row.demold_crew,
                    }
                    self._commit(spot, placed)
                    self.same[wish.row.id] = self.cycles[-1].id
            if wish.is_firm and self.lost:
                self.late = (None,)
                return self.before
        self.keep_finishing()
        return self._named(self._finished())

    def _is_late(self, placed: Placement, wish: _Wish) -> bool:
        """Tell whether a cycle would begin too long after the wanted time, or have to wait a night for its sun."""
        days = [self.compiled.grid.local(max(slot, 0)).date() for slot in (placed.charge_slot, placed.heat_slot)]
        was = [self.compiled.grid.local(max(slot, 0)).date() for slot in (wish.row.charge_slot, wish.row.heat_slot)]
        waits = days[0] != days[1] and was[0] == was[1]
        return waits or placed.charge_slot > wish.at + SNAP_MIN // self.compiled.grid.slot_min

    def _is_over(self, placed: Placement, row: Cycle) -> bool:
        """Tell whether the day of a cycle is over before its cook would be."""
        return placed.heat_end_slot >= self.compiled.day_mask(row.heat_end_slot).bit_length()

    def _stays(self, spot: Spot, row: Cycle) -> bool:
        """Book a row, with the mold change before it, just as it was; tells whether that can be."""
        compiled, book, make = self.compiled, self.book, self.compiled.makes[row.product_id]
        change: MoldChange | None = None
        at = spot.at
        if spot.hung != row.mold:
            found = (
                one
                for one in self.before.mold_changes
                if one.chamber_id == row.chamber_id
                and one.mold_in == row.mold
                and spot.at <= one.start_slot
                and one.end_slot <= row.charge_slot
            )
            change = max(found, key=lambda one: one.start_slot, default=None)
            if change is None or self.where[row.mold] is not None or self.loose_from[row.mold] > change.start_slot:
                return False
            at = change.end_slot
        state = self._state(row.mold, row.charge_slot)
        charged = row.clean_slots + make.charge_slots
        grade = make.product.resin_grade
        room = span_mask(row.charge_slot, row.end_slot)
        stock_slot = book.stock_from(compiled.uses(row.product_id, row.color, row.pieces))
        ok = (
            at <= row.charge_slot
            and not room & ~(book.chamber_free[row.chamber_id] & compiled.copy_open[row.mold])
            and not span_mask(row.heat_slot, row.heat_end_slot) & ~book.field_free[spot.place.unit_ix]
            and compiled.clean_slots(state, (grade, row.color)) == row.clean_slots
            and stock_slot is not None
            and stock_slot <= row.charge_slot
            and (change is None or self._change_stays(change))
            and self._crew_free(row.charge_crew, row.charge_slot, charged, heavy=True)
            and self._crew_free(row.demold_crew, row.demold_slot, make.demold_slots, heavy=True)
        )
        if not ok:
            return False
        if change is not None:
            change = replace(change, mold_out=spot.hung)
            book.book_change(change)
            self.changes.append(change)
            self._move(spot, row.mold, change.end_slot)
        book.book_cycle(row)
        self.cycles.append(row)
        self.of_mold[row.mold].append(row)
        self._count(compiled.line_of[row.order_id], row.pieces)
        self.same[row.id] = row.id
        spot.at = row.end_slot
        return True

    def _change_stays(self, change: MoldChange) -> bool:
        length = change.end_slot - change.start_slot
        room = span_mask(change.start_slot, change.end_slot) & ~self.book.chamber_free[change.chamber_id]
        loader = self.book.loader_starts(length) >> change.start_slot & 1
        free = self._crew_free(change.crew, change.start_slot, length, heavy=False)
        return not room and bool(loader) and free and bool(change_needs(self.compiled, change.mold_in.mold_id))

    def _crew_free(self, crew: Iterable[str], start: int, length: int, *, heavy: bool) -> bool:
        book = self.book
        return all(
            person in book.busy and book.person_starts(person, length, heavy=heavy) >> start & 1 for person in crew
        )

    def _later(self, spot: Spot, wish: _Wish) -> Placement | None:
        """Return the first place from the wanted time on, after kept work where there is no room before it."""
        row, line = wish.row, self.compiled.line_of[wish.row.order_id]
        while True:
            copy = self._copy(spot, row)
            if copy is not None:
                length = 0 if copy == spot.hung else self.compiled.change_slots[copy.mold_id]
                spot.at = max(spot.at, wish.at - length)
                placed = self._place(spot, line, copy)
                if placed is not None:
                    same = None if wish.is_meant else self.as_it_was(spot, placed, row)
                    return same or placed
            if not spot.kept:
                return None
            self._pass_kept(spot)

    def _copy(self, spot: Spot, row: Cycle) -> MoldCopy | None:
        """Return the mold for a cycle: the one that hangs there if it can make it, else its own, else a loose one."""
        recipes = self.compiled.recipes[row.product_id]
        chamber_id = spot.place.id
        if spot.hung is not None and self.compiled.row(spot.hung.mold_id, row.product_id, chamber_id) is not None:
            return spot.hung
        loose = [
            copy
            for copy in self.compiled.copies
            if self.where[copy] is None
            and copy.mold_id in recipes
            and self.compiled.row(copy.mold_id, row.product_id, chamber_id) is not None
        ]
        near = lambda copy: (copy != row.mold, copy.mold_id != row.mold.mold_id, self.loose_from[copy], copy)  # noqa: E731 - a sort key, used on the spot
        return min(loose, key=near, default=None)

    def _named(self, plan: Plan) -> Plan:
        """Return the plan with rows under the names that they had; new ones get the next free names."""
        names = {now: was for was, now in self.same.items()}
        jobs = {(job.cycle_id, job.step_ix): job.id for job in self.before.finishing}
        free = _free_names(self.before, plan)
        cycles = tuple(replace(row, id=names.get(row.id, row.id)) for row in plan.cycles)
        changes = tuple(replace(row, id=next(free)) if row.id.startswith("~") else row for row in plan.mold_changes)
        finishing = []
        for job in plan.finishing:
            cycle_id = names.get(job.cycle_id, job.cycle_id)
            ident = jobs.get((cycle_id, job.step_ix), f"{cycle_id}.{job.step_ix + 1}")
            finishing.append(replace(job, id=ident, cycle_id=cycle_id))
        return Plan(plan.grid, cycles, changes, tuple(finishing), self.before.upkeep)


def _free_names(*plans: Plan) -> Iterator[str]:
    """Return names for new mold changes that none of the plans has."""
    taken = {row.id for plan in plans for row in plan.mold_changes}
    return (name for n in count(1) if (name := f"H{n:03}") not in taken)


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
