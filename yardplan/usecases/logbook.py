"""Log what happens in the yard, and tell how the yard stands."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from yardplan.domain.adherence import Adherence, adherence
from yardplan.domain.errors import BadFile, Contradiction, ExpectedError, InvalidField, NotThere, RowProblem
from yardplan.domain.events import Event, EventKind
from yardplan.domain.history import admit, clock_words, state_of
from yardplan.domain.log import LoggedCycle, SunReading
from yardplan.domain.orders import Order
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import Cycle, Plan
from yardplan.domain.slots import zone
from yardplan.domain.state import YardState, carries_out, logged_cycles
from yardplan.domain.yard import Yard
from yardplan.exchange.entries import Entry, read_entries
from yardplan.store.archive import add_sun_readings
from yardplan.store.day import add_events, read_events, read_publications
from yardplan.store.engine import Database, Session
from yardplan.store.read import has_yard, read_logged_cycles, read_orders, read_plan, read_yard

NEAR = timedelta(hours=12)
"""A planned cycle further off than that is not the one that is being made."""

OFF_PLAN = timedelta(minutes=30)
"""From then on a start counts as different from the plan (own assumption)."""

READING_MIN = 10
"""For how long a reading of the sun by hand stands."""


_IN_CHAMBER = (
    *(EventKind.CHARGE, EventKind.HEAT, EventKind.HOLD, EventKind.PIAT),
    *(EventKind.DEMOLD, EventKind.DECIDE, EventKind.MOLD),
)


@dataclass(frozen=True)
class Logged:
    """An entry that was kept, and in words what of it is different from the plan."""

    event: Event
    differs: tuple[str, ...]


@dataclass(frozen=True)
class Book:
    """Everything that an entry is judged by, as of one moment."""

    yard: Yard
    orders: tuple[Order, ...]
    events: tuple[Event, ...]
    plan: Plan | None

    def state(self, now: datetime) -> YardState:
        """Return how the yard stands."""
        return state_of(self.yard, self.plan, self.events, now)


def log_entry(database: Database, entry: Entry, *, by: str, now: datetime, seat: str = "") -> tuple[Logged, ...]:
    """Keep what a person says happened; blanks are filled in from the yard and the plan in force.

    Returns
    -------
    tuple of Logged
        The entries that were kept: a demolding that tells pieces is two of them.

    Raises
    ------
    Contradiction
        If it cannot be true beside the other entries, or by physics. Nothing was kept.
    InvalidField, NotThere
        If it names what is not there, or leaves open what must be told.
    """
    with database.begin() as session:
        book = read_book(database, session)
        fresh = filled(book, entry, by=by, now=now, seat=seat)
        admit(book.yard, book.events, _numbered(book, [one.event for one in fresh]))
        kept = add_events(session, [one.event for one in fresh])
    return tuple(Logged(event, one.differs) for event, one in zip(kept, fresh, strict=True))


def log_sun(database: Database, dni_w_m2: float, *, by: str, at: datetime) -> SunReading:
    """Keep a reading of the direct light, which holds for the ten minutes up to `at`; it pulls the outlook of today.

    Readings of the sun are kept with those of instruments, not among the entries: outlooks have one place to look.
    """
    reading = SunReading(at - timedelta(minutes=READING_MIN), READING_MIN, dni_w_m2, f"by hand, {by}")
    with database.begin() as session:
        add_sun_readings(session, [reading], by=by, at=at)
    return reading


def import_log(database: Database, path: Path, *, by: str, at: datetime, seat: str = "") -> str:
    """Keep a unit's own records from a file, all or none; returns what was taken, in words.

    Raises
    ------
    BadFile
        Lists every bad row, also those that contradict the log.
    """
    with database.begin() as session:
        book = read_book(database, session)
        taken: list[Event] = []
        problems: list[RowProblem] = []
        rows, differs = read_entries(path, zone(book.yard.site.tz)), 0
        for row, entry in rows:
            try:
                fresh = filled(book, entry, by=by, now=at, seat=seat)
                numbered = _numbered(book, [one.event for one in fresh])
                admit(book.yard, book.events, numbered)
            except ExpectedError as error:
                problems.append(RowProblem(row, "", str(error)))
                continue
            differs += any(one.differs for one in fresh)
            taken += numbered
            book = replace(book, events=(*book.events, *numbered))
        if problems:
            raise BadFile(path, tuple(problems))
        add_events(session, taken)
    return f"{path.name}: {len(taken)} entries of the log" + (f", {differs} differ from the plan" if differs else "")


def newest_entries(database: Database, count: int = 20) -> tuple[tuple[Event, ...], Yard]:
    """Return the newest entries as they came in, the last one last, and the yard."""
    with database.begin_read() as session:
        book = read_book(database, session)
    return book.events[-count:] if count else (), book.yard


def yard_state(database: Database, *, now: datetime) -> tuple[YardState, Yard, StoredPlan | None]:
    """Return how the yard stands, the yard, and the plan in force (None where none was published)."""
    with database.begin_read() as session:
        book, stored = read_book(database, session), plan_in_force(session)
    return book.state(now), book.yard, stored


def plan_adherence(database: Database, *, now: datetime) -> tuple[Adherence, StoredPlan]:
    """Return how far the plan in force was kept until now, and that plan; raises `NotThere` where none is in force."""
    with database.begin_read() as session:
        book, stored = read_book(database, session), plan_in_force(session)
    if stored is None:
        raise NotThere("plan in force", "", "publish one with `yardplan publish N`")
    return adherence(book.yard, stored.outcome.plan, book.state(now), book.events), stored


def read_book(database: Database, session: Session) -> Book:
    """Return everything that an entry is judged by; raises `NotThere` where there is no yard."""
    if not has_yard(session):
        raise NotThere("yard", database.url, "bring one in with `yardplan import yard` first")
    stored = plan_in_force(session)
    return Book(read_yard(session), read_orders(session), read_events(session), stored.outcome.plan if stored else None)


def plan_in_force(session: Session) -> StoredPlan | None:
    """Return the plan that was published last, None where none was."""
    publications = read_publications(session)
    return read_plan(session, publications[-1].plan_number) if publications else None


def all_logged_cycles(session: Session) -> tuple[LoggedCycle, ...]:
    """Return all cycles that were made: those of history that was brought in, then those that the log tells."""
    yard, events = read_yard(session), read_events(session)
    history = read_logged_cycles(session)
    if not events:
        return history
    state = state_of(yard, None, events, max(event.at for event in events))
    return history + logged_cycles(state.cycles)


def filled(book: Book, entry: Entry, *, by: str, now: datetime, seat: str) -> tuple[Logged, ...]:
    """Return the events that an entry comes to, with its blanks filled in, and how they differ from the plan."""
    at = entry.at or now
    if at > now:
        why = f"{clock_words(book.yard, at)} is still to come: look at the time, and at the clock of this seat"
        raise Contradiction(f"{entry.kind} {entry.subject}".strip(), why)
    old = _corrected(book, entry.corrects)
    if old is not None:  # what it comes to is judged as if the wrong entry were not there
        book = replace(book, events=tuple(event for event in book.events if event.number not in old))
    state = book.state(at)
    told: dict[str, Any] = dict(vars(entry))
    told |= {"at": at, "entered_at": now, "by": by, "seat": seat}
    differs: list[str] = []
    kind, chamber = entry.kind, state.chambers.get(entry.subject)
    running = chamber.cycle if chamber else None
    if kind in _IN_CHAMBER and chamber is None:
        raise NotThere("chamber", entry.subject, f"known are {', '.join(state.chambers)}")
    if kind is EventKind.CHARGE:
        told |= _charge(book, state, entry, at, differs)
        if old and (was := next((event.cycle_id for event in old.values() if event.cycle_id), "")):
            told["cycle_id"] = was
    elif kind is EventKind.PIAT and entry.amount is None:
        if running is None:
            raise Contradiction(
                f"piat {entry.subject}", f"nothing is charged in {entry.subject}: log its charging first"
            )
        told["amount"] = book.yard.product(running.product_id).piat_c
    elif kind is EventKind.PIECES and not entry.cycle_id:
        told |= {"subject": "", "cycle_id": _last_out(state, entry.subject)}
    elif kind in (EventKind.STEP, EventKind.DONE):
        told |= _step(book, state, entry, differs)
    if kind is EventKind.PIECES:
        told["subject"] = ""
    counts = {name: told.pop(name) for name in ("good", "scrapped", "rework")}
    has_counts = any(count is not None for count in counts.values())
    if kind is EventKind.PIECES:
        told |= {name: count or 0 for name, count in counts.items()}
    first = Logged(Event(**told), tuple(differs))
    if kind is not EventKind.DEMOLD or not has_counts or running is None:
        return (first,)
    pieces = {name: told[name] for name in ("at", "entered_at", "by", "seat", "reason")}
    pieces |= {name: count or 0 for name, count in counts.items()}
    return first, Logged(Event(EventKind.PIECES, cycle_id=running.id, **pieces), ())


def _charge(book: Book, state: YardState, entry: Entry, at: datetime, differs: list[str]) -> dict[str, object]:
    chamber = state.chambers[entry.subject]
    mold = entry.mold or chamber.mold
    planned = _planned(book, state, entry, at)
    order_id = entry.order_id or (planned.order_id if planned else "")
    if not order_id:
        told = "and the plan in force has none due there now: say it with --order"
        raise InvalidField("charge", entry.subject, "order", "", f"the order that it is for, {told}")
    order = next((order for order in book.orders if order.id == order_id), None)
    if order is None:
        raise NotThere("order", order_id, f"known are {', '.join(order.id for order in book.orders)}")
    if planned is None or planned.order_id != order_id:
        differs.append(f"the plan has no cycle of {order_id} in {entry.subject} now")
    else:
        grid = book.plan.grid if book.plan else None
        if grid and abs(grid.at(planned.heat_slot) - at) > OFF_PLAN:
            differs.append(f"the plan has it heat from {clock_words(book.yard, grid.at(planned.heat_slot))}")
        if mold is not None and planned.mold != mold:
            differs.append(f"the plan has mold {planned.mold} for it")
    is_planned = planned is not None and planned.order_id == order_id
    return {
        "mold": mold,
        "order_id": order_id,
        "product_id": order.product_id,
        "color": order.color,
        "planned_id": planned.id if planned is not None and is_planned else "",
        "cycle_id": _fresh_id(book, entry.subject, at),
    }


def _planned(book: Book, state: YardState, entry: Entry, at: datetime) -> Cycle | None:
    """Return the planned cycle that is charged: the first in the chamber that was not made, of the order if said."""
    if book.plan is None:
        return None
    grid = book.plan.grid
    open_rows = [
        row
        for row in book.plan.cycles
        if row.chamber_id == entry.subject
        and abs(grid.at(row.charge_slot) - at) < NEAR
        and not any(carries_out(cycle, row, grid.at(row.charge_slot)) for cycle in state.cycles)
    ]
    of_order = [row for row in open_rows if entry.order_id in ("", row.order_id)]
    return next(iter(of_order or open_rows), None)


def _fresh_id(book: Book, chamber_id: str, at: datetime) -> str:
    stem = f"{chamber_id}-{at.astimezone(zone(book.yard.site.tz)):%m%d}"
    count = sum(event.cycle_id.startswith(f"{stem}-") for event in book.events if event.kind is EventKind.CHARGE)
    return f"{stem}-{count + 1}"


def _last_out(state: YardState, chamber_id: str) -> str:
    out = [cycle for cycle in state.cycles if cycle.chamber_id == chamber_id and cycle.demolded_at]
    if not out:
        raise InvalidField("pieces", chamber_id, "cycle", "", "a cycle that was demolded; none was in this chamber")
    return max(out, key=lambda cycle: cycle.demolded_at or cycle.charged_at).id


def _step(book: Book, state: YardState, entry: Entry, differs: list[str]) -> dict[str, object]:
    """Return cycle, step, bench and operator of a finishing step: what is open, else what the plan has."""
    cycle = next((one for one in state.cycles if entry.cycle_id in (one.id, one.planned_id) and entry.cycle_id), None)
    if cycle is None:
        waiting = ", ".join(one.id for one in state.finishing) or "none"
        raise NotThere("made cycle", entry.cycle_id, f"waiting for finishing are {waiting}")
    done = sum(step.done_at is not None for step in cycle.steps)
    ix = done if entry.step_ix is None else entry.step_ix
    begun = next((step for step in cycle.steps if step.step_ix == ix), None)
    rows = book.plan.finishing if book.plan else ()
    job = next((row for row in rows if (row.cycle_id, row.step_ix) == (cycle.planned_id, ix)), None)
    bench = entry.subject or (begun.bench_id if begun else job.bench_id if job else "")
    person = entry.person or (begun.person if begun else job.operator_id if job else "")
    if job is not None and begun is None and (job.bench_id, job.operator_id) != (bench, person):
        differs.append(f"the plan has {job.operator_id} do it at {job.bench_id}")
    product = next((one for one in book.yard.products if one.id == cycle.product_id), None)
    if product and cycle.demolded_at and ix == 0 and product.routing and begun is None:
        rested_at = cycle.demolded_at + timedelta(minutes=product.routing[0].rest_min)
        if (entry.at or state.now) < rested_at:
            differs.append(f"its rest is over at {clock_words(book.yard, rested_at)} only")
    return {"cycle_id": cycle.id, "step_ix": ix, "subject": bench, "person": person}


def _corrected(book: Book, number: int | None) -> dict[int, Event] | None:
    """Return the entry that is corrected with all that it corrected in its turn, None where nothing is."""
    if number is None:
        return None
    known, found = {event.number: event for event in book.events}, dict[int, Event]()
    if number not in known:
        raise NotThere("entry of the log", str(number), "see their numbers with `yardplan log`")
    while number is not None and number in known:
        found[number] = known[number]
        number = known[number].corrects
    return found


def _numbered(book: Book, events: Sequence[Event]) -> tuple[Event, ...]:
    first = max((event.number for event in book.events), default=0) + 1
    return tuple(replace(event, number=first + ix) for ix, event in enumerate(events))
