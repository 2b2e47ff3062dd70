"""Compare two plan versions."""

from typing import Any

from yardplan.domain.compare import Answer, compare
from yardplan.domain.errors import NotThere
from yardplan.domain.outcome import StoredPlan
from yardplan.exchange.compare_document import compare_document
from yardplan.store.engine import Database
from yardplan.store.read import read_plan
from yardplan.usecases.outlook import Outlook, make_outlook
from yardplan.usecases.planning import problem_of


def compare_plans(database: Database, old: int, new: int) -> dict[str, Any]:
    """Return what is different between two plan versions as a document; see `compare_document`.

    Both are judged by the yard and the orders as they are now. What moves is weighed from when the new one was made.

    Raises
    ------
    NotThere
        If there is no such version, or it makes what the yard no longer has.
    """
    one, two = stored_plan(database, old), stored_plan(database, new)
    found = compare(answer_of(database, one), answer_of(database, two))
    return compare_document(found, old_name=f"plan {old}", new_name=f"plan {new}", generated_at=two.made_at)


def stored_plan(database: Database, number: int | None = None) -> StoredPlan:
    """Return a plan version, by default the newest.

    Raises
    ------
    NotThere
        If there is none.
    """
    with database.begin_read() as session:
        stored = read_plan(session, number)
    if stored is None:
        raise NotThere("plan", "", "build one first with `yardplan plan`")
    return stored


def answer_of(database: Database, stored: StoredPlan) -> Answer:
    """Return a plan version with the question that it answers, as the yard is now.

    Raises
    ------
    NotThere
        If it makes what the yard no longer has.
    """
    plan = stored.outcome.plan
    problem = problem_of(outlook_of_plan(database, stored))
    for cycle in plan.cycles:
        problem.yard.product(cycle.product_id)
        problem.yard.unit_of(cycle.chamber_id)
    return Answer(problem, plan)


def outlook_of_plan(database: Database, stored: StoredPlan) -> Outlook:
    """Return the outlook on the days of a plan, as it was known when the plan was made, of the yard as it is now."""
    grid = stored.outcome.plan.grid
    return make_outlook(
        database,
        now=stored.made_at,
        first_on=grid.local(0).date(),
        days=len(grid.days),
        confidence=stored.confidence,
    )
