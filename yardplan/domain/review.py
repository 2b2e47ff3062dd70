"""Figures on how a yard did: each with its formula, its counts and its time, so that anybody can work it out again."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from yardplan.domain.calibration import Calibrated
from yardplan.domain.verification import Verified

ISO = "ISO 22400-2, name and formula from memory"
HIGHER, LOWER = "higher is better", "lower is better"
MANAGER, BOTH = "manager", "manager, foreman"


@dataclass(frozen=True)
class Card:
    """What a figure means: the eight fields that ISO 22400-1 asks for (read in an excerpt), and where it is from.

    `low` and `high` are the ends of what it can be, None where there is none; `unit` is empty for shares.
    """

    id: str
    name: str
    scope: str
    formula: str
    unit: str = ""
    low: float | None = 0
    high: float | None = 1
    trend: str = HIGHER
    timing: str = "on demand, for the days looked at"
    audience: str = BOTH
    source: str = "own"


_CARDS = (
    Card(
        "starts_in_time",
        "Cooks begun in time",
        "yard",
        "starts of heat within 30 min of the plan in force at that time / starts that it had",
    ),
    Card(
        "pieces_made",
        "Good pieces against plan",
        "yard",
        "good pieces / pieces that the plans in force had demolded",
        high=None,
    ),
    Card(
        "allocation_efficiency",
        "Allocation efficiency",
        "chambers",
        "hours from charging to the end of demolding / the same hours in the plans in force; hours without usable sun "
        "are in neither, since no plan has a cycle there",
        high=None,
        audience=MANAGER,
        source=ISO,
    ),
    Card(
        "utilization_efficiency",
        "Utilization efficiency",
        "chambers",
        "hours of heating and cooling / hours from charging to the end of demolding; a cook that waits for heat does "
        "not count",
        audience=MANAGER,
        source=ISO,
    ),
    Card(
        "setup_ratio",
        "Set-up ratio",
        "chambers",
        "hours of charging, at most as many as the product asks for / these and the hours of heating and cooling; mold "
        "changes are logged as moments and are not in it",
        trend=LOWER,
        source=ISO,
    ),
    Card("first_pass_yield", "First-pass yield", "pieces", "pieces good at once / pieces out of molds", source=ISO),
    Card("scrap_ratio", "Scrap ratio", "pieces", "scrapped pieces / pieces out of molds", trend=LOWER, source=ISO),
    Card(
        "rework_ratio", "Rework ratio", "pieces", "pieces to be reworked / pieces out of molds", trend=LOWER, source=ISO
    ),
    Card(
        "heat_use",
        "Heat that went into good pieces",
        "mirror fields",
        "heat that molds absorbed, by the share of their pieces that passed / heat that the mirrors sent or could have "
        "sent under the sun that was measured",
        audience=MANAGER,
    ),
    Card(
        "heat_per_kg",
        "Heat for a kilogram",
        "molds",
        "heat that molds absorbed / kg of good pieces, in cycles whose sun was measured throughout",
        unit="kWh/kg",
        high=None,
        trend=LOWER,
        audience=MANAGER,
        source="after ISO 22400-2, energy for a quantity made, from memory",
    ),
    Card(
        "evening_energy",
        "Evening energy spent",
        "batteries",
        "kWh that benches drew in the dark / kWh that the batteries hold above their reserve, over the evenings with "
        "such work",
        high=None,
        trend="neither",
    ),
    Card(
        "forecast_in_band",
        "Sun within the band a day ahead",
        "outlook",
        "hours of measured sun between P10 and P90 as shown 24 to 48 h before / hours measured",
        trend="80% is right",
    ),
    Card(
        "forecast_skill",
        "Forecast against the season",
        "outlook",
        "1 - error of the outlooks shown 24 to 48 h before / error of the season's own distribution (CRPS)",
        low=None,
        audience=MANAGER,
    ),
    Card(
        "fit_error",
        "Minutes of heating off the model",
        "molds",
        "standard deviation of logged less fitted minutes of heating, cycles that do not fit in left out",
        unit="min",
        high=None,
        trend=LOWER,
        audience=MANAGER,
    ),
)

CARDS: Mapping[str, Card] = {card.id: card for card in _CARDS}


@dataclass(frozen=True)
class Figure:
    """A figure over a time, with the counts that it was worked out from, the first over the second where it is a ratio.

    `value` is None where there is nothing to work it out from; `note` then says what is missing.
    """

    card: Card
    value: float | None
    counts: tuple[tuple[str, float], ...]
    start_at: datetime
    end_at: datetime
    note: str = ""


@dataclass(frozen=True)
class Table:
    """Rows behind a chart; a column that holds a physical number has its unit in its name."""

    id: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str | float, ...], ...]


@dataclass(frozen=True, eq=False)
class Review:
    """How a yard did through some days until now.

    Attributes
    ----------
    first_on : date
        First local day.
    figures : tuple of Figure
        In the order of `CARDS`.
    tables : mapping of Table by id
        ``heat``, ``pieces``, ``battery`` by day; ``units``, ``orders`` of the plan in force, see `Adherence`;
        ``causes``, ``losses`` by reason; ``forecast`` by lead; ``molds``.
    calibrated : Calibrated or None
        What the log teaches now; None where it cannot be learned from.
    verified : Verified or None
        How the outlooks fared; None without a typical year.
    is_part : bool
        Whether what the log teaches is still to come.
    """

    tz: str
    first_on: date
    start_at: datetime
    end_at: datetime
    figures: tuple[Figure, ...]
    tables: Mapping[str, Table]
    calibrated: Calibrated | None
    verified: Verified | None
    is_part: bool = False

    def figure(self, ident: str) -> Figure:
        """Return the figure of a card."""
        return next(figure for figure in self.figures if figure.card.id == ident)
