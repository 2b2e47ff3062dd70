"""Looking back: how the yard did."""

from typing import Annotated

import typer

from yardplan.cli.asking import AsJson, Db, app, opened, say


@app.command("review")
def review_command(
    db: Db = "",
    as_json: AsJson = False,
    days: Annotated[int, typer.Option("--days", min=1, max=366, help="How many days back, today among them.")] = 28,
) -> None:
    """Tell how the yard did: plan kept, pieces, heat, forecasts, models; JSON has formulas, counts and tables."""
    from yardplan.exchange.review_document import review_document, review_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.reviewing import review_yard

    with opened(db) as database:
        document = review_document(review_yard(database, now=yard_now(database), days=days))
        say(as_json, lambda: document, lambda: review_words(document))
