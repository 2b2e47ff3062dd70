"""What time it is in the yard."""

from datetime import datetime

from yardplan.clock import now_utc
from yardplan.store.engine import Database
from yardplan.store.read import read_setting

CLOCK_AT = "clock_at"


def yard_now(database: Database) -> datetime:
    """Return the present instant [UTC]: a demo yard's clock stands still at its own moment."""
    with database.begin_read() as session:
        stands_at = read_setting(session, CLOCK_AT)
    return datetime.fromisoformat(stands_at) if stands_at else now_utc()
