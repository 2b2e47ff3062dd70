"""From the log to the state of the yard: entries are taken one after another, and refused where they contradict."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import NoReturn

from yardplan.domain.equipment import MoldCopy, MoldMetal
from yardplan.domain.errors import Contradiction
from yardplan.domain.events import Choice, Event, EventKind, in_force
from yardplan.domain.plan import Cycle, Plan
from yardplan.domain.products import Product
from yardplan.domain.slots import zone
from yardplan.domain.state import ChamberState, MadeCycle, MadeStep, OrderCount, Out, Phase, YardState, carries_out
from yardplan.domain.yard import Yard

SHELL_KJ_KG_K = {MoldMetal.ALUMINUM: 0.90, MoldMetal.STEEL: 0.49}
"""Specific heat of shells at room temperature (handbook values: aluminum 0.90, carbon steel 0.49 kJ/(kg K))."""

_IN_COOK = (Phase.HEATING, Phase.HOLDING)


def state_of(yard: Yard, plan: Plan | None, events: Iterable[Event], now: datetime) -> YardState:
    """Return how the yard stands at `now`, from what was logged to have happened until then.

    An entry that cannot be true beside those before it is left out and told in `YardState.doubts`: none such is ever
    taken in, but a yard may have been changed since.

    Parameters
    ----------
    yard : Yard
        What stands in it; what hangs in its chambers and what is on hand are as of before the first entry.
    plan : Plan or None
        The plan in force; it only tells what is due.
    events : iterable of Event
        The whole log, in any order.
    """
    history = History(yard)
    for event in in_force(events):
        if event.at <= now:
            try:
                history.take(event)
            except Contradiction as error:
                history.doubts.append((event.number, error))
    return history.state(plan, now)


def admit(yard: Yard, events: Iterable[Event], fresh: Iterable[Event]) -> None:
    """Raise `Contradiction` if new entries cannot be true beside those that are there, earlier and later ones."""
    before = tuple(events)
    after = (*before, *fresh)
    if not after:
        return
    until_at = max(event.at for event in after)
    known = {number for number, _ in state_of(yard, None, before, until_at).doubts}
    numbers = {event.number for event in before}
    for event in after[len(before) :]:
        if event.corrects is not None and event.corrects not in numbers:
            raise Contradiction(f"entry {event.number}", f"there is no entry {event.corrects} to correct")
        numbers.add(event.number)
    for number, doubt in state_of(yard, None, after, until_at).doubts:
        if number not in known:
            raise doubt


class History:
    """The log up to one entry; `take` adds the next one in time."""

    def __init__(self, yard: Yard) -> None:
        self.yard = yard
        self.chambers = {chamber.id: unit.id for unit in yard.units for chamber in unit.chambers}
        self.copies = set(yard.mold_copies)
        self.benches = {bench.id: bench for bench in yard.benches}
        self.people = {person.id: person for person in yard.operators}
        self.hung: dict[str, MoldCopy] = {row.chamber_id: row.mold for row in yard.hung}
        self.ran: dict[MoldCopy, tuple[str, str]] = {row.mold: (row.grade, row.color) for row in yard.hung}
        self.cycles: dict[str, MadeCycle] = {}
        self.inside: dict[str, str] = {}
        self.hangings: list[tuple[datetime, str, MoldCopy]] = []
        self.stock = {item.id: item.on_hand for item in yard.items}
        self.received: list[tuple[datetime, str, float]] = []
        self.absent: dict[str, Out] = {}
        self.down: dict[str, Out] = {}
        self.stowed: dict[str, Out] = {}
        self.washed: dict[str, datetime] = {}
        self.notes: list[Event] = []
        self.doubts: list[tuple[int, Contradiction]] = []

    def take(self, event: Event) -> None:
        """Add an entry that is not before the last one; raises `Contradiction` if it cannot be true."""
        match event.kind:
            case EventKind.CHARGE:
                self._charge(event)
            case EventKind.HEAT | EventKind.HOLD | EventKind.PIAT | EventKind.DEMOLD | EventKind.DECIDE:
                self._cook(event)
            case EventKind.PIECES:
                self._pieces(event)
            case EventKind.STEP | EventKind.DONE:
                self._finish(event)
            case EventKind.MOLD:
                self._hang(event)
            case EventKind.RESIN | EventKind.COUNT:
                self._known(event, "stock item", self.stock)
                before = self.stock[event.subject] if event.kind is EventKind.RESIN else 0.0
                self.stock[event.subject] = before + (event.amount or 0.0)
                if event.kind is EventKind.RESIN:
                    self.received.append((event.at, event.subject, event.amount or 0.0))
            case EventKind.WASH:
                self._known(event, "unit", (unit.id for unit in self.yard.units))
                self.washed[event.subject] = event.at
            case EventKind.NOTE:
                self.notes.append(event)
            case EventKind.VOID:
                pass
            case _:
                self._in_and_out(event)

    def state(self, plan: Plan | None, now: datetime) -> YardState:
        """Return what the entries so far come to."""
        cycles = tuple(self.cycles.values())
        orders: dict[str, OrderCount] = {}
        for cycle in cycles:
            count = orders.get(cycle.order_id, OrderCount())
            turning = 0 if cycle.demolded_at or cycle.is_given_up else cycle.cavities
            orders[cycle.order_id] = OrderCount(
                count.in_chambers + turning,
                count.good + cycle.good,
                count.finished + (cycle.good if cycle.phase is Phase.FINISHED else 0),
                count.scrapped + cycle.scrapped,
                count.rework + cycle.rework,
            )
        return YardState(
            now=now,
            chambers={chamber_id: self._chamber(chamber_id) for chamber_id in self.chambers},
            cycles=cycles,
            hangings=tuple(self.hangings),
            orders=orders,
            stock=dict(self.stock),
            received=tuple(self.received),
            absent=dict(self.absent),
            down=dict(self.down),
            stowed=dict(self.stowed),
            washed=dict(self.washed),
            notes=tuple(self.notes),
            doubts=tuple(self.doubts),
            due=() if plan is None else _due(plan, cycles, now),
        )

    def _chamber(self, chamber_id: str) -> ChamberState:
        mold = self.hung.get(chamber_id)
        grade, color = self.ran.get(mold, ("", "")) if mold else ("", "")
        inside = self.inside.get(chamber_id)
        return ChamberState(mold, grade, color, self.cycles[inside] if inside else None)

    # --- cycles ------------------------------------------------------------------------------------------------

    def _charge(self, event: Event) -> None:
        chamber_id = event.subject
        self._known(event, "chamber", self.chambers)
        inside, hung = self.inside.get(chamber_id), self.hung.get(chamber_id)
        if inside:
            since = self._clock(self.cycles[inside].charged_at)
            self._refuse(event, f"{chamber_id} still holds {inside}, charged {since}: log its demolding first")
        if hung is None or hung != event.mold:
            there = f"{hung} hangs there" if hung else "no mold hangs there"
            self._refuse(event, f"{there}, not {event.mold}: log the mold change first")
        self._refuse_unless(event, event.cycle_id not in self.cycles, f"there is a cycle {event.cycle_id} already")
        product = self._product(event.product_id)
        if product is None or hung.mold_id not in product.mold_ids:
            self._refuse(event, f"mold {hung.mold_id} does not make {event.product_id}")
        mold = self.yard.mold(hung.mold_id)
        resin = self.yard.resin(product.resin_grade, event.color)
        if resin is None:
            self._refuse(event, f"the yard keeps no {product.resin_grade} in {event.color!r}")
        self.stock[resin.id] -= product.shot_kg * mold.cavities
        for item_id, count in product.inserts:
            self.stock[item_id] -= count * mold.cavities
        self.ran[hung] = (product.resin_grade, event.color)
        self.inside[chamber_id] = event.cycle_id
        self.cycles[event.cycle_id] = MadeCycle(
            event.cycle_id,
            event.planned_id,
            chamber_id,
            hung,
            event.order_id,
            event.product_id,
            event.color,
            mold.cavities,
            len(product.routing),
            event.at,
        )

    def _cook(self, event: Event) -> None:
        self._known(event, "chamber", self.chambers)
        inside = self.inside.get(event.subject)
        if inside is None:
            self._refuse(event, f"nothing is charged in {event.subject}: log its charging first")
        cycle = self.cycles[inside]
        match event.kind:
            case EventKind.HEAT:
                cycle = self._heated(event, cycle)
            case EventKind.HOLD:
                self._refuse_unless(event, cycle.phase is Phase.HEATING, f"{cycle.id} is {cycle.phase}, not heating")
                cycle = _heat_off(cycle, event.at)
            case EventKind.PIAT:
                cycle = self._peaked(event, cycle)
            case EventKind.DECIDE:
                cycle = self._decided(event, cycle)
            case _:
                cycle = self._demolded(event, cycle)
        self.cycles[inside] = cycle

    def _heated(self, event: Event, cycle: MadeCycle) -> MadeCycle:
        can = cycle.phase in (Phase.CHARGED, Phase.HOLDING)
        self._refuse_unless(event, can, f"{cycle.id} is {cycle.phase}, it cannot begin to heat")
        unit_id = self.chambers[event.subject]
        for other_id, other_unit in self.chambers.items():
            inside = self.inside.get(other_id)
            if other_unit == unit_id and inside and self.cycles[inside].phase is Phase.HEATING:
                told = f"the mirrors of {unit_id} are on {other_id}: log its peak or its hold first"
                self._refuse(event, told)
        if unit_id in self.stowed:
            since = self._clock(self.stowed[unit_id].since_at)
            self._refuse(event, f"the mirrors of {unit_id} are stowed since {since}: log that they are back first")
        return replace(cycle, heats=(*cycle.heats, (event.at, None)))

    def _peaked(self, event: Event, cycle: MadeCycle) -> MadeCycle:
        if cycle.phase is Phase.CHARGED:
            self._refuse(event, f"{cycle.id} is charged and was not heated: log the start of heating first")
        self._refuse_unless(event, cycle.phase in _IN_COOK, f"{cycle.id} is {cycle.phase} already")
        began_at = cycle.heats[0][0]
        least = self._least_heating(cycle)
        if event.at - began_at < least:
            told = (
                f"{cycle.id} heats since {self._clock(began_at)} only: with all the heat that {cycle.mold} may get "
                f"its shell alone takes {least / timedelta(minutes=1):.0f} min"
            )
            self._refuse(event, told)
        return replace(_heat_off(cycle, event.at), piat_at=event.at, piat_c=event.amount)

    def _least_heating(self, cycle: MadeCycle) -> timedelta:
        """Return the time in which no shell can come from the heat of the last demolding to the peak."""
        mold, product = self.yard.mold(cycle.mold.mold_id), self._product(cycle.product_id)
        if product is None:
            return timedelta()
        unit = self.yard.unit_of(cycle.chamber_id)
        warm_c = product.piat_c - max(product.demold_c, 60.0)
        return timedelta(seconds=SHELL_KJ_KG_K[mold.metal] * mold.shell_kg * warm_c / unit.max_mold_heat_kw)

    def _decided(self, event: Event, cycle: MadeCycle) -> MadeCycle:
        can = cycle.phase in _IN_COOK
        self._refuse_unless(event, can, f"{cycle.id} is {cycle.phase}: only a cook before its peak is decided about")
        assert event.choice is not None
        cycle = replace(cycle, decided=(*cycle.decided, (event.at, event.choice, event.by)))
        if event.choice is Choice.ACCEPT:
            return replace(_heat_off(cycle, event.at), piat_at=event.at, piat_c=event.amount)
        if event.choice is Choice.SCRAP:
            return replace(_heat_off(cycle, event.at), is_given_up=True, reason=event.reason)
        return cycle

    def _demolded(self, event: Event, cycle: MadeCycle) -> MadeCycle:
        can = cycle.phase in (Phase.COOLING, Phase.LOST)
        told = f"{cycle.id} is {cycle.phase} and has no peak yet: log that first, or what was decided about the cook"
        self._refuse_unless(event, can, told)
        if cycle.piat_at is not None:
            self._refuse_unless(event, event.at > cycle.piat_at, f"{cycle.id} peaked at that very moment")
        del self.inside[event.subject]
        good = 0 if cycle.is_given_up else cycle.cavities
        return replace(cycle, demolded_at=event.at, good=good, scrapped=cycle.cavities - good)

    def _pieces(self, event: Event) -> None:
        cycle = self._made(event)
        good, scrapped, rework = event.good or 0, event.scrapped or 0, event.rework or 0
        total = good + scrapped + rework
        if total > cycle.cavities:
            self._refuse(event, f"{total} pieces of {cycle.id}, but {cycle.mold} has {cycle.cavities} cavities")
        self._refuse_unless(event, not (cycle.is_given_up and good), f"the cook of {cycle.id} was given up")
        self.cycles[cycle.id] = replace(
            cycle, good=good, scrapped=scrapped, rework=rework, reason=event.reason or cycle.reason
        )

    def _finish(self, event: Event) -> None:
        cycle, bench, person = self._made(event), self.benches.get(event.subject), self.people.get(event.person)
        if bench is None:
            self._refuse(event, f"there is no bench {event.subject!r}")
        if person is None:
            self._refuse(event, f"there is no operator {event.person!r}")
        product, ix = self._product(cycle.product_id), event.step_ix or 0
        routing = product.routing if product else ()
        self._refuse_unless(event, ix < len(routing), f"{cycle.product_id} has {len(routing)} finishing steps")
        self._refuse_unless(
            event,
            bench.kind == routing[ix].bench_kind,
            f"{routing[ix].name} needs a bench for {routing[ix].bench_kind}",
        )
        own = {step.step_ix: step for step in cycle.steps}
        if ix > 0 and (ix - 1 not in own or own[ix - 1].done_at is None):
            self._refuse(event, f"step {ix} of {cycle.id} ({routing[ix - 1].name}) is not done yet")
        there = own.get(ix)
        if there is not None and (event.kind is EventKind.STEP or there.done_at is not None):
            told = "done" if there.done_at else "begun"
            self._refuse(event, f"step {ix + 1} of {cycle.id} was {told} already")
        if there is None:
            self._refuse_if_busy(event)
            done_at = event.at if event.kind is EventKind.DONE else None
            own[ix] = MadeStep(ix, bench.id, person.id, event.at, done_at)
        else:
            own[ix] = replace(there, done_at=event.at)
        self.cycles[cycle.id] = replace(cycle, steps=tuple(own[key] for key in sorted(own)))

    def _refuse_if_busy(self, event: Event) -> None:
        open_steps = [
            (cycle.id, step) for cycle in self.cycles.values() for step in cycle.steps if step.done_at is None
        ]
        for cycle_id, step in open_steps:
            if step.bench_id == event.subject:
                self._refuse(event, f"{cycle_id} is still at bench {event.subject}: log that its step is done first")
        at_once = sum(step.person == event.person for _, step in open_steps)
        if at_once >= self.people[event.person].jobs_at_once:
            told = f"{event.person} has {at_once} open finishing job(s) and minds {at_once} at most: log one done first"
            self._refuse(event, told)

    def _made(self, event: Event) -> MadeCycle:
        cycle = self.cycles.get(event.cycle_id)
        if cycle is None:
            self._refuse(event, f"there is no made cycle {event.cycle_id!r} by then")
        self._refuse_unless(event, cycle.demolded_at is not None, f"{cycle.id} is not out of its mold yet")
        return cycle

    # --- the rest ----------------------------------------------------------------------------------------------

    def _hang(self, event: Event) -> None:
        chamber_id, copy = event.subject, event.mold
        self._known(event, "chamber", self.chambers)
        if copy not in self.copies or copy is None:
            self._refuse(event, f"there is no mold {copy}")
        if inside := self.inside.get(chamber_id):
            self._refuse(event, f"{chamber_id} still holds {inside}: log its demolding first")
        for other_id, hung in self.hung.items():
            if hung == copy:
                self._refuse(event, f"{copy} hangs in {other_id}" + (" already" if other_id == chamber_id else ""))
        mold, chamber = self.yard.mold(copy.mold_id), next(c for c in self.yard.chambers if c.id == chamber_id)
        self._refuse_unless(event, self.yard.fits(mold, chamber), f"{copy} does not fit {chamber_id}")
        self.hung[chamber_id] = copy
        self.hangings.append((event.at, chamber_id, copy))

    def _in_and_out(self, event: Event) -> None:
        units = [unit.id for unit in self.yard.units]
        if event.kind in (EventKind.STOW, EventKind.UNSTOW):
            if event.subject:
                self._known(event, "unit", units)
            kind, out, subjects = "stowed", self.stowed, [event.subject] if event.subject else units
        elif event.kind in (EventKind.DOWN, EventKind.UP):
            self._known(event, "unit, chamber or bench", {*units, *self.chambers, *self.benches})
            kind, out, subjects = "down", self.down, [event.subject]
        else:
            self._known(event, "operator", self.people)
            kind, out, subjects = "absent", self.absent, [event.subject]
        if event.kind in (EventKind.UP, EventKind.UNSTOW, EventKind.BACK):
            if not any(subject in out for subject in subjects):
                self._refuse(event, f"{event.subject or 'the yard'} is not {kind}")
            for subject in subjects:
                out.pop(subject, None)
            return
        for subject in subjects:
            since_at = out[subject].since_at if subject in out else event.at
            out[subject] = Out(since_at, event.until_at, event.reason)
        if event.kind is EventKind.STOW:
            for chamber_id, cycle_id in self.inside.items():
                if self.chambers[chamber_id] in subjects and self.cycles[cycle_id].phase is Phase.HEATING:
                    self.cycles[cycle_id] = _heat_off(self.cycles[cycle_id], event.at)

    def _product(self, product_id: str) -> Product | None:
        return next((product for product in self.yard.products if product.id == product_id), None)

    def _known(self, event: Event, thing: str, names: Iterable[str]) -> None:
        names = sorted(names)
        if event.subject not in names:
            self._refuse(event, f"there is no {thing} {event.subject!r}, known are {', '.join(names)}")

    def _clock(self, at: datetime) -> str:
        return clock_words(self.yard, at)

    def _refuse_unless(self, event: Event, ok: bool, reason: str) -> None:
        if not ok:
            self._refuse(event, reason)

    def _refuse(self, event: Event, reason: str) -> NoReturn:
        raise Contradiction(f"{event.kind} {event.subject or event.cycle_id} at {self._clock(event.at)}", reason)


def clock_words(yard: Yard, at: datetime) -> str:
    """Return an instant on the yard's clock, for a sentence."""
    return f"{at.astimezone(zone(yard.site.tz)):%a %b %d %H:%M}"


def _heat_off(cycle: MadeCycle, at: datetime) -> MadeCycle:
    if not cycle.heats or cycle.heats[-1][1] is not None:
        return cycle
    return replace(cycle, heats=(*cycle.heats[:-1], (cycle.heats[-1][0], at)))


def _due(plan: Plan, cycles: tuple[MadeCycle, ...], now: datetime) -> tuple[Cycle, ...]:
    grid = plan.grid
    return tuple(
        row
        for row in plan.cycles
        if grid.at(row.charge_slot) <= now
        and not any(carries_out(made, row, grid.at(row.charge_slot)) for made in cycles)
    )
