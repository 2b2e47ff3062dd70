from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.small_yard import small_unit
from yardplan.domain.equipment import Heliostat
from yardplan.forecast.mirrors import Mirrors, attenuation_frac, cosine_frac, mirror_area_m2, toward_sun


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
    mirrors = Mirrors.of((Heliostat(*mirror_m, 1, 1, 0.9),), target_m[2])
    found = cosine_frac(mirrors.to_target, toward_sun(np.array([90.0 - zenith_deg]), np.array([azimuth_deg])))
    assert found.shape == (1, 1)
    assert found[0, 0] == pytest.approx(cosine, abs=1e-4 / 2)


def test_slant_range_of_a_worked_case():
    mirrors = Mirrors.of((Heliostat(10, 20, 1.5, 1, 1, 0.9),), 6.0)
    assert mirrors.slant_m == pytest.approx([22.8090], abs=1e-4)  # arithmetic


def test_attenuation_of_clear_air():
    # Source: Leary and Hankins 1979 (attribution from memory), formula read in three public codes
    slant_m = np.array([25.0, 50, 100, 500, 1000])
    assert attenuation_frac(slant_m) == pytest.approx([0.99028, 0.98738, 0.98165, 0.93934, 0.89531], abs=1e-5)
    # Source: Vittitoe and Biggs in Kistler 1986, another fit for clear air; both agree within 0.002 below 100 m
    km = slant_m[:3] / 1000
    other = 0.99326 - 0.1046 * km + 0.017 * km**2 - 0.002845 * km**3
    assert attenuation_frac(slant_m[:3]) == pytest.approx(other, abs=0.002)


def test_area_is_the_product_of_its_parts():
    # the sixth worked case: slant 22.8090 m, cosine 0.82678
    mirror = Heliostat(10, 20, 1.5, 1.22, 1.83, 0.93)
    unit = replace(small_unit(), field=(mirror, mirror), target_up_m=6.0)
    air = 0.99321 - 1.176e-4 * 22.809 + 1.97e-8 * 22.809**2
    expected_m2 = 2 * 1.22 * 1.83 * 0.93 * 0.82678 * air
    assert mirror_area_m2(unit, np.array([30.0]), np.array([135.0])) == pytest.approx([expected_m2], rel=1e-4)


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
