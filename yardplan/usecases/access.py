"""Whether the database can be written."""

from yardplan.store.engine import Database


def write_trouble(database: Database) -> str:
    """Return why nothing can be kept now, empty where it can."""
    return database.write_trouble()
