"""What the Today page tells: a card for each chamber, finishing of the shift, who is where; from log, plan and sky."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from PySide6.QtCore import QCoreApplication, QObject

from yardplan.domain.events import Event, EventKind
from yardplan.domain.people import shift_span
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.slots import zone
from yardplan.domain.state import ChamberState, MadeCycle, Phase, carries_out
from yardplan.domain.tables import NEVER, Recipe
from yardplan.exchange.entries import Entry
from yardplan.ui.dates import clock_text, day_time_text
from yardplan.ui.jobs import Today, Week
from yardplan.ui.lanes import crew_jobs
from yardplan.ui.words import Words

NEAR = timedelta(hours=12)
"""What is planned further off than that is told, but not offered."""
SOON = timedelta(minutes=5)
"""A job that should have begun so long ago wants somebody."""


@dataclass(frozen=True)
class Act:
    """Something that is logged with one press; without an entry the press asks for a decision."""

    text: str
    entry: Entry | None


@dataclass(frozen=True, eq=False)
class Card:
    """A chamber as its card tells it.

    Attributes
    ----------
    state, what, promise, after : str
        What it does since when; what is in it; when that should be over; what comes next.
    act : Act or None
        The next event; None where there is nothing to log.
    more : tuple of Act
        Other things that may have happened.
    needs : bool
        Whether somebody should come.
    drawing : tuple of (Cycle, slots to PIAT at the cook table's confidences, slot of now) or None
    """

    chamber_id: str
    state: str
    what: str
    promise: str
    after: str
    act: Act | None
    more: tuple[Act, ...] = ()
    needs: bool = False
    drawing: tuple[Cycle, tuple[int, ...], float] | None = None

    @property
    def sentence(self) -> str:
        """All of it for a screen reader."""
        return ". ".join(part for part in (self.chamber_id, self.state, self.what, self.promise, self.after) if part)


@dataclass(frozen=True)
class Line:
    """A finishing job, or a person, with what can be logged of it."""

    key: str
    title: str
    text: str
    act: Act | None
    needs: bool = False


def event_words(event: Event) -> str:
    """Return an entry of the log as it is told after a press."""
    tr = QCoreApplication.translate
    word = {
        EventKind.CHARGE: tr("day", "{what} is charged"),
        EventKind.HEAT: tr("day", "the sun is on {what}"),
        EventKind.HOLD: tr("day", "{what} lost its sun"),
        EventKind.PIAT: tr("day", "{what} reached PIAT"),
        EventKind.DEMOLD: tr("day", "{what} is demolded"),
        EventKind.DECIDE: tr("day", "decided about {what}"),
        EventKind.MOLD: tr("day", "another mold hangs in {what}"),
        EventKind.STEP: tr("day", "finishing begun at {what}"),
        EventKind.DONE: tr("day", "finishing done at {what}"),
        EventKind.STOW: tr("day", "mirrors are stowed"),
        EventKind.UNSTOW: tr("day", "mirrors are back"),
        EventKind.ABSENT: tr("day", "{what} is absent"),
        EventKind.BACK: tr("day", "{what} is back"),
        EventKind.NOTE: tr("day", "a note for the next shift"),
    }.get(event.kind, str(event.kind))
    return word.format(what=event.subject)


class Day(QObject):
    """Tells how the yard stands and what comes next, by the plan in force, else by the newest."""

    def __init__(self, week: Week, today: Today) -> None:
        super().__init__()
        self._week, self._today = week, today
        stored = today.in_force or week.stored
        self._plan = stored.outcome.plan if stored else Plan(week.outlook.grid)
        self._words = Words(today.yard, self._plan)
        self._tz = zone(today.yard.site.tz)
        self._now = today.state.now
        self._cards: tuple[Card, ...] | None = None
        grid = self._plan.grid
        self._open = [
            row
            for row in self._plan.cycles
            if not any(carries_out(made, row, grid.at(row.charge_slot)) for made in today.state.cycles)
        ]

    @property
    def needing(self) -> int:
        """How many chambers want somebody."""
        return sum(card.needs for card in self.cards())

    def cards(self) -> tuple[Card, ...]:
        """Return a card for each chamber, in the order of the yard."""
        if self._cards is None:
            chambers = self._today.state.chambers.items()
            self._cards = tuple(self._card(chamber_id, there) for chamber_id, there in chambers)
        return self._cards

    # Chambers

    def _card(self, chamber_id: str, there: ChamberState) -> Card:
        coming = [row for row in self._open if row.chamber_id == chamber_id and self._at(row.charge_slot) > self._since]
        made = there.cycle
        if made is None:
            return self._empty(chamber_id, there, coming)
        what = self.tr("{order}  {product}, {color}").format(
            order=made.order_id, product=self._words.product(made.product_id), color=made.color
        )
        after = self._after(coming)
        match made.phase:
            case Phase.CHARGED:
                return self._charged(made, what, after)
            case Phase.HEATING:
                return self._heating(made, what, after)
            case Phase.HOLDING:
                return self._holding(made, what, after)
            case _:
                return self._cooling(made, what, after)

    def _empty(self, chamber_id: str, there: ChamberState, coming: list[Cycle]) -> Card:
        out = self._out(chamber_id)
        hung = str(there.mold) if there.mold else self.tr("no mold")
        state = out or self.tr("empty, {mold} hangs").format(mold=hung)
        if not coming:
            return Card(chamber_id, state, self.tr("nothing more is planned here"), "", "", None)
        row = coming[0]
        change = self._change_before(row, there)
        first_at = self._at(change.start_slot if change else row.charge_slot)
        near = abs(first_at - self._now) < NEAR
        late = self._now - first_at > SOON
        due = self.tr("due {at}").format(at=self._clock(first_at))
        if late and near:
            due = self.tr("due since {at}").format(at=self._clock(first_at))
        if change is not None:
            what = self.tr("hang {mold} ({name})").format(
                mold=change.mold_in, name=self._words.mold(change.mold_in.mold_id)
            )
            entry = Entry(EventKind.MOLD, chamber_id, mold=change.mold_in)
            act = Act(self.tr("{mold} hangs").format(mold=change.mold_in), entry) if near else None
            then = self.tr("then {at} {order}").format(at=self._clock(self._at(row.charge_slot)), order=row.order_id)
            return Card(chamber_id, state, what, due, then, act, needs=late and near)
        what = self.tr("{order}  {product}, {color}").format(
            order=row.order_id, product=self._words.product(row.product_id), color=row.color
        )
        act = Act(self.tr("Charged"), Entry(EventKind.CHARGE, chamber_id, order_id=row.order_id)) if near else None
        return Card(
            chamber_id,
            state,
            what,
            self.tr("charge {due}").format(due=due),
            self._latest(chamber_id, row.mold.mold_id, row.product_id),
            act,
            needs=late and near,
            drawing=(row, (), -1.0),
        )

    def _charged(self, made: MadeCycle, what: str, after: str) -> Card:
        state = self.tr("charged {ago}").format(ago=self._ago(made.charged_at))
        latest = self._latest(made.chamber_id, made.mold.mold_id, made.product_id)
        drawing, promise = self._course(made, self._now)
        act = Act(self.tr("Heating starts"), Entry(EventKind.HEAT, made.chamber_id))
        told = self.tr("started now: {piat}").format(piat=promise) if promise else latest
        return Card(made.chamber_id, self._with_out(made, state), what, told, latest or after, act, drawing=drawing)

    def _heating(self, made: MadeCycle, what: str, after: str) -> Card:
        began_at = made.heats[-1][0]
        state = self.tr("heating {ago}").format(ago=self._ago(began_at))
        drawing, promise = self._course(made, made.heats[0][0])
        if len(made.heats) > 1:
            promise = self.tr("interrupted {n} times: go by the inside air").format(n=len(made.heats) - 1)
        ends = [made.heats[0][0] + timedelta(minutes=5 * slots) for slots in drawing[1]] if drawing else []
        act = Act(self.tr("PIAT reached"), Entry(EventKind.PIAT, made.chamber_id))
        more = (Act(self.tr("It lost its sun"), Entry(EventKind.HOLD, made.chamber_id)),)
        late = bool(ends) and self._now > max(ends)
        if late:
            promise = self.tr("PIAT was due by {at}: look at it").format(at=self._clock(max(ends)))
        return Card(made.chamber_id, state, what, promise, after, act, more, late, drawing)

    def _holding(self, made: MadeCycle, what: str, after: str) -> Card:
        lost_at = made.heats[-1][1] or self._now
        minutes = int((self._now - lost_at) / timedelta(minutes=1))
        state = self.tr("lost its sun {m} min ago").format(m=minutes)
        waits = self.tr("keep it turning until it is decided")
        if made.decided:
            at, choice, by = made.decided[-1]
            waits = self.tr("{at} {who}: {choice}").format(at=self._clock(at), who=by, choice=self.choice(choice))
        act = Act(self.tr("Decide …"), None)
        more = (Act(self.tr("The sun is back on it"), Entry(EventKind.HEAT, made.chamber_id)),)
        return Card(made.chamber_id, self._with_out(made, state), what, waits, after, act, more, needs=True)

    def _cooling(self, made: MadeCycle, what: str, after: str) -> Card:
        drawing, _ = self._course(made, made.heats[0][0] if made.heats else made.charged_at)
        promise = ""
        if made.phase is Phase.LOST:
            state = self.tr("given up")
            act = Act(self.tr("Emptied"), Entry(EventKind.DEMOLD, made.chamber_id))
            return Card(made.chamber_id, state, what, self.tr("let it cool, then empty it"), after, act)
        state = self.tr("cooling {ago}").format(ago=self._ago(made.piat_at or self._now))
        late = False
        if drawing:
            cooled_at = self._week.outlook.grid.at(drawing[0].cool_end_slot)
            promise = self.tr("open from about {at}; measure first").format(at=self._clock(cooled_at))
            late = self._now > cooled_at
        entry = Entry(EventKind.DEMOLD, made.chamber_id)
        act = Act(self.tr("Demolded, good"), entry)
        bad = max(made.cavities, 1)
        more = (
            Act(
                self.tr("Demolded, {n} scrapped").format(n=1),
                Entry(EventKind.DEMOLD, made.chamber_id, good=bad - 1, scrapped=1),
            ),
            Act(
                self.tr("Demolded, {n} to rework").format(n=1),
                Entry(EventKind.DEMOLD, made.chamber_id, good=bad - 1, rework=1),
            ),
        )
        return Card(made.chamber_id, state, what, promise, after, act, more, late, drawing)

    def choice(self, choice: str) -> str:
        """Return a decision about a stopped cook in words."""
        return {
            "wait": self.tr("keep turning and wait"),
            "finish": self.tr("finish on the sun that comes back"),
            "accept": self.tr("end it here, inspect the pieces"),
            "scrap": self.tr("give it up"),
        }[choice]

    def _course(self, made: MadeCycle, heat_at: datetime) -> tuple[tuple[Cycle, tuple[int, ...], float] | None, str]:
        """Return how a cycle is drawn that heats from an instant, and its span to PIAT in words."""
        outlook = self._week.outlook
        grid, cook = outlook.grid, outlook.cook
        heat_slot, recipe = grid.slot(heat_at), Recipe(made.mold.mold_id, made.product_id)
        if not 0 <= heat_slot < grid.n_slots or recipe not in cook.recipes:
            return None, ""
        at = cook.recipes.index(recipe), outlook.yard.units.index(outlook.yard.unit_of(made.chamber_id)), heat_slot
        slots = cook.cook_slots[(slice(None), *at)].tolist()
        tail = tuple(one for one in slots if one != NEVER)
        likely = cook.confidence_ix(outlook.confidence)
        if not tail:
            return None, self.tr("PIAT is not reached from here at any confidence")
        lasts = slots[likely] if slots[likely] != NEVER else tail[-1]
        cool = int(cook.cool_slots[(likely, *at)]) or 6
        piat_slot = grid.slot(made.piat_at) if made.piat_at else heat_slot + lasts
        out_slot = piat_slot + cool
        cycle = Cycle(
            id="", order_id="", product_id=made.product_id, color="", mold=made.mold, chamber_id=made.chamber_id,
            pieces=1, charge_slot=min(grid.slot(made.charged_at), heat_slot), clean_slots=0, heat_slot=heat_slot,
            heat_end_slot=piat_slot, cool_end_slot=out_slot, demold_slot=out_slot, end_slot=out_slot + 3,
            charge_crew=(), demold_crew=(),
        )  # fmt: skip
        now_slot = (self._now - grid.start_at) / timedelta(minutes=grid.slot_min)
        first, last = (self._clock(grid.at(heat_slot + one)) for one in (tail[0], tail[-1]))
        told = self.tr("PIAT {first} to {last}").format(first=first, last=last)
        if len(tail) < len(slots):
            told = self.tr("PIAT from {first}, if the sun holds").format(first=first)
        return (cycle, () if made.piat_at else tail, now_slot), told

    def _after(self, coming: list[Cycle]) -> str:
        if not coming:
            return self.tr("then nothing more")
        row = coming[0]
        told = self.tr("then {at} {order}").format(at=self._clock(self._at(row.charge_slot)), order=row.order_id)
        latest = self._latest(row.chamber_id, row.mold.mold_id, row.product_id)
        return f"{told}, {latest}" if latest else told

    def _latest(self, chamber_id: str, mold_id: str, product_id: str) -> str:
        on = self._now.astimezone(self._tz).date()
        unit_id = self._week.outlook.yard.unit_of(chamber_id).id
        for row in self._week.sky.latest.get((unit_id, on), ()):
            if (row.chamber_id, row.mold_id, row.product_id) == (chamber_id, mold_id, product_id):
                at = self._week.outlook.grid.at(row.slot)
                return self.tr("latest start {at}").format(at=self._clock(at))
        return ""

    def _change_before(self, row: Cycle, there: ChamberState) -> MoldChange | None:
        """Return the mold change that comes first, where another mold must hang for the next cycle."""
        if there.mold == row.mold:
            return None
        found = [
            change
            for change in self._plan.mold_changes
            if change.chamber_id == row.chamber_id
            and change.mold_in == row.mold
            and change.start_slot <= row.charge_slot
        ]
        return found[-1] if found else None

    def _out(self, chamber_id: str) -> str:
        """Return that the chamber, its unit or its mirrors are not at work; empty where they are."""
        state, unit_id = self._today.state, self._today.yard.unit_of(chamber_id).id
        for out, told in (
            (state.down.get(chamber_id) or state.down.get(unit_id), self.tr("out of work {ago}")),
            (state.stowed.get(unit_id), self.tr("mirrors stowed {ago}")),
        ):
            if out is not None:
                text = told.format(ago=self._ago(out.since_at))
                return f"{text} ({out.reason})" if out.reason else text
        return ""

    def _with_out(self, made: MadeCycle, state: str) -> str:
        out = self._out(made.chamber_id)
        return f"{state}, {out}" if out else state

    # Finishing and people

    def finishing(self) -> tuple[Line, ...]:
        """Return finishing jobs of this shift, and those of later today whose pieces are there already."""
        until_at = self._shift_end()
        made = {cycle.planned_id: cycle for cycle in self._today.state.cycles if cycle.planned_id}
        lines = []
        for job in self._plan.finishing:
            start_at = self._at(job.start_slot)
            cycle = made.get(job.cycle_id)
            if cycle is not None and any(step.step_ix == job.step_ix and step.done_at for step in cycle.steps):
                continue
            is_out = cycle is not None and cycle.demolded_at is not None
            if self._since < start_at < (self._now + NEAR if is_out else until_at):
                lines.append(self._finish_line(job, cycle, start_at))
        return tuple(lines)

    def _finish_line(self, job: FinishJob, cycle: MadeCycle | None, start_at: datetime) -> Line:
        words = self._words
        title = self.tr("{at}  {step}  {order}").format(
            at=self._clock(start_at), step=words.step(job), order=words.order_of(job.cycle_id)
        )
        text = self.tr("{bench}, {who}, cycle {code}").format(
            bench=words.bench(job.bench_id), who=words.people((job.operator_id,)), code=words.code(job.cycle_id)
        )
        act = None
        if cycle is not None and cycle.demolded_at is not None:
            begun = any(step.step_ix == job.step_ix for step in cycle.steps)
            if sum(step.done_at is not None for step in cycle.steps) < job.step_ix:
                return Line(job.id, title, self.tr("{text}, after the step before").format(text=text), None)
            kind = EventKind.DONE if begun else EventKind.STEP
            entry = Entry(kind, job.bench_id, cycle_id=cycle.id, step_ix=job.step_ix, person=job.operator_id)
            act = Act(self.tr("Done") if begun else self.tr("Begin"), entry)
            if begun:
                text = self.tr("{text}, under way").format(text=text)
        elif cycle is not None:
            text = self.tr("{text}, still in the mold").format(text=text)
        else:
            text = self.tr("{text}, not charged yet").format(text=text)
        late = act is not None and self._now - start_at > SOON
        return Line(job.id, title, text, act, late)

    def people(self) -> tuple[Line, ...]:
        """Return who is on duty, what each does now by the plan, and what comes next."""
        return tuple(self._people())

    def _people(self) -> Iterator[Line]:
        jobs, words, state = crew_jobs(self._plan, self._today.yard), self._words, self._today.state
        shift_end_at = self._shift_end()
        for person in self._today.yard.operators:
            out = state.absent.get(person.id)
            if out is not None:
                told = self.tr("absent {ago}").format(ago=self._ago(out.since_at))
                yield Line(person.id, person.name, told, Act(self.tr("Is back"), Entry(EventKind.BACK, person.id)))
                continue
            if not self._on_duty(person.id):
                continue
            own = [job for job in jobs[person.id] if self._at(job.end_slot) > self._now]
            own = [job for job in own if self._at(job.start_slot) < shift_end_at]
            told = self.tr("nothing planned for the rest of the shift")
            if own and self._at(own[0].start_slot) <= self._now:
                told = self.tr("now {what}, until {end}").format(
                    what=words.crew_labels(own[0])[0], end=self._clock(self._at(own[0].end_slot))
                )
            elif own:
                told = self.tr("free, from {start} {what}").format(
                    what=words.crew_labels(own[0])[0], start=self._clock(self._at(own[0].start_slot))
                )
            yield Line(person.id, person.name, told, Act(self.tr("Absent"), Entry(EventKind.ABSENT, person.id)))

    def _on_duty(self, operator_id: str) -> bool:
        return any(start <= self._now < end for start, end in self._shifts(operator_id))

    def _shift_end(self) -> datetime:
        """Return when the last shift ends that runs now, eight hours from now where none does."""
        ends = [
            end for person in self._today.yard.operators for start, end in self._shifts(person.id) if start <= self._now
        ]
        later = [end for end in ends if end > self._now]
        return max(later) if later else self._now + timedelta(hours=8)

    def _shifts(self, operator_id: str) -> Iterator[tuple[datetime, datetime]]:
        person = next(one for one in self._today.yard.operators if one.id == operator_id)
        shifts = {shift.id: shift for shift in self._today.yard.shifts}
        today = self._now.astimezone(self._tz).date()
        for on in (today - timedelta(days=1), today):
            for duty in person.duties:
                if duty.holds_on(on) and on not in person.days_off:
                    start, end = shift_span(shifts[duty.shift_id], on)
                    yield start.replace(tzinfo=self._tz), end.replace(tzinfo=self._tz)

    # Times

    @property
    def _since(self) -> datetime:
        """Work planned before that and never logged is not asked for any more."""
        return self._now - NEAR

    def _at(self, slot: int) -> datetime:
        return self._plan.grid.at(slot)

    def _clock(self, at: datetime) -> str:
        local = at.astimezone(self._tz)
        today = self._now.astimezone(self._tz).date()
        return clock_text(local) if local.date() == today else day_time_text(local)

    def _ago(self, at: datetime) -> str:
        return self.tr("since {at}").format(at=self._clock(at))
