"""Rules of chambers, fields and molds in a model."""

from yardplan.domain.people import ResourceKind
from yardplan.solve.compiled import CookRow, Line, span_mask, spans
from yardplan.solve.freed import Gap, Row
from yardplan.solve.model.parts import Linear, Literal, Option, PlanModel, Position, domain_of, positions_of

Recipe = tuple[Gap, Line, int, CookRow]
"""A mold in its time, an order, the slots in which heat may start, and the cook row."""


def cycle_sequence(model: PlanModel, room: list[int], missing: dict[int, int]) -> None:
    """Lay out the positions of each row: charge, heat, cool, demold in turn, one cycle after the other.

    Heat lasts what the cook table says for its start, which is never one that does not reach PIAT.

    Parameters
    ----------
    room : list of int
        How many positions each row has.
    missing : dict
        For each order, the pieces that no fixed cycle makes.
    """
    for row, n_positions in zip(model.freed.rows, room, strict=True):
        recipes = recipes_of(model, row, missing)
        positions: list[Position] = []
        for ix in range(n_positions if recipes else 0):
            position = _position(model, row, ix, recipes)
            if positions:
                before = positions[-1]
                model.cp.add_implication(position.present, before.present)
                model.cp.add(position.charge >= before.end).only_enforce_if(position.present)
            positions.append(position)
        model.rows.append(positions)


def recipes_of(model: PlanModel, row: Row, missing: dict[int, int]) -> list[Recipe]:
    """Return what a row can make."""
    compiled, found = model.compiled, list[Recipe]()
    for gap in row.gaps:
        for line in compiled.lines:
            if missing[line.ix] <= 0 or gap.copy.mold_id not in line.make.product.mold_ids:
                continue
            cook = compiled.row(gap.copy.mold_id, line.order.product_id, row.place.id)
            if cook is None:
                continue
            make = line.make
            first = max(row.start, gap.start if gap.copy != row.hung else row.start) + make.charge_slots
            last = min(row.end, gap.end) - make.demold_slots
            starts = _heat_starts(model, row, cook, first, last)
            if starts:
                found.append((gap, line, starts, cook))
    return found


def _heat_starts(model: PlanModel, row: Row, cook: CookRow, first: int, last: int) -> int:
    """Return the starts from `first` on whose heat and cooling find field and chamber free and end by `last`."""
    field_free = model.book.field_free[row.place.unit_ix]
    found = 0
    for start, end in spans(cook.starts & field_free & row.place.open & span_mask(first, last)):
        for slot in range(start, end):
            cooled = slot + cook.cook[slot] + cook.cool[slot]
            heat, work = span_mask(slot, slot + cook.cook[slot]), span_mask(slot, cooled)
            if cooled <= last and field_free & heat == heat and row.place.open & work == work:
                found |= 1 << slot
    return found


def _position(model: PlanModel, row: Row, ix: int, recipes: list[Recipe]) -> Position:
    cp, name = model.cp, f"{row.place.id}.{row.start}.{ix}"
    sole = len(recipes) == 1
    present = model.flag(f"present {name}")
    options = [Option(gap, line, present if sole else model.flag("option")) for gap, line, _, _ in recipes]
    if not sole:
        cp.add(sum(option.chosen for option in options) == present)
    by_cook: dict[int, tuple[CookRow, int, list[Literal]]] = {}
    for option, (_, _, starts, cook) in zip(options, recipes, strict=True):
        known = by_cook.setdefault(id(cook), (cook, starts, []))
        # Molds of one type may hang for different times: the wider domain, cut again for each option.
        by_cook[id(cook)] = (cook, known[1] | starts, known[2])
        known[2].append(option.chosen)
    charge = cp.new_int_var(row.start, row.end, f"charge {name}")
    demold = cp.new_int_var(row.start, row.end, f"demold {name}")
    heat, cook_slots, cool_slots = _heat(model, row, list(by_cook.values()), present, name)
    position = Position(
        row, ix, present, options, charge, heat, cook_slots, cool_slots, demold, end=0, charged=0
    )  # fmt: skip
    for option, (gap, _, starts, cook) in zip(options, recipes, strict=True):
        if starts != by_cook[id(cook)][1]:
            cp.add_linear_expression_in_domain(heat, domain_of(starts)).only_enforce_if(option.chosen)
        if gap.copy != row.hung:
            cp.add(charge >= gap.start).only_enforce_if(option.chosen)
    for gap in {option.gap: None for option in options}:
        lits = [option.chosen for option in options if option.gap is gap]
        whole = len(lits) == len(options)
        position.hangs[gap] = present if whole else model.any_of(lits, "hangs")
    for product_id in {option.line.order.product_id: None for option in options}:
        lits = [option.chosen for option in options if option.line.order.product_id == product_id]
        position.products[product_id] = present if len(lits) == len(options) else model.any_of(lits, "product")
    makes = model.compiled.makes
    if len(position.products) == 1:
        make = makes[next(iter(position.products))]
        position.end = demold + make.demold_slots
        position.charged = charge + make.charge_slots
    else:
        position.end = demold + sum(makes[ident].demold_slots * lit for ident, lit in position.products.items())
        position.charged = charge + sum(makes[ident].charge_slots * lit for ident, lit in position.products.items())
    cp.add(position.end <= row.end)
    cp.add(heat + cook_slots + cool_slots <= demold)
    return position


def _heat(
    model: PlanModel,
    row: Row,
    cooks: list[tuple[CookRow, int, list[Literal]]],
    present: Literal,
    name: str,
) -> tuple[Literal, Linear, Linear]:
    """Return start of heat, its length and the length of cooling.

    The cook table is cut into the stretches of starts that take equally long; one of them is chosen.
    """
    cp, union = model.cp, 0
    for _, starts, _ in cooks:
        union |= starts
    heat = model.slot_in(union, f"heat {name}")
    cook_slots: list[Linear] = []
    cool_slots: list[Linear] = []
    by_length: dict[int, list[Literal]] = {}
    for cook, starts, chosen in cooks:
        alike: dict[tuple[int, int], int] = {}
        for low, high in spans(starts):
            for slot in range(low, high):
                key = (cook.cook[slot], cook.cool[slot])
                alike[key] = alike.get(key, 0) | 1 << slot
        made = present if len(cooks) == 1 else model.any_of(chosen, "recipe")
        lits = [made if len(alike) == 1 else model.flag("cook") for _ in alike]
        if len(alike) > 1:
            cp.add(sum(lits) == made)
        for ((length, cooling), mask), lit in zip(alike.items(), lits, strict=True):
            if mask != union:
                cp.add_linear_expression_in_domain(heat, domain_of(mask)).only_enforce_if(lit)
            by_length.setdefault(length, []).append(lit)
            cook_slots.append(length * lit)
            cool_slots.append(cooling * lit)
            model.regimes.append((heat, mask, made, lit))
    for length, lits in by_length.items():
        lit = model.any_of(lits, "cook length")
        interval = cp.new_optional_fixed_size_interval_var(heat, length, lit, f"heat {name}")
        model.heats[row.place.unit_ix].append(interval)
    return heat, sum(cook_slots), sum(cool_slots)


def one_chamber_heats(model: PlanModel) -> None:
    """Let a unit's field heat one chamber at a time; fixed heats are out of the starts already."""
    for intervals in model.heats.values():
        if len(intervals) > 1:
            model.cp.add_no_overlap(intervals)


def downtime(model: PlanModel) -> None:
    """Keep cycles out of the times when the whole yard or their mold is down; a mold may wait in a down chamber."""
    cp, compiled = model.cp, model.compiled
    for position in positions_of(model):
        row = position.row
        blocks = [(span, position.present) for span in spans(span_mask(row.start, row.end) & ~row.place.waiting)]
        for gap, lit in position.hangs.items():
            down = compiled.down(ResourceKind.MOLD, str(gap.copy)) & span_mask(row.start, row.end)
            blocks += [(span, lit) for span in spans(down)]
        for (start, end), lit in blocks:
            before = model.flag("before the down-time")
            cp.add(position.end <= start).only_enforce_if([lit, before])
            cp.add(position.charge >= end).only_enforce_if([lit, before.negated()])


def charge_before_heat(model: PlanModel) -> None:
    """End charging, with its clean-down, before heat begins."""
    for position in positions_of(model):
        model.cp.add(position.charged <= position.heat)
