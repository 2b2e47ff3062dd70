"""Edits by hand: what cannot be is refused with the checker's sentence, what is in the way is pushed."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.small_yard import at, small_problem, small_yard, with_yard
from tests.ui.weeks import cycle
from yardplan.domain.edits import Add, Lock, Move, Remove, Split, moves_between
from yardplan.domain.people import Downtime, Duty, ResourceKind
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.solve.check import check
from yardplan.solve.edit import Editor, staying
from yardplan.solve.run import Limits, Stop, solve

QUICK = Limits(seconds=0)


@pytest.fixture(scope="module")
def problem() -> Problem:
    return small_problem(small_yard(n_units=2, n_people=6), days=3)


@pytest.fixture(scope="module")
def plan(problem) -> Plan:
    return solve(problem, QUICK, Stop(), lambda progress: None).plan


def judged(problem: Problem, plan: Plan):
    return check(replace(problem, kept=staying(problem, plan)), plan)


def others(plan: Plan, *ids: str):
    return [row for row in plan.cycles if row.id not in ids]


def test_a_cycle_moved_to_where_it_is_changes_nothing(problem, plan):
    editor = Editor(problem, plan)
    for row in plan.cycles:
        found = editor.checked(Move(row.id, row.chamber_id, row.charge_slot))
        assert found.is_done
        assert found.pushed == ()
        assert moves_between(plan, found.plan) == ()
        assert {job.id for job in found.plan.finishing} == {job.id for job in plan.finishing}


def test_a_move_into_free_time_moves_that_cycle_alone(problem, plan):
    last = max(plan.cycles, key=lambda row: row.charge_slot)
    to = problem.grid.slot(at(2, 12))
    found = Editor(problem, plan).checked(Move(last.id, last.chamber_id, to))
    assert found.is_done
    assert judged(problem, found.plan) == ()
    moved = next(row for row in found.plan.cycles if row.id == last.id)
    assert (moved.chamber_id, moved.charge_slot) == (last.chamber_id, to)
    assert others(found.plan, last.id) == others(plan, last.id)


def test_what_is_in_the_way_is_pushed_and_its_finishing_follows(problem, plan):
    first, second = [row for row in plan.cycles if row.chamber_id == "1A"][:2]
    to = second.charge_slot
    found = Editor(problem, plan).checked(Move(first.id, "1A", to))
    assert found.is_done, found.reasons
    assert judged(problem, found.plan) == ()
    assert second.id in {pair.old.id for pair in found.pushed}
    now = {row.id: row for row in found.plan.cycles}
    assert now[first.id].charge_slot == to
    assert len(now) == len(plan.cycles)
    ends = {row.id: row.end_slot for row in found.plan.cycles}
    rest = problem.grid.slots_up(120)
    assert all(job.start_slot >= ends[job.cycle_id] + rest for job in found.plan.finishing if job.step_ix == 0)


def test_a_drop_on_one_that_began_earlier_is_refused_with_both_named_and_says_when_it_could_be(problem, plan):
    first, second = [row for row in plan.cycles if row.chamber_id == "1A"][:2]
    found = Editor(problem, plan).checked(Move(second.id, "1A", first.charge_slot + 2))
    assert not found.is_done
    assert any("1A would be used twice" in text and first.id in text and second.id in text for text in found.reasons)
    assert found.first_slot is not None
    assert found.first_slot >= first.end_slot
    assert found.plan == plan


def test_where_the_sun_is_too_low_the_sentence_tells_it(problem, plan):
    row = plan.cycles[1]
    found = Editor(problem, plan).checked(Move(row.id, row.chamber_id, problem.grid.slot(at(1, 15.5))))
    assert not found.is_done
    assert any("PIAT is never reached" in text for text in found.reasons)


def test_where_nobody_who_may_is_on_shift_it_is_refused(problem, plan):
    late = tuple(
        replace(person, duties=(Duty("late", duty.weekdays),))
        for person in problem.yard.operators
        for duty in person.duties
    )
    evening = with_yard(problem, operators=late)
    row = cycle("C1", "1A", problem.grid.slot(at(0, 14)), problem.orders[0])
    made = Editor(evening, Plan(problem.grid, ())).tried(Add("Y-1", "1A", problem.grid.slot(at(0, 14))))
    assert made.is_done
    found = Editor(evening, made.plan).checked(Move(made.plan.cycles[0].id, "1A", problem.grid.slot(at(0, 9))))
    assert not found.is_done
    assert any("shift" in text for text in found.reasons)
    assert row.order_id == "Y-1"


def test_in_a_down_time_it_is_refused_with_its_cause(problem, plan):
    down = Downtime(ResourceKind.CHAMBER, "2A", at(2, 6), at(2, 20), "new bearing")
    row = plan.cycles[-1]
    found = Editor(with_yard(problem, downtimes=(down,)), plan).checked(
        Move(row.id, "2A", problem.grid.slot(at(2, 11)))
    )
    assert not found.is_done
    assert any("new bearing" in text or "2A" in text for text in found.reasons)


def test_locked_work_is_never_pushed_and_not_moved_until_it_is_unlocked(problem, plan):
    first, second = [row for row in plan.cycles if row.chamber_id == "1A"][:2]
    locked = Editor(problem, plan).checked(Lock(second.id)).plan
    assert next(row for row in locked.cycles if row.id == second.id).locked
    editor = Editor(problem, locked)
    assert "unlock it first" in editor.checked(Move(second.id, "1A", second.charge_slot + 6)).reasons[0]
    found = editor.checked(Move(first.id, "1A", second.charge_slot))
    assert not found.is_done
    assert any(second.id in text for text in found.reasons)
    free = editor.checked(Lock(second.id, locked=False)).plan
    assert free == plan


def test_what_has_begun_stays_and_nothing_begins_before_now(problem, plan):
    later = replace(problem, now=problem.grid.at(plan.cycles[0].charge_slot + 1))
    editor = Editor(later, plan)
    begun, coming = plan.cycles[0], plan.cycles[-1]
    assert "has begun stays" in editor.checked(Move(begun.id, "1A", coming.charge_slot)).reasons[0]
    assert "new work may start from" in editor.checked(Move(coming.id, "1A", begun.charge_slot)).reasons[0]
    assert "days end" in editor.checked(Move(coming.id, "1A", problem.grid.n_slots + 5)).reasons[0]


def test_another_chamber_with_another_mold_gets_a_mold_change_and_the_next_one_its_own_again():
    problem = small_problem()
    slot = problem.grid.slot
    plan = Editor(problem, Plan(problem.grid)).tried(Add("Y-1", "1A", slot(at(0, 13)))).plan
    plan = Editor(problem, plan).tried(Add("Y-3", "1B", slot(at(0, 9)))).plan
    (tank,) = (row for row in plan.cycles if row.order_id == "Y-1")
    (bin_,) = (row for row in plan.cycles if row.order_id == "Y-3")
    assert plan.mold_changes == ()
    found = Editor(problem, plan).checked(Move(bin_.id, "1A", slot(at(0, 9))))
    assert found.is_done, found.reasons
    assert judged(problem, found.plan) == ()
    changes = [(row.chamber_id, str(row.mold_out), str(row.mold_in)) for row in found.plan.mold_changes]
    assert changes == [("1A", "M1#1", "M2#2"), ("1A", "M2#2", "M1#1")]
    back = Editor(problem, found.plan).checked(Move(bin_.id, "1B", slot(at(0, 9))))
    assert back.plan.mold_changes == (), "nobody needs them any more"
    assert {row.id for row in back.plan.cycles} == {tank.id, bin_.id}
    hung = Editor(problem, plan).checked(Move(tank.id, "1B", slot(at(0, 11))))
    assert any("M1#1" in text and "does not hang there" in text for text in hung.reasons)


def test_one_removed_is_missing_one_added_is_there_and_one_too_many_is_refused(problem, plan):
    row = plan.cycles[3]
    gone = Editor(problem, plan).checked(Remove(row.id))
    assert gone.is_done
    assert judged(problem, gone.plan) == ()
    assert others(gone.plan) == others(plan, row.id)
    missing = {one.order_id: one.pieces_missing for one in order_results(gone.plan, problem.orders, problem.yard)}
    assert missing[row.order_id] == 1
    back = Editor(problem, gone.plan).checked(Add(row.order_id, row.chamber_id, row.charge_slot))
    assert back.is_done, back.reasons
    assert judged(problem, back.plan) == ()
    assert len(back.plan.cycles) == len(plan.cycles)
    too_many = Editor(problem, plan).checked(Add(row.order_id, row.chamber_id, problem.grid.slot(at(2, 13))))
    assert not too_many.is_done
    assert any("not needed" in text for text in too_many.reasons)


def test_a_split_takes_the_cycle_and_the_later_ones_of_its_row(problem, plan):
    rows = [row for row in plan.cycles if row.order_id == "Y-2"]
    chamber = rows[0].chamber_id
    rows = [row for row in rows if row.chamber_id == chamber]
    found = Editor(problem, plan).checked(Split(rows[1].id, chamber, problem.grid.slot(at(2, 10))))
    assert found.is_done, found.reasons
    assert found.cycle_ids == tuple(row.id for row in rows[1:])
    now = {row.id: row for row in found.plan.cycles}
    assert now[rows[0].id] == rows[0]
    assert all(now[row.id].charge_slot >= problem.grid.slot(at(2, 10)) for row in rows[1:])
    assert judged(problem, found.plan) == ()


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_row_of_edits_gives_checked_plans_or_leaves_the_plan_alone(problem, plan, data):
    now = plan
    chambers = [chamber.id for chamber in problem.yard.chambers]
    for _ in range(data.draw(st.integers(1, 4))):
        row = data.draw(st.sampled_from(now.cycles))
        slot = data.draw(st.integers(60, problem.grid.n_slots - 1))
        chamber = data.draw(st.sampled_from(chambers))
        edit = data.draw(
            st.sampled_from(
                [
                    Move(row.id, chamber, slot),
                    Split(row.id, chamber, slot),
                    Lock(row.id, locked=not row.locked),
                    Remove(row.id),
                    Add(row.order_id, chamber, slot),
                ]
            )
        )
        found = Editor(problem, now).checked(edit)
        assert judged(problem, found.plan) == ()
        if not found.is_done:
            assert found.plan == now
            assert all(text.strip() for text in found.reasons)
        kept = {one.id: one for one in now.cycles if one.locked and one.id not in found.cycle_ids}
        assert {one.id: one for one in found.plan.cycles if one.id in kept} == kept
        names = {one.id for one in now.cycles} | set(found.cycle_ids)
        assert {one.id for one in found.plan.cycles} <= names
        now = found.plan
        if not now.cycles:
            break
