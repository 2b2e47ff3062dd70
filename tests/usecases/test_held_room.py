"""A new plan keeps free what is held for customers: their quote is as good after it as before."""

from datetime import date, timedelta

import pytest

from tests.small_yard import at, small_problem
from yardplan.domain.orders import Order
from yardplan.domain.outcome import SolveOutcome, Status
from yardplan.domain.plan import order_results
from yardplan.domain.problem import Problem
from yardplan.domain.quotes import Hold, Wish
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.goal import goal_parts
from yardplan.solve.insert import Inserter
from yardplan.solve.run import Limits, Stop, solve
from yardplan.usecases import planning
from yardplan.usecases.planning import with_holds, without_holds


def hold(ident: str, wishes: tuple[Wish, ...], promise_at) -> Hold:
    return Hold(ident, 1, "Invented Fair", wishes, date(2027, 6, 1), promise_at, 0.8, at(0, 0), "Kim")


class NoDatabase:
    """Only that reading begins and ends is asked of it."""

    def begin_read(self):
        return self

    def __enter__(self):
        return self

    def __exit__(self, *rest):
        return None


def asked(monkeypatch, problem: Problem, *holds: Hold) -> Problem:
    monkeypatch.setattr(planning, "read_holds", lambda session, on: holds)
    return with_holds(NoDatabase(), problem)


BUSY = tuple(
    Order(f"Y-{ix}", "Invented Farm", product, color, 9, at(2, 24), None, 1)
    for ix, (product, color) in enumerate((("TANK", "sand"), ("BIN", "black"), ("TANK", "black"), ("BIN", "sand")))
)


def room_for(problem: Problem, plan, wish: Wish) -> int:
    """Return by which slot a wish could be ready in the free places of a plan."""
    inserter, made, ready = Inserter(Compiled(problem), plan), 0, 0
    while made < wish.quantity:
        one = inserter.next(wish.product_id, wish.color, "late comer")
        if one is None:
            return 10**6
        made, ready = made + one.cycle.pieces, max(ready, one.ready_slot)
    return ready


@pytest.mark.parametrize("color", ["black", "sand"])
def test_what_is_held_can_still_be_made_in_time_after_a_new_plan(monkeypatch, color):
    problem = small_problem(orders=BUSY, days=3)
    wish = Wish("BIN", color, 3)
    question = asked(monkeypatch, problem, hold("H-1", (wish,), at(1, 24)))
    assert [order.id for order in question.orders[len(BUSY) :]] == ["H-1"]
    limits = Limits(None, work=1.0, workers=1)
    full = solve(question, limits, Stop(), lambda progress: None)
    held = without_holds(problem, question, full)
    assert {row.order_id for row in held.plan.cycles} <= {order.id for order in BUSY}
    assert check(problem, held.plan) == ()
    assert held.parts == goal_parts(problem, held.plan)
    late = {row.order_id: row.late_slots for row in order_results(full.plan, question.orders, question.yard)}
    assert late["H-1"] == 0  # else nothing is shown here
    by = problem.grid.slot(at(1, 24))
    assert room_for(problem, held.plan, wish) <= by
    without = solve(problem, limits, Stop(), lambda progress: None)
    assert room_for(problem, without.plan, wish) > by  # no plan leaves this room by chance


def test_holds_of_other_days_or_of_what_the_yard_has_no_more_ask_for_nothing(monkeypatch):
    problem = small_problem(days=3)
    far = hold("H-1", (Wish("BIN", "sand", 3),), problem.grid.end_at + timedelta(days=1))
    gone = hold("H-2", (Wish("CANOE", "sand", 3), Wish("BIN", "mauve", 1)), at(1, 24))
    assert asked(monkeypatch, problem, far, gone) is problem
    assert asked(monkeypatch, problem) is problem
    two = hold("H-3", (Wish("BIN", "sand", 1), Wish("TANK", "black", 1)), at(1, 24))
    added = asked(monkeypatch, problem, two).orders[len(problem.orders) :]
    assert [(order.id, order.product_id, order.promise_at) for order in added] == [
        ("H-3-1", "BIN", at(1, 24)), ("H-3-2", "TANK", at(1, 24)),
    ]  # fmt: skip


def test_plans_by_any_rule_are_legal_without_what_is_held(monkeypatch):
    """Taking cycles out changes which clean-downs are needed; the rest is followed then."""
    problem = small_problem(orders=BUSY, days=3)
    for color in ("sand", "black"):
        for quantity in (1, 2, 5):
            question = asked(monkeypatch, problem, hold("H-1", (Wish("BIN", color, quantity),), at(2, 20)))
            for manner in MANNERS:
                plan = dispatch(Compiled(question), manner)
                outcome = SolveOutcome(plan, Status.PROVEN, goal_parts(question, plan), 0, (), 0.0, 0)
                left = without_holds(problem, question, outcome)
                assert check(problem, left.plan) == ()
                assert left.status is Status.GOOD  # nothing was proven of this question
