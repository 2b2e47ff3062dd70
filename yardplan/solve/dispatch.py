"""Dispatch rules: a whole plan at once, cycle after cycle, the way a foreman would do it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from heapq import heapify, heappop, heappush
from itertools import count
from math import exp
from operator import itemgetter
from typing import NamedTuple

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.people import HANDLING
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.solve.bookings import Bookings, change_needs
from yardplan.solve.compiled import Compiled, CookRow, Line, Place, first_slot, runs, span_mask
from yardplan.solve.freed import Timeline, event_start
from yardplan.solve.goal import missing_thousandths

DAY_SLOTS = 288
"""A day of five-minute slots: the yardstick of the rules' look-ahead; nothing exact depends on it."""


SHORT_LIST = 5
"""How many of the cycles that could come next are placed for certain before the most urgent one is taken."""

_first = itemgetter(0)

Urgency = Callable[["Dispatcher", Line, "Placement"], float]


@dataclass(frozen=True)
class Manner:
    """One way to decide which order a free chamber serves next.

    Attributes
    ----------
    urgency : callable
        From the dispatcher, the order and where its next cycle would go to a number; the greatest goes first.
    overtime : bool
        Whether people may be planned in overtime shifts.
    """

    name: str
    urgency: Urgency
    overtime: bool = True


@dataclass
class Spot:
    """A chamber while the plan is laid: free from `at`, with `hung` in it, up to the next kept work."""

    place: Place
    at: int
    hung: MoldCopy | None
    kept: list[Cycle | MoldChange] = field(default_factory=list)

    @property
    def limit(self) -> int | None:
        """Start of the next kept work."""
        return event_start(self.kept[0]) if self.kept else None


class Placement(NamedTuple):
    """Where and when the next cycle of an order could go, with the mold change that it needs.

    `sun_slots` are those from when the chamber fell free to the end of heat in which a heat could have begun.
    """

    line: Line
    place: Place
    copy: MoldCopy
    change_slot: int | None
    charge_slot: int
    clean_slots: int
    heat_slot: int
    heat_end_slot: int
    cool_end_slot: int
    demold_slot: int
    end_slot: int
    sun_slots: int


class Dispatcher:
    """Lays a plan by one manner; see `dispatch`.

    Parameters
    ----------
    follow : dict of chamber id to list of int
        Orders, by position, that a chamber serves in this turn as long as it can, before the manner decides.
    since : int
        Where the base goes on to in each chamber: what it does before stays without more between.
    """

    def __init__(
        self,
        compiled: Compiled,
        manner: Manner,
        base: Plan,
        chambers: frozenset[str],
        mark: str,
        follow: dict[str, list[int]] | None = None,
        since: int = 0,
    ) -> None:
        self.follow, self.since = {chamber_id: list(turn) for chamber_id, turn in (follow or {}).items()}, since
        self.compiled, self.manner, self.base, self.mark = compiled, manner, base, mark
        self.book = Bookings(compiled, base, overtime=manner.overtime)
        self.cycles, self.changes, self.jobs = list(base.cycles), list(base.mold_changes), list(base.finishing)
        self.of_mold: dict[MoldCopy, list[Cycle]] = {copy: [] for copy in compiled.copies}
        for cycle in base.cycles:
            self.of_mold[cycle.mold].append(cycle)
        kept_ids = {cycle.id for cycle in compiled.problem.kept.cycles}
        self.left = [line.order.quantity - line.kept_pieces for line in compiled.lines]
        self.smallest: dict[int, int] = {}
        self.worked_out: dict[tuple[int, str], tuple[int, float, float, float, int]] = {}
        for cycle in base.cycles:
            if cycle.id not in kept_ids:
                self._count(compiled.line_of[cycle.order_id], cycle.pieces)
        self.numbers = count(1)  # names with a ~ are passing ones, see names.py
        self.spots = [self._spot(place) for place in compiled.places if place.id in chambers]
        self.where: dict[MoldCopy, str | None] = dict.fromkeys(compiled.copies)
        self.loose_from: dict[MoldCopy, int] = dict.fromkeys(compiled.copies, compiled.now_slot)
        for copy, stays in self._timeline().stays().items():
            until, chamber_id = max((until, chamber_id) for _, until, chamber_id in stays)
            if until > compiled.n_slots:
                self.where[copy] = chamber_id
            else:
                self.loose_from[copy] = max(until, compiled.now_slot)
        self.hanging = {
            mold_id: sum(self.where[copy] is not None for copy in copies)
            for mold_id, copies in compiled.copies_of.items()
        }

    def plan(self) -> Plan:
        """Return the plan: cycles first, then the finishing of all that is molded."""
        self._mold()
        return self._finished()

    def plan_within(self, cost: int) -> Plan | None:
        """Return the plan, or None as soon as it is certain to cost more."""
        self._mold()
        return self._finished() if self._least_cost() <= cost else None

    def _mold(self) -> None:
        """Lay the cycles, chamber by chamber as they fall free."""
        queue = [(spot.at, ix) for ix, spot in enumerate(self.spots)]
        heapify(queue)
        idle: set[int] = set()
        while queue:
            _, ix = heappop(queue)
            spot = self.spots[ix]
            best = self._best(spot)
            if best is not None:
                freed = self._commit(spot, best)
                heappush(queue, (spot.at, ix))
                if freed is not None:
                    for other in idle:
                        heappush(queue, (max(self.spots[other].at, freed), other))
                    idle.clear()
            elif spot.kept:
                self._pass_kept(spot)
                heappush(queue, (spot.at, ix))
            else:
                idle.add(ix)

    def missing(self, line: Line) -> int:
        """Return the pieces of an order that no cycle makes yet."""
        return self.left[line.ix]

    def hung_copies(self, line: Line) -> int:
        """Return how many molds that can make an order hang in chambers now."""
        return sum([self.hanging[mold_id] for mold_id in self.compiled.recipes[line.order.product_id]])

    def _count(self, line: Line, pieces: int) -> None:
        self.left[line.ix] -= pieces
        self.smallest[line.ix] = min(self.smallest.get(line.ix, pieces), pieces)

    def _least_cost(self) -> int:
        """Return what lateness and missing pieces cost at least, whenever the finishing is done."""
        compiled, weights = self.compiled, self.compiled.problem.weights
        last = dict[str, int]()
        for cycle in self.cycles:
            last[cycle.order_id] = max(last.get(cycle.order_id, 0), cycle.end_slot)
        total = 0
        for line in compiled.lines:
            order, missing = line.order, max(self.left[line.ix], 0)
            if order.id in last and not missing and not line.kept_pieces:
                reached = last[order.id] + _tail_slots(line)
            else:
                reached = compiled.n_slots if missing else 0
            total += line.late_weight * max(reached - line.goal_slot, 0)
            total += weights.missing_piece_share * order.priority * missing_thousandths(missing, order.quantity)
        return total

    # --- kept work -------------------------------------------------------------------------------------------

    def _spot(self, place: Place) -> Spot:
        rows: list[Cycle | MoldChange] = [row for row in self.base.cycles if row.chamber_id == place.id]
        rows += [row for row in self.base.mold_changes if row.chamber_id == place.id]
        rows.sort(key=lambda row: (event_start(row), row.end_slot))
        spot = Spot(place, self.compiled.now_slot, self.compiled.hung.get(place.id), rows)
        while spot.kept and event_start(spot.kept[0]) <= max(spot.at, self.since):
            self._pass_kept(spot)
        self._hang_for_kept(spot)
        return spot

    def _timeline(self) -> Timeline:
        return Timeline(self.compiled, Plan(self.base.grid, tuple(self.cycles), tuple(self.changes)))

    def _hang_for_kept(self, spot: Spot) -> None:
        """Plan the mold changes that kept work needs but does not bring along."""
        hung, at = spot.hung, spot.at
        for row in list(spot.kept):
            if isinstance(row, Cycle) and row.mold != hung:
                length = self.compiled.change_slots[row.mold.mold_id]
                stays = self._timeline().stays().get(row.mold, [])
                at = max([at, *(until for _, until, _ in stays if until <= row.charge_slot)])
                room = self.book.chamber_free[spot.place.id] & spot.place.open & span_mask(at, row.charge_slot)
                start = first_slot(self.book.change_starts(row.mold.mold_id) & runs(room, length), at)
                if start is not None:
                    change = self._change(spot.place.id, hung, row.mold, start)
                    spot.kept.insert(spot.kept.index(row), change)
            hung, at = (row.mold if isinstance(row, Cycle) else row.mold_in), row.end_slot

    def _pass_kept(self, spot: Spot) -> None:
        row = spot.kept.pop(0)
        spot.at = max(spot.at, row.end_slot)
        spot.hung = row.mold_in if isinstance(row, MoldChange) else row.mold

    def _move(self, spot: Spot, copy: MoldCopy, slot: int) -> None:
        if spot.hung is not None:
            self.where[spot.hung] = None
            self.hanging[spot.hung.mold_id] -= 1
            self.loose_from[spot.hung] = slot
        spot.hung = copy
        self.where[copy] = spot.place.id
        self.hanging[copy.mold_id] += 1

    # --- cycles ----------------------------------------------------------------------------------------------

    def _best(self, spot: Spot) -> Placement | None:
        """Return the most urgent next cycle: the promising ones by a quick look are placed for certain."""
        followed = self._followed(spot)
        if followed is not None:
            return followed
        urgency = self.manner.urgency
        looks = [(urgency(self, line, look), line, look) for line, look in self._looks(spot)]
        looks.sort(key=_first, reverse=True)
        best: tuple[float, Placement] | None = None
        known: dict[tuple[MoldCopy, str, str, int], Placement | None] = {}
        left = SHORT_LIST
        for _, line, look in looks:
            key = (look.copy, line.order.product_id, line.order.color, look.clean_slots)
            if key not in known:
                known[key] = self._place(spot, line, look.copy)
            placed = known[key]
            if placed is not None:
                worth = urgency(self, line, placed)
                if best is None or worth > best[0]:
                    best = worth, placed._replace(line=line)
                left -= 1
                if not left:
                    break
        return best[1] if best else None

    def _followed(self, spot: Spot) -> Placement | None:
        """Return the next cycle of a chamber in turn; orders that cannot be served now are passed over."""
        wanted = self.follow.get(spot.place.id)
        while wanted and not spot.kept:
            line = self.compiled.lines[wanted.pop(0)]
            missing, found = self.left[line.ix], list[Placement]()
            for mold_id, cavities, _ in self.compiled.ways(spot.place.id).get(line.ix, ()):
                if missing > 0 and cavities - self.smallest.get(line.ix, cavities) < missing:
                    mold = self._mold_for(spot, mold_id)
                    placed = self._place(spot, line, mold[0]) if mold is not None else None
                    if placed is not None:
                        found.append(placed)
            if found:
                return min(found, key=lambda placed: (placed.change_slot is not None, placed.end_slot))
        return None

    def _looks(self, spot: Spot) -> Iterator[tuple[Line, Placement]]:
        """Yield about where the next cycle of each order could go here, were field and crew free.

        Orders that are alike share a placement, so the order beside it is the one that is meant.
        """
        compiled, lines = self.compiled, self.compiled.lines
        molds: dict[str, tuple[MoldCopy, int | None, int, tuple[str, str]] | None] = {}
        known: dict[tuple[str, str, int], Placement | None] = {}
        for ix, ways in compiled.ways(spot.place.id).items():
            missing = self.left[ix]
            if missing <= 0:
                continue
            line = lines[ix]
            for mold_id, cavities, row in ways:
                if cavities - self.smallest.get(ix, cavities) >= missing:
                    continue  # one of the smaller cycles would not be needed any more
                if mold_id not in molds:
                    molds[mold_id] = self._mold_for(spot, mold_id)
                mold = molds[mold_id]
                if mold is None:
                    continue
                copy, change, at, state = mold
                clean = compiled.clean_slots(state, line.state)
                key = mold_id, line.order.product_id, clean
                if key not in known:
                    known[key] = self._look(spot, line, copy, change, at, clean, row)
                look = known[key]
                if look is not None:
                    yield line, look

    def _mold_for(self, spot: Spot, mold_id: str) -> tuple[MoldCopy, int | None, int, tuple[str, str]] | None:
        """Return the mold of a type that would be used here: with its change, from when, and what it ran last."""
        if spot.hung is not None and spot.hung.mold_id == mold_id:
            return spot.hung, None, spot.at, self._state(spot.hung, spot.at)
        if spot.kept:
            return None
        loose = [copy for copy in self.compiled.copies_of[mold_id] if self.where[copy] is None]
        if not loose:
            return None
        copy = min(loose, key=lambda copy: (self.loose_from[copy], copy))
        change = max(spot.at, self.loose_from[copy])
        at = change + self.compiled.change_slots[mold_id]
        return copy, change, at, self._state(copy, at)

    def _look(
        self, spot: Spot, line: Line, copy: MoldCopy, change: int | None, at: int, clean: int, row: CookRow
    ) -> Placement | None:
        heat = first_slot(row.starts, at + clean + line.make.charge_slots)
        if heat is None:
            return None
        heat_end = heat + row.cook[heat]
        cooled = heat_end + row.cool[heat]
        sun = (row.starts & span_mask(spot.at, heat_end)).bit_count()
        end = cooled + line.make.demold_slots
        return Placement(line, spot.place, copy, change, at, clean, heat, heat_end, cooled, cooled, end, sun)

    def _place(self, spot: Spot, line: Line, copy: MoldCopy) -> Placement | None:
        compiled, book, make = self.compiled, self.book, line.make
        row = compiled.row(copy.mold_id, line.order.product_id, spot.place.id)
        pieces = compiled.molds[copy.mold_id].cavities
        stock_slot = book.stock_from(compiled.uses(line.order.product_id, line.order.color, pieces))
        if row is None or stock_slot is None:
            return None
        end = compiled.n_slots if spot.limit is None else spot.limit
        room = book.chamber_free[spot.place.id] & span_mask(spot.at, end) & compiled.copy_open[copy]
        at, change_slot = spot.at, None
        if spot.hung != copy:
            length = compiled.change_slots[copy.mold_id]
            can_move = book.chamber_free[spot.place.id] & spot.place.open & span_mask(spot.at, end)
            starts = book.change_starts(copy.mold_id) & runs(can_move, length)
            change_slot = first_slot(starts, max(at, self.loose_from[copy]))
            if change_slot is None:
                return None
            at = change_slot + length
        clean = compiled.clean_slots(self._state(copy, at), line.state)
        length = clean + make.charge_slots
        product = make.product
        charge_starts = book.crew_starts(((HANDLING, product.charge_crew),), length)
        charge_starts &= runs(room & spot.place.open, length)
        demold_starts = book.crew_starts(((HANDLING, product.demold_crew),), make.demold_slots)
        demold_starts &= runs(spot.place.open, make.demold_slots)
        field_free = book.field_free[spot.place.unit_ix]
        at = max(at, stock_slot)
        while (charge := first_slot(charge_starts, at)) is not None:
            after = _run_end(room, charge)
            heat = best_heat(row, field_free, spot.place.open, charge + length, after)
            if heat is not None:
                heat_end = heat + row.cook[heat]
                cool_end = heat_end + row.cool[heat]
                demold = first_slot(demold_starts, cool_end)
                if demold is not None and demold + make.demold_slots <= after:
                    placed = Placement(
                        line, spot.place, copy, change_slot, charge, clean, heat, heat_end, cool_end, demold,
                        demold + make.demold_slots, (row.starts & span_mask(spot.at, heat_end)).bit_count(),
                    )  # fmt: skip
                    return placed if self._suits_next(placed) else None
            at = after
        return None

    def _state(self, copy: MoldCopy, before_slot: int) -> tuple[str, str]:
        return self.compiled.last_state(self.of_mold[copy], copy, before_slot)

    def _suits_next(self, placed: Placement) -> bool:
        """Tell whether the mold's next cycle, if there is one already, still begins with the clean-down it holds."""
        later = [row for row in self.of_mold[placed.copy] if row.charge_slot > placed.charge_slot]
        if not later:
            return True
        after = min(later, key=lambda row: row.charge_slot)
        grade = self.compiled.makes[after.product_id].product.resin_grade
        return self.compiled.clean_slots(placed.line.state, (grade, after.color)) == after.clean_slots

    def _commit(self, spot: Spot, placed: Placement) -> int | None:
        """Book a placement; returns the slot from which a mold that was taken out is free, None if none was."""
        freed = None
        if placed.change_slot is not None:
            change = self._change(spot.place.id, spot.hung, placed.copy, placed.change_slot)
            freed = change.end_slot if spot.hung is not None else None
            self._move(spot, placed.copy, change.end_slot)
        make, order = placed.line.make, placed.line.order
        product = make.product
        cycle = Cycle(
            f"~{self.mark}c{next(self.numbers)}", order.id, product.id, order.color, placed.copy, spot.place.id,
            self.compiled.molds[placed.copy.mold_id].cavities, placed.charge_slot, placed.clean_slots,
            placed.heat_slot, placed.heat_end_slot, placed.cool_end_slot, placed.demold_slot, placed.end_slot,
            self._crew(product.charge_crew, placed.charge_slot, placed.clean_slots + make.charge_slots),
            self._crew(product.demold_crew, placed.demold_slot, make.demold_slots),
        )  # fmt: skip
        self.book.book_cycle(cycle)
        self.cycles.append(cycle)
        self.of_mold[cycle.mold].append(cycle)
        self._count(placed.line, cycle.pieces)
        spot.at = cycle.end_slot
        return freed

    def _change(self, chamber_id: str, out: MoldCopy | None, copy: MoldCopy, start: int) -> MoldChange:
        needs, length = change_needs(self.compiled, copy.mold_id), self.compiled.change_slots[copy.mold_id]
        crew = self.book.choose_crew(needs, start, length)
        change = MoldChange(
            f"~{self.mark}h{next(self.numbers)}", chamber_id, out, copy, start, start + length, crew or ()
        )
        self.book.book_change(change)
        self.changes.append(change)
        return change

    def _crew(self, count: int, start: int, length: int) -> tuple[str, ...]:
        return self.book.choose_crew(((HANDLING, count),), start, length) or ()

    # --- finishing -------------------------------------------------------------------------------------------

    def _finished(self) -> Plan:
        line_of = self.compiled.line_of
        done = {(job.cycle_id, job.step_ix): job.end_slot for job in self.jobs}
        order = sorted(self.cycles, key=lambda row: (line_of[row.order_id].goal_slot, row.end_slot, row.id))
        for cycle in order:
            ready, jobs = cycle.end_slot, []
            for step_ix, step in enumerate(self.compiled.makes[cycle.product_id].steps):
                if (cycle.id, step_ix) in done:
                    ready = done[cycle.id, step_ix]
                    continue
                seat = self.book.seat(step, max(ready + step.rest_slots, self.compiled.now_slot))
                if seat is None:
                    break
                ready = seat.start_slot + step.slots
                job = FinishJob(
                    f"~{self.mark}f{next(self.numbers)}", cycle.id, step_ix, seat.bench_id, seat.operator_id,
                    seat.start_slot, ready, step.kwh,
                )  # fmt: skip
                self.book.book_job(job)
                jobs.append(job)
            else:
                # A routing that cannot be finished inside the grid is not begun; its bookings are lost to the rest.
                self.jobs += jobs
        return Plan(self.compiled.grid, tuple(self.cycles), tuple(self.changes), tuple(self.jobs))


def best_heat(row: CookRow, field_free: int, open_slots: int, from_slot: int, until_slot: int) -> int | None:
    """Return the start of heat that ends first and, of these, the last one: more sun makes up for the wait."""
    best, best_end = None, until_slot
    starts = row.starts & field_free
    at = first_slot(starts, from_slot)
    while at is not None and at < best_end:
        end = at + row.cook[at]
        cook, both = (1 << row.cook[at]) - 1, (1 << row.cook[at] + row.cool[at]) - 1
        if end <= best_end and field_free >> at & cook == cook and open_slots >> at & both == both:
            best, best_end = at, end
        at = first_slot(starts, at + 1)
    return best


def dispatch(
    compiled: Compiled,
    manner: Manner,
    base: Plan | None = None,
    chambers: frozenset[str] | None = None,
    mark: str = "",
) -> Plan:
    """Return the plan that a manner of dispatching makes.

    Parameters
    ----------
    base : Plan or None
        Work that is in the plan already, kept work among it, and stays unchanged; None: only the kept work.
    chambers : frozenset of str or None
        Chambers that get new cycles; None: all.
    mark : str
        Tells the passing names of new rows apart from those in `base`.
    """
    base = compiled.problem.kept if base is None else base
    chambers = frozenset(compiled.place_of) if chambers is None else chambers
    return Dispatcher(compiled, manner, base, chambers, mark).plan()


def _earliest_due(dispatcher: Dispatcher, line: Line, placed: Placement) -> float:
    return -line.goal_slot - _setup(placed)


def _order_of_entry(dispatcher: Dispatcher, line: Line, placed: Placement) -> float:
    return -line.ix * DAY_SLOTS / 4 - _setup(placed)


def _setup(placed: Placement) -> float:
    """Return what a mold change counts for the plain rules: half a day, and the sun that is lost by it twice."""
    return placed.sun_slots * 2 + (DAY_SLOTS / 2 if placed.change_slot is not None else 0)


def tardiness(look_ahead_days: float, change_slots: float, leveling: float = 1.0) -> Urgency:
    """Return the apparent tardiness cost: what a cycle is worth for each slot of sun that it takes.

    An order is worth more the less slack it has, and the fewer cycles it still needs.
    Source: Vepsalainen and Morton, Priority rules for job shops with weighted tardiness costs, Management Science
    33(8), 1987, for the exponential look-ahead; the set-up term as in Lee, Bhaskaran and Pinedo, IIE Transactions
    29, 1997, but here the lost sun stands for the set-up. Both from memory.

    Parameters
    ----------
    look_ahead_days : float
        How far ahead a due date begins to press.
    change_slots : float
        Slots of sun that a mold change counts for, beside those that it takes.
    leveling : float
        Power of the weights: below 1, promised orders and others are closer together.
    """
    ahead = look_ahead_days * DAY_SLOTS

    def fixed(compiled: Compiled, line: Line, mold_id: str) -> tuple[int, float, float, float, int]:
        """Return what does not change for an order and a mold while a plan is laid."""
        weights, cavities = compiled.problem.weights, compiled.molds[mold_id].cavities
        late: float = line.late_weight**leveling * ahead
        share: float = weights.missing_piece_share**leveling * 1000 * line.order.priority
        day_slots = DAY_SLOTS / compiled.cycles_per_day(mold_id, line.order.product_id)
        return cavities, day_slots, late, share * cavities / line.order.quantity, _tail_slots(line)

    def urgency(dispatcher: Dispatcher, line: Line, placed: Placement) -> float:
        mold_id, change = placed.copy.mold_id, placed.change_slot is not None
        key = line.ix, mold_id
        if key not in dispatcher.worked_out:
            dispatcher.worked_out[key] = fixed(dispatcher.compiled, line, mold_id)
        cavities, day_slots, late, share, tail = dispatcher.worked_out[key]
        cycles = -(-dispatcher.left[line.ix] // cavities)
        copies = dispatcher.hung_copies(line) + change or 1
        finish = placed.end_slot + (cycles - 1) / copies * day_slots + tail
        early, left = line.goal_slot - finish, dispatcher.compiled.n_slots - finish
        worth = late / cycles * (exp(-early / ahead) if early > 0 else 1.0)
        worth += share * (exp(-left / ahead) if left > 0 else 1.0)
        lost = placed.sun_slots + 1 + placed.clean_slots / 2
        return worth / (lost + change_slots if change else lost)

    return urgency


def _tail_slots(line: Line) -> int:
    return sum(step.rest_slots + step.slots for step in line.make.steps)


MANNERS = (
    Manner("earliest due", _earliest_due),
    Manner("order of entry", _order_of_entry),
    Manner("tardiness", tardiness(1.0, 60.0)),
)
"""The rules that are tried; the best plan of them is taken."""


def without_overtime(manner: Manner) -> Manner:
    """Return the same manner with overtime shifts left alone."""
    return replace(manner, name=f"{manner.name}, no overtime", overtime=False)


def _run_end(mask: int, slot: int) -> int:
    """Return the end of the run of set slots that `slot` is in."""
    rest = ~(mask >> slot)
    return slot + (rest & -rest).bit_length() - 1
