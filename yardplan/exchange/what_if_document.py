"""What a changed question comes to, as a JSON document and in plain words."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from yardplan.domain.compare import Comparison
from yardplan.domain.outcome import SolveOutcome
from yardplan.domain.plan import order_results
from yardplan.domain.problem import Problem
from yardplan.domain.what_if import Change
from yardplan.exchange.compare_document import compare_document, compare_words, span_words

DAY_MIN = 24 * 60


def what_if_document(
    plan_number: int,
    changes: Sequence[Change],
    old: tuple[Problem, SolveOutcome],
    new: tuple[Problem, SolveOutcome],
    found: Comparison,
    *,
    work: float | None,
    kept_as: int | None,
    generated_at: datetime,
) -> dict[str, Any]:
    """Return a what-if as a document, see ``what-if.schema.json``.

    Parameters
    ----------
    old, new : (Problem, SolveOutcome)
        The unchanged question with what the same search makes of it, and the changed one.
    work : float or None
        Deterministic work of each search; None where time ended it.
    kept_as : int or None
        Number under which the answer is kept as a draft.
    """
    zone = old[0].grid.zone
    return {
        "schema": "yardplan/what-if/1",
        "generated_at": generated_at.astimezone(zone).isoformat(),
        "plan_number": plan_number,
        "changes": [{"text": change.text, "words": change.words} for change in changes],
        "work": work,
        "kept_as": kept_as,
        "old": total_row(*old),
        "new": total_row(*new),
        "comparison": compare_document(
            found, old_name="as it is", new_name=change_words(changes), generated_at=generated_at
        ),
    }


def change_words(changes: Sequence[Change]) -> str:
    """Return changes in one phrase."""
    return "with " + " and ".join(change.words for change in changes)


def total_row(problem: Problem, outcome: SolveOutcome) -> dict[str, Any]:
    """Return what an answer comes to in all: states of orders, weighted late days, pieces missing, cost."""
    results = order_results(outcome.plan, problem.orders, problem.yard)
    day = DAY_MIN / problem.grid.slot_min
    parts = outcome.parts
    return {
        "status": str(outcome.status),
        "on_time": sum(row.state == "on time" for row in results),
        "late": sum(row.state == "late" for row in results),
        "unfinished": sum(row.state == "unfinished" for row in results),
        "promised_late_days": parts.promised_late_slots / day,
        "other_late_days": parts.other_late_slots / day,
        "pieces_missing": sum(row.pieces_missing for row in results),
        "objective": parts.cost,
        "bound": outcome.bound,
    }


def what_if_words(document: dict[str, Any]) -> str:
    """Return a what-if in words: what it comes to in all, then what is different."""
    old, new = document["old"], document["new"]
    lines = [
        f"What if: plan {document['plan_number']} {document['comparison']['new']}",
        f"  as it is: {total_words(old)}",
        f"  changed:  {total_words(new)}",
        "  (both were searched for with the same work, so that the difference is not just more search)",
    ]
    if document["kept_as"]:
        lines.append(f"  kept as plan {document['kept_as']}, a draft")
    return "\n".join([*lines, compare_words(document["comparison"])])


def total_words(row: dict[str, Any]) -> str:
    """Return what an answer comes to in one line."""
    late = f"{row['promised_late_days']:.1f} promised and {row['other_late_days']:.1f} other weighted days late"
    return (
        f"{row['on_time']} on time, {row['late']} late, {row['unfinished']} unfinished; {late}; "
        f"{row['pieces_missing']} pieces missing"
    )


def effect_words(earlier_min: int, pieces_more: int) -> str:
    """Return what a change does for one order."""
    told = []
    if pieces_more:
        told.append(f"{abs(pieces_more)} pieces {'more' if pieces_more > 0 else 'less'}")
    if earlier_min:
        told.append(f"{span_words(abs(earlier_min))} {'earlier' if earlier_min > 0 else 'later'}")
    return " and ".join(told) or "no difference"
