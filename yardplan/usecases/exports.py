"""Write the yard, the orders or a plan to files that others can read."""

import json
from pathlib import Path

from yardplan.domain.errors import NotThere
from yardplan.exchange.documents import plan_document
from yardplan.exchange.order_files import write_orders
from yardplan.exchange.yard_files import write_yard_folder
from yardplan.store.engine import Database
from yardplan.store.kept_yards import read_yard_as_of, read_yard_of_plan
from yardplan.store.read import has_yard, read_orders, read_plan, read_yard
from yardplan.usecases.comparing import answer_of
from yardplan.usecases.logbook import all_logged_cycles


def export_yard(database: Database, folder: Path) -> str:
    """Write the yard with its orders and log as a folder of readable files; returns what was written."""
    with database.begin_read() as session:
        if not has_yard(session):
            raise NotThere("yard", database.url, "there is nothing to export yet")
        yard, orders, logged = read_yard(session), read_orders(session), all_logged_cycles(session)
    write_yard_folder(folder, yard, orders, logged)
    return f"{yard.site.name}, {len(orders)} orders, {len(logged)} logged cycles to {folder}"


def export_old_yard(database: Database, folder: Path, *, version: int | None = None, plan: int | None = None) -> str:
    """Write a version of the yard, or the yard that a plan was made for, as a folder of files without orders.

    Raises
    ------
    NotThere
        If there is no such version, or no yard is kept with such a plan.
    """
    with database.begin_read() as session:
        if plan is None:
            yard, told = read_yard_as_of(session, version or 0), f"version {version}"
        else:
            found, told = read_yard_of_plan(session, plan), f"the yard of plan {plan}"
            if found is None:
                raise NotThere("yard of plan", str(plan), "no yard is kept with it")
            yard = found
    write_yard_folder(folder, yard)
    return f"{yard.site.name}, {told} to {folder}"


def export_orders(database: Database, path: Path) -> str:
    """Write all orders as one CSV file; returns what was written, in words."""
    with database.begin_read() as session:
        yard, orders = read_yard(session), read_orders(session)
    write_orders(path, orders, yard.site.tz)
    return f"{len(orders)} orders to {path}"


def export_plan(database: Database, path: Path, number: int | None = None) -> str:
    """Write a plan version (default: the newest) as a JSON document; returns what was written, in words."""
    with database.begin_read() as session:
        stored = read_plan(session, number)
    if stored is None:
        raise NotThere("plan", "", "build one first with `yardplan plan`")
    problem = answer_of(database, stored, own_yard=True).problem
    fresh = path.with_name(path.name + ".new")
    fresh.write_text(json.dumps(plan_document(problem, stored), indent=1, ensure_ascii=False), encoding="utf-8")
    fresh.replace(path)
    return f"plan {stored.number} to {path}"
