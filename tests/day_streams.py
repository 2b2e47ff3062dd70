"""Random days of a small yard as the crew might log them, and wrong entries among them; seeded, no clock."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from random import Random

from tests.small_yard import at, small_orders, small_yard
from yardplan.domain.equipment import Hung, MoldCopy
from yardplan.domain.events import Choice, Event, EventKind
from yardplan.domain.yard import Yard

K = EventKind
START = at(0, 8)
ORDER = {order.product_id + order.color: order for order in small_orders()}
MAKES = {"M1": "TANK", "M2": "BIN"}


def day_yard() -> Yard:
    """Two units, of which three chambers hold a mold; one mold of two cavities, and one copy lies beside."""
    yard = small_yard(2)
    molds = (yard.molds[0], replace(yard.molds[1], copies=3, cavities=2))
    return replace(yard, molds=molds, hung=(*yard.hung, Hung("2A", MoldCopy("M2", 2), "LLDPE", "black")))


@dataclass
class Day:
    """A day that is made up step by step: what the storyteller needs to know to stay legal."""

    rng: Random
    now: datetime = START
    events: list[Event] = field(default_factory=list)
    hung: dict[str, str] = field(default_factory=lambda: {"1A": "M1#1", "1B": "M2#1", "2A": "M2#2"})
    doing: dict[str, str] = field(default_factory=dict)
    cycle: dict[str, str] = field(default_factory=dict)
    out: list[tuple[str, int]] = field(default_factory=list)
    open_step: tuple[str, str, str] | None = None
    sick: set[str] = field(default_factory=set)
    broken: set[str] = field(default_factory=set)
    stowed: set[str] = field(default_factory=set)

    def say(self, kind: EventKind, **told: object) -> None:
        self.events.append(Event(kind, self.now, self.now + timedelta(minutes=1), "Pat", "tablet", **told))

    def options(self) -> list[Callable[[], None]]:
        """Everything that may happen next."""
        found: list[Callable[[], None]] = [self.count, self.deliver, self.note]
        for chamber in ("1A", "1B", "2A", "2B"):
            doing = self.doing.get(chamber)
            if doing is None and chamber in self.hung:
                found += [lambda c=chamber: self.charge(c)] * 3
            if doing is None and self.free_copy():
                found.append(lambda c=chamber: self.hang(c))
            unit = f"U{chamber[0]}"
            lit = any(what == "heat" for other, what in self.doing.items() if other[0] == chamber[0])
            if doing in ("charged", "held") and not lit and unit not in self.stowed:
                found += [lambda c=chamber: self.heat(c)] * 4
            if doing == "heat":
                found.append(lambda c=chamber: self.hold(c))
            if doing in ("heat", "held"):
                found += [lambda c=chamber: self.peak(c)] * 3 + [lambda c=chamber: self.decide(c)]
            if doing in ("cooling", "lost"):
                found += [lambda c=chamber: self.demold(c)] * 3
        if self.out:
            found += [self.pieces, self.finish, self.finish]
        found += [self.someone, self.something, self.stow]
        return found

    def free_copy(self) -> list[str]:
        return [copy for copy in ("M1#1", "M2#1", "M2#2", "M2#3") if copy not in self.hung.values()]

    def charge(self, chamber: str) -> None:
        copy = self.hung[chamber]
        product = MAKES[copy[:2]]
        orders = [order for order in small_orders() if order.product_id == product]
        order, number = self.rng.choice(orders), sum(event.kind is K.CHARGE for event in self.events)
        ident = f"{chamber}-0517-{number}"
        self.say(
            K.CHARGE, subject=chamber, mold=MoldCopy(copy[:2], int(copy[3:])), order_id=order.id,
            product_id=product, color=order.color, cycle_id=ident,
        )  # fmt: skip
        self.doing[chamber], self.cycle[chamber] = "charged", ident

    def heat(self, chamber: str) -> None:
        self.say(K.HEAT, subject=chamber)
        self.doing[chamber] = "heat"

    def hold(self, chamber: str) -> None:
        self.say(K.HOLD, subject=chamber)
        self.doing[chamber] = "held"

    def peak(self, chamber: str) -> None:
        self.say(K.PIAT, subject=chamber, amount=self.rng.uniform(198, 210))
        self.doing[chamber] = "cooling"

    def decide(self, chamber: str) -> None:
        choice = self.rng.choice(list(Choice))
        self.say(K.DECIDE, subject=chamber, choice=choice)
        self.doing[chamber] = {Choice.ACCEPT: "cooling", Choice.SCRAP: "lost"}.get(choice, self.doing[chamber])

    def demold(self, chamber: str) -> None:
        self.say(K.DEMOLD, subject=chamber)
        if self.doing.pop(chamber) == "cooling":
            self.out.append((self.cycle[chamber], 0))

    def pieces(self) -> None:
        ident, done = self.rng.choice(self.out)
        if done or self.open_step:
            return
        cavities = 1 if any(e.cycle_id == ident and e.product_id == "TANK" for e in self.events) else 2
        good = self.rng.randint(0, cavities)
        scrapped = self.rng.randint(0, cavities - good)
        self.say(K.PIECES, cycle_id=ident, good=good, scrapped=scrapped, rework=cavities - good - scrapped)

    def finish(self) -> None:
        if self.open_step:
            ident, bench, person = self.open_step
            self.say(K.DONE, subject=bench, cycle_id=ident, step_ix=0, person=person)
            self.open_step = None
            return
        waiting = [row for row in self.out if row[1] == 0]
        if not waiting:
            return
        row = self.rng.choice(waiting)
        self.out[self.out.index(row)] = (row[0], 1)
        told = (row[0], self.rng.choice(["W1", "W2"]), self.rng.choice(["P1", "P2"]))
        if self.rng.random() < 0.7:
            self.say(K.STEP, cycle_id=told[0], subject=told[1], step_ix=0, person=told[2])
            self.open_step = told
        else:
            self.say(K.DONE, cycle_id=told[0], subject=told[1], step_ix=0, person=told[2])

    def hang(self, chamber: str) -> None:
        copy = self.rng.choice(self.free_copy())
        self.say(K.MOLD, subject=chamber, mold=MoldCopy(copy[:2], int(copy[3:])))
        self.hung[chamber] = copy

    def count(self) -> None:
        self.say(K.COUNT, subject="R-SAND", amount=float(self.rng.randint(0, 900)))

    def deliver(self) -> None:
        self.say(K.RESIN, subject=self.rng.choice(["R-SAND", "R-BLACK"]), amount=float(self.rng.randint(1, 900)))

    def note(self) -> None:
        self.say(K.NOTE, subject="U1", reason="arm of 1A squeaks")

    def someone(self) -> None:
        person = self.rng.choice(["P1", "P3"])
        self._in_or_out(self.sick, person, K.BACK, K.ABSENT)

    def something(self) -> None:
        self._in_or_out(self.broken, self.rng.choice(["U1", "2B", "W2"]), K.UP, K.DOWN)

    def stow(self) -> None:
        unit = self.rng.choice(["U1", "U2"])
        self._in_or_out(self.stowed, unit, K.UNSTOW, K.STOW)
        if unit in self.stowed:
            held = [chamber for chamber, what in self.doing.items() if what == "heat" and chamber[0] == unit[1]]
            self.doing |= dict.fromkeys(held, "held")

    def _in_or_out(self, out: set[str], name: str, back: EventKind, gone: EventKind) -> None:
        self.say(back if name in out else gone, subject=name)
        out.symmetric_difference_update({name})


def legal_day(seed: int, length: int = 25) -> tuple[Event, ...]:
    """Return a day's entries in the order in which they came in: some late, some wrong at first and then corrected."""
    rng = Random(seed)
    day = Day(rng)
    while len(day.events) < length:
        day.now += timedelta(minutes=rng.randint(15, 40))
        rng.choice(day.options())()
    entered = list(day.events)
    for _ in range(rng.randint(0, 3)):  # an entry that came in late
        event = entered.pop(rng.randrange(len(entered)))
        entered.append(replace(event, entered_at=day.now + timedelta(hours=1)))
    found: list[Event] = []
    for event in entered:
        corrects = None
        if rng.random() < 0.1:  # said wrongly first
            wrong = replace(event, at=event.at - timedelta(minutes=rng.randint(200, 900)), number=len(found) + 1)
            found.append(wrong)
            corrects = wrong.number
        found.append(replace(event, number=len(found) + 1, corrects=corrects))
    if rng.random() < 0.3:  # something that never happened, and was taken back
        found.append(Event(K.PIAT, day.now, day.now, "Kim", subject="1A", amount=200.0, number=len(found) + 1))
        found.append(Event(K.VOID, day.now, day.now, "Kim", corrects=len(found), number=len(found) + 1))
    return tuple(found)


def end_of(events: tuple[Event, ...]) -> datetime:
    """A moment after everything."""
    return max(event.at for event in events) + timedelta(minutes=7)
