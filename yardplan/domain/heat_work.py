"""How much people may work in the heat: a table of minutes in any hour, and what it allows in each slot.

This helps to plan; it does not replace a heat program, local codes, water, shade, getting used to the heat, a second
pair of eyes on everybody, or the word of whoever feels unwell.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.errors import require, require_ranges
from yardplan.domain.tables import HeatTable, IntArray, _seal

HOUR_MIN = 60
SUN_ADDS_F = 13.0
"""Full sun, no clouds. Source: as `NIOSH_TABLE`, note to Table 6-2; read as quoted by others, not in the original."""
HALF_SUN_ADDS_F = 7.0
"""Partly cloudy or overcast. Source: as `SUN_ADDS_F`."""
HUMIDITY_PCT = (10.0, 20.0, 30.0, 40.0, 50.0, 60.0)
HUMIDITY_ADDS_F = (-8.0, -4.0, 0.0, 3.0, 6.0, 9.0)
"""What humidity adds. Source: as `SUN_ADDS_F`. Beyond 60 % it is carried on by 0.3 F a percent: not in the source."""
SUNSHINE_W_M2 = 120.0
"""Direct light that counts as sunshine. Source: WMO Guide to Instruments and Methods of Observation, from memory."""


@dataclass(frozen=True)
class WorkRest:
    """One row of a work/rest table: from an adjusted temperature on, minutes of work in any hour, the rest is rest.

    60 is no limit; 0 is the table's caution, at which the work is not planned.
    """

    from_f: float
    moderate_min: int
    heavy_min: int

    def __post_init__(self) -> None:
        ranges: dict[str, tuple[float, float]] = {
            "from_f": (60, 140),
            "moderate_min": (0, HOUR_MIN),
            "heavy_min": (0, HOUR_MIN),
        }
        require_ranges(self, "work and rest", f"{self.from_f:g} F", ranges)
        ok = self.heavy_min <= self.moderate_min
        expected = "no more than moderate_min"
        require(ok, "work and rest", f"{self.from_f:g} F", "heavy_min", self.heavy_min, expected)


NIOSH_TABLE = tuple(
    WorkRest(from_f, moderate, heavy)
    for from_f, moderate, heavy in (
        (95, 60, 45), (97, 60, 40), (98, 60, 35), (100, 45, 30), (101, 40, 30), (102, 35, 25), (103, 30, 20),
        (105, 25, 15), (106, 20, 0), (107, 15, 0), (108, 0, 0),
    )
)  # fmt: skip
"""Minutes of work in an hour for people in normal clothing, fit, rested, well hydrated, under 40, at 30 % humidity.

Source: CDC/NIOSH, Heat Stress: Work/Rest Schedules, DHHS (NIOSH) Publication 2017-127, and NIOSH mining page of the
same name; from NIOSH, Criteria for a Recommended Standard: Occupational Exposure to Heat and Hot Environments,
Publication 2016-106, Table 6-2. Its columns for moderate and heavy work; the rows were read on the mining page.
"""


def check_work_rest(rows: tuple[WorkRest, ...]) -> None:
    """Raise `InvalidField` unless rows rise in temperature and never allow more when it is hotter."""
    for before, after in pairwise(rows):
        ok = before.from_f < after.from_f
        require(ok, "work and rest", f"{after.from_f:g} F", "from_f", after.from_f, "rows from cool to hot")
        for name in ("moderate_min", "heavy_min"):
            found, most = getattr(after, name), getattr(before, name)
            require(found <= most, "work and rest", f"{after.from_f:g} F", name, found, f"at most {most}, as before it")


@dataclass(frozen=True, eq=False)
class WorkLimits:
    """How many minutes a person may work in any 60 minutes that hold a slot; 60: no limit, 0: not at all.

    Charging and demolding are heavy work, mold changes and finishing moderate: rule of this yard, the source names
    neither. Minutes of heavy work count for both.

    Attributes
    ----------
    heavy_min, moderate_min : ndarray int32 (slot,)
        The least over the work's slots in an hour is what counts for that hour.
    """

    heavy_min: IntArray
    moderate_min: IntArray

    def __post_init__(self) -> None:
        for name in ("heavy_min", "moderate_min"):
            _seal(self, name, (len(self.heavy_min),), np.int32)

    @property
    def is_hot(self) -> bool:
        """Whether any slot has a limit."""
        return bool((self.heavy_min < HOUR_MIN).any() or (self.moderate_min < HOUR_MIN).any())


def adjusted_f(heat: HeatTable, confidence: float, *, humidity_pct: float, sun_frac: float) -> NDArray[np.float64]:
    """Return the adjusted temperature that a share of the scenarios keeps below in each slot: ndarray (slot,) [F].

    Parameters
    ----------
    humidity_pct : float
        Relative humidity of hot hours at the site.
    sun_frac : float
        Share of the sun that reaches the people at work: 1 in the open, 0 in full shade. In between the adder is
        shared out, which is not in the source.
    """
    step = (HUMIDITY_ADDS_F[-1] - HUMIDITY_ADDS_F[-2]) / (HUMIDITY_PCT[-1] - HUMIDITY_PCT[-2])
    humidity_f = float(np.interp(humidity_pct, HUMIDITY_PCT, HUMIDITY_ADDS_F)) + step * max(
        humidity_pct - HUMIDITY_PCT[-1], 0.0
    )
    by_day = np.where(heat.elevation_deg > 0, HALF_SUN_ADDS_F, 0.0)
    sun_f = sun_frac * np.where(heat.dni_w_m2 >= SUNSHINE_W_M2, SUN_ADDS_F, by_day)
    felt_f = heat.temp_c * 1.8 + 32.0 + humidity_f + sun_f
    rank = max(int(np.ceil(confidence * felt_f.shape[0] - 1e-9)), 1) - 1
    found: NDArray[np.float64] = np.sort(felt_f, axis=0)[rank].astype(np.float64)
    return found


def work_limits(
    rows: tuple[WorkRest, ...], heavy_f: NDArray[np.float64], moderate_f: NDArray[np.float64]
) -> WorkLimits:
    """Return what a table allows at adjusted temperatures [F], each rounded up to a whole degree: ndarrays (slot,)."""
    starts = np.array([row.from_f for row in rows])

    def read(at_f: NDArray[np.float64], name: str) -> IntArray:
        minutes = np.array([HOUR_MIN, *(getattr(row, name) for row in rows)], np.int32)
        found: IntArray = minutes[np.searchsorted(starts, np.ceil(at_f - 1e-6), side="right")]
        return found

    return WorkLimits(read(heavy_f, "heavy_min"), read(moderate_f, "moderate_min"))
