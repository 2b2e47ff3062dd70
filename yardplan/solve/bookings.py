"""What is taken by work that is planned already, and where more work finds room."""

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass
from typing import Any

from yardplan.domain.people import HANDLING, LOADER, RIGGING
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.solve.compiled import Compiled, Step, first_slot, runs, span_mask


@dataclass(frozen=True)
class Seat:
    """Where and when a finishing step finds room."""

    start_slot: int
    bench_id: str
    operator_id: str


class Bookings:
    """The free time of everything that work needs; filled by booking rows of a plan.

    Rows that already run may lie before the grid; only their part inside it takes anything.

    Parameters
    ----------
    compiled : Compiled
        The problem in whole numbers.
    plan : Plan
        Work that is planned already.
    overtime : bool
        Whether people may be asked for more in their overtime shifts.
    rests : bool
        Whether people get the rest that the heat asks for; without it more is possible than may be planned.
    """

    def __init__(self, compiled: Compiled, plan: Plan, *, overtime: bool = True, rests: bool = True) -> None:
        self.compiled = compiled
        self.has_rests = rests and compiled.rests.is_on
        self.at_work = compiled.at_work if overtime else compiled.at_work_regular
        self.chamber_free = {place.id: place.waiting for place in compiled.places}
        self.field_free = [compiled.open] * len(compiled.units)
        self.bench_free = dict(compiled.bench_open)
        self.busy = {row.id: [0] * compiled.jobs_at_once(row) for row in compiled.people.values()}
        self.loader_busy = [0] * compiled.problem.yard.site.loaders
        self.watts_left = [list(row) for row in compiled.finish_watts]
        self.span_left = [list(row) for row in compiled.span_watt_slots]
        self.stock = {item: list(rows) for item, rows in compiled.supply.items()}
        self.product_of: dict[str, str] = {}
        self._person_starts: dict[str, dict[int, int]] = {person: {} for person in compiled.people}
        self._crew_starts: dict[tuple[tuple[str, ...], int, int], int] = {}
        self._power_ok: list[dict[int, int]] = [{} for _ in compiled.units]
        self._energy_ok: list[dict[tuple[int, int], int]] = [{} for _ in compiled.units]
        self._levels: dict[str, tuple[int, list[tuple[int, int]]]] = {}
        for cycle in plan.cycles:
            self.book_cycle(cycle)
        for change in plan.mold_changes:
            self.book_change(change)
        for job in plan.finishing:
            self.book_job(job)

    def copied(self) -> "Bookings":
        """Return the same bookings, to be filled further on their own."""
        fresh = copy(self)
        for name, value in vars(self).items():
            if isinstance(value, dict):
                setattr(fresh, name, {key: _own(one) for key, one in value.items()})
            elif isinstance(value, list):
                setattr(fresh, name, [_own(one) for one in value])
        return fresh

    def book_cycle(self, cycle: Cycle) -> None:
        """Take chamber, field, crew and stock for a cycle."""
        compiled = self.compiled
        self.product_of[cycle.id] = cycle.product_id
        self.chamber_free[cycle.chamber_id] &= ~span_mask(cycle.charge_slot, cycle.end_slot)
        unit_ix = compiled.place_of[cycle.chamber_id].unit_ix
        self.field_free[unit_ix] &= ~span_mask(cycle.heat_slot, cycle.heat_end_slot)
        charged = cycle.charge_slot + cycle.clean_slots + compiled.makes[cycle.product_id].charge_slots
        self.book_people(cycle.charge_crew, cycle.charge_slot, charged, heavy=True)
        self.book_people(cycle.demold_crew, cycle.demold_slot, cycle.end_slot, heavy=True)
        self.take_stock(cycle)

    def take_stock(self, cycle: Cycle) -> None:
        """Take resin and inserts for a cycle."""
        if cycle.charge_slot >= 0:  # what was charged before the grid is no longer on hand
            for item, amount in self.compiled.uses(cycle.product_id, cycle.color, cycle.pieces).items():
                self.stock[item].append((cycle.charge_slot, -amount))
                self._levels.pop(item, None)

    def book_change(self, change: MoldChange) -> None:
        """Take chamber, loader and crew for a mold change."""
        span = span_mask(change.start_slot, change.end_slot)
        self.chamber_free[change.chamber_id] &= ~span
        add_level(self.loader_busy, span)
        self.book_people(change.crew, change.start_slot, change.end_slot)

    def book_job(self, job: FinishJob) -> None:
        """Take bench, operator, power and energy for a finishing job."""
        compiled = self.compiled
        self.bench_free[job.bench_id] &= ~span_mask(job.start_slot, job.end_slot)
        self.book_people((job.operator_id,), job.start_slot, job.end_slot)
        unit_ix = compiled.bench_unit[job.bench_id]
        watts = compiled.makes[self.product_of[job.cycle_id]].steps[job.step_ix].watts
        left, known = self.watts_left[unit_ix], self._power_ok[unit_ix]
        for slot in range(max(job.start_slot, 0), min(job.end_slot, compiled.n_slots)):
            left[slot] -= watts
            for asked, mask in known.items():
                if left[slot] < asked:
                    known[asked] = mask & ~(1 << slot)
        if watts:
            energy = self._energy_ok[unit_ix]
            for span, slots in compiled.span_slots(job.start_slot, job.end_slot - job.start_slot):
                left = self.span_left[unit_ix][span] = self.span_left[unit_ix][span] - watts * slots
                for key in energy:
                    energy[key] &= energy_leaves(compiled.energy_spans[span][1], left, *key)

    def book_people(self, crew: Iterable[str], start: int, end: int, *, heavy: bool = False) -> None:
        """Take people for ``[start, end)``, and for the rest that the heat asks after it."""
        span = span_mask(start, self.compiled.rests.end(start, end, heavy=heavy) if self.has_rests else end)
        for person in crew:
            add_level(self.busy[person], span)
            self._person_starts[person].clear()
        self._crew_starts.clear()

    def person_starts(self, person: str, length: int, *, heavy: bool = False) -> int:
        """Return the slots in which a person could start a job of `length` slots."""
        known, key = self._person_starts[person], -length if heavy else length
        found = known.get(key)
        if found is None:
            if not length:
                return self.compiled.open
            free = ~self.busy[person][-1]
            one, two = self.at_work[person]
            found = runs(one & free, length) | runs(two & free, length)
            if self.has_rests:
                found = self.compiled.rests.fit(found, free, length, heavy=heavy)
            known[key] = found
        return found

    def crew_starts(self, needs: Sequence[tuple[str, int]], length: int) -> int:
        """Return the slots in which a crew is free for `length` slots: so many people for each skill, all different.

        By Hall's theorem a crew of different people exists if for every set of the skills asked for, enough people
        have at least one of them. Where heat asks for rest, the job is heavy if it takes the skill of handling.
        """
        needs = [need for need in needs if need[1] > 0]
        if len(needs) == 1:
            return self._at_least((needs[0][0],), needs[0][1], length)
        found = self.compiled.open
        for chosen in range(1, 1 << len(needs)):
            picked = [need for bit, need in enumerate(needs) if chosen >> bit & 1]
            found &= self._at_least(tuple(skill for skill, _ in picked), sum(count for _, count in picked), length)
        return found

    def _at_least(self, skills: tuple[str, ...], count: int, length: int) -> int:
        key = (skills, count, length)
        found = self._crew_starts.get(key)
        if found is None:
            heavy = HANDLING in skills
            if count == 1:
                found, starts = 0, self._person_starts
                for person in self.compiled.skilled(skills):
                    mine = starts[person].get(-length if heavy else length)
                    found |= self.person_starts(person, length, heavy=heavy) if mine is None else mine
            else:
                levels = [0] * count
                for person in self.compiled.skilled(skills):
                    add_level(levels, self.person_starts(person, length, heavy=heavy))
                found = levels[-1]
            self._crew_starts[key] = found = found & self.compiled.open
        return found

    def choose_crew(self, needs: Sequence[tuple[str, int]], start: int, length: int) -> tuple[str, ...] | None:
        """Name a crew for a start at which one is free; people of few skills go first, None if there is none."""
        wanted = [skill for skill, count in needs for _ in range(count)]
        heavy = HANDLING in wanted
        if len(wanted) == 1:
            able = self.compiled.skilled((wanted[0],))
            free_now = [person for person in able if self.person_starts(person, length, heavy=heavy) >> start & 1]
            return (min(free_now, key=lambda person: self._reluctance(person, start)),) if free_now else None
        free = {
            person: sorted(self.compiled.people[person].skills.intersection(wanted))
            for person in self.compiled.people
            if self.person_starts(person, length, heavy=heavy) >> start & 1
        }
        by_use = sorted(free, key=lambda person: self._reluctance(person, start))
        return _match(wanted, by_use, free)

    def _reluctance(self, person: str, start: int) -> tuple[bool, int, int, str]:
        compiled = self.compiled
        load = (self.busy[person][0] & compiled.day_mask(start)).bit_count()
        return compiled.in_overtime(person, start), len(compiled.people[person].skills), load, person

    def loader_starts(self, length: int) -> int:
        """Return the slots in which a loader is free for `length` slots."""
        return runs(self.compiled.open & ~self.loader_busy[-1], length) if self.loader_busy else 0

    def change_starts(self, mold_id: str) -> int:
        """Return the slots in which crew and loader are free to hang a mold."""
        length = self.compiled.change_slots[mold_id]
        return self.crew_starts(change_needs(self.compiled, mold_id), length) & self.loader_starts(length)

    def stock_from(self, uses: dict[str, int]) -> int | None:
        """Return the first slot from which on a cycle can take what it uses without overdrawing anything later."""
        first = 0
        for item, amount in uses.items():
            at_end, before = self._stock_levels(item)
            if at_end < amount:
                return None
            first = max(first, next((slot for slot, level in before if level < amount), 0))
        return first

    def _stock_levels(self, item: str) -> tuple[int, list[tuple[int, int]]]:
        """Return what is left of an item at the end, and backward in time (slot, level just before it)."""
        if item not in self._levels:
            changes: dict[int, int] = {}
            for slot, change in self.stock[item]:
                changes[slot] = changes.get(slot, 0) + change
            level = at_end = sum(changes.values())
            before = list[tuple[int, int]]()
            for slot in sorted(changes, reverse=True):
                level -= changes[slot]
                if not before or level < before[-1][1]:
                    before.append((slot, level))
            self._levels[item] = (at_end, before)
        return self._levels[item]

    def seat(self, step: Step, ready_slot: int) -> Seat | None:
        """Return the earliest place for a finishing step from `ready_slot` on, None if there is none."""
        compiled = self.compiled
        people = self.crew_starts(((step.skill, 1),), step.slots) >> ready_slot << ready_slot
        best: Seat | None = None
        for bench_id in compiled.benches_of.get(step.bench_kind, ()):
            unit_ix = compiled.bench_unit[bench_id]
            mask = people & runs(self.bench_free[bench_id] & self.power_ok(unit_ix, step.watts), step.slots)
            start = first_slot(mask & self.energy_ok(unit_ix, step.watts, step.slots))
            if start is not None and (best is None or start < best.start_slot):
                crew = self.choose_crew(((step.skill, 1),), start, step.slots)
                if crew is not None:
                    best = Seat(start, bench_id, crew[0])
        return best

    def step_starts(self, step: Step) -> int:
        """Return the slots in which a finishing step finds a person, and a bench with its power and energy."""
        found = 0
        for bench_id in self.compiled.benches_of.get(step.bench_kind, ()):
            unit_ix = self.compiled.bench_unit[bench_id]
            free = runs(self.bench_free[bench_id] & self.power_ok(unit_ix, step.watts), step.slots)
            found |= free & self.energy_ok(unit_ix, step.watts, step.slots)
        return found & self.crew_starts(((step.skill, 1),), step.slots)

    def power_ok(self, unit_ix: int, watts: int) -> int:
        """Return the slots in which a unit can feed so much more to its benches."""
        known = self._power_ok[unit_ix]
        if watts not in known:
            known[watts] = int("".join("1" if left >= watts else "0" for left in reversed(self.watts_left[unit_ix])), 2)
        return known[watts]

    def energy_ok(self, unit_ix: int, watts: int, length: int) -> int:
        """Return the slots from which on a unit's spans of energy leave enough for a job of `length` slots."""
        known, key = self._energy_ok[unit_ix], (watts, length)
        if key not in known:
            mask = self.compiled.open
            for (_, span), left in zip(self.compiled.energy_spans, self.span_left[unit_ix], strict=True):
                mask &= energy_leaves(span, left, watts, length)
            known[key] = mask
        return known[key]


def energy_leaves(span: tuple[int, int], left: int, watts: int, length: int) -> int:
    """Return the starts that a span of energy with so many watt-slots left leaves to a job of `length` slots.

    Those are all but the ones with too many slots inside it.
    """
    first, after = span
    slots = max(left, 0) // watts if watts else length
    return ~span_mask(first + slots - length + 1, after - slots) if slots < min(length, after - first) else -1


def change_needs(compiled: Compiled, mold_id: str) -> tuple[tuple[str, int], ...]:
    """Return the crew that hangs a mold: one to drive the loader, and the riggers."""
    return ((LOADER, 1), (RIGGING, compiled.molds[mold_id].change_crew))


def _own(value: Any) -> Any:
    return value.copy() if isinstance(value, list | dict) else value


def add_level(levels: list[int], span: int) -> None:
    """Count one more in every slot of `span`: bit s of ``levels[k]`` says that more than k are there."""
    for ix, level in enumerate(levels):
        levels[ix] = level | span
        span &= level
        if not span:
            break


def _match(wanted: list[str], people: list[str], skills: dict[str, list[str]]) -> tuple[str, ...] | None:
    """Give each wanted skill a different person by augmenting paths; earlier people are preferred."""
    holder: dict[str, int] = {}

    def give(seat: int, tried: set[str]) -> bool:
        for person in people:
            if wanted[seat] in skills[person] and person not in tried:
                tried.add(person)
                if person not in holder or give(holder[person], tried):
                    holder[person] = seat
                    return True
        return False

    if not all(give(seat, set()) for seat in range(len(wanted))):
        return None
    crew = [""] * len(wanted)
    for person, seat in holder.items():
        crew[seat] = person
    return tuple(crew)
