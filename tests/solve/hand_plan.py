"""A valid plan of the small yard, worked out by hand, on which every rule of the checker is near its edge.

Cook times by the formula of `hand_made_cook`: 45 min x (1 + ((h - 12.5) / 4)^2), rounded up to 5 min; cooling 35 min.
"""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from tests.small_yard import EVERY_DAY, MONDAY, TZ, at, hand_made_cook, hand_made_power, small_orders, small_yard
from yardplan.domain.equipment import Bench, MoldCopy
from yardplan.domain.heat_work import WorkLimits
from yardplan.domain.people import HANDLING, Downtime, Duty, Operator, ResourceKind, Upkeep
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan, UpkeepJob
from yardplan.domain.problem import Problem
from yardplan.domain.products import Delivery, FinishStep
from yardplan.domain.rules import Rule
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import PowerTable
from yardplan.domain.yard import Yard
from yardplan.solve.check import check

GRID = SlotGrid.of_days(MONDAY, 3, TZ)
DAYS = {"Mon": 0, "Tue": 1, "Wed": 2}


def slot(text: str) -> int:
    """The slot of a time such as ``Mon 09:15`` in a week without clock change."""
    day, hour, minute = text[:3], int(text[4:6]), int(text[7:9])
    return DAYS[day] * 288 + hour * 12 + minute // 5


def moment(text: str) -> datetime:
    """The instant of a time such as ``Mon 09:15``."""
    return at(DAYS[text[:3]], 0) + timedelta(hours=int(text[4:6]), minutes=int(text[7:9]))


def hand_yard() -> Yard:
    """The small yard with one more person, bench and finishing step, sand in three lots, and a bench down."""
    yard = small_yard()
    tank, bin_ = yard.products
    inspect = FinishStep("inspect", "bench", "finishing", 10, 0.0)
    sand, black = yard.items
    return replace(
        yard,
        products=(replace(tank, routing=(*tank.routing, inspect)), bin_),
        benches=(*yard.benches, Bench("T1", "Leak tank", "tank", "U1")),
        operators=(*yard.operators, Operator("P5", "Person 5", frozenset({HANDLING}), (Duty("late", EVERY_DAY),))),
        items=(replace(sand, on_hand=20.0), replace(black, on_hand=16.0)),
        deliveries=(Delivery("R-SAND", moment("Mon 09:15"), 8.0), Delivery("R-SAND", moment("Tue 08:00"), 20.0)),
        downtimes=(Downtime(ResourceKind.BENCH, "W2", moment("Mon 12:00"), moment("Mon 19:00"), "new blade"),),
        upkeep=(
            Upkeep(
                id="GREASE",
                name="greasing",
                kind=ResourceKind.CHAMBER,
                resource_id="1B",
                minutes=30,
                skill="finishing",
                crew=1,
                from_at=moment("Tue 14:00"),
                due_at=moment("Tue 18:00"),
            ),
        ),
    )


def hand_power(yard: Yard) -> PowerTable:
    """Two kW for benches, half a kW from 17:00 to 18:00 on Monday, and half a kWh in each evening."""
    power = hand_made_power(yard, GRID, evening_kwh=0.5)
    finish_kw = np.full_like(power.finish_kw, 2.0)
    finish_kw[:, slot("Mon 17:00") : slot("Mon 18:00")] = 0.5
    return replace(power, finish_kw=finish_kw)


def hand_limits() -> WorkLimits:
    """25 min of heavy work in any hour on Monday from 11:00 to 13:00."""
    heavy_min = np.full(GRID.n_slots, 60)
    heavy_min[slot("Mon 11:00") : slot("Mon 13:00")] = 25
    return WorkLimits(heavy_min, np.full(GRID.n_slots, 60))


def hand_plan() -> Plan:
    one, two, three = MoldCopy("M1", 1), MoldCopy("M2", 1), MoldCopy("M2", 2)
    return Plan(
        GRID,
        cycles=(
            # 45 x (1 + (3.25 / 4)^2) = 74.7 -> 75 min
            hand_cycle("C1", "Y-1", "TANK", "sand", one, "1A", 0,
                       "Mon 09:00", "Mon 09:15", "Mon 10:30", "Mon 11:05", "Mon 11:05", "Mon 11:20", "P1", "P1"),
            # 45 x (1 + (2 / 4)^2) = 56.25 -> 60 min
            hand_cycle("C2", "Y-3", "BIN", "sand", two, "1B", 0,
                       "Mon 09:20", "Mon 10:30", "Mon 11:30", "Mon 12:05", "Mon 12:05", "Mon 12:15", "P3", "P3"),
            # 45 x (1 + (0.1667 / 4)^2) = 45.08 -> 50 min; sand to black takes 15 min
            hand_cycle("C3", "Y-2", "BIN", "black", two, "1B", 3,
                       "Mon 12:15", "Mon 12:40", "Mon 13:30", "Mon 14:05", "Mon 14:05", "Mon 14:15", "P1", "P2"),
            # 45 x (1 + (3.3333 / 4)^2) = 76.25 -> 80 min
            hand_cycle("C4", "Y-2", "BIN", "black", three, "1A", 0,
                       "Tue 09:00", "Tue 09:10", "Tue 10:30", "Tue 11:05", "Tue 11:05", "Tue 11:15", "P1", "P1"),
        ),
        mold_changes=(MoldChange("X1", "1A", one, three, slot("Mon 14:30"), slot("Mon 15:30"), ("P2", "P4")),),
        finishing=(
            hand_job("F1", "C1", 0, "W1", "P2", "Mon 19:50", "Mon 20:10", 1 / 3),
            hand_job("F2", "C1", 1, "W1", "P2", "Mon 20:20", "Mon 20:30", 0.0),
            hand_job("F3", "C2", 0, "W2", "P4", "Mon 20:00", "Mon 20:20", 1 / 3),
            hand_job("F4", "C3", 0, "W1", "P2", "Mon 16:30", "Mon 16:50", 1 / 3, locked=True),
        ),
        upkeep=(UpkeepJob("K1", "GREASE", slot("Tue 14:00"), slot("Tue 14:30"), ("P2",)),),
    )  # fmt: skip


def hand_problem() -> Problem:
    """The question that `hand_plan` answers: Monday 08:00, with one finishing job locked."""
    yard = hand_yard()
    locked = tuple(job for job in hand_plan().finishing if job.locked)
    return Problem(
        yard=yard, orders=small_orders(), grid=GRID, cook=hand_made_cook(yard, GRID), power=hand_power(yard),
        now=moment("Mon 08:00"), confidence=0.8, kept=Plan(GRID, finishing=locked),
    )  # fmt: skip


def hand_cycle(
    ident: str, order: str, product: str, color: str, mold: MoldCopy, chamber: str, clean_slots: int,
    charge: str, heat: str, heat_end: str, cool_end: str, demold: str, end: str, charger: str, demolder: str,
) -> Cycle:  # fmt: skip
    return Cycle(
        ident, order, product, color, mold, chamber, 1, slot(charge), clean_slots, slot(heat), slot(heat_end),
        slot(cool_end), slot(demold), slot(end), (charger,), (demolder,),
    )  # fmt: skip


def hand_job(
    ident: str,
    cycle: str,
    step_ix: int,
    bench: str,
    who: str,
    start: str,
    end: str,
    kwh: float,
    *,
    locked: bool = False,
) -> FinishJob:
    return FinishJob(ident, cycle, step_ix, bench, who, slot(start), slot(end), kwh, locked)


def changed(plan: Plan, ident: str, **changes: Any) -> Plan:
    """The plan with fields of one row replaced; times are given as ``Mon 09:15``."""
    fields = {
        name: slot(value) if name.endswith("_slot") and isinstance(value, str) else value
        for name, value in changes.items()
    }
    return replace(
        plan,
        **{
            kind: tuple(replace(row, **fields) if row.id == ident else row for row in getattr(plan, kind))
            for kind in ("cycles", "mold_changes", "finishing", "upkeep")
        },
    )


def without(plan: Plan, *idents: str) -> Plan:
    """The plan without some rows."""
    return replace(
        plan,
        **{
            kind: tuple(row for row in getattr(plan, kind) if row.id not in idents)
            for kind in ("cycles", "mold_changes", "finishing", "upkeep")
        },
    )


def rules(problem: Problem, plan: Plan) -> set[Rule]:
    return {violation.rule for violation in check(problem, plan)}


def texts(problem: Problem, plan: Plan) -> str:
    return "\n".join(violation.text for violation in check(problem, plan))


def with_yard(**changes: Any) -> Problem:
    problem = hand_problem()
    return replace(problem, yard=replace(problem.yard, **changes))


def with_mold(ident: str, **changes: Any) -> Problem:
    molds = hand_yard().molds
    return with_yard(molds=tuple(replace(mold, **changes) if mold.id == ident else mold for mold in molds))


def with_chamber(ident: str, **changes: Any) -> Problem:
    (unit,) = hand_yard().units
    chambers = tuple(replace(chamber, **changes) if chamber.id == ident else chamber for chamber in unit.chambers)
    return with_yard(units=(replace(unit, chambers=chambers),))


def with_product(ident: str, **changes: Any) -> Problem:
    products = hand_yard().products
    return with_yard(products=tuple(replace(row, **changes) if row.id == ident else row for row in products))


def with_person(ident: str, **changes: Any) -> Problem:
    people = hand_yard().operators
    return with_yard(operators=tuple(replace(row, **changes) if row.id == ident else row for row in people))


def with_order(ident: str, **changes: Any) -> Problem:
    problem = hand_problem()
    orders = tuple(replace(order, **changes) if order.id == ident else order for order in problem.orders)
    return replace(problem, orders=orders)


def with_down(kind: ResourceKind, ident: str, start: str, end: str) -> Problem:
    down = Downtime(kind, ident, moment(start), moment(end), "service")
    return with_yard(downtimes=(*hand_yard().downtimes, down))
