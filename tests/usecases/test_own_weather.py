"""The yard's own files: measured sun for the log, and forecasts of another's making."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from pathlib import Path

import numpy as np
import pytest

from tests.forecast.local_service import answering, good, layers_document, layers_step
from tests.small_yard import small_yard
from yardplan.domain.errors import BadFile, InvalidField, NotThere
from yardplan.domain.log import SunReading
from yardplan.forecast.sky import clear_sky
from yardplan.store.archive import add_sun_readings, newest_forecast, read_payload, read_sun_readings
from yardplan.store.engine import Database, open_database
from yardplan.store.write import write_yard
from yardplan.usecases.own_weather import import_measured_sun, import_own_weather, measured_sun, note_sun
from yardplan.usecases.weather import refresh_forecast, set_forecast_service, weather_in_use

SITE = small_yard().site
NOON = datetime(2027, 5, 17, 19, tzinfo=UTC)
PAT = {"by": "Pat", "at": NOON}
MINUTE = timedelta(minutes=1)


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    opened = open_database(f"sqlite:///{tmp_path / 'yard.sqlite'}")
    with opened.begin() as session:
        write_yard(session, small_yard(), **PAT)
    yield opened
    opened.close()


def clear_days(
    path: Path, n_days: int, late_min: int = 0, step_min: int = 30, end_at: datetime = NOON, columns: str = "dni_w_m2"
) -> Path:
    """Write clear days that end at an instant, with labels that are late by some minutes."""
    n_steps = n_days * 1440 // step_min
    starts = [end_at - timedelta(minutes=step_min * (n_steps - ix)) for ix in range(n_steps)]
    middles = np.array([at.timestamp() + step_min * 30 for at in starts])
    sky = clear_sky(middles, SITE.latitude_deg, SITE.longitude_deg, SITE.altitude_m)
    rows = [
        f"{at + timedelta(minutes=late_min):%Y-%m-%dT%H:%MZ},{0.9 * dni:.1f}"
        for at, dni in zip(starts, sky.dni_w_m2, strict=True)
    ]
    path.write_text("\n".join([f"start,{columns}", *rows]))
    return path


def all_readings(database: Database) -> tuple[SunReading, ...]:
    with database.begin_read() as session:
        return read_sun_readings(session, NOON - timedelta(days=400), NOON + timedelta(days=400))


def refused(job, database: Database, path: Path) -> str:
    with pytest.raises(BadFile) as raised:
        job(database, path, **PAT)
    assert all_readings(database) == ()
    with database.begin_read() as session:
        assert newest_forecast(session) is None
    return str(raised.value)


def test_measured_sun_goes_into_the_log_and_a_grown_file_adds_what_is_new(database, tmp_path):
    path = tmp_path / "sun.csv"
    path.write_text("# zone: America/Denver\nend,dni_w_m2,ghi_w_m2\n2027-05-17 12:30,801.5,700\n2027-05-17 12:35,,710\n"
                    "2027-05-17 12:40,803,\n")  # fmt: skip
    told = import_measured_sun(database, path, **PAT)
    assert told.startswith("sun.csv: 2 readings of 5 min, 0 were there already; too few clear low suns")
    first = SunReading(datetime(2027, 5, 17, 18, 25, tzinfo=UTC), 5, 801.5, "pyrheliometer", 700.0)
    assert all_readings(database) == (first, SunReading(first.start_at + 10 * MINUTE, 5, 803.0, "pyrheliometer"))
    path.write_text(path.read_text() + "2027-05-17 12:45,804,\n")
    assert "1 readings of 5 min, 2 were there already" in import_measured_sun(database, path, **PAT)
    assert len(all_readings(database)) == 3


def test_a_file_that_contradicts_the_log_is_refused(database, tmp_path):
    path = tmp_path / "sun.csv"
    path.write_text("start,dni_w_m2\n2027-05-17T18:00Z,800\n2027-05-17T18:05Z,801\n")
    import_measured_sun(database, path, **PAT)
    path.write_text("start,dni_w_m2\n2027-05-17T17:55Z,799\n2027-05-17T18:00Z,700\n")
    with pytest.raises(BadFile, match="contradicts the log"):
        import_measured_sun(database, path, **PAT)
    assert [reading.dni_w_m2 for reading in all_readings(database)] == [800, 801]


def test_forty_clear_days_have_right_labels(database, tmp_path):
    told = import_measured_sun(database, clear_days(tmp_path / "sun.csv", 40), **PAT)
    assert "the time labels go with the sun: on 40 days" in told
    assert len(all_readings(database)) == 40 * 48


@pytest.mark.parametrize(("late_min", "end_at"), [(-30, NOON), (30, NOON - timedelta(days=1)), (-60, NOON)])
def test_labels_that_are_off_are_refused_with_the_figure(database, tmp_path, late_min, end_at):
    text = refused(import_measured_sun, database, clear_days(tmp_path / "sun.csv", 40, late_min, end_at=end_at))
    assert "column start or end: the time labels are off" in text
    assert f"{abs(late_min)} min {'later' if late_min < 0 else 'earlier'}" in text


def test_local_stamps_taken_for_utc_are_refused_on_a_single_day(database, tmp_path):
    text = refused(import_measured_sun, database, clear_days(tmp_path / "sun.csv", 1, -360, step_min=5))
    assert "logged with the sun down" in text


def test_some_weeks_that_may_be_off_are_taken_with_a_word(database, tmp_path):
    told = import_measured_sun(database, clear_days(tmp_path / "sun.csv", 20, -30), **PAT)
    assert "the time labels may be off" in told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("start,ghi_w_m2\n2027-05-17T18:00Z,1\n2027-05-17T18:05Z,2\n", "has no readings"),
        ("start,dni_w_m2\n2027-05-17T18:55Z,1\n2027-05-17T19:05Z,2\n", "2027-05-17 13:05, which is still to come"),
        ("start,dni_w_m2\n2027-05-17T12:00Z,1\n2027-05-17T15:00Z,2\n", "has steps of 180 min; expected 60 min at most"),
        ("start,dni\n2027-05-17T18:00Z,1\n", "has no unit that is known"),
    ],
)
def test_measured_sun_that_is_refused(database, tmp_path, text, told):
    path = tmp_path / "sun.csv"
    path.write_text(text)
    assert told in refused(import_measured_sun, database, path)


def test_a_reading_in_progress_is_taken(database, tmp_path):
    path = tmp_path / "sun.csv"
    path.write_text("start,dni_w_m2\n2027-05-17T18:55Z,801\n2027-05-17T19:00Z,802\n")
    import_measured_sun(database, path, **PAT)
    assert len(all_readings(database)) == 2


def test_a_forecast_from_a_file_is_archived_and_in_use(database, tmp_path):
    path = tmp_path / "coming.csv"
    rows = [f"{NOON + timedelta(hours=ix):%Y-%m-%dT%H:%MZ};{10 * (ix % 10)};{15 + ix % 7}" for ix in range(72)]
    path.write_text("\n".join(["start;cloud_pct;temp_c", *rows]))
    told = import_own_weather(database, path, **PAT)
    assert told.startswith("coming.csv: 72 steps of 60 min to 2027-05-20 13:00; ")
    found = weather_in_use(database, now=NOON + timedelta(hours=1))
    assert (found.source, found.issued_at, found.age_h) == ("own CSV coming.csv", NOON, 1.0)
    assert found.weather is not None
    assert np.isnan(found.weather.dni_w_m2).all()
    with database.begin_read() as session:
        assert read_payload(session, 1) == path.read_bytes()


def test_a_file_that_ends_gives_way_to_the_service_that_reaches_further(database, tmp_path):
    path = tmp_path / "coming.csv"
    path.write_text("start,cloud_pct\n2027-05-17T19:00Z,1\n2027-05-17T20:00Z,2\n")
    hours = [layers_step(NOON + timedelta(hours=hour)) for hour in range(60)]
    with answering(good(layers_document(hours, issued_at=NOON))) as service:
        set_forecast_service(database, contact="pat@yard.example", address=service.address, **PAT)
        refresh_forecast(database, now=NOON, sleep=lambda _: None)
    import_own_weather(database, path, **PAT)
    assert weather_in_use(database, now=NOON + timedelta(hours=1)).source == "own CSV coming.csv"
    assert weather_in_use(database, now=NOON + timedelta(hours=2)).source.startswith("forecast of 127.0.0.1:")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("start,dni_w_m2\n2027-05-17T18:00Z,1\n2027-05-17T18:30Z,2\n", "ends at 2027-05-17 13:00, which is past"),
        ("start,temp_c\n2027-05-17T20:00Z,1\n2027-05-17T20:30Z,2\n", "has neither dni_w_m2 nor a cloud column"),
        ("start,cloud_pct\n2027-05-17T20:00Z,1\n2027-05-18T02:00Z,2\n", "has steps of 360 min"),
    ],
)
def test_a_forecast_from_a_file_that_is_refused(database, tmp_path, text, told):
    path = tmp_path / "coming.csv"
    path.write_text(text)
    assert told in refused(import_own_weather, database, path)


def test_without_a_yard(tmp_path):
    empty = open_database(f"sqlite:///{tmp_path / 'empty.sqlite'}")
    for job in (import_measured_sun, import_own_weather):
        with pytest.raises(NotThere):
            job(empty, tmp_path / "sun.csv", **PAT)
    empty.close()


def test_measured_sun_as_weather(database):
    assert measured_sun(database, start_at=NOON, end_at=NOON + timedelta(hours=2)) == ()
    first = [SunReading(NOON + ix * 5 * MINUTE, 5, 800.0 + ix, "A", 640.0 if ix else None) for ix in (0, 1, 3)]
    second = [SunReading(NOON + 5 * MINUTE, 5, 811.0, "B", 650.0)]
    other = [SunReading(NOON - 15 * MINUTE, 10, 555.0, "Pat")]
    with database.begin() as session:
        add_sun_readings(session, first + second + other, **PAT)
    found, longer = measured_sun(database, start_at=NOON - timedelta(hours=3), end_at=NOON + timedelta(hours=2))
    assert found.starts_at == tuple(NOON + ix * 5 * MINUTE for ix in (0, 1, 3))
    assert found.step_min == 5
    np.testing.assert_allclose(found.dni_w_m2, [800, 806, 803])
    np.testing.assert_allclose(found.ghi_w_m2, [np.nan, 645, 640])
    assert np.isnan(found.temp_c).all()
    assert found.source == "measured: A, B"
    assert (longer.step_min, longer.dni_w_m2.tolist(), longer.source) == (10, [555.0], "measured: Pat")


def test_readings_of_today_are_typed(database):
    """13:00 on the yard's clock; the sun of 04:00 is down, and 14:00 is still to come."""
    at = {"by": "Pat", "at": NOON}
    assert note_sun(database, [(time(10, 20), 640.0), (time(12, 0), 810)], **at) == "10:20 640 W/m2, 12:00 810 W/m2"
    first, second = all_readings(database)
    assert first == SunReading(datetime(2027, 5, 17, 16, 15, tzinfo=UTC), 5, 640.0, "by hand")
    assert (second.end_at, second.dni_w_m2) == (datetime(2027, 5, 17, 18, tzinfo=UTC), 810)
    assert "1 were there already" in note_sun(database, [(time(12, 0), 810), (time(12, 5), 0)], **at)
    for wrong, told in (
        ((time(14, 0), 800.0), "one up to now, 13:00"),
        ((time(4, 0), 300.0), "the sun was down; is it the yard's clock"),
        ((time(11, 0), 6400.0), r"0 to 14\d\d W/m2"),
        ((time(11, 0), -5.0), "W/m2"),
        ((time(11, 0), float("nan")), "W/m2"),
        ((time(12, 0), 700.0), "do not overlap"),
    ):
        with pytest.raises(InvalidField, match=told):
            note_sun(database, [(time(9, 0), 500.0), wrong], **at)
    assert len(all_readings(database)) == 3
