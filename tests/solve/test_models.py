from dataclasses import replace
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from tests.solve.yards import small_problems
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.solve.check import check
from yardplan.solve.compiled import COST_LIMIT, Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.ends import RELAYED, lay_again
from yardplan.solve.freed import Freed, Timeline, free_part
from yardplan.solve.goal import Costing
from yardplan.solve.model.build import build, hint, read_solution, solver_for
from yardplan.solve.names import named
from yardplan.solve.neighborhoods import MODELED, View, blame_of
from yardplan.solve.pools import Pools

SETTINGS = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)


def with_kept_work(problem: Problem, rng: Random) -> Problem:
    """The same problem somewhat later, with part of a first plan running, frozen or locked."""
    plan = named(dispatch(Compiled(problem), MANNERS[0]), problem.kept)
    cycles = tuple(cycle for cycle in plan.cycles if rng.random() < 0.3)
    ids = {cycle.id for cycle in cycles}
    jobs = [job for job in plan.finishing if job.cycle_id in ids]
    kept_jobs = tuple(job for job in jobs if job.step_ix == 0 and rng.random() < 0.5)
    kept = Plan(problem.grid, cycles, plan.mold_changes, kept_jobs)
    return replace(problem, kept=kept, now=problem.grid.at(max(problem.now_slot, 96)))


def solved(compiled: Compiled, freed: Freed, *, whole: bool = False) -> tuple[object, float, float]:
    """Solution of a free part, and its cost beside that of the plan that was there."""
    model = build(compiled, Pools(compiled), freed, whole=whole)
    assert hint(model), "the plan that is there must be a solution of its own model"
    told = solver_for(None, 0.3, 0)
    told.parameters.fix_variables_to_their_hinted_value = True
    told.solve(model.cp)
    solver = solver_for(None, 0.05, 1)
    status = solver.solve(model.cp)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return read_solution(model, solver, status, "x."), told.objective_value, solver.objective_value


@SETTINGS
@given(drawn=small_problems(), seed=st.integers(0, 2**20), keep=st.booleans())
def test_every_rule_is_in_the_dispatch(drawn, seed, keep):
    problem = drawn.problem
    if keep:
        problem = with_kept_work(problem, Random(seed))
    compiled = Compiled(problem)
    kept_is_sound = not check(problem, dispatch(compiled, MANNERS[0], chambers=frozenset()))
    for manner in MANNERS:
        plan = dispatch(compiled, manner)
        if kept_is_sound:
            assert check(problem, plan) == ()


@SETTINGS
@given(drawn=small_problems(), seed=st.integers(0, 2**20), keep=st.booleans())
@pytest.mark.parametrize("name", MODELED)
def test_a_part_laid_anew_by_a_model_is_valid_and_costs_what_the_model_says(name, drawn, seed, keep):
    problem = drawn.problem
    rng = Random(seed)
    if keep:
        problem = with_kept_work(problem, rng)
    compiled, costing = Compiled(problem), Costing(problem)
    plan = dispatch(compiled, rng.choice(MANNERS))
    if check(problem, plan):
        return
    view = View(Timeline(compiled, plan), rng, rng.randint(2, 8), blame_of(compiled, plan))
    freed = MODELED[name](view)
    if not freed.rows and not freed.loose:
        return
    solution, before, after = solved(compiled, freed)
    assert check(problem, solution.plan) == ()
    assert costing.parts(solution.plan).cost - costing.parts(plan).cost == round(after) - round(before)
    assert round(after) <= round(before)  # the costs are whole numbers, told as floats


@SETTINGS
@given(drawn=small_problems(), seed=st.integers(0, 2**20), keep=st.booleans())
@pytest.mark.parametrize("name", RELAYED)
def test_an_end_laid_anew_by_a_rule_is_valid(name, drawn, seed, keep):
    problem = drawn.problem
    rng = Random(seed)
    if keep:
        problem = with_kept_work(problem, rng)
    compiled = Compiled(problem)
    plan = dispatch(compiled, rng.choice(MANNERS))
    if check(problem, plan):
        return
    view = View(Timeline(compiled, plan), rng, 8, blame_of(compiled, plan))
    relay = RELAYED[name](view)
    laid = lay_again(compiled, relay, "r", COST_LIMIT)
    assert laid is not None
    assert check(problem, laid) == ()
    # What it must cost at least is known before its finishing is laid; that is never more than it costs in the end.
    assert lay_again(compiled, relay, "r", Costing(problem).parts(laid).cost) == laid


@settings(SETTINGS, max_examples=15)
@given(drawn=small_problems(max_orders=2))
def test_a_whole_plan_laid_by_a_model_is_valid_and_costs_what_the_model_says(drawn):
    problem = drawn.problem
    compiled, costing = Compiled(problem), Costing(problem)
    plan = dispatch(compiled, MANNERS[0])
    freed = free_part(
        Timeline(compiled, plan),
        lambda event: True,
        [place.id for place in compiled.places],
        molds=frozenset(compiled.copies),
        empty_rows=lambda chamber_id: True,
        free_finish=lambda cycle: True,
    )
    solution, before, after = solved(compiled, freed, whole=True)
    assert round(before) == costing.parts(plan).cost
    if solution.is_real:
        assert check(problem, solution.plan) == ()
        assert costing.parts(solution.plan).cost == round(after)
