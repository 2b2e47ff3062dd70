"""What is different between two plans, as a JSON document and in words; times are ISO 8601 on the yard's clock."""

from collections.abc import Callable, Iterable
from dataclasses import asdict
from datetime import datetime
from typing import Any

from yardplan.domain.compare import Comparison, OrderChange
from yardplan.domain.difference import Pair, RowT, What
from yardplan.domain.orders import Order
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, OrderResult, UpkeepJob
from yardplan.domain.slots import SlotGrid

_USE_WORDS = (
    ("cycles", "cycles", 0),
    ("pieces", "pieces molded", 0),
    ("heat_kwh", "kWh of heat on molds", 0),
    ("beam_h", "hours of heating", 1),
    ("chamber_h", "hours of chambers", 1),
    ("crew_h", "person-hours", 1),
    ("bench_h", "hours at benches", 1),
    ("bench_kwh", "kWh at benches", 1),
    ("mold_changes", "mold changes", 0),
    ("clean_downs", "clean-downs", 0),
)


def compare_document(found: Comparison, *, old_name: str, new_name: str, generated_at: datetime) -> dict[str, Any]:
    """Return a comparison as a document, see ``compare.schema.json``; rows that are alike are only counted.

    Parameters
    ----------
    old_name, new_name : str
        What the plans are called, such as ``plan 3``.
    """
    rows, grid = found.difference, found.difference.grid
    return {
        "schema": "yardplan/compare/1",
        "generated_at": generated_at.astimezone(grid.zone).isoformat(),
        "old": old_name,
        "new": new_name,
        "cycles": _pair_rows(rows.cycles, lambda row: _cycle(row, grid)),
        "mold_changes": _pair_rows(rows.mold_changes, lambda row: _hanging(row, grid)),
        "finishing": _pair_rows(rows.finishing, lambda row: _job(row, grid)),
        "upkeep": _pair_rows(rows.upkeep, lambda row: _upkeep(row, grid)),
        "unchanged": {
            "cycles": sum(pair.is_same for pair in rows.cycles),
            "mold_changes": sum(pair.is_same for pair in rows.mold_changes),
            "finishing": sum(pair.is_same for pair in rows.finishing),
            "upkeep": sum(pair.is_same for pair in rows.upkeep),
        },
        "orders": [_order_row(change, grid) for change in found.orders if not change.is_same],
        "orders_unchanged": sum(change.is_same for change in found.orders),
        "use": {"old": asdict(found.old_use), "new": asdict(found.new_use)},
        "nervousness": {
            "moved_h": found.nervousness.moved_h,
            "reversed_frac": found.nervousness.reversed_frac,
            "wasted_mold_changes": [_hanging(row, grid) for row in found.nervousness.wasted_changes],
        },
    }


def _pair_rows(pairs: Iterable[Pair[RowT]], told: Callable[[RowT], dict[str, Any]]) -> list[dict[str, Any]]:
    changed = [
        {
            "change": "added" if pair.old is None else "dropped" if pair.new is None else "changed",
            "what": sorted(map(str, pair.what)),
            "old": told(pair.old) if pair.old else None,
            "new": told(pair.new) if pair.new else None,
        }
        for pair in pairs
        if not pair.is_same
    ]
    return sorted(changed, key=lambda row: _first_start(row["old"], row["new"]))


def _first_start(*rows: dict[str, Any] | None) -> tuple[datetime, str]:
    return min((datetime.fromisoformat(row["start"]), row["id"]) for row in rows if row)


def _cycle(row: Cycle, grid: SlotGrid) -> dict[str, Any]:
    return {
        "id": row.id,
        "order": row.order_id,
        "product": row.product_id,
        "color": row.color,
        "pieces": row.pieces,
        "mold": str(row.mold),
        "chamber": row.chamber_id,
        "start": grid.local(row.charge_slot).isoformat(),
        "heat_start": grid.local(row.heat_slot).isoformat(),
        "heat_end": grid.local(row.heat_end_slot).isoformat(),
        "end": grid.local(row.end_slot).isoformat(),
        "crew": sorted({*row.charge_crew, *row.demold_crew}),
        "locked": row.locked,
    }


def _hanging(row: MoldChange, grid: SlotGrid) -> dict[str, Any]:
    return {
        "id": row.id,
        "chamber": row.chamber_id,
        "mold_out": str(row.mold_out) if row.mold_out else None,
        "mold_in": str(row.mold_in),
        "start": grid.local(row.start_slot).isoformat(),
        "end": grid.local(row.end_slot).isoformat(),
        "crew": sorted(row.crew),
        "locked": row.locked,
    }


def _job(row: FinishJob, grid: SlotGrid) -> dict[str, Any]:
    return {
        "id": row.id,
        "cycle": row.cycle_id,
        "step": row.step_ix + 1,
        "bench": row.bench_id,
        "start": grid.local(row.start_slot).isoformat(),
        "end": grid.local(row.end_slot).isoformat(),
        "crew": [row.operator_id],
        "locked": row.locked,
    }


def _upkeep(row: UpkeepJob, grid: SlotGrid) -> dict[str, Any]:
    return {
        "id": row.id,
        "upkeep": row.upkeep_id,
        "start": grid.local(row.start_slot).isoformat(),
        "end": grid.local(row.end_slot).isoformat(),
        "crew": list(row.crew),
        "locked": row.locked,
    }


def _order_row(change: OrderChange, grid: SlotGrid) -> dict[str, Any]:
    return {
        "order": change.order_id,
        "earlier_min": change.earlier_slots * grid.slot_min,
        "old": _result(change.old_order, change.old, grid),
        "new": _result(change.new_order, change.new, grid),
    }


def _result(order: Order | None, result: OrderResult | None, grid: SlotGrid) -> dict[str, Any] | None:
    if order is None or result is None:
        return None
    return {
        "quantity": order.quantity,
        "due": order.due_at.astimezone(grid.zone).isoformat(),
        "promised": order.promise_at.astimezone(grid.zone).isoformat() if order.promise_at else None,
        "state": result.state,
        "finish": None if result.finish_slot is None else grid.local(result.finish_slot).isoformat(),
        "pieces_missing": result.pieces_missing,
        "late_min": result.late_slots * grid.slot_min,
    }


def compare_words(document: dict[str, Any]) -> str:
    """Return a comparison in words that a crew can read: orders first, then each cycle and mold change that differs."""
    lines = [f"{document['old']} against {document['new']}: {_counts(document)}"]
    lines += [f"  {_order_words(row)}" for row in document["orders"]]
    for heading, rows, told in (
        ("cycles", document["cycles"], _cycle_words),
        ("mold changes", document["mold_changes"], _hanging_words),
        ("upkeep", document["upkeep"], _upkeep_words),
    ):
        if rows:
            lines.append(f"{heading.capitalize()}:")
            lines += [f"  {told(row)}" for row in rows]
    if document["finishing"]:
        lines.append(f"Finishing: {len(document['finishing'])} jobs at another time, bench or person")
    lines.append(f"In all: {'; '.join(_use_words(document['use']['old'], document['use']['new'])) or 'the same use'}")
    lines.append(_nervous_words(document["nervousness"]))
    return "\n".join(lines)


def _counts(document: dict[str, Any]) -> str:
    rows = document["cycles"]
    if not any((rows, *(document[kind] for kind in ("mold_changes", "finishing", "upkeep", "orders")))):
        return "no difference"
    tally = {name: sum(row["change"] == name for row in rows) for name in ("changed", "added", "dropped")}
    moved = ", ".join(f"{count} {name}" for name, count in tally.items() if count) or "none different"
    return f"cycles: {moved}, {document['unchanged']['cycles']} alike; {len(document['orders'])} orders are told anew"


def _order_words(row: dict[str, Any]) -> str:
    old, new = row["old"], row["new"]
    if old is None:
        return f"{row['order']}: new, {state_words(new)}"
    if new is None:
        return f"{row['order']}: no longer asked for"
    words = f"{row['order']}: {state_words(old)}"
    if state_words(old) != state_words(new):
        words += f", now {state_words(new)}"
    asked = [f"{name} {old[name]} to {new[name]}" for name in ("quantity", "due", "promised") if old[name] != new[name]]
    if row["earlier_min"]:
        words += f"; {span_words(abs(row['earlier_min']))} {'earlier' if row['earlier_min'] > 0 else 'later'}"
    return "; ".join([words, *asked])


def state_words(result: dict[str, Any]) -> str:
    """Return what a plan makes of an order, from its row in a document."""
    if result["state"] == "unfinished":
        return f"{result['pieces_missing']} of {result['quantity']} missing at the end"
    late = f", {span_words(result['late_min'])} late" if result["late_min"] else ""
    return f"done {_when(result['finish'])}{late or ', on time'}"


def _cycle_words(row: dict[str, Any]) -> str:
    old, new = row["old"], row["new"]
    one = new or old
    name = f"{one['order']} {one['product']} {one['color']}"
    if old is None:
        return f"added    {name}: {_when(new['start'])} in {new['chamber']} on {new['mold']}, {new['pieces']} pc"
    if new is None:
        return f"dropped  {name}: was {_when(old['start'])} in {old['chamber']} on {old['mold']}, {old['pieces']} pc"
    return f"changed  {name}: {_when(old['start'])} in {old['chamber']}: {', '.join(_steps(row, ('mold', 'crew')))}"


def _hanging_words(row: dict[str, Any]) -> str:
    old, new = row["old"], row["new"]
    one = new or old
    name = f"{one['mold_in']} into {one['chamber']} {_when(one['start'])}"
    if old is None or new is None:
        return f"{row['change']:8} {name}"
    was = f"{old['mold_in']} into {old['chamber']} {_when(old['start'])}"
    return f"changed  {was}: {', '.join(_steps(row, ('mold_in', 'mold_out', 'crew')))}"


def _upkeep_words(row: dict[str, Any]) -> str:
    old, new = row["old"], row["new"]
    if old is None or new is None:
        return f"{row['change']:8} {(new or old)['upkeep']} {_when((new or old)['start'])}"
    crew = f", by {_listed(new['crew'])}" if old["crew"] != new["crew"] else ""
    return f"changed  {new['upkeep']}: {_when(new['start'])} instead of {_when(old['start'])}{crew}"


def _steps(row: dict[str, Any], fields: tuple[str, ...]) -> list[str]:
    old, new = row["old"], row["new"]
    found = []
    if old["chamber"] != new["chamber"]:
        found.append(f"to {new['chamber']}")
    minutes = _minutes(old["start"], new["start"])
    if minutes:
        found.append(f"{span_words(abs(minutes))} {'later' if minutes > 0 else 'earlier'}, {_when(new['start'])}")
    elif str(What.TIMES) in row["what"]:
        field = "end" if old["end"] != new["end"] else "heat_start"
        name = "ends" if field == "end" or "heat_start" not in old else "heat from"
        if old.get(field) != new.get(field):
            found.append(f"{name} {_when(new[field])} instead of {_when(old[field])}")
    for name in fields:
        if old[name] != new[name]:
            found.append(f"{name.replace('_', ' ')} {_listed(new[name])} instead of {_listed(old[name])}")
    if old["locked"] != new["locked"]:
        found.append("locked" if new["locked"] else "no longer locked")
    return found or ["in detail"]


def _listed(value: object) -> str:
    return ", ".join(map(str, value)) or "nobody" if isinstance(value, list) else str(value or "nothing")


def _use_words(old: dict[str, float], new: dict[str, float]) -> list[str]:
    return [
        f"{old[name]:,.{digits}f} to {new[name]:,.{digits}f} {words}"
        for name, words, digits in _USE_WORDS
        if f"{old[name]:.{digits}f}" != f"{new[name]:.{digits}f}"
    ]


def _nervous_words(row: dict[str, Any]) -> str:
    wasted = row["wasted_mold_changes"]
    words = (
        f"Upset: {row['moved_h']:.1f} h of moves (near ones count most), {row['reversed_frac']:.1%} of pairs in a "
        f"chamber the other way round, {len(wasted)} mold changes wasted"
    )
    return words + "".join(
        f"\n  wasted: {one['mold_in']} into {one['chamber']} {_when(one['start'])}" for one in wasted
    )


def _when(at: str) -> str:
    return f"{datetime.fromisoformat(at):%a %d %b %H:%M}"


def _minutes(old: str, new: str) -> int:
    return round((datetime.fromisoformat(new) - datetime.fromisoformat(old)).total_seconds() / 60)


def span_words(minutes: int) -> str:
    """Return a length of time as a crew would say it."""
    hours = minutes / 60
    return f"{minutes} min" if minutes < 60 else f"{hours:.1f} h" if hours < 48 else f"{hours / 24:.1f} days"
