"""The jobs that need no screen. Each prints plain words, or one JSON document with ``--json``.

Exit status: 0 good, 1 the job says no (a broken rule, nothing could be planned), 2 bad input.
"""

import getpass
import importlib
import json
import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from time import sleep
from typing import TYPE_CHECKING, Annotated, Any

import typer

from yardplan import __version__, paths
from yardplan.domain.errors import ExpectedError, InvalidField
from yardplan.domain.outcome import Progress, Status, StoredPlan
from yardplan.domain.weather_in_use import ServiceFormat
from yardplan.exchange.plan_words import order_counts, plan_words

if TYPE_CHECKING:  # the jobs import what they need when they run, so that each starts quickly
    from yardplan.store.engine import Database
    from yardplan.usecases.outlook import Outlook

app = typer.Typer(
    add_completion=False,
    no_args_is_help=False,
    help="Plan a yard of sun-heated rotational-molding units. Without a command the window opens.",
    pretty_exceptions_enable=False,
)
import_app = typer.Typer(help="Bring in a yard, orders or weather: all of a file or nothing of it.")
export_app = typer.Typer(help="Write the yard, the orders or a plan to files.")
app.add_typer(import_app, name="import")
app.add_typer(export_app, name="export")

SAYS_NO, BAD_INPUT = 1, 2
DEBIAN_PACKAGES = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libdbus-1.so.3": "libdbus-1-3",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libgthread-2.0.so.0": "libglib2.0-0",
}

OWN_CSV = (
    "A CSV in UTF-8 with a column start or end for the times, with an offset or under a line such as "
    "# zone: America/Denver, and columns named with their unit: dni_w_m2, ghi_w_m2, temp_c or temp_f, wind_m_s, "
    "gust_m_s, cloud_frac or cloud_pct. A blank cell is a gap."
)

Db = Annotated[
    str, typer.Option("--db", metavar="URL", help="Database, such as sqlite:///yard.sqlite; default: your own.")
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON document on standard output instead of words.")]
FirstOn = Annotated[
    datetime | None, typer.Option("--from", formats=["%Y-%m-%d"], help="First day; default: the next Monday.")
]
Days = Annotated[int, typer.Option("--days", min=1, max=28, help="How many days.")]
Confidence = Annotated[
    float | None, typer.Option("--confidence", help="Planning confidence: 0.5, 0.8 or 0.95; default: the yard's own.")
]
Seconds = Annotated[float, typer.Option("--seconds", min=0.1, max=86400, help="How long to search.")]


@contextmanager
def _telling() -> Iterator[None]:
    """Turn what a person can mend into a message and exit status 2."""
    try:
        yield
    except ExpectedError as error:
        typer.echo(f"yardplan: {error}", err=True)
        raise typer.Exit(BAD_INPUT) from error


def _say(as_json: bool, document: Callable[[], dict[str, Any]], words: Callable[[], str]) -> None:
    typer.echo(json.dumps(document(), indent=1, ensure_ascii=False) if as_json else words())


def _person() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # a container may know no name for its user
        return "unknown"


@app.callback(invoke_without_command=True)
def window(context: typer.Context, db: Db = "", version: Annotated[bool, typer.Option("--version")] = False) -> None:
    """Open the window when no command is given."""
    if version:
        typer.echo(f"yardplan {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        raise typer.Exit(_open_window(db or paths.default_database_url()))


@app.command()
def demo(
    seconds: Seconds = 60,
    folder: Annotated[
        Path | None, typer.Option(help="Where to put the demo database; default: your data folder.")
    ] = None,
    screen: Annotated[bool, typer.Option("--window/--no-window", help="Open the window at the end.")] = True,
) -> None:
    """Make the invented demo yard, plan its next week, print a summary, open the window."""
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.demo import make_demo
    from yardplan.usecases.outlook import make_outlook

    with _telling():
        url = make_demo((folder or paths.user_data_folder()).resolve() / "demo.sqlite")
    typer.echo(f"Demo yard (everything in it is invented): {url}")
    with _database(url) as database:
        outlook = make_outlook(database, now=yard_now(database))
        stored = _search(database, outlook, seconds)
        typer.echo(plan_words(stored, outlook.orders, outlook.yard))
    if screen and _has_screen():
        raise typer.Exit(_open_window(url))
    _draw_instead(outlook, stored, Path(url.removeprefix("sqlite:///")).parent)


@app.command()
def heat(
    db: Db = "",
    as_json: AsJson = False,
    first_on: FirstOn = None,
    days: Days = 7,
    confidence: Confidence = None,
    unit: Annotated[str, typer.Option(help="Tell this unit only, with the window of each product.")] = "",
    product: Annotated[str, typer.Option(help="Tell this product only, with its window on each unit.")] = "",
    wash: Annotated[bool, typer.Option("--wash", help="Also tell what a wash on the first day would bring.")] = False,
    at: Annotated[
        datetime | None,
        typer.Option(formats=["%H:%M"], help="What becomes of a start of --product at this time of the first day."),
    ] = None,
) -> None:
    """Tell the heat outlook of each day: the sky, the heat, and from when to when cooks can start."""
    from yardplan.exchange.heat_words import heat_words
    from yardplan.usecases.outlook import outlook_document
    from yardplan.usecases.starts import start_verdicts
    from yardplan.usecases.washing import wash_gains

    if at and not product:
        raise typer.BadParameter("it asks for a start of one product: say which with --product", param_hint="--at")

    with _database(db) as database:
        outlook = _outlook(database, first_on, days, confidence)
        if product:
            outlook.yard.product(product)
        if unit:
            outlook.yard.unit(unit)
        document = outlook_document(
            outlook,
            wash_gains(outlook, outlook.grid.days[0][0]) if wash else (),
            start_verdicts(outlook, product, at.time() if at else None) if product else (),
        )
        _say(as_json, lambda: document, lambda: heat_words(document, unit=unit, product=product))


@app.command()
def plan(
    db: Db = "",
    as_json: AsJson = False,
    first_on: FirstOn = None,
    days: Days = 7,
    confidence: Confidence = None,
    seconds: Seconds = 60,
    seed: Annotated[int, typer.Option(help="Seed of the search.")] = 0,
) -> None:
    """Build a plan from the open orders and keep it as a new version."""
    from yardplan.exchange.documents import plan_document
    from yardplan.usecases.planning import problem_of

    with _database(db) as database:
        outlook = _outlook(database, first_on, days, confidence)
        stored = _search(database, outlook, seconds, seed)
        _say(
            as_json,
            lambda: plan_document(problem_of(outlook), stored),
            lambda: plan_words(stored, outlook.orders, outlook.yard),
        )
    if stored.outcome.status is Status.IMPOSSIBLE:
        raise typer.Exit(SAYS_NO)


@app.command()
def check(file: Annotated[Path, typer.Argument(help="A plan document.")], db: Db = "", as_json: AsJson = False) -> None:
    """Check a plan in a JSON file against every rule; exit status 1 if it breaks one."""
    from yardplan.clock import now_utc
    from yardplan.exchange.documents import check_document
    from yardplan.usecases.checking import check_plan_file

    with _database(db) as database:
        violations = check_plan_file(database, file)
        listed = "".join(f"\n  {found.rule}: {found.text}" for found in violations)
        _say(
            as_json,
            lambda: check_document(violations, generated_at=now_utc()),
            lambda: f"{file.name}: breaks {len(violations)} rule(s)" + listed if violations else f"{file.name}: ok",
        )
    if violations:
        raise typer.Exit(SAYS_NO)


@app.command()
def calibrate(db: Db = "", as_json: AsJson = False) -> None:
    """Learn heat and losses of molds from the log; from then on outlooks count on it, and drifts are told."""
    from yardplan.domain.slots import zone
    from yardplan.exchange.calibration_document import calibration_document, calibration_words
    from yardplan.usecases.calibration import calibrate as calibrate_yard
    from yardplan.usecases.clock import yard_now

    with _database(db) as database:
        now = yard_now(database)
        found, tz = calibrate_yard(database, now=now, by=_person())
        _say(
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
    with _database(db) as database:
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
        _say(as_json, lambda: live_document(cook), lambda: live_words(cook))


@app.command()
def weather(
    db: Db = "",
    as_json: AsJson = False,
    fetch: Annotated[bool, typer.Option("--fetch", help="Ask the service if it may be asked again.")] = False,
    contact: Annotated[str | None, typer.Option(help="Who asks: a mail address or site that is read.")] = None,
    service: Annotated[ServiceFormat | None, typer.Option(help="How the service tells the weather.")] = None,
    address: Annotated[str | None, typer.Option(help="Another service's address; blank for the open one.")] = None,
    credit: Annotated[str | None, typer.Option(help="The credit line that another service asks for.")] = None,
    overrule: Annotated[
        str | None, typer.Option("--overrule", help='What you know better, such as "fog monday until 10".')
    ] = None,
    withdraw: Annotated[str | None, typer.Option("--withdraw", help="Take an overrule back, by its words.")] = None,
) -> None:
    """Tell which weather plans count on, how old it is and whom to credit; exit status 1 if --fetch got no answer."""
    from yardplan.exchange.weather_document import weather_document, weather_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.overruling import say_overrule, withdraw_overrule
    from yardplan.usecases.weather import refresh_forecast, set_forecast_service, weather_in_use

    with _database(db) as database:
        now = yard_now(database)
        if overrule is not None:
            rule = say_overrule(database, overrule, now=now, by=_person())
            typer.echo(
                f"kept: {rule.text}, {rule.start_at:%Y-%m-%d %H:%M} to {rule.end_at:%Y-%m-%d %H:%M} UTC", err=True
            )
        if withdraw is not None:
            withdraw_overrule(database, withdraw, now=now, by=_person())
        if (contact, service, address, credit) != (None,) * 4:
            set_forecast_service(
                database, by=_person(), at=now, contact=contact, form=service, address=address, credit=credit
            )
        in_use = refresh_forecast(database, now=now, sleep=sleep) if fetch else weather_in_use(database, now=now)
        document = weather_document(in_use, generated_at=now)
        _say(as_json, lambda: document, lambda: weather_words(document))
    if fetch and in_use.trouble:
        raise typer.Exit(SAYS_NO)


@app.command()
def charge(
    readings: Annotated[list[str], typer.Argument(metavar="UNIT=KWH...", help="Such as U1=14.5 U2=9.")], db: Db = ""
) -> None:
    """Note what stands in the batteries of units now; plans of days that hold this moment begin with it."""
    from yardplan.usecases.charge import note_charge
    from yardplan.usecases.clock import yard_now

    with _database(db) as database:
        kwh = dict(_reading(text) for text in readings)
        typer.echo(f"noted: {note_charge(database, kwh, by=_person(), at=yard_now(database))}")


@import_app.command("yard")
def import_yard_command(folder: Path, db: Db = "") -> None:
    """Replace the yard by the one in a folder of CSV and TOML files."""
    from yardplan.usecases.imports import import_yard

    _import(import_yard, folder, db)


@import_app.command("orders")
def import_orders_command(file: Path, db: Db = "") -> None:
    """Add the orders of a CSV or XLSX file."""
    from yardplan.usecases.imports import import_orders

    _import(import_orders, file, db)


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
    from yardplan.usecases.own_weather import import_own_weather

    _import(import_own_weather, file, db)


@export_app.command("yard")
def export_yard_command(folder: Path, db: Db = "") -> None:
    """Write the yard, its orders and its log as a folder of readable files."""
    from yardplan.usecases.exports import export_yard

    with _database(db) as database:
        typer.echo(f"written: {export_yard(database, folder)}")


@export_app.command("orders")
def export_orders_command(file: Path, db: Db = "") -> None:
    """Write all orders as one CSV file."""
    from yardplan.usecases.exports import export_orders

    with _database(db) as database:
        typer.echo(f"written: {export_orders(database, file)}")


@export_app.command("plan")
def export_plan_command(
    file: Path,
    db: Db = "",
    number: Annotated[int | None, typer.Option(help="Plan version; default: the newest.")] = None,
) -> None:
    """Write a kept plan version as a JSON document."""
    from yardplan.usecases.exports import export_plan

    with _database(db) as database:
        typer.echo(f"written: {export_plan(database, file, number)}")


@contextmanager
def _database(db: str) -> Iterator["Database"]:
    """Open the database for one job, and tell what a person can mend."""
    from yardplan.store.engine import open_database

    with _telling():
        database = open_database(db or paths.default_database_url())
        try:
            yield database
        finally:
            database.close()


def _outlook(database: "Database", first_on: datetime | None, days: int, confidence: float | None) -> "Outlook":
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.outlook import make_outlook

    return make_outlook(
        database,
        now=yard_now(database),
        first_on=first_on.date() if first_on else None,
        days=days,
        confidence=confidence,
    )


def _reading(text: str) -> tuple[str, float]:
    unit_id, _, kwh = text.partition("=")
    try:
        return unit_id.strip(), float(kwh)
    except ValueError:
        raise InvalidField("battery charge", unit_id, "reading", text, "a unit and its kWh such as U1=14.5") from None


def _import(job: Callable[..., str], path: Path, db: str) -> None:
    from yardplan.usecases.clock import yard_now

    with _database(db) as database:
        typer.echo(f"taken: {job(database, path, by=_person(), at=yard_now(database))}")


def _search(database: "Database", outlook: "Outlook", seconds: float, seed: int = 0) -> StoredPlan:
    """Search with a line on standard error whenever the counts of orders change; Ctrl+C keeps the best one so far."""
    from yardplan.solve.run import Limits, Stop
    from yardplan.usecases.planning import make_plan

    told = [""]

    def tell(progress: Progress) -> None:
        counts = order_counts(progress.plan, outlook.orders, outlook.yard)
        if counts != told[-1]:
            told.append(counts)
            typer.echo(f"  {progress.seconds:5.1f} s  {counts}", err=True)

    stop = Stop()
    before = signal.signal(signal.SIGINT, lambda *_: stop.request())
    try:
        return make_plan(database, outlook, Limits(seconds=seconds, seed=seed), stop, tell, made_by=_person())
    finally:
        signal.signal(signal.SIGINT, before)


def _has_screen() -> bool:
    return sys.platform in ("win32", "darwin") or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _open_window(url: str) -> int:
    run_window = _from_ui("app", "run_window")
    return int(run_window(url)) if run_window else BAD_INPUT


def _draw_instead(outlook: "Outlook", stored: StoredPlan, folder: Path) -> None:
    save_week_picture = _from_ui("picture", "save_week_picture")
    if save_week_picture:
        png, pdf = folder / "week.png", folder / "week.pdf"
        save_week_picture(png, pdf, outlook, stored)
        typer.echo(f"There is no screen here. The week as a picture: {png}\nThe week on paper: {pdf}")


def _from_ui(module: str, name: str) -> Callable[..., Any] | None:
    """Return a function of the window part, or tell which system package it lacks; jobs without a screen go on."""
    try:
        found: Callable[..., Any] = getattr(importlib.import_module(f"yardplan.ui.{module}"), name)
        return found
    except ImportError as error:
        library = str(error).split(":")[0]
        package = DEBIAN_PACKAGES.get(library, "libegl1 libgl1 libxkbcommon0 libfontconfig1 libdbus-1-3 libxcb-cursor0")
        typer.echo(f"yardplan: the window needs {library}; on Debian: apt-get install {package}", err=True)
        return None
