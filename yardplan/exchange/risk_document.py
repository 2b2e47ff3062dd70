"""What the weather may do to a plan, as a document and in plain words."""

from datetime import datetime
from typing import Any

from yardplan.domain.orders import Order
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import OrderResult, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.risk import OrderRisk, PlanRisk, of_twenty
from yardplan.domain.slots import SlotGrid
from yardplan.exchange.day_words import by_when


def chance_fields(row: OrderRisk | None, grid: SlotGrid) -> dict[str, Any]:
    """Return an order's chance and dates as documents tell them; all null where nothing is known."""
    dates = (row.p50_slot, row.p80_slot, row.p95_slot) if row else (None, None, None)
    told = {
        name: None if slot is None else grid.local(slot).isoformat()
        for name, slot in zip(("p50", "p80", "p95"), dates, strict=True)
    }
    return {"on_time_chance": row.chance_frac if row else None, **told}


def risk_fields(risk: PlanRisk | None) -> dict[str, Any] | None:
    """Return the chances of a whole plan as documents tell them."""
    if risk is None:
        return None
    return {"scenarios": risk.n_scenarios, "promised_chance": risk.promised_frac, "all_chance": risk.all_frac}


def risk_document(
    problem: Problem, stored: StoredPlan, risk: PlanRisk, *, heat_source: str, generated_at: datetime
) -> dict[str, Any]:
    """Return what the weather may do to a plan as a document, see ``risk.schema.json``."""
    grid, plan = problem.grid, stored.outcome.plan
    results = order_results(plan, problem.orders, problem.yard)
    return {
        "schema": "yardplan/risk/1",
        "generated_at": generated_at.astimezone(grid.zone).isoformat(),
        "plan_number": stored.number,
        "confidence": problem.confidence,
        "heat_source": heat_source,
        **(risk_fields(risk) or {}),
        "orders": [
            {
                "id": order.id,
                "product": order.product_id,
                "goal": order.goal_at.astimezone(grid.zone).isoformat(),
                "is_promised": order.promise_at is not None,
                "state": result.state,
                "finish": None if result.finish_slot is None else grid.local(result.finish_slot).isoformat(),
                **chance_fields(row, grid),
            }
            for order, result, row in zip(problem.orders, results, risk.orders, strict=True)
        ],
    }


def risk_words(document: dict[str, Any], grid: SlotGrid) -> str:
    """Return a risk document in words: the chances of all orders, the least first."""
    lines = [
        f"Plan {document['plan_number']} under {document['scenarios']} skies",
        f"  sun: {document['heat_source']}",
        f"  all promised orders that the plan has on time: {of_twenty(document['promised_chance'])} of 20 skies; "
        f"all orders: {of_twenty(document['all_chance'])} of 20",
        f"  {'order':8} {'on time in':11} {'asked for':21} {'in half of skies':17} {'in 16 of 20':17} in 19 of 20",
    ]

    def when(text: str | None) -> str:
        return f"{datetime.fromisoformat(text).astimezone(grid.zone):%a %d %b %H:%M}" if text else "after these days"

    for row in sorted(document["orders"], key=lambda row: (_known(row["on_time_chance"]), row["goal"], row["id"])):
        chance = row["on_time_chance"]
        told = "not known" if chance is None else f"{of_twenty(chance)} of 20"
        lines.append(
            f"  {row['id']:8} {told:11} "
            f"{by_when(datetime.fromisoformat(row['goal']), grid):21} "
            f"{when(row['p50']):17} {when(row['p80']):17} {when(row['p95'])}"
        )
    return "\n".join(lines)


def poor_orders(
    orders: tuple[Order, ...], results: tuple[OrderResult, ...], risk: PlanRisk, confidence: float
) -> list[tuple[Order, OrderRisk]]:
    """Return the orders that the plan has on time, but with less chance than the planning confidence."""
    rows = {row.order_id: row for row in risk.orders}
    return [
        (order, row)
        for order, result in zip(orders, results, strict=True)
        if (row := rows.get(order.id)) is not None
        and result.state == "on time"
        and row.chance_frac is not None
        and row.chance_frac < confidence - 1e-9
    ]


def _known(chance: float | None) -> float:
    return 2.0 if chance is None else chance
