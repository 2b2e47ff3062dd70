"""What a person knows better than the forecast: said by hand, kept with name and time, taken back by hand."""

import json
from datetime import datetime

from yardplan.domain.errors import NotThere
from yardplan.forecast.overrule import Overrule, overrule_of
from yardplan.store.engine import Database
from yardplan.store.read import read_setting
from yardplan.store.write import write_setting
from yardplan.usecases.weather import site_of

OVERRULES = "overrules"
"""Setting: a list of what was said, each with the instant at which it was said; a day is meant from then.

What was taken back stays, with the instant: a plan is judged by what was said when it was made.
"""

_INSTANTS = ("said_at", "withdrawn_at")


def say_overrule(database: Database, text: str, *, now: datetime, by: str) -> Overrule:
    """Keep a sentence such as "fog monday until 10"; every outlook from now on holds to it.

    Raises
    ------
    InvalidField
        If it cannot be understood; says which words can.
    """
    with database.begin() as session:
        rule = overrule_of(text, now, site_of(session, database).tz)
        said = [*_said(read_setting(session, OVERRULES)), {"text": rule.text, "said_at": now.isoformat()}]
        write_setting(session, OVERRULES, json.dumps(said), by=by, at=now)
    return rule


def withdraw_overrule(database: Database, text: str, *, now: datetime, by: str) -> None:
    """Take back what was said in these words; raises `NotThere` if it was not."""
    wanted = " ".join(text.split())
    with database.begin() as session:
        said = _said(read_setting(session, OVERRULES))
        standing = [row for row in said if "withdrawn_at" not in row]
        meant = [row for row in standing if row["text"] == wanted]
        if not meant:
            known = ", ".join(f'"{row["text"]}"' for row in standing) or "nothing"
            raise NotThere("overrule", wanted, f"said by hand is {known}")
        for row in meant:
            row["withdrawn_at"] = now.isoformat()
        write_setting(session, OVERRULES, json.dumps(said), by=by, at=now)


def overrules_in_use(database: Database, *, now: datetime) -> tuple[Overrule, ...]:
    """Return what was said by hand and stood at `now`, in the order in which it was said."""
    with database.begin_read() as session:
        said = _said(read_setting(session, OVERRULES))
        tz = site_of(session, database).tz
    found = []
    for row in said:
        said_at, withdrawn_at = (datetime.fromisoformat(row[key]) if key in row else None for key in _INSTANTS)
        if said_at is not None and said_at <= now and (withdrawn_at is None or withdrawn_at > now):
            found.append(overrule_of(row["text"], said_at, tz))
    return tuple(found)


def _said(setting: str | None) -> list[dict[str, str]]:
    found: list[dict[str, str]] = json.loads(setting or "[]")
    return found
