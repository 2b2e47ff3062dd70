"""Each hard rule: a valid plan passes, a copy broken in that rule alone is refused with that rule's name."""

from dataclasses import replace

import pytest

from tests.solve.hand_plan import changed, hand_limits, hand_plan, hand_problem, hand_yard
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.plan import Plan
from yardplan.domain.rules import Rule
from yardplan.solve import check as checker
from yardplan.solve.check import check

PLAN = hand_plan()
HOT = replace(hand_problem(), limits=hand_limits())

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
    Rule.CREW_LIMIT: changed(PLAN, "C1", demold_slot="Mon 12:20", end_slot="Mon 12:35"),
    Rule.CREW_HEAT: changed(PLAN, "C1", demold_slot="Mon 11:50", end_slot="Mon 12:05"),
    Rule.ROUTING: changed(PLAN, "F3", kwh=0.5),
    Rule.REST: changed(PLAN, "F3", bench_id="W1", start_slot="Mon 14:10", end_slot="Mon 14:30"),
    Rule.BENCH: changed(PLAN, "F3", bench_id="W1"),
    Rule.BENCH_ENERGY: changed(PLAN, "F1", start_slot="Mon 19:55", end_slot="Mon 20:15"),
    Rule.BENCH_POWER: changed(PLAN, "F3", bench_id="W1", start_slot="Mon 17:00", end_slot="Mon 17:20"),
    Rule.STOCK: changed(PLAN, "C2", charge_slot="Mon 09:10"),
    Rule.DOWNTIME: changed(PLAN, "F3", start_slot="Mon 15:40", end_slot="Mon 16:00"),
    Rule.UPKEEP: changed(PLAN, "K1", start_slot="Tue 13:30", end_slot="Tue 14:00", crew=("P1",)),
    Rule.KEPT: changed(PLAN, "F4", operator_id="P4"),
}

GRADE = hand_yard().products[1].resin_grade

SENTENCES: dict[Rule, str] = {
    Rule.KNOWN: "cycle C4 in 1A names order 'Y-9', which does not exist",
    Rule.QUANTITY: "cycle C1 in 1A counts 0 pieces, mold M1 gives 1",
    Rule.HORIZON: "cycle C1 in 1A would start at Mon May 17 07:55, new work may start from Mon May 17 08:00 on",
    Rule.FIELD: "the field of unit U1 would heat twice at once: heat of cycle C1 in 1A Mon May 17 09:15 to 10:30, "
    "heat of cycle C2 in 1B Mon May 17 10:25 to 11:25",
    Rule.SEQUENCE: "cycle C1 in 1A: cooling ends at Mon May 17 11:05, but demolding starts already at Mon May 17 11:00",
    Rule.CHAMBER: "chamber 1B would be used twice at once: cycle C2 in 1B Mon May 17 09:20 to 12:15, "
    "cycle C3 in 1B Mon May 17 12:10 to 14:15",
    Rule.COOK: "cycle C1 in 1A starts to heat at Mon May 17 09:15 for 70 min, "
    "but at 80 % confidence the cook from then takes 75 min",
    Rule.COOL: "cycle C1 in 1A cools for 30 min from Mon May 17 10:30, but needs 35 min down to 70 °C",
    Rule.MOLD_ONCE: "cycle C4 in 1A uses mold M2#1 Tue May 18 09:00 to 11:15, "
    "but the mold does not hang there all that time",
    Rule.MOLD_FIT: "cycle C4 in 1A: mold M2 cannot make product TANK",
    Rule.MOLD_CHANGE: "mold change X1 in 1A lasts 55 min from Mon May 17 14:30, mold M2#2 takes 60 min",
    Rule.CLEAN_DOWN: "cycle C3 in 1B cleans mold M2#1 for 0 min at Mon May 17 12:15, "
    f"but {GRADE} black after {GRADE} sand takes 15 min",
    Rule.CREW_SIZE: "charging of cycle C1 in 1A at Mon May 17 09:00 has 2 people, it takes 1",
    Rule.CREW_SKILL: "finishing job F3 at W2 (cut) at Mon May 17 20:00 takes the skill finishing, "
    "which Person 5 does not have",
    Rule.CREW_SHIFT: "Person 1 at finishing job F3 at W2 (cut), Mon May 17 20:00 to 20:20, "
    "is not on one shift all that time",
    Rule.CREW_LIMIT: "Person 1 has 2 jobs at Mon May 17 12:20 and may mind 1: "
    "charging of cycle C3 in 1B; demolding of cycle C1 in 1A",
    Rule.CREW_HEAT: "Person 1 would do 30 min of heavy work Mon May 17 11:30 to 12:30, the heat allows 25 min",
    Rule.ROUTING: "finishing job F3 at W2 (cut) counts 0.5 kWh; 1 kW for 20 min are 0.333 kWh",
    Rule.REST: "finishing job F3 at W1 (cut) starts at Mon May 17 14:10; demolding of cycle C2 ends "
    "at Mon May 17 12:15, with 120 min of rest it may start at Mon May 17 14:15",
    Rule.BENCH: "bench W1 has several jobs at once: F1 (cut) Mon May 17 19:50 to 20:10, "
    "F3 (cut) Mon May 17 20:00 to 20:20",
    Rule.BENCH_ENERGY: "benches fed by unit U1 would draw 0.58 kWh from Mon May 17 20:00 to Tue May 18 06:00, "
    "sun and battery leave 0.50 kWh",
    Rule.BENCH_POWER: "benches fed by unit U1 would draw 1.00 kW at Mon May 17 17:00, it can give 0.50 kW",
    Rule.STOCK: "PE sand runs out at Mon May 17 09:10 with cycle C2 in 1B: 28 kg are needed by then, 20 kg are there",
    Rule.DOWNTIME: "finishing job F3 at W2 (cut), Mon May 17 15:40 to 16:00, "
    "while bench W2 is down Mon May 17 12:00 to 19:00 (new blade)",
    Rule.UPKEEP: "upkeep job K1, Tue May 18 13:30 to 14:00, "
    "is to be done between Tue May 18 14:00 and Tue May 18 18:00",
    Rule.KEPT: "finishing job F4 at W1 must stay as it is, but was changed: operator id from P2 to P4",
}


def test_the_plan_made_by_hand_is_valid() -> None:
    assert check(HOT, PLAN) == ()


@pytest.mark.parametrize("rule", Rule)
def test_a_plan_broken_in_one_rule_is_refused_by_that_rule_alone(rule: Rule, monkeypatch: pytest.MonkeyPatch) -> None:
    problem = HOT
    violations = check(problem, BROKEN[rule])
    assert [violation.rule for violation in violations] == [rule]
    assert violations[0].text == SENTENCES[rule]
    monkeypatch.setitem(checker.RULES, rule, lambda case: iter(()))
    assert check(problem, BROKEN[rule]) == ()
