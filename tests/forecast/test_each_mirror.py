"""What becomes of the light on each mirror adds up to what the field as a whole sends."""

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from tests.small_yard import small_unit
from yardplan.domain.equipment import Heliostat, Site
from yardplan.domain.field import field_rows
from yardplan.domain.slots import zone
from yardplan.forecast.each_mirror import shares_at, shares_of_day
from yardplan.forecast.mirrors import mirror_area_m2
from yardplan.forecast.sun_table import open_share

SITE = Site("Test mesa", 35.0, -106.0, 1600.0, "America/Denver")
ROWS = replace(small_unit(), field=field_rows(36, 14, 4, 2.6, 65, 1.3, 1.22, 1.83, 0.93, 0, 1), target_up_m=3.0)
FEW = replace(small_unit(), field=tuple(Heliostat(3.0 * i - 3, 12, 1.5, 1.22, 1.83, 0.9) for i in range(3)))
MORNING = datetime(2027, 5, 17, 14, 30, tzinfo=UTC)


@pytest.mark.parametrize("at", [MORNING, datetime(2027, 5, 17, 19, tzinfo=UTC), datetime(2027, 12, 21, 22, tzinfo=UTC)])
def test_all_mirrors_together_send_what_the_field_sends(at):
    found = shares_at(SITE, ROWS, at)
    area_m2 = np.array([mirror.area_m2 for mirror in ROWS.field])
    sun = np.array([found.elevation_deg]), np.array([found.azimuth_deg])
    whole_m2 = (mirror_area_m2(ROWS, *sun) * open_share(ROWS, *sun))[0] * found.clean_frac
    assert found.sent_frac @ area_m2 == pytest.approx(whole_m2, rel=0.03)  # open_share is read from a table
    assert (found.open_frac < 1).any() or found.elevation_deg > 40


def test_a_mirror_across_from_the_sun_has_the_best_cosine():
    # In the forenoon the sun is in the east, so mirrors in the west are across from it (reflection law).
    found = shares_at(SITE, FEW, MORNING)
    assert found.azimuth_deg < 180
    west, middle, east = found.cosine_frac
    assert west > middle > east
    assert found.clean_frac == pytest.approx((1 - FEW.soiling_per_day_frac) ** (date(2027, 5, 17) - FEW.washed_on).days)


def test_a_day_is_the_mean_of_its_instants():
    day = shares_of_day(SITE, ROWS, date(2027, 5, 17))
    morning = shares_at(SITE, ROWS, MORNING)
    noon = shares_at(SITE, ROWS, datetime(2027, 5, 17, 19, tzinfo=UTC))
    assert day.at.astimezone(zone(SITE.tz)).hour == 0
    assert day.elevation_deg == pytest.approx(noon.elevation_deg, abs=0.3)
    assert min(morning.sent_frac.mean(), noon.sent_frac.mean()) < day.sent_frac.mean()
    assert day.sent_frac.mean() < max(morning.sent_frac.mean(), noon.sent_frac.mean())
    assert np.all((day.sent_frac > 0) & (day.sent_frac < day.glass_frac))


def test_there_is_nothing_to_send_at_night_or_under_the_least_elevation():
    assert shares_at(SITE, ROWS, datetime(2027, 5, 17, 6, tzinfo=UTC)) is None
    assert shares_at(replace(SITE, min_elevation_deg=45), ROWS, MORNING) is None
    north = Site("Invented pole", 84.0, 20.0, 0.0, "Europe/Oslo")
    assert shares_of_day(north, ROWS, date(2027, 12, 21)) is None
