"""Which share of a flat mirror's image lands on the mold."""

import numpy as np

from yardplan.forecast.mirrors import Mirrors, toward_sun
from yardplan.forecast.shading import facing
from yardplan.forecast.sky import Floats

SUN_SHAPE_MRAD = 2.325
"""Standard deviation of the sun's disc along one axis: half of its half angle of 4.65 mrad (a uniform disc)."""

SLOPE_ERROR_MRAD = 2.0
TRACKING_ERROR_MRAD = 1.5
"""Standard deviations of the mirror's normal along one axis; common practice for small flat mirrors, no source."""

_FEWEST_CHORDS = 12


def beam_spread_m(slant_m: Floats) -> Floats:
    """Return the standard deviation along one axis of mirrors' beams at the target: ndarray (mirror,) [m].

    Sun shape, slope and tracking errors, the latter two doubled by reflection, times the slant range.
    """
    beam_rad = 1e-3 * np.sqrt(SUN_SHAPE_MRAD**2 + (2 * SLOPE_ERROR_MRAD) ** 2 + (2 * TRACKING_ERROR_MRAD) ** 2)
    spread: Floats = beam_rad * slant_m
    return spread


def image_m(mirrors: Mirrors, elevation_deg: Floats, azimuth_deg: Floats) -> Floats:
    """Return the sides of mirrors as the target sees them, foreshortened, without blur.

    Seen aslant a rectangle is a parallelogram; it is replaced by the rectangle of equal area and equal second
    moments, since only those count once it is blurred and laid on a disc.

    Returns
    -------
    ndarray (2, mirror, instant) [m]
        The shorter and the longer side; their product is the mirror's area times the cosine of incidence.
    """
    normal, width, height = facing(mirrors.to_target, toward_sun(elevation_deg, azimuth_deg))
    cosine, level, upward = (np.einsum("dmk,mk->md", axis, mirrors.to_target) for axis in (normal, width, height))
    width_m, height_m = mirrors.size_m[:, 0, None], mirrors.size_m[:, 1, None]
    half_sum = (width_m**2 * (1 - level**2) + height_m**2 * (1 - upward**2)) / 2
    half_gap = np.sqrt(np.clip(half_sum**2 - (width_m * height_m * cosine) ** 2, 0, None))
    sides: Floats = np.sqrt(np.stack([half_sum - half_gap, half_sum + half_gap]))
    return sides


def intercept_frac(radius_m: float, spread_m: Floats, width_m: Floats, height_m: Floats) -> Floats:
    """Return the share of each flat mirror's image that falls on a disc around its center.

    The image is a rectangle blurred by a circular Gaussian, summed over the disc's chords; for one that is small
    against the blur this is 1 - exp(-R^2 / 2 s^2). Exact to 1e-6, like the distribution function it is made of.

    Parameters
    ----------
    radius_m : float [m]
        Of the disc.
    spread_m : ndarray [m]
        Standard deviation of the blur along one axis, above 0.
    width_m, height_m : ndarray [m]
        Of the image without its blur, above 0; the three shapes broadcast.

    Returns
    -------
    ndarray
    """
    share = np.zeros(np.broadcast_shapes(spread_m.shape, width_m.shape, height_m.shape))
    # from the longest chord to the rim, the other half mirrors it; in equal angles the rule is as good as exact
    # once its steps are about as fine as the blur
    n_chords = max(int(np.ceil(1.5 * radius_m / spread_m.min(initial=np.inf))), _FEWEST_CHORDS)
    for angle in (np.arange(n_chords) + 0.5) * np.pi / 2 / n_chords:
        across_m, half_chord_m = radius_m * np.sin(angle), radius_m * np.cos(angle)
        density = _normal((across_m + height_m / 2) / spread_m) - _normal((across_m - height_m / 2) / spread_m)
        on_chord = (
            _normal_sum((half_chord_m + width_m / 2) / spread_m) - _normal_sum((half_chord_m - width_m / 2) / spread_m)
        ) * 2 * spread_m / width_m - 1  # fmt: skip
        share += density / height_m * on_chord * half_chord_m
    return np.clip(np.pi / n_chords * share, 0, 1)


def _normal(z: Floats) -> Floats:
    """Return the standard normal distribution function, good to 1e-7.

    Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, 7.1.26.
    """
    x = np.abs(z) / np.sqrt(2)
    t = 1 / (1 + 0.3275911 * x)
    polynomial = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    erf = np.copysign(1 - polynomial * np.exp(-x * x), z)
    share: Floats = (1 + erf) / 2
    return share


def _normal_sum(z: Floats) -> Floats:
    """Return the integral of the standard normal distribution function from minus infinity."""
    total: Floats = z * _normal(z) + np.exp(-z * z / 2) / np.sqrt(2 * np.pi)
    return total
