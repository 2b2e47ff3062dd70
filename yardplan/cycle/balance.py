"""Heat balance of one cycle: mold shell, polymer and inside air as three lumped nodes.

Shell: absorbed heat, less convection and radiation to the surroundings, less what passes to the polymer.
Polymer: enthalpy, with a range of melting on heating and a lower one of crystallization on cooling.
Inside air: no heat capacity of its own (a few kJ/K against hundreds), it follows the polymer with a first-order
lag. Heating ends when it reaches PIAT, cooling when it is down to the demold temperature.

The shell is kept from overheating: at the mold's limit the field drops mirrors, so that no more is absorbed than
leaves the shell. A fresh charge has the temperature of the outside air; the shell may still be warm from the cycle
before. Inserts are bolted to the mold and count as shell of steel; all cavities heat alike.

Not modeled: shrinkage and the gap that it opens on cooling, the distribution of the wall and what the
movement does to it, sintering and bubbles, the kinetics and heat of cross-linking, degradation, heat in arms and
frames, differences over the shell. Powder takes up heat like the wall that it becomes, so the first minutes under
very strong light are somewhat too good. Resin that freezes again during an interrupted cook freezes at its melting
range.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from math import ceil, expm1

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.model import SIGMA_W_M2_K4, ZERO_C, Array, CycleModel

MAX_STEP_S = 60.0
MAX_SETTLE = 3.0
"""Longest step, in time constants of the exchange between shell and polymer."""


@dataclass
class State:
    """Temperatures of a batch of cycles [K], changed in place; all arrays have the same length.

    `heat_k` is the polymer's enthalpy over its solid specific heat: equal to its temperature while it is solid.
    `peak_k` is the highest temperature of the inside air, `before_k` the shell's temperature a slot ago. `dropped_k`
    is the heat that dropped mirrors kept off, as kelvin of the shell.
    """

    shell_k: Array
    before_k: Array
    heat_k: Array
    polymer_k: Array
    air_k: Array
    peak_k: Array
    dropped_k: Array

    @classmethod
    def charged(cls, outside_k: Array, shell_k: Array | None = None) -> "State":
        """Return cycles that start with a charge from the outside air, in a shell as cold unless given [K]."""
        shell_k = outside_k if shell_k is None else shell_k
        heat_k, polymer_k, air_k, peak_k = (outside_k.copy() for _ in range(4))
        return cls(shell_k.copy(), shell_k.copy(), heat_k, polymer_k, air_k, peak_k, np.zeros_like(outside_k))

    @classmethod
    def ended(cls, model: CycleModel, excess_k: Array) -> "State":
        """Return cycles whose inside air just reached PIAT with the shell `excess_k` above it, in a steady ramp."""
        piat_k = np.full_like(excess_k, model.piat_c + ZERO_C)
        shell_lag_s = model.polymer_kg * model.melt_j_kg_k / model.coupling_w_k
        polymer_k = piat_k + excess_k * (model.air_lag_s / (model.air_lag_s + shell_lag_s))
        shell_k = piat_k + excess_k
        none = np.zeros_like(excess_k)
        return cls(shell_k, shell_k.copy(), model.heat_k(polymer_k), polymer_k, piat_k, piat_k.copy(), none)

    @classmethod
    def joined(cls, states: Sequence["State"], dtype: type[np.floating]) -> "State":
        """Return several batches as one, with numbers of `dtype`."""
        names = (field.name for field in fields(cls))
        return cls(*(np.concatenate([getattr(state, name) for state in states]).astype(dtype) for name in names))

    def take(self, keep: NDArray[np.intp]) -> "State":
        """Return a new batch of some of the cycles."""
        return State(*(array.take(keep) for array in vars(self).values()))


class Stepper:
    """Advances a batch of cycles of one model through slots of constant weather.

    Within a slot it takes equal steps of at most 60 s. Shell and polymer exchange heat by the exact solution
    of two capacities over one step, so a thin wall does not make the step unstable; what leaves one enters the
    other, so energy is kept to rounding. The coefficient of convection is taken once a slot, radiation at
    each step. At the end of a step a shell above its limit is set back to it: so much heat was kept off.

    Parameters
    ----------
    model : CycleModel
        Mold and charge.
    slot_s : float
        Length of a slot [s].
    cooling : bool
        Fans on, and crystallization in place of melting.
    max_step_s : float
        Longest step [s].
    """

    def __init__(
        self, model: CycleModel, slot_s: float, *, cooling: bool = False, max_step_s: float = MAX_STEP_S
    ) -> None:
        polymer_j_k = model.polymer_j_k
        settle_s = 1.0 / (model.coupling_w_k * (1.0 / model.shell_j_k + 1.0 / polymer_j_k))
        self.n_steps = ceil(slot_s / min(max_step_s, MAX_SETTLE * settle_s))
        self.step_s = slot_s / self.n_steps
        share = self.step_s / settle_s
        kept = -expm1(-share) / share  # mean over the step of a difference that decays
        self._touch = model.coupling_w_k * kept * self.step_s / polymer_j_k
        self._ramp = (1.0 - kept) * model.shell_j_k / (model.shell_j_k + polymer_j_k)
        self._ratio = polymer_j_k / model.shell_j_k
        self._air = self.step_s / (self.step_s + model.air_lag_s)  # implicit: exact lag in a ramp
        self._k_per_w = self.step_s / model.shell_j_k
        self._surface = model.loss_factor * model.surface_m2 * self._k_per_w
        self._radiation = self._surface * model.emittance_frac * SIGMA_W_M2_K4
        self.model = model
        self._still = model.still_k
        self._limit_k = np.inf if cooling else ZERO_C + model.max_shell_c
        self._melting = _melting_lines(model, model.freezing_c if cooling else model.melting_c)
        self._work = np.empty((4, 0))

    def steps(self, state: State, absorbed_w: Array, ambient_k: Array, blown_w_m2_k: Array) -> Iterator[None]:
        """Advance `state` in place through one slot, handing over after each step.

        Parameters
        ----------
        absorbed_w : ndarray (cycle,) [W]
            Mean heat that the shell absorbs.
        ambient_k : ndarray (cycle,) [K]
            Air and surroundings outside.
        blown_w_m2_k : ndarray (cycle,) [W/m2 K]
            Coefficient of forced convection.
        """
        n = state.shell_k.size
        if self._work.shape[1] < n or self._work.dtype != state.shell_k.dtype:
            self._work = np.empty((4, n), state.shell_k.dtype)
        carried, gain, net, to_polymer = self._work[:, :n]
        self._carried(state, ambient_k, blown_w_m2_k, carried, gain)
        state.before_k[:] = state.shell_k
        # gain = (absorbed heat + what the surroundings give) as kelvin of shell a step
        np.multiply(ambient_k, ambient_k, out=gain)
        gain *= gain
        gain *= self._radiation / self._k_per_w
        gain += absorbed_w
        gain *= self._k_per_w
        np.multiply(carried, ambient_k, out=net)
        gain += net
        range_slope, range_start, melt_slope, melt_start = self._melting
        shell_k, heat_k, polymer_k, air_k = state.shell_k, state.heat_k, state.polymer_k, state.air_k
        for _ in range(self.n_steps):
            np.multiply(shell_k, shell_k, out=net)
            net *= shell_k
            net *= self._radiation
            net += carried
            net *= shell_k
            np.subtract(gain, net, out=net)
            np.subtract(shell_k, polymer_k, out=to_polymer)
            to_polymer *= self._touch
            np.multiply(net, self._ramp, out=polymer_k)
            to_polymer += polymer_k
            shell_k += net
            heat_k += to_polymer
            to_polymer *= self._ratio
            shell_k -= to_polymer
            if shell_k.max() > self._limit_k:
                np.subtract(shell_k, self._limit_k, out=net)
                np.maximum(net, 0, out=net)
                shell_k -= net
                state.dropped_k += net
            np.multiply(heat_k, melt_slope, out=polymer_k)
            polymer_k += melt_start
            np.multiply(heat_k, range_slope, out=net)
            net += range_start
            np.maximum(polymer_k, net, out=polymer_k)
            np.minimum(polymer_k, heat_k, out=polymer_k)
            np.subtract(polymer_k, air_k, out=net)
            net *= self._air
            air_k += net
            yield

    def advance(self, state: State, absorbed_w: Array, ambient_k: Array, blown_w_m2_k: Array) -> None:
        """Advance `state` in place by one slot and keep the inside air's peak; arguments as in `steps`."""
        for _ in self.steps(state, absorbed_w, ambient_k, blown_w_m2_k):
            np.maximum(state.peak_k, state.air_k, out=state.peak_k)

    def convection_w_k(self, state: State, ambient_k: Array, blown_w_m2_k: Array) -> Array:
        """Return heat carried off by convection per kelvin of excess in a slot that starts so [W/K]."""
        carried, spare = np.empty_like(state.shell_k), np.empty_like(state.shell_k)
        self._carried(state, ambient_k, blown_w_m2_k, carried, spare)
        carried /= self._k_per_w
        return carried

    def _carried(self, state: State, ambient_k: Array, blown_w_m2_k: Array, carried: Array, spare: Array) -> None:
        """Write convection as kelvin of shell a step per kelvin of excess, at the middle of the slot by its trend.

        The correlation is that of `CycleModel.loss_w`.
        """
        start, slope = self._still
        np.subtract(state.shell_k, state.before_k, out=carried)
        carried *= 0.5
        carried += state.shell_k
        carried -= ambient_k
        np.maximum(carried, 0, out=carried)
        np.multiply(carried, slope, out=spare)
        spare += start
        carried /= spare
        np.multiply(blown_w_m2_k, blown_w_m2_k, out=spare)
        spare *= blown_w_m2_k
        carried += spare
        np.cbrt(carried, out=carried)
        carried *= self._surface


def _melting_lines(model: CycleModel, range_c: tuple[float, float]) -> tuple[float, float, float, float]:
    """Return slope and start of the polymer's temperature over `heat_k` [K], in its range of change and as a melt."""
    low_k, high_k = ZERO_C + range_c[0], ZERO_C + range_c[1]
    slope = (high_k - low_k) / (model.heat_k(high_k) - low_k)
    return slope, low_k - slope * low_k, *model.melt_line
