"""Commands that make plans and check them."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from yardplan import paths
from yardplan.cli.asking import (
    SAYS_NO,
    AsJson,
    Confidence,
    Days,
    Db,
    FirstOn,
    Seconds,
    app,
    opened,
    outlook_of,
    person,
    say,
    stopping,
    telling,
)
from yardplan.cli.screen import draw_instead, has_screen, open_window
from yardplan.domain.outcome import Progress, Status, StoredPlan
from yardplan.exchange.plan_words import order_counts, plan_words

if TYPE_CHECKING:
    from yardplan.store.engine import Database
    from yardplan.usecases.outlook import Outlook


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

    with telling():
        url = make_demo((folder or paths.user_data_folder()).resolve() / "demo.sqlite")
    typer.echo(f"Demo yard (everything in it is invented): {url}")
    with opened(url) as database:
        outlook = make_outlook(database, now=yard_now(database))
        stored = _search(database, outlook, seconds)
        typer.echo(plan_words(stored, outlook.orders, outlook.yard, note=outlook.heat_rule))
    if screen and has_screen():
        raise typer.Exit(open_window(url))
    draw_instead(outlook, stored, Path(url.removeprefix("sqlite:///")).parent)


@app.command()
def plan(
    db: Db = "",
    as_json: AsJson = False,
    first_on: FirstOn = None,
    days: Days = 7,
    confidence: Confidence = None,
    seconds: Seconds = 60,
    seed: Annotated[int, typer.Option(help="Seed of the search.")] = 0,
    buys_chance: Annotated[
        bool,
        typer.Option("--buy-chance", help="Spend the last third of the time on orders that the weather may make late."),
    ] = False,
) -> None:
    """Build a plan from the open orders and keep it as a new version."""
    from yardplan.exchange.documents import plan_document
    from yardplan.usecases.holding import holds_of
    from yardplan.usecases.planning import problem_of

    with opened(db) as database:
        outlook = outlook_of(database, first_on, days, confidence)
        stored = _search(database, outlook, seconds, seed, buys_chance=buys_chance)
        say(
            as_json,
            lambda: plan_document(problem_of(outlook), stored),
            lambda: plan_words(
                stored, outlook.orders, outlook.yard, holds_of(database, now=outlook.now), outlook.heat_rule
            ),
        )
    if stored.outcome.status is Status.IMPOSSIBLE:
        raise typer.Exit(SAYS_NO)


@app.command()
def risk(db: Db = "", as_json: AsJson = False) -> None:
    """Replay the newest plan under every sky that is known now: each order's chance to be on time, and its dates."""
    from yardplan.exchange.risk_document import risk_document, risk_words
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.risk import latest_risk

    with opened(db) as database:
        now = yard_now(database)
        found = latest_risk(database, now=now)
        document = risk_document(
            found.problem, found.stored, found.risk, heat_source=found.heat_source, generated_at=now
        )
        say(as_json, lambda: document, lambda: risk_words(document, found.problem.grid))


@app.command("heat-rule")
def heat_rule(
    db: Db = "",
    off: Annotated[str | None, typer.Option("--off", help="Switch it off, for this reason.")] = None,
    on: Annotated[bool, typer.Option("--on", help="Switch it on again.")] = False,
) -> None:
    """Tell, or switch, the rule that people rest on hot days; switching it off is the manager's, and takes a reason."""
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.heat_rule import heat_rule_off, heat_rule_told, switch_heat_rule

    if on and off is not None:
        raise typer.BadParameter("say one of both", param_hint="--on / --off")
    with opened(db) as database:
        if on or off is not None:
            switch_heat_rule(database, reason=off, by=person(), at=yard_now(database))
        typer.echo(heat_rule_told(database, heat_rule_off(database)))


@app.command()
def check(file: Annotated[Path, typer.Argument(help="A plan document.")], db: Db = "", as_json: AsJson = False) -> None:
    """Check a plan in a JSON file against every rule; exit status 1 if it breaks one."""
    from yardplan.clock import now_utc
    from yardplan.exchange.documents import check_document
    from yardplan.usecases.checking import check_plan_file

    with opened(db) as database:
        violations = check_plan_file(database, file)
        listed = "".join(f"\n  {found.rule}: {found.text}" for found in violations)
        say(
            as_json,
            lambda: check_document(violations, generated_at=now_utc()),
            lambda: f"{file.name}: breaks {len(violations)} rule(s)" + listed if violations else f"{file.name}: ok",
        )
    if violations:
        raise typer.Exit(SAYS_NO)


def _search(
    database: "Database", outlook: "Outlook", seconds: float, seed: int = 0, *, buys_chance: bool = False
) -> StoredPlan:
    """Search with a line on standard error whenever the counts of orders change; Ctrl+C keeps the best one so far."""
    from yardplan.solve.run import Limits
    from yardplan.usecases.planning import make_plan

    told = [""]

    def tell(progress: Progress) -> None:
        counts = order_counts(progress.plan, outlook.orders, outlook.yard)
        if counts != told[-1]:
            told.append(counts)
            typer.echo(f"  {progress.seconds:5.1f} s  {counts}", err=True)

    with stopping() as stop:
        return make_plan(
            database, outlook, Limits(seconds=seconds, seed=seed), stop, tell, made_by=person(), buys_chance=buys_chance
        )
