"""Logging into a database: blanks filled in, wrong entries refused with nothing changed, files all or nothing."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from random import Random

import pytest

from tests.day_streams import day_yard, end_of, legal_day
from tests.killed import yard_database
from tests.small_yard import at
from tests.store.rich_yard import rich_outcome
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import BadFile, Contradiction, ExpectedError, InvalidField, NotThere, PublishedMeanwhile
from yardplan.domain.events import Choice, Event, EventKind
from yardplan.domain.plan import Cycle, FinishJob, Plan
from yardplan.domain.slots import SlotGrid
from yardplan.domain.state import Phase, YardState
from yardplan.exchange.entries import Entry
from yardplan.store.archive import read_sun_readings
from yardplan.store.day import add_events, read_events
from yardplan.store.engine import Database, open_database
from yardplan.store.read import read_change_count
from yardplan.store.write import add_plan
from yardplan.usecases.logbook import all_logged_cycles, import_log, log_entry, log_sun, yard_state
from yardplan.usecases.publishing import publications, publish

K = EventKind
YARD = day_yard()
NOW = at(0, 16)
GRID = SlotGrid.of_days(NOW.date(), 1, day_yard().site.tz)


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    opened = yard_database(f"sqlite:///{tmp_path / 'yard.sqlite'}")
    yield opened
    opened.close()


def slot(hour: float) -> int:
    return GRID.slot(at(0, hour))


def plan_of_the_day() -> Plan:
    cycle = Cycle(
        "C007", "Y-1", "TANK", "sand", MoldCopy("M1", 1), "1A", 1, slot(9), 0, slot(9.25), slot(10.5), slot(11),
        slot(11), slot(11.25), ("P1",), ("P1",),
    )  # fmt: skip
    return Plan(GRID, (cycle,), (), (FinishJob("C007.1", "C007", 0, "W2", "P2", slot(15), slot(15.5), 0.3),))


def keep_plan(database: Database, plan: Plan, by: str = "Pat") -> int:
    outcome = replace(rich_outcome(), plan=plan, blocked=())
    told = {"made_at": at(0, 7), "made_by": by, "confidence": 0.8, "heat_source": "made up", "fingerprint": "0" * 64}
    with database.begin() as session:
        return add_plan(session, outcome, **told).number


def log(database: Database, kind: EventKind, hour: float, subject: str = "", **told: object) -> tuple[str, ...]:
    kept = log_entry(database, Entry(kind, subject, at=at(0, hour), **told), by="Pat", now=NOW, seat="tablet")
    return tuple(text for one in kept for text in one.differs)


def state(database: Database, hour: float = 16) -> YardState:
    return yard_state(database, now=at(0, hour))[0]


def content(database: Database) -> str:
    with closing(sqlite3.connect(database.url.removeprefix("sqlite:///"))) as connection:
        return sha256("\n".join(connection.iterdump()).encode()).hexdigest()


def test_a_day_by_the_plan_takes_one_word_and_one_name_for_each_entry(database: Database) -> None:
    publish(database, keep_plan(database, plan_of_the_day()), by="Pat", now=at(0, 7))
    assert log(database, K.CHARGE, 9.25, "1A") == ()
    assert log(database, K.HEAT, 9.3, "1A") == ()
    assert log(database, K.PIAT, 10.5, "1A") == ()
    assert log(database, K.DEMOLD, 11.25, "1A", good=1) == ()
    assert log(database, K.STEP, 15, cycle_id="C007") == ()
    assert log(database, K.DONE, 15.5, cycle_id="C007") == ()
    (made,) = state(database).cycles
    assert (made.planned_id, made.order_id, made.phase, made.good) == ("C007", "Y-1", Phase.FINISHED, 1)
    assert (made.steps[0].bench_id, made.steps[0].person, made.piat_c) == ("W2", "P2", 205.0)
    with database.begin_read() as session:
        events = read_events(session)
        (cycle,) = all_logged_cycles(session)
    assert {(event.by, event.seat, event.entered_at) for event in events} == {("Pat", "tablet", NOW)}
    assert cycle.id == made.id == "1A-0517-1"


def test_what_differs_from_the_plan_is_taken_and_told(database: Database) -> None:
    publish(database, keep_plan(database, plan_of_the_day()), by="Pat", now=at(0, 7))
    assert log(database, K.CHARGE, 11, "1A") == ("the plan has it heat from Mon May 17 09:15",)
    assert log(database, K.CHARGE, 9.25, "1B", order_id="Y-2") == ("the plan has no cycle of Y-2 in 1B now",)
    log(database, K.HEAT, 11.1, "1A")
    log(database, K.PIAT, 12, "1A", amount=203.0)
    log(database, K.DEMOLD, 13, "1A")
    told = log(database, K.STEP, 13.5, "W1", cycle_id="C007", person="P1")
    assert told == ("the plan has P2 do it at W2", "its rest is over at Mon May 17 15:00 only")


def test_without_a_plan_the_order_must_be_said(database: Database) -> None:
    with pytest.raises(InvalidField, match="say it with --order"):
        log(database, K.CHARGE, 9, "1A")
    with pytest.raises(NotThere, match="Y-9"):
        log(database, K.CHARGE, 9, "1A", order_id="Y-9")
    log(database, K.CHARGE, 9, "1A", order_id="Y-1")
    assert state(database).orders["Y-1"].in_chambers == 1


def test_a_correction_replaces_what_it_corrects_and_keeps_the_name_of_the_cycle(database: Database) -> None:
    log(database, K.CHARGE, 9, "1A", order_id="Y-1")
    log(database, K.HEAT, 9.5, "1A")
    log(database, K.CHARGE, 9.2, "1A", order_id="Y-1", corrects=1)
    (made,) = state(database).cycles
    assert (made.id, made.charged_at, made.phase) == ("1A-0517-1", at(0, 9.2), Phase.HEATING)
    log(database, K.DECIDE, 10, "1A", choice=Choice.SCRAP, reason="lost the sun")
    log(database, K.DEMOLD, 11, "1A")
    log(database, K.VOID, 12, corrects=5)
    assert state(database).cycles[0].phase is Phase.LOST
    with pytest.raises(NotThere, match="entry of the log '99'"):
        log(database, K.VOID, 12, corrects=99)


def test_what_is_still_to_come_is_refused(database: Database) -> None:
    with pytest.raises(Contradiction, match="still to come: look at the time"):
        log(database, K.WASH, 16.1, "U1")


def test_a_reading_of_the_sun_by_hand_is_kept_with_those_of_instruments(database: Database) -> None:
    log_sun(database, 640.0, by="Pat", at=at(0, 10))
    with database.begin_read() as session:
        (reading,) = read_sun_readings(session, start_at=at(0, 0), end_at=at(0, 23))
    assert (reading.start_at, reading.end_at, reading.dni_w_m2) == (at(0, 10) - timedelta(minutes=10), at(0, 10), 640.0)


def illegal(rng: Random, state: YardState, now: datetime) -> Entry:
    """Something that cannot be true in this state."""
    empty = [name for name, chamber in state.chambers.items() if chamber.cycle is None]
    turning = {name: chamber.cycle for name, chamber in state.chambers.items() if chamber.cycle}
    hung = {name: chamber.mold for name, chamber in state.chambers.items() if chamber.mold}
    name = rng.choice(list(hung))
    found = [
        Entry(K.MOLD, rng.choice([other for other in state.chambers if other != name]), mold=hung[name]),
        Entry(K.CHARGE, name, mold=next(copy for copy in YARD.mold_copies if copy != hung[name]), order_id="Y-2"),
        Entry(K.CHARGE, "9X", order_id="Y-1"),
        Entry(K.RESIN, "R-GOLD", amount=5.0),
        Entry(K.WASH, "U9"),
        Entry(K.BACK, "P2"),
        Entry(K.UP, "1A"),
        Entry(K.VOID, corrects=10_000),
        Entry(K.HEAT, rng.choice(list(state.chambers)), at=now + timedelta(minutes=1)),
        Entry(K.PIECES, cycle_id="nobody", good=1),
        Entry(K.DONE, "W1", cycle_id="nobody", person="P1"),
    ]  # fmt: skip
    for chamber in empty:
        found += [Entry(kind, chamber) for kind in (K.HEAT, K.HOLD, K.DEMOLD)]
        found += [Entry(K.PIAT, chamber, amount=200.0), Entry(K.DECIDE, chamber, choice=Choice.WAIT)]
    for chamber, made in turning.items():
        found += [Entry(K.CHARGE, chamber, order_id=made.order_id), Entry(K.MOLD, chamber, mold=MoldCopy("M2", 3))]
        found += [Entry(K.PIECES, cycle_id=made.id, good=1), Entry(K.STEP, "W1", cycle_id=made.id, person="P1")]
        if made.phase is Phase.CHARGED:
            found += [Entry(K.PIAT, chamber, amount=200.0), Entry(K.DEMOLD, chamber), Entry(K.HOLD, chamber)]
        elif made.phase is Phase.HEATING:
            found += [Entry(K.HEAT, chamber), Entry(K.DEMOLD, chamber)]
        elif made.phase is Phase.COOLING:
            found += [Entry(K.HEAT, chamber), Entry(K.PIAT, chamber, amount=200.0), Entry(K.HOLD, chamber)]
    for made in state.cycles:
        if made.demolded_at:
            found.append(Entry(K.PIECES, cycle_id=made.id, good=made.cavities, scrapped=1))
            found.append(Entry(K.STEP, "W1", cycle_id=made.id, step_ix=1, person="P1"))
        if made.phase is Phase.FINISHED and made.steps:
            found.append(Entry(K.DONE, "W1", cycle_id=made.id, step_ix=0, person="P1"))
    return rng.choice(found)


def test_five_hundred_illegal_days_are_refused_with_a_reason_and_nothing_is_kept(database: Database) -> None:
    reasons, kinds = set(), set()
    path = database.url.removeprefix("sqlite:///")
    watch = sqlite3.connect(path)
    for seed in range(500):
        rng = Random(seed)
        events = legal_day(seed, rng.randint(0, 16) or 1)
        with database.begin() as session:
            add_events(session, events)
        now = end_of(events)
        before = watch.execute("pragma data_version").fetchone()
        wrong = illegal(rng, state_at(database, now), now)
        with pytest.raises(ExpectedError) as refused:
            log_entry(database, wrong, by="Pat", now=now)
        assert len(str(refused.value)) > 20
        reasons.add(type(refused.value))
        kinds.add(wrong.kind)
        assert watch.execute("pragma data_version").fetchone() == before, (seed, wrong)  # counts what others commit
        with sqlite3.connect(path) as connection:
            connection.execute("delete from log_event")
        connection.close()
    watch.close()
    assert reasons == {Contradiction, NotThere}
    assert len(kinds) > 12


def state_at(database: Database, now: datetime) -> YardState:
    return yard_state(database, now=now)[0]


# --- files -------------------------------------------------------------------------------------------------------

ROWS = """time,event,what,order,good,scrapped,reason
2027-05-17 11:15,demold,1A,,0,1,bubbles
2027-05-17 09:00,charge,1A,Y-1,,,
2027-05-17 09:20,heat,1A,,,,
2027-05-17 10:40,piat,1A,,,,
"""


def test_a_unit_s_own_records_come_in_by_time_whatever_their_order(database: Database, tmp_path: Path) -> None:
    file = tmp_path / "unit.csv"
    file.write_text(ROWS)
    assert import_log(database, file, by="Pat", at=NOW) == "unit.csv: 5 entries of the log, 1 differ from the plan"
    (made,) = state(database).cycles
    assert (made.good, made.scrapped, made.reason, made.phase) == (0, 1, "bubbles", Phase.FINISHED)


def test_a_file_with_bad_rows_lists_them_all_and_nothing_is_taken(database: Database, tmp_path: Path) -> None:
    file, before = tmp_path / "unit.csv", content(database)
    file.write_text(ROWS.replace("10:40,piat", "10:40,pait") + "2027-05-17 12:00,demold,3C,,x,,\n")
    with pytest.raises(BadFile) as error:
        import_log(database, file, by="Pat", at=NOW)
    assert [(problem.row, problem.column) for problem in error.value.problems] == [(5, "event"), (6, "good")]
    file.write_text(ROWS.replace("10:40", "09:10") + "2027-05-17 23:00,wash,U1,,,,\n")
    with pytest.raises(BadFile) as error:
        import_log(database, file, by="Pat", at=NOW)
    told = {problem.row: problem.text for problem in error.value.problems}
    assert set(told) == {2, 5, 6}
    assert "log the start of heating first" in told[5]
    assert "still to come" in told[6]
    assert content(database) == before


# --- publishing --------------------------------------------------------------------------------------------------


def test_the_second_publisher_is_told_what_changed_and_nothing_changes(database: Database) -> None:
    one, two = (keep_plan(database, plan_of_the_day(), by) for by in ("Pat", "Kim"))
    publish(database, two, by="Kim", now=at(0, 8), seat="office", reason="clouds")
    before = content(database)
    with pytest.raises(PublishedMeanwhile, match=r"Kim put plan 2 into force since it was made \(clouds\)"):
        publish(database, one, by="Pat", now=at(0, 9))
    assert content(database) == before
    with pytest.raises(NotThere, match="known are 1, 2"):
        publish(database, 7, by="Pat", now=at(0, 9))
    publish(database, one, by="Pat", now=at(0, 9), anyway=True)
    three = keep_plan(database, plan_of_the_day())
    publish(database, three, by="Pat", now=at(0, 10))
    assert [row.plan_number for row in publications(database)] == [2, 1, 3]
    assert yard_state(database, now=NOW)[2].number == 3


def test_two_seats_that_log_at_once_lose_nothing(database: Database) -> None:
    from concurrent.futures import ThreadPoolExecutor

    def seat(name: str) -> None:
        own = open_database(database.url)
        for number in range(15):
            log_entry(own, Entry(K.NOTE, "U1", reason=f"{name} {number}"), by=name, now=NOW, seat=name)
        own.close()

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(seat, ["Pat", "Kim"]))
    with database.begin_read() as session:
        events, count = read_events(session), read_change_count(session)
    assert [event.number for event in events] == list(range(1, 31))
    assert {event.reason for event in events} == {f"{name} {n}" for name in ("Pat", "Kim") for n in range(15)}
    assert count >= 30


def test_events_read_back_as_they_were_written(database: Database) -> None:
    fresh = [replace(event, number=0) for seed in range(20) for event in legal_day(seed)]
    fresh.append(Event(K.DOWN, NOW, NOW, "Pat", subject="U1", until_at=NOW + timedelta(hours=1), reason="belt"))
    with database.begin() as session:
        kept = add_events(session, fresh)
    with database.begin_read() as session:
        assert read_events(session) == kept
