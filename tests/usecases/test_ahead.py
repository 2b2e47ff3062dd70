"""Further than the forecast: days of a typical year go on without a seam, also where the clocks change."""

from datetime import date

import numpy as np
import pytest

from tests.end_to_end.test_command_line import database, filled, yard_folder
from tests.small_yard import TZ
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.scenarios import scenario_shifts
from yardplan.store.engine import open_database
from yardplan.usecases.ahead import N_SCENARIOS, SPREAD_DAYS, problem_ahead, same_sun, skies_after
from yardplan.usecases.clock import yard_now
from yardplan.usecases.outlook import make_outlook
from yardplan.usecases.skies import stored_typical_year

__all__ = ["database", "filled", "yard_folder"]  # fixtures


@pytest.fixture
def looked(database):
    def look(first_on, near_days, days):
        seat = open_database(database)
        outlook = make_outlook(seat, now=yard_now(seat), first_on=first_on, days=near_days, confidence=0.8)
        with seat.begin_read() as session:
            year = stored_typical_year(seat, session)
        seat.close()
        return outlook, *problem_ahead(outlook, year, days)

    return look


def starts_by_day(grid, cook_slots):
    return np.array([(cook_slots[..., first:after] > 0).sum() for _, first, after in grid.days])


def test_near_days_stay_as_they_are_and_far_days_allow_as_many_cooks_as_an_outlook_of_them(looked):
    outlook, problem, skies = looked(date(2027, 5, 17), 3, 24)
    near = outlook.grid.n_slots
    assert np.array_equal(problem.cook.cook_slots[..., :near], outlook.cook.cook_slots)
    assert np.array_equal(skies.cook_slots[:, :, :near], outlook.sky_cooks.cook_slots)
    assert (len(problem.grid.days), problem.power.grid) == (24, problem.grid)
    long_look, *_ = looked(date(2027, 5, 17), 24, 24)
    for share in (0, 1):  # P50, P80
        far, known = (
            starts_by_day(cook.grid, cook.cook_slots[share])[3:].mean() for cook in (problem.cook, long_look.cook)
        )
        # The far skies are of six weeks of the season, the others of three; no day is further off than that is wide.
        assert far == pytest.approx(known, rel=0.1)


def test_a_far_day_keeps_the_time_of_the_sun_over_a_change_of_the_clocks():
    grid = SlotGrid.of_days(date(2027, 11, 4), 7, TZ)  # put back on November 7
    day = SlotGrid.of_days(date(2027, 11, 6), 1, TZ)
    assert [after - first for _, first, after in grid.days] == [288, 288, 288, 300, 288, 288, 288]
    for _, first, after in grid.days:
        picked = same_sun(grid, first, after, day)
        assert len(picked) == after - first
        for ix in range(60, 240):  # in daylight
            assert grid.at(first + ix).time() == day.at(int(picked[ix])).time()


def test_a_sky_goes_on_through_the_typical_year_from_day_to_day():
    shifts = scenario_shifts(N_SCENARIOS, spread_days=SPREAD_DAYS)
    first = shifts[skies_after(60, 0)]
    for days in (1, 3, 30):
        later = shifts[skies_after(60, days)]
        assert np.all((later - first - days) % N_SCENARIOS == 0)
        assert abs(later).max() <= SPREAD_DAYS
