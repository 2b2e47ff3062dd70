"""A plan from before as the start of a search: as much of it as still keeps the rules."""

from dataclasses import replace

from yardplan.domain.difference import on_grid
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.solve.check import check


def still_legal(problem: Problem, start: Plan) -> Plan | None:
    """Return what of a plan the problem still allows, its new rows under passing names; None if nothing can help.

    Kept work is there as the problem has it. Of the jobs that break a rule together the last one is dropped, a cycle
    with its finishing, until no rule is broken.

    Raises
    ------
    InvalidField
        If the plan's slots do not coincide with the problem's.
    """
    kept = problem.kept
    plan = _with_kept(kept, on_grid(start, problem.grid))
    stays = {row.id for rows in (kept.cycles, kept.mold_changes, kept.finishing) for row in rows}
    stays |= {job.cycle_id for job in kept.finishing}
    while violations := check(problem, plan):
        begins = {row.id: row.charge_slot for row in plan.cycles}
        begins |= {row.id: row.start_slot for row in plan.mold_changes}
        begins |= {row.id: row.start_slot for row in plan.finishing}
        gone: set[str] = set()
        for found in violations:
            free = [ident for ident in found.jobs if ident in begins and ident not in stays]
            if free and not gone.intersection(free):
                gone.add(max(free, key=lambda ident: (begins[ident], ident)))
        if not gone:
            return None
        plan = Plan(
            plan.grid,
            tuple(row for row in plan.cycles if row.id not in gone),
            tuple(row for row in plan.mold_changes if row.id not in gone),
            tuple(row for row in plan.finishing if row.id not in gone and row.cycle_id not in gone),
        )
    return plan


def _with_kept(kept: Plan, start: Plan) -> Plan:
    """Return kept work together with the other rows of a plan, these with names that no row will ever have."""
    cycles = {row.id for row in kept.cycles}
    named = cycles | {job.cycle_id for job in kept.finishing}
    changes = {row.id for row in kept.mold_changes}

    def name(cycle_id: str) -> str:
        return cycle_id if cycle_id in named else f"~w{cycle_id}"

    done = {(row.cycle_id, row.step_ix) for row in kept.finishing}
    return Plan(
        kept.grid,
        kept.cycles + tuple(replace(row, id=name(row.id)) for row in start.cycles if row.id not in cycles),
        kept.mold_changes
        + tuple(replace(row, id=f"~w{row.id}") for row in start.mold_changes if row.id not in changes),
        kept.finishing
        + tuple(
            replace(row, id=f"~w{row.id}", cycle_id=name(row.cycle_id))
            for row in start.finishing
            if (row.cycle_id, row.step_ix) not in done
        ),
    )
