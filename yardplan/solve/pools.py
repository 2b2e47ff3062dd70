"""People and benches that are alike for the plan, taken together; names are given when the times are known.

Work that does not overlap more than `capacity` times at any moment can always be shared out among `capacity` equal
people, because interval graphs are perfect: going by start, whoever is free takes it. So the models count people in
pools, and `name_people` names them afterwards.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.solve.compiled import Compiled, Window, runs, span_mask, spans


@dataclass(eq=False)
class Pool:
    """People with the same skills who are at work at the same times.

    Somebody who may mind several jobs at once is a pool of their own: `capacity` jobs, but only once in each.

    Attributes
    ----------
    windows : tuple of Window
        The times, all in overtime shifts or none.
    """

    ix: int
    people: tuple[str, ...]
    skills: frozenset[str]
    capacity: int
    windows: tuple[Window, ...]
    overtime: bool
    _starts: dict[int, int] = field(default_factory=dict)

    @property
    def most(self) -> int:
        """How many of the pool can be in one job."""
        return len(self.people)

    def starts(self, length: int) -> int:
        """Return the slots in which a job of `length` slots could start, were nobody busy."""
        if length not in self._starts:
            found = 0
            for window in self.windows:
                found |= runs(span_mask(window.start, window.end), length)
            self._starts[length] = found
        return self._starts[length]


@dataclass(frozen=True, eq=False)
class BenchPool:
    """Benches of one kind that are fed by the same unit and free at the same times."""

    ix: int
    kind: str
    unit_ix: int
    benches: tuple[str, ...]
    open: int


class Pools:
    """All pools of a problem; kept work is taken out of their time."""

    def __init__(self, compiled: Compiled) -> None:
        self.compiled = compiled
        kept = compiled.problem.kept
        self.kept_ids = {row.id for rows in (kept.cycles, kept.mold_changes, kept.finishing) for row in rows}
        busy: dict[str, int] = defaultdict(int)
        for start, end, crew in work_of(compiled, kept):
            for person in crew:
                busy[person] |= span_mask(start, end)
        alike: dict[tuple[object, ...], tuple[list[str], list[Window]]] = {}
        for person, operator in compiled.people.items():
            shared = compiled.jobs_at_once(operator) == 1
            for overtime in (False, True):
                whole, cut = [], []
                for window in compiled.windows[person]:
                    if window.overtime == overtime:
                        hours = span_mask(window.start, window.end)
                        if shared and busy[person] & hours:
                            cut += [Window(*piece, overtime) for piece in spans(hours & ~busy[person])]
                        else:
                            whole.append(window)
                for windows, mark in ((whole, "" if shared else person), (cut, person)):
                    if windows:
                        key = (operator.skills, tuple(windows), mark)
                        alike.setdefault(key, ([], windows))[0].append(person)
        self.people = tuple(
            Pool(
                ix, tuple(names), compiled.people[names[0]].skills,
                len(names) if len(names) > 1 else compiled.jobs_at_once(compiled.people[names[0]]),
                tuple(windows), windows[0].overtime,
            )
            for ix, (names, windows) in enumerate(alike.values())
        )  # fmt: skip
        self._hours = {
            person: sorted(
                (w.start, w.end, pool.ix) for pool in self.people if person in pool.people for w in pool.windows
            )
            for person in compiled.people
        }
        self.benches = self._bench_pools()
        self.bench_pool = {bench: pool for pool in self.benches for bench in pool.benches}

    def pool_of(self, person: str, slot: int) -> Pool | None:
        """Return the pool that a person belongs to in a slot, None where they are not at work."""
        hours = self._hours[person]
        at = bisect_right(hours, slot, key=lambda window: window[0]) - 1
        return self.people[hours[at][2]] if at >= 0 and slot < hours[at][1] else None

    def _bench_pools(self) -> tuple[BenchPool, ...]:
        compiled = self.compiled
        free = dict(compiled.bench_open)
        for job in compiled.problem.kept.finishing:
            free[job.bench_id] &= ~span_mask(job.start_slot, job.end_slot)
        alike: dict[tuple[str, int, int], list[str]] = {}
        for bench in compiled.problem.yard.benches:
            alike.setdefault((bench.kind, compiled.bench_unit[bench.id], free[bench.id]), []).append(bench.id)
        return tuple(BenchPool(ix, *key[:2], tuple(names), key[2]) for ix, (key, names) in enumerate(alike.items()))


def work_of(compiled: Compiled, plan: Plan) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Yield start, end and crew of everything that people do in a plan; the end with the rest that the heat asks."""
    rested = compiled.rests.end
    for cycle in plan.cycles:
        charged = cycle.charge_slot + cycle.clean_slots + compiled.makes[cycle.product_id].charge_slots
        yield cycle.charge_slot, rested(cycle.charge_slot, charged, heavy=True), cycle.charge_crew
        yield cycle.demold_slot, rested(cycle.demold_slot, cycle.end_slot, heavy=True), cycle.demold_crew
    for change in plan.mold_changes:
        yield change.start_slot, rested(change.start_slot, change.end_slot, heavy=False), change.crew
    for job in plan.finishing:
        yield job.start_slot, rested(job.start_slot, job.end_slot, heavy=False), (job.operator_id,)


@dataclass(frozen=True)
class _Seat:
    """A place in a crew to be filled: somebody of a pool from `start` to `end`."""

    start: int
    end: int
    pool: Pool
    row_id: str
    part: str
    place: int


def name_people(pools: Pools, plan: Plan) -> Plan:
    """Share the work of a plan out anew inside each pool, evenly; kept rows keep their people.

    The names in the plan only say which pools are meant; where more work overlaps than a pool has people, the plan
    breaks the crew's limit, and the checker will say so.
    """
    compiled, seats = pools.compiled, list[_Seat]()
    rested = compiled.rests.end
    for cycle in plan.cycles:
        if cycle.id not in pools.kept_ids:
            charged = cycle.charge_slot + cycle.clean_slots + compiled.makes[cycle.product_id].charge_slots
            charged = rested(cycle.charge_slot, charged, heavy=True)
            demolded = rested(cycle.demold_slot, cycle.end_slot, heavy=True)
            seats += _seats(pools, cycle.charge_slot, charged, cycle.charge_crew, cycle.id, "charge")
            seats += _seats(pools, cycle.demold_slot, demolded, cycle.demold_crew, cycle.id, "demold")
    for change in plan.mold_changes:
        if change.id not in pools.kept_ids:
            end = rested(change.start_slot, change.end_slot, heavy=False)
            seats += _seats(pools, change.start_slot, end, change.crew, change.id, "change")
    for job in plan.finishing:
        if job.id not in pools.kept_ids:
            end = rested(job.start_slot, job.end_slot, heavy=False)
            seats += _seats(pools, job.start_slot, end, (job.operator_id,), job.id, "job")
    crews = _share_out(seats)

    def crew(row: Cycle | MoldChange | FinishJob, part: str, old: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(crews.get((row.id, part, place), name) for place, name in enumerate(old))

    return Plan(
        plan.grid,
        tuple(
            replace(
                row,
                charge_crew=crew(row, "charge", row.charge_crew),
                demold_crew=crew(row, "demold", row.demold_crew),
            )
            for row in plan.cycles
        ),
        tuple(replace(row, crew=crew(row, "change", row.crew)) for row in plan.mold_changes),
        _name_benches(
            pools, (replace(row, operator_id=crew(row, "job", (row.operator_id,))[0]) for row in plan.finishing)
        ),
    )


def _seats(pools: Pools, start: int, end: int, crew: tuple[str, ...], row_id: str, part: str) -> Iterator[_Seat]:
    for place, person in enumerate(crew):
        pool = pools.pool_of(person, start)
        if pool is not None and len(pool.people) > 1:
            yield _Seat(start, end, pool, row_id, part, place)


def _share_out(seats: list[_Seat]) -> dict[tuple[str, str, int], str]:
    free_at: dict[tuple[int, str], int] = {}
    load: dict[str, int] = defaultdict(int)
    named: dict[tuple[str, str, int], str] = {}
    for seat in sorted(seats, key=lambda seat: (seat.start, seat.end, seat.row_id, seat.part, seat.place)):
        taken = {named.get((seat.row_id, seat.part, place)) for place in range(seat.place)}
        free = [
            person
            for person in seat.pool.people
            if free_at.get((seat.pool.ix, person), seat.start) <= seat.start and person not in taken
        ]
        person = min(free or seat.pool.people, key=lambda person: load[person])
        free_at[seat.pool.ix, person] = seat.end
        load[person] += seat.end - seat.start
        named[seat.row_id, seat.part, seat.place] = person
    return named


def _name_benches(pools: Pools, jobs: Iterable[FinishJob]) -> tuple[FinishJob, ...]:
    free_at: dict[str, int] = {}
    named = []
    for job in sorted(jobs, key=lambda job: (job.start_slot, job.end_slot, job.id)):
        if job.id not in pools.kept_ids:
            benches = pools.bench_pool[job.bench_id].benches
            free = [bench for bench in benches if free_at.get(bench, job.start_slot) <= job.start_slot]
            bench = job.bench_id if job.bench_id in free or not free else free[0]
            free_at[bench] = job.end_slot
            job = replace(job, bench_id=bench)
        named.append(job)
    return tuple(named)
