"""What hangs on the wall of each unit for a day, and the short codes that people say by radio and write on paper."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from yardplan.domain.outcome import Publication, StoredPlan
from yardplan.domain.plan import Cycle, MoldChange, Plan
from yardplan.domain.slots import SlotGrid
from yardplan.domain.starts import LatestStart
from yardplan.domain.yard import Yard

LETTERS = "ABCDEFGHJKLMNPQRTUVWXY"
"""Of the sides of a unit: no I, O, S, Z, which are taken for 1, 0, 5, 2 by radio and on paper."""

_PLAIN = re.compile(rf"[0-9]{{1,3}}[{LETTERS}]")
_TYPED = re.compile(rf"([0-9]{{1,3}}[{LETTERS}])[- ]?([0-9]{{1,3}})")


def chamber_codes(yard: Yard) -> dict[str, str]:
    """Return a code such as ``2B`` for each chamber: its own name where all are such, else unit number and side."""
    names = [chamber.id for chamber in yard.chambers]
    if all(_PLAIN.fullmatch(name) for name in names):
        return {name: name for name in names}
    return {
        chamber.id: f"{number}{LETTERS[side]}"
        for number, unit in enumerate(yard.units, 1)
        for side, chamber in enumerate(unit.chambers)
    }


def short_codes(yard: Yard, cycles: Iterable[Cycle], grid: SlotGrid) -> dict[str, str]:
    """Return a code for each cycle, such as ``2B-07``: chamber and running number of the local day."""
    chambers = chamber_codes(yard)
    counts: dict[tuple[str, date], int] = {}
    codes = {}
    for cycle in cycles:
        key = (cycle.chamber_id, grid.local(cycle.charge_slot).date())
        counts[key] = counts.get(key, 0) + 1
        codes[cycle.id] = f"{chambers.get(cycle.chamber_id, cycle.chamber_id)}-{counts[key]:02d}"
    return codes


def cycle_of_code(text: str, yard: Yard, cycles: Iterable[Cycle], grid: SlotGrid, near: date) -> Cycle | None:
    """Return the cycle that a person means by a code, of the day nearest to `near`; None where there is none.

    The dash, noughts and the size of letters do not matter: ``2b7`` is ``2B-07``.
    """
    typed = _TYPED.fullmatch(text.strip().upper())
    if typed is None:
        return None
    wanted = f"{typed[1]}-{int(typed[2]):02d}"
    cycles = tuple(cycles)
    codes = short_codes(yard, cycles, grid)
    found = [cycle for cycle in cycles if codes[cycle.id] == wanted]
    return min(found, key=lambda cycle: abs((grid.local(cycle.charge_slot).date() - near).days), default=None)


def first_day_with_work(plan: Plan) -> date:
    """Return the local day of the first cycle, the plan's first day where it has none."""
    grid = plan.grid
    return min((grid.local(row.charge_slot).date() for row in plan.cycles), default=grid.days[0][0])


@dataclass(frozen=True)
class SheetRow:
    """One line of a sheet: a cycle, or a mold that is to be hung (then most times are None).

    `latest_at` is the last start of heat on its day from which the cook reaches PIAT at the plan's confidence.
    """

    code: str
    chamber: str
    start_at: datetime
    end_at: datetime
    mold: str
    crew: tuple[str, ...]
    order_id: str = ""
    product: str = ""
    color: str = ""
    pieces: int = 0
    heat_at: datetime | None = None
    heat_end_at: datetime | None = None
    latest_at: datetime | None = None
    demold_at: datetime | None = None


@dataclass(frozen=True)
class UnitSheet:
    """The page of one unit."""

    unit: str
    rows: tuple[SheetRow, ...]


@dataclass(frozen=True)
class ShopSheet:
    """The pages of a day, all times on the yard's clock.

    Attributes
    ----------
    issued : Publication or None
        Who put the plan into force and when; None where it is not the one in force.
    in_force : int or None
        Number of the plan that is in force.
    """

    site: str
    on: date
    plan_number: int
    made_at: datetime
    issued: Publication | None
    issued_at: datetime | None
    in_force: int | None
    confidence: float
    units: tuple[UnitSheet, ...]


def shop_sheet(
    yard: Yard, stored: StoredPlan, on: date, latest: Iterable[LatestStart], published: Iterable[Publication]
) -> ShopSheet:
    """Return the sheets of one local day of a plan, a page for each unit, also for one without work."""
    plan, grid = stored.outcome.plan, stored.outcome.plan.grid
    known = list(published)
    last = known[-1] if known else None
    issued = last if last is not None and last.plan_number == stored.number else None
    starts = {(row.on, row.chamber_id, row.mold_id, row.product_id): row.slot for row in latest}
    codes, chambers = short_codes(yard, plan.cycles, grid), chamber_codes(yard)
    people = {person.id: person.name for person in yard.operators}
    products = {product.id: product.name for product in yard.products}

    def named(crew: Iterable[str]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(people.get(ident, ident) for ident in crew))

    def of_cycle(row: Cycle) -> SheetRow:
        heat_on = grid.local(row.heat_slot).date()
        slot = starts.get((heat_on, row.chamber_id, row.mold.mold_id, row.product_id))
        return SheetRow(
            code=codes[row.id],
            chamber=chambers[row.chamber_id],
            start_at=grid.local(row.charge_slot),
            end_at=grid.local(row.end_slot),
            mold=str(row.mold),
            crew=named((*row.charge_crew, *row.demold_crew)),
            order_id=row.order_id,
            product=products.get(row.product_id, row.product_id),
            color=row.color,
            pieces=row.pieces,
            heat_at=grid.local(row.heat_slot),
            heat_end_at=grid.local(row.heat_end_slot),
            latest_at=None if slot is None else grid.local(slot),
            demold_at=grid.local(row.demold_slot),
        )

    def of_change(row: MoldChange) -> SheetRow:
        start_at, end_at = grid.local(row.start_slot), grid.local(row.end_slot)
        return SheetRow("", chambers[row.chamber_id], start_at, end_at, str(row.mold_in), named(row.crew))

    by_chamber: Mapping[str, list[SheetRow]] = {chamber.id: [] for chamber in yard.chambers}
    for cycle in plan.cycles:
        if grid.local(cycle.charge_slot).date() == on and cycle.chamber_id in by_chamber:
            by_chamber[cycle.chamber_id].append(of_cycle(cycle))
    for change in plan.mold_changes:
        if grid.local(change.start_slot).date() == on and change.chamber_id in by_chamber:
            by_chamber[change.chamber_id].append(of_change(change))
    return ShopSheet(
        site=yard.site.name,
        on=on,
        plan_number=stored.number,
        made_at=stored.made_at.astimezone(grid.zone),
        issued=issued,
        issued_at=issued.at.astimezone(grid.zone) if issued else None,
        in_force=last.plan_number if last else None,
        confidence=stored.confidence,
        units=tuple(
            UnitSheet(
                unit.name,
                tuple(
                    sorted(
                        (row for chamber in unit.chambers for row in by_chamber[chamber.id]),
                        key=lambda row: (row.chamber, row.start_at),
                    )
                ),
            )
            for unit in yard.units
        ),
    )
