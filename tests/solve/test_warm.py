"""A search that begins with a plan from before: never worse than what of it is still legal."""

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.small_yard import at, small_problem, with_yard
from tests.solve.hand_plan import hand_plan, hand_problem, with_down, with_order
from tests.solve.yards import small_problems
from yardplan.domain.difference import difference
from yardplan.domain.people import ResourceKind
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.goal import goal_parts
from yardplan.solve.names import named
from yardplan.solve.run import Limits, Stop, solve
from yardplan.solve.warm import still_legal

AT_ONCE = Limits(seconds=None)
ON_DRAWN = settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow], deadline=None)


def laid(problem: Problem) -> Plan:
    return named(dispatch(Compiled(problem), MANNERS[0]), problem.kept)


@ON_DRAWN
@given(drawn=small_problems())
def test_for_the_same_question_the_whole_plan_is_still_legal(drawn):
    plan = laid(drawn.problem)
    assert difference(plan, still_legal(drawn.problem, plan)).is_empty


@ON_DRAWN
@given(drawn=small_problems(), data=st.data())
def test_for_another_question_the_rest_of_a_plan_is_legal(drawn, data):
    old = drawn.problem
    plan = laid(old)
    running = tuple(row for row in plan.cycles if row.charge_slot < 120 <= row.end_slot)
    yard = old.yard
    new = data.draw(
        st.sampled_from([
            replace(old, now=at(0, 10), kept=Plan(old.grid, running)),
            replace(old, orders=tuple(replace(order, quantity=1) for order in old.orders)),
            with_yard(old, operators=yard.operators[:-1]),
            with_yard(old, hung=()),
            with_yard(old, items=tuple(replace(item, on_hand=item.on_hand / 2) for item in yard.items)),
            replace(old, orders=old.orders[1:]) if len(old.orders) > 1 else old,
        ])
    )  # fmt: skip
    rest = still_legal(new, plan)
    if rest is None:
        assert check(new, new.kept)  # then no plan at all can be
    else:
        assert not check(new, rest)


def test_only_what_is_forbidden_goes():
    down = with_down(ResourceKind.UNIT, "U1", "Tue 08:00", "Tue 12:00")
    rest = still_legal(down, hand_plan())
    assert {pair.old.id for pair in difference(hand_plan(), rest).cycles if pair.new is None} == {"C4"}
    fewer = with_order("Y-2", quantity=1)
    assert len(still_legal(fewer, hand_plan()).cycles) == 3


def test_a_search_that_begins_with_a_plan_never_costs_more_than_it():
    problem = small_problem()
    best = solve(problem, Limits(seconds=None, work=3.0), Stop(), lambda progress: None)
    again = solve(problem, AT_ONCE, Stop(), lambda progress: None, start=best.plan)
    assert again.parts.cost <= best.parts.cost
    cold = solve(problem, AT_ONCE, Stop(), lambda progress: None)
    assert cold.parts.cost > best.parts.cost  # else the test would show nothing


def test_gaps_are_filled_at_once():
    problem = replace(hand_problem(), kept=Plan(hand_problem().grid))
    found = solve(problem, AT_ONCE, Stop(), lambda progress: None, start=hand_plan())
    assert found.parts.cost < goal_parts(problem, hand_plan()).cost
    assert not check(problem, found.plan)
