"""The yard as a whole: identities and references between its parts are checked here."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from yardplan.domain.equipment import Bench, Chamber, Hung, Load, Mold, MoldCopy, Site, Unit
from yardplan.domain.errors import InvalidField, NotThere, require
from yardplan.domain.heat_work import NIOSH_TABLE, WorkRest, check_work_rest
from yardplan.domain.people import Downtime, Operator, ResourceKind, Shift, Upkeep, duties_clash
from yardplan.domain.products import CleanDown, Delivery, Item, ItemKind, Product


@dataclass(frozen=True)
class Yard:
    """Everything that a plan takes from the yard; identities and references are checked as a whole."""

    site: Site
    units: tuple[Unit, ...]
    molds: tuple[Mold, ...]
    products: tuple[Product, ...]
    items: tuple[Item, ...]
    benches: tuple[Bench, ...]
    shifts: tuple[Shift, ...]
    operators: tuple[Operator, ...]
    clean_downs: tuple[CleanDown, ...] = ()
    deliveries: tuple[Delivery, ...] = ()
    downtimes: tuple[Downtime, ...] = ()
    upkeep: tuple[Upkeep, ...] = ()
    hung: tuple[Hung, ...] = ()
    loads: tuple[Load, ...] = ()
    work_rest: tuple[WorkRest, ...] = ()
    colors: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        require(len(self.units) > 0, "yard", self.site.name, "units", 0, "at least one unit")
        for thing, rows in (
            ("unit", self.units),
            ("chamber", self.chambers),
            ("mold", self.molds),
            ("product", self.products),
            ("stock item", self.items),
            ("bench", self.benches),
            ("shift", self.shifts),
            ("operator", self.operators),
            ("upkeep", self.upkeep),
        ):
            seen: set[str] = set()
            for row in rows:
                require(row.id not in seen, thing, row.id, "id", row.id, "an id that no other one has")
                require(bool(row.id.strip()), thing, row.id, "id", row.id, "a name that is not blank")
                seen.add(row.id)
        check_work_rest(self.work_rest)
        self._check_references()
        self._check_duties()
        self._check_fits()

    @property
    def work_rest_in_use(self) -> tuple[WorkRest, ...]:
        """The yard's own table of work and rest in the heat, else the one by default."""
        return self.work_rest or NIOSH_TABLE

    @property
    def chambers(self) -> tuple[Chamber, ...]:
        """All chambers, in the order of the units."""
        return tuple(chamber for unit in self.units for chamber in unit.chambers)

    @property
    def mold_copies(self) -> tuple[MoldCopy, ...]:
        """All physical molds, in the order of the molds."""
        return tuple(MoldCopy(mold.id, copy + 1) for mold in self.molds for copy in range(mold.copies))

    def unit_of(self, chamber_id: str) -> Unit:
        """Return the unit that a chamber belongs to."""
        for unit in self.units:
            if any(chamber.id == chamber_id for chamber in unit.chambers):
                return unit
        raise NotThere("chamber", chamber_id, _known(self.chambers))

    def unit(self, unit_id: str) -> Unit:
        """Return a unit by its id."""
        return _pick("unit", self.units, unit_id)

    def product(self, product_id: str) -> Product:
        """Return a product by its id."""
        return _pick("product", self.products, product_id)

    def mold(self, mold_id: str) -> Mold:
        """Return a mold by its id."""
        return _pick("mold", self.molds, mold_id)

    def resin(self, grade: str, color: str) -> Item | None:
        """Return the resin of a grade in a color, or None where the yard keeps none."""
        for item in self.items:
            if item.kind is ItemKind.RESIN and item.grade == grade and item.color == color:
                return item
        return None

    def insert_kg(self, product: Product) -> float:
        """Return the weight of the inserts in one piece [kg]."""
        piece_kg = {item.id: item.piece_kg for item in self.items}
        return sum(count * piece_kg[item_id] for item_id, count in product.inserts)

    def fits(self, mold: Mold, chamber: Chamber, product: Product | None = None) -> bool:
        """Tell whether a mold, charged for `product` where given, fits a chamber by swing and load."""
        charge_kg = product.shot_kg * mold.cavities if product else 0.0
        return mold.swing_m <= chamber.max_swing_m and mold.shell_kg + charge_kg <= chamber.max_load_kg

    def clean_down_min(self, before: tuple[str, str], after: tuple[str, str]) -> int:
        """Return minutes to clean a mold between two (grade, color) pairs; 0 if equal or if it was clean.

        The most exact rule wins: both colors named, then one, then ``*`` to ``*``; a change of grade
        in the same color goes by ``*`` to ``*``.
        """
        if before == after or before == ("", ""):
            return 0
        rules = {(rule.from_color, rule.to_color): rule.minutes for rule in self.clean_downs}
        keys = [("*", "*")]
        if before[1] != after[1]:
            keys = [(before[1], after[1]), (before[1], "*"), ("*", after[1]), ("*", "*")]
        return next((rules[key] for key in keys if key in rules), 0)

    def _check_references(self) -> None:
        molds = {mold.id for mold in self.molds}
        items = {item.id for item in self.items}
        kinds = {bench.kind for bench in self.benches}
        units = {unit.id for unit in self.units}
        chambers = {chamber.id for chamber in self.chambers}
        copies = {str(copy) for copy in self.mold_copies}
        shifts = {shift.id for shift in self.shifts}
        people = {operator.id for operator in self.operators}
        for product in self.products:
            for mold_id in product.mold_ids:
                require(mold_id in molds, "product", product.id, "mold_ids", mold_id, f"one of {_listed(molds)}")
            for item_id, count in product.inserts:
                require(item_id in items, "product", product.id, "inserts", item_id, f"one of {_listed(items)}")
                require(count > 0, "product", product.id, "inserts", count, "a count above 0")
            for step in product.routing:
                require(
                    step.bench_kind in kinds,
                    "product",
                    product.id,
                    f"routing step {step.name}",
                    step.bench_kind,
                    f"a bench kind, one of {_listed(kinds)}",
                )
        for bench in self.benches:
            require(
                bench.unit_id in units,
                "bench",
                bench.id,
                "unit_id",
                bench.unit_id,
                f"one of {_listed(units)}",
            )
        for load in self.loads:
            expected = f"one of {_listed(units)}, or * for each of them"
            require(load.unit_id in units | {"*"}, "load", load.name, "unit_id", load.unit_id, expected)
        for operator in self.operators:
            for duty in operator.duties:
                require(
                    duty.shift_id in shifts,
                    "operator",
                    operator.id,
                    "shift",
                    duty.shift_id,
                    f"one of {_listed(shifts)}",
                )
        for delivery in self.deliveries:
            require(
                delivery.item_id in items,
                "delivery",
                delivery.item_id,
                "item_id",
                delivery.item_id,
                f"one of {_listed(items)}",
            )
        known = {
            ResourceKind.UNIT: units,
            ResourceKind.CHAMBER: chambers,
            ResourceKind.MOLD: copies,
            ResourceKind.BENCH: {bench.id for bench in self.benches},
            ResourceKind.OPERATOR: people,
        }
        for down in self.downtimes:
            if down.kind is not ResourceKind.YARD:
                require(
                    down.resource_id in known[down.kind],
                    "down-time",
                    down.reason,
                    "resource_id",
                    down.resource_id,
                    f"a {down.kind}, one of {_listed(known[down.kind])}",
                )
        for upkeep in self.upkeep:
            require(
                upkeep.resource_id in known[upkeep.kind],
                "upkeep",
                upkeep.id,
                "resource_id",
                upkeep.resource_id,
                f"a {upkeep.kind}, one of {_listed(known[upkeep.kind])}",
            )
        seen: set[object] = set()
        for hung in self.hung:
            require(
                hung.chamber_id in chambers,
                "hung mold",
                str(hung.mold),
                "chamber_id",
                hung.chamber_id,
                f"one of {_listed(chambers)}",
            )
            require(
                str(hung.mold) in copies,
                "hung mold",
                str(hung.mold),
                "mold",
                str(hung.mold),
                f"one of {_listed(copies)}",
            )
            for once in (hung.chamber_id, hung.mold):
                require(
                    once not in seen,
                    "hung mold",
                    str(hung.mold),
                    "chamber_id, mold",
                    str(once),
                    "each chamber and each copy once",
                )
                seen.add(once)

    def _check_duties(self) -> None:
        """No operator is on two shifts at once, in any week of the year that the calendar covers."""
        shifts = {shift.id: shift for shift in self.shifts}
        for operator in self.operators:
            for at, one in enumerate(operator.duties):
                for two in operator.duties[at + 1 :]:
                    if duties_clash(one, two, shifts):
                        raise InvalidField(
                            "operator",
                            operator.id,
                            "duties",
                            f"{one.shift_id} and {two.shift_id}",
                            f"one place at a time; {operator.name} is on both shifts at once, take one of them out",
                        )

    def _check_fits(self) -> None:
        for mold in self.molds:
            require(
                any(self.fits(mold, chamber) for chamber in self.chambers),
                "mold",
                mold.id,
                "swing_m, shell_kg",
                (mold.swing_m, mold.shell_kg),
                "a mold that fits at least one chamber by max_swing_m and max_load_kg",
            )
        for hung in self.hung:
            chamber = _pick("chamber", self.chambers, hung.chamber_id)
            require(
                self.fits(self.mold(hung.mold.mold_id), chamber),
                "hung mold",
                str(hung.mold),
                "chamber_id",
                hung.chamber_id,
                "a chamber that the mold fits",
            )


_Row = TypeVar("_Row", Chamber, Mold, Product, Unit)


def _pick(thing: str, rows: Iterable[_Row], ident: str) -> _Row:
    rows = tuple(rows)
    for row in rows:
        if row.id == ident:
            return row
    raise NotThere(thing, ident, _known(rows))


def _known(rows: Iterable[Chamber | Mold | Product | Unit]) -> str:
    return f"known are {_listed({row.id for row in rows})}"


def _listed(names: set[str]) -> str:
    ordered = sorted(names)
    shown = ", ".join(ordered[:12])
    return shown + (f" and {len(ordered) - 12} more" if len(ordered) > 12 else "") if ordered else "(none)"
