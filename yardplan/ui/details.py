"""The panel beside the board: everything about the chosen cycle, or how to read the board while nothing is chosen."""

from functools import partial
from html import escape
from urllib.parse import quote

from PySide6.QtCore import QObject

from yardplan.domain.orders import Order
from yardplan.domain.plan import Cycle, FinishJob, OrderResult, Plan, order_results
from yardplan.domain.tables import NEVER, Recipe
from yardplan.ui.dates import decimal_text, percent_text
from yardplan.ui.lanes import charge_end_slot
from yardplan.ui.scene import ends_of_heat
from yardplan.ui.words import ON_TIME, Words
from yardplan.usecases.outlook import Outlook

NAME_PX = 78
"""Width of the column of names, the same in all tables."""


class Link(str):
    """Words that lead somewhere: an order in the list, another cycle, or why an order is late."""

    scheme: str
    target: str

    def __new__(cls, text: str, scheme: str, target: str) -> "Link":
        """Return words with what they lead to: `scheme` is ``order``, ``cycle`` or ``why``."""
        made = super().__new__(cls, text)
        made.scheme, made.target = scheme, target
        return made


Rows = list[tuple[str, str]]


class Details(QObject):
    """Tells about marks of one plan as rich text; all that comes from people is escaped."""

    def __init__(self, outlook: Outlook, plan: Plan, words: Words) -> None:
        super().__init__()
        self._outlook, self._plan, self._words = outlook, plan, words
        self._orders = {order.id: order for order in outlook.orders}
        self._cycles = {cycle.id: cycle for cycle in plan.cycles}
        self._changes = {change.id: change for change in plan.mold_changes}
        self._results = {row.order_id: row for row in order_results(plan, outlook.orders, outlook.yard)}

    def of_cycle(self, cycle_id: str) -> str:
        """Return all about a cycle: order, mold and place, times, people, finishing."""
        cycle, words = self._cycles[cycle_id], self._words
        order = self._orders.get(cycle.order_id)
        title = self.tr("{code}  {product}, {color}").format(
            code=words.code(cycle.id), product=words.product(cycle.product_id), color=cycle.color
        )
        parts = [
            f"<h3>{escape(title)}</h3>",
            _table(self._what(cycle)),
            _heading(self.tr("Times, {day}").format(day=words.day(cycle.charge_slot))),
            _table(self._times(cycle)),
            _heading(self.tr("Crew")),
            _table(
                [
                    (self.tr("charge"), words.people(cycle.charge_crew)),
                    (self.tr("demold"), words.people(cycle.demold_crew)),
                ]
            ),
            _heading(self.tr("Finishing")),
            self._finishing(cycle),
        ]
        if order:
            parts += [_heading(self.tr("Order {id}").format(id=order.id)), _table(self._order(order))]
            parts += [_heading(self.tr("Its cycles")), _table(self._siblings(cycle))]
        return "".join(parts)

    def of_change(self, change_id: str) -> str:
        """Return all about a mold change."""
        change, words = self._changes[change_id], self._words
        out = str(change.mold_out) if change.mold_out else self.tr("nothing hangs there")
        rows = [
            (self.tr("place"), words.place(change.chamber_id)),
            (self.tr("take out"), out),
            (self.tr("hang"), f"{change.mold_in} {words.mold(change.mold_in.mold_id)}"),
            (self.tr("start"), words.day_time(change.start_slot)),
            (self.tr("end"), words.day_time(change.end_slot)),
            (self.tr("takes"), words.length(change.end_slot - change.start_slot)),
            (self.tr("crew"), words.people(change.crew)),
            (self.tr("locked"), self.tr("yes") if change.locked else self.tr("no")),
        ]
        return f"<h3>{escape(self.tr('Mold change'))}</h3>{_table(rows)}"

    def of_sentence(self, told: str) -> str:
        """Return a sentence as it is."""
        return f"<p>{escape(told)}</p>"

    def _what(self, cycle: Cycle) -> Rows:
        words = self._words
        rows = [
            (self.tr("order"), Link(cycle.order_id, "order", cycle.order_id)),
            (self.tr("place"), words.place(cycle.chamber_id)),
            (self.tr("mold"), f"{cycle.mold} {words.mold(cycle.mold.mold_id)}"),
            (self.tr("pieces"), str(cycle.pieces)),
        ]
        if cycle.locked:
            rows.append((self.tr("locked"), self.tr("yes: planning leaves it as it is")))
        return rows

    def _times(self, cycle: Cycle) -> Rows:
        words, grid = self._words, self._plan.grid
        span = partial(words.span_on, cycle.charge_slot)
        charged = charge_end_slot(cycle, self._outlook.yard, grid)
        clean_end = cycle.charge_slot + cycle.clean_slots
        rows = []
        if cycle.clean_slots:
            rows.append((self.tr("clean down"), span(cycle.charge_slot, clean_end)))
        rows.append((self.tr("charge"), span(clean_end, charged)))
        if cycle.heat_slot > charged:
            rows.append((self.tr("wait"), self.tr("{t} for heat").format(t=words.length(cycle.heat_slot - charged))))
        rows += [
            (self.tr("heat"), span(cycle.heat_slot, cycle.heat_end_slot)),
            (self.tr("cook"), self._cook(cycle)),
            (self.tr("heat taken"), self._heat(cycle)),
            (self.tr("cool"), span(cycle.heat_end_slot, cycle.cool_end_slot)),
        ]
        if cycle.demold_slot > cycle.cool_end_slot:
            length = words.length(cycle.demold_slot - cycle.cool_end_slot)
            rows.append((self.tr("wait"), self.tr("{t} for crew").format(t=length)))
        rows.append((self.tr("demold"), span(cycle.demold_slot, cycle.end_slot)))
        return rows

    def _cook(self, cycle: Cycle) -> str:
        """Minutes of heat planned, and by when the peak is reached at each confidence."""
        words = self._words
        told = [words.length(cycle.heat_end_slot - cycle.heat_slot)]
        for confidence, slots in ends_of_heat(cycle, self._outlook):
            share = percent_text(confidence)
            if slots == NEVER:
                told.append(self.tr("{share} of skies: stalls").format(share=share))
            else:
                at = words.time(cycle.heat_slot + slots)
                told.append(self.tr("{share} of skies: PIAT by {at}").format(at=at, share=share))
        return "\n".join(told)

    def _heat(self, cycle: Cycle) -> str:
        cook, recipe = self._outlook.cook, Recipe(cycle.mold.mold_id, cycle.product_id)
        if recipe not in cook.recipes or not 0 <= cycle.heat_slot < cook.grid.n_slots:
            return self.tr("not known")
        unit_ix = cook.unit_ids.index(self._outlook.yard.unit_of(cycle.chamber_id).id)
        heat_kwh = float(cook.heat_kwh[cook.recipes.index(recipe), unit_ix, cycle.heat_slot])
        return self.tr("{kwh} kWh (median)").format(kwh=decimal_text(heat_kwh, 1))

    def _finishing(self, cycle: Cycle) -> str:
        jobs = sorted((job for job in self._plan.finishing if job.cycle_id == cycle.id), key=lambda job: job.step_ix)
        if not jobs:
            return f"<p>{escape(self.tr('no finishing in this plan'))}</p>"
        return _table([(self._words.step(job), self._job(job)) for job in jobs])

    def _job(self, job: FinishJob) -> str:
        words = self._words
        kwh = self.tr("{kwh} kWh").format(kwh=decimal_text(job.kwh, 2))
        place = f"{words.bench(job.bench_id)}, {words.people((job.operator_id,))}"
        return f"{words.span(job.start_slot, job.end_slot)}\n{place}\n{kwh}"

    def _order(self, order: Order) -> Rows:
        words, result = self._words, self._results[order.id]
        late = [] if result.state == ON_TIME else [("", Link(self.tr("Why is it late?"), "why", order.id))]
        return [
            (self.tr("customer"), order.customer),
            (self.tr("quantity"), self.tr("{n} pieces").format(n=order.quantity)),
            (self.tr("due"), words.due(order.due_at)),
            (self.tr("promised"), words.due(order.promise_at) or self.tr("not promised")),
            (self.tr("finish"), self._finish(result)),
            (self.tr("state"), words.state(result, order)),
            *late,
        ]

    def _siblings(self, chosen: Cycle) -> Rows:
        """All cycles of the order in their turn, each with when its last finishing is over."""
        words, ends = self._words, dict[str, int]()
        for job in self._plan.finishing:
            ends[job.cycle_id] = max(ends.get(job.cycle_id, 0), job.end_slot)
        rows: Rows = []
        for cycle in self._plan.cycles:
            if cycle.order_id == chosen.order_id:
                told = words.day_time(cycle.charge_slot)
                if cycle.id in ends:
                    told = self.tr("{start}, finished {end}").format(start=told, end=words.day_time(ends[cycle.id]))
                here = cycle.id == chosen.id
                rows.append((words.code(cycle.id), told if here else Link(told, "cycle", cycle.id)))
        return rows

    def _finish(self, result: OrderResult) -> str:
        return self.tr("not in this plan") if result.finish_slot is None else self._words.day_time(result.finish_slot)


def _heading(text: str) -> str:
    return f"<h4>{escape(text)}</h4>"


def _table(rows: Rows) -> str:
    cells = "".join(
        f"<tr><td class='name' width='{NAME_PX}'>{escape(name)}</td><td>{_cell(told)}</td></tr>" for name, told in rows
    )
    return f"<table>{cells}</table>"


def _cell(told: str) -> str:
    text = escape(told).replace("\n", "<br>")
    return f"<a href='{told.scheme}:{quote(told.target)}'>{text}</a>" if isinstance(told, Link) else text
