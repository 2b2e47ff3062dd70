"""The window, and what is drawn where there is no screen."""

import importlib
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from yardplan import __version__, paths
from yardplan.cli.asking import BAD_INPUT, Db, app
from yardplan.domain.outcome import StoredPlan

if TYPE_CHECKING:
    from yardplan.usecases.outlook import Outlook

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


@app.callback(invoke_without_command=True)
def window(context: typer.Context, db: Db = "", version: Annotated[bool, typer.Option("--version")] = False) -> None:
    """Open the window when no command is given."""
    if version:
        typer.echo(f"yardplan {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        raise typer.Exit(open_window(db or paths.default_database_url()))


def has_screen() -> bool:
    """Return whether a window can be shown here."""
    return sys.platform in ("win32", "darwin") or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def open_window(url: str) -> int:
    """Open the window on a database; returns its exit status."""
    run_window = from_ui("app", "run_window")
    return int(run_window(url)) if run_window else BAD_INPUT


def draw_instead(outlook: "Outlook", stored: StoredPlan, folder: Path) -> None:
    """Write the week as a picture and on paper, and say where they are."""
    save_week_picture = from_ui("picture", "save_week_picture")
    if save_week_picture:
        png, pdf = folder / "week.png", folder / "week.pdf"
        save_week_picture(png, pdf, outlook, stored)
        typer.echo(f"There is no screen here. The week as a picture: {png}\nThe week on paper: {pdf}")


def from_ui(module: str, name: str) -> Callable[..., Any] | None:
    """Return a function of the window part, or tell which system package it lacks; jobs without a screen go on."""
    try:
        found: Callable[..., Any] = getattr(importlib.import_module(f"yardplan.ui.{module}"), name)
        return found
    except ImportError as error:
        library = str(error).split(":")[0]
        package = DEBIAN_PACKAGES.get(library, "libegl1 libgl1 libxkbcommon0 libfontconfig1 libdbus-1-3 libxcb-cursor0")
        typer.echo(f"yardplan: the window needs {library}; on Debian: apt-get install {package}", err=True)
        return None
