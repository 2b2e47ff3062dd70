"""Energy of benches in the solver: what is left in spans that overlap, against counting slot by slot."""

from dataclasses import replace
from datetime import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.forecast.made_years import made_year, typical
from tests.small_yard import MONDAY, TZ, at, hand_made_cook, small_problem, small_yard, with_units
from tests.solve.hand_plan import hand_plan, hand_problem
from yardplan.domain.equipment import Load, MoldCopy
from yardplan.domain.log import ChargeReading
from yardplan.domain.orders import Order
from yardplan.domain.outcome import SolveOutcome
from yardplan.domain.plan import Cycle, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.products import FinishStep
from yardplan.domain.rules import Blocked, Rule, Why
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.electricity import power_table
from yardplan.forecast.heat import heat_table
from yardplan.solve.bookings import Bookings
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.run import Limits, Stop, solve

N_SLOTS = small_problem().grid.n_slots

spans = st.lists(
    st.tuples(st.integers(0, N_SLOTS - 1), st.integers(1, 400)).map(lambda span: (span[0], min(sum(span), N_SLOTS))),
    min_size=1,
    max_size=5,
    unique=True,
).map(tuple)


def with_spans(problem: Problem, found: tuple[tuple[int, int], ...], kwh: list[float]) -> Problem:
    return replace(problem, power=replace(problem.power, spans=found, span_kwh=np.array([kwh])))


@settings(max_examples=60, deadline=None)
@given(data=st.data(), found=spans, watts=st.sampled_from([0, 500, 1200]), length=st.integers(1, 30))
def test_starts_that_the_energy_allows(
    data: st.DataObject, found: tuple[tuple[int, int], ...], watts: int, length: int
) -> None:
    kwh = data.draw(st.lists(st.floats(0, 3), min_size=len(found), max_size=len(found)))
    book = Bookings(compiled := Compiled(with_spans(small_problem(), found, kwh)), Plan(small_problem().grid))
    allowed = book.energy_ok(0, watts, length)
    for start in range(N_SLOTS - length):
        inside = [max(min(after, start + length) - max(first, start), 0) for first, after in found]
        fits = all(
            watts * slots <= left for slots, left in zip(inside, compiled.span_watt_slots[0], strict=True)
        )  # an empty account still allows work that draws nothing
        assert bool(allowed >> start & 1) is fits


@settings(max_examples=60, deadline=None)
@given(data=st.data(), found=spans, length=st.integers(1, 30))
def test_starts_are_cut_by_what_they_draw_where(
    data: st.DataObject, found: tuple[tuple[int, int], ...], length: int
) -> None:
    problem = small_problem()
    compiled = Compiled(with_spans(problem, found, [1.0] * len(found)))
    told = data.draw(st.sets(st.sampled_from(range(len(found)))))
    first = data.draw(st.integers(0, N_SLOTS - length))
    starts = compiled.open >> first << first & (1 << N_SLOTS - length + 1) - 1
    cuts = compiled.energy_cuts(starts, length, told)
    assert sum(cuts.values()) == starts  # every start in one cut
    for (dark, shares), mask in cuts.items():
        for start in (slot for slot in range(N_SLOTS) if mask >> slot & 1):
            assert dark == (problem.power.evening_ix[start : start + length] >= 0).sum()
            inside = {ix: min(found[ix][1], start + length) - max(found[ix][0], start) for ix in told}
            assert dict(shares) == {ix: slots for ix, slots in inside.items() if slots > 0}


def test_booked_work_takes_from_every_span_that_it_lies_in() -> None:
    """F1 draws 1 kW from 19:50 to 20:10 on Monday, F3 from 20:00 to 20:20, F4 from 16:30 to 16:50."""
    monday, evening = (0, 288), (240, 360)
    problem = with_spans(hand_problem(), (monday, evening), [2.0, 1.0])
    book = Bookings(Compiled(problem), hand_plan())
    assert book.span_left[0] == [24_000 - 12_000, 12_000 - 6_000]  # watt-slots: 12 slots by then, 6 after 20:00


JOBS_KWH = (2.5, 2.0, 1.8, 1.2)


@pytest.fixture(scope="module")
def one_evening() -> Problem:
    """Four molded pieces wait for an hour of finishing each; 6 kWh above the reserve, of which 1 kWh is for the base.

    No PV, no losses, one evening. The first two are promised for 20:00, the others for later days.
    """
    yard = with_units(
        small_yard(),
        pv_kw=0.0,
        round_trip_frac=1.0,
        base_day_kw=0.0,
        base_night_kw=0.0,
        battery_kwh=20.0,
        reserve_kwh=6.0,
    )
    tank = yard.products[0]
    products = tuple(
        replace(tank, id=f"J{ix}", routing=(FinishStep("drill", "bench", "finishing", 60, kwh, 0),))
        for ix, kwh in enumerate(JOBS_KWH)
    )
    yard = replace(yard, products=products, loads=(Load("air conditioning, lights", "U1", time(18), time(22), 0.25),))
    grid = SlotGrid.of_days(MONDAY, 1, TZ)
    six = 18 * 12
    heat = heat_table(yard, typical(made_year(0.9)), grid, n_scenarios=10)
    orders = tuple(
        Order(f"Y-{ix}", "Invented Farm", f"J{ix}", "sand", 1, due, due, 2)
        for ix, due in enumerate((at(0, 20), at(0, 20), at(2, 12), at(3, 12)))
    )
    molded = tuple(
        Cycle(
            f"C{ix}", f"Y-{ix}", f"J{ix}", "sand", MoldCopy("M1", 1), "1A", 1, first, 0, first + 3, first + 12,
            first + 19, first + 19, first + 22, ("P1",), ("P1",),
        )
        for ix, first in enumerate(range(84, 180, 24))
    )  # fmt: skip
    cook = replace(hand_made_cook(yard, grid), confidences=(0.9,))
    power = power_table(yard, heat, confidence=0.9, charge=ChargeReading(grid.at(six), {"U1": 12.0}))
    return Problem(yard, orders, grid, cook, power, grid.at(six), 0.9, Plan(grid, cycles=molded))


@pytest.fixture(scope="module")
def evening_plan(one_evening: Problem) -> SolveOutcome:
    return solve(one_evening, Limits(seconds=None, work=2.0, workers=1), Stop(), lambda progress: None)


def test_an_evening_takes_the_work_that_its_energy_carries(one_evening: Problem, evening_plan: SolveOutcome) -> None:
    """5.0 kWh are left: the 2.5 and the 2.0 that are due first; 1.8 is short by 1.3 kWh, 1.2 by 0.7 kWh."""
    assert one_evening.power.evening_kwh[0, -1] == pytest.approx(5.0, abs=1e-3)
    assert sorted(job.kwh for job in evening_plan.plan.finishing) == [2.0, 2.5]
    assert evening_plan.blocked == (
        Blocked("Y-2", Why.NO_ENERGY, "drill, 1.8 kWh: short by 1.3 kWh"),
        Blocked("Y-3", Why.NO_ENERGY, "drill, 1.2 kWh: short by 0.7 kWh"),
    )
    assert check(one_evening, evening_plan.plan) == ()


def test_the_battery_never_falls_below_its_reserve(one_evening: Problem, evening_plan: SolveOutcome) -> None:
    drawn_kwh = np.zeros(one_evening.grid.n_slots)
    for job in evening_plan.plan.finishing:
        drawn_kwh[job.start_slot : job.end_slot] += job.kwh / 12
    drawn_kwh[18 * 12 : 22 * 12] += 0.25 / 12
    charge_kwh = 12.0 - np.cumsum(drawn_kwh)
    assert charge_kwh.min() == pytest.approx(6.5)
    assert charge_kwh.min() >= one_evening.yard.units[0].reserve_kwh


def test_work_that_the_checker_refuses_for_energy(one_evening: Problem, evening_plan: SolveOutcome) -> None:
    """The third job in place of the second one's energy: 2.5 + 2.0 + 1.2 kWh of 5.0."""
    last = max(evening_plan.plan.finishing, key=lambda job: job.end_slot)
    more = replace(last, id="F9", cycle_id="C3", start_slot=last.end_slot, end_slot=last.end_slot + 12, kwh=1.2)
    plan = replace(evening_plan.plan, finishing=(*evening_plan.plan.finishing, more))
    (violation,) = (found for found in check(one_evening, plan) if found.rule is Rule.BENCH_ENERGY)
    assert "would draw 5.70 kWh" in violation.text
    assert "leave 5.00 kWh" in violation.text
