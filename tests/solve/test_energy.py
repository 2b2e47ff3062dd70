"""Energy of benches in the solver: what is left in spans that overlap, against counting slot by slot."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.small_yard import small_problem
from tests.solve.hand_plan import hand_plan, hand_problem
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.solve.bookings import Bookings
from yardplan.solve.compiled import Compiled

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
    for start in range(0, N_SLOTS - length, 7):
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
