"""A plan changed by hand on the command line: moved, locked, refused, frozen, planned anew around locks."""

import json
from dataclasses import replace

from tests.cloudy import cloudy_morning
from tests.end_to_end.test_command_line import content, database, filled, run, yard_folder
from tests.small_yard import at
from yardplan.store.engine import open_database
from yardplan.store.read import read_audit
from yardplan.store.write import write_setting
from yardplan.usecases.clock import CLOCK_AT
from yardplan.usecases.comparing import stored_plan

__all__ = ["database", "filled", "yard_folder"]  # fixtures

PLAN = ("plan", "--seconds", "1", "--from", "2027-05-17", "--days", "3")


def rows(url, number=None):
    opened = open_database(url)
    try:
        return {row.id: row for row in stored_plan(opened, number).outcome.plan.cycles}
    finally:
        opened.close()


def audit(url):
    opened = open_database(url)
    try:
        with opened.begin_read() as session:
            return [(entry.by, entry.what) for entry in read_audit(session)]
    finally:
        opened.close()


def test_a_moved_cycle_makes_a_new_version_that_passes_check(database, tmp_path):
    run(*PLAN, "--db", database)
    before = rows(database)
    last = max(before.values(), key=lambda row: row.charge_slot)
    told = run("edit", "move", last.id, "--to", last.chamber_id, "--at", "wed 13:00", "--db", database)
    assert f"plan 2: {last.id} for {last.order_id}" in told
    assert "yardplan publish 2" in told
    after = rows(database)
    assert after[last.id].charge_slot == stored_slot(database, at(2, 13))
    assert rows(database, 1) == before, "versions are only added"
    run("export", "plan", tmp_path / "2.json", "--db", database, "--number", "2")
    assert "ok" in run("check", tmp_path / "2.json", "--db", database)
    assert json.loads((tmp_path / "2.json").read_text())["status"] == "edited"
    assert any("plan 2: " in what and "-> " in what for _, what in audit(database))


def stored_slot(url, when):
    opened = open_database(url)
    try:
        return stored_plan(opened).outcome.plan.grid.slot(when)
    finally:
        opened.close()


def test_what_cannot_be_is_refused_with_the_reason_and_nothing_is_kept(database):
    run(*PLAN, "--db", database)
    before = content(database)
    last = max(rows(database).values(), key=lambda row: row.charge_slot)
    night = ("--to", last.chamber_id, "--at", "wed 03:00", "--db", database)
    assert "not done" in run("edit", "move", last.id, *night, expect=2)
    assert "there is no cycle 'C999'" in run("edit", "move", "C999", *night, expect=2)
    assert "there is no chamber '9Z'" in run(
        "edit", "move", last.id, "--to", "9Z", "--at", "wed 11:00", "--db", database, expect=2
    )
    assert "there is no open order 'Y-9'" in run("edit", "add", "Y-9", *night, expect=2)
    assert "a day and a time" in run("edit", "move", last.id, *night[:2], "--at", "soon", "--db", database, expect=2)
    assert content(database) == before


def test_without_a_plan_there_is_nothing_to_edit(database):
    assert "build one first" in run("edit", "remove", "C001", "--db", database, expect=2)


def test_a_change_of_the_frozen_plan_takes_a_reason_and_a_name_which_are_kept(database):
    run(*PLAN, "--db", database)
    run("publish", "1", "--db", database)
    assert "24 h" in run("edit", "frozen", "--db", database)
    run("edit", "frozen", "200", "--db", database)
    first = min(rows(database).values(), key=lambda row: row.charge_slot)
    words = ("edit", "remove", first.id, "--db", database)
    before = content(database)
    assert "a reason" in run(*words, expect=2)
    assert "who says so" in run(*words, "--reason", "mold is cracked", expect=2)
    assert content(database) == before
    run(*words, "--reason", "mold is cracked", "--name", "Ada")
    (told,) = (what for _, what in audit(database) if "frozen: " in what)
    assert "Ada: mold is cracked" in told
    assert "dropped" in told
    assert first.chamber_id in told
    run("edit", "frozen", "0", "--db", database)
    run("edit", "lock", max(rows(database), key=lambda ident: ident), "--db", database)
    assert "from 0 to 672" in run("edit", "frozen", "900", "--db", database, expect=2)


def test_a_new_plan_leaves_locked_cycles_where_they_are_and_locks_that_clash_are_named(database):
    run(*PLAN, "--db", database)
    found = rows(database)
    last = max(found.values(), key=lambda row: row.charge_slot)
    run("edit", "lock", last.id, "--db", database)
    run(*PLAN, "--db", database)
    again = [row for row in rows(database).values() if row.locked]
    assert [(row.chamber_id, row.charge_slot, row.heat_slot) for row in again] == [
        (last.chamber_id, last.charge_slot, last.heat_slot)
    ]
    told = run("edit", "unlock", again[0].id, "--db", database)
    assert "unlocked" in told
    assert not any(row.locked for row in rows(database).values())


def test_questions_leave_alone_what_is_locked(database):
    run(*PLAN, "--db", database)
    last = max(rows(database).values(), key=lambda row: row.charge_slot)
    run("edit", "lock", last.id, "--db", database)
    run("what-if", "--db", database, "--work", "0.2", "--copy", "M1", "--keep", "one more mold")
    draft = rows(database, 3)[last.id]
    assert draft.locked
    assert (draft.chamber_id, draft.charge_slot) == (last.chamber_id, last.charge_slot)
    assert last.order_id in run("explain", last.order_id, "--db", database, "--work", "0.1")


def test_a_plan_made_anew_in_the_middle_of_work_is_edited_from_what_hung_then(database, tmp_path):
    run(*PLAN, "--db", database)
    run("publish", "1", "--db", database)
    now = at(0, 10 + 40 / 60)
    opened = open_database(database)
    cloudy_morning(opened, stored_plan(opened, 1).outcome.plan, now, tmp_path / "sun.csv")
    opened.close()
    run("replan", "--at", "2027-05-17 10:40", "--seconds", "3", "--db", database)
    opened = open_database(database)
    with opened.begin() as session:
        write_setting(session, CLOCK_AT, now.isoformat(), by="tester", at=now)
    opened.close()
    run("publish", "2", "--reason", "clouds", "--db", database)
    run("edit", "frozen", "0", "--db", database)
    before = rows(database, 2)
    last = max(before.values(), key=lambda row: row.charge_slot)
    told = run("edit", "lock", last.id, "--db", database)
    assert "locked" in told
    after = rows(database)
    assert {ident: replace(row, locked=False) for ident, row in after.items()} == before
    run("edit", "unlock", last.id, "--db", database)
    gone = run("edit", "remove", last.id, "--db", database)
    assert "pushed" not in gone
    assert rows(database) == {ident: row for ident, row in before.items() if ident != last.id}
