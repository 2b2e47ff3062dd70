"""Rules of finishing and stock in a model."""

from collections import Counter, defaultdict

from yardplan.domain.plan import Cycle
from yardplan.solve.compiled import Step, runs, span_mask, spans, spread
from yardplan.solve.model.crew import crew_job, within
from yardplan.solve.model.parts import Linear, Literal, PlanModel, Position, StepJob, domain_of, positions_of
from yardplan.solve.pools import BenchPool


def finish_routing(model: PlanModel) -> None:
    """Lay out the finishing of free cycles, and of the fixed ones whose finishing is free.

    A cycle counts for its order only if it is finished to the end of its routing.
    """
    jobs = Counter(job.cycle_id for job in model.freed.plan.finishing)
    unfinished = {
        id(row)
        for row in model.freed.rows
        for cycle in row.cycles
        if jobs[cycle.id] < len(model.compiled.makes[cycle.product_id].steps)
    }
    for position in positions_of(model):
        position.ready = position.present
        if model.whole or id(position.row) in unfinished:
            position.ready = model.flag("ready")
            model.cp.add_implication(position.ready, position.present)
        earliest = position.row.start
        for product_id, lit in position.products.items():
            present = model.both(lit, position.ready, "finished") if position.ready is not lit else lit
            position.finished[product_id] = present
            position.finish[product_id] = _chain(model, position, product_id, 0, position.end, earliest, present)
    for cycle, first in model.freed.loose:
        present, after = model.flag("ready"), cycle.end_slot
        for job in model.freed.fixed.finishing:
            if job.cycle_id == cycle.id:
                after = max(after, job.end_slot)
        after = max(after, model.compiled.now_slot - model.compiled.makes[cycle.product_id].steps[first].rest_slots)
        model.loose_ready[cycle.id] = present
        model.loose_finish[cycle.id] = _chain(model, cycle, cycle.product_id, first, after, after, present)


def _chain(
    model: PlanModel,
    owner: Position | Cycle,
    product_id: str,
    first: int,
    after: Linear,
    earliest: int,
    present: Literal,
) -> Linear:
    """Add the steps from `first` on, each after its rest; returns the end of the last one."""
    for step_ix, step in enumerate(model.compiled.makes[product_id].steps[first:], start=first):
        earliest += step.rest_slots
        job = _step(model, owner, product_id, step_ix, step, earliest, present)
        if job is None:
            model.cp.add(present == 0)
            return after
        model.cp.add(job.start >= after + step.rest_slots).only_enforce_if(present)
        model.steps.append(job)
        after, earliest = job.start + step.slots, earliest + step.slots
    return after


def _step(
    model: PlanModel,
    owner: Position | Cycle,
    product_id: str,
    step_ix: int,
    step: Step,
    earliest: int,
    present: Literal,
) -> StepJob | None:
    compiled, cp = model.compiled, model.cp
    ahead = span_mask(max(earliest, compiled.now_slot), model.latest)
    at_work = 0
    for pool in model.pools.people:
        if step.skill in pool.skills:
            at_work |= pool.starts(step.slots)
    places: list[tuple[BenchPool, int]] = []
    for bench in model.pools.benches:
        if bench.kind == step.bench_kind:
            free = bench.open & model.book.power_ok(bench.unit_ix, step.watts) & ahead
            starts = runs(free & ~model.bench_held[bench.ix][-1], step.slots) & at_work
            starts &= model.book.energy_ok(bench.unit_ix, step.watts, step.slots)
            if starts:
                places.append((bench, starts))
    if not places:
        return None
    union = 0
    for _, starts in places:
        union |= starts
    start = model.slot_in(union, f"finish {product_id}.{step_ix}")
    seats = []
    for bench, starts in places:
        lit = present if len(places) == 1 else model.flag("bench")
        if starts != union:
            cp.add_linear_expression_in_domain(start, domain_of(starts)).only_enforce_if(lit)
        interval = cp.new_optional_fixed_size_interval_var(start, step.slots, lit, "bench")
        model.bench_use[bench.ix].add(interval, 1, starts, step.slots)
        if step.watts:
            model.power_use[bench.unit_ix].add(interval, step.watts, starts, step.slots)
        seats.append((bench, lit))
    if len(places) > 1:
        cp.add(sum(lit for _, lit in seats) == present)
    crew = crew_job(model, start, step.slots, ((step.skill, 1),), present, union)
    return StepJob(owner, product_id, step_ix, start, step.slots, present, crew, seats)


def bench(model: PlanModel) -> None:
    """Use each bench for one job at a time; fixed jobs are counted in."""
    for ix, use in model.bench_use.items():
        within(model, use, model.bench_held[ix])


def bench_power(model: PlanModel) -> None:
    """Keep the benches of a unit within the power that it can give beside fixed jobs."""
    for unit_ix, use in model.power_use.items():
        benches = sum(len(pool.benches) for pool in model.pools.benches if pool.unit_ix == unit_ix)
        most = max(use.demands) * benches
        short: dict[int, int] = {}
        for slot, watts in enumerate(model.book.watts_left[unit_ix]):
            if watts < most:
                short[most - max(watts, 0)] = short.get(most - max(watts, 0), 0) | 1 << slot
        held = [(span, amount) for amount, mask in short.items() for span in spans(mask & use.reach)]
        if held:
            fixed = [model.cp.new_fixed_size_interval_var(start, end - start, "fixed") for (start, end), _ in held]
            model.cp.add_cumulative(use.intervals + fixed, use.demands + [amount for _, amount in held], most)


def bench_energy(model: PlanModel) -> None:
    """Keep benches within what sun and battery leave in each span, and count evening work in the cost.

    The starts of a job are cut by how many of its slots lie after sunset, and in which span that may run short.
    """
    cp, compiled, left = model.cp, model.compiled, model.book.span_left
    masks = {id(job): _mask(job.start) for job in model.steps}
    most: dict[tuple[int, int], int] = defaultdict(int)
    for job in model.steps:
        reach = spread(masks[id(job)], job.length)
        for ix, (first, after) in compiled.energy_spans:
            if reach & span_mask(first, after):
                for unit_ix in {pool.unit_ix for pool, _ in job.seats}:
                    most[unit_ix, ix] += min(job.length, after - first) * _watts(model, job)
    scarce = {(unit_ix, ix) for (unit_ix, ix), watts in most.items() if watts > left[unit_ix][ix]}
    draws: dict[tuple[int, int], list[Linear]] = defaultdict(list)
    for job in model.steps:
        units = {pool.unit_ix for pool, _ in job.seats}
        told = {ix for unit_ix, ix in scarce if unit_ix in units and _watts(model, job)}
        cuts = compiled.energy_cuts(masks[id(job)], job.length, told)
        if set(cuts) == {(0, ())}:
            continue
        lits = {key: job.present if len(cuts) == 1 else model.flag("energy") for key in cuts}
        in_span: dict[int, list[Linear]] = defaultdict(list)
        for (dark, shares), lit in lits.items():
            model.regimes.append((job.start, cuts[dark, shares], job.present, lit))
            if lit is not job.present:
                cp.add_linear_expression_in_domain(job.start, domain_of(cuts[dark, shares])).only_enforce_if(lit)
            if dark:
                model.cost.append((compiled.problem.weights.evening * dark, lit))
            for ix, slots in shares:
                in_span[ix].append(slots * _watts(model, job) * lit)
        if len(cuts) > 1:
            cp.add(sum(lits.values()) == job.present)
        for unit_ix in units:
            there = [seat for pool, seat in job.seats if pool.unit_ix == unit_ix]
            for ix, terms in in_span.items():
                if (unit_ix, ix) not in scarce:
                    continue
                if len(there) == len(job.seats):
                    draws[unit_ix, ix] += terms
                    continue
                drawn = cp.new_int_var(0, job.length * _watts(model, job), "draws")
                cp.add(drawn >= sum(terms)).only_enforce_if(model.any_of(there, "unit"))
                draws[unit_ix, ix].append(drawn)
    for (unit_ix, ix), terms in draws.items():
        cp.add(sum(terms) <= max(left[unit_ix][ix], 0))


def _watts(model: PlanModel, job: StepJob) -> int:
    return model.compiled.makes[job.product_id].steps[job.step_ix].watts


def _mask(start: Literal) -> int:
    flat, found = list(start.proto.domain), 0
    for low, high in zip(flat[::2], flat[1::2], strict=True):
        found |= span_mask(low, high + 1)
    return found


def stock(model: PlanModel) -> None:
    """Take no more of resin and inserts than is on hand and has come by the start of charging.

    Levels only fall between deliveries, so it is enough to look just before each delivery and at the end.
    """
    compiled, cp = model.compiled, model.cp
    takers: dict[str, list[tuple[int, Position, Literal]]] = defaultdict(list)
    for position in positions_of(model):
        for option in position.options:
            order = option.line.order
            pieces = compiled.molds[option.gap.copy.mold_id].cavities
            for item, amount in compiled.uses(order.product_id, order.color, pieces).items():
                takers[item].append((amount, position, option.chosen))
    for item, wishes in takers.items():
        changes = model.book.stock[item]
        dates = sorted({slot for slot, amount in changes if amount > 0 and slot > compiled.now_slot})
        most_by: dict[int, int] = {}
        for amount, position, _ in wishes:
            most_by[id(position)] = max(most_by.get(id(position), 0), amount)
        for date in [*dates, compiled.n_slots + 1]:
            level = sum(amount for slot, amount in changes if slot < date)
            if sum(most_by.values()) <= level:
                continue
            terms: list[Linear] = []
            for amount, position, chosen in wishes:
                if date > compiled.n_slots:
                    terms.append(amount * chosen)
                    continue
                taken = model.flag("taken by then")
                cp.add(position.charge >= date).only_enforce_if([chosen, taken.negated()])
                terms.append(amount * taken)
            cp.add(sum(terms) <= level)
