"""Finished pieces in stock that no order takes, as somebody counted them."""

from datetime import datetime
from pathlib import Path

from yardplan.domain.errors import NotThere
from yardplan.exchange.finished_file import read_finished_file
from yardplan.store.engine import Database
from yardplan.store.promises import write_finished
from yardplan.store.read import has_yard, read_yard


def import_finished(database: Database, path: Path, *, by: str, at: datetime) -> str:
    """Take a count of finished pieces in place of the one before; returns what was taken, in words.

    Raises
    ------
    BadFile
        Lists every bad row; nothing is taken then.
    NotThere
        If there is no yard yet.
    """
    with database.begin() as session:
        if not has_yard(session):
            raise NotThere("yard", database.url, "bring one in with `yardplan import yard` first")
        rows = read_finished_file(path, read_yard(session))
        write_finished(session, rows, by=by, at=at)
    free, held = sum(row.free for row in rows), sum(row.on_hold for row in rows)
    return f"{path.name}: {free} free pieces, {held} on a quality hold"
