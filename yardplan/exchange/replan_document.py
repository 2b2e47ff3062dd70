"""Ways to go on from now, side by side, as a JSON document and in plain words."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from yardplan.domain.outcome import GoalParts
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.risk import PlanRisk, of_twenty

STATES = ("on time", "late", "unfinished")


def way_row(
    problem: Problem,
    *,
    name: str,
    number: int,
    plan: Plan,
    parts: GoalParts,
    risk: PlanRisk,
    moved: int,
    untouched: int,
    upset: int,
) -> dict[str, Any]:
    """Return one way to go on with its effects, as a part of the document."""
    grid = problem.grid
    results = order_results(plan, problem.orders, problem.yard)
    promised = [row for order, row in zip(problem.orders, results, strict=True) if order.promise_at]
    return {
        "name": name,
        "plan": number,
        "orders": {state: sum(row.state == state for row in results) for state in STATES},
        "promised_late": sum(row.late_slots > 0 for row in promised),
        "promised_late_h": sum(row.late_slots for row in promised) * grid.slot_min / 60,
        "promised_chance": risk.promised_frac,
        "cycles": len(plan.cycles),
        "pieces": sum(cycle.pieces for cycle in plan.cycles),
        "moved": moved,
        "untouched": untouched,
        "upset": upset / 1000,
        "mold_changes": parts.mold_changes,
        "overtime_h": parts.overtime_slots * grid.slot_min / 60,
        "evening_h": parts.evening_slots * grid.slot_min / 60,
        "objective_parts": {key: value for key, value in asdict(parts).items() if key != "cost"},
    }


def replan_document(
    problem: Problem, ways: Sequence[dict[str, Any]], told: Sequence[str], *, base: int, generated_at: datetime
) -> dict[str, Any]:
    """Return ways to go on as a document, see ``replan.schema.json``; the first one is to keep the plan in force."""
    return {
        "schema": "yardplan/replan/1",
        "generated_at": generated_at.astimezone(problem.grid.zone).isoformat(),
        "base": base,
        "kept": {
            "cycles": [row.id for row in problem.kept.cycles],
            "mold_changes": [row.id for row in problem.kept.mold_changes],
            "finishing": [row.id for row in problem.kept.finishing],
        },
        "told": list(told),
        "ways": list(ways),
    }


def replan_words(document: dict[str, Any]) -> str:
    """Return the ways side by side in words."""
    lines = [f"Work in hand that stays: {', '.join(document['kept']['cycles']) or 'none'}"]
    lines += [f"  {text}" for text in document["told"]]
    for way in document["ways"]:
        orders = ", ".join(f"{way['orders'][state]} {state}" for state in STATES)
        lines.append(f"{way['name'].capitalize()} (plan {way['plan']})")
        lines.append(
            f"  orders: {orders}; promised ones late: {way['promised_late']}, by {way['promised_late_h']:.1f} h; "
            f"what is on time of them stays so in {of_twenty(way['promised_chance'])} of 20 skies"
        )
        lines.append(
            f"  moves {way['moved']} of {way['untouched']} jobs that need not move; {way['pieces']} pieces in "
            f"{way['cycles']} cycles, {way['mold_changes']} mold changes, {way['overtime_h']:.1f} h overtime, "
            f"{way['evening_h']:.1f} h at benches after sunset"
        )
    lines.append(
        f"Nothing is published yet. See `yardplan compare {document['base']} N`, then `yardplan publish N`; "
        f"without that plan {document['base']} stays in force."
    )
    return "\n".join(lines)
