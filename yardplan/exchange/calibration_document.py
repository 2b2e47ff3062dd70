"""What the log taught, as a JSON document and in plain words; times are ISO 8601 on the yard's clock."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from yardplan.domain.calibration import Calibrated, Calibration, Drift, Suspect

_LOOK_AT = {
    Suspect.FIELD: "the mirrors of {name}: dirt, aim, a mirror that stands still",
    Suspect.PAINT: "the black paint of {name}",
    Suspect.THERMOCOUPLE: "the thermocouple of chamber {name}",
}


def calibration_document(found: Calibrated, *, generated_at: datetime, tz: ZoneInfo) -> dict[str, Any]:
    """Return a calibration as a document, see ``calibration.schema.json``."""
    return {
        "schema": "yardplan/calibration/1",
        "generated_at": generated_at.astimezone(tz).isoformat(),
        "cycles": found.n_cycles,
        "outliers": found.n_outliers,
        "residual_min": found.residual_min,
        "left_out": [{"reason": reason, "cycles": count} for reason, count in found.left_out],
        "calibrations": calibration_rows(found.calibrations, tz),
        "drifts": [_drift_row(drift, tz) for drift in found.drifts],
    }


def calibration_rows(calibrations: Iterable[Calibration], tz: ZoneInfo) -> list[dict[str, Any]]:
    """Return calibrations as documents tell them."""
    return [
        {
            "unit": one.unit_id,
            "mold": one.mold_id,
            "heat_factor": one.heat_factor,
            "loss_factor": one.loss_factor,
            "spread_frac": one.spread_frac,
            "cycles": one.n_cycles,
            "residual_min": one.residual_min,
            "fitted_at": one.fitted_at.astimezone(tz).isoformat(),
        }
        for one in calibrations
    ]


def _drift_row(drift: Drift, tz: ZoneInfo) -> dict[str, Any]:
    return {
        "suspects": [{"what": str(suspect), "name": name} for suspect, name in drift.suspects],
        "heat_change_frac": drift.heat_change_frac,
        "elsewhere_frac": drift.elsewhere_frac,
        "piat_change_k": drift.piat_change_k,
        "std_errors": drift.std_errors,
        "cycles_of_late": drift.n_recent,
        "cycles_before": drift.n_before,
        "since": drift.since_at.astimezone(tz).isoformat(),
    }


def calibration_words(found: Calibrated, tz: ZoneInfo) -> str:
    """Return a calibration in words: how well it fits, the factors of what was logged, and warnings."""
    lines = [
        f"{found.n_cycles} logged cycles fitted, {found.n_outliers} of them outliers; their minutes of heating are off "
        f"by {found.residual_min:.1f} min (standard deviation)"
    ]
    lines += [f"  left out: {count} because {reason}" for reason, count in found.left_out]
    lines += [
        f"  {one.mold_id} on {one.unit_id}: heat {one.heat_factor:.0%} of the physics (give or take "
        f"{one.spread_frac:.1%}), losses {one.loss_factor:.0%}; {one.n_cycles} cycles, {one.residual_min:.1f} min off"
        for one in found.calibrations
        if one.n_cycles
    ]
    guessed = sum(not one.n_cycles for one in found.calibrations)
    if guessed:
        lines.append(f"  {guessed} more pairs without a cycle of their own go by their unit and their mold elsewhere")
    return "\n".join([*lines, *(drift_words(drift, tz) for drift in found.drifts)])


def drift_words(drift: Drift, tz: ZoneInfo) -> str:
    """Return a warning with its evidence in one sentence or two."""
    where = " or ".join(f"{suspect} {name}" for suspect, name in drift.suspects)
    since = drift.since_at.astimezone(tz)
    look = "; or ".join(_LOOK_AT[suspect].format(name=name) for suspect, name in drift.suspects)
    told = f"{drift.heat_change_frac:+.0%} of heat"
    if abs(drift.piat_change_k) >= 1:
        told += f", PIAT read {drift.piat_change_k:+.0f} K further from what was aimed at"
    return (
        f"Warning, {where}: {told} in {drift.n_recent} cycles since {since:%d %b} against {drift.n_before} before, "
        f"{drift.std_errors:.1f} standard errors; all others {drift.elsewhere_frac:+.0%}. Look at {look}."
    )
