"""The yard and its orders as the log leaves them, for a question asked from now on."""

from dataclasses import replace
from datetime import datetime, timedelta

from yardplan.domain.equipment import Hung, MoldCopy
from yardplan.domain.orders import Order
from yardplan.domain.people import Downtime, ResourceKind
from yardplan.domain.products import Delivery
from yardplan.domain.slots import SlotGrid, local_midnight
from yardplan.domain.state import MadeCycle, Out, Phase, YardState
from yardplan.domain.yard import Yard

CAME_WITHIN = timedelta(days=7)
"""A delivery is taken for the one that was expected so much earlier or later at most (own assumption)."""


def carried(state: YardState) -> tuple[MadeCycle, ...]:
    """Return the cycles that are still in work: in chambers and not given up, or with finishing to come."""
    done = (Phase.FINISHED, Phase.LOST)
    return tuple(made for made in state.cycles if made.phase not in done)


def in_plan(made: MadeCycle) -> int:
    """Return the pieces that a carried cycle counts in a plan; those to rework count as made."""
    return made.good + made.rework if made.demolded_at else made.cavities


def hung_at(yard: Yard, state: YardState, at: datetime) -> tuple[Hung, ...]:
    """Return what hung in the chambers at an instant, each mold with what it ran last by then."""
    hung = {row.chamber_id: row.mold for row in yard.hung}
    hung |= {chamber_id: mold for when, chamber_id, mold in state.hangings if when <= at}
    ran: dict[MoldCopy, tuple[str, str]] = {row.mold: (row.grade, row.color) for row in yard.hung}
    grades = {product.id: product.resin_grade for product in yard.products}
    ran |= {made.mold: (grades[made.product_id], made.color) for made in state.cycles if made.charged_at < at}
    return tuple(Hung(chamber_id, mold, *ran.get(mold, ("", ""))) for chamber_id, mold in hung.items())


def washed_yard(yard: Yard, state: YardState) -> Yard:
    """Return the yard with its mirrors washed as the log tells."""
    tz = SlotGrid(state.now, 1, yard.site.tz).zone
    units = tuple(
        replace(unit, washed_on=max(unit.washed_on, state.washed[unit.id].astimezone(tz).date()))
        if unit.id in state.washed
        else unit
        for unit in yard.units
    )
    return replace(yard, units=units)


def standing_yard(yard: Yard, state: YardState, grid: SlotGrid) -> Yard:
    """Return the yard from now on: who and what is missing, what hangs, what is on hand.

    Whatever is out without an end that somebody said comes back with the next day. Stock counts as before the charges
    of carried cycles that were made since the grid begins, since those count in the plan; deliveries that were due are
    there only if they were logged, and one that came early does not come again.
    """
    made = carried(state)
    since_at = min((one.charged_at for one in made), default=state.now)
    on_hand = {item_id: max(left, 0.0) for item_id, left in state.stock.items()}
    products = {product.id: product for product in yard.products}
    for one in made:
        if one.charged_at < grid.start_at or one.product_id not in products:
            continue
        product = products[one.product_id]
        resin = yard.resin(product.resin_grade, one.color)
        if resin is not None:
            on_hand[resin.id] += product.shot_kg * in_plan(one)
        for item_id, count in product.inserts:
            on_hand[item_id] += count * in_plan(one)
    return replace(
        yard,
        items=tuple(replace(item, on_hand=on_hand.get(item.id, 0.0)) for item in yard.items),
        deliveries=to_come(yard.deliveries, state),
        downtimes=yard.downtimes + _out(yard, state),
        hung=hung_at(yard, state, since_at),
    )


def to_come(deliveries: tuple[Delivery, ...], state: YardState) -> tuple[Delivery, ...]:
    """Return the deliveries that are still to come.

    What came of an item was the first delivery of it that was expected from a week before it came to a week after;
    if it was less, the rest is still to come.
    """
    left = sorted(deliveries, key=lambda row: row.arrives_at)
    for at, item_id, amount in state.received:
        for ix, row in enumerate(left):
            if row.item_id == item_id and row.amount and abs(row.arrives_at - at) <= CAME_WITHIN:
                took = min(row.amount, amount)
                left[ix], amount = replace(row, amount=row.amount - took), amount - took
    return tuple(row for row in left if row.amount and row.arrives_at > state.now)


def back_at(out: Out, now: datetime, tz: str) -> datetime:
    """Return until when something counts as out: as somebody said if that is still to come, else to the day's end."""
    if out.until_at is not None and out.until_at > now:
        return out.until_at
    tomorrow = SlotGrid(now, 1, tz).local(0).date() + timedelta(days=1)
    return local_midnight(tomorrow, tz)


def orders_to_make(orders: tuple[Order, ...], state: YardState) -> tuple[Order, ...]:
    """Return the orders with what is still to be made of them: what is finished is done, what was scrapped is not.

    Cycles in work count as planned, so they are still in the quantity; pieces to rework count as made.
    """
    in_work: dict[str, int] = {}
    for made in carried(state):
        in_work[made.order_id] = in_work.get(made.order_id, 0) + in_plan(made)
    found = []
    for order in orders:
        count = state.orders.get(order.id)
        left = order.quantity - (count.finished if count else 0)
        left = max(left, in_work.get(order.id, 0))
        if left > 0:
            found.append(replace(order, quantity=left))
    return tuple(found)


def _out(yard: Yard, state: YardState) -> tuple[Downtime, ...]:
    kinds = {unit.id: ResourceKind.UNIT for unit in yard.units}
    kinds |= {chamber.id: ResourceKind.CHAMBER for chamber in yard.chambers if chamber.id not in kinds}
    kinds |= {bench.id: ResourceKind.BENCH for bench in yard.benches if bench.id not in kinds}
    found = [
        (kind, name, out)
        for name, out in state.down.items()
        if (kind := kinds.get(name)) is not None
    ]  # fmt: skip
    people = {person.id for person in yard.operators}
    found += [(ResourceKind.OPERATOR, name, out) for name, out in state.absent.items() if name in people]
    return tuple(
        Downtime(kind, name, out.since_at, back_at(out, state.now, yard.site.tz), out.reason or "by the log")
        for kind, name, out in found
    )
