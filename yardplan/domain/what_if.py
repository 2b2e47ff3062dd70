"""Changes of a question that a manager can ask about: a closed list; each is a pure function of the question."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any, Protocol

import numpy as np

from yardplan.domain.equipment import Unit
from yardplan.domain.errors import NotThere, require
from yardplan.domain.orders import Order
from yardplan.domain.people import Duty, Operator, Shift
from yardplan.domain.problem import Problem
from yardplan.domain.products import Delivery
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard

OVERTIME = timedelta(hours=3)
"""How long an overtime evening lasts after the last shift: common practice, no source."""


class Change(Protocol):
    """One change of a question."""

    @property
    def text(self) -> str:
        """The few words that a person says for it."""

    @property
    def words(self) -> str:
        """The change in a phrase that follows "with"."""


class YardChange(Change, Protocol):
    """A change that needs no other sky than the question has."""

    def applied(self, problem: Problem) -> Problem:
        """Return the question with the change; raises `NotThere` for a name that the yard does not have."""


@dataclass(frozen=True)
class OneMoreCopy:
    """One more physical mold of a type; it hangs nowhere at first."""

    mold_id: str

    @property
    def text(self) -> str:
        """See `Change`."""
        return f"copy {self.mold_id}"

    @property
    def words(self) -> str:
        """See `Change`."""
        return f"one more copy of mold {self.mold_id}"

    def applied(self, problem: Problem) -> Problem:
        """See `YardChange`."""
        mold = problem.yard.mold(self.mold_id)
        more = replace(mold, copies=mold.copies + 1)
        molds = tuple(more if row is mold else row for row in problem.yard.molds)
        return _with_yard(problem, molds=molds)


@dataclass(frozen=True)
class OneMorePerson:
    """One more person on a shift, on the days it is worked, with the skills named or all that its people have."""

    shift_id: str
    skills: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """See `Change`."""
        return f"operator {self.shift_id}" + (f":{'+'.join(self.skills)}" if self.skills else "")

    @property
    def words(self) -> str:
        """See `Change`."""
        able = " and ".join(self.skills) if self.skills else "all that the shift does"
        return f"one more person on the {self.shift_id} shift for {able}"

    def applied(self, problem: Problem) -> Problem:
        """See `YardChange`."""
        yard = problem.yard
        known = sorted({shift.id for shift in yard.shifts})
        if self.shift_id not in known:
            raise NotThere("shift", self.shift_id, f"known are {', '.join(known)}")
        crew = [row for row in yard.operators if any(duty.shift_id == self.shift_id for duty in row.duties)]
        have = sorted({skill for row in yard.operators for skill in row.skills})
        for skill in self.skills:
            require(skill in have, "what-if", self.text, "skill", skill, f"one of {', '.join(have)}")
        skills = frozenset(self.skills or (skill for row in crew for skill in row.skills))
        days = frozenset(
            day for row in crew for duty in row.duties if duty.shift_id == self.shift_id for day in duty.weekdays
        )
        name = _free_name(f"+{self.shift_id}", (row.id for row in yard.operators))
        more = Operator(
            name, f"one more ({self.shift_id})", skills, (Duty(self.shift_id, days or frozenset(range(7))),)
        )
        return _with_yard(problem, operators=(*yard.operators, more))


@dataclass(frozen=True)
class OneMoreBench:
    """One more bench of the kind and on the unit of one that is there."""

    bench_id: str

    @property
    def text(self) -> str:
        """See `Change`."""
        return f"bench {self.bench_id}"

    @property
    def words(self) -> str:
        """See `Change`."""
        return f"one more bench like {self.bench_id}"

    def applied(self, problem: Problem) -> Problem:
        """See `YardChange`."""
        benches = {bench.id: bench for bench in problem.yard.benches}
        if self.bench_id not in benches:
            raise NotThere("bench", self.bench_id, f"known are {', '.join(sorted(benches))}")
        more = replace(benches[self.bench_id], id=_free_name(f"+{self.bench_id}", benches))
        return _with_yard(problem, benches=(*problem.yard.benches, more))


@dataclass(frozen=True)
class OneMoreUnit:
    """One more unit with the field, chambers and sun of one that is there; nothing hangs in it, no bench is on it."""

    unit_id: str

    @property
    def text(self) -> str:
        """See `Change`."""
        return f"unit {self.unit_id}"

    @property
    def words(self) -> str:
        """See `Change`."""
        return f"one more unit like {self.unit_id}, empty"

    def applied(self, problem: Problem) -> Problem:
        """See `YardChange`."""
        yard, cook, power = problem.yard, problem.cook, problem.power
        like = yard.unit(self.unit_id)
        ix = cook.unit_ids.index(like.id)
        chambers = tuple(
            replace(row, id=_free_name(f"+{row.id}", (chamber.id for chamber in yard.chambers)))
            for row in like.chambers
        )
        name = _free_name(f"+{like.id}", (unit.id for unit in yard.units))
        more: Unit = replace(like, id=name, name=f"{like.name}, one more", chambers=chambers)
        unit_ids = (*cook.unit_ids, more.id)
        return replace(
            problem,
            yard=replace(yard, units=(*yard.units, more)),
            cook=replace(
                cook,
                unit_ids=unit_ids,
                cook_slots=_repeated(cook.cook_slots, ix, axis=2),
                cool_slots=_repeated(cook.cool_slots, ix, axis=2),
                heat_kwh=_repeated(cook.heat_kwh, ix, axis=1),
            ),
            power=replace(
                power,
                unit_ids=unit_ids,
                finish_kw=_repeated(power.finish_kw, ix, axis=0),
                span_kwh=_repeated(power.span_kwh, ix, axis=0),
                charge_kwh=_repeated(power.charge_kwh, ix, axis=0),
            ),
        )


@dataclass(frozen=True)
class OneMoreLoader:
    """One more loader for mold changes; its driver is one of the crew."""

    @property
    def text(self) -> str:
        """See `Change`."""
        return "loader"

    @property
    def words(self) -> str:
        """See `Change`."""
        return "one more loader"

    def applied(self, problem: Problem) -> Problem:
        """See `YardChange`."""
        site = problem.yard.site
        return _with_yard(problem, site=replace(site, loaders=site.loaders + 1))


@dataclass(frozen=True)
class Overtime:
    """The people of a day's last shift stay on for three hours, as overtime."""

    on: date

    @property
    def text(self) -> str:
        """See `Change`."""
        return f"overtime {self.on}"

    @property
    def words(self) -> str:
        """See `Change`."""
        return f"overtime on the evening of {self.on:%a %d %b}"

    def applied(self, problem: Problem) -> Problem:
        """See `YardChange`."""
        yard, on = problem.yard, self.on
        _in_days(on, problem.grid, self.text)
        worked = [
            shift
            for shift in yard.shifts
            if any(_works(row, shift.id, on) for row in yard.operators) and not shift.overtime
        ]
        require(bool(worked), "what-if", self.text, "day", str(on), "a day on which a shift is worked")
        last = max(worked, key=lambda shift: _end(shift, on))
        name = _free_name("+overtime", (shift.id for shift in yard.shifts))
        start = _end(last, on)
        more = Shift(name, start.time(), (start + OVERTIME).time(), overtime=True)
        duty = Duty(name, frozenset({start.weekday()}), start.date(), start.date())
        crew = tuple(
            replace(row, duties=(*row.duties, duty)) if _works(row, last.id, on) else row for row in yard.operators
        )
        return _with_yard(problem, shifts=(*yard.shifts, more), operators=crew)


@dataclass(frozen=True)
class MoreStock:
    """So much more of a stock item, there from the start [kg or pieces]."""

    item_id: str
    amount: float

    @property
    def text(self) -> str:
        """See `Change`."""
        return f"stock {self.item_id}={self.amount:g}"

    @property
    def words(self) -> str:
        """See `Change`."""
        return f"{self.amount:g} more of {self.item_id} in stock"

    def applied(self, problem: Problem) -> Problem:
        """See `YardChange`."""
        items = sorted(item.id for item in problem.yard.items)
        if self.item_id not in items:
            raise NotThere("stock item", self.item_id, f"known are {', '.join(items)}")
        more = Delivery(self.item_id, problem.grid.start_at, self.amount)
        return _with_yard(problem, deliveries=(*problem.yard.deliveries, more))


@dataclass(frozen=True)
class MoreEnergy:
    """So much more energy for the benches of a unit in every span of the plan, as of a larger battery that is full."""

    unit_id: str
    kwh: float

    @property
    def text(self) -> str:
        """See `Change`."""
        return f"energy {self.unit_id}={self.kwh:g}"

    @property
    def words(self) -> str:
        """See `Change`."""
        return f"{self.kwh:g} kWh more for the benches of {self.unit_id} each day and evening"

    def applied(self, problem: Problem) -> Problem:
        """See `YardChange`."""
        problem.yard.unit(self.unit_id)
        span_kwh = problem.power.span_kwh.copy()
        span_kwh[problem.power.unit_ids.index(self.unit_id)] += self.kwh
        return replace(problem, power=replace(problem.power, span_kwh=span_kwh))


@dataclass(frozen=True)
class OtherOrder:
    """An order with another due date, promise, quantity or priority (what is None stays), or left out."""

    order_id: str
    due_at: datetime | None = None
    promise_at: datetime | None = None
    quantity: int | None = None
    priority: int | None = None
    no_promise: bool = False
    left_out: bool = False
    said: str = ""

    @property
    def text(self) -> str:
        """See `Change`."""
        return f"order {self.order_id} {self.said}"

    @property
    def words(self) -> str:
        """See `Change`."""
        return f"order {self.order_id} {'left out' if self.left_out else self.said.replace('=', ' ')}"

    def applied(self, problem: Problem) -> Problem:
        """See `YardChange`."""
        known = [order.id for order in problem.orders]
        if self.order_id not in known:
            raise NotThere("open order", self.order_id, f"known are {', '.join(known)}")

        def edited(order: Order) -> Order:
            return replace(
                order,
                due_at=self.due_at or order.due_at,
                promise_at=None if self.no_promise else self.promise_at or order.promise_at,
                quantity=order.quantity if self.quantity is None else self.quantity,
                priority=order.priority if self.priority is None else self.priority,
            )

        rest = (order for order in problem.orders if not (self.left_out and order.id == self.order_id))
        return replace(problem, orders=tuple(edited(row) if row.id == self.order_id else row for row in rest))


@dataclass(frozen=True)
class ClearDay:
    """No cloud on one day, in all scenarios."""

    on: date

    @property
    def text(self) -> str:
        """See `Change`."""
        return f"clear {self.on}"

    @property
    def words(self) -> str:
        """See `Change`."""
        return f"a clear sky on {self.on:%a %d %b}"


@dataclass(frozen=True)
class AtConfidence:
    """Another planning confidence."""

    confidence: float

    @property
    def text(self) -> str:
        """See `Change`."""
        return f"confidence {self.confidence:g}"

    @property
    def words(self) -> str:
        """See `Change`."""
        return f"a planning confidence of {self.confidence:.0%}"


AnyChange = (
    OneMoreCopy | OneMorePerson | OneMoreBench | OneMoreUnit | OneMoreLoader | Overtime | MoreStock | MoreEnergy
    | OtherOrder | ClearDay | AtConfidence
)  # fmt: skip


def _with_yard(problem: Problem, **changes: Any) -> Problem:
    yard: Yard = replace(problem.yard, **changes)
    return replace(problem, yard=yard)


def _repeated(values: Any, ix: int, *, axis: int) -> Any:
    """Return an array with the row of one unit once more at the end."""
    return np.concatenate([values, np.take(values, [ix], axis=axis)], axis=axis)


def _free_name(wanted: str, taken: Iterable[str]) -> str:
    """Return a name that is not taken: as wanted, else with a number."""
    known = set(taken)
    return (
        wanted
        if wanted not in known
        else next(f"{wanted}.{n}" for n in range(2, 10_000) if f"{wanted}.{n}" not in known)
    )


def _works(row: Operator, shift_id: str, on: date) -> bool:
    return on not in row.days_off and any(duty.shift_id == shift_id and duty.holds_on(on) for duty in row.duties)


def _end(shift: Shift, on: date) -> datetime:
    end = datetime.combine(on, shift.end_local)
    return end if shift.end_local > shift.start_local else end + timedelta(days=1)


def _in_days(on: date, grid: SlotGrid, text: str) -> None:
    days = [day for day, _, _ in grid.days]
    require(on in days, "what-if", text, "day", str(on), f"a day of the plan, {days[0]} to {days[-1]}")
