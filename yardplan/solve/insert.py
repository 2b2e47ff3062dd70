"""Room for more cycles in a plan that is there already: nothing of it moves."""

from dataclasses import dataclass, replace
from typing import NamedTuple

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.people import HANDLING
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.quotes import Limit
from yardplan.solve.bookings import Bookings, change_needs
from yardplan.solve.compiled import Compiled, CookRow, Make, Place, Step, first_slot, runs, span_mask
from yardplan.solve.dispatch import best_heat
from yardplan.solve.freed import Timeline


class Run(NamedTuple):
    """A cycle of a mold as the next clean-down sees it."""

    charge_slot: int
    state: tuple[str, str]
    clean_slots: int


@dataclass
class Stay:
    """A mold in a chamber from one mold change to the next; `busy_until` is the end of its last work so far."""

    place: Place
    start: int
    end: int
    hung: MoldCopy | None
    busy_until: int


@dataclass(frozen=True)
class Spot:
    """Where and when a cycle would go."""

    stay: Stay
    copy: MoldCopy
    change_slot: int | None
    charge_slot: int
    clean_slots: int
    heat_slot: int
    heat_end_slot: int
    cool_end_slot: int
    demold_slot: int
    end_slot: int
    stock_slot: int


@dataclass(frozen=True)
class Added:
    """A cycle that was put in: the mold change before it, its finishing, and from when on there is stock for it."""

    cycle: Cycle
    change: MoldChange | None
    jobs: tuple[FinishJob, ...]
    ready_slot: int
    stock_slot: int


class Inserter:
    """Puts cycles one after another into free places, each where it is through finishing first.

    What it puts in next depends on what is there, never on how many are still wanted: so the cycles for a smaller
    quantity are the first of those for a larger one.

    Parameters
    ----------
    compiled : Compiled
        Yard and cooks at one confidence.
    plan : Plan
        What is laid already.
    """

    def __init__(self, compiled: Compiled, plan: Plan) -> None:
        self.compiled = compiled
        self.book = Bookings(compiled, plan, overtime=False)
        self.relief: Limit | None = None
        self.stays: dict[str, list[Stay]] = {}
        self.like = {place.id: place.id for place in compiled.places}
        timeline = Timeline(compiled, plan)
        for place in compiled.places:
            hung, since, busy = compiled.hung.get(place.id), compiled.now_slot, compiled.now_slot
            rows = []
            for event in timeline.events[place.id]:
                busy = max(busy, event.end_slot)
                if isinstance(event, MoldChange):
                    rows.append(Stay(place, since, event.start_slot, hung, busy))
                    hung, since = event.mold_in, busy
                else:
                    hung = event.mold
            rows.append(Stay(place, since, compiled.n_slots, hung, busy))
            self.stays[place.id] = rows
        self.loose_from = dict.fromkeys(compiled.copies, compiled.now_slot)
        for copy, stays in timeline.stays().items():
            until = max(until for _, until, _ in stays)
            if until > compiled.n_slots:
                del self.loose_from[copy]
            else:
                self.loose_from[copy] = max(until, compiled.now_slot)
        self.runs_of: dict[MoldCopy, list[Run]] = {copy: [] for copy in compiled.copies}
        for cycle in plan.cycles:
            grade = compiled.makes[cycle.product_id].product.resin_grade
            self.runs_of[cycle.mold].append(Run(cycle.charge_slot, (grade, cycle.color), cycle.clean_slots))
        self.count = 0

    def copied(self) -> "Inserter":
        """Return one that goes on from here on its own."""
        fresh = object.__new__(Inserter)
        fresh.__dict__.update(self.__dict__)
        fresh.book = self.book.copied()
        fresh.stays = {key: [replace(row) for row in rows] for key, rows in self.stays.items()}
        fresh.like, fresh.loose_from = dict(self.like), dict(self.loose_from)
        fresh.runs_of = {copy: list(rows) for copy, rows in self.runs_of.items()}
        return fresh

    def relieved(self, limit: Limit, product_id: str) -> "Inserter":
        """Return one that goes on from here with more of one resource: a mold copy, a unit, or no want of the rest."""
        fresh, compiled = self.copied(), self.compiled
        fresh.relief = limit
        if limit is Limit.MOLD:
            for mold_id in compiled.recipes[product_id]:
                copy = MoldCopy(mold_id, compiled.molds[mold_id].copies + 1)
                fresh.loose_from[copy], fresh.runs_of[copy] = compiled.now_slot, []
        elif limit is Limit.SUN:
            best = self.best_unit(product_id)
            if best is not None:
                unit_ix = len(compiled.units)
                fresh.book.field_free.append(compiled.open)
                for place in compiled.places:
                    if place.unit_ix == best:
                        extra = Place(f"{place.id}+", unit_ix, place.waiting, place.waiting)
                        fresh.like[extra.id] = place.id
                        fresh.book.chamber_free[extra.id] = extra.waiting
                        fresh.stays[extra.id] = [
                            Stay(extra, compiled.now_slot, compiled.n_slots, None, compiled.now_slot)
                        ]
        return fresh

    def best_unit(self, product_id: str) -> int | None:
        """Return the unit with most starts from which a product can be made, None if there is none."""
        rows = {ix: row.starts.bit_count() for (_, made, ix), row in self.compiled.cook.items() if made == product_id}
        return max(rows, key=lambda ix: (rows[ix], -ix), default=None)

    def next(self, product_id: str, color: str, order_id: str) -> Added | None:
        """Put in the next cycle of a product where it is ready first; None where no room is left."""
        make = self.compiled.makes[product_id]
        best: tuple[int, int, int, Spot] | None = None
        for rank, stays in enumerate(self.stays.values()):
            for spot in self._spots(stays, make, color):
                if best is None or spot.end_slot < best[0]:
                    ready = self._ready_slot(make, spot)
                    if ready is not None and (best is None or (ready, spot.end_slot, rank) < best[:3]):
                        best = ready, spot.end_slot, rank, spot
        return None if best is None else self._put(make, color, order_id, best[3])

    # --- where a cycle could go ------------------------------------------------------------------------------

    def _spots(self, stays: list[Stay], make: Make, color: str) -> list[Spot]:
        """Return the earliest place of each way to make the next cycle in a chamber."""
        compiled, product, found = self.compiled, make.product, []
        for stay in stays:
            if stay.hung is not None and stay.hung.mold_id in compiled.recipes[product.id]:
                spot = self._spot(stay, stay.hung, make, color)
                if spot is not None:
                    found.append(spot)
                    break
        last = stays[-1]
        for mold_id in compiled.recipes[product.id]:
            if last.hung is not None and last.hung.mold_id == mold_id:
                continue
            loose = [copy for copy in self.loose_from if copy.mold_id == mold_id]
            if loose:
                spot = self._spot(last, min(loose, key=lambda copy: (self.loose_from[copy], copy)), make, color)
                if spot is not None:
                    found.append(spot)
        return found

    def _spot(self, stay: Stay, copy: MoldCopy, make: Make, color: str) -> Spot | None:
        compiled, book, place = self.compiled, self.book, stay.place
        row = compiled.row(copy.mold_id, make.product.id, self.like[place.id])
        stock_slot = self._stock_slot(make, color, compiled.molds[copy.mold_id].cavities)
        if row is None or stock_slot is None:
            return None
        inside = book.chamber_free[place.id] & span_mask(stay.start, stay.end)
        room = inside & compiled.copy_open.get(copy, compiled.open)
        at, change_slot = stay.start, None
        if copy != stay.hung:
            length = compiled.change_slots[copy.mold_id]
            at = max(stay.busy_until, self.loose_from[copy])
            starts = self.change_starts(copy.mold_id) & runs(inside & place.open, length)
            change_slot = first_slot(starts, at)
            if change_slot is None:
                return None
            at = change_slot + length
        at = max(at, stock_slot)
        state = make.product.resin_grade, color
        # Only stretches that could hold a whole cycle are looked at.
        long_enough = runs(room, make.charge_slots + row.shortest_slots + make.demold_slots)
        while (begin := first_slot(long_enough, at)) is not None:
            at = _run_end(room, begin)
            clean = compiled.clean_slots(self._state_before(copy, begin), state)
            timed = self._timed(row, make, place, begin, at, clean)
            if timed is not None and self._suits_next(copy, timed[0], state):
                return Spot(stay, copy, change_slot, timed[0], clean, *timed[1:], stock_slot)
        return None

    def _timed(
        self, row: CookRow, make: Make, place: Place, begin: int, after: int, clean: int
    ) -> tuple[int, int, int, int, int, int] | None:
        """Return charge, heat, end of heat and of cooling, demolding and end inside a free stretch of a chamber."""
        product, length = make.product, clean + make.charge_slots
        charges = self.crew_starts(product.charge_crew, length) & runs(place.open & span_mask(begin, after), length)
        charge = first_slot(charges, begin)
        if charge is None:
            return None
        heat = best_heat(row, self.book.field_free[place.unit_ix], place.open, charge + length, after)
        if heat is None:
            return None
        heat_end = heat + row.cook[heat]
        cool_end = heat_end + row.cool[heat]
        demolds = self.crew_starts(product.demold_crew, make.demold_slots) & runs(place.open, make.demold_slots)
        demold = first_slot(demolds, cool_end)
        if demold is None or demold + make.demold_slots > after:
            return None
        latest = (charges & span_mask(begin, heat - length + 1)).bit_length() - 1
        return latest, heat, heat_end, cool_end, demold, demold + make.demold_slots

    def _stock_slot(self, make: Make, color: str, pieces: int) -> int | None:
        if self.relief is Limit.RESIN:
            return 0
        return self.book.stock_from(self.compiled.uses(make.product.id, color, pieces))

    def crew_starts(self, count: int, length: int) -> int:
        """Return the slots in which so many people are free to handle a mold for `length` slots."""
        if self.relief is Limit.CREW:
            return runs(self.working, length) if count else self.compiled.open
        return self.book.crew_starts(((HANDLING, count),), length)

    def change_starts(self, mold_id: str) -> int:
        """Return the slots in which crew and loader are free to hang a mold."""
        if self.relief is Limit.CREW:
            return runs(self.working, self.compiled.change_slots[mold_id])
        return self.book.change_starts(mold_id)

    @property
    def working(self) -> int:
        """Slots in which anybody is at work outside overtime."""
        mask = 0
        for one, two in self.compiled.at_work_regular.values():
            mask |= one | two
        return mask

    def _state_before(self, copy: MoldCopy, slot: int) -> tuple[str, str]:
        """Return the (grade, color) that a mold ran last before a slot; ("", "") if it is clean."""
        before = [run for run in self.runs_of[copy] if run.charge_slot < slot]
        return max(before).state if before else self.compiled.run_last.get(copy, ("", ""))

    def _suits_next(self, copy: MoldCopy, charge_slot: int, state: tuple[str, str]) -> bool:
        """Tell whether the mold's next cycle, if there is one, still begins with the clean-down that it holds."""
        later = [run for run in self.runs_of[copy] if run.charge_slot > charge_slot]
        return not later or self.compiled.clean_slots(state, min(later).state) == min(later).clean_slots

    def _ready_slot(self, make: Make, spot: Spot) -> int | None:
        """Return when a cycle would be through finishing, as far as each step finds a place on its own."""
        ready: int | None = spot.end_slot
        for step in make.steps:
            assert ready is not None
            if self.relief is Limit.FINISHING:
                start = first_slot(runs(self.working, step.slots), ready + step.rest_slots)
            else:
                seat = self.book.seat(step, ready + step.rest_slots)
                start = None if seat is None else seat.start_slot
            if start is None:
                return None
            ready = start + step.slots
        return ready

    def finish_starts(self, step: Step) -> int:
        """Return the slots in which a finishing step finds bench, person and electricity."""
        if self.relief is Limit.FINISHING:
            return runs(self.working, step.slots)
        compiled, book, found = self.compiled, self.book, 0
        for bench_id in compiled.benches_of.get(step.bench_kind, ()):
            unit_ix = compiled.bench_unit[bench_id]
            free = runs(book.bench_free[bench_id] & book.power_ok(unit_ix, step.watts), step.slots)
            found |= free & book.energy_ok(unit_ix, step.watts, step.slots)
        return found & book.crew_starts(((step.skill, 1),), step.slots)

    # --- putting it in ---------------------------------------------------------------------------------------

    def _put(self, make: Make, color: str, order_id: str, spot: Spot) -> Added | None:
        compiled, book, product, place = self.compiled, self.book, make.product, spot.stay.place
        self.count += 1
        ident = f"~{order_id}.{self.count}"
        charged = spot.clean_slots + make.charge_slots
        change = self._hang(spot, ident) if spot.change_slot is not None else None
        cycle = Cycle(
            ident, order_id, product.id, color, spot.copy, place.id, compiled.molds[spot.copy.mold_id].cavities,
            spot.charge_slot, spot.clean_slots, spot.heat_slot, spot.heat_end_slot, spot.cool_end_slot,
            spot.demold_slot, spot.end_slot, self._crew(product.charge_crew, spot.charge_slot, charged),
            self._crew(product.demold_crew, spot.demold_slot, make.demold_slots),
        )  # fmt: skip
        book.product_of[ident] = product.id
        if place.id in compiled.place_of:
            book.book_cycle(cycle)
        else:
            book.chamber_free[place.id] &= ~span_mask(spot.charge_slot, spot.end_slot)
            book.field_free[place.unit_ix] &= ~span_mask(spot.heat_slot, spot.heat_end_slot)
            book.book_people(cycle.charge_crew, spot.charge_slot, spot.charge_slot + charged, heavy=True)
            book.book_people(cycle.demold_crew, spot.demold_slot, spot.end_slot, heavy=True)
            book.take_stock(cycle)
        stay = self.stays[place.id][-1] if change else spot.stay
        stay.busy_until = max(stay.busy_until, spot.end_slot)
        state = product.resin_grade, color
        self.runs_of[spot.copy].append(Run(spot.charge_slot, state, spot.clean_slots))
        if self.relief is Limit.FINISHING:
            ready = self._ready_slot(make, spot)
            return None if ready is None else Added(cycle, change, (), ready, spot.stock_slot)
        jobs = self.finish(cycle)
        if jobs is None:
            return None
        return Added(cycle, change, jobs, max([spot.end_slot, *(job.end_slot for job in jobs)]), spot.stock_slot)

    def finish(self, cycle: Cycle, done: int = 0) -> tuple[FinishJob, ...] | None:
        """Put in the finishing of a cycle from step `done` on; None where a step finds no place any more.

        Steps that were put in before that one keep their place, as the cycle itself does.
        """
        jobs: list[FinishJob] = []
        ready = cycle.end_slot
        for step_ix, step in enumerate(self.compiled.makes[cycle.product_id].steps[done:], done):
            seat = self.book.seat(step, max(ready + step.rest_slots, self.compiled.now_slot))
            if seat is None:
                return None
            ready = seat.start_slot + step.slots
            job = FinishJob(
                f"{cycle.id}.{step_ix + 1}", cycle.id, step_ix, seat.bench_id, seat.operator_id, seat.start_slot,
                ready, step.kwh,
            )  # fmt: skip
            self.book.book_job(job)
            jobs.append(job)
        return tuple(jobs)

    def _hang(self, spot: Spot, ident: str) -> MoldChange:
        compiled, stay, start = self.compiled, spot.stay, spot.change_slot
        assert start is not None
        length = compiled.change_slots[spot.copy.mold_id]
        crew: tuple[str, ...] = ()
        if self.relief is not Limit.CREW:
            crew = self.book.choose_crew(change_needs(compiled, spot.copy.mold_id), start, length) or ()
        change = MoldChange(f"{ident}h", stay.place.id, stay.hung, spot.copy, start, start + length, crew)
        self.book.book_change(change)
        if stay.hung is not None:
            self.loose_from[stay.hung] = change.end_slot
        del self.loose_from[spot.copy]
        stay.end = start
        self.stays[stay.place.id].append(
            Stay(stay.place, change.end_slot, compiled.n_slots, spot.copy, change.end_slot)
        )
        return change

    def _crew(self, count: int, start: int, length: int) -> tuple[str, ...]:
        if self.relief is Limit.CREW:
            return ()
        return self.book.choose_crew(((HANDLING, count),), start, length) or ()


def _run_end(mask: int, slot: int) -> int:
    """Return the end of the run of set slots that `slot` is in."""
    rest = ~(mask >> slot)
    return slot + (rest & -rest).bit_length() - 1
