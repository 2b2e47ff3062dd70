"""The sky that plans count on: the season, the forecast in use, what was read and said, and what the log has taught."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from yardplan.domain.errors import NotThere
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import Weather
from yardplan.domain.yard import Yard
from yardplan.forecast.correct import WINDOW_DAYS, Learned, fit_correction, pairs_of
from yardplan.forecast.rain import rain_with_forecast
from yardplan.forecast.scenarios import Skies, SkyMode, climatology
from yardplan.forecast.skies import forecast_skies
from yardplan.forecast.weather import TypicalYear
from yardplan.store.archive import read_forecasts
from yardplan.store.engine import Database, Session
from yardplan.store.read import has_yard, read_weather_year, read_yard
from yardplan.usecases.overruling import overrules_in_use
from yardplan.usecases.own_weather import measured_sun
from yardplan.usecases.weather import is_for, weather_in_use

N_SCENARIOS = 60
"""Skies of a forecast; up to this many every start of a cook is worked out by itself."""

READINGS = timedelta(days=WINDOW_DAYS)
"""How far back measured sun tells of haze, of clouds and of earlier forecasts."""


def stored_typical_year(database: Database, session: Session) -> TypicalYear:
    """Return the typical year of a yard.

    Raises
    ------
    NotThere
        If the database has no yard or no typical year yet.
    """
    if not has_yard(session):
        raise NotThere("yard", database.url, "bring one in with `yardplan import yard`, or try `yardplan demo`")
    year = read_weather_year(session)
    if year is None:
        site = read_yard(session).site
        raise NotThere("weather", site.name, "bring in a typical-year file with `yardplan import weather FILE`")
    return TypicalYear(
        weather=year.weather,
        latitude_deg=year.latitude_deg,
        longitude_deg=year.longitude_deg,
        altitude_m=year.altitude_m,
        name=year.name,
    )


def skies_in_use(
    database: Database, yard: Yard, year: TypicalYear, grid: SlotGrid, *, now: datetime, seed: int = 0
) -> Skies:
    """Return scenarios from what was known and said at `now`: forecast, readings and overrules, or the season alone.

    A forecast is corrected by what the log says of earlier ones of its service, where that helps.
    """
    in_use = weather_in_use(database, now=now)
    measured = measured_sun(database, start_at=now - READINGS, end_at=now)
    # What lies before or after these days would only be told in vain.
    said = (rule for rule in overrules_in_use(database, now=now))
    overrules = tuple(rule for rule in said if rule.start_at < grid.end_at and rule.end_at > grid.start_at)
    if in_use.weather is None and not measured and not overrules:
        return climatology(yard.site, year, grid, seed=seed)
    learned = None
    if in_use.weather is not None:
        learned = learned_of(database, yard, year, in_use.service, measured, now=now)
    skies = forecast_skies(
        yard.site,
        year,
        in_use.weather,
        measured,
        grid,
        now=now,
        members=in_use.members,
        n_scenarios=N_SCENARIOS,
        seed=seed,
        overrules=overrules,
        correction=learned.correction if learned else None,
    )
    if learned is None or in_use.weather is None or skies.mode is SkyMode.CLIMATOLOGY:
        return skies
    rain_mm = rain_with_forecast(skies, (in_use.weather, *in_use.members), now)
    return replace(skies, correction=learned.told, rain_mm=rain_mm)


def learned_of(
    database: Database, yard: Yard, year: TypicalYear, service: str, measured: Sequence[Weather], *, now: datetime
) -> Learned:
    """Return what the log says of a service's forecasts of the last weeks that were there at `now`."""
    with database.begin_read() as session:
        kept = read_forecasts(session, now - timedelta(days=WINDOW_DAYS), now)
    said = [
        (it.weather, *it.members)
        for it in kept
        if it.service == service and it.fetched_at <= now and is_for(it, yard.site)
    ]
    return fit_correction(pairs_of(yard.site, year, said, measured, now))
