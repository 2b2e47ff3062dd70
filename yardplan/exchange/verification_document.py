"""How the outlooks fared, as a JSON document and in plain words; times are ISO 8601 on the yard's clock."""

from datetime import datetime
from math import isfinite
from typing import Any

from yardplan.domain.slots import zone
from yardplan.domain.verification import BiasCorrection, LeadScores, Verified

_HEAD = (
    f"  {'ahead':<13}{'hours':>6}{'days':>6}{'bias':>7}{'nRMSE':>7}{'CRPS':>6}  {'in P10-P90':<11}"
    f"{'by chance':<12}{'over season':>12}{'over last day':>15}"
)


def verification_document(found: Verified, *, generated_at: datetime) -> dict[str, Any]:
    """Return how the outlooks fared as a document, see ``verification.schema.json``; null where nothing can be told."""
    tz = zone(found.tz)
    first_at = found.first_made_at
    return {
        "schema": "yardplan/verification/1",
        "generated_at": generated_at.astimezone(tz).isoformat(),
        "days": found.days,
        "outlooks": found.n_outlooks,
        "first_outlook": first_at.astimezone(tz).isoformat() if first_at else None,
        "sun_was_measured": found.sun_was_measured,
        "leads": [_lead_row(one) for one in found.scores.leads],
        "correction": correction_row(found.correction),
        "warnings": list(found.scores.warnings),
    }


def correction_row(correction: BiasCorrection | None) -> dict[str, Any] | None:
    """Return what documents tell of a correction."""
    if correction is None:
        return None
    return {
        "applied": correction.applied,
        "days": correction.days,
        "least_days": correction.least_days,
        "gain_frac": _rounded(correction.gain_frac, 4),
        "text": correction.text,
    }


def verification_words(document: dict[str, Any]) -> str:
    """Return what a verification document says, in plain words."""
    count = document["outlooks"]
    if not count:
        return (
            f"No outlook was kept in the last {document['days']} days. Every outlook that is shown is kept from now "
            "on, and scored when the sun of its hours was measured (`yardplan import measured FILE`)."
        )
    since = f"{datetime.fromisoformat(document['first_outlook']):%a %d %b}"
    kept = f"{count} outlook{'s' if count > 1 else ''} kept since {since}"
    if not document["sun_was_measured"]:
        return f"{kept}, but no measured sun: bring it in with `yardplan import measured FILE`."
    if not document["leads"]:
        return f"{kept}; no hour that they speak of was measured yet."
    lines = [f"{kept}, against measured sun (direct light, means of hours in W/m2):", _HEAD]
    lines += [_line(row) for row in document["leads"]]
    lines += [
        "  bias: above 0 is too sunny. in P10-P90: 80% is right; by chance: where right ones lie 19 times of 20.",
        "  over season, over last day: error less than that of the season (CRPS), of the last day measured (RMSE).",
    ]
    if not all(row["enough"] for row in document["leads"]):
        lines.append("  * too few days to judge by")
    if document["correction"]:
        lines.append(f"Note: {document['correction']['text']}.")
    lines += [f"Note: {warning}." for warning in document["warnings"]]
    return "\n".join(lines)


def _line(row: dict[str, Any]) -> str:
    def share(value: float | None, form: str) -> str:
        return "-" if value is None else format(value, form)

    start_h, end_h = row["lead_h"]
    ahead = f"{start_h:.0f} to {end_h:.0f} h" if end_h <= 48 else f"{start_h / 24:.0f} to {end_h / 24:.0f} days"
    low, high = row["in_band_by_chance"]
    return (
        f"  {ahead + ('' if row['enough'] else ' *'):<13}{row['hours']:>6}{row['days']:>6}{row['bias_w_m2']:>+7.0f}"
        f"{share(row['nrmse_frac'], '.0%'):>7}{row['crps_w_m2']:>6.0f}  {row['in_band_frac']:<11.0%}"
        f"{f'{low:.0%} to {high:.0%}':<12}{share(row['skill_climate'], '+.0%'):>12}"
        f"{share(row['skill_persistence'], '+.0%'):>15}"
    )


def _lead_row(one: LeadScores) -> dict[str, Any]:
    return {
        "lead_h": list(one.lead_h),
        "hours": one.hours,
        "days": one.days,
        "enough": one.enough,
        "bias_w_m2": round(one.bias_w_m2, 2),
        "rmse_w_m2": round(one.rmse_w_m2, 2),
        "nrmse_frac": _rounded(one.nrmse_frac, 4),
        "crps_w_m2": round(one.crps_w_m2, 2),
        "band_score_w_m2": round(one.band_score_w_m2, 2),
        "strong_sun_brier": round(one.strong_sun_brier, 4),
        "in_band_frac": round(one.in_band_frac, 4),
        "in_band_by_chance": [round(share, 4) for share in one.in_band_by_chance],
        "skill_climate": _rounded(one.skill_climate, 4),
        "skill_persistence": _rounded(one.skill_persistence, 4),
        "ranks_frac": [round(share, 4) for share in one.ranks_frac],
    }


def _rounded(value: float | None, digits: int) -> float | None:
    return round(value, digits) if value is not None and isfinite(value) else None
