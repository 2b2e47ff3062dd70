"""Sentences for people: dates and numbers by the locale, states and reasons as words."""

from datetime import date, datetime

from PySide6.QtCore import QObject

from yardplan.domain.equipment import Unit
from yardplan.domain.orders import Order
from yardplan.domain.outcome import Status, StoredPlan
from yardplan.domain.people import Downtime, ResourceKind
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, OrderResult, Plan
from yardplan.domain.risk import of_twenty
from yardplan.domain.rules import Blocked, Why
from yardplan.domain.shop_sheet import short_codes
from yardplan.domain.yard import Yard
from yardplan.ui.dates import clock_text, day_text, day_time_text, decimal_text, due_text, percent_text
from yardplan.ui.lanes import CrewJob, Part

STATES = ON_TIME, LATE, UNFINISHED = "on time", "late", "unfinished"
"""The values of `OrderResult.state`."""


class Words(QObject):
    """Tells about one yard and its plan in the language and the customs of this seat."""

    def __init__(self, yard: Yard, plan: Plan, *, codes_first: bool = False) -> None:
        super().__init__()
        self._codes_first = codes_first
        self._grid = plan.grid
        self._codes = short_codes(yard, plan.cycles, plan.grid)
        self._cycles = {cycle.id: cycle for cycle in plan.cycles}
        self._units = {chamber.id: unit for unit in yard.units for chamber in unit.chambers}
        self._products = {product.id: product for product in yard.products}
        self._people = {operator.id: operator.name for operator in yard.operators}
        self._benches = {bench.id: bench.name for bench in yard.benches}
        self._molds = {mold.id: mold.name for mold in yard.molds}

    # Numbers and times

    def time(self, slot: int) -> str:
        """Return the local time of a slot, such as ``09:40``."""
        return clock_text(self._grid.local(slot))

    def day(self, slot: int) -> str:
        """Return the local day of a slot."""
        return day_text(self._grid.local(slot))

    def day_time(self, slot: int) -> str:
        """Return the local day and time of a slot."""
        return day_time_text(self._grid.local(slot))

    def span(self, first: int, after: int) -> str:
        """Return a span of slots, with the day named once if it is one day."""
        start, end = self._grid.local(first), self._grid.local(after)
        if start.date() == end.date():
            return self.tr("{day}, {start} to {end}").format(
                day=day_text(start), start=clock_text(start), end=clock_text(end)
            )
        return self.tr("{start} to {end}").format(start=day_time_text(start), end=day_time_text(end))

    def span_on(self, day_slot: int, first: int, after: int) -> str:
        """Return a span of slots by the clock alone where it lies on the day of `day_slot`, else with its day."""
        days = {self._grid.local(slot).date() for slot in (day_slot, first, after)}
        if len(days) > 1:
            return self.span(first, after)
        return self.tr("{start} to {end}").format(start=self.time(first), end=self.time(after))

    def due(self, at: datetime | None) -> str:
        """Return a due or promise date; one that ends with its local day is told as that day."""
        return due_text(at.astimezone(self._grid.zone)) if at else ""

    def stamp(self, at: datetime) -> str:
        """Return an instant as the yard's local day and time."""
        return day_time_text(at.astimezone(self._grid.zone))

    def length(self, slots: int) -> str:
        """Return a length of time, such as ``35 min`` or ``2 h 05 min`` or ``3 d 4 h``."""
        minutes = slots * self._grid.slot_min
        days, rest = divmod(minutes, 1440)
        hours, mins = divmod(rest, 60)
        if days:
            return self.tr("{d} d {h} h").format(d=days, h=hours) if hours else self.tr("{d} d").format(d=days)
        if hours:
            full, exact = self.tr("{h} h").format(h=hours), self.tr("{h} h {m} min").format(h=hours, m=f"{mins:02d}")
            return exact if mins else full
        return self.tr("{m} min").format(m=mins)

    # Names of things

    def code(self, cycle_id: str) -> str:
        """Return the short code of a cycle for radio and paper, such as ``2B-07``; it counts within its day."""
        return self._codes[cycle_id]

    def place(self, chamber_id: str) -> str:
        """Return unit and chamber."""
        return self.tr("{unit} chamber {chamber}").format(unit=self._units[chamber_id].name, chamber=chamber_id)

    def product(self, product_id: str) -> str:
        """Return the product's name."""
        return self._products[product_id].name

    def mold(self, mold_id: str) -> str:
        """Return the mold's name."""
        return self._molds[mold_id]

    def people(self, ids: tuple[str, ...]) -> str:
        """Return the names of operators."""
        return ", ".join(self._people[ident] for ident in ids) if ids else self.tr("nobody needed")

    def bench(self, bench_id: str) -> str:
        """Return the bench's name."""
        return self._benches[bench_id]

    def step(self, job: FinishJob) -> str:
        """Return the name of a finishing job's step."""
        return self._products[self._cycles[job.cycle_id].product_id].routing[job.step_ix].name

    # Sentences for screen readers and tool tips

    def cycle(self, cycle: Cycle, result: OrderResult | None = None) -> str:
        """Return a cycle in one sentence, with what becomes of its order where that is not on time."""
        told = self.tr(
            "{place}, order {order}, {product} {color}, mold {mold}, planned {charge}, heat {heat} to {heat_end}, "
            "cool to {cool_end}, demold {demold} to {end}"
        ).format(
            place=self.place(cycle.chamber_id),
            order=cycle.order_id,
            product=self.product(cycle.product_id),
            color=cycle.color,
            mold=cycle.mold,
            charge=self.day_time(cycle.charge_slot),
            heat=self.time(cycle.heat_slot),
            heat_end=self.time(cycle.heat_end_slot),
            cool_end=self.time(cycle.cool_end_slot),
            demold=self.time(cycle.demold_slot),
            end=self.time(cycle.end_slot),
        )
        if result and result.state == LATE:
            told += self.tr(", its order is late {amount}").format(amount=self.length(result.late_slots))
        elif result and result.state == UNFINISHED:
            told += self.tr(", its order lacks {n} pieces").format(n=result.pieces_missing)
        return self._or_locked(told, cycle.locked)

    def change(self, change: MoldChange) -> str:
        """Return a mold change in one sentence."""
        if change.mold_out:
            what = self.tr("take out {out}, hang {inn}").format(out=change.mold_out, inn=change.mold_in)
        else:
            what = self.tr("hang {inn}").format(inn=change.mold_in)
        told = self.tr("{place}, mold change: {what}, {span}, crew {crew}").format(
            place=self.place(change.chamber_id),
            what=what,
            span=self.span(change.start_slot, change.end_slot),
            crew=self.people(change.crew),
        )
        return self._or_locked(told, change.locked)

    def finish(self, job: FinishJob) -> str:
        """Return a finishing job in one sentence."""
        told = self.tr("{bench}, {step}, order {order}, cycle {code}, {span}, {who}, {kwh} kWh").format(
            bench=self.bench(job.bench_id),
            step=self.step(job),
            order=self._cycles[job.cycle_id].order_id,
            code=self.code(job.cycle_id),
            span=self.span(job.start_slot, job.end_slot),
            who=self.people((job.operator_id,)),
            kwh=decimal_text(job.kwh, 1),
        )
        return self._or_locked(told, job.locked)

    def cycle_labels(self, cycle: Cycle) -> tuple[str, ...]:
        """Return what may stand on a cycle, from the longest to the shortest; on paper its code comes first."""
        product = self.product(cycle.product_id)
        first = f"{self.code(cycle.id)} {cycle.order_id}" if self._codes_first else cycle.order_id
        return (
            f"{first} · {product}, {cycle.color} · {cycle.mold}",
            f"{first} · {product}, {cycle.color}",
            f"{first} · {product}",
            f"{first} · {cycle.product_id}",
            first,
            self.code(cycle.id) if self._codes_first else "",
        )

    def latest_labels(self, slot: int) -> tuple[str, ...]:
        """Return what may stand at a latest safe start."""
        return (self.tr("latest start {at}").format(at=self.time(slot)), self.time(slot))

    def latest_start(self, chamber_id: str, product_id: str, slot: int) -> str:
        """Return a latest safe start in one sentence."""
        return self.tr("{place}: latest safe start of {product} on {day} is {at}").format(
            place=self.place(chamber_id), product=self.product(product_id), day=self.day(slot), at=self.time(slot)
        )

    def clean_down(self) -> str:
        """Return the word for cleaning between two colors."""
        return self.tr("clean")

    def change_labels(self, change: MoldChange) -> tuple[str, ...]:
        """Return what may stand on a mold change."""
        name = self._molds[change.mold_in.mold_id]
        return (
            self.tr("hang {mold} ({name})").format(mold=change.mold_in, name=name),
            self.tr("hang {mold}").format(mold=change.mold_in),
            str(change.mold_in),
            change.mold_in.mold_id,
        )

    def crew_labels(self, job: CrewJob) -> tuple[str, ...]:
        """Return what may stand on a job of a person: what, and where."""
        if isinstance(job.work, MoldChange):
            told = self.tr("hang {mold} in {chamber}").format(mold=job.work.mold_in, chamber=job.work.chamber_id)
            return (told, *self.change_labels(job.work)[1:], job.work.chamber_id)
        if isinstance(job.work, FinishJob):
            return self.finish_labels(job.work)
        word = self.tr("charge") if job.part is Part.CHARGE else self.tr("demold")
        code = self.code(job.work.id)
        return (f"{word} {code} · {job.work.order_id}", f"{word} {code}", code, job.work.chamber_id)

    def finish_labels(self, job: FinishJob) -> tuple[str, ...]:
        """Return what may stand on a finishing job: step and order."""
        order_id, step = self.order_of(job.cycle_id), self.step(job)
        return (f"{step} {order_id} · {self.code(job.cycle_id)}", f"{step} {order_id}", order_id, step)

    def order_of(self, cycle_id: str) -> str:
        """Return the order of a cycle, empty where there is no such cycle."""
        return self._cycles[cycle_id].order_id if cycle_id in self._cycles else ""

    def crew_job(self, job: CrewJob) -> str:
        """Return a job of a person in one sentence."""
        who = self._people[job.operator_id]
        if isinstance(job.work, MoldChange):
            return f"{who}: {self.change(job.work)}"
        if isinstance(job.work, FinishJob):
            return f"{who}: {self.finish(job.work)}"
        return self.tr("{who}: {what}, {place}, order {order}, {span}").format(
            who=who,
            what=self.crew_labels(job)[1],
            place=self.place(job.work.chamber_id),
            order=job.work.order_id,
            span=self.span(job.start_slot, job.end_slot),
        )

    def downtime(self, down: Downtime) -> str:
        """Return a down-time in one sentence."""
        what = {
            ResourceKind.YARD: self.tr("whole yard"),
            ResourceKind.UNIT: self.tr("unit"),
            ResourceKind.CHAMBER: self.tr("chamber"),
            ResourceKind.MOLD: self.tr("mold"),
            ResourceKind.BENCH: self.tr("bench"),
            ResourceKind.OPERATOR: self.tr("operator"),
        }[down.kind]
        start, end = down.start_at.astimezone(self._grid.zone), down.end_at.astimezone(self._grid.zone)
        return self.tr("out of work: {what} {id}, {reason}, {start} to {end}").format(
            what=what, id=down.resource_id, reason=down.reason, start=day_time_text(start), end=day_time_text(end)
        )

    def day_heat(self, low_kwh: float, likely_kwh: float, high_kwh: float) -> tuple[str, ...]:
        """Return a day's heat, from the longest words to the shortest."""
        low, likely, high = (decimal_text(value, 0) for value in (low_kwh, likely_kwh, high_kwh))
        return (
            self.tr("likely {likely} kWh ({low} to {high})").format(likely=likely, low=low, high=high),
            self.tr("{likely} kWh").format(likely=likely),
        )

    def heat_day(self, unit: Unit, on: date, likely: str) -> str:
        """Return a day of heat outlook in one sentence."""
        return self.tr("{unit}, {day}: heat of the field {likely}; band from P10 to P90, line P50").format(
            unit=unit.name, day=day_text(on), likely=likely
        )

    def battery_day(self, unit: Unit, on: date) -> str:
        """Return a day of a battery in one sentence."""
        return self.tr(
            "{unit}, {day}: battery charge before finishing; {reserve} of {full} kWh are never spent"
        ).format(
            unit=unit.name,
            day=day_text(on),
            reserve=decimal_text(unit.reserve_kwh, 1),
            full=decimal_text(unit.battery_kwh, 1),
        )

    def evening(self, spent_kwh: float, left_kwh: float) -> tuple[str, ...]:
        """Return what benches spend of an evening's energy, from the longest to the shortest."""
        spent, left = decimal_text(spent_kwh, 1), decimal_text(left_kwh, 1)
        return (
            self.tr("evening {spent} of {left} kWh").format(spent=spent, left=left),
            self.tr("{spent} of {left} kWh").format(spent=spent, left=left),
        )

    def evening_work(self, unit: Unit, told: str) -> str:
        """Return an evening's work on a unit's battery in one sentence."""
        return self.tr("{unit}: {told} that the battery leaves for benches until sunrise").format(
            unit=unit.name, told=told
        )

    def _or_locked(self, told: str, locked: bool) -> str:
        return self.tr("{told}, locked").format(told=told) if locked else told

    # Orders and plans

    def state(self, result: OrderResult, order: Order) -> str:
        """Return what a plan makes of an order, with the amount."""
        if result.state == UNFINISHED:
            told = self.tr("unfinished: {missing} of {quantity} missing").format(
                missing=result.pieces_missing, quantity=order.quantity
            )
            late = self.tr("late {amount}").format(amount=self.length(result.late_slots))
            return f"{told}, {late}" if result.late_slots else told
        if result.state == LATE:
            return self.tr("late {amount}").format(amount=self.length(result.late_slots))
        return self.tr("on time")

    def counts(self, results: tuple[OrderResult, ...]) -> str:
        """Return how many orders are on time, late, unfinished."""
        on_time, late, unfinished = (sum(row.state == state for row in results) for state in STATES)
        return self.tr("orders: {a} on time, {b} late, {c} unfinished").format(a=on_time, b=late, c=unfinished)

    def chance(self, chance_frac: float) -> str:
        """Return in how many of twenty skies an order is on time."""
        return self.tr("{n} of 20").format(n=of_twenty(chance_frac))

    def reason(self, blocked: Blocked) -> str:
        """Return why something of an order is left out."""
        told = {
            Why.NO_MOLD_FITS: self.tr("no mold for it fits a chamber"),
            Why.NO_HEAT: self.tr("no start in these days reaches PIAT at this confidence"),
            Why.NO_RESIN: self.tr("not enough resin on hand or coming"),
            Why.NO_INSERTS: self.tr("not enough inserts on hand or coming"),
            Why.NO_CREW: self.tr("nobody with the skill is on shift when needed"),
            Why.NO_BENCH: self.tr("no bench of the kind has the power for it"),
            Why.NO_ENERGY: self.tr("sun and battery leave too little for its finishing"),
            Why.NO_ROOM: self.tr("the plan is full"),
        }[blocked.why]
        # Where the plan is full the detail says how many pieces are missing, which the state tells already.
        return f"{told} ({blocked.detail})" if blocked.detail and blocked.why is not Why.NO_ROOM else told

    def status(self, status: Status) -> str:
        """Return how a plan came about."""
        return {
            Status.PROVEN: self.tr("proven best"),
            Status.GOOD: self.tr("best found in its time"),
            Status.FALLBACK: self.tr("by dispatch rules alone"),
            Status.STOPPED: self.tr("stopped, best so far"),
            Status.EDITED: self.tr("changed by hand"),
            Status.IMPOSSIBLE: self.tr("nothing can be planned"),
        }[status]

    def gap(self, cost: int, bound: int) -> str:
        """Return how far a cost may be above the least possible, as a share of it."""
        if bound <= 0 < cost:
            return self.tr("gap not known")
        gap_frac = (cost - bound) / cost if cost else 0.0
        return self.tr("gap {percent}").format(percent=percent_text(gap_frac))

    def summary(self, stored: StoredPlan, results: tuple[OrderResult, ...]) -> str:
        """Return the summary line of a plan version."""
        return "  ·  ".join(
            (
                self.tr("Plan {number}").format(number=stored.number),
                self.tr("made {at}").format(at=self.stamp(stored.made_at)),
                self.status(stored.outcome.status),
                self.counts(results),
                self.gap(stored.outcome.parts.cost, stored.outcome.bound),
                self.tr("at {percent} confidence").format(percent=percent_text(stored.confidence)),
                self.tr("heat: {source}").format(source=stored.heat_source),
            )
        )

    def sheet_title(self, stored: StoredPlan, on: date) -> str:
        """Return what stands first on a sheet of paper."""
        return self.tr("Plan {number}  ·  {day} {year}").format(number=stored.number, day=day_text(on), year=on.year)

    def sheet_origin(self, stored: StoredPlan, site: str, page: str) -> str:
        """Return whose plan it is, from when, and which sheet of how many."""
        return self.tr("{site}  ·  made {at} by {who}  ·  sheet {page}").format(
            site=site, at=self.stamp(stored.made_at), who=stored.made_by, page=page
        )

    def sheet_foot(self, stored: StoredPlan) -> str:
        """Return the caution at the foot of each sheet."""
        return self.tr(
            "Times are planned at {share} confidence: a cook ends when the inside air has reached its peak, not by the "
            "clock. The field's safety rules come first."
        ).format(share=percent_text(stored.confidence))
