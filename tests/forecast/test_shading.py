"""Against arithmetic for mirrors that stand square to each other, and against rays that meet triangles."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yardplan.domain.equipment import Heliostat
from yardplan.forecast.mirrors import Mirrors, toward_sun
from yardplan.forecast.shading import facing, open_frac

WIDTH_M, HEIGHT_M = 1.2, 1.8


def parallel(places_m, to_target, slant_m=1000.0):
    """Mirrors that all look the same way, as if the target were far away."""
    n = len(places_m)
    size_m = np.tile([WIDTH_M, HEIGHT_M], (n, 1))
    return Mirrors(np.array(places_m, float), size_m, np.tile(to_target, (n, 1)), np.full(n, slant_m), np.ones(n))


def opened(mirrors, elevation_deg, azimuth_deg):
    return open_frac(mirrors, np.array([elevation_deg]), np.array([azimuth_deg]))[:, 0]


@pytest.mark.parametrize("shift", [(0, 0), (0.5, 0), (0, 0.5), (0.25, 0.5), (-0.4, 0.3), (1, 0), (0.2, -1.01)])
def test_two_mirrors_in_line_with_sun_and_target_hide_the_share_by_which_they_overlap(shift):
    """Sun and target in one direction: the mirror in front takes shade and way at once, and it counts once."""
    (to_sun,) = toward_sun(np.array([30.0]), np.array([150.0]))
    _, width, height = (axis[0, 0] for axis in facing(to_sun[None], to_sun[None]))
    front = 3 * to_sun + shift[0] * WIDTH_M * width + shift[1] * HEIGHT_M * height
    back, first = opened(parallel([(0, 0, 0), front], to_sun), 30.0, 150.0)
    hidden = max(1 - abs(shift[0]), 0) * max(1 - abs(shift[1]), 0)  # arithmetic
    assert back == pytest.approx(1 - hidden, abs=0.02)
    assert first == 1


def aside(mirrors_in_way):
    """A mirror between a sun to the left and a target to the right, and others in its way to one or the other."""
    to_sun = toward_sun(np.array([0.0]), np.array([225.0]))[0]
    to_target = toward_sun(np.array([0.0]), np.array([135.0]))[0]
    east, up = np.array([1.0, 0, 0]), np.array([0, 0, 1.0])
    ways = {"sun": to_sun, "target": to_target}
    others = [8 * ways[way] + dx * WIDTH_M * east + dy * HEIGHT_M * up for way, dx, dy in mirrors_in_way]
    return opened(parallel([(0, 0, 0), *others], to_target), 0.0, 225.0)[0]


@pytest.mark.parametrize(
    ("mirrors_in_way", "share"),
    [
        ([("sun", 0.5, 0)], 0.5),
        ([("target", 0, 0.25)], 0.25),
        ([("sun", 0.5, 0), ("target", 0.5, 0)], 0.5),  # the same half, lost once
        ([("sun", 0.5, 0), ("target", -0.5, 0)], 0.0),  # one half each
        ([("sun", 0.5, 0), ("target", 0, 0.5)], 0.25),  # half of what is left
        ([("sun", 0.5, 0), ("sun", 0.5, 0.5)], 0.5),  # two shadows, one in the other
    ],
)
def test_shade_and_blocked_ways_are_joined(mirrors_in_way, share):
    assert aside(mirrors_in_way) == pytest.approx(share, abs=0.02)


def test_a_mirror_blocks_with_its_back_but_not_from_behind_the_target():
    # the mirror to the north sends light south over the target, which stands before or behind the southern one
    north, south = Heliostat(0, 10, 2, 1.2, 1.8, 0.9), Heliostat(0, -10, 2, 1.2, 1.8, 0.9)
    noon = np.array([60.0]), np.array([180.0])
    assert open_frac(Mirrors.of((north, south), 2.0), *noon)[0, 0] == 1
    between = parallel([(0, 10, 2), (0, 4, 2)], (0, -1, 0), slant_m=10.0)
    turned = Mirrors(between.places_m, between.size_m, np.array([[0, -1.0, 0], [0, 1, 0]]), between.slant_m, np.ones(2))
    assert open_frac(turned, np.array([80.0]), np.array([0.0]))[0, 0] < 0.5


def test_only_what_is_ahead_of_a_mirror_hides_it():
    """One lies flat under the zenith; another leans by 45 degrees through its middle, half of it below."""
    to_target = np.array([[0, 0, 1.0], [0, 1.0, 0]])
    crossed = Mirrors(
        np.array([[0, 0, 0.0], [0, 0, -0.01]]), np.full((2, 2), 2.0), to_target, np.full(2, 99.0), np.ones(2)
    )
    flat, _ = opened(crossed, 90.0, 0.0)
    assert flat == pytest.approx(1 - 0.5 * np.sqrt(0.5), abs=0.02)


def meets(origin, ray, corners):
    """Distance to a triangle along rays, infinite where it is missed; Möller and Trumbore 1997."""
    a, b, c = corners
    normal = np.cross(b - a, c - a)
    slope = ray @ normal
    far = ((a - origin) @ normal) / slope
    point = origin + far[:, None] * ray
    inside = np.ones(len(origin), bool)
    for one, two in ((a, b), (b, c), (c, a)):
        inside &= np.cross(two - one, point - one) @ normal >= 0
    return np.where(inside & (far > 1e-6), far, np.inf)


@pytest.mark.parametrize("sun", [(4.0, 95.0), (12.0, 130.0), (25.0, 200.0), (50.0, 180.0), (70.0, 250.0)])
def test_a_crowded_field_against_rays_that_meet_triangles(sun):
    draw = np.random.default_rng(4)
    places_m = [(3 * (i % 4) + draw.normal(0, 0.3), 6 + 2.6 * (i // 4), 1.3 + 0.3 * (i // 4)) for i in range(16)]
    mirrors = Mirrors.of(tuple(Heliostat(*place_m, 1.22, 1.83, 0.93) for place_m in places_m), 3.0)
    to_sun = toward_sun(np.array([sun[0]]), np.array([sun[1]]))
    axes = [axis[0] for axis in facing(mirrors.to_target, to_sun)]
    wide, tall = axes[1] * mirrors.size_m[:, :1] / 2, axes[2] * mirrors.size_m[:, 1:] / 2
    corners = [mirrors.places_m + a * wide + b * tall for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    at = draw.uniform(-1, 1, (4000, 2))
    expected = []
    for i in range(16):
        point_m = mirrors.places_m[i] + at[:, :1] * wide[i] + at[:, 1:] * tall[i]
        clear = np.ones(4000, bool)
        for ray, reach_m in ((to_sun[0], np.inf), (mirrors.to_target[i], mirrors.slant_m[i])):
            rays = np.tile(ray, (4000, 1))
            for j in set(range(16)) - {i}:
                for k in ((0, 1, 2), (0, 2, 3)):
                    clear &= ~(meets(point_m, rays, [corners[c][j] for c in k]) < reach_m)
        expected.append(clear.mean())
    found = opened(mirrors, *sun)
    assert 0.2 < np.mean(expected) < 0.95
    assert found == pytest.approx(expected, abs=0.05)
    assert found.mean() == pytest.approx(np.mean(expected), abs=0.006)


@settings(max_examples=30, deadline=None)
@given(
    elevation_deg=st.floats(0, 90), azimuth_deg=st.floats(0, 360),
    places_m=st.lists(st.tuples(st.floats(-6, 6), st.floats(4, 14), st.floats(1, 3)), min_size=2, max_size=8),
)  # fmt: skip
def test_one_more_mirror_never_gives_another_one_more_light(elevation_deg, azimuth_deg, places_m):
    field = tuple(Heliostat(*place_m, 1.22, 1.83, 0.93) for place_m in places_m)
    fewer = opened(Mirrors.of(field[:-1], 3.0), elevation_deg, azimuth_deg)
    more = opened(Mirrors.of(field, 3.0), elevation_deg, azimuth_deg)
    assert (more[:-1] <= fewer).all()
    assert ((more >= 0) & (more <= 1)).all()


def test_mirrors_far_apart_or_alone_lose_nothing():
    field = tuple(Heliostat(60.0 * i, 200.0, 1.5, 1.22, 1.83, 0.93) for i in range(-3, 4))
    sun = np.repeat([10.0, 30, 60], 36), np.tile(np.arange(0, 360, 10.0), 3)
    assert (open_frac(Mirrors.of(field, 30.0), *sun) == 1).all()
    assert (open_frac(Mirrors.of(field[:1], 30.0), *sun) == 1).all()
    assert open_frac(Mirrors.of(field, 30.0), *(np.empty(0),) * 2).shape == (7, 0)


def test_a_sun_right_behind_the_target_is_no_trouble():
    above = Mirrors.of((Heliostat(0, 10, 13, 1.2, 1.8, 0.9), Heliostat(0, 12, 15, 1.2, 1.8, 0.9)), 3.0)
    behind = open_frac(above, np.array([45.0]), np.array([0.0]))
    assert np.isfinite(behind).all()
