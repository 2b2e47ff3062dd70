"""A unit's battery: what goes in and out of it, and what it should never be drawn below."""

from collections.abc import Mapping

import numpy as np

from yardplan.domain.equipment import Unit
from yardplan.domain.errors import require
from yardplan.domain.yard import Yard
from yardplan.forecast.sky import Floats

STOW_WH = 3.0
"""To turn one mirror from work to stow, or back: two drives of 30 W for 3 min. Own assumption, no source."""

DRIVE_KW = 0.4
"""To turn the mold in one chamber. Own assumption, no source."""

TURN_H = 2.0
"""How long a hot mold must go on turning without sun: the rest of its cook and its cooling. From memory."""

WAKE_H = 2.0
"""How long a unit lives on its battery in the morning before the sun carries it. Own assumption, no source."""


def battery_gain_kwh(unit: Unit, net_kw: Floats, slot_h: float) -> Floats:
    """Return by how much each slot would change the charge of a battery without top or bottom [kWh].

    Each way costs the square root of the round-trip efficiency; the inverter lets no more through than it can.

    Parameters
    ----------
    net_kw : ndarray [kW]
        What PV gives less what the loads take, on the loads' side.
    """
    net_kwh = np.clip(net_kw, -unit.inverter_kw, unit.inverter_kw) * slot_h
    one_way_frac = np.sqrt(unit.round_trip_frac)
    gain_kwh: Floats = np.where(net_kwh > 0, net_kwh * one_way_frac, net_kwh / one_way_frac)
    return gain_kwh


def battery_path_kwh(unit: Unit, start_kwh: Floats, gain_kwh: Floats) -> Floats:
    """Return the charge at the start of each slot and at the end of the last: ndarray (..., slot + 1) [kWh].

    A full battery takes no more, an empty one gives no more.

    Parameters
    ----------
    start_kwh : ndarray (...) [kWh]
    gain_kwh : ndarray (..., slot) [kWh]
        As from `battery_gain_kwh`.
    """
    path_kwh = np.empty((*gain_kwh.shape[:-1], gain_kwh.shape[-1] + 1))
    path_kwh[..., 0] = start_kwh
    for slot in range(gain_kwh.shape[-1]):
        path_kwh[..., slot + 1] = np.clip(path_kwh[..., slot] + gain_kwh[..., slot], 0, unit.battery_kwh)
    return path_kwh


def check_charge(yard: Yard, charge_kwh: Mapping[str, float]) -> None:
    """Raise `InvalidField` unless each charge is of a unit that there is, and fits into its battery."""
    units = {unit.id: unit for unit in yard.units}
    for unit_id, kwh in charge_kwh.items():
        require(unit_id in units, "battery charge", unit_id, "unit", unit_id, f"one of {', '.join(units)}")
        most_kwh = units[unit_id].battery_kwh
        require(0 <= kwh <= most_kwh, "battery charge", unit_id, "charge_kwh", kwh, f"a number from 0 to {most_kwh:g}")


def low_reserves(yard: Yard) -> tuple[str, ...]:
    """Return a sentence for each unit whose reserve is below the suggested one."""
    return tuple(
        f"unit {unit.id} keeps {unit.reserve_kwh:.1f} kWh in its battery; to stow its mirrors, turn hot molds for "
        f"{TURN_H:g} h and wake up it should keep about {suggested:.1f} kWh"
        for unit in yard.units
        if unit.reserve_kwh < (suggested := suggested_reserve_kwh(unit))
    )


def suggested_reserve_kwh(unit: Unit, *, turn_h: float = TURN_H, wake_h: float = WAKE_H) -> float:
    """Return the reserve that should stay in a unit's battery [kWh].

    Enough to stow all mirrors and bring them back, to turn the molds of all chambers for `turn_h`, and to wake up:
    the base load of the day for `wake_h`; all of it after the loss on the way out of the battery. It keeps a part
    from sagging and a field from a storm, so a yard should measure its own drives and only raise it.
    """
    stow_kwh = 2 * len(unit.field) * STOW_WH / 1000
    turn_kwh = len(unit.chambers) * DRIVE_KW * turn_h
    return float((stow_kwh + turn_kwh + unit.base_day_kw * wake_h) / np.sqrt(unit.round_trip_frac))
