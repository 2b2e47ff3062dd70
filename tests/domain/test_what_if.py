"""Each change does what it says, and nothing else."""

from dataclasses import replace
from datetime import date, time

import numpy as np
import pytest

from tests.small_yard import MONDAY, at, small_problem, with_yard
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import InvalidField, NotThere
from yardplan.domain.what_if import (
    MoreEnergy,
    MoreStock,
    OneMoreBench,
    OneMoreCopy,
    OneMoreLoader,
    OneMorePerson,
    OneMoreUnit,
    OtherOrder,
    Overtime,
)
from yardplan.solve.compiled import Compiled

PROBLEM = small_problem()


def test_one_more_copy():
    new = OneMoreCopy("M1").applied(PROBLEM)
    assert set(new.yard.mold_copies) - set(PROBLEM.yard.mold_copies) == {MoldCopy("M1", 2)}
    assert replace(new.yard, molds=PROBLEM.yard.molds) == PROBLEM.yard
    with pytest.raises(NotThere, match="known are M1, M2"):
        OneMoreCopy("M9").applied(PROBLEM)


def test_one_more_person_works_the_shift_with_the_skills():
    new = OneMorePerson("late", ("finishing",)).applied(PROBLEM)
    more = new.yard.operators[-1]
    assert (more.skills, more.duties[0].shift_id) == ({"finishing"}, "late")
    late = Compiled(new).windows[more.id]
    assert late == Compiled(new).windows["P2"]  # who has been on the late shift all along
    everything = OneMorePerson("late").applied(PROBLEM).yard.operators[-1]
    assert everything.skills == PROBLEM.yard.operators[1].skills
    twice = OneMorePerson("late").applied(OneMorePerson("late").applied(PROBLEM))
    assert [row.id for row in twice.yard.operators[-2:]] == ["+late", "+late.2"]
    with pytest.raises(NotThere, match="known are early, late"):
        OneMorePerson("night").applied(PROBLEM)
    with pytest.raises(InvalidField, match="one of finishing"):
        OneMorePerson("late", ("welding",)).applied(PROBLEM)


def test_one_more_bench_and_loader():
    new = OneMoreBench("W1").applied(PROBLEM)
    assert (new.yard.benches[-1].kind, new.yard.benches[-1].unit_id) == ("bench", "U1")
    assert OneMoreLoader().applied(PROBLEM).yard.site.loaders == 2
    with pytest.raises(NotThere, match="known are W1, W2"):
        OneMoreBench("W9").applied(PROBLEM)


def test_one_more_unit_has_the_same_sun_and_power():
    new = OneMoreUnit("U1").applied(PROBLEM)
    assert [unit.id for unit in new.yard.units] == ["U1", "+U1"]
    assert [chamber.id for chamber in new.yard.chambers] == ["1A", "1B", "+1A", "+1B"]
    for table, name, axis in (
        (new.cook, "cook_slots", 2), (new.cook, "cool_slots", 2), (new.cook, "heat_kwh", 1),
        (new.power, "finish_kw", 0), (new.power, "span_kwh", 0), (new.power, "charge_kwh", 0),
    ):  # fmt: skip
        old, copied = (np.take(getattr(table, name), ix, axis=axis) for ix in (0, 1))
        assert np.array_equal(old, copied)
    assert "+1A" not in {hung.chamber_id for hung in new.yard.hung}


def test_overtime_follows_the_last_shift_of_its_day_and_counts_as_such():
    new = Overtime(MONDAY).applied(PROBLEM)
    shift = new.yard.shifts[-1]
    assert (shift.start_local, shift.end_local, shift.overtime) == (time(22), time(1), True)
    windows = Compiled(new).windows
    night = (22 * 12, 25 * 12, True)
    assert night in windows["P2"]
    assert night not in windows["P1"]
    assert sum(window.overtime for window in windows["P2"]) == 1
    with pytest.raises(InvalidField, match="a day of the plan, 2027-05-17 to 2027-05-19"):
        Overtime(date(2027, 6, 1)).applied(PROBLEM)
    nobody = with_yard(PROBLEM, operators=())
    with pytest.raises(InvalidField, match="a day on which a shift is worked"):
        Overtime(MONDAY).applied(nobody)


def test_more_stock_and_energy():
    new = MoreStock("R-SAND", 50).applied(PROBLEM)
    assert Compiled(new).supply["R-SAND"] != Compiled(PROBLEM).supply["R-SAND"]
    more = MoreEnergy("U1", 5).applied(PROBLEM)
    assert np.all(more.power.span_kwh == PROBLEM.power.span_kwh + 5)
    with pytest.raises(NotThere):
        MoreStock("R-PINK", 5).applied(PROBLEM)


def test_another_order():
    new = OtherOrder("Y-1", due_at=at(1, 12), quantity=2, no_promise=True, priority=5, said="").applied(PROBLEM)
    order = new.orders[0]
    assert (order.due_at, order.promise_at, order.quantity, order.priority) == (at(1, 12), None, 2, 5)
    assert new.orders[1:] == PROBLEM.orders[1:]
    out = OtherOrder("Y-1", left_out=True).applied(PROBLEM)
    assert [row.id for row in out.orders] == ["Y-2", "Y-3"]
    with pytest.raises(NotThere, match="known are Y-1, Y-2, Y-3"):
        OtherOrder("Y-9", quantity=1).applied(PROBLEM)
    with pytest.raises(InvalidField, match="a whole number of pieces"):
        OtherOrder("Y-1", quantity=0).applied(PROBLEM)
