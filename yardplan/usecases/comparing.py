"""Compare two plan versions."""

from typing import Any

from yardplan.domain.compare import Answer, compare
from yardplan.domain.errors import NotThere
from yardplan.domain.outcome import StoredPlan
from yardplan.exchange.change_words import change_of
from yardplan.exchange.compare_document import compare_document
from yardplan.store.engine import Database
from yardplan.store.read import read_plan
from yardplan.usecases.what_if import changed_problem, outlook_of_plan


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


def answer_of(database: Database, stored: StoredPlan, *, own_yard: bool = False) -> Answer:
    """Return a plan version with the question that it answers; a draft's with its changes.

    Parameters
    ----------
    own_yard : bool
        The question of the yard that the plan was made for, instead of the yard as it is now.

    Raises
    ------
    NotThere
        If it makes what the yard no longer has.
    """
    plan = stored.outcome.plan
    changes = [change_of(text, plan.grid) for text in stored.changes]
    problem = changed_problem(database, outlook_of_plan(database, stored, own_yard=own_yard), changes)
    for cycle in plan.cycles:
        problem.yard.product(cycle.product_id)
        problem.yard.unit_of(cycle.chamber_id)
    return Answer(problem, plan)
