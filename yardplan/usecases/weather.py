"""The weather that plans count on: ask a service for it, keep what it says, tell what is in use and how old it is."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from hashlib import sha256

import numpy as np

from yardplan import __version__
from yardplan.domain.equipment import Site
from yardplan.domain.errors import NotThere, ServiceTrouble, require
from yardplan.domain.weather_in_use import ServiceFormat, WeatherInUse, end_of
from yardplan.forecast.blend import mode_of
from yardplan.forecast.client import LONGEST_REST, PATIENT, Patience, address_trouble, ask, shown
from yardplan.forecast.scenarios import SkyMode
from yardplan.forecast.services import OPEN_ADDRESS, OPEN_CREDIT, Forecast, Service, read_forecast
from yardplan.store.archive import (
    ServiceState,
    StoredForecast,
    add_forecast,
    newest_forecast,
    read_service_state,
    write_service_state,
)
from yardplan.store.engine import Database, Session
from yardplan.store.read import has_yard, read_setting, read_weather_year, read_yard
from yardplan.store.write import write_setting
from yardplan.usecases.clock import CLOCK_AT

CONTACT, FORMAT, ADDRESS, CREDIT = "forecast_contact", "forecast_format", "forecast_address", "forecast_credit"
"""Settings: who asks, and the service if it is not the open one."""

OWN_FILE = "own CSV"
"""Stands for the service of a forecast that came in as a file."""

_MOVED_DEG = 0.05  # some 5 km: a yard that moved so far stands under other clouds


def weather_in_use(database: Database, *, now: datetime) -> WeatherInUse:
    """Return what plans count on now, without asking anybody.

    The forecast got last counts unless it is too old (`mode_of`), ends before `now` or is for another place; then
    climatology does.

    Raises
    ------
    NotThere
        If there is no yard yet.
    """
    with database.begin_read() as session:
        return _in_use(session, site_of(session, database), now)


def refresh_forecast(
    database: Database, *, now: datetime, sleep: Callable[[float], None], patience: Patience = PATIENT
) -> WeatherInUse:
    """Ask the forecast service if it may be asked, keep a new answer, and return what is in use then.

    A service that gives nothing is no error: what was in use stays so, and the result says why and how old it is. No
    session is open while the service is asked.

    Parameters
    ----------
    sleep : callable
        Called with the seconds to wait before another try.

    Raises
    ------
    NotThere
        If there is no yard yet.
    """
    with database.begin_read() as session:
        site = site_of(session, database)
        service, contact = forecast_service(session), read_setting(session, CONTACT)
        state, newest = read_service_state(session, service.name), newest_forecast(session, service.name)
        question = sha256(service.url(site).encode()).hexdigest()[:16]
        known = newest if newest is not None and newest.question == question else None
        held_back = _reason_not_to_ask(session, contact, state, now)
        if held_back is not None:
            return replace(_in_use(session, site, now), trouble=held_back)
    place = (site.latitude_deg, site.longitude_deg)
    forecast: Forecast | None = None
    rest_until_at, trouble = now, ""
    try:
        answer = ask(
            service.url(site),
            user_agent=f"yardplan/{__version__} {contact}",
            now=now,
            sleep=sleep,
            rng=np.random.default_rng([int(now.timestamp()), *(round(1e4 * (180 + deg)) for deg in place)]),
            etag=known.etag if known else "",
            last_modified=known.last_modified if known else "",
            patience=patience,
        )
        rest_until_at = answer.expires_at
        if answer.body is not None:
            forecast = read_forecast(service, answer.body, site, now)
    except ServiceTrouble as error:
        trouble, rest_until_at = str(error), max(rest_until_at, now + timedelta(seconds=error.wait_s))
    with database.begin() as session:
        if forecast is not None:
            add_forecast(
                session,
                forecast.weather,
                forecast.members,
                service=service.name,
                question=question,
                latitude_deg=site.latitude_deg,
                longitude_deg=site.longitude_deg,
                credit=service.credit,
                payload=answer.body or b"",
                fetched_at=now,
                etag=answer.etag,
                last_modified=answer.last_modified,
                warnings=answer.warnings + forecast.warnings,
            )
        checked_at = state.checked_at if trouble else now
        write_service_state(session, ServiceState(service.name, checked_at, rest_until_at, trouble))
        return _in_use(session, site, now)


def forecast_service(session: Session) -> Service:
    """Return the service that the settings name; the open one where they name none."""
    form = ServiceFormat(read_setting(session, FORMAT) or ServiceFormat.CLOUD_LAYERS)
    address = read_setting(session, ADDRESS) or OPEN_ADDRESS
    credit = read_setting(session, CREDIT) or (OPEN_CREDIT if address == OPEN_ADDRESS else "")
    service = Service(form, address, credit)
    return service if credit else replace(service, credit=f"Forecast data of {service.name}")


def set_forecast_service(
    database: Database,
    *,
    by: str,
    at: datetime,
    contact: str | None = None,
    form: ServiceFormat | None = None,
    address: str | None = None,
    credit: str | None = None,
) -> None:
    """Keep settings of the forecast service, those that are given, blank ones for what holds without; ask from now on.

    Raises
    ------
    InvalidField
        If the contact is no mail address or site, or the address is not one of https (or on this computer) that has the
        format; nothing was kept then.
    """
    given = {CONTACT: contact, FORMAT: form, ADDRESS: address, CREDIT: credit}
    with database.begin() as session:
        for key, value in given.items():
            if value is not None:
                told_as = shown(value) if key == ADDRESS else None
                write_setting(session, key, value.strip(), by=by, at=at, told_as=told_as)
        service = forecast_service(session)
        contact = read_setting(session, CONTACT) or ""
        tidy = contact.isascii() and contact.isprintable() and len(contact) <= 200
        reachable = not contact or (tidy and ("@" in contact or "." in contact))
        require(reachable, "forecast service", "", "contact", contact, "a mail address or a site that is read")
        trouble = address_trouble(service.address)
        require(not trouble, "forecast service", service.name, "address", service.name, "https:// and a host and path")
        gives_none = service.format is ServiceFormat.IRRADIANCE and service.address == OPEN_ADDRESS
        require(not gives_none, "forecast service", service.name, "address", "", "the address of one with irradiance")
        state = read_service_state(session, service.name)
        write_service_state(session, replace(state, rest_until_at=None, trouble=""))


def site_of(session: Session, database: Database) -> Site:
    """Return where the yard stands; raises `NotThere` if there is no yard yet."""
    if not has_yard(session):
        raise NotThere("yard", database.url, "bring one in with `yardplan import yard`, or try `yardplan demo`")
    return read_yard(session).site


def _reason_not_to_ask(session: Session, contact: str | None, state: ServiceState, now: datetime) -> str | None:
    """Return why the service is not asked now, empty if just because its answer still holds; None if it may be."""
    if stands_at := read_setting(session, CLOCK_AT):
        return f"not asked: the clock of this yard stands at {stands_at}, for which nobody makes forecasts"
    if not contact:
        return "not asked: the service wants to know who asks; say it once with `yardplan weather --contact MAIL`"
    return state.trouble if _rests(state, now) else None


def _rests(state: ServiceState, now: datetime) -> bool:
    """Tell whether a service is left alone; a rest longer than any was set by a clock that was put right since."""
    return state.rest_until_at is not None and now < state.rest_until_at <= now + LONGEST_REST


def _in_use(session: Session, site: Site, now: datetime) -> WeatherInUse:
    year, name = read_weather_year(session), forecast_service(session).name
    state = read_service_state(session, name)
    asking = WeatherInUse(
        tz=site.tz,
        source=f"climatology: {year.weather.source}" if year else "",
        checked_at=state.checked_at,
        ask_from_at=state.rest_until_at if _rests(state, now) else None,
        trouble=state.trouble,
    )
    # Of any source and of the service, since a file may end before the service's forecast does.
    last_ones = (newest_forecast(session, known_at=now), newest_forecast(session, name, known_at=now))
    newest = next((one for one in last_ones if one is not None and _counts(one, site, now)), None)
    if newest is None:
        return asking
    return replace(
        asking,
        source=newest.weather.source,
        credit=newest.credit,
        issued_at=newest.issued_at,
        fetched_at=newest.fetched_at,
        age_h=max((now - newest.issued_at) / timedelta(hours=1), 0.0),
        warnings=newest.warnings,
        weather=newest.weather,
        members=newest.members,
        service=newest.service,
    )


def _counts(forecast: StoredForecast, site: Site, now: datetime) -> bool:
    """Tell whether a forecast is young enough, reaches past now and is for where the yard stands."""
    young = mode_of(forecast.weather, now) is not SkyMode.CLIMATOLOGY
    return young and end_of(forecast.weather) > now and is_for(forecast, site)


def is_for(forecast: StoredForecast, site: Site) -> bool:
    """Tell whether a forecast is for where the yard stands."""
    far_deg = max(abs(forecast.latitude_deg - site.latitude_deg), abs(forecast.longitude_deg - site.longitude_deg))
    return far_deg < _MOVED_DEG
