"""What mirrors take from each other: shade from the sun, and reflected light that a neighbor blocks."""

import numpy as np
from numpy.typing import NDArray

from yardplan.forecast.mirrors import Mirrors, toward_sun
from yardplan.forecast.sky import Floats

_POINTS = 89
_STEP = 55  # a Fibonacci number and the one before: points that no line of shadow follows
_AT_ONCE = 1 << 19
"""Pairs of mirrors that are looked at together, so that memory stays small."""
_FAR = 1e-9

Index = NDArray[np.intp]


def open_frac(mirrors: Mirrors, elevation_deg: Floats, azimuth_deg: Floats) -> Floats:
    """Return the share of each mirror whose light comes from the sun and goes to the target unhindered by neighbors.

    From each of `_POINTS` points spread over a mirror one ray goes toward the sun and one along the way to the
    target; a point counts if neither meets another mirror. So what is both shaded and blocked is lost once. Mirrors
    turn about a vertical and a level axis, and their backs block as well. All pairs are looked at whose outlines
    can meet, however far apart. The container, the mold itself and the ground are left out.

    Parameters
    ----------
    elevation_deg, azimuth_deg : ndarray (instant,) [deg]
        Of the sun, which is up; azimuth clockwise from north.

    Returns
    -------
    ndarray (mirror, instant)
        A multiple of 1 / `_POINTS`; off by at most 0.03 for one mirror and by 0.003 for a field of dozens, against
        thirty times as many points.
    """
    to_sun = toward_sun(elevation_deg, azimuth_deg)
    n_mirrors = len(mirrors.slant_m)
    chunk = max(_AT_ONCE // n_mirrors**2, 1)
    parts = [_open(mirrors, to_sun[at : at + chunk]) for at in range(0, len(to_sun), chunk)]
    return np.concatenate([np.empty((n_mirrors, 0)), *parts], axis=1)


def facing(to_target: Floats, to_sun: Floats) -> tuple[Floats, Floats, Floats]:
    """Return normals of mirrors on their targets, and the directions of their widths and heights.

    Returns
    -------
    tuple of ndarray (instant, mirror, 3)
        Unit vectors at right angles; the width is level.
    """
    normal = to_sun[:, None] + to_target
    normal /= np.maximum(np.linalg.norm(normal, axis=2, keepdims=True), _FAR)  # 0 where the sun is right behind
    east, north = normal[..., 0], normal[..., 1]
    level = np.hypot(east, north)
    flat = level < _FAR  # faces straight up
    width = np.stack([np.where(flat, 1.0, -north), np.where(flat, 0.0, east), np.zeros_like(level)], axis=-1)
    width /= np.where(flat, 1.0, level)[..., None]
    return normal, width, np.cross(normal, width)


def _open(mirrors: Mirrors, to_sun: Floats) -> Floats:
    n_mirrors = len(mirrors.slant_m)
    faces = facing(mirrors.to_target, to_sun)
    gap_m = mirrors.places_m - mirrors.places_m[:, None]  # from the first to the second
    gap2_m2 = (gap_m**2).sum(axis=2)
    half_m = np.hypot(*mirrors.size_m.T) / 2
    reach_m = half_m + half_m[:, None]
    np.fill_diagonal(reach_m, 0)  # no mirror is in its own way

    along_m = to_sun @ mirrors.places_m.T
    along_m = along_m[:, None] - along_m[:, :, None]
    shading = (along_m > -reach_m) & (gap2_m2 - along_m**2 < reach_m**2)
    along_m = np.einsum("ijk,ik->ij", gap_m, mirrors.to_target)
    blocking = (along_m > -reach_m) & (along_m < mirrors.slant_m[:, None]) & (gap2_m2 - along_m**2 < reach_m**2)

    hidden = np.zeros((len(to_sun) * n_mirrors, _POINTS), np.bool_)
    instant, mirror, other = np.nonzero(shading)
    _hide(hidden, mirrors, faces, to_sun[instant], (instant, mirror, other))
    mirror, other = np.nonzero(blocking)
    instant = np.repeat(np.arange(len(to_sun)), mirror.size)
    mirror, other = np.tile(mirror, len(to_sun)), np.tile(other, len(to_sun))
    _hide(hidden, mirrors, faces, mirrors.to_target[mirror], (instant, mirror, other))
    share: Floats = 1 - hidden.reshape(len(to_sun), n_mirrors, _POINTS).mean(axis=2).T
    return share


def _hide(
    hidden: NDArray[np.bool_],
    mirrors: Mirrors,
    faces: tuple[Floats, Floats, Floats],
    ray: Floats,
    pairs: tuple[Index, Index, Index],
) -> None:
    """Mark the points (instant and mirror, point) from which a ray (pair, 3) meets the other mirror of its pair."""
    instant, mirror, other = pairs
    if not mirror.size:
        return
    normal, width, height = (face[instant, other] for face in faces)
    # A ray from a point p meets the other mirror's plane at p + t * ray. That t, and the place on that mirror along
    # its width and height, are linear in p.
    slope = _dot(ray, normal)
    slope = np.where(np.abs(slope) < _FAR, _FAR, slope)  # edge on: meets it far away, which is outside
    across = width - normal * (_dot(ray, width) / slope)[:, None]
    up = height - normal * (_dot(ray, height) / slope)[:, None]
    ahead = -normal / slope[:, None]

    size_m = mirrors.size_m[mirror]
    origins = (
        mirrors.places_m[mirror] - mirrors.places_m[other],
        faces[1][instant, mirror] * size_m[:, :1],
        faces[2][instant, mirror] * size_m[:, 1:],
    )
    # of each, its value at the middle of the mirror and its change along the mirror's whole width and height
    place = np.stack([[_dot(part, slopes) for part in origins] for slopes in (across, up, ahead)]).astype(np.float32)
    limit_m = (mirrors.size_m[other].T / 2).astype(np.float32)
    reach = np.abs(place[:, 1:]).sum(axis=1) / 2
    near = (np.abs(place[:2, 0]) <= limit_m + reach[:2]).all(axis=0) & (place[2, 0] > -reach[2])
    place, limit_m = place[:, :, near, None], limit_m[:, near, None]
    if not limit_m.size:
        return

    def at_points(values: NDArray[np.float32]) -> NDArray[np.float32]:
        found: NDArray[np.float32] = values[0] + values[1] * _PLACES[0] + values[2] * _PLACES[1]
        return found

    meets = np.abs(at_points(place[0])) <= limit_m[0]
    meets &= np.abs(at_points(place[1])) <= limit_m[1]
    meets &= at_points(place[2]) > 0
    rows = (instant * len(mirrors.slant_m) + mirror)[near]  # rising
    firsts = np.flatnonzero(np.diff(rows, prepend=-1))
    hidden[rows[firsts]] |= np.logical_or.reduceat(meets, firsts, axis=0)


def _dot(one: Floats, two: Floats) -> Floats:
    product: Floats = np.einsum("ij,ij->i", one, two)
    return product


def _lattice() -> NDArray[np.float32]:
    """Return points spread evenly over a square of side 1 around 0: ndarray (2, point)."""
    at = np.arange(_POINTS)
    return np.stack([(at + 0.5) / _POINTS - 0.5, (at * _STEP + 0.5) % _POINTS / _POINTS - 0.5]).astype(np.float32)


_PLACES = _lattice()
