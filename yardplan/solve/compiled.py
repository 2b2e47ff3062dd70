"""The problem in whole numbers: positions instead of names, slots instead of instants, bit masks instead of calendars.

Bit `i` of a mask stands for slot `i` of the grid. A mask is one Python integer: cutting, joining and shifting
a week of 2,016 slots takes about a microsecond.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from itertools import pairwise
from math import ceil, floor
from typing import NamedTuple

import numpy as np

from yardplan.domain.equipment import Mold, MoldCopy
from yardplan.domain.errors import require
from yardplan.domain.orders import Order
from yardplan.domain.people import Downtime, Operator, ResourceKind, shift_span
from yardplan.domain.plan import Cycle
from yardplan.domain.problem import Problem
from yardplan.domain.products import Product
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import NEVER
from yardplan.solve.rests import Rests
from yardplan.solve.rests import runs as runs

COST_LIMIT = 2**52
"""Largest cost that the planner takes: far below what CP-SAT's 64-bit sums can hold."""

EnergyUse = tuple[int, tuple[tuple[int, int], ...]]
"""How many slots of a job lie after sunset, and how many in which span of energy: (slots, ((span, slots), ...))."""


def span_mask(start: int, end: int) -> int:
    """Return the mask of the slots in ``[start, end)``, cut at 0."""
    start = max(start, 0)
    return ((1 << (end - start)) - 1) << start if end > start else 0


def spread(mask: int, length: int) -> int:
    """Return the mask of the slots that work of `length` slots takes when it starts in a slot of a mask."""
    have = 1
    while have < length:
        step = min(have, length - have)
        mask |= mask << step
        have += step
    return mask if length else 0


def first_slot(mask: int, at_least: int = 0) -> int | None:
    """Return the first set slot from `at_least` on, None if there is none."""
    rest = mask >> max(at_least, 0)
    return max(at_least, 0) + (rest & -rest).bit_length() - 1 if rest else None


def spans(mask: int) -> list[tuple[int, int]]:
    """Return the runs of set slots as ``[start, end)``."""
    found, at = [], 0
    while mask:
        skip = (mask & -mask).bit_length() - 1
        mask >>= skip
        at += skip
        length = (~mask & (mask + 1)).bit_length() - 1
        found.append((at, at + length))
        mask >>= length
        at += length
    return found


class Window(NamedTuple):
    """A stretch ``[start, end)`` that somebody is at work: one shift without its breaks; jobs stay inside one."""

    start: int
    end: int
    overtime: bool


@dataclass(frozen=True, eq=False)
class CookRow:
    """Cook and cooling slots of a recipe on a unit by start slot; `starts` marks those that reach PIAT."""

    cook: list[int]
    cool: list[int]
    starts: int

    @cached_property
    def shortest_slots(self) -> int:
        """The fewest slots of cooking and cooling from any start."""
        return min((cook + cool for cook, cool in zip(self.cook, self.cool, strict=True) if cook), default=0)


@dataclass(frozen=True)
class Step:
    """One finishing step in slots; `watts` rounded up."""

    bench_kind: str
    skill: str
    slots: int
    rest_slots: int
    watts: int
    kwh: float


@dataclass(frozen=True, eq=False)
class Make:
    """A product in slots, with what one piece takes of each stock item [thousandths]."""

    product: Product
    charge_slots: int
    demold_slots: int
    steps: tuple[Step, ...]
    inserts: tuple[tuple[str, int], ...]
    resin_milli: int


@dataclass(frozen=True, eq=False)
class Line:
    """An order as the planner sees it; `kept_pieces` are in kept cycles already."""

    ix: int
    order: Order
    make: Make
    state: tuple[str, str]
    goal_slot: int
    kept_pieces: int
    late_weight: int
    """Cost of one slot late."""


class Way(NamedTuple):
    """A mold that can make an order in a chamber, and its cook row there."""

    mold_id: str
    cavities: int
    row: CookRow


@dataclass(frozen=True, eq=False)
class Place:
    """A chamber: its unit, the slots in which work may be done in it, and those in which a mold may wait in it."""

    id: str
    unit_ix: int
    open: int
    waiting: int


class Compiled:
    """A problem in whole numbers; reads everything once, changes nothing.

    Parameters
    ----------
    problem : Problem
        The question.

    Raises
    ------
    InvalidField
        If the weights could make costs too large for exact sums.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.grid: SlotGrid = problem.grid
        self.n_slots = problem.grid.n_slots
        self.now_slot = min(problem.now_slot, self.n_slots)
        yard = problem.yard
        self.open = span_mask(self.now_slot, self.n_slots)
        self.rests = Rests(problem)
        self._down = _down_masks(problem)
        yard_down = self.down(ResourceKind.YARD, "")
        self.units = tuple(unit.id for unit in yard.units)
        self.unit_ix = {unit.id: ix for ix, unit in enumerate(yard.units)}
        self.places = tuple(
            Place(
                chamber.id,
                ix,
                self.open
                & ~(yard_down | self.down(ResourceKind.UNIT, unit.id) | self.down(ResourceKind.CHAMBER, chamber.id)),
                self.open & ~yard_down,
            )
            for ix, unit in enumerate(yard.units)
            for chamber in unit.chambers
        )
        self.place_of = {place.id: place for place in self.places}
        self.chambers = {chamber.id: chamber for chamber in yard.chambers}
        self.molds: dict[str, Mold] = {mold.id: mold for mold in yard.molds}
        self.change_slots = {mold.id: self.grid.slots_up(mold.change_min) for mold in yard.molds}
        self.copies = yard.mold_copies
        self.copy_open = {copy: ~(yard_down | self.down(ResourceKind.MOLD, str(copy))) for copy in self.copies}
        self.hung = {hung.chamber_id: hung.mold for hung in yard.hung}
        self.run_last = {hung.mold: (hung.grade, hung.color) for hung in yard.hung}
        self.people: dict[str, Operator] = {operator.id: operator for operator in yard.operators}
        self.windows = {operator.id: self._windows(operator) for operator in yard.operators}
        self._overtime = {
            person: _join(window for window in windows if window.overtime) for person, windows in self.windows.items()
        }
        self._day_masks = [mask for _, a, b in self.grid.days for mask in [span_mask(a, b)] * (b - a)]
        # Shifts that touch are not one stretch of work, so neighbors go into different masks.
        self.at_work = {
            person: tuple(_join(windows[first::2]) for first in (0, 1)) for person, windows in self.windows.items()
        }
        self.at_work_regular = {
            person: tuple(_join(row for row in windows[first::2] if not row.overtime) for first in (0, 1))
            for person, windows in self.windows.items()
        }
        self.benches = {bench.id: bench for bench in yard.benches}
        self.benches_of: dict[str, list[str]] = {}
        for bench in yard.benches:
            self.benches_of.setdefault(bench.kind, []).append(bench.id)
        self.bench_unit = {bench.id: self.unit_ix[bench.unit_id] for bench in yard.benches}
        self.bench_open = {
            bench.id: self.open & ~(yard_down | self.down(ResourceKind.BENCH, bench.id)) for bench in yard.benches
        }
        self.makes = {product.id: self._make(product) for product in yard.products}
        self.cook = self._cook_rows()
        self._read_power()
        self._read_stock()
        self.lines = tuple(self._line(ix, order) for ix, order in enumerate(problem.orders))
        self.line_of = {line.order.id: line for line in self.lines}
        self._ways: dict[str, dict[int, tuple[Way, ...]]] = {}
        self._per_day: dict[tuple[str, str], float] = {}
        self._rows: dict[tuple[str, str, str], CookRow | None] = {}
        self._uses: dict[tuple[str, str, int], dict[str, int]] = {}
        self._skilled: dict[tuple[str, ...], tuple[str, ...]] = {}
        self._clean: dict[tuple[tuple[str, str], tuple[str, str]], int] = {}
        self._check_cost_size()

    def jobs_at_once(self, operator: Operator) -> int:
        """Return how many jobs somebody may be given at once: only one where the heat asks for rests between jobs."""
        return 1 if self.rests.is_on else operator.jobs_at_once

    def down(self, kind: ResourceKind, ident: str) -> int:
        """Return the slots in which a resource is out of work by its own down-times."""
        return self._down.get((kind, ident), 0)

    def clean_slots(self, before: tuple[str, str], after: tuple[str, str]) -> int:
        """Return slots to clean a mold between two (grade, color) pairs."""
        key = (before, after)
        if key not in self._clean:
            self._clean[key] = self.grid.slots_up(self.problem.yard.clean_down_min(before, after))
        return self._clean[key]

    def skilled(self, skills: tuple[str, ...]) -> tuple[str, ...]:
        """Return the people who have at least one of the skills."""
        if skills not in self._skilled:
            rows = self.problem.yard.operators
            self._skilled[skills] = tuple(row.id for row in rows if row.skills.intersection(skills))
        return self._skilled[skills]

    def in_overtime(self, person: str, slot: int) -> bool:
        """Tell whether a person at work in a slot is on overtime then."""
        return bool(self._overtime[person] >> slot & 1)

    def day_mask(self, slot: int) -> int:
        """Return the slots of the local day that a slot is in."""
        return self._day_masks[slot] if 0 <= slot < self.n_slots else 0

    def ways(self, chamber_id: str) -> dict[int, tuple[Way, ...]]:
        """Return for each order that can be made in a chamber how: its molds with their cook rows there."""
        if chamber_id not in self._ways:
            found = {
                line.ix: tuple(
                    Way(mold_id, self.molds[mold_id].cavities, row)
                    for mold_id in self.recipes[line.order.product_id]
                    if (row := self.row(mold_id, line.order.product_id, chamber_id)) is not None
                )
                for line in self.lines
            }
            self._ways[chamber_id] = {ix: ways for ix, ways in found.items() if ways}
        return self._ways[chamber_id]

    def span_slots(self, start: int, length: int) -> tuple[tuple[int, int], ...]:
        """Return how many slots of ``[start, start + length)`` lie in which span of energy: ((span, slots), ...)."""
        key = (start, length)
        if key not in self._span_slots:
            shared = ((ix, min(after, start + length) - max(first, start)) for ix, (first, after) in self.energy_spans)
            self._span_slots[key] = tuple((ix, slots) for ix, slots in shared if slots > 0)
        return self._span_slots[key]

    def energy_cuts(self, starts: int, length: int, told: Collection[int]) -> dict[EnergyUse, int]:
        """Cut a mask of starts by how many slots of a job would lie after sunset, and in which of the spans `told`."""
        found: dict[EnergyUse, int] = {}

        def add(slot: int, mask: int) -> None:
            dark = (self.evening_mask & span_mask(slot, slot + length)).bit_count()
            use = dark, tuple(each for each in self.span_slots(slot, length) if each[0] in told)
            found[use] = found.get(use, 0) | mask

        borders = {0, self.n_slots, *(slot for span in spans(self.evening_mask) for slot in span)}
        borders.update(slot for ix, span in self.energy_spans if ix in told for slot in span)
        for first, after in pairwise(sorted(borders)):
            inside = starts & span_mask(first, after)
            alike = inside & span_mask(first, after - length + 1)
            if alike:
                add(first, alike)
            for start, end in spans(inside & ~alike):  # the job goes on beyond the next border
                for slot in range(start, end):
                    add(slot, 1 << slot)
        return found

    def fits(self, mold_id: str, chamber_id: str, product_id: str | None = None) -> bool:
        """Tell whether a mold fits a chamber, charged for a product where one is given."""
        product = self.makes[product_id].product if product_id else None
        return self.problem.yard.fits(self.molds[mold_id], self.chambers[chamber_id], product)

    def row(self, mold_id: str, product_id: str, chamber_id: str) -> CookRow | None:
        """Return the cook row of a recipe in a chamber, None where it cannot be made there."""
        key = (mold_id, product_id, chamber_id)
        if key not in self._rows:
            fits = self.fits(mold_id, chamber_id, product_id)
            row = self.cook.get((mold_id, product_id, self.place_of[chamber_id].unit_ix))
            self._rows[key] = row if fits else None
        return self._rows[key]

    @cached_property
    def recipes(self) -> dict[str, tuple[str, ...]]:
        """For each product, its molds that have a cook row somewhere."""
        return {
            product.id: tuple(
                mold_id
                for mold_id in product.mold_ids
                if any(self.row(mold_id, product.id, place.id) for place in self.places)
            )
            for product in self.problem.yard.products
        }

    @cached_property
    def copies_of(self) -> dict[str, list[MoldCopy]]:
        """For each mold type, its physical molds."""
        return {mold_id: [copy for copy in self.copies if copy.mold_id == mold_id] for mold_id in self.molds}

    def cycles_per_day(self, mold_id: str, product_id: str) -> float:
        """Return about how many cycles a day one mold makes on its best unit, if it never waits."""
        if (mold_id, product_id) not in self._per_day:
            rows = [row for (mold, product, _), row in self.cook.items() if (mold, product) == (mold_id, product_id)]
            make = self.makes[product_id]
            best = max((_back_to_back(row, make.charge_slots + make.demold_slots) for row in rows), default=0)
            self._per_day[mold_id, product_id] = max(best / max(len(self.grid.days), 1), 0.1)
        return self._per_day[mold_id, product_id]

    def last_state(self, cycles: Iterable[Cycle], copy: MoldCopy, before_slot: int) -> tuple[str, str]:
        """Return the (grade, color) that a mold ran last before a slot; ("", "") if it is clean."""
        state, at = self.run_last.get(copy, ("", "")), -self.n_slots
        for cycle in cycles:
            if cycle.mold == copy and at < cycle.charge_slot < before_slot:
                state, at = (self.makes[cycle.product_id].product.resin_grade, cycle.color), cycle.charge_slot
        return state

    def _windows(self, operator: Operator) -> tuple[Window, ...]:
        """Return the operator's time at work: shifts less breaks, days off and down-times, in order."""
        shifts = {shift.id: shift for shift in self.problem.yard.shifts}
        down = self.down(ResourceKind.YARD, "") | self.down(ResourceKind.OPERATOR, operator.id)
        found: list[Window] = []
        for on in self._dates():
            for duty in operator.duties:
                if not duty.holds_on(on) or on in operator.days_off:
                    continue
                shift = shifts[duty.shift_id]
                start, end = (self._instant(naive) for naive in shift_span(shift, on))
                at_work = span_mask(self.grid.slot_up(start), self.grid.slot(end)) & self.open & ~down
                for break_start, minutes in shift.breaks:
                    naive = datetime.combine(on, break_start)
                    if break_start < shift.start_local:
                        naive += timedelta(days=1)
                    pause = self._instant(naive)
                    pause_end = pause + timedelta(minutes=minutes)
                    at_work &= ~span_mask(self.grid.slot(pause), self.grid.slot_up(pause_end))
                found += [Window(first, after, shift.overtime) for first, after in spans(at_work)]
        return tuple(sorted(found))

    def _dates(self) -> Iterable[date]:
        """Local days on which a shift may begin that touches the grid."""
        days = [on for on, _, _ in self.grid.days]
        return [days[0] - timedelta(days=1), *days]

    def _instant(self, naive: datetime) -> datetime:
        return naive.replace(tzinfo=self.grid.zone).astimezone(UTC)

    def _make(self, product: Product) -> Make:
        steps = tuple(
            Step(
                step.bench_kind,
                step.skill,
                self.grid.slots_up(step.minutes),
                self.grid.slots_up(step.rest_min),
                ceil(step.power_kw * 1000 - 1e-6),
                step.power_kw * step.minutes / 60,
            )
            for step in product.routing
        )
        inserts: dict[str, int] = {}
        for item_id, count in product.inserts:
            inserts[item_id] = inserts.get(item_id, 0) + count * 1000
        return Make(
            product,
            self.grid.slots_up(product.charge_min),
            self.grid.slots_up(product.demold_min),
            steps,
            tuple(inserts.items()),
            ceil(product.shot_kg * 1000 - 1e-6),
        )

    def _cook_rows(self) -> dict[tuple[str, str, int], CookRow]:
        table = self.problem.cook
        at = table.confidence_ix(self.problem.confidence)
        rows = {}
        for recipe_ix, recipe in enumerate(table.recipes):
            make = self.makes.get(recipe.product_id)
            if make is None or recipe.mold_id not in make.product.mold_ids:
                continue
            for unit_ix in range(len(self.units)):
                cook = table.cook_slots[at, recipe_ix, unit_ix].tolist()
                cool = table.cool_slots[at, recipe_ix, unit_ix].tolist()
                starts = 0
                for slot in range(self.now_slot, self.n_slots):
                    if cook[slot] != NEVER and slot + cook[slot] + cool[slot] + make.demold_slots <= self.n_slots:
                        starts |= 1 << slot
                if starts:
                    rows[recipe.mold_id, recipe.product_id, unit_ix] = CookRow(cook, cool, starts)
        return rows

    def _read_power(self) -> None:
        """Read watts for benches by unit and slot, and watt-slots by unit and span of energy, rounded down."""
        power = self.problem.power
        self.finish_watts = [[floor(kw * 1000 + 1e-3) for kw in row] for row in power.finish_kw.tolist()]
        self.evening_mask = sum(1 << slot for slot in np.flatnonzero(power.evening_ix >= 0).tolist())
        self.energy_spans = tuple(enumerate(power.spans))
        per_kwh = 1000 * 60 / self.grid.slot_min
        self.span_watt_slots = [[floor(kwh * per_kwh + 1e-3) for kwh in row] for row in power.span_kwh.tolist()]
        self._span_slots: dict[tuple[int, int], tuple[tuple[int, int], ...]] = {}

    def _read_stock(self) -> None:
        """Read what comes in of each stock item [thousandths], as (slot, amount) in order of time."""
        yard = self.problem.yard
        self.supply: dict[str, list[tuple[int, int]]] = {
            item.id: [(-1, floor(item.on_hand * 1000 + 1e-6))] for item in yard.items
        }
        for delivery in sorted(yard.deliveries, key=lambda row: row.arrives_at):
            slot = max(self.grid.slot_up(delivery.arrives_at), -1)
            self.supply[delivery.item_id].append((slot, floor(delivery.amount * 1000 + 1e-6)))

    def uses(self, product_id: str, color: str, pieces: int) -> dict[str, int]:
        """Return what a cycle takes of each stock item [thousandths]."""
        key = (product_id, color, pieces)
        if key not in self._uses:
            make = self.makes[product_id]
            taken = {item_id: count * pieces for item_id, count in make.inserts}
            resin = self.problem.yard.resin(make.product.resin_grade, color)
            if resin is not None:
                taken[resin.id] = taken.get(resin.id, 0) + make.resin_milli * pieces
            self._uses[key] = taken
        return self._uses[key]

    def _line(self, ix: int, order: Order) -> Line:
        make = self.makes[order.product_id]
        weights = self.problem.weights
        each = weights.other_late if order.promise_at is None else weights.promised_late
        return Line(
            ix,
            order,
            make,
            (make.product.resin_grade, order.color),
            self.grid.slot(order.goal_at),
            sum(cycle.pieces for cycle in self.problem.kept.cycles if cycle.order_id == order.id),
            each * order.priority,
        )

    def _check_cost_size(self) -> None:
        weights = self.problem.weights
        worst = 0
        for line in self.lines:
            late = max(self.n_slots - line.goal_slot, 0)
            worst += late * line.late_weight + line.order.priority * (
                weights.late_order + 1000 * weights.missing_piece_share + weights.slack * (late + weights.slack_slots)
            )
        early = sum(row.times * (self.n_slots - min(row.by_slot, 0)) for row in self.problem.early)
        worst += 9 * weights.slack * early
        worst += len(self.places) * self.n_slots * (weights.mold_change + weights.clean_down)
        worst += len(self.people) * self.n_slots * 10 * weights.overtime
        worst += len(self.benches) * self.n_slots * weights.evening
        worst += 1000 * weights.moved * len(self.problem.before.cycles if self.problem.before else ())
        require(worst < COST_LIMIT, "problem", "", "weights", worst, f"weights whose worst cost is below {COST_LIMIT}")


def _back_to_back(row: CookRow, handling_slots: int) -> int:
    count, at = 0, first_slot(row.starts)
    while at is not None:
        count += 1
        at = first_slot(row.starts, at + row.cook[at] + row.cool[at] + handling_slots)
    return count


def _join(windows: Iterable[Window]) -> int:
    mask = 0
    for window in windows:
        mask |= span_mask(window.start, window.end)
    return mask


def _down_masks(problem: Problem) -> dict[tuple[ResourceKind, str], int]:
    masks: dict[tuple[ResourceKind, str], int] = {}
    for down in problem.yard.downtimes:
        key = (down.kind, "" if down.kind is ResourceKind.YARD else down.resource_id)
        masks[key] = masks.get(key, 0) | _down_span(down, problem.grid)
    return masks


def _down_span(down: Downtime, grid: SlotGrid) -> int:
    return span_mask(grid.slot(down.start_at), min(grid.slot_up(down.end_at), grid.n_slots))
