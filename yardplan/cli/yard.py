"""Commands that look at the yard's versions and change it."""

from typing import Annotated

import typer

from yardplan.cli.asking import Db, app, opened, person


@app.command()
def versions(
    db: Db = "",
    back_to: Annotated[int | None, typer.Option(help="Make this version the yard again, as the newest one.")] = None,
) -> None:
    """List the versions of the yard: when, by whom, what was changed."""
    from yardplan.domain.slots import zone
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.yard_editing import old_draft, open_yard, save_yard

    with opened(db) as database:
        found = open_yard(database)
        if back_to is not None:
            draft = old_draft(database, back_to)
            found = save_yard(database, draft, seen_version=found.version, by=person(), at=yard_now(database))
        tz = zone(found.yard.site.tz if found.yard else "UTC")
        for version in found.versions:
            at = f"{version.at.astimezone(tz):%Y-%m-%d %H:%M}"
            typer.echo(f"{version.number:>4}  {at}  {version.by:<12}  {version.what}")
        if not found.versions:
            typer.echo("no versions are kept yet")


@app.command("set")
def set_command(
    where: Annotated[str, typer.Argument(help="Table, as its file is called: molds, shifts, site ...")],
    name: Annotated[str, typer.Argument(help="What stands in the row's first column; any word for the site.")],
    values: Annotated[list[str], typer.Argument(help="Columns and what to put there, such as copies=3.")],
    db: Db = "",
) -> None:
    """Change a row of the yard, such as `yardplan set molds M01 copies=3`; what cannot be is refused as a whole."""
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.yard_editing import set_cells

    bad = [text for text in values if "=" not in text]
    if bad:
        raise typer.BadParameter(f"{bad[0]!r} is no column=value", param_hint="VALUES")
    pairs = dict(text.split("=", 1) for text in values)
    with opened(db) as database:
        typer.echo(f"changed: {set_cells(database, where, name, pairs, by=person(), at=yard_now(database))}")
