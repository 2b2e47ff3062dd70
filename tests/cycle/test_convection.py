"""Convection against a reference library (ht) and worked examples of a textbook."""

import ht
import numpy as np
import pytest

from yardplan.cycle.convection import air_at, blown_w_m2_k, nusselt_blown, nusselt_still, pressure_pa, still_w_m2_k
from yardplan.cycle.model import SIGMA_W_M2_K4, cycle_model

from .hand_made import ALTITUDE_M, BIG_MOLD, BIG_TANK


@pytest.mark.parametrize(("temp_k", "viscosity", "diffusivity", "conductivity", "prandtl"), [
    (300.0, 15.89e-6, 22.5e-6, 0.0263, 0.707),
    (350.0, 20.92e-6, 29.9e-6, 0.0300, 0.700),
    (400.0, 26.41e-6, 38.3e-6, 0.0338, 0.690),
    (450.0, 32.39e-6, 47.2e-6, 0.0373, 0.686),
])  # fmt: skip
def test_properties_of_air(temp_k, viscosity, diffusivity, conductivity, prandtl):
    # Incropera, Fundamentals of Heat and Mass Transfer, table A.4 (from memory)
    air = air_at(temp_k)
    assert air.viscosity_m2_s == pytest.approx(viscosity, rel=0.025)
    assert air.diffusivity_m2_s == pytest.approx(diffusivity, rel=0.025)
    assert air.conductivity_w_m_k == pytest.approx(conductivity, rel=0.01)
    assert air.prandtl == pytest.approx(prandtl, rel=0.015)


@pytest.mark.parametrize(("altitude_m", "pa"), [(0, 101325), (546, 94936), (1000, 89875), (2260, 76963)])
def test_pressure_of_the_standard_atmosphere(altitude_m, pa):
    # pvlib alt2pres, the same standard atmosphere
    assert pressure_pa(altitude_m) == pytest.approx(pa, abs=5)


def test_cylinder_in_cross_flow():
    # Churchill and Bernstein 1977: 40.637 in the docstring of ht.conv_external.Nu_cylinder_Churchill_Bernstein,
    # which matches example 7.3 of its textbook reference
    assert nusselt_blown(6071.0, 0.70) == pytest.approx(40.637, abs=0.01)
    # 3 m/s round 1.2 m at a film of 400 K, by ht 1.2.0
    reynolds = 3.0 * 1.2 / 26.41e-6
    assert reynolds == pytest.approx(1.363e5, rel=1e-3)
    assert nusselt_blown(reynolds, 0.69) == pytest.approx(262.97, abs=0.1)
    assert nusselt_blown(reynolds, 0.69) * 0.0338 / 1.2 == pytest.approx(7.407, abs=0.005)


@pytest.mark.parametrize("reynolds", [1e2, 1e4, 1e6])
def test_cross_flow_agrees_with_ht(reynolds):
    assert nusselt_blown(reynolds, 0.7) == pytest.approx(
        ht.conv_external.Nu_cylinder_Churchill_Bernstein(Re=reynolds, Pr=0.7), rel=1e-9
    )


@pytest.mark.parametrize("rayleigh", [1e4, 1e7, 1e10, 1e12])
def test_still_air_agrees_with_ht(rayleigh):
    reference = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(Pr=0.7, Gr=rayleigh / 0.7)
    assert nusselt_still(rayleigh, 0.7) == pytest.approx(reference, rel=1e-9)


def test_hot_horizontal_pipe():
    # Incropera, example 9.4 (from memory; recomputed): conv 322 + rad 441 = 763 W/m, to 1 %
    rayleigh = 9.8 * 2.725e-3 * (165 - 23) * 0.1**3 / (22.8e-6 * 32.8e-6)
    assert rayleigh == pytest.approx(5.071e6, rel=1e-3)
    nusselt = nusselt_still(rayleigh, 0.697)
    assert nusselt == pytest.approx(23.09, rel=0.01)
    convection_w_m = nusselt * 0.0313 / 0.1 * np.pi * 0.1 * (165 - 23)
    radiation_w_m = 0.85 * SIGMA_W_M2_K4 * (438.15**4 - 296.15**4) * np.pi * 0.1
    assert convection_w_m == pytest.approx(322, rel=0.01)
    assert radiation_w_m == pytest.approx(441, rel=0.01)
    # and with our own properties of air
    assert still_w_m2_k(np.array(142.0), 296.15, 0.1, 101325.0) == pytest.approx(7.23, rel=0.03)


def test_thin_air_carries_less_away():
    excess = np.array([150.0])
    assert still_w_m2_k(excess, 293.0, 2.0, pressure_pa(2260)) < still_w_m2_k(excess, 293.0, 2.0, pressure_pa(0))
    assert blown_w_m2_k(excess, 390.0, 2.0, pressure_pa(2260)) < blown_w_m2_k(excess, 390.0, 2.0, pressure_pa(0))


@pytest.mark.parametrize("outside_c", [0.0, 20.0, 40.0])
def test_the_model_keeps_to_the_correlation_in_still_air(outside_c):
    start, slope = cycle_model(BIG_MOLD, BIG_TANK, ALTITUDE_M).still_k
    excess = np.linspace(20.0, 250.0, 24)
    exact = still_w_m2_k(excess, 273.15 + outside_c, np.sqrt(12.0 / np.pi), pressure_pa(ALTITUDE_M))
    assert np.cbrt(excess / (start + slope * excess)) == pytest.approx(exact, rel=0.05)
    if outside_c == 20.0:
        assert np.cbrt(excess / (start + slope * excess)) == pytest.approx(exact, rel=0.01)


def test_the_model_keeps_to_the_correlation_in_wind():
    model = cycle_model(BIG_MOLD, BIG_TANK, ALTITUDE_M)
    wind = np.array([1.2, 3.3, 7.9, 15.0])
    exact = blown_w_m2_k(0.2 * wind, 273.15 + 120.0, np.sqrt(12.0 / np.pi), pressure_pa(ALTITUDE_M))
    assert model.wind_w_m2_k(wind) == pytest.approx(exact, rel=0.02)
