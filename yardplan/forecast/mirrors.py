"""A unit's heliostats and the mold they aim at: places, directions, cosine and air."""

from dataclasses import dataclass

import numpy as np

from yardplan.domain.equipment import Heliostat, Unit
from yardplan.forecast.sky import Floats


@dataclass(frozen=True, eq=False)
class Mirrors:
    """A field as arrays, one row for each mirror.

    Attributes
    ----------
    places_m : ndarray (mirror, 3) [m]
        Centers: east, north, up.
    size_m : ndarray (mirror, 2) [m]
        Width, which stays level, and height.
    to_target : ndarray (mirror, 3)
        Unit vectors toward the center of the mold.
    slant_m : ndarray (mirror,) [m]
        Distance from there.
    sent_m2 : ndarray (mirror,) [m2]
        Area times clean reflectance times what the air lets through.
    """

    places_m: Floats
    size_m: Floats
    to_target: Floats
    slant_m: Floats
    sent_m2: Floats

    @classmethod
    def of(cls, field: tuple[Heliostat, ...], target_up_m: float) -> "Mirrors":
        """Return the arrays of a field that aims at a mold so high above the unit's origin."""
        places_m = np.array([(mirror.east_m, mirror.north_m, mirror.up_m) for mirror in field])
        size_m = np.array([(mirror.width_m, mirror.height_m) for mirror in field])
        to_target = np.array([0.0, 0.0, target_up_m]) - places_m
        slant_m = np.linalg.norm(to_target, axis=1)
        reflectance_frac = np.array([mirror.reflectance_frac for mirror in field])
        sent_m2 = size_m.prod(axis=1) * reflectance_frac * attenuation_frac(slant_m)
        return cls(places_m, size_m, to_target / slant_m[:, None], slant_m, sent_m2)


def toward_sun(elevation_deg: Floats, azimuth_deg: Floats) -> Floats:
    """Return unit vectors toward the sun, east, north, up: ndarray (instant, 3); azimuth clockwise from north."""
    elevation, azimuth = np.radians(elevation_deg), np.radians(azimuth_deg)
    level = np.cos(elevation)
    return np.stack([level * np.sin(azimuth), level * np.cos(azimuth), np.sin(elevation)], axis=-1)


def cosine_frac(to_target: Floats, to_sun: Floats) -> Floats:
    """Return the cosine of incidence of mirrors that send the sun to a target.

    A mirror stands halfway between sun and target, so the cosine is that of half the angle between them:
    sqrt((1 + s.t) / 2). Source: Stine and Geyer, Power From The Sun, ch. 8 and 10.

    Parameters
    ----------
    to_target : ndarray (mirror, 3)
        Unit vectors.
    to_sun : ndarray (instant, 3)
        Unit vectors.

    Returns
    -------
    ndarray (mirror, instant)
    """
    cosine: Floats = np.sqrt(np.clip((1 + to_target @ to_sun.T) / 2, 0, 1))
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
    mirrors = Mirrors.of(unit.field, unit.target_up_m)
    area: Floats = mirrors.sent_m2 @ cosine_frac(mirrors.to_target, toward_sun(elevation_deg, azimuth_deg))
    return area
