"""What goes in comes out equal."""

from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta, timezone
from functools import partial
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.small_yard import small_orders, small_yard
from tests.store.rich_yard import NOON, logged, made, rich_outcome, rich_yard, typical_weather
from yardplan.domain.calibration import Calibration
from yardplan.domain.errors import InvalidField, NotThere
from yardplan.domain.log import LoggedCycle
from yardplan.domain.orders import Order
from yardplan.domain.outcome import SolveOutcome, Status
from yardplan.domain.plan import Plan
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard
from yardplan.store.day import add_publication
from yardplan.store.engine import Database
from yardplan.store.read import (
    WEATHER_ARRAYS,
    has_yard,
    plan_numbers,
    read_audit,
    read_calibrations,
    read_change_count,
    read_logged_cycles,
    read_orders,
    read_plan,
    read_setting,
    read_weather_year,
    read_yard,
    read_yard_version,
)
from yardplan.store.write import (
    add_calibrations,
    add_logged_cycles,
    add_orders,
    add_plan,
    delete_order,
    update_order,
    write_setting,
    write_weather_year,
    write_yard,
)

PAT = {"by": "Pat", "at": NOON}


@pytest.mark.parametrize("yard", [small_yard(), small_yard(3, 7), rich_yard()], ids=["small", "three units", "rich"])
def test_a_yard(database: Database, yard: Yard) -> None:
    with database.begin() as session:
        write_yard(session, yard, **PAT)
        assert read_yard(session) == yard
    with database.begin_read() as session:
        assert read_yard(session) == yard


def test_a_yard_is_replaced_as_a_whole_also_in_the_session_that_read_it(database: Database) -> None:
    with database.begin() as session:
        assert write_yard(session, rich_yard(), **PAT) == 1
        before = read_yard(session)
        assert write_yard(session, small_yard(), **PAT) == 2
        assert before == rich_yard()
        assert read_yard(session) == small_yard()
        moved = replace(small_yard(), site=replace(small_yard().site, altitude_m=1234.5))
        assert write_yard(session, moved, **PAT) == 3
        assert read_yard(session) == moved
    with database.begin_read() as session:
        assert read_yard(session) == moved
        assert read_yard_version(session) == 3


def test_no_yard_yet(database: Database) -> None:
    with database.begin_read() as session:
        assert not has_yard(session)
        assert read_yard_version(session) == 0
        with pytest.raises(NotThere, match="no yard"):
            read_yard(session)


def test_orders_come_back_as_they_came_in(database: Database) -> None:
    orders = tuple(reversed(small_orders()))
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
        added = add_orders(session, orders[:2], **PAT) + add_orders(session, orders[2:], **PAT)
        assert add_orders(session, (), **PAT) == ()
    with database.begin_read() as session:
        assert read_orders(session) == added == tuple(replace(order, row_version=1) for order in orders)


instants = st.datetimes(
    datetime(1, 1, 2),  # noqa: DTZ001 - bounds are wall-clock times in whatever zone is drawn
    datetime(9999, 12, 30),  # noqa: DTZ001
    timezones=st.timezones() | st.just(UTC) | st.just(timezone(timedelta(hours=-7))),
).map(lambda at: at.astimezone(UTC))  # a repeated local hour is never equal to the same instant in another zone
words = st.text(st.characters(codec="utf-8", exclude_characters="\0"))  # PostgreSQL keeps no NUL in a text
orders = st.builds(
    Order,
    id=words.filter(lambda word: bool(word.strip())),
    customer=words,
    product_id=st.sampled_from(["TANK", "BIN"]),
    color=st.sampled_from(["sand", "black"]),
    quantity=st.integers(1, 100_000),
    due_at=instants,
    promise_at=st.none() | instants,
    priority=st.integers(1, 9),
    note=words,
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(orders, max_size=5, unique_by=lambda order: order.id))
def test_any_orders(database: Database, drawn: list[Order]) -> None:
    with database.begin() as session:
        if not has_yard(session):
            write_yard(session, small_yard(), **PAT)
        for order in read_orders(session):
            delete_order(session, order, **PAT)
        added = add_orders(session, drawn, **PAT)
    with database.begin_read() as session:
        found = read_orders(session)
    assert found == added
    assert [replace(order, row_version=0) for order in found] == drawn
    assert all(order.due_at.tzinfo is UTC for order in found)


def test_an_instant_is_the_same_whatever_its_offset(database: Database) -> None:
    due_at = datetime(2027, 5, 20, 0, tzinfo=ZoneInfo("America/Denver"))
    order = replace(small_orders()[0], due_at=due_at, promise_at=due_at.astimezone(timezone(timedelta(hours=9))))
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
        add_orders(session, (order,), **PAT)
    with database.begin_read() as session:
        (found,) = read_orders(session)
    assert found.due_at == found.promise_at == datetime(2027, 5, 20, 6, tzinfo=UTC)
    assert found.due_at.tzinfo is UTC


def test_an_edited_order(database: Database) -> None:
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
        first, second, third = add_orders(session, small_orders(), **PAT)
    edited = replace(first, quantity=9, promise_at=None, note="by phone", color="black")
    with database.begin() as session:
        kept = update_order(session, edited, **PAT)
        delete_order(session, third, **PAT)
    assert kept == replace(edited, row_version=2)
    with database.begin_read() as session:
        assert read_orders(session) == (kept, second)


def test_a_plan(database: Database) -> None:
    with database.begin() as session:
        stored = made(session, rich_outcome(), add_plan)
    with database.begin_read() as session:
        assert read_plan(session) == read_plan(session, 1) == stored
    assert stored.number == 1
    assert stored.outcome == rich_outcome()


def test_an_impossible_plan_is_empty_and_kept(database: Database) -> None:
    outcome = replace(
        rich_outcome(0), plan=Plan(SlotGrid(NOON, 12, "UTC", 15)), status=Status.IMPOSSIBLE, bound=0, blocked=()
    )
    with database.begin() as session:
        stored = made(session, outcome, add_plan)
    with database.begin_read() as session:
        assert read_plan(session) == stored


def test_numbers_of_numpy_come_back_plain(database: Database) -> None:
    # SQLite would keep an integer of numpy as bytes, without a word.
    plain = rich_outcome()
    cycle = plain.plan.cycles[0]
    odd = replace(cycle, heat_slot=np.int32(cycle.heat_slot), end_slot=np.int64(cycle.end_slot))
    cycles = (odd, *plain.plan.cycles[1:])
    outcome = replace(plain, plan=replace(plain.plan, cycles=cycles), seconds=np.float32(1.5), bound=np.int64(7))
    with database.begin() as session:
        made(session, outcome, add_plan)
    with database.begin_read() as session:
        found = read_plan(session)
    assert found is not None
    assert found.outcome == replace(plain, seconds=1.5, bound=7)
    assert type(found.outcome.plan.cycles[0].end_slot) is int


def test_plan_versions_are_only_ever_added(database: Database) -> None:
    with database.begin_read() as session:
        assert read_plan(session) is None
        with pytest.raises(NotThere, match="none yet"):
            read_plan(session, 1)
    outcomes: list[SolveOutcome] = [rich_outcome(cost) for cost in (30, 10, 20)]
    for outcome in outcomes:
        with database.begin() as session:
            made(session, outcome, add_plan)
    with database.begin_read() as session:
        assert plan_numbers(session) == (1, 2, 3)
        for number, outcome in enumerate(outcomes, 1):
            found = read_plan(session, number)
            assert found is not None
            assert found.outcome == outcome
        assert read_plan(session) == read_plan(session, 3)
        with pytest.raises(NotThere, match="known are 1, 2, 3"):
            read_plan(session, 4)


def test_a_draft_is_kept_with_its_changes_and_is_never_the_newest_plan_or_in_force(database: Database) -> None:
    drafted = partial(add_plan, draft="more molds", changes=("copy M1", "clear 2027-05-19"))
    with database.begin() as session:
        plan = made(session, rich_outcome(30), add_plan)
        draft = made(session, rich_outcome(10), drafted)
    with database.begin_read() as session:
        assert read_plan(session) == plan
        assert read_plan(session, 2) == draft
    assert (draft.number, draft.draft, draft.changes) == (2, "more molds", ("copy M1", "clear 2027-05-19"))
    with database.begin() as session, pytest.raises(InvalidField, match="not the draft of a what-if"):
        add_publication(session, 2, at=NOON, by="Pat", seat="", reason="")


def test_the_log(database: Database) -> None:
    cycles: list[LoggedCycle] = [logged(number) for number in (3, 9, 4, 1)]
    with database.begin() as session:
        add_logged_cycles(session, cycles[:3], **PAT)
        add_logged_cycles(session, cycles[3:], **PAT)
    with database.begin_read() as session:
        assert read_logged_cycles(session) == tuple(cycles)


@pytest.mark.parametrize("again", [(logged(3),), (logged(7), logged(7)), (logged(8), logged(3))])
def test_the_log_is_never_overwritten(database: Database, again: tuple[LoggedCycle, ...]) -> None:
    with database.begin() as session:
        add_logged_cycles(session, [logged(3)], **PAT)
    with pytest.raises(InvalidField, match="does not have yet"), database.begin() as session:
        add_logged_cycles(session, [replace(cycle, note="other") for cycle in again], **PAT)
    with database.begin_read() as session:
        assert read_logged_cycles(session) == (logged(3),)


def test_calibrations_fitted_last_count_and_older_ones_stay(database: Database) -> None:
    first = Calibration("U1", "M1", 0.93, 1.07, 0.021, 12, 1.9, NOON)
    with database.begin_read() as session:
        assert read_calibrations(session) == ()
    with database.begin() as session:
        add_calibrations(session, [first, replace(first, mold_id="M2", n_cycles=0)], **PAT)
    newer = replace(first, heat_factor=0.95)  # a clock that stands still does not hide it
    other = replace(newer, unit_id="U0", mold_id="M2")
    with database.begin() as session:
        add_calibrations(session, [newer, other], **PAT)
    with database.begin_read() as session:
        assert read_calibrations(session) == (other, newer)
        assert read_calibrations(session, NOON) == (other, newer)
        assert read_calibrations(session, NOON - timedelta(minutes=5)) == ()  # a plan of then did not know them
        assert session.scalar(sa.text("SELECT count(*) FROM calibration")) == 4


def test_a_typical_year_replaces_the_one_before(database: Database) -> None:
    weather = typical_weather()
    place = {"latitude_deg": 32.17, "longitude_deg": -110.88, "altitude_m": 809.0}
    with database.begin_read() as session:
        assert read_weather_year(session) is None
    with database.begin() as session:
        write_weather_year(session, name="first", weather=replace(weather, step_min=30), **place, **PAT)
        write_weather_year(session, name="second", weather=weather, **place, **PAT)
        write_weather_year(session, name="second", weather=weather, **place | {"altitude_m": 700}, **PAT)
    with database.begin_read() as session:
        found = read_weather_year(session)
    assert found is not None
    assert (found.name, found.latitude_deg, found.longitude_deg, found.altitude_m) == ("second", 32.17, -110.88, 700)
    for field in fields(weather):
        if field.name in WEATHER_ARRAYS:
            np.testing.assert_array_equal(getattr(found.weather, field.name), getattr(weather, field.name))
        else:
            assert getattr(found.weather, field.name) == getattr(weather, field.name)


def test_settings(database: Database) -> None:
    with database.begin() as session:
        write_setting(session, "clock_at", "2027-05-17T06:00:00-06:00", **PAT)
        write_setting(session, "confidence", "0.8", **PAT)
        write_setting(session, "confidence", "0.95", **PAT)
    with database.begin_read() as session:
        assert read_setting(session, "confidence") == "0.95"
        assert read_setting(session, "clock_at") == "2027-05-17T06:00:00-06:00"
        assert read_setting(session, "window") is None


def test_every_write_is_counted_and_says_who_when_and_what(database: Database) -> None:
    weather = {"name": "Y", "latitude_deg": 1, "longitude_deg": 2, "altitude_m": 3, "weather": typical_weather()}
    counts = []
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
        counts.append(read_change_count(session))
        first, second, _ = add_orders(session, small_orders(), **PAT)
        counts.append(read_change_count(session))
        update_order(session, replace(first, quantity=6), by="Kim", at=NOON + timedelta(minutes=1))
        counts.append(read_change_count(session))
        delete_order(session, second, **PAT)
        counts.append(read_change_count(session))
        made(session, rich_outcome(), add_plan)
        counts.append(read_change_count(session))
        add_logged_cycles(session, [logged(1)], **PAT)
        counts.append(read_change_count(session))
        write_weather_year(session, **weather, **PAT)
        counts.append(read_change_count(session))
        write_setting(session, "confidence", "0.8", **PAT)
        counts.append(read_change_count(session))
    assert counts == [1, 2, 3, 4, 5, 6, 7, 8]
    with database.begin_read() as session:
        entries = read_audit(session)
        assert len(entries) == len(counts)
        assert read_audit(session, newest=2) == entries[:2]
    changed = entries[-3]
    assert (changed.by, changed.at, changed.what) == ("Kim", NOON + timedelta(minutes=1), "order Y-1: quantity 4 -> 6")
