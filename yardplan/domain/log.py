"""What happened, as the crew logged it. Append-only: a wrong entry is corrected by a new one."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import require, require_ranges


@dataclass(frozen=True)
class LoggedCycle:
    """One cycle that was made.

    `piat_at` is when the inside air peaked, None if the cook was lost.
    """

    id: str
    chamber_id: str
    mold: MoldCopy
    product_id: str
    color: str
    charged_at: datetime
    heat_at: datetime
    piat_at: datetime | None
    demolded_at: datetime
    piat_c: float
    pieces_good: int
    pieces_scrapped: int
    note: str = ""

    def __post_init__(self) -> None:
        times = [at for at in (self.charged_at, self.heat_at, self.piat_at, self.demolded_at) if at is not None]
        require(
            all(at.tzinfo is not None for at in times),
            "logged cycle",
            self.id,
            "times",
            times[0],
            "times with their offset",
        )
        require(
            times == sorted(times),
            "logged cycle",
            self.id,
            "charged_at to demolded_at",
            str(times[0]),
            "times in the order charge, heat, PIAT, demold",
        )
        require(
            self.pieces_good >= 0 and self.pieces_scrapped >= 0,
            "logged cycle",
            self.id,
            "pieces",
            (self.pieces_good, self.pieces_scrapped),
            "counts from 0 up",
        )


@dataclass(frozen=True)
class SunReading:
    """Direct normal irradiance that was measured: the mean of the `step_min` minutes from `start_at` on.

    `source` is the instrument or the person that read it, such as ``"pyrheliometer"``; `ghi_w_m2` is the global light
    beside it, None where that was not measured.
    """

    start_at: datetime
    step_min: int
    dni_w_m2: float
    source: str
    ghi_w_m2: float | None = None

    def __post_init__(self) -> None:
        ident = f"{self.source} {self.start_at}"
        require(self.start_at.tzinfo is not None, "sun reading", ident, "start_at", self.start_at, "an aware instant")
        require_ranges(self, "sun reading", ident, {"step_min": (1, 60), "dni_w_m2": (0, 1420)})
        if self.ghi_w_m2 is not None:
            require_ranges(self, "sun reading", ident, {"ghi_w_m2": (0, 1900)})

    @property
    def end_at(self) -> datetime:
        """The instant at which the reading ends."""
        return self.start_at + timedelta(minutes=self.step_min)


@dataclass(frozen=True)
class ChargeReading:
    """What stood in the batteries of some units at one moment, by the ids of the units [kWh]."""

    at: datetime
    kwh: Mapping[str, float]

    def __post_init__(self) -> None:
        require(self.at.tzinfo is not None, "battery charge", "", "at", self.at, "an aware instant")
