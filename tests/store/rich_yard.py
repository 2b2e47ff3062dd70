"""An invented yard that uses every field that a yard can have, none of them at its default."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from tests.small_yard import MONDAY, TZ, small_mold, small_orders, small_unit, small_yard
from yardplan.domain.equipment import Bench, Hung, Load, MoldCopy, MoldMetal, Site
from yardplan.domain.heat_work import WorkRest
from yardplan.domain.log import LoggedCycle
from yardplan.domain.outcome import GoalParts, SolveOutcome, Status
from yardplan.domain.people import Downtime, Duty, Operator, ResourceKind, Shift
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.products import CleanDown, Delivery, FinishStep, Item, ItemKind
from yardplan.domain.risk import OrderRisk, PlanRisk
from yardplan.domain.rules import Blocked, Why
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import Weather
from yardplan.domain.yard import Yard

NOON = datetime(2027, 5, 17, 18, tzinfo=UTC)


def rich_yard() -> Yard:
    small = small_yard(n_units=3)
    tank, bin_ = small.products
    steps = (
        FinishStep("trim", "bench", "trimming", 15, 0.5, rest_min=60),
        FinishStep("leak test", "test stand", "testing", 10, 1.25, rest_min=5),
        FinishStep("pack", "bench", "trimming", 5, 0.0),
    )
    return Yard(
        # Figures without an exact binary form show that nothing is rounded on the way.
        site=Site("Mesa “Ñandú”", 35.1, -106.7, 1600.3, TZ, 12.5, 13.3, 10.1, 2.7, 2),
        units=(
            replace(
                small.units[2], id="Z", target_up_m=2.1, wind_through_frac=0.35,
                washes_on=(date(2027, 5, 19), date(2027, 5, 24)), wash_min=75, wash_crew=3,
            ),
            small.units[0],
            small_unit(2, 30),
        ),
        molds=(
            replace(
                small_mold("M9#odd", copies=3), metal=MoldMetal.STEEL, shell_kg=210.7, change_crew=2, max_shell_c=247.3
            ),
            small_mold("M1"), small_mold("M2", copies=2),
        ),
        products=(
            replace(bin_, mold_ids=("M2", "M9#odd"), routing=steps, inserts=(("NUT", 4), ("LID", 1))),
            replace(tank, routing=()),
        ),
        items=(
            *small.items, Item("NUT", "Brass nut", ItemKind.INSERT, 250.0, piece_kg=0.013, lead_days=12),
            Item("LID", "Lid", ItemKind.INSERT, 12.5),
        ),
        benches=(
            Bench("W2", "Bench 2", "bench", "U2"), Bench("W1", "Bench 1", "bench", "Z"),
            Bench("T1", "Stand", "test stand", "Z"),
        ),
        shifts=(
            Shift("night", time(22), time(2, 30), overtime=True),
            Shift("day", time(6, 15), time(14), ((time(9), 15), (time(11, 30), 30))),
        ),
        operators=(
            Operator("P2", "Person Two", frozenset(), ()),
            Operator(
                "P1", "Person One", frozenset({"trimming", "loader", "handling"}),
                (
                    Duty("day", frozenset({0, 2, 4}), date(2027, 1, 4), date(2027, 6, 30)),
                    Duty("night", frozenset({5}), last_on=date(2027, 12, 31)),
                ),
                frozenset({date(2027, 5, 18), date(2027, 7, 5)}), 2,
            ),
        ),
        clean_downs=(CleanDown("sand", "*", 25), CleanDown("*", "*", 40), CleanDown("black", "sand", 90)),
        deliveries=(
            Delivery("NUT", NOON + timedelta(days=3), 1000.0), Delivery("R-SAND", NOON + timedelta(days=1), 0.1),
            Delivery("NUT", NOON + timedelta(days=3), 1000.0),
        ),
        downtimes=(
            Downtime(ResourceKind.MOLD, "M9#odd#3", NOON, NOON + timedelta(hours=5), "paint"),
            Downtime(ResourceKind.YARD, "", NOON + timedelta(days=1), NOON + timedelta(days=2), "holiday"),
        ),
        hung=(Hung("2B", MoldCopy("M9#odd", 3), "PE-L", "black"), Hung("1A", MoldCopy("M1", 1))),
        work_rest=(WorkRest(95.0, 60, 45), WorkRest(103.5, 30, 0)),
        loads=(
            Load("fans", "*", time(18), time(21, 30), 0.3), Load("lights", "Z", time(20), time(1), 0.15),
        ),
        colors=("sand", "black", "sky"),
    )  # fmt: skip


def rich_outcome(cost: int = 3_000_000_000_000) -> SolveOutcome:
    """Not a plan that would pass the check, but one that fills every column."""
    grid = SlotGrid.of_days(MONDAY, 2, TZ)
    cycle = Cycle(
        "C2", "Y-1", "TANK", "sand", MoldCopy("M1", 1), "1A", 1, -5, 3, 10, 20, 30, 31, 34, ("P3", "P1"), ("P2",), True
    )
    return SolveOutcome(
        plan=Plan(
            grid,
            cycles=(cycle, replace(cycle, id="C1", charge_slot=100, charge_crew=(), locked=False)),
            mold_changes=(
                MoldChange("X1", "1A", None, MoldCopy("M1", 1), 40, 52, ("P1", "P4")),
                MoldChange("X2", "1B", MoldCopy("M2", 2), MoldCopy("M2", 1), 60, 72, ("P1",), locked=True),
            ),
            finishing=(
                FinishJob("F1", "C2", 0, "W1", "P2", 60, 64, 0.1),
                FinishJob("F0", "C2", 1, "W1", "P2", 70, 71, 0),
            ),
        ),
        status=Status.STOPPED,
        parts=GoalParts(cost, 1, 2, 3, 4, 5, 6, 7, 8, 9),
        bound=1_000_000_000_000,
        blocked=(Blocked("Y-3", Why.NO_HEAT, "from 15:00"), Blocked("Y-2", Why.NO_ROOM)),
        seconds=1.1,
        seed=2**40,
    )


RISK = PlanRisk(
    21, (OrderRisk("Y-2", 0.1 + 0.2, 3, 70, None), OrderRisk("Y-1", None, None, None, None)), 1 / 3, 0.0
)  # fmt: skip


def made(session, outcome: SolveOutcome, add_plan):
    return add_plan(
        session,
        outcome,
        made_at=NOON,
        made_by="Pat",
        confidence=0.8,
        heat_source="typical year",
        fingerprint="ab12",
        risk=RISK if outcome.plan.cycles else None,
    )


def logged(number: int) -> LoggedCycle:
    start = NOON + timedelta(hours=number)
    minute = timedelta(minutes=1)
    return LoggedCycle(
        f"L{number}", "1A", MoldCopy("M1", 1), "TANK", "sand", start, start + 10 * minute,
        None if number % 5 == 4 else start + 50 * minute, start + 90 * minute, 203.7, 1, number % 2, "windy",
    )  # fmt: skip


def typical_weather() -> Weather:
    """Three hours, with a gap, at half past."""
    rng = np.random.default_rng(7)
    arrays = rng.normal(100, 30, (7, 3)).astype(np.float32)
    arrays[2, 1] = np.nan
    starts = tuple(datetime(2001, 12, 31, 22, 30, tzinfo=UTC) + timedelta(hours=i) for i in range(3))
    return Weather(starts, 60, *arrays, source="invented for a test", issued_at=NOON)


__all__ = ["NOON", "logged", "made", "rich_outcome", "rich_yard", "small_orders", "small_yard", "typical_weather"]
