"""A day by the command line: log, look, correct, publish."""

import json

from tests.end_to_end.test_command_line import content, database, filled, run, yard_folder
from yardplan.exchange.documents import validate

__all__ = ["database", "filled", "yard_folder"]  # fixtures


def test_a_day_is_logged_word_by_word_and_told(database, tmp_path):
    db = ("--db", database)
    assert run("log", *db) == "nothing was logged yet\n"
    run("log", "charge", "1A", "--order", "Y-1", "--at", "09:10", *db)
    run("log", "heat", "1A", "--at", "9:30", *db)
    document = json.loads(run("log", "piat", "1A", "--at", "10:42", "--json", *db))
    validate(document, "log")
    assert document["entries"][0] | {"by": ""} == document["entries"][0] | {
        "by": "", "number": 3, "kind": "piat", "what": "1A", "at": "2027-05-14T10:42:00-06:00", "amount": 205.0,
    }  # fmt: skip
    before = content(database)
    assert "nothing is charged in 1B" in run("log", "piat", "1B", *db, expect=2)
    assert "its shell alone takes" in run("log", "piat", "1A", "--at", "09:31", "--corrects", "3", *db, expect=2)
    assert "expected one of" in run("log", "pait", "1A", *db, expect=2)
    assert content(database) == before
    run("log", "piat", "1A", "--at", "10:40", "--corrects", "3", *db)
    run("log", "demold", "1A", "--at", "11:40", "--scrapped", "1", "--reason", "bubbles", *db)
    run("log", "absent", "P3", "--until", "22:00", *db)
    run("log", "note", "arm squeaks", "--on", "U1", *db)
    run("log", "sun", "640", "--at", "10:00", *db)
    words = run("now", *db)
    assert "order Y-1: 0 in chambers, 0 good, 0 finished, 1 scrapped" in words
    assert "absent: P3" in words
    assert "U1: arm squeaks" in words
    document = json.loads(run("now", "--json", *db))
    validate(document, "state")
    assert document["orders"] == [
        {"id": "Y-1", "in_chambers": 0, "good": 0, "finished": 0, "scrapped": 1, "rework": 0}
    ]  # fmt: skip
    assert "instead of 3" in run("log", *db)
    file = tmp_path / "unit.csv"
    file.write_text("time,event,what\n2027-05-14 12:00,hold,1A\n2027-05-14 12:10,wash,U1\n")
    told = run("import", "log", file, *db, expect=2)
    assert "row 2" in told
    assert "nothing is charged in 1A" in told
    file.write_text("time,event,what\n2027-05-14 12:10,wash,U1\n")
    assert "unit.csv: 1 entries" in run("import", "log", file, *db)


def test_a_plan_comes_into_force_and_everybody_sees_which_one_is(database, tmp_path):
    db = ("--db", database)
    for _ in range(2):
        run("plan", "--seconds", "0.5", "--from", "2027-05-17", "--days", "2", *db)
    assert "no plan was published yet" in run("publish", *db)
    assert "in force: plan 2" in run("publish", "2", "--reason", "week 20", "--seat", "office", *db)
    assert "was not published" in run("publish", "1", *db, expect=2)
    run("publish", "1", "--anyway", *db)
    document = json.loads(run("publish", "--json", *db))
    validate(document, "published")
    assert document["in_force"] == 1
    assert [row["plan"] for row in document["published"]] == [2, 1]
    assert "plan 1 is in force" in run("now", *db)
    document = json.loads(run("adherence", "--json", *db))
    validate(document, "adherence")
    assert (document["plan"], document["days"]) == (1, [])  # the plan's days are still to come
    assert "plan 1, 2027-05-17, 1 unit" in run("export", "sheet", tmp_path / "s.pdf", "--paper", "letter", *db)
    assert (tmp_path / "s.pdf").read_bytes().startswith(b"%PDF-")
    assert "NOT ISSUED" in run("export", "sheet", tmp_path / "s.pdf", "--number", "2", "--on", "2027-05-18", *db)
    assert "expected a day from 2027-05-17 to 2027-05-18" in run(
        "export", "sheet", tmp_path / "s.pdf", "--on", "2027-06-01", *db, expect=2
    )
    assert "a4 or letter" in run("export", "sheet", tmp_path / "s.pdf", "--paper", "a5", *db, expect=2)
