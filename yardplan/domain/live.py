"""What is known of a cook while it runs."""

from dataclasses import dataclass
from datetime import datetime

from yardplan.domain.tables import FloatArray


@dataclass(frozen=True, eq=False)
class LiveEstimate:
    """When a running cook will reach PIAT, from what its inside air tells and the heat that may come.

    Attributes
    ----------
    air_c, shell_c, polymer_c : float
        Inside air as read last; shell and mean of the charge as they must be then [C].
    melted_frac : float
        Share of the charge's heat of fusion that it has taken up.
    chance : float
        Share of the skies, by how well they agree with the readings, in which PIAT is reached before the heat ends.
    piat_min : tuple of three floats [min]
        Minutes from now to PIAT at P10, P50, P90; infinite where it is not reached in so many skies.
    hope_frac : ndarray float32 (slot,)
        Chance that it is still reached if no heat comes before that slot, counted from now.
    lost_min : float
        If no heat came from now on, it would be lost after so many minutes: no sky's heat would do any more [min];
        minus infinity if none does even now, infinite if PIAT is reached already.
    heat_factor : float
        Heat so far that agrees best with the readings, over what was taken.
    misfit_k : float
        By how much the readings are off the course that agrees best with them, root mean square [K].
    """

    air_c: float
    shell_c: float
    polymer_c: float
    melted_frac: float
    chance: float
    piat_min: tuple[float, float, float]
    hope_frac: FloatArray
    lost_min: float
    heat_factor: float
    misfit_k: float


@dataclass(frozen=True, eq=False)
class LiveCook:
    """A running cook and what is estimated of it at `now`, the instant of the last reading.

    `sun_was_measured` tells whether the heat so far goes by readings of the sun.
    """

    chamber_id: str
    unit_id: str
    mold_id: str
    product_id: str
    piat_c: float
    heat_at: datetime
    now: datetime
    sun_was_measured: bool
    estimate: LiveEstimate
    tz: str
