"""Warnings from the log: what changed of late, and what the changed cooks have in common."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.fit import Fit, LoggedCook, spread_of
from yardplan.domain.calibration import Drift, Suspect

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

RECENT = timedelta(days=10)
"""Cooks of so many last days are compared with those before them."""

MIN_COOKS = 5
"""Fewer on either side tell nothing."""

MIN_STD_ERRORS, MIN_HEAT_FRAC, MIN_PIAT_K = 3.5, 0.03, 3.0
"""A change is told from so many standard errors on, if it also matters."""

_ALIKE = 0.8  # of the strongest evidence: suspects with as much and mostly the same cooks cannot be told apart


@dataclass(frozen=True, eq=False)
class _Finding:
    suspect: Suspect
    name: str
    members: Bools
    heat_off: float
    piat_k: float
    std_errors: float


def drifts(cooks: Sequence[LoggedCook], found: Fit, *, now: datetime) -> tuple[Drift, ...]:
    """Return what seems to have changed, the surest first.

    The surest is told and taken out of the cooks concerned before the next is looked for, so that a field which sends
    less is not told once more for each mold that hangs there. A field is suspected where two molds or more changed, a
    thermocouple where one chamber changed and the unit's other chamber did not or where the readings of PIAT moved.
    """
    recent = np.array([now - cook.heat_at <= RECENT for cook in cooks], np.bool_)
    heat_off = _off_usual(cooks, found.needed_heat, recent)
    piat_k = np.array([cook.piat_c - cook.model.piat_c for cook in cooks])
    told: list[Drift] = []
    while findings := sorted(_findings(cooks, heat_off, piat_k, recent), key=lambda one: -one.std_errors):
        best = findings[0]
        which = best.members
        alike = [
            one
            for one in findings
            if one.std_errors >= _ALIKE * best.std_errors
            and np.count_nonzero(one.members & which & recent)
            >= _ALIKE * np.count_nonzero((one.members | which) & recent)
        ]
        others = ~which
        told.append(
            Drift(
                suspects=tuple((one.suspect, one.name) for one in alike),
                heat_change_frac=round(float(np.expm1(best.heat_off)), 3),
                piat_change_k=round(float(best.piat_k), 1),
                std_errors=round(float(best.std_errors), 1),
                n_recent=int(np.count_nonzero(which & recent)),
                n_before=int(np.count_nonzero(which & ~recent)),
                since_at=min(cook.heat_at for cook, here in zip(cooks, which & recent, strict=True) if here),
                elsewhere_frac=round(float(np.expm1(_change(heat_off[others], recent[others], 1.0)[0])), 3),
            )
        )
        heat_off[which & recent] -= best.heat_off
        piat_k[which & recent] -= best.piat_k
    return tuple(told)


def _findings(cooks: Sequence[LoggedCook], heat_off: Floats, piat_k: Floats, recent: Bools) -> Iterator[_Finding]:
    """Give what stands out; medians, so that single cooks that are far off count little, whatever the cause."""
    off_spread, reads_spread_k = spread_of(heat_off), max(spread_of(piat_k), 0.5)
    units, molds, copies, chambers = (
        np.array([getattr(cook, name) for cook in cooks]) for name in ("unit_id", "mold_id", "mold_copy", "chamber_id")
    )
    for suspect, names in ((Suspect.FIELD, units), (Suspect.PAINT, copies), (Suspect.THERMOCOUPLE, chambers)):
        for name in np.unique(names):
            members = names == name
            if min(np.count_nonzero(members & recent), np.count_nonzero(members & ~recent)) < MIN_COOKS:
                continue
            off, off_errors = _change(heat_off[members], recent[members], off_spread)
            reads_k, reads_errors = _change(piat_k[members], recent[members], reads_spread_k)
            if abs(np.expm1(off)) < MIN_HEAT_FRAC:
                off_errors = 0.0
            if suspect is not Suspect.THERMOCOUPLE or abs(reads_k) < MIN_PIAT_K:
                reads_errors = 0.0
            if suspect is Suspect.FIELD:
                parts = [members & (chambers == chamber) for chamber in np.unique(chambers[members])]
                shared = all(_follows(heat_off, recent, part, off) for part in parts)
                off_errors *= shared and np.unique(molds[members & recent]).size > 1
            elif suspect is Suspect.THERMOCOUPLE:
                sister = np.isin(units, units[members]) & ~members
                off_errors *= not (np.any(sister & recent) and _follows(heat_off, recent, sister, off))
            errors = max(off_errors, reads_errors)
            if errors >= MIN_STD_ERRORS:
                yield _Finding(suspect, str(name), members, off, reads_k, errors)


def _off_usual(cooks: Sequence[LoggedCook], needed_heat: Floats, recent: Bools) -> Floats:
    """Return how far each cook's heat was from what its mold had on its unit before; where little is known, ever.

    Not from what was fitted: losses may have taken up part of a change of heat.
    """
    pairs = np.array([f"{cook.unit_id} {cook.mold_id}" for cook in cooks])
    off = needed_heat.copy()
    for pair in np.unique(pairs):
        of_pair = pairs == pair
        before = of_pair & ~recent
        off[of_pair] -= np.median(needed_heat[before if np.count_nonzero(before) >= MIN_COOKS // 2 else of_pair])
    return off


def _follows(heat_off: Floats, recent: Bools, part: Bools, off: float) -> bool:
    """Tell whether some cooks changed as all did, by half as much at least; too few to tell do."""
    if min(np.count_nonzero(part & recent), np.count_nonzero(part & ~recent)) < MIN_COOKS // 2:
        return True
    return _change(heat_off[part], recent[part], 1.0)[0] * off >= off * off / 2


def _change(values: Floats, recent: Bools, spread: float) -> tuple[float, float]:
    """Return by how much the middle of recent values differs from that of the others, and in standard errors."""
    now, before = values[recent], values[~recent]
    if not (now.size and before.size):
        return 0.0, 0.0
    change = float(np.median(now) - np.median(before))
    # the standard error of a median is 1.253 times that of a mean
    return change, abs(change) / (1.253 * spread * np.sqrt(1 / now.size + 1 / before.size) + 1e-9)
