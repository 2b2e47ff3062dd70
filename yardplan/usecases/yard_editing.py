"""Edit the yard: open it as a draft, judge the draft, keep it as a new version, bring an old version back."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from yardplan.domain.errors import BadFile, InvalidField, NotThere
from yardplan.domain.orders import Order
from yardplan.domain.yard import Yard
from yardplan.exchange.yard_draft import BLANK, YardDraft, differences, draft_of, read_draft, table_titled, title
from yardplan.exchange.yard_files import read_yard_folder
from yardplan.store.engine import Database
from yardplan.store.kept_yards import YardVersion, read_yard_as_of, yard_versions
from yardplan.store.read import has_yard, read_orders, read_yard, read_yard_version
from yardplan.store.write import write_yard


@dataclass(frozen=True, eq=False)
class OpenYard:
    """The yard as it is stored, ready to be edited.

    Attributes
    ----------
    yard : Yard or None
        None where there is none yet.
    version : int
        Its version, which an edit of it must name; 0 where there is none yet.
    orders : tuple of Order
        Those that must still make sense.
    versions : tuple of YardVersion
        Those that are kept, the oldest first.
    """

    yard: Yard | None
    draft: YardDraft
    version: int
    orders: tuple[Order, ...]
    versions: tuple[YardVersion, ...]


def open_yard(database: Database) -> OpenYard:
    """Return the yard with its version; a blank draft where there is no yard yet."""
    with database.begin_read() as session:
        yard = read_yard(session) if has_yard(session) else None
        draft = draft_of(yard) if yard else BLANK
        return OpenYard(yard, draft, read_yard_version(session), read_orders(session), yard_versions(session))


def yard_version(database: Database) -> int:
    """Return the version of the yard as it is now; 0 where there is none."""
    with database.begin_read() as session:
        return read_yard_version(session)


def save_yard(database: Database, draft: YardDraft, *, seen_version: int, by: str, at: datetime) -> OpenYard:
    """Keep a draft as the next version of the yard, whole or not at all, and return the yard as it is then.

    Raises
    ------
    BadFile
        Lists every bad row, where the draft is no yard, or none that the orders make sense in.
    ChangedElsewhere
        If the yard is no longer of the version that the draft was made of.
    """
    with database.begin() as session:
        yard, problems = read_draft(draft, read_orders(session))
        if yard is None:
            raise BadFile("yard", problems)
        before = draft_of(read_yard(session)) if has_yard(session) else None
        what = "; ".join(differences(before, draft)) if before else "begun"
        write_yard(session, yard, by=by, at=at, seen_version=seen_version, what=what or "written again")
    return open_yard(database)


def old_draft(database: Database, number: int) -> YardDraft:
    """Return an earlier version of the yard as a draft; raises `NotThere` where none such is kept."""
    with database.begin_read() as session:
        return draft_of(read_yard_as_of(session, number))


def folder_draft(folder: Path) -> YardDraft:
    """Return the yard of a folder as a draft, without its orders, log and weather; raises `BadFile` as an import."""
    return draft_of(read_yard_folder(folder).yard)


def set_cells(database: Database, where: str, name: str, values: dict[str, str], *, by: str, at: datetime) -> str:
    """Change cells of one row of the yard and keep it; returns what was changed, in words.

    Parameters
    ----------
    where : str
        The table, as its file is called: ``"molds"``.
    name : str
        What stands in the row's first column; the site has one row, whatever its name.
    values : dict
        Texts by column.

    Raises
    ------
    NotThere
        If there is no yard, table, row or column of the name.
    InvalidField
        If several rows bear the name.
    BadFile
        If the yard cannot be so; it is unchanged then.
    """
    found = open_yard(database)
    if found.yard is None:
        raise NotThere("yard", database.url, "bring one in with `yardplan import yard` first")
    table = table_titled(where)
    rows = [ix for ix, cells in enumerate(found.draft.rows(table)) if cells[0] == name or where == "site"]
    if not rows:
        known = ", ".join(dict.fromkeys(cells[0] for cells in found.draft.rows(table))) or "none"
        raise NotThere(f"row of {where}", name, f"known are {known}")
    if len(rows) > 1:
        raise InvalidField(where, name, table.columns[0].name, name, f"a name of one row; {len(rows)} rows bear it")
    columns = [column.name for column in table.columns]
    draft = found.draft
    for column, text in values.items():
        if column not in columns:
            raise NotThere("column", column, f"{title(table)} have {', '.join(columns)}")
        draft = draft.with_cell(table, rows[0], column, text)
    save_yard(database, draft, seen_version=found.version, by=by, at=at)
    return "; ".join(differences(found.draft, draft)) or "nothing changed"
