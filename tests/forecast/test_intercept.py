from math import erf, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yardplan.domain.equipment import Heliostat
from yardplan.forecast.intercept import beam_spread_m, image_m, intercept_frac
from yardplan.forecast.mirrors import Mirrors, cosine_frac, toward_sun
from yardplan.forecast.shading import facing

WIDTH_M, HEIGHT_M = 1.22, 1.83
RADII_M = (0.2, 0.4, 0.625, 0.75, 1.1, 1.5)


def one_mirror(east_m, north_m, up_m=1.3):
    return Mirrors.of((Heliostat(east_m, north_m, up_m, WIDTH_M, HEIGHT_M, 0.93),), 3.0)


def test_intercept_of_a_circular_gaussian():
    # analytic, for a mirror that is small against the blur; its size counts with a twelfth of its square
    size_m = np.array([0.1])
    share = intercept_frac(0.4, np.sqrt(0.2**2 - size_m**2 / 12), size_m, size_m)
    assert share == pytest.approx([0.86466], abs=1e-4)


def test_the_image_of_the_sun_and_the_beam_walk():
    # half angle of the sun 4.65 mrad; law of reflection: 2 mrad of slope move the beam by 0.120 m in 30 m
    disc_m, slope_m, tracking_m = 30 * 4.65e-3 / 2, 0.120, 30 * 2 * 1.5e-3
    assert beam_spread_m(np.array([30.0])) == pytest.approx([sqrt(disc_m**2 + slope_m**2 + tracking_m**2)], rel=1e-6)


@pytest.mark.parametrize(("short_m", "long_m"), [(0.4, 1.83), (1.22, 1.83), (1.5, 1.5)])
@pytest.mark.parametrize("spread_m", [0.06, 0.15, 0.5])
def test_intercept_against_a_numerical_integral(short_m, long_m, spread_m):
    """Density of the blurred rectangle by the standard error function, summed over a fine polar net."""
    share_of = np.vectorize(lambda at, side: (erf((at + side / 2) / spread_m / 2**0.5)) / 2)

    def density(at, side):
        return (share_of(at, side) - share_of(at, -side)) / side

    rings, turns = 300, 120
    for radius_m in RADII_M[1:5]:
        r = (np.arange(rings)[:, None] + 0.5) / rings * radius_m
        angle = (np.arange(turns) + 0.5) / turns * np.pi / 2
        ring = density(r * np.cos(angle), short_m) * density(r * np.sin(angle), long_m)
        expected = 4 * (ring * r).sum() * radius_m / rings * np.pi / 2 / turns
        found = intercept_frac(radius_m, np.array([spread_m]), np.array([short_m]), np.array([long_m]))
        assert found[0] == pytest.approx(expected, abs=2e-5)


@pytest.mark.parametrize("range_m", [6.0, 20.0, 60.0])
def test_flat_mirrors_on_a_disc_against_drawn_rays(range_m):
    draw = np.random.default_rng(1)
    n = 400_000
    on_mirror_m = (draw.random((n, 2)) - 0.5) * (WIDTH_M, HEIGHT_M)
    radius, angle = 4.65e-3 * np.sqrt(draw.random(n)), 2 * np.pi * draw.random(n)
    sun_rad = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    normal_rad = 1e-3 * (draw.normal(0, 2.0, (n, 2)) + draw.normal(0, 1.5, (n, 2)))
    landed_m = np.hypot(*(on_mirror_m + range_m * (sun_rad + 2 * normal_rad)).T)
    spread_m = beam_spread_m(np.array([range_m]))
    for radius_m in RADII_M:
        share = intercept_frac(radius_m, spread_m, np.array([WIDTH_M]), np.array([HEIGHT_M]))
        assert share[0] == pytest.approx(np.mean(landed_m < radius_m), abs=0.003)


def test_a_mirror_that_faces_sun_and_target_at_once_shows_its_full_size():
    mirrors = one_mirror(0, 20, 3.0)
    assert image_m(mirrors, np.array([0.0]), np.array([180.0])).ravel() == pytest.approx([WIDTH_M, HEIGHT_M])


@given(
    elevation_deg=st.floats(0, 90), azimuth_deg=st.floats(0, 360), east_m=st.floats(-30, 30), north_m=st.floats(3, 30)
)
def test_images_shrink_with_the_cosine(elevation_deg, azimuth_deg, east_m, north_m):
    mirrors, sun = one_mirror(east_m, north_m), (np.array([elevation_deg]), np.array([azimuth_deg]))
    short_m, long_m = image_m(mirrors, *sun)
    cosine = cosine_frac(mirrors.to_target, toward_sun(*sun))
    assert short_m * long_m == pytest.approx(WIDTH_M * HEIGHT_M * cosine, rel=1e-6)
    assert 0 < short_m[0, 0] <= long_m[0, 0] <= np.hypot(WIDTH_M, HEIGHT_M)


@pytest.mark.parametrize("place_m", [(8.0, 12.0), (-14.0, 7.0), (0.0, 19.0)])
@pytest.mark.parametrize("sun", [(15.0, 95.0), (45.0, 110.0), (75.0, 180.0), (20.0, 265.0), (60.0, 240.0)])
def test_foreshortened_images_against_rays_that_are_really_reflected(place_m, sun):
    """Rays from all over the sun's disc, reflected at a true rectangle with true errors of its normal.

    An image that is a slanted parallelogram is taken for a rectangle: at most 0.030 off, mostly too low, on average
    less than 0.01.
    """
    mirrors, sun_deg = one_mirror(*place_m), (np.array([sun[0]]), np.array([sun[1]]))
    to_sun, to_target = toward_sun(*sun_deg)[0], mirrors.to_target[0]
    normal, width, height = (axis[0, 0] for axis in facing(mirrors.to_target, to_sun[None]))
    draw, n = np.random.default_rng(2), 100_000
    point_m = (draw.random((n, 1)) - 0.5) * WIDTH_M * width + (draw.random((n, 1)) - 0.5) * HEIGHT_M * height
    radius, angle = 4.65e-3 * np.sqrt(draw.random((n, 1))), 2 * np.pi * draw.random((n, 1))
    side = np.cross(to_sun, [0.0, 0.0, 1.0])
    side /= np.linalg.norm(side)
    ray = -(to_sun + radius * (np.cos(angle) * side + np.sin(angle) * np.cross(to_sun, side)))
    error = 1e-3 * (draw.normal(0, 2.0, (n, 2)) + draw.normal(0, 1.5, (n, 2)))
    bent = normal + error[:, :1] * width + error[:, 1:] * height
    bent /= np.linalg.norm(bent, axis=1, keepdims=True)
    ray = ray - 2 * (ray * bent).sum(axis=1, keepdims=True) * bent
    ahead_m = mirrors.slant_m[0] - point_m @ to_target
    landed = point_m + ray * (ahead_m / (ray @ to_target))[:, None]
    off_m = np.linalg.norm(landed - (landed @ to_target)[:, None] * to_target, axis=1)
    short_m, long_m = image_m(mirrors, *sun_deg)
    spread_m = beam_spread_m(mirrors.slant_m)[:, None]
    errors = [
        intercept_frac(radius_m, spread_m, short_m, long_m)[0, 0] - np.mean(off_m < radius_m) for radius_m in RADII_M
    ]
    assert np.abs(errors).max() < 0.033  # with the spread of 100,000 rays
    assert np.abs(errors).mean() < 0.01


@given(
    radius_m=st.floats(0.1, 3), more_m=st.floats(0, 3), spread_m=st.floats(0.03, 0.6),
    short_m=st.floats(0.1, 2), long_m=st.floats(0.1, 4),
)  # fmt: skip
def test_a_larger_mold_never_catches_less(radius_m, more_m, spread_m, short_m, long_m):
    image = (np.array([spread_m]), np.array([short_m]), np.array([long_m]))
    small, large = intercept_frac(radius_m, *image)[0], intercept_frac(radius_m + more_m, *image)[0]
    assert 0 < small <= large + 1e-5  # as fine as the sum
    assert large <= 1
