"""The arrays that carry the sun into the plan. All are read-only and name their axes."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.errors import require
from yardplan.domain.slots import SlotGrid

FloatArray = NDArray[np.float32]
IntArray = NDArray[np.int32]
BoolArray = NDArray[np.bool_]
ByteArray = NDArray[np.uint8]

NEVER = 0
"""In a cook table: a start at this slot does not reach PIAT at the stated confidence."""


@dataclass(frozen=True, eq=False)
class Weather:
    """Weather on equal steps, whatever its source.

    Attributes
    ----------
    starts_at : tuple of datetime
        Start of each step [UTC], strictly rising; values are means over the step.
    step_min : int
        Length of a step [min].
    dni_w_m2, ghi_w_m2, dhi_w_m2, temp_c, wind_m_s, gust_m_s, cloud_frac : ndarray (step,)
        NaN marks a gap; gaps are never filled silently.
    source : str
        Where it comes from, in words that can be shown.
    issued_at : datetime or None
        When a forecast was made; None for climatology.
    rain_mm : ndarray (step,) or None
        Rain that falls in the step; None where the source tells none.
    """

    starts_at: tuple[datetime, ...]
    step_min: int
    dni_w_m2: FloatArray
    ghi_w_m2: FloatArray
    dhi_w_m2: FloatArray
    temp_c: FloatArray
    wind_m_s: FloatArray
    gust_m_s: FloatArray
    cloud_frac: FloatArray
    source: str
    issued_at: datetime | None = None
    rain_mm: FloatArray | None = None

    def __post_init__(self) -> None:
        n_steps = len(self.starts_at)
        if self.rain_mm is not None:
            _seal(self, "rain_mm", (n_steps,), np.float32)
        for name in ("dni_w_m2", "ghi_w_m2", "dhi_w_m2", "temp_c", "wind_m_s", "gust_m_s", "cloud_frac"):
            _seal(self, name, (n_steps,), np.float32)


@dataclass(frozen=True, eq=False)
class HeatTable:
    """Heat that a unit's field can send to a mold, over scenarios of the sky.

    Attributes
    ----------
    field_kw : ndarray float32 (scenario, unit, slot) [kW]
        Mean power leaving the mirrors toward the target in that slot, before the mold's intercept and absorptance.
    temp_c : ndarray float32 (scenario, slot) [C]
        Outside air.
    wind_m_s : ndarray float32 (scenario, slot) [m/s]
        Wind.
    dni_w_m2, ghi_w_m2 : ndarray float32 (scenario, slot) [W/m2]
        The sky that the heat was made from.
    elevation_deg : ndarray float32 (slot,) [deg]
        Height of the sun at the middle of the slot.
    """

    grid: SlotGrid
    unit_ids: tuple[str, ...]
    field_kw: FloatArray
    temp_c: FloatArray
    wind_m_s: FloatArray
    dni_w_m2: FloatArray
    ghi_w_m2: FloatArray
    elevation_deg: FloatArray
    source: str
    issued_at: datetime | None
    seed: int

    def __post_init__(self) -> None:
        n_scenarios, n_slots = self.field_kw.shape[0], self.grid.n_slots
        _seal(self, "field_kw", (n_scenarios, len(self.unit_ids), n_slots), np.float32)
        for name in ("temp_c", "wind_m_s", "dni_w_m2", "ghi_w_m2"):
            _seal(self, name, (n_scenarios, n_slots), np.float32)
        _seal(self, "elevation_deg", (n_slots,), np.float32)
        require(
            bool(np.all(np.isfinite(self.field_kw)) and np.all(self.field_kw >= 0)),
            "heat table",
            self.source,
            "field_kw",
            "NaN or below zero",
            "finite numbers from 0 up",
        )


class Recipe(NamedTuple):
    """A mold and the product made in it: what a cook time belongs to."""

    mold_id: str
    product_id: str


@dataclass(frozen=True, eq=False)
class CookTable:
    """Cook and cooling times by start slot: the only form in which the planner sees the sun.

    Attributes
    ----------
    confidences : tuple of float
        Share of scenarios in which the cook is over after `cook_slots`, rising, such as (0.5, 0.8, 0.95).
    cook_slots : ndarray int32 (confidence, recipe, unit, start slot)
        Slots of heating, rounded up; `NEVER` where PIAT is not reached before the grid ends.
    cool_slots : ndarray int32 (confidence, recipe, unit, start slot)
        Slots of cooling after the heating that starts at this slot, rounded up; 0 where `NEVER`.
    heat_kwh : ndarray float32 (recipe, unit, start slot) [kWh]
        Median heat that such a cook absorbs; 0 where `NEVER` at every confidence.
    """

    grid: SlotGrid
    recipes: tuple[Recipe, ...]
    unit_ids: tuple[str, ...]
    confidences: tuple[float, ...]
    cook_slots: IntArray
    cool_slots: IntArray
    heat_kwh: FloatArray

    def __post_init__(self) -> None:
        shape = (len(self.confidences), len(self.recipes), len(self.unit_ids), self.grid.n_slots)
        _seal(self, "cook_slots", shape, np.int32)
        _seal(self, "cool_slots", shape, np.int32)
        _seal(self, "heat_kwh", shape[1:], np.float32)

    def confidence_ix(self, confidence: float) -> int:
        """Return the position of a confidence; raises `InvalidField` where the table has none such."""
        for ix, have in enumerate(self.confidences):
            if abs(have - confidence) < 1e-9:
                return ix
        require(False, "cook table", "", "confidence", confidence, f"one of {self.confidences}")
        raise AssertionError


@dataclass(frozen=True, eq=False)
class SkyCooks:
    """Cook and cooling times by start slot under each single scenario of the sky: what a plan is replayed against.

    Attributes
    ----------
    cook_slots : ndarray uint8 (recipe, unit, start slot, scenario)
        Slots of heating, rounded up, so that no start ends before an earlier one; `NEVER` where PIAT is not reached,
        or heating or cooling takes more than 255 slots.
    cool_slots : ndarray uint8 (recipe, unit, start slot, scenario)
        Slots of cooling after the heating that starts at this slot, rounded up; 0 where `NEVER`.
    """

    grid: SlotGrid
    recipes: tuple[Recipe, ...]
    unit_ids: tuple[str, ...]
    cook_slots: ByteArray
    cool_slots: ByteArray

    def __post_init__(self) -> None:
        shape = (len(self.recipes), len(self.unit_ids), self.grid.n_slots, self.cook_slots.shape[-1])
        _seal(self, "cook_slots", shape, np.uint8)
        _seal(self, "cool_slots", shape, np.uint8)
        require(shape[-1] > 0, "sky cooks", "", "cook_slots", shape, "at least one scenario")

    @property
    def n_scenarios(self) -> int:
        """How many scenarios there are."""
        return int(self.cook_slots.shape[-1])


@dataclass(frozen=True, eq=False)
class PowerTable:
    """Electricity left for finishing, at the planning confidence.

    Attributes
    ----------
    finish_kw : ndarray float32 (unit, slot) [kW]
        Most that benches fed by the unit may draw together in that slot.
    spans : tuple of (int, int)
        Spans of slots, each from its first slot to the one after its last. They overlap: what is drawn at noon is
        missing at night as far as the sun of the afternoon does not bring it back.
    span_kwh : ndarray float32 (unit, span) [kWh]
        Energy that benches fed by the unit may draw in all slots of that span together.
    evening_ix : ndarray int32 (slot,)
        Evening that a slot belongs to, from sunset to the next sunrise, counted from 0; -1 in daylight.
    charge_kwh : ndarray float32 (unit, slot) [kWh]
        Expected charge of the battery at the start of the slot, before finishing; for drawing.
    """

    grid: SlotGrid
    unit_ids: tuple[str, ...]
    finish_kw: FloatArray
    spans: tuple[tuple[int, int], ...]
    span_kwh: FloatArray
    evening_ix: IntArray
    charge_kwh: FloatArray

    def __post_init__(self) -> None:
        n_units, n_slots = len(self.unit_ids), self.grid.n_slots
        _seal(self, "finish_kw", (n_units, n_slots), np.float32)
        _seal(self, "charge_kwh", (n_units, n_slots), np.float32)
        _seal(self, "evening_ix", (n_slots,), np.int32)
        _seal(self, "span_kwh", (n_units, len(self.spans)), np.float32)
        for span in self.spans:
            require(0 <= span[0] < span[1] <= n_slots, "power table", "", "spans", span, "slots of the grid")

    @cached_property
    def evening_kwh(self) -> FloatArray:
        """Energy left for each evening if benches draw none before: ndarray float32 (unit, evening) [kWh]."""
        nothing = np.zeros(self.grid.n_slots)
        return np.array([self.evening_left_kwh(ix, nothing) for ix in range(len(self.unit_ids))], np.float32)

    def evening_left_kwh(self, unit_ix: int, drawn_kwh: NDArray[np.floating[Any]]) -> NDArray[np.float64]:
        """Return what is left of each evening's energy beside what benches draw: ndarray (evening,) [kWh].

        That is the least that is left of the spans which the evening's last slot lies in; infinite without one.

        Parameters
        ----------
        drawn_kwh : ndarray (slot,) [kWh]
            What all benches fed by the unit draw in each slot.
        """
        by_then_kwh = np.concatenate([[0.0], np.cumsum(drawn_kwh)])
        first, after = np.array(self.spans, np.intp).reshape(-1, 2).T
        left_kwh = self.span_kwh[unit_ix] - (by_then_kwh[after] - by_then_kwh[first])
        found = np.empty(int(self.evening_ix.max(initial=-1)) + 1)
        for evening in range(found.size):
            last_slot = int(np.flatnonzero(self.evening_ix == evening)[-1])
            found[evening] = left_kwh[(first <= last_slot) & (last_slot < after)].min(initial=np.inf)
        return found


def means_between(values: NDArray[np.floating[Any]], edges: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return means of what is given by slots over other steps: ndarray (..., step).

    Parameters
    ----------
    values : ndarray (..., slot)
        Each holds for its whole slot; the first and the last one hold beyond as well.
    edges : ndarray (step + 1,)
        Rising places on the axis of slots, where slot i reaches from i to i + 1.
    """
    n_slots = values.shape[-1]
    by_then = np.zeros((*values.shape[:-1], n_slots + 1))
    np.cumsum(values, axis=-1, out=by_then[..., 1:])
    slot = np.clip(np.floor(edges).astype(np.intp), 0, n_slots - 1)
    at_edge = by_then[..., slot] + (edges - slot) * values[..., slot]
    means: NDArray[np.float64] = np.diff(at_edge, axis=-1) / np.diff(edges)
    return means


def _seal(row: object, name: str, shape: tuple[int, ...], dtype: type) -> None:
    array: NDArray[Any] = np.ascontiguousarray(getattr(row, name), dtype=dtype)
    require(array.shape == shape, type(row).__name__, "", name, array.shape, f"shape {shape}")
    if array is getattr(row, name):
        array = array.view()
    array.setflags(write=False)
    object.__setattr__(row, name, array)
