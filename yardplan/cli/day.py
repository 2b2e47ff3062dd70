"""Commands of the day: what happened, and how the yard stands."""

from dataclasses import replace
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Annotated

import typer

from yardplan.cli.asking import AsJson, Db, app, opened, person, say, stopping
from yardplan.cli.files import import_app
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import InvalidField
from yardplan.domain.events import Choice, EventKind
from yardplan.domain.slots import clock_instants, zone
from yardplan.exchange.entries import Entry

FORMS = """charge 2B · heat 2B · hold 2B · piat 2B · demold 2B · pieces 2B --good 3 --scrapped 1 --reason bubbles ·
decide 2B wait|finish|accept|scrap · step CYCLE · done CYCLE · mold 2B M03#2 · down U2 --until 13:00 · up U2 ·
stow [U1] · unstow [U1] · wash U2 · resin ITEM 3500 · count ITEM 3100 · absent OP03 · back OP03 · sun 640 ·
note "text" --on U2 · void 17. Without words: the newest entries."""

SUN = "sun"

Seat = Annotated[str, typer.Option(envvar="YARDPLAN_SEAT", help="Where it is put in, such as tablet 2.")]

_KIND = {str(word): word for word in EventKind}


@app.command(epilog=FORMS)
def log(
    words: Annotated[list[str] | None, typer.Argument(metavar="[WHAT HAPPENED...]", help="Such as: piat 2B")] = None,
    db: Db = "",
    as_json: AsJson = False,
    at: Annotated[str, typer.Option("--at", help="When, such as 11:42, or 2027-05-18 11:42; default: now.")] = "",
    until: Annotated[str, typer.Option("--until", help="Until when it will last, such as 13:00.")] = "",
    order: Annotated[str, typer.Option(help="The order that a charge is for, if not the planned one.")] = "",
    mold: Annotated[str, typer.Option(help="The mold that is charged, if not the one that hangs there.")] = "",
    cycle: Annotated[str, typer.Option(help="The cycle that pieces are of, if not the chamber's last one.")] = "",
    step: Annotated[int | None, typer.Option(help="Which finishing step; default: the next one.")] = None,
    bench: Annotated[str, typer.Option(help="Where it is done, if not as planned.")] = "",
    who: Annotated[str, typer.Option(help="Who does it, if not as planned.")] = "",
    good: Annotated[int | None, typer.Option(min=0)] = None,
    scrapped: Annotated[int | None, typer.Option(min=0)] = None,
    rework: Annotated[int | None, typer.Option(min=0)] = None,
    air_c: Annotated[float | None, typer.Option("--air", help="Inside air at the peak [C].")] = None,
    on: Annotated[str, typer.Option(help="What a note is about: a unit, an order, anything.")] = "",
    reason: Annotated[str, typer.Option(help="Why, in a few words.")] = "",
    corrects: Annotated[int | None, typer.Option(help="Number of the wrong entry that this one replaces.")] = None,
    seat: Seat = "",
) -> None:
    """Log what happened, or see what was logged last; exit status 2 if it cannot be true."""
    from yardplan.exchange.log_words import event_words, log_document
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.logbook import log_entry, log_sun, newest_entries

    with opened(db) as database:
        now = yard_now(database)
        if not words:
            events, yard = newest_entries(database)
            say(
                as_json,
                lambda: log_document(events, yard, generated_at=now),
                lambda: "\n".join(event_words(event, yard) for event in events) or "nothing was logged yet",
            )
            return
        _, yard = newest_entries(database, 0)
        tz = yard.site.tz
        at_instant = _instant(at, now, tz) if at else None
        if words[0] == SUN:
            reading = log_sun(database, _number(words, 1), by=person(), at=at_instant or now)
            typer.echo(f"kept: {reading.dni_w_m2:g} W/m2 for the {reading.step_min} min before", err=as_json)
            return
        if words[0] not in _KIND:
            raise InvalidField("log entry", words[0], "event", words[0], f"one of {', '.join([*_KIND, SUN])}")
        kind, rest = _KIND[words[0]], words[1:]
        entry = Entry(
            kind,
            at=at_instant,
            mold=_copy(mold) if mold else None,
            order_id=order,
            cycle_id=cycle,
            step_ix=None if step is None else step - 1,
            person=who,
            good=good,
            scrapped=scrapped,
            rework=rework,
            amount=air_c,
            until_at=_instant(until, now, tz, ahead=True) if until else None,
            reason=reason,
            corrects=corrects,
        )
        kept = log_entry(database, _said(entry, rest, bench, on), by=person(), now=now, seat=seat)
        say(
            as_json,
            lambda: (
                log_document([one.event for one in kept], yard, generated_at=now)
                | {"differs": [text for one in kept for text in one.differs]}
            ),
            lambda: "\n".join(
                event_words(one.event, yard) + "".join(f"\n       differs: {text}" for text in one.differs)
                for one in kept
            ),
        )


@app.command("now")
def now_command(db: Db = "", as_json: AsJson = False) -> None:
    """Tell how the yard stands by what was logged: chambers, pieces, finishing, stock, who and what is missing."""
    from yardplan.exchange.log_words import state_document, state_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.logbook import yard_state

    with opened(db) as database:
        state, yard, stored = yard_state(database, now=yard_now(database))
        say(as_json, lambda: state_document(state, yard, stored), lambda: state_words(state, yard, stored))


@app.command("adherence")
def adherence_command(db: Db = "", as_json: AsJson = False) -> None:
    """Tell what of the plan in force was made until now, by day, unit and order, and why it differs."""
    from yardplan.exchange.log_words import adherence_document, adherence_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.logbook import newest_entries, plan_adherence

    with opened(db) as database:
        now = yard_now(database)
        found, stored = plan_adherence(database, now=now)
        _, yard = newest_entries(database, 0)
        document = adherence_document(found, stored.number, yard, generated_at=now)
        say(as_json, lambda: document, lambda: adherence_words(document))


@app.command("publish")
def publish_command(
    number: Annotated[int | None, typer.Argument(help="Plan version; without one: see what is in force.")] = None,
    db: Db = "",
    as_json: AsJson = False,
    reason: Annotated[str, typer.Option(help="Why, in a few words.")] = "",
    anyway: Annotated[bool, typer.Option("--anyway", help="Although another plan came into force meanwhile.")] = False,
    seat: Seat = "",
) -> None:
    """Put a plan version into force, or see which one is and which were; older versions stay readable."""
    from yardplan.exchange.log_words import publications_document, publications_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.logbook import newest_entries
    from yardplan.usecases.publishing import publications, publish

    with opened(db) as database:
        now = yard_now(database)
        if number is not None:
            publish(database, number, by=person(), now=now, seat=seat, reason=reason, anyway=anyway)
        found, (_, yard) = publications(database), newest_entries(database, 0)
        say(
            as_json,
            lambda: publications_document(found, yard, generated_at=now),
            lambda: publications_words(found, yard),
        )


@app.command("replan")
def replan_command(
    db: Db = "",
    as_json: AsJson = False,
    at: Annotated[str, typer.Option("--at", help="From when, such as 10:40; default: now.")] = "",
    seconds: Annotated[float, typer.Option("--seconds", min=0.1, max=3600, help="How long to search.")] = 15,
    frozen: Annotated[int, typer.Option("--frozen", min=0, help="What begins so soon stays as it is [min].")] = 30,
    air: Annotated[
        list[str] | None, typer.Option("--air", metavar="CHAMBER=C", help="Inside air of a running cook.")
    ] = None,
    seed: Annotated[int, typer.Option(help="Seed of the search.")] = 0,
) -> None:
    """Plan anew from now: what runs goes on, several ways stand side by side, and nothing is published by itself."""
    from yardplan.exchange.replan_document import replan_document, replan_words, way_row
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.logbook import newest_entries
    from yardplan.usecases.replanning import Way, replan

    def told(way: Way) -> None:
        typer.echo(f"  {way.name}: {way.parts.late_orders} late or unfinished by weight", err=True)

    with opened(db) as database, stopping() as stop:
        now = yard_now(database)
        if at:
            _, yard = newest_entries(database, 0)
            now = _instant(at, now, yard.site.tz)
        read = [text.partition("=") for text in air or ()]
        found = replan(
            database,
            now=now,
            by=person(),
            seconds=seconds,
            frozen_min=frozen,
            air_c={chamber: _number([chamber, value], 1) for chamber, _, value in read},
            seed=seed,
            stop=stop,
            on_way=told,
        )
        ways = [way_row(found.problem, **vars(way)) for way in found.ways]
        document = replan_document(found.problem, ways, found.told, base=found.base.number, generated_at=now)
        say(as_json, lambda: document, lambda: replan_words(document))


@import_app.command("log")
def import_log_command(file: Path, db: Db = "") -> None:
    """Add a unit's own records, a CSV or XLSX with time, event, what and more, to the log: all rows or none."""
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.logbook import import_log

    with opened(db) as database:
        typer.echo(f"taken: {import_log(database, file, by=person(), at=yard_now(database))}")


def _said(entry: Entry, rest: list[str], bench: str, on: str) -> Entry:
    """Put the words after the first one where they belong."""
    kind, what, more = entry.kind, rest[0] if rest else "", rest[1] if len(rest) > 1 else ""
    if kind is EventKind.VOID:
        return replace(entry, corrects=int(_number(["void", *rest], 1)))
    if kind is EventKind.NOTE:
        return replace(entry, subject=on, reason=" ".join(rest))
    if kind in (EventKind.STEP, EventKind.DONE):
        return replace(entry, subject=bench, cycle_id=what or entry.cycle_id)
    if kind is EventKind.MOLD:
        return replace(entry, subject=what, mold=_copy(more))
    if kind in (EventKind.RESIN, EventKind.COUNT):
        return replace(entry, subject=what, amount=_number([kind, *rest], 2))
    if kind is EventKind.DECIDE:
        if more not in set(Choice):
            raise InvalidField("log entry", kind, "choice", more, f"one of {', '.join(Choice)}")
        return replace(entry, subject=what, choice=Choice(more))
    if len(rest) > 1:
        raise InvalidField("log entry", kind, "words", " ".join(rest), f"one name after {kind}")
    return replace(entry, subject=what)


def _number(words: list[str], ix: int) -> float:
    try:
        return float(words[ix])
    except (IndexError, ValueError):
        told = " ".join(words)
        raise InvalidField("log entry", words[0], "words", told, f"a number as word {ix + 1}") from None


def _copy(text: str) -> MoldCopy:
    mold_id, _, copy = text.partition("#")
    if not mold_id or not (copy or "1").isdigit():
        raise InvalidField("log entry", "", "mold", text, "a mold and its copy such as M03#2")
    return MoldCopy(mold_id, int(copy or "1"))


def _instant(text: str, now: datetime, tz: str, *, ahead: bool = False) -> datetime:
    """Return the instant that a person means: a clock time is the last one before now, or the next one ahead."""
    where = zone(tz)
    try:
        if len(text) > 5:
            wall = datetime.fromisoformat(text)
            return wall if wall.tzinfo else clock_instants(wall, where)[0]
        clock, today = time.fromisoformat(text.zfill(5)), now.astimezone(where).date()
    except (ValueError, IndexError):
        raise InvalidField("clock", "", "time", text, "a time such as 11:42, or 2027-05-18 11:42") from None
    days = (timedelta(0), timedelta(1)) if ahead else (timedelta(0), timedelta(-1))
    for off in days:
        for at in clock_instants(datetime.combine(today + off, clock), where):
            if (at > now) is ahead:
                return at
    raise InvalidField("clock", "", "time", text, "a time that the clock shows")
