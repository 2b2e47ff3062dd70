"""What stands in a yard: the site, its units with their mirrors, the molds and the benches."""

from dataclasses import dataclass
from datetime import date, time
from enum import StrEnum
from typing import NamedTuple

from yardplan.domain.errors import require, require_ranges
from yardplan.domain.slots import zone


class MoldMetal(StrEnum):
    """What the shell of a mold is made of."""

    ALUMINUM = "aluminum"
    STEEL = "steel"


@dataclass(frozen=True)
class Site:
    """Where the yard stands and what holds for all its units.

    Attributes
    ----------
    stow_gust_m_s, resume_gust_m_s : float
        Mirrors are stowed from the first gust on and go back to work below the second [m/s].
    min_elevation_deg : float
        Below this height of the sun no heat is counted [deg].
    linke : float or None
        Linke turbidity of the site; None takes the monthly map that ships with pvlib.
    loaders : int
        How many loaders there are for changing molds.
    humidity_pct : float
        Usual relative humidity of hot afternoons; see `heat_work`.
    handling_sun_frac : float
        Share of the sun that reaches people who handle molds: 1 in the open, 0 under a roof.
    """

    name: str
    latitude_deg: float
    longitude_deg: float
    altitude_m: float
    tz: str
    min_elevation_deg: float = 10.0
    stow_gust_m_s: float = 14.0
    resume_gust_m_s: float = 11.0
    linke: float | None = None
    loaders: int = 1
    humidity_pct: float = 30.0
    handling_sun_frac: float = 1.0

    def __post_init__(self) -> None:
        require_ranges(
            self,
            "site",
            self.name,
            {
                "latitude_deg": (-90, 90),
                "longitude_deg": (-180, 180),
                "altitude_m": (-430, 6000),
                "min_elevation_deg": (0, 45),
                "stow_gust_m_s": (1, 60),
                "resume_gust_m_s": (0.5, 60),
                "loaders": (0, 99),
                "humidity_pct": (0, 100),
                "handling_sun_frac": (0, 1),
            },
        )
        zone(self.tz)
        require(
            self.resume_gust_m_s <= self.stow_gust_m_s,
            "site",
            self.name,
            "resume_gust_m_s",
            self.resume_gust_m_s,
            f"at most stow_gust_m_s, which is {self.stow_gust_m_s}",
        )
        if self.linke is not None:
            require(1 <= self.linke <= 10, "site", self.name, "linke", self.linke, "1 to 10, or nothing")


@dataclass(frozen=True)
class Heliostat:
    """One tracking mirror; place of its center relative to the unit's container [m]: east, north, up."""

    east_m: float
    north_m: float
    up_m: float
    width_m: float
    height_m: float
    reflectance_frac: float

    def __post_init__(self) -> None:
        require_ranges(
            self,
            "heliostat",
            f"at east {self.east_m}, north {self.north_m}",
            {
                "east_m": (-500, 500),
                "north_m": (-500, 500),
                "up_m": (-50, 50),
                "width_m": (0.1, 20),
                "height_m": (0.1, 20),
                "reflectance_frac": (0.1, 1),
            },
        )

    @property
    def area_m2(self) -> float:
        """Mirror area [m2]."""
        return self.width_m * self.height_m


@dataclass(frozen=True)
class Chamber:
    """One of a unit's two chambers: the largest turning circle and the heaviest mold with its charge."""

    id: str
    max_swing_m: float
    max_load_kg: float

    def __post_init__(self) -> None:
        require_ranges(self, "chamber", self.id, {"max_swing_m": (0.1, 20), "max_load_kg": (1, 20000)})


@dataclass(frozen=True)
class Unit:
    """One container: two chambers, a heliostat field, PV, a battery with its inverter.

    Attributes
    ----------
    target_up_m : float
        Height of the mold's center above the origin of the heliostat places [m].
    washed_on : date
        When the mirrors were last washed.
    washes_on : tuple of date
        Further days on which they are washed, before the sun is on them: planned, or done since.
    wash_min, wash_crew : int
        Time to wash the whole field, and people who do it (90 min and 2 where nothing is known: common practice, no
        source).
    soiling_per_day_frac : float
        Share of reflectance lost a day since the wash.
    max_mold_heat_kw : float
        Above this the field drops mirrors, to keep a shell from overheating [kW].
    battery_kwh, reserve_kwh : float
        Capacity, and what must stay in it: enough to turn a hot mold, stow the mirrors and wake up [kWh].
    base_day_kw, base_night_kw : float
        Most that computers, air conditioning, drives and fans take at once, by day and by night [kW]; what runs by
        the clock stands in `Load`.
    wind_through_frac : float
        Share of the wind's speed that the shield around the chambers lets through to a mold (0.2 where nothing is
        known: own assumption, no source; calibration corrects it).
    """

    id: str
    name: str
    chambers: tuple[Chamber, ...]
    field: tuple[Heliostat, ...]
    target_up_m: float
    washed_on: date
    soiling_per_day_frac: float
    max_mold_heat_kw: float
    pv_kw: float
    battery_kwh: float
    reserve_kwh: float
    round_trip_frac: float
    inverter_kw: float
    base_day_kw: float
    base_night_kw: float
    wind_through_frac: float = 0.2
    washes_on: tuple[date, ...] = ()
    wash_min: int = 90
    wash_crew: int = 2

    def __post_init__(self) -> None:
        require_ranges(
            self,
            "unit",
            self.id,
            {
                "target_up_m": (0, 30),
                "soiling_per_day_frac": (0, 0.1),
                "max_mold_heat_kw": (1, 2000),
                "pv_kw": (0, 1000),
                "battery_kwh": (0, 10000),
                "reserve_kwh": (0, 10000),
                "round_trip_frac": (0.3, 1),
                "inverter_kw": (0, 1000),
                "base_day_kw": (0, 500),
                "base_night_kw": (0, 500),
                "wind_through_frac": (0, 1),
                "wash_min": (0, 1440),
                "wash_crew": (1, 20),
            },
        )
        require(len(self.chambers) > 0, "unit", self.id, "chambers", 0, "at least one chamber, usually two")
        require(len(self.field) > 0, "unit", self.id, "field", 0, "at least one heliostat")
        require(
            self.reserve_kwh <= self.battery_kwh,
            "unit",
            self.id,
            "reserve_kwh",
            self.reserve_kwh,
            f"at most battery_kwh, which is {self.battery_kwh}",
        )


@dataclass(frozen=True)
class Mold:
    """A tool, of which there may be several equal copies.

    Attributes
    ----------
    shell_kg, surface_m2 : float
        Mass of the hot shell and its outer surface [kg, m2].
    target_m : float
        Diameter of the outline that the mirrors aim at [m].
    swing_m : float
        Diameter of the circle it turns in [m]; must fit the chamber.
    absorptance_frac, emittance_frac : float
        Of the black paint: solar and thermal.
    cavities : int
        Pieces a cycle gives.
    change_min, change_crew : int
        Time to take the old mold out and hang this one, and riggers needed beside the loader's driver.
    max_shell_c : float
        Temperature at which the field drops mirrors, for the sake of paint, release coat and resin [C]. A fluoropolymer
        coat stands 260 C (common practice, no source).
    """

    id: str
    name: str
    metal: MoldMetal
    shell_kg: float
    surface_m2: float
    target_m: float
    swing_m: float
    absorptance_frac: float
    emittance_frac: float
    cavities: int
    copies: int
    change_min: int
    change_crew: int
    max_shell_c: float = 260.0

    def __post_init__(self) -> None:
        require_ranges(
            self,
            "mold",
            self.id,
            {
                "shell_kg": (1, 10000),
                "surface_m2": (0.05, 200),
                "target_m": (0.1, 20),
                "swing_m": (0.1, 20),
                "absorptance_frac": (0.3, 1),
                "emittance_frac": (0.05, 1),
                "cavities": (1, 100),
                "copies": (1, 50),
                "change_min": (0, 1440),
                "change_crew": (0, 20),
                "max_shell_c": (160, 450),
            },
        )


class MoldCopy(NamedTuple):
    """One physical mold: its type and which copy, counted from 1. Written ``M03#2``."""

    mold_id: str
    copy: int

    def __str__(self) -> str:
        return f"{self.mold_id}#{self.copy}"


@dataclass(frozen=True)
class Hung:
    """Which mold hangs in a chamber, and the resin grade and color that it ran last (empty: clean)."""

    chamber_id: str
    mold: MoldCopy
    grade: str = ""
    color: str = ""


@dataclass(frozen=True)
class Load:
    """What a unit takes at some hours of every day beside its base load, such as air conditioning or lights.

    Drives and fans run when the plan lets molds turn and cool, which is not known beforehand: write down the hours in
    which they may run, with all chambers at once.

    Attributes
    ----------
    unit_id : str
        The unit, or ``"*"`` for each of them.
    from_local, to_local : time
        By the yard's clock; past midnight where the second is not later, all day where both are the same.
    """

    name: str
    unit_id: str
    from_local: time
    to_local: time
    kw: float

    def __post_init__(self) -> None:
        require_ranges(self, "load", self.name, {"kw": (0, 500)})


@dataclass(frozen=True)
class Bench:
    """A finishing place; `unit_id` names the unit whose battery feeds it.

    A bench is plugged into one unit, since inverters share a load only if they were built and wired for that. A bay
    that several units feed is a number of benches of one kind, spread over those units; work is planned where there
    is energy.
    """

    id: str
    name: str
    kind: str
    unit_id: str
