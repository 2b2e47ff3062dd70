"""What all commands share: the program itself, its common options, and how it answers."""

import getpass
import json
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import TYPE_CHECKING, Annotated, Any

import typer

from yardplan import paths
from yardplan.domain.errors import ExpectedError

if TYPE_CHECKING:  # the jobs import what they need when they run, so that each starts quickly
    from yardplan.solve.run import Stop
    from yardplan.store.engine import Database
    from yardplan.usecases.outlook import Outlook

app = typer.Typer(
    add_completion=False,
    no_args_is_help=False,
    help="Plan a yard of sun-heated rotational-molding units. Without a command the window opens.",
    pretty_exceptions_enable=False,
)

SAYS_NO, BAD_INPUT = 1, 2

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
def telling() -> Iterator[None]:
    """Turn what a person can mend into a message and exit status 2."""
    try:
        yield
    except ExpectedError as error:
        typer.echo(f"yardplan: {error}", err=True)
        raise typer.Exit(BAD_INPUT) from error


@contextmanager
def stopping() -> Iterator["Stop"]:
    """Let Ctrl+C end searches early; what was found up to then is told."""
    from yardplan.solve.run import Stop

    stop = Stop()
    before = signal.signal(signal.SIGINT, lambda *_: stop.request())
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)


def say(as_json: bool, document: Callable[[], dict[str, Any]], words: Callable[[], str]) -> None:
    """Print the answer as one JSON document or in words; only what is asked is made."""
    typer.echo(json.dumps(document(), indent=1, ensure_ascii=False) if as_json else words())


def person() -> str:
    """Return who is at the keyboard, as the machine knows them."""
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # a container may know no name for its user
        return "unknown"


@contextmanager
def opened(db: str) -> Iterator["Database"]:
    """Open the database for one job, and tell what a person can mend."""
    from yardplan.store.engine import open_database

    with telling():
        database = open_database(db or paths.default_database_url())
        try:
            yield database
        finally:
            database.close()


def outlook_of(database: "Database", first_on: datetime | None, days: int, confidence: float | None) -> "Outlook":
    """Make the outlook of the days that were asked for, on the yard's own clock."""
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.outlook import make_outlook

    return make_outlook(
        database,
        now=yard_now(database),
        first_on=first_on.date() if first_on else None,
        days=days,
        confidence=confidence,
    )
