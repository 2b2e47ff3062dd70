"""A cost that no plan can go below: a linear program over days and beams, made safe by its dual."""

from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise
from math import floor

from ortools.linear_solver import pywraplp

from yardplan.solve.bookings import Bookings
from yardplan.solve.compiled import Compiled, CookRow, Line, first_slot, span_mask, spans, spread
from yardplan.solve.goal import kept_cost

POINTS_A_DAY = 2
"""Points in time a day at which the program looks, beside the goals of the orders."""


Ends = dict[tuple[str, str], list[int]]
"""For each mold and product, the earliest ends of heat of one mold's cycles."""


def lower_bound(compiled: Compiled) -> int:
    """Return a cost that no plan for the problem can go below.

    It is the larger of two relaxations, plus what kept work costs by itself (mold changes, clean-downs, overtime,
    evening slots: every plan holds these rows unchanged, and new rows add to each of these counts).

    *Each order alone* (`alone_cost`): what its lateness and missing pieces cost at least if it had the yard to itself.
    The cost is a sum over orders, and other orders only take resources away, so the sum of these is a bound.

    *All orders together* (`_joint_cost`): a linear program. From any plan read, for each order and each point in time,
    the share z of its pieces that is finished, and how many slots of each unit's beam went to each recipe before. The
    program's rows hold for these numbers:

    - a finished piece was heated before, earlier by at least the least cooling, handling, rest and finishing of its
      product, cut down to whole points;
    - a heat of a recipe on a unit needs slots of the beam whose worths sum to at least 1, where the worth of a slot is
      1 over the least cook of all that could cover it: a cook of c slots covers c of them, each worth at least 1/c;
    - a beam has only the slots that kept work and down-times leave, each given to one heat;
    - one mold makes no more heats before a time than back to back on whichever unit ends first, with its crew at hand
      and no change; all copies together so many times more.

    The cost of the numbers is no more than that of the plan: an order that is not complete at a slot costs that slot
    in full, the program counts only the share that is missing then (taken at the next point, where it is less), and
    missing thousandths are rounded up in the goal. So its least value is a bound; by weak duality any dual prices
    y >= 0 give c0 - b.y + sum of min(0, c + A'y) * upper <= that value, which is what is returned, less a part in a
    million for rounding.
    """
    book = Bookings(compiled, compiled.problem.kept)
    ends = {
        (mold_id, product_id): cycle_ends(compiled, book, product_id, mold_id)
        for product_id in {line.order.product_id for line in compiled.lines}
        for mold_id in compiled.recipes[product_id]
    }
    tails = {product_id: _least_tail(compiled, product_id) for _, product_id in ends}
    alone = sum(alone_cost(compiled, ends, tails, line) for line in compiled.lines)
    return kept_cost(compiled.problem) + max(alone, floor(_joint_cost(compiled, book, ends, tails) * (1 - 1e-6)))


def cycle_ends(compiled: Compiled, book: Bookings, product_id: str, mold_id: str) -> list[int]:
    """Return the earliest ends of heat of one mold's cycles back to back, each on whichever unit ends it first.

    When a cycle ends is a function of when the mold is free that never falls, so taking the earliest end each time
    gives at least as many ends by any time as any plan.
    """
    make, ends, at = compiled.makes[product_id], list[int](), compiled.now_slot
    rows = [
        (row, row.starts & book.field_free[place.unit_ix])
        for place in compiled.places
        if (row := compiled.row(mold_id, product_id, place.id)) is not None
    ]
    while True:
        firsts = [first for row, starts in rows if (first := _first_ends(row, starts, at + make.charge_slots))]
        if not firsts:
            return ends
        ends.append(min(heated for heated, _ in firsts))
        at = min(cooled for _, cooled in firsts) + make.demold_slots


def _first_ends(row: CookRow, starts: int, at: int) -> tuple[int, int] | None:
    """Return the earliest end of heat from a slot on, and the earliest end of cooling, each the least by itself."""
    found: tuple[int, int] | None = None
    slot = first_slot(starts, at)
    while slot is not None and (found is None or slot < found[1]):
        heated = slot + row.cook[slot]
        cooled = heated + row.cool[slot]
        found = (heated, cooled) if found is None else (min(found[0], heated), min(found[1], cooled))
        slot = first_slot(starts, slot + 1)
    return found


def alone_cost(compiled: Compiled, ends: Ends, tails: dict[str, int], line: Line) -> int:
    """Return what an order's lateness and missing pieces cost at least, if it had the yard to itself.

    Its cycles are made as early as its molds allow (`cycle_ends`), finished without waiting for anybody; pieces of
    kept cycles count as finished from the start.
    """
    weights, n_slots, order = compiled.problem.weights, compiled.n_slots, line.order
    tail = tails.get(order.product_id, 0)
    ready = [(0, line.kept_pieces)] if line.kept_pieces else []
    for mold_id in compiled.recipes[order.product_id]:
        cavities = compiled.molds[mold_id].cavities
        for end in ends[mold_id, order.product_id]:
            if end + tail <= n_slots:
                ready += [(end + tail, cavities)] * len(compiled.copies_of[mold_id])
    made, reached = 0, n_slots
    for slot, pieces in sorted(ready):
        made += pieces
        if made >= order.quantity:
            reached = slot
            break
    missing = max(order.quantity - made, 0)

    def cost(slot: int, pieces: int) -> int:
        late = max(slot - line.goal_slot, 0)
        return order.priority * (
            weights.late_order * (late > 0)
            + weights.missing_piece_share * -(-1000 * pieces // order.quantity)
            + weights.slack * max(slot - line.goal_slot + weights.slack_slots, 0)
        ) + (line.late_weight * late)

    # Leaving a piece out may cost less than being late with the last one.
    incomplete = cost(n_slots, max(missing, 1))
    return incomplete if missing else min(incomplete, cost(reached, 0))


def _least_tail(compiled: Compiled, product_id: str) -> int:
    """Return the least slots from the end of heat to the end of finishing."""
    cools = []
    for mold_id in compiled.recipes[product_id]:
        for place in compiled.places:
            row = compiled.row(mold_id, product_id, place.id)
            if row is not None:
                cools += [min(row.cool[slot] for slot in range(*span)) for span in spans(row.starts)]
    make = compiled.makes[product_id]
    return min(cools, default=0) + make.demold_slots + sum(step.rest_slots + step.slots for step in make.steps)


@dataclass
class _Program:
    """Minimize c0 + c.x over 0 <= x <= upper with rows a.x <= b."""

    constant: float = 0.0
    cost: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float]] = field(default_factory=list)

    def variable(self, upper: float, cost: float = 0.0) -> int:
        """Add a variable; returns its number."""
        self.cost.append(cost)
        self.upper.append(upper)
        return len(self.cost) - 1

    def safe_value(self) -> float:
        """Return a value that no point of the program goes below, from dual prices that need not be exact."""
        solver = pywraplp.Solver.CreateSolver("GLOP")
        variables = [solver.NumVar(0.0, upper, "") for upper in self.upper]
        for variable, cost in zip(variables, self.cost, strict=True):
            solver.Objective().SetCoefficient(variable, cost)
        solver.Objective().SetMinimization()
        rows = []
        for row, limit in self.rows:
            rows.append(solver.Constraint(-solver.infinity(), limit))
            for ix, factor in row.items():
                rows[-1].SetCoefficient(variables[ix], factor)
        solved = solver.Solve() == pywraplp.Solver.OPTIMAL
        value, reduced = self.constant, list(self.cost)
        for constraint, (row, limit) in zip(rows, self.rows, strict=True):
            price = max(-constraint.dual_value(), 0.0) if solved else 0.0
            value -= price * limit
            for ix, factor in row.items():
                reduced[ix] += price * factor
        return value + sum(min(each, 0.0) * upper for each, upper in zip(reduced, self.upper, strict=True))


def _joint_cost(compiled: Compiled, book: Bookings, ends: Ends, tails: dict[str, int]) -> float:
    """Return the value of the program over all orders, see `lower_bound`."""
    program, points = _Program(), _points(compiled)
    steps = list(pairwise(points))
    made: dict[tuple[str, str, int], dict[int, float]] = defaultdict(dict)
    for line in compiled.lines:
        _add_line(compiled, program, line, points, made)
    shares: dict[tuple[int, int], dict[int, float]] = defaultdict(dict)
    heats: dict[tuple[str, str], list[dict[int, float]]] = {}
    for mold_id, product_id in {(mold_id, product_id) for mold_id, product_id, _ in made}:
        heats[mold_id, product_id] = [{} for _ in steps]
        for unit_ix, reach in _reach(compiled, mold_id, product_id).items():
            for ix, step in enumerate(steps):
                free = book.field_free[unit_ix] & span_mask(*step)
                shortest = next((length for length, mask in reach if mask & free), None)
                if shortest is not None:
                    share = program.variable(free.bit_count())
                    shares[unit_ix, ix][share] = 1.0
                    heats[mold_id, product_id][ix][share] = 1 / shortest
    for (unit_ix, ix), given in shares.items():
        program.rows.append((given, (book.field_free[unit_ix] & span_mask(*steps[ix])).bit_count()))
    for (mold_id, product_id), by_span in heats.items():
        cavities = compiled.molds[mold_id].cavities
        row: dict[int, float] = {}
        for ix, (_, end) in enumerate(steps):
            row = {**row, **{share: -worth for share, worth in by_span[ix].items()}}
            later = _finished_by(made, mold_id, product_id, points, end + tails[product_id])
            program.rows.append(({**row, **{var: 1 / cavities for var in later}}, 0.0))
    _add_molds(compiled, ends, program, points, made, tails)
    return program.safe_value()


def _points(compiled: Compiled) -> list[int]:
    """Return the points in time, from `now` to the end: some a day, and the goals of the orders."""
    found = {compiled.now_slot, compiled.n_slots}
    for _, first, after in compiled.grid.days:
        found |= {first + (after - first) * part // POINTS_A_DAY for part in range(1, POINTS_A_DAY + 1)}
    found |= {line.goal_slot for line in compiled.lines}
    return sorted(slot for slot in found if compiled.now_slot <= slot <= compiled.n_slots)


def _add_line(
    compiled: Compiled,
    program: _Program,
    line: Line,
    points: list[int],
    made: dict[tuple[str, str, int], dict[int, float]],
) -> None:
    """Add the pieces of an order that get finished between the points, and what its missing share costs."""
    weights, order, quantity = compiled.problem.weights, line.order, line.order.quantity
    early = line.goal_slot - weights.slack_slots
    kept_share = min(line.kept_pieces / quantity, 1.0)
    left = max(quantity - line.kept_pieces, 0)
    before = max(compiled.now_slot - line.goal_slot, 0)
    program.constant += (1 - kept_share) * (line.late_weight * before)
    program.constant += (1 - kept_share) * order.priority * weights.slack * max(compiled.now_slot - early, 0)
    mine: dict[int, float] = {}
    for ix, (start, end) in enumerate(pairwise(points)):
        for mold_id in compiled.recipes[order.product_id]:
            var = program.variable(left)
            made[mold_id, order.product_id, ix][var] = 1.0
            mine[var] = 1.0
        # Cost of a slot of this span for the share that is not finished at its end.
        each = line.late_weight * (end - max(start, line.goal_slot) if end > line.goal_slot else 0)
        each += order.priority * weights.slack * (end - max(start, early) if end > early else 0)
        if end == compiled.n_slots:
            each += order.priority * weights.missing_piece_share * 1000
        if start < line.goal_slot <= end and line.goal_slot < compiled.n_slots:
            each += order.priority * weights.late_order
        program.constant += each * (1 - kept_share)
        for var in mine:
            program.cost[var] -= each / quantity
    program.rows.append((mine, left))


def _finished_by(
    made: dict[tuple[str, str, int], dict[int, float]], mold_id: str, product_id: str, points: list[int], slot: int
) -> list[int]:
    """Return the variables of the pieces of a recipe that are finished at points up to a slot."""
    return [var for ix, end in enumerate(points[1:]) if end <= slot for var in made.get((mold_id, product_id, ix), ())]


def _add_molds(
    compiled: Compiled,
    ends: Ends,
    program: _Program,
    points: list[int],
    made: dict[tuple[str, str, int], dict[int, float]],
    tails: dict[str, int],
) -> None:
    """Limit the heats of each recipe by what its mold's copies can do back to back, were they to make nothing else."""
    for mold_id, product_id in {(mold_id, product_id) for mold_id, product_id, _ in made}:
        copies, cavities = len(compiled.copies_of[mold_id]), compiled.molds[mold_id].cavities
        for slot in points[1:]:
            later = _finished_by(made, mold_id, product_id, points, slot + tails[product_id])
            if later:
                count = copies * sum(end <= slot for end in ends[mold_id, product_id])
                program.rows.append((dict.fromkeys(later, 1 / cavities), float(count)))


def _reach(compiled: Compiled, mold_id: str, product_id: str) -> dict[int, list[tuple[int, int]]]:
    """Return for each unit the lengths of a recipe's cooks, shortest first, each with the slots that they may cover."""
    found: dict[int, list[tuple[int, int]]] = {}
    for place in compiled.places:
        row = compiled.row(mold_id, product_id, place.id)
        if row is not None and place.unit_ix not in found:
            starts: dict[int, int] = defaultdict(int)
            for span in spans(row.starts):
                for slot in range(*span):
                    starts[row.cook[slot]] |= 1 << slot
            found[place.unit_ix] = [(length, spread(mask, length)) for length, mask in sorted(starts.items())]
    return found
