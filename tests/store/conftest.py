import os
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa

from yardplan.store.engine import Database, open_database

SERVER = os.environ.get("YARDPLAN_TEST_PG")
"""Address of an empty PostgreSQL database that tests may wipe; without it they run on SQLite alone."""


@pytest.fixture(params=["sqlite", "postgresql"] if SERVER else ["sqlite"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a database that does not exist yet."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'yard.sqlite'}"
    server = sa.create_engine(sa.make_url(SERVER).set(drivername="postgresql+psycopg"))
    with server.begin() as connection:
        connection.exec_driver_sql("DROP SCHEMA public CASCADE")
        connection.exec_driver_sql("CREATE SCHEMA public")
    server.dispose()
    return SERVER


@pytest.fixture
def database(url: str) -> Iterator[Database]:
    """An empty database, made by migrating."""
    opened = open_database(url)
    yield opened
    opened.close()
