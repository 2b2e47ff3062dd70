"""What all orders together cost at least: a linear program over orders and the days of units, by columns."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp

from yardplan.domain.people import HANDLING
from yardplan.solve.beam_days import BeamDays, beam_days
from yardplan.solve.bookings import Bookings
from yardplan.solve.compiled import Compiled, Line, first_slot

PARTS = 3
"""Parts of a day that the program tells apart."""

MOST_ROUNDS = 30
"""How often the prices are asked for better days at most."""

CLOSE = 0.005
"""Where the program's value and the bound are as close as this, more rounds are not worth it."""

SMOOTHING = 0.5
"""How far prices stay near the best ones so far: they would jump else, and say little in between."""

SCALE = 1e-6
"""The program counts in millions of cost, so that its numbers are of about the same size."""

Prices = dict[int, float]


@dataclass(frozen=True)
class _Part:
    """A part of a day: the day's number, and its slots counted from the start of the day."""

    day: int
    first: int
    after: int


@dataclass(frozen=True)
class _Made:
    """Pieces of an order by a recipe, heated in a part: their cost, limit, and factors by row."""

    cost: float
    upper: int
    factors: dict[int, float]


def lateness_cost(compiled: Compiled, line: Line, reached: int) -> int:
    """Return what an order costs that is finished in a slot, its missing pieces aside."""
    weights, order = compiled.problem.weights, line.order
    late = max(reached - line.goal_slot, 0)
    early = max(reached - line.goal_slot + weights.slack_slots, 0)
    return line.late_weight * late + order.priority * (weights.late_order * (late > 0) + weights.slack * early)


def cost_together(compiled: Compiled, book: Bookings, earliest: dict[int, int], is_over: Callable[[], bool]) -> float:
    """Return a cost that the new work of no plan can go below.

    Cut each day into parts, and read from any plan how many pieces x of each order, in cycles that get finished, are
    heated in each part by each recipe (mold and product). These numbers obey

    - no more pieces than the order lacks;
    - in each part, the heats of a recipe that the orders ask for are no more than all units give then, and what a
      unit gives in a day is one of the ways that `BeamDays.best` looks through (or a mixture of them);
    - in each day up to each part, one mold's heats are no more than back to back, each on whichever unit ends first
      (`_mold_starts`), all copies together so many times more.

    And the plan costs at least the sum over the pieces of c / left, where `left` is what the order lacks and c what
    it costs an order to be finished when the first heat of that part could be finished, with people and benches to
    itself (`_finished`), or when the order alone could be, if that is later; a piece left out has c of the end of the
    grid plus what missing pieces cost. For an order that gets finished is not finished before any of its new cycles
    is, because none is more than it needs, so it costs at least c of the last part, and c never falls with time, so
    that is at least the mean of c over its pieces; an order that does not get finished costs c of the end in full,
    which is no less than any other c, and missing thousandths are rounded up.

    So the least cost of such numbers is a bound. With any prices of the rows, none negative, the rows can be taken
    into the cost: what is left falls apart into the pieces (each at 0 or its limit) and the days of units, of which
    the best is known exactly. By weak duality the result is a bound whatever the prices are. A linear program over
    the ways found so far gives the prices, a way that is best at them is added to it, and so on; the largest bound of
    all rounds is returned, less a part in a million for rounding.
    """
    days = beam_days(compiled, book)
    if not days.recipes:
        return 0.0
    best = 0.0
    try:
        program = _Program(compiled, book, days, earliest, is_over)
        for _ in range(MOST_ROUNDS):
            value, bound = program.round()
            best = max(best, bound)
            if value - best <= CLOSE * abs(value):
                break
    except _OverError:
        pass
    return best * (1 - 1e-6)


class _OverError(Exception):
    """Raised inside a round that is not wanted any more."""


class _Program:
    def __init__(
        self,
        compiled: Compiled,
        book: Bookings,
        days: BeamDays,
        earliest: dict[int, int],
        is_over: Callable[[], bool],
    ) -> None:
        self.compiled, self.book, self.days, self.is_over = compiled, book, days, is_over
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.rows: list[tuple[pywraplp.Constraint, float]] = []
        self.made: list[_Made] = []
        self.constant, self.best = 0.0, 0.0
        self.best_prices: Prices = {}
        self.n_units = len(compiled.units)
        self.used: NDArray[np.bool_] = np.logical_or.reduce(days.may, axis=0)
        self.parts, self.part_of = self._parts()
        self.finished = self._least_finish()
        self.demand = {key: self._row(0.0) for key in self.finished}
        self.copies = self._mold_rows()
        self.one_way = [self.solver.Constraint(-self.solver.infinity(), 1.0) for _ in days.days]
        self.solver.Objective().SetMinimization()
        for line in compiled.lines:
            left = line.order.quantity - line.kept_pieces
            if left > 0:
                self._add_line(line, left, earliest[line.ix])

    def round(self) -> tuple[float, float]:
        """Solve with the ways known so far, price, and add the best ways; returns the value and a bound."""
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            return self.constant, 0.0
        value = self.constant + self.solver.Objective().Value() / SCALE
        prices = {ix: max(-row.dual_value(), 0.0) / SCALE for ix, (row, _) in enumerate(self.rows)}
        if self.best_prices:
            prices = {ix: SMOOTHING * self.best_prices[ix] + (1 - SMOOTHING) * each for ix, each in prices.items()}
        gains, counts = self.days.best(self._worth(prices), self._look)
        bound = self.constant - float(gains.sum()) - sum(prices[ix] * limit for ix, (_, limit) in enumerate(self.rows))
        for made in self.made:
            reduced = made.cost + sum(factor * prices[ix] for ix, factor in made.factors.items())
            bound += min(reduced, 0.0) * made.upper
        if not self.best_prices or bound > self.best:
            self.best, self.best_prices = bound, prices
        for number in np.flatnonzero(gains > 0).tolist():
            self._add_way(number, counts[:, :, number])
        return value, bound

    def _look(self) -> None:
        if self.is_over():
            raise _OverError

    def _row(self, limit: float) -> int:
        """Add a row `... <= limit`; returns its number."""
        self.rows.append((self.solver.Constraint(-self.solver.infinity(), limit), limit))
        return len(self.rows) - 1

    def _of_day(self, day: int) -> slice:
        return slice(day * self.n_units, (day + 1) * self.n_units)

    def _parts(self) -> tuple[list[_Part], NDArray[np.int64]]:
        """Cut each day where heats may begin into parts of the same length; returns also the part of each slot."""
        length, n_days = self.used.shape[0], len(self.compiled.grid.days)
        parts, part_of = list[_Part](), np.zeros((n_days, length), np.int64)
        for day in range(n_days):
            slots = np.flatnonzero(self.used[:, :, self._of_day(day)].any(axis=(1, 2)))
            begin, end = (int(slots[0]), int(slots[-1]) + 1) if slots.size else (0, length)
            cuts = [0, *(begin + (end - begin) * part // PARTS for part in range(1, PARTS)), length]
            for first, after in pairwise(cuts):
                part_of[day, first:after] = len(parts)
                parts.append(_Part(day, first, after))
        return parts, part_of

    def _cooled(self, part: _Part, recipe: int) -> int | None:
        """Return when the first heat of a recipe in a part can have cooled."""
        at = slice(part.first, part.after), recipe, self._of_day(part.day)
        used = self.used[at]
        if not used.any():
            return None
        demold = self.compiled.makes[self.days.recipes[recipe][1]].demold_slots
        cool = np.maximum(self.days.turn[at] - demold, 0)
        ends = np.arange(part.first, part.after)[:, None] + self.days.cook[at] + cool
        return self.compiled.grid.days[part.day][1] + int(ends[used].min())

    def _least_finish(self) -> dict[tuple[int, int], int]:
        """Return for each recipe and part when its first heat can be finished; none where it cannot be."""
        found = {}
        for recipe, (_, product_id) in enumerate(self.days.recipes):
            self._look()
            for number, part in enumerate(self.parts):
                cooled = self._cooled(part, recipe)
                finished = None if cooled is None else _finished(self.compiled, self.book, product_id, cooled)
                if finished is not None and finished <= self.compiled.n_slots:
                    found[recipe, number] = finished
        return found

    def _mold_rows(self) -> dict[tuple[str, int], int]:
        """Add for each mold and part the row of its heats in that day up to the end of the part."""
        rows = {}
        for mold_id in sorted({mold_id for mold_id, _ in self.days.recipes}):
            for day in range(len(self.compiled.grid.days)):
                starts = _mold_starts(self.days, self.used, mold_id, self._of_day(day))
                for number, part in enumerate(self.parts):
                    if part.day == day:
                        count = sum(start < part.after for start in starts)
                        rows[mold_id, number] = self._row(float(len(self.compiled.copies_of[mold_id]) * count))
        return rows

    def _add_line(self, line: Line, left: int, earliest: int) -> None:
        self._look()
        compiled, order, solver = self.compiled, line.order, self.solver
        missing = compiled.problem.weights.missing_piece_share * order.priority * 1000 * left / order.quantity
        left_out = lateness_cost(compiled, line, compiled.n_slots) + missing
        self.constant += left_out
        whole = self._row(float(left))
        for (recipe, number), finish in self.finished.items():
            mold_id, product_id = self.days.recipes[recipe]
            if product_id != order.product_id:
                continue
            each = 1 / compiled.molds[mold_id].cavities
            cost = (lateness_cost(compiled, line, max(finish, earliest)) - left_out) / left
            factors = {whole: 1.0, self.demand[recipe, number]: each}
            for later in range(number, len(self.parts)):
                if self.parts[later].day == self.parts[number].day:
                    factors[self.copies[mold_id, later]] = each
            variable = solver.NumVar(0.0, float(left), "")
            solver.Objective().SetCoefficient(variable, cost * SCALE)
            for ix, factor in factors.items():
                self.rows[ix][0].SetCoefficient(variable, factor)
            self.made.append(_Made(cost, left, factors))

    def _worth(self, prices: Prices) -> NDArray[np.float64]:
        by_part = np.zeros((len(self.days.recipes), len(self.parts)))
        for (recipe, number), row in self.demand.items():
            by_part[recipe, number] = prices[row]
        worth = np.zeros(self.days.cook.shape)
        for day in range(len(self.compiled.grid.days)):
            worth[:, :, self._of_day(day)] = by_part[:, self.part_of[day]].T[:, :, None]
        return worth

    def _add_way(self, number: int, counts: NDArray[np.float64]) -> None:
        """Add a way of a unit through a day to the program."""
        heats: dict[int, float] = defaultdict(float)
        for slot, recipe in zip(*np.nonzero(counts), strict=True):
            key = int(recipe), int(self.part_of[number // self.n_units, slot])
            if key in self.demand:
                heats[self.demand[key]] += 1
        variable = self.solver.NumVar(0.0, self.solver.infinity(), "")
        self.one_way[number].SetCoefficient(variable, 1.0)
        for row, count in heats.items():
            self.rows[row][0].SetCoefficient(variable, -count)


def _finished(compiled: Compiled, book: Bookings, product_id: str, cooled: int) -> int | None:
    """Return when a cycle that has cooled can be finished, were it the only new work; None if it cannot be."""
    make, at = compiled.makes[product_id], cooled
    if make.demold_slots:
        begin = first_slot(book.crew_starts(((HANDLING, make.product.demold_crew),), make.demold_slots), at)
        if begin is None:
            return None
        at = begin + make.demold_slots
    for step in make.steps:
        begin = first_slot(book.step_starts(step), at + step.rest_slots)
        if begin is None:
            return None
        at = begin + step.slots
    return at


def _mold_starts(days: BeamDays, used: NDArray[np.bool_], mold_id: str, of_day: slice) -> list[int]:
    """Return the earliest starts of heat of one mold in a day, back to back, each on whichever unit frees it first.

    When a mold is free again never falls with when it is free to begin, so no plan has more heats of it by any time.
    """
    length, never = days.cook.shape[0], 10**6
    at, starts, rows, slots = -length, list[int](), [], np.arange(length)[:, None]
    for recipe, (owner, _) in enumerate(days.recipes):
        if owner == mold_id:
            may = used[:, recipe, of_day]
            free = np.where(may, slots + days.cook[:, recipe, of_day] + days.turn[:, recipe, of_day], never)
            rows.append((int(days.charge[recipe]), np.flatnonzero(may.any(axis=1)), free.min(axis=1)))
    while True:
        begins, ends = list[int](), list[int]()
        for charge, possible, free in rows:
            first = max(at + charge, 0)
            ahead = possible[possible >= first]
            if ahead.size:
                begins.append(int(ahead[0]))
                ends.append(int(free[first:].min()))
        if not begins:
            return starts
        starts.append(min(begins))
        at = min(ends)
