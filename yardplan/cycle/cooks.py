"""Many cooks at once: every start and every scenario of the sky, for one model on all its units."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.balance import ZERO_C, CycleModel, State, Stepper
from yardplan.domain.tables import FloatArray, HeatTable

Doubles = NDArray[np.float64]
Index = NDArray[np.intp]

MAX_COOL_MIN = 360
_ENDLESS_MIN = 1e9  # in place of infinity, which cannot be weighted
_BATCH = 50_000
"""Cycles that are stepped together: enough to outweigh the calls, few enough for the processor's cache."""
_EXACT_SCENARIOS = 60
_STRIDE = 3
"""With more scenarios than that, only every so many starts are worked out, the others read off between them."""
_MAX_JUMP_SLOTS = 5.0


class Place(NamedTuple):
    """A unit and what its heat becomes on the mold: a share of it, one or one for each slot, up to a limit."""

    unit_ix: int
    absorbed_frac: tuple[float, ...]
    max_kw: float


class Found(NamedTuple):
    """Slots of heating and cooling (confidence, ...), not rounded, infinite if never; median heat (...) [kWh]."""

    heating: FloatArray
    cooling: FloatArray
    heat_kwh: FloatArray


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
        self,
        heat: HeatTable,
        model: CycleModel,
        places: list[Place],
        confidences: tuple[float, ...],
        max_slots: int,
    ) -> None:
        self._model, self._max_slots, self._slot_s = model, max_slots, heat.grid.slot_min * 60.0
        self._n_scenarios, _, self._n_slots = heat.field_kw.shape
        self._ranks = [max(int(np.ceil(share * self._n_scenarios - 1e-9)), 1) - 1 for share in confidences]
        self._absorbed_w = np.empty((len(places), self._n_slots, self._n_scenarios), np.float32)
        for place, absorbed_w in zip(places, self._absorbed_w, strict=True):
            absorbed = 1000 * np.array(place.absorbed_frac, np.float32)[:, None]
            np.multiply(heat.field_kw[:, place.unit_ix].T, absorbed, out=absorbed_w)
            np.minimum(absorbed_w, np.float32(1000.0 * place.max_kw), out=absorbed_w)
        self._received_j = np.zeros((len(places), self._n_slots + 1, self._n_scenarios))
        np.cumsum(self._absorbed_w, axis=1, dtype=np.float64, out=self._received_j[:, 1:])
        self._received_j *= self._slot_s
        self._outside_k = np.ascontiguousarray(heat.temp_c.T) + np.float32(ZERO_C)
        self._blown_w_m2_k = model.wind_w_m2_k(np.ascontiguousarray(heat.wind_m_s.T)).astype(np.float32)

    def find(self) -> Found:
        """Return what becomes of every start (..., place, slot); a start in the dark is never over.

        With many scenarios not every start is worked out: one between two others ends between them. Where a cook
        is possible from one neighbor only, or where their ends are far apart, it is worked out all the same.
        """
        place, start = np.nonzero(self._absorbed_w.any(axis=2))
        found = _nothing(len(self._ranks), start.size)
        known = np.ones(start.size, np.bool_)
        if self._n_scenarios > _EXACT_SCENARIOS:
            apart = np.diff(start) != 1
            known[1:-1] = apart[1:] | apart[:-1] | (start[1:-1] % _STRIDE == 0)
        self._work_out(place, start, np.flatnonzero(known), found)
        doubtful = _doubtful(start, known, found.heating)
        self._work_out(place, start, doubtful, found)
        known[doubtful] = True
        _read_off(start, known, found)
        every = _nothing(len(self._ranks), len(self._absorbed_w), self._n_slots)
        for whole, part in zip(every, found, strict=True):
            whole[..., place, start] = part
        return every

    def _work_out(self, place: Index, start: Index, rows: Index, found: Found) -> None:
        """Fill in the starts in `rows`: over scenarios, each quantity by itself."""
        place, start = place[rows], start[rows]
        heating, excess_k = self._heat_up(place, start)
        cooling = self._cool_down(start, heating, excess_k)
        heating[np.isinf(cooling)] = np.inf
        heat_kwh = self._heat_kwh(place, start, heating)
        for array in (heating, cooling, heat_kwh):
            array.sort(axis=1)
        n_over = np.count_nonzero(np.isfinite(heating), axis=1)
        found.heating[:, rows] = heating[:, self._ranks].T
        found.cooling[:, rows] = cooling[:, self._ranks].T
        middle = heat_kwh[np.arange(rows.size), np.maximum(n_over - 1, 0) // 2]
        found.heat_kwh[rows] = np.where(n_over > 0, middle, 0.0)

    def _heat_up(self, place: Index, start: Index) -> tuple[FloatArray, FloatArray]:
        """Return slots to PIAT (start, scenario), infinite if never, and then the shell's excess over PIAT [K]."""
        heating = np.full((start.size, self._n_scenarios), np.inf, np.float32)
        excess_k = np.zeros_like(heating)
        last = np.minimum(start + self._max_slots, self._n_slots)
        ahead_j = self._received_j[place, last] - self._received_j[place, start]
        hopeful = np.flatnonzero(ahead_j >= self._model.to_piat_j(self._outside_k[start]))
        stepper = Stepper(self._model, self._slot_s)
        for first in range(0, hopeful.size, _BATCH):
            self._heat_batch(stepper, place, start, hopeful[first : first + _BATCH], heating, excess_k)
        return heating, excess_k

    def _heat_batch(
        self, stepper: Stepper, place: Index, start: Index, cells: Index, heating: FloatArray, excess_k: FloatArray
    ) -> None:
        """Step the cooks `cells`, positions in the flat (start, scenario), and write how they end."""
        piat_k = np.float32(self._model.piat_c + ZERO_C)
        row, scenario = np.divmod(cells, self._n_scenarios)
        at = start[row] * self._n_scenarios + scenario  # in the flat weather (slot, scenario)
        after = self._outside_k.size
        sun_at = place[row] * after  # where the unit's own (slot, scenario) begins in the absorbed heat
        state = State.cold(self._outside_k.take(at))
        over = np.zeros(cells.size, np.bool_)
        for age in range(self._max_slots):
            air_k = state.air_k.copy()
            weather = self._absorbed_w.take(sun_at + at), self._outside_k.take(at), self._blown_w_m2_k.take(at)
            stepper.advance(state, *weather)
            new = np.flatnonzero((state.peak_k >= piat_k) & ~over)
            share = (piat_k - air_k[new]) / (state.peak_k[new] - air_k[new])
            heating.ravel()[cells[new]] = age + share
            shell_k = state.before_k[new]
            excess_k.ravel()[cells[new]] = shell_k + share * (state.shell_k[new] - shell_k) - piat_k
            at += self._n_scenarios
            over[new] = True
            beyond = at >= after
            over |= beyond
            if np.count_nonzero(over) > over.size // 8 or beyond.any():
                left = np.flatnonzero(~over)
                if not left.size:
                    break
                state, over = state.take(left), over.take(left)
                at, sun_at, cells = at.take(left), sun_at.take(left), cells.take(left)

    def _cool_down(self, start: Index, heating: FloatArray, excess_k: FloatArray) -> FloatArray:
        """Return slots of cooling (start, scenario), infinite where it never ends, in the air at the end of heat.

        Cooling is stepped for a few temperatures of outside air and shell, and read off between them.
        """
        cooling = np.full_like(heating, np.inf)
        cells = np.flatnonzero(np.isfinite(heating))
        if cells.size:
            row, scenario = np.divmod(cells, self._n_scenarios)
            end = np.minimum(start[row] + heating.ravel()[cells].astype(np.intp), self._n_slots - 1)
            outside_k, excess_k = self._outside_k[end, scenario], excess_k.ravel()[cells]
            outside_nodes, excess_nodes = _nodes(outside_k, 6), _nodes(excess_k, 5)
            minutes = cooling_min(self._model, *np.meshgrid(outside_nodes, excess_nodes, indexing="ij"))
            minutes = np.minimum(minutes, _ENDLESS_MIN)
            x, i = _between(outside_nodes, outside_k)
            y, j = _between(excess_nodes, excess_k)
            cold = minutes[i, j] * (1 - y) + minutes[i, j + 1] * y
            warm = minutes[i + 1, j] * (1 - y) + minutes[i + 1, j + 1] * y
            between = cold * (1 - x) + warm * x
            cooling.ravel()[cells] = np.where(between <= MAX_COOL_MIN, between * (60.0 / self._slot_s), np.inf)
        return cooling

    def _heat_kwh(self, place: Index, start: Index, heating: FloatArray) -> FloatArray:
        """Return the heat absorbed up to PIAT (start, scenario) [kWh], infinite if it is never reached."""
        heat_kwh = np.full_like(heating, np.inf)
        cells = np.flatnonzero(np.isfinite(heating))
        row, scenario = np.divmod(cells, self._n_scenarios)
        share, whole = np.modf(heating.ravel()[cells])
        end = start[row] + whole.astype(np.intp)
        after = np.minimum(end + 1, self._n_slots)
        received_j, place = self._received_j, place[row]
        before_j = received_j[place, end, scenario]
        part_j = share * (received_j[place, after, scenario] - before_j)
        heat_kwh.ravel()[cells] = (before_j + part_j - received_j[place, start[row], scenario]) / 3.6e6
        return heat_kwh


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


def _nothing(n_confidences: int, *shape: int) -> Found:
    never = np.full((2, n_confidences, *shape), np.inf, np.float32)
    return Found(never[0], never[1], np.zeros(shape, np.float32))


def _neighbors(known: NDArray[np.bool_]) -> tuple[Index, Index, Index]:
    """Return positions that are not known, and the nearest known ones before and after."""
    unknown, have = np.flatnonzero(~known), np.flatnonzero(known)
    after = np.searchsorted(have, unknown)
    return unknown, have[after - 1], have[np.minimum(after, have.size - 1)]


def _doubtful(start: Index, known: NDArray[np.bool_], heating: FloatArray) -> Index:
    """Return the starts that cannot be read off between their neighbors."""
    unknown, before, after = _neighbors(known)
    end = start + heating
    mixed = np.isfinite(end[:, before]) != np.isfinite(end[:, after])
    with np.errstate(invalid="ignore"):  # never - never
        mixed |= end[:, after] - end[:, before] > _MAX_JUMP_SLOTS
    doubtful: Index = unknown[mixed.any(axis=0)]
    return doubtful


def _read_off(start: Index, known: NDArray[np.bool_], found: Found) -> None:
    unknown, before, after = _neighbors(known)
    share = ((unknown - before) / np.maximum(after - before, 1)).astype(np.float32)
    for array in found:
        array[..., unknown] = array[..., before] * (1 - share) + array[..., after] * share


def _nodes(values: FloatArray, n_nodes: int) -> Doubles:
    return np.linspace(values.min(), values.max() + 0.1, n_nodes, dtype=np.float64)


def _between(nodes: Doubles, values: FloatArray) -> tuple[Doubles, Index]:
    """Return how far between two equally spaced nodes each value lies, and the position of the lower one."""
    place = (values - nodes[0]) / (nodes[1] - nodes[0])
    ix: Index = np.minimum(place.astype(np.intp), nodes.size - 2)
    return place - ix, ix
