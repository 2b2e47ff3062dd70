"""The JSON document of the heat outlook; times are ISO 8601 on the yard's clock with their offset."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from yardplan.domain.calibration import Calibration
from yardplan.domain.days import BayDay, PowerDay, UnitDay, Window, YardDay
from yardplan.domain.slots import SlotGrid
from yardplan.domain.starts import LatestStart, StartVerdict
from yardplan.domain.tables import HeatTable
from yardplan.domain.verification import BiasCorrection
from yardplan.domain.washing import WashGain
from yardplan.exchange.calibration_document import calibration_rows
from yardplan.exchange.documents import grid_row
from yardplan.exchange.start_words import start_words
from yardplan.exchange.verification_document import correction_row


def heat_document(
    heat: HeatTable,
    days: Sequence[YardDay],
    unit_days: Sequence[UnitDay],
    windows: Sequence[Window],
    washes: Sequence[WashGain] = (),
    *,
    power_days: Sequence[PowerDay] = (),
    bay_days: Sequence[BayDay] = (),
    notes: Sequence[str] = (),
    calibrations: Sequence[Calibration] = (),
    correction: BiasCorrection | None = None,
    latest: Sequence[LatestStart] = (),
    starts: Sequence[StartVerdict] = (),
    confidence: float,
    generated_at: datetime,
) -> dict[str, Any]:
    """Return the heat outlook as a document, see ``heat.schema.json``.

    Parameters
    ----------
    washes : sequence of WashGain
        What a wash of each unit's mirrors would bring, where that was asked.
    power_days, bay_days : sequence of PowerDay, of BayDay
        Electricity of the same days, by unit and by kind of bench.
    notes : sequence of str
        Sentences on what should be looked at.
    calibrations : sequence of Calibration
        What the log taught, which the windows count on.
    correction : BiasCorrection or None
        Whether the forecast was corrected; None without a forecast.
    latest : sequence of LatestStart
        By chamber, mold and product.
    starts : sequence of StartVerdict
        What becomes of starts that were asked for.
    confidence : float
        At which the windows and their cooks hold, and the energy of the evenings.
    """
    grid = heat.grid
    return {
        "schema": "yardplan/heat/1",
        "generated_at": generated_at.astimezone(grid.zone).isoformat(),
        "heat_source": heat.source,
        "issued_at": None if heat.issued_at is None else heat.issued_at.astimezone(grid.zone).isoformat(),
        "seed": heat.seed,
        "confidence": confidence,
        "grid": grid_row(grid),
        "days": [_day_row(grid, day, unit_days, windows, power_days, bay_days, latest) for day in days],
        "washes": [_wash_row(gain) for gain in washes],
        "notes": list(notes),
        "calibrations": calibration_rows(calibrations, grid.zone),
        "correction": correction_row(correction),
        "starts": [_start_row(grid, verdict) for verdict in starts],
    }


def _day_row(
    grid: SlotGrid,
    day: YardDay,
    unit_days: Sequence[UnitDay],
    windows: Sequence[Window],
    power_days: Sequence[PowerDay],
    bay_days: Sequence[BayDay],
    latest: Sequence[LatestStart],
) -> dict[str, Any]:
    def clock(slot: int) -> str:
        return grid.local(slot).isoformat()

    today = [window for window in windows if window.on == day.on]
    stow = day.stow
    power = {row.unit_id: row for row in power_days if row.on == day.on}
    return {
        "date": str(day.on),
        "start": clock(day.first_slot),
        "sunrise": _minute(day.sunrise_at, grid.zone),
        "sunset": _minute(day.sunset_at, grid.zone),
        "kwh": _by_name([round(kwh, 2) for kwh in day.kwh]),
        "sun_frac": round(day.sun_frac, 3),
        "spells": [
            {"start": clock(spell.first_slot), "end": clock(spell.after_slot), "sky": str(spell.sky)}
            for spell in day.spells
        ],
        "stow": stow
        and {"start": clock(stow.first_slot), "end": clock(stow.after_slot), "chance": round(stow.chance, 3)},
        "cooks_start": clock(min(window.first_slot for window in today)) if today else None,
        "cooks_end": clock(max(window.last_slot for window in today)) if today else None,
        "units": [
            {
                "unit": unit.unit_id,
                "heat_kw": _by_name(np.round(unit.heat_kw.astype(np.float64), 2).tolist()),
                "kwh": _by_name([round(kwh, 2) for kwh in unit.kwh]),
                "products": [
                    {
                        "product": window.product_id,
                        "mold": window.mold_id,
                        "window_start": clock(window.first_slot),
                        "window_end": clock(window.last_slot),
                        "cooks": window.cooks,
                    }
                    for window in today
                    if window.unit_id == unit.unit_id
                ],
                "latest_starts": [
                    {"chamber": row.chamber_id, "mold": row.mold_id, "product": row.product_id, "at": clock(row.slot)}
                    for row in latest
                    if row.on == day.on and row.unit_id == unit.unit_id
                ],
                "power": _power_row(power[unit.unit_id]) if unit.unit_id in power else None,
            }
            for unit in unit_days
            if unit.on == day.on
        ],
        "bays": [
            {
                "kind": bay.kind,
                "units": list(bay.unit_ids),
                "evening_kwh": round(bay.evening_kwh, 2),
                "evening_kw": round(bay.evening_kw, 2),
            }
            for bay in bay_days
            if bay.on == day.on
        ],
    }


def _power_row(day: PowerDay) -> dict[str, Any]:
    def rounded(value: float | None) -> float | None:
        return None if value is None else round(value, 2)

    return {
        "pv_kwh": _by_name([round(kwh, 2) for kwh in day.pv_kwh]),
        "evening_kwh": rounded(day.evening_kwh),
        "evening_kw": rounded(day.evening_kw),
        "sunset_charge_kwh": rounded(day.sunset_charge_kwh),
    }


def _start_row(grid: SlotGrid, verdict: StartVerdict) -> dict[str, Any]:
    def clock(slot: float | None) -> str | None:
        if slot is None:
            return None
        return _minute(grid.at(0) + timedelta(minutes=grid.slot_min * slot), grid.zone)

    return {
        "unit": verdict.unit_id,
        "mold": verdict.mold_id,
        "product": verdict.product_id,
        "start": grid.local(verdict.start_slot).isoformat(),
        "outcome": str(verdict.outcome),
        "end": clock(verdict.end_slot),
        "peak_c": None if verdict.peak_c is None else round(verdict.peak_c, 1),
        "heat_kw": None if verdict.heat_kw is None else round(verdict.heat_kw, 2),
        "loss_kw": None if verdict.loss_kw is None else round(verdict.loss_kw, 2),
        "latest_start": clock(verdict.latest_slot),
        "text": start_words(verdict, grid),
    }


def _wash_row(gain: WashGain) -> dict[str, Any]:
    return {
        "unit": gain.unit_id,
        "on": str(gain.on),
        "kwh": round(gain.kwh, 2),
        "kwh_before": round(gain.kwh_before, 2),
        "minutes": gain.minutes,
        "crew": gain.crew,
        "crew_h": round(gain.crew_h, 2),
        "best_product": gain.best.product_id if gain.best else None,
        "products": [{"product": row.product_id, "before": row.before, "after": row.after} for row in gain.cooks],
    }


def _minute(at: datetime | None, tz: ZoneInfo) -> str | None:
    return None if at is None else at.astimezone(tz).isoformat(timespec="minutes")


def _by_name(quantiles: list[Any]) -> dict[str, Any]:
    return dict(zip(("p10", "p50", "p90"), quantiles, strict=True))
