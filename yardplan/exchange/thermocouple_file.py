"""Readings of a unit's thermocouples: inside air of the molds in its chambers."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

from yardplan.domain.errors import BadFile
from yardplan.domain.slots import zone
from yardplan.domain.yard import Yard
from yardplan.exchange.cells import INSTANT, NUMBER, TEXT
from yardplan.exchange.rows import Column, Reading, Table

COLDEST_C, HOTTEST_C = -40.0, 350.0

THERMOCOUPLES = Table(
    "thermocouples.csv",
    "Inside air of molds. time: by the yard's clock unless it has an offset; chamber: where the mold turns;\n"
    "air_c: inside air. Rows of several chambers may be mixed, in any order.",
    (Column("time", INSTANT), Column("chamber", TEXT, refers="chamber"), Column("air_c", NUMBER)),
)


def read_thermocouples(path: Path, yard: Yard) -> dict[str, tuple[tuple[datetime, float], ...]]:
    """Return the readings of each chamber in a CSV or XLSX file, in the order of time: instant [UTC], inside air [C].

    Raises
    ------
    BadFile
        Lists every bad row with what is expected there; nothing of the file is taken then.
    """
    reading = Reading(zone(yard.site.tz))
    reading.known["chamber"] = {chamber.id for chamber in yard.chambers}
    found: dict[str, dict[datetime, float]] = {}
    for row in reading.rows(path, replace(THERMOCOUPLES, file=path.name)):
        of_chamber = found.setdefault(row["chamber"], {})
        if not COLDEST_C <= row["air_c"] <= HOTTEST_C:
            text = f"is {row['air_c']:g}; expected inside air from {COLDEST_C:g} to {HOTTEST_C:g} C"
            reading.problems.append(row.problem("air_c", text))
        elif of_chamber.setdefault(row["time"], row["air_c"]) != row["air_c"]:
            text = f"chamber {row['chamber']} has another reading of the same time; expected one"
            reading.problems.append(row.problem("time", text))
    if reading.problems:
        raise BadFile(path, tuple(reading.problems))
    return {chamber: tuple(sorted(readings.items())) for chamber, readings in found.items()}
