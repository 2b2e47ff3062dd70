"""Edits of a plan in words, for the record and the command line."""

from yardplan.domain.difference import Pair
from yardplan.domain.edits import Add, Edit, Edited, Lock, Remove, Split
from yardplan.domain.orders import Order
from yardplan.domain.plan import Cycle, Plan, order_results
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard


def place_words(row: Cycle, grid: SlotGrid) -> str:
    """Return where and when a cycle is."""
    return f"{row.chamber_id} {grid.local(row.charge_slot):%a %d %b %H:%M}"


def pair_words(pair: Pair[Cycle], grid: SlotGrid) -> str:
    """Return what becomes of a cycle: moved, added or dropped."""
    old, new = pair.old, pair.new
    if old is not None and new is not None:
        return f"{new.id} {new.product_id} for {new.order_id}: {place_words(old, grid)} -> {place_words(new, grid)}"
    if new is not None:
        return f"{new.id} {new.product_id} for {new.order_id} added: {place_words(new, grid)}"
    assert old is not None  # a pair has at least one row
    return f"{old.id} {old.product_id} for {old.order_id} dropped: {place_words(old, grid)}"


def edit_words(edit: Edit, old: Plan, new: Plan) -> str:
    """Return what was asked, with where things were and where they are now."""
    grid = new.grid
    if isinstance(edit, Add):
        at = f"{edit.chamber_id} {grid.local(edit.charge_slot):%a %d %b %H:%M}"
        return f"one more cycle for {edit.order_id}: {at}"
    was = next(row for row in old.cycles if row.id == edit.cycle_id)
    name = f"{was.id} for {was.order_id}"
    if isinstance(edit, Lock):
        return f"{name} {'locked' if edit.locked else 'unlocked'}: {place_words(was, grid)}"
    if isinstance(edit, Remove):
        return f"{name} dropped: {place_words(was, grid)}"
    to = f"{edit.chamber_id} {grid.local(edit.charge_slot):%a %d %b %H:%M}"
    what = f"{name} and later ones" if isinstance(edit, Split) else name
    return f"{what}: {place_words(was, grid)} -> {to}"


def edited_words(found: Edited, old: Plan, orders: tuple[Order, ...], yard: Yard) -> str:
    """Return what an edit came to: what was pushed, and which orders gain or lose time."""
    grid = found.plan.grid
    lines = [f"  pushed: {pair_words(pair, grid)}" for pair in found.pushed]
    before, after = (order_results(plan, orders, yard) for plan in (old, found.plan))
    for was, now in zip(before, after, strict=True):
        if was.state != now.state or was.late_slots != now.late_slots:
            late = f", {now.late_slots * grid.slot_min / 60:.1f} h late" if now.late_slots else ""
            lines.append(f"  order {now.order_id}: {was.state} before, {now.state} now{late}")
    return "\n".join(lines)
