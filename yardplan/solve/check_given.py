"""Rules of what is ordered, stocked, down, and kept; names and the plan's days."""

from collections import defaultdict
from collections.abc import Iterator

from yardplan.domain.people import ResourceKind
from yardplan.domain.plan import Cycle, MoldChange, UpkeepJob
from yardplan.domain.products import ItemKind
from yardplan.domain.rules import Rule, Violation
from yardplan.solve.check_case import Case, Row, Span, broken, row_span

_TOLERANCE = 1e-6
"""kg or pieces by which sums of floating-point numbers may be off."""

_YARD = (ResourceKind.YARD, "")
"""The yard as a resource that may be down; it needs no name."""


def known_names(case: Case) -> Iterator[Violation]:
    """Demand that orders, products, molds, chambers, benches and people exist, and ids are used once."""
    seen: dict[str, Row] = {}
    for row in case.rows:
        for kind, name in case.unknown(row):
            yield broken(Rule.KNOWN, f"{case.name(row)} names {kind} {name!r}, which does not exist", row)
        if row.id in seen:
            text = f"the id {row.id} is used twice: {case.name(seen[row.id])} and {case.name(row)}"
            yield broken(Rule.KNOWN, text, row)
        seen[row.id] = row


def quantity(case: Case) -> Iterator[Violation]:
    """Demand full cavities of the order's product and color, and no cycle more than the order needs."""
    made = defaultdict(list)
    for cycle in case.cycles:
        made[cycle.order_id].append(cycle)
        order, mold, name = case.orders[cycle.order_id], case.molds[cycle.mold.mold_id], case.name(cycle)
        if case.is_fact(cycle):
            continue
        if cycle.pieces != mold.cavities:
            text = f"{name} counts {cycle.pieces} pieces, mold {mold.id} gives {mold.cavities}"
            yield broken(Rule.QUANTITY, text, cycle)
        if (cycle.product_id, cycle.color) != (order.product_id, order.color):
            text = (
                f"{name} makes {cycle.product_id} in {cycle.color}, "
                f"order {order.id} asks for {order.product_id} in {order.color}"
            )
            yield broken(Rule.QUANTITY, text, cycle)
    for order_id, cycles in made.items():
        asked, planned = case.orders[order_id].quantity, sum(cycle.pieces for cycle in cycles)
        spare = [cycle for cycle in cycles if not case.is_kept(cycle) and planned - cycle.pieces >= asked]
        if spare:
            text = (
                f"order {order_id} asks for {asked} pieces and {planned} are planned: "
                f"one of {', '.join(cycle.id for cycle in spare)} is not needed"
            )
            yield broken(Rule.QUANTITY, text, *spare)


def horizon(case: Case) -> Iterator[Violation]:
    """Demand that new work starts at or after `now` and ends inside the grid."""
    for row in case.rows:
        if not case.is_near(row):
            yield broken(Rule.HORIZON, f"{case.name(row)} has slots more than a year off the plan's days", row)
        if case.is_kept(row):
            continue
        start_slot, end_slot = row_span(row)
        if start_slot < case.now_slot:
            first = case.when(case.now_slot)
            text = f"{case.name(row)} would start at {case.when(start_slot)}, new work may start from {first} on"
            yield broken(Rule.HORIZON, text, row)
        if end_slot > case.n_slots:
            text = f"{case.name(row)} ends at {case.when(end_slot)}, the plan's days end at {case.when(case.n_slots)}"
            yield broken(Rule.HORIZON, text, row)


def stock(case: Case) -> Iterator[Violation]:
    """Demand that resin and inserts on hand plus deliveries so far are not overdrawn.

    Each cycle takes what it needs when its charging starts; kept cycles that started before the grid have
    taken theirs already.
    """
    used = defaultdict(list)
    for cycle in case.cycles:
        if case.is_kept(cycle) and cycle.charge_slot < 0:
            continue
        product, pieces = case.products[cycle.product_id], max(cycle.pieces, 0)
        resin = case.yard.resin(product.resin_grade, cycle.color)
        if resin is None:
            text = f"{case.name(cycle)} needs {product.resin_grade} in {cycle.color}, which the yard does not keep"
            yield broken(Rule.STOCK, text, cycle)
        else:
            used[resin.id].append((cycle, product.shot_kg * pieces))
        for item_id, count in product.inserts:
            used[item_id].append((cycle, count * pieces))
    items = {item.id: item for item in case.yard.items}
    for item_id, takings in used.items():
        arrivals = [
            (case.grid.slot_up(delivery.arrives_at), delivery.amount)
            for delivery in case.yard.deliveries
            if delivery.item_id == item_id
        ]
        item, taken, short, first_text = items[item_id], 0.0, [], ""
        measure = "kg" if item.kind is ItemKind.RESIN else "pieces"
        for cycle, amount in sorted(takings, key=lambda taking: (taking[0].charge_slot, taking[0].id)):
            taken += amount
            there = item.on_hand + sum(come for slot, come in arrivals if slot <= cycle.charge_slot)
            if taken > there + _TOLERANCE:
                short.append(cycle)
                first_text = first_text or (
                    f"{item.name} runs out at {case.when(cycle.charge_slot)} with {case.name(cycle)}: "
                    f"{taken:g} {measure} are needed by then, {there:g} {measure} are there"
                )
        if short:
            yield broken(Rule.STOCK, first_text, *short)


def downtime(case: Case) -> Iterator[Violation]:
    """Demand that nothing happens on what is down.

    While the yard, a unit or a chamber is down nothing is handled, heated, cooled or changed there; a filled mold
    may wait in it. Benches fed by a unit go on while it is down. A mold that is down is not in a cycle, from
    charging to the end. What upkeep is done on is down as long as it lasts.
    """
    on_resource: dict[tuple[ResourceKind, str], list[Span]] = defaultdict(list)
    for span, resources in _uses(case):
        if not case.is_fact(span.row):
            for resource in resources:
                on_resource[resource].append(span)
    for down in case.yard.downtimes:
        # Each slot that the down-time touches is lost.
        start_slot, end_slot = case.grid.slot(down.start_at), case.grid.slot_up(down.end_at)
        what, resource = f"{down.kind} {down.resource_id}", (down.kind, down.resource_id)
        if down.kind is ResourceKind.YARD:
            what, resource = "the yard", _YARD
        for span in on_resource[resource]:
            if span.overlaps(start_slot, end_slot):
                text = (
                    f"{span.doing}, {case.from_to(span.start_slot, span.end_slot)}, while {what} is down "
                    f"{case.from_to(start_slot, end_slot)} ({down.reason})"
                )
                yield broken(Rule.DOWNTIME, text, span.row)
    for job in case.upkeep_jobs:
        upkeep = case.upkeep[job.upkeep_id]
        for span in on_resource[upkeep.kind, upkeep.resource_id]:
            if span.row is not job and span.overlaps(job.start_slot, job.end_slot):
                text = (
                    f"{span.doing}, {case.from_to(span.start_slot, span.end_slot)}, while {upkeep.name} of "
                    f"{upkeep.kind} {upkeep.resource_id} is done {case.from_to(job.start_slot, job.end_slot)}"
                )
                yield broken(Rule.DOWNTIME, text, span.row, job)


def upkeep(case: Case) -> Iterator[Violation]:
    """Demand that upkeep is done once, between its instants and for its full length.

    What is overdue may be done at any time; what is not planned at all is told beside the plan, not here, since
    there may be nobody to do it.
    """
    done: dict[str, UpkeepJob] = {}
    for job in case.upkeep_jobs:
        asked, name = case.upkeep[job.upkeep_id], case.name(job)
        if job.upkeep_id in done:
            text = f"{name} does {asked.name} again, which {case.name(done[job.upkeep_id])} does already"
            yield broken(Rule.UPKEEP, text, done[job.upkeep_id], job)
        done[job.upkeep_id] = job
        if case.is_fact(job):
            continue
        slots = case.grid.slots_up(asked.minutes)
        if job.end_slot - job.start_slot != slots:
            text = f"{name} lasts {case.minutes(job.end_slot - job.start_slot)}, {asked.name} takes {asked.minutes} min"
            yield broken(Rule.UPKEEP, text, job)
        first_slot, due_slot = case.grid.slot_up(asked.from_at), case.grid.slot(asked.due_at)
        is_overdue = due_slot < case.now_slot + slots
        if job.start_slot < first_slot or (job.end_slot > due_slot and not is_overdue):
            text = (
                f"{name}, {case.from_to(job.start_slot, job.end_slot)}, is to be done between "
                f"{case.when(first_slot)} and {case.when(due_slot)}"
            )
            yield broken(Rule.UPKEEP, text, job)


def kept_work(case: Case) -> Iterator[Violation]:
    """Demand that running, frozen and locked work stays as it is."""
    kept = case.problem.kept
    for rows, planned in (
        (kept.cycles, case.plan.cycles),
        (kept.mold_changes, case.plan.mold_changes),
        (kept.finishing, case.plan.finishing),
        (kept.upkeep, case.plan.upkeep),
    ):
        found = {row.id: row for row in planned}
        for row in rows:
            if row.id not in found:
                yield broken(Rule.KEPT, f"{case.name(row)} must stay, but is not in the plan", row)
            elif found[row.id] != row:
                now = vars(found[row.id])
                changed = ", ".join(
                    f"{field.removesuffix('_slot').replace('_', ' ')} "
                    f"from {_told(case, field, value)} to {_told(case, field, now[field])}"
                    for field, value in vars(row).items()
                    if now[field] != value
                )
                yield broken(Rule.KEPT, f"{case.name(row)} must stay as it is, but was changed: {changed}", row)


def _told(case: Case, field: str, value: object) -> str:
    return case.when(value) if field.endswith("_slot") and isinstance(value, int) else str(value)


def _uses(case: Case) -> Iterator[tuple[Span, list[tuple[ResourceKind, str]]]]:
    """Yield each span of work with the resources that must not be down while it lasts."""
    for work in case.work:
        people = [(ResourceKind.OPERATOR, person_id) for person_id in sorted(set(work.people))]
        if isinstance(work.row, Cycle | MoldChange):
            yield work, people + _place(case, work.row.chamber_id)
        elif isinstance(work.row, UpkeepJob):
            asked = case.upkeep[work.row.upkeep_id]
            yield work, [*people, (asked.kind, asked.resource_id), _YARD]
        else:
            yield work, [*people, (ResourceKind.BENCH, work.row.bench_id), _YARD]
    for cycle in case.cycles:
        name, place = case.name(cycle), _place(case, cycle.chamber_id)
        yield Span(cycle, f"heat of {name}", cycle.heat_slot, cycle.heat_end_slot), place
        yield Span(cycle, f"cooling of {name}", cycle.heat_end_slot, cycle.cool_end_slot), place
        yield Span(cycle, f"mold of {name}", cycle.charge_slot, cycle.end_slot), [(ResourceKind.MOLD, str(cycle.mold))]


def _place(case: Case, chamber_id: str) -> list[tuple[ResourceKind, str]]:
    unit = case.yard.units[case.unit_ix[chamber_id]]
    return [(ResourceKind.CHAMBER, chamber_id), (ResourceKind.UNIT, unit.id), _YARD]
