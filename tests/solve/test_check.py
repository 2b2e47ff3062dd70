"""Each hard rule: a valid plan passes, a copy broken in that rule alone is refused with that rule's name."""

import pytest

from tests.solve.hand_plan import changed, hand_plan, hand_problem
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.plan import Plan
from yardplan.domain.rules import Rule
from yardplan.solve import check as checker
from yardplan.solve.check import check

PLAN = hand_plan()

BROKEN: dict[Rule, Plan] = {
    Rule.KNOWN: changed(PLAN, "C4", order_id="Y-9"),
    Rule.QUANTITY: changed(PLAN, "C1", pieces=0),
    Rule.HORIZON: changed(PLAN, "C1", charge_slot="Mon 07:55"),
    Rule.FIELD: changed(PLAN, "C2", heat_slot="Mon 10:25", heat_end_slot="Mon 11:25"),
    Rule.SEQUENCE: changed(PLAN, "C1", demold_slot="Mon 11:00", end_slot="Mon 11:15"),
    Rule.CHAMBER: changed(PLAN, "C3", charge_slot="Mon 12:10"),
    Rule.COOK: changed(PLAN, "C1", heat_end_slot="Mon 10:25"),
    Rule.COOL: changed(PLAN, "C1", cool_end_slot="Mon 11:00"),
    Rule.MOLD_ONCE: changed(PLAN, "C4", mold=MoldCopy("M2", 1)),
    Rule.MOLD_FIT: changed(
        PLAN, "C4", order_id="Y-1", product_id="TANK", color="sand", charge_slot="Tue 08:55", end_slot="Tue 11:20"
    ),
    Rule.MOLD_CHANGE: changed(PLAN, "X1", end_slot="Mon 15:25"),
    Rule.CLEAN_DOWN: changed(PLAN, "C3", clean_slots=0),
    Rule.CREW_SIZE: changed(PLAN, "C1", charge_crew=("P1", "P3")),
    Rule.CREW_SKILL: changed(PLAN, "F3", operator_id="P5"),
    Rule.CREW_SHIFT: changed(PLAN, "F3", operator_id="P1"),
    Rule.CREW_LIMIT: changed(PLAN, "C1", demold_slot="Mon 12:15", end_slot="Mon 12:30"),
    Rule.ROUTING: changed(PLAN, "F3", kwh=0.5),
    Rule.REST: changed(PLAN, "F3", bench_id="W1", start_slot="Mon 14:10", end_slot="Mon 14:30"),
    Rule.BENCH: changed(PLAN, "F3", bench_id="W1"),
    Rule.EVENING_ENERGY: changed(PLAN, "F1", start_slot="Mon 19:55", end_slot="Mon 20:15"),
    Rule.EVENING_POWER: changed(PLAN, "F3", bench_id="W1", start_slot="Mon 17:00", end_slot="Mon 17:20"),
    Rule.STOCK: changed(PLAN, "C2", charge_slot="Mon 09:10"),
    Rule.DOWNTIME: changed(PLAN, "F3", start_slot="Mon 15:40", end_slot="Mon 16:00"),
    Rule.KEPT: changed(PLAN, "F4", operator_id="P4"),
}


def test_the_plan_made_by_hand_is_valid() -> None:
    assert check(hand_problem(), PLAN) == ()


@pytest.mark.parametrize("rule", Rule)
def test_a_plan_broken_in_one_rule_is_refused_by_that_rule_alone(rule: Rule, monkeypatch: pytest.MonkeyPatch) -> None:
    problem = hand_problem()
    assert {violation.rule for violation in check(problem, BROKEN[rule])} == {rule}
    monkeypatch.setitem(checker.RULES, rule, lambda case: iter(()))
    assert check(problem, BROKEN[rule]) == ()
