"""Edits of the yard: whole or not at all, versioned, never over another seat's."""

from datetime import UTC, datetime

import pytest

from tests.small_yard import small_orders, small_yard
from yardplan.domain.errors import BadFile, ChangedElsewhere, InvalidField, NotThere
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.yard_draft import BLANK, draft_of
from yardplan.store.engine import Database, open_database
from yardplan.store.read import read_audit, read_orders, read_yard
from yardplan.store.write import add_orders, write_yard
from yardplan.usecases.yard_editing import old_draft, open_yard, save_yard, set_cells, yard_version

AT = datetime(2027, 5, 14, 20, tzinfo=UTC)
PAT, KIM = {"by": "Pat", "at": AT}, {"by": "Kim", "at": AT}


@pytest.fixture
def empty(tmp_path):
    database = open_database(f"sqlite:///{tmp_path / 'yard.sqlite'}")
    yield database
    database.close()


@pytest.fixture
def database(empty: Database) -> Database:
    with empty.begin() as session:
        write_yard(session, small_yard(), **PAT)
        add_orders(session, small_orders(), **PAT)
    return empty


def test_an_edit_is_kept_as_the_next_version(database):
    found = open_yard(database)
    assert (found.yard, found.version, len(found.orders)) == (small_yard(), 1, 3)
    draft = found.draft.with_cell(tables.MOLDS, 0, "copies", "3")
    saved = save_yard(database, draft, seen_version=1, **KIM)
    assert (saved.version, saved.yard.molds[0].copies, saved.draft) == (2, 3, draft)
    assert [(row.number, row.by, row.what) for row in saved.versions][-1] == (2, "Kim", "molds: M1 changed")
    with database.begin_read() as session:
        assert read_audit(session)[0].what == "yard Test mesa: molds: M1 changed"


def test_a_draft_that_is_no_yard_changes_nothing(database):
    draft = open_yard(database).draft.with_cell(tables.MOLDS, 0, "copies", "no")
    draft = draft.with_cell(tables.SHIFTS, 0, "end_local", "12:00")
    with pytest.raises(BadFile, match=r"molds.csv row 1, column copies: is 'no'"):
        save_yard(database, draft, seen_version=1, **KIM)
    assert (open_yard(database).yard, yard_version(database)) == (small_yard(), 1)


def test_orders_that_came_in_meanwhile_are_looked_at(database):
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
    found = open_yard(database)
    draft = found.draft.without(tables.PRODUCTS, 1)
    with pytest.raises(BadFile, match="order Y-2"):
        save_yard(database, draft, seen_version=found.version, **KIM)
    with database.begin_read() as session:
        assert len(read_orders(session)) == 3


def test_another_seats_edit_is_not_overwritten(database):
    found = open_yard(database)
    save_yard(database, found.draft.with_cell(tables.MOLDS, 0, "copies", "2"), seen_version=1, **KIM)
    with pytest.raises(ChangedElsewhere):
        save_yard(database, found.draft.with_cell(tables.MOLDS, 0, "copies", "9"), seen_version=1, **PAT)
    assert open_yard(database).yard.molds[0].copies == 2


def test_an_old_version_is_brought_back_as_a_new_one(database):
    set_cells(database, "molds", "M1", {"copies": "2"}, **KIM)
    saved = save_yard(database, old_draft(database, 1), seen_version=2, **PAT)
    assert (saved.version, saved.yard) == (3, small_yard())
    with pytest.raises(NotThere, match="known are 1, 2, 3"):
        old_draft(database, 8)


def test_a_first_yard_can_be_written_from_nothing(empty):
    found = open_yard(empty)
    assert (found.yard, found.version, found.draft) == (None, 0, BLANK)
    with pytest.raises(BadFile, match="latitude_deg: is blank"):
        save_yard(empty, found.draft, seen_version=0, **PAT)
    saved = save_yard(empty, draft_of(small_yard()), seen_version=0, **PAT)
    assert (saved.version, saved.versions[0].what) == (1, "begun")
    with empty.begin_read() as session:
        assert read_yard(session) == small_yard()


def test_cells_are_set_by_name(database):
    assert set_cells(database, "shifts", "early", {"end_local": "13:30"}, **KIM) == "shifts: early changed"
    assert set_cells(database, "site", "-", {"loaders": "2"}, **KIM) == "site: loaders changed"
    assert open_yard(database).yard.site.loaders == 2
    for where, name, column, told in (
        ("tools", "M1", "copies", "a yard has site, units"),
        ("molds", "M9", "copies", "known are M1, M2"),
        ("molds", "M1", "weight", "molds have mold, name"),
    ):
        with pytest.raises(NotThere, match=told):
            set_cells(database, where, name, {column: "1"}, **KIM)
    with pytest.raises(InvalidField, match="12 rows bear it"):
        set_cells(database, "heliostats", "U1", {"up_m": "1"}, **KIM)
    assert yard_version(database) == 3
