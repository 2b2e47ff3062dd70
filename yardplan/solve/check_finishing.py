"""Rules of finishing: routing, rest, benches and their electricity."""

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from yardplan.domain.plan import FinishJob
from yardplan.domain.products import FinishStep
from yardplan.domain.rules import Rule, Violation
from yardplan.solve.check_case import Case, Span, broken, crowded

_TOLERANCE = 1e-6
"""kW or kWh by which sums of floating-point numbers may be off."""


def finish_routing(case: Case) -> Iterator[Violation]:
    """Demand that finishing follows the product's routing, each step once, with its length and energy."""
    done = defaultdict(list)
    for job in case.plan.finishing:
        cycle = case.cycle.get(job.cycle_id)
        if cycle is not None and case.step(job) is None:
            n_steps = len(case.products[cycle.product_id].routing)
            text = f"{case.name(job)} is step {job.step_ix + 1}; {cycle.product_id} has {n_steps} finishing steps"
            yield broken(Rule.ROUTING, text, job)
    for job, _ in case.finishing:
        done[job.cycle_id, job.step_ix].append(job)
    for (cycle_id, step_ix), jobs in done.items():
        if len(jobs) > 1 and not all(map(case.is_fact, jobs)):
            text = f"step {step_ix + 1} of cycle {cycle_id} is planned {len(jobs)} times"
            yield broken(Rule.ROUTING, text, *jobs)
    for job, step in case.finishing:
        if case.is_fact(job):
            continue
        name = f"{case.name(job)} ({step.name})"
        if job.step_ix > 0 and (job.cycle_id, job.step_ix - 1) not in done:
            text = f"{name} is step {job.step_ix + 1} of cycle {job.cycle_id}, but the step before it is not planned"
            yield broken(Rule.ROUTING, text, job)
        needed_slots, planned_slots = case.grid.slots_up(step.minutes), job.end_slot - job.start_slot
        if planned_slots != needed_slots:
            text = (
                f"{name} lasts {case.minutes(planned_slots)} from {case.when(job.start_slot)}, "
                f"it takes {case.minutes(needed_slots)}"
            )
            yield broken(Rule.ROUTING, text, job)
        kwh = step.power_kw * step.minutes / 60
        if not abs(job.kwh - kwh) <= max(0.01 * kwh, _TOLERANCE):
            text = f"{name} counts {job.kwh:.3g} kWh; {step.power_kw:g} kW for {step.minutes} min are {kwh:.3g} kWh"
            yield broken(Rule.ROUTING, text, job)


def finish_rest(case: Case) -> Iterator[Violation]:
    """Demand the part's rest after demolding, or after the step before."""
    ends = {(job.cycle_id, job.step_ix): job.end_slot for job, _ in case.finishing}
    for job, step in case.finishing:
        first = job.step_ix == 0
        end_slot = case.cycle[job.cycle_id].end_slot if first else ends.get((job.cycle_id, job.step_ix - 1))
        if end_slot is None or case.is_fact(job):
            continue
        rested_slot = end_slot + case.grid.slots_up(step.rest_min)
        if job.start_slot < rested_slot:
            text = (
                f"{case.name(job)} ({step.name}) starts at {case.when(job.start_slot)}; "
                f"{'demolding' if first else 'the step before'} of cycle {job.cycle_id} ends at {case.when(end_slot)}, "
                f"with {step.rest_min} min of rest it may start at {case.when(rested_slot)}"
            )
            yield broken(Rule.REST, text, job)


def bench(case: Case) -> Iterator[Violation]:
    """Demand a bench of the right kind, with one job at a time."""
    spans = defaultdict(list)
    for job, step in case.finishing:
        spans[job.bench_id].append(Span(job, f"{job.id} ({step.name})", job.start_slot, job.end_slot))
        kind = case.benches[job.bench_id].kind
        if kind != step.bench_kind and not case.is_fact(job):
            text = f"{case.name(job)} ({step.name}) needs a bench of kind {step.bench_kind}, this one is a {kind}"
            yield broken(Rule.BENCH, text, job)
    for bench_id, here in spans.items():
        for at_once in crowded(here, 1):
            jobs = ", ".join(f"{span.doing} {case.from_to(span.start_slot, span.end_slot)}" for span in at_once)
            yield broken(Rule.BENCH, f"bench {bench_id} has several jobs at once: {jobs}", *(s.row for s in at_once))


def bench_energy(case: Case) -> Iterator[Violation]:
    """Demand that benches stay within the energy that sun and battery leave in each span of slots.

    A job draws its power in all of its slots. A span is judged as a whole, work before `now` included, as long as
    some of it lies ahead; one that holds a shorter broken span is not told beside it.
    """
    power, slot_h = case.problem.power, case.grid.slot_min / 60
    for unit_ix, unit in enumerate(case.yard.units):
        jobs = _fed_by(case, unit.id)
        drawn_kwh = np.zeros(case.n_slots + 1)
        for job, step in jobs:
            inside = _inside(case, job)
            drawn_kwh[inside.start + 1 : inside.stop + 1] += step.power_kw * slot_h
        by_then_kwh = np.cumsum(drawn_kwh)
        too_much = {
            span: (kwh, float(left_kwh))
            for span, left_kwh in zip(power.spans, power.span_kwh[unit_ix].tolist(), strict=True)
            if (kwh := by_then_kwh[span[1]] - by_then_kwh[span[0]]) > left_kwh + _TOLERANCE and span[1] > case.now_slot
        }
        for (first, after), (kwh, left_kwh) in too_much.items():
            if any(first <= other[0] and other[1] <= after and other != (first, after) for other in too_much):
                continue
            text = (
                f"benches fed by unit {unit.id} would draw {kwh:.2f} kWh from {case.from_to(first, after)}, "
                f"sun and battery leave {left_kwh:.2f} kWh"
            )
            drawing = [job for job, _ in jobs if job.start_slot < after and job.end_slot > first]
            yield broken(Rule.BENCH_ENERGY, text, *drawing)


def bench_power(case: Case) -> Iterator[Violation]:
    """Demand that benches of a unit stay within the power that it can give, from `now` on."""
    for unit_ix, unit in enumerate(case.yard.units):
        drawn_kw = np.zeros(case.n_slots)
        jobs = _fed_by(case, unit.id)
        for job, step in jobs:
            drawn_kw[_inside(case, job)] += step.power_kw
        most_kw = case.problem.power.finish_kw[unit_ix].astype(float)
        too_much = (drawn_kw > most_kw + _TOLERANCE) & (np.arange(case.n_slots) >= case.now_slot)
        # One sentence for each run of such slots.
        for slot in np.flatnonzero(too_much & ~np.concatenate(([False], too_much[:-1]))).tolist():
            running = [job for job, _ in jobs if job.start_slot <= slot < job.end_slot]
            text = (
                f"benches fed by unit {unit.id} would draw {drawn_kw[slot]:.2f} kW at {case.when(slot)}, "
                f"it can give {most_kw[slot]:.2f} kW"
            )
            yield broken(Rule.BENCH_POWER, text, *running)


def _fed_by(case: Case, unit_id: str) -> list[tuple[FinishJob, FinishStep]]:
    """Return the jobs that draw power from a unit."""
    return [
        (job, step)
        for job, step in case.finishing
        if case.benches[job.bench_id].unit_id == unit_id and step.power_kw > 0
    ]


def _inside(case: Case, job: FinishJob) -> slice:
    """Return the part of a job that lies on the grid."""
    return slice(*(min(max(slot, 0), case.n_slots) for slot in (job.start_slot, job.end_slot)))
