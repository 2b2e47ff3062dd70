"""Rules of chambers and molds."""

from collections import defaultdict
from collections.abc import Iterator
from math import inf
from typing import NamedTuple

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.plan import Cycle, MoldChange
from yardplan.domain.rules import Rule, Violation
from yardplan.domain.tables import NEVER, Recipe
from yardplan.solve.check_case import Case, Span, broken, crowded


def one_chamber_heats(case: Case) -> Iterator[Violation]:
    """Demand that a unit's field heats one chamber at a time."""
    heats = defaultdict(list)
    for cycle in case.cycles:
        span = Span(cycle, f"heat of {case.name(cycle)}", cycle.heat_slot, cycle.heat_end_slot)
        heats[case.unit_ix[cycle.chamber_id]].append(span)
    for unit_ix, spans in heats.items():
        for at_once in crowded(spans, 1):
            text = f"the field of unit {case.yard.units[unit_ix].id} would heat twice at once: {_listed(case, at_once)}"
            yield broken(Rule.FIELD, text, *(span.row for span in at_once))


def cycle_sequence(case: Case) -> Iterator[Violation]:
    """Demand that charge, heat, cool, demold follow each other, and handling lasts what the product says."""
    for cycle in case.cycles:
        if case.is_fact(cycle):
            continue
        name, product = case.name(cycle), case.products[cycle.product_id]
        charging, demolding = case.handling(cycle)
        steps = (
            (charging.end_slot, cycle.heat_slot, "charging ends", "heating starts"),
            (cycle.heat_slot, cycle.heat_end_slot, "heating starts", "heating ends"),
            (cycle.heat_end_slot, cycle.cool_end_slot, "heating ends", "cooling ends"),
            (cycle.cool_end_slot, cycle.demold_slot, "cooling ends", "demolding starts"),
        )
        for before_slot, after_slot, before, after in steps:
            if before_slot > after_slot:
                text = f"{name}: {before} at {case.when(before_slot)}, but {after} already at {case.when(after_slot)}"
                yield broken(Rule.SEQUENCE, text, cycle)
        if cycle.clean_slots < 0:
            yield broken(Rule.SEQUENCE, f"{name}: its clean-down lasts {case.minutes(cycle.clean_slots)}", cycle)
        needed_slots = case.grid.slots_up(product.demold_min)
        if demolding.end_slot - demolding.start_slot != needed_slots:
            text = (
                f"{name}: demolding lasts {case.minutes(demolding.end_slot - demolding.start_slot)} "
                f"from {case.when(demolding.start_slot)}, product {product.id} takes {case.minutes(needed_slots)}"
            )
            yield broken(Rule.SEQUENCE, text, cycle)


def chamber_once(case: Case) -> Iterator[Violation]:
    """Demand that cycles and mold changes of a chamber do not overlap."""
    spans = defaultdict(list)
    for cycle in case.cycles:
        spans[cycle.chamber_id].append(Span(cycle, case.name(cycle), cycle.charge_slot, cycle.end_slot))
    for change in case.changes:
        spans[change.chamber_id].append(Span(change, case.name(change), change.start_slot, change.end_slot))
    for chamber_id, here in spans.items():
        for at_once in crowded(here, 1):
            text = f"chamber {chamber_id} would be used twice at once: {_listed(case, at_once)}"
            yield broken(Rule.CHAMBER, text, *(span.row for span in at_once))


def cook_time(case: Case) -> Iterator[Violation]:
    """Demand the heat that the cook table says for that start at the planning confidence; never a "never"."""
    for cycle, cook_slots, _ in _table_slots(case):
        starts = f"{case.name(cycle)} starts to heat at {case.when(cycle.heat_slot)}"
        sure = f"at {100 * case.problem.confidence:.0f} % confidence"
        if cook_slots is None:
            text = f"{starts}, but the cook table knows no {cycle.product_id} in mold {cycle.mold.mold_id}"
            yield broken(Rule.COOK, text, cycle)
        elif cook_slots == NEVER:
            yield broken(Rule.COOK, f"{starts}, but {sure} PIAT is never reached from then", cycle)
        elif cycle.heat_end_slot - cycle.heat_slot != cook_slots:
            planned = case.minutes(cycle.heat_end_slot - cycle.heat_slot)
            text = f"{starts} for {planned}, but {sure} the cook from then takes {case.minutes(cook_slots)}"
            yield broken(Rule.COOK, text, cycle)


def cool_time(case: Case) -> Iterator[Violation]:
    """Demand that cooling lasts at least what the table says."""
    for cycle, cook_slots, cool_slots in _table_slots(case):
        planned_slots = cycle.cool_end_slot - cycle.heat_end_slot
        if cook_slots and planned_slots < cool_slots:
            text = (
                f"{case.name(cycle)} cools for {case.minutes(planned_slots)} from {case.when(cycle.heat_end_slot)}, "
                f"but needs {case.minutes(cool_slots)} down to {case.products[cycle.product_id].demold_c:g} °C"
            )
            yield broken(Rule.COOL, text, cycle)


def mold_once(case: Case) -> Iterator[Violation]:
    """Demand that a physical mold is in one chamber at a time, and hangs where it is used."""
    stays = defaultdict(list)
    for stay in _stays(case):
        stays[stay.mold].append(stay)
    for mold, here in stays.items():
        here.sort(key=lambda stay: (stay.start_slot, stay.end_slot, stay.chamber_id))
        for ix, two in enumerate(here):
            for one in here[:ix]:
                if one.chamber_id != two.chamber_id and one.end_slot > two.start_slot:
                    text = (
                        f"mold {mold} would hang in {two.chamber_id} {_since(case, two)} "
                        f"while it still hangs in {one.chamber_id}"
                    )
                    yield broken(Rule.MOLD_ONCE, text, *(c for c in (one.hung_by, one.taken_by, two.hung_by) if c))
    for cycle in case.cycles:
        if not any(
            stay.chamber_id == cycle.chamber_id
            and stay.start_slot <= cycle.charge_slot
            and cycle.end_slot <= stay.end_slot
            for stay in stays[cycle.mold]
        ):
            text = (
                f"{case.name(cycle)} uses mold {cycle.mold} {case.from_to(cycle.charge_slot, cycle.end_slot)}, "
                "but the mold does not hang there all that time"
            )
            yield broken(Rule.MOLD_ONCE, text, cycle)


def mold_fit(case: Case) -> Iterator[Violation]:
    """Demand that the mold fits the chamber and can make the product."""
    hangings: list[tuple[Cycle | MoldChange, MoldCopy]] = [(cycle, cycle.mold) for cycle in case.cycles]
    hangings += [(change, change.mold_in) for change in case.changes]
    for row, copy in hangings:
        if case.is_fact(row):
            continue
        mold, chamber, name = case.molds[copy.mold_id], case.chambers[row.chamber_id], case.name(row)
        load_kg, load = mold.shell_kg, f"mold {mold.id}"
        if isinstance(row, Cycle):
            product = case.products[row.product_id]
            load_kg, load = load_kg + product.shot_kg * mold.cavities, f"{load} with its charge"
            if mold.id not in product.mold_ids:
                yield broken(Rule.MOLD_FIT, f"{name}: mold {mold.id} cannot make product {product.id}", row)
        if mold.swing_m > chamber.max_swing_m:
            text = f"{name}: mold {mold.id} swings {mold.swing_m:g} m, the chamber takes {chamber.max_swing_m:g} m"
            yield broken(Rule.MOLD_FIT, text, row)
        if load_kg > chamber.max_load_kg:
            text = f"{name}: {load} weighs {load_kg:g} kg, the chamber takes {chamber.max_load_kg:g} kg"
            yield broken(Rule.MOLD_FIT, text, row)


def mold_change(case: Case) -> Iterator[Violation]:
    """Demand changes as long as the mold needs that take out what hangs there, and no more than there are loaders."""
    hangs = {stay.taken_by.id: stay.mold for stay in _stays(case) if stay.taken_by}
    for change in case.changes:
        if case.is_fact(change):
            continue
        name = case.name(change)
        needed_slots = case.grid.slots_up(case.molds[change.mold_in.mold_id].change_min)
        if change.end_slot - change.start_slot != needed_slots:
            text = (
                f"{name} lasts {case.minutes(change.end_slot - change.start_slot)} "
                f"from {case.when(change.start_slot)}, mold {change.mold_in} takes {case.minutes(needed_slots)}"
            )
            yield broken(Rule.MOLD_CHANGE, text, change)
        hanging = hangs.get(change.id)
        if change.mold_out != hanging:
            text = (
                f"{name} takes out {change.mold_out or 'nothing'} at {case.when(change.start_slot)}, "
                f"but {hanging or 'nothing'} hangs there"
            )
            yield broken(Rule.MOLD_CHANGE, text, change)
        if change.mold_in == hanging:
            text = f"{name} at {case.when(change.start_slot)} hangs {hanging}, which hangs there already"
            yield broken(Rule.MOLD_CHANGE, text, change)
    loaders = case.yard.site.loaders
    spans = (Span(change, case.name(change), change.start_slot, change.end_slot) for change in case.changes)
    for at_once in crowded(spans, loaders):
        text = f"{len(at_once)} mold changes at once, the yard has {loaders} loader(s): {_listed(case, at_once)}"
        yield broken(Rule.MOLD_CHANGE, text, *(span.row for span in at_once))


def clean_down(case: Case) -> Iterator[Violation]:
    """Demand the clean-down time of another color or resin in the same mold."""
    ran_last = {hung.mold: (hung.grade, hung.color) for hung in case.yard.hung}
    for cycle in sorted(case.cycles, key=lambda cycle: (cycle.charge_slot, cycle.id)):
        before = ran_last.get(cycle.mold, ("", ""))
        after = (case.products[cycle.product_id].resin_grade, cycle.color)
        ran_last[cycle.mold] = after
        needed_slots = case.grid.slots_up(case.yard.clean_down_min(before, after))
        if cycle.clean_slots != needed_slots and not case.is_fact(cycle):
            text = (
                f"{case.name(cycle)} cleans mold {cycle.mold} for {case.minutes(cycle.clean_slots)} "
                f"at {case.when(cycle.charge_slot)}, but {' '.join(after)} "
                f"after {' '.join(before).strip() or 'nothing'} takes {case.minutes(needed_slots)}"
            )
            yield broken(Rule.CLEAN_DOWN, text, cycle)


class _Stay(NamedTuple):
    """A mold in a chamber from the start of the change that hangs it to the end of the one that takes it out."""

    mold: MoldCopy
    chamber_id: str
    start_slot: float
    end_slot: float
    hung_by: MoldChange | None
    taken_by: MoldChange | None


def _stays(case: Case) -> Iterator[_Stay]:
    hung = {hung.chamber_id: hung.mold for hung in case.yard.hung}
    changes = defaultdict(list)
    for change in case.changes:
        changes[change.chamber_id].append(change)
    for chamber_id in case.chambers:
        mold, start_slot, hung_by = hung.get(chamber_id), -inf, None
        for change in changes[chamber_id]:
            if mold is not None:
                yield _Stay(mold, chamber_id, start_slot, change.end_slot, hung_by, change)
            mold, start_slot, hung_by = change.mold_in, change.start_slot, change
        if mold is not None:
            yield _Stay(mold, chamber_id, start_slot, inf, hung_by, None)


def _table_slots(case: Case) -> Iterator[tuple[Cycle, int | None, int]]:
    """Yield each cycle whose heat can be judged, with cook and cooling slots of the table, None where it has none."""
    cook = case.problem.cook
    confidence_ix = cook.confidence_ix(case.problem.confidence)
    recipe_ix = {recipe: ix for ix, recipe in enumerate(cook.recipes)}
    for cycle in case.cycles:
        makes = cycle.mold.mold_id in case.products[cycle.product_id].mold_ids
        if case.is_fact(cycle) or not makes or not 0 <= cycle.heat_slot < case.n_slots:
            continue
        at = recipe_ix.get(Recipe(cycle.mold.mold_id, cycle.product_id))
        if at is None:
            yield cycle, None, 0
        else:
            where = (confidence_ix, at, case.unit_ix[cycle.chamber_id], cycle.heat_slot)
            yield cycle, int(cook.cook_slots[where]), int(cook.cool_slots[where])


def _since(case: Case, stay: _Stay) -> str:
    return "from the beginning" if stay.start_slot == -inf else f"from {case.when(int(stay.start_slot))}"


def _listed(case: Case, spans: tuple[Span, ...]) -> str:
    return ", ".join(f"{span.doing} {case.from_to(span.start_slot, span.end_slot)}" for span in spans)
