"""Put a plan version into force, and tell which one is."""

from datetime import datetime

from yardplan.domain.outcome import Publication
from yardplan.store.day import add_publication, read_publications
from yardplan.store.engine import Database


def publish(
    database: Database, number: int, *, by: str, now: datetime, seat: str = "", reason: str = "", anyway: bool = False
) -> Publication:
    """Put a plan version into force; the ones before stay readable. Raises as `add_publication` does."""
    with database.begin() as session:
        return add_publication(session, number, at=now, by=by, seat=seat, reason=reason, anyway=anyway)


def publications(database: Database) -> tuple[Publication, ...]:
    """Return which plans came into force, the one that is in force last."""
    with database.begin_read() as session:
        return read_publications(session)
