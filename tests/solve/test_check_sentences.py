"""The sentences of the checker hold the figures and times that a foreman needs."""

from typing import Any

import pytest

from tests.solve.hand_plan import changed, hand_plan, hand_problem, hand_yard, texts, with_yard, without
from yardplan.domain.equipment import MoldCopy

PLAN = hand_plan()
GRADE = hand_yard().products[1].resin_grade


@pytest.mark.parametrize(
    ("ident", "changes", "text"),
    [
        (
            "C1",
            {"end_slot": "Mon 11:15"},
            "cycle C1 in 1A: demolding lasts 10 min from Mon May 17 11:05, product TANK takes 15 min",
        ),
        (
            "C1",
            {"charge_slot": "Mon 09:05"},
            "cycle C1 in 1A: charging ends at Mon May 17 09:20, but heating starts already at Mon May 17 09:15",
        ),
        ("X1", {"mold_out": None}, "mold change X1 in 1A takes out nothing at Mon May 17 14:30, but M1#1 hangs there"),
        (
            "X1",
            {"crew": ("P2", "P2")},
            "mold change X1 in 1A at Mon May 17 14:30 has 2 people, of which 1 different, it takes 2",
        ),
        ("F2", {"step_ix": 2}, "finishing job F2 at W1 is step 3; TANK has 2 finishing steps"),
        (
            "F3",
            {"end_slot": "Mon 20:15"},
            "finishing job F3 at W2 (cut) lasts 15 min from Mon May 17 20:00, it takes 20 min",
        ),
        (
            "F3",
            {"bench_id": "T1"},
            "finishing job F3 at T1 (cut) needs a bench of kind bench, this one is a tank",
        ),
        (
            "F2",
            {"end_slot": 10**12},
            "finishing job F2 at W1 ends at slot 1000000000000, the plan's days end at Thu May 20 00:00",
        ),
        (
            "C1",
            {"clean_slots": 1, "charge_slot": "Mon 08:55"},
            f"cycle C1 in 1A cleans mold M1#1 for 5 min at Mon May 17 08:55, but {GRADE} sand after {GRADE} sand "
            "takes 0 min",
        ),
        (
            "C2",
            {"clean_slots": 1},
            f"cleans mold M2#1 for 5 min at Mon May 17 09:20, but {GRADE} sand after nothing takes 0 min",
        ),
    ],
)
def test_sentences_hold_the_figures(ident: str, changes: dict[str, Any], text: str) -> None:
    assert text in texts(hand_problem(), changed(PLAN, ident, **changes))


def test_sentences_about_what_hangs() -> None:
    filled = with_yard(hung=hand_yard().hung[1:])
    assert "takes out M1#1 at Mon May 17 14:30, but nothing hangs there" in texts(
        filled, without(PLAN, "C1", "F1", "F2")
    )
    again = changed(without(PLAN, "C4"), "X1", mold_in=MoldCopy("M1", 1))
    assert "X1 in 1A at Mon May 17 14:30 hangs M1#1, which hangs there already" in texts(hand_problem(), again)
    twice = changed(PLAN, "X1", mold_in=MoldCopy("M2", 1))
    assert "mold M2#1 would hang in 1A from Mon May 17 14:30 while it still hangs in 1B" in texts(hand_problem(), twice)


def test_sentences_about_steps_count_from_one() -> None:
    alone = "finishing job F2 at W1 (inspect) is step 2 of cycle C1, but the step before it is not planned"
    assert alone in texts(hand_problem(), without(PLAN, "F1"))
    twice = changed(PLAN, "F2", step_ix=0)
    assert "step 1 of cycle C1 is planned 2 times" in texts(hand_problem(), twice)


def test_the_sentence_about_a_crew_that_cannot_change_molds_says_what_it_takes() -> None:
    assert (
        "mold change X1 in 1A at Mon May 17 14:30 takes one with the skill loader and 1 others with rigging; "
        "Person 2, Person 5 cannot share that out"
    ) in texts(hand_problem(), changed(PLAN, "X1", crew=("P2", "P5")))
