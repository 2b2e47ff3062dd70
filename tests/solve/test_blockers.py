"""What stands in the way is named, and lifting it alone is enough: fifty yards, each with one thing broken."""

from dataclasses import replace
from datetime import timedelta
from random import Random

import numpy as np
import pytest

from tests.small_yard import at, small_orders, small_problem, with_yard
from tests.solve.hand_plan import hand_plan, hand_problem, slot
from yardplan.domain.explained import Limit
from yardplan.domain.people import HANDLING, Downtime, Duty, Operator, ResourceKind
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.what_if import (
    MoreEnergy,
    MoreStock,
    OneMoreBench,
    OneMoreCopy,
    OneMorePerson,
    OtherOrder,
    YardChange,
)
from yardplan.solve.blockers import Blockers
from yardplan.solve.run import Limits, Stop, solve


def planned(problem: Problem) -> Plan:
    return solve(problem, Limits(seconds=None), Stop(), lambda progress: None).plan


def state(problem: Problem, plan: Plan) -> str:
    return order_results(plan, problem.orders, problem.yard)[0].state


def one_order(seed: int) -> Problem:
    """A yard with one order that it can easily make in time."""
    rng = Random(seed)
    order = replace(
        small_orders()[0],
        quantity=rng.randint(1, 3),
        due_at=at(2, rng.choice([20, 24])),
        promise_at=None,
        color=rng.choice(["sand", "black"]),
    )
    problem = small_problem(orders=(order,))
    assert state(problem, planned(problem)) == "on time"
    return problem


def without_skill(problem: Problem, skill: str) -> Problem:
    """Nobody has a skill but one person who is never there, so that it is known."""
    crew = tuple(replace(row, skills=row.skills - {skill}) for row in problem.yard.operators)
    away = Operator("PX", "Person away", frozenset({skill}), (Duty("early", frozenset({6})),))
    return with_yard(problem, operators=(*crew, away))


def down(problem: Problem, kind: ResourceKind, *names: str) -> Problem:
    times = problem.grid.start_at, problem.grid.end_at
    rows = tuple(Downtime(kind, name, *times, "broken") for name in names)
    return with_yard(problem, downtimes=(*problem.yard.downtimes, *rows))


def broken(problem: Problem, limit: Limit) -> tuple[Problem, YardChange]:
    """Break one thing; returns the problem and what mends it."""
    (order,) = problem.orders
    if limit is Limit.STOCK:
        item = problem.yard.resin("LLDPE", order.color)
        items = tuple(replace(row, on_hand=5.0) if row is item else row for row in problem.yard.items)
        return with_yard(problem, items=items), MoreStock(item.id, 20.0 * order.quantity)
    if limit is Limit.MOLD:
        return down(problem, ResourceKind.MOLD, "M1#1"), OneMoreCopy("M1")
    if limit is Limit.HANDLING:
        return without_skill(problem, HANDLING), OneMorePerson("late", (HANDLING,))
    if limit is Limit.SHIFT:
        return without_skill(problem, "finishing"), OneMorePerson("late", ("finishing",))
    if limit is Limit.BENCH:
        return down(problem, ResourceKind.BENCH, "W1", "W2"), OneMoreBench("W1")
    everywhere = ((0, problem.grid.n_slots),)
    none = np.zeros((len(problem.yard.units), 1), np.float32)
    power = replace(problem.power, spans=everywhere, span_kwh=none)
    return replace(problem, power=power), MoreEnergy("U1", 5.0)


@pytest.mark.parametrize("seed", range(9))
@pytest.mark.parametrize(
    "limit", [Limit.STOCK, Limit.MOLD, Limit.HANDLING, Limit.SHIFT, Limit.BENCH, Limit.ENERGY], ids=str
)
def test_the_one_broken_thing_comes_first_and_mending_it_is_enough(limit, seed):
    problem, mend = broken(one_order(seed), limit)
    plan = planned(problem)
    assert state(problem, plan) == "unfinished"
    facts = Blockers(problem, plan).of_order("Y-1")
    assert facts[0].limit is limit
    mended = mend.applied(problem)
    assert state(mended, planned(mended)) == "on time"


@pytest.mark.parametrize("seed", range(4))
def test_without_sun_the_sun_is_what_lacks(seed):
    problem = one_order(seed)
    dark = replace(problem, cook=replace(problem.cook, cook_slots=np.zeros_like(problem.cook.cook_slots)))
    (fact,) = Blockers(dark, planned(dark)).of_order("Y-1")
    assert (fact.limit, fact.share) == (Limit.SUN, 1.0)
    assert fact.text.startswith("sun: TANK can begin to heat in 0 of the")


def test_shares_of_a_plan_by_hand():
    problem = hand_problem()
    facts = {fact.limit: fact for fact in Blockers(problem, hand_plan()).of_order("Y-1")}
    # From 09:00 to 15:30 every slot is sunny, on Monday and Tuesday, in both chambers: 4 x 79 slots. M1 hangs in 1A
    # until it is out on Monday 15:30, so all of Monday's slots in 1B lack it.
    assert facts[Limit.MOLD].share == pytest.approx(78 / (4 * 79))
    # In 1A a mold change lies on Mon 14:30-15:30 and C4 on Tue 09:00-11:15, in 1B C2 and C3 on Mon 09:20-14:15.
    assert facts[Limit.CHAMBER].share == pytest.approx((12 + 27 + 59) / (4 * 79))


def test_an_hour_is_empty_for_a_reason_and_work_is_told():
    problem, plan = hand_problem(), hand_plan()
    blockers = Blockers(problem, plan)
    assert blockers.at_work("1A", slot("Mon 10:00")).id == "C1"
    assert blockers.at_work("1A", slot("Mon 15:00")).id == "X1"
    assert blockers.at_work("1A", slot("Mon 12:00")) is None
    assert blockers.of_hour("1A", slot("Tue 05:00"))[0].limit is Limit.SUN
    beam = {fact.limit: fact.share for fact in blockers.of_hour("1A", slot("Mon 11:25"))}
    assert beam[Limit.BEAM] == 1.0  # C2 is heated in 1B until 11:30
    done = replace(problem, orders=tuple(replace(order, quantity=1) for order in problem.orders))
    (fact,) = Blockers(done, plan).of_hour("1A", slot("Wed 12:00"))
    assert fact.text == "nothing is left to be molded then"


def test_leaving_out_the_order_before_it_is_felt():
    orders = (small_orders()[0], replace(small_orders()[0], id="Y-9", due_at=at(0, 24), promise_at=None))
    orders = (replace(orders[0], due_at=at(0, 24) - timedelta(hours=1), promise_at=None), orders[1])
    problem = small_problem(orders=orders)
    facts = Blockers(problem, planned(problem)).of_order("Y-9")
    assert facts[0].limit in (Limit.CHAMBER, Limit.MOLD)
    alone = OtherOrder("Y-1", left_out=True, said="out").applied(problem)
    assert state(alone, planned(alone)) != "unfinished"
