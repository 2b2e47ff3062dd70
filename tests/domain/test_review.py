"""Figures of a review, worked out by hand for short days."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from tests.day_streams import day_yard
from tests.domain.test_history import charge, cooked, event, numbered
from tests.small_yard import MONDAY, at
from yardplan.domain.adherence import adherence
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.events import Event, EventKind
from yardplan.domain.figures import Facts, review
from yardplan.domain.heat_use import HeatTo, PastSun, heat_ledger
from yardplan.domain.history import state_of
from yardplan.domain.log import LoggedCycle
from yardplan.domain.made import Cause, InForce, Made, made_cycles, spells, starts
from yardplan.domain.plan import Cycle, FinishJob, Plan
from yardplan.domain.review import CARDS, Review
from yardplan.domain.slots import SlotGrid
from yardplan.domain.verification import BiasCorrection, LeadScores, Verification, Verified

K = EventKind
YARD = day_yard()
GRID = SlotGrid.of_days(MONDAY, 1, YARD.site.tz)
NOW = at(0, 22)


def planned(ident: str, chamber: str, order: str, heat: float, *, crew: tuple[str, ...] = ()) -> Cycle:
    """Half an hour of charging, one of heat, one of cooling, half an hour of demolding: two hours and a half."""
    slot = GRID.slot(at(0, heat))
    mold = MoldCopy("M1" if chamber == "1A" else "M2", 1)
    ends = (slot - 6, 0, slot, slot + 12, slot + 18, slot + 18, slot + 24)
    return Cycle(ident, order, "TANK", "sand", mold, chamber, 1, *ends, crew, ())


def facts(plan: Plan | None, events: tuple[Event, ...], now=NOW, history: tuple[LoggedCycle, ...] = ()) -> Facts:
    state = state_of(YARD, plan, events, now)
    cycles = made_cycles(YARD, history, state.cycles, now)
    plans = (InForce(plan, GRID.start_at, now),) if plan else ()
    out = spells(YARD, events, now)
    sun = steady_sun()
    return Facts(
        YARD, GRID.start_at, now, plans, cycles, starts(YARD, plans, cycles, out, now), sun,
        heat_ledger(YARD, sun, cycles, out, GRID.start_at, now), None, None,
        adherence(YARD, plan, state, events) if plan else None,
    )  # fmt: skip


def steady_sun() -> PastSun:
    """Each unit's mirrors send 100 kW from 08:00 to 18:00; molds absorb half of it, where 120 kW are let on them."""
    hours = np.array([GRID.local(slot).hour for slot in range(GRID.n_slots)])
    light = (hours >= 8) & (hours < 18)
    field_kw = np.where(light, 100.0, 0.0).astype(np.float32) * np.ones((2, 1), np.float32)
    catch = np.full((len(YARD.molds), 2, GRID.n_slots), 0.5, np.float32)
    return PastSun(GRID, field_kw, catch, np.ones(GRID.n_slots, np.bool_), ~light)


def value(found: Review, ident: str) -> float | None:
    return found.figure(ident).value


def test_all_cards_are_told_with_what_a_reader_needs() -> None:
    found = review(facts(None, ()))
    assert [figure.card.id for figure in found.figures] == list(CARDS)
    for card in CARDS.values():
        assert all((card.name, card.scope, card.formula, card.trend, card.timing, card.audience, card.source))
    assert all(figure.value is None and figure.note for figure in found.figures if figure.card.id != "heat_use")


def test_a_cook_begun_in_time_and_one_that_was_not_have_their_causes() -> None:
    plan = Plan(
        GRID,
        (
            planned("C1", "1A", "Y-1", 9.5),  # made at 09:30
            planned("C2", "1B", "Y-2", 12.0),  # unit stowed at noon, made at 13:00
            planned("C3", "2A", "Y-2", 12.0, crew=("P1",)),  # P1 absent
            planned("C4", "2B", "Y-2", 12.0),  # chamber down
            planned("C5", "1A", "Y-1", 20.0),  # nothing tells why
            planned("C6", "1A", "Y-1", 21.75),  # still within half an hour of its plan: not judged
        ),
    )
    events = numbered(
        *(replace(one, planned_id="C1") if one.kind is K.CHARGE else one for one in cooked(9)),
        event(K.ABSENT, 11.9, subject="P1"), event(K.DOWN, 10, subject="2B"), event(K.UP, 14, subject="2B"),
        replace(charge(11.75, "1B", "B"), planned_id="C2"), event(K.STOW, 11.8, subject="U1"),
        event(K.UNSTOW, 12.9, subject="U1"), event(K.HEAT, 13, subject="1B"),
    )  # fmt: skip
    told = facts(plan, events)
    found = {start.planned_at: [] for start in told.starts}
    for start in told.starts:
        found[start.planned_at].append(start.cause)
    assert found[at(0, 9.5)] == [None]
    assert set(found[at(0, 12)]) == {Cause.WIND, Cause.CREW, Cause.EQUIPMENT}
    assert found[at(0, 20)] == [Cause.NOT_TOLD]
    assert len(told.starts) == 5
    shown = review(told)
    assert value(shown, "starts_in_time") == pytest.approx(1 / 5)
    # causes sum to all that was not in time
    assert sum(count for _, count in shown.tables["causes"].rows) == 4


def test_a_start_that_waits_for_a_mold_or_its_chamber_says_so() -> None:
    plan = Plan(GRID, (planned("C1", "1B", "Y-2", 12.0), planned("C2", "1A", "Y-1", 12.0)))
    other = MoldCopy("M2", 1)
    inside = [
        Made("X", "", "Y-2", "U2", "2A", other, "BIN", at(0, 9), ((at(0, 10), at(0, 11)),), at(0, 13), 1, 0, 0, ""),
        Made("Y", "", "Y-1", "U1", "1A", MoldCopy("M1", 1), "TANK", at(0, 9), (), at(0, 12.5), 1, 0, 0, ""),
    ]
    found = starts(YARD, (InForce(plan, GRID.start_at, NOW),), inside, (), NOW)
    assert {start.cause for start in found} == {Cause.MOLD, Cause.CHAMBER}


def test_a_chamber_that_the_yard_no_longer_has_tells_nothing() -> None:
    plan = Plan(GRID, (replace(planned("C1", "1B", "Y-2", 12.0), chamber_id="9Z"),))
    found = starts(YARD, (InForce(plan, GRID.start_at, NOW),), (), (), NOW)
    assert [start.cause for start in found] == [Cause.NOT_TOLD]


def test_a_finishing_step_whose_end_nobody_logged_counts_as_long_as_it_takes() -> None:
    """Twenty minutes of 1 kW, all in the dark."""
    events = numbered(*cooked(9), event(K.STEP, 19, subject="W1", cycle_id="A", step_ix=0, person="P1"))
    assert dict(review(facts(None, events)).figure("evening_energy").counts)["kWh in the dark"] == pytest.approx(1 / 3)


def test_only_the_plan_in_force_at_its_time_counts() -> None:
    first = Plan(GRID, (planned("C1", "1A", "Y-1", 9.0), planned("C2", "1A", "Y-1", 15.0)))
    second = Plan(GRID, (planned("C1", "1A", "Y-1", 9.0), planned("C2", "1A", "Y-1", 16.0)))
    plans = (InForce(first, GRID.start_at, at(0, 12)), InForce(second, at(0, 12), NOW))
    assert [start.planned_at for start in starts(YARD, plans, (), (), NOW)] == [at(0, 9), at(0, 16)]


def test_hours_and_pieces_of_a_short_day() -> None:
    """One cycle: charged 09:00, heat 09:30 to 10:30, out at 11:30; planned were two cycles of 2.5 hours each."""
    plan = Plan(GRID, (planned("C1", "1A", "Y-1", 9.5), planned("C2", "1A", "Y-1", 14.0)))
    events = numbered(
        *(replace(one, planned_id="C1") if one.kind is K.CHARGE else one for one in cooked(9)),
        charge(12, "1B", "B"), event(K.HEAT, 12.5, subject="1B"), event(K.PIAT, 13.5, subject="1B", amount=204.0),
        event(K.DEMOLD, 14, subject="1B"),
        event(K.PIECES, 14.5, cycle_id="B", good=0, scrapped=1, rework=1, reason="bubbles"),
    )  # fmt: skip
    found = review(facts(plan, events))
    assert value(found, "first_pass_yield") == pytest.approx(1 / 3)
    assert value(found, "scrap_ratio") == pytest.approx(1 / 3)
    assert value(found, "rework_ratio") == pytest.approx(1 / 3)
    assert value(found, "pieces_made") == pytest.approx(1 / 2)
    assert value(found, "allocation_efficiency") == pytest.approx((2.5 + 2.0) / 5.0)
    # a TANK takes 15 min to charge, a BIN 10; the rest of the half hours is waiting
    assert value(found, "setup_ratio") == pytest.approx((25 / 60) / (25 / 60 + 3.5))
    assert value(found, "utilization_efficiency") == pytest.approx(3.5 / 4.5)
    assert found.tables["losses"].rows == (("bubbles", 1, 1),)
    assert found.tables["units"].rows == (("U1", 2, 2, 1, 2, 1, 1, 1),)
    assert found.tables["orders"].rows == (("Y-1", 2, 1, 1, 2, 1, 0, 0), ("Y-2", 0, 1, 0, 0, 0, 1, 1))
    assert found.tables["pieces"].rows == ((str(MONDAY), 2, 1, 1, 1),)


def test_a_cook_that_waits_for_its_heat_is_no_use_of_a_chamber() -> None:
    events = numbered(
        charge(9), event(K.HEAT, 9.5, subject="1A"), event(K.HOLD, 10, subject="1A"), event(K.HEAT, 11, subject="1A"),
        event(K.PIAT, 11.5, subject="1A", amount=204.0), event(K.DEMOLD, 12.5, subject="1A"),
    )  # fmt: skip
    found = review(facts(None, events))
    assert value(found, "utilization_efficiency") == pytest.approx((0.5 + 0.5 + 1.0) / 3.5)


def test_heat_is_accounted_for_to_the_last_kilowatt_hour() -> None:
    """2 units x 10 h x 100 kW are usable. 1A took an hour (50 kWh in a good piece, 50 beside it), 1B half an hour."""
    events = numbered(
        *cooked(9),  # heat 09:30 to 10:30, one good piece of 20 kg
        charge(12, "1B", "B"), event(K.HEAT, 12.5, subject="1B"), event(K.PIAT, 13, subject="1B", amount=204.0),
        event(K.DEMOLD, 14, subject="1B"), event(K.PIECES, 14.5, cycle_id="B", good=1, scrapped=1, rework=0),
        event(K.DOWN, 15, subject="U2"),
    )  # fmt: skip
    told = facts(None, events)
    assert told.heat is not None
    assert told.heat.usable_kwh == pytest.approx(2000)
    by = {to: told.heat.total_kwh(to) for to in HeatTo}
    assert by[HeatTo.GOOD] == pytest.approx(50 + 12.5)
    assert by[HeatTo.SCRAPPED] == pytest.approx(12.5)
    assert by[HeatTo.BESIDE] == pytest.approx(50 + 25)
    assert by[HeatTo.OUT] == pytest.approx(300)
    assert by[HeatTo.IDLE] == pytest.approx(2000 - 100 - 50 - 300)
    found = review(told)
    assert value(found, "heat_use") == pytest.approx(62.5 / 2000)
    # pieces: one TANK of 20 kg, one BIN of 8 kg; absorbed 75 kWh
    assert value(found, "heat_per_kg") == pytest.approx(75 / 28)


def test_uses_and_losses_add_up_also_where_two_cooks_claim_the_mirrors_or_the_sun_is_not_known() -> None:
    rng = np.random.default_rng(3)
    sun = steady_sun()
    sun = replace(sun, is_known=rng.random(GRID.n_slots) > 0.2, field_kw=sun.field_kw * rng.random((2, GRID.n_slots)))
    cycles = []
    for ix in range(30):
        charged = 8 + 9 * rng.random()
        heats = ((at(0, charged + 0.2), at(0, charged + 1.3)),)
        out_at = None if ix % 7 == 0 else at(0, charged + 2)
        unit, chamber, mold = (("U1", "1A", "M1"), ("U2", "2A", "M2"))[ix % 2]
        good, scrapped, rework = (int(count) for count in rng.integers(0, 3, 3))
        told = (at(0, charged), heats, out_at, good, scrapped, rework, "")
        cycles.append(Made(f"X{ix}", "", "", unit, chamber, MoldCopy(mold, 1), "TANK", *told))
    out = spells(YARD, numbered(event(K.STOW, 11), event(K.UNSTOW, 12.5)), NOW)
    ledger = heat_ledger(YARD, sun, cycles, out, GRID.start_at, NOW)
    usable = (sun.field_kw * sun.is_known).sum() / 12
    assert ledger.usable_kwh == pytest.approx(usable, rel=1e-5)
    assert sum(ledger.total_kwh(to) for to in HeatTo) == pytest.approx(usable, rel=1e-5)
    assert all(kwh >= 0 for day in ledger.days.values() for kwh in day.values())
    assert all(ledger.total_kwh(to) > 0 for to in HeatTo)


def test_more_heat_than_a_unit_lets_on_a_mold_passes_it() -> None:
    sun = steady_sun()
    sun = replace(sun, field_kw=sun.field_kw * 4, catch_frac=np.ones_like(sun.catch_frac))
    cycles = made_cycles(YARD, (), state_of(YARD, None, numbered(*cooked(9)), NOW).cycles, NOW)
    ledger = heat_ledger(YARD, sun, cycles, (), GRID.start_at, NOW)
    assert ledger.total_kwh(HeatTo.GOOD) == pytest.approx(120)  # an hour at the limit of 120 kW
    assert ledger.total_kwh(HeatTo.BESIDE) == pytest.approx(280)


def test_a_lost_cook_of_history_counts_until_the_mirrors_went_elsewhere() -> None:
    def row(ident: str, chamber: str, heat: float, piat: float | None, good: int) -> LoggedCycle:
        times = (at(0, heat - 0.5), at(0, heat), at(0, piat) if piat else None, at(0, heat + 4))
        return LoggedCycle(ident, chamber, MoldCopy("M1", 1), "TANK", "sand", *times, 120.0, good, 1 - good)

    history = (row("L1", "1A", 9, None, 0), row("L2", "1B", 10, 11, 1))
    cycles = {one.id: one for one in made_cycles(YARD, history, (), NOW)}
    assert cycles["L1"].heats == ((at(0, 9), at(0, 10)),)
    assert cycles["L1"].reason == "lost before its peak"
    assert cycles["L2"].heats == ((at(0, 10), at(0, 11)),)


def test_evening_energy_is_what_benches_draw_in_the_dark() -> None:
    """A step of 1 kW from 17:30 to 20:30: 2.5 of its hours are dark; the battery has 14 kWh above its reserve."""
    events = numbered(
        *cooked(9),
        event(K.STEP, 17.5, subject="W1", cycle_id="A", step_ix=0, person="P1"),
        event(K.DONE, 20.5, subject="W1", cycle_id="A", step_ix=0, person="P1"),
    )  # fmt: skip
    slot = GRID.slot(at(0, 19))
    plan = Plan(
        GRID, (planned("C1", "1A", "Y-1", 9.5),), finishing=(FinishJob("F1", "C1", 0, "W1", "P1", slot, slot + 4, 1.0),)
    )
    found = review(facts(plan, events))
    assert value(found, "evening_energy") == pytest.approx(2.5 / 14.0)
    assert found.tables["battery"].rows == ((str(MONDAY), 2.5, 1.0, 28.0),)


def test_the_forecast_is_judged_a_day_ahead() -> None:
    def lead(first: float, in_band: float) -> LeadScores:
        scores = (10.0, 200.0, 0.4, 90.0, 300.0, 0.1, in_band, (0.7, 0.9), 0.25, float("nan"))
        return LeadScores((first, first * 2), 400, 40, *scores, (0.1,) * 10, True)

    leads = (lead(6.0, 0.6), lead(24.0, 0.78), lead(48.0, 0.5))
    verified = Verified(
        YARD.site.tz, 28, 9, at(-20, 8), True, Verification(leads, ()), BiasCorrection(False, 0, 10)
    )  # fmt: skip
    found = review(replace(facts(None, ()), verified=verified))
    assert value(found, "forecast_in_band") == 0.78
    assert value(found, "forecast_skill") == 0.25
    assert len(found.tables["forecast"].rows) == 3


def test_a_hold_ends_when_its_cook_goes_on_and_a_stow_of_all_is_one_of_each() -> None:
    events = numbered(
        event(K.STOW, 9), event(K.UNSTOW, 10, subject="U1"), charge(9), event(K.HEAT, 10.5, subject="1A"),
        event(K.HOLD, 11, subject="1A"), event(K.HEAT, 11.5, subject="1A"), event(K.ABSENT, 12, subject="P1"),
    )  # fmt: skip
    found = {(one.kind, one.subject): one.end_at - one.start_at for one in spells(YARD, events, at(0, 13))}
    hour = timedelta(hours=1)
    assert found == {
        (K.STOW, "U1"): hour, (K.STOW, "U2"): 4 * hour, (K.HOLD, "1A"): hour / 2, (K.ABSENT, "P1"): hour,
    }  # fmt: skip
