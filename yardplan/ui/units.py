"""Units as this seat wants them: the only place that turns stored metric values into what is read and typed."""

from dataclasses import dataclass
from enum import Enum, StrEnum

from PySide6.QtCore import QLocale

from yardplan.ui.dates import decimal_text


class Units(StrEnum):
    """Which units are shown."""

    REGION = "region"
    """Those of the seat's region."""
    METRIC = "metric"
    US = "us"
    """US customary units; energy stays in kWh, which yards with panels and batteries there use too."""


@dataclass(frozen=True)
class _Pair:
    """A metric unit and the US one; `factor` of the metric unit make one US unit, zero is `offset` US units."""

    metric: str
    us: str
    factor: float
    offset: float = 0.0


class Quantity(Enum):
    """What a number measures. Source of the factors: NIST SP 811 (2008), appendix B, where they are exact."""

    TEMPERATURE = _Pair("°C", "°F", 5 / 9, 32.0)
    DIFFERENCE = _Pair("K", "°F", 5 / 9)
    MASS = _Pair("kg", "lb", 0.45359237)
    LENGTH = _Pair("m", "ft", 0.3048)
    WALL = _Pair("mm", "in", 25.4)
    AREA = _Pair("m²", "ft²", 0.3048**2)
    VOLUME = _Pair("L", "gal", 3.785411784)
    SPEED = _Pair("m/s", "mph", 0.44704)
    HEAT_FOR_MASS = _Pair("kWh/kg", "kWh/lb", 1 / 0.45359237)


_chosen = Units.REGION


def choose_units(units: Units) -> None:
    """Show these units from now on, in what is written anew."""
    global _chosen
    _chosen = units


def is_us() -> bool:
    """Tell whether US units are shown."""
    if _chosen is Units.REGION:
        return QLocale().measurementSystem() is QLocale.MeasurementSystem.ImperialUSSystem
    return _chosen is Units.US


def unit_sign(quantity: Quantity) -> str:
    """Return the sign of a quantity's unit."""
    return quantity.value.us if is_us() else quantity.value.metric


def to_shown(quantity: Quantity, stored: float) -> float:
    """Return a stored value in the unit that is shown."""
    pair = quantity.value
    return stored / pair.factor + pair.offset if is_us() else stored


def to_stored(quantity: Quantity, typed: float) -> float:
    """Return what to store of a value that was typed in the unit that is shown."""
    pair = quantity.value
    return (typed - pair.offset) * pair.factor if is_us() else typed


def measured_text(quantity: Quantity, value: float, digits: int) -> str:
    """Return a stored value with its unit."""
    return f"{decimal_text(to_shown(quantity, value), digits)} {unit_sign(quantity)}"
