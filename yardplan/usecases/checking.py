"""Check a plan that comes from anywhere against the yard as it is stored."""

import json
from datetime import datetime
from pathlib import Path
from typing import Any

from yardplan.domain.errors import BadFile, RowProblem
from yardplan.domain.rules import Violation
from yardplan.domain.slots import SlotGrid
from yardplan.exchange.documents import read_plan_document, validate
from yardplan.solve.check import check
from yardplan.store.engine import Database
from yardplan.usecases.planning import problem_on


def check_plan_file(database: Database, path: Path) -> tuple[Violation, ...]:
    """Return the rules that the plan in a JSON file breaks; it is judged at the moment it was made.

    Raises
    ------
    BadFile
        If the file is not a plan document.
    """
    try:
        document: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise BadFile(path, (RowProblem(0, "", f"could not be read: {error.strerror}"),)) from error
    except ValueError as error:
        raise BadFile(path, (RowProblem(0, "", f"is not JSON: {error}; expected a plan document"),)) from error
    validate(document, "plan")
    grid = SlotGrid(
        datetime.fromisoformat(document["grid"]["start"]),
        document["grid"]["slots"],
        document["grid"]["tz"],
        document["grid"]["slot_min"],
    )
    made_at = datetime.fromisoformat(document["generated_at"])
    problem = problem_on(database, grid, now=made_at, confidence=document["confidence"])
    return check(problem, read_plan_document(document, problem))
