"""What logged cycles taught about a mold on a unit."""

from dataclasses import dataclass
from datetime import datetime

from yardplan.domain.errors import require, require_ranges


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
