"""Heat and loss factors from logged cooks: what the physics leaves open is learned from the yard's own log.

The heat factor of a mold on a unit is made of a part of the unit (its field: aim, dirt, sun sensor), a part of the mold
(its paint) and a part of the two together; the loss factor of a part of the unit (its shield) and one of the mold. All
are fitted at once, each with a prior around 1, so that few logs help, a mold on a new unit has a start, and a mold
without any falls back to the physics. Outliers count little, by a robust loss on the logged times alone.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.balance import State, Stepper
from yardplan.cycle.model import ZERO_C, CycleModel
from yardplan.domain.calibration import Calibration

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

UNIT_HEAT, MOLD_HEAT, PAIR_HEAT, UNIT_LOSS, MOLD_LOSS = 0.08, 0.06, 0.03, 0.08, 0.12
"""Standard deviations of the parts' logarithms before any log is seen (own assumptions, no source)."""

NOISE_HEAT, NOISE_MIN, NOISE_K = 0.03, 0.7, 1.5
"""Scatter of a cook's heat, as a share, of a clock read to the minute and of a thermocouple (own assumptions)."""

_FREEDOM = 4.0  # of Student's distribution: the fewer, the less outliers count
_OUTLIER = 4.0  # standard deviations from which on a cook does not count at all
_TELLING_COOKS = 8  # so many tell how much logs scatter, fewer are taken to scatter as assumed
_HEATS = np.linspace(0.4, 1.8, 57)
_LOG_HEATS = np.log(_HEATS)
_LOSSES = np.linspace(0.4, 2.2, 10)
_AS_IS = 3  # where the losses are those of the physics


@dataclass(frozen=True, eq=False)
class LoggedCook:
    """A cook of the log with what met the mold.

    Attributes
    ----------
    cycle_id, chamber_id, mold_copy : str
        Where it comes from.
    model : CycleModel
        Of its mold and product with the losses of the physics; its PIAT is what was aimed at.
    heat_at : datetime
        Start of heating.
    minutes : float
        From there to `piat_c` [min].
    piat_c : float
        Temperature of the inside air that was read when heating ended [C].
    absorbed_kw, temp_c, wind_m_s : ndarray (slot,)
        From the start of heating on, in slots of `slot_min`, as long as the cook: what the mold would absorb by the
        physics without a limit, outside air, wind.
    max_kw : float
        Most that the unit lets on a mold [kW].
    start_shell_c : float
        Shell at the start, warm from the cycle before or as cold as the air [C].
    """

    cycle_id: str
    unit_id: str
    mold_id: str
    chamber_id: str
    mold_copy: str
    model: CycleModel
    heat_at: datetime
    minutes: float
    piat_c: float
    absorbed_kw: Floats
    temp_c: Floats
    wind_m_s: Floats
    max_kw: float
    start_shell_c: float
    slot_min: float = 5.0


@dataclass(frozen=True, eq=False)
class Fit:
    """What logged cooks taught.

    Attributes
    ----------
    calibrations : tuple of Calibration
        Of all pairs that were asked for, by unit and mold.
    heat_off : ndarray (cook,)
        Logarithm of the heat that each cook seems to have had over what the fitted factors say.
    needed_heat : ndarray (cook,)
        Logarithm of the heat that each cook needed over what the physics gave it, with the losses of the physics.
    late_min : ndarray (cook,) [min]
        Logged less fitted minutes, by the rate at which the inside air rose at the end.
    is_outlier : ndarray bool (cook,)
        Further off than the fit believes.
    """

    calibrations: tuple[Calibration, ...]
    heat_off: Floats
    needed_heat: Floats
    late_min: Floats
    is_outlier: Bools

    @property
    def residual_min(self) -> float:
        """Spread of logged less fitted minutes, as a standard deviation that outliers do not widen [min]."""
        return spread_of(self.late_min)


def fit(cooks: Sequence[LoggedCook], pairs: Iterable[tuple[str, str]], *, fitted_at: datetime) -> Fit:
    """Return the factors under which the log is most likely.

    Each cook tells which heat it needed to be at its PIAT when it was, given the losses. That scatters alike at noon,
    under clouds and close to a stall, by a Student distribution, for which outliers are no surprise.

    Parameters
    ----------
    pairs : iterable of (unit id, mold id)
        For which factors are wanted, those of the cooks among them.
    """
    from scipy.optimize import minimize  # a quarter of a second to import

    pairs = sorted({*pairs, *((cook.unit_id, cook.mold_id) for cook in cooks)})
    parts = _Parts(pairs)
    of_cook = np.array([pairs.index((cook.unit_id, cook.mold_id)) for cook in cooks], dtype=np.intp)
    needed = _Needed(cooks)
    values, scale = np.zeros(parts.prior.size), 1.0
    off, is_outlier = np.zeros(len(cooks)), np.zeros(len(cooks), np.bool_)
    for _ in range(3):
        scatter = scale * needed.noise

        def unlikely(values: Floats, scatter: Floats = scatter, counts: Bools = ~is_outlier) -> float:
            heat, loss = parts.factors(values)
            log_heat, log_stretch = needed.at(loss[of_cook])
            surprise = _surprise((log_heat - np.log(heat[of_cook])) / scatter) + log_stretch
            return float(np.sum(surprise[counts]) + np.sum((values / parts.prior) ** 2) / 2)

        values = minimize(unlikely, values, method="BFGS").x
        heat, loss = parts.factors(values)
        off = needed.at(loss[of_cook])[0] - np.log(heat[of_cook])
        if len(cooks) >= _TELLING_COOKS:
            scale = float(np.clip(spread_of(off / needed.noise), 0.4, 3.0))
        is_outlier = np.abs(off) > _OUTLIER * scale * needed.noise
    spread = _spread_of_heat(parts, of_cook, needed.slope(loss[of_cook]), np.where(is_outlier, np.inf, scatter))
    late_min = -off * needed.min_per_heat
    calibrations = tuple(
        Calibration(
            unit_id,
            mold_id,
            heat_factor=round(float(heat[ix]), 4),
            loss_factor=round(float(loss[ix]), 4),
            spread_frac=round(float(spread[ix]), 4),
            n_cycles=int(np.count_nonzero(of_cook == ix)),
            residual_min=round(spread_of(late_min[of_cook == ix]), 2),
            fitted_at=fitted_at,
        )
        for ix, (unit_id, mold_id) in enumerate(pairs)
    )
    return Fit(calibrations, off, needed.at(np.ones(len(cooks)))[0], late_min, is_outlier)


def _surprise(z: Floats) -> Floats:
    """Return the negative logarithm, but for a constant, of Student's distribution with `_FREEDOM`."""
    surprise: Floats = (_FREEDOM + 1) / 2 * np.log1p(z**2 / _FREEDOM)
    return surprise


def _spread_of_heat(parts: "_Parts", of_cook: NDArray[np.intp], slope: Floats, scatter: Floats) -> Floats:
    """Return the standard deviation of the logarithm of each pair's heat factor: ndarray (pair,)."""
    gradient = slope[:, None] * parts.loss[of_cook] - parts.heat[of_cook]
    precision = np.diag(parts.prior**-2.0) + (gradient.T / scatter**2) @ gradient
    spread: Floats = np.sqrt(np.einsum("pi,ij,pj->p", parts.heat, np.linalg.inv(precision), parts.heat))
    return spread


class _Parts:
    """The fitted logarithms and which of them make up the factors of each pair.

    `heat` and `loss` are ndarray (pair, part) of 0 and 1; `prior` is ndarray (part,).
    """

    def __init__(self, pairs: Sequence[tuple[str, str]]) -> None:
        units, molds = ([pair[ix] for pair in pairs] for ix in (0, 1))
        heat = [_one_hot(units), _one_hot(molds), np.eye(len(pairs))]
        loss = [_one_hot(units), _one_hot(molds)]
        self.heat = np.hstack([*heat, *(0 * part for part in loss)])
        self.loss = np.hstack([*(0 * part for part in heat), *loss])
        sizes = [part.shape[1] for part in heat + loss]
        self.prior = np.repeat([UNIT_HEAT, MOLD_HEAT, PAIR_HEAT, UNIT_LOSS, MOLD_LOSS], sizes)

    def factors(self, values: Floats) -> tuple[Floats, Floats]:
        """Return the heat and loss factors of each pair."""
        return np.exp(self.heat @ values), np.exp(self.loss @ values)


class _Needed:
    """The heat that each cook needed over what the physics gave it, for a grid of loss factors.

    Attributes
    ----------
    noise : ndarray (cook,)
        Scatter of its logarithm: of the heat itself, the clock and the thermocouple.
    min_per_heat : ndarray (cook,) [min]
        Minutes that a cook is shorter for each e-fold of heat, at the end of heating.
    """

    def __init__(self, cooks: Sequence[LoggedCook]) -> None:
        self._log_heat = np.empty((len(cooks), _LOSSES.size))
        self._min_per_heat = np.empty_like(self._log_heat)
        per_heat_k = np.empty_like(self._log_heat)
        groups: defaultdict[tuple[CycleModel, float], list[int]] = defaultdict(list)
        for ix, cook in enumerate(cooks):
            groups[cook.model, cook.slot_min].append(ix)
        for (model, slot_min), which in groups.items():
            for loss_ix, loss_factor in enumerate(_LOSSES):
                lossy = replace(model, loss_factor=model.loss_factor * float(loss_factor))
                air_c, rising_k_min = _ends(lossy, [cooks[ix] for ix in which], slot_min)
                air_c = np.maximum.accumulate(air_c, axis=1) + 1e-9 * np.arange(_HEATS.size)
                for ix, air, rising in zip(which, air_c, rising_k_min, strict=True):
                    log_heat = float(np.interp(cooks[ix].piat_c, air, _LOG_HEATS))
                    near = np.clip([log_heat - 0.03, log_heat + 0.03], _LOG_HEATS[0], _LOG_HEATS[-1])
                    risen_k = np.diff(np.interp(near, _LOG_HEATS, air))[0]
                    self._log_heat[ix, loss_ix] = log_heat
                    per_heat_k[ix, loss_ix] = max(risen_k / (near[1] - near[0]), 1.0)
                    rate_k_min = max(float(np.interp(log_heat, _LOG_HEATS, rising)), 0.1)
                    self._min_per_heat[ix, loss_ix] = per_heat_k[ix, loss_ix] / rate_k_min
        self.min_per_heat = self._min_per_heat[:, _AS_IS]
        clock, thermocouple = NOISE_MIN / self.min_per_heat, NOISE_K / per_heat_k[:, _AS_IS]
        self.noise = np.sqrt(NOISE_HEAT**2 + clock**2 + thermocouple**2)

    def at(self, loss: Floats) -> tuple[Floats, Floats]:
        """Return the logarithms of needed heat and of `min_per_heat` at each cook's loss factor."""
        cook, ix, share = self._place(loss)
        log_heat, min_per_heat = (
            table[cook, ix] * (1 - share) + table[cook, ix + 1] * share
            for table in (self._log_heat, self._min_per_heat)
        )
        return log_heat, np.log(min_per_heat)

    def slope(self, loss: Floats) -> Floats:
        """Return by how much the logarithm of needed heat rises with that of each cook's loss factor."""
        cook, ix, _ = self._place(loss)
        step = np.diff(self._log_heat, axis=1) / np.diff(np.log(_LOSSES))
        slope: Floats = step[cook, ix]
        return slope

    def _place(self, loss: Floats) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
        place = np.clip((loss - _LOSSES[0]) / (_LOSSES[1] - _LOSSES[0]), 0, _LOSSES.size - 1)
        ix = np.minimum(place.astype(np.intp), _LOSSES.size - 2)
        return np.arange(loss.size), ix, place - ix


def _ends(model: CycleModel, cooks: Sequence[LoggedCook], slot_min: float) -> tuple[Floats, Floats]:
    """Return inside air and its rate at the end of cooks of one model: two ndarrays (cook, heat) [C, K/min]."""
    shape = len(cooks), _HEATS.size
    start_k, shell_k = (
        np.repeat([temp_c + ZERO_C for temp_c in temps_c], _HEATS.size)
        for temps_c in ([cook.temp_c[0] for cook in cooks], [cook.start_shell_c for cook in cooks])
    )
    state = State.charged(start_k, shell_k)
    stepper = Stepper(model, slot_min * 60)
    air_c, rate_k_min = np.empty(shape), np.empty(shape)
    whole, share = np.divmod(np.array([cook.minutes / slot_min for cook in cooks]), 1)
    for slot in range(int(whole.max()) + 1):
        before_k = state.air_k.reshape(shape).copy()
        at = [min(slot, cook.absorbed_kw.size - 1) for cook in cooks]
        sun_kw = np.array([cook.absorbed_kw[ix] for cook, ix in zip(cooks, at, strict=True)])
        absorbed_kw = np.minimum(sun_kw[:, None] * _HEATS, np.array([cook.max_kw for cook in cooks])[:, None])
        outside_k = np.array([cook.temp_c[ix] for cook, ix in zip(cooks, at, strict=True)]) + ZERO_C
        blown = model.wind_w_m2_k(np.array([cook.wind_m_s[ix] for cook, ix in zip(cooks, at, strict=True)]))
        stepper.advance(state, 1000 * absorbed_kw.ravel(), *(np.repeat(a, _HEATS.size) for a in (outside_k, blown)))
        rise_k = state.air_k.reshape(shape) - before_k
        last = whole == slot
        air_c[last] = (before_k + share[:, None] * rise_k)[last] - ZERO_C
        rate_k_min[last] = rise_k[last] / slot_min
    return air_c, rate_k_min


def _one_hot(names: Sequence[str]) -> Floats:
    hot: Floats = (np.array(names)[:, None] == np.array(sorted(set(names)))[None, :]).astype(np.float64)
    return hot


def spread_of(values: Floats) -> float:
    """Return a standard deviation that outliers do not widen: 1.4826 times the median distance from the median."""
    return float(1.4826 * np.median(np.abs(values - np.median(values)))) if values.size else 0.0
