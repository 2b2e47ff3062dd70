"""Cooks and coolings of one model from every start under every scenario of the sky."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.balance import State, Stepper
from yardplan.cycle.heating import Ended, Index, Skies
from yardplan.cycle.model import ZERO_C, CycleModel
from yardplan.domain.tables import NEVER, ByteArray, FloatArray, HeatTable

Doubles = NDArray[np.float64]

MAX_COOL_MIN = 360
_ENDLESS_MIN = 1e9  # in place of infinity, which cannot be weighted
_MOST = 255
_BATCH = 200_000
"""Cycles that are stepped together: enough to outweigh the calls, and threads that wait for each other."""
_EXACT_SCENARIOS = 60
_STRIDE = 3
"""With more scenarios than that, only every so many starts are worked out, the others read off between them."""
_UNEVEN_SLOTS = 1.0
"""Ends that differ by more than this from their starts, other than being the same, are not read off between."""


class Place(NamedTuple):
    """A unit and what its heat becomes on the mold: a share of it, up to a limit.

    `absorbed_frac` is one float32 or one for each slot, as bytes, so that places can be compared.
    """

    unit_ix: int
    absorbed_frac: bytes
    max_kw: float

    def absorbed_w(self, heat: HeatTable) -> FloatArray:
        """Return what the mold absorbs, unless mirrors are dropped for it: ndarray (slot, scenario) [W]."""
        share = np.frombuffer(self.absorbed_frac, np.float32)[:, None]
        absorbed_w: FloatArray = heat.field_kw[:, self.unit_ix].T * (np.float32(1000) * share)
        return np.minimum(absorbed_w, np.float32(1000 * self.max_kw), out=absorbed_w)


class Found(NamedTuple):
    """Slots of heating and cooling (confidence, ...), not rounded, infinite if never; median heat (...) [kWh].

    `each` holds the same slots under each scenario (heating and cooling, ..., scenario), rounded; see `SkyCooks`.
    """

    heating: FloatArray
    cooling: FloatArray
    heat_kwh: FloatArray
    each: ByteArray


class Cooks:
    """All cooks of one model in a heat table.

    Parameters
    ----------
    confidences : tuple of float
        Shares of scenarios in which a cook must be over.
    max_slots : int
        Longest cook.
    """

    def __init__(
        self, heat: HeatTable, model: CycleModel, places: list[Place], confidences: tuple[float, ...], max_slots: int
    ) -> None:
        absorbed_w = np.stack([place.absorbed_w(heat) for place in places])
        self._skies = Skies(model, absorbed_w, heat.temp_c.T, heat.wind_m_s.T, heat.grid.slot_min * 60.0)
        self._cooling = _CoolingTable(model, float(heat.temp_c.min()), float(heat.temp_c.max()))
        self._max_slots = max_slots
        n_scenarios = self._skies.n_scenarios
        self._ranks = [max(int(np.ceil(share * n_scenarios - 1e-9)), 1) - 1 for share in confidences]

    def find(self) -> Found:
        """Return what becomes of every start (..., place, slot); a start in the dark is never over.

        With many scenarios not every start is worked out: one between two others ends between them, and under each
        sky that lets both end alike it is read off.
        """
        skies = self._skies
        place, start = np.nonzero(skies.absorbed_w.any(axis=2))
        slots, cool_slots, heat_kwh = every = np.full((3, start.size, skies.n_scenarios), np.inf, np.float32)
        known = np.ones(start.size, np.bool_)
        if skies.n_scenarios > _EXACT_SCENARIOS:
            apart = np.diff(start) != 1
            known[1:-1] = apart[1:] | apart[:-1] | (start[1:-1] % _STRIDE == 0)
        self._work_out(place, start, np.repeat(known[:, None], skies.n_scenarios, axis=1), every)
        if not known.all():
            unknown, before, after = _neighbors(known)
            share = ((unknown - before) / (after - before)).astype(np.float32)[:, None]
            with np.errstate(invalid="ignore"):  # never less never is neither even nor doubtful
                later = slots[after] - slots[before] + (start[after] - start[before])[:, None]
                even = (np.abs(later - (after - before)[:, None]) <= _UNEVEN_SLOTS) | (np.abs(later) < 0.3)
            for each in every:
                each[unknown] = each[before] * (1 - share) + each[after] * share
            doubtful = np.zeros(slots.shape, np.bool_)
            doubtful[unknown] = ~even & (np.isfinite(slots[before]) | np.isfinite(slots[after]))
            self._work_out(place, start, doubtful, every)
        of_every = skies.absorbed_w.shape[:2]
        never = np.full((2, len(self._ranks), *of_every), np.inf, np.float32)
        rounded = np.zeros((2, *of_every, skies.n_scenarios), np.uint8)
        for place_ix in range(of_every[0]):
            mine = place == place_ix
            rounded[:, place_ix, start[mine]] = _rounded(start[mine], *every[:2, mine])
        every.sort(axis=2)
        found = Found(never[0], never[1], np.zeros(of_every, np.float32), rounded)
        n_over = np.count_nonzero(np.isfinite(slots), axis=1)
        found.heating[:, place, start] = slots[:, self._ranks].T
        found.cooling[:, place, start] = cool_slots[:, self._ranks].T
        middle = heat_kwh[np.arange(start.size), np.maximum(n_over - 1, 0) // 2]
        found.heat_kwh[place, start] = np.where(n_over > 0, middle, 0.0)
        return found

    def _work_out(self, place: Index, start: Index, wanted: NDArray[np.bool_], every: FloatArray) -> None:
        """Write slots of heating and cooling and the heat of the `wanted` (start, scenario), infinite if never."""
        skies, rows = self._skies, every.reshape(3, -1)
        cells = np.flatnonzero(wanted)
        for first in range(0, cells.size, _BATCH):
            batch = cells[first : first + _BATCH]
            row, scenario = np.divmod(batch, skies.n_scenarios)
            slot = start[row]
            after = np.minimum(slot + self._max_slots, skies.n_slots)
            ended = skies.heat_up(skies.cold(slot, scenario), place[row], slot, scenario, after)
            cool_slots = self._cool_slots(slot, scenario, ended)
            uncooled = np.isinf(cool_slots)
            for out, array in zip(rows, (ended.slots, cool_slots, ended.heat_kwh), strict=True):
                array[uncooled] = np.inf
                out[batch] = array

    def _cool_slots(self, slot: Index, scenario: Index, ended: Ended) -> FloatArray:
        """Return slots of cooling in the air at the end of heat, infinite where it never ends or never begins."""
        cool_slots = np.full_like(ended.slots, np.inf)
        cells = np.flatnonzero(np.isfinite(ended.slots))
        end = np.minimum(slot[cells] + ended.slots[cells].astype(np.intp), self._skies.n_slots - 1)
        minutes = self._cooling.minutes(self._skies.outside_k[end, scenario[cells]], ended.excess_k[cells])
        cool_slots[cells] = minutes * (60.0 / self._skies.slot_s)
        return cool_slots


class _CoolingTable:
    """Cooling stepped for a few temperatures of outside air and shell, and read off between them."""

    def __init__(self, model: CycleModel, coldest_c: float, warmest_c: float) -> None:
        self._outside_k = np.linspace(coldest_c, warmest_c + 0.1, 6) + ZERO_C
        self._excess_k = np.linspace(-20.0, model.max_shell_c - model.piat_c + 0.1, 6)
        minutes = cooling_min(model, *np.meshgrid(self._outside_k, self._excess_k, indexing="ij"))
        self._minutes = np.minimum(minutes, _ENDLESS_MIN)

    def minutes(self, outside_k: FloatArray, excess_k: FloatArray) -> Doubles:
        """Return minutes of cooling, infinite if longer than `MAX_COOL_MIN`."""
        x, i = _between(self._outside_k, outside_k)
        y, j = _between(self._excess_k, excess_k)
        cold = self._minutes[i, j] * (1 - y) + self._minutes[i, j + 1] * y
        warm = self._minutes[i + 1, j] * (1 - y) + self._minutes[i + 1, j + 1] * y
        between = cold * (1 - x) + warm * x
        return np.where(between <= MAX_COOL_MIN, between, np.inf)


def cooling_min(model: CycleModel, outside_k: Doubles, excess_k: Doubles) -> Doubles:
    """Return minutes from PIAT to the demold temperature with fans on; infinite if longer than `MAX_COOL_MIN`.

    Parameters
    ----------
    outside_k : ndarray
        Air outside, constant [K].
    excess_k : ndarray
        How far the shell is above PIAT when heating ends [K]; the polymer lies between as in a steady ramp.
    """
    demold_k = model.demold_c + ZERO_C
    stepper = Stepper(model, 60.0, cooling=True)
    state = State.ended(model, excess_k.ravel())
    outside = outside_k.ravel()
    dark, fan = np.zeros_like(outside), np.full_like(outside, model.fan_w_m2_k)
    minutes = np.full(outside.size, np.inf)
    for minute in range(MAX_COOL_MIN):
        before_k = state.air_k.copy()
        stepper.advance(state, dark, outside, fan)
        new = (state.air_k <= demold_k) & np.isinf(minutes)
        minutes[new] = minute + (before_k[new] - demold_k) / (before_k[new] - state.air_k[new])
        if np.isfinite(minutes).all():
            break
    return minutes.reshape(outside_k.shape)


def _rounded(start: Index, slots: FloatArray, cool_slots: FloatArray) -> ByteArray:
    """Return heating and cooling of rising starts (2, start, scenario) in whole slots, `NEVER` as in `SkyCooks`."""
    done = (slots <= _MOST) & (cool_slots <= _MOST)
    end = np.where(done, start[:, None] + np.ceil(slots), 0.0)
    # a charge laid in later starts a little warmer than one that waited in the cold of dawn
    cook = np.maximum.accumulate(end, axis=0) - start[:, None]
    done &= cook <= _MOST
    return np.where(done, [cook, np.ceil(cool_slots)], NEVER).astype(np.uint8)


def _neighbors(known: NDArray[np.bool_]) -> tuple[Index, Index, Index]:
    """Return positions that are not known, and the nearest known ones before and after."""
    unknown, have = np.flatnonzero(~known), np.flatnonzero(known)
    after = np.searchsorted(have, unknown)
    return unknown, have[after - 1], have[after]


def _between(nodes: Doubles, values: FloatArray) -> tuple[Doubles, Index]:
    """Return how far between two equally spaced nodes each value lies, and the position of the lower one."""
    place = np.clip((values - nodes[0]) / (nodes[1] - nodes[0]), 0, nodes.size - 1)
    ix: Index = np.minimum(place.astype(np.intp), nodes.size - 2)
    return place - ix, ix
