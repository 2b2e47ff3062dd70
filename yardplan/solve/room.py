"""When each job of a plan could be done instead, all its other jobs staying where they are."""

from collections.abc import Sequence

from yardplan.domain.people import HANDLING
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.solve.bookings import Bookings, add_level, change_needs, energy_leaves
from yardplan.solve.compiled import Compiled, runs, span_mask

Needs = Sequence[tuple[str, int]]


class Room:
    """The starts that a valid plan leaves for each of its jobs, as masks; a job's own start is always among them.

    In a valid plan nothing is taken more than there is, so whatever a job takes is free for it while it lasts.
    """

    def __init__(self, compiled: Compiled, plan: Plan) -> None:
        self._compiled = compiled
        self._book = Bookings(compiled, plan)

    def charging(self, cycle: Cycle) -> int:
        """Return the starts of a cycle's clean-down and charging, whatever its chamber holds before."""
        make = self._compiled.makes[cycle.product_id]
        length = cycle.clean_slots + make.charge_slots
        needs = ((HANDLING, make.product.charge_crew),)
        return self._handling(cycle, cycle.charge_slot, length, needs, cycle.charge_crew)

    def demolding(self, cycle: Cycle) -> int:
        """Return the starts of a cycle's demolding, whatever comes after it."""
        make = self._compiled.makes[cycle.product_id]
        needs = ((HANDLING, make.product.demold_crew),)
        return self._handling(cycle, cycle.demold_slot, make.demold_slots, needs, cycle.demold_crew)

    def changing(self, change: MoldChange) -> int:
        """Return the starts of a mold change."""
        compiled, mold_id = self._compiled, change.mold_in.mold_id
        length, own = change.end_slot - change.start_slot, span_mask(change.start_slot, change.end_slot)
        loaders = self._book.loader_busy
        free = compiled.place_of[change.chamber_id].open & (~loaders[-1] | own if loaders else 0)
        crew = self._crew(change_needs(compiled, mold_id), length, own, change.crew)
        return runs(free, length) & crew | _slot(change.start_slot)

    def finishing(self, job: FinishJob, cycle: Cycle) -> int:
        """Return the starts of a finishing job, at any bench that can do it."""
        compiled, book = self._compiled, self._book
        step = compiled.makes[cycle.product_id].steps[job.step_ix]
        own, own_unit = span_mask(job.start_slot, job.end_slot), compiled.bench_unit[job.bench_id]
        found = 0
        for bench_id in compiled.benches_of[step.bench_kind]:
            unit_ix = compiled.bench_unit[bench_id]
            free, power = book.bench_free[bench_id], book.power_ok(unit_ix, step.watts)
            if unit_ix == own_unit:
                drawn = dict(compiled.span_slots(job.start_slot, step.slots))
                energy, power = compiled.open, power | own
                for (ix, span), left in zip(compiled.energy_spans, book.span_left[unit_ix], strict=True):
                    energy &= energy_leaves(span, left + step.watts * drawn.get(ix, 0), step.watts, step.slots)
            else:
                energy = book.energy_ok(unit_ix, step.watts, step.slots)
            if bench_id == job.bench_id:
                free |= own
            found |= runs(free & power, step.slots) & energy
        crew = self._crew(((step.skill, 1),), step.slots, own, (job.operator_id,))
        return found & crew | _slot(job.start_slot)

    def _handling(self, cycle: Cycle, start: int, length: int, needs: Needs, crew: tuple[str, ...]) -> int:
        compiled = self._compiled
        there = compiled.place_of[cycle.chamber_id].open & compiled.copy_open[cycle.mold]
        own = span_mask(start, start + length)
        return runs(there, max(length, 1)) & self._crew(needs, length, own, crew) | _slot(start)

    def _crew(self, needs: Needs, length: int, own: int, crew: tuple[str, ...]) -> int:
        """Return the slots in which a crew is free; its own people are free while the job lasts. See `Bookings`."""
        compiled, needs = self._compiled, [need for need in needs if need[1] > 0]
        heavy = any(skill == HANDLING for skill, _ in needs)
        if own:  # and while they rest after it
            first = (own & -own).bit_length() - 1
            own |= span_mask(first, compiled.rests.end(first, first + length, heavy=heavy))
        found = compiled.open
        for chosen in range(1, 1 << len(needs)):
            picked = [need for bit, need in enumerate(needs) if chosen >> bit & 1]
            levels = [0] * sum(count for _, count in picked)
            for person in compiled.skilled(tuple(skill for skill, _ in picked)):
                if person in crew and length:
                    free = ~self._book.busy[person][-1] | own
                    one, two = compiled.at_work[person]
                    starts = runs(one & free, length) | runs(two & free, length)
                    add_level(levels, compiled.rests.fit(starts, free, length, heavy=heavy))
                else:
                    add_level(levels, self._book.person_starts(person, length, heavy=heavy))
            found &= levels[-1]
        return found


def _slot(slot: int) -> int:
    return 1 << slot if slot >= 0 else 0
