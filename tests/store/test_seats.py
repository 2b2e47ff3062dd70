"""Several seats at one database: writers take turns, readers see one moment, a lost race is told."""

import re
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Event

import pytest
from sqlalchemy import insert
from sqlalchemy.exc import IntegrityError, StatementError
from sqlalchemy.orm import Session

from tests.small_yard import small_orders, small_yard
from tests.store.rich_yard import NOON, logged, made, rich_outcome, rich_yard
from yardplan.domain.errors import ChangedElsewhere, DatabaseUnreadable, InvalidField, NotThere
from yardplan.domain.orders import Order
from yardplan.store.engine import Database, open_database
from yardplan.store.read import (
    plan_numbers,
    read_audit,
    read_change_count,
    read_logged_cycles,
    read_orders,
    read_setting,
    read_yard,
    read_yard_version,
)
from yardplan.store.tables import BlockedRow, ChangeCountRow, CycleRow, FinishJobRow, MoldChangeRow, OrderRow
from yardplan.store.write import (
    add_logged_cycles,
    add_orders,
    add_plan,
    delete_order,
    update_order,
    write_setting,
    write_yard,
)
from yardplan.store.yard_tables import DutyRow

PAT = {"by": "Pat", "at": NOON}
KIM = {"by": "Kim", "at": NOON}


@pytest.fixture
def orders(database: Database) -> tuple[Order, ...]:
    """The orders of a small yard as the database has them."""
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
        return add_orders(session, small_orders(), **PAT)


@pytest.fixture
def other(url: str, database: Database) -> Iterator[Database]:
    """A second seat at the same database."""
    seat = open_database(url)
    yield seat
    seat.close()


def read_all(database: Database) -> tuple[object, ...]:
    with database.begin_read() as session:
        return read_yard(session), read_orders(session), read_change_count(session), read_audit(session)


@pytest.mark.parametrize("late", [update_order, delete_order])
def test_an_edit_of_an_order_that_changed_meanwhile_is_refused(
    database: Database, other: Database, orders: tuple[Order, ...], late: Callable[..., object]
) -> None:
    with other.begin() as session:
        update_order(session, replace(read_orders(session)[0], quantity=7), **KIM)
    before = read_all(database)
    with pytest.raises(ChangedElsewhere, match="order Y-1"), database.begin() as session:  # noqa: PT012 - as one use-case
        write_setting(session, "confidence", "0.5", **PAT)
        late(session, replace(orders[0], note="in vain"), **PAT)
    assert read_all(database) == before
    assert before[1][0].quantity == 7


@pytest.mark.parametrize("late", [update_order, delete_order])
def test_an_edit_of_an_order_that_is_gone_is_refused(
    database: Database, other: Database, orders: tuple[Order, ...], late: Callable[..., object]
) -> None:
    with other.begin() as session:
        delete_order(session, orders[0], **KIM)
    with pytest.raises(ChangedElsewhere, match="order Y-1"), database.begin() as session:
        late(session, orders[0], **PAT)


def test_an_edit_that_changes_nothing_is_compared_too(database: Database, orders: tuple[Order, ...]) -> None:
    with database.begin() as session:
        assert update_order(session, orders[0], **PAT).row_version == 2
    with pytest.raises(ChangedElsewhere), database.begin() as session:
        update_order(session, orders[0], **PAT)


def test_two_sessions_that_are_open_at_once(database: Database, orders: tuple[Order, ...]) -> None:
    # Not by `begin`, which lets writers take turns: both have the row in hand, and one comes second.
    reading = database._writing.execution_options(yardplan_reads_only=True)
    slow = Session(reading)
    slow.get(OrderRow, "Y-1")
    slow.commit()  # keeps the row, lets go of the database
    with database.begin() as session:
        update_order(session, replace(orders[0], quantity=7), **KIM)
    with pytest.raises(ChangedElsewhere):
        update_order(slow, replace(orders[0], quantity=8), **PAT)
    slow.close()


def test_a_yard_that_changed_meanwhile_is_not_overwritten(
    database: Database, other: Database, orders: tuple[Order, ...]
) -> None:
    with database.begin_read() as session:
        seen = read_yard_version(session)
    with other.begin() as session:
        write_yard(session, small_yard(2), seen_version=seen, **KIM)
    with pytest.raises(ChangedElsewhere, match="yard Test mesa"), database.begin() as session:
        write_yard(session, small_yard(3), seen_version=seen, **PAT)
    with database.begin() as session:
        assert read_yard(session) == small_yard(2)
        assert write_yard(session, small_yard(3), seen_version=seen + 1, **PAT) == seen + 2


def test_a_yard_that_was_never_there_cannot_have_been_seen(database: Database) -> None:
    with pytest.raises(ChangedElsewhere), database.begin() as session:
        write_yard(session, small_yard(), seen_version=3, **PAT)
    with database.begin() as session:
        assert write_yard(session, small_yard(), seen_version=0, **PAT) == 1


def test_a_yard_must_still_make_what_is_ordered(database: Database, orders: tuple[Order, ...]) -> None:
    no_bins = replace(small_yard(), products=small_yard().products[:1])
    before = read_all(database)
    with pytest.raises(InvalidField, match="order Y-2"), database.begin() as session:
        write_yard(session, no_bins, **PAT)
    assert read_all(database) == before
    with database.begin() as session:
        for order in orders[1:]:
            delete_order(session, order, **PAT)
        write_yard(session, no_bins, **PAT)
        assert read_yard(session) == no_bins


def test_orders_must_make_sense_in_the_yard(database: Database, orders: tuple[Order, ...]) -> None:
    fresh = Order("Y-4", "Invented Farm", "TANK", "sand", 1, NOON)
    before = read_all(database)
    for bad, told in (
        (replace(fresh, id="Y-1"), "no other order has"),
        (replace(fresh, id="Y-5", product_id="BOAT"), "BOAT"),
        (replace(fresh, id="Y-5", color="pink"), "pink"),
    ):
        with pytest.raises(InvalidField, match=told), database.begin() as session:
            add_orders(session, (fresh, bad), **PAT)
        assert read_all(database) == before
    with pytest.raises(InvalidField, match="pink"), database.begin() as session:
        update_order(session, replace(orders[0], color="pink"), **PAT)
    assert read_all(database) == before


def test_orders_need_a_yard(database: Database) -> None:
    with pytest.raises(NotThere, match="yard"), database.begin() as session:
        add_orders(session, small_orders(), **PAT)


def test_writers_take_turns(database: Database, other: Database) -> None:
    def plan_often(seat: Database) -> None:
        for _ in range(8):
            with seat.begin() as session:
                made(session, rich_outcome(), add_plan)
                write_setting(session, "confidence", "0.8", **PAT)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(plan_often, [database, other, database, other]))
    with database.begin_read() as session:
        assert plan_numbers(session) == tuple(range(1, 33))
        assert read_change_count(session) == 64


def test_a_reader_sees_one_moment_and_waits_for_nobody(database: Database, other: Database) -> None:
    with database.begin() as session:
        write_yard(session, small_yard(), **PAT)
    reads, written = Event(), Event()

    def write_meanwhile() -> None:
        with other.begin() as session:
            write_yard(session, rich_yard(), **KIM)
            reads.wait(30)
        written.set()

    with ThreadPoolExecutor(1) as pool:
        writing = pool.submit(write_meanwhile)
        with database.begin_read() as session:
            count = read_change_count(session)
            reads.set()
            assert written.wait(30)
            assert read_yard(session) == small_yard()
            assert read_change_count(session) == count == 1
        writing.result()
    with database.begin_read() as session:
        assert read_yard(session) == rich_yard()
        assert read_change_count(session) == 2


def test_a_writer_that_waits_too_long_is_told(url: str, database: Database, other: Database) -> None:
    shorter = "PRAGMA busy_timeout = 50" if url.startswith("sqlite") else "SET lock_timeout = 50"
    with database._writing.connect() as connection:
        connection.exec_driver_sql(shorter)
        connection.commit()
    with (
        other.begin(),
        pytest.raises(DatabaseUnreadable, match=re.compile("lock")),
        database.begin() as session,
    ):
        write_setting(session, "confidence", "0.8", **PAT)


def test_nothing_is_kept_if_anything_fails(database: Database, orders: tuple[Order, ...]) -> None:
    before = read_all(database)
    with pytest.raises(ZeroDivisionError), database.begin() as session:  # noqa: PT012 - as one use-case
        write_yard(session, small_yard(3), **PAT)
        update_order(session, replace(orders[1], quantity=99), **PAT)
        made(session, rich_outcome(), add_plan)
        add_logged_cycles(session, [logged(1)], **PAT)
        write_setting(session, "confidence", str(1 / 0), **PAT)
    assert read_all(database) == before
    with database.begin_read() as session:
        assert plan_numbers(session) == ()
        assert read_logged_cycles(session) == ()


def test_a_reading_session_keeps_nothing(database: Database) -> None:
    with database.begin_read() as session:
        session.merge(ChangeCountRow(number=1, count=77))
        session.flush()
    with database.begin_read() as session:
        assert read_change_count(session) == 0
        assert read_setting(session, "confidence") is None


CYCLE = {
    "order_id": "Y-1", "product_id": "TANK", "color": "sand", "mold": None, "chamber_id": "1A", "pieces": 1,
    "charge_slot": 0, "clean_slots": 0, "heat_slot": 0, "heat_end_slot": 0, "cool_end_slot": 0, "demold_slot": 0,
    "end_slot": 0, "charge_crew": (), "demold_crew": (), "locked": False,
}  # fmt: skip
MOLD = rich_outcome().plan.cycles[0].mold


@pytest.mark.parametrize(
    ("kind", "columns"),
    [
        (CycleRow, CYCLE | {"plan_number": 9, "id": "C1", "mold": MOLD}),
        (
            MoldChangeRow,
            {"plan_number": 9, "id": "X", "chamber_id": "1A", "mold_in": MOLD, "start_slot": 0, "end_slot": 1}
            | {"crew": (), "locked": False},
        ),
        (
            FinishJobRow,
            {"plan_number": 9, "id": "F", "cycle_id": "C1", "step_ix": 0, "bench_id": "W1", "operator_id": "P1"}
            | {"start_slot": 0, "end_slot": 1, "kwh": 0, "locked": False},
        ),
        (BlockedRow, {"plan_number": 9, "position": 0, "order_id": "Y-1", "why": "no_heat", "detail": ""}),
        (DutyRow, {"operator_id": "P1", "position": 9, "shift_id": "none", "weekdays": "0"}),
        (
            OrderRow,
            {"id": "Y-9", "entry": 9, "customer": "", "product_id": "BOAT", "color": "", "quantity": 1}
            | {"due_at": NOON, "priority": 1, "note": "", "row_version": 1},
        ),
    ],
)
def test_references_are_enforced_by_the_database_itself(
    database: Database, orders: tuple[Order, ...], kind: type, columns: dict[str, object]
) -> None:
    with pytest.raises(IntegrityError, match=re.compile("foreign key", re.IGNORECASE)), database.begin() as session:
        session.execute(insert(kind), [columns])


def test_a_time_without_its_offset_is_refused(database: Database) -> None:
    naive = NOON.replace(tzinfo=None)
    with pytest.raises(StatementError, match="no offset"), database.begin() as session:
        write_setting(session, "confidence", "0.8", by="Pat", at=naive)
    with pytest.raises(StatementError, match="no offset"), database.begin() as session:
        add_plan(
            session, rich_outcome(), made_at=naive, made_by="", confidence=0.8, heat_source="", fingerprint=""
        )  # fmt: skip
    with database.begin_read() as session:
        assert plan_numbers(session) == ()
        assert read_setting(session, "confidence") is None
