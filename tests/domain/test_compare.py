"""Two plans set beside each other: each row in one pair, and what that means for orders and crew."""

from collections import Counter
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.small_yard import small_problem
from tests.solve.hand_plan import changed, hand_plan, hand_problem, slot, without
from tests.solve.yards import Drawn, small_problems
from yardplan.domain.compare import Answer, compare, use_of
from yardplan.domain.difference import What, applied, difference, on_grid
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import InvalidField
from yardplan.domain.plan import MoldChange, Plan
from yardplan.domain.slots import SlotGrid
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.names import named

ROWS = ("cycles", "mold_changes", "finishing")
ON_DRAWN = settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow], deadline=None)


@st.composite
def two_plans(draw: st.DrawFn) -> tuple[Plan, Plan, Drawn]:
    """Two plans by different manners of dispatching, the second with some of its rows gone."""
    drawn = draw(small_problems())
    compiled = Compiled(drawn.problem)
    one, two = (named(dispatch(compiled, draw(st.sampled_from(MANNERS))), drawn.problem.kept) for _ in range(2))
    gone = draw(st.sets(st.sampled_from([row.id for row in two.cycles]), max_size=3)) if two.cycles else set()
    return one, without(two, *gone, *(job.id for job in two.finishing if job.cycle_id in gone)), drawn


@ON_DRAWN
@given(drawn=two_plans())
def test_a_plan_set_beside_itself_has_no_difference_and_upsets_nobody(drawn):
    plan, _, made = drawn
    answer = Answer(made.problem, plan)
    found = compare(answer, answer)
    assert found.difference.is_empty
    assert (found.nervousness.moved_h, found.nervousness.reversed_frac, found.nervousness.wasted_changes) == (0, 0, ())
    assert all(change.is_same and change.earlier_slots == 0 for change in found.orders)
    assert found.old_use == found.new_use


@ON_DRAWN
@given(drawn=two_plans())
def test_each_row_is_in_one_pair_and_the_pairs_make_the_new_plan(drawn):
    old, new, _ = drawn
    found = difference(old, new)
    for name in ROWS:
        pairs = getattr(found, name)
        assert Counter(pair.old for pair in pairs if pair.old) == Counter(getattr(old, name))
        assert Counter(pair.new for pair in pairs if pair.new) == Counter(getattr(new, name))
        assert all(pair.old or pair.new for pair in pairs)
    assert applied(found, old) == new
    assert applied(difference(new, old), new) == old


@ON_DRAWN
@given(drawn=two_plans(), data=st.data())
def test_names_alone_are_no_difference(drawn, data):
    plan, _, _ = drawn
    order = data.draw(st.permutations(range(len(plan.cycles))))
    fresh = {cycle.id: f"K{number}" for cycle, number in zip(plan.cycles, order, strict=True)}
    renamed = Plan(
        plan.grid,
        tuple(replace(row, id=fresh[row.id]) for row in plan.cycles),
        plan.mold_changes,
        tuple(replace(row, id=f"J{row.id}", cycle_id=fresh[row.cycle_id]) for row in plan.finishing),
    )
    assert difference(plan, renamed).is_empty
    assert applied(difference(plan, renamed), plan) == renamed


def test_three_moved_cycles_and_a_changed_chamber_are_four_changes():
    old = hand_plan()
    new = changed(old, "C1", charge_slot="Mon 09:05", heat_slot="Mon 09:20")
    new = changed(new, "C2", charge_slot="Mon 09:25")
    new = changed(new, "C3", heat_slot="Mon 12:45")
    new = changed(new, "C4", chamber_id="1B")
    different = [pair for pair in difference(old, new).cycles if not pair.is_same]
    assert {pair.old.id: pair.what for pair in different} == {
        "C1": {What.START, What.TIMES},
        "C2": {What.START},
        "C3": {What.TIMES},
        "C4": {What.CHAMBER},
    }


def test_pieces_of_one_order_that_trade_places_are_alike():
    old = hand_plan()  # C3 and C4 are of one order; each gets all of the other but its name
    three, four = old.cycles[2], old.cycles[3]
    traded = (*old.cycles[:2], replace(three, id="C4"), replace(four, id="C3"))
    new = replace(old, cycles=traded, finishing=tuple(
        replace(job, cycle_id="C4") if job.cycle_id == "C3" else job for job in old.finishing
    ))  # fmt: skip
    assert difference(old, new).is_empty


def test_a_dropped_cycle_takes_its_finishing_along_and_its_order_is_told():
    problem, old = hand_problem(), hand_plan()
    found = compare(Answer(problem, old), Answer(problem, without(old, "C2", "F3")))
    gone = [(pair.old.id, pair.new) for name in ROWS for pair in getattr(found.difference, name) if not pair.is_same]
    assert gone == [("C2", None), ("F3", None)]
    told = {change.order_id: change for change in found.orders}
    assert told["Y-1"].is_same
    assert told["Y-2"].is_same
    # One bin of three was there; without it none is.
    assert (told["Y-3"].old.pieces_missing, told["Y-3"].new.pieces_missing) == (2, 3)


def test_an_order_gains_what_its_last_piece_gains():
    problem, old = hand_problem(), hand_plan()
    problem = replace(problem, orders=(replace(problem.orders[0], quantity=1),), kept=Plan(problem.grid))
    new = changed(old, "F2", start_slot="Mon 21:20", end_slot="Mon 21:30")
    (change,) = compare(Answer(problem, old), Answer(problem, new)).orders
    assert change.earlier_slots == -12
    assert change.states == ("on time", "on time")


def test_moves_weigh_half_for_every_eight_hours_ahead():
    problem, old = hand_problem(), hand_plan()
    new = changed(old, "C4", charge_slot="Tue 08:00")  # an hour earlier
    found = compare(Answer(problem, old), Answer(problem, new), now_slot=slot("Mon 08:00"))
    assert found.nervousness.moved_h == pytest.approx(0.5**3)
    assert compare(Answer(problem, old), Answer(problem, new), now_slot=slot("Tue 10:00")).nervousness.moved_h == 1.0


def test_two_orders_the_other_way_round_are_a_reversed_pair():
    problem, old = hand_problem(), hand_plan()
    two, three = old.cycles[1], old.cycles[2]
    new = changed(old, "C2", charge_slot=three.charge_slot)
    new = changed(new, "C3", charge_slot=two.charge_slot)
    found = compare(Answer(problem, old), Answer(problem, new))
    assert found.nervousness.reversed_frac == 1 / 2  # of the pair in 1B and the one in 1A


def test_a_mold_change_is_wasted_when_it_goes_or_serves_no_cycle_any_more():
    problem, old = hand_problem(), hand_plan()
    for new in (without(old, "X1", "C4"), without(old, "C4")):
        wasted = compare(Answer(problem, old), Answer(problem, new)).nervousness.wasted_changes
        assert [row.id for row in wasted] == ["X1"]
    later = changed(old, "X1", start_slot="Mon 16:00", end_slot="Mon 17:00")
    assert compare(Answer(problem, old), Answer(problem, later)).nervousness.wasted_changes == ()
    useless = MoldChange("X2", "1B", MoldCopy("M2", 1), MoldCopy("M1", 1), slot("Mon 15:30"), slot("Mon 16:30"), ())
    spare = replace(old, mold_changes=(*old.mold_changes, useless))
    # What served nobody before is no new waste.
    assert compare(Answer(problem, spare), Answer(problem, old)).nervousness.wasted_changes == ()


def test_use_counts_heat_hours_people_and_energy():
    use = use_of(Answer(hand_problem(), hand_plan()))
    assert (use.cycles, use.pieces, use.mold_changes, use.clean_downs) == (4, 4, 1, 1)
    assert use.heat_kwh == 4 * 20.0  # what the hand-made table gives a cook
    assert use.beam_h == (75 + 60 + 50 + 80) / 60
    # Handling 15 + 15, 10 + 10, 15 + 10 + 10, 10 + 10 min; two people an hour; 20 + 10 + 20 + 20 min at benches.
    assert use.crew_h == pytest.approx((30 + 20 + 35 + 20 + 120 + 70) / 60)
    assert use.bench_kwh == pytest.approx(1.0)


def test_plans_of_different_weeks_meet_at_their_instants():
    old = hand_plan()
    later = SlotGrid.of_days(old.grid.local(0).date() + timedelta(days=1), 3, old.grid.tz)
    assert difference(old, on_grid(old, later)).is_empty
    assert on_grid(on_grid(old, later), old.grid) == old
    odd = SlotGrid(old.grid.start_at + timedelta(minutes=2), 10, old.grid.tz)
    with pytest.raises(InvalidField, match="two plans whose slots coincide"):
        difference(old, Plan(odd))


def test_differences_apply_only_to_the_plan_they_came_from():
    problem = small_problem()
    with pytest.raises(InvalidField, match="the plan compared"):
        applied(difference(Plan(problem.grid), Plan(problem.grid)), hand_plan())
