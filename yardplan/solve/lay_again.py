"""The rows of a plan laid again in order of time: those that can stay just as they were, others as soon as they can."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.plan import Cycle, MoldChange, Plan
from yardplan.solve.bookings import change_needs
from yardplan.solve.compiled import Compiled, span_mask
from yardplan.solve.dispatch import Placement, Spot
from yardplan.solve.follow import Follower

SNAP_MIN = 30
"""A cycle that cannot begin at the wanted time may begin so much later; it is refused beyond that (own assumption)."""


@dataclass(frozen=True)
class Wish:
    """A cycle that is to be laid: where, and when its charging should begin; `is_firm` if not later than `SNAP_MIN`."""

    row: Cycle
    chamber_id: str
    at: int
    is_meant: bool = False
    is_firm: bool = False


class Layer(Follower):
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

    def lay(self, wishes: Sequence[Wish]) -> Plan:
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

    def _is_late(self, placed: Placement, wish: Wish) -> bool:
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

    def _later(self, spot: Spot, wish: Wish) -> Placement | None:
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
        free = free_names(self.before, plan)
        cycles = tuple(replace(row, id=names.get(row.id, row.id)) for row in plan.cycles)
        changes = tuple(replace(row, id=next(free)) if row.id.startswith("~") else row for row in plan.mold_changes)
        finishing = []
        for job in plan.finishing:
            cycle_id = names.get(job.cycle_id, job.cycle_id)
            ident = jobs.get((cycle_id, job.step_ix), f"{cycle_id}.{job.step_ix + 1}")
            finishing.append(replace(job, id=ident, cycle_id=cycle_id))
        return Plan(plan.grid, cycles, changes, tuple(finishing), self.before.upkeep)


def free_names(*plans: Plan) -> Iterator[str]:
    """Return names for new mold changes that none of the plans has."""
    taken = {row.id for plan in plans for row in plan.mold_changes}
    return (name for n in count(1) if (name := f"H{n:03}") not in taken)
