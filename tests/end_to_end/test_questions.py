"""Questions about plans from the command line: comparisons, what-if, why."""

import json
import shutil

import pytest

from tests.end_to_end.test_command_line import content, filled, run, yard_folder
from yardplan.exchange.compare_document import compare_words
from yardplan.exchange.documents import validate
from yardplan.exchange.explain_document import explain_words
from yardplan.exchange.what_if_document import what_if_words

__all__ = ["filled", "yard_folder"]  # fixtures


@pytest.fixture(scope="module")
def planned(filled) -> str:
    """A database with a plan of one day, one of two days, and later a draft."""
    url = f"sqlite:///{filled}"
    for days in ("1", "2"):
        run("plan", "--db", url, "--seconds", "0.3", "--from", "2027-05-17", "--days", days)
    return url


def test_two_plan_versions_are_compared_by_their_numbers(planned):
    assert "no difference" in run("compare", "2", "2", "--db", planned)
    document = json.loads(run("compare", "1", "2", "--db", planned, "--json"))
    validate(document, "compare")
    assert document["use"]["new"]["cycles"] > document["use"]["old"]["cycles"]
    assert "plan 1 against plan 2" in compare_words(document)
    assert "there is no plan '9'" in run("compare", "1", "9", "--db", planned, expect=2)


def test_a_what_if_is_answered_and_changes_nothing(planned):
    before = content(planned)
    asked = ("--work", "0.2", "--copy", "M1", "--clear", "mon", "--order", "Y-3 quantity=2")
    document = json.loads(run("what-if", "--db", planned, *asked, "--json"))
    validate(document, "what-if")
    assert [change["text"] for change in document["changes"]] == ["copy M1", "order Y-3 quantity=2", "clear 2027-05-17"]
    assert document["new"]["pieces_missing"] <= document["old"]["pieces_missing"]
    words = what_if_words(document)
    assert "one more copy of mold M1 and order Y-3 quantity 2 and a clear sky on Mon 17 May" in words
    assert content(planned) == before


def test_a_draft_is_kept_beside_the_plans_with_what_was_changed(planned, tmp_path):
    kept = json.loads(
        run("what-if", "--db", planned, "--work", "0.1", "--copy", "M1", "--keep", "more molds", "--json")
    )
    assert kept["kept_as"] == 3
    document = json.loads(run("compare", "2", "3", "--db", planned, "--json"))
    validate(document, "compare")
    assert document["use"]["new"] == kept["comparison"]["use"]["new"]
    file = tmp_path / "draft.json"
    run("export", "plan", file, "--db", planned, "--number", "3")
    draft = json.loads(file.read_text())
    validate(draft, "plan")
    assert (draft["draft"], draft["changes"]) == ("more molds", ["copy M1"])
    assert "not the draft of a what-if" in run("publish", "3", "--db", planned, expect=2)
    run("export", "plan", file, "--db", planned)
    assert json.loads(file.read_text())["plan_number"] == 2  # the newest plan is still the one it was
    assert "a plan that is no draft" in run("what-if", "--db", planned, "--plan", "3", "--copy", "M2", expect=2)


def test_a_what_if_that_cannot_be_is_told(planned):
    for words, told in (
        (["--confidence", "0.7"], "one of (0.5, 0.8, 0.95)"),
        (["--clear", "someday"], "clear wednesday"),
        (["--order", "Y-3 soon"], "order Y-12 due="),
        ([], "say what should be different"),
    ):
        assert told in run("what-if", "--db", planned, "--work", "0.1", *words, expect=2)


def test_an_order_and_an_empty_hour_are_explained(planned):
    document = json.loads(run("explain", "Y-2", "--db", planned, "--work", "0.1", "--json"))
    validate(document, "explain")
    assert document["order"] == "Y-2"
    assert document["facts"]
    assert 1 <= len(document["effects"]) <= 4
    assert "Measured against the same yard" in explain_words(document)
    night = json.loads(
        run("explain", "--chamber", "1A", "--at", "mon 05:00", "--db", planned, "--work", "0.1", "--json")
    )
    validate(night, "explain")
    assert night["facts"][0]["limit"] == "sun"


def test_what_cannot_be_explained_is_told(planned):
    assert "there is no open order 'Y-9'" in run("explain", "Y-9", "--db", planned, expect=2)
    assert "a day and a time" in run("explain", "--chamber", "1A", "--at", "noon", "--db", planned, expect=2)
    assert "name an order" in run("explain", "--db", planned, expect=2)


def test_a_plan_is_written_of_the_yard_that_it_was_made_for(planned, tmp_path):
    path = shutil.copy(planned.removeprefix("sqlite:///"), tmp_path / "yard.sqlite")
    url, folder, before, after = (
        f"sqlite:///{path}",
        tmp_path / "now",
        tmp_path / "before.json",
        tmp_path / "after.json",
    )
    run("export", "plan", before, "--db", url, "--number", "1")
    run("export", "yard", folder, "--db", url)
    products = folder / "products.csv"
    products.write_text(products.read_text().replace("TANK,Tank,", "TANK,Taller tank,").replace(",205,", ",211,"))
    routing = folder / "routing.csv"
    routing.write_text(routing.read_text().replace(",cut,", ",saw,"))
    (folder / "orders.csv").unlink()
    (folder / "log.csv").unlink()
    run("import", "yard", folder, "--db", url)
    run("export", "plan", after, "--db", url, "--number", "1")
    assert after.read_text() == before.read_text()
    run("export", "yard", tmp_path / "then", "--plan", "1", "--db", url)
    run("export", "yard", tmp_path / "now2", "--version", "2", "--db", url)
    assert "TANK,Tank," in (tmp_path / "then" / "products.csv").read_text()
    assert ",211," in (tmp_path / "now2" / "products.csv").read_text()
    assert "known are 1, 2" in run("export", "yard", tmp_path / "no", "--version", "5", "--db", url, expect=2)
