"""Commands that tell of the sun: the heat outlook and the weather behind it."""

from datetime import datetime, time
from time import sleep
from typing import Annotated

import typer

from yardplan.cli.asking import SAYS_NO, AsJson, Confidence, Days, Db, FirstOn, app, opened, outlook_of, person, say
from yardplan.domain.errors import InvalidField
from yardplan.domain.weather_in_use import ServiceFormat


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

    with opened(db) as database:
        outlook = outlook_of(database, first_on, days, confidence)
        if product:
            outlook.yard.product(product)
        if unit:
            outlook.yard.unit(unit)
        document = outlook_document(
            outlook,
            wash_gains(outlook, outlook.grid.days[0][0]) if wash else (),
            start_verdicts(outlook, product, at.time() if at else None) if product else (),
        )
        say(as_json, lambda: document, lambda: heat_words(document, unit=unit, product=product))


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
    measured: Annotated[
        list[str] | None,
        typer.Option("--measured", help="Direct sun read off today, W/m2, such as 10:20=640; may be given again."),
    ] = None,
) -> None:
    """Tell which weather plans count on, how old it is and whom to credit; exit status 1 if --fetch got no answer."""
    from yardplan.exchange.weather_document import weather_document, weather_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.overruling import say_overrule, withdraw_overrule
    from yardplan.usecases.own_weather import note_sun
    from yardplan.usecases.verification import keep_outlook
    from yardplan.usecases.weather import refresh_forecast, set_forecast_service, weather_in_use

    with opened(db) as database:
        now = yard_now(database)
        if overrule is not None:
            rule = say_overrule(database, overrule, now=now, by=person())
            typer.echo(
                f"kept: {rule.text}, {rule.start_at:%Y-%m-%d %H:%M} to {rule.end_at:%Y-%m-%d %H:%M} UTC", err=True
            )
        if withdraw is not None:
            withdraw_overrule(database, withdraw, now=now, by=person())
        if measured:
            typer.echo(
                f"noted: {note_sun(database, [_reading(text) for text in measured], by=person(), at=now)}", err=True
            )
        if (contact, service, address, credit) != (None,) * 4:
            set_forecast_service(
                database, by=person(), at=now, contact=contact, form=service, address=address, credit=credit
            )
        in_use = refresh_forecast(database, now=now, sleep=sleep) if fetch else weather_in_use(database, now=now)
        if fetch and in_use.fetched_at == now:
            keep_outlook(database, now=now)
        document = weather_document(in_use, generated_at=now)
        say(as_json, lambda: document, lambda: weather_words(document))
    if fetch and in_use.trouble:
        raise typer.Exit(SAYS_NO)


@app.command()
def verify(
    db: Db = "",
    as_json: AsJson = False,
    days: Annotated[int, typer.Option("--days", min=1, max=366, help="How many days to look back.")] = 60,
) -> None:
    """Tell how the outlooks of the last days fared against measured sun, by how far ahead they were made."""
    from yardplan.exchange.verification_document import verification_document, verification_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.verification import verify_outlooks

    with opened(db) as database:
        now = yard_now(database)
        document = verification_document(verify_outlooks(database, now=now, days=days), generated_at=now)
        say(as_json, lambda: document, lambda: verification_words(document))


def _reading(text: str) -> tuple[time, float]:
    clock, _, w_m2 = text.partition("=")
    try:
        return time.fromisoformat(clock.strip()), float(w_m2)
    except ValueError:
        raise InvalidField("sun reading", clock, "reading", text, "a time and W/m2 such as 10:20=640") from None
