from dataclasses import replace
from datetime import timedelta
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.small_yard import MONDAY, TZ, small_mold, small_unit, small_yard
from yardplan.domain.equipment import Heliostat
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.mirrors import (
    attenuation_frac,
    beam_spread_m,
    clean_frac,
    clean_slots,
    cosine_frac,
    intercept_frac,
    intercept_table,
    mirror_area_m2,
)


@pytest.mark.parametrize(
    ("zenith_deg", "azimuth_deg", "mirror_m", "target_m", "cosine"),
    [
        # Source: Stine and Geyer, Power From The Sun, ch. 8 and 10 (form); worked by two routes
        (0, 0, (20, 0, 0), (0, 0, 20), 0.92388),
        (45, 180, (0, 100, 0), (0, 0, 100), 1.0),
        (90, 90, (0, 10, 0), (0, 0, 0), 0.70711),
        (50, 180, (0, 30, 1.5), (0, 0, 4), 0.95309),
        (50, 180, (0, -30, 1.5), (0, 0, 4), 0.38078),
        (60, 135, (10, 20, 1.5), (0, 0, 6), 0.82678),
        (35, 20, (-12, -18, 2), (0, 0, 5), 0.91228),
    ],
)
def test_cosine_of_worked_cases(zenith_deg, azimuth_deg, mirror_m, target_m, cosine):
    found = cosine_frac(
        np.array([mirror_m], float), np.array(target_m, float), np.array([90.0 - zenith_deg]), np.array([azimuth_deg])
    )
    assert found.shape == (1, 1)
    assert found[0, 0] == pytest.approx(cosine, abs=1e-4 / 2)


def test_attenuation_of_clear_air():
    # Source: Leary and Hankins 1979 (attribution from memory), formula read in three public codes
    slant_m = np.array([25.0, 50, 100, 500, 1000])
    assert attenuation_frac(slant_m) == pytest.approx([0.99028, 0.98738, 0.98165, 0.93934, 0.89531], abs=1e-5)
    # Source: Vittitoe and Biggs in Kistler 1986, another fit for clear air; both agree within 0.002 below 100 m
    km = slant_m[:3] / 1000
    other = 0.99326 - 0.1046 * km + 0.017 * km**2 - 0.002845 * km**3
    assert attenuation_frac(slant_m[:3]) == pytest.approx(other, abs=0.002)


def test_intercept_of_a_circular_gaussian():
    # analytic, for a mirror that is small against the blur; its size counts with a twelfth of its square
    size_m = np.array([0.1])
    share = intercept_frac(0.4, np.sqrt(0.2**2 - size_m**2 / 12), size_m, size_m)
    assert share == pytest.approx([0.86466], abs=1e-4)


def test_images_of_the_sun_and_the_beam_walk():
    # half angle of the sun 4.65 mrad; law of reflection: 2 mrad of slope move the beam by 0.120 m in 30 m
    unit = replace(small_unit(), field=(Heliostat(0, 30, 2.5, 1, 1, 0.9),), target_up_m=2.5)
    disc_m, slope_m, tracking_m = 30 * 4.65e-3 / 2, 0.120, 30 * 2 * 1.5e-3
    assert beam_spread_m(unit) == pytest.approx([sqrt(disc_m**2 + slope_m**2 + tracking_m**2)], rel=1e-6)


@pytest.mark.parametrize(("rate", "days", "left"), [(0.005, 7, 0.96552), (0.003, 14, 0.95881)])
def test_dirt_compounds_by_the_day(rate, days, left):
    unit = replace(small_unit(), soiling_per_day_frac=rate)
    assert clean_frac(unit, unit.washed_on + timedelta(days=days)) == pytest.approx(left, abs=1e-5)  # arithmetic


def test_dirt_steps_at_local_midnight_and_never_before_the_wash():
    unit = replace(small_unit(), washed_on=MONDAY + timedelta(days=1), soiling_per_day_frac=0.01)
    grid = SlotGrid.of_days(MONDAY, 4, TZ)
    clean = clean_slots(unit, grid)
    firsts = [first for _, first, _ in grid.days]
    assert clean[firsts] == pytest.approx([1, 1, 0.99, 0.99**2])
    assert clean[firsts[2] - 1] == 1
    assert len(np.unique(clean)) == 3


def test_area_is_the_product_of_its_parts():
    # the sixth worked case: slant 22.8090 m, cosine 0.82678
    mirror = Heliostat(10, 20, 1.5, 1.22, 1.83, 0.93)
    unit = replace(small_unit(), field=(mirror, mirror), target_up_m=6.0)
    air = 0.99321 - 1.176e-4 * 22.809 + 1.97e-8 * 22.809**2
    expected_m2 = 2 * 1.22 * 1.83 * 0.93 * 0.82678 * air
    assert mirror_area_m2(unit, np.array([30.0]), np.array([135.0])) == pytest.approx([expected_m2], rel=1e-4)


def test_fields_of_small_mirrors_give_what_the_trade_expects():
    """Common practice, no source: a mirror of about 2.2 m2 gives about 2 kW in good sun, 48 give almost 100 kW."""
    rows = [Heliostat(3.0 * (i % 12) - 16.5, 9.0 + 4.0 * (i // 12), 1.5, 1.22, 1.83, 0.93) for i in range(48)]
    unit = replace(small_unit(), field=tuple(rows), target_up_m=2.5)
    kw = 1.0 * mirror_area_m2(unit, np.array([45.0]), np.array([180.0]))[0]  # DNI of 1 kW/m2 on a dry plateau
    assert 85 <= kw <= 105
    assert 1.7 <= kw / 48 <= 2.1


@pytest.mark.parametrize("range_m", [6.0, 20.0, 60.0])
def test_flat_mirrors_on_a_disc_against_traced_rays(range_m):
    draw = np.random.default_rng(1)
    n = 400_000
    unit = replace(small_unit(), field=(Heliostat(0, range_m, 2.5, 1.22, 1.83, 0.93),), target_up_m=2.5)
    on_mirror_m = (draw.random((n, 2)) - 0.5) * (1.22, 1.83)
    radius, angle = 4.65e-3 * np.sqrt(draw.random(n)), 2 * np.pi * draw.random(n)
    sun_rad = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    normal_rad = 1e-3 * (draw.normal(0, 2.0, (n, 2)) + draw.normal(0, 1.5, (n, 2)))
    landed_m = np.hypot(*(on_mirror_m + range_m * (sun_rad + 2 * normal_rad)).T)
    for radius_m in (0.2, 0.4, 0.75, 1.0, 1.5):
        share = intercept_frac(radius_m, beam_spread_m(unit), np.array([1.22]), np.array([1.83]))
        assert share[0] == pytest.approx(np.mean(landed_m < radius_m), abs=0.003)


def test_intercept_table_weighs_by_area():
    near, far = Heliostat(0, 8, 1.5, 0.5, 0.5, 0.9), Heliostat(0, 60, 1.5, 2, 2, 0.9)
    yard = small_yard(2)
    yard = replace(yard, units=(replace(yard.units[0], field=(near, far)), replace(yard.units[1], field=(near,))))
    table = intercept_table(yard)
    assert table.shape == (len(yard.molds), 2)
    assert table.dtype == np.float32
    each = [
        intercept_table(replace(yard, units=(replace(yard.units[0], field=(one,)), yard.units[1])))[0, 0]
        for one in (near, far)
    ]
    assert table[0, 0] == pytest.approx((0.25 * each[0] + 4 * each[1]) / 4.25, rel=1e-5)
    assert table[0, 1] == pytest.approx(each[0], rel=1e-5)


@given(target_m=st.floats(0.2, 5), more_m=st.floats(0, 3))
def test_a_larger_mold_never_catches_less(target_m, more_m):
    small, large = (replace(small_mold("M1"), target_m=size) for size in (target_m, target_m + more_m))
    yard = small_yard()
    caught = [intercept_table(replace(yard, molds=(mold, yard.molds[1])))[0, 0] for mold in (small, large)]
    assert 0 < caught[0] <= caught[1] + 1e-6  # as fine as the normal distribution's series
    assert caught[1] <= 1


@given(
    elevation_deg=st.floats(5, 90), azimuth_deg=st.floats(0, 360), turn_deg=st.floats(0, 360),
    east_m=st.floats(-60, 60), north_m=st.floats(5, 60),
)  # fmt: skip
def test_turning_field_and_sun_together_changes_nothing(elevation_deg, azimuth_deg, turn_deg, east_m, north_m):
    turn = np.radians(turn_deg)
    turned_m = (east_m * np.cos(turn) + north_m * np.sin(turn), north_m * np.cos(turn) - east_m * np.sin(turn))
    areas = []
    for place_m, azimuth in (((east_m, north_m), azimuth_deg), (turned_m, azimuth_deg + turn_deg)):
        unit = replace(small_unit(), field=(Heliostat(*place_m, 1.5, 1.22, 1.83, 0.93),))
        areas.append(mirror_area_m2(unit, np.array([elevation_deg]), np.array([azimuth]))[0])
    assert areas[0] == pytest.approx(areas[1], rel=1e-9)
