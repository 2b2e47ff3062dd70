"""What a yard makes, and what it makes it of."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from yardplan.domain.errors import require, require_ranges


class ItemKind(StrEnum):
    """What a stock item is."""

    RESIN = "resin"
    INSERT = "insert"


@dataclass(frozen=True)
class FinishStep:
    """One step of a finishing routing, done for all pieces of a cycle together.

    `bench_kind` names the benches that can do it, `skill` who can; `power_kw` is drawn while it lasts.
    """

    name: str
    bench_kind: str
    skill: str
    minutes: int
    power_kw: float
    rest_min: int = 0

    def __post_init__(self) -> None:
        require_ranges(
            self,
            "finishing step",
            self.name,
            {"minutes": (1, 1440), "power_kw": (0, 100), "rest_min": (0, 20160)},
        )


@dataclass(frozen=True)
class Product:
    """What a cavity gives, and how.

    Attributes
    ----------
    shot_kg : float
        Resin for one piece [kg].
    wall_mm : float
        Nominal wall [mm].
    piat_c, demold_c : float
        Peak internal air temperature that ends heating, and the inside-air temperature for opening [C].
    charge_min, charge_crew, demold_min, demold_crew : int
        Handling of one cycle, all cavities together.
    mold_ids : tuple of str
        Molds that can make it.
    routing : tuple of FinishStep
        Finishing in order; the first step's `rest_min` counts from the end of demolding, a later one's
        from the end of the step before.
    inserts : tuple of (item id, count)
        Inserts in one piece.
    """

    id: str
    name: str
    resin_grade: str
    shot_kg: float
    wall_mm: float
    piat_c: float
    demold_c: float
    charge_min: int
    charge_crew: int
    demold_min: int
    demold_crew: int
    mold_ids: tuple[str, ...]
    routing: tuple[FinishStep, ...] = ()
    inserts: tuple[tuple[str, int], ...] = ()

    def __post_init__(self) -> None:
        require_ranges(
            self,
            "product",
            self.id,
            {
                "shot_kg": (0.05, 2000),
                "wall_mm": (1, 50),
                "piat_c": (150, 260),
                "demold_c": (30, 120),
                "charge_min": (0, 480),
                "charge_crew": (0, 10),
                "demold_min": (0, 480),
                "demold_crew": (0, 10),
            },
        )
        require(len(self.mold_ids) > 0, "product", self.id, "mold_ids", 0, "at least one mold")


@dataclass(frozen=True)
class Item:
    """A resin of one grade and color [kg], or an insert [pieces], one of which weighs `piece_kg`.

    A compound and a dry blend of one color are two grades: a product that must have compound names that grade.
    `lead_days` pass from ordering more of it until that is here; None where nobody said, or it cannot be had.
    """

    id: str
    name: str
    kind: ItemKind
    on_hand: float
    grade: str = ""
    color: str = ""
    piece_kg: float = 0.0
    lead_days: int | None = None

    def __post_init__(self) -> None:
        require_ranges(self, "stock item", self.id, {"on_hand": (0, 1e7), "piece_kg": (0, 500)})
        if self.lead_days is not None:
            require_ranges(self, "stock item", self.id, {"lead_days": (0, 365)})
        if self.is_resin:
            require(
                bool(self.grade and self.color),
                "stock item",
                self.id,
                "grade, color",
                "",
                "both, for a resin",
            )

    @property
    def is_resin(self) -> bool:
        """Whether it is a resin."""
        return self.kind is ItemKind.RESIN


@dataclass(frozen=True)
class Delivery:
    """So much of a stock item, expected at an instant."""

    item_id: str
    arrives_at: datetime
    amount: float

    def __post_init__(self) -> None:
        require_ranges(self, "delivery", self.item_id, {"amount": (0, 1e7)})
        require(
            self.arrives_at.tzinfo is not None,
            "delivery",
            self.item_id,
            "arrives_at",
            self.arrives_at,
            "a time with its offset",
        )


@dataclass(frozen=True)
class CleanDown:
    """Minutes to clean a mold between two colors or resins; ``*`` stands for any."""

    from_color: str
    to_color: str
    minutes: int

    def __post_init__(self) -> None:
        require_ranges(self, "clean-down", f"{self.from_color} to {self.to_color}", {"minutes": (0, 1440)})
