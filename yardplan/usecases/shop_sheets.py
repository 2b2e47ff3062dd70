"""The sheets for the wall: what each unit does on a day, by a plan version."""

from datetime import date

from yardplan.cycle.starts import latest_starts
from yardplan.domain.errors import InvalidField
from yardplan.domain.shop_sheet import ShopSheet, first_day_with_work, shop_sheet
from yardplan.store.day import read_publications
from yardplan.store.engine import Database
from yardplan.usecases.comparing import answer_of, stored_plan


def shop_sheets(database: Database, *, number: int | None = None, on: date | None = None) -> ShopSheet:
    """Return the sheets of a day; default: the plan in force, else the newest, and its first day with work.

    Raises
    ------
    NotThere
        If there is no such plan.
    InvalidField
        If the day is not one of the plan's.
    """
    with database.begin_read() as session:
        published = read_publications(session)
    if number is None and published:
        number = published[-1].plan_number
    stored = stored_plan(database, number)
    grid = stored.outcome.plan.grid
    days = [day for day, _, _ in grid.days]
    if on is None:
        on = first_day_with_work(stored.outcome.plan)
    if on not in days:
        raise InvalidField("shop sheet", f"plan {stored.number}", "day", on, f"a day from {days[0]} to {days[-1]}")
    problem = answer_of(database, stored, own_yard=True).problem
    latest = latest_starts(problem.yard, problem.cook, stored.confidence)
    return shop_sheet(problem.yard, stored, on, latest, published)
