"""What the tables and columns of a yard are called on its page."""

from PySide6.QtCore import QObject

from yardplan.exchange import yard_tables as tables
from yardplan.exchange.rows import Table
from yardplan.ui.yard_units import shown_head

SECTIONS = (
    *(tables.SITE, tables.UNITS, tables.MOLDS, tables.HUNG, tables.PRODUCTS, tables.CLEAN_DOWNS, tables.STOCK),
    *(tables.BENCHES, tables.LOADS, tables.SHIFTS, tables.OPERATORS, tables.WORK_REST, tables.DOWNTIMES, tables.UPKEEP),
)
"""Tables with a place of their own in the list at the left; others are parts of their rows."""


class YardWords(QObject):
    """Names of tables and columns in the language of this seat."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._titles = self._make_titles()
        self._columns = self._make_columns()
        self._special = self._make_special()

    def title(self, table: Table) -> str:
        """Return the name of a table."""
        return self._titles[table.file]

    def column(self, table: Table, name: str) -> str:
        """Return the name of a column with its unit."""
        return shown_head(name, self._special.get((table.file, name)) or self._columns[name])

    def about(self, table: Table) -> str:
        """Return what is to be known of a table, in one or two sentences."""
        return {
            tables.SITE.file: self.tr("What holds for all units: place, wind, people in the heat."),
            tables.UNITS.file: self.tr("Containers with their chambers, mirrors, solar panels and battery."),
            tables.HELIOSTATS.file: self.tr("Places of the mirrors' centers, from the unit's container."),
            tables.MOLDS.file: self.tr("Tools and what they are made of; copies are equal molds."),
            tables.HUNG.file: self.tr("Which mold hangs where before the first entry of the log."),
            tables.PRODUCTS.file: self.tr("What a cavity gives; its finishing steps in their order; its inserts."),
            tables.CLEAN_DOWNS.file: self.tr("Minutes to clean a mold between two colors; * stands for any."),
            tables.STOCK.file: self.tr("Resin in kg and inserts in pieces on hand; deliveries that are expected."),
            tables.BENCHES.file: self.tr("Finishing places, and the unit whose battery feeds each."),
            tables.LOADS.file: self.tr("What units take by the clock beside their base load; * stands for each unit."),
            tables.SHIFTS.file: self.tr("Working time by the yard's clock; breaks as start+minutes."),
            tables.OPERATORS.file: self.tr(
                "The crew. The plan itself asks for the skills handling, rigging and loader; finishing for others."
            ),
            tables.WORK_REST.file: self.tr(
                "Minutes of work an hour from a temperature on; blank: the table of CDC/NIOSH. Local codes come first."
            ),
            tables.DOWNTIMES.file: self.tr("What is out of work when: holidays, repair, a person's absence of hours."),
            tables.UPKEEP.file: self.tr("Washing, service and repair that is due; the planner finds its hour."),
        }.get(table.file, "")

    def _make_titles(self) -> dict[str, str]:
        return {
            tables.SITE.file: self.tr("Site"),
            tables.UNITS.file: self.tr("Units"),
            tables.CHAMBERS.file: self.tr("Chambers"),
            tables.HELIOSTATS.file: self.tr("Mirrors"),
            tables.FIELDS.file: self.tr("Rows of mirrors"),
            tables.MOLDS.file: self.tr("Molds"),
            tables.HUNG.file: self.tr("Hung molds"),
            tables.PRODUCTS.file: self.tr("Products"),
            tables.ROUTING.file: self.tr("Finishing steps"),
            tables.INSERTS.file: self.tr("Inserts"),
            tables.CLEAN_DOWNS.file: self.tr("Color changes"),
            tables.STOCK.file: self.tr("Resin and inserts"),
            tables.DELIVERIES.file: self.tr("Deliveries"),
            tables.BENCHES.file: self.tr("Benches"),
            tables.LOADS.file: self.tr("Loads by the clock"),
            tables.SHIFTS.file: self.tr("Shifts"),
            tables.OPERATORS.file: self.tr("Crew"),
            tables.DUTIES.file: self.tr("Duties"),
            tables.DAYS_OFF.file: self.tr("Days off"),
            tables.WORK_REST.file: self.tr("Work in the heat"),
            tables.DOWNTIMES.file: self.tr("Down-times"),
            tables.UPKEEP.file: self.tr("Upkeep"),
        }

    def _make_special(self) -> dict[tuple[str, str], str]:
        """Return names of columns that are called otherwise in one table."""
        return {
            (tables.SITE.file, "colors"): self.tr("Colors of resin"),
            (tables.LOADS.file, "unit"): self.tr("Unit, or *"),
            (tables.LOADS.file, "kw"): self.tr("Power, kW"),
            (tables.BENCHES.file, "unit"): self.tr("Fed by unit"),
            (tables.BENCHES.file, "kind"): self.tr("Kind of bench"),
            (tables.STOCK.file, "kind"): self.tr("Resin or insert"),
            (tables.HELIOSTATS.file, "up_m"): self.tr("Up, m"),
            (tables.HUNG.file, "mold"): self.tr("Mold and copy"),
            (tables.HUNG.file, "grade"): self.tr("Resin run last"),
            (tables.HUNG.file, "color"): self.tr("Color run last"),
            (tables.UPKEEP.file, "name"): self.tr("What is to be done"),
            (tables.ROUTING.file, "name"): self.tr("What is done"),
            (tables.ROUTING.file, "power_kw"): self.tr("Power while it lasts, kW"),
        }

    def _make_columns(self) -> dict[str, str]:
        return {
            **self._columns_of_units(),
            **self._columns_of_making(),
            **self._columns_of_time(),
        }

    def _columns_of_units(self) -> dict[str, str]:
        return {
            "name": self.tr("Name"),
            "tz": self.tr("Time zone"),
            "latitude_deg": self.tr("Latitude, °"),
            "longitude_deg": self.tr("Longitude, °"),
            "altitude_m": self.tr("Height above the sea, m"),
            "min_elevation_deg": self.tr("Least height of the sun, °"),
            "stow_gust_m_s": self.tr("Mirrors stowed from a gust of, m/s"),
            "resume_gust_m_s": self.tr("Back to work below, m/s"),
            "linke": self.tr("Turbidity (Linke)"),
            "loaders": self.tr("Loaders"),
            "humidity_pct": self.tr("Usual humidity on hot days, %"),
            "handling_sun_frac": self.tr("Sun on people at molds, 0 to 1"),
            "unit": self.tr("Unit"),
            "target_up_m": self.tr("Height of the mold, m"),
            "washed_on": self.tr("Mirrors washed on"),
            "soiling_per_day_frac": self.tr("Reflectance lost a day, 0 to 0.1"),
            "max_mold_heat_kw": self.tr("Most heat on a mold, kW"),
            "pv_kw": self.tr("Solar panels, kW"),
            "battery_kwh": self.tr("Battery, kWh"),
            "reserve_kwh": self.tr("Stays in the battery, kWh"),
            "round_trip_frac": self.tr("Battery round trip, 0.3 to 1"),
            "inverter_kw": self.tr("Inverter, kW"),
            "base_day_kw": self.tr("Base load by day, kW"),
            "base_night_kw": self.tr("Base load at night, kW"),
            "wind_through_frac": self.tr("Wind past the shield, 0 to 1"),
            "washes_on": self.tr("Further washes on"),
            "wash_min": self.tr("Time for a wash, min"),
            "wash_crew": self.tr("People for a wash"),
            "chamber": self.tr("Chamber"),
            "max_swing_m": self.tr("Largest turning circle, m"),
            "max_load_kg": self.tr("Heaviest mold with charge, kg"),
            "east_m": self.tr("East, m"),
            "north_m": self.tr("North, m"),
            "up_m": self.tr("Height of the first row, m"),
            "width_m": self.tr("Width, m"),
            "height_m": self.tr("Height, m"),
            "reflectance_frac": self.tr("Reflectance when clean, 0.1 to 1"),
            "mirrors": self.tr("Mirrors"),
            "first_m": self.tr("Radius of the first row, m"),
            "row_gap_m": self.tr("From row to row, m"),
            "spacing_m": self.tr("From mirror to mirror, m"),
            "half_arc_deg": self.tr("Reach to either side, °"),
            "azimuth_deg": self.tr("Direction, ° from north"),
            "row_rise_m": self.tr("Rise from row to row, m"),
        }

    def _columns_of_making(self) -> dict[str, str]:
        return {
            "mold": self.tr("Mold"),
            "metal": self.tr("Metal"),
            "shell_kg": self.tr("Weight of the shell, kg"),
            "surface_m2": self.tr("Outer surface, m²"),
            "target_m": self.tr("Outline for the mirrors, m"),
            "swing_m": self.tr("Turning circle, m"),
            "absorptance_frac": self.tr("Absorbs of the sun, 0.3 to 1"),
            "emittance_frac": self.tr("Emits of its heat, 0.05 to 1"),
            "cavities": self.tr("Cavities"),
            "copies": self.tr("Copies"),
            "change_min": self.tr("Time to hang it, min"),
            "change_crew": self.tr("Riggers to hang it"),
            "max_shell_c": self.tr("Hottest shell, °C"),
            "product": self.tr("Product"),
            "resin_grade": self.tr("Resin"),
            "shot_kg": self.tr("Resin for a piece, kg"),
            "wall_mm": self.tr("Wall, mm"),
            "piat_c": self.tr("Peak inside air (PIAT), °C"),
            "demold_c": self.tr("Opened at, °C"),
            "charge_min": self.tr("Charging, min"),
            "charge_crew": self.tr("People for charging"),
            "demold_min": self.tr("Demolding, min"),
            "demold_crew": self.tr("People for demolding"),
            "molds": self.tr("Molds that make it"),
            "bench": self.tr("Bench"),
            "kind": self.tr("Kind"),
            "load": self.tr("Load"),
            "from_local": self.tr("From"),
            "to_local": self.tr("To"),
            "kw": self.tr("Power, kW"),
            "step": self.tr("Step"),
            "bench_kind": self.tr("Kind of bench"),
            "skill": self.tr("Skill"),
            "minutes": self.tr("Minutes"),
            "power_kw": self.tr("Power, kW"),
            "rest_min": self.tr("Rest before, min"),
            "item": self.tr("Item"),
            "on_hand": self.tr("On hand, kg or pieces"),
            "grade": self.tr("Resin"),
            "color": self.tr("Color"),
            "piece_kg": self.tr("Weight of one insert, kg"),
            "lead_days": self.tr("Days until more is here"),
            "count": self.tr("Pieces in one product"),
            "from_color": self.tr("From color"),
            "to_color": self.tr("To color"),
        }

    def _columns_of_time(self) -> dict[str, str]:
        return {
            "from_f": self.tr("From, °F (adjusted)"),
            "moderate_min": self.tr("Moderate work, min an hour"),
            "heavy_min": self.tr("Heavy work, min an hour"),
            "arrives_at": self.tr("Arrives"),
            "amount": self.tr("Amount, kg or pieces"),
            "shift": self.tr("Shift"),
            "start_local": self.tr("Begins"),
            "end_local": self.tr("Ends"),
            "breaks": self.tr("Breaks"),
            "overtime": self.tr("Overtime"),
            "operator": self.tr("Operator"),
            "skills": self.tr("Skills"),
            "jobs_at_once": self.tr("Jobs at once"),
            "weekdays": self.tr("Weekdays"),
            "first_on": self.tr("First day"),
            "last_on": self.tr("Last day"),
            "day_off": self.tr("Day off"),
            "resource": self.tr("Which one"),
            "start_at": self.tr("From"),
            "end_at": self.tr("To"),
            "reason": self.tr("Reason"),
            "upkeep": self.tr("Upkeep"),
            "crew": self.tr("People"),
            "from_at": self.tr("Not before"),
            "due_at": self.tr("Due"),
        }
