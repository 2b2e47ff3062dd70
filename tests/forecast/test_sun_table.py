from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from tests.small_yard import MONDAY, TZ, small_mold, small_yard
from yardplan.domain.equipment import Heliostat
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.intercept import beam_spread_m, image_m, intercept_frac
from yardplan.forecast.mirrors import Mirrors, cosine_frac, toward_sun
from yardplan.forecast.shading import open_frac
from yardplan.forecast.sky import slot_middles, sun_position
from yardplan.forecast.sun_table import SunTable, intercept_slots, open_share


def crowded(n=30, rise_m=0.5):
    return tuple(
        Heliostat(2.8 * (i % 10) - 12.6 + 1.4 * (i // 10 % 2), 11 + 3.5 * (i // 10), 1.3 + rise_m * (i // 10), 1.22,
                  1.83, 0.93)
        for i in range(n)
    )  # fmt: skip


def anywhere(n, low_deg=10.0):
    draw = np.random.default_rng(3)
    return draw.uniform(low_deg, 90, n), draw.uniform(0, 360, n)


def test_nodes_are_worked_out_once_and_straight_lines_are_exact():
    asked = []

    def plane(elevation_deg, azimuth_deg):
        asked.append(len(elevation_deg))
        return np.stack([elevation_deg, np.abs(azimuth_deg - 180)])

    table = SunTable(5.0, 2, plane)
    elevation_deg, azimuth_deg = anywhere(500, 0.0)
    for _ in range(2):
        found = table.at(elevation_deg, azimuth_deg)
        assert found == pytest.approx(np.stack([elevation_deg, np.abs(azimuth_deg - 180)]), abs=1e-9)
    assert len(asked) == 1
    assert table.at(np.array([90.0, 0, 0]), np.array([360.0, 359.999, 0])) == pytest.approx(
        np.array([[90, 0, 0], [180, 180, 180]]), abs=0.01
    )


def test_the_table_of_shading_against_every_direction_for_itself():
    """Above 10 degrees all over the sky 0.002 on average, 0.025 at most; a day's heat to a thousandth."""
    unit = replace(small_yard().units[0], field=crowded(), target_up_m=3.0)
    exact, weight = open_exactly(unit, *anywhere(300))
    error = open_share(unit, *anywhere(300)) - exact
    assert exact.min() < 0.8
    assert np.abs(error).max() < 0.025
    assert np.sqrt(np.mean(error**2)) < 0.0025
    for on in (date(2026, 12, 21), date(2027, 3, 21), date(2027, 6, 21)):
        sun = sun_position(slot_middles(SlotGrid.of_days(on, 1, TZ)), 35.0, -106.0, 1600.0)
        high = sun.elevation_deg > 10
        sun_deg = sun.elevation_deg[high], sun.azimuth_deg[high]
        exact, weight = open_exactly(unit, *sun_deg)
        assert weight @ open_share(unit, *sun_deg) == pytest.approx(weight @ exact, rel=1e-3)


def open_exactly(unit, elevation_deg, azimuth_deg):
    """Share of the field's light that goes free, and the light without neighbors: two of (instant,)."""
    mirrors = Mirrors.of(unit.field, unit.target_up_m)
    sent = mirrors.sent_m2[:, None] * cosine_frac(mirrors.to_target, toward_sun(elevation_deg, azimuth_deg))
    return np.average(open_frac(mirrors, elevation_deg, azimuth_deg), axis=0, weights=sent), sent.sum(axis=0)


def test_the_table_of_intercepts_against_every_slot_for_itself():
    """Within 0.01, and 0.002 on average."""
    yard = small_yard(2)
    molds = (replace(small_mold("M1"), target_m=1.25), replace(small_mold("M2"), target_m=2.2))
    units = (replace(yard.units[0], field=crowded(), target_up_m=3.0), yard.units[1])
    yard = replace(yard, molds=molds, units=units)
    grid = SlotGrid.of_days(MONDAY, 1, TZ)
    table = intercept_slots(yard, grid)
    assert table.shape == (2, 2, grid.n_slots)
    sun = sun_position(slot_middles(grid), yard.site.latitude_deg, yard.site.longitude_deg, yard.site.altitude_m)
    assert not table[:, :, sun.elevation_deg <= 0].any()
    high = np.flatnonzero(sun.elevation_deg > 10)[::4]
    sun_deg = sun.elevation_deg[high], sun.azimuth_deg[high]
    for unit_ix, unit in enumerate(yard.units):
        mirrors = Mirrors.of(unit.field, unit.target_up_m)
        power = mirrors.sent_m2[:, None] * cosine_frac(mirrors.to_target, toward_sun(*sun_deg))
        power = power * open_frac(mirrors, *sun_deg)
        short_m, long_m = image_m(mirrors, *sun_deg)
        for mold_ix, mold in enumerate(molds):
            share = intercept_frac(mold.target_m / 2, beam_spread_m(mirrors.slant_m)[:, None], short_m, long_m)
            error = table[mold_ix, unit_ix, high] - np.average(share, axis=0, weights=power)
            assert np.abs(error).max() < 0.01
            assert np.abs(error).mean() < 0.002
    assert (table[0] <= table[1]).all()


def test_a_mirror_that_is_blocked_does_not_count_for_the_intercept():
    near, far = Heliostat(0, 8, 2.5, 1.8, 1.8, 0.93), Heliostat(0, 40, 2.5, 1.2, 1.2, 0.93)
    yard = small_yard()
    grid = SlotGrid.of_days(MONDAY, 1, TZ)
    alone, both, free = (
        intercept_slots(replace(yard, units=(replace(yard.units[0], field=field),)), grid)[0, 0]
        for field in ((near,), (near, far), (near, replace(far, east_m=20.0)))
    )
    day = slice(8 * 12, 18 * 12)
    assert both[day] == pytest.approx(alone[day], abs=0.01)
    assert np.abs(free[day] - alone[day]).min() > 0.03


def test_a_field_that_changes_has_its_own_table():
    yard = small_yard()
    grid = SlotGrid.of_days(date(2026, 12, 21), 1, TZ)
    before = intercept_slots(yard, grid)
    near = replace(yard.units[0], field=tuple(replace(mirror, north_m=6.0) for mirror in yard.units[0].field))
    after = intercept_slots(replace(yard, units=(near,)), grid)
    lit = before[0, 0] > 0
    assert (after[0, 0, lit] > before[0, 0, lit]).mean() > 0.9  # the closer, the smaller the blur
    assert intercept_slots(yard, grid) == pytest.approx(before)
