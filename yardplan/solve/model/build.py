"""Put a model together, solve it, and read the plan from its solution."""

from dataclasses import dataclass

from ortools.sat.python import cp_model

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.solve.compiled import Compiled, first_slot
from yardplan.solve.freed import Freed, Row
from yardplan.solve.model import chambers, crew, finishing, molds
from yardplan.solve.model import goal as goals
from yardplan.solve.model.parts import CrewJob, PlanModel, Position, StepJob
from yardplan.solve.pools import Pools, name_people


@dataclass(frozen=True)
class Solution:
    """What a model came to.

    Attributes
    ----------
    plan : Plan or None
        The best plan found, people and benches named.
    is_best : bool
        Whether the model has no better one.
    is_real : bool
        False where the solution uses what only a bound allows, so that there is no plan.
    objective, bound : float
        Cost of the free part, and what it cannot be less than.
    work : float
        Deterministic work spent.
    """

    plan: Plan | None
    is_best: bool
    is_real: bool
    objective: float
    bound: float
    work: float


def build(compiled: Compiled, pools: Pools, freed: Freed, *, whole: bool = False, extra: int = 1) -> PlanModel:
    """Return the model of a plan with a part of it free.

    Parameters
    ----------
    whole : bool
        Whether it must hold every plan there is; else each row has room for `extra` cycles more than now.
    """
    model = PlanModel(compiled, pools, freed, whole=whole)
    missing = goals.missing_pieces(model)
    room = [_most_cycles(model, row, missing) for row in freed.rows]
    if not whole:
        room = [min(most, len(row.cycles) + extra) for most, row in zip(room, freed.rows, strict=True)]
    chambers.cycle_sequence(model, room, missing)
    chambers.one_chamber_heats(model)
    molds.mold_change(model)
    molds.gone_in_time(model)
    molds.clean_down(model)
    chambers.charge_before_heat(model)
    chambers.downtime(model)
    crew.handling(model)
    finishing.finish_routing(model)
    finishing.bench(model)
    finishing.bench_power(model)
    finishing.bench_energy(model)
    finishing.stock(model)
    crew.crew_limits(model)
    goals.quantity(model, missing)
    goals.goal(model)
    return model


def _most_cycles(model: PlanModel, row: Row, missing: dict[int, int]) -> int:
    """Return a number of cycles that a row cannot exceed: back to back, each the one that ends first, no crew asked."""
    recipes = chambers.recipes_of(model, row, missing)
    asked = sum(-(-missing[ix] // pieces) for ix, pieces in _smallest(model, recipes).items())
    count, at = 0, row.start
    while count < asked:
        ends = []
        for _, line, starts, cook in recipes:
            heat, end = first_slot(starts, at + line.make.charge_slots), model.compiled.n_slots + 1
            while heat is not None and heat < end:
                end = min(end, heat + cook.cook[heat] + cook.cool[heat] + line.make.demold_slots)
                heat = first_slot(starts, heat + 1)
            ends.append(end)
        at = min(ends)
        if at > row.end:
            break
        count += 1
    return count


def _smallest(model: PlanModel, recipes: list[chambers.Recipe]) -> dict[int, int]:
    found: dict[int, int] = {}
    for gap, line, _, _ in recipes:
        pieces = model.compiled.molds[gap.copy.mold_id].cavities
        found[line.ix] = min(found.get(line.ix, pieces), pieces)
    return found


def hint(model: PlanModel) -> bool:
    """Tell the solver the plan that is there now; tells whether the model knows it as a plan.

    Presolve alone fills in the variables that follow from the others, and a complete hint is a first solution.
    """
    _hint_plan(model)
    solver = solver_for(None, 1.0, 0)
    solver.parameters.fix_variables_to_their_hinted_value = True
    status = solver.solve(model.cp)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return False
    model.cp.clear_hints()  # type: ignore[no-untyped-call]  # OR-Tools leaves this one method untyped
    values = solver.response_proto.solution
    told = model.cp.proto.solution_hint
    told.vars.extend(range(len(values)))
    told.values.extend(values)
    return True


def _hint_plan(model: PlanModel) -> None:
    add = model.cp.add_hint
    jobs: dict[tuple[str, int], FinishJob] = {(job.cycle_id, job.step_ix): job for job in model.freed.plan.finishing}
    owners: dict[int, Cycle] = {}

    def is_finished(cycle: Cycle) -> bool:
        return all((cycle.id, step_ix) in jobs for step_ix in range(len(model.compiled.makes[cycle.product_id].steps)))

    for molded, _ in model.freed.loose:
        add(model.loose_ready[molded.id], is_finished(molded))
    for row, positions in zip(model.freed.rows, model.rows, strict=True):
        for position in positions:
            cycle = row.cycles[position.ix] if position.ix < len(row.cycles) else None
            add(position.present, cycle is not None)
            for option in position.options:
                fits = cycle is not None and (option.gap.copy, option.line.order.id) == (cycle.mold, cycle.order_id)
                if option.chosen is not position.present:
                    add(option.chosen, fits)
            if cycle is None:
                continue
            owners[id(position)] = cycle
            if position.ready is not None and position.ready is not position.present:
                add(position.ready, is_finished(cycle))
            add(position.charge, cycle.charge_slot)
            add(position.heat, cycle.heat_slot)
            add(position.demold, cycle.demold_slot)
            for length, lit in position.cleans.items():
                add(lit, length == cycle.clean_slots)
            hung = row.cycles[position.ix - 1].mold if position.ix else row.hung
            coming = [row for row in row.changes if row.mold_in == cycle.mold and row.end_slot <= cycle.charge_slot]
            change = coming[-1] if coming and hung != cycle.mold else None
            if position.change_start is not None and change is not None:
                add(position.change_start, change.start_slot)
            charging = cycle.clean_slots + model.compiled.makes[cycle.product_id].charge_slots
            for job in model.crew_jobs[id(position), "charge"]:
                told = job.clean_slots == cycle.clean_slots and _is_job(job, charging, cycle.charge_crew)
                _hint_crew(model, job, cycle.charge_crew if told else (), cycle.charge_slot)
            for job in model.crew_jobs[id(position), "demold"]:
                told = _is_job(job, cycle.end_slot - cycle.demold_slot, cycle.demold_crew)
                _hint_crew(model, job, cycle.demold_crew if told else (), cycle.demold_slot)
            for gap, job in zip(position.changes, model.crew_jobs[id(position), "change"], strict=True):
                if change is not None:
                    _hint_crew(model, job, change.crew if gap.copy == cycle.mold else (), change.start_slot)
    for step in model.steps:
        owner = step.owner if isinstance(step.owner, Cycle) else owners.get(id(step.owner))
        done = jobs.get((owner.id, step.step_ix)) if owner else None
        if done is None or (owner and owner.product_id != step.product_id):
            continue
        add(step.start, done.start_slot)
        if len(step.seats) > 1:
            pool = model.pools.bench_pool[done.bench_id]
            for bench, lit in step.seats:
                add(lit, bench is pool)
        _hint_crew(model, step.crew, (done.operator_id,), done.start_slot)


def _is_job(job: CrewJob, length: int, people: tuple[str, ...]) -> bool:
    return (job.length, sum(count for _, count in job.needs)) == (length, len(people))


def _hint_crew(model: PlanModel, job: CrewJob, people: tuple[str, ...], slot: int) -> None:
    wanted, first = [], 0
    for _, count in job.needs:
        wanted.append([model.pools.pool_of(person, slot) for person in people[first : first + count]])
        first += count
    for need_ix, pool, lit in job.seats:
        if lit is not job.present:
            model.cp.add_hint(lit, pool in wanted[need_ix])
            if pool in wanted[need_ix]:
                wanted[need_ix].remove(pool)


def solver_for(seconds: float | None, work: float | None, seed: int, workers: int = 1) -> cp_model.CpSolver:
    """Return a solver with the settings that did best on parts of plans."""
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.num_workers = workers
    parameters.random_seed = seed
    if seconds is not None:
        parameters.max_time_in_seconds = max(seconds, 0.01)
    if work is not None:
        parameters.max_deterministic_time = max(work, 0.001)
    parameters.linearization_level = 1
    parameters.cp_model_probing_level = 0  # on plans it takes longer than the search that it should shorten
    parameters.symmetry_level = 0
    return solver


def read_solution(model: PlanModel, solver: cp_model.CpSolver, status: cp_model.CpSolverStatus, mark: str) -> Solution:
    """Return what a solver found; `mark` tells the new rows' passing names apart from all others."""
    is_best = status == cp_model.OPTIMAL
    work = solver.response_proto.deterministic_time
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Solution(None, False, False, 0.0, solver.best_objective_bound, work)
    is_real = not any(solver.boolean_value(lit) for lit in model.parked.values())
    plan = name_people(model.pools, _Reader(model, solver, mark).plan()) if is_real else None
    return Solution(plan, is_best, is_real, solver.objective_value, solver.best_objective_bound, work)


class _Reader:
    def __init__(self, model: PlanModel, solver: cp_model.CpSolver, mark: str) -> None:
        self.model, self.solver, self.mark = model, solver, mark
        self.count = 0

    def plan(self) -> Plan:
        """Return the fixed rows and those of the solution; people and benches only stand for their pools."""
        cycles, changes, jobs = [], [], []
        ids: dict[int, str] = {}
        for row, positions in zip(self.model.freed.rows, self.model.rows, strict=True):
            hung = row.hung
            for position in positions:
                if not self.solver.boolean_value(position.present):
                    continue
                cycle = self._cycle(position)
                if cycle.mold != hung:
                    changes.append(self._change(position, hung, cycle))
                hung = cycle.mold
                ids[id(position)] = cycle.id
                cycles.append(cycle)
            last = self.model.last_changes.get(id(row))
            if last is not None and self.solver.boolean_value(last.needed):
                start, end = self.solver.value(last.start), self.solver.value(last.end)
                crew = self._crew([last.job])
                changes.append(MoldChange(self._name(), row.place.id, hung, last.gap.copy, start, end, crew))
        for step in self.model.steps:
            if self.solver.boolean_value(step.present):
                owner = step.owner.id if isinstance(step.owner, Cycle) else ids[id(step.owner)]
                jobs.append(self._job(step, owner))
        fixed = self.model.freed.fixed
        return Plan(
            fixed.grid,
            (*fixed.cycles, *cycles),
            (*fixed.mold_changes, *changes),
            (*fixed.finishing, *jobs),
        )

    def _name(self) -> str:
        self.count += 1
        return f"~{self.mark}.{self.count}"

    def _cycle(self, position: Position) -> Cycle:
        value, compiled = self.solver.value, self.model.compiled
        option = next(option for option in position.options if self.solver.boolean_value(option.chosen))
        order, copy = option.line.order, option.gap.copy
        heat = value(position.heat)
        heat_end = heat + value(position.cook)
        clean = next((length for length, lit in position.cleans.items() if self.solver.boolean_value(lit)), 0)
        return Cycle(
            self._name(), order.id, order.product_id, order.color, copy, position.row.place.id,
            compiled.molds[copy.mold_id].cavities, value(position.charge), clean, heat, heat_end,
            heat_end + value(position.cool), value(position.demold), value(position.end),
            self._crew(self.model.crew_jobs[id(position), "charge"]),
            self._crew(self.model.crew_jobs[id(position), "demold"]),
        )  # fmt: skip

    def _change(self, position: Position, out: MoldCopy | None, cycle: Cycle) -> MoldChange:
        length = self.model.compiled.change_slots[cycle.mold.mold_id]
        assert position.change_start is not None
        start = self.solver.value(position.change_start)
        crew = self._crew(self.model.crew_jobs[id(position), "change"])
        return MoldChange(self._name(), cycle.chamber_id, out, cycle.mold, start, start + length, crew)

    def _job(self, step: StepJob, cycle_id: str) -> FinishJob:
        start = self.solver.value(step.start)
        pool = next(pool for pool, lit in step.seats if self.solver.boolean_value(lit))
        kwh = self.model.compiled.makes[step.product_id].steps[step.step_ix].kwh
        person = self._crew([step.crew])[0]
        end = start + step.length
        return FinishJob(self._name(), cycle_id, step.step_ix, pool.benches[0], person, start, end, kwh)

    def _crew(self, jobs: list[CrewJob]) -> tuple[str, ...]:
        """Return people of the chosen pools for whichever of the jobs is done, all different."""
        crew: list[str] = []
        for job in jobs:
            if not self.solver.boolean_value(job.present):
                continue
            if not job.length:
                for skill, count in job.needs:
                    crew += [p for p in self.model.compiled.skilled((skill,)) if p not in crew][:count]
            for _, pool, lit in sorted(job.seats, key=lambda seat: seat[0]):
                if self.solver.boolean_value(lit):
                    crew.append(next(person for person in pool.people if person not in crew))
        return tuple(crew)
