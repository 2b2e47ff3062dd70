"""The independent checker: every hard rule, judged from the problem and the plan's rows alone.

It shares no code with the solver. A row of `Problem.kept` that started before `now` is a fact: the rules about
the row by itself (its length, its crew, its cook) no longer judge it, but it still occupies what it uses, so
whatever clashes with it is told. Rows with unknown names, or more than a year off the plan's days, are told
under `KNOWN` or `HORIZON` and left out of the rest, for they cannot be judged.
"""

from collections.abc import Callable, Iterator

from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Rule, Violation
from yardplan.solve import check_chambers, check_finishing, check_given, check_people
from yardplan.solve.check_case import Case

RULES: dict[Rule, Callable[[Case], Iterator[Violation]]] = {
    Rule.KNOWN: check_given.known_names,
    Rule.QUANTITY: check_given.quantity,
    Rule.HORIZON: check_given.horizon,
    Rule.FIELD: check_chambers.one_chamber_heats,
    Rule.SEQUENCE: check_chambers.cycle_sequence,
    Rule.CHAMBER: check_chambers.chamber_once,
    Rule.COOK: check_chambers.cook_time,
    Rule.COOL: check_chambers.cool_time,
    Rule.MOLD_ONCE: check_chambers.mold_once,
    Rule.MOLD_FIT: check_chambers.mold_fit,
    Rule.MOLD_CHANGE: check_chambers.mold_change,
    Rule.CLEAN_DOWN: check_chambers.clean_down,
    Rule.CREW_SIZE: check_people.crew_size,
    Rule.CREW_SKILL: check_people.crew_skill,
    Rule.CREW_SHIFT: check_people.crew_shift,
    Rule.CREW_LIMIT: check_people.crew_limit,
    Rule.CREW_HEAT: check_people.crew_heat,
    Rule.ROUTING: check_finishing.finish_routing,
    Rule.REST: check_finishing.finish_rest,
    Rule.BENCH: check_finishing.bench,
    Rule.BENCH_ENERGY: check_finishing.bench_energy,
    Rule.BENCH_POWER: check_finishing.bench_power,
    Rule.STOCK: check_given.stock,
    Rule.DOWNTIME: check_given.downtime,
    Rule.UPKEEP: check_given.upkeep,
    Rule.KEPT: check_given.kept_work,
}
"""The function that judges each rule."""


def check(problem: Problem, plan: Plan) -> tuple[Violation, ...]:
    """Return every broken rule of a plan, whoever made it; an empty tuple means that the plan is valid.

    Parameters
    ----------
    problem : Problem
        The question: yard, orders, cook and power tables, now, confidence, kept work.
    plan : Plan
        The answer to judge. It may hold any names and any slots; nothing in it makes this raise.

    Returns
    -------
    tuple of Violation
        In the order of the rules, then of the jobs.
    """
    if plan.grid != problem.grid:
        text = (
            f"the plan counts its slots from {plan.grid.local(0):%Y-%m-%d %H:%M} in steps of {plan.grid.slot_min} min, "
            f"the problem from {problem.grid.local(0):%Y-%m-%d %H:%M} in steps of {problem.grid.slot_min} min "
            "(or their lengths or time zones differ); nothing else was judged"
        )
        return (Violation(Rule.HORIZON, (), text),)
    case = Case(problem, plan)
    return tuple(
        violation
        for judge in RULES.values()
        for violation in sorted(judge(case), key=lambda found: (found.jobs, found.text))
    )
