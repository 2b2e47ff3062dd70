"""Forecasts and measured sun: what went in stays, whatever comes later."""

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import sqlalchemy as sa

from tests.store.rich_yard import NOON, logged, made, rich_outcome, rich_yard, small_orders, typical_weather
from yardplan.domain.errors import InvalidField, NotThere
from yardplan.domain.log import SunReading
from yardplan.domain.tables import Weather
from yardplan.domain.verification import Shown
from yardplan.store import engine
from yardplan.store.archive import (
    ServiceState,
    add_forecast,
    add_shown,
    add_sun_readings,
    newest_forecast,
    read_forecasts,
    read_payload,
    read_service_state,
    read_shown,
    read_sun_readings,
    write_service_state,
)
from yardplan.store.engine import MIGRATIONS, VERSION_TABLE, Database, open_database
from yardplan.store.read import (
    WEATHER_ARRAYS,
    has_yard,
    read_audit,
    read_change_count,
    read_logged_cycles,
    read_orders,
    read_plan,
    read_weather_year,
)
from yardplan.store.write import (
    add_logged_cycles,
    add_orders,
    add_plan,
    write_setting,
    write_weather_year,
    write_yard,
)

PAT = {"by": "Pat", "at": NOON}
PLACE = {"latitude_deg": 35.1, "longitude_deg": -106.7}
MINUTE = timedelta(minutes=1)


def weather(number: int, n_steps: int = 5) -> Weather:
    """Invented hours with a gap, issued `number` hours after noon."""
    arrays = np.random.default_rng(number).normal(100, 30, (7, n_steps)).astype(np.float32)
    arrays[number % 7, 1] = np.nan
    starts = tuple(NOON + timedelta(hours=number + ix) for ix in range(n_steps))
    return Weather(starts, 60, *arrays, source=f"forecast {number}", issued_at=NOON + timedelta(hours=number))


def added(session: Any, number: int, **changes: Any) -> bool:
    given = {"service": "a.example/f", "credit": "by A", "payload": b"{%d}" % number, **PLACE}
    given |= {"fetched_at": NOON + timedelta(hours=number, minutes=7)}
    return add_forecast(session, weather(number), **given | changes)


def assert_same(found: Weather, expected: Weather) -> None:
    for name in ("starts_at", "step_min", "source", "issued_at"):
        assert getattr(found, name) == getattr(expected, name)
    for name in WEATHER_ARRAYS:
        np.testing.assert_array_equal(getattr(found, name), getattr(expected, name))


def test_a_forecast_comes_back_as_it_was(database: Database) -> None:
    members = tuple(replace(weather(number), starts_at=weather(1).starts_at) for number in (2, 3))
    given = {
        "service": "a.example/f", "question": "q1", **PLACE, "credit": "by Ä", "fetched_at": NOON + MINUTE,
        "etag": 'W/"1"', "last_modified": "Mon, 17 May 2027 12:51:07 GMT", "warnings": ("gaps", "old"),
    }  # fmt: skip
    with database.begin() as session:
        assert newest_forecast(session) is None
        assert add_forecast(session, weather(1), members, payload=b"\x00{}", **given)
    with database.begin_read() as session:
        found = newest_forecast(session)
        assert found is not None
        assert read_payload(session, found.number) == b"\x00{}"
    assert {name: getattr(found, name) for name in given} == given
    assert (found.number, found.issued_at) == (1, weather(1).issued_at)
    assert_same(found.weather, weather(1))
    for one, member in zip(found.members, members, strict=True):
        assert one.starts_at == weather(1).starts_at
        for name in WEATHER_ARRAYS:
            np.testing.assert_array_equal(getattr(one, name), getattr(member, name))


def test_rain_of_a_forecast_comes_back_and_none_stays_none(database: Database) -> None:
    rain_mm = np.array([0, 1, np.nan, 2, 0], np.float32)
    given = (replace(weather(1), rain_mm=rain_mm), weather(1))
    with database.begin() as session:
        assert add_forecast(
            session, given[0], given[1:], service="a", credit="", payload=b"1", fetched_at=NOON, **PLACE
        )  # fmt: skip
        assert added(session, 2)
    with database.begin_read() as session:
        wet, dry = read_forecasts(session, NOON, NOON + timedelta(days=1))
    np.testing.assert_array_equal(wet.weather.rain_mm, rain_mm)
    assert np.isnan(wet.members[0].rain_mm).all()
    assert dry.weather.rain_mm is None


def test_the_same_answer_to_the_same_question_is_kept_once(database: Database) -> None:
    with database.begin() as session:
        assert added(session, 1)
        before = read_change_count(session)
        assert not added(session, 1, fetched_at=NOON + timedelta(hours=5))
        assert read_change_count(session) == before
        assert added(session, 1, question="of another place")
        assert added(session, 1, service="b.example/f")
        assert added(session, 2, question="of another place")
        assert added(session, 1, question="of another place")  # it was not the newest any more
        assert session.scalar(sa.text("SELECT count(*) FROM forecast")) == 5


def test_the_newest_of_all_and_of_a_service(database: Database) -> None:
    with database.begin() as session:
        added(session, 3)
        added(session, 1, service="b.example/f")
    with database.begin_read() as session:
        newest, of_a, of_c = (newest_forecast(session, name) for name in (None, "a.example/f", "c.example/f"))
    assert (newest and newest.service, of_a and of_a.number, of_c) == ("b.example/f", 1, None)


def test_forecasts_by_the_time_of_their_issue(database: Database) -> None:
    with database.begin() as session:
        for number in (5, 1, 3, 2):
            added(session, number)
    with database.begin_read() as session:
        found = read_forecasts(session, NOON + timedelta(hours=2), NOON + timedelta(hours=5))
        assert [one.weather.source for one in found] == ["forecast 2", "forecast 3"]
        assert [one.issued_at for one in found] == [NOON + timedelta(hours=2), NOON + timedelta(hours=3)]
        assert read_forecasts(session, NOON - timedelta(days=9), NOON) == ()
        with pytest.raises(NotThere, match="forecast '7'"):
            read_payload(session, 7)


def test_the_state_of_a_service_is_the_last_one_written(database: Database) -> None:
    with database.begin() as session:
        assert read_service_state(session, "a.example/f") == ServiceState("a.example/f")
        write_service_state(session, ServiceState("a.example/f", NOON, NOON + MINUTE, "refuses (403)"))
        write_service_state(session, ServiceState("b.example/f", trouble="silent"))
    with database.begin() as session:
        state = read_service_state(session, "a.example/f")
        assert state == ServiceState("a.example/f", NOON, NOON + MINUTE, "refuses (403)")
        write_service_state(session, replace(state, rest_until_at=None, trouble=""))
    with database.begin_read() as session:
        assert read_service_state(session, "a.example/f") == ServiceState("a.example/f", NOON)
        assert read_service_state(session, "b.example/f").trouble == "silent"


def readings(
    *starts_min: int, step_min: int = 5, source: str = "pyrheliometer", dni: float = 812.3
) -> list[SunReading]:
    return [SunReading(NOON + start * MINUTE, step_min, dni + start, source, 640.1) for start in starts_min]


def test_measured_sun_comes_back_by_its_time(database: Database) -> None:
    typed = SunReading(NOON + 7 * MINUTE, 1, 500.25, "Pat")
    with database.begin() as session:
        assert add_sun_readings(session, [*readings(10, 0, 5), typed], **PAT) == 4
        assert read_audit(session, 1)[0].what == "sun readings added: 4 of Pat, pyrheliometer"
    with database.begin_read() as session:
        assert read_sun_readings(session, NOON, NOON + 11 * MINUTE) == (*readings(0, 5), typed, *readings(10))
        assert read_sun_readings(session, NOON + MINUTE, NOON + 10 * MINUTE) == (*readings(5), typed)
        assert read_sun_readings(session, NOON, NOON + 10 * MINUTE, source="Pat") == (typed,)


def test_a_log_that_has_grown_adds_what_is_new(database: Database) -> None:
    with database.begin() as session:
        assert add_sun_readings(session, readings(0, 5), **PAT) == 2
    with database.begin() as session:
        before = read_audit(session)
        assert add_sun_readings(session, readings(0, 5), **PAT) == 0
        assert read_audit(session) == before
        assert add_sun_readings(session, readings(0, 5, 10, 15), **PAT) == 2
        assert len(read_sun_readings(session, NOON, NOON + timedelta(hours=1))) == 4


@pytest.mark.parametrize(
    "other",
    [
        readings(5, dni=700),  # another value
        readings(3),  # begins in one and ends in another
        readings(-10, step_min=60),  # around all of them
        readings(6, step_min=1),  # within one
        readings(20, 20),  # twice in one file
    ],
    ids=["value", "across", "around", "within", "twice"],
)
def test_what_was_measured_is_never_overwritten(database: Database, other: list[SunReading]) -> None:
    with database.begin() as session:
        add_sun_readings(session, readings(0, 5, 10), **PAT)
    with pytest.raises(InvalidField, match="readings that do not overlap"), database.begin() as session:
        add_sun_readings(session, [*readings(15), *other], **PAT)
    with database.begin_read() as session:
        assert read_sun_readings(session, NOON - timedelta(days=1), NOON + timedelta(days=1)) == tuple(
            readings(0, 5, 10)
        )


def test_two_instruments_may_measure_at_the_same_time(database: Database) -> None:
    with database.begin() as session:
        add_sun_readings(session, readings(0, 5), **PAT)
        assert add_sun_readings(session, readings(0, step_min=60, source="field"), **PAT) == 1


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"dni_w_m2": -1.0}, "dni_w_m2"),
        ({"dni_w_m2": 1500.0}, "dni_w_m2"),
        ({"dni_w_m2": float("nan")}, "dni_w_m2"),
        ({"ghi_w_m2": -1.0}, "ghi_w_m2"),
        ({"step_min": 0}, "step_min"),
        ({"step_min": 90}, "step_min"),
        ({"start_at": datetime(2027, 5, 17, 12)}, "start_at"),  # noqa: DTZ001 - what is refused
    ],
)
def test_a_reading_that_cannot_be(change: dict[str, Any], told: str) -> None:
    with pytest.raises(InvalidField, match=told):
        replace(readings(0)[0], **change)


def only_first_revision(folder: Path) -> Path:
    """Migrations as the first version of the program had them."""
    shutil.copytree(MIGRATIONS, folder)
    for path in (folder / "versions").glob("r*.py"):
        if not path.name.startswith("r0001"):
            path.unlink()
    return folder


def content(path: Path) -> dict[str, tuple[list[str], list[tuple[Any, ...]]]]:
    """The columns and rows of every table but the one of the version."""
    with closing(sqlite3.connect(path)) as connection:
        tables = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        found = {}
        for table in sorted(set(tables) - {VERSION_TABLE}):
            columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
            found[table] = (
                columns,
                sorted(connection.execute(f"SELECT {', '.join(map(quoted, columns))} FROM {table}")),
            )
        return found


def quoted(column: str) -> str:
    return f'"{column}"'


def test_a_database_of_the_first_version_keeps_everything_and_gets_the_archive(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled, old = tmp_path / "filled.sqlite", tmp_path / "old" / "yard.sqlite"
    database = open_database(f"sqlite:///{filled}")
    with database.begin() as session:
        write_yard(session, rich_yard(), **PAT)
        add_orders(session, small_orders(), **PAT)
        made(session, rich_outcome(), add_plan)
        add_logged_cycles(session, [logged(number) for number in range(8)], **PAT)
        place = {"latitude_deg": 32.17, "longitude_deg": -110.88, "altitude_m": 809.0}
        write_weather_year(session, name="Tucson", weather=typical_weather(), **place, **PAT)
        write_setting(session, "confidence", "0.8", **PAT)
    database.close()

    with monkeypatch.context() as patched:
        patched.setattr(engine, "MIGRATIONS", only_first_revision(tmp_path / "first"))
        patched.setattr(engine, "HEAD", "0001")
        open_database(f"sqlite:///{old}").close()
    with closing(sqlite3.connect(old)) as connection, connection:
        connection.execute("DELETE FROM change_count")
        connection.execute("ATTACH ? AS filled", (str(filled),))
        for table, (columns, _) in content(old).items():
            names = ", ".join(map(quoted, columns))
            connection.execute(f"INSERT INTO main.{table} ({names}) SELECT {names} FROM filled.{table}")
    before = content(old)
    assert all(rows for _, rows in before.values()), "every table of the first version has rows"
    assert "forecast" not in before

    upgraded = open_database(f"sqlite:///{old}")
    with upgraded.begin() as session:
        assert has_yard(session)
        assert len(read_orders(session)) == 3
        assert len(read_logged_cycles(session)) == 8
        assert read_plan(session) is not None
        assert read_weather_year(session) is not None
        assert newest_forecast(session) is None
        assert read_sun_readings(session, datetime(2000, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)) == ()
    upgraded.close()
    after = content(old)
    for table, (columns, rows) in before.items():
        places = [after[table][0].index(column) for column in columns]
        assert sorted(tuple(row[place] for place in places) for row in after[table][1]) == rows, table
    (backup,) = old.parent.glob("yard.version-0001.*.backup-1.sqlite")
    assert content(backup) == before

    again = open_database(f"sqlite:///{old}")
    with again.begin() as session:
        assert added(session, 1)
        assert add_sun_readings(session, readings(0), **PAT) == 1
    again.close()
    assert len(list(old.parent.glob("*.backup-*"))) == 1


def shown(made_at: datetime, hours: range) -> Shown:
    """An invented outlook of some hours after noon."""
    start_s = NOON.timestamp() + 3600.0 * np.array(hours)
    return Shown(made_at, start_s, np.random.default_rng(1).normal(500, 90, (21, len(hours))).astype(np.float32))


def test_outlooks_come_back_as_they_were_shown(database: Database) -> None:
    given = [shown(NOON, range(5)), shown(NOON + 90 * MINUTE, range(2, 9))]
    with database.begin() as session:
        assert all([add_shown(session, one) for one in given])
    with database.begin_read() as session:
        found = read_shown(session, NOON, NOON + 90 * MINUTE)
        assert read_shown(session, NOON, NOON + 89 * MINUTE)[-1].made_at == NOON
    for one, other in zip(found, given, strict=True):
        assert one.made_at == other.made_at
        np.testing.assert_array_equal(one.start_s, other.start_s)
        np.testing.assert_array_equal(one.dni_w_m2, other.dni_w_m2)


def test_of_outlooks_of_the_same_hours_the_first_in_an_hour_is_kept(database: Database) -> None:
    with database.begin() as session:
        assert not add_shown(session, shown(NOON, range(0)))  # a night says nothing
        assert add_shown(session, shown(NOON, range(5)))
        assert not add_shown(session, shown(NOON, range(5)))  # as when a clock stands still
        assert not add_shown(session, shown(NOON + 59 * MINUTE, range(1, 4)))
        assert add_shown(session, shown(NOON + 59 * MINUTE, range(1, 6)))
        assert add_shown(session, shown(NOON - 5 * MINUTE, range(5)))  # made before, told later
        assert add_shown(session, shown(NOON + 60 * MINUTE, range(5)))
        assert read_change_count(session) == 0
