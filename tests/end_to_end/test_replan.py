"""A cloudy morning by the command line: log, plan anew, look, publish."""

import json
from datetime import timedelta

from tests.cloudy import cloudy_morning
from tests.end_to_end.test_command_line import content, database, filled, run, sunny_yard, yard_folder
from tests.small_yard import at
from yardplan.domain.overtime import as_planned_tonight, with_overtime
from yardplan.domain.plan import Plan
from yardplan.exchange.documents import validate
from yardplan.store.engine import open_database
from yardplan.store.read import read_yard
from yardplan.usecases.logbook import yard_state

__all__ = ["database", "filled", "yard_folder"]  # fixtures

NOW = at(0, 10 + 40 / 60)


def test_after_a_cloudy_morning_ways_stand_side_by_side_and_one_is_published(database, tmp_path):
    db = ("--db", database)
    run("plan", *db, "--seconds", "2", "--from", "2027-05-17", "--days", "3")
    run("publish", "1", *db)
    opened = open_database(database)
    plan = stored_plan(opened)
    assert cloudy_morning(opened, plan, NOW, tmp_path / "sun.csv") >= 2
    words = ("replan", "--at", "2027-05-17 10:40", "--seconds", "3", *db)
    document = json.loads(run(*words, "--json"))
    validate(document, "replan")
    assert [way["name"] for way in document["ways"]] == [
        "keep the old plan", "change as little as can be", "best for dates", "overtime tonight",
    ]  # fmt: skip
    assert [way["plan"] for way in document["ways"]] == [1, 2, 3, 4]
    keep, least, best, _ = document["ways"]
    assert keep["moved"] == 0 < keep["untouched"]
    assert least["objective_parts"]["promised_late_slots"] <= keep["objective_parts"]["promised_late_slots"]
    assert least["moved"] <= best["moved"]
    state, _, stored = yard_state(opened, now=NOW)
    assert stored.number == 1  # nothing is published by itself
    running = {made.planned_id or made.id: made for made in state.running}
    assert running
    assert set(running) <= set(document["kept"]["cycles"])
    for number in (2, 3):
        run("export", "plan", tmp_path / f"{number}.json", *db, "--number", number)
        rows = {row["id"]: row for row in json.loads((tmp_path / f"{number}.json").read_text())["cycles"]}
        assert all(rows[ident]["chamber"] == made.chamber_id for ident, made in running.items())
        assert all(rows[ident]["order"] == made.order_id for ident, made in running.items())
    told = run(*words)
    assert "Keep the old plan (plan 1)" in told
    assert "Nothing is published yet" in told
    assert "plan 1" in run("compare", "1", "2", *db)
    run("publish", "2", "--reason", "clouds until 10:40", *db)
    assert "was not published" in run("publish", "3", *db, expect=2)
    with opened.begin_read() as session:
        assert all(not shift.overtime for shift in read_yard(session).shifts)
    run("publish", "4", "--anyway", *db)
    with opened.begin_read() as session:  # people are asked to stay on as soon as the plan is in force
        yard = read_yard(session)
    assert [shift.id for shift in yard.shifts if shift.overtime] == ["overtime tonight"]
    assert any(duty.shift_id == "overtime tonight" for person in yard.operators for duty in person.duties)
    opened.close()


def stored_plan(opened) -> Plan:
    stored = yard_state(opened, now=NOW)[2]
    assert stored is not None
    return stored.outcome.plan


def test_without_a_plan_there_is_nothing_to_go_on_from(database):
    before = content(database)
    assert "make one with `yardplan plan`" in run("replan", "--db", database, expect=2)
    assert content(database) == before


def test_overtime_is_for_those_of_the_last_shift_of_today_and_ends_two_hours_later():
    yard = with_overtime(sunny_yard(), NOW)
    shift = yard.shifts[-1]
    assert (shift.start_local.hour, shift.end_local.hour, shift.overtime) == (22, 0, True)
    late = [person for person in yard.operators if any(duty.shift_id == shift.id for duty in person.duties)]
    assert [person.id for person in late] == ["P2", "P4"]
    (duty,) = (duty for duty in late[0].duties if duty.shift_id == shift.id)
    assert duty.first_on == duty.last_on == NOW.date()


def test_overtime_that_was_planned_is_taken_over_once_and_replaced_by_the_next():
    yard = sunny_yard()
    first = with_overtime(yard, NOW)
    assert as_planned_tonight(yard, yard) is yard
    assert as_planned_tonight(yard, first) == first == as_planned_tonight(first, first)
    second = with_overtime(first, NOW + timedelta(days=1))
    assert len(second.shifts) == len(first.shifts)
    assert as_planned_tonight(first, second) == second
