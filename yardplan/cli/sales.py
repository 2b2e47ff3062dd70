"""Commands for sales: dates that can be promised, capacity that is kept, months ahead."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from yardplan.cli.asking import SAYS_NO, AsJson, Db, app, opened, person, say
from yardplan.cli.files import import_app
from yardplan.domain.errors import InvalidField, OutOfDate

if TYPE_CHECKING:
    from yardplan.domain.quotes import Wish
    from yardplan.store.engine import Database

hold_app = typer.Typer(help="Keep the capacity of a quote for a customer until a day; list, release, or order it.")
app.add_typer(hold_app, name="hold")
order_app = typer.Typer(help="Change, add or take out single orders; files of them come in by `import orders`.")
app.add_typer(order_app, name="order")

Cells = Annotated[
    list[str],
    typer.Argument(metavar="COLUMN=VALUE...", help="As in a file of orders, such as quantity=8 due=2027-05-22."),
]

Day = Annotated[
    datetime | None, typer.Option(formats=["%Y-%m-%d"], help="Day on which the customer would like to have it.")
]
Until = Annotated[datetime, typer.Option(formats=["%Y-%m-%d"], help="Last day on which it holds.")]


@order_app.command("set")
def set_order_command(order: str, cells: Cells, db: Db = "") -> None:
    """Change an order, such as `yardplan order set Y-12 quantity=8 promise=`; a blank value takes one away."""
    _set_order(order, _pairs(cells), db)


@order_app.command("add")
def add_order_command(order: str, cells: Cells, db: Db = "") -> None:
    """Add an order; product, color, quantity and due are needed."""
    _set_order(order, _pairs(cells), db, is_new=True)


@order_app.command("remove")
def remove_order_command(order: str, db: Db = "") -> None:
    """Take an order out of the book."""
    _set_order(order, None, db)


def _pairs(cells: list[str]) -> dict[str, str]:
    bad = [text for text in cells if "=" not in text]
    if bad:
        raise typer.BadParameter(f"{bad[0]!r} is no column=value", param_hint="COLUMN=VALUE")
    return dict(text.split("=", 1) for text in cells)


def _set_order(order_id: str, cells: dict[str, str] | None, db: str, *, is_new: bool = False) -> None:
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.ordering import set_order

    with opened(db) as database:
        made = set_order(database, order_id, cells, is_new=is_new, by=person(), now=yard_now(database))
        typer.echo(made.words)


@app.command()
def quote(
    asked: Annotated[
        list[str] | None, typer.Argument(metavar="PRODUCT QUANTITY...", help="Such as TANK-800 12; or several pairs.")
    ] = None,
    color: Annotated[
        list[str] | None, typer.Option(help="One for all products, or one for each, in their order.")
    ] = None,
    wish: Day = None,
    lead_days: Annotated[int, typer.Option(help="Days on the way to the customer.")] = 0,
    move: Annotated[
        bool, typer.Option("--move", help="Tell how early it would be if work that is promised to nobody gave way.")
    ] = False,
    show: Annotated[int | None, typer.Option(metavar="NUMBER", help="Show a quote that was made before.")] = None,
    db: Db = "",
    as_json: AsJson = False,
) -> None:
    """Tell the earliest dates of new work in 5, 8 and 19 of 10, 10 and 20 weathers; nothing in the plan moves."""
    from yardplan.exchange.quote_document import quote_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.quoting import told_quote

    with opened(db) as database:
        stale: tuple[str, ...] = ()
        if show is not None:
            document, stale = told_quote(database, show, now=yard_now(database))
        else:
            document = _quoted(database, _wishes(database, asked or [], color or []), wish, lead_days, move=move)
        say(as_json, lambda: document, lambda: quote_words(document, stale))
    if stale or document[f"p{100 * document['confidence']:.0f}"]["ready"] is None:
        raise typer.Exit(SAYS_NO)


@hold_app.command("quote")
def hold_quote_command(
    number: Annotated[int, typer.Argument(help="Number of the quote.")],
    until: Until,
    customer: Annotated[str, typer.Option(help="For whom.")] = "",
    db: Db = "",
) -> None:
    """Keep the capacity of a quote; if it is out of date, tell the new dates instead (exit status 1)."""
    from yardplan.exchange.quote_document import hold_words, quote_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.holding import hold_quote
    from yardplan.usecases.quoting import quoted_again

    with opened(db) as database:
        now = yard_now(database)
        try:
            hold = hold_quote(database, number, customer=customer, until_on=until.date(), now=now, by=person())
        except OutOfDate as error:
            typer.echo(f"yardplan: {error}; it is asked again", err=True)
            typer.echo(quote_words(quoted_again(database, number, now=now, by=person())))
            raise typer.Exit(SAYS_NO) from error
        typer.echo(f"kept: {hold_words(hold)}")


@hold_app.command("list")
def list_holds_command(db: Db = "") -> None:
    """Tell which holds stand today."""
    from yardplan.exchange.quote_document import hold_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.holding import holds_of

    with opened(db) as database:
        holds = holds_of(database, now=yard_now(database))
        typer.echo("\n".join(map(hold_words, holds)) or "no capacity is kept for anybody")


@hold_app.command("release")
def release_hold_command(hold_id: Annotated[str, typer.Argument(metavar="HOLD")], db: Db = "") -> None:
    """Let go of a hold before its day."""
    from yardplan.exchange.quote_document import hold_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.holding import release_hold

    with opened(db) as database:
        hold = release_hold(database, hold_id, now=yard_now(database), by=person())
        typer.echo(f"released: {hold_words(hold)}")


@hold_app.command("order")
def order_hold_command(
    hold_id: Annotated[str, typer.Argument(metavar="HOLD")],
    customer: Annotated[str, typer.Option(help="For whom; default: as in the hold.")] = "",
    db: Db = "",
) -> None:
    """Turn a hold into promised orders."""
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.holding import order_hold

    with opened(db) as database:
        orders = order_hold(database, hold_id, customer=customer, now=yard_now(database), by=person())
        for order in orders:
            typer.echo(f"order {order.id}: {order.quantity} {order.product_id} in {order.color} for {order.customer}")


@import_app.command("finished")
def import_finished_command(file: Path, db: Db = "") -> None:
    """Take a count of finished pieces that are nobody's: a CSV with product, color, free, on_hold."""
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.finished import import_finished

    with opened(db) as database:
        typer.echo(f"taken: {import_finished(database, file, by=person(), at=yard_now(database))}")


def _quoted(
    database: "Database", wishes: "tuple[Wish, ...]", wish: datetime | None, lead_days: int, *, move: bool
) -> dict[str, Any]:
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.quoting import book_in_hand, make_quote, quote_unkept

    if move:
        now, wish_on = yard_now(database), wish.date() if wish else None
        laid = book_in_hand(database, None, wish_on=wish_on, now=now)
        return quote_unkept(laid, wishes, wish_on=wish_on, lead_days=lead_days, now=now, may_move=True)
    return make_quote(
        database,
        wishes,
        wish_on=wish.date() if wish else None,
        lead_days=lead_days,
        now=yard_now(database),
        by=person(),
    )


def _wishes(database: "Database", asked: list[str], colors: list[str]) -> "tuple[Wish, ...]":
    """Read pairs of product and quantity; a product that is kept in one color only needs none."""
    from yardplan.usecases.quoting import wish_of

    pairs = list(zip(asked[::2], asked[1::2], strict=False))
    if not asked or len(asked) % 2:
        raise InvalidField("quote", " ".join(asked), "arguments", len(asked), "pairs such as TANK-800 12")
    if len(colors) > 1 and len(colors) != len(pairs):
        raise InvalidField("quote", "", "color", colors, f"one color for all, or one for each of {len(pairs)} products")
    each = colors if len(colors) == len(pairs) else colors * len(pairs) or [""] * len(pairs)
    return tuple(
        wish_of(database, product, quantity, one) for (product, quantity), one in zip(pairs, each, strict=True)
    )


@app.command("season")
def season_command(
    months: Annotated[int, typer.Option(min=1, max=24, help="How many months, from the next one on.")] = 12,
    product: Annotated[list[str] | None, typer.Option(help="Only this product; may be repeated.")] = None,
    file: Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write the table to a CSV file.")] = None,
    db: Db = "",
    as_json: AsJson = False,
) -> None:
    """Tell month by month what the yard can make in a typical year, and what the order book takes of it."""
    from yardplan.exchange.rows import write_whole
    from yardplan.exchange.season_document import season_csv, season_document, season_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.season import season

    with opened(db) as database:
        now = yard_now(database)
        found = season(
            database,
            now=now,
            n_months=months,
            product_ids=tuple(product or ()),
            on_month=lambda first_on: typer.echo(f"  {first_on:%B %Y}", err=True),
        )
        document = season_document(found, generated_at=now)
        if file is not None:
            write_whole(file, season_csv(document))
        say(as_json, lambda: document, lambda: season_words(document))
