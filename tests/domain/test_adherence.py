"""Planned beside made, worked out by hand for a short day."""

from dataclasses import replace

from tests.day_streams import day_yard
from tests.domain.test_history import charge, cooked, event, numbered
from tests.small_yard import MONDAY, at
from yardplan.domain.adherence import Share, adherence
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.events import EventKind
from yardplan.domain.history import state_of
from yardplan.domain.plan import Cycle, Plan
from yardplan.domain.slots import SlotGrid

YARD = day_yard()
GRID = SlotGrid.of_days(MONDAY, 1, YARD.site.tz)


def planned(ident: str, chamber: str, order: str, hour: float, pieces: int) -> Cycle:
    slot = GRID.slot(at(0, hour))
    mold = MoldCopy("M1" if chamber == "1A" else "M2", 1)
    ends = (slot + 2, slot + 12, slot + 20, slot + 20, slot + 24)
    return Cycle(ident, order, "TANK", "sand", mold, chamber, pieces, slot, 0, *ends, (), ())


def test_a_short_day_is_set_beside_its_plan_by_day_unit_and_order() -> None:
    plan = Plan(
        GRID,
        (
            planned("C001", "1A", "Y-1", 9, 1),
            planned("C002", "1A", "Y-1", 11.75, 1),
            planned("C003", "1B", "Y-2", 9, 2),
            planned("C004", "2A", "Y-2", 20, 2),  # still to come
        ),
    )
    events = numbered(
        replace(cooked()[0], planned_id="C001"), *cooked()[1:],
        event(EventKind.PIECES, 12, cycle_id="A", good=0, scrapped=1, rework=0, reason="bubbles"),
        charge(11, "1B", "B"), event(EventKind.HEAT, 11.8, subject="1B"),
        event(EventKind.HOLD, 12.5, subject="1B", reason="cloud"), event(EventKind.DOWN, 13, subject="2B"),
    )  # fmt: skip
    found = adherence(YARD, plan, state_of(YARD, plan, events, at(0, 15)), events)
    assert found.days == {MONDAY: Share(3, 1, 1, 4, 0, 1, 0)}
    assert found.units == {"U1": Share(3, 1, 1, 4, 0, 1, 0)}
    assert found.orders == {"Y-1": Share(2, 1, 1, 2, 0, 1, 0), "Y-2": Share(1, 0, 0, 2, 0, 0, 0)}
    told = {("heat lost in a cook: cloud", 1), ("pieces: bubbles", 1), ("down", 1)}
    assert set(found.reasons) == told
