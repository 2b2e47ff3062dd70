"""What a day of heat looks like, for a unit and for the yard."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from yardplan.domain.tables import FloatArray

QUANTILES = (0.1, 0.5, 0.9)
"""Shares of scenarios that stay below a figure that is given three times: P10 is passed in nine of ten."""


class Sky(StrEnum):
    """What the sky most likely does for a while."""

    SUN = "sun"
    UNSURE = "unsure"
    CLOUDS = "clouds"


@dataclass(frozen=True)
class Spell:
    """Slots of a day with one kind of sky."""

    first_slot: int
    after_slot: int
    sky: Sky


@dataclass(frozen=True)
class Stow:
    """Slots of a day in which wind may keep the mirrors stowed, and the share of scenarios in which it does."""

    first_slot: int
    after_slot: int
    chance: float


@dataclass(frozen=True, eq=False)
class UnitDay:
    """One local day of one unit.

    Attributes
    ----------
    kwh : tuple of float [kWh]
        Heat of the day at the `QUANTILES`.
    first_slot : int
        Slot of the grid that the day begins with.
    heat_kw : ndarray float32 (quantile, slot of the day) [kW]
        The `QUANTILES` slot by slot; they do not add up to those of the day.
    """

    on: date
    unit_id: str
    kwh: tuple[float, ...]
    first_slot: int
    heat_kw: FloatArray


@dataclass(frozen=True)
class PowerDay:
    """One local day of a unit's electricity.

    Attributes
    ----------
    pv_kwh : tuple of float [kWh]
        What PV gives behind its inverter, at the `QUANTILES`.
    evening_kwh, evening_kw : float or None [kWh, kW]
        Energy for benches from that day's sunset to sunrise if they draw none by day, and the power that they may
        draw all that time, at the planning confidence; None on a day without a sunset.
    sunset_charge_kwh : float or None [kWh]
        Expected charge at sunset, before finishing.
    """

    on: date
    unit_id: str
    pv_kwh: tuple[float, ...]
    evening_kwh: float | None
    evening_kw: float | None
    sunset_charge_kwh: float | None


@dataclass(frozen=True)
class BayDay:
    """What the benches of one kind get together after a day's sunset, from all units that feed some of them."""

    on: date
    kind: str
    unit_ids: tuple[str, ...]
    evening_kwh: float
    evening_kw: float


@dataclass(frozen=True)
class YardDay:
    """One local day of the yard.

    Attributes
    ----------
    first_slot, after_slot : int
        Slots of the grid that make the day.
    sunrise_at, sunset_at : datetime or None
        First rise and last set of the sun's upper rim within the day [UTC]; None where there is none.
    kwh : tuple of float [kWh]
        Heat of all units together at the `QUANTILES`.
    sun_frac : float
        Median of the day's direct light over that of a cloudless day, while the sun is high enough; 0 where it
        never is.
    spells : tuple of Spell
        The sky while the sun is high enough, in order.
    stow : Stow or None
        Where wind may keep the mirrors stowed.
    """

    on: date
    first_slot: int
    after_slot: int
    sunrise_at: datetime | None
    sunset_at: datetime | None
    kwh: tuple[float, ...]
    sun_frac: float
    spells: tuple[Spell, ...]
    stow: Stow | None


@dataclass(frozen=True)
class Window:
    """When cooks of a product can start on a unit that day.

    Attributes
    ----------
    mold_id : str
        Of the molds that can make it, the one that allows most cooks.
    first_slot, last_slot : int
        First and last start from which a cook reaches PIAT at the confidence asked for.
    cooks : int
        How many are possible one after another, with no time lost between them.
    """

    on: date
    unit_id: str
    product_id: str
    mold_id: str
    first_slot: int
    last_slot: int
    cooks: int
