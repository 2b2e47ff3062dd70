"""Opening the database: SQLite in a file of the user's own, or PostgreSQL where several seats share it.

Writers take turns: `Database.begin` waits until no other one writes. Readers see one moment and hold nobody up.
"""

import logging
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import ArgumentError, DatabaseError, OperationalError
from sqlalchemy.orm import Session as Session  # for the annotations of use-cases, which may not import SQLAlchemy

from yardplan.domain.errors import DatabaseTooNew, DatabaseUnreadable
from yardplan.store.tables import ChangeCountRow

HEAD = "0014"
"""The newest revision in `MIGRATIONS`; a test holds the two together."""

VERSION_TABLE = "yardplan_version"
"""Not Alembic's own name for it, which any other program's database might have."""

MIGRATIONS = Path(__file__).parent / "migrations"

_READS_ONLY = "yardplan_reads_only"


@dataclass(frozen=True)
class Database:
    """An open database of the present version; threads may share it, each use-case takes its own session."""

    url: str
    _writing: sa.Engine = field(repr=False)
    _reading: sa.Engine = field(repr=False)

    @contextmanager
    def begin(self) -> Iterator[Session]:
        """Give a session that may write; all of it is kept at the end, or nothing if an exception passes.

        Raises
        ------
        DatabaseUnreadable
            If the database fails, or somebody else writes for longer than 5 s.
        """
        with _told(self._writing.url), Session(self._writing, expire_on_commit=False) as session, session.begin():
            session.execute(sa.select(ChangeCountRow.count).with_for_update())
            yield session

    @contextmanager
    def begin_read(self) -> Iterator[Session]:
        """Give a session that sees the database as of one moment; what it writes is thrown away.

        Raises
        ------
        DatabaseUnreadable
            If the database fails.
        """
        with _told(self._writing.url), Session(self._reading) as session:
            yield session

    def write_trouble(self) -> str:
        """Return why nothing can be written now, empty where something can or another seat is just writing."""
        where = self._writing.url
        if where.get_backend_name() == "sqlite" and not Path(where.database or "").exists():
            return "its file is not there"
        try:
            with self.begin():
                return ""
        except DatabaseUnreadable as error:
            return "" if "locked" in error.reason else error.reason

    def close(self) -> None:
        """Let go of all connections."""
        self._writing.dispose()


def open_database(url: str) -> Database:
    """Open a database; create it where there is none, and upgrade an old one.

    A SQLite file is copied to a dated backup beside it before an upgrade; PostgreSQL is backed up by its own tools.

    Parameters
    ----------
    url : str
        ``sqlite:///`` and a path, or ``postgresql://user@host/database``.

    Raises
    ------
    DatabaseTooNew
        If a newer yardplan wrote it. It was not touched.
    DatabaseUnreadable
        If it is damaged, out of reach or another program's. It was not touched.
    """
    where = _parsed(url)
    with _told(where):
        if where.get_backend_name() == "sqlite":
            path = Path(where.database or "").absolute()
            found = _version_of_file(path, where)
            if found != HEAD:
                if found is not None:
                    _refuse_newer(found)
                    _back_up(path, found)
                _upgrade(_file_engine(where, poolclass=sa.NullPool, foreign_keys=False))
            engine = _file_engine(where)
            return Database(url, engine, engine.execution_options(**{_READS_ONLY: True}))
        found = _found_version(_server_engine(where, poolclass=sa.NullPool), where)
        if found != HEAD:
            if found is not None:
                _refuse_newer(found)
            _upgrade(_server_engine(where, poolclass=sa.NullPool))
        engine = _server_engine(where, pool_pre_ping=True)
        return Database(url, engine, engine.execution_options(isolation_level="REPEATABLE READ"))


def _parsed(url: str) -> sa.URL:
    try:
        where = sa.make_url(url)
    except ArgumentError as error:
        raise DatabaseUnreadable(url, "not an address; expected sqlite:/// and a path, or postgresql://…") from error
    match where.get_backend_name():
        case "sqlite" if where.database and where.database != ":memory:":
            return where.set(drivername="sqlite")
        case "sqlite":
            raise DatabaseUnreadable(url, "it names no file; expected sqlite:/// and a path")
        case "postgresql":
            return where.set(drivername="postgresql+psycopg")
        case other:
            raise DatabaseUnreadable(_shown(where), f"{other} is not supported; expected sqlite:/// or postgresql://")


def _server_engine(where: sa.URL, **options: Any) -> sa.Engine:
    waits = {"connect_timeout": 5, "options": "-c lock_timeout=5s"}
    try:
        return sa.create_engine(where, connect_args=waits, **options)
    except ModuleNotFoundError as error:
        reason = f"{error.name} is not installed; install yardplan with its extra 'postgres'"
        raise DatabaseUnreadable(_shown(where), reason) from error


def _file_engine(where: sa.URL, *, foreign_keys: bool = True, **options: Any) -> sa.Engine:
    engine = sa.create_engine(where, **options)

    @sa.event.listens_for(engine, "connect")
    def set_up(connection: sqlite3.Connection, _record: object) -> None:
        connection.isolation_level = None  # Python shall not begin transactions on its own, see below
        connection.execute("PRAGMA busy_timeout = 5000")
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")

    @sa.event.listens_for(engine, "begin")
    def begin(connection: sa.Connection) -> None:
        # A transaction that reads first and writes later fails at once if somebody else wrote in between.
        reads_only = connection.get_execution_options().get(_READS_ONLY)
        connection.exec_driver_sql("BEGIN" if reads_only else "BEGIN IMMEDIATE")

    return engine


def _version_of_file(path: Path, where: sa.URL) -> str | None:
    """Return the revision that a SQLite file is at, None if it is empty or missing; then its folder is made."""
    if not path.exists():
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise DatabaseUnreadable(_shown(where), f"its folder could not be made: {error.strerror}") from error
        return None
    if not path.is_file():
        raise DatabaseUnreadable(_shown(where), "it is not a file")

    def connect() -> sqlite3.Connection:
        # So that nothing changes: setting WAL on another program's file would already do that. And without
        # "immutable" even reading leaves two small files beside a database that is at rest.
        at_rest = not path.with_name(f"{path.name}-wal").exists()
        return sqlite3.connect(f"{path.as_uri()}?{'immutable=1' if at_rest else 'mode=ro'}", uri=True)

    return _found_version(sa.create_engine("sqlite://", creator=connect, poolclass=sa.NullPool), where)


def _found_version(engine: sa.Engine, where: sa.URL) -> str | None:
    """Return the revision that a database is at, None if it is empty."""
    with engine.connect() as connection:
        tables = sa.inspect(connection).get_table_names()
        if not tables:
            return None
        if VERSION_TABLE in tables:
            found = connection.scalar(sa.select(sa.column("version_num")).select_from(sa.table(VERSION_TABLE)))
            if found is not None:
                return str(found)
    raise DatabaseUnreadable(
        _shown(where), "it holds another program's tables; nothing was changed, give yardplan a database of its own"
    )


def _refuse_newer(found: str) -> None:
    from alembic.script import ScriptDirectory  # slow to import and seldom needed

    if found not in {script.revision for script in ScriptDirectory(str(MIGRATIONS)).walk_revisions()}:
        raise DatabaseTooNew(found, HEAD)


def _back_up(path: Path, found: str) -> None:
    """Copy a SQLite file beside itself, named by its version and the date of its last change."""
    changed_at = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    unfinished = path.with_name(f"{path.name}.part")
    names = (f"{path.stem}.version-{found}.{changed_at:%Y-%m-%d}.backup-{number}{path.suffix}" for number in count(1))
    try:
        target = next(target for name in names if not (target := path.with_name(name)).exists())
        with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(unfinished)) as copy:
            source.backup(copy)
        unfinished.rename(target)
    except (sqlite3.Error, OSError) as error:
        reason = f"it is older and needs an upgrade, but its backup could not be written first: {error}"
        raise DatabaseUnreadable(str(path), reason) from error


def _upgrade(engine: sa.Engine) -> None:
    """Bring a database to the newest revision in one transaction."""
    logging.getLogger("alembic").setLevel(logging.WARNING)  # before the import, which logs already
    from alembic import command  # slow to import and seldom needed
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        if engine.dialect.name == "sqlite":
            # Off while tables are rebuilt, hence looked at as a whole before it counts.
            broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
            if broken:
                raise RuntimeError(f"the upgrade broke references, nothing was changed: {broken[:5]}")


@contextmanager
def _told(where: sa.URL) -> Iterator[None]:
    """Tell failures of the database itself as such; what a program did wrong stays as it is."""
    try:
        yield
    except DatabaseError as error:
        if type(error) in (DatabaseError, OperationalError):
            raise DatabaseUnreadable(_shown(where), str(error.orig)) from error
        raise
    except sqlite3.DatabaseError as error:  # from setting up a connection, which SQLAlchemy does not translate
        raise DatabaseUnreadable(_shown(where), str(error)) from error


def _shown(where: sa.URL) -> str:
    return where.render_as_string(hide_password=True)
