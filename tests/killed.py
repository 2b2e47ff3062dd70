"""A seat that is killed at a random moment while it logs and publishes, and what must be there afterward.

    python -m tests.killed URL SEED

is the seat: it tells each thing on a line once it is kept, until it is killed.
"""

import os
import signal
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from random import Random
from time import sleep

from tests.day_streams import day_yard
from tests.small_yard import at, small_orders
from tests.store.rich_yard import rich_outcome
from yardplan.domain.events import EventKind
from yardplan.domain.history import state_of
from yardplan.exchange.entries import Entry
from yardplan.store.day import read_events, read_publications
from yardplan.store.engine import Database, open_database
from yardplan.store.read import plan_numbers, read_plan
from yardplan.store.write import add_orders, add_plan, write_yard
from yardplan.usecases.logbook import log_entry
from yardplan.usecases.publishing import publish

ROUND = (EventKind.CHARGE, EventKind.HEAT, EventKind.PIAT, EventKind.DEMOLD)


def yard_database(url: str) -> Database:
    database = open_database(url)
    with database.begin() as session:
        write_yard(session, day_yard(), by="test", at=at(0, 6))
        add_orders(session, small_orders(), by="test", at=at(0, 6))
    return database


def seat(url: str, seed: int) -> None:
    """Log cycles of 1A and publish plans until somebody kills it; each line tells what was kept."""
    database, rng = open_database(url), Random(seed)
    with database.begin_read() as session:
        done = sum(event.kind in ROUND for event in read_events(session))
    print("ready", flush=True)  # noqa: T201 - the other side waits for it
    while True:
        now = at(0, 8) + timedelta(minutes=30 * done)
        order = "Y-1" if ROUND[done % 4] is EventKind.CHARGE else ""
        (kept, *_) = log_entry(database, Entry(ROUND[done % 4], "1A", order_id=order), by="seat", now=now)
        done += 1
        print("logged", kept.event.number, flush=True)  # noqa: T201 - the other side counts what it was told
        if rng.random() < 0.3:
            with database.begin() as session:
                stored = add_plan(
                    session, replace(rich_outcome(), seed=seed), made_at=now, made_by="seat", confidence=0.8,
                    heat_source="made up", fingerprint="0" * 64,
                )  # fmt: skip
            print("planned", stored.number, flush=True)  # noqa: T201 - the other side counts what it was told
            published = publish(database, stored.number, by="seat", now=now)
            print("published", published.number, flush=True)  # noqa: T201 - the other side counts what it was told


def kill_and_look(folder: Path, times: int, seed: int = 0) -> int:
    """Kill a seat so often, each time at a random moment, and look at what it left; returns what it kept in all."""
    url, rng = f"sqlite:///{folder / 'yard.sqlite'}", Random(seed)
    yard_database(url).close()
    whole, told_in_all = rich_outcome().plan, 0
    for number in range(times):
        words = [sys.executable, "-m", "tests.killed", url, str(number)]
        with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=os.environ) as child:
            assert child.stdout is not None
            assert child.stdout.readline() == "ready\n"
            sleep(rng.uniform(0.0, 0.4))
            child.send_signal(signal.SIGKILL)
            told = [line.split() for line in child.stdout.read().splitlines()]
        assert child.returncode == -signal.SIGKILL
        database = open_database(url)
        with database.begin_read() as session:
            events, publications, plans = read_events(session), read_publications(session), plan_numbers(session)
            for plan_number in plans:
                stored = read_plan(session, plan_number)
                assert stored is not None
                assert stored.outcome.plan == whole  # whole, or not there at all
        database.close()
        assert [event.number for event in events] == list(range(1, len(events) + 1))
        assert not state_of(day_yard(), None, events, max((e.at for e in events), default=at(0, 8))).doubts
        assert {row.plan_number for row in publications} <= set(plans)
        kept = {"logged": len(events), "planned": len(plans), "published": len(publications)}
        for what, last in told:
            assert int(last) <= kept[what], f"{what} {last} was acknowledged and is gone"
        told_in_all += len(told)
    return told_in_all


if __name__ == "__main__":
    seat(sys.argv[1], int(sys.argv[2]))
