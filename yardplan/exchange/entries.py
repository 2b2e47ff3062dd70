"""Entries of the log as people say them: words of a command line, or rows of a CSV or XLSX file.

Columns, in any order: ``time, event, what, order, mold, cycle, step, person, good, scrapped, rework, amount, choice,
until, reason, corrects``; the first row names them. Only ``time`` and ``event`` must be there; ``event`` is one of the
words of `EventKind`, ``what`` the chamber, unit, bench, operator or stock item that it is about. ``amount`` is the
peak of the inside air [C], or kg or pieces of a stock item. Times are by the yard's clock unless they have an offset.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import BadFile, RowProblem
from yardplan.domain.events import Choice, EventKind
from yardplan.exchange.cells import COPY, INSTANT, NUMBER, TEXT, WHOLE, one_of
from yardplan.exchange.rows import Column, Reading, Table


@dataclass(frozen=True)
class Entry:
    """What a person says happened; what is blank is known from the yard, the plan and the clock.

    The fields are those of `Event`. `step_ix` counts from 0, a file and a command line count steps from 1.
    """

    kind: EventKind
    subject: str = ""
    at: datetime | None = None
    mold: MoldCopy | None = None
    order_id: str = ""
    cycle_id: str = ""
    step_ix: int | None = None
    person: str = ""
    good: int | None = None
    scrapped: int | None = None
    rework: int | None = None
    amount: float | None = None
    choice: Choice | None = None
    until_at: datetime | None = None
    reason: str = ""
    corrects: int | None = None


LOG = Table(
    "log_entries.csv",
    "Entries of the log.",
    (
        Column("time", INSTANT),
        Column("event", one_of(EventKind)),
        Column("what", TEXT, ""),
        Column("order", TEXT, ""),
        Column("mold", COPY, None),
        Column("cycle", TEXT, ""),
        Column("step", WHOLE, None),
        Column("person", TEXT, ""),
        Column("good", WHOLE, None),
        Column("scrapped", WHOLE, None),
        Column("rework", WHOLE, None),
        Column("amount", NUMBER, None),
        Column("choice", one_of(Choice), None),
        Column("until", INSTANT, None),
        Column("reason", TEXT, ""),
        Column("corrects", WHOLE, None),
    ),
)

_FIELDS = {
    "time": "at",
    "event": "kind",
    "what": "subject",
    "order": "order_id",
    "cycle": "cycle_id",
    "until": "until_at",
}


def read_entries(path: Path, tz: ZoneInfo) -> list[tuple[int, Entry]]:
    """Return the rows of a file, each with its number, in the order of time.

    Raises
    ------
    BadFile
        Lists every row that cannot be read.
    """
    reading = Reading(tz)
    rows = reading.rows(path, replace(LOG, file=path.name))
    if not rows and not reading.problems:
        reading.problems.append(RowProblem(0, "", "has no entries; expected a row for each under the first row"))
    if reading.problems:
        raise BadFile(path, tuple(replace(found, file="") for found in reading.problems))
    found = []
    for row in rows:
        told = {_FIELDS.get(name, name): row[name] for name in row.values if name != "step"}
        step_ix = row["step"] - 1 if row["step"] else None
        found.append((row.number, Entry(**told, step_ix=step_ix)))
    return sorted(found, key=lambda each: (each[1].at, each[0]))
