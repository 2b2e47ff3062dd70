"""Factors from logged cooks, against the factors that the logs were made with."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from yardplan.cycle.fit import UNIT_HEAT, fit
from yardplan.cycle.model import cycle_model
from yardplan.cycle.trace import idle_shell_c, trace

from .hand_made import ALTITUDE_M, BIG_MOLD, BIG_TANK
from .made_cooks import BIG, made_cook, made_cooks, spoiled

NOW = datetime(2027, 6, 20, tzinfo=UTC)
CLEAR_KW, HAZY_KW = np.full(60, 85.0), np.full(60, 65.0)


def fitted(cooks, pairs=()):
    return fit(cooks, pairs, fitted_at=NOW)


def minutes(heat, loss, sun_kw, temp_c=20.0):
    """What a cook takes under given factors."""
    steady = np.ones(sun_kw.size)
    return trace(replace(BIG, loss_factor=loss), heat * sun_kw, temp_c * steady, 3 * steady).piat_min


@pytest.mark.parametrize(("heat", "loss"), [(0.90, 1.10), (1.08, 0.92), (0.94, 1.0)])
@pytest.mark.parametrize("seed", [1, 2])
def test_ten_cycles_with_an_outlier_tell_how_long_cooks_take_within_three_percent(heat, loss, seed):
    rng = np.random.default_rng(seed)
    found = fitted(spoiled(rng, made_cooks(rng, 10, heat, loss), 0.1))
    one = found.calibrations[0]
    assert (one.unit_id, one.mold_id, one.n_cycles) == ("U1", "M35", 10)
    assert found.is_outlier.sum() == 1
    for sun_kw, temp_c in ((CLEAR_KW, 20.0), (HAZY_KW, 20.0), (CLEAR_KW, 5.0)):
        expected = minutes(heat, loss, sun_kw, temp_c)
        assert minutes(one.heat_factor, one.loss_factor, sun_kw, temp_c) == pytest.approx(expected, rel=0.03)
    # what the times alone leave open is how much of it is heat and how much loss: the spread says so
    assert abs(one.heat_factor / heat - 1) < min(3 * one.spread_frac, 0.07)


@pytest.mark.parametrize("heat", [0.85, 0.95, 1.1])
def test_ten_cycles_tell_the_heat_within_three_percent_where_losses_are_as_they_should_be(heat):
    rng = np.random.default_rng(round(100 * heat))
    one = fitted(spoiled(rng, made_cooks(rng, 10, heat, 1.0), 0.1)).calibrations[0]
    assert one.heat_factor == pytest.approx(heat, rel=0.03)


def test_many_cycles_tell_heat_from_losses():
    rng = np.random.default_rng(5)
    one = fitted(spoiled(rng, made_cooks(rng, 80, 0.9, 1.15), 0.1)).calibrations[0]
    assert one.heat_factor == pytest.approx(0.9, rel=0.03)
    assert one.loss_factor == pytest.approx(1.15, rel=0.08)
    assert one.spread_frac < 0.02


def test_outliers_hardly_move_the_fit():
    rng = np.random.default_rng(4)
    cooks = made_cooks(rng, 20, 0.92, 1.0)
    clean, dirty = fitted(cooks), fitted(spoiled(rng, cooks, 0.1))
    assert dirty.is_outlier.sum() >= 2
    assert clean.is_outlier.sum() == 0
    for sun_kw in (CLEAR_KW, HAZY_KW):
        without, with_them = (
            minutes(found.calibrations[0].heat_factor, found.calibrations[0].loss_factor, sun_kw)
            for found in (clean, dirty)
        )
        assert with_them == pytest.approx(without, rel=0.01)


def test_three_logs_help_and_one_is_not_believed_outright():
    rng = np.random.default_rng(6)
    cooks = made_cooks(rng, 3, 0.88, 1.0)
    one, three = (fitted(cooks[:n]).calibrations[0] for n in (1, 3))
    assert abs(three.heat_factor - 0.88) < abs(one.heat_factor - 0.88) + 0.01 < 0.12
    assert three.spread_frac < one.spread_frac < UNIT_HEAT
    wrong = replace(cooks[0], minutes=3 * cooks[0].minutes)
    assert fitted([wrong]).calibrations[0].heat_factor > 0.75  # it seems to have had less than half of its heat


def test_residuals_are_those_of_the_clock_and_the_sun():
    rng = np.random.default_rng(7)
    found = fitted(made_cooks(rng, 40, 0.95, 1.0))
    assert 0.5 < found.residual_min < 2.0  # half a minute of scatter, a minute's steps, 1 % of sun in 40 min
    assert found.residual_min == pytest.approx(found.calibrations[0].residual_min, abs=0.02)
    assert abs(np.median(found.late_min)) < 0.3


def test_what_a_unit_and_a_mold_taught_holds_for_the_pair_that_was_never_logged():
    rng = np.random.default_rng(8)
    cooks = []
    for unit_id, unit_heat in (("U1", 0.92), ("U2", 1.05)):
        for mold_id, mold_heat in (("M1", 0.95), ("M2", 1.0), ("M3", 1.04)):
            if (unit_id, mold_id) != ("U2", "M1"):
                cooks += made_cooks(rng, 8, unit_heat * mold_heat, 1.0, unit_id=unit_id, mold_id=mold_id)
    found = {(one.unit_id, one.mold_id): one for one in fitted(cooks, [("U2", "M1"), ("U9", "M9")]).calibrations}
    unseen = found["U2", "M1"]
    assert unseen.n_cycles == 0
    assert unseen.heat_factor == pytest.approx(1.05 * 0.95, rel=0.05)
    assert unseen.spread_frac > found["U1", "M1"].spread_frac
    new = found["U9", "M9"]  # nothing known: the physics, with the whole spread of what may be
    assert (new.heat_factor, new.loss_factor) == (1.0, 1.0)
    assert new.spread_frac == pytest.approx(0.104, abs=0.002)  # 0.08, 0.06 and 0.03 together


def test_no_logs_no_change():
    found = fitted([], [("U1", "M1")])
    assert found.calibrations[0].heat_factor == 1.0
    assert found.residual_min == 0.0


def test_a_limit_of_the_unit_and_of_the_shell_are_not_taken_for_weak_mirrors():
    small = cycle_model(replace(BIG_MOLD, shell_kg=60.0, surface_m2=3.0), replace(BIG_TANK, shot_kg=14.0), ALTITUDE_M)
    rng = np.random.default_rng(9)
    cooks = [made_cook(rng, small, peak_kw=70.0) for _ in range(6)]
    assert fitted(cooks).calibrations[0].heat_factor == pytest.approx(1.0, rel=0.03)


def test_a_warm_shell_is_not_taken_for_strong_mirrors():
    rng = np.random.default_rng(10)
    cooks = []
    for cook in made_cooks(rng, 8, 1.0, 1.0, noise=0.0):
        course = trace(
            replace(BIG, piat_c=cook.piat_c), cook.absorbed_kw, cook.temp_c, cook.wind_m_s, start_shell_c=75.0
        )
        cooks.append(replace(cook, minutes=course.piat_min))
    cold, warm = fitted(cooks), fitted([replace(cook, start_shell_c=75.0) for cook in cooks])
    assert cold.calibrations[0].heat_factor > 1.03
    assert warm.calibrations[0].heat_factor == pytest.approx(1.0, abs=0.01)


def test_an_empty_shell_cools_by_newton():
    # 400 kg of aluminum, 12 m2 at about 10 W/m2K in all: tau near 50 min
    assert idle_shell_c(BIG, 80.0, 20.0, 0.0) == pytest.approx(80.0)
    after = np.array([idle_shell_c(BIG, 80.0, 20.0, minutes) for minutes in (15.0, 30.0, 60.0, 600.0)])
    assert np.all(np.diff(after) < 0)
    tau_min = 30.0 / np.log(60.0 / (after[1] - 20.0))
    assert 35 < tau_min < 70
    assert after[-1] == pytest.approx(20.0, abs=0.5)
