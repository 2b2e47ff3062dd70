"""Short names that can be called across the yard."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from yardplan.domain.plan import Plan


def named(plan: Plan, kept: Plan) -> Plan:
    """Return a plan with its new rows named in order of time; kept rows keep their names.

    Cycles are ``C001``, mold changes ``H001`` (hanging), finishing jobs ``C001.1`` for the first step of that cycle.
    Upkeep has its names from what is done.
    """
    taken = {row.id for rows in (kept.cycles, kept.mold_changes, kept.finishing) for row in rows}
    cycle_names = dict(_names(plan.cycles, "C", taken))
    change_names = dict(_names(plan.mold_changes, "H", taken))
    job_names = dict(
        _free(((job.id, f"{cycle_names[job.cycle_id]}.{job.step_ix + 1}") for job in plan.finishing), taken)
    )
    return Plan(
        plan.grid,
        tuple(replace(row, id=cycle_names[row.id]) for row in plan.cycles),
        tuple(replace(row, id=change_names[row.id]) for row in plan.mold_changes),
        tuple(replace(row, id=job_names[row.id], cycle_id=cycle_names[row.cycle_id]) for row in plan.finishing),
        plan.upkeep,
    )


def _names(rows: Iterable[object], letter: str, taken: set[str]) -> Iterator[tuple[str, str]]:
    number = 0
    for row in rows:
        ident: str = row.id  # type: ignore[attr-defined]  # every row of a plan has one
        if ident in taken:
            yield ident, ident
            continue
        number += 1
        while f"{letter}{number:03}" in taken:
            number += 1
        yield ident, f"{letter}{number:03}"


def _free(wanted: Iterable[tuple[str, str]], taken: set[str]) -> Iterator[tuple[str, str]]:
    for ident, name in wanted:
        if ident in taken:
            yield ident, ident
            continue
        while name in taken:
            name += "b"
        yield ident, name
