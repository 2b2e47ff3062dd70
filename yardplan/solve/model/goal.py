"""The goal in a model, and how many pieces an order may get."""

from yardplan.domain.moves import anchors, moved, stay_slots
from yardplan.domain.plan import order_results
from yardplan.solve.compiled import Line
from yardplan.solve.model.parts import Linear, Literal, Option, PlanModel, Position, positions_of


def missing_pieces(model: PlanModel) -> dict[int, int]:
    """Return for each order the pieces that no fixed cycle makes."""
    made: dict[str, int] = {}
    for cycle in model.freed.fixed.cycles:
        made[cycle.order_id] = made.get(cycle.order_id, 0) + cycle.pieces
    return {line.ix: line.order.quantity - made.get(line.order.id, 0) for line in model.compiled.lines}


def quantity(model: PlanModel, missing: dict[int, int]) -> None:
    """Give no order a cycle more than it needs: without any one of the new ones, pieces would be missing."""
    chosen = _options_by_line(model)
    kept = model.pools.kept_ids
    for line in model.compiled.lines:
        options = chosen.get(line.ix, [])
        if not options:
            continue
        pieces = {option: _pieces(model, option) for _, option in options}
        total = sum(pieces[option] * option.chosen for _, option in options)
        sizes = {row.pieces for row in model.freed.fixed.cycles if row.order_id == line.order.id and row.id not in kept}
        sizes |= set(pieces.values())
        if len(set(pieces.values())) == 1 and len(sizes) == 1:
            size = sizes.pop()
            model.cp.add(sum(option.chosen for _, option in options) <= -(-missing[line.ix] // size))
            continue
        fixed_sizes = sizes - set(pieces.values())
        if fixed_sizes:
            model.cp.add(total <= missing[line.ix] + min(fixed_sizes) - 1)
        for _, option in options:
            model.cp.add(total <= missing[line.ix] + pieces[option] - 1).only_enforce_if(option.chosen)


def goal(model: PlanModel) -> None:
    """Count what the free part costs: lateness and missing pieces of each order that it touches, and the rest.

    All cycles of an order are needed, so it is finished with the last of them; unfinished, it counts to the end of
    the grid.
    """
    chosen = _options_by_line(model)
    loose = {cycle.id: cycle for cycle, _ in model.freed.loose}
    loose_by_order: dict[str, list[str]] = {}
    for cycle_id, cycle in loose.items():
        loose_by_order.setdefault(cycle.order_id, []).append(cycle_id)
    results = order_results(model.freed.fixed, model.compiled.problem.orders, model.compiled.problem.yard)
    ends = _fixed_ends(model, set(loose))
    for line, result in zip(model.compiled.lines, results, strict=True):
        options, own = chosen.get(line.ix, []), loose_by_order.get(line.order.id, [])
        if model.whole or options or own:
            _line_cost(model, line, result.pieces_planned, ends.get(line.order.id, 0), options, own)
    _moved_cost(model)
    model.cp.minimize(sum(weight * term for weight, term in model.cost if weight))


def _moved_cost(model: PlanModel) -> None:
    """Count each job of the plan before that no cycle keeps: one of its order, in its chamber, within the time."""
    problem, within = model.compiled.problem, stay_slots(model.compiled.grid)
    if not problem.weights.moved:
        return
    places: dict[tuple[str, str], list[tuple[Position, Option]]] = {}
    for position in positions_of(model):
        for option in position.options:
            places.setdefault((position.row.place.id, option.line.order.id), []).append((position, option))
    for ix, job in enumerate(moved(anchors(problem.before, problem.now_slot), model.freed.fixed)):
        keeps = []
        for position, option in places.get(job[:2], ()):
            row = position.row
            if job.charge_slot + within < row.start or job.charge_slot - within >= row.end:
                continue
            keep = model.flag(f"keeps {ix}")
            model.cp.add_implication(keep, option.chosen)
            model.cp.add(position.charge >= job.charge_slot - within).only_enforce_if(keep)
            model.cp.add(position.charge <= job.charge_slot + within).only_enforce_if(keep)
            keeps.append(keep)
        if keeps or model.whole:
            stays = model.flag(f"stays {ix}")
            model.cp.add_bool_or([*keeps, stays.negated()])
            model.cost.append((problem.weights.moved * job.weight, 1 - stays))


def _line_cost(
    model: PlanModel,
    line: Line,
    done_pieces: int,
    fixed_end: int,
    options: list[tuple[Position, Option]],
    loose: list[str],
) -> None:
    cp, weights, n_slots = model.cp, model.compiled.problem.weights, model.compiled.n_slots
    order, pieces = line.order, {cycle.id: cycle.pieces for cycle, _ in model.freed.loose}
    done: Linear = done_pieces
    slacks = [(line.goal_slot - weights.slack_slots, weights.slack * order.priority)]
    slacks += [
        (row.by_slot, weights.slack * order.priority * row.times)
        for row in model.compiled.problem.early
        if row.order_id == order.id
    ]
    slacks = [(slot, weight) for slot, weight in slacks if weight and slot < n_slots]
    floor = min(max(min([line.goal_slot, *(slot for slot, _ in slacks)]), fixed_end, 0), n_slots)
    reached = cp.new_int_var(floor, n_slots, f"reached {order.id}")
    for position, option in options:
        counted = _counted(model, position, option)
        done = done + _pieces(model, option) * counted
        cp.add(reached >= position.finish[order.product_id]).only_enforce_if(counted)
    for cycle_id in loose:
        done = done + pieces[cycle_id] * model.loose_ready[cycle_id]
        cp.add(reached >= model.loose_finish[cycle_id]).only_enforce_if(model.loose_ready[cycle_id])
    complete = model.flag(f"complete {order.id}")
    missing = cp.new_int_var(0, order.quantity, f"missing {order.id}")
    cp.add(missing >= order.quantity - done)
    cp.add(missing == 0).only_enforce_if(complete)
    cp.add(reached == n_slots).only_enforce_if(complete.negated())
    if weights.missing_piece_share:
        share = cp.new_int_var(0, 1000, f"share {order.id}")
        cp.add(order.quantity * share >= 1000 * missing)
        model.cost.append((weights.missing_piece_share * order.priority, share))
    late = cp.new_int_var(max(floor - line.goal_slot, 0), max(n_slots - line.goal_slot, 0), f"late {order.id}")
    cp.add(late >= reached - line.goal_slot)
    model.cost.append((line.late_weight, late))
    if weights.late_order:
        is_late = model.flag(f"is late {order.id}")
        cp.add(late == 0).only_enforce_if(is_late.negated())
        model.cost.append((weights.late_order * order.priority, is_late))
    for slot, weight in slacks:
        over = cp.new_int_var(max(floor - slot, 0), n_slots - min(slot, 0), f"over {order.id}")
        cp.add(over >= reached - slot)
        model.cost.append((weight, over))


def _counted(model: PlanModel, position: Position, option: Option) -> Literal:
    if position.ready is position.present:
        return option.chosen
    assert position.ready is not None
    key = (id(position), id(option))
    if key not in model.counted:
        model.counted[key] = model.both(option.chosen, position.ready, "counted")
    return model.counted[key]


def _pieces(model: PlanModel, option: Option) -> int:
    return model.compiled.molds[option.gap.copy.mold_id].cavities


def _options_by_line(model: PlanModel) -> dict[int, list[tuple[Position, Option]]]:
    found: dict[int, list[tuple[Position, Option]]] = {}
    for position in positions_of(model):
        for option in position.options:
            found.setdefault(option.line.ix, []).append((position, option))
    return found


def _fixed_ends(model: PlanModel, loose: set[str]) -> dict[str, int]:
    """Return when the last fixed finished cycle of each order is finished."""
    fixed = model.freed.fixed
    ends: dict[str, int] = {}
    steps: dict[str, list[int]] = {}
    for job in fixed.finishing:
        steps.setdefault(job.cycle_id, []).append(job.end_slot)
    for cycle in fixed.cycles:
        own = steps.get(cycle.id, [])
        if cycle.id not in loose and len(own) == len(model.compiled.makes[cycle.product_id].steps):
            ends[cycle.order_id] = max(ends.get(cycle.order_id, 0), max(own, default=cycle.end_slot))
    return ends
