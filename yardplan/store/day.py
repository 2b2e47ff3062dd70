"""What the crew logs, and which plan is in force: both are only ever added to."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from yardplan.domain.errors import NotThere, PublishedMeanwhile, require
from yardplan.domain.events import Event
from yardplan.domain.outcome import Publication
from yardplan.store import tables as t
from yardplan.store.columns import columns_of, value_of
from yardplan.store.read import plan_numbers
from yardplan.store.write import count_change, insert_rows, record


def read_events(session: Session) -> tuple[Event, ...]:
    """Return all entries of the log as they came in, those that were corrected later among them."""
    return tuple(value_of(Event, row) for row in session.scalars(select(t.EventRow).order_by(t.EventRow.number)))


def add_events(session: Session, events: Sequence[Event]) -> tuple[Event, ...]:
    """Add entries to the log and return them with their numbers; whoever calls has seen that they can be true.

    They stand in no audit: each says itself who put it in, and when.
    """
    number = (session.scalar(select(func.max(t.EventRow.number))) or 0) + 1
    numbered = tuple(replace(event, number=number + ix) for ix, event in enumerate(events))
    insert_rows(session, t.EventRow, [columns_of(t.EventRow, event) for event in numbered])
    count_change(session)
    return numbered


def read_publications(session: Session) -> tuple[Publication, ...]:
    """Return which plans came into force, the one that is in force last."""
    rows = session.scalars(select(t.PublicationRow).order_by(t.PublicationRow.number))
    return tuple(value_of(Publication, row) for row in rows)


def add_publication(
    session: Session, plan_number: int, *, at: datetime, by: str, seat: str, reason: str, anyway: bool = False
) -> Publication:
    """Put a plan version into force.

    Parameters
    ----------
    anyway : bool
        Whether it counts too where another one came into force since this one was made.

    Raises
    ------
    PublishedMeanwhile
        If so, and not `anyway`.
    NotThere
        If there is no such version.
    InvalidField
        If it is a draft.
    """
    row = session.get(t.PlanRow, plan_number)
    if row is None:
        known = ", ".join(map(str, plan_numbers(session))) or "none yet"
        raise NotThere("plan", str(plan_number), f"known are {known}")
    require(not row.draft, "publication", str(plan_number), "plan", row.draft, "a plan, not the draft of a what-if")
    there = read_publications(session)
    last = there[-1] if there else None
    if last is not None and last.number != row.based_on and not anyway:
        raise PublishedMeanwhile(plan_number, last.plan_number, last.by, last.reason)
    fresh = Publication((last.number if last else 0) + 1, plan_number, at, by, seat, reason)
    insert_rows(session, t.PublicationRow, [columns_of(t.PublicationRow, fresh)])
    record(session, by, at, f"plan {plan_number} published{': ' + reason if reason else ''}")
    return fresh
