"""Rules of the crew in a model: people by pools, never more at once than there are."""

from itertools import combinations

from yardplan.domain.people import HANDLING
from yardplan.solve.bookings import change_needs
from yardplan.solve.compiled import Compiled, runs, span_mask, spans
from yardplan.solve.freed import Gap
from yardplan.solve.model.parts import CrewJob, Linear, Literal, PlanModel, Position, Use, domain_of, positions_of

Needs = tuple[tuple[str, int], ...]


def crew_job(
    model: PlanModel,
    start: Literal,
    length: int,
    needs: Needs,
    present: Literal,
    allowed: int,
    clean_slots: int = 0,
) -> CrewJob:
    """Add a job of fixed length that takes people for each skill, all different, and starts in a slot of `allowed`."""
    cp = model.cp
    needs = tuple(need for need in needs if need[1] > 0)
    compiled = model.compiled
    job = CrewJob(start, length, present, [], needs, clean_slots)
    if not length:
        if not _are_enough(compiled, needs):
            cp.add(present == 0)
        return job
    heavy, rests = any(skill == HANDLING for skill, _ in needs), compiled.rests
    rested = _rested(model, start, length, heavy)
    in_pool: dict[int, list[Literal]] = {}
    for need_ix, (skill, count) in enumerate(needs):
        fit = []
        for pool in model.pools.people:
            if skill in pool.skills and (starts := pool.starts(length) & allowed):
                starts = rests.fit(starts, ~model.crew_held[pool.ix][-1], length, heavy=heavy)
                if starts:
                    fit.append((pool, starts))
        mine: list[Literal] = []
        for pool, starts in fit:
            sole = len(fit) == 1 and count == 1
            before: Literal | None = None
            for _ in range(min(count, pool.most)):
                lit = present if sole else model.flag(f"seat {skill} {pool.ix}")
                if before is not None:
                    cp.add_implication(lit, before)
                before = lit
                cp.add_linear_expression_in_domain(start, domain_of(starts)).only_enforce_if(lit)
                if rested is None:
                    interval = cp.new_optional_fixed_size_interval_var(start, length, lit, "crew")
                else:
                    interval = cp.new_optional_interval_var(start, *rested, lit, "crew")
                model.crew_use[pool.ix].add(interval, 1, starts, length + rests.most(length, heavy=heavy))
                if pool.overtime:
                    model.cost.append((compiled.problem.weights.overtime * length, lit))
                job.seats.append((need_ix, pool, lit))
                mine.append(lit)
                in_pool.setdefault(pool.ix, []).append(lit)
        if not fit or len(mine) < count:
            cp.add(present == 0)
        elif not (len(mine) == 1 and mine[0] is present):
            cp.add(sum(mine) == count * present)
    for pool in model.pools.people:
        if len(in_pool.get(pool.ix, [])) > pool.most:
            cp.add(sum(in_pool[pool.ix]) <= pool.most)
    if not needs:
        cp.add_linear_expression_in_domain(start, domain_of(allowed)).only_enforce_if(present)
    return job


def _rested(model: PlanModel, start: Literal, length: int, heavy: bool) -> tuple[Linear, Linear] | None:
    """Return how long people are taken by a job and when they may work again, None where it needs no rest."""
    rests, n_slots = model.compiled.rests, model.compiled.n_slots
    most = rests.most(length, heavy=heavy)
    if not most:
        return None
    rest = model.cp.new_int_var(0, most, "rest")
    at = model.cp.new_int_var(0, n_slots - 1, "rest from")
    model.cp.add_element(at, rests.table(length, heavy=heavy), rest)
    model.cp.add(at == start)
    return rest + length, model.cp.new_int_var(0, n_slots + most, "rested")


def _are_enough(compiled: Compiled, needs: Needs) -> bool:
    """Tell whether the yard has different people for all needs at once (Hall 1935: any needs together find as many)."""
    some = (chosen for size in range(1, len(needs) + 1) for chosen in combinations(needs, size))
    return all(
        len(compiled.skilled(tuple(skill for skill, _ in chosen))) >= sum(count for _, count in chosen)
        for chosen in some
    )


def handling(model: PlanModel) -> None:
    """Give each cycle its people for charging (with the clean-down) and for demolding."""
    for position in positions_of(model):
        row = position.row
        inside = row.place.open & span_mask(row.start, row.end)
        for length, crew, clean, lit in _charge_modes(model, position):
            allowed = _starts(inside, length)
            job = crew_job(model, position.charge, length, ((HANDLING, crew),), lit, allowed, clean)
            model.crew_jobs[id(position), "charge"].append(job)
        by_length: dict[tuple[int, int], list[Literal]] = {}
        for product_id, lit in position.products.items():
            make = model.compiled.makes[product_id]
            by_length.setdefault((make.demold_slots, make.product.demold_crew), []).append(lit)
        for (length, crew), lits in by_length.items():
            lit = position.present if len(by_length) == 1 else model.any_of(lits, "demold mode")
            job = crew_job(model, position.demold, length, ((HANDLING, crew),), lit, _starts(inside, length))
            model.crew_jobs[id(position), "demold"].append(job)


def _charge_modes(model: PlanModel, position: Position) -> list[tuple[int, int, int, Literal]]:
    """Return (slots, people, slots of clean-down in it, literal) for each way that charging may go."""
    kinds: dict[tuple[int, int], list[Literal]] = {}
    for product_id, lit in position.products.items():
        make = model.compiled.makes[product_id]
        kinds.setdefault((make.charge_slots, make.product.charge_crew), []).append(lit)
    cleans = position.cleans or {0: position.present}
    modes = []
    for (slots, crew), lits in kinds.items():
        kind = position.present if len(kinds) == 1 else model.any_of(lits, "charge mode")
        for clean, clean_lit in cleans.items():
            if len(cleans) == 1:
                lit = kind
            else:
                lit = clean_lit if len(kinds) == 1 else model.both(kind, clean_lit, "charge mode")
            modes.append((slots + clean, crew, clean, lit))
    return modes


def _starts(mask: int, length: int) -> int:
    return runs(mask, max(length, 1))


def change_job(model: PlanModel, gap: Gap, start: Literal, present: Literal, allowed: int) -> CrewJob:
    """Add the crew and the loader of a mold change; one that takes no time holds neither."""
    mold_id = gap.copy.mold_id
    length = model.compiled.change_slots[mold_id]
    starts = _starts(allowed, length)
    job = crew_job(model, start, length, change_needs(model.compiled, mold_id), present, starts)
    if not model.loader_held:
        model.cp.add(present == 0)
    elif length:
        starts &= runs(~model.loader_held[-1], length)
        model.cp.add_linear_expression_in_domain(start, domain_of(starts)).only_enforce_if(present)
        interval = model.cp.new_optional_fixed_size_interval_var(start, length, present, "loader")
        model.loader_use.add(interval, 1, starts, length)
    return job


def crew_limits(model: PlanModel) -> None:
    """Keep each pool, and the loaders, within their number; fixed work is counted in."""
    for ix, use in model.crew_use.items():
        within(model, use, model.crew_held[ix])
    within(model, model.loader_use, model.loader_held)


def within(model: PlanModel, use: Use, held: list[int]) -> None:
    """Let no more be asked for at once than there is, beside what fixed work takes: ``held[k]`` marks more than k.

    Where fixed work takes all, nothing of `use` may start anyway.
    """
    capacity = len(held)
    fixed = [
        model.cp.new_fixed_size_interval_var(start, end - start, "fixed")
        for level in held[:-1]
        for start, end in spans(level & use.reach)
    ]
    highest = sum(bool(level & use.reach) for level in held[:-1])
    if sum(use.demands) + highest <= capacity:
        return
    if capacity == 1:
        model.cp.add_no_overlap(use.intervals)
    else:
        model.cp.add_cumulative(use.intervals + fixed, use.demands + [1] * len(fixed), capacity)
