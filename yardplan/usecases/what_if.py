"""Ask what would be if the yard, its calendar, the sky or the orders were different; nothing of it becomes the plan."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from yardplan.domain.compare import Answer, Comparison, compare
from yardplan.domain.errors import require
from yardplan.domain.outcome import SolveOutcome, StoredPlan
from yardplan.domain.problem import Problem
from yardplan.domain.what_if import AnyChange, AtConfidence, ClearDay
from yardplan.forecast.electricity import power_table
from yardplan.forecast.scenarios import Skies
from yardplan.solve.effects import Settled, settle, tried
from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import Database
from yardplan.store.kept_yards import read_yard_of_plan
from yardplan.usecases.charge import charge_in_use
from yardplan.usecases.outlook import CONFIDENCES, Outlook, Standing, heat_and_cooks, make_outlook
from yardplan.usecases.planning import keep_plan, problem_of, with_locks


@dataclass(frozen=True, eq=False)
class WhatIf:
    """What a changed question comes to, beside the unchanged one that was searched for as long."""

    base: StoredPlan
    changes: tuple[AnyChange, ...]
    settled: Settled
    problem: Problem
    outcome: SolveOutcome
    comparison: Comparison
    heat_source: str


def what_if(database: Database, base: StoredPlan, changes: Sequence[AnyChange], limits: Limits, stop: Stop) -> WhatIf:
    """Return what becomes of a plan when its question is changed.

    Parameters
    ----------
    base : StoredPlan
        The plan to begin with; its question is asked again of the yard as it is now.
    limits : Limits
        Of each of three searches: twice on with the unchanged question, once with the changed one.

    Raises
    ------
    NotThere, InvalidField
        If a change names what is not there, or is none.
    LocksClash
        If what the plan locks cannot stay under the changed sky.
    """
    require(not base.draft, "what-if", "", "plan", base.number, "a plan that is no draft")
    outlook = outlook_of_plan(database, base)
    sky = changed_sky(database, outlook, changes)
    changed = with_changes(with_locks(problem_of(sky), base), changes)
    settled = settle(with_locks(problem_of(outlook), base), base.outcome.plan, limits, stop)
    outcome = tried(settled, changed, limits, stop)
    found = compare(Answer(settled.problem, settled.second.plan), Answer(changed, outcome.plan))
    return WhatIf(base, tuple(changes), settled, changed, outcome, found, sky.heat.source)


def keep_draft(database: Database, found: WhatIf, name: str, *, by: str) -> StoredPlan:
    """Keep the answer to a what-if under a name, as a draft that is never in force; returns it with its number.

    Raises
    ------
    InvalidField
        If the name is blank.
    """
    require(bool(name.strip()), "draft", name, "name", name, "a name that is not blank")
    texts = tuple(change.text for change in found.changes)
    return keep_plan(
        database,
        found.problem,
        found.outcome,
        heat_source=found.heat_source,
        by=by,
        draft=name.strip(),
        changes=texts,
        unchanged=found.settled.problem.yard,
    )


def outlook_of_plan(database: Database, stored: StoredPlan, *, own_yard: bool = False) -> Outlook:
    """Return the outlook on the days of a plan, as it was known when the plan was made.

    Parameters
    ----------
    own_yard : bool
        Of the yard that the plan was made for, where it is kept, instead of the yard as it is now.
    """
    grid = stored.outcome.plan.grid
    with database.begin_read() as session:
        yard = read_yard_of_plan(session, stored.number) if own_yard else None
    return make_outlook(
        database,
        now=stored.made_at,
        first_on=grid.local(0).date(),
        days=len(grid.days),
        confidence=stored.confidence,
        stands=Standing(yard) if yard else None,
    )


def changed_problem(
    database: Database, outlook: Outlook, changes: Sequence[AnyChange], base: StoredPlan | None = None
) -> Problem:
    """Return the question of an outlook with changes made, those of the sky first; what `base` locks stays."""
    return with_changes(with_locks(problem_of(changed_sky(database, outlook, changes)), base), changes)


def with_changes(problem: Problem, changes: Sequence[AnyChange]) -> Problem:
    """Return a question with the changes made that need no other sky."""
    for change in changes:
        if not isinstance(change, ClearDay | AtConfidence):
            problem = change.applied(problem)
    return problem


def changed_sky(database: Database, outlook: Outlook, changes: Sequence[AnyChange]) -> Outlook:
    """Return an outlook under clear days and another confidence; the same one if there are none such.

    Raises
    ------
    InvalidField
        If a clear day is none of the outlook's, or there are no cook times at the confidence.
    """
    clear = [change for change in changes if isinstance(change, ClearDay)]
    confidences = [change.confidence for change in changes if isinstance(change, AtConfidence)]
    if not clear and not confidences:
        return outlook
    days = [on for on, _, _ in outlook.grid.days]
    for change in clear:
        expected = f"a day of the plan, {days[0]} to {days[-1]}"
        require(change.on in days, "what-if", change.text, "day", str(change.on), expected)
    for confidence in confidences:
        require(confidence in CONFIDENCES, "what-if", "", "confidence", confidence, f"one of {CONFIDENCES}")
    yard = outlook.yard
    skies, heat, cook, sky_cooks = outlook.skies, outlook.heat, outlook.cook, outlook.sky_cooks
    if clear:
        for change in clear:
            skies = clear_on(skies, change.on)
        heat, cook, sky_cooks = heat_and_cooks(yard, skies, outlook.calibrations, seed=heat.seed)
    confidence = confidences[-1] if confidences else outlook.confidence
    charge = charge_in_use(database, yard, outlook.grid, now=outlook.now)
    power = power_table(yard, heat, confidence=confidence, charge=charge)
    return replace(outlook, skies=skies, heat=heat, cook=cook, sky_cooks=sky_cooks, power=power, confidence=confidence)


def clear_on(skies: Skies, on: date) -> Skies:
    """Return skies with no cloud on a local day in any scenario; wind and air stay."""
    slots = np.zeros(skies.grid.n_slots, bool)
    for day, first, after in skies.grid.days:
        slots[first:after] |= day == on
    clear = skies.clear
    return replace(
        skies,
        dni_w_m2=np.where(slots, clear.dni_w_m2, skies.dni_w_m2).astype(np.float32),
        ghi_w_m2=np.where(slots, clear.ghi_w_m2, skies.ghi_w_m2).astype(np.float32),
        source=f"{skies.source}; {on:%a %d %b} taken as clear",
    )
