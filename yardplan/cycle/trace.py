"""One cycle step by step: for drawing, for tests and for telling why a start is refused."""

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.balance import MAX_STEP_S, State, Stepper
from yardplan.cycle.heating import Skies
from yardplan.cycle.model import SIGMA_W_M2_K4, ZERO_C, Array, CycleModel

Floats = NDArray[np.float64]
MAX_COOL_MIN = 720


@dataclass(frozen=True, eq=False)
class CycleTrace:
    """Temperatures and heat flows of a cycle.

    Attributes
    ----------
    minute : ndarray (moment,) [min]
        Since the start of heating.
    shell_c, polymer_c, air_c : ndarray (moment,) [C]
        The polymer is the mean of the wall.
    absorbed_kw, dropped_kw, convection_kw, radiation_kw, to_polymer_kw : ndarray (moment,) [kW]
        Means over the step that ends at the moment; 0 at the first. Dropped is what mirrors kept off a shell at its
        limit, beside what was absorbed.
    shell_kwh, polymer_kwh : float
        Heat in shell and polymer at the end, above the start.
    piat_min : float
        When the inside air reached PIAT [min]; infinite if never, and the trace ends with the heat given.
    demold_min : float
        When it was down to the demold temperature [min]; infinite if not.
    lost_min : float
        For a cook that never reached PIAT: until when the hoped-for heat, had it begun then, would still have brought
        it there [min]; before the start, and minus infinity, if at no time. Infinite for a cook that did.
    """

    minute: Floats
    shell_c: Floats
    polymer_c: Floats
    air_c: Floats
    absorbed_kw: Floats
    dropped_kw: Floats
    convection_kw: Floats
    radiation_kw: Floats
    to_polymer_kw: Floats
    shell_kwh: float
    polymer_kwh: float
    piat_min: float
    demold_min: float
    lost_min: float

    def kwh(self, flow_kw: Floats) -> float:
        """Return the energy of a flow over the trace [kWh]."""
        return float(np.sum(flow_kw[1:] * np.diff(self.minute)) / 60.0)

    @property
    def imbalance_frac(self) -> float:
        """Energy that is not accounted for, as a share of the heat absorbed."""
        absorbed = self.kwh(self.absorbed_kw)
        lost = self.kwh(self.convection_kw) + self.kwh(self.radiation_kw)
        return (absorbed - lost - self.shell_kwh - self.polymer_kwh) / absorbed


def trace(
    model: CycleModel,
    absorbed_kw: Floats,
    temp_c: Floats,
    wind_m_s: Floats,
    *,
    hope_kw: Floats | None = None,
    start_shell_c: float | None = None,
    slot_min: float = 5.0,
    max_step_s: float = MAX_STEP_S,
) -> CycleTrace:
    """Return the course of one cycle that starts with the first slot.

    Parameters
    ----------
    absorbed_kw, temp_c, wind_m_s : ndarray (slot,)
        Heat that the shell absorbs unless mirrors are dropped [kW], outside air [C] and wind [m/s]. The last air
        temperature is kept for a cooling that goes on beyond.
    hope_kw : ndarray (slot,), optional
        The best heat that may still come [kW], such as a clear sky's, by which a cook that stalls or was interrupted
        is told from one that is lost; without it what was given is all there is.
    start_shell_c : float, optional
        Temperature of a shell still warm from the cycle before [C]; without it the outside air's.
    """
    shell_k = None if start_shell_c is None else np.array([start_shell_c + ZERO_C])
    recorder = _Recorder(model, State.charged(np.array([temp_c[0] + ZERO_C]), shell_k))
    heater = Stepper(model, slot_min * 60.0, max_step_s=max_step_s)
    piat_min = demold_min = lost_min = inf
    starts = []
    for kw, outside_c, wind in zip(absorbed_kw, temp_c, wind_m_s, strict=True):
        starts.append(recorder.state.take(np.array([0])))
        blown = model.wind_w_m2_k(np.array([wind]))
        piat_min = recorder.slot(heater, kw * 1000.0, outside_c, blown, model.piat_c)
        if piat_min < inf:
            break
    if piat_min < inf:
        recorder.state.before_k[:] = recorder.state.shell_k
        cooler = Stepper(model, slot_min * 60.0, cooling=True, max_step_s=max_step_s)
        fan = np.array([model.fan_w_m2_k])
        while demold_min == inf and recorder.minute - piat_min < MAX_COOL_MIN:
            outside_c = temp_c[min(int(recorder.minute / slot_min), len(temp_c) - 1)]
            demold_min = recorder.slot(cooler, 0.0, outside_c, fan, model.demold_c)
    else:
        hope = -1 if hope_kw is None else _last_hope(model, starts, hope_kw, temp_c, wind_m_s, slot_min)
        lost_min = hope * slot_min if hope >= 0 else -inf
    return recorder.trace(piat_min, demold_min, lost_min)


def idle_shell_c(model: CycleModel, from_c: float, outside_c: float, minutes: float) -> float:
    """Return the temperature of a shell that stood empty in still air for some minutes [C].

    Its inside counts as insulated, so it is rather too warm than too cold.
    """
    shell_k, outside_k, still = from_c + ZERO_C, np.array(outside_c + ZERO_C), np.array(0.0)
    step_min = minutes / max(int(minutes), 1)
    for _ in range(max(int(minutes), 1)):
        shell_k -= float(model.loss_w(np.array(shell_k), outside_k, still)) * step_min * 60 / model.shell_j_k
    return shell_k - ZERO_C


def _last_hope(
    model: CycleModel, starts: list[State], hope_kw: Floats, temp_c: Floats, wind_m_s: Floats, slot_min: float
) -> int:
    """Return the last slot from whose state on the hoped-for heat would reach PIAT, -1 if from none."""
    skies = Skies(model, 1000 * hope_kw[None, :, None], temp_c[:, None], wind_m_s[:, None], slot_min * 60.0)
    slot = np.arange(len(starts))
    none, after = np.zeros_like(slot), np.full_like(slot, len(starts))
    ended = skies.heat_up(State.joined(starts, np.float32), none, slot, none, after)
    return int(np.flatnonzero(np.isfinite(ended.slots)).max(initial=-1))


class _Recorder:
    """Keeps what a stepper does to one cycle; convection and radiation are worked out beside it, as a cross-check."""

    def __init__(self, model: CycleModel, state: State) -> None:
        self.model, self.state, self.minute = model, state, 0.0
        self.rows: list[tuple[float, ...]] = []
        self.note(0.0, 0.0, 0.0, 0.0, 0.0)
        self.shell_start_k, self.heat_start_k = state.shell_k[0], state.heat_k[0]

    def note(self, *flows_w: float) -> None:
        temps = (self.state.shell_k[0], self.state.polymer_k[0], self.state.air_k[0])
        self.rows.append((self.minute, *(temp - ZERO_C for temp in temps), *(flow / 1000.0 for flow in flows_w)))

    def slot(self, stepper: Stepper, absorbed_w: float, outside_c: float, blown: Array, goal_c: float) -> float:
        """Record one slot, ended when the inside air passes `goal_c`; return when it did, or infinity [min]."""
        state, outside_k, goal_k = self.state, np.array([outside_c + ZERO_C]), goal_c + ZERO_C
        convection_w_k = stepper.convection_w_k(state, outside_k, blown)[0]
        radiation_w_k4 = self.model.loss_factor * self.model.emittance_frac * SIGMA_W_M2_K4 * self.model.surface_m2
        below = state.air_k[0] < goal_k
        shell_k, heat_k, air_k, dropped_k = (a[0] for a in (state.shell_k, state.heat_k, state.air_k, state.dropped_k))
        for _ in stepper.steps(state, np.array([absorbed_w]), outside_k, blown):
            self.minute += stepper.step_s / 60.0
            dropped_w = self.model.shell_j_k * (state.dropped_k[0] - dropped_k) / stepper.step_s
            self.note(
                absorbed_w - dropped_w,
                dropped_w,
                convection_w_k * (shell_k - outside_k[0]),
                radiation_w_k4 * (shell_k**4 - outside_k[0] ** 4),
                self.model.polymer_j_k * (state.heat_k[0] - heat_k) / stepper.step_s,
            )
            if below != (state.air_k[0] < goal_k):
                passed = (state.air_k[0] - goal_k) / (state.air_k[0] - air_k)
                return float(self.minute - passed * stepper.step_s / 60.0)
            shell_k, heat_k, air_k, dropped_k = (
                a[0] for a in (state.shell_k, state.heat_k, state.air_k, state.dropped_k)
            )
        return inf

    def trace(self, piat_min: float, demold_min: float, lost_min: float) -> CycleTrace:
        shell_kwh = self.model.shell_j_k * (self.state.shell_k[0] - self.shell_start_k) / 3.6e6
        polymer_kwh = self.model.polymer_j_k * (self.state.heat_k[0] - self.heat_start_k) / 3.6e6
        minute, shell_c, polymer_c, air_c, absorbed, dropped, convection, radiation, to_polymer = np.array(self.rows).T
        return CycleTrace(
            minute,
            shell_c,
            polymer_c,
            air_c,
            absorbed,
            dropped,
            convection,
            radiation,
            to_polymer,
            float(shell_kwh),
            float(polymer_kwh),
            piat_min,
            demold_min,
            lost_min,
        )
