"""Molds, products, models and hand-made sun for the tests of the cycle."""

from dataclasses import replace

import numpy as np

from tests.small_yard import MONDAY, TZ, small_mold, small_unit, small_yard
from yardplan.cycle.model import CycleModel
from yardplan.domain.equipment import Mold, MoldMetal
from yardplan.domain.products import Product
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import HeatTable
from yardplan.domain.yard import Yard

ALTITUDE_M = 1600.0
BIG_MOLD = Mold("M35", "Tank mold", MoldMetal.ALUMINUM, 400.0, 12.0, 1.9, 2.2, 0.94, 0.9, 1, 1, 60, 1)
BIG_TANK = Product("T35", "Tank of 3,500 L", "LLDPE", 90.0, 7.5, 205.0, 70.0, 10, 1, 10, 1, ("M35",))


def bare_model(**changes: object) -> CycleModel:
    """A shell and a charge in close touch, without latent heat, natural convection, radiation or lag of the air.

    With the capacities left as they are, C is 200 kJ/K; convection is `fan_w_m2_k` x 1 m2 in still and blown air.
    """
    plain = CycleModel(
        shell_j_k=120e3, surface_m2=1.0, emittance_frac=0.0, still_k=(np.inf, 0.0), blown_w_m2_k=(0.0,) * 81,
        fan_w_m2_k=0.0, loss_factor=1.0, polymer_kg=80.0, solid_j_kg_k=1000.0, melt_j_kg_k=1000.0, fusion_j_kg=0.0,
        melting_c=(122.0, 130.0), freezing_c=(106.0, 114.0), coupling_w_k=20e3, air_lag_s=0.0, piat_c=200.0,
        demold_c=70.0, max_shell_c=450.0,
    )  # fmt: skip
    return replace(plain, **changes)


def steady(value: float, hours: float = 24.0, slot_min: float = 5.0) -> np.ndarray:
    """Slots of a constant value."""
    return np.full(int(hours * 60 / slot_min), value)


def day_heat(
    grid: SlotGrid, unit_ids: tuple[str, ...], peak_kw: float, scale: np.ndarray, temp_c: float = 20.0
) -> HeatTable:
    """Heat in the shape of a sine from 06:30 to 18:30, `scale` (scenario,) times `peak_kw` at its height."""
    hours = np.array([(local := grid.local(s)).hour + local.minute / 60 for s in range(grid.n_slots)])
    sun = np.clip(np.sin(np.pi * (hours - 6.5) / 12.0), 0.0, None)
    sun[(hours < 6.5) | (hours > 18.5)] = 0.0
    shape = len(scale), grid.n_slots
    field_kw = np.broadcast_to((scale[:, None] * sun * peak_kw)[:, None, :], (shape[0], len(unit_ids), shape[1]))
    level = np.ones(shape)
    return HeatTable(
        grid, unit_ids, field_kw, temp_c * level, 3.0 * level, 900.0 * sun * level, 900.0 * sun * level, 70.0 * sun,
        "hand-made", None, 0,
    )  # fmt: skip


def big_yard(n_units: int = 1) -> Yard:
    """A yard with the big mold and a small one."""
    yard = small_yard(n_units)
    units = tuple(replace(small_unit(i + 1), max_mold_heat_kw=150.0) for i in range(n_units))
    bin_ = replace(yard.products[1], mold_ids=("M2",))
    return replace(yard, units=units, molds=(BIG_MOLD, small_mold("M2")), products=(BIG_TANK, bin_), hung=())


def one_day(days: int = 1) -> SlotGrid:
    return SlotGrid.of_days(MONDAY, days, TZ)
