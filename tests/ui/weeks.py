"""Weeks to show: the small yard's outlook under a hand-made sun, and plans written by hand."""

from dataclasses import replace
from datetime import datetime
from types import SimpleNamespace

import numpy as np

from tests.small_yard import MONDAY, TZ, at, hand_made_cook, hand_made_power, planned_sun, small_orders, small_yard
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.orders import Order
from yardplan.domain.outcome import GoalParts, SolveOutcome, Status, StoredPlan
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import HeatTable
from yardplan.domain.yard import Yard
from yardplan.usecases.outlook import Outlook


def hand_made_heat(yard: Yard, grid: SlotGrid) -> HeatTable:
    """A half sine of heat from 06:00 to 18:00 in five scenarios, from 60 to 100 kW at noon."""
    hours = np.array([(local := grid.local(s)).hour + local.minute / 60 for s in range(grid.n_slots)])
    height = np.sin((hours - 6) / 12 * np.pi)
    most_kw = np.linspace(60, 100, 5)[:, None, None]
    field_kw = np.broadcast_to(most_kw * np.maximum(height, 0), (5, len(yard.units), grid.n_slots))
    sky = np.ones((5, grid.n_slots), np.float32)
    return HeatTable(
        grid=grid, unit_ids=tuple(unit.id for unit in yard.units), field_kw=field_kw, temp_c=20 * sky, wind_m_s=2 * sky,
        dni_w_m2=800 * sky, ghi_w_m2=700 * sky, elevation_deg=60 * height, source="a sine, invented", issued_at=None,
        seed=0,
    )  # fmt: skip


def small_outlook(yard: Yard | None = None, days: int = 3, now: datetime | None = None) -> Outlook:
    """An outlook of hand-made tables; of its skies there are only the warnings, all that the window looks at."""
    yard = yard or small_yard()
    grid = SlotGrid.of_days(MONDAY, days, TZ)
    cook = hand_made_cook(yard, grid)
    return Outlook(
        yard=yard, orders=small_orders(), grid=grid, heat=hand_made_heat(yard, grid), cook=cook,
        sky_cooks=planned_sun(cook, 0.8), power=hand_made_power(yard, grid),
        confidence=0.8, now=now or at(0, 7.5), skies=SimpleNamespace(warnings=("a sine is no sky",), overrules=()),
    )  # fmt: skip


def stored(plan: Plan, number: int = 1, status: Status = Status.GOOD, cost: int = 200, bound: int = 150) -> StoredPlan:
    parts = GoalParts(cost, 0, 0, 0, 0, 0, 0, 0, 0, 0)
    outcome = SolveOutcome(plan, status, parts, bound, (), 1.0, 0)
    return StoredPlan(number, at(0, 6), "tester", 0.8, "a sine, invented", "f" * 8, outcome)


def cycle(ident: str, chamber: str, start_slot: int, order: Order, crew: str = "P1", **changes: object) -> Cycle:
    """Charge 15 min, wait 10, heat 45, cool 35, wait 5, demold 15."""
    made = Cycle(
        id=ident, order_id=order.id, product_id=order.product_id, color=order.color,
        mold=MoldCopy("M1" if order.product_id == "TANK" else "M2", 1), chamber_id=chamber, pieces=1,
        charge_slot=start_slot, clean_slots=0, heat_slot=start_slot + 5, heat_end_slot=start_slot + 14,
        cool_end_slot=start_slot + 21, demold_slot=start_slot + 22, end_slot=start_slot + 25, charge_crew=(crew,),
        demold_crew=(crew,),
    )  # fmt: skip
    return replace(made, **changes)


def small_plan(outlook: Outlook) -> Plan:
    """Two cycles in one chamber, a mold change and a locked cycle in the other, finishing in the evening."""
    tank, bin_black, bin_sand = outlook.orders
    slot = outlook.grid.slot
    return Plan(
        outlook.grid,
        cycles=(
            cycle("C1", "1A", slot(at(0, 9)), tank),
            cycle("C2", "1A", slot(at(0, 12)), tank, "P2"),
            cycle("C3", "1B", slot(at(0, 10)), bin_black, "P3", locked=True, clean_slots=2),
            cycle("C4", "1B", slot(at(1, 10)), bin_sand, "P4", mold=MoldCopy("M2", 2)),
        ),
        mold_changes=(
            MoldChange("X1", "1B", MoldCopy("M2", 1), MoldCopy("M2", 2), slot(at(1, 8)), slot(at(1, 9)), ("P1", "P3")),
        ),
        finishing=(
            FinishJob("F1", "C1", 0, "W1", "P2", slot(at(0, 14)), slot(at(0, 14)) + 4, 0.33),
            FinishJob("F2", "C3", 0, "W2", "P4", slot(at(0, 21)), slot(at(0, 21)) + 4, 0.33),
        ),
    )  # fmt: skip


def big_week(n_units: int = 20, days: int = 7) -> tuple[Outlook, Plan]:
    """Seven short cycles a chamber and day, each with handling and a finishing job; rules are not kept."""
    yard = small_yard(n_units, n_people=2 * n_units)
    outlook = small_outlook(yard, days)
    cycles, jobs = [], []
    for day in range(days):
        for number, chamber in enumerate(yard.chambers):
            for turn in range(7):
                ident = f"C{day}-{chamber.id}-{turn}"
                start = outlook.grid.slot(at(day, 6.5)) + 26 * turn
                crew = f"P{number % len(yard.operators) + 1}"
                cycles.append(cycle(ident, chamber.id, start, outlook.orders[turn % 3], crew))
                end = start + 30 + turn
                jobs.append(FinishJob(f"F{ident}", ident, 0, f"W{turn % 2 + 1}", crew, end, end + 4, 0.33))
    return outlook, Plan(outlook.grid, tuple(cycles), (), tuple(jobs))
