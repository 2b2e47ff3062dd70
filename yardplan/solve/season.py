"""How much of one product a yard makes in a day if it makes nothing else, within all rules of a plan."""

from collections import Counter
from dataclasses import dataclass, replace

from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.quotes import Limit
from yardplan.solve.compiled import Compiled
from yardplan.solve.insert import Inserter

PLENTY = 1e7
"""Stock of each item [kg or pieces]: months ahead it can be bought."""

_TRIED = (Limit.MOLD, Limit.SUN, Limit.CREW, Limit.FINISHING)


@dataclass(frozen=True)
class Output:
    """Pieces a day: all that are through finishing, and where they are molded."""

    pieces: float
    by_unit: dict[str, float]


class Filler:
    """Fills the days of a problem with one product, as full as cycles fit one after another.

    Parameters
    ----------
    problem : Problem
        Yard, sun and electricity of some days on end; orders and stock count nothing.
    """

    def __init__(self, problem: Problem) -> None:
        items = tuple(replace(item, on_hand=PLENTY) for item in problem.yard.items)
        self.problem = replace(problem, yard=replace(problem.yard, items=items), orders=(), kept=Plan(problem.grid))
        self.empty = Inserter(Compiled(self.problem), Plan(problem.grid))

    def output(self, product_id: str, *, warm_up_days: int, relief: Limit | None = None) -> Output:
        """Return pieces a day after the first days, in which molds are hung and nothing waits for finishing yet.

        What can only be finished after the last day is not begun; as much was begun before the days that count.
        """
        grid, yard = self.problem.grid, self.problem.yard
        inserter = self.empty.relieved(relief, product_id) if relief else self.empty.copied()
        product = yard.product(product_id)
        color = next(item.color for item in yard.items if item.grade == product.resin_grade)
        days = len(grid.days) - warm_up_days
        from_slot = grid.days[warm_up_days][1]
        made: Counter[str] = Counter()
        total = 0
        while (one := inserter.next(product_id, color, "season")) is not None:
            if from_slot < one.ready_slot <= grid.n_slots:
                total += one.cycle.pieces
                made[inserter.like[one.cycle.chamber_id]] += one.cycle.pieces
        by_unit: Counter[str] = Counter()
        for chamber_id, pieces in made.items():
            by_unit[yard.unit_of(chamber_id).id] += pieces
        return Output(total / days, {unit.id: by_unit[unit.id] / days for unit in yard.units})

    def limit(self, product_id: str, pieces: float, *, warm_up_days: int) -> Limit:
        """Return what there would have to be more of for more than so many pieces a day."""
        more = [(self.output(product_id, warm_up_days=warm_up_days, relief=limit).pieces, limit) for limit in _TRIED]
        most, limit = max(more, key=lambda pair: pair[0])
        return limit if most > pieces else Limit.SEVERAL
