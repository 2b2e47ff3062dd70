"""New work before what is promised to nobody: promised work never moves, and who gives way is told."""

from dataclasses import replace

import pytest

from tests.small_yard import at, planned_sun, small_orders, small_problem, with_yard
from yardplan.domain.orders import Order
from yardplan.domain.plan import Plan
from yardplan.domain.products import Item, ItemKind
from yardplan.domain.quotes import Limit, Wish
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.quote import Book, arrives_at
from yardplan.solve.rush import FENCE_H, firm_part, rush

PROMISED = small_orders()[0]
LOOSE = Order("L-1", "Invented Depot", "TANK", "sand", 14, at(5, 24))


@pytest.fixture
def problem():
    return replace(small_problem(days=8), orders=(PROMISED, LOOSE))


@pytest.fixture
def plan(problem):
    return dispatch(Compiled(problem), MANNERS[2])


def cooks(problem):
    return planned_sun(problem.cook, problem.confidence)


WISH = (Wish("TANK", "sand", 6),)


def test_what_is_promised_locked_or_about_to_begin_stays(problem, plan):
    fence = problem.now_slot + FENCE_H * 60 // problem.grid.slot_min
    last = max(plan.cycles, key=lambda row: row.charge_slot)
    locked = replace(plan, cycles=tuple(replace(row, locked=row.id == last.id) for row in plan.cycles))
    firm = firm_part(problem, locked)
    kept = {row.id for row in firm.cycles}
    for row in locked.cycles:
        stays = row.order_id == PROMISED.id or row.locked or row.charge_slot < fence
        assert (row.id in kept) == stays
    assert len(kept) < len(locked.cycles)
    assert {job.cycle_id for job in firm.finishing} <= kept
    assert not [found for found in check(problem, firm) if found.rule != "unfinished"]


def test_new_work_comes_earlier_and_those_who_give_way_are_named(problem, plan):
    before = Book(problem, plan, cooks(problem)).dates(WISH).at(problem.confidence).ready_at
    dates, moved = rush(problem, plan, cooks(problem), WISH)
    assert dates.at(problem.confidence).ready_at < before
    (one,) = moved
    assert (one.order_id, one.customer) == ("L-1", "Invented Depot")
    assert one.ready_at > one.was_at
    assert PROMISED.id not in {row.order_id for row in moved}


def test_with_all_promised_nothing_moves_and_the_date_is_the_same(problem, plan):
    firm = replace(problem, orders=tuple(replace(order, promise_at=order.due_at) for order in problem.orders))
    dates, moved = rush(firm, plan, cooks(problem), WISH)
    assert moved == ()
    assert dates == Book(firm, plan, cooks(problem)).dates(WISH)


def test_held_work_stays_before_the_new(problem, plan):
    held = [[Wish("TANK", "sand", 4)]]
    alone, _ = rush(problem, plan, cooks(problem), WISH)
    behind, _ = rush(problem, plan, cooks(problem), WISH, since=held)
    assert behind.at(problem.confidence).ready_at > alone.at(problem.confidence).ready_at


def test_orders_that_no_plan_knows_are_told_with_their_first_date(problem):
    _, moved = rush(replace(problem, orders=(LOOSE,)), Plan(problem.grid), cooks(problem), WISH)
    assert [(row.order_id, row.was_at) for row in moved] == [("L-1", None)]


# A color that is not on hand


def with_compound(problem, lead_days, on_hand=0.0):
    """TANK must be made of compound; its color is on hand as dry blend only."""
    yard = problem.yard
    items = (*yard.items, Item("C-SAND", "compound sand", ItemKind.RESIN, on_hand, "CLLDPE", "sand", 0.0, lead_days))
    tank, *rest = yard.products
    return with_yard(problem, items=items, products=(replace(tank, resin_grade="CLLDPE"), *rest))


def test_the_time_until_compound_is_here_counts_and_is_told():
    """S10 of the stories."""
    problem = replace(with_compound(small_problem(days=14), 6), orders=())
    book = Book(problem, Plan(problem.grid), cooks(problem))
    dates = book.dates([Wish("TANK", "sand", 2)])
    here_at = arrives_at(problem, 6)
    assert dates.at(problem.confidence).ready_at > here_at
    assert dates.limited_by is Limit.RESIN
    assert "6 days until more is here" in dates.limit_detail
    (buy,) = dates.to_buy
    assert (buy.item_id, buy.amount, buy.lead_days, buy.arrives_at) == ("C-SAND", 40.0, 6, here_at)
    assert buy.kept_instead == ("PE sand",)


def test_only_what_is_short_has_to_be_bought():
    problem = replace(with_compound(small_problem(days=14), 6, on_hand=30.0), orders=())
    dates = Book(problem, Plan(problem.grid), cooks(problem)).dates([Wish("TANK", "sand", 2)])
    assert [row.amount for row in dates.to_buy] == [10.0]
    one = Book(problem, Plan(problem.grid), cooks(problem)).dates([Wish("TANK", "sand", 1)])
    assert one.to_buy == ()
    assert one.at(problem.confidence).ready_at < arrives_at(problem, 6)


def test_what_cannot_be_had_gives_no_date():
    problem = replace(with_compound(small_problem(days=14), None), orders=())
    dates = Book(problem, Plan(problem.grid), cooks(problem)).dates([Wish("TANK", "sand", 2)])
    assert dates.at(problem.confidence).ready_at is None
    assert dates.limited_by is Limit.RESIN
    assert dates.to_buy == ()


def test_a_longer_way_is_never_earlier():
    ready = []
    for lead_days in (0, 2, 4, 6):
        problem = replace(with_compound(small_problem(days=14), lead_days), orders=())
        dates = Book(problem, Plan(problem.grid), cooks(problem)).dates([Wish("TANK", "sand", 2)])
        ready.append(dates.at(problem.confidence).ready_at)
    assert ready == sorted(ready)
