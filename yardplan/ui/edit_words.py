"""What edits of a plan come to, in words: at the pointer, in dialogs, and of two plans side by side."""

import re

from PySide6.QtCore import QObject

from yardplan.domain.compare import Comparison
from yardplan.domain.difference import Pair
from yardplan.domain.edits import Add, Edit, Edited, Lock, Remove, Split
from yardplan.domain.plan import Cycle, Plan, order_results
from yardplan.ui.dates import decimal_text, percent_text
from yardplan.ui.words import Words
from yardplan.usecases.outlook import Outlook

MOST_TOLD = 4
"""Pushed cycles, reasons and orders that are told one by one; the rest is counted."""


class EditWords(QObject):
    """Tells about edits of one plan; `words` know that plan."""

    def __init__(self, outlook: Outlook, plan: Plan, words: Words) -> None:
        super().__init__()
        self._outlook, self._plan, self._words = outlook, plan, words

    def verdict(self, edit: Edit, found: Edited) -> str:
        """Return whether an edit can be made, what it pushes, and which orders end otherwise."""
        lines = [self.place(edit, found)]
        if not found.is_done:
            shown = [self._coded(text) for text in found.reasons[:MOST_TOLD]]
            lines += [self.tr("Not possible: {reason}").format(reason=text) for text in shown]
            lines += self._more(len(found.reasons))
            if found.first_slot is not None:
                at = self._words.day_time(found.first_slot)
                lines.append(self.tr("It could begin there from {at} on.").format(at=at))
            return "\n".join(lines)
        lines += [self.pair(pair) for pair in found.pushed[:MOST_TOLD]]
        lines += self._more(len(found.pushed))
        if not found.pushed and not isinstance(edit, Lock):
            lines.append(self.tr("Nothing else is moved."))
        orders = self._orders(found.plan)
        return "\n".join((*lines, *orders[:MOST_TOLD], *self._more(len(orders))))

    def _coded(self, text: str) -> str:
        """Return a sentence of the checker with cycles called as on the board, and their orders."""

        def called(found: re.Match[str]) -> str:
            order_id = self._words.order_of(found[0])
            return f"{self._words.code(found[0])} ({order_id})" if order_id else found[0]

        return re.sub(r"\bC\d+\b", called, text)

    def place(self, edit: Edit, found: Edited) -> str:
        """Return what is meant, in a line: where the cycle would be."""
        words = self._words
        if isinstance(edit, Lock):
            return self.tr("Locked") if edit.locked else self.tr("Unlocked")
        if isinstance(edit, Remove):
            return self.tr("Removed from the plan")
        now = {row.id: row for row in found.plan.cycles}
        row = now.get(found.cycle_ids[0]) if found.is_done and found.cycle_ids else None
        slot = row.charge_slot if row else edit.charge_slot
        told = self.tr("{chamber}, {at}").format(chamber=edit.chamber_id, at=words.day_time(slot))
        if row is not None:
            told = self.tr("{place}, heat {heat} to {end}").format(
                place=told, heat=words.time(row.heat_slot), end=words.time(row.heat_end_slot)
            )
        return told

    def name(self, edit: Edit) -> str:
        """Return an edit as undo and redo name it."""
        if isinstance(edit, Add):
            return self.tr("add a cycle of {order}").format(order=edit.order_id)
        code = self._words.code(edit.cycle_id)
        if isinstance(edit, Lock):
            return (self.tr("lock {code}") if edit.locked else self.tr("unlock {code}")).format(code=code)
        if isinstance(edit, Remove):
            return self.tr("remove {code}").format(code=code)
        if isinstance(edit, Split):
            return self.tr("split at {code}").format(code=code)
        return self.tr("move {code}").format(code=code)

    def pair(self, pair: Pair[Cycle]) -> str:
        """Return what becomes of a cycle in a line."""
        old, new, words = pair.old, pair.new, self._words
        row = new or old
        assert row is not None  # a pair has at least one row
        name = self.tr("{order} {product}").format(order=row.order_id, product=words.product(row.product_id))
        if old is None:
            return self.tr("New: {name}, {place}").format(name=name, place=self._where(row))
        if new is None:
            return self.tr("Dropped: {name}, {place}").format(name=name, place=self._where(row))
        by = new.charge_slot - old.charge_slot
        if old.chamber_id == new.chamber_id and abs(by) * self._plan.grid.slot_min < 180:
            text = (
                self.tr("{length} later: {name}, {place}") if by > 0 else self.tr("{length} earlier: {name}, {place}")
            )
            return text.format(length=words.length(abs(by)), name=name, place=self._where(old))
        return self.tr("Moved: {name}, {was} to {place}").format(
            name=name, was=self._where(old), place=self._where(new)
        )

    def _where(self, row: Cycle) -> str:
        return self.tr("{chamber} {at}").format(chamber=row.chamber_id, at=self._words.day_time(row.charge_slot))

    def _orders(self, plan: Plan) -> list[str]:
        orders, yard, words = self._outlook.orders, self._outlook.yard, self._words
        before, after = order_results(self._plan, orders, yard), order_results(plan, orders, yard)
        lines = []
        for order, was, now in zip(orders, before, after, strict=True):
            if (was.state, was.late_slots) != (now.state, now.late_slots):
                lines.append(self.tr("Order {id}: {told}").format(id=order.id, told=words.state(now, order)))
        return lines

    def _more(self, count: int) -> list[str]:
        left = count - MOST_TOLD
        return [self.tr("and {n} more").format(n=left)] if left > 0 else []

    def upset(self, found: Comparison) -> list[str]:
        """Return how much one plan upsets another: hours of moves, pairs turned round, mold changes for nothing."""
        upset = found.nervousness
        return [
            self.tr("Moved in all: {h} h, near ones counting most").format(h=decimal_text(upset.moved_h, 1)),
            self.tr("Pairs of cycles that follow each other the other way round: {share}").format(
                share=percent_text(upset.reversed_frac)
            ),
            self.tr("Mold changes that were for nothing: {n}").format(n=len(upset.wasted_changes)),
        ]

    def comparison(self, found: Comparison) -> list[str]:
        """Return what a plan has otherwise than another, cycle by cycle, then orders."""
        cycles = [self.pair(pair) for pair in found.difference.cycles if _is_moved(pair)]
        orders = []
        for change in found.orders:
            if change.new is not None and change.new_order is not None and change.old != change.new:
                told = self._words.state(change.new, change.new_order)
                orders.append(self.tr("Order {id}: {told}").format(id=change.order_id, told=told))
        return [*cycles, *orders]


def _is_moved(pair: Pair[Cycle]) -> bool:
    old, new = pair.old, pair.new
    return old is None or new is None or (old.chamber_id, old.charge_slot) != (new.chamber_id, new.charge_slot)
