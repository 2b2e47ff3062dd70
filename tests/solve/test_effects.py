"""What a change is worth: measured from the same plan with the same work, never against another question's luck."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from tests.small_yard import small_problem, with_yard
from tests.solve.test_upkeep import WASH
from tests.solve.yards import small_problems
from yardplan.domain.difference import difference
from yardplan.domain.plan import order_results
from yardplan.domain.what_if import OneMoreCopy, OneMorePerson, OneMoreUnit, OtherOrder, Overtime
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.effects import laid_alone, settle, tried
from yardplan.solve.names import named
from yardplan.solve.run import Limits, Stop
from yardplan.solve.upkeep import place_upkeep

LITTLE = Limits(seconds=None, work=0.3, workers=1)


def crowded():
    """More tanks than one mold can make in two days."""
    problem = small_problem(days=2)
    first = replace(problem.orders[0], quantity=30)
    return replace(problem, orders=(first, *problem.orders[1:]))


def test_changes_that_only_allow_more_never_cost_more():
    problem = crowded()
    base = settle(problem, dispatch(Compiled(problem), MANNERS[0]), LITTLE, Stop())
    assert base.search_cost_less >= 0
    days = [on for on, _, _ in problem.grid.days]
    for change in (OneMoreCopy("M1"), OneMorePerson("early"), OneMoreUnit("U1"), Overtime(days[0])):
        changed = change.applied(problem)
        found = tried(base, changed, LITTLE, Stop())
        assert not check(changed, found.plan)
        assert found.parts.cost <= base.second.parts.cost


def test_a_second_copy_of_the_mold_that_limits_makes_more_pieces():
    problem = replace(crowded(), orders=crowded().orders[:1])
    base = settle(problem, dispatch(Compiled(problem), MANNERS[0]), LITTLE, Stop())
    changed = OneMoreCopy("M1").applied(problem)
    found = tried(base, changed, LITTLE, Stop(), laid_alone(changed, base.first.plan, "Y-1"))
    old, new = (order_results(plan, problem.orders, problem.yard)[0] for plan in (base.second.plan, found.plan))
    assert new.pieces_missing < old.pieces_missing


def test_the_same_work_gives_the_same_answer():
    problem = crowded()
    start = dispatch(Compiled(problem), MANNERS[0])
    changed = OtherOrder("Y-1", quantity=3).applied(problem)
    costs = {tried(settle(problem, start, LITTLE, Stop()), changed, LITTLE, Stop()).parts for _ in range(2)}
    assert len(costs) == 1


def test_a_stop_ends_all_searches():
    problem, stop = crowded(), Stop()
    stop.request()
    base = settle(problem, dispatch(Compiled(problem), MANNERS[0]), Limits(seconds=600), stop)
    assert tried(base, problem, Limits(seconds=600), stop).parts.cost <= base.first.parts.cost


@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(drawn=small_problems())
def test_an_order_laid_alone_leaves_the_others_where_they_are(drawn):
    # In one color, since a neighbor that is gone changes the clean-downs of those around it.
    problem = replace(drawn.problem, orders=tuple(replace(order, color="sand") for order in drawn.problem.orders))
    plan = named(dispatch(Compiled(problem), MANNERS[0]), problem.kept)
    order_id = problem.orders[0].id
    laid = laid_alone(problem, plan, order_id)
    if laid is not None:
        assert not check(problem, laid)
        changed = [pair for pair in difference(plan, laid).cycles if not pair.is_same]
        assert {(pair.old or pair.new).order_id for pair in changed} <= {order_id}


@pytest.mark.parametrize("order_id", ["Y-1", "Y-2", "Y-3"])
def test_every_order_can_be_laid_alone(order_id):
    problem = small_problem()
    plan = named(dispatch(Compiled(problem), MANNERS[1]), problem.kept)
    laid = laid_alone(problem, plan, order_id)
    assert laid is not None
    assert len(laid.cycles) == len(plan.cycles)


def test_upkeep_stays_where_it_was_when_a_change_would_move_it():
    """Else the plan before breaks rules of the changed question, and one more person seems to do harm."""
    problem = with_yard(crowded(), upkeep=(replace(WASH, crew=1),))
    base = settle(problem, dispatch(Compiled(problem), MANNERS[0]), LITTLE, Stop())
    changed = OneMorePerson("late").applied(problem)
    assert place_upkeep(changed) != base.first.plan.upkeep  # else nothing is shown here
    found = tried(base, changed, LITTLE, Stop())
    assert found.plan.upkeep == base.first.plan.upkeep
    assert found.parts.cost <= base.second.parts.cost
    assert not check(changed, found.plan)


def test_upkeep_that_is_out_of_the_question_is_placed_anew():
    problem = with_yard(crowded(), upkeep=(replace(WASH, crew=1),))
    base = settle(problem, dispatch(Compiled(problem), MANNERS[0]), LITTLE, Stop())
    (job,) = base.first.plan.upkeep
    gone = tuple(row for row in problem.yard.operators if row.id not in job.crew)
    changed = with_yard(problem, operators=gone)
    found = tried(base, changed, LITTLE, Stop())
    assert found.plan.upkeep
    assert not set(job.crew) & set(found.plan.upkeep[0].crew)
    assert not check(changed, found.plan)
