"""Which part of a plan is laid anew: stretches of chambers and finishing jobs; all else stays as it is."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.solve.compiled import Compiled, Place

Event = Cycle | MoldChange


@dataclass(frozen=True)
class Gap:
    """A time in which no fixed work ties a mold to a chamber, with what it ran before and must suit after.

    Attributes
    ----------
    state_in : (grade, color)
        What the mold ran last before.
    next_cycle : Cycle or None
        The fixed cycle of the mold that follows; its clean-down is as it is.
    """

    copy: MoldCopy
    start: int
    end: int
    state_in: tuple[str, str]
    next_cycle: Cycle | None


@dataclass(frozen=True)
class Row:
    """A stretch ``[start, end)`` of a chamber that is laid anew.

    Attributes
    ----------
    hung, must_hang : MoldCopy or None
        What hangs at the start, and what must hang at the end because fixed work follows (None: anything).
    gaps : tuple of Gap
        The molds that may be used, each with the time in which it may hang here.
    cycles : tuple of Cycle
        What the plan has there now, in order of time.
    changes : tuple of MoldChange
        Mold changes there now.
    """

    place: Place
    start: int
    end: int
    hung: MoldCopy | None
    must_hang: MoldCopy | None
    gaps: tuple[Gap, ...]
    cycles: tuple[Cycle, ...]
    changes: tuple[MoldChange, ...]


@dataclass(frozen=True)
class Freed:
    """A plan with a part of it free: `fixed` holds the rest.

    `loose` are fixed cycles whose finishing is free from a step on.
    """

    plan: Plan
    fixed: Plan
    rows: tuple[Row, ...]
    loose: tuple[tuple[Cycle, int], ...]


class Timeline:
    """What happens in each chamber of a plan, in order of time."""

    def __init__(self, compiled: Compiled, plan: Plan) -> None:
        self.compiled, self.plan = compiled, plan
        kept = compiled.problem.kept
        self.kept_ids = {row.id for rows in (kept.cycles, kept.mold_changes, kept.finishing) for row in rows}
        self.events: dict[str, list[Event]] = {place.id: [] for place in compiled.places}
        for cycle in plan.cycles:
            self.events[cycle.chamber_id].append(cycle)
        for change in plan.mold_changes:
            self.events[change.chamber_id].append(change)
        for events in self.events.values():
            events.sort(key=lambda event: (event_start(event), event.end_slot))

    def stays(self) -> dict[MoldCopy, list[tuple[int, int, str]]]:
        """Return for each mold where it hangs: from the start of its change to the end of the next, and chamber."""
        found: dict[MoldCopy, list[tuple[int, int, str]]] = defaultdict(list)
        long_ago, for_good = -(10**6), 10**6
        for chamber_id, events in self.events.items():
            hung, since = self.compiled.hung.get(chamber_id), long_ago
            for event in events:
                if isinstance(event, MoldChange):
                    if hung is not None:
                        found[hung].append((since, event.end_slot, chamber_id))
                    hung, since = event.mold_in, event.start_slot
            if hung is not None:
                found[hung].append((since, for_good, chamber_id))
        return found


def event_start(event: Event) -> int:
    """Return when a cycle or mold change begins."""
    return event.charge_slot if isinstance(event, Cycle) else event.start_slot


def molds_of(event: Event) -> tuple[MoldCopy, ...]:
    """Return the molds that a cycle or mold change handles."""
    if isinstance(event, Cycle):
        return (event.mold,)
    return (event.mold_in,) if event.mold_out is None else (event.mold_out, event.mold_in)


def free_part(
    timeline: Timeline,
    is_free: Callable[[Event], bool],
    chambers: Iterable[str],
    *,
    molds: frozenset[MoldCopy] = frozenset(),
    empty_rows: Callable[[str], bool] = lambda chamber_id: False,
    free_finish: Callable[[Cycle], bool] = lambda cycle: False,
) -> Freed:
    """Return the plan with a part of it free.

    Parameters
    ----------
    is_free : callable
        Which cycles and mold changes of `chambers` are laid anew; kept ones never are.
    molds : frozenset of MoldCopy
        Molds that may be used beside those that hang there now.
    empty_rows : callable
        Whether a chamber's stretches without any event are laid anew as well.
    free_finish : callable
        Of which cycles that stay where they are the finishing is laid anew.
    """
    compiled, plan = timeline.compiled, timeline.plan
    stretches = [
        stretch
        for chamber_id in chambers
        for stretch in _stretches(timeline, compiled.place_of[chamber_id], is_free, empty_rows(chamber_id))
    ]
    gone = {event.id for stretch in stretches for event in stretch.events}
    fixed_cycles = tuple(cycle for cycle in plan.cycles if cycle.id not in gone)
    blocked = _blocked(timeline, stretches)
    rows = tuple(_row(compiled, stretch, stretches, fixed_cycles, blocked, molds) for stretch in stretches)
    gone_jobs, loose = _loose_jobs(timeline, gone, free_finish)
    fixed = Plan(
        plan.grid,
        fixed_cycles,
        tuple(change for change in plan.mold_changes if change.id not in gone),
        tuple(job for job in plan.finishing if job.cycle_id not in gone and job.id not in gone_jobs),
    )
    return Freed(plan, fixed, rows, loose)


@dataclass(frozen=True)
class _Stretch:
    place: Place
    start: int
    end: int
    hung: MoldCopy | None
    must_hang: MoldCopy | None
    events: tuple[Event, ...]


def _stretches(timeline: Timeline, place: Place, is_free: Callable[[Event], bool], with_empty: bool) -> list[_Stretch]:
    compiled = timeline.compiled
    found: list[_Stretch] = []
    hung, start, run = compiled.hung.get(place.id), compiled.now_slot, list[Event]()
    hung_at_start = hung

    def close(end: int, must_hang: MoldCopy | None) -> None:
        if (run or with_empty) and end > start:
            found.append(_Stretch(place, start, end, hung_at_start, must_hang, tuple(run)))

    for event in timeline.events[place.id]:
        free = event.id not in timeline.kept_ids and is_free(event)
        if free:
            run.append(event)
        else:
            needed = event.mold if isinstance(event, Cycle) else event.mold_out
            close(event_start(event), needed)
            run, start = [], max(event.end_slot, compiled.now_slot)
        hung = event.mold if isinstance(event, Cycle) else event.mold_in
        if not free:
            hung_at_start = hung
    close(compiled.n_slots, None)
    return found


def _blocked(timeline: Timeline, stretches: list[_Stretch]) -> dict[MoldCopy, list[tuple[int, int]]]:
    """Return when fixed work or fixed hanging ties each mold to a chamber: its stays less the free stretches."""
    by_chamber: dict[str, list[_Stretch]] = defaultdict(list)
    for stretch in stretches:
        by_chamber[stretch.place.id].append(stretch)
    blocked: dict[MoldCopy, list[tuple[int, int]]] = defaultdict(list)
    for copy, stays in timeline.stays().items():
        for since, until, chamber_id in stays:
            for stretch in by_chamber[chamber_id]:
                if since < stretch.end and stretch.start < until:
                    if since < stretch.start:
                        blocked[copy].append((since, stretch.start))
                    since = until if stretch.must_hang is None else stretch.end
            if since < until:
                blocked[copy].append((since, until))
    for spans in blocked.values():
        spans.sort()
    return blocked


def _row(
    compiled: Compiled,
    stretch: _Stretch,
    stretches: list[_Stretch],
    fixed_cycles: tuple[Cycle, ...],
    blocked: dict[MoldCopy, list[tuple[int, int]]],
    molds: frozenset[MoldCopy],
) -> Row:
    changes = tuple(event for event in stretch.events if isinstance(event, MoldChange))
    cycles = tuple(event for event in stretch.events if isinstance(event, Cycle))
    used = {copy for copy in (stretch.hung, stretch.must_hang) if copy is not None}
    used |= {change.mold_in for change in changes}
    used |= molds
    gaps = []
    for copy in sorted(used):
        if compiled.fits(copy.mold_id, stretch.place.id):
            gap = _gap(compiled, copy, stretch, fixed_cycles, blocked.get(copy, []))
            # A mold that fixed work needs in another chamber right after its stretch stays there meanwhile.
            elsewhere = any(
                other.must_hang == copy and gap is not None and other.end == gap.end
                for other in stretches
                if other is not stretch
            )
            if gap is not None and not elsewhere:
                gaps.append(gap)
    return Row(
        stretch.place, stretch.start, stretch.end, stretch.hung, stretch.must_hang, tuple(gaps), cycles, changes
    )  # fmt: skip


def _gap(
    compiled: Compiled,
    copy: MoldCopy,
    stretch: _Stretch,
    fixed_cycles: tuple[Cycle, ...],
    blocked: list[tuple[int, int]],
) -> Gap | None:
    """Return the longest time in the stretch in which nothing else ties the mold; the hung mold's is the first."""
    edges = [(-(10**6), -(10**6)), *blocked, (10**6, 10**6)]
    best: tuple[int, int] | None = None
    for (_, free_from), (free_until, _) in pairwise(edges):
        inside = min(free_until, stretch.end) - max(free_from, stretch.start)
        if inside > 0 and (best is None or inside > min(best[1], stretch.end) - max(best[0], stretch.start)):
            best = (free_from, free_until)
            if copy == stretch.hung:
                break
    if best is None:
        return None
    own = [cycle for cycle in fixed_cycles if cycle.mold == copy]
    after = [cycle for cycle in own if cycle.charge_slot >= min(best[1], stretch.end)]
    state_in = compiled.last_state(own, copy, best[0])
    return Gap(copy, best[0], best[1], state_in, min(after, key=lambda row: row.charge_slot, default=None))


def _loose_jobs(
    timeline: Timeline, gone: set[str], free_finish: Callable[[Cycle], bool]
) -> tuple[set[str], tuple[tuple[Cycle, int], ...]]:
    """Return the ids of free jobs of fixed cycles, and these cycles with their first step that is free."""
    by_cycle: dict[str, list[FinishJob]] = defaultdict(list)
    for job in timeline.plan.finishing:
        by_cycle[job.cycle_id].append(job)
    jobs: set[str] = set()
    loose: list[tuple[Cycle, int]] = []
    for cycle in timeline.plan.cycles:
        n_steps = len(timeline.compiled.makes[cycle.product_id].steps)
        if cycle.id in gone or not n_steps or not free_finish(cycle):
            continue
        first = sum(job.id in timeline.kept_ids for job in by_cycle[cycle.id])
        if first < n_steps:
            jobs |= {job.id for job in by_cycle[cycle.id] if job.id not in timeline.kept_ids}
            loose.append((cycle, first))
    return jobs, tuple(loose)
