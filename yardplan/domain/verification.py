"""What was said of the sun, kept as it was said, how it fared, and what was learned from it."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.tables import FloatArray

LEVELS: NDArray[np.float64] = np.linspace(0, 1, 21)
"""Chances at which the distributions that were shown are kept."""

STRONG_SUN_W_M2 = 400.0
"""Mean of an hour that counts as strong sun; common practice, no source."""


@dataclass(frozen=True, eq=False)
class Shown:
    """The outlook as it was shown, to be kept and scored later; never made anew.

    Attributes
    ----------
    made_at : datetime
        When it was made.
    start_s : ndarray (hour,) [s]
        Starts of its sunlit clock hours since 1970-01-01 UTC.
    dni_w_m2 : ndarray float32 (level, hour) [W/m2]
        Quantiles of the hour's mean at the `LEVELS`.
    """

    made_at: datetime
    start_s: NDArray[np.float64]
    dni_w_m2: FloatArray


@dataclass(frozen=True)
class LeadScores:
    """How good the outlooks of one span of lead were; energies are means of hours in W/m2.

    Attributes
    ----------
    lead_h : tuple of float
        From and to.
    hours, days : int
        How many hours were compared, and on how many days.
    bias_w_m2, rmse_w_m2 : float
        Of the mean.
    nrmse_frac : float
        `rmse_w_m2` over the mean that was read.
    crps_w_m2, band_score_w_m2, strong_sun_brier : float
        Of the distribution, of its P10-P90 band, and of the chance of more than `STRONG_SUN_W_M2`.
    in_band_frac : float
        Share of what was read that lay between P10 and P90; 0.8 is right.
    in_band_by_chance : tuple of float
        Where that share of so many days would lie 19 times of 20 if the band were right. Hours of a day are alike, so
        days are counted, not hours.
    skill_climate, skill_persistence : float
        Share by which the CRPS is below that of the season, and the RMSE below that of the same hour of the last day
        read; NaN where there was none.
    ranks_frac : tuple of float
        Share of readings in each tenth of their distribution, all 0.1 when right (PIT).
    enough : bool
        Whether the days are enough to judge.
    """

    lead_h: tuple[float, float]
    hours: int
    days: int
    bias_w_m2: float
    rmse_w_m2: float
    nrmse_frac: float
    crps_w_m2: float
    band_score_w_m2: float
    strong_sun_brier: float
    in_band_frac: float
    in_band_by_chance: tuple[float, float]
    skill_climate: float
    skill_persistence: float
    ranks_frac: tuple[float, ...]
    enough: bool


@dataclass(frozen=True)
class Verification:
    """Scores by lead, with what has to be told."""

    leads: tuple[LeadScores, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class BiasCorrection:
    """Whether forecasts are corrected by what the log says of earlier ones, and on what evidence.

    Attributes
    ----------
    applied : bool
        Only where it would have helped on days that were held out, and there are enough of them.
    days, least_days : int
        Days with both forecasts and readings, and how many are needed at least.
    gain_frac : float or None
        Share by which it lowered the CRPS on days that were held out, below 0 where it raised it; None where it was
        not tried.
    shift : float
        Mean normal score of the readings in what had been said, a day ahead: below 0 where that was too sunny.
    """

    applied: bool
    days: int
    least_days: int
    gain_frac: float | None = None
    shift: float = 0.0

    @property
    def text(self) -> str:
        """All of it in a sentence."""
        if self.days == 0:
            return "forecasts are not corrected: none of this service has been met by measured sun yet"
        if self.gain_frac is None:
            return (
                f"forecasts are not corrected yet: they were met by measured sun on {self.days} "
                f"day{'s' if self.days > 1 else ''}, {self.least_days} are needed"
            )
        if not self.applied:
            return (
                f"forecasts are not corrected: tried on {self.days} days with measured sun, a correction did not help "
                "on those held out"
            )
        was = f"were too {'sunny' if self.shift < 0 else 'dull'}" if abs(self.shift) >= 0.1 else "had the wrong spread"
        return (
            f"forecasts are corrected, since they {was}: learned on {self.days} days with measured sun, error (CRPS) "
            f"on held-out days {self.gain_frac:.0%} less"
        )


@dataclass(frozen=True)
class Verified:
    """How the outlooks of the last days fared.

    Attributes
    ----------
    tz : str
        IANA name of the yard's time zone.
    days, n_outlooks : int
        How far back was looked, and how many outlooks were kept since.
    first_made_at : datetime or None
        When the first of them was made.
    sun_was_measured : bool
        Whether there are any readings of these days.
    scores : Verification
    correction : BiasCorrection or None
        Whether forecasts are corrected now, and why or why not; None without a forecast.
    """

    tz: str
    days: int
    n_outlooks: int
    first_made_at: datetime | None
    sun_was_measured: bool
    scores: Verification
    correction: BiasCorrection | None
