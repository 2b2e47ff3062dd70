"""Each version of the yard stays, and so does the yard that a plan was made for."""

import gzip
import json
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa

from tests.small_yard import small_yard
from tests.store.rich_yard import NOON, made, rich_outcome, rich_yard
from yardplan.domain.errors import ChangedElsewhere, InvalidField, NotThere
from yardplan.domain.yard import Yard
from yardplan.store.engine import Database, open_database
from yardplan.store.kept_yards import YardVersion, keep_yard, read_yard_as_of, read_yard_of_plan, yard_versions
from yardplan.store.read import read_yard, read_yard_version
from yardplan.store.tables import KeptYardRow, PlanRow, YardVersionRow
from yardplan.store.write import add_plan, write_yard

PAT = {"by": "Pat", "at": NOON}


def hotter(yard: Yard) -> Yard:
    """The same yard with one product cooked longer."""
    return replace(yard, products=(replace(yard.products[0], piat_c=211.0), *yard.products[1:]))


def test_each_version_is_read_back_as_it_was(database: Database) -> None:
    later = NOON + timedelta(hours=2)
    with database.begin() as session:
        write_yard(session, rich_yard(), **PAT)
        write_yard(session, small_yard(), by="Kim", at=later, what="another yard")
        write_yard(session, hotter(small_yard()), by="Kim", at=later, what="hotter")
    with database.begin_read() as session:
        assert yard_versions(session) == (
            YardVersion(1, NOON, "Pat", "written"),
            YardVersion(2, later, "Kim", "another yard"),
            YardVersion(3, later, "Kim", "hotter"),
        )
        assert [read_yard_as_of(session, number) for number in (1, 2, 3)] == [
            rich_yard(),
            small_yard(),
            hotter(small_yard()),
        ]
        with pytest.raises(NotThere, match="known are 1, 2, 3"):
            read_yard_as_of(session, 4)


def test_a_plan_keeps_the_yard_that_it_was_made_for(database: Database) -> None:
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
        number = made(session, rich_outcome(), lambda *args, **told: add_plan(*args, yard=small_yard(), **told)).number
    with database.begin_read() as session:
        before = session.get_one(PlanRow, number).yard_digest
    with database.begin() as session:
        write_yard(session, hotter(small_yard()), **PAT)
    with database.begin_read() as session:
        assert session.get_one(PlanRow, number).yard_digest == before
        assert read_yard_of_plan(session, number) == small_yard() != read_yard(session)
        assert read_yard_of_plan(session, number + 1) is None


def test_equal_yards_are_kept_once(database: Database) -> None:
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
        write_yard(session, hotter(small_yard()), **PAT)
        write_yard(session, small_yard(), **PAT)
        assert keep_yard(session, hotter(small_yard())) == keep_yard(session, hotter(small_yard()))
    with database.begin_read() as session:
        assert session.scalar(sa.select(sa.func.count()).select_from(KeptYardRow)) == 2
        assert session.scalar(sa.select(sa.func.count()).select_from(YardVersionRow)) == 3


def test_a_version_that_was_refused_is_not_kept(database: Database) -> None:
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
    with pytest.raises(ChangedElsewhere), database.begin() as session:
        write_yard(session, rich_yard(), seen_version=7, **PAT)
    with database.begin_read() as session:
        assert [version.number for version in yard_versions(session)] == [1]


def test_a_yard_from_before_versions_were_kept_becomes_one_when_it_is_changed(database: Database) -> None:
    with database.begin() as session:
        write_yard(session, rich_yard(), **PAT)
        session.execute(sa.delete(YardVersionRow))
        session.execute(sa.delete(KeptYardRow))
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
    with database.begin_read() as session:
        assert [version.number for version in yard_versions(session)] == [1, read_yard_version(session)]
        assert read_yard_as_of(session, 1) == rich_yard()


def test_fields_that_a_later_program_adds_are_read_at_their_default(tmp_path: Path) -> None:
    database = open_database(f"sqlite:///{tmp_path / 'yard.sqlite'}")
    with closing(database), database.begin() as session:
        write_yard(session, small_yard(), **PAT)
        row = session.scalars(sa.select(KeptYardRow)).one()
        plain = json.loads(gzip.decompress(row.document))
        for unit in plain["units"]:
            del unit["wash_min"]
            unit["a_field_that_is_gone"] = 1
        row.document = gzip.compress(json.dumps(plain).encode())
        session.flush()
        assert read_yard_as_of(session, 1) == small_yard()
        plain["units"][0]["target_up_m"] = 99
        row.document = gzip.compress(json.dumps(plain).encode())
        session.flush()
        with pytest.raises(InvalidField, match="target_up_m"):
            read_yard_as_of(session, 1)
