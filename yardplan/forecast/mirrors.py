"""What a unit's heliostats send to the mold: cosine, reflectance, dirt, air, and the spread of the image."""

from datetime import date

import numpy as np

from yardplan.domain.equipment import Unit
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import FloatArray
from yardplan.domain.yard import Yard
from yardplan.forecast.sky import Floats

SUN_SHAPE_MRAD = 2.325
"""Standard deviation of the sun's disc along one axis: half of its half angle of 4.65 mrad (a uniform disc)."""

SLOPE_ERROR_MRAD = 2.0
TRACKING_ERROR_MRAD = 1.5
"""Standard deviations of the mirror's normal along one axis; common practice for small flat mirrors, no source."""

_CHORDS = 200


def cosine_frac(mirrors_m: Floats, target_m: Floats, elevation_deg: Floats, azimuth_deg: Floats) -> Floats:
    """Return the cosine of incidence of mirrors that send the sun to a target.

    A mirror stands halfway between sun and target, so the cosine is that of half the angle between them:
    sqrt((1 + s.t) / 2). Source: Stine and Geyer, Power From The Sun, ch. 8 and 10.

    Parameters
    ----------
    mirrors_m : ndarray (mirror, 3) [m]
        East, north, up.
    target_m : ndarray (3,) [m]
        East, north, up.
    elevation_deg, azimuth_deg : ndarray (instant,) [deg]
        Of the sun; azimuth clockwise from north.

    Returns
    -------
    ndarray (mirror, instant)
    """
    elevation, azimuth = np.radians(elevation_deg), np.radians(azimuth_deg)
    level = np.cos(elevation)
    sun = np.stack([level * np.sin(azimuth), level * np.cos(azimuth), np.sin(elevation)])
    to_target = target_m - mirrors_m
    to_target = to_target / np.linalg.norm(to_target, axis=1, keepdims=True)
    cosine: Floats = np.sqrt(np.clip((1 + to_target @ sun) / 2, 0, 1))
    return cosine


def attenuation_frac(slant_m: Floats) -> Floats:
    """Return the share of light that clear air lets through between mirror and target.

    Source: Leary and Hankins, A user's guide for MIRVAL, SAND77-8280, 1979 (attribution from memory); clear day,
    valid to 1000 m, which the places that a heliostat may have never pass.
    """
    return 0.99321 - 1.176e-4 * slant_m + 1.97e-8 * slant_m**2


def mirror_area_m2(unit: Unit, elevation_deg: Floats, azimuth_deg: Floats) -> Floats:
    """Return the area of an ideal collector that would send as much light to the mold as the unit's clean field.

    Area, reflectance, cosine and air; without dirt, shading and blocking by neighbors, intercept and stow.

    Returns
    -------
    ndarray (instant,) [m2]
        Times direct normal irradiance it is the power toward the target; means nothing while the sun is down.
    """
    places_m, slant_m = _places(unit)
    weight_m2 = np.array([mirror.area_m2 * mirror.reflectance_frac for mirror in unit.field])
    weight_m2 = weight_m2 * attenuation_frac(slant_m)
    area: Floats = weight_m2 @ cosine_frac(places_m, _target(unit), elevation_deg, azimuth_deg)
    return area


def clean_frac(unit: Unit, on: date) -> float:
    """Return the share of its reflectance that the field has left on a day: (1 - rate) to the days since the wash.

    A rate of 0.1 to 1 % a day is usual. Source: NREL/TP-255-3369, 1990 (abstract). Before the wash it counts as clean.
    """
    days = max((on - unit.washed_on).days, 0)
    return float((1 - unit.soiling_per_day_frac) ** days)


def clean_slots(unit: Unit, grid: SlotGrid) -> Floats:
    """Return `clean_frac` of the local day of each slot: ndarray (slot,)."""
    clean = np.ones(grid.n_slots)
    for on, first, after in grid.days:
        clean[first:after] = clean_frac(unit, on)
    return clean


def beam_spread_m(unit: Unit) -> Floats:
    """Return the standard deviation along one axis of each mirror's beam at the target: ndarray (mirror,) [m].

    Sun shape, slope and tracking errors, the latter two doubled by reflection, times the slant range.
    """
    _, slant_m = _places(unit)
    beam_rad = 1e-3 * np.sqrt(SUN_SHAPE_MRAD**2 + (2 * SLOPE_ERROR_MRAD) ** 2 + (2 * TRACKING_ERROR_MRAD) ** 2)
    spread: Floats = beam_rad * slant_m
    return spread


def intercept_frac(radius_m: float, spread_m: Floats, width_m: Floats, height_m: Floats) -> Floats:
    """Return the share of each flat mirror's image that falls on a disc around its center.

    The image is the mirror's rectangle blurred by a circular Gaussian, summed over the disc's chords; for a mirror
    that is small against the blur this is 1 - exp(-R^2 / 2 s^2). The mirror's foreshortening is left out, which
    makes the image somewhat large and the share somewhat low.

    Parameters
    ----------
    radius_m : float [m]
        Of the disc.
    spread_m : ndarray (mirror,) [m]
        Standard deviation of the blur along one axis, above 0.
    width_m, height_m : ndarray (mirror,) [m]
        Of the mirror.

    Returns
    -------
    ndarray (mirror,)
    """
    # from the longest chord to the rim, the other half mirrors it; in equal angles the rule is as good as exact
    # once its steps are finer than the blur
    angle = (np.arange(_CHORDS)[:, None] + 0.5) * np.pi / 2 / _CHORDS
    across_m, half_chord_m = radius_m * np.sin(angle), radius_m * np.cos(angle)
    density = (_normal((across_m + height_m / 2) / spread_m) - _normal((across_m - height_m / 2) / spread_m)) / height_m
    on_chord = (
        2 * spread_m / width_m
        * (_normal_sum((half_chord_m + width_m / 2) / spread_m) - _normal_sum((half_chord_m - width_m / 2) / spread_m))
        - 1
    )  # fmt: skip
    share: Floats = np.clip(np.pi / _CHORDS * (density * on_chord * half_chord_m).sum(axis=0), 0, 1)
    return share


def intercept_table(yard: Yard) -> FloatArray:
    """Return the share of each unit's light that lands on each mold's outline, weighted by mirror area.

    Returns
    -------
    ndarray float32 (mold, unit)
        In the order of `yard.molds` and `yard.units`.
    """
    table = np.empty((len(yard.molds), len(yard.units)), np.float32)
    for unit_ix, unit in enumerate(yard.units):
        spread_m = beam_spread_m(unit)
        width_m = np.array([mirror.width_m for mirror in unit.field])
        height_m = np.array([mirror.height_m for mirror in unit.field])
        for mold_ix, mold in enumerate(yard.molds):
            share = intercept_frac(mold.target_m / 2, spread_m, width_m, height_m)
            table[mold_ix, unit_ix] = np.average(share, weights=width_m * height_m)
    return table


def _target(unit: Unit) -> Floats:
    return np.array([0.0, 0.0, unit.target_up_m])


def _places(unit: Unit) -> tuple[Floats, Floats]:
    """Return the places (mirror, 3) of a field and the slant ranges (mirror,) to its target [m]."""
    places_m = np.array([(mirror.east_m, mirror.north_m, mirror.up_m) for mirror in unit.field])
    return places_m, np.linalg.norm(_target(unit) - places_m, axis=1)


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
