"""Live estimate of a running cook: the hidden state from the inside air, and what the heat to come makes of it.

Shell and charge are not seen. Courses from the start of heating are stepped for every sky and for a range of factors
on the heat so far; each weighs as much as it agrees with the readings and as its factor is likely. What follows is
the same model with each course's own sky, so the estimate is consistent with the cook table and the calibration.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.balance import State, Stepper
from yardplan.cycle.heating import Skies
from yardplan.cycle.model import ZERO_C, CycleModel
from yardplan.domain.errors import require
from yardplan.domain.live import LiveEstimate

Floats = NDArray[np.float64]

READ_K = 2.0
"""Scatter of a thermocouple in the inside air (common practice, no source)."""

MODEL_SPREAD, READ_SKY_SPREAD, GUESSED_SKY_SPREAD = 0.08, 0.03, 0.25
"""Scatter of the heat so far: of a mold without calibration, of a sun that was measured, of one that was not."""

_TELLING_READINGS = 2  # as many of the readings before count as if they were independent
_COARSE = np.linspace(np.log(0.2), np.log(2.0), 24)
_FINE = np.linspace(-1.5, 1.5, 21) * (_COARSE[1] - _COARSE[0])


@dataclass(frozen=True, eq=False)
class Met:
    """What meets the mold in equal slots, one after another; all arrays are (scenario, slot).

    Attributes
    ----------
    absorbed_kw, temp_c, wind_m_s : ndarray
        Heat that the shell absorbs unless mirrors are dropped [kW], outside air [C] and wind [m/s].
    slot_min : float
        Length of a slot [min].
    """

    absorbed_kw: Floats
    temp_c: Floats
    wind_m_s: Floats
    slot_min: float


def live_estimate(
    model: CycleModel,
    so_far: Met,
    ahead: Met,
    readings: Sequence[tuple[float, float]],
    *,
    sun_was_measured: bool,
    heat_spread_frac: float = MODEL_SPREAD,
    start_shell_c: float | None = None,
) -> LiveEstimate:
    """Return when the cook will reach PIAT, from its readings.

    Parameters
    ----------
    model : CycleModel
        Of mold and charge, with calibrated losses where there are some.
    so_far, ahead : Met
        From the start of heating until now, and from now on, with calibrated heat; as many scenarios in both.
    readings : sequence of (minute, inside air) [min, C]
        Counted from the start of heating, rising; the last one counts as now.
    sun_was_measured : bool
        Whether the heat so far is by measured sun; then what it seems to be off goes on being off.
    heat_spread_frac : float
        How well the heat of this mold on this unit is known.
    start_shell_c : float, optional
        Shell at the start, if still warm.

    Raises
    ------
    InvalidField
        If there is no reading, or one that is not within the cook so far or no temperature of air in a mold.
    """
    elapsed_min = so_far.slot_min * so_far.absorbed_kw.shape[1]
    _check(readings, elapsed_min)
    n_scenarios = so_far.absorbed_kw.shape[0]
    sky = READ_SKY_SPREAD if sun_was_measured else GUESSED_SKY_SPREAD
    spread, lasting = np.hypot(heat_spread_frac, sky), heat_spread_frac**2 / (heat_spread_frac**2 + sky**2)

    def weigh(log_heat: Floats) -> tuple[State, Floats, Floats]:
        """Return states, weights' logarithms and misfits of courses (factor, scenario)."""
        state, off_k = _courses(model, so_far, np.exp(log_heat), readings, start_shell_c)
        # the last reading tells where the cook is now; those before agree or not for the same reasons
        before = np.mean(off_k[:-1] ** 2, axis=0) if len(off_k) > 1 else 0.0
        disagrees = off_k[-1] ** 2 + min(len(off_k) - 1, _TELLING_READINGS) * before
        misfit_k = np.sqrt(np.mean(off_k**2, axis=0))
        return state, -(disagrees / READ_K**2 + (log_heat / spread) ** 2) / 2, misfit_k

    coarse = np.repeat(_COARSE[:, None], n_scenarios, axis=1)
    best = _COARSE[np.argmax(weigh(coarse)[1], axis=0)]
    log_heat = best[None, :] + _FINE[:, None]
    state, log_weight, misfit_k = weigh(log_heat)
    weight = np.exp(log_weight - log_weight.max()).ravel()
    weight /= weight.sum()
    top = int(np.argmax(weight))
    scenario = np.tile(np.arange(n_scenarios), _FINE.size)
    low_k, high_k = (ZERO_C + edge_c for edge_c in model.melting_c)
    melted = np.clip((state.heat_k - low_k) / (model.heat_k(high_k) - low_k), 0, 1)
    known = {
        "air_c": readings[-1][1],
        "shell_c": round(float(weight @ state.shell_k) - ZERO_C, 1),
        "polymer_c": round(float(weight @ state.polymer_k) - ZERO_C, 1),
        "melted_frac": round(float(weight @ melted), 3),
        "heat_factor": round(float(np.exp(weight @ log_heat.ravel())), 3),
        "misfit_k": round(float(misfit_k.ravel()[top]), 1),
    }
    n_ahead = ahead.absorbed_kw.shape[1]
    if readings[-1][1] >= model.piat_c:
        return LiveEstimate(
            chance=1.0, piat_min=(0.0, 0.0, 0.0), hope_frac=np.ones(n_ahead, np.float32), lost_min=np.inf, **known
        )
    to_come = lasting * log_heat.ravel()
    likely = np.flatnonzero(weight > 1e-4 * weight[top])
    slots = _slots_to_piat(model, ahead, state.take(likely), scenario[likely], to_come[likely])
    hope = _hope(model, ahead, state.take(np.array([top])), float(to_come[top]), _by_scenario(weight, n_scenarios))
    last = int(np.flatnonzero(hope > 0).max(initial=-1))
    weight = weight[likely] / weight[likely].sum()
    p10, p50, p90 = (_quantile(slots, weight, share) * ahead.slot_min for share in (0.1, 0.5, 0.9))
    return LiveEstimate(
        chance=round(float(weight[np.isfinite(slots)].sum()), 4),
        piat_min=(p10, p50, p90),
        hope_frac=hope.astype(np.float32),
        lost_min=last * ahead.slot_min if last >= 0 else -np.inf,
        **known,
    )


def _courses(
    model: CycleModel,
    so_far: Met,
    heat: Floats,
    readings: Sequence[tuple[float, float]],
    start_shell_c: float | None,
) -> tuple[State, Floats]:
    """Return the state now of every course (factor x scenario), and how far off each reading it was (reading, ...)."""
    shape = heat.shape
    outside_k = so_far.temp_c + ZERO_C
    start_k = np.broadcast_to(outside_k[:, 0], shape).ravel().copy()
    shell_k = None if start_shell_c is None else np.full_like(start_k, start_shell_c + ZERO_C)
    state = State.charged(start_k, shell_k)
    stepper = Stepper(model, so_far.slot_min * 60)
    blown = model.wind_w_m2_k(so_far.wind_m_s)
    air_k = [state.air_k.reshape(shape).copy()]
    for slot in range(so_far.absorbed_kw.shape[1]):
        absorbed_w = 1000 * heat * so_far.absorbed_kw[:, slot]
        around = (np.broadcast_to(values[:, slot], shape).ravel() for values in (outside_k, blown))
        stepper.advance(state, absorbed_w.ravel(), *around)
        air_k.append(state.air_k.reshape(shape).copy())
    off_k = []
    for minute, air_c in readings:
        place = minute / so_far.slot_min
        before = min(int(place), len(air_k) - 2)
        then_k = air_k[before] + (place - before) * (air_k[before + 1] - air_k[before])
        off_k.append(then_k - ZERO_C - air_c)
    return state, np.array(off_k)


def _slots_to_piat(
    model: CycleModel,
    ahead: Met,
    state: State,
    scenario: NDArray[np.intp],
    log_heat: Floats,
) -> Floats:
    """Return slots to PIAT of cooks that go on from a state, infinite if never."""
    # each cook has a factor of its own, so each is a sky of its own
    absorbed_w = 1000 * np.exp(log_heat)[:, None] * ahead.absorbed_kw[scenario]
    skies = Skies(model, absorbed_w.T[None], ahead.temp_c[scenario].T, ahead.wind_m_s[scenario].T, ahead.slot_min * 60)
    single = State.joined([state], np.float32)
    single.peak_k[:] = single.air_k
    own = np.arange(scenario.size)
    none = np.zeros_like(own)
    ended = skies.heat_up(single, none, none, own, np.full_like(own, skies.n_slots))
    return ended.slots.astype(np.float64)


def _hope(model: CycleModel, ahead: Met, state: State, log_heat: float, weight: Floats) -> Floats:
    """Return the chance that PIAT is still reached if it is dark until each slot: ndarray (slot,)."""
    n_scenarios, n_slots = ahead.absorbed_kw.shape
    stepper = Stepper(model, ahead.slot_min * 60)
    outside_k = weight @ ahead.temp_c + ZERO_C
    blown = weight @ model.wind_w_m2_k(ahead.wind_m_s)
    waiting = []
    for ix in range(n_slots):
        waiting.append(state.take(np.array([0])))
        stepper.advance(state, np.zeros(1), outside_k[ix : ix + 1], blown[ix : ix + 1])
    absorbed_w = 1000 * np.exp(log_heat) * ahead.absorbed_kw
    skies = Skies(model, absorbed_w.T[None], ahead.temp_c.T, ahead.wind_m_s.T, ahead.slot_min * 60)
    slot, scenario = (each.ravel() for each in np.indices((n_slots, n_scenarios)))
    states = State.joined(waiting, np.float32).take(slot)
    states.peak_k[:] = states.air_k
    ended = skies.heat_up(states, np.zeros_like(slot), slot, scenario, np.full_like(slot, n_slots))
    hope: Floats = np.isfinite(ended.slots).reshape(n_slots, n_scenarios) @ weight
    return hope


def _by_scenario(weight: Floats, n_scenarios: int) -> Floats:
    total: Floats = weight.reshape(-1, n_scenarios).sum(axis=0)
    return total


def _quantile(values: Floats, weight: Floats, share: float) -> float:
    """Return the least value that holds in the share of the weight."""
    order = np.argsort(values)
    ix = int(np.searchsorted(np.cumsum(weight[order]), share - 1e-12))
    return float(values[order[min(ix, values.size - 1)]])


def _check(readings: Sequence[tuple[float, float]], elapsed_min: float) -> None:
    require(bool(readings), "live cook", "", "readings", 0, "at least one reading of the inside air")
    minutes = [minute for minute, _ in readings]
    require(
        minutes == sorted(minutes) and minutes[0] >= 0 and minutes[-1] <= elapsed_min + 1e-6,
        "live cook",
        "",
        "readings",
        minutes,
        f"rising minutes from 0 to {elapsed_min:.0f}, since heating began",
    )
    for _, air_c in readings:
        require(-40 <= air_c <= 350, "live cook", "", "air_c", air_c, "inside air from -40 to 350 C")
