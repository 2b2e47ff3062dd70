"""When work that was put into a plan is ready under each single sky; the head of `risk` tells how one is replayed."""

from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from yardplan.domain.plan import Cycle, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.tables import SkyCooks
from yardplan.solve.compiled import Compiled, runs
from yardplan.solve.insert import Added, Inserter
from yardplan.solve.risk import BEYOND, Ends, Key, Replay, Slots, following

Row = tuple[int, Key]
"""Planned start of a job and its name."""


class SkyReady:
    """The ends of all jobs under each sky, gone on with work that is put in.

    What is put in waits for what the plan does before it in its chamber, on its unit's field and with its mold. What
    comes after it in the plan is not pushed here: it has no part in when this is ready.
    """

    def __init__(self, problem: Problem, plan: Plan, cooks: SkyCooks) -> None:
        self.replay = Replay(problem, plan, cooks)
        self.n_scenarios = cooks.n_scenarios
        self.ends = self.replay.ends()
        self.chambers: defaultdict[str, list[Row]] = defaultdict(list)
        self.fields: defaultdict[int, list[Row]] = defaultdict(list)
        self.taken_out: dict[object, list[Row]] = defaultdict(list)
        places = self.replay.compiled.place_of
        for cycle in plan.cycles:
            insort(self.chambers[cycle.chamber_id], (cycle.charge_slot, ("demold", cycle.id)))
            insort(self.fields[places[cycle.chamber_id].unit_ix], (cycle.heat_slot, ("heat", cycle.id)))
        for change in plan.mold_changes:
            insort(self.chambers[change.chamber_id], (change.start_slot, ("change", change.id)))
            insort(self.taken_out[change.mold_out], (change.start_slot, ("change", change.id)))

    def copied(self) -> "SkyReady":
        """Return one that goes on from here on its own."""
        fresh = object.__new__(SkyReady)
        fresh.__dict__.update(self.__dict__)
        fresh.ends = dict(self.ends)
        for name in ("chambers", "fields", "taken_out"):
            rows = getattr(self, name)
            setattr(fresh, name, defaultdict(list, {key: list(value) for key, value in rows.items()}))
        return fresh

    def add(self, one: Added, inserter: Inserter) -> Slots:
        """Take in a cycle that was put in; return when it is through finishing under each sky: ndarray (scenario,)."""
        compiled, cycle = inserter.compiled, one.cycle
        make = compiled.makes[cycle.product_id]
        place = inserter.stays[cycle.chamber_id][0].place
        inside = place.open & compiled.copy_open.get(cycle.mold, compiled.open)
        if one.change is not None:
            change = one.change
            length = change.end_slot - change.start_slot
            ready = np.maximum(
                self._before(self.chambers[place.id], change.start_slot),
                self._before(self.taken_out[change.mold_in], change.start_slot),
            )
            starts = inserter.change_starts(cycle.mold.mold_id) & runs(place.open, length)
            key = "change", change.id
            self.ends[key] = _worked(compiled, starts, ready, change.start_slot, length)
            insort(self.chambers[place.id], (change.start_slot, key))
            insort(self.taken_out[change.mold_out], (change.start_slot, key))
        length = cycle.clean_slots + make.charge_slots
        starts = inserter.crew_starts(make.product.charge_crew, length) & runs(inside, max(length, 1))
        # Resin that is only there from a moment on is there no sooner under any sky.
        ready = np.maximum(self._before(self.chambers[place.id], cycle.charge_slot), one.stock_slot)
        charged = _worked(compiled, starts, ready, cycle.charge_slot, length)
        begun = np.maximum(charged, self._before(self.fields[place.unit_ix], cycle.heat_slot))
        over, cooled = (self._read(table, begun) for table in self._heats(cycle, inserter))
        self.ends["heat", cycle.id] = over
        insort(self.fields[place.unit_ix], (cycle.heat_slot, ("heat", cycle.id)))
        starts = inserter.crew_starts(make.product.demold_crew, make.demold_slots)
        starts &= runs(inside, max(make.demold_slots, 1))
        ready = _worked(compiled, starts, cooled, cycle.demold_slot, make.demold_slots)
        self.ends["demold", cycle.id] = ready
        insort(self.chambers[place.id], (cycle.charge_slot, ("demold", cycle.id)))
        planned = [job.start_slot for job in one.jobs] or [-1] * len(make.steps)
        for step, start in zip(make.steps, planned, strict=True):
            ready = _worked(compiled, inserter.finish_starts(step), ready + step.rest_slots, start, step.slots)
        return ready

    def _before(self, rows: Sequence[Row], slot: int) -> Slots:
        """Return the end of the last job that is planned before a slot; the first slot where there is none."""
        ix = bisect_left(rows, (slot, ("", "")))
        if not ix:
            return np.zeros(self.n_scenarios, np.int32)
        return self.ends[rows[ix - 1][1]]

    def _heats(self, cycle: Cycle, inserter: Inserter) -> tuple[Ends, Ends]:
        return self.replay.heat_ends(replace(cycle, chamber_id=inserter.like[cycle.chamber_id]))

    def _read(self, table: Ends, ready: Slots) -> Slots:
        rows = np.clip(ready, 0, table.shape[0] - 1)
        return table[rows, np.arange(self.n_scenarios)].astype(np.int32)


def _worked(compiled: Compiled, starts: int, ready: Slots, planned: int, length: int) -> Slots:
    """Return the end of work that starts in the next slot of a mask; its planned start is always one of them."""
    table = following(starts | (1 << planned if planned >= 0 else 0), compiled.n_slots)
    ends: Slots = table[np.clip(ready, 0, compiled.n_slots)] + length
    return np.minimum(ends, BEYOND)
