"""How good the outlooks were: those that were shown, or made when a forecast came, against measured sun."""

from datetime import datetime, timedelta
from pathlib import Path

from yardplan.domain.slots import SlotGrid
from yardplan.domain.verification import Verified
from yardplan.forecast.verify import LONGEST_LEAD, PERSISTENCE_DAYS, shown, verify
from yardplan.store.archive import add_shown, read_shown
from yardplan.store.engine import Database
from yardplan.store.read import read_weather_year, read_yard
from yardplan.usecases.own_weather import import_own_weather, measured_sun
from yardplan.usecases.skies import READINGS, learned_of, skies_in_use, stored_typical_year
from yardplan.usecases.weather import weather_in_use


def keep_outlook(database: Database, *, now: datetime) -> None:
    """Keep what is said of the sun from today on, as after a forecast came in that nobody may look at.

    Without a typical year there is no outlook, and nothing is kept.
    """
    with database.begin_read() as session:
        if read_weather_year(session) is None:
            return
        yard, year = read_yard(session), stored_typical_year(database, session)
    today = SlotGrid(now, 1, yard.site.tz).local(0).date()
    grid = SlotGrid.of_days(today, LONGEST_LEAD.days + 1, yard.site.tz)
    said = shown(skies_in_use(database, yard, year, grid, now=now), now)
    with database.begin() as session:
        add_shown(session, said)


def import_forecast(database: Database, path: Path, *, by: str, at: datetime) -> str:
    """Take a CSV of the coming days as the forecast in use and keep what it makes of them; see `import_own_weather`."""
    told = import_own_weather(database, path, by=by, at=at)
    keep_outlook(database, now=at)
    return told


def verify_outlooks(database: Database, *, now: datetime, days: int = 60) -> Verified:
    """Return how the outlooks of the last `days` fared against what was measured.

    Raises
    ------
    NotThere
        If the database has no yard or no typical year yet.
    """
    with database.begin_read() as session:
        year, yard = stored_typical_year(database, session), read_yard(session)
        outlooks = read_shown(session, now - timedelta(days=days) - LONGEST_LEAD, now)
    start_at = now - max(timedelta(days=days + PERSISTENCE_DAYS), READINGS)
    measured = measured_sun(database, start_at=start_at, end_at=now)
    service = weather_in_use(database, now=now).service
    learned = learned_of(database, yard, year, service, measured, now=now) if service else None
    return Verified(
        tz=yard.site.tz,
        days=days,
        n_outlooks=len(outlooks),
        first_made_at=outlooks[0].made_at if outlooks else None,
        sun_was_measured=bool(measured),
        scores=verify(yard.site, year, outlooks, measured, now=now, days=days),
        correction=learned.told if learned else None,
    )
