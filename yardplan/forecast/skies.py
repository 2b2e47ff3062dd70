"""Scenarios of the coming skies: forecast, climate, today's readings and the manager's word in one."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.errors import require
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import FloatArray, Weather
from yardplan.forecast.air import air_with_forecast
from yardplan.forecast.blend import USABLE_H, Belief, SeasonOfHours, belief, mode_of
from yardplan.forecast.clouds import Donors, donors_of, within_hours
from yardplan.forecast.conditional import INDEX_NODES, LOW_SUN_DEG, cdf_at, inverse, samples, total_of_direct
from yardplan.forecast.correct import Correction
from yardplan.forecast.hours import YardHours
from yardplan.forecast.overrule import Overrule, overruled
from yardplan.forecast.paths import READING_NOISE, Readings, pulled, stories
from yardplan.forecast.readings import SunLog, sun_log
from yardplan.forecast.scenarios import EXTRA_CAP, Skies, SkyMode, climatology
from yardplan.forecast.sky import ClearSky, Floats, Sun
from yardplan.forecast.turbidity import fit_linke
from yardplan.forecast.weather import TypicalYear

_LEAST_COVERED = 0.08  # of an hour that must have been read for it to tell something: one reading of 5 minutes does
_CLOCK_H = 1.0


def forecast_skies(
    site: Site,
    year: TypicalYear,
    forecast: Weather | None,
    measured: Sequence[Weather],
    grid: SlotGrid,
    *,
    now: datetime,
    n_scenarios: int = 200,
    seed: int = 0,
    overrules: Sequence[Overrule] = (),
    correction: Correction | None = None,
    members: Sequence[Weather] = (),
) -> Skies:
    """Return scenarios of the sky over the yard, equally likely.

    Hour by hour the clear-sky index follows the forecast, widened by its age and mixed with the climate of the
    season; stories correlated over hours and days tie the hours together; readings before `now` pull the hours after
    it; clouds within the hour are laid in so that each hour keeps its mean. What has been read stands in all
    scenarios. What was set by hand has the last word. Temperature, wind and gusts follow the forecast less and less,
    with sunnier scenarios taking the air of sunnier days. One seed gives the same scenarios.

    Parameters
    ----------
    year : TypicalYear
        The climate: what stands in where the forecast ends, is missing or too old.
    forecast : Weather or None
        With `issued_at`; its direct light is used where it has some, its clouds otherwise.
    measured : sequence of Weather
        Direct light that was read, in steps of an hour or less, one for each length of step; the last weeks also tell
        of haze and of clouds.
    overrules : sequence of Overrule
        Set by hand; a later one goes before an earlier one.
    correction : Correction or None
        What was learned from earlier forecasts.
    members : sequence of Weather
        Further members of the forecast's ensemble, equally likely; of them the sun counts, air and wind do not.

    Raises
    ------
    InvalidField
        If `now` has no offset, there is no scenario, or an hour is no whole number of slots.
    """
    require(n_scenarios >= 1, "scenarios", site.name, "n_scenarios", n_scenarios, "at least 1")
    require(now.tzinfo is not None, "scenarios", site.name, "now", now, "an aware instant")
    log = sun_log(site, measured, now, grid.slot_min, linke=site.linke)
    linke = site.linke
    if linke is None and log is not None and (fitted := fit_linke(site, log)):
        linke = fitted.linke
    hours = YardHours.around(site, grid, now, linke)
    learned = samples(year)
    season = SeasonOfHours(learned, hours, southern=site.latitude_deg < 0)
    believed, gaps = belief(season, forecast, now, members)
    if correction is not None:
        believed = correction.corrected(believed)

    index = _hourly_index(hours, believed, log, n_scenarios, seed)
    clear_hours = hours.by_hour(hours.clear.dni_w_m2).astype(np.float32)
    by_hour = within_hours(index, clear_hours, grid.slot_min, seed=seed, donors=_donors(log))
    wanted = slice(hours.first_slot, hours.first_slot + grid.n_slots)
    slots: FloatArray = by_hour.reshape(n_scenarios, -1)[:, wanted]
    clear = _clear_of(hours.clear, wanted)
    if log is not None:
        slots = _with_read(slots, log.slots_on(hours)[0][wanted], clear)
    slots = overruled(slots, grid, overrules)

    dni = np.minimum(slots * clear.dni_w_m2, EXTRA_CAP * clear.extra_w_m2).astype(np.float32)
    beam = dni * np.sin(np.radians(np.clip(clear.sun.elevation_deg, 0, None))).astype(np.float32)
    total = np.interp(slots, INDEX_NODES, total_of_direct(learned)).astype(np.float32)
    climate = _like_the_sun(climatology(site, year, grid, n_scenarios=n_scenarios, seed=seed), dni)
    temp_c, wind_m_s, gust_m_s = air_with_forecast(climate, forecast, now)
    mode = SkyMode.CLIMATOLOGY if not believed.forecast_share.any() else mode_of(forecast, now)
    age_h = None
    if forecast is not None and forecast.issued_at is not None:
        age_h = (now - forecast.issued_at) / timedelta(hours=1)
    return Skies(
        grid=grid,
        clear=clear,
        dni_w_m2=dni,
        ghi_w_m2=np.maximum(total * clear.ghi_w_m2.astype(np.float32), beam),
        temp_c=temp_c,
        wind_m_s=wind_m_s,
        gust_m_s=gust_m_s,
        source=_source(site, year, forecast, mode, linke),
        issued_at=None if mode is SkyMode.CLIMATOLOGY or forecast is None else forecast.issued_at,
        mode=mode,
        age_h=None if mode is SkyMode.CLIMATOLOGY else age_h,
        overrules=tuple(overrules),
        warnings=(*_about(forecast, mode, age_h), *gaps, *(() if log is None else log.warnings)),
    )


def _hourly_index(hours: YardHours, believed: Belief, log: SunLog | None, n_scenarios: int, seed: int) -> Floats:
    """Return the clear-sky index of each hour: ndarray (scenario, hour)."""
    from scipy.special import ndtr, ndtri

    story = stories(hours.sun.start_s, hours.day, n_scenarios, seed)
    lit = hours.lit
    if log is not None:
        index, covered = log.hours_on(hours)
        tells = (covered >= _LEAST_COVERED) & np.isfinite(index) & (hours.sun.elevation_deg >= LOW_SUN_DEG)
        of_lit = np.flatnonzero(tells[lit])
        below, at = cdf_at(believed.cdf[of_lit], index[lit[of_lit]])
        score = ndtri(np.clip((below + at) / 2, 0.005, 0.995))
        read = Readings(lit[of_lit], score, READING_NOISE / np.sqrt(covered[lit[of_lit]]))
        story = pulled(story, hours.day, read, seed)
    index = np.zeros_like(story)
    index[:, lit] = inverse(believed.cdf, ndtr(story[:, lit]))
    return index


def _donors(log: SunLog | None) -> Donors | None:
    if log is None:
        return None
    read = np.where(log.finely_read, log.dni_w_m2, np.nan).reshape(-1, log.per_hour)
    return donors_of(read, log.sky.dni_w_m2.reshape(-1, log.per_hour))


def _clear_of(sky: ClearSky, which: slice) -> ClearSky:
    sun = Sun(*(getattr(sky.sun, name)[which] for name in ("elevation_deg", "azimuth_deg", "equation_of_time_min")))
    return ClearSky(sun, sky.dni_w_m2[which], sky.ghi_w_m2[which], sky.extra_w_m2[which])


def _with_read(slots: FloatArray, read_w_m2: Floats, clear: ClearSky) -> FloatArray:
    """Return the slots with what was read in place of every scenario."""
    read = np.isfinite(read_w_m2) & (clear.dni_w_m2 > 0)
    slots = slots.copy()
    slots[:, read] = np.clip(read_w_m2[read] / clear.dni_w_m2[read], 0, None)
    return slots


def _like_the_sun(climate: Skies, dni_w_m2: FloatArray) -> Skies:
    """Return the climate's air in another order, so that scenarios with more sun have that of sunnier days."""
    order = np.empty(len(dni_w_m2), dtype=np.intp)
    order[np.argsort(dni_w_m2.sum(axis=1), kind="stable")] = np.argsort(climate.dni_w_m2.sum(axis=1), kind="stable")
    return replace(
        climate,
        temp_c=climate.temp_c[order],
        wind_m_s=climate.wind_m_s[order],
        gust_m_s=climate.gust_m_s[order],
    )


def _about(forecast: Weather | None, mode: SkyMode, age_h: float | None) -> tuple[str, ...]:
    """Return what has to be told of the forecast as a whole."""
    if forecast is None:
        return ()
    if age_h is None:
        return ("the forecast does not say when it was made and was not used",)
    if age_h < -_CLOCK_H:
        return ("the forecast was made later than now: check this computer's clock and date",)
    if mode is SkyMode.STALE:
        return (f"the forecast is {age_h:.0f} h old; the outlook is wider than with a fresh one",)
    if mode is SkyMode.CLIMATOLOGY:
        cause = f"is {age_h:.0f} h old" if age_h > USABLE_H else "says nothing of these days"
        return (f"the forecast {cause}; the outlook is that of the season",)
    return ()


def _source(site: Site, year: TypicalYear, forecast: Weather | None, mode: SkyMode, linke: float | None) -> str:
    haze = "" if linke is None or site.linke is not None else f", haze from the log (Linke {linke:g})"
    base = f"climatology: {year.weather.source}, laid on the clear sky of {site.name}"
    if mode is SkyMode.CLIMATOLOGY or forecast is None:
        return base + haze
    return f"forecast: {forecast.source}; {base}{haze}"
