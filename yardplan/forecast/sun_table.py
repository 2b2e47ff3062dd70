"""Shading, blocking and intercept of each field, tabulated over directions of the sun."""

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.equipment import Heliostat, Unit
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import FloatArray
from yardplan.domain.yard import Yard
from yardplan.forecast.intercept import beam_spread_m, image_m, intercept_frac
from yardplan.forecast.mirrors import Mirrors, cosine_frac, toward_sun
from yardplan.forecast.shading import open_frac
from yardplan.forecast.sky import Floats, slot_middles, sun_position

OPEN_STEP_DEG = 3.0
INTERCEPT_STEP_DEG = 10.0
_FIELDS = 64  # that are remembered


class SunTable:
    """Values over the sky, worked out at a node when it is first needed, joined by straight lines between nodes.

    Parameters
    ----------
    step_deg : float
        Of azimuth and elevation; a part of 90.
    width : int
        Values at a node.
    work_out : callable
        Takes elevation and azimuth (node,) [deg], returns values (width, node).
    """

    def __init__(self, step_deg: float, width: int, work_out: Callable[[Floats, Floats], Floats]) -> None:
        self._step_deg, self._work_out = step_deg, work_out
        self._n_azimuths, n_elevations = round(360 / step_deg), round(90 / step_deg) + 1
        self._values = np.zeros((width, n_elevations * self._n_azimuths))
        self._known = np.zeros(n_elevations * self._n_azimuths, np.bool_)

    def at(self, elevation_deg: Floats, azimuth_deg: Floats) -> Floats:
        """Return values (width, instant) for elevations from 0 to 90 and azimuths (instant,) [deg]."""
        step, around = self._step_deg, self._n_azimuths
        row = np.clip(elevation_deg / step, 0, 90 / step)
        column = (azimuth_deg / step) % around
        low = np.minimum(row.astype(np.intp), round(90 / step) - 1)
        left = column.astype(np.intp) % around
        right = (left + 1) % around
        up, across = row - low, column - np.floor(column)
        corners = np.stack([low * around + left, low * around + right, (low + 1) * around + left])
        corners = np.concatenate([corners, [(low + 1) * around + right]])
        weights = np.stack([(1 - up) * (1 - across), (1 - up) * across, up * (1 - across), up * across])
        self._fill(np.unique(corners[weights > 0]))
        found: Floats = np.einsum("wki,ki->wi", self._values[:, corners], weights)
        return found

    def _fill(self, nodes: NDArray[np.intp]) -> None:
        new = nodes[~self._known[nodes]]
        if new.size:
            row, column = np.divmod(new, self._n_azimuths)
            self._values[:, new] = self._work_out(row * self._step_deg, column * self._step_deg)
            self._known[new] = True  # last, for other threads


def open_share(unit: Unit, elevation_deg: Floats, azimuth_deg: Floats) -> Floats:
    """Return the share of a field's light that neighboring mirrors let through; see `open_frac`.

    From a table with nodes `OPEN_STEP_DEG` apart, which lives as long as the field is the same.

    Returns
    -------
    ndarray (instant,)
    """
    share: Floats = _open_table(unit.field, unit.target_up_m).at(elevation_deg, azimuth_deg)[0]
    return share


def intercept_slots(yard: Yard, grid: SlotGrid) -> FloatArray:
    """Return the share of each unit's light that lands on each mold's outline, by the sun of each slot.

    Foreshortened images are smaller, so less of them misses. From tables with nodes `INTERCEPT_STEP_DEG` apart.

    Returns
    -------
    ndarray float32 (mold, unit, slot)
        In the order of `yard.molds` and `yard.units`; 0 while the sun is down.
    """
    site = yard.site
    sun = sun_position(slot_middles(grid), site.latitude_deg, site.longitude_deg, site.altitude_m)
    up = np.flatnonzero(sun.elevation_deg > 0)
    share = np.zeros((len(yard.molds), len(yard.units), grid.n_slots), np.float32)
    sizes = tuple(sorted({mold.target_m for mold in yard.molds}))
    of_mold = [sizes.index(mold.target_m) for mold in yard.molds]

    def catch(ix: int) -> None:
        table = _intercept_table(yard.units[ix].field, yard.units[ix].target_up_m, sizes)
        share[:, ix, up] = table.at(sun.elevation_deg[up], sun.azimuth_deg[up])[of_mold]

    with ThreadPoolExecutor(os.cpu_count()) as pool:  # what a new field takes is mostly outside the interpreter
        list(pool.map(catch, range(len(yard.units))))
    return share


@lru_cache(_FIELDS)
def _open_table(field: tuple[Heliostat, ...], target_up_m: float) -> SunTable:
    mirrors = Mirrors.of(field, target_up_m)

    def work_out(elevation_deg: Floats, azimuth_deg: Floats) -> Floats:
        sent_m2 = _sent_m2(mirrors, elevation_deg, azimuth_deg)
        return np.average(open_frac(mirrors, elevation_deg, azimuth_deg), axis=0, weights=sent_m2)[None]

    return SunTable(OPEN_STEP_DEG, 1, work_out)


@lru_cache(_FIELDS)
def _intercept_table(field: tuple[Heliostat, ...], target_up_m: float, sizes_m: tuple[float, ...]) -> SunTable:
    mirrors = Mirrors.of(field, target_up_m)
    spread_m = beam_spread_m(mirrors.slant_m)[:, None]

    def work_out(elevation_deg: Floats, azimuth_deg: Floats) -> Floats:
        arriving_m2 = _sent_m2(mirrors, elevation_deg, azimuth_deg) * open_frac(mirrors, elevation_deg, azimuth_deg)
        short_m, long_m = image_m(mirrors, elevation_deg, azimuth_deg)
        arriving_m2 = np.maximum(arriving_m2, 1e-9)  # a field may be wholly in the shade
        shares = [intercept_frac(size_m / 2, spread_m, short_m, long_m) for size_m in sizes_m]
        return np.stack([np.average(share, axis=0, weights=arriving_m2) for share in shares])

    return SunTable(INTERCEPT_STEP_DEG, len(sizes_m), work_out)


def _sent_m2(mirrors: Mirrors, elevation_deg: Floats, azimuth_deg: Floats) -> Floats:
    """Return what each mirror would send without neighbors (mirror, instant) [m2]."""
    return mirrors.sent_m2[:, None] * cosine_frac(mirrors.to_target, toward_sun(elevation_deg, azimuth_deg))
