"""Where the heat of the mirrors went: into molds whose pieces passed, into others, beside the mold, into nothing."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.events import EventKind
from yardplan.domain.made import Made, Spell
from yardplan.domain.people import ResourceKind
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import BoolArray, FloatArray
from yardplan.domain.yard import Yard

Floats = NDArray[np.float64]


class HeatTo(StrEnum):
    """Where heat went."""

    GOOD = "good"
    REWORK = "rework"
    SCRAPPED = "scrapped"
    INSIDE = "inside"
    """In molds that are not emptied yet."""
    BESIDE = "beside"
    """Passed the mold, was thrown back, or was more than the unit lets on a mold."""
    IDLE = "idle"
    """No mold was there to heat."""
    OUT = "out"
    """The unit was down or its mirrors were stowed."""


@dataclass(frozen=True, eq=False)
class PastSun:
    """What the sun that was measured let the mirrors send.

    Attributes
    ----------
    field_kw : ndarray (unit, slot) [kW]
        Usable heat: what left the mirrors toward the mold, or would have; see `HeatTable.field_kw`.
    catch_frac : ndarray (mold, unit, slot)
        Share of it that a mold absorbs: intercept and absorptance, times what calibration found.
    is_known : ndarray bool (slot,)
        Whether the sun was measured, or it was dark; nothing else is counted.
    is_dark : ndarray bool (slot,)
        Whether the sun was down.
    """

    grid: SlotGrid
    field_kw: FloatArray
    catch_frac: FloatArray
    is_known: BoolArray
    is_dark: BoolArray

    @property
    def measured_frac(self) -> float:
        """Share of the hours of light in which the sun was measured."""
        n_light = int(np.count_nonzero(~self.is_dark))
        return int(np.count_nonzero(self.is_known & ~self.is_dark)) / n_light if n_light else 1.0


@dataclass(frozen=True)
class CookHeat:
    """What one cycle's mold absorbed [kWh], where the sun was measured all through its heating."""

    cycle: Made
    absorbed_kwh: float


@dataclass(frozen=True, eq=False)
class HeatLedger:
    """All usable heat by local day and by where it went [kWh]; uses and losses of a day add up to its usable heat."""

    days: Mapping[date, Mapping[HeatTo, float]]
    usable_kwh: float
    cooks: tuple[CookHeat, ...]

    def total_kwh(self, to: HeatTo) -> float:
        """Return all heat that went one way."""
        return sum(day[to] for day in self.days.values())


def heat_ledger(
    yard: Yard, sun: PastSun, cycles: Iterable[Made], out: Sequence[Spell], start_at: datetime, end_at: datetime
) -> HeatLedger:
    """Return where the usable heat of a time went.

    Where two cooks of a unit claim the mirrors at once by the log, they share them. What a mold absorbs of a cycle
    counts by its pieces; of one without pieces it counts as scrapped.
    """
    grid, hours = sun.grid, sun.grid.slot_min / 60
    usable_kwh = sun.field_kw * np.where(sun.is_known, hours, 0.0) * overlap(grid, start_at, end_at)
    mold_ix = {mold.id: ix for ix, mold in enumerate(yard.molds)}
    unit_ix = {unit.id: ix for ix, unit in enumerate(yard.units)}
    claims = [
        (one, sum((overlap(grid, *span) for span in one.heats), np.zeros(grid.n_slots)))
        for one in cycles
        if one.mold.mold_id in mold_ix and any(end > start_at and start < end_at for start, end in one.heats)
    ]
    claimed = np.zeros((len(yard.units), grid.n_slots))
    for one, share in claims:
        claimed[unit_ix[one.unit_id]] += share
    over = np.maximum(claimed, 1.0)
    by_slot = {to: np.zeros(grid.n_slots) for to in HeatTo}
    cooks = []
    for one, share in claims:
        ix = unit_ix[one.unit_id]
        fair = share / over[ix]
        catch_frac, most_kw = sun.catch_frac[mold_ix[one.mold.mold_id], ix], yard.units[ix].max_mold_heat_kw
        absorbed_kw = np.minimum(sun.field_kw[ix] * catch_frac, most_kw)
        sent_kwh, absorbed_kwh = usable_kwh[ix] * fair, fair * absorbed_kw * hours
        absorbed_kwh = np.minimum(np.where(sun.is_known, absorbed_kwh, 0.0) * overlap(grid, start_at, end_at), sent_kwh)
        for to, part in _parts(one).items():
            by_slot[to] += absorbed_kwh * part
        by_slot[HeatTo.BESIDE] += sent_kwh - absorbed_kwh
        whole = one.heats[0][0] >= start_at and one.heats[-1][1] <= end_at
        if whole and sun.is_known[share > 0].all():
            cooks.append(CookHeat(one, float(absorbed_kwh.sum())))
    for ix, unit in enumerate(yard.units):
        rest_kwh = usable_kwh[ix] * (1.0 - claimed[ix] / over[ix])
        gone = _out_share(yard, unit.id, grid, out)
        by_slot[HeatTo.OUT] += rest_kwh * gone
        by_slot[HeatTo.IDLE] += rest_kwh * (1.0 - gone)
    days = {
        on: {to: float(by_slot[to][first:after].sum()) for to in HeatTo}
        for on, first, after in grid.days
        if usable_kwh[:, first:after].any()
    }
    return HeatLedger(days, float(usable_kwh.sum()), tuple(cooks))


def overlap(grid: SlotGrid, start_at: datetime, end_at: datetime) -> Floats:
    """Return the share of each slot that lies in a span of time: ndarray (slot,)."""
    slot = timedelta(minutes=grid.slot_min)
    start, end = (start_at - grid.start_at) / slot, (end_at - grid.start_at) / slot
    edges = np.arange(grid.n_slots, dtype=np.float64)
    share: Floats = np.clip(np.minimum(edges + 1, end) - np.maximum(edges, start), 0.0, 1.0)
    return share


def _parts(one: Made) -> dict[HeatTo, float]:
    if one.demolded_at is None:
        return {HeatTo.INSIDE: 1.0}
    if not one.pieces:
        return {HeatTo.SCRAPPED: 1.0}
    counts = {HeatTo.GOOD: one.good, HeatTo.REWORK: one.rework, HeatTo.SCRAPPED: one.scrapped}
    return {to: count / one.pieces for to, count in counts.items()}


def _out_share(yard: Yard, unit_id: str, grid: SlotGrid, out: Iterable[Spell]) -> Floats:
    """Return the share of each slot in which a unit could not take heat, by the log and the yard's down-times."""
    kinds = (EventKind.DOWN, EventKind.STOW)
    spans = [(one.start_at, one.end_at) for one in out if one.kind in kinds and one.subject == unit_id]
    spans += [
        (down.start_at, down.end_at)
        for down in yard.downtimes
        if down.kind is ResourceKind.YARD or (down.kind is ResourceKind.UNIT and down.resource_id == unit_id)
    ]
    gone = np.zeros(grid.n_slots)
    for span in spans:
        gone = np.maximum(gone, overlap(grid, *span))
    return gone
