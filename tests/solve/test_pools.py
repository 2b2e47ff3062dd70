from dataclasses import replace

from tests.small_yard import small_problem, small_yard
from yardplan.domain.plan import Plan
from yardplan.solve.bookings import Bookings
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled, first_slot, runs, span_mask, spans, spread
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.names import named
from yardplan.solve.pools import Pools, name_people


def test_masks_say_where_runs_begin_and_what_they_cover():
    mask = span_mask(3, 8) | span_mask(10, 12)
    assert spans(mask) == [(3, 8), (10, 12)]
    assert spans(runs(mask, 3)) == [(3, 6)]
    assert spans(spread(runs(mask, 3), 3)) == [(3, 8)]
    assert (first_slot(mask), first_slot(mask, 8), first_slot(mask, 12)) == (3, 10, None)
    assert span_mask(-5, 2) == 0b11
    assert span_mask(4, 4) == 0


def test_people_alike_are_one_pool_and_those_with_kept_work_stand_alone_that_day():
    problem = small_problem(small_yard(1, n_people=6))
    pools = Pools(Compiled(problem))
    assert sorted(pool.people for pool in pools.people) == [("P1", "P3", "P5"), ("P2", "P4", "P6")]
    plan = named(dispatch(Compiled(problem), MANNERS[0]), problem.kept)
    first = plan.cycles[0]
    kept = replace(problem, kept=Plan(problem.grid, (first,)))
    pools = Pools(Compiled(kept))
    person = first.charge_crew[0]
    busy = next(pool for pool in pools.people if pool.people == (person,))
    assert all(not (w.start < first.charge_slot + 3 and first.charge_slot < w.end) for w in busy.windows)
    tomorrow = first.charge_slot + 288
    assert person in pools.pool_of(person, tomorrow).people
    assert pools.pool_of(person, 287) is None  # nobody is at work at midnight


def test_named_work_is_shared_out_evenly_and_stays_valid():
    problem = small_problem(small_yard(2, n_people=8))
    compiled = Compiled(problem)
    pools, plan = Pools(compiled), dispatch(compiled, MANNERS[0])
    again = name_people(pools, plan)
    assert check(problem, again) == ()
    assert [(row.id, row.start_slot) for row in again.finishing] == [(row.id, row.start_slot) for row in plan.finishing]


def test_somebody_who_minds_two_jobs_is_asked_once_for_each():
    yard = small_yard(1, n_people=2)
    problem = small_problem(replace(yard, operators=tuple(replace(row, jobs_at_once=2) for row in yard.operators)))
    book = Bookings(Compiled(problem), Plan(problem.grid))
    early = 72
    assert book.crew_starts((("handling", 1),), 3) >> early & 1
    assert not book.crew_starts((("handling", 2),), 3) >> early & 1  # two jobs, but one person
    book.book_people(("P1",), early, early + 3)
    assert book.crew_starts((("handling", 1),), 3) >> early & 1
    book.book_people(("P1",), early, early + 3)
    assert not book.crew_starts((("handling", 1),), 3) >> early & 1


def test_new_names_do_not_touch_kept_ones():
    problem = small_problem()
    plan = named(dispatch(Compiled(problem), MANNERS[0]), problem.kept)
    assert [cycle.id for cycle in plan.cycles][:3] == ["C001", "C002", "C003"]
    kept = Plan(problem.grid, plan.cycles[1:2])
    later = replace(problem, kept=kept)
    again = named(dispatch(Compiled(later), MANNERS[0]), kept)
    assert kept.cycles[0] in again.cycles
    ids = [row.id for row in (*again.cycles, *again.mold_changes, *again.finishing)]
    assert len(ids) == len(set(ids))
    assert all(job.id.startswith(job.cycle_id) for job in again.finishing)
