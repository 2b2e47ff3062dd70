"""Why an order is late or an hour is empty, as a JSON document and in plain words."""

from datetime import datetime
from typing import Any

from yardplan.domain.explained import Effect, Explanation
from yardplan.domain.plan import OrderResult
from yardplan.domain.slots import SlotGrid
from yardplan.domain.what_if import Change
from yardplan.exchange.compare_document import span_words, state_words
from yardplan.exchange.what_if_document import effect_words


def explain_document(
    found: Explanation, grid: SlotGrid, *, plan_number: int, work: float | None, generated_at: datetime
) -> dict[str, Any]:
    """Return an explanation as a document, see ``explain.schema.json``.

    Parameters
    ----------
    work : float or None
        Deterministic work of each search; None where time ended it.
    """
    return {
        "schema": "yardplan/explain/1",
        "generated_at": generated_at.astimezone(grid.zone).isoformat(),
        "plan_number": plan_number,
        "subject": found.subject,
        "order": found.before.order_id if found.before else None,
        "in_plan": _result(found.before, grid),
        "searched_on": _result(found.searched, grid),
        "facts": [
            {"limit": str(fact.limit), "share": fact.share, "names": list(fact.names), "text": fact.text}
            for fact in found.facts
        ],
        "effects": [_effect(effect, grid) for effect in found.effects],
        "search_cost_less": found.search_cost_less,
        "untried": [_change(change) for change in found.untried],
        "work": work,
    }


def _change(change: Change) -> dict[str, str]:
    return {"text": change.text, "words": change.words}


def _result(result: OrderResult | None, grid: SlotGrid) -> dict[str, Any] | None:
    if result is None:
        return None
    return {
        "state": result.state,
        "finish": None if result.finish_slot is None else grid.local(result.finish_slot).isoformat(),
        "quantity": result.pieces_planned + result.pieces_missing,
        "pieces_missing": result.pieces_missing,
        "late_min": result.late_slots * grid.slot_min,
    }


def _effect(effect: Effect, grid: SlotGrid) -> dict[str, Any]:
    return {
        "change": _change(effect.change),
        "order": _result(effect.result, grid),
        "earlier_min": effect.earlier_slots * grid.slot_min,
        "pieces_more": effect.pieces_more,
        "late_days_less": effect.late_days_less,
        "all_pieces_more": effect.all_pieces_more,
        "cost_less": effect.cost_less,
    }


def explain_words(document: dict[str, Any]) -> str:
    """Return an explanation in words: what stands in the way, then what each change was measured to bring."""
    is_order = document["order"] is not None
    lines = [document["subject"] + (f": {state_words(document['in_plan'])}" if is_order else "")]
    lines += [f"  {fact['text']}." for fact in document["facts"]]
    old, new = document["in_plan"], document["searched_on"]
    if is_order and state_words(old) != state_words(new):
        lines.append(f"More search alone: {state_words(new)}.")
    if document["effects"]:
        lines.append("Measured against the same yard searched for as long:")
        lines += [f"  with {row['change']['words']}: {_effect_words(row, document)}" for row in document["effects"]]
        lines += [f"    try it: yardplan what-if --{_option(row['change']['text'])}" for row in _helpful(document)[:1]]
    if document["untried"]:
        lines.append(f"Not tried: {'; '.join(change['words'] for change in document['untried'])}")
    return "\n".join(lines)


def _helpful(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        row for row in document["effects"] if row["pieces_more"] > 0 or row["earlier_min"] > 0 or row["cost_less"] > 0
    ]


def _option(text: str) -> str:
    kind, _, rest = text.partition(" ")
    return f"{kind} {rest}" if " " not in rest else f"{kind} '{rest}'"


def _effect_words(row: dict[str, Any], document: dict[str, Any]) -> str:
    told = []
    if document["order"] is not None:
        told.append(f"{effect_words(row['earlier_min'], row['pieces_more'])} for it ({state_words(row['order'])})")
    late_min = round(abs(row["late_days_less"]) * 24 * 60)
    in_all = []
    if late_min:
        in_all.append(f"{span_words(late_min)} {'less' if row['late_days_less'] > 0 else 'more'} late (weighted)")
    if row["all_pieces_more"]:
        in_all.append(f"{abs(row['all_pieces_more'])} pieces {'more' if row['all_pieces_more'] > 0 else 'less'}")
    told.append(f"all orders: {', '.join(in_all) or 'no difference'}")
    if 0 < row["cost_less"] <= document["search_cost_less"]:
        told.append("no more than what longer search alone still brings")
    return "; ".join(told)
