"""What becomes of a cook that starts at a given time, and why it may not."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


@dataclass(frozen=True)
class LatestStart:
    """The last slot of a day from which a mold's cook in a chamber reaches PIAT at the confidence asked for."""

    on: date
    unit_id: str
    chamber_id: str
    mold_id: str
    product_id: str
    slot: int


class StartOutcome(StrEnum):
    """What becomes of a start."""

    REACHES = "reaches PIAT"
    STALLS = "stalls"
    TOO_LONG = "takes too long"
    NO_SUN = "no sun"
    NO_COOLING = "does not cool down"
    NO_FIT = "fits no chamber"


@dataclass(frozen=True)
class StartVerdict:
    """What becomes of one start in the sky that just counts at a confidence.

    Attributes
    ----------
    end_slot : float or None
        Place on the grid where PIAT is reached, or where the inside air is hottest if it stalls.
    peak_c : float or None
        Inside air there [C].
    heat_kw, loss_kw : float or None
        What the shell absorbs then, and what it loses, where it stalls [kW].
    first_slot, latest_slot : int or None
        First and last start of that day from which PIAT is reached; None where there is none.
    """

    unit_id: str
    mold_id: str
    product_id: str
    start_slot: int
    confidence: float
    outcome: StartOutcome
    piat_c: float
    end_slot: float | None = None
    peak_c: float | None = None
    heat_kw: float | None = None
    loss_kw: float | None = None
    first_slot: int | None = None
    latest_slot: int | None = None
