"""The plan before, followed as far as the world still allows: same jobs, same chambers, pushed where they must be."""

from dataclasses import replace

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.people import HANDLING
from yardplan.domain.plan import Cycle, FinishJob, Plan
from yardplan.solve.bookings import Bookings
from yardplan.solve.compiled import Compiled, first_slot, runs, span_mask
from yardplan.solve.dispatch import MANNERS, Dispatcher, Placement, Spot
from yardplan.solve.insert import Inserter


def follow(compiled: Compiled, before: Plan, *, only: frozenset[str] | None = None) -> Plan:
    """Return what becomes of a plan if nobody plans anew: each job as soon as it can be, but not before its time.

    Jobs of one chamber keep their order. One whose cook does not end on its day is dropped, and so is one that nobody
    can do any more; crews stay where they are free. Finishing that can stay does, the rest goes to the next free seat.

    Parameters
    ----------
    compiled : Compiled
        What is known now, with its kept work, all upkeep settled.
    before : Plan
        On the grid of the problem.
    only : frozenset of str or None
        Cycles that are followed, by id; None: all.
    """
    return Follower(compiled, before).plan_of(only)


def as_it_cooks(compiled: Compiled, row: Cycle) -> Cycle:
    """Return a cycle that begins when it did, as long as it takes by what is known of the sun now.

    It is emptied no sooner than it was to be. One that would not reach its peak any more stays as it is.
    """
    cook = compiled.row(row.mold.mold_id, row.product_id, row.chamber_id)
    if cook is None or not 0 <= row.heat_slot < compiled.n_slots or not cook.cook[row.heat_slot]:
        return row
    heat_end = row.heat_slot + cook.cook[row.heat_slot]
    cool_end = heat_end + cook.cool[row.heat_slot]
    demold = max(cool_end, row.demold_slot)
    return replace(
        row, heat_end_slot=heat_end, cool_end_slot=cool_end, demold_slot=demold,
        end_slot=demold + row.end_slot - row.demold_slot,
    )  # fmt: skip


def mend(compiled: Compiled, followed: Plan) -> Plan:
    """Return a plan with what is missing of its orders put into its free places, nothing of it moved.

    Promised orders come first, each by its goal. `compiled` has all upkeep settled.
    """
    inserter = Inserter(compiled, followed)
    made: dict[str, int] = {}
    for row in followed.cycles:
        made[row.order_id] = made.get(row.order_id, 0) + row.pieces
    cycles, changes, jobs = list(followed.cycles), list(followed.mold_changes), list(followed.finishing)
    for line in sorted(compiled.lines, key=lambda line: (line.order.promise_at is None, line.goal_slot)):
        order = line.order
        missing = order.quantity - made.get(order.id, 0)
        while missing > 0 and (added := inserter.next(order.product_id, order.color, order.id)) is not None:
            cycles.append(added.cycle)
            changes += [added.change] if added.change else []
            jobs += added.jobs
            missing -= added.cycle.pieces
    return Plan(followed.grid, tuple(cycles), tuple(changes), tuple(jobs), followed.upkeep)


class Follower(Dispatcher):
    """Lays the rows of a plan again, each where it was or as soon after as it can be; see `follow`.

    Parameters
    ----------
    base : Plan or None
        Rows that stay as they are; None: only the kept work.
    since : int
        Where the base goes on to in each chamber.
    """

    def __init__(self, compiled: Compiled, before: Plan, base: Plan | None = None, since: int = 0) -> None:
        base = compiled.problem.kept if base is None else base
        super().__init__(compiled, MANNERS[0], base, frozenset(compiled.place_of), "k.", since=since)
        self.before = before
        self.crews: dict[int, tuple[str, ...]] = {}
        self.same = {row.id: row.id for row in base.cycles}

    def plan_of(self, only: frozenset[str] | None) -> Plan:
        """Return the plan; see `follow`."""
        spots = {spot.place.id: spot for spot in self.spots}
        hanging = {row.end_slot: row for row in self.before.mold_changes}
        for row in self.before.cycles:
            if row.id in self.same or (only is not None and row.id not in only):
                continue
            line = self.compiled.line_of.get(row.order_id)
            spot = spots.get(row.chamber_id)
            if line is None or spot is None or self.missing(line) <= 0:
                continue
            changes = (
                c.start_slot for c in hanging.values() if c.chamber_id == row.chamber_id and c.mold_in == row.mold
            )
            begins = max((start for start in changes if start <= row.charge_slot), default=row.charge_slot)
            self._follow(spot, row, begins)
        if only is not None:
            return Plan(self.compiled.grid, tuple(self.cycles), tuple(self.changes), tuple(self.jobs))
        self._drop_needless()
        self.keep_finishing()
        return self._finished()

    def _drop_needless(self) -> None:
        """Drop cycles that their order has enough pieces without, since one of more cavities came after them."""
        kept = {row.id for row in self.compiled.problem.kept.cycles}
        for row in reversed(self.cycles.copy()):
            line = self.compiled.line_of.get(row.order_id)
            if line is not None and row.id not in kept and self.missing(line) + row.pieces <= 0:
                self.cycles.remove(row)
                self.left[line.ix] += row.pieces

    def _follow(self, spot: Spot, row: Cycle, begins: int) -> None:
        copy = self.copy_for(spot, row.mold)
        if copy is None:
            return
        while spot.kept and spot.limit is not None and spot.limit <= max(spot.at, row.charge_slot):
            self._pass_kept(spot)
        was_at = spot.at
        spot.at = max(spot.at, row.charge_slot if copy == spot.hung else begins)
        placed = self._place(spot, self.compiled.line_of[row.order_id], copy)
        day = self.compiled.day_mask(max(row.heat_end_slot, self.compiled.now_slot))
        if placed is None or placed.heat_end_slot >= day.bit_length():
            spot.at = was_at
            return
        placed = self.as_it_was(spot, placed, row) or placed
        self.crews = {placed.charge_slot: row.charge_crew, placed.demold_slot: row.demold_crew}
        self._commit(spot, placed)
        self.same[row.id] = self.cycles[-1].id

    def as_it_was(self, spot: Spot, placed: Placement, row: Cycle) -> Placement | None:
        """Return a placement with heat and demolding when the plan had them, None where that cannot be."""
        cook = self.compiled.row(placed.copy.mold_id, row.product_id, spot.place.id)
        heat, charged = row.heat_slot, placed.charge_slot + placed.clean_slots + placed.line.make.charge_slots
        if cook is None or heat < charged or not cook.starts >> heat & 1:
            return None
        heat_end = heat + cook.cook[heat]
        cool_end = heat_end + cook.cool[heat]
        needed = span_mask(heat, heat_end), span_mask(heat, cool_end)
        if needed[0] & ~self.book.field_free[spot.place.unit_ix] or needed[1] & ~spot.place.open:
            return None
        length = placed.line.make.demold_slots
        can = self.book.crew_starts(((HANDLING, placed.line.make.product.demold_crew),), length)
        demold = first_slot(can & runs(spot.place.open, length), max(cool_end, row.demold_slot))
        end = self.compiled.n_slots if demold is None else demold + length
        room = self.book.chamber_free[spot.place.id] & self.compiled.copy_open[placed.copy]
        if demold is None or span_mask(placed.charge_slot, end) & ~room or end > (spot.limit or self.compiled.n_slots):
            return None
        return placed._replace(
            heat_slot=heat, heat_end_slot=heat_end, cool_end_slot=cool_end, demold_slot=demold, end_slot=end
        )

    def copy_for(self, spot: Spot, wanted: MoldCopy) -> MoldCopy | None:
        """Return the mold that does the work of `wanted` in a chamber: itself if it can be had, else one like it."""
        if spot.hung == wanted or self.where[wanted] is None:
            return wanted
        if spot.hung is not None and spot.hung.mold_id == wanted.mold_id:
            return spot.hung
        return next((copy for copy in self.compiled.copies_of[wanted.mold_id] if self.where[copy] is None), None)

    def _crew(self, count: int, start: int, length: int) -> tuple[str, ...]:
        known = self.crews.get(start, ())
        are_free = all(person in self.book.busy and is_free(self.book, person, start, length) for person in known)
        return known if len(known) == count and are_free else super()._crew(count, start, length)

    def keep_finishing(self) -> None:
        """Keep the finishing jobs that can stay where they were: bench, person and hour."""
        done = {(job.cycle_id, job.step_ix): job.end_slot for job in self.jobs}
        ends = {row.id: row.end_slot for row in self.cycles}
        makes = {row.id: self.compiled.makes[row.product_id] for row in self.cycles}
        for job in sorted(self.before.finishing, key=lambda job: (job.step_ix, job.start_slot)):
            cycle_id = self.same.get(job.cycle_id)
            if cycle_id not in ends or (cycle_id, job.step_ix) in done or job.step_ix >= len(makes[cycle_id].steps):
                continue
            ready = ends[cycle_id] if job.step_ix == 0 else done.get((cycle_id, job.step_ix - 1))
            step = makes[cycle_id].steps[job.step_ix]
            if (
                ready is None
                or not ready + step.rest_slots <= job.start_slot
                or job.start_slot < self.compiled.now_slot
            ):
                continue
            book, unit_ix = self.book, self.compiled.bench_unit[job.bench_id]
            seats = runs(book.bench_free[job.bench_id] & book.power_ok(unit_ix, step.watts), step.slots)
            seats &= book.energy_ok(unit_ix, step.watts, step.slots)
            if seats >> job.start_slot & 1 and is_free(book, job.operator_id, job.start_slot, step.slots):
                end = job.start_slot + step.slots
                kept = FinishJob(
                    f"~{self.mark}f{next(self.numbers)}", cycle_id, job.step_ix, job.bench_id, job.operator_id,
                    job.start_slot, end, step.kwh,
                )  # fmt: skip
                book.book_job(kept)
                self.jobs.append(kept)
                done[cycle_id, job.step_ix] = end


def is_free(book: Bookings, person: str, start: int, length: int) -> bool:
    """Tell whether a person could start a job of `length` slots."""
    return bool(book.person_starts(person, length) >> start & 1)
