"""A yard while it is edited: cells of text, table by table, as they would stand in its files.

A draft may hold anything that can be typed. It becomes a yard by the same reading as a yard folder, so that an edit is
judged by just the rules of an import. All changes return a new draft.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

from yardplan.domain.equipment import Site
from yardplan.domain.errors import InvalidField, NotThere, RowProblem
from yardplan.domain.field import field_rows
from yardplan.domain.orders import Order, check_orders
from yardplan.domain.slots import zone
from yardplan.domain.yard import Yard
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.rows import Column, Reading, Row, Table
from yardplan.exchange.yard_files import yard_rows
from yardplan.exchange.yard_reader import YardReader

Cells = tuple[str, ...]
"""A row: what is typed in each column of its table."""

TABLES = (
    tables.SITE,
    *(table for table in tables.TABLES if table not in (tables.FIELDS, tables.ORDERS, tables.LOG)),
)
"""What a draft consists of. Rows of mirrors are laid out mirror by mirror; orders and log are no part of a yard."""


@dataclass(frozen=True)
class YardDraft:
    """The rows of each table by the name of its file; a file that is not named has none."""

    rows_by: Mapping[str, tuple[Cells, ...]]

    def rows(self, table: Table) -> tuple[Cells, ...]:
        """Return the rows of a table."""
        return self.rows_by.get(table.file, ())

    def cell(self, table: Table, row: int, column: str) -> str:
        """Return what stands in a cell; `row` counts from 0."""
        return self.rows(table)[row][_place(table, column)]

    def with_rows(self, table: Table, rows: Iterable[Cells]) -> "YardDraft":
        """Return the draft with other rows in a table."""
        return replace(self, rows_by={**self.rows_by, table.file: tuple(rows)})

    def with_cell(self, table: Table, row: int, column: str, text: str) -> "YardDraft":
        """Return the draft with another text in a cell; what names this row elsewhere follows where it is renamed."""
        place, rows = _place(table, column), list(self.rows(table))
        old, text = rows[row][place], text.strip()
        rows[row] = (*rows[row][:place], text, *rows[row][place + 1 :])
        changed = self.with_rows(table, rows)
        thing = table.columns[place].names
        was_the_only_one = sum(cells[place] == old for cells in self.rows(table)) == 1
        return changed.with_renamed(thing, old, text) if thing and old and text and was_the_only_one else changed

    def with_added(self, table: Table, owner: str = "") -> "YardDraft":
        """Return the draft with a blank row at the end of a table; a part knows the row `owner` that it belongs to."""
        cells = [""] * len(table.columns)
        if owner:
            cells[_place(table, owner_column(table))] = owner
        if table is tables.ROUTING:
            cells[1] = self._next_step(owner)
        return self.with_rows(table, (*self.rows(table), tuple(cells)))

    def with_copy(self, table: Table, row: int) -> "YardDraft":
        """Return the draft with a copy of a row and of its parts at the end, under names that are free."""
        fresh = list(self.rows(table)[row])
        changed, first = self, table.columns[0]
        if first.names:
            fresh[0] = self._free_name(first.names, fresh[0])
            for part in tables.PARTS.get(table, ()):
                at, own = _place(part, first.name), self.rows(table)[row][0]
                for cells in self.rows(part):
                    if cells[at] == own:
                        named = part.columns[0]
                        ident = changed._free_name(named.names, cells[0]) if named.names else cells[0]
                        copied = [ident, *cells[1:]]
                        copied[at] = fresh[0]
                        changed = changed.with_rows(part, (*changed.rows(part), tuple(copied)))
        if table is tables.ROUTING:
            fresh[1] = self._next_step(fresh[0])
        return changed.with_rows(table, (*changed.rows(table), tuple(fresh)))

    def without(self, table: Table, row: int) -> "YardDraft":
        """Return the draft without a row and its parts."""
        gone, rows = self.rows(table)[row], list(self.rows(table))
        del rows[row]
        changed = self.with_rows(table, rows)
        for part in tables.PARTS.get(table, ()):
            at = _place(part, table.columns[0].name)
            changed = changed.with_rows(part, [cells for cells in changed.rows(part) if cells[at] != gone[0]])
        return changed

    def with_field(self, unit_id: str, layout: Cells) -> "YardDraft":
        """Return the draft with the mirrors of a unit laid out anew in rows.

        Parameters
        ----------
        layout : tuple of str
            Cells of `yard_tables.FIELDS` but for its first column, the unit.

        Raises
        ------
        InvalidField
            If a cell cannot be read, or mirrors cannot stand so; its field is the column.
        """
        reading = Reading(ZoneInfo("UTC"))
        table = tables.FIELDS
        rows = reading.take(table.file, table, _header(table), [(1, [unit_id, *layout])])
        for problem in reading.problems:
            text = problem.text.partition("expected ")[2] or problem.text
            raise InvalidField("field", unit_id, problem.column, layout[_place(table, problem.column) - 1], text)
        values = dict(rows[0].values)
        del values["unit"]
        mirrors = field_rows(**values)
        kept = [cells for cells in self.rows(tables.HELIOSTATS) if cells[0] != unit_id]
        fresh = [_cells(tables.HELIOSTATS, {**vars(mirror), "unit": unit_id}, _UTC) for mirror in mirrors]
        return self.with_rows(tables.HELIOSTATS, (*kept, *fresh))

    def with_renamed(self, thing: str, old: str, new: str) -> "YardDraft":
        """Return the draft with another name of a thing wherever it is referred to."""
        changed = self
        for table in TABLES:
            for place, column in enumerate(table.columns):
                rows = [
                    (*cells[:place], _follow(cells[place], old, new, thing), *cells[place + 1 :])
                    if thing == _refers_to(table, column, cells)
                    else cells
                    for cells in changed.rows(table)
                ]
                changed = changed.with_rows(table, rows)
        return changed

    def names(self, thing: str) -> tuple[str, ...]:
        """Return the names of all things of a kind, such as ``"mold"``, in their order."""
        if thing == "bench kind":
            return self.used("benches.csv", "kind")
        if thing == "mold copy":
            molds = self.rows(tables.MOLDS)
            at = _place(tables.MOLDS, "copies")
            return tuple(f"{cells[0]}#{ix + 1}" for cells in molds for ix in range(min(_whole(cells[at]), 50)))
        owner = next(table for table in TABLES if table.columns[0].names == thing)
        return tuple(cells[0] for cells in self.rows(owner) if cells[0])

    def used(self, file: str, column: str) -> tuple[str, ...]:
        """Return the different words that stand in a column, in the order of their first use."""
        table = next(table for table in TABLES if table.file == file)
        place = _place(table, column)
        words = (word.strip() for cells in self.rows(table) for word in cells[place].split(";"))
        return tuple(dict.fromkeys(word for word in words if word))

    def _next_step(self, product_id: str) -> str:
        numbers = [_whole(cells[1]) for cells in self.rows(tables.ROUTING) if cells[0] == product_id]
        return str(max(numbers, default=0) + 1)

    def _free_name(self, thing: str, like: str) -> str:
        stem = like.rstrip("0123456789")
        digits = like[len(stem) :]
        taken = set(self.names(thing))
        names = (f"{stem}{number:0{len(digits)}}" for number in count(int(digits) + 1 if digits else 2))
        return next(name for name in names if name not in taken)


_UTC = ZoneInfo("UTC")
_RESOURCES = ((tables.DOWNTIMES, "resource"), (tables.UPKEEP, "resource"))


def draft_of(yard: Yard) -> YardDraft:
    """Return a yard as cells."""
    tz = zone(yard.site.tz)
    rows = {
        table.file: tuple(_cells(table, row, tz) for row in found)
        for table, found in yard_rows(yard)
        if table in TABLES
    }
    return YardDraft({tables.SITE.file: (_cells(tables.SITE, {**vars(yard.site), "colors": yard.colors}, tz),), **rows})


BLANK = YardDraft({tables.SITE.file: (("",) * len(tables.SITE.columns),)})
"""A yard of which nothing is known yet."""


def read_draft(draft: YardDraft, orders: tuple[Order, ...] = ()) -> tuple[Yard | None, tuple[RowProblem, ...]]:
    """Return the yard that a draft tells of, or what is wrong with it: rows count from 1 in the table `file`.

    Contradictions between good rows are looked for once all rows are good, and told one at a time, as for files.

    Parameters
    ----------
    orders : tuple of Order
        Those that the yard has; they must still make sense.
    """
    site, colors, found = _read_site(draft)
    reading = Reading(zone(site.tz) if site else _UTC)
    reading.problems += found

    def rows(table: Table) -> list[Row]:
        return [] if table is tables.FIELDS else _rows(reading, draft, table)

    reader = YardReader(
        Path("yard"), reading, rows, {("site", site.name if site else ""): Row(tables.SITE.file, 1, {})}
    )
    parts = reader.yard_parts()
    if reading.problems or site is None:
        return None, tuple(reading.problems)
    try:
        yard = Yard(site=site, colors=colors, **parts)
        check_orders(orders, yard)
    except InvalidField as error:
        return None, (reader.place(error),)
    return yard, ()


def _read_site(draft: YardDraft) -> tuple[Site | None, tuple[str, ...], list[RowProblem]]:
    reading = Reading(_UTC)
    for row in _rows(reading, draft, tables.SITE):
        values = dict(row.values)
        colors = values.pop("colors")
        try:
            return Site(**values), colors, []
        except InvalidField as error:
            text = f"{error.field} is {error.value!r}; expected {error.expected}"
            reading.problems.append(row.problem(error.field, text))
    return None, (), reading.problems


def differences(before: YardDraft, after: YardDraft) -> tuple[str, ...]:
    """Return in words which rows of which tables are different, such as ``molds: M01 changed``."""
    found = []
    for table in TABLES:
        if table in (tables.SITE, tables.HELIOSTATS):
            found += _site_words(before, after) if table is tables.SITE else _field_words(before, after)
            continue
        old, new = _by_name(table, before), _by_name(table, after)
        said = []
        for names, word in (
            ([name for name in new if name not in old], "added"),
            ([name for name in new if name in old and new[name] != old[name]], "changed"),
            ([name for name in old if name not in new], "removed"),
        ):
            if names:
                said.append(f"{', '.join(names[:5])}{f' and {len(names) - 5} more' if len(names) > 5 else ''} {word}")
        if said:
            found.append(f"{title(table)}: {', '.join(said)}")
        elif before.rows(table) != after.rows(table):
            found.append(f"{title(table)}: order changed")
    return tuple(found)


def _site_words(before: YardDraft, after: YardDraft) -> list[str]:
    (old,), (new,) = before.rows(tables.SITE), after.rows(tables.SITE)
    other = [column.name for column, one, two in zip(tables.SITE.columns, old, new, strict=True) if one != two]
    return [f"site: {', '.join(other)} changed"] if other else []


def _field_words(before: YardDraft, after: YardDraft) -> list[str]:
    said = []
    for unit_id in dict.fromkeys(cells[0] for draft in (before, after) for cells in draft.rows(tables.HELIOSTATS)):
        old, new = (
            [cells for cells in draft.rows(tables.HELIOSTATS) if cells[0] == unit_id] for draft in (before, after)
        )
        if len(old) != len(new):
            said.append(f"{len(new)} instead of {len(old)} of {unit_id}")
        elif old != new:
            said.append(f"{sum(one != two for one, two in zip(old, new, strict=True))} of {unit_id} changed")
    return [f"heliostats: {', '.join(said)}"] if said else []


def merged(base: YardDraft, mine: YardDraft, theirs: YardDraft) -> tuple[YardDraft, tuple[Table, ...]]:
    """Return what two people made of the same draft, and the tables that both changed, where mine stands."""
    both, rows = [], {}
    for table in TABLES:
        was, here, there = (draft.rows(table) for draft in (base, mine, theirs))
        rows[table.file] = there if here == was else here
        if was != here != there != was:
            both.append(table)
    return YardDraft(rows), tuple(both)


def title(table: Table) -> str:
    """Return the name of a table as it is typed, such as ``molds``."""
    return table.file.partition(".")[0]


def table_titled(name: str) -> Table:
    """Return a table by its name; raises `NotThere` where a yard has none such."""
    for table in TABLES:
        if title(table) == name:
            return table
    raise NotThere("table", name, f"a yard has {', '.join(title(table) for table in TABLES)}")


def owner_column(table: Table) -> str:
    """Return the column in which a part names the row that it belongs to; empty for a table of its own."""
    return next((owner.columns[0].name for owner, parts in tables.PARTS.items() if table in parts), "")


def choices(draft: YardDraft, table: Table, row: int, column: Column) -> tuple[str, ...]:
    """Return what can stand in a cell, as far as that is known; empty where it is free."""
    if column.kind.words:
        return column.kind.words
    if column.refers:
        return draft.names(column.refers)
    if (table, column.name) in _RESOURCES:
        kind = draft.cell(table, row, "kind")
        return draft.names({"mold": "mold copy"}.get(kind, kind)) if kind in _RESOURCE_KINDS else ()
    if (table, column.name) == (tables.SITE, "tz"):
        return _zone_names()
    for usual in _USUAL:
        if (table.file, column.name) in usual:
            return tuple(dict.fromkeys(word for place in usual for word in draft.used(*place)))
    return ()


_RESOURCE_KINDS = ("unit", "chamber", "mold", "bench", "operator")
_USUAL = (
    (("operators.csv", "skills"), ("routing.csv", "skill"), ("upkeep.csv", "skill")),
    (("stock.csv", "grade"), ("products.csv", "resin_grade"), ("hung.csv", "grade")),
    (
        *(("site.toml", "colors"), ("stock.csv", "color"), ("hung.csv", "color")),
        *(("clean_downs.csv", "from_color"), ("clean_downs.csv", "to_color")),
    ),
    (("benches.csv", "kind"), ("routing.csv", "bench_kind")),
    (("units.csv", "unit"), ("loads.csv", "unit")),
)
"""Columns that share their words, which are free beyond those that are in use."""


@cache
def _zone_names() -> tuple[str, ...]:
    return tuple(sorted(available_timezones()))


def _by_name(table: Table, draft: YardDraft) -> dict[str, Cells]:
    """Return rows by what a person would call them; parts of the same row are told apart by their count."""
    found: dict[str, Cells] = {}
    for cells in draft.rows(table):
        name = " ".join(cells[: 1 if table.columns[0].names else 2]).strip() or "(no name)"
        found[name if name not in found else f"{name} ({sum(key.startswith(name) for key in found) + 1})"] = cells
    return found


def _rows(reading: Reading, draft: YardDraft, table: Table) -> list[Row]:
    numbered = ((number, list(cells)) for number, cells in enumerate(draft.rows(table), 1))
    return reading.take(table.file, table, _header(table), numbered)


def _header(table: Table) -> list[str]:
    return [column.name for column in table.columns]


def _cells(table: Table, row: Mapping[str, object], tz: ZoneInfo) -> Cells:
    values = ((column, row[column.name]) for column in table.columns)
    return tuple("" if value is None else column.kind.write(value, tz) for column, value in values)


def _place(table: Table, column: str) -> int:
    return next(ix for ix, known in enumerate(table.columns) if known.name == column)


def _refers_to(table: Table, column: Column, cells: Cells) -> str:
    """Return the kind of thing that a cell names, empty where it names none."""
    if (table, column.name) in _RESOURCES:
        return cells[_place(table, "kind")]
    if (table, column.name) == (tables.LOADS, "unit"):
        return "unit"
    return column.refers.removesuffix(" copy")


def _follow(text: str, old: str, new: str, thing: str) -> str:
    def one(name: str) -> str:
        if name == old:
            return new
        stem, mark, copy = name.rpartition("#")
        return f"{new}#{copy}" if thing == "mold" and mark and stem == old else name

    return "; ".join(one(name.strip()) for name in text.split(";")) if text else text


def _whole(text: str) -> int:
    return int(text) if text.isdecimal() else 0
