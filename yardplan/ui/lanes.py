"""The rows of the board: which there are, where each stands, and what each person does when."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Protocol, TypeVar

from yardplan.domain.people import Downtime, Operator, ResourceKind, shift_span
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard

GROUP_PX = 8
"""Room above a group of rows; crew and benches have a heading there as well."""


class LaneKind(StrEnum):
    """What a row shows."""

    HEAT = "heat"
    CHAMBER = "chamber"
    BATTERY = "battery"
    CREW = "crew"
    BENCH = "bench"


@dataclass(frozen=True)
class Lane:
    """One row: what it shows, of which unit, chamber, person or bench, and where it stands [px].

    `opens` says that a group begins here, with room above it.
    """

    kind: LaneKind
    ident: str
    title: str
    top_px: float
    height_px: float
    opens: bool

    @property
    def bottom_px(self) -> float:
        """Where the row ends [px]."""
        return self.top_px + self.height_px


class Part(StrEnum):
    """Which work a person does."""

    CHARGE = "charge"
    DEMOLD = "demold"
    CHANGE = "change"
    FINISH = "finish"


@dataclass(frozen=True)
class CrewJob:
    """A piece of a plan from the view of one person."""

    operator_id: str
    part: Part
    start_slot: int
    end_slot: int
    work: Cycle | MoldChange | FinishJob

    @property
    def cycle_id(self) -> str:
        """The cycle that the work belongs to, empty for a mold change."""
        if isinstance(self.work, MoldChange):
            return ""
        return self.work.cycle_id if isinstance(self.work, FinishJob) else self.work.id


class _Spanned(Protocol):
    @property
    def start_slot(self) -> int: ...
    @property
    def end_slot(self) -> int: ...


_Job = TypeVar("_Job", bound=_Spanned)


def charge_end_slot(cycle: Cycle, yard: Yard, grid: SlotGrid) -> int:
    """Return the slot at which charging is over; until heat starts the mold then waits."""
    charged = cycle.charge_slot + cycle.clean_slots + grid.slots_up(yard.product(cycle.product_id).charge_min)
    return min(charged, cycle.heat_slot)


def crew_jobs(plan: Plan, yard: Yard) -> dict[str, list[CrewJob]]:
    """Return each operator's jobs in order of time."""
    found: dict[str, list[CrewJob]] = {operator.id: [] for operator in yard.operators}

    def add(crew: Iterable[str], part: Part, start: int, end: int, work: Cycle | MoldChange | FinishJob) -> None:
        for ident in crew:
            found[ident].append(CrewJob(ident, part, start, end, work))

    for cycle in plan.cycles:
        charged = charge_end_slot(cycle, yard, plan.grid)
        add(cycle.charge_crew, Part.CHARGE, cycle.charge_slot, charged, cycle)
        add(cycle.demold_crew, Part.DEMOLD, cycle.demold_slot, cycle.end_slot, cycle)
    for change in plan.mold_changes:
        add(change.crew, Part.CHANGE, change.start_slot, change.end_slot, change)
    for job in plan.finishing:
        add((job.operator_id,), Part.FINISH, job.start_slot, job.end_slot, job)
    for jobs in found.values():
        jobs.sort(key=lambda job: (job.start_slot, job.end_slot))
    return found


def tracks(jobs: Iterable[_Job]) -> list[tuple[int, _Job]]:
    """Return the jobs, sorted by start, each with the first free of several tracks on which none overlap."""
    free_from: list[int] = []
    placed = []
    for job in jobs:
        track = next((ix for ix, free in enumerate(free_from) if free <= job.start_slot), len(free_from))
        if track == len(free_from):
            free_from.append(0)
        free_from[track] = job.end_slot
        placed.append((track, job))
    return placed


def lay_out(yard: Yard, line_px: float, hidden: frozenset[str], n_tracks: dict[str, int]) -> tuple[Lane, ...]:
    """Return the rows from top to bottom.

    Parameters
    ----------
    line_px : float
        Height of a line of text [px]; all rows grow with it.
    hidden : frozenset of str
        Values of `LaneKind` that are not wanted.
    n_tracks : dict
        For an operator's id the number of jobs side by side, where it is more than one.
    """
    job_px = line_px + 10
    wanted: list[tuple[LaneKind, str, str, float, bool]] = []
    for unit in yard.units:
        wanted.append((LaneKind.HEAT, unit.id, unit.name, 3.2 * line_px + 10, True))
        wanted += [(LaneKind.CHAMBER, chamber.id, chamber.id, line_px + 38, False) for chamber in unit.chambers]
        wanted.append((LaneKind.BATTERY, unit.id, unit.name, 2.4 * line_px + 6, False))
    for ix, operator in enumerate(yard.operators):
        height_px = job_px * n_tracks.get(operator.id, 1)
        wanted.append((LaneKind.CREW, operator.id, operator.name, height_px, ix == 0))
    for ix, bench in enumerate(yard.benches):
        wanted.append((LaneKind.BENCH, bench.id, bench.name, job_px, ix == 0))
    lanes: list[Lane] = []
    top_px, opens = 0.0, False
    for kind, ident, title, height_px, first in wanted:
        opens = opens or first
        if kind.value in hidden:
            continue
        if opens:
            top_px += GROUP_PX if kind in (LaneKind.HEAT, LaneKind.CHAMBER) else line_px + GROUP_PX
        lanes.append(Lane(kind, ident, title, top_px, round(height_px), opens))
        top_px += round(height_px)
        opens = False
    return tuple(lanes)


def down_spans(
    lane: Lane, yard: Yard, downtimes: Iterable[Downtime], grid: SlotGrid
) -> list[tuple[int, int, Downtime]]:
    """Return first slot, slot after the last, and cause of each time in which the row's resource is out of work."""
    concerned = {(ResourceKind.YARD, "")}
    if lane.kind is LaneKind.CHAMBER:
        concerned |= {(ResourceKind.CHAMBER, lane.ident), (ResourceKind.UNIT, yard.unit_of(lane.ident).id)}
    elif lane.kind is LaneKind.HEAT:
        concerned.add((ResourceKind.UNIT, lane.ident))
    elif lane.kind is LaneKind.CREW:
        concerned.add((ResourceKind.OPERATOR, lane.ident))
    elif lane.kind is LaneKind.BENCH:
        concerned.add((ResourceKind.BENCH, lane.ident))
    else:
        return []
    spans = []
    for down in downtimes:
        key = (down.kind, "" if down.kind is ResourceKind.YARD else down.resource_id)
        first, after = max(grid.slot(down.start_at), 0), min(grid.slot_up(down.end_at), grid.n_slots)
        if key in concerned and first < after:
            spans.append((first, after, down))
    return spans


def duty_spans(operator: Operator, yard: Yard, grid: SlotGrid) -> list[tuple[float, float]]:
    """Return the spans [slots] in which a person is on shift and not on a break."""
    shifts = {shift.id: shift for shift in yard.shifts}
    spans: list[tuple[float, float]] = []
    first_on = grid.days[0][0] - timedelta(days=1)
    for offset in range(len(grid.days) + 1):
        on = first_on + timedelta(days=offset)
        for duty in operator.duties:
            if on in operator.days_off or not duty.holds_on(on):
                continue
            shift = shifts[duty.shift_id]
            start, end = shift_span(shift, on)
            edges = [start]
            for break_start, minutes in sorted(shift.breaks):
                pause = datetime.combine(on, break_start)
                pause += timedelta(days=1 if pause < start else 0)
                edges += [pause, pause + timedelta(minutes=minutes)]
            edges.append(end)
            for one, two in zip(edges[::2], edges[1::2], strict=True):
                spans.append((_slot_of_local(one, grid), _slot_of_local(two, grid)))
    return [(max(one, 0.0), min(two, float(grid.n_slots))) for one, two in spans if two > 0 and one < grid.n_slots]


def runs(flags: Iterable[bool]) -> list[tuple[int, int]]:
    """Return first and after-last position of each run of true values."""
    found: list[tuple[int, int]] = []
    start: int | None = None
    position = -1
    for position, flag in enumerate(flags):
        if flag and start is None:
            start = position
        elif not flag and start is not None:
            found.append((start, position))
            start = None
    if start is not None:
        found.append((start, position + 1))
    return found


def cycles_by_day(plan: Plan) -> dict[date, int]:
    """Return how many cycles start on each local day."""
    counts: dict[date, int] = defaultdict(int)
    for cycle in plan.cycles:
        counts[plan.grid.local(cycle.charge_slot).date()] += 1
    return counts


def _slot_of_local(wall: datetime, grid: SlotGrid) -> float:
    at = wall.replace(tzinfo=grid.zone)
    return (at.timestamp() - grid.start_at.timestamp()) / 60 / grid.slot_min
