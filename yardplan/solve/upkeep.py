"""When upkeep is done: in the hours whose sun is worth least, with people who are there."""

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.people import ResourceKind, Upkeep
from yardplan.domain.plan import UpkeepJob
from yardplan.domain.problem import Problem
from yardplan.domain.tables import NEVER
from yardplan.solve.bookings import Bookings
from yardplan.solve.compiled import Compiled, runs, span_mask, spans

Worth = NDArray[np.float64]

CREW_SHARE = 0.2
"""Worth of a person's slot, as a share of the yard's mean sun in it: when all units can heat, hands are needed."""


def place_upkeep(problem: Problem) -> tuple[UpkeepJob, ...]:
    """Return a job for each upkeep of the yard that can be done in the plan's days, kept ones as they are.

    The earliest due is placed first, each where the sun that its resource loses, and that its crew is missed in, is
    worth least (`slot_worth`), earlier rather than later. Upkeep that is overdue goes to the first day that has room.
    It is settled before the search for cycles, which then lays the week around it; that is a choice, not a proof, but
    where an hour without sun is free it costs nothing.
    """
    jobs = list(problem.kept.upkeep)
    settled = {job.upkeep_id for job in jobs}
    open_upkeep = [
        upkeep
        for upkeep in problem.yard.upkeep
        if upkeep.id not in settled and problem.grid.slot_up(upkeep.from_at) < problem.grid.n_slots
    ]
    worth = slot_worth(problem) if open_upkeep else {}
    for upkeep in sorted(open_upkeep, key=lambda row: (row.due_at, row.id)):
        left = problem.with_upkeep(tuple(jobs))
        job = _place(Compiled(left), upkeep, worth)
        if job is not None:
            jobs.append(job)
    return tuple(jobs)


def slot_worth(problem: Problem) -> dict[str, Worth]:
    """Return what the sun of each slot is worth by unit, in cooks of a mean recipe; all 0 in the dark.

    A slot is worth 1 over the shortest cook that covers it, averaged over the recipes.
    """
    cook = problem.cook
    rows = cook.cook_slots[cook.confidence_ix(problem.confidence)]
    worth = np.zeros((len(cook.unit_ids), cook.grid.n_slots))
    for recipe in rows:
        for unit_worth, lengths in zip(worth, recipe, strict=True):
            best = np.zeros(cook.grid.n_slots)
            for length in np.unique(lengths[lengths != NEVER])[::-1].tolist():  # the shortest last
                covered = np.zeros(cook.grid.n_slots + 1, np.int64)
                starts = np.flatnonzero(lengths == length)
                np.add.at(covered, starts, 1)
                np.add.at(covered, np.minimum(starts + length, cook.grid.n_slots), -1)
                best[np.cumsum(covered)[:-1] > 0] = 1 / length
            unit_worth += best / max(len(rows), 1)
    return dict(zip(cook.unit_ids, worth, strict=True))


def _place(compiled: Compiled, upkeep: Upkeep, worth: dict[str, Worth]) -> UpkeepJob | None:
    grid, length = compiled.grid, compiled.grid.slots_up(upkeep.minutes)
    due_slot = grid.slot(upkeep.due_at)
    if due_slot < compiled.now_slot + length:
        due_slot = compiled.n_slots
    book = Bookings(compiled, compiled.problem.kept)
    starts = runs(_free(compiled, book, upkeep) & span_mask(grid.slot_up(upkeep.from_at), due_slot), length)
    starts &= book.crew_starts(((upkeep.skill, upkeep.crew),), length)
    found = np.array([slot for span in spans(starts) for slot in range(*span)], np.intp)
    if not found.size:
        return None
    mean = np.mean(list(worth.values()), axis=0)
    slot_cost = _resource_worth(compiled, upkeep, worth) + CREW_SHARE * upkeep.crew * mean
    total = np.concatenate([[0.0], np.cumsum(slot_cost)])
    cost = np.round(total[found + length] - total[found], 6)
    start = int(found[np.argmin(cost)])
    crew = book.choose_crew(((upkeep.skill, upkeep.crew),), start, length)
    return None if crew is None else UpkeepJob(f"care.{upkeep.id}", upkeep.id, start, start + length, crew)


def _free(compiled: Compiled, book: Bookings, upkeep: Upkeep) -> int:
    """Return the slots in which the resource is neither down nor in kept work."""
    places = [place for place in compiled.places if place.id in _chambers(compiled, upkeep)]
    free = compiled.open
    for place in places:
        free &= book.chamber_free[place.id] & place.open
    if upkeep.kind is ResourceKind.BENCH:
        free &= book.bench_free[upkeep.resource_id]
    if upkeep.kind is ResourceKind.MOLD:
        for copy, slots in compiled.copy_open.items():
            if str(copy) == upkeep.resource_id:
                free &= slots
        for cycle in compiled.problem.kept.cycles:
            if str(cycle.mold) == upkeep.resource_id:
                free &= ~span_mask(cycle.charge_slot, cycle.end_slot)
    return free


def _chambers(compiled: Compiled, upkeep: Upkeep) -> tuple[str, ...]:
    if upkeep.kind is ResourceKind.CHAMBER:
        return (upkeep.resource_id,)
    if upkeep.kind is ResourceKind.UNIT:
        return tuple(chamber.id for chamber in compiled.problem.yard.unit(upkeep.resource_id).chambers)
    return ()


def _resource_worth(compiled: Compiled, upkeep: Upkeep, worth: dict[str, Worth]) -> Worth:
    """Return what a slot without the resource costs: a unit all its sun, a chamber half of it, a mold its share."""
    mean: Worth = np.mean(list(worth.values()), axis=0)
    if upkeep.kind is ResourceKind.UNIT:
        return worth[upkeep.resource_id]
    if upkeep.kind is ResourceKind.CHAMBER:
        return worth[compiled.problem.yard.unit_of(upkeep.resource_id).id] / 2
    if upkeep.kind is ResourceKind.MOLD:
        return mean / 2
    return np.zeros_like(mean)  # a bench is missed by night as by day
