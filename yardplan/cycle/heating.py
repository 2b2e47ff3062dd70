"""Many heatings at once, each from its own state, slot and scenario of the sky, until PIAT or until hope is gone."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.balance import State, Stepper
from yardplan.cycle.model import ZERO_C, Array, CycleModel
from yardplan.domain.tables import FloatArray

Index = NDArray[np.intp]
_HOPE_SLOTS = 3
"""After so many slots it is asked again whether the heat still to come can do."""
_LAST_K = 20.0
"""A shell so far below PIAT has to pass these last kelvin once without falling back. All the while it loses at least
what it loses at their beginning, so only heat above that loss brings it on, and the charge, which is below PIAT too,
cannot give it more than it has to take itself."""
_LEAST_LOSS_FRAC = 0.8
"""Taken of that loss, since a step that passes their beginning counts the losses of a somewhat colder shell."""


class Skies:
    """What meets a mold: heat at one or more places, outside air and convection, over scenarios.

    Parameters
    ----------
    absorbed_w : ndarray (place, slot, scenario) [W]
        Heat that the shell absorbs as long as no mirrors are dropped.
    temp_c, wind_m_s : ndarray (slot, scenario)
        Outside.
    slot_s : float
        Length of a slot [s].
    """

    def __init__(self, model: CycleModel, absorbed_w: Array, temp_c: Array, wind_m_s: Array, slot_s: float) -> None:
        self.model, self.slot_s = model, slot_s
        self.absorbed_w = np.ascontiguousarray(absorbed_w, np.float32)  # else taking from it would copy it each time
        n_places, self.n_slots, self.n_scenarios = absorbed_w.shape
        self.outside_k = np.ascontiguousarray(temp_c, np.float32) + np.float32(ZERO_C)
        self.blown_w_m2_k = model.wind_w_m2_k(np.ascontiguousarray(wind_m_s)).astype(np.float32)
        # the heat before each slot, so that that of any run of slots is one difference: what was received, and
        # what of it was above the losses of a shell not far below PIAT, see `_LAST_K`
        self._last_k = np.float32(model.piat_c + ZERO_C - _LAST_K)
        last_k = np.full((1, 1), self._last_k)
        least_w = np.float32(_LEAST_LOSS_FRAC) * model.loss_w(last_k, self.outside_k, self.blown_w_m2_k)
        self._received_j, self._spare_j = np.zeros((2, n_places, self.n_slots + 1, self.n_scenarios), np.float32)
        for received_j, spare_j, place_w in zip(self._received_j, self._spare_j, self.absorbed_w, strict=True):
            received_j[1:] = np.cumsum(place_w, axis=0, dtype=np.float64) * slot_s
            spare_w = place_w - least_w
            np.maximum(spare_w, 0, out=spare_w)
            spare_j[1:] = np.cumsum(spare_w, axis=0, dtype=np.float64) * slot_s

    def cold(self, slot: Index, scenario: Index) -> State:
        """Return charges in cold shells at the start of some slots."""
        return State.charged(self.outside_k[slot, scenario])

    def heat_up(self, state: State, place: Index, slot: Index, scenario: Index, after: Index) -> "Ended":
        """Return how heatings end that go on from `state`, which is used up.

        Parameters
        ----------
        place, slot, scenario : ndarray (heating,)
            Where, from which slot on and under which sky.
        after : ndarray (heating,)
            Slot by which they must be over, at most the number of slots.
        """
        model, n_after = self.model, self.n_slots * self.n_scenarios
        piat_k = np.float32(model.piat_c + ZERO_C)
        ended = Ended.never(slot.size)
        at = slot * self.n_scenarios + scenario  # in the flat weather (slot, scenario)
        end_at = after * self.n_scenarios + scenario
        sun_at = place * n_after  # where a place begins in the flat heat
        sum_at = place * (n_after + self.n_scenarios)  # and in the flat sums
        start_j = self._received_j.take(sum_at + at)
        who, age = np.arange(slot.size), 0
        over = np.zeros(slot.size, np.bool_)
        stepper = Stepper(model, self.slot_s)
        while True:
            if age % _HOPE_SLOTS == 0:
                now, end = sum_at + np.minimum(at, end_at), sum_at + end_at
                coming_j = self._received_j.take(end) - self._received_j.take(now)
                short = model.missing_j(state.shell_k, state.heat_k) > coming_j
                spare_j = self._spare_j.take(end) - self._spare_j.take(now)
                short |= (state.shell_k < self._last_k) & (spare_j < model.shell_j_k * _LAST_K)
                over |= short & (state.polymer_k < piat_k)
            over |= at >= end_at
            if np.count_nonzero(over) > over.size // 8 or age % _HOPE_SLOTS == 0:
                left = np.flatnonzero(~over)
                if not left.size:
                    return ended
                state, over = state.take(left), over.take(left)
                at, end_at, sun_at, sum_at = at.take(left), end_at.take(left), sun_at.take(left), sum_at.take(left)
                who = who.take(left)
            # a heating that is over but still here may have come to the end of the sky
            now = np.minimum(at, n_after - 1) if over.any() else at
            absorbed_w = self.absorbed_w.take(sun_at + now)
            air_k, dropped_k = state.air_k.copy(), state.dropped_k.copy()
            stepper.advance(state, absorbed_w, self.outside_k.take(now), self.blown_w_m2_k.take(now))
            new = np.flatnonzero((state.peak_k >= piat_k) & ~over)
            if new.size:
                share = (piat_k - air_k[new]) / (state.peak_k[new] - air_k[new])
                shell_k = state.before_k[new]
                ended.slots[who[new]] = age + share
                ended.excess_k[who[new]] = shell_k + share * (state.shell_k[new] - shell_k) - piat_k
                kept_off_j = (dropped_k[new] + share * (state.dropped_k[new] - dropped_k[new])) * model.shell_j_k
                received_j = self._received_j.take(sum_at[new] + at[new]) + share * absorbed_w[new] * self.slot_s
                ended.heat_kwh[who[new]] = (received_j - start_j[who[new]] - kept_off_j) / 3.6e6
                over[new] = True
            at += self.n_scenarios
            age += 1


class Ended(NamedTuple):
    """How heatings end; each array (heating,).

    Attributes
    ----------
    slots : ndarray float32
        Slots to PIAT, not rounded, infinite if never.
    excess_k : ndarray float32 [K]
        How far the shell is above PIAT then; 0 if never.
    heat_kwh : ndarray float32 [kWh]
        Heat absorbed until then, infinite if never.
    """

    slots: FloatArray
    excess_k: FloatArray
    heat_kwh: FloatArray

    @classmethod
    def never(cls, n_heatings: int) -> "Ended":
        """Return heatings none of which comes to PIAT."""
        never = np.full((2, n_heatings), np.inf, np.float32)
        return cls(never[0], np.zeros(n_heatings, np.float32), never[1])
