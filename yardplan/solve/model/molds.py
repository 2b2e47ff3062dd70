"""Rules of molds in a model: where they hang, changing them, and cleaning them between colors."""

from collections.abc import Iterable
from itertools import pairwise
from typing import Any

from yardplan.solve.compiled import span_mask
from yardplan.solve.freed import Gap, Row
from yardplan.solve.model.crew import change_job
from yardplan.solve.model.parts import LastChange, Literal, PlanModel, Position

State = tuple[str, str]


def mold_change(model: PlanModel) -> None:
    """Put a change of full length, with crew and loader, wherever a row goes from one mold to another."""
    for row, positions in zip(model.freed.rows, model.rows, strict=True):
        for position in positions:
            _change_before(model, row, positions, position)
        _change_after_all(model, row, positions)


def _change_before(model: PlanModel, row: Row, positions: list[Position], position: Position) -> None:
    cp = model.cp
    before = positions[position.ix - 1] if position.ix else None
    changes: dict[Gap, Literal] = {}
    for gap, hangs in position.hangs.items():
        hung = before.hangs.get(gap) if before else (model.true if gap.copy == row.hung else None)
        parked = _parked(model, row, position.ix - 1, gap)
        if hung is None:
            changes[gap] = hangs
        elif parked is not None or (before is not None and len(before.hangs) > 1):
            changed = model.flag("changed")
            cp.add_implication(changed, hangs)
            cp.add_bool_or([hangs.negated(), hung, changed])
            cp.add_bool_or([changed.negated(), hung.negated()] + ([parked] if parked is not None else []))
            if parked is not None:
                cp.add_bool_or([parked.negated(), hangs.negated(), changed])
            changes[gap] = changed
    if not changes:
        return
    position.changes = changes
    start = cp.new_int_var(row.start, row.end, "change")
    changed = model.any_of(list(changes.values()), "any change")
    position.change_start, position.changed = start, changed
    lengths = {gap: model.compiled.change_slots[gap.copy.mold_id] for gap in changes}
    position.change_end = start + sum(lengths[gap] * lit for gap, lit in changes.items())
    cp.add(start >= (before.end if before else row.start)).only_enforce_if(changed)
    cp.add(position.change_end <= position.charge).only_enforce_if(changed)
    inside = row.place.open & span_mask(row.start, row.end)
    for gap, lit in changes.items():
        if gap.start > row.start:
            cp.add(start >= gap.start).only_enforce_if(lit)
        model.crew_jobs[id(position), "change"].append(change_job(model, gap, start, lit, inside))
    model.cost.append((model.compiled.problem.weights.mold_change, changed))


def _change_after_all(model: PlanModel, row: Row, positions: list[Position]) -> None:
    """Hang what the fixed work that follows needs, unless it hangs there after the last cycle."""
    if row.must_hang is None or (row.must_hang == row.hung and all(len(p.hangs) == 1 for p in positions[:1])):
        return
    gap = next((gap for gap in row.gaps if gap.copy == row.must_hang), None)
    cp = model.cp
    if gap is None:
        cp.add_bool_or([])  # the mold cannot come: there is no such plan
        return
    needed, start = model.flag("last change"), cp.new_int_var(row.start, row.end, "last change")
    end = start + model.compiled.change_slots[gap.copy.mold_id]
    for position, after in _with_next(positions):
        on = [after.present.negated()] if after else []
        hangs = position.hangs.get(gap)
        if hangs is None:
            cp.add(needed == 1).only_enforce_if([position.present, *on])
        else:
            cp.add(needed == 0).only_enforce_if([hangs, *on])
            cp.add(needed == 1).only_enforce_if([position.present, hangs.negated(), *on])
        cp.add(start >= position.end).only_enforce_if([position.present, needed])
    unused = [positions[0].present.negated()] if positions else []
    cp.add(needed == int(row.hung != row.must_hang)).only_enforce_if(unused)
    cp.add(end <= row.end).only_enforce_if(needed)
    if gap.start > row.start:
        cp.add(start >= gap.start).only_enforce_if(needed)
    job = change_job(model, gap, start, needed, row.place.open & span_mask(row.start, row.end))
    model.last_changes[id(row)] = LastChange(gap, needed, start, end, job)
    model.cost.append((model.compiled.problem.weights.mold_change, needed))


def _parked(model: PlanModel, row: Row, ix: int, gap: Gap) -> Literal | None:
    """Return the literal that a mold is taken out after a position before another one is hung.

    Work that only clears a mold out of the way hangs some other one in its place; which one, and when, is left out of
    a whole model. Taking it out for the price of a change, but with no time and no crew, costs no more than that, so
    the model's bound stays true; a solution that parks nothing is a real plan.
    """
    if not model.whole or len(rows_by_gap(model)[gap]) < 2:
        return None
    if (id(row), ix) not in model.parked:
        lit = model.flag("parked")
        model.parked[id(row), ix] = lit
        model.cost.append((model.compiled.problem.weights.mold_change, lit))
    return model.parked[id(row), ix]


def gone_in_time(model: PlanModel) -> None:
    """Take a mold out of a row before fixed work needs it elsewhere."""
    for gap, rows in rows_by_gap(model).items():
        for row, positions in rows:
            if gap.end >= min(row.end, model.compiled.n_slots) or gap.copy == row.must_hang:
                continue
            last = model.last_changes.get(id(row))
            start = [None] if gap.copy == row.hung else []
            for before, after in pairwise([*start, *positions, None]):
                if before is None:
                    there = [after.hangs[gap].negated()] if after and gap in after.hangs else []
                elif gap in before.hangs:
                    there = [before.hangs[gap]]
                else:
                    continue
                if after is not None and after.change_end is not None and after.changed is not None:
                    model.cp.add(after.change_end <= gap.end).only_enforce_if([*there, after.changed])
                unused = [*there, after.present.negated()] if after else there
                if last is None:
                    model.cp.add_bool_or([lit.negated() for lit in unused])
                else:
                    model.cp.add(last.needed == 1).only_enforce_if(unused)
                    model.cp.add(last.end <= gap.end).only_enforce_if(unused)


def clean_down(model: PlanModel) -> None:
    """Give a cycle its clean-down where the mold ran another color or resin before.

    In a row with one mold the cycle before is the position before; where molds change or may move between rows,
    a circuit through the positions of each mold says which comes next, and keeps it in one chamber at a time.
    """
    for gap, held in rows_by_gap(model).items():
        rows = [(row, positions) for row, positions in held if positions and gap in positions[0].hangs]
        if not rows:
            continue
        first = rows[0][1][0]
        if len(held) == 1 and len(first.hangs) == 1:
            for before, position in pairwise([None, *rows[0][1]]):
                then = {gap.state_in: model.true} if before is None else _states(model, before, gap)
                if position is not None:
                    _clean(model, position, gap, [(model.true, then)])
            _suits_next(model, rows[0][1], gap)
        elif len(held) > 1 or gap.next_cycle is not None or _may_need_cleaning(model, rows[0][1], gap):
            mold_once(model, gap, held)
    weight = model.compiled.problem.weights.clean_down
    for positions in model.rows:
        for position in positions:
            if position.cleans:
                model.cp.add(sum(position.cleans.values()) == position.present)
                position.charged = position.charged + sum(length * lit for length, lit in position.cleans.items())
                model.cost += [(weight, lit) for length, lit in position.cleans.items() if length]


def mold_once(model: PlanModel, gap: Gap, held: list[tuple[Row, list[Position]]]) -> None:
    """Let a mold hang in one chamber at a time, and clean it by what it ran before, wherever that was.

    A circuit leads from the mold's place at the start through the positions that use it, in order of time.
    """
    cp = model.cp
    nodes = [(row, position) for row, positions in held for position in positions if gap in position.hangs]
    home = next((row for row, _ in held if row.hung == gap.copy and gap.start <= row.start), None)
    arcs: list[tuple[int, int, Any]] = [(0, 0, model.flag("mold not used"))]
    then: dict[int, list[tuple[Literal, dict[State, Literal]]]] = {node: [] for node in range(1, len(nodes) + 1)}
    for two, (row, position) in enumerate(nodes, start=1):
        arcs.append((two, two, position.hangs[gap].negated()))
        first, last = model.flag("first use"), model.flag("last use")
        arcs += [(0, two, first), (two, 0, last)]
        then[two].append((first, {gap.state_in: model.true}))
        if home is not None and row is not home:
            _comes_after(model, first, _leaves(model, home, -1), position, gap)
        for state, lit in _states(model, position, gap).items():
            if not _suits(model, state, gap):
                cp.add_bool_or([last.negated(), lit.negated()])
        for one, (other, before) in enumerate(nodes, start=1):
            if one == two or (other is row and before.ix > position.ix):
                continue
            follows = model.flag("next use")
            arcs.append((one, two, follows))
            then[two].append((follows, _states(model, before, gap)))
            if other is not row:
                _comes_after(model, follows, _leaves(model, other, before.ix), position, gap)
                _ends_stay(model, follows, other, before)
    cp.add_circuit(arcs)
    if not _suits(model, gap.state_in, gap):
        cp.add(arcs[0][2] == 0)
    for two, (_, position) in enumerate(nodes, start=1):
        _clean(model, position, gap, then[two])


def _comes_after(model: PlanModel, follows: Literal, leaves: Literal, position: Position, gap: Gap) -> None:
    """Hang a mold here only after it has left where it was."""
    if position.change_start is None or gap not in position.changes:
        model.cp.add(follows == 0)
        return
    model.cp.add_implication(follows, position.changes[gap])
    model.cp.add(position.change_start >= leaves).only_enforce_if(follows)


def _ends_stay(model: PlanModel, follows: Literal, row: Row, before: Position) -> None:
    positions = model.positions_in(row)
    if before.ix + 1 < len(positions):
        after = positions[before.ix + 1]
        changed = [after.changed] if after.changed is not None else []
        model.cp.add_bool_or([follows.negated(), after.present.negated(), *changed])


def _leaves(model: PlanModel, row: Row, ix: int) -> Literal:
    """Return the slot in which the mold of a position (-1: that hangs at the start) has left; past the end if never."""
    if (id(row), ix) in model.leaving:
        return model.leaving[id(row), ix]
    cp, positions, never = model.cp, model.positions_in(row), model.compiled.n_slots + 1
    at = cp.new_int_var(row.start, never, "leaves")
    parked = model.parked.get((id(row), ix))
    really = [parked.negated()] if parked is not None else []
    after = positions[ix + 1] if ix + 1 < len(positions) else None
    if after is not None and after.changed is not None and after.change_end is not None:
        cp.add(at >= after.change_end).only_enforce_if([after.changed, *really])
    stays = [*really, after.present.negated()] if after else really
    last = model.last_changes.get(id(row))
    if last is None:
        cp.add(at == never).only_enforce_if(stays)
    else:
        cp.add(at >= last.end).only_enforce_if([*stays, last.needed])
        cp.add(at == never).only_enforce_if([*stays, last.needed.negated()])
    if parked is not None:
        cp.add(at >= (positions[ix].end if ix >= 0 else row.start)).only_enforce_if(parked)
    model.leaving[id(row), ix] = at
    return at


def _with_next(positions: list[Position]) -> list[tuple[Position, Position | None]]:
    return [(position, positions[ix + 1] if ix + 1 < len(positions) else None) for ix, position in enumerate(positions)]


def rows_by_gap(model: PlanModel) -> dict[Gap, list[tuple[Row, list[Position]]]]:
    """Return for each mold in its time the rows in which it may hang, with their positions."""
    found: dict[Gap, list[tuple[Row, list[Position]]]] = {}
    for row, positions in zip(model.freed.rows, model.rows, strict=True):
        for gap in row.gaps:
            found.setdefault(gap, []).append((row, positions))
    return found


def _states(model: PlanModel, position: Position, gap: Gap) -> dict[State, Literal]:
    """Return for each (grade, color) that a mold may run at a position the literal that says so."""
    found: dict[State, list[Literal]] = {}
    for option in position.options:
        if option.gap == gap:
            found.setdefault(option.line.state, []).append(option.chosen)
    if len(found) == 1:
        return {next(iter(found)): position.hangs[gap]}
    return {state: model.any_of(lits, "state") for state, lits in found.items()}


def _may_need_cleaning(model: PlanModel, positions: list[Position], gap: Gap) -> bool:
    states = {option.line.state for option in positions[0].options if option.gap == gap} | {gap.state_in}
    return any(model.compiled.clean_slots(one, two) for one in states for two in states)


def _clean(
    model: PlanModel, position: Position, gap: Gap, then: Iterable[tuple[Literal, dict[State, Literal]]]
) -> None:
    """Choose the length of a clean-down by what the mold ran before: pairs of a condition and states."""
    cp, clean = model.cp, model.compiled.clean_slots
    now, then = _states(model, position, gap), list(then)
    lengths = {clean(one, two) for _, states in then for one in states for two in now} | {0}
    if lengths == {0} and not position.cleans:
        return
    for length in sorted(lengths - set(position.cleans)):
        position.cleans[length] = model.flag(f"clean {length}")
    for two, is_two in now.items():
        for condition, states in then:
            for one, was_one in states.items():
                right = position.cleans[clean(one, two)]
                cp.add_bool_or([is_two.negated(), condition.negated(), was_one.negated(), right])


def _suits_next(model: PlanModel, positions: list[Position], gap: Gap) -> None:
    """Leave the mold so that the fixed cycle that follows still begins with the clean-down it has."""
    if gap.next_cycle is None:
        return
    for position, after in _with_next(positions):
        for state, lit in _states(model, position, gap).items():
            if not _suits(model, state, gap):
                model.cp.add_bool_or([lit.negated()] + ([after.present] if after else []))
    if not _suits(model, gap.state_in, gap):
        model.cp.add(positions[0].present == 1)


def _suits(model: PlanModel, state: State, gap: Gap) -> bool:
    cycle = gap.next_cycle
    if cycle is None:
        return True
    grade = model.compiled.makes[cycle.product_id].product.resin_grade
    return model.compiled.clean_slots(state, (grade, cycle.color)) == cycle.clean_slots
