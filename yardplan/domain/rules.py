"""The rules of a plan by name, and how a broken one is reported."""

from dataclasses import dataclass
from enum import StrEnum


class Rule(StrEnum):
    """Hard rules; a plan that breaks one of them is not valid."""

    KNOWN = "known_names"
    """Orders, products, molds, chambers, benches and people exist; ids are used once."""
    QUANTITY = "quantity"
    """A cycle fills all cavities with the order's product and color, and no cycle is more than the order needs."""
    HORIZON = "horizon"
    """New work starts at or after `now` and ends inside the grid."""
    FIELD = "one_chamber_heats"
    """A unit's field heats one chamber at a time."""
    SEQUENCE = "cycle_sequence"
    """Charge, heat, cool, demold follow each other; handling lasts what the product says."""
    CHAMBER = "chamber_once"
    """Cycles and mold changes of a chamber do not overlap."""
    COOK = "cook_time"
    """Heat lasts what the cook table says for that start at the planning confidence; never a "never"."""
    COOL = "cool_time"
    """Cooling lasts at least what the table says."""
    MOLD_ONCE = "mold_once"
    """A physical mold is in one chamber at a time, and hangs where it is used."""
    MOLD_FIT = "mold_fit"
    """The mold fits the chamber and can make the product."""
    MOLD_CHANGE = "mold_change"
    """A different mold needs a change of full length between the cycles; loaders are counted."""
    CLEAN_DOWN = "clean_down"
    """Another color or resin in the same mold costs its clean-down time."""
    CREW_SIZE = "crew_size"
    """As many different people as the work needs."""
    CREW_SKILL = "crew_skill"
    """With the skills it needs."""
    CREW_SHIFT = "crew_shift"
    """Inside one of their shifts, outside breaks and days off."""
    CREW_LIMIT = "crew_limit"
    """Within each person's limit of jobs at once."""
    CREW_HEAT = "crew_heat"
    """Nobody works more of any hour than the heat allows; at the table's caution heavy work is not planned."""
    ROUTING = "finish_routing"
    """Finishing steps follow the product's routing, each once, with its length and energy."""
    REST = "finish_rest"
    """Not before the part's rest is over."""
    BENCH = "bench"
    """At a bench of the right kind, one job at a time."""
    BENCH_ENERGY = "bench_energy"
    """Benches of a unit stay within the energy that sun and battery leave."""
    BENCH_POWER = "bench_power"
    """Benches of a unit stay within the power that it can give."""
    STOCK = "stock"
    """Resin and inserts on hand plus deliveries so far are not overdrawn."""
    DOWNTIME = "downtime"
    """Nothing happens on what is down."""
    UPKEEP = "upkeep"
    """Upkeep is done once, between its instants and for its full length."""
    KEPT = "kept_work"
    """Running, frozen and locked work stays as it is."""


@dataclass(frozen=True)
class Violation:
    """One broken rule, the ids of the jobs concerned, and a sentence with the figures."""

    rule: Rule
    jobs: tuple[str, ...]
    text: str


class Why(StrEnum):
    """Why not a single cycle of an order can be planned."""

    NO_MOLD_FITS = "no_mold_fits"
    """No mold that can make the product fits a chamber."""
    NO_HEAT = "no_heat"
    """No start in the plan's days reaches PIAT at the planning confidence."""
    NO_RESIN = "no_resin"
    """Not enough resin on hand or coming for one cycle."""
    NO_INSERTS = "no_inserts"
    """Not enough inserts on hand or coming for one cycle."""
    NO_CREW = "no_crew"
    """Nobody with the skill, or too few, are on shift when they are needed."""
    NO_BENCH = "no_bench"
    """No bench of the kind, or none whose unit can give the power."""
    NO_ENERGY = "no_energy"
    """Sun and battery leave too little energy for a finishing step, whenever it could be done."""
    NO_ROOM = "no_room"
    """Each rule alone would allow it, but the plan is full, or the days too short for all its steps."""


@dataclass(frozen=True)
class Blocked:
    """An order of which something is left out of a plan, the reason, and names or figures that explain it."""

    order_id: str
    why: Why
    detail: str = ""
