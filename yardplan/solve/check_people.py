"""Rules of the crew: how many, who, when, and how much at once."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from typing import NamedTuple

from yardplan.domain.people import LOADER, RIGGING, Operator
from yardplan.domain.plan import Cycle, MoldChange, UpkeepJob
from yardplan.domain.rules import Rule, Violation
from yardplan.solve.check_case import Case, Span, broken, crowded


def crew_size(case: Case) -> Iterator[Violation]:
    """Demand as many different people as the work needs."""
    for work in case.work:
        different = len(set(work.people))
        if case.is_fact(work.row) or different == len(work.people) == work.crew_needed:
            continue
        twice = f", of which {different} different" if different < len(work.people) else ""
        text = (
            f"{work.doing} at {case.when(work.start_slot)} has {len(work.people)} people{twice}, "
            f"it takes {work.crew_needed}"
        )
        yield broken(Rule.CREW_SIZE, text, work.row)


def crew_skill(case: Case) -> Iterator[Violation]:
    """Demand the skills that the work needs; in a mold change one drives the loader and all others rig."""
    for work in case.work:
        if case.is_fact(work.row):
            continue
        crew = [case.people[ident] for ident in sorted(set(work.people)) if ident in case.people]
        names = ", ".join(person.name for person in crew)
        starts = f"{work.doing} at {case.when(work.start_slot)}"
        if isinstance(work.row, MoldChange):
            if len(crew) == work.crew_needed and not _can_change_molds(crew):
                text = (
                    f"{starts} takes one with the skill {LOADER} and {work.crew_needed - 1} others with {RIGGING}; "
                    f"{names} cannot share that out"
                )
                yield broken(Rule.CREW_SKILL, text, work.row)
            continue
        for person in crew:
            if work.skill not in person.skills:
                text = f"{starts} takes the skill {work.skill}, which {person.name} does not have"
                yield broken(Rule.CREW_SKILL, text, work.row)


def crew_shift(case: Case) -> Iterator[Violation]:
    """Demand that people work inside one of their shifts, outside breaks and days off.

    Shifts and breaks go by the local clock: a time that the clock shows twice means the first one, a time that
    it skips means as long after midnight as if the clock were not changed. A day off takes out the shifts that
    start on it. Source: common practice, no source.
    """
    stretches = cache(lambda person_id, on: tuple(_stretches(case, case.people[person_id], on)))
    for work in case.work:
        if case.is_fact(work.row) or work.end_slot <= work.start_slot:
            continue
        start_at, end_at = case.grid.at(work.start_slot), case.grid.at(work.end_slot)
        on = case.grid.local(work.start_slot).date()
        for person_id in sorted(set(work.people) & case.people.keys()):
            on_shift = [
                stretch
                # A shift lasts at most a day, so the one that holds the work starts that day or the day before.
                for day in (on - timedelta(days=1), on)
                for stretch in stretches(person_id, day)
                if stretch.start_at <= start_at and end_at <= stretch.end_at
            ]
            person = case.people[person_id].name
            does = f"{person} at {work.doing}, {case.from_to(work.start_slot, work.end_slot)}"
            if not on_shift:
                yield broken(Rule.CREW_SHIFT, f"{does}, is not on one shift all that time", work.row)
            for stretch in on_shift:
                for pause_at, back_at in stretch.breaks:
                    if pause_at < end_at and start_at < back_at:
                        pause = f"{pause_at.astimezone(case.grid.zone):%H:%M}"
                        text = f"{does}, would work through the break at {pause} of shift {stretch.shift_id}"
                        yield broken(Rule.CREW_SHIFT, text, work.row)


def crew_limit(case: Case) -> Iterator[Violation]:
    """Demand that nobody has more jobs at once than their limit."""
    busy: dict[str, list[Span]] = defaultdict(list)
    for work in case.work:
        if work.end_slot > work.start_slot:
            for person_id in set(work.people) & case.people.keys():
                busy[person_id].append(work)
    for person_id, spans in busy.items():
        person = case.people[person_id]
        for at_once in crowded(spans, person.jobs_at_once):
            jobs = "; ".join(work.doing for work in at_once)
            text = (
                f"{person.name} has {len(at_once)} jobs at {case.when(at_once[-1].start_slot)} "
                f"and may mind {person.jobs_at_once}: {jobs}"
            )
            yield broken(Rule.CREW_LIMIT, text, *(work.row for work in at_once))


def crew_heat(case: Case) -> Iterator[Violation]:
    """Demand that in any 60 minutes nobody works longer than the heat of their slots of work allows.

    Charging and demolding are heavy work, the rest is moderate. Heavy work is held against the heavy limit, all work
    together against the moderate one. Upkeep is not judged. An hour whose work is kept, all of it, is a fact.
    """
    limits = case.problem.limits
    if limits is None:
        return
    slot_min = case.grid.slot_min
    hour = 60 // slot_min
    for kind, most_min in (("heavy work", limits.heavy_min.tolist()), ("work", limits.moderate_min.tolist())):
        by_person: dict[str, dict[int, Span]] = defaultdict(dict)
        for work in case.work:
            is_heavy = isinstance(work.row, Cycle)
            if isinstance(work.row, UpkeepJob) or (kind == "heavy work" and not is_heavy):
                continue
            for slot in range(max(work.start_slot, 0), min(work.end_slot, case.n_slots)):
                for person_id in set(work.people) & case.people.keys():
                    by_person[person_id][slot] = work
        for person_id, at_work in by_person.items():
            told: set[tuple[str, ...]] = set()
            for last in sorted(at_work):
                slots = [slot for slot in range(last - hour + 1, last + 1) if slot in at_work]
                least_min = min(most_min[slot] for slot in slots)
                rows = list(dict.fromkeys(at_work[slot].row for slot in slots))
                if len(slots) * slot_min <= least_min or least_min >= 60 or all(map(case.is_kept, rows)):
                    continue
                ids = tuple(row.id for row in rows)
                if ids in told:
                    continue
                told.add(ids)
                name, hours = case.people[person_id].name, case.from_to(last - hour + 1, last + 1)
                allowed = f"allows {least_min} min" if least_min else "allows none"
                text = f"{name} would do {len(slots) * slot_min} min of {kind} {hours}, the heat {allowed}"
                yield broken(Rule.CREW_HEAT, text, *rows)


class _Stretch(NamedTuple):
    """One shift of one day as instants, with its breaks."""

    shift_id: str
    start_at: datetime
    end_at: datetime
    breaks: tuple[tuple[datetime, datetime], ...]


def _stretches(case: Case, person: Operator, on: date) -> Iterator[_Stretch]:
    """Yield the shifts of a person that start on the local day `on`."""
    shifts = {shift.id: shift for shift in case.yard.shifts}
    for duty in person.duties:
        if on in person.days_off or not duty.holds_on(on):
            continue
        shift = shifts[duty.shift_id]

        def instant(local: time, *, is_next_day: bool) -> datetime:
            day = on + timedelta(days=1) if is_next_day else on
            return datetime.combine(day, local, tzinfo=case.grid.zone).astimezone(UTC)

        breaks = tuple(
            (begin, begin + timedelta(minutes=minutes))
            for local, minutes in shift.breaks
            for begin in (instant(local, is_next_day=local < shift.start_local),)
        )
        yield _Stretch(
            shift.id,
            instant(shift.start_local, is_next_day=False),
            instant(shift.end_local, is_next_day=shift.end_local <= shift.start_local),
            breaks,
        )


def _can_change_molds(crew: list[Operator]) -> bool:
    return any(
        LOADER in driver.skills and all(RIGGING in person.skills for person in crew if person is not driver)
        for driver in crew
    )
