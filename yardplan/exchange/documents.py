"""JSON documents of a plan and of what a check found. The schemas of all documents ship in ``schemas``.

Times are ISO 8601 on the yard's clock with their offset.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from jsonschema import Draft202012Validator

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import BadFile, RowProblem
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan, UpkeepJob, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Violation
from yardplan.domain.slots import SlotGrid
from yardplan.exchange.risk_document import chance_fields, risk_fields
from yardplan.paths import resource

EARLIEST = timedelta(days=30)
"""A plan may hold work from so long before its grid: a cycle whose parts are still being finished."""


def validate(document: object, name: str) -> None:
    """Check a document against the schema of its kind: ``plan``, ``heat`` or ``check``.

    Raises
    ------
    BadFile
        Lists each place at fault with its JSON path and what is wrong there.
    """
    errors = sorted(_validator(name).iter_errors(document), key=lambda error: list(map(str, error.absolute_path)))
    if errors:
        raise _bad(name, [(error.json_path, error.message) for error in errors])


@cache
def _validator(name: str) -> Draft202012Validator:
    return Draft202012Validator(json.loads(resource(f"schemas/{name}.schema.json").read_text(encoding="utf-8")))


def _bad(name: str, places: list[tuple[str, str]]) -> BadFile:
    texts = (f"{path}: {text if len(text) < 300 else text[:300] + ' ...'}" for path, text in places)
    return BadFile(f"{name} document", tuple(RowProblem(0, "", text) for text in texts))


def plan_document(problem: Problem, stored: StoredPlan) -> dict[str, Any]:
    """Return a plan version as a document, see ``plan.schema.json``."""
    plan, grid, yard, outcome = stored.outcome.plan, problem.grid, problem.yard, stored.outcome

    def local(slot: int) -> str:
        return grid.local(slot).isoformat()

    routing = {product.id: product.routing for product in yard.products}
    made = {cycle.id: cycle.product_id for cycle in plan.cycles}
    return {
        "schema": "yardplan/plan/1",
        "generated_at": stored.made_at.astimezone(grid.zone).isoformat(),
        "plan_number": stored.number,
        "made_by": stored.made_by,
        "grid": grid_row(grid),
        "confidence": stored.confidence,
        "heat_source": stored.heat_source,
        "fingerprint": stored.fingerprint,
        "draft": stored.draft or None,
        "changes": list(stored.changes),
        "status": str(outcome.status),
        "objective": outcome.parts.cost,
        "objective_parts": {name: value for name, value in asdict(outcome.parts).items() if name != "cost"},
        "bound": outcome.bound,
        "gap": outcome.gap_frac,
        "solver_seconds": outcome.seconds,
        "seed": outcome.seed,
        "risk": risk_fields(stored.risk),
        "cycles": [
            {
                "id": cycle.id,
                "unit": yard.unit_of(cycle.chamber_id).id,
                "chamber": cycle.chamber_id,
                "mold": cycle.mold.mold_id,
                "copy": cycle.mold.copy,
                "product": cycle.product_id,
                "color": cycle.color,
                "order": cycle.order_id,
                "pieces": cycle.pieces,
                "charge_start": local(cycle.charge_slot),
                "clean_down_min": cycle.clean_slots * grid.slot_min,
                "heat_start": local(cycle.heat_slot),
                "heat_end": local(cycle.heat_end_slot),
                "cool_end": local(cycle.cool_end_slot),
                "demold_start": local(cycle.demold_slot),
                "demold_end": local(cycle.end_slot),
                "charge_crew": list(cycle.charge_crew),
                "demold_crew": list(cycle.demold_crew),
                "locked": cycle.locked,
            }
            for cycle in plan.cycles
        ],
        "mold_changes": [
            {
                "id": change.id,
                "unit": yard.unit_of(change.chamber_id).id,
                "chamber": change.chamber_id,
                "mold_out": _copy(change.mold_out) if change.mold_out else None,
                "mold_in": _copy(change.mold_in),
                "start": local(change.start_slot),
                "end": local(change.end_slot),
                "crew": list(change.crew),
                "locked": change.locked,
            }
            for change in plan.mold_changes
        ],
        "finishing": [
            {
                "id": job.id,
                "cycle": job.cycle_id,
                "step": job.step_ix + 1,
                "step_name": routing[made[job.cycle_id]][job.step_ix].name,
                "bench": job.bench_id,
                "operator": job.operator_id,
                "start": local(job.start_slot),
                "end": local(job.end_slot),
                "kwh": float(job.kwh),
                "locked": job.locked,
            }
            for job in plan.finishing
        ],
        "upkeep": [
            {
                "id": job.id,
                "upkeep": job.upkeep_id,
                "start": local(job.start_slot),
                "end": local(job.end_slot),
                "crew": list(job.crew),
                "locked": job.locked,
            }
            for job in plan.upkeep
        ],
        "orders": _order_rows(problem, stored),
    }


def grid_row(grid: SlotGrid) -> dict[str, Any]:
    """Return a grid as documents tell it."""
    return {"start": grid.local(0).isoformat(), "slots": grid.n_slots, "slot_min": grid.slot_min, "tz": grid.tz}


def _copy(mold: MoldCopy) -> dict[str, Any]:
    return {"mold": mold.mold_id, "copy": mold.copy}


def _order_rows(problem: Problem, stored: StoredPlan) -> list[dict[str, Any]]:
    grid, plan = problem.grid, stored.outcome.plan
    reasons = {row.order_id: {"why": str(row.why), "detail": row.detail} for row in stored.outcome.blocked}
    risks = {row.order_id: row for row in stored.risk.orders} if stored.risk else {}
    return [
        {
            "id": order.id,
            "due": order.due_at.astimezone(grid.zone).isoformat(),
            "promised": order.promise_at.astimezone(grid.zone).isoformat() if order.promise_at else None,
            "finish": None if result.finish_slot is None else grid.local(result.finish_slot).isoformat(),
            "state": result.state,
            "pieces_planned": result.pieces_planned,
            "pieces_missing": result.pieces_missing,
            "late_min": result.late_slots * grid.slot_min,
            "reason": reasons.get(order.id),
            **chance_fields(risks.get(order.id), grid),
        }
        for order, result in zip(problem.orders, order_results(plan, problem.orders, problem.yard), strict=True)
    ]


def read_plan_document(document: dict[str, Any], problem: Problem) -> Plan:
    """Return the plan of a document; whether it keeps the rules is for the checker to say.

    Raises
    ------
    BadFile
        If it does not follow the schema, its grid is another one, a time lies between two slots, after the grid
        or more than 30 days before it, or what it says twice (unit and chamber, step and its name) disagrees.
    """
    validate(document, "plan")
    grid, yard = problem.grid, problem.yard
    places: list[tuple[str, str]] = []
    if _grid_of(document["grid"]) != (grid.start_at, grid.n_slots, grid.slot_min, grid.tz):
        raise _bad("plan", [("$.grid", f"is {document['grid']}; expected {grid_row(grid)}")])

    def slot(row: Mapping[str, Any], field: str, path: str) -> int:
        text = row[field]
        try:
            since = datetime.fromisoformat(text) - grid.start_at
        except ValueError:
            places.append((f"{path}.{field}", f"is {text!r}; expected a time such as {grid.local(0).isoformat()}"))
            return 0
        found, rest = divmod(since, timedelta(minutes=grid.slot_min))
        if rest:
            expected = f"a time on the grid's {grid.slot_min} min slots"
            places.append((f"{path}.{field}", f"is {text}; expected {expected}"))
        elif found > grid.n_slots or since < -EARLIEST:
            expected = f"at most {grid.local(grid.n_slots).isoformat()}, and not more than 30 days before the plan"
            places.append((f"{path}.{field}", f"is {text}; expected {expected}"))
        return found

    unit_of = {chamber.id: unit.id for unit in yard.units for chamber in unit.chambers}
    routing = {product.id: product.routing for product in yard.products}
    made = {row["id"]: row["product"] for row in document["cycles"]}
    for kind in ("cycles", "mold_changes"):
        for path, row in _paths(document, kind):
            if row["unit"] != (unit := unit_of.get(row["chamber"], row["unit"])):
                places.append((f"{path}.unit", f"is {row['unit']!r}; expected {unit!r}, which has {row['chamber']}"))
    for path, row in _paths(document, "finishing"):
        steps = routing.get(made.get(row["cycle"], ""), ())
        if row["step"] <= len(steps) and row["step_name"] != (name := steps[row["step"] - 1].name):
            places.append((f"{path}.step_name", f"is {row['step_name']!r}; expected {name!r}, step {row['step']}"))
    for path, row in _paths(document, "cycles"):
        if row["clean_down_min"] % grid.slot_min:
            expected = f"a multiple of {grid.slot_min} min"
            places.append((f"{path}.clean_down_min", f"is {row['clean_down_min']}; expected {expected}"))
    cycles = [
        Cycle(
            id=row["id"],
            order_id=row["order"],
            product_id=row["product"],
            color=row["color"],
            mold=MoldCopy(row["mold"], row["copy"]),
            chamber_id=row["chamber"],
            pieces=row["pieces"],
            charge_slot=slot(row, "charge_start", path),
            clean_slots=row["clean_down_min"] // grid.slot_min,
            heat_slot=slot(row, "heat_start", path),
            heat_end_slot=slot(row, "heat_end", path),
            cool_end_slot=slot(row, "cool_end", path),
            demold_slot=slot(row, "demold_start", path),
            end_slot=slot(row, "demold_end", path),
            charge_crew=tuple(row["charge_crew"]),
            demold_crew=tuple(row["demold_crew"]),
            locked=row["locked"],
        )
        for path, row in _paths(document, "cycles")
    ]
    changes = [
        MoldChange(
            id=row["id"],
            chamber_id=row["chamber"],
            mold_out=MoldCopy(**_copy_fields(row["mold_out"])) if row["mold_out"] else None,
            mold_in=MoldCopy(**_copy_fields(row["mold_in"])),
            start_slot=slot(row, "start", path),
            end_slot=slot(row, "end", path),
            crew=tuple(row["crew"]),
            locked=row["locked"],
        )
        for path, row in _paths(document, "mold_changes")
    ]
    finishing = [
        FinishJob(
            id=row["id"],
            cycle_id=row["cycle"],
            step_ix=row["step"] - 1,
            bench_id=row["bench"],
            operator_id=row["operator"],
            start_slot=slot(row, "start", path),
            end_slot=slot(row, "end", path),
            kwh=row["kwh"],
            locked=row["locked"],
        )
        for path, row in _paths(document, "finishing")
    ]
    upkeep = [
        UpkeepJob(
            id=row["id"],
            upkeep_id=row["upkeep"],
            start_slot=slot(row, "start", path),
            end_slot=slot(row, "end", path),
            crew=tuple(row["crew"]),
            locked=row["locked"],
        )
        for path, row in _paths(document, "upkeep")
    ]
    if places:
        raise _bad("plan", places)
    return Plan(grid, tuple(cycles), tuple(changes), tuple(finishing), tuple(upkeep))


def _paths(document: Mapping[str, Any], kind: str) -> Iterator[tuple[str, dict[str, Any]]]:
    return ((f"$.{kind}[{ix}]", row) for ix, row in enumerate(document[kind]))


def _copy_fields(row: Mapping[str, Any]) -> dict[str, Any]:
    return {"mold_id": row["mold"], "copy": row["copy"]}


def _grid_of(row: Mapping[str, Any]) -> tuple[datetime | None, int, int, str]:
    try:
        start_at = datetime.fromisoformat(row["start"])
    except ValueError:
        start_at = None
    return start_at, row["slots"], row["slot_min"], row["tz"]


def check_document(violations: tuple[Violation, ...], *, generated_at: datetime) -> dict[str, Any]:
    """Return what a check found as a document, see ``check.schema.json``."""
    return {
        "schema": "yardplan/check/1",
        "generated_at": generated_at.isoformat(),
        "ok": not violations,
        "violations": [{"rule": str(found.rule), "jobs": list(found.jobs), "text": found.text} for found in violations],
    }
