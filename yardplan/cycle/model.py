"""The numbers that a mold with its charge brings into the heat balance of a cycle."""

from dataclasses import dataclass
from functools import lru_cache
from math import pi, sqrt
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.convection import AIR_J_KG_K, air_at, blown_w_m2_k, pressure_pa, still_w_m2_k
from yardplan.cycle.materials import metal_j_kg_k, resin_of
from yardplan.domain.equipment import Mold, MoldMetal
from yardplan.domain.errors import require
from yardplan.domain.products import Product

Array = NDArray[Any]  # of the stepper's own dtype: float32 in tables, float64 in traces
_Kelvin = TypeVar("_Kelvin", float, Array)
ZERO_C = 273.15
SIGMA_W_M2_K4 = 5.670374419e-8

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
    max_shell_c : float
        Temperature of the shell at which the field drops mirrors.
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
    max_shell_c: float

    @property
    def polymer_j_k(self) -> float:
        """Heat capacity of the solid charge [J/K]; times `State.heat_k` it is the charge's enthalpy."""
        return self.polymer_kg * self.solid_j_kg_k

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

    def missing_j(self, shell_k: _Kelvin, heat_k: _Kelvin) -> _Kelvin:
        """Return heat to bring shell and polymer to PIAT [J]; while the polymer is below it, no cook does with less.

        The air follows the polymer, so that has to come to PIAT first, and while it rises the shell is hotter still.
        """
        piat_k = self.piat_c + ZERO_C
        return self.shell_j_k * (piat_k - shell_k) + self.polymer_j_k * (self.heat_k(piat_k) - heat_k)

    def loss_w(self, shell_k: Array, outside_k: Array, blown_w_m2_k: Array) -> Array:
        """Return what a shell of steady temperature loses by convection and radiation [W].

        Natural and forced convection join as the cube root of the sum of cubes.
        Source: Churchill, AIChE J. 23 (1977) 10; Incropera, section 9.9.
        """
        start, slope = self.still_k
        excess_k = np.maximum(shell_k - outside_k, 0)
        carried_w_m2 = np.cbrt(excess_k / (start + slope * excess_k) + blown_w_m2_k**3) * (shell_k - outside_k)
        radiated_w_m2 = self.emittance_frac * SIGMA_W_M2_K4 * (shell_k**4 - outside_k**4)
        loss: Array = self.loss_factor * self.surface_m2 * (carried_w_m2 + radiated_w_m2)
        return loss


def cycle_model(
    mold: Mold,
    product: Product,
    altitude_m: float,
    loss_factor: float = 1.0,
    *,
    insert_kg: float = 0.0,
    wind_through_frac: float = 0.2,
) -> CycleModel:
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
    insert_kg : float
        Inserts in one piece [kg].
    wind_through_frac : float
        Share of the wind's speed that the unit's shield lets through to the mold.

    Raises
    ------
    InvalidField
        If the product's resin grade is unknown, or its PIAT or demold temperature does not suit resin or mold.
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
    require(
        product.piat_c < mold.max_shell_c,
        "product",
        product.id,
        "piat_c",
        product.piat_c,
        f"below {mold.max_shell_c:g}, the max_shell_c of mold {mold.id}",
    )
    at_pa = pressure_pa(altitude_m)
    diameter_m = sqrt(mold.surface_m2 / pi)
    wall_m = product.wall_mm / 1000.0
    volume_m3 = pi / 6 * diameter_m**3
    inside_air = air_at(ZERO_C + 130.0, at_pa)
    air_lag_s = float(inside_air.density_kg_m3) * AIR_J_KG_K * volume_m3 / (INSIDE_W_M2_K * mold.surface_m2)
    blown = blown_w_m2_k(np.append(wind_through_frac * _WIND_M_S, FAN_AIR_M_S), ZERO_C + 120.0, diameter_m, at_pa)
    return CycleModel(
        shell_j_k=mold.shell_kg * metal_j_kg_k(mold.metal) + insert_kg * mold.cavities * metal_j_kg_k(MoldMetal.STEEL),
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
        max_shell_c=mold.max_shell_c,
    )


@lru_cache(maxsize=256)
def _still_fit(diameter_m: float, at_pa: float) -> tuple[float, float]:
    """Fit the cylinder's natural convection, in air of 20 C, by a form that is cheap to step; within 1 % from 20 K."""
    excess_k = np.linspace(20.0, 300.0, 29)
    resistance = excess_k / still_w_m2_k(excess_k, ZERO_C + 20.0, diameter_m, at_pa) ** 3
    slope, start = np.polyfit(excess_k, resistance, 1, w=1.0 / resistance)
    return float(start), float(slope)
