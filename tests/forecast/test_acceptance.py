"""The bars of the forecast that can be judged in seconds; the benchmark prints all of them with six seeds."""

import pytest

from tests.forecast.acceptance import (
    SPLITS,
    Row,
    cloud_rows,
    correction_rows,
    ensemble_rows,
    hourly_rows,
    nowcast_rows,
    observed_cover_rows,
    sum_rows,
    telegraph,
)
from yardplan.forecast.clouds import donors_of


def hold(rows) -> None:
    rows = list(rows)
    print(*rows, sep="\n")  # noqa: T201 - shown when a bar is missed
    assert [str(row) for row in rows if not row.holds] == []
    assert any(row.low is not None or row.high is not None for row in rows)


def test_a_row_knows_its_bar():
    assert Row("", 0.5, "", low=0.4, high=0.6).holds
    assert not Row("", 0.7, "", low=0.4, high=0.6).holds
    assert not Row("", 0.3, "", low=0.4).holds
    assert "MISSED" in str(Row("", 0.7, "", high=0.6))


@pytest.mark.parametrize(
    ("place", "most_crps", "of_climate", "of_linear"), [("Greensboro", 72, 0.50, 0.70), ("Tucson", 100, 0.75, None)]
)
def test_known_cover_tells_direct_light(place, most_crps, of_climate, of_linear):
    hold(observed_cover_rows(place, most_crps, of_climate, of_linear))


@pytest.mark.parametrize(("place", "least_skill"), [("Greensboro", 0.15), ("Tucson", 0.05)])
def test_a_day_ahead_the_forecast_beats_climatology(place, least_skill):
    hold(hourly_rows(place, 0.75, 0.15, 6, least_skill))


def test_many_days_ahead_the_forecast_is_never_worse_than_climatology():
    hold(hourly_rows("Tucson", 0.5, 0.3, 6, 0.0))


def test_members_of_an_ensemble_never_make_it_worse():
    hold(ensemble_rows("Greensboro", 1, 0.9))
    hold(ensemble_rows("Tucson", 1, 0.4))


@pytest.mark.parametrize("place", ["Greensboro", "Tucson"])
def test_sums_of_hours_spread_as_they_come(place):
    hold(sum_rows(place, 2))


def test_readings_better_the_next_hours():
    hold(nowcast_rows("Greensboro", 1, every_day=6))


def test_made_clouds_look_like_clouds():
    hold(cloud_rows("generator", *telegraph(1000, 0)))
    hold(cloud_rows("donors", *telegraph(1500, 0), donors=donors_of(*telegraph(3000, 1))))


def test_a_bias_is_corrected_and_a_right_forecast_left_alone():
    hold(correction_rows("Tucson", 1, (0.12, 0.0), splits=SPLITS[:1]))
    hold(correction_rows("Tucson", 1, (0.0, 0.0), splits=SPLITS[:1]))
