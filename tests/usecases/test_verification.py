"""Outlooks kept, scored against measured sun, and forecasts corrected by what the log says of earlier ones."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from tests.forecast.made_weather import readings, weather
from tests.forecast.made_years import made_year, typical
from tests.small_yard import MONDAY, at, small_orders, small_yard
from yardplan.domain.errors import NotThere
from yardplan.domain.log import SunReading
from yardplan.exchange.documents import validate
from yardplan.exchange.heat_words import heat_words
from yardplan.exchange.verification_document import verification_document, verification_words
from yardplan.store.archive import add_forecast, add_sun_readings, read_shown
from yardplan.store.engine import Database, open_database
from yardplan.store.read import read_change_count
from yardplan.store.write import add_orders, write_weather_year, write_yard
from yardplan.usecases.outlook import make_outlook, outlook_document
from yardplan.usecases.planning import problem_on
from yardplan.usecases.verification import keep_outlook, verify_outlooks

SITE = small_yard().site
NOW = at(0, 5)  # before the sun of a Monday
DAYS = 14
MINUTE = timedelta(minutes=1)


def filled(path: Path) -> Database:
    opened = open_database(f"sqlite:///{path}")
    with opened.begin() as session:
        write_yard(session, small_yard(), by="Pat", at=NOW)
        add_orders(session, small_orders(), by="Pat", at=NOW)
        year = made_year(lambda day, hour: 0.2 + 0.8 * ((7 * day + 3 * (hour // 4)) % 11) / 10)
        write_weather_year(session, **vars(typical(year)), by="Pat", at=NOW)
    return opened


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    opened = filled(tmp_path / "yard.sqlite")
    yield opened
    opened.close()


def log_sun(database: Database, days: int, share: float, seed: int = 0) -> None:
    """Measure the last days up to `NOW` in steps of half an hour, each day with its own share of a clear sky."""
    start_at = NOW - timedelta(days=days)
    of_day = np.clip(np.random.default_rng(seed).normal(share, 0.1, days), 0, 1).repeat(48)
    measured = readings(SITE, start_at, 30, days * 48, of_day)
    rows = [
        SunReading(start, 30, float(dni), "pyrheliometer")
        for start, dni in zip(measured.starts_at, measured.dni_w_m2, strict=True)
    ]
    with database.begin() as session:
        add_sun_readings(session, rows, by="Pat", at=NOW)


def get_forecast(database: Database, issued_at, cloud: float, service: str = "a.example/f", members=()) -> None:
    said = weather(issued_at, 60, 96, issued_at, cloud=cloud)
    with database.begin() as session:
        add_forecast(
            session, said, members, service=service, latitude_deg=SITE.latitude_deg, longitude_deg=SITE.longitude_deg,
            credit="", payload=f"{service} {issued_at}".encode(), fetched_at=issued_at,
        )  # fmt: skip


def kept(database: Database) -> list:
    with database.begin_read() as session:
        return list(read_shown(session, NOW - timedelta(days=90), NOW + timedelta(days=90)))


def test_what_is_shown_is_kept_and_not_what_nobody_sees(database):
    problem_on(
        database, make_outlook(database, now=NOW, first_on=MONDAY, days=1, keep=False).grid, now=NOW, confidence=0.8
    )
    assert kept(database) == []
    with database.begin_read() as session:
        before = read_change_count(session)
    shown = make_outlook(database, now=NOW, first_on=MONDAY, days=1)
    make_outlook(database, now=NOW + 20 * MINUTE, first_on=MONDAY, days=1)  # the same hours, within the hour
    make_outlook(database, now=NOW + 30 * MINUTE, first_on=MONDAY, days=2)  # another day with them
    make_outlook(database, now=NOW + 91 * MINUTE, first_on=MONDAY, days=1)
    make_outlook(database, now=at(1, 20), first_on=MONDAY, days=2)  # nothing of it is still to come
    assert [one.made_at for one in kept(database)] == [NOW, NOW + 30 * MINUTE, NOW + 91 * MINUTE]
    noon = (at(0, 12) - shown.grid.start_at) // timedelta(minutes=5)
    one = kept(database)[0]
    (place,) = np.flatnonzero(one.start_s == at(0, 12).timestamp())
    means = shown.heat.dni_w_m2[:, noon : noon + 12].mean(axis=1)
    assert one.dni_w_m2[10, place] == pytest.approx(np.median(means), abs=0.1)
    with database.begin_read() as session:
        assert read_change_count(session) == before  # no seat has to read again because somebody looked


def test_outlooks_are_scored_when_their_hours_were_measured(database):
    for n in range(DAYS):
        if n % 3 == 0:
            keep_outlook(database, now=NOW - timedelta(days=DAYS - n))
    found = verify_outlooks(database, now=NOW)
    document = verification_document(found, generated_at=NOW)
    validate(document, "verification")
    assert document["outlooks"] == 5
    assert verification_words(document).endswith(
        "but no measured sun: bring it in with `yardplan import measured FILE`."
    )
    log_sun(database, DAYS, 0.25)  # duller than the season
    document = verification_document(verify_outlooks(database, now=NOW), generated_at=NOW)
    validate(document, "verification")
    assert [row["lead_h"] for row in document["leads"]] == [[0, 6], [6, 24], [24, 48], [48, 96], [96, 168]]
    assert all(row["bias_w_m2"] > 50 for row in document["leads"])
    assert document["correction"] is None  # no forecast is in use
    words = verification_words(document)
    assert words.startswith("5 outlooks kept since Mon 03 May, against measured sun")
    assert "4 to 7 days *" in words
    assert "* too few days to judge by" in words
    assert verify_outlooks(database, now=NOW, days=2).n_outlooks < 5


def test_before_anything_is_known(database):
    words = verification_words(verification_document(verify_outlooks(database, now=NOW), generated_at=NOW))
    assert words.startswith("No outlook was kept in the last 60 days.")
    make_outlook(database, now=NOW, first_on=MONDAY, days=1)
    log_sun(database, 2, 0.5)
    document = verification_document(verify_outlooks(database, now=NOW + MINUTE), generated_at=NOW)
    assert (
        verification_words(document) == "1 outlook kept since Mon 17 May; no hour that they speak of was measured yet."
    )


def test_a_yard_without_weather_keeps_nothing_and_says_why_it_cannot_verify(tmp_path):
    bare = open_database(f"sqlite:///{tmp_path / 'bare.sqlite'}")
    with bare.begin() as session:
        write_yard(session, small_yard(), by="Pat", at=NOW)
    keep_outlook(bare, now=NOW)
    assert kept(bare) == []
    with pytest.raises(NotThere, match="typical-year"):
        verify_outlooks(bare, now=NOW)
    bare.close()


def test_too_sunny_forecasts_are_corrected_on_evidence_and_the_outlook_says_so(database):
    """Each day a clear sky was forecast, and a fifth of its light came."""
    get_forecast(database, NOW - timedelta(hours=1), 0.0)
    log_sun(database, 24, 0.2)
    raw = make_outlook(database, now=NOW, first_on=MONDAY, days=2)
    assert "none of this service has been met by measured sun yet" in outlook_document(raw)["correction"]["text"]
    for n in range(23, 1, -1):
        get_forecast(database, NOW - timedelta(days=n), 0.0)
        get_forecast(database, NOW - timedelta(days=n, hours=-1), 0.9, service="b.example/other")
    get_forecast(database, NOW - timedelta(minutes=50), 0.0)
    told = make_outlook(database, now=NOW, first_on=MONDAY, days=2)
    document = outlook_document(told)
    validate(document, "heat")
    correction = document["correction"]
    assert correction["applied"]
    assert correction["days"] == 23
    assert correction["gain_frac"] > 0.1
    words = heat_words(document)
    assert "Note: forecasts are corrected, since they were too sunny: learned on 23 days with measured sun" in words
    noon = told.grid.slot(at(0, 12))
    assert told.heat.dni_w_m2[:, noon].mean() < 0.8 * raw.heat.dni_w_m2[:, noon].mean()
    assert verify_outlooks(database, now=NOW).correction == told.skies.correction
    # A plan is judged by what was known when it was made: a week earlier there was less evidence.
    earlier = make_outlook(database, now=NOW - timedelta(days=16), first_on=MONDAY - timedelta(days=16), days=1)
    assert earlier.skies.correction is not None
    assert (earlier.skies.correction.applied, earlier.skies.correction.days) == (False, 7)
    assert "on 7 days, 10 are needed" in earlier.skies.correction.text


def test_right_forecasts_are_not_corrected(database):
    """The season's own light comes under forecasts that say the season's own clouds, at random."""
    rng = np.random.default_rng(3)
    log_sun(database, 24, 0.62, seed=4)
    for n in range(23, -1, -1):
        get_forecast(database, NOW - timedelta(days=n, minutes=10), float(rng.uniform(0.3, 0.5)))
    found = make_outlook(database, now=NOW, first_on=MONDAY, days=1).skies.correction
    assert found is not None
    assert found.days > 20
    assert not found.applied or abs(found.shift) < 0.6
