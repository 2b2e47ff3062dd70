"""Commands that bring files in and write them out."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from yardplan.cli.asking import BAD_INPUT, SAYS_NO, Db, app, opened, person

import_app = typer.Typer(help="Bring in a yard, orders or weather: all of a file or nothing of it.")
export_app = typer.Typer(help="Write the yard, the orders or a plan to files.")
app.add_typer(import_app, name="import")
app.add_typer(export_app, name="export")

OWN_CSV = (
    "A CSV in UTF-8 with a column start or end for the times, with an offset or under a line such as "
    "# zone: America/Denver, and columns named with their unit: dni_w_m2, ghi_w_m2, temp_c or temp_f, wind_m_s, "
    "gust_m_s, cloud_frac or cloud_pct. A blank cell is a gap."
)


@import_app.command("yard")
def import_yard_command(folder: Path, db: Db = "") -> None:
    """Replace the yard by the one in a folder of CSV and TOML files."""
    from yardplan.usecases.imports import import_yard

    _import(import_yard, folder, db)


@import_app.command("orders")
def import_orders_command(
    file: Path,
    db: Db = "",
    good_rows: Annotated[bool, typer.Option("--good-rows", help="Take the good rows and tell the bad ones.")] = False,
    doubles: Annotated[
        str, typer.Option(help="Numbers that are there already: keep, replace or rename; with --good-rows.")
    ] = "keep",
) -> None:
    """Add the orders of a CSV or XLSX file: all of it or nothing, or its good rows."""
    from yardplan.usecases.imports import import_orders

    if good_rows:
        _take_good_rows(file, doubles, db)
    else:
        _import(import_orders, file, db)


def _take_good_rows(file: Path, choice: str, db: str) -> None:
    from yardplan.domain.order_changes import Double
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.ordering import change_orders, preview_orders

    if choice not in tuple(Double):
        raise typer.BadParameter(f"{choice!r} is none of {', '.join(Double)}", param_hint="--doubles")
    with opened(db) as database:
        found = preview_orders(database, file)
        changes = found.changes(dict.fromkeys(found.doubles, Double(choice)))
        change_orders(database, changes, by=person(), now=yard_now(database))
        for problem in found.found.problems:
            typer.echo(f"not taken: {problem}", err=True)
        for ident in found.doubles:
            typer.echo(f"{ident} was there already: {choice}", err=True)
        typer.echo(f"taken: {file.name}: {len(changes)} orders")
    if found.found.problems:
        raise typer.Exit(SAYS_NO)


@import_app.command("weather")
def import_weather_command(file: Path, db: Db = "") -> None:
    """Take a typical-year file (TMY3, TMY2, EPW, PVGIS) as the yard's weather."""
    from yardplan.usecases.imports import import_weather

    _import(import_weather, file, db)


@import_app.command("measured", epilog=OWN_CSV)
def import_measured_command(file: Path, db: Db = "") -> None:
    """Add the direct light that was measured to the log; what is there already is skipped."""
    from yardplan.usecases.own_weather import import_measured_sun

    _import(import_measured_sun, file, db)


@import_app.command("forecast", epilog=OWN_CSV)
def import_forecast_command(file: Path, db: Db = "") -> None:
    """Take a CSV of the coming days' weather as the forecast in use."""
    from yardplan.usecases.verification import import_forecast

    _import(import_forecast, file, db)


@export_app.command("yard")
def export_yard_command(
    folder: Path,
    db: Db = "",
    version: Annotated[int | None, typer.Option(help="An earlier version; see `yardplan versions`.")] = None,
    plan: Annotated[int | None, typer.Option(help="The yard that this plan version was made for.")] = None,
) -> None:
    """Write the yard, its orders and its log as a folder of readable files; an old yard without orders and log."""
    from yardplan.usecases.exports import export_old_yard, export_yard

    with opened(db) as database:
        if version is None and plan is None:
            typer.echo(f"written: {export_yard(database, folder)}")
        else:
            typer.echo(f"written: {export_old_yard(database, folder, version=version, plan=plan)}")


@export_app.command("orders")
def export_orders_command(file: Path, db: Db = "") -> None:
    """Write all orders as one CSV file."""
    from yardplan.usecases.exports import export_orders

    with opened(db) as database:
        typer.echo(f"written: {export_orders(database, file)}")


@export_app.command("plan")
def export_plan_command(
    file: Path,
    db: Db = "",
    number: Annotated[int | None, typer.Option(help="Plan version; default: the newest.")] = None,
) -> None:
    """Write a kept plan version as a JSON document."""
    from yardplan.usecases.exports import export_plan

    with opened(db) as database:
        typer.echo(f"written: {export_plan(database, file, number)}")


@export_app.command("sheet")
def export_sheet_command(
    file: Path,
    db: Db = "",
    on: Annotated[
        datetime | None, typer.Option("--on", formats=["%Y-%m-%d"], help="The day; default: the first with work.")
    ] = None,
    number: Annotated[int | None, typer.Option(help="Plan version; default: the one in force or the newest.")] = None,
    paper: Annotated[str, typer.Option(help="a4 or letter; default: by the country of this seat.")] = "",
) -> None:
    """Write the shop sheets of a day as a PDF, a page for each unit."""
    from yardplan.cli.screen import from_ui
    from yardplan.domain.errors import InvalidField
    from yardplan.usecases.shop_sheets import shop_sheets

    with opened(db) as database:
        if paper not in ("", "a4", "letter"):
            raise InvalidField("shop sheet", "", "paper", paper, "a4 or letter")
        sheet = shop_sheets(database, number=number, on=on.date() if on else None)
        save_shop_sheets = from_ui("sheets", "save_shop_sheets")
        if save_shop_sheets is None:
            raise typer.Exit(BAD_INPUT)
        save_shop_sheets(file, sheet, paper)
        issued = "" if sheet.issued else ", NOT ISSUED"
        count = len(sheet.units)
        pages = f"{count} unit{'s' if count > 1 else ''}"
        typer.echo(f"written: plan {sheet.plan_number}, {sheet.on}{issued}, {pages} to {file}")


def _import(job: Callable[..., str], path: Path, db: str) -> None:
    from yardplan.usecases.clock import yard_now

    with opened(db) as database:
        typer.echo(f"taken: {job(database, path, by=person(), at=yard_now(database))}")
