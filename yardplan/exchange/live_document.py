"""The estimate of a running cook, as a JSON document and in plain words; times are on the yard's clock."""

from datetime import timedelta
from math import isfinite
from typing import Any

from yardplan.domain.live import LiveCook
from yardplan.domain.slots import zone

DOUBTFUL_K = 8.0
"""Readings further off than that do not go with the mold, the charge or the time that were given (own assumption)."""


def live_document(cook: LiveCook) -> dict[str, Any]:
    """Return the estimate as a document, see ``live.schema.json``."""
    found = cook.estimate

    def clock(minutes: float) -> str | None:
        if not isfinite(minutes):
            return None
        return (cook.now + timedelta(minutes=minutes)).astimezone(zone(cook.tz)).isoformat(timespec="minutes")

    return {
        "schema": "yardplan/live/1",
        "generated_at": clock(0.0),
        "chamber": cook.chamber_id,
        "unit": cook.unit_id,
        "mold": cook.mold_id,
        "product": cook.product_id,
        "heat_start": cook.heat_at.astimezone(zone(cook.tz)).isoformat(timespec="minutes"),
        "piat_c": cook.piat_c,
        "air_c": found.air_c,
        "shell_c": found.shell_c,
        "polymer_c": found.polymer_c,
        "melted_frac": found.melted_frac,
        "chance": found.chance,
        "piat": dict(zip(("p10", "p50", "p90"), map(clock, found.piat_min), strict=True)),
        "lost_at": clock(found.lost_min),
        "sun_was_measured": cook.sun_was_measured,
        "heat_factor": found.heat_factor,
        "misfit_k": found.misfit_k,
    }


def live_words(cook: LiveCook) -> str:
    """Return the estimate in words."""
    found, tz = cook.estimate, zone(cook.tz)

    def clock(minutes: float) -> str:
        at = cook.now + timedelta(minutes=minutes)
        return f"{at.astimezone(tz):%H:%M}"

    lines = [
        f"{cook.chamber_id} at {clock(0)}: {cook.product_id} in {cook.mold_id}, inside air {found.air_c:.0f} C, shell "
        f"about {found.shell_c:.0f} C, charge about {found.polymer_c:.0f} C and {found.melted_frac:.0%} molten"
    ]
    p10, p50, p90 = found.piat_min
    if found.piat_min == (0.0, 0.0, 0.0):
        lines.append(f"  {cook.piat_c:.0f} C are reached")
    elif isfinite(p50):
        span = f"{clock(p10)} to {clock(p90)}" if isfinite(p90) else f"{clock(p10)} to never"
        lines.append(f"  {cook.piat_c:.0f} C likely at {clock(p50)} ({span}), chance {found.chance:.0%}")
    else:
        lines.append(f"  {cook.piat_c:.0f} C are not likely to be reached: chance {found.chance:.0%}")
    if isfinite(found.lost_min):
        lines.append(f"  if no heat came from now on, it would be lost after {clock(found.lost_min)}")
    elif found.lost_min < 0:
        lines.append("  it is lost: no heat that may still come would do")
    if not cook.sun_was_measured:
        lines.append("  the sun so far was not measured: the heat so far goes by the outlook and the readings")
    if found.misfit_k > DOUBTFUL_K:
        lines.append(
            f"  Warning: the readings are {found.misfit_k:.0f} K off any course of this mold and charge since then: "
            "look at mold, product and start, or at the thermocouple"
        )
    return "\n".join(lines)
