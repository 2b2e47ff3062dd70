"""What logged cycles taught about a mold on a unit."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.errors import require, require_ranges
from yardplan.domain.yard import Yard


@dataclass(frozen=True)
class Calibration:
    """Factors on the physics of a mold on a unit.

    Attributes
    ----------
    heat_factor, loss_factor : float
        Heat that the mold really absorbs, and what it really loses, over what the physics says.
    spread_frac : float
        Standard deviation of the heat factor, as a share of it.
    n_cycles : int
        Logged cycles of this mold on this unit; with none the factors come from other molds on the unit and from
        the mold on other units.
    residual_min : float
        Spread of logged less fitted minutes of heating, as a standard deviation without outliers [min].
    """

    unit_id: str
    mold_id: str
    heat_factor: float
    loss_factor: float
    spread_frac: float
    n_cycles: int
    residual_min: float
    fitted_at: datetime

    def __post_init__(self) -> None:
        ident = f"{self.mold_id} on {self.unit_id}"
        require(self.fitted_at.tzinfo is not None, "calibration", ident, "fitted_at", self.fitted_at, "an instant")
        require_ranges(
            self,
            "calibration",
            ident,
            {
                "heat_factor": (0.2, 3),
                "loss_factor": (0.2, 5),
                "spread_frac": (0, 1),
                "n_cycles": (0, 1e9),
                "residual_min": (0, 1440),
            },
        )


def factors_of(yard: Yard, calibrations: Iterable[Calibration]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return heat and loss factors in the yard's order: two ndarrays (mold, unit), 1 where nothing was fitted."""
    heat_factor, loss_factor = np.ones((2, len(yard.molds), len(yard.units)))
    molds = {mold.id: ix for ix, mold in enumerate(yard.molds)}
    units = {unit.id: ix for ix, unit in enumerate(yard.units)}
    for one in calibrations:
        if one.mold_id in molds and one.unit_id in units:
            at = molds[one.mold_id], units[one.unit_id]
            heat_factor[at], loss_factor[at] = one.heat_factor, one.loss_factor
    return heat_factor, loss_factor


class Suspect(StrEnum):
    """What a change in cooks may come from."""

    FIELD = "mirror field"
    PAINT = "black paint"
    THERMOCOUPLE = "thermocouple"


@dataclass(frozen=True)
class Drift:
    """Cooks of late are unlike those before, in one place: a warning with its evidence, never a correction.

    Attributes
    ----------
    suspects : tuple of (Suspect, name)
        What all of these cooks have in common and others do not: a unit's field, a mold copy's paint, a chamber's
        thermocouple; more than one where the log cannot tell them apart.
    heat_change_frac : float
        Heat that the cooks seem to get, against before.
    piat_change_k : float
        Readings of PIAT over what was aimed at, against before [K].
    std_errors : float
        How many standard errors the larger of the two changes is.
    n_recent, n_before : int
        Cooks compared.
    since_at : datetime
        Start of the first cook that counts as of late.
    elsewhere_frac : float
        The same change of heat in all other cooks.
    """

    suspects: tuple[tuple[Suspect, str], ...]
    heat_change_frac: float
    piat_change_k: float
    std_errors: float
    n_recent: int
    n_before: int
    since_at: datetime
    elsewhere_frac: float


@dataclass(frozen=True)
class Calibrated:
    """What a calibration found.

    Attributes
    ----------
    calibrations : tuple of Calibration
        Of every mold on every unit that it fits.
    drifts : tuple of Drift
        Warnings, the surest first.
    n_cycles, n_outliers : int
        Logged cycles that were used, and those among them that do not fit in.
    residual_min : float
        Spread of logged less fitted minutes of heating, as a standard deviation without outliers [min].
    left_out : tuple of (reason, count)
        Logged cycles that could not be used.
    """

    calibrations: tuple[Calibration, ...]
    drifts: tuple[Drift, ...]
    n_cycles: int
    n_outliers: int
    residual_min: float
    left_out: tuple[tuple[str, int], ...] = ()
