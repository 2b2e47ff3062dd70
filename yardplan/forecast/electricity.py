"""What sun and battery leave each unit for its benches."""

from datetime import time
from itertools import combinations_with_replacement, pairwise

import numpy as np

from yardplan.domain.equipment import Load, Site, Unit
from yardplan.domain.errors import require
from yardplan.domain.log import ChargeReading
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import BoolArray, FloatArray, HeatTable, IntArray, PowerTable
from yardplan.domain.yard import Yard
from yardplan.forecast.battery import battery_gain_kwh, battery_path_kwh, check_charge
from yardplan.forecast.pv import unit_pv_kw
from yardplan.forecast.sky import Floats, Sun, slot_middles, sun_position

CUTS = (1 / 4, 3 / 8, 1 / 2, 3 / 4)
"""Shares of the daylight at which spans of energy begin and end; at the first of them one day's energy ends.

By then the sun carries the unit again, so that work of the early morning lives on the night's energy.
"""

DAWN_H = 1.0
"""Hours from sunrise until the sun carries a unit, counted without any sun where they lie after the grid's end."""


def power_table(yard: Yard, heat: HeatTable, *, confidence: float, charge: ChargeReading | None = None) -> PowerTable:
    """Return the electricity left for finishing, which holds in the share `confidence` of the scenarios.

    PV carries the base load and charges the battery, which gives what is missing; each way costs the square root of
    the round-trip efficiency. Energy is told by spans of slots that overlap. On each day, which here lasts from one
    forenoon to the next, whatever benches draw within all spans leaves the charge at or above the unit's reserve all
    day long in at least that share of the scenarios. Why: were the battery without bottom and benches at rest, it
    would gain ``G[t] - G[s]`` between two instants. With benches, the charge at t is the least of what the day began
    with plus that gain, and of a full battery at any s before t plus that gain, each less what benches drew
    meanwhile, of which a kWh costs no more than its way through the battery. So each run of parts of a day has a most
    that benches may draw; runs which a longer one holds anyway are left out.

    A day begins with what is left if the night before came down to the reserve. That is what happens at worst: in
    scenarios that hold less than was promised, benches must stop early enough.

    Parameters
    ----------
    confidence : float
        Above 0 and below 1. The scenarios that leave least for the night are given up, each day anew.
    charge : ChargeReading, optional
        What was measured within the grid; no energy is told before then (default: from the first slot on). Other
        units are taken to hold what brings them down to just their reserve before the next forenoon.

    Raises
    ------
    InvalidField
        If `confidence` is out of range, or a charge cannot be that of a unit, or was not measured within the grid.
    """
    require(0 < confidence < 1, "power table", "", "confidence", confidence, "a share above 0 and below 1")
    grid = heat.grid
    charge = charge or ChargeReading(grid.start_at, {})
    check_charge(yard, charge.kwh)
    first = grid.slot(charge.at)
    require(0 <= first < grid.n_slots, "battery charge", "", "at", charge.at, "an instant within the plan's days")
    sun, up = _sun(yard.site, grid)
    pv_kw = unit_pv_kw(yard, heat, sun)
    base_kw = base_load_kw(yard, grid, up)
    days = _parts_of_days(up, first, grid.n_slots)

    n_units, n_scenarios = len(yard.units), pv_kw.shape[1]
    charge_kwh = np.empty((n_units, grid.n_slots))
    energy = [np.empty((n_units, len(day) - 1, len(day) - 1)) for day in days]
    for ix, unit in enumerate(yard.units):
        net_kw = np.broadcast_to(-base_kw[ix], (n_scenarios, len(up))).copy()
        net_kw[:, : grid.n_slots] += pv_kw[:, :, ix].T
        gain_kwh = battery_gain_kwh(unit, net_kw, grid.slot_min / 60)
        gained_kwh = np.zeros((n_scenarios, len(up) + 1))
        np.cumsum(gain_kwh, axis=1, out=gained_kwh[:, 1:])
        start_kwh = _start(unit, gained_kwh[:, days[0][0] : days[0][-1] + 1], charge.kwh.get(unit.id))
        path_kwh = battery_path_kwh(unit, start_kwh, gain_kwh[:, first : grid.n_slots])
        charge_kwh[ix, first:] = np.median(path_kwh[:, :-1], axis=0)
        charge_kwh[ix, :first] = np.median(start_kwh)
        for day, most in zip(days, energy, strict=True):
            most[ix], start_kwh = _day_energy(unit, start_kwh, gained_kwh, day, confidence)
    spans, span_kwh = _spans(days, energy, grid.n_slots)
    inverter_kw = np.array([[unit.inverter_kw] for unit in yard.units])
    return PowerTable(
        grid=grid,
        unit_ids=heat.unit_ids,
        finish_kw=np.maximum(inverter_kw - base_kw[:, : grid.n_slots], 0).astype(np.float32),
        spans=spans,
        span_kwh=span_kwh,
        evening_ix=_evenings(up[: grid.n_slots]),
        charge_kwh=charge_kwh.astype(np.float32),
    )


def base_load_kw(yard: Yard, grid: SlotGrid, up: BoolArray) -> Floats:
    """Return what each unit takes beside its benches: ndarray (unit, slot) [kW].

    The unit's own `base_day_kw` while the sun is up and `base_night_kw` while it is down, and the yard's loads by the
    clock. What drives and fans really take depends on the plan; this is the worst case that the yard wrote down, as if
    molds turned and cooled in every chamber all those hours of every day.

    Parameters
    ----------
    up : ndarray bool (slot,)
        Whether the sun is up, from the grid's first slot on; may be longer than the grid.
    """
    base_kw: Floats = np.array([np.where(up, unit.base_day_kw, unit.base_night_kw) for unit in yard.units])
    for load in yard.loads:
        runs = np.array([_runs(load, grid.local(slot).time()) for slot in range(up.size)])
        for ix, unit in enumerate(yard.units):
            if load.unit_id in ("*", unit.id):
                base_kw[ix, runs] += load.kw
    return base_kw


def _runs(load: Load, at: time) -> bool:
    if load.from_local < load.to_local:
        return load.from_local <= at < load.to_local
    return at >= load.from_local or at < load.to_local


def _sun(site: Site, grid: SlotGrid) -> tuple[Sun, BoolArray]:
    """Return the sun in the middle of each slot, and whether it is up, told until it is `DAWN_H` after a last night."""
    hour_slots = 60 // grid.slot_min
    longer = SlotGrid(grid.start_at, grid.n_slots + 24 * hour_slots, grid.tz, grid.slot_min)
    sun = sun_position(slot_middles(longer), site.latitude_deg, site.longitude_deg, site.altitude_m)
    up = sun.elevation_deg > 0
    after = grid.n_slots
    if not up[after - 1]:
        later = np.flatnonzero(up[after:])
        after += int(later[0]) + round(DAWN_H * hour_slots) if later.size else 24 * hour_slots
    within = slice(grid.n_slots)
    sun = Sun(sun.elevation_deg[within], sun.azimuth_deg[within], sun.equation_of_time_min[within])
    return sun, up[:after]


def _parts_of_days(up: BoolArray, first: int, n_slots: int) -> list[list[int]]:
    """Return for each day of energy from slot `first` on the borders of its parts, the first and the last included."""
    borders, cuts = {first, len(up)}, [first]
    edges = np.flatnonzero(np.diff(np.concatenate([[False], up[:n_slots], [False]]).astype(np.int8))).tolist()
    for rise, set_ in zip(edges[::2], edges[1::2], strict=True):
        shares = [rise + round((set_ - rise) * share) for share in CUTS]
        borders.update(slot for slot in (*shares, set_) if slot > first)
        cuts += [shares[0]] if shares[0] > first else []
    return [sorted(slot for slot in borders if start <= slot <= end) for start, end in pairwise([*cuts, len(up)])]


def _start(unit: Unit, gained_kwh: Floats, measured_kwh: float | None) -> Floats:
    """Return the charge that the plan begins with: ndarray (scenario,) [kWh]."""
    if measured_kwh is not None:
        return np.full(len(gained_kwh), measured_kwh)
    lost_kwh = gained_kwh[:, 0] - gained_kwh.min(axis=1)
    start_kwh: Floats = np.minimum(unit.reserve_kwh + lost_kwh, unit.battery_kwh)
    return start_kwh


def _day_energy(
    unit: Unit, start_kwh: Floats, gained_kwh: Floats, day: list[int], confidence: float
) -> tuple[Floats, Floats]:
    """Return what benches may draw in each run of parts of a day, and the charge that the next day begins with.

    Parameters
    ----------
    start_kwh : ndarray (scenario,) [kWh]
    gained_kwh : ndarray (scenario, instant) [kWh]
        What a battery without top or bottom would have gained since the grid began, benches at rest.
    day : list of int
        Borders of the day's parts.

    Returns
    -------
    most_kwh : ndarray (first part, last part) [kWh]
        0 where the last part lies before the first.
    next_kwh : ndarray (scenario,) [kWh]
    """
    n_parts, room_kwh = len(day) - 1, unit.battery_kwh - unit.reserve_kwh
    most = np.full((n_parts, n_parts, len(start_kwh)), np.inf)
    for last, (begin, end) in enumerate(pairwise(day)):
        low = gained_kwh[:, begin + 1 : end + 1].min(axis=1)
        for first, (from_, to) in enumerate(pairwise(day[: last + 1])):
            most[first, last] = room_kwh + low - gained_kwh[:, from_:to].max(axis=1)
        since_full = gained_kwh[:, begin + 1 : end + 1] - np.maximum.accumulate(gained_kwh[:, begin:end], axis=1)
        most[last, last] = room_kwh + since_full.min(axis=1)
        from_start = start_kwh - unit.reserve_kwh + low - gained_kwh[:, day[0]]
        most[0, last] = np.minimum(most[0, last], from_start)

    night, total = most[:, -1].min(axis=0), gained_kwh[:, day[-1]] - gained_kwh[:, day[0]]
    given_up = len(start_kwh) - int(np.ceil(confidence * len(start_kwh) - 1e-9))
    kept = np.lexsort((total, night))[given_up:]
    sure = np.maximum(most[:, :, kept].min(axis=2), 0) * np.sqrt(unit.round_trip_frac)

    since = gained_kwh[:, day[-1], None] - gained_kwh[:, day[0] : day[-1] + 1]
    at_rest = np.minimum(start_kwh + total, unit.battery_kwh + since.min(axis=1))
    from_reserve = unit.reserve_kwh + since[:, day[-2] + 1 - day[0] :].max(axis=1)
    next_kwh = np.clip(np.minimum(at_rest, from_reserve), 0, unit.battery_kwh)
    return np.where(np.isfinite(sure), sure, 0), next_kwh


def _spans(
    days: list[list[int]], most_kwh: list[Floats], n_slots: int
) -> tuple[tuple[tuple[int, int], ...], FloatArray]:
    """Return the runs of parts that no longer run already holds within the same energy, and that energy by unit."""
    spans, kwh = [], []
    for day, most in zip(days, most_kwh, strict=True):
        for first, last in combinations_with_replacement(range(len(day) - 1), 2):
            longer = most[:, : first + 1, last:].copy()
            longer[:, first, 0] = np.inf
            if not (longer <= most[:, first, last, None, None]).all(axis=0).any():
                spans.append((day[first], min(day[last + 1], n_slots)))
                kwh.append(np.floor(most[:, first, last] * 1000) / 1000)
    return tuple(spans), np.array(kwh, np.float32).T


def _evenings(up: BoolArray) -> IntArray:
    """Return the number of the evening that each slot belongs to, -1 by day."""
    begins = ~up & np.concatenate([[True], up[:-1]])
    return np.where(up, -1, np.cumsum(begins) - 1).astype(np.int32)
