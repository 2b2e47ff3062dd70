"""What washing the mirrors of a unit would bring, against what it takes."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class CookGain:
    """Cooks of a product that are possible on a unit one after another, added up over days."""

    product_id: str
    before: int
    after: int


@dataclass(frozen=True)
class WashGain:
    """One unit, washed or not.

    Attributes
    ----------
    on : date
        Day before whose sun the mirrors are washed.
    kwh, kwh_before : float [kWh]
        Median heat that the wash adds from then on, and median heat without it over all days.
    minutes, crew : int
        What the wash takes.
    cooks : tuple of CookGain
        Each product that is possible on the unit at all, with and without the wash.
    """

    unit_id: str
    on: date
    kwh: float
    kwh_before: float
    minutes: int
    crew: int
    cooks: tuple[CookGain, ...]

    @property
    def crew_h(self) -> float:
        """Working hours of all who wash [h]."""
        return self.minutes * self.crew / 60

    @property
    def best(self) -> CookGain | None:
        """The product that gains most cooks; None where the wash adds none."""
        best = max(self.cooks, key=lambda gain: gain.after - gain.before, default=None)
        return best if best and best.after > best.before else None
