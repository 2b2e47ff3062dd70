"""The tables of a yard folder: their files, their columns and what stands in them."""

from yardplan.domain.equipment import MoldMetal
from yardplan.domain.people import ResourceKind
from yardplan.domain.products import ItemKind
from yardplan.exchange.cells import (
    BREAKS,
    CLOCK,
    COPY,
    DATE,
    DATES,
    DAYS,
    END_OF_DAY,
    INSTANT,
    NAMES,
    NUMBER,
    TEXT,
    WHOLE,
    YES_NO,
    Kind,
    one_of,
)
from yardplan.exchange.rows import Column, Table


def _columns(kind: Kind, *names: str) -> tuple[Column, ...]:
    return tuple(Column(name, kind) for name in names)


SITE = Table(
    "site.toml",
    "The site and what holds for all its units. Mirrors are stowed from the first gust on and go back to work below\n"
    "the second; below min_elevation_deg no heat is counted; linke: turbidity, blank for the monthly map;\n"
    "handling_sun_frac: of the sun on people who handle molds; colors: that resins come in.",
    (
        *_columns(TEXT, "name", "tz"),
        *_columns(NUMBER, "latitude_deg", "longitude_deg", "altitude_m"),
        Column("min_elevation_deg", NUMBER, 10.0),
        Column("stow_gust_m_s", NUMBER, 14.0),
        Column("resume_gust_m_s", NUMBER, 11.0),
        Column("linke", NUMBER, None),
        Column("loaders", WHOLE, 1),
        Column("humidity_pct", NUMBER, 30.0),
        Column("handling_sun_frac", NUMBER, 1.0),
        Column("colors", NAMES, ()),
    ),
)
"""What ``site.toml`` holds of the yard itself, as a table of one row for whoever edits it."""
UNITS = Table(
    "units.csv",
    "Units: containers with two chambers, a heliostat field, PV and a battery. target_up_m: height of the mold;\n"
    "washed_on: last wash of the mirrors; soiling_per_day_frac: share of reflectance lost a day; max_mold_heat_kw:\n"
    "above it mirrors are dropped; reserve_kwh: stays in the battery; wind_through_frac: of the wind past the shield;\n"
    "washes_on: further washes, before the sun is on the mirrors; wash_min, wash_crew: time and people for one.",
    (
        Column("unit", TEXT, names="unit"),
        Column("name", TEXT, ""),
        Column("target_up_m", NUMBER),
        Column("washed_on", DATE),
        *_columns(
            NUMBER,
            *("soiling_per_day_frac", "max_mold_heat_kw", "pv_kw", "battery_kwh", "reserve_kwh", "round_trip_frac"),
            *("inverter_kw", "base_day_kw", "base_night_kw"),
        ),
        Column("wind_through_frac", NUMBER, 0.2),
        Column("washes_on", DATES, ()),
        Column("wash_min", WHOLE, 90),
        Column("wash_crew", WHOLE, 2),
    ),
)
CHAMBERS = Table(
    "chambers.csv",
    "Chambers of the units: largest turning circle, and heaviest mold with its charge.",
    (
        Column("chamber", TEXT, names="chamber"),
        Column("unit", TEXT, refers="unit"),
        *_columns(NUMBER, "max_swing_m", "max_load_kg"),
    ),
)
HELIOSTATS = Table(
    "heliostats.csv",
    "Mirrors: place of the center relative to the unit's container, size, and reflectance when clean.",
    (
        Column("unit", TEXT, refers="unit"),
        *_columns(NUMBER, "east_m", "north_m", "up_m", "width_m", "height_m", "reflectance_frac"),
    ),
    optional=True,
)
FIELDS = Table(
    "fields.csv",
    "Mirrors in rows on arcs around the mold, instead of one by one in heliostats.csv; each mirror stands behind a\n"
    "gap of the row before. first_m, row_gap_m: radius of the first row, and from row to row; spacing_m: from mirror\n"
    "to mirror in the first row; half_arc_deg: how far rows reach to either side; up_m, row_rise_m: height of the\n"
    "first row, and how much higher each further one stands; azimuth_deg: where the field lies from the mold,\n"
    "clockwise from north (south of the equator: 180).",
    (
        Column("unit", TEXT, refers="unit"),
        Column("mirrors", WHOLE),
        *_columns(NUMBER, "first_m", "row_gap_m", "spacing_m", "half_arc_deg", "up_m"),
        *_columns(NUMBER, "width_m", "height_m", "reflectance_frac"),
        Column("azimuth_deg", NUMBER, 0.0),
        Column("row_rise_m", NUMBER, 0.0),
    ),
    optional=True,
)
MOLDS = Table(
    "molds.csv",
    "Molds. surface_m2: outer surface; target_m: outline that the mirrors aim at; swing_m: turning circle; cavities:\n"
    "pieces a cycle gives; change_min, change_crew: to hang it; max_shell_c: then mirrors are dropped.",
    (
        Column("mold", TEXT, names="mold"),
        Column("name", TEXT, ""),
        Column("metal", one_of(MoldMetal)),
        *_columns(NUMBER, "shell_kg", "surface_m2", "target_m", "swing_m", "absorptance_frac", "emittance_frac"),
        *_columns(WHOLE, "cavities", "copies", "change_min", "change_crew"),
        Column("max_shell_c", NUMBER, 260.0),
    ),
)
PRODUCTS = Table(
    "products.csv",
    "Products. shot_kg: resin for one piece; piat_c: peak inside-air temperature that ends heating; demold_c: for\n"
    "opening; minutes and people for charging and demolding one cycle; molds that can make it.",
    (
        Column("product", TEXT, names="product"),
        Column("name", TEXT, ""),
        Column("resin_grade", TEXT),
        *_columns(NUMBER, "shot_kg", "wall_mm", "piat_c", "demold_c"),
        *_columns(WHOLE, "charge_min", "charge_crew", "demold_min", "demold_crew"),
        Column("molds", NAMES, refers="mold"),
    ),
)
BENCHES = Table(
    "benches.csv",
    "Finishing places; unit: whose battery feeds it.",
    (
        Column("bench", TEXT, names="bench"),
        Column("name", TEXT, ""),
        Column("kind", TEXT),
        Column("unit", TEXT, refers="unit"),
    ),
    optional=True,
)
LOADS = Table(
    "loads.csv",
    "What units take by the clock every day, beside their base load; unit: * stands for each of them. Drives and\n"
    "fans: the hours in which molds may turn and cool.",
    (
        Column("load", TEXT),
        Column("unit", TEXT),
        *_columns(CLOCK, "from_local", "to_local"),
        Column("kw", NUMBER),
    ),
    optional=True,
)
WORK_REST = Table(
    "work_rest.csv",
    "Minutes that a person may work in any hour from an adjusted temperature [F] on: charging and demolding are heavy\n"
    "work, all else moderate; 60: no limit, 0: not planned. Without this file: CDC/NIOSH, Heat Stress: Work/Rest\n"
    "Schedules, for people in normal clothing who are fit, rested and used to the heat. Local codes come first.",
    (
        Column("from_f", NUMBER),
        *_columns(WHOLE, "moderate_min", "heavy_min"),
    ),
    optional=True,
)
ROUTING = Table(
    "routing.csv",
    "Finishing steps of the products in their order, each for all pieces of a cycle.\n"
    "rest_min: from the end of demolding, or of the step before; power_kw: while it lasts.",
    (
        Column("product", TEXT, refers="product"),
        Column("step", WHOLE),
        Column("name", TEXT),
        Column("bench_kind", TEXT, refers="bench kind"),
        Column("skill", TEXT),
        Column("minutes", WHOLE),
        Column("power_kw", NUMBER),
        Column("rest_min", WHOLE, 0),
    ),
    optional=True,
)
STOCK = Table(
    "stock.csv",
    "Stock: resin [kg] by grade and color, inserts [pieces]; piece_kg: of one insert; lead_days: until more is here.",
    (
        Column("item", TEXT, names="stock item"),
        Column("name", TEXT, ""),
        Column("kind", one_of(ItemKind)),
        Column("on_hand", NUMBER),
        Column("grade", TEXT, ""),
        Column("color", TEXT, ""),
        Column("piece_kg", NUMBER, 0.0),
        Column("lead_days", WHOLE, None),
    ),
)
INSERTS = Table(
    "inserts.csv",
    "Inserts in one piece of a product.",
    (Column("product", TEXT, refers="product"), Column("item", TEXT, refers="stock item"), Column("count", WHOLE)),
    optional=True,
)
DELIVERIES = Table(
    "deliveries.csv",
    "Deliveries that are expected: kg of resin, pieces of inserts.",
    (Column("item", TEXT, refers="stock item"), Column("arrives_at", INSTANT), Column("amount", NUMBER)),
    optional=True,
)
SHIFTS = Table(
    "shifts.csv",
    "Working time by the yard's clock; breaks as start+minutes.",
    (
        Column("shift", TEXT, names="shift"),
        Column("start_local", CLOCK),
        Column("end_local", CLOCK),
        Column("breaks", BREAKS, ()),
        Column("overtime", YES_NO, False),
    ),
)
OPERATORS = Table(
    "operators.csv",
    "The crew. The plan itself asks for the skills handling, rigging and loader; finishing steps for others.",
    (
        Column("operator", TEXT, names="operator"),
        Column("name", TEXT, ""),
        Column("skills", NAMES, ()),
        Column("jobs_at_once", WHOLE, 1),
    ),
)
DUTIES = Table(
    "duties.csv",
    "On which weekdays, and between which dates if any, an operator works a shift.",
    (
        Column("operator", TEXT, refers="operator"),
        Column("shift", TEXT, refers="shift"),
        Column("weekdays", DAYS),
        Column("first_on", DATE, None),
        Column("last_on", DATE, None),
    ),
)
DAYS_OFF = Table(
    "days_off.csv",
    "Days on which an operator does not work.",
    (Column("operator", TEXT, refers="operator"), Column("day_off", DATE)),
    optional=True,
)
CLEAN_DOWNS = Table(
    "clean_downs.csv",
    "Minutes to clean a mold between two colors or resins; * stands for any.",
    (Column("from_color", TEXT), Column("to_color", TEXT), Column("minutes", WHOLE)),
    optional=True,
)
DOWNTIMES = Table(
    "downtimes.csv",
    "What is out of work when. resource: a unit, chamber, bench, operator, or a mold's copy such as M03#2; blank for\n"
    "the whole yard.",
    (
        Column("kind", one_of(ResourceKind)),
        Column("resource", TEXT, ""),
        Column("start_at", INSTANT),
        Column("end_at", INSTANT),
        Column("reason", TEXT, ""),
    ),
    optional=True,
)
UPKEEP = Table(
    "upkeep.csv",
    "Washing, service and repair that is due within some days; the planner finds the hour whose sun is worth least.\n"
    "resource: a unit, chamber, bench, or a mold's copy such as M03#2. crew: how many people with that skill; 0 where\n"
    "somebody from outside does it. A date in due_at means the end of that day.",
    (
        Column("upkeep", TEXT, names="upkeep"),
        Column("name", TEXT),
        Column("kind", one_of(ResourceKind)),
        Column("resource", TEXT),
        Column("minutes", WHOLE),
        Column("skill", TEXT, ""),
        Column("crew", WHOLE),
        Column("from_at", INSTANT),
        Column("due_at", END_OF_DAY),
    ),
    optional=True,
)
HUNG = Table(
    "hung.csv",
    "Which mold hangs in a chamber at the beginning, and the resin that it ran last (blank: clean).",
    (
        Column("chamber", TEXT, refers="chamber"),
        Column("mold", COPY, refers="mold copy"),
        Column("grade", TEXT, ""),
        Column("color", TEXT, ""),
    ),
    optional=True,
)
ORDERS = Table(
    "orders.csv",
    "Orders. due: what the customer asked, promise: what we said if anything; a date means the end of that day.\n"
    "priority: weight of a day late, 1 to 9.",
    (
        Column("order", TEXT, names="order"),
        Column("customer", TEXT, ""),
        Column("product", TEXT, refers="product"),
        Column("color", TEXT),
        Column("quantity", WHOLE),
        Column("due", END_OF_DAY),
        Column("promise", END_OF_DAY, None),
        Column("priority", WHOLE, 1),
        Column("note", TEXT, ""),
    ),
    optional=True,
)
LOG = Table(
    "log.csv",
    "Cycles that were made; piat: when the inside air peaked, blank for a lost cook; good, scrapped: pieces.",
    (
        Column("cycle", TEXT, names="logged cycle"),
        Column("chamber", TEXT, refers="chamber"),
        Column("mold", COPY, refers="mold copy"),
        Column("product", TEXT, refers="product"),
        Column("color", TEXT),
        *_columns(INSTANT, "charged", "heat"),
        Column("piat", INSTANT, None),
        Column("demolded", INSTANT),
        Column("piat_c", NUMBER),
        *_columns(WHOLE, "good", "scrapped"),
        Column("note", TEXT, ""),
    ),
    optional=True,
)
TABLES = (
    *(
        UNITS,
        CHAMBERS,
        HELIOSTATS,
        FIELDS,
        MOLDS,
        PRODUCTS,
        BENCHES,
        LOADS,
        WORK_REST,
        ROUTING,
        STOCK,
        INSERTS,
        DELIVERIES,
        SHIFTS,
    ),
    *(OPERATORS, DUTIES, DAYS_OFF, CLEAN_DOWNS, DOWNTIMES, UPKEEP, HUNG, ORDERS, LOG),
)
PARTS = {
    UNITS: (CHAMBERS, HELIOSTATS),
    PRODUCTS: (ROUTING, INSERTS),
    STOCK: (DELIVERIES,),
    OPERATORS: (DUTIES, DAYS_OFF),
}
"""Tables whose rows are parts of a row of another one, which they name."""
