"""Heat balance of one cycle: mold shell, polymer and inside air as three lumped nodes.

Shell: absorbed heat, less convection and radiation to the surroundings, less what passes to the polymer.
Polymer: enthalpy, with a range of melting on heating and a lower one of crystallization on cooling.
Inside air: no heat capacity of its own (a few kJ/K against hundreds), it follows the polymer with a first-order
lag. Heating ends when it reaches PIAT, cooling when it is down to the demold temperature.

Not modeled: shrinkage and the gap that it opens on cooling, the distribution of the wall and what the
movement does to it, sintering and bubbles, the kinetics and heat of cross-linking, degradation, heat in arms and
frames, differences over the shell. Resin that freezes again during an interrupted cook freezes at its melting
range. Every cook starts with mold and charge at the temperature of the outside air, which is on the safe side.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from functools import lru_cache
from math import ceil, expm1, pi, sqrt
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.convection import AIR_J_KG_K, air_at, blown_w_m2_k, pressure_pa, still_w_m2_k
from yardplan.cycle.materials import metal_j_kg_k, resin_of
from yardplan.domain.equipment import Mold
from yardplan.domain.errors import require
from yardplan.domain.products import Product

Array = NDArray[Any]  # of the stepper's own dtype: float32 in tables, float64 in traces
_Kelvin = TypeVar("_Kelvin", float, Array)
ZERO_C = 273.15
SIGMA_W_M2_K4 = 5.670374419e-8
MAX_STEP_S = 60.0
MAX_SETTLE = 3.0
"""Longest step, in time constants of the exchange between shell and polymer."""

WIND_THROUGH_SHIELD_FRAC = 0.2
"""Share of the wind's speed that is felt at the mold (own assumption, no source; `loss_factor` calibrates it)."""
FAN_AIR_M_S = 12.0
"""Speed of the cooling air at the mold (common practice, no source)."""
INSIDE_W_M2_K = 5.0
"""Coefficient between the inner face and the inside air (from memory: natural convection in air, 2 to 10)."""
_WIND_M_S = np.linspace(0.0, 40.0, 81)


@dataclass(frozen=True)
class CycleModel:
    """The numbers that a mold with its charge brings into the heat balance.

    Attributes
    ----------
    shell_j_k : float
        Heat capacity of the shell [J/K].
    surface_m2, emittance_frac : float
        Outer surface and its thermal emittance.
    still_k : tuple of two floats
        Natural convection: ``h^3 = d / (still_k[0] + still_k[1] d)`` at an excess of ``d`` kelvin [W/m2 K].
    blown_w_m2_k : tuple of float
        Forced convection by the wind that passes the shield, at winds of 0, 0.5, ... 40 m/s.
    fan_w_m2_k : float
        Forced convection with the cooling fans on.
    loss_factor : float
        Calibration of convection and radiation while heating and cooling; 1 is the physics alone.
    polymer_kg, solid_j_kg_k, melt_j_kg_k, fusion_j_kg, melting_c, freezing_c
        The charge of all cavities, see ``materials.toml``.
    coupling_w_k : float
        Conductance between shell and mean polymer: ``3 k A / wall``, exact for a wall in a steady ramp.
    air_lag_s : float
        Time constant of the inside air behind the mean polymer.
    piat_c, demold_c : float
        Inside-air temperatures that end heating and cooling.
    """

    shell_j_k: float
    surface_m2: float
    emittance_frac: float
    still_k: tuple[float, float]
    blown_w_m2_k: tuple[float, ...]
    fan_w_m2_k: float
    loss_factor: float
    polymer_kg: float
    solid_j_kg_k: float
    melt_j_kg_k: float
    fusion_j_kg: float
    melting_c: tuple[float, float]
    freezing_c: tuple[float, float]
    coupling_w_k: float
    air_lag_s: float
    piat_c: float
    demold_c: float

    def wind_w_m2_k(self, wind_m_s: Array) -> Array:
        """Return the coefficient of forced convection at a wind outside the shield [W/m2 K]."""
        return np.interp(wind_m_s, _WIND_M_S, self.blown_w_m2_k)

    @property
    def melt_line(self) -> tuple[float, float]:
        """Slope and start of the melt's temperature over `State.heat_k` [K]."""
        mid_k = ZERO_C + sum(self.melting_c) / 2
        slope = self.solid_j_kg_k / self.melt_j_kg_k
        return slope, mid_k - slope * (mid_k + self.fusion_j_kg / self.solid_j_kg_k)

    def heat_k(self, melt_k: _Kelvin) -> _Kelvin:
        """Return the enthalpy coordinate `State.heat_k` of a melt [K]."""
        slope, start = self.melt_line
        return (melt_k - start) / slope

    def to_piat_j(self, from_k: _Kelvin) -> _Kelvin:
        """Return heat to bring shell and polymer from solid at `from_k` to PIAT [J]; no cook does with less."""
        piat_k = self.piat_c + ZERO_C
        polymer_j_k = self.polymer_kg * self.solid_j_kg_k
        return self.shell_j_k * (piat_k - from_k) + polymer_j_k * (self.heat_k(piat_k) - from_k)


def cycle_model(mold: Mold, product: Product, altitude_m: float, loss_factor: float = 1.0) -> CycleModel:
    """Return the model of a product's cycle in a mold.

    The turning mold is taken as a horizontal cylinder with the diameter of a sphere of its surface. The wall
    enters by conduction: in a steady ramp of rate ``r`` the mean of a wall ``L`` lags its hot face by
    ``r L^2 / (3 alpha)`` and the inner face by ``r L^2 / (2 alpha)`` (Carslaw and Jaeger, Conduction of Heat in
    Solids); the difference goes to the lag of the air.

    Parameters
    ----------
    altitude_m : float
        Of the site [m]; thin air carries less heat away.
    loss_factor : float
        Calibration of the losses.

    Raises
    ------
    InvalidField
        If the product's resin grade is unknown, or its PIAT or demold temperature does not suit the resin.
    """
    resin = resin_of(product)
    require(
        product.piat_c > resin.melting_c[1],
        "product",
        product.id,
        "piat_c",
        product.piat_c,
        f"above {resin.melting_c[1]:g}, where {resin.name} has melted",
    )
    require(
        product.demold_c < resin.freezing_c[0],
        "product",
        product.id,
        "demold_c",
        product.demold_c,
        f"below {resin.freezing_c[0]:g}, where {resin.name} has set",
    )
    at_pa = pressure_pa(altitude_m)
    diameter_m = sqrt(mold.surface_m2 / pi)
    wall_m = product.wall_mm / 1000.0
    volume_m3 = pi / 6 * diameter_m**3
    inside_air = air_at(ZERO_C + 130.0, at_pa)
    air_lag_s = float(inside_air.density_kg_m3) * AIR_J_KG_K * volume_m3 / (INSIDE_W_M2_K * mold.surface_m2)
    blown = blown_w_m2_k(
        np.append(WIND_THROUGH_SHIELD_FRAC * _WIND_M_S, FAN_AIR_M_S), ZERO_C + 120.0, diameter_m, at_pa
    )
    return CycleModel(
        shell_j_k=mold.shell_kg * metal_j_kg_k(mold.metal),
        surface_m2=mold.surface_m2,
        emittance_frac=mold.emittance_frac,
        still_k=_still_fit(diameter_m, at_pa),
        blown_w_m2_k=tuple(map(float, blown[:-1])),
        fan_w_m2_k=float(blown[-1]),
        loss_factor=loss_factor,
        polymer_kg=product.shot_kg * mold.cavities,
        solid_j_kg_k=resin.solid_j_kg_k,
        melt_j_kg_k=resin.melt_j_kg_k,
        fusion_j_kg=resin.fusion_j_kg,
        melting_c=resin.melting_c,
        freezing_c=resin.freezing_c,
        coupling_w_k=3.0 * resin.conductivity_w_m_k * mold.surface_m2 / wall_m,
        air_lag_s=air_lag_s + wall_m**2 / (6.0 * resin.diffusivity_m2_s),
        piat_c=product.piat_c,
        demold_c=product.demold_c,
    )


@lru_cache(maxsize=256)
def _still_fit(diameter_m: float, at_pa: float) -> tuple[float, float]:
    """Fit the cylinder's natural convection, in air of 20 C, by a form that is cheap to step; within 1 % from 20 K."""
    excess_k = np.linspace(20.0, 300.0, 29)
    resistance = excess_k / still_w_m2_k(excess_k, ZERO_C + 20.0, diameter_m, at_pa) ** 3
    slope, start = np.polyfit(excess_k, resistance, 1, w=1.0 / resistance)
    return float(start), float(slope)


@dataclass
class State:
    """Temperatures of a batch of cycles [K], changed in place; all arrays have the same length.

    `heat_k` is the polymer's enthalpy over its solid specific heat: equal to its temperature while it is solid.
    `peak_k` is the highest temperature of the inside air, `before_k` the shell's temperature a slot ago.
    """

    shell_k: Array
    before_k: Array
    heat_k: Array
    polymer_k: Array
    air_k: Array
    peak_k: Array

    @classmethod
    def cold(cls, temp_k: Array) -> "State":
        """Return cycles that start at the temperature of the outside air [K]."""
        return cls(*(temp_k.copy() for _ in fields(cls)))

    @classmethod
    def ended(cls, model: CycleModel, excess_k: Array) -> "State":
        """Return cycles whose inside air just reached PIAT with the shell `excess_k` above it, in a steady ramp."""
        piat_k = np.full_like(excess_k, model.piat_c + ZERO_C)
        shell_lag_s = model.polymer_kg * model.melt_j_kg_k / model.coupling_w_k
        polymer_k = piat_k + excess_k * (model.air_lag_s / (model.air_lag_s + shell_lag_s))
        shell_k = piat_k + excess_k
        return cls(shell_k, shell_k.copy(), model.heat_k(polymer_k), polymer_k, piat_k, piat_k.copy())

    def take(self, keep: NDArray[np.intp]) -> "State":
        """Return a new batch of some of the cycles."""
        return State(*(array.take(keep) for array in vars(self).values()))


class Stepper:
    """Advances a batch of cycles of one model through slots of constant weather.

    Within a slot it takes equal steps of at most 60 s. Shell and polymer exchange heat by the exact solution
    of two capacities over one step, so a thin wall does not make the step unstable; what leaves one enters the
    other, so energy is kept to rounding. The coefficient of convection is taken once a slot, radiation at
    each step.

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
        polymer_j_k = model.polymer_kg * model.solid_j_kg_k
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

        Natural and forced convection join as the cube root of the sum of cubes.
        Source: Churchill, AIChE J. 23 (1977) 10; Incropera, section 9.9.
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
