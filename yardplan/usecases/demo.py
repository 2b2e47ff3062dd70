"""Make a database with the invented demo yard."""

from pathlib import Path

from yardplan.clock import now_utc
from yardplan.paths import demo_folder
from yardplan.store.engine import open_database
from yardplan.usecases.imports import import_yard


def make_demo(path: Path) -> str:
    """Write a fresh demo database to `path` and return its address; an old one there is replaced as a whole.

    The new file is complete before it takes the old one's place.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_suffix(".new.sqlite")
    for leftover in fresh.parent.glob(f"{fresh.name}*"):
        leftover.unlink()
    database = open_database(f"sqlite:///{fresh}")
    import_yard(database, demo_folder(), by="demo", at=now_utc())
    database.close()
    for old in path.parent.glob(f"{path.name}-*"):
        old.unlink()
    fresh.replace(path)
    return f"sqlite:///{path}"
