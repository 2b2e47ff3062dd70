"""The log and the state of the yard, in plain words and as JSON documents; times are on the yard's clock."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from yardplan.domain.adherence import Adherence, Share
from yardplan.domain.events import Event, EventKind
from yardplan.domain.history import clock_words
from yardplan.domain.outcome import Publication, StoredPlan
from yardplan.domain.slots import zone
from yardplan.domain.state import MadeCycle, Out, YardState
from yardplan.domain.yard import Yard


def event_words(event: Event, yard: Yard) -> str:
    """Return an entry in one line, with its number."""
    parts = [f"{event.number:5d}  {clock_words(yard, event.at)}  {event.kind}", event.subject]
    if event.kind is EventKind.CHARGE:
        parts.append(f"{event.product_id} {event.color} for {event.order_id} in {event.mold} as {event.cycle_id}")
    elif event.mold:
        parts.append(str(event.mold))
    elif event.cycle_id:
        parts.append(event.cycle_id)
    if event.step_ix is not None:
        parts.append(f"step {event.step_ix + 1} by {event.person}")
    if event.good is not None:
        parts.append(f"{event.good} good, {event.scrapped} scrapped, {event.rework} to rework")
    if event.choice:
        parts.append(str(event.choice))
    if event.amount is not None:
        parts.append(f"{event.amount:g} C" if event.kind in (EventKind.PIAT, EventKind.DECIDE) else f"{event.amount:g}")
    if event.until_at:
        parts.append(f"until {clock_words(yard, event.until_at)}")
    if event.reason:
        parts.append(f"({event.reason})")
    if event.corrects is not None:
        parts.append(f"instead of {event.corrects}")
    return " ".join(part for part in parts if part) + f" [{event.by}]"


def log_document(
    events: Iterable[Event], yard: Yard, *, generated_at: datetime, differs: Iterable[str] = ()
) -> dict[str, Any]:
    """Return entries of the log as a document, see ``log.schema.json``.

    Parameters
    ----------
    differs : iterable of str
        What of the entries is different from the plan in force.
    """
    tz = zone(yard.site.tz)

    def clock(at: datetime | None) -> str | None:
        return at.astimezone(tz).isoformat() if at else None

    return {
        "schema": "yardplan/log/1",
        "generated_at": clock(generated_at),
        "entries": [
            {
                "number": event.number,
                "kind": str(event.kind),
                "at": clock(event.at),
                "entered_at": clock(event.entered_at),
                "by": event.by,
                "seat": event.seat,
                "what": event.subject,
                "mold": str(event.mold) if event.mold else None,
                "order": event.order_id,
                "product": event.product_id,
                "color": event.color,
                "cycle": event.cycle_id,
                "planned": event.planned_id,
                "step": None if event.step_ix is None else event.step_ix + 1,
                "person": event.person,
                "good": event.good,
                "scrapped": event.scrapped,
                "rework": event.rework,
                "amount": event.amount,
                "choice": str(event.choice) if event.choice else None,
                "until": clock(event.until_at),
                "reason": event.reason,
                "corrects": event.corrects,
            }
            for event in events
        ],
        "differs": list(differs),
    }


def state_document(state: YardState, yard: Yard, stored: StoredPlan | None) -> dict[str, Any]:
    """Return how the yard stands as a document, see ``state.schema.json``."""
    tz = zone(yard.site.tz)

    def clock(at: datetime | None) -> str | None:
        return at.astimezone(tz).isoformat(timespec="minutes") if at else None

    def cycle(made: MadeCycle) -> dict[str, Any]:
        return {
            "id": made.id,
            "planned": made.planned_id,
            "chamber": made.chamber_id,
            "mold": str(made.mold),
            "order": made.order_id,
            "product": made.product_id,
            "color": made.color,
            "phase": str(made.phase),
            "charged": clock(made.charged_at),
            "heat": clock(made.heats[0][0]) if made.heats else None,
            "piat": clock(made.piat_at),
            "demolded": clock(made.demolded_at),
            "steps_done": sum(step.done_at is not None for step in made.steps),
            "steps": made.n_steps,
        }

    def out(rows: dict[str, Out]) -> list[dict[str, Any]]:
        return [
            {"id": name, "since": clock(row.since_at), "until": clock(row.until_at), "reason": row.reason}
            for name, row in sorted(rows.items())
        ]

    return {
        "schema": "yardplan/state/1",
        "generated_at": clock(state.now),
        "plan_in_force": stored.number if stored else None,
        "chambers": [
            {
                "id": chamber_id,
                "mold": str(chamber.mold) if chamber.mold else None,
                "grade": chamber.grade,
                "color": chamber.color,
                "cycle": cycle(chamber.cycle) if chamber.cycle else None,
            }
            for chamber_id, chamber in state.chambers.items()
        ],
        "finishing": [cycle(made) for made in state.finishing],
        "orders": [{"id": order_id, **vars(count)} for order_id, count in sorted(state.orders.items())],
        "stock": [{"item": item, "left": round(left, 3)} for item, left in state.stock.items()],
        "absent": out(dict(state.absent)),
        "down": out(dict(state.down)),
        "stowed": out(dict(state.stowed)),
        "due": [row.id for row in state.due],
        "notes": [{"at": clock(note.at), "about": note.subject, "text": note.reason} for note in state.notes],
        "doubts": [{"entry": number, "text": str(doubt)} for number, doubt in state.doubts],
    }


def state_words(state: YardState, yard: Yard, stored: StoredPlan | None) -> str:
    """Return how the yard stands in words."""

    def clock(at: datetime) -> str:
        return f"{at.astimezone(zone(yard.site.tz)):%H:%M}"

    plan = f"plan {stored.number} is in force" if stored else "no plan was published"
    lines = [f"{clock_words(yard, state.now)}, {plan}"]
    for chamber_id, chamber in state.chambers.items():
        made = chamber.cycle
        what = f"  {chamber_id}: {chamber.mold or 'no mold'}"
        if made:
            since = made.piat_at or (made.heats[-1][0] if made.heats else made.charged_at)
            what += (
                f", {made.product_id} {made.color} for {made.order_id}, {made.phase} since {clock(since)} ({made.id})"
            )
        lines.append(what)
    lines += [
        f"  to finish: {made.id} {made.product_id}, {made.good} good, "
        f"step {sum(step.done_at is not None for step in made.steps) + 1} of {made.n_steps}"
        for made in state.finishing
    ]
    for word, rows in (("absent", state.absent), ("down", state.down), ("stowed", state.stowed)):
        for name, row in sorted(rows.items()):
            until = f" until {clock_words(yard, row.until_at)}" if row.until_at else ""
            lines.append(
                f"  {word}: {name} since {clock(row.since_at)}{until}{f' ({row.reason})' if row.reason else ''}"
            )
    for order_id, count in sorted(state.orders.items()):
        lines.append(
            f"  order {order_id}: {count.in_chambers} in chambers, {count.good} good, {count.finished} finished"
            + (f", {count.scrapped} scrapped" if count.scrapped else "")
            + (f", {count.rework} to rework" if count.rework else "")
        )
    lines += [f"  due and not charged: {row.id} {row.product_id} in {row.chamber_id}" for row in state.due]
    lines += [f"  short of {item}: {left:g}" for item, left in state.stock.items() if left < 0]
    lines += [
        f"  note {clock_words(yard, note.at)} {note.subject}: {note.reason}".rstrip() for note in state.notes[-10:]
    ]
    lines += [f"  entry {number} cannot be true in this yard: {doubt}" for number, doubt in state.doubts]
    return "\n".join(lines)


def publications_document(found: Iterable[Publication], yard: Yard, *, generated_at: datetime) -> dict[str, Any]:
    """Return which plans came into force as a document, see ``published.schema.json``; the last one holds."""
    tz = zone(yard.site.tz)
    rows = [
        {
            "plan": one.plan_number,
            "at": one.at.astimezone(tz).isoformat(),
            "by": one.by,
            "seat": one.seat,
            "reason": one.reason,
        }
        for one in found
    ]
    return {
        "schema": "yardplan/published/1",
        "generated_at": generated_at.astimezone(tz).isoformat(),
        "in_force": rows[-1]["plan"] if rows else None,
        "published": rows,
    }


def publications_words(found: Iterable[Publication], yard: Yard) -> str:
    """Return which plans came into force in words, the one that is in force first."""
    rows = list(found)
    lines = [
        f"plan {one.plan_number}, published {clock_words(yard, one.at)} by {one.by}"
        + (f" at {one.seat}" if one.seat else "")
        + (f": {one.reason}" if one.reason else "")
        for one in reversed(rows)
    ]
    return "\n".join(
        [f"in force: {lines[0]}", *(f"  before: {line}" for line in lines[1:])]
        if lines
        else ["no plan was published yet"]
    )


def adherence_document(found: Adherence, plan_number: int, yard: Yard, *, generated_at: datetime) -> dict[str, Any]:
    """Return planned beside made as a document, see ``adherence.schema.json``."""

    def rows(shares: Mapping[Any, Share]) -> list[dict[str, Any]]:
        return [{"name": str(name), **vars(share)} for name, share in shares.items()]

    return {
        "schema": "yardplan/adherence/1",
        "generated_at": generated_at.astimezone(zone(yard.site.tz)).isoformat(),
        "plan": plan_number,
        "days": rows(found.days),
        "units": rows(found.units),
        "orders": rows(found.orders),
        "reasons": [{"text": text, "count": count} for text, count in found.reasons],
    }


def adherence_words(document: dict[str, Any]) -> str:
    """Return planned beside made in words."""
    lines = [f"Plan {document['plan']}, until {document['generated_at'][:16].replace('T', ' ')}"]
    for what in ("days", "units", "orders"):
        for row in document[what]:
            other = "".join(f", {row[name]} {word}" for name, word in _REST if row[name])
            lines.append(
                f"  {row['name']}: {row['made_cycles']} of {row['planned_cycles']} cycles made, {row['as_planned']} of "
                f"them as planned; {row['good']} of {row['planned_pieces']} pieces good{other}"
            )
    lines += [f"  why: {row['text']}, {row['count']} times" for row in document["reasons"]]
    return "\n".join(lines)


_REST = (("scrapped", "scrapped"), ("rework", "to rework"))
