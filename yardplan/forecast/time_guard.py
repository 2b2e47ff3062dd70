"""Find time labels that are off, by the sun: in clear hours a morning is as bright as the afternoon.

Direct light over that of a clear sky is compared between east and west at the same heights of a low sun, where half
an hour more or less changes much. The shift is the move of all labels that makes the two equal.

Measured on 16 typical years from 34 degrees south to 60 north and on a year of half hours from satellites: with
the right labels the shift found is 0 to 12 min and every year counts as right; moved by half an hour it is 18 to 42 min
and 33 of 34 are wrong, one doubtful; moved by an hour all are wrong. Spells of 15 to 90 days cut from those years and
from a month of measured minutes: with the right labels none of 718 counts as wrong and 31 are doubtful; moved by half
an hour, with clear low suns on 30 days or more, 490 of 564 are wrong and 58 doubtful. The shift misses by 4 min in the
median and by 20 at most then; on 12 to 20 days by 6 in the median but by 87 at most, which is why those only warn.
"""

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from math import gcd

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.errors import require
from yardplan.domain.tables import BoolArray, FloatArray, Weather
from yardplan.forecast.sky import Floats, clear_sky

LARGEST_RIGHT_MIN = 15.0
"""Up to so far from the sun, labels count as right."""

SMALLEST_WRONG_MIN = 22.0
"""From so far on they count as off."""

SURE_DAYS, FEWEST_DAYS = 30, 12
"""Days with a clear low sun both east and west: from the first number on labels can be wrong, from the second
doubtful."""

LARGEST_DARK_FRAC = 0.005
"""Share of direct light that may be logged with the sun down."""

_LOW_SUN_BANDS_DEG = ((8, 15), (15, 25), (25, 35))
_CLEAR_FRAC = 0.5  # of the clear-sky index that is reached in one bright step of ten
_FEWEST_STEPS = 5  # in a band, east and west each
_MOVES_MIN = tuple(range(-90, 91, 15))
_DOWN_DEG = -0.3  # the whole of a step must be below this to count as dark
_BRIGHT_W_M2 = 20  # less than this with the sun down is the instrument's zero


class Verdict(StrEnum):
    """What the guard says of time labels."""

    RIGHT = "right"
    DOUBTFUL = "doubtful"
    WRONG = "wrong"
    UNKNOWN = "not judged"


@dataclass(frozen=True)
class LabelFinding:
    """What the sun says of the time labels.

    Attributes
    ----------
    verdict : Verdict
        `WRONG` should be refused, `DOUBTFUL` be told, `UNKNOWN` says that there are too few clear low suns.
    shift_min : float
        By how much all labels would have to move for mornings and afternoons to agree [min]; NaN if unknown.
    asymmetry : float
        Natural logarithm of the clear-sky index in the morning over that in the afternoon; NaN if unknown.
    dark_frac : float
        Share of the direct light that is logged with the sun down.
    days : int
        Days with a clear low sun in the morning, or in the afternoon, whichever are fewer.
    text : str
        All that in words.
    """

    verdict: Verdict
    shift_min: float
    asymmetry: float
    dark_frac: float
    days: int
    text: str


def check_labels(weather: Weather, site: Site) -> LabelFinding:
    """Compare the labels of measured or modeled direct light with the sun over `site`.

    Steps longer than an hour are not judged. The labels are also wrong where more than `LARGEST_DARK_FRAC` of the
    light is logged in the dark, on however few days.

    Raises
    ------
    InvalidField
        If the steps do not follow each other; gaps are NaN here.
    """
    ends_at = weather.starts_at[0] + len(weather.starts_at) * timedelta(minutes=weather.step_min)
    whole = weather.starts_at[-1] + timedelta(minutes=weather.step_min) == ends_at
    require(whole, "weather", weather.source, "starts_at", weather.starts_at[-1], "steps without holes")
    dni = weather.dni_w_m2
    if weather.step_min > 60 or not np.any(dni > _BRIGHT_W_M2):
        return _finding(np.nan, np.nan, 0.0, 0)
    sky = _MovedSky(weather, site)
    now = sky.at(0)
    bright = np.where(dni > _BRIGHT_W_M2, dni, 0).astype(np.float64)
    dark_frac = float(bright[now.highest_deg <= _DOWN_DEG].sum() / bright.sum())
    unequal = {move: _asymmetry(dni, sky.at(move)) for move in _MOVES_MIN}
    return _finding(_even_at(unequal), unequal[0], dark_frac, _days(dni, now, sky.day))


def _finding(shift_min: float, asymmetry: float, dark_frac: float, days: int) -> LabelFinding:
    known = days >= FEWEST_DAYS and np.isfinite(shift_min)
    off_min = abs(shift_min) if known else 0.0
    seen = f"on {days} days with clear low suns, mornings and afternoons would agree with labels {_moved(shift_min)}"
    advice = "look at the clock, its zone, daylight saving, start or end of the step, and the place"
    if off_min >= SMALLEST_WRONG_MIN and days >= SURE_DAYS:
        verdict, text = Verdict.WRONG, f"the time labels are off: {seen}; {advice}"
    elif dark_frac > LARGEST_DARK_FRAC:
        dark = f"{dark_frac:.1%} of the direct light is logged with the sun down"
        verdict, text = Verdict.WRONG, f"the time labels are off: {dark}; {advice}"
    elif off_min > LARGEST_RIGHT_MIN and (days >= SURE_DAYS or off_min >= SMALLEST_WRONG_MIN):
        verdict, text = Verdict.DOUBTFUL, f"the time labels may be off: {seen}; {advice}"
    elif known:
        verdict, text = Verdict.RIGHT, f"the time labels go with the sun: {seen}"
    else:
        verdict, text = Verdict.UNKNOWN, f"too few clear low suns to judge the time labels by ({days} days)"
    return LabelFinding(verdict, shift_min if known else np.nan, asymmetry, dark_frac, days, text)


def _moved(shift_min: float) -> str:
    if not np.isfinite(shift_min) or round(shift_min) == 0:
        return "as they are"
    return f"{abs(shift_min):.0f} min {'later' if shift_min > 0 else 'earlier'}"


@dataclass(frozen=True, eq=False)
class _Steps:
    """The sky over the steps of some weather: clear DNI, mean and greatest height of the sun, whether it is east."""

    clear_w_m2: Floats
    elevation_deg: Floats
    highest_deg: Floats
    east: BoolArray


class _MovedSky:
    """The sky over the steps of some weather with all its labels moved; `day` numbers the solar day of each step."""

    def __init__(self, weather: Weather, site: Site) -> None:
        self._fine_min = gcd(weather.step_min, 5)
        self._parts = weather.step_min // self._fine_min
        self._n_steps = len(weather.starts_at)
        self._pad = -_MOVES_MIN[0] // self._fine_min
        fine = np.arange(-self._pad, self._n_steps * self._parts + self._pad, dtype=np.float64) + 0.5
        middles_s: Floats = weather.starts_at[0].timestamp() + fine * self._fine_min * 60
        self._sky = clear_sky(middles_s, site.latitude_deg, site.longitude_deg, site.altitude_m, site.linke)
        solar_s = middles_s + site.longitude_deg * 240
        self.day = (solar_s // 86400)[self._pad :: self._parts][: self._n_steps]

    def at(self, move_min: int) -> _Steps:
        first = self._pad + move_min // self._fine_min

        def steps(fine: Floats) -> Floats:
            return fine[first : first + self._n_steps * self._parts].reshape(self._n_steps, self._parts)

        elevation_deg, azimuth_deg = steps(self._sky.sun.elevation_deg), steps(self._sky.sun.azimuth_deg)
        east = (azimuth_deg < 180).mean(axis=1) > 0.5
        return _Steps(
            steps(self._sky.dni_w_m2).mean(axis=1), elevation_deg.mean(axis=1), elevation_deg.max(axis=1), east
        )


def _clear_index(dni: FloatArray, sky: _Steps) -> Floats:
    """Return the clear-sky index of clear steps under a low sun, NaN elsewhere."""
    lit = (sky.elevation_deg >= _LOW_SUN_BANDS_DEG[0][0]) & (sky.clear_w_m2 > 50) & np.isfinite(dni)
    index = np.where(lit, dni, np.nan) / np.where(lit, sky.clear_w_m2, np.nan)
    high = index[lit & (sky.elevation_deg > 20)]
    if high.size < 4 * _FEWEST_STEPS:
        return np.full(len(index), np.nan)
    low_and_clear = (index > _CLEAR_FRAC * np.quantile(high, 0.9)) & (sky.elevation_deg < _LOW_SUN_BANDS_DEG[-1][1])
    return np.where(low_and_clear, index, np.nan)


def _asymmetry(dni: FloatArray, sky: _Steps) -> float:
    """Return the logarithm of the clear-sky index east over that west, mean of the bands; NaN if none has enough."""
    index = _clear_index(dni, sky)
    found = []
    for low, high in _LOW_SUN_BANDS_DEG:
        band = np.isfinite(index) & (sky.elevation_deg >= low) & (sky.elevation_deg < high)
        east, west = index[band & sky.east], index[band & ~sky.east]
        if min(east.size, west.size) >= _FEWEST_STEPS:
            found.append(float(np.log(np.median(east) / np.median(west))))
    return float(np.mean(found)) if found else np.nan


def _days(dni: FloatArray, sky: _Steps, day: Floats) -> int:
    """Return on how many days there is a clear low sun east, or west, whichever are fewer."""
    clear = np.isfinite(_clear_index(dni, sky))
    return min(np.unique(day[clear & sky.east]).size, np.unique(day[clear & ~sky.east]).size)


def _even_at(unequal: dict[int, float]) -> float:
    """Return the move at which east and west are equal, the nearest to none; the last one if they never are."""
    value, step = unequal[0], 15 if unequal[0] > 0 else -15
    if not np.isfinite(value):
        return np.nan
    move = 0
    while np.isfinite(after := unequal.get(move + step, np.nan)):
        if np.sign(after) != np.sign(value):
            return move + step * value / (value - after)
        move, value = move + step, after
    return float(move)
