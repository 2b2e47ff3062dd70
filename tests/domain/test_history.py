"""The state of the yard against a slow, obvious second way to it, and wrong entries that are refused."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from tests.day_streams import day_yard, end_of, legal_day
from tests.small_yard import at
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import Contradiction, InvalidField
from yardplan.domain.events import Choice, Event, EventKind, in_force
from yardplan.domain.history import admit, state_of
from yardplan.domain.plan import Cycle, Plan
from yardplan.domain.slots import SlotGrid
from yardplan.domain.state import MadeCycle, Phase, YardState, logged_cycles
from yardplan.domain.yard import Yard

K = EventKind
YARD = day_yard()
UNIT_OF = {"1A": "U1", "1B": "U1", "2A": "U2", "2B": "U2"}


def event(kind: EventKind, hour: float, number: int = 0, **told: object) -> Event:
    return Event(kind, at(0, hour), at(0, hour + 0.1), "Pat", number=number, **told)


def charge(hour: float, chamber: str = "1A", ident: str = "A", copy: int = 1) -> Event:
    mold, product, order, color = ("M1", "TANK", "Y-1", "sand") if chamber == "1A" else ("M2", "BIN", "Y-2", "black")
    told = {"mold": MoldCopy(mold, copy), "product_id": product, "order_id": order, "color": color}
    return event(K.CHARGE, hour, subject=chamber, cycle_id=ident, **told)


def numbered(*events: Event) -> tuple[Event, ...]:
    return tuple(replace(one, number=ix) for ix, one in enumerate(events, 1))


def cooked(hour: float = 9) -> tuple[Event, ...]:
    """A cycle of 1A from charging to the end of demolding."""
    return (
        charge(hour),
        event(K.HEAT, hour + 0.5, subject="1A"),
        event(K.PIAT, hour + 1.5, subject="1A", amount=204.0),
        event(K.DEMOLD, hour + 2.5, subject="1A"),
    )


# --- a slow and obvious second way -------------------------------------------------------------------------------


def holding(events: tuple[Event, ...]) -> list[Event]:
    """What holds: strike out what was corrected, one after another, then put them in order."""
    struck: set[int] = set()
    for one in events:
        if one.corrects:
            struck.add(one.corrects)
    return sorted((one for one in events if one.number not in struck and one.kind is not K.VOID), key=lambda e: e.at)


def obvious(yard: Yard, events: tuple[Event, ...], now: datetime) -> dict[str, object]:
    told = [one for one in holding(events) if one.at <= now]

    def last(kinds: set[EventKind], about: set[str]) -> Event | None:
        return next((one for one in reversed(told) if one.kind in kinds and one.subject in about), None)

    chambers = {}
    for chamber in yard.chambers:
        hung = last({K.MOLD}, {chamber.id})
        there = hung.mold if hung else next((row.mold for row in yard.hung if row.chamber_id == chamber.id), None)
        move = last({K.CHARGE, K.DEMOLD}, {chamber.id})
        inside = move.cycle_id if move and move.kind is K.CHARGE else None
        chambers[chamber.id] = (there, inside)
    cycles = {}
    for ix, one in enumerate(told):
        if one.kind is not K.CHARGE:
            continue
        phase = "charged"
        for later in told[ix + 1 :]:
            stowed = later.kind is K.STOW and later.subject == UNIT_OF[one.subject]
            if stowed and phase == "heating":
                phase = "holding"
            if later.subject != one.subject:
                continue
            if later.kind is K.HEAT:
                phase = "heating"
            elif later.kind is K.HOLD:
                phase = "holding"
            elif later.kind is K.PIAT or later.choice is Choice.ACCEPT:
                phase = "cooling"
            elif later.choice is Choice.SCRAP:
                phase = "lost"
            elif later.kind is K.DEMOLD:
                phase = "scrapped" if phase == "lost" else "out"
                break
        cavities = 1 if one.product_id == "TANK" else 2
        counts = [(e.good, e.scrapped, e.rework) for e in told if e.kind is K.PIECES and e.cycle_id == one.cycle_id]
        if phase == "out":
            good, scrapped, rework = counts[-1] if counts else (cavities, 0, 0)
            done = any(e.kind is K.DONE and e.cycle_id == one.cycle_id for e in told)
            phase = "finished" if done or good + rework == 0 else "finishing"
        elif phase == "scrapped":
            good, scrapped, rework, phase = 0, cavities, 0, "finished"
        else:
            good = scrapped = rework = 0
        cycles[one.cycle_id] = (phase, one.order_id, good, scrapped, rework)
    stock = {}
    for item in yard.items:
        left, began = item.on_hand, 0
        for ix, one in enumerate(told):
            if one.kind is K.COUNT and one.subject == item.id:
                left, began = one.amount, ix
        for one in told[began:]:
            if one.kind is K.RESIN and one.subject == item.id:
                left += one.amount
            if one.kind is K.CHARGE and f"R-{one.color.upper()}" == item.id:
                left -= 20.0 if one.product_id == "TANK" else 16.0
        stock[item.id] = left
    out = {}
    for gone, back, names in (
        (K.ABSENT, K.BACK, ("P1", "P3")),
        (K.DOWN, K.UP, ("U1", "2B", "W2")),
        (K.STOW, K.UNSTOW, ("U1", "U2")),
    ):
        lasts = {name: last({gone, back}, {name}) for name in names}
        out[gone] = {name for name, one in lasts.items() if one and one.kind is gone}
    return {"chambers": chambers, "cycles": cycles, "stock": stock, "out": out}


def told_of(state: YardState) -> dict[str, object]:
    return {
        "chambers": {
            name: (chamber.mold, chamber.cycle.id if chamber.cycle else None)
            for name, chamber in state.chambers.items()
        },
        "cycles": {
            made.id: (str(made.phase), made.order_id, made.good, made.scrapped, made.rework) for made in state.cycles
        },
        "stock": dict(state.stock),
        "out": {K.ABSENT: set(state.absent), K.DOWN: set(state.down), K.STOW: set(state.stowed)},
    }


def test_five_hundred_legal_days_come_to_the_same_state_both_ways() -> None:
    kinds = set()
    for seed in range(500):
        events = legal_day(seed)
        kinds |= {one.kind for one in events}
        for now in (end_of(events), events[len(events) // 2].at):
            state = state_of(YARD, None, events, now)
            assert not state.doubts, (seed, state.doubts)
            assert told_of(state) == obvious(YARD, events, now), seed
    assert kinds == set(EventKind) - {K.WASH}


def test_each_entry_of_a_legal_day_is_admitted_as_it_comes_unless_it_waits_for_a_late_one() -> None:
    # An entry that came in late was missing meanwhile, so only days without late ones can be told step by step.
    for seed in range(40):
        events = numbered(*(replace(one, corrects=None) for one in holding(legal_day(seed))))
        for ix, one in enumerate(events):
            admit(YARD, events[:ix], [one])


def test_pieces_of_orders_add_up() -> None:
    for seed in range(60):
        events = legal_day(seed, 40)
        state = state_of(YARD, None, events, end_of(events))
        for order_id, count in state.orders.items():
            own = [made for made in state.cycles if made.order_id == order_id]
            assert count.good == sum(made.good for made in own)
            assert count.finished == sum(made.good for made in own if made.phase is Phase.FINISHED) <= count.good
            assert count.in_chambers == sum(made.cavities for made in state.running if made in own and not _lost(made))


def _lost(made: MadeCycle) -> bool:
    return made.phase is Phase.LOST


# --- refused -----------------------------------------------------------------------------------------------------

STEP = {"cycle_id": "A", "step_ix": 0, "subject": "W1", "person": "P1"}


@pytest.mark.parametrize(
    ("before", "wrong", "why"),
    [
        ((), event(K.PIAT, 9, subject="1A", amount=200.0), "nothing is charged in 1A"),
        ((charge(9),), event(K.PIAT, 10, subject="1A", amount=200.0), "not heated"),
        ((charge(9),), event(K.DEMOLD, 10, subject="1A"), "has no peak yet"),
        ((charge(9),), charge(10, ident="B"), "still holds A"),
        ((charge(9),), event(K.MOLD, 10, subject="1A", mold=MoldCopy("M2", 3)), "still holds A"),
        ((), charge(9, copy=2), "M1#1 hangs there, not M1#2"),
        ((), charge(9, chamber="2B"), "no mold hangs there"),
        ((), event(K.MOLD, 9, subject="2B", mold=MoldCopy("M2", 1)), "M2#1 hangs in 1B"),
        ((), event(K.MOLD, 9, subject="2B", mold=MoldCopy("M9", 1)), "no mold M9#1"),
        (cooked(), event(K.PIECES, 12, cycle_id="A", good=1, scrapped=1, rework=0), "has 1 cavities"),
        (cooked()[:3], event(K.PIECES, 12, cycle_id="A", good=1, scrapped=0, rework=0), "not out of its mold"),
        (cooked(), event(K.PIECES, 12, cycle_id="B", good=1, scrapped=0, rework=0), "no made cycle 'B'"),
        (cooked(), event(K.STEP, 15, **STEP | {"step_ix": 1}), "has 1 finishing steps"),
        (cooked(), event(K.STEP, 15, **STEP | {"subject": "W9"}), "no bench 'W9'"),
        (cooked(), event(K.STEP, 15, **STEP | {"person": "P9"}), "no operator 'P9'"),
        ((*cooked(), event(K.DONE, 15, **STEP)), event(K.STEP, 16, **STEP), "done already"),
        ((*cooked(), event(K.STEP, 15, **STEP)), event(K.STEP, 16, **STEP), "begun already"),
        (cooked()[:2], event(K.HEAT, 10, subject="1A"), "cannot begin to heat"),
        ((*cooked()[:2], charge(9.1, "1B", "B")), event(K.HEAT, 10, subject="1B"), "mirrors of U1 are on 1A"),
        ((charge(9), event(K.STOW, 9.2, subject="U1")), event(K.HEAT, 10, subject="1A"), "are stowed since"),
        (cooked()[:2], event(K.PIAT, 9.52, subject="1A", amount=200.0), "its shell alone takes"),
        (cooked(), event(K.DECIDE, 12, subject="1A", choice=Choice.WAIT), "nothing is charged in 1A"),
        (cooked()[:3], event(K.DECIDE, 11, subject="1A", choice=Choice.WAIT), "only a cook before its peak"),
        ((), event(K.UP, 9, subject="U1"), "is not down"),
        ((), event(K.BACK, 9, subject="P1"), "is not absent"),
        ((), event(K.UNSTOW, 9), "the yard is not stowed"),
        ((), event(K.RESIN, 9, subject="GOLD", amount=1.0), "no stock item 'GOLD'"),
        ((), event(K.WASH, 9, subject="U7"), "no unit 'U7'"),
        ((), event(K.VOID, 9, corrects=17), "no entry 17"),
        # an earlier entry that what came later depends on
        (cooked(), event(K.VOID, 12, corrects=2), "not heated"),
        (cooked(), event(K.HOLD, 10.8, subject="1A"), "is cooling, not heating"),
    ],
)  # fmt: skip
def test_what_cannot_be_true_is_refused_with_the_reason(before: tuple[Event, ...], wrong: Event, why: str) -> None:
    events = numbered(*before)
    admit(YARD, (), events)
    with pytest.raises(Contradiction, match=why):
        admit(YARD, events, [replace(wrong, number=len(events) + 1)])


def test_a_busy_bench_and_a_busy_person_are_told() -> None:
    two = (charge(9, "1B", "B"), event(K.HEAT, 11, subject="1B"), event(K.PIAT, 12, subject="1B", amount=200.0))
    events = numbered(
        *cooked(), *two, event(K.DEMOLD, 13, subject="1B"), event(K.STEP, 15, **STEP),
    )  # fmt: skip
    for told, why in (({"person": "P2"}, "A is still at bench W1"), ({"subject": "W2"}, "minds 1 at most")):
        with pytest.raises(Contradiction, match=why):
            admit(YARD, events, [event(K.STEP, 15.1, 99, **STEP | {"cycle_id": "B"} | told)])


@pytest.mark.parametrize(
    "told",
    [
        {"kind": K.PIAT, "subject": "1A"},
        {"kind": K.HEAT, "subject": "1A", "order_id": "Y-1"},
        {"kind": K.RESIN, "subject": "R-SAND", "amount": -5.0},
        {"kind": K.PIAT, "subject": "1A", "amount": 900.0},
        {"kind": K.DOWN, "subject": "U1", "until_at": at(0, 8)},
        {"kind": K.NOTE},
    ],
)
def test_entries_tell_what_they_must_and_nothing_else(told: dict[str, object]) -> None:
    with pytest.raises(InvalidField, match="log entry"):
        Event(**{"at": at(0, 9), "entered_at": at(0, 9), "by": "Pat"} | told)


# --- corrections -------------------------------------------------------------------------------------------------


def test_a_correction_stands_in_for_the_wrong_entry_and_a_void_for_nothing() -> None:
    events = numbered(*cooked())
    later = replace(event(K.PIAT, 10.7, subject="1A", amount=206.0), number=5, corrects=3)
    (made,) = state_of(YARD, None, (*events, later), at(0, 12)).cycles
    assert (made.piat_at, made.piat_c) == (at(0, 10.7), 206.0)
    void = event(K.VOID, 12, 6, corrects=4)
    (made,) = state_of(YARD, None, (*events, later, void), at(0, 13)).cycles
    assert made.phase is Phase.COOLING
    again = event(K.VOID, 12.1, 7, corrects=6)
    (made,) = state_of(YARD, None, (*events, later, void, again), at(0, 13)).cycles
    assert made.phase is Phase.FINISHING
    twice = replace(event(K.PIAT, 10.8, subject="1A", amount=207.0), number=8, corrects=5)
    assert [one.number for one in in_force((*events, later, twice))] == [1, 2, 8, 4]


def test_what_a_changed_yard_makes_impossible_is_told_and_the_rest_still_holds() -> None:
    events = numbered(*cooked(), charge(9, "1B", "B"))
    without = replace(YARD, molds=YARD.molds[1:], products=YARD.products[1:], hung=YARD.hung[1:])
    state = state_of(without, None, events, at(0, 13))
    assert {number for number, _ in state.doubts} == {1, 2, 3, 4}
    assert [made.id for made in state.cycles] == ["B"]
    admit(without, events, [event(K.HEAT, 13, 6, subject="1B")])


# --- what the plan and calibration take from it -----------------------------------------------------------------


def test_what_is_due_by_the_plan_and_not_charged() -> None:
    grid = SlotGrid.of_days(at(0, 12).date(), 1, YARD.site.tz)
    ends = (120, 130, 132, 135)
    rows = tuple(
        Cycle(ident, "Y-1", "TANK", "sand", MoldCopy("M1", 1), "1A", 1, slot, 0, slot + 3, *ends, (), ())
        for ident, slot in (("C001", 108), ("C002", 240))
    )
    plan = Plan(grid, rows)
    assert [row.id for row in state_of(YARD, plan, (), at(0, 10)).due] == ["C001"]
    made = replace(charge(9.2), planned_id="C001", number=1)
    assert not state_of(YARD, plan, (made,), at(0, 10)).due


def test_logged_cycles_are_those_that_were_not_interrupted() -> None:
    whole = state_of(YARD, None, numbered(*cooked()), at(0, 13)).cycles
    (row,) = logged_cycles(whole)
    assert (row.charged_at, row.heat_at, row.piat_at, row.demolded_at) == (
        at(0, 9),
        at(0, 9.5),
        at(0, 10.5),
        at(0, 11.5),
    )
    assert (row.piat_c, row.pieces_good, row.product_id, row.color) == (204.0, 1, "TANK", "sand")
    hold = (event(K.HOLD, 9.7, subject="1A"), event(K.HEAT, 9.9, subject="1A"))
    held = state_of(YARD, None, numbered(*cooked()[:2], *hold, *cooked()[2:]), at(0, 13)).cycles
    assert not logged_cycles(held)
    assert held[0].heats == ((at(0, 9.5), at(0, 9.7)), (at(0, 9.9), at(0, 10.5)))
    assert timedelta(hours=1) == held[0].piat_at - held[0].heats[0][0]
