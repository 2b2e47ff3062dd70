"""Commands about single units: a cook that runs, what the log teaches, the charge of batteries."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from yardplan.cli.asking import AsJson, Db, app, opened, person, say
from yardplan.domain.errors import InvalidField


@app.command()
def calibrate(db: Db = "", as_json: AsJson = False) -> None:
    """Learn heat and losses of molds from the log; from then on outlooks count on it, and drifts are told."""
    from yardplan.domain.slots import zone
    from yardplan.exchange.calibration_document import calibration_document, calibration_words
    from yardplan.usecases.calibration import calibrate as calibrate_yard
    from yardplan.usecases.clock import yard_now

    with opened(db) as database:
        now = yard_now(database)
        found, tz = calibrate_yard(database, now=now, by=person())
        say(
            as_json,
            lambda: calibration_document(found, generated_at=now, tz=zone(tz)),
            lambda: calibration_words(found, zone(tz)),
        )


@app.command()
def live(
    chamber: Annotated[str, typer.Argument(help="Chamber in which the cook runs.")],
    mold: Annotated[str, typer.Option(help="Mold that turns there.")],
    product: Annotated[str, typer.Option(help="Product in it.")],
    since: Annotated[datetime, typer.Option(formats=["%H:%M"], help="When heating began, by the yard's clock.")],
    db: Db = "",
    as_json: AsJson = False,
    air_c: Annotated[float | None, typer.Option("--air", help="Inside air now [C].")] = None,
    readings: Annotated[
        Path | None,
        typer.Option(help="Thermocouples of the unit, a CSV with time, chamber, air_c; the last one is now."),
    ] = None,
) -> None:
    """Tell when a running cook will reach its peak temperature, from its inside air and today's sun."""
    from yardplan.exchange.live_document import live_document, live_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.live import estimate_cook, heating_began, readings_of

    if (air_c is None) == (readings is None):
        raise typer.BadParameter("give the inside air now, or a file of readings", param_hint="--air / --readings")
    with opened(db) as database:
        if readings is None:
            found: tuple[tuple[datetime, float], ...] = ((yard_now(database), air_c or 0.0),)
        else:
            found = readings_of(database, readings, chamber)
        cook = estimate_cook(
            database,
            chamber_id=chamber,
            mold_id=mold,
            product_id=product,
            heat_at=heating_began(database, since.time(), found[-1][0]),
            readings=found,
        )
        say(as_json, lambda: live_document(cook), lambda: live_words(cook))


@app.command()
def charge(
    readings: Annotated[list[str], typer.Argument(metavar="UNIT=KWH...", help="Such as U1=14.5 U2=9.")], db: Db = ""
) -> None:
    """Note what stands in the batteries of units now; plans of days that hold this moment begin with it."""
    from yardplan.usecases.charge import note_charge
    from yardplan.usecases.clock import yard_now

    with opened(db) as database:
        kwh = dict(_reading(text) for text in readings)
        typer.echo(f"noted: {note_charge(database, kwh, by=person(), at=yard_now(database))}")


def _reading(text: str) -> tuple[str, float]:
    unit_id, _, kwh = text.partition("=")
    try:
        return unit_id.strip(), float(kwh)
    except ValueError:
        raise InvalidField("battery charge", unit_id, "reading", text, "a unit and its kWh such as U1=14.5") from None
