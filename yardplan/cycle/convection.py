"""Convection between a mold and the air around it."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Air(NamedTuple):
    """Properties of air at a temperature and pressure."""

    viscosity_m2_s: Floats
    diffusivity_m2_s: Floats
    conductivity_w_m_k: Floats
    density_kg_m3: Floats

    @property
    def prandtl(self) -> Floats:
        """Prandtl number."""
        return self.viscosity_m2_s / self.diffusivity_m2_s


AIR_J_KG_K = 1010.0
"""Specific heat of air; within 1 % from 250 to 450 K."""


def pressure_pa(altitude_m: float) -> float:
    """Return the pressure of the standard atmosphere at an altitude up to 11,000 m [Pa].

    Source: U.S. Standard Atmosphere, 1976.
    """
    return float(101325.0 * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588)


def air_at(temp_k: Floats | float, at_pa: float = 101325.0) -> Air:
    """Return properties of air: Sutherland's laws and the ideal gas, good to 2 % from 250 to 500 K.

    Source: White, Viscous Fluid Flow, tables 1-2 and 1-3 (from memory).
    """
    temp = np.asarray(temp_k, dtype=np.float64)
    ratio = (temp / 273.0) ** 1.5
    viscosity = 1.716e-5 * ratio * (273.0 + 111.0) / (temp + 111.0)
    conductivity = 0.0241 * ratio * (273.0 + 194.0) / (temp + 194.0)
    density = at_pa / (287.05 * temp)
    return Air(viscosity / density, conductivity / (density * AIR_J_KG_K), conductivity, density)


def nusselt_still(rayleigh: Floats | float, prandtl: Floats | float) -> Floats:
    """Return the mean Nusselt number of a horizontal cylinder in still air, for Rayleigh numbers up to 1e12.

    Source: Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1049; Incropera, eq. 9.34.
    """
    spread = (1.0 + (0.559 / np.asarray(prandtl)) ** (9 / 16)) ** (8 / 27)
    return (0.60 + 0.387 * np.asarray(rayleigh) ** (1 / 6) / spread) ** 2


def nusselt_blown(reynolds: Floats | float, prandtl: Floats | float) -> Floats:
    """Return the mean Nusselt number of a cylinder in cross-flow, for Reynolds x Prandtl above 0.2.

    Source: Churchill and Bernstein, J. Heat Transfer 99 (1977) 300; Incropera, eq. 7.54.
    """
    re, pr = np.asarray(reynolds), np.asarray(prandtl)
    spread = (1.0 + (0.4 / pr) ** (2 / 3)) ** 0.25
    return 0.3 + 0.62 * re**0.5 * pr ** (1 / 3) / spread * (1.0 + (re / 282000.0) ** 0.625) ** 0.8


def still_w_m2_k(excess_k: Floats, ambient_k: float, diameter_m: float, at_pa: float) -> Floats:
    """Return the coefficient of natural convection of a cylinder that is `excess_k` above the air [W/m2 K]."""
    film_k = ambient_k + excess_k / 2
    air = air_at(film_k, at_pa)
    rayleigh = 9.80665 / film_k * excess_k * diameter_m**3 / (air.viscosity_m2_s * air.diffusivity_m2_s)
    return nusselt_still(rayleigh, air.prandtl) * air.conductivity_w_m_k / diameter_m


def blown_w_m2_k(air_m_s: Floats, film_k: float, diameter_m: float, at_pa: float) -> Floats:
    """Return the coefficient of forced convection of a cylinder in a stream of air [W/m2 K]."""
    air = air_at(film_k, at_pa)
    return nusselt_blown(air_m_s * diameter_m / air.viscosity_m2_s, air.prandtl) * air.conductivity_w_m_k / diameter_m
