"""Questions about plans from the command line: comparisons, what-if, why."""

import json

from tests.end_to_end.test_command_line import database, filled, run, yard_folder
from yardplan.exchange.documents import validate

__all__ = ["database", "filled", "yard_folder"]  # fixtures


def test_two_plan_versions_are_compared_by_their_numbers(database):
    for days in ("2", "3"):
        run("plan", "--db", database, "--seconds", "0.5", "--from", "2027-05-17", "--days", days)
    same = json.loads(run("compare", "1", "1", "--db", database, "--json"))
    validate(same, "compare")
    assert (same["cycles"], same["mold_changes"], same["finishing"], same["orders"]) == ([], [], [], [])
    assert "no difference" in run("compare", "1", "1", "--db", database)
    document = json.loads(run("compare", "1", "2", "--db", database, "--json"))
    validate(document, "compare")
    assert document["use"]["new"]["cycles"] == 12  # 4 + 5 + 3 pieces, one cavity each
    assert "there is no plan '9'" in run("compare", "1", "9", "--db", database, expect=2)
