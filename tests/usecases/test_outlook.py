"""What the outlook is made of: the season alone, or a forecast and readings as they were known."""

from datetime import timedelta

import numpy as np
import pytest

from tests.forecast.made_years import made_year, typical
from tests.small_yard import MONDAY, at, small_orders, small_yard, with_units
from yardplan.domain.errors import InvalidField, NotThere
from yardplan.domain.tables import Weather
from yardplan.store.archive import add_forecast
from yardplan.store.engine import Database, open_database
from yardplan.store.write import add_orders, write_weather_year, write_yard
from yardplan.usecases.charge import note_charge
from yardplan.usecases.outlook import make_outlook, outlook_document
from yardplan.usecases.overruling import overrules_in_use, say_overrule, withdraw_overrule

NOW = at(-1, 12)
BY = {"by": "Pat", "at": NOW}


@pytest.fixture(scope="module")
def database(tmp_path_factory) -> Database:
    opened = open_database(f"sqlite:///{tmp_path_factory.mktemp('outlook') / 'yard.sqlite'}")
    with opened.begin() as session:
        write_yard(session, small_yard(), **BY)
        add_orders(session, small_orders(), **BY)
        write_weather_year(session, **vars(typical(made_year(lambda day, hour: 0.5 + 0.1 * (day % 5)))), **BY)
    yield opened
    opened.close()


def day_kwh(database: Database, now) -> np.ndarray:
    heat = make_outlook(database, now=now, first_on=MONDAY, days=2).heat
    first = heat.grid.days[0][2]
    return heat.field_kw[:, 0, :first].sum(axis=1) * heat.grid.slot_min / 60


def overcast() -> Weather:
    n = 96
    unknown, clouds = np.full(n, np.nan), np.full(n, 1.0)
    starts = tuple(at(-1, hour) for hour in range(n))
    return Weather(
        starts, 60, unknown, unknown, unknown, np.full(n, 18.0), np.full(n, 2.0), np.full(n, 3.0), clouds,
        "invented forecast", NOW,
    )  # fmt: skip


def test_a_forecast_of_clouds_takes_heat_away_from_when_it_is_known(database):
    season = day_kwh(database, NOW)
    site = small_yard().site
    with database.begin() as session:
        added = add_forecast(
            session, overcast(), service="test", latitude_deg=site.latitude_deg, longitude_deg=site.longitude_deg,
            credit="", payload=b"{}", fetched_at=NOW,
        )  # fmt: skip
    assert added
    told = make_outlook(database, now=NOW, first_on=MONDAY, days=2)
    assert "invented forecast" in told.heat.source
    # The made year knows no day darker than its darkest fifth: that is what full cloud comes to.
    assert np.median(day_kwh(database, NOW)) < np.quantile(season, 0.2)
    # What was planned before the forecast came is judged by what was known then.
    np.testing.assert_array_equal(day_kwh(database, NOW - timedelta(minutes=1)), season)


def test_one_seed_gives_one_outlook(database):
    np.testing.assert_array_equal(day_kwh(database, NOW), day_kwh(database, NOW))


def test_batteries_begin_with_what_was_read_off(database):
    """A low battery on Monday at 18:00; it is known from then on, and says nothing about other days."""
    at_six = at(0, 18)
    told = note_charge(database, {"U1": 9.5}, by="Pat", at=at_six)
    assert told == "U1 9.5 kWh"

    def evening_kwh(now, first_on=MONDAY) -> float:
        power = make_outlook(database, now=now, first_on=first_on, days=1).power
        return float(power.evening_kwh[0, -1])

    assert evening_kwh(at(0, 19)) < evening_kwh(at(0, 17)) - 3
    assert make_outlook(database, now=at(0, 19), first_on=MONDAY, days=1).power.spans[0][0] == 18 * 12
    tuesday = MONDAY + timedelta(days=1)
    assert make_outlook(database, now=at(1, 1), first_on=tuesday, days=1).power.spans[0][0] == 0
    with database.begin() as session:
        write_yard(session, with_units(small_yard(), battery_kwh=9.0), **BY)
    assert make_outlook(database, now=at(0, 19), first_on=MONDAY, days=1).power.spans[0][0] == 0
    with database.begin() as session:
        write_yard(session, small_yard(), **BY)


@pytest.mark.parametrize("kwh", [{"U9": 1.0}, {"U1": 21.0}, {"U1": -1.0}])
def test_a_charge_that_cannot_be_is_refused(database, kwh):
    with pytest.raises(InvalidField):
        note_charge(database, kwh, by="Pat", at=at(0, 20))


def test_a_charge_needs_a_yard(tmp_path):
    empty = open_database(f"sqlite:///{tmp_path / 'empty.sqlite'}")
    with pytest.raises(NotThere, match="bring one in"):
        note_charge(empty, {"U1": 1.0}, by="Pat", at=NOW)
    empty.close()


def test_what_was_said_by_hand_has_the_last_word_until_it_is_taken_back(database):
    before, said_at = day_kwh(database, NOW), NOW + timedelta(minutes=5)
    say_overrule(database, "fog  monday until 10", now=said_at, by="Pat")
    told = make_outlook(database, now=said_at, first_on=MONDAY, days=2)
    assert told.heat.dni_w_m2[:, : told.grid.slot(at(0, 10))].max() == 0
    assert told.heat.dni_w_m2[:, told.grid.slot(at(0, 10)) : told.grid.slot(at(0, 18))].max() > 0
    notes = outlook_document(told)["notes"]
    assert "set by hand: fog monday until 10 (Mon 17 May 00:00 to 10:00, by hand)" in notes
    # Neither earlier plans nor those made after it was taken back know of it.
    np.testing.assert_array_equal(day_kwh(database, NOW), before)
    with pytest.raises(NotThere, match='said by hand is "fog monday until 10"'):
        withdraw_overrule(database, "fog until 10", now=said_at, by="Pat")
    later = said_at + timedelta(minutes=5)
    withdraw_overrule(database, "fog monday until 10", now=later, by="Pat")
    assert overrules_in_use(database, now=later) == ()
    assert len(overrules_in_use(database, now=said_at)) == 1


def test_a_word_that_is_not_known_is_refused_and_not_kept(database):
    with pytest.raises(InvalidField, match="fog, dust"):
        say_overrule(database, "maybe until 10", now=NOW, by="Pat")
    assert overrules_in_use(database, now=NOW) == ()
