"""Put a plan version into force, and tell which one is."""

from datetime import datetime

from yardplan.domain.outcome import Publication
from yardplan.domain.overtime import as_planned_tonight
from yardplan.store.day import add_publication, read_publications
from yardplan.store.engine import Database
from yardplan.store.kept_yards import read_yard_of_plan
from yardplan.store.read import read_yard
from yardplan.store.write import write_yard


def publish(
    database: Database, number: int, *, by: str, now: datetime, seat: str = "", reason: str = "", anyway: bool = False
) -> Publication:
    """Put a plan version into force; the ones before stay readable. Raises as `add_publication` does.

    Overtime that the plan was made with is in the yard from then on.
    """
    with database.begin() as session:
        published = add_publication(session, number, at=now, by=by, seat=seat, reason=reason, anyway=anyway)
        made_for = read_yard_of_plan(session, number)
        if made_for is not None:
            yard = read_yard(session)
            planned = as_planned_tonight(yard, made_for)
            if planned != yard:
                write_yard(session, planned, by=by, at=now, what=f"overtime of plan {number}")
        return published


def publications(database: Database) -> tuple[Publication, ...]:
    """Return which plans came into force, the one that is in force last."""
    with database.begin_read() as session:
        return read_publications(session)
