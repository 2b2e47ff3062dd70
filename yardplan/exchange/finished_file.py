"""A count of finished pieces that no order takes, as CSV or XLSX."""

from dataclasses import replace
from pathlib import Path

from yardplan.domain.errors import BadFile, InvalidField
from yardplan.domain.quotes import Finished
from yardplan.domain.slots import zone
from yardplan.domain.yard import Yard
from yardplan.exchange.cells import TEXT, WHOLE
from yardplan.exchange.rows import Column, Reading, Table

FINISHED = Table(
    "finished.csv",
    "Finished pieces in stock that no order takes. free: can be promised; on_hold: wait for a quality hold to be\n"
    "cleared, and are not promised.",
    (
        Column("product", TEXT, refers="product"),
        Column("color", TEXT, refers="color"),
        Column("free", WHOLE),
        Column("on_hold", WHOLE, default=0),
    ),
)


def read_finished_file(path: Path, yard: Yard) -> tuple[Finished, ...]:
    """Return the rows of a file; a product in a color is there once.

    Raises
    ------
    BadFile
        Lists every bad row with what is expected there; nothing of the file is taken then.
    """
    reading = Reading(zone(yard.site.tz))
    reading.known["product"] = {row.id for row in yard.products}
    reading.known["color"] = set(yard.colors) | {item.color for item in yard.items if item.color}
    found: dict[tuple[str, str], Finished] = {}
    for row in reading.rows(path, replace(FINISHED, file=path.name)):
        key = row["product"], row["color"]
        if key in found:
            reading.problems.append(row.problem("product", f"{key[0]} in {key[1]} is there already; expected once"))
        try:
            found[key] = Finished(*key, row["free"], row["on_hold"])
        except InvalidField as error:
            reading.problems.append(row.problem(error.field, f"is {error.value!r}; expected {error.expected}"))
    if reading.problems:
        raise BadFile(path, tuple(reading.problems))
    return tuple(found.values())
