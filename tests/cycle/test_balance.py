"""The stepping code with degenerate coefficients, against closed solutions."""

from dataclasses import replace

import numpy as np
import pytest

from yardplan.cycle.balance import State, Stepper
from yardplan.cycle.cooks import cooling_min
from yardplan.cycle.materials import resins
from yardplan.cycle.model import SIGMA_W_M2_K4, ZERO_C, cycle_model
from yardplan.cycle.trace import trace
from yardplan.domain.equipment import MoldMetal

from .hand_made import ALTITUDE_M, BIG_MOLD, BIG_TANK, bare_model, steady


def heat(model, absorbed_kw, outside_c, hours=24.0, **options):
    slots = steady(absorbed_kw, hours)
    return trace(model, slots, np.full_like(slots, outside_c), np.zeros_like(slots), **options)


def test_heating_with_linear_losses():
    # t = C/UA ln((Ts - T0)/(Ts - T)), C 200 kJ/K, UA 80 W/K, 20 kW, 30 -> 200 C: 2848.6 s (0.1 %); exact
    model = bare_model(blown_w_m2_k=(80.0,) * 81)
    assert heat(model, 20.0, 30.0).piat_min * 60 == pytest.approx(2848.6, rel=1e-3)


def test_losses_that_equal_the_gain_never_reach_piat():
    # C 90 kJ/K, UA 100 W/K, 15 kW, 35 C: stagnates at 185 C, so 200 C is never reached; exact
    model = bare_model(shell_j_k=50e3, polymer_kg=40.0, blown_w_m2_k=(100.0,) * 81)
    course = heat(model, 15.0, 35.0, hours=4.0)
    assert course.piat_min == np.inf
    assert course.demold_min == np.inf
    assert course.shell_c[-1] == pytest.approx(185.0, abs=0.01)


def test_newton_cooling():
    # t = C/UA ln((T0 - Ta)/(T - Ta)), C 200 kJ/K, UA 120 W/K, 30 C outside, 210 -> 70 C: 2506.8 s; exact
    model = bare_model(fan_w_m2_k=120.0, piat_c=210.0)
    minutes = cooling_min(model, np.array([30.0 + ZERO_C]), np.array([0.0]))
    assert minutes[0] * 60 == pytest.approx(2506.8, rel=1e-3)


def test_no_cooling_below_the_air_outside():
    model = bare_model(fan_w_m2_k=120.0)
    assert cooling_min(model, np.array([75.0 + ZERO_C]), np.array([0.0]))[0] == np.inf


@pytest.mark.parametrize(("suns_kw", "w_m2_k", "emittance", "air_k", "sky_k", "stagnation_k"), [
    (0.95 * 1.0, 10.0, 0.95, 300.0, 300.0, 354.02),
    (0.95 * 4.5, 15.0, 0.90, 303.15, 288.15, 459.69),
    (0.95 * 9.0, 20.0, 0.95, 303.15, 303.15, 534.15),
])  # fmt: skip
def test_stagnation_temperature(suns_kw, w_m2_k, emittance, air_k, sky_k, stagnation_k):
    # a C G = h (T - Ta) + e sigma (T^4 - Tsky^4), 1 m2, a 0.95: 1, 5 and 10 suns; exact to 0.05 K.
    # Our surroundings have the air's temperature, so a colder sky goes into the heat.
    sky_kw = emittance * SIGMA_W_M2_K4 * (air_k**4 - sky_k**4) / 1000
    model = bare_model(
        shell_j_k=3e3, polymer_kg=1.0, coupling_w_k=100.0, emittance_frac=emittance,
        blown_w_m2_k=(w_m2_k,) * 81, piat_c=400.0,
    )  # fmt: skip
    course = heat(model, suns_kw - sky_kw, air_k - ZERO_C)
    assert course.shell_c[-1] + ZERO_C == pytest.approx(stagnation_k, abs=0.05)
    assert course.air_c[-1] == pytest.approx(course.shell_c[-1], abs=0.01)


def test_five_suns_on_one_side_just_miss_piat():
    # the second case above: 186.5 C
    model = bare_model(shell_j_k=3e3, polymer_kg=1.0, coupling_w_k=100.0, emittance_frac=0.9, blown_w_m2_k=(15.0,) * 81)
    assert heat(model, 0.95 * 4.5 - 0.9 * SIGMA_W_M2_K4 * (303.15**4 - 288.15**4) / 1000, 30.0).piat_min == np.inf


def test_net_radiation():
    # e sigma (T^4 - Ts^4), e 0.95, 473.15 and 293.15 K: 2301.97 W/m2 (0.02)
    model = bare_model(emittance_frac=0.95, surface_m2=1.0)
    state = State.charged(np.array([473.15]))
    stepper = Stepper(model, 0.01, max_step_s=0.01)
    stepper.advance(state, np.zeros(1), np.array([293.15]), np.zeros(1))
    lost_w = (473.15 - state.shell_k[0]) * 120e3 / 0.01 + (473.15 - state.heat_k[0]) * 80e3 / 0.01
    assert lost_w == pytest.approx(2301.97, abs=0.05)


def test_cooling_by_radiation_alone():
    # 12,000 J/m2K, e 0.95, 473.15 -> 373.15 K, surroundings 300 K: 1029.2 s (0.5)
    # Incropera, eq. 5.18; recomputed by two routes
    model = bare_model(shell_j_k=6e3, polymer_kg=6.0, coupling_w_k=10e3, emittance_frac=0.95, demold_c=100.0)
    minutes = cooling_min(model, np.array([300.0]), np.array([0.0]))
    assert minutes[0] * 60 == pytest.approx(1029.2, rel=2e-3)


def test_plateau_of_melting():
    # piecewise closed form: C 120, then 125 kJ/K; 3.75 MJ at 128 C; UA 60 W/K; 12 kW; 30 C: 4509.0 s (1 s), exact
    model = bare_model(
        shell_j_k=20e3, polymer_kg=100.0, melt_j_kg_k=1050.0, fusion_j_kg=37.5e3, melting_c=(127.99, 128.01),
        coupling_w_k=2e5, blown_w_m2_k=(60.0,) * 81,
    )  # fmt: skip
    course = heat(model, 12.0, 30.0)
    assert course.piat_min * 60 == pytest.approx(4509.0, abs=1.0)
    plateau = np.abs(course.polymer_c - 128.0) < 0.05
    assert np.ptp(course.minute[plateau]) * 60 == pytest.approx(612.7, abs=10)


@pytest.mark.parametrize("wall_mm", [3.0, 6.0])
def test_lag_of_the_wall_in_a_steady_ramp(wall_mm):
    # r L^2 / (2 alpha) between hot and inner face: 18.75 K at 10 K/min, 6 mm, 1.6e-7 m2/s; a quarter at 3 mm
    # Carslaw and Jaeger, Conduction of Heat in Solids
    resin = resins()["LLDPE"]
    tank = replace(BIG_TANK, wall_mm=wall_mm, shot_kg=resin.density_kg_m3 * BIG_MOLD.surface_m2 * wall_mm / 1000)
    built = cycle_model(BIG_MOLD, tank, ALTITUDE_M)
    wall_lag_s = (wall_mm / 1000) ** 2 / (6 * resin.diffusivity_m2_s)
    lossless = replace(
        built, still_k=(np.inf, 0.0), blown_w_m2_k=(0.0,) * 81, emittance_frac=0.0, air_lag_s=wall_lag_s, piat_c=110.0
    )
    total_j_k = built.shell_j_k + built.polymer_kg * built.solid_j_kg_k
    course = heat(lossless, total_j_k * (10.0 / 60.0) / 1000, 20.0, max_step_s=1.0)
    lag_k = course.shell_c - course.air_c
    expected_k = (18.75 if wall_mm == 6.0 else 18.75 / 4) * 1.6e-7 / resin.diffusivity_m2_s
    at_end = course.minute <= course.piat_min
    assert lag_k[at_end][-1] == pytest.approx(expected_k, rel=0.01)


def test_twice_the_wall_takes_longer_but_not_four_times():
    # conduction alone goes with L^2, a lumped part with L: a factor between 1 and 4 (Fourier)
    thin = replace(BIG_TANK, wall_mm=5.0, shot_kg=56.0)
    thick = replace(BIG_TANK, wall_mm=10.0, shot_kg=112.0)
    times = [heat(cycle_model(BIG_MOLD, tank, ALTITUDE_M), 85.0, 20.0).piat_min for tank in (thin, thick)]
    assert 1.0 < times[1] / times[0] < 4.0


def test_ideal_energy_of_a_molding():
    # m dH + m_m cp dT; 25 kg, 650 kJ/kg; 120 kg of steel, 490 J/kgK, 180 K: 4.514 + 2.940 = 7.454 kWh; arithmetic
    mold = replace(BIG_MOLD, metal=MoldMetal.STEEL, shell_kg=120.0)
    model = cycle_model(mold, replace(BIG_TANK, shot_kg=25.0, piat_c=200.0), ALTITUDE_M)
    flat = replace(model, melt_j_kg_k=model.solid_j_kg_k, fusion_j_kg=650e3 - model.solid_j_kg_k * 180.0)
    assert flat.missing_j(20.0 + ZERO_C, 20.0 + ZERO_C) / 3.6e6 == pytest.approx(7.454, abs=1e-3)
    course = heat(flat, 30.0, 20.0)
    assert course.kwh(course.absorbed_kw) > 7.454


def test_thin_walls_do_not_need_small_steps():
    # shell and a 1 mm wall settle within 3 s; steps of 60 s would not be stable by the explicit rule
    film = replace(BIG_TANK, wall_mm=1.0, shot_kg=11.0)
    model = cycle_model(BIG_MOLD, film, ALTITUDE_M)
    course = heat(model, 85.0, 20.0)
    assert np.all(np.diff(course.air_c[course.minute <= course.piat_min]) > 0)
    fine = heat(model, 85.0, 20.0, max_step_s=0.5)
    assert course.piat_min == pytest.approx(fine.piat_min, rel=0.01)
