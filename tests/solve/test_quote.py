"""Earliest dates: they can be planned, they never come earlier for more, and what limits them is found by trying."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.small_yard import MONDAY, at, small_orders, small_problem, small_yard, with_yard
from yardplan.domain.orders import Order
from yardplan.domain.plan import Plan, order_results
from yardplan.domain.problem import Problem
from yardplan.domain.products import Delivery
from yardplan.domain.quotes import Finished, Limit, Wish
from yardplan.domain.tables import CookTable, SkyCooks
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.quote import Book
from yardplan.solve.risk import replay

P50, P80, P95 = 0.5, 0.8, 0.95


N_SKIES = {P50: 10, P80: 6, P95: 4}
"""Of 20 skies, how many have the cooks of each confidence."""


def three_skies(problem: Problem) -> Problem:
    """The same problem with shorter cooks at P50 and longer ones, and fewer, at P95."""
    cook = problem.cook
    slots, cool = cook.cook_slots[0], cook.cool_slots[0]
    short = np.where(slots > 0, np.maximum(slots - 2, 1), 0)
    long = np.where((slots > 0) & (slots < 18), slots + 3, 0)
    cools = [np.where(one > 0, cool, 0) for one in (short, slots, long)]
    table = CookTable(
        cook.grid, cook.recipes, cook.unit_ids, (P50, P80, P95), np.stack([short, slots, long]), np.stack(cools),
        cook.heat_kwh,
    )  # fmt: skip
    return replace(problem, cook=table)


def skies_of(problem: Problem) -> SkyCooks:
    """Twenty skies with the cooks of the table's confidences."""
    which = np.repeat(np.arange(3), list(N_SKIES.values()))
    cook, cool = (
        np.moveaxis(getattr(problem.cook, name)[which], 0, -1).astype(np.uint8) for name in ("cook_slots", "cool_slots")
    )
    return SkyCooks(problem.grid, problem.cook.recipes, problem.cook.unit_ids, cook, cool)


def book_of(problem: Problem, plan: Plan, *rest: object, **named: object) -> Book:
    return Book(problem, plan, skies_of(problem), *rest, **named)


def laid(problem: Problem, days: int | None = None) -> Plan:
    return dispatch(Compiled(problem), MANNERS[2])


def week(days: int = 5, n_units: int = 1, **rest: object) -> tuple[Problem, Plan]:
    problem = three_skies(small_problem(small_yard(n_units), days=days, **rest))
    return problem, laid(problem)


def with_offer(problem: Problem, plan: Plan, book: Book, wish: Wish) -> tuple[Problem, Plan]:
    """The plan with what a wish would get put in as an order."""
    order = Order("NEW", "", wish.product_id, wish.color, wish.quantity, problem.grid.end_at)
    added = book.offer([wish], "NEW")
    whole = Plan(
        plan.grid,
        (*plan.cycles, *(row.cycle for row in added)),
        (*plan.mold_changes, *(row.change for row in added if row.change)),
        (*plan.finishing, *(job for row in added for job in row.jobs)),
    )
    asked = replace(problem, orders=(*problem.orders, order))
    return asked, whole


OFFERS = [Wish("TANK", "sand", 3), Wish("BIN", "black", 4), Wish("BIN", "sand", 2)]


@pytest.mark.parametrize("wish", OFFERS)
def test_what_is_offered_can_be_planned_and_breaks_no_rule(wish):
    problem, plan = week()
    asked, whole = with_offer(problem, plan, book_of(problem, plan), wish)
    assert check(asked, whole) == ()
    assert order_results(whole, asked.orders, asked.yard)[-1].pieces_missing == 0


@pytest.mark.parametrize("wish", OFFERS)
def test_dates_are_those_by_which_the_planned_work_is_ready_in_so_many_skies(wish):
    """The replay of the offer as a plan of its own, which goes another way, comes to the same dates within an hour."""
    problem = three_skies(small_problem(small_yard(2), orders=(), days=6))
    plan = Plan(problem.grid)
    book = book_of(problem, plan)
    asked, whole = with_offer(problem, plan, book, wish)
    finish = np.sort(replay(asked, whole, skies_of(problem))[-1])
    for row in book.dates([wish]).earliest:
        reached = finish[int(np.ceil(row.confidence * finish.size)) - 1]
        assert problem.grid.slot(row.ready_at) == pytest.approx(reached, abs=12)


def test_nothing_that_is_planned_moves_or_gets_later():
    problem, plan = week()
    asked, whole = with_offer(problem, plan, book_of(problem, plan), Wish("TANK", "sand", 2))
    assert set(plan.cycles) <= set(whole.cycles)
    before = order_results(plan, problem.orders, problem.yard)
    assert order_results(whole, asked.orders, asked.yard)[: len(before)] == before


WISHES = st.builds(Wish, st.sampled_from(["TANK", "BIN"]), st.sampled_from(["sand", "black"]), st.integers(1, 9))


def slot_of(found, problem):
    return 10**9 if found.ready_at is None else problem.grid.slot(found.ready_at)


@settings(max_examples=12, deadline=None)
@given(wish=WISHES, more=st.integers(1, 5), days=st.integers(2, 6))
def test_more_pieces_are_never_ready_earlier(wish, more, days):
    problem, plan = week(days)
    book = book_of(problem, plan)
    one = book.dates([wish])
    two = book.dates([replace(wish, quantity=wish.quantity + more)])
    for few, many in zip(one.earliest, two.earliest, strict=True):
        assert slot_of(few, problem) <= slot_of(many, problem)


@settings(max_examples=12, deadline=None)
@given(wishes=st.lists(WISHES, min_size=1, max_size=3), days=st.integers(2, 6))
def test_a_higher_confidence_is_never_earlier(wishes, days):
    problem, plan = week(days)
    slots = [slot_of(row, problem) for row in book_of(problem, plan).dates(wishes).earliest]
    assert slots == sorted(slots)


@settings(max_examples=12, deadline=None)
@given(wish=WISHES, book=st.lists(WISHES, min_size=1, max_size=4), days=st.integers(2, 6))
def test_a_fuller_order_book_never_gives_an_earlier_date(wish, book, days):
    problem, plan = week(days)
    before: list[int] = []
    for count in range(len(book) + 1):
        dates = book_of(problem, plan, since=[[row] for row in book[:count]]).dates([wish])
        after = [slot_of(row, problem) for row in dates.earliest]
        assert all(old <= new for old, new in zip(before, after, strict=False))
        before = after


def test_of_several_products_the_last_one_counts():
    problem, plan = week()
    book = book_of(problem, plan)
    tank, bin_ = Wish("TANK", "sand", 2), Wish("BIN", "sand", 2)
    both = book.dates([tank, bin_]).at(P80)
    assert both.ready_at >= max(book.dates([tank]).at(P80).ready_at, book.dates([bin_]).at(P80).ready_at)
    assert both.pieces == 4


def test_partial_deliveries_add_up_and_the_wished_date_counts_the_way():
    problem, plan = week()
    dates = book_of(problem, plan).dates([Wish("TANK", "sand", 6)], wish_on=MONDAY + timedelta(days=3), lead_days=1)
    found = dates.at(P80)
    assert sum(row.pieces for row in found.deliveries) == 6
    leaves_by = at(2, 24)
    assert found.by_wish == sum(row.pieces for row in found.deliveries if row.at <= leaves_by)


def test_finished_pieces_go_first_and_those_on_a_quality_hold_do_not():
    """Eight finished, six free and two that wait for a test: S2 of the stories asks for five of one kind."""
    problem, plan = week()
    now = problem.grid.local(problem.now_slot)
    stock = [Finished("TANK", "black", free=5, on_hold=2)]
    book = book_of(problem, plan, stock)
    assert book.dates([Wish("TANK", "black", 5)]).at(P95).ready_at == now
    six = book.dates([Wish("TANK", "black", 6)])
    assert six.from_stock == (5,)
    assert six.at(P80).deliveries[0].pieces == 5
    assert six.at(P80).deliveries[0].at == now
    assert six.at(P80).ready_at > now
    # What was held since takes from the same shelf.
    assert book_of(problem, plan, stock, [[Wish("TANK", "black", 4)]]).dates([Wish("TANK", "black", 3)]).from_stock == (
        1,
    )


def test_surplus_of_a_planned_cycle_is_promised_before_a_new_one():
    yard = small_yard()
    molds = tuple(replace(mold, cavities=4) if mold.id == "M1" else mold for mold in yard.molds)
    orders = (replace(small_orders()[0], quantity=2),)
    problem = three_skies(small_problem(replace(yard, molds=molds), orders, days=3))
    plan = laid(problem)
    ready = order_results(plan, orders, yard)[0].finish_slot
    dates = book_of(problem, plan).dates([Wish("TANK", "sand", 2)])
    assert dates.at(P80).ready_at <= problem.grid.at(ready)


@pytest.mark.parametrize("limit", [Limit.MOLD, Limit.RESIN, Limit.FINISHING])
def test_what_is_short_is_named_and_more_of_it_helps(limit):
    yard = small_yard(2)
    if limit is Limit.RESIN:
        items = tuple(replace(item, on_hand=21.0) if item.color == "sand" else item for item in yard.items)
        yard = replace(yard, items=items, deliveries=(Delivery("R-SAND", at(4, 6), 900.0),))
    if limit is Limit.FINISHING:
        products = tuple(
            replace(row, routing=tuple(replace(step, minutes=300) for step in row.routing)) for row in yard.products
        )
        yard = replace(yard, products=products, benches=yard.benches[:1])
    problem = three_skies(small_problem(yard, (), days=6))
    dates = book_of(problem, Plan(problem.grid)).dates([Wish("TANK", "sand", 14)])
    assert dates.limited_by is limit
    assert dates.helps[0].limit is limit
    assert len(dates.helps) <= 3
    told = dates.at(P80).ready_at
    assert told is None or all(row.ready_at < told for row in dates.helps)


def test_a_single_piece_on_an_empty_yard_just_takes_its_time():
    problem = three_skies(small_problem(orders=(), days=3))
    dates = book_of(problem, Plan(problem.grid)).dates([Wish("TANK", "sand", 1)])
    assert (dates.limited_by, dates.helps) == (Limit.TIME, ())


def test_a_product_that_no_mold_makes_or_no_resin_is_there_for_says_so():
    problem = three_skies(small_problem(orders=(), days=3))
    molds = tuple(replace(mold, shell_kg=895.0) if mold.id == "M1" else mold for mold in problem.yard.molds)
    too_heavy = with_yard(problem, molds=molds)
    dates = book_of(too_heavy, Plan(problem.grid)).dates([Wish("TANK", "sand", 1)])
    assert (dates.limited_by, dates.at(P50).ready_at) == (Limit.MOLD, None)
    assert "fits" in dates.limit_detail
    none_left = with_yard(problem, items=tuple(replace(item, on_hand=0.0) for item in problem.yard.items))
    dates = book_of(none_left, Plan(problem.grid)).dates([Wish("TANK", "sand", 1)])
    assert (dates.limited_by, dates.at(P50).ready_at) == (Limit.RESIN, None)


def test_work_that_a_plan_left_out_goes_before_a_quote():
    problem, plan = week(days=5)
    some = Plan(plan.grid, (), (), ())
    empty = book_of(replace(problem, orders=()), some).dates([Wish("TANK", "sand", 2)])
    behind = book_of(problem, some).dates([Wish("TANK", "sand", 2)])
    assert behind.at(P80).ready_at > empty.at(P80).ready_at


def test_twenty_equally_likely_dates_hold_those_of_the_three_confidences():
    problem = three_skies(small_problem(days=5))
    dates = book_of(problem, laid(problem), (), [[Wish("BIN", "sand", 2)]]).dates([Wish("TANK", "sand", 4)])
    ticks = dates.twentieths
    assert len(ticks) == 20
    assert list(ticks) == sorted(ticks)
    assert [ticks[ix] for ix in (9, 15, 18)] == [dates.at(one).ready_at for one in (P50, P80, P95)]
    assert book_of(problem, laid(problem)).dates([Wish("TANK", "sand", 9000)]).twentieths == ()


def test_a_date_tells_its_own_chance_which_is_no_less_than_its_name():
    problem, plan = week()
    for wish in OFFERS:
        dates = book_of(problem, plan).dates([wish])
        for row in dates.earliest:
            assert row.ready_at is not None
            assert row.chance_frac == sum(at <= row.ready_at for at in dates.twentieths) / 20
            assert row.chance_frac >= row.confidence
    none = book_of(problem, plan).dates([Wish("TANK", "sand", 5000)]).earliest
    assert all(row.ready_at is None and row.chance_frac is None for row in none)
