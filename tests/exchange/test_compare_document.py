"""The comparison of two plans as a document and in words."""

import json

from jsonschema import Draft202012Validator

from tests.small_yard import at
from tests.solve.hand_plan import changed, hand_plan, hand_problem, without
from yardplan.domain.compare import Answer, compare
from yardplan.domain.plan import Plan
from yardplan.exchange.compare_document import compare_document, compare_words
from yardplan.exchange.documents import validate
from yardplan.paths import resource


def _told(old: Plan, new: Plan) -> dict:
    problem = hand_problem()
    found = compare(Answer(problem, old), Answer(problem, new))
    document = compare_document(found, old_name="plan 1", new_name="plan 2", generated_at=at(0, 8))
    return json.loads(json.dumps(document))


def test_the_schema_is_one_and_holds_for_all_kinds_of_change():
    Draft202012Validator.check_schema(json.loads(resource("schemas/compare.schema.json").read_text()))
    old = hand_plan()
    for new in (old, without(old, "C4", "X1"), changed(old, "C1", chamber_id="1B"), changed(old, "F4", bench_id="W2")):
        validate(_told(old, new), "compare")
        validate(_told(new, old), "compare")


def test_equal_plans_are_told_as_such():
    words = compare_words(_told(hand_plan(), hand_plan())).splitlines()
    assert words[0] == "plan 1 against plan 2: no difference"
    assert len(words) == 3


def test_a_moved_cycle_is_told_by_order_day_time_and_chamber():
    new = changed(hand_plan(), "C4", charge_slot="Tue 10:30", chamber_id="1B", charge_crew=("P3",), demold_crew=("P3",))
    words = compare_words(_told(hand_plan(), new))
    assert (
        "changed  Y-2 BIN black: Tue 18 May 09:00 in 1A: to 1B, 1.5 h later, Tue 18 May 10:30, crew P3 instead of P1"
        in words
    )


def test_dropped_and_added_work_says_what_it_was():
    words = compare_words(_told(hand_plan(), without(hand_plan(), "C4", "X1")))
    assert "dropped  Y-2 BIN black: was Tue 18 May 09:00 in 1A on M2#2, 1 pc" in words
    assert "dropped  M2#2 into 1A Mon 17 May 14:30" in words
    assert "wasted: M2#2 into 1A Mon 17 May 14:30" in words
    assert "4 to 3 cycles" in words
    assert "added    Y-2 BIN black" in compare_words(_told(without(hand_plan(), "C4", "X1"), hand_plan()))
