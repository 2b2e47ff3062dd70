"""Live estimates against courses of the model itself, whose end is known."""

import numpy as np
import pytest

from tests.cycle.made_cooks import BIG
from yardplan.cycle.live import Met, live_estimate
from yardplan.cycle.trace import trace
from yardplan.domain.errors import InvalidField

SLOTS, SLOT_MIN = 48, 5
RNG_SKIES = np.random.default_rng(7).uniform(0.85, 1.1, (20, 1))


def sky(kw: float | np.ndarray, shares: np.ndarray = RNG_SKIES, slots: int = SLOTS) -> Met:
    absorbed_kw = np.broadcast_to(np.asarray(kw, float), (slots,)) * shares
    around = np.ones_like(absorbed_kw)
    return Met(absorbed_kw, 22.0 * around, 3.0 * around, SLOT_MIN)


def course(kw: float, heat: float = 1.0):
    around = np.ones(SLOTS)
    return trace(BIG, kw * heat * around, 22.0 * around, 3.0 * around)


def read_off(found, minutes) -> list[tuple[float, float]]:
    return [(float(minute), float(np.interp(minute, found.minute, found.air_c))) for minute in minutes]


def estimate(kw: float, found, now_min: int, minutes, *, ahead: Met | None = None, shares=RNG_SKIES, **options):
    so_far = sky(kw, np.ones_like(shares), now_min // SLOT_MIN)
    return live_estimate(
        BIG, so_far, ahead or sky(kw, shares), read_off(found, minutes), sun_was_measured=True, **options
    )


@pytest.mark.parametrize("now_min", [10, 20, 30])
def test_the_end_lies_within_the_span_that_is_told(now_min):
    found = course(70.0)
    told = estimate(70.0, found, now_min, range(5, now_min + 1, 5))
    p10, p50, p90 = told.piat_min
    left = found.piat_min - now_min
    assert p10 <= p50 <= p90
    assert p10 - 5 <= left <= p90 + 5
    assert told.chance == pytest.approx(1.0)
    assert told.misfit_k < 1.0
    assert told.heat_factor == pytest.approx(1.0, abs=0.03)


def test_the_hidden_shell_and_charge_are_those_of_the_course():
    found = course(70.0)
    told = estimate(70.0, found, 25, range(5, 26, 5))
    for name in ("shell_c", "polymer_c"):
        true_c = float(np.interp(25, found.minute, getattr(found, name)))
        assert getattr(told, name) == pytest.approx(true_c, abs=4.0)


def test_a_mold_that_gets_less_than_was_thought_is_told_later():
    right = estimate(70.0, course(70.0), 25, range(5, 26, 5))
    weak = estimate(70.0, course(70.0, heat=0.85), 25, range(5, 26, 5))
    assert weak.heat_factor == pytest.approx(0.85, abs=0.06)
    assert weak.piat_min[1] > right.piat_min[1]


def test_a_cook_whose_sun_is_over_is_told_as_such():
    told = estimate(70.0, course(70.0), 15, (5, 10, 15), ahead=sky(0.0))
    assert told.chance == 0
    assert np.isinf(told.piat_min).all()
    assert told.lost_min == -np.inf
    assert not told.hope_frac.any()


def test_skies_of_which_half_stay_dark_leave_half_a_chance():
    shares = np.repeat([[0.0], [1.0]], 10, axis=0)
    told = estimate(70.0, course(70.0), 15, (5, 10, 15), shares=shares)
    assert told.chance == pytest.approx(0.5, abs=0.02)
    assert np.isfinite(told.piat_min[0])
    assert np.isinf(told.piat_min[2])


def test_the_chance_only_falls_while_it_stays_dark():
    told = estimate(70.0, course(70.0), 20, (10, 20))
    assert np.all(np.diff(told.hope_frac) <= 1e-6)
    assert 0 < told.lost_min < SLOTS * SLOT_MIN


def test_a_peak_that_was_read_already_is_over():
    told = live_estimate(BIG, sky(70.0, slots=8), sky(70.0), [(39.0, BIG.piat_c + 1)], sun_was_measured=True)
    assert told.chance == 1.0
    assert told.piat_min == (0.0, 0.0, 0.0)
    assert told.lost_min == np.inf


@pytest.mark.parametrize(
    ("readings", "told"),
    [
        ([], "at least one reading"),
        ([(90.0, 120.0)], "rising minutes from 0 to 40"),
        ([(20.0, 120.0), (10.0, 90.0)], "rising minutes from 0 to 40"),
        ([(20.0, 900.0)], "from -40 to 350 C"),
    ],
)
def test_readings_that_cannot_be_are_refused(readings, told):
    with pytest.raises(InvalidField, match=told):
        live_estimate(BIG, sky(70.0, slots=8), sky(70.0), readings, sun_was_measured=True)
