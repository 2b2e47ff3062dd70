"""Which part of a plan a model lays anew: a few units and days, a mold, an order, finishing."""

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from yardplan.domain.plan import Cycle, Plan, order_results
from yardplan.solve.compiled import Compiled, Line
from yardplan.solve.freed import Event, Freed, Timeline, event_start, free_part
from yardplan.solve.goal import missing_thousandths


@dataclass(frozen=True, eq=False)
class View:
    """A plan as the neighborhoods look at it.

    Attributes
    ----------
    size : int
        About how many cycles a model may have free.
    blame : list of int
        What each order adds to the cost.
    """

    timeline: Timeline
    rng: Random
    size: int
    blame: list[int]

    @property
    def compiled(self) -> Compiled:
        """The problem in whole numbers."""
        return self.timeline.compiled

    def day(self) -> tuple[int, int]:
        """Return the slots of a day on which something is molded."""
        return self.days(1)

    def days(self, count: int) -> tuple[int, int]:
        """Return the slots of some days in a row, from `now` on."""
        days = [day for day in self.compiled.grid.days if day[2] > self.compiled.now_slot]
        first = self.rng.randrange(len(days))
        return days[first][1], days[min(first + count, len(days)) - 1][2]

    def blamed(self) -> Line:
        """Return an order, the more likely the more it adds to the cost."""
        lines = self.compiled.lines
        if not any(self.blame):
            return self.rng.choice(lines)
        return self.rng.choices(lines, weights=self.blame)[0]


def blame_of(compiled: Compiled, plan: Plan) -> list[int]:
    """Return what each order adds to the cost by being late or unfinished."""
    problem = compiled.problem
    return [
        line.late_weight * result.late_slots
        + problem.weights.missing_piece_share
        * line.order.priority
        * missing_thousandths(result.pieces_missing, line.order.quantity)
        for line, result in zip(compiled.lines, order_results(plan, problem.orders, problem.yard), strict=True)
    ]


def _when(event: Event) -> int:
    return event.heat_slot if isinstance(event, Cycle) else event.start_slot


def day_of_units(view: View) -> Freed:
    """Free a day's cycles of several units, molds as they hang."""
    start, end = view.day()
    per_unit = max(sum(start <= row.heat_slot < end for row in view.timeline.plan.cycles), 1) / len(view.compiled.units)
    count = max(min(round(view.size / max(per_unit, 1)), len(view.compiled.units)), 1)
    units = set(view.rng.sample(range(len(view.compiled.units)), count))
    chambers = [place.id for place in view.compiled.places if place.unit_ix in units]
    return free_part(
        view.timeline,
        lambda event: isinstance(event, Cycle) and start <= event.heat_slot < end,
        chambers,
    )


def days_of_unit(view: View) -> Freed:
    """Free some days of one unit with its mold changes."""
    unit_ix = view.rng.randrange(len(view.compiled.units))
    chambers = [place.id for place in view.compiled.places if place.unit_ix == unit_ix]
    start, end = view.days(2)
    return free_part(view.timeline, lambda event: start <= _when(event) < end, chambers)


def cycles_of_mold(view: View) -> Freed:
    """Free the cycles of a costly order's molds over some days: which order is made when, molds as they hang."""
    line = view.blamed()
    molds = set(line.make.product.mold_ids)
    start, end = view.days(view.rng.choice([2, 3, 4, 7]))
    cycles = [row for row in view.timeline.plan.cycles if row.mold.mold_id in molds and start <= row.heat_slot < end]
    if len(cycles) > view.size:
        first = view.rng.randrange(len(cycles) - view.size + 1)
        cycles = sorted(cycles, key=_when)[first : first + view.size]
    ids = {cycle.id for cycle in cycles}
    chambers = sorted({cycle.chamber_id for cycle in cycles})
    return free_part(
        view.timeline,
        lambda event: event.id in ids,
        chambers,
        free_finish=lambda cycle: cycle.order_id == line.order.id,
    )


def around_order(view: View) -> Freed:
    """Free the chambers in which a costly order is made, on the days around its last cycle."""
    line = view.blamed()
    own = [row for row in view.timeline.plan.cycles if row.order_id == line.order.id]
    if not own:
        return day_of_units(view)
    last = max(own, key=_when)
    at = view.rng.choice([last, view.rng.choice(own)])
    days = view.compiled.grid.days
    ix = next((ix for ix, (_, first, after) in enumerate(days) if first <= at.heat_slot < after), 0)
    start, end = days[max(ix - 1, 0)][1], days[ix][2]
    unit_ix = view.compiled.place_of[at.chamber_id].unit_ix
    chambers = [place.id for place in view.compiled.places if place.unit_ix == unit_ix]
    return free_part(
        view.timeline,
        lambda event: isinstance(event, Cycle) and start <= event.heat_slot < end,
        chambers,
        free_finish=lambda cycle: cycle.order_id == line.order.id,
    )


def finishing(view: View) -> Freed:
    """Free the finishing of a day's molded parts."""
    start, end = view.day()
    ended = [cycle for cycle in view.timeline.plan.cycles if start <= cycle.end_slot < end]
    chosen = {cycle.id for cycle in view.rng.sample(ended, min(len(ended), 2 * view.size))}
    return free_part(view.timeline, lambda event: False, (), free_finish=lambda cycle: cycle.id in chosen)


def change_times(view: View) -> Freed:
    """Free a mold change with the cycles around it in that unit."""
    changes = [row for row in view.timeline.plan.mold_changes if row.id not in view.timeline.kept_ids]
    if not changes:
        return day_of_units(view)
    change = view.rng.choice(changes)
    unit_ix = view.compiled.place_of[change.chamber_id].unit_ix
    chambers = [place.id for place in view.compiled.places if place.unit_ix == unit_ix]
    start, end = change.start_slot - 150, change.end_slot + 150

    def near(event: Event) -> bool:
        return (
            start <= event_start(event) and _when(event) < end and (event.id == change.id or isinstance(event, Cycle))
        )

    return free_part(view.timeline, near, chambers)


MODELED: dict[str, Callable[[View], Freed]] = {
    "day of units": day_of_units,
    "days of unit": days_of_unit,
    "cycles of mold": cycles_of_mold,
    "around order": around_order,
    "finishing": finishing,
    "change times": change_times,
}
"""Parts that a model lays anew."""
