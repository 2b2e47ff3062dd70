"""Commands that change one thing of a plan by hand; each makes a new version, which is published on its own."""

from typing import TYPE_CHECKING, Annotated

import typer

from yardplan.cli.asking import Db, app, opened, person

if TYPE_CHECKING:
    from collections.abc import Callable

    from yardplan.domain.edits import Edit
    from yardplan.domain.slots import SlotGrid

edit_app = typer.Typer(help="Change the plan in hand: move, lock, unlock, remove, split or add cycles.")
app.add_typer(edit_app, name="edit")

_Cycle = Annotated[str, typer.Argument(help="Cycle, such as C061.")]
_To = Annotated[str, typer.Option("--to", help="Chamber, such as 2B.")]
_At = Annotated[str, typer.Option("--at", help="When charging should begin, such as 'tue 13:00'.")]
_Reason = Annotated[str, typer.Option(help="Why; needed in the frozen period of the plan in force.")]
_Name = Annotated[str, typer.Option(help="Who says so; needed in the frozen period.")]


@edit_app.command("move")
def move_command(cycle: _Cycle, to: _To, at: _At, db: Db = "", reason: _Reason = "", name: _Name = "") -> None:
    """Move a cycle to another chamber, another time, or both; what stands in its way is pushed."""
    from yardplan.domain.edits import Move

    _edit(db, lambda grid: Move(cycle, to, _slot(at, grid)), reason, name)


@edit_app.command("split")
def split_command(cycle: _Cycle, to: _To, at: _At, db: Db = "", reason: _Reason = "", name: _Name = "") -> None:
    """Move a cycle and all later ones of its order in its chamber."""
    from yardplan.domain.edits import Split

    _edit(db, lambda grid: Split(cycle, to, _slot(at, grid)), reason, name)


@edit_app.command("add")
def add_command(
    order: Annotated[str, typer.Argument(help="Order that gets one more cycle.")],
    to: _To,
    at: _At,
    db: Db = "",
    reason: _Reason = "",
    name: _Name = "",
) -> None:
    """Add a cycle by hand."""
    from yardplan.domain.edits import Add

    _edit(db, lambda grid: Add(order, to, _slot(at, grid)), reason, name)


@edit_app.command("remove")
def remove_command(cycle: _Cycle, db: Db = "", reason: _Reason = "", name: _Name = "") -> None:
    """Take a cycle out of the plan."""
    from yardplan.domain.edits import Remove

    _edit(db, lambda grid: Remove(cycle), reason, name)


@edit_app.command("lock")
def lock_command(cycle: _Cycle, db: Db = "") -> None:
    """Lock a cycle: planning leaves it where it is."""
    from yardplan.domain.edits import Lock

    _edit(db, lambda grid: Lock(cycle))


@edit_app.command("unlock")
def unlock_command(cycle: _Cycle, db: Db = "") -> None:
    """Unlock a cycle: planning may move it again."""
    from yardplan.domain.edits import Lock

    _edit(db, lambda grid: Lock(cycle, locked=False))


@edit_app.command("frozen")
def frozen_command(
    hours: Annotated[float | None, typer.Argument(help="Hours from now; without: tell how many they are.")] = None,
    db: Db = "",
) -> None:
    """Tell or set for how many hours from now changes of the plan in force take a reason and a name."""
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.editing import frozen_h, set_frozen_h

    with opened(db) as database:
        if hours is not None:
            set_frozen_h(database, hours, by=person(), at=yard_now(database))
        typer.echo(f"The plan in force is frozen for {frozen_h(database):g} h from now.")


def _slot(text: str, grid: "SlotGrid") -> int:
    from yardplan.exchange.change_words import moment_of

    return grid.slot(moment_of(text, grid))


def _edit(db: str, asked: "Callable[[SlotGrid], Edit]", reason: str = "", name: str = "") -> None:
    from yardplan.exchange.edit_words import edited_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.editing import edit_plan

    with opened(db) as database:
        made = edit_plan(database, asked, now=yard_now(database), by=person(), reason=reason, name=name)
        typer.echo(f"plan {made.stored.number}: {made.told}")
        told = edited_words(made.found, made.before, made.outlook.orders, made.outlook.yard)
        typer.echo(told + ("\n" if told else "") + f"  not in force until `yardplan publish {made.stored.number}`")
