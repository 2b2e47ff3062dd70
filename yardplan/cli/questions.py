"""Questions about plans: what is different between two of them."""

from typing import Annotated

import typer

from yardplan.cli.asking import AsJson, Db, app, opened, say


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
