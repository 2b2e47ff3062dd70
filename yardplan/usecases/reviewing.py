"""How the yard did of late: what was planned and made, where heat went, how good forecasts and models were."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from yardplan.domain.adherence import adherence
from yardplan.domain.calibration import Calibrated, factors_of
from yardplan.domain.errors import NotThere
from yardplan.domain.figures import Facts, review
from yardplan.domain.heat_use import PastSun, heat_ledger
from yardplan.domain.made import InForce, made_cycles, spells, starts
from yardplan.domain.review import Review
from yardplan.domain.slots import SlotGrid
from yardplan.domain.verification import Verified
from yardplan.domain.yard import Yard
from yardplan.forecast.heat import field_heat
from yardplan.forecast.past import skies_as_measured
from yardplan.forecast.sun_table import intercept_slots
from yardplan.store.day import read_publications
from yardplan.store.engine import Database, Session
from yardplan.store.read import read_calibrations, read_logged_cycles, read_plan
from yardplan.usecases.calibration import learned
from yardplan.usecases.logbook import read_book
from yardplan.usecases.own_weather import measured_sun
from yardplan.usecases.skies import stored_typical_year
from yardplan.usecases.verification import verify_outlooks

DAYS = 28
"""How far back is looked where nothing is said."""


def review_yard(
    database: Database, *, now: datetime, days: int = DAYS, on_part: Callable[[Review], None] | None = None
) -> Review:
    """Return how the yard did in the local days that end now, today among them.

    Parameters
    ----------
    on_part : callable or None
        Told all but what the log teaches, which takes most of the time.

    Raises
    ------
    NotThere
        If there is no yard yet. What else is missing is told by the figures that lack it.
    """
    with database.begin_read() as session:
        book = read_book(database, session)
        history = read_logged_cycles(session)
        plans = _in_force(session, now)
    yard, state = book.yard, book.state(now)
    today = SlotGrid(now, 1, yard.site.tz).local(0).date()
    grid = SlotGrid.of_days(today - timedelta(days=days - 1), days, yard.site.tz)
    known = [row for row in history if row.demolded_at <= now]
    cycles = tuple(
        one
        for one in made_cycles(yard, known, state.cycles, now)
        if (one.demolded_at or now) >= grid.start_at and one.charged_at <= now
    )
    out = spells(yard, book.events, now)
    plans = tuple(force for force in plans if force.until_at > grid.start_at)
    plans = tuple(InForce(one.plan, max(one.from_at, grid.start_at), one.until_at) for one in plans)
    sun = _past_sun(database, yard, grid, now)
    facts = Facts(
        yard=yard,
        start_at=grid.start_at,
        end_at=now,
        plans=plans,
        cycles=cycles,
        starts=starts(yard, plans, cycles, out, now),
        sun=sun,
        heat=heat_ledger(yard, sun, cycles, out, grid.start_at, now) if sun else None,
        calibrated=None,
        verified=_verified(database, now, days),
        adherence=adherence(yard, book.plan, state, book.events) if book.plan else None,
    )
    if on_part is not None:
        on_part(review(replace(facts, is_part=True)))
    return review(replace(facts, calibrated=_calibrated(database, now)))


def _in_force(session: Session, now: datetime) -> tuple[InForce, ...]:
    """Return the plans that were published, each with the time through which it was in force."""
    published = [one for one in read_publications(session) if one.at <= now]
    found = []
    for said, next_at in zip(published, [*(one.at for one in published[1:]), now], strict=False):
        stored = read_plan(session, said.plan_number)
        if stored is not None:
            found.append(InForce(stored.outcome.plan, said.at, next_at))
    return tuple(found)


def _past_sun(database: Database, yard: Yard, grid: SlotGrid, now: datetime) -> PastSun | None:
    """Return what the measured sun let the mirrors send, by the newest calibration; None where nothing was measured."""
    measured = measured_sun(database, start_at=grid.start_at, end_at=now)
    if not measured:
        return None
    with database.begin_read() as session:
        try:
            year = stored_typical_year(database, session)
        except NotThere:
            return None
        heat_factor, _ = factors_of(yard, read_calibrations(session))
    skies, known = skies_as_measured(yard.site, year, measured, grid)
    heat = field_heat(yard, skies, seed=0)
    absorptance_frac = np.array([mold.absorptance_frac for mold in yard.molds])
    share = (heat_factor * absorptance_frac[:, None]).astype(np.float32)
    return PastSun(
        grid,
        heat.field_kw[0],
        intercept_slots(yard, grid) * share[:, :, None],
        known,
        skies.clear.dni_w_m2 <= 0,
    )


def _calibrated(database: Database, now: datetime) -> Calibrated | None:
    try:
        return learned(database, now=now)[0]
    except NotThere:
        return None


def _verified(database: Database, now: datetime, days: int) -> Verified | None:
    try:
        return verify_outlooks(database, now=now, days=days)
    except NotThere:
        return None
