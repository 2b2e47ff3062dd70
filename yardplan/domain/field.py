"""Mirrors laid out in rows, for fields that are not given place by place."""

from math import asin, cos, hypot, pi, radians, sin, sqrt

from yardplan.domain.equipment import Heliostat
from yardplan.domain.errors import require


def field_rows(
    mirrors: int,
    first_m: float,
    row_gap_m: float,
    spacing_m: float,
    half_arc_deg: float,
    up_m: float,
    width_m: float,
    height_m: float,
    reflectance_frac: float,
    azimuth_deg: float = 0.0,
    row_rise_m: float = 0.0,
) -> tuple[Heliostat, ...]:
    """Return equal mirrors in rows on arcs around the mold, each behind a gap of the row before.

    Rows are filled from the nearest on, each from its middle to both sides. Mirrors of all rows stand on the same
    rays from the mold, those of every second row on the rays between, so that they see it through the gaps. A mold
    that is low wants rows that rise, or the third row looks at the backs of the first.

    Parameters
    ----------
    mirrors : int
        How many in all.
    first_m, row_gap_m : float [m]
        Radius of the first row around the mold, and from row to row.
    spacing_m : float [m]
        From center to center in the first row; in later rows it grows with their radius.
    half_arc_deg : float [deg]
        How far the rows reach to either side.
    up_m : float [m]
        Height of the centers of the first row.
    azimuth_deg : float [deg]
        Where the middle of the field lies from the mold, clockwise from north: 0, or 180 south of the equator.
    row_rise_m : float [m]
        How much higher each row stands than the one before.

    Returns
    -------
    tuple of Heliostat
        Places to a centimeter.

    Raises
    ------
    InvalidField
        If a value cannot be, or mirrors would touch as they turn.
    """
    for name, value, low, high in (
        ("mirrors", mirrors, 1, 1000),
        ("first_m", first_m, 1, 400),
        ("row_gap_m", row_gap_m, 0.5, 100),
        ("spacing_m", spacing_m, 0.2, 100),
        ("half_arc_deg", half_arc_deg, 0, 180),
        ("azimuth_deg", azimuth_deg, 0, 360),
        ("row_rise_m", row_rise_m, 0, 10),
    ):
        require(low <= value <= high, "field", "", name, value, f"a number from {low} to {high}")
    require(
        spacing_m < 2 * first_m, "field", "", "spacing_m", spacing_m, f"less than twice first_m, which is {first_m}"
    )
    step_rad = 2 * asin(spacing_m / 2 / first_m)
    behind_m = sqrt(first_m**2 + (first_m + row_gap_m) ** 2 - 2 * first_m * (first_m + row_gap_m) * cos(step_rad / 2))
    turning_m = hypot(width_m, height_m)
    for name, value, apart_m in (
        ("spacing_m", spacing_m, spacing_m),
        ("row_gap_m", row_gap_m, min(hypot(behind_m, row_rise_m), 2 * hypot(row_gap_m, row_rise_m))),
    ):
        expected = f"more, for mirrors {apart_m:.2f} m apart touch as they turn, each a circle of {turning_m:.2f} m"
        require(apart_m >= turning_m, "field", "", name, value, expected)

    most = min(int(2 * radians(half_arc_deg) / step_rad + 1e-9) + 1, int(2 * pi / step_rad + 1e-9))
    found: list[Heliostat] = []
    row = 0
    while len(found) < mirrors:
        n_places = most - row % 2
        aside = sorted((place - (n_places - 1) / 2 for place in range(n_places)), key=abs)
        for steps in aside[: mirrors - len(found)]:
            direction = radians(azimuth_deg) + steps * step_rad
            radius_m = first_m + row * row_gap_m
            east_m, north_m = round(radius_m * sin(direction), 2), round(radius_m * cos(direction), 2)
            found.append(
                Heliostat(east_m, north_m, round(up_m + row * row_rise_m, 2), width_m, height_m, reflectance_frac)
            )
        row += 1
    return tuple(found)
