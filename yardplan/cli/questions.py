"""Questions about plans: what is different between two, what would be if, and why an order is late."""

from typing import Annotated, Any

import typer

from yardplan.cli.asking import AsJson, Db, app, opened, person, say, stopping


@app.command("compare")
def compare_command(
    old: Annotated[int, typer.Argument(help="Number of the plan that was.")],
    new: Annotated[int, typer.Argument(help="Number of the plan to set beside it.")],
    db: Db = "",
    as_json: AsJson = False,
) -> None:
    """Tell what is different between two plans: cycles, mold changes, orders, heat and hours."""
    from yardplan.exchange.compare_document import compare_words
    from yardplan.usecases.comparing import compare_plans

    with opened(db) as database:
        document = compare_plans(database, old, new)
        say(as_json, lambda: document, lambda: compare_words(document))


_Changes = list[str] | None
_Work = Annotated[
    float, typer.Option(min=0.1, max=1e6, help="Work of each search; the same work gives the same answer.")
]
_Seconds = Annotated[
    float | None, typer.Option(min=0.1, max=86400, help="Seconds of each search instead of a measure of work.")
]
_Number = Annotated[int | None, typer.Option("--plan", help="Number of the plan; default: the newest.")]


def _option(metavar: str, words: str) -> Any:
    return typer.Option(metavar=metavar, help=words)


@app.command("what-if")
def what_if_command(
    db: Db = "",
    as_json: AsJson = False,
    number: _Number = None,
    copy: Annotated[_Changes, _option("MOLD", "One more copy of a mold.")] = None,
    operator: Annotated[_Changes, _option("SHIFT[:SKILL+SKILL]", "One more person on a shift.")] = None,
    bench: Annotated[_Changes, _option("BENCH", "One more bench like this one.")] = None,
    unit: Annotated[_Changes, _option("UNIT", "One more unit like this one.")] = None,
    loader: Annotated[bool, typer.Option("--loader", help="One more loader.")] = False,
    overtime: Annotated[_Changes, _option("DAY", "The last shift of a day stays three hours longer.")] = None,
    stock: Annotated[_Changes, _option("ITEM=AMOUNT", "So much more resin or inserts.")] = None,
    energy: Annotated[_Changes, _option("UNIT=KWH", "So much more energy for a unit's benches.")] = None,
    order: Annotated[
        _Changes, _option("'ORDER EDITS'", "Such as 'Y-12 due=2027-05-22 quantity=8 promise=none', or 'Y-12 out'.")
    ] = None,
    clear: Annotated[_Changes, _option("DAY", "A day without clouds, such as wednesday or 2027-05-19.")] = None,
    confidence: Annotated[float | None, typer.Option(help="Another planning confidence: 0.5, 0.8 or 0.95.")] = None,
    keep: Annotated[str | None, typer.Option(metavar="NAME", help="Keep the answer as a draft of this name.")] = None,
    work: _Work = 4.0,
    seconds: _Seconds = None,
) -> None:
    """Tell what would become of a plan if the yard, its people, the sky or the orders were different."""
    from yardplan.exchange.change_words import change_of
    from yardplan.exchange.what_if_document import what_if_document, what_if_words
    from yardplan.solve.run import Limits
    from yardplan.usecases.comparing import stored_plan
    from yardplan.usecases.what_if import keep_draft, what_if

    said = {
        "copy": copy, "operator": operator, "bench": bench, "unit": unit, "loader": [""] if loader else None,
        "overtime": overtime, "stock": stock, "energy": energy, "order": order, "clear": clear,
        "confidence": None if confidence is None else [f"{confidence:g}"],
    }  # fmt: skip
    texts = [f"{kind} {value}".strip() for kind, values in said.items() for value in values or ()]
    if not texts:
        raise typer.BadParameter("say what should be different, such as --copy M03 or --clear wednesday")
    with opened(db) as database, stopping() as stop:
        base = stored_plan(database, number)
        changes = [change_of(text, base.outcome.plan.grid) for text in texts]
        limits = Limits(seconds=seconds, work=None if seconds else work)
        found = what_if(database, base, changes, limits, stop)
        kept = keep_draft(database, found, keep, by=person()) if keep is not None else None
        document = what_if_document(
            base.number,
            changes,
            (found.settled.problem, found.settled.second),
            (found.problem, found.outcome),
            found.comparison,
            work=limits.work,
            kept_as=kept.number if kept else None,
            generated_at=base.made_at,
        )
        say(as_json, lambda: document, lambda: what_if_words(document))


@app.command("explain")
def explain_command(
    order: Annotated[str, typer.Argument(help="Order that is late or unfinished.")] = "",
    db: Db = "",
    as_json: AsJson = False,
    chamber: Annotated[str, typer.Option(help="Why this chamber is empty, with --at.")] = "",
    at: Annotated[str, typer.Option(metavar="'DAY HH:MM'", help="Such as 'tue 13:00' or '2027-05-18 13:00'.")] = "",
    number: _Number = None,
    work: _Work = 4.0,
    seconds: _Seconds = None,
) -> None:
    """Tell why an order is late or a chamber empty, and what changes were measured to bring; Ctrl+C ends it early."""
    from yardplan.exchange.change_words import moment_of
    from yardplan.exchange.explain_document import explain_document, explain_words
    from yardplan.solve.run import Limits
    from yardplan.usecases.comparing import stored_plan
    from yardplan.usecases.explaining import explain_hour, explain_order

    if bool(order) == bool(chamber) or bool(chamber) != bool(at):
        raise typer.BadParameter("name an order, or a chamber with --chamber and a time with --at")
    with opened(db) as database, stopping() as stop:
        stored = stored_plan(database, number)
        grid = stored.outcome.plan.grid
        limits = Limits(seconds=seconds, work=None if seconds else work)
        if order:
            found = explain_order(database, stored, order, limits, stop, _tell)
        else:
            found = explain_hour(database, stored, chamber, moment_of(at, grid), limits, stop, _tell)
        document = explain_document(
            found, grid, plan_number=stored.number, work=limits.work, generated_at=stored.made_at
        )
        say(as_json, lambda: document, lambda: explain_words(document))


def _tell(words: str) -> None:
    typer.echo(f"  searching: {words}", err=True)
