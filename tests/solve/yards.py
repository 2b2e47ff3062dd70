"""Random small yards for property tests: units, molds, copies, people, shifts, down-times, stock and orders vary."""

from dataclasses import replace
from datetime import UTC, time, timedelta
from typing import NamedTuple

import numpy as np
from hypothesis import strategies as st

from tests.small_yard import EVERY_DAY, MONDAY, TZ, at, hand_made_cook, hand_made_power, small_mold, small_unit
from yardplan.domain.equipment import Bench, Hung, MoldCopy, Site
from yardplan.domain.orders import Order
from yardplan.domain.people import HANDLING, LOADER, RIGGING, Downtime, Duty, Operator, ResourceKind, Shift
from yardplan.domain.plan import Plan
from yardplan.domain.problem import GoalWeights, Problem
from yardplan.domain.products import CleanDown, Delivery, FinishStep, Item, ItemKind, Product
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import PowerTable
from yardplan.domain.yard import Yard

COLORS = ("sand", "black")
SHIFTS = (
    Shift("early", time(6), time(14), ((time(10), 20),)),
    Shift("late", time(14), time(22), ((time(18), 20),)),
    Shift("night", time(22), time(2), (), overtime=True),
)


class Drawn(NamedTuple):
    """A problem under a short name: hypothesis would print all its arrays."""

    problem: Problem

    def __repr__(self) -> str:
        orders = ", ".join(f"{row.quantity} {row.product_id} {row.color}" for row in self.problem.orders)
        return f"<{len(self.problem.yard.units)} units, {orders}>"


@st.composite
def powers(draw: st.DrawFn, yard: Yard, grid: SlotGrid) -> PowerTable:
    """Return energy for evenings, and in half of the cases for days and afternoons with their evenings as well."""
    power = hand_made_power(yard, grid, draw(st.sampled_from([0.4, 6.0])))
    if draw(st.booleans()):
        return power
    starts = [first for morning in range(108, grid.n_slots, 288) for first in (morning, morning + 72)]
    spans = tuple((first, min(first + 216, grid.n_slots)) for first in starts)
    most = st.sampled_from([0.0, 0.3, 0.7, 1.5])
    kwh = np.array([[draw(most) for _ in spans] for _ in yard.units], np.float32)
    return replace(power, spans=power.spans + spans, span_kwh=np.concatenate([power.span_kwh, kwh], axis=1))


@st.composite
def small_problems(draw: st.DrawFn, max_orders: int = 4) -> Drawn:
    """Return a problem of one or two units over two or three days."""
    n_units = draw(st.integers(1, 2))
    n_molds = draw(st.integers(1, 3))
    molds = tuple(
        replace(
            small_mold(f"M{ix + 1}", copies=draw(st.integers(1, 2))),
            cavities=draw(st.sampled_from([1, 1, 2])),
            change_min=draw(st.sampled_from([0, 30, 60])),
            change_crew=draw(st.integers(0, 2)),
        )
        for ix in range(n_molds)
    )
    products = tuple(
        Product(
            f"P{ix + 1}", f"Product {ix + 1}", "PE-L", 20.0, 6.0, 205.0, 70.0,
            draw(st.sampled_from([0, 10, 15])), draw(st.integers(0, 2)),
            draw(st.sampled_from([0, 10, 15])), draw(st.integers(0, 2)),
            tuple({molds[ix].id, molds[draw(st.integers(0, n_molds - 1))].id}),
            tuple(
                FinishStep("cut", "bench", "finishing", minutes, 1.0, rest_min)
                for minutes, rest_min in draw(st.lists(st.sampled_from([(15, 0), (30, 120)]), max_size=2))
            ),
            (("BOLT", 2),) if draw(st.booleans()) else (),
        )
        for ix in range(n_molds)
    )  # fmt: skip
    skills = st.sampled_from([
        frozenset({HANDLING}), frozenset({HANDLING, "finishing"}), frozenset({HANDLING, RIGGING, LOADER}),
        frozenset({HANDLING, RIGGING, LOADER, "finishing"}),
    ])  # fmt: skip
    rosters = st.sampled_from([SHIFTS[:1], SHIFTS[1:2], SHIFTS[:2], SHIFTS[1:]])
    people = tuple(
        Operator(
            f"O{ix + 1}", f"Operator {ix + 1}", draw(skills),
            tuple(Duty(shift.id, EVERY_DAY) for shift in draw(rosters)),
            frozenset({MONDAY + timedelta(days=1)}) if draw(st.integers(0, 5)) == 0 else frozenset(),
            draw(st.sampled_from([1, 1, 1, 2])),
        )
        for ix in range(draw(st.integers(2, 5)))
    )  # fmt: skip
    units = tuple(small_unit(ix + 1) for ix in range(n_units))
    chambers = [chamber.id for unit in units for chamber in unit.chambers]
    copies = [MoldCopy(mold.id, copy + 1) for mold in molds for copy in range(mold.copies)]
    n_hung = draw(st.integers(0, min(len(chambers), len(copies))))
    hung = tuple(
        Hung(chamber, copy, *draw(st.sampled_from([("", ""), ("PE-L", "sand")])))
        for chamber, copy in zip(chambers, draw(st.permutations(copies))[:n_hung], strict=False)
    )
    downtimes = ()
    if draw(st.booleans()):
        kind, ident = draw(
            st.sampled_from([
                (ResourceKind.UNIT, "U1"), (ResourceKind.CHAMBER, "1A"), (ResourceKind.YARD, ""),
                (ResourceKind.MOLD, str(copies[0])), (ResourceKind.BENCH, "W1"), (ResourceKind.OPERATOR, "O1"),
            ])
        )  # fmt: skip
        start = draw(st.integers(6, 40))
        downtimes = (Downtime(kind, ident, at(0, start), at(0, start + draw(st.integers(1, 6))), "washing"),)
    yard = Yard(
        site=Site("Invented mesa", 35.0, -106.0, 1600.0, TZ, loaders=draw(st.integers(0, 2))),
        units=units, molds=molds, products=products,
        items=(
            Item("R-SAND", "PE sand", ItemKind.RESIN, draw(st.sampled_from([45.0, 5000.0])), "PE-L", "sand"),
            Item("R-BLACK", "PE black", ItemKind.RESIN, 5000.0, "PE-L", "black"),
            Item("BOLT", "Bolt", ItemKind.INSERT, draw(st.sampled_from([3.0, 500.0]))),
        ),
        benches=tuple(Bench(f"W{ix + 1}", f"Bench {ix + 1}", "bench", f"U{1 + ix % n_units}") for ix in range(2)),
        shifts=SHIFTS, operators=people,
        clean_downs=(CleanDown("*", "*", 30), CleanDown("sand", "black", draw(st.sampled_from([0, 15])))),
        deliveries=(Delivery("R-SAND", at(1, 9), 100.0), Delivery("BOLT", at(1, 9), 20.0)),
        downtimes=downtimes, hung=hung, colors=COLORS,
    )  # fmt: skip
    days = draw(st.integers(2, 3))
    grid = SlotGrid.of_days(MONDAY, days, TZ)
    orders = tuple(
        Order(
            f"Y-{ix + 1}", "Invented customer", draw(st.sampled_from(products)).id, draw(st.sampled_from(COLORS)),
            draw(st.integers(1, 4)), at(draw(st.integers(0, days)), draw(st.sampled_from([12, 24]))),
            at(draw(st.integers(0, days)), 18) if draw(st.booleans()) else None, draw(st.integers(1, 3)),
        )
        for ix in range(draw(st.integers(1, max_orders)))
    )  # fmt: skip
    problem = Problem(
        yard=yard, orders=orders, grid=grid, cook=hand_made_cook(yard, grid),
        power=draw(powers(yard, grid)),
        now=grid.start_at.astimezone(UTC) + timedelta(minutes=draw(st.sampled_from([0, 0, 437]))), confidence=0.8,
        kept=Plan(grid), weights=draw(st.sampled_from([GoalWeights(), GoalWeights(late_order=30_000, slack_slots=60)])),
    )  # fmt: skip
    return Drawn(problem)
