"""What stands in the way of more or earlier work in a plan, counted slot by slot."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from yardplan.domain.explained import Fact, Limit
from yardplan.domain.people import HANDLING
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.problem import Problem
from yardplan.solve.bookings import Bookings
from yardplan.solve.compiled import Compiled, Line, Place, span_mask, spread
from yardplan.solve.freed import Timeline, event_start


@dataclass(frozen=True)
class Option:
    """One chamber and mold in which an order could be made, with the slots in which each limit forbids to heat."""

    place: Place
    mold_id: str
    sunny: int
    forbidden: dict[Limit, int]


class Blockers:
    """What a plan's work takes away from other work; see `of_order` and `of_hour`."""

    def __init__(self, problem: Problem, plan: Plan) -> None:
        self.compiled, self.plan = Compiled(problem.with_upkeep(plan.upkeep)), plan
        self.book, self.alone = Bookings(self.compiled, plan), Bookings(self.compiled, Plan(problem.grid))
        self.timeline = Timeline(self.compiled, plan)
        self.stays = self.timeline.stays()

    def of_order(self, order_id: str) -> tuple[Fact, ...]:
        """Return what stands in the way of one order, the most weighty first; names what is taken, not by whom."""
        line = self.compiled.line_of[order_id]
        facts = [*self._molding(line), *self._finishing(line)]
        return tuple(sorted(facts, key=lambda fact: -fact.share))

    # --- molding ---------------------------------------------------------------------------------------------

    def _molding(self, line: Line) -> Iterator[Fact]:
        compiled, order = self.compiled, line.order
        until = min(line.goal_slot, compiled.n_slots) if line.goal_slot > compiled.now_slot else compiled.n_slots
        window = span_mask(compiled.now_slot, until)
        others = Bookings(compiled, self._without(line))
        options = list(self._options(line, window, others))
        hours = compiled.grid.slot_min / 60
        sunny = sum(option.sunny.bit_count() for option in options)
        some_sun = 0
        for option in options:
            some_sun |= option.sunny
        by_when = f"before {compiled.grid.local(until):%a %d %b %H:%M}"
        sun_h, all_h = some_sun.bit_count() * hours, window.bit_count() * hours
        yield Fact(
            Limit.SUN,
            1 - sun_h / all_h if all_h and not sunny else 0.0,
            (order.product_id,),
            f"sun: {order.product_id} can begin to heat in {sun_h:.0f} of the {all_h:.0f} h {by_when}",
        )
        if not sunny:
            return
        molds = tuple(sorted({option.mold_id for option in options}))
        copies = sum(compiled.molds[mold_id].copies for mold_id in molds)
        told = {
            Limit.CHAMBER: "the chamber is taken by other work",
            Limit.BEAM: "the mirrors heat the unit's other chamber",
            Limit.MOLD: f"no copy of {' or '.join(molds)} ({copies} in all) is free to be there",
            Limit.MOLD_CHANGE: "no rigger, driver or loader is free to hang the mold",
            Limit.HANDLING: "nobody is free to charge",
            Limit.STOCK: "resin or inserts are used up",
            Limit.DOWN: "the unit or the yard is out of work",
        }
        for limit, words in told.items():
            blocked = sum((option.sunny & option.forbidden[limit]).bit_count() for option in options)
            if blocked:
                share = blocked / sunny
                names = molds if limit in (Limit.MOLD, Limit.MOLD_CHANGE) else ()
                if limit is Limit.STOCK:
                    names = tuple(compiled.uses(order.product_id, order.color, 1))
                text = f"{limit.replace('_', ' ')}: in {share:.0%} of its sunny time {by_when}, {words}"
                yield Fact(limit, share, names, text)

    def _without(self, line: Line) -> Plan:
        """Return the plan without the molding of an order, whose own work is not in its way."""
        own = {cycle.id for cycle in self._own(line)}
        plan = self.plan
        cycles = tuple(row for row in plan.cycles if row.id not in own)
        return Plan(
            plan.grid, cycles, plan.mold_changes, tuple(row for row in plan.finishing if row.cycle_id not in own)
        )

    def _options(self, line: Line, window: int, book: Bookings) -> Iterator[Option]:
        compiled, product = self.compiled, line.make.product
        for mold_id in compiled.recipes[product.id]:
            for place in compiled.places:
                row = compiled.row(mold_id, product.id, place.id)
                sunny = row.starts & window if row else 0
                if row and sunny:
                    yield Option(place, mold_id, sunny, self._forbidden(line, place, mold_id, book))

    def _forbidden(self, line: Line, place: Place, mold_id: str, book: Bookings) -> dict[Limit, int]:
        """Return for each limit the slots in which it forbids to heat beside the work that is booked."""
        compiled, make = self.compiled, line.make
        chamber = ~book.chamber_free[place.id] & place.waiting
        beam = ~book.field_free[place.unit_ix] & compiled.open
        hangs_here, everywhere = 0, compiled.open
        for copy in compiled.copies_of[mold_id]:
            taken = 0
            for since, after, chamber_id in self.stays.get(copy, ()):
                if chamber_id == place.id:
                    hangs_here |= span_mask(since, min(after, compiled.n_slots)) & compiled.copy_open[copy]
                else:
                    taken |= span_mask(since, min(after, compiled.n_slots))
            everywhere &= taken | ~compiled.copy_open[copy]
        charge = book.crew_starts(((HANDLING, make.product.charge_crew),), make.charge_slots) << make.charge_slots
        change_slots = compiled.change_slots[mold_id]
        can_change = spread(book.change_starts(mold_id) << change_slots, 2 * 60 // compiled.grid.slot_min)
        uses = compiled.uses(line.order.product_id, line.order.color, compiled.molds[mold_id].cavities)
        is_molded = sum(cycle.pieces for cycle in self._own(line)) >= line.order.quantity
        stock_slot = (book if is_molded else self.book).stock_from(uses)
        last = compiled.n_slots if stock_slot is None else stock_slot
        return {
            Limit.CHAMBER: chamber,
            Limit.BEAM: beam & ~chamber,
            Limit.MOLD: everywhere & ~hangs_here,
            Limit.MOLD_CHANGE: ~hangs_here & ~can_change & ~everywhere & compiled.open,
            Limit.HANDLING: ~charge & compiled.open,
            Limit.STOCK: span_mask(0, last),
            Limit.DOWN: ~place.open & compiled.open,
        }

    def _own(self, line: Line) -> list[Cycle]:
        return [cycle for cycle in self.plan.cycles if cycle.order_id == line.order.id]

    # --- finishing -------------------------------------------------------------------------------------------

    def _finishing(self, line: Line) -> Iterator[Fact]:
        """Tell what parts wait for after demolding: those that end after the order's goal, or all if none does.

        A share is that of the delay that the waiting makes up, of the time to the goal where nothing is late.
        """
        compiled, hours = self.compiled, self.compiled.grid.slot_min / 60
        jobs = {(job.cycle_id, job.step_ix): job for job in self.plan.finishing}
        ends = {cycle.id: self._done_slot(cycle, line, jobs) for cycle in self._own(line)}
        goal = min(line.goal_slot, compiled.n_slots - 1)
        late = [cycle for cycle in self._own(line) if ends[cycle.id] > goal]
        counted = late or self._own(line)
        overrun = sum(ends[cycle.id] - goal for cycle in late) or len(counted) * max(goal - compiled.now_slot, 1)
        waits, names = Counter[Limit](), dict[Limit, set[str]]()
        for cycle in counted:
            ready = cycle.end_slot
            for step_ix, step in enumerate(line.make.steps):
                job = jobs.get((cycle.id, step_ix))
                start = job.start_slot if job else compiled.n_slots
                waits[Limit.REST] += max(min(ready + step.rest_slots, start) - ready, 0)
                shift = Limit.SHIFT, step.skill
                limit, name = shift
                for slot in range(max(ready + step.rest_slots, compiled.now_slot), min(start, compiled.n_slots)):
                    # A night that comes after people were there belongs to what kept them from doing it then.
                    found = self._waits_for(step_ix, line, slot)
                    limit, name = (limit, name) if found == shift else found
                    waits[limit] += 1
                    names.setdefault(limit, set()).add(name)
                if job is None:
                    break
                ready = job.end_slot
        told = {
            Limit.SHIFT: "nobody who can do the next step is on shift",
            Limit.FINISHERS: "all who can do the next step are busy",
            Limit.BENCH: "all benches for the next step are busy",
            Limit.ENERGY: "sun and battery leave too little for the next step",
            Limit.REST: "parts rest, as the routing asks",
        }
        for limit, words in told.items():
            if waits[limit]:
                concerned = tuple(sorted(names.get(limit, ())))
                each_h = waits[limit] * hours / len(counted)
                text = f"{limit}: {words} for {each_h:.1f} h a cycle between demolding and the end"
                if concerned:
                    text += f" ({', '.join(concerned)})"
                yield Fact(limit, min(waits[limit] / overrun, 1.0), concerned, text)

    def _done_slot(self, cycle: Cycle, line: Line, jobs: dict[tuple[str, int], FinishJob]) -> int:
        """Return when a cycle is through its routing, the end of the grid where a step is missing."""
        done = [jobs.get((cycle.id, step_ix)) for step_ix in range(len(line.make.steps))]
        if not done:
            return cycle.end_slot
        return max(job.end_slot if job else self.compiled.n_slots for job in done)

    def _waits_for(self, step_ix: int, line: Line, slot: int) -> tuple[Limit, str]:
        compiled, book, step = self.compiled, self.book, line.make.steps[step_ix]
        if not self.alone.crew_starts(((step.skill, 1),), step.slots) >> slot & 1:
            return Limit.SHIFT, step.skill
        if not book.crew_starts(((step.skill, 1),), step.slots) >> slot & 1:
            return Limit.FINISHERS, step.skill
        free = [bench for bench in compiled.benches_of[step.bench_kind] if book.bench_free[bench] >> slot & 1]
        if not free:
            return Limit.BENCH, step.bench_kind
        units = {compiled.bench_unit[bench] for bench in free}
        if not any(
            (book.power_ok(unit, step.watts) & book.energy_ok(unit, step.watts, step.slots)) >> slot & 1
            for unit in units
        ):
            return Limit.ENERGY, step.bench_kind
        return Limit.BENCH, step.bench_kind

    # --- an hour of a chamber --------------------------------------------------------------------------------

    def at_work(self, chamber_id: str, slot: int) -> Cycle | MoldChange | None:
        """Return what a chamber does in a slot, None if it is empty then."""
        for event in self.timeline.events[chamber_id]:
            if event_start(event) <= slot < event.end_slot:
                return event
        return None

    def of_hour(self, chamber_id: str, slot: int) -> tuple[Fact, ...]:
        """Return why no heat could begin in a chamber in a slot, over all orders with work still to be molded then.

        The share of a fact is the share of these orders that it keeps out.
        """
        compiled = self.compiled
        place = compiled.place_of[chamber_id]
        molded = Counter[str]()
        for cycle in self.plan.cycles:
            if cycle.charge_slot <= slot:
                molded[cycle.order_id] += cycle.pieces
        waiting = [line for line in compiled.lines if molded[line.order.id] < line.order.quantity]
        kept_out = Counter[Limit]()
        free: list[str] = []
        for line in waiting:
            limits = self._limits_at(line, place, slot)
            kept_out.update(limits)
            if not limits:
                free.append(line.order.id)
        told = {
            Limit.DOWN: "the chamber, its unit or the yard is out of work",
            Limit.SUN: "no cook that begins then reaches its peak temperature",
            Limit.BEAM: "the mirrors heat the unit's other chamber",
            Limit.MOLD: "no copy of their molds is free to be there, or none fits the chamber",
            Limit.MOLD_CHANGE: "nobody, or no loader, is free to hang the mold",
            Limit.HANDLING: "nobody is free to charge",
            Limit.STOCK: "resin or inserts are used up",
        }
        facts = [
            Fact(
                limit,
                kept_out[limit] / len(waiting),
                (),
                f"{limit.replace('_', ' ')}: for {kept_out[limit]} of {len(waiting)} orders not yet molded, {words}",
            )
            for limit, words in told.items()
            if kept_out[limit]
        ]
        if not waiting:
            facts = [Fact(Limit.CHAMBER, 1.0, (), "nothing is left to be molded then")]
        elif free:
            text = (
                f"chamber: {', '.join(free)} could begin, but would not end before the chamber's next work or cost more"
            )
            facts.append(Fact(Limit.CHAMBER, len(free) / len(waiting), tuple(free), text))
        return tuple(sorted(facts, key=lambda fact: -fact.share))

    def _limits_at(self, line: Line, place: Place, slot: int) -> set[Limit]:
        """Return the fewest limits that keep an order out of a place in a slot, over its molds."""
        found: list[set[Limit]] = []
        for mold_id in self.compiled.recipes[line.order.product_id]:
            row = self.compiled.row(mold_id, line.order.product_id, place.id)
            if row is None:
                found.append({Limit.MOLD})
                continue
            masks = self._forbidden(line, place, mold_id, self.book)
            limits = {limit for limit, mask in masks.items() if mask >> slot & 1 and limit is not Limit.CHAMBER}
            found.append(limits | (set() if row.starts >> slot & 1 else {Limit.SUN}))
        return min(found, key=len, default={Limit.MOLD})
