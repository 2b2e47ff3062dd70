"""Tables in files: rows with every problem listed, from CSV and spreadsheets, and back to CSV."""

import csv
import io
import lzma
import os
import re
import tempfile
import warnings
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, time
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError
from zoneinfo import ZoneInfo

from yardplan.domain.errors import BadFile, CannotWrite, RowProblem
from yardplan.exchange.cells import Kind, Unfit

LARGEST_FILE_MB = 20
MOST_ROWS = 100_000
_MOST_MENDED = 200
_DELIMITERS = ",;\t"
_DAMAGED = (
    *(zipfile.BadZipFile, zlib.error, lzma.LZMAError, ParseError, OSError, EOFError),
    *(AttributeError, LookupError, RuntimeError, TypeError, ValueError),
)
"""What unpacking and openpyxl raise on a damaged or locked workbook (tried with some thousand damaged ones)."""


@dataclass(frozen=True)
class Column:
    """A column of a table.

    Attributes
    ----------
    default : object
        What a blank cell means; `REQUIRED` where a cell must not be blank.
    names : str
        The cell names such a thing, once in the whole table.
    refers : str
        The cell refers to a thing that another table names.
    """

    name: str
    kind: Kind
    default: Any = ...
    names: str = ""
    refers: str = ""


REQUIRED = ...
"""Default of a column whose cells must not be blank."""


@dataclass(frozen=True)
class Table:
    """A table by its file name; `about` explains it at the top of the file that is written."""

    file: str
    about: str
    columns: tuple[Column, ...]
    optional: bool = False


@dataclass(frozen=True)
class Row:
    """A row that could be read: its place and its values by column."""

    file: str
    number: int
    values: Mapping[str, Any]

    def __getitem__(self, column: str) -> Any:
        return self.values[column]

    def problem(self, column: str, text: str) -> RowProblem:
        """Return a problem at this row."""
        return RowProblem(self.number, column, text, self.file)


class Reading:
    """One reading of one or more tables: the problems found, and the names seen so far by kind of thing.

    Where a table could not be read at all nothing is known of its kind, and references to it are not judged.

    Parameters
    ----------
    mends : bool
        Give the rows of a damaged CSV file that can be read, instead of none.
    """

    def __init__(self, tz: ZoneInfo, *, mends: bool = False) -> None:
        self.tz, self._mends = tz, mends
        self.problems: list[RowProblem] = []
        self.known: dict[str, set[str]] = {}

    def rows(self, path: Path, table: Table) -> list[Row]:
        """Return the good rows of a file; what is wrong with the others is in `problems`."""
        try:
            is_book = path.suffix.lower() == ".xlsx"
            lines, problems = (_xlsx_lines(path), ()) if is_book else _csv_lines(path, table, mends=self._mends)
        except BadFile as error:
            self.problems += [replace(problem, file=path.name) for problem in error.problems]
            return []
        self.problems += [replace(problem, file=path.name) for problem in problems]
        numbered = [(number, cells) for number, cells in enumerate(lines, 1) if any(cells)]
        while numbered and numbered[0][1][0].startswith("#"):
            del numbered[0]
        if not numbered:
            names = ", ".join(column.name for column in table.columns)
            self.problems.append(
                RowProblem(0, "", f"is empty; expected a first row with the columns {names}", path.name)
            )
            return []
        header_row, header = numbered[0][0], [cell.lower() for cell in numbered[0][1]]
        while header and not header[-1]:
            header.pop()
        if not self._header_ok(path.name, header_row, header, table):
            return []
        return self.take(path.name, table, header, numbered[1:])

    def take(self, file: str, table: Table, header: list[str], numbered: Iterable[tuple[int, list[str]]]) -> list[Row]:
        """Return the good ones of rows of cells, whose columns `header` names; the others are in `problems`."""
        for column in table.columns:
            if column.names:
                self.known.setdefault(column.names, set())
        by_name = {column.name: column for column in table.columns}
        found = (self._row(file, number, cells, header, by_name) for number, cells in numbered)
        return [row for row in found if row is not None]

    def _header_ok(self, file: str, number: int, header: list[str], table: Table) -> bool:
        before = len(self.problems)
        names = [column.name for column in table.columns]
        for column in table.columns:
            if column.name not in header and column.default is REQUIRED:
                self.problems.append(RowProblem(number, column.name, "the column is missing", file))
        for name in dict.fromkeys(header):
            if name not in names:
                text = f"{name!r} is not a column of this file; expected {', '.join(names)}"
                self.problems.append(RowProblem(number, name, text, file))
            elif header.count(name) > 1:
                self.problems.append(RowProblem(number, name, "the column is there more than once", file))
        return len(self.problems) == before

    def _row(self, file: str, number: int, cells: list[str], header: list[str], by: dict[str, Column]) -> Row | None:
        while len(cells) > len(header) and not cells[-1]:
            cells = cells[:-1]
        if len(cells) != len(header):
            text = f"has {len(cells)} cells; expected {len(header)}, as many as the first row has"
            self.problems.append(RowProblem(number, "", text, file))
            return None
        before = len(self.problems)
        values = {column.name: column.default for column in by.values()}
        for name, text in zip(header, cells, strict=True):
            column = by[name]
            if not text:
                if column.default is REQUIRED:
                    self.problems.append(RowProblem(number, name, f"is blank; expected {column.kind.expected}", file))
                continue
            try:
                values[name] = column.kind.read(text, self.tz)
            except Unfit as error:
                self.problems.append(RowProblem(number, name, f"is {_short(text)}; expected {error}", file))
            except (ValueError, KeyError, OverflowError):
                wrong = f"is {_short(text)}; expected {column.kind.expected}"
                self.problems.append(RowProblem(number, name, wrong, file))
            else:
                self._names(RowProblem(number, name, "", file), column, values[name])
        return Row(file, number, values) if len(self.problems) == before else None

    def _names(self, at: RowProblem, column: Column, value: Any) -> None:
        texts = []
        if column.names:
            if str(value) in self.known[column.names]:
                texts.append(f"is {_short(str(value))}, which is there already; expected each {column.names} once")
            self.known[column.names].add(str(value))
        if column.refers in self.known:
            known = self.known[column.refers]
            for name in column.kind.names_in(value):
                if name not in known:
                    texts.append(f"is {_short(name)}; expected a {column.refers}, one of {listed(known)}")
        self.problems += [RowProblem(at.row, at.column, text, at.file) for text in texts]


def listed(names: Iterable[str]) -> str:
    """Return names in order for a message, the first twelve of them."""
    ordered = sorted(names)
    more = f" and {len(ordered) - 12} more" if len(ordered) > 12 else ""
    return ", ".join(ordered[:12]) + more if ordered else "(none)"


def write_rows(
    path: Path,
    table: Table,
    rows: Iterable[Mapping[str, Any]],
    tz: ZoneInfo,
    *,
    notice: str = "",
    mark: bool = False,
) -> None:
    """Write a table as CSV, whole or not at all; comment lines at the top carry `notice` and what it is.

    Parameters
    ----------
    rows : iterable of mapping
        Values by column; None is written as a blank cell.
    mark : bool
        Start with a byte-order mark.
    """
    text = io.StringIO(newline="")
    text.write("\ufeff" if mark else "")
    for line in [*notice.splitlines(), *table.about.splitlines()]:
        text.write(f"# {line}".rstrip() + "\n")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([column.name for column in table.columns])
    for row in rows:
        cells = ((column, row[column.name]) for column in table.columns)
        writer.writerow(["" if value is None else column.kind.write(value, tz) for column, value in cells])
    write_whole(path, text.getvalue())


def write_whole(path: Path, text: str) -> None:
    """Write a text file so that a reader finds the old one or the new one, never a part of it.

    Raises
    ------
    CannotWrite
        If the folder is not there, is full, or does not let us.
    """
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        raise CannotWrite(path, error.strerror or str(error)) from error
    fresh = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
        fresh.chmod(0o644)
        fresh.replace(path)
    except OSError as error:
        fresh.unlink(missing_ok=True)
        raise CannotWrite(path, error.strerror or str(error)) from error


def read_bytes(path: Path) -> bytes:
    """Return a file's content; raises `BadFile` where it cannot be read or is too large."""
    try:
        size_mb = path.stat().st_size / 1e6
        if size_mb > LARGEST_FILE_MB:
            raise BadFile(path, (RowProblem(0, "", f"has {size_mb:.0f} MB; expected at most {LARGEST_FILE_MB}"),))
        return path.read_bytes()
    except OSError as error:
        raise BadFile(path, (RowProblem(0, "", f"could not be read: {error.strerror}"),)) from error


def read_text(path: Path) -> str:
    """Return a UTF-8 file's text, with or without a byte-order mark.

    Raises
    ------
    BadFile
        If it cannot be read, or is in another encoding; names every row with a byte that is not UTF-8.
    """
    lines, problems = _decoded(path)
    if problems:
        raise BadFile(path, problems)
    return "".join(lines)


def _decoded(path: Path) -> tuple[list[str], tuple[RowProblem, ...]]:
    """Return a UTF-8 file's lines with their ends, and what is wrong with those that are left blank."""
    content = read_bytes(path)
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise BadFile(path, (RowProblem(0, "", "is UTF-16; expected UTF-8: save it as CSV UTF-8"),))
    lines, problems = list[str](), []
    for number, line in enumerate(re.split(rb"(?<=\n)|(?<=\r)(?!\n)", content.removeprefix(b"\xef\xbb\xbf")), 1):
        try:
            if b"\0" in line:
                text = "has a NUL byte; expected text: the file is damaged or no text file"
                problems.append(RowProblem(number, "", text))
                lines.append("\n")
                continue
            lines.append(line.decode("utf-8"))
        except UnicodeDecodeError as error:
            byte = line[error.start]
            text = f"byte 0x{byte:02x} at place {error.start + 1} is not UTF-8; save the file as CSV UTF-8"
            problems.append(RowProblem(number, "", text))
            lines.append("\n")
    return lines, tuple(problems)


def _short(text: str) -> str:
    return repr(text if len(text) <= 60 else text[:57] + "...")


def _csv_lines(path: Path, table: Table, *, mends: bool) -> tuple[list[list[str]], tuple[RowProblem, ...]]:
    """Return the cells of each row, and the problems of rows that are left blank, if blank ones are to be given."""
    lines, damaged = _decoded(path)
    problems = list(damaged)
    if problems and not mends:
        raise BadFile(path, damaged)
    n_comments = 0
    while n_comments < len(lines) and (not lines[n_comments].strip() or lines[n_comments].lstrip('" ').startswith("#")):
        n_comments += 1
    header = lines[n_comments].lower() if n_comments < len(lines) else ""
    names = {column.name for column in table.columns}
    delimiter = max(_DELIMITERS, key=lambda mark: len(names & {cell.strip(' "\r\n') for cell in header.split(mark)}))
    found: list[list[str]] = [[""] for _ in range(n_comments)]
    first, read_to = n_comments, 0
    while first < len(lines):
        reader = csv.reader(lines[first:], delimiter=delimiter, strict=True)
        try:
            for cells in reader:
                found.append([cell.strip() for cell in cells] or [""])
                read_to = first + reader.line_num
                if len(found) > MOST_ROWS:
                    raise BadFile(path, (RowProblem(0, "", f"has more than {MOST_ROWS:,} rows"),))
            break
        except csv.Error as error:
            text = f"cannot be split into cells: {error}; expected quotes in pairs around a cell"
            problems.append(RowProblem(len(found) + 1, "", text))
            if not mends or len(problems) > _MOST_MENDED:
                raise BadFile(path, tuple(problems)) from error
            found.append([""])
            first = read_to = max(read_to, first) + 1
    return found, tuple(problems)


def _xlsx_lines(path: Path) -> list[list[str]]:
    content = read_bytes(path)
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            unpacked_mb = sum(member.file_size for member in archive.infolist()) / 1e6
        if unpacked_mb > 10 * LARGEST_FILE_MB:
            raise BadFile(path, (RowProblem(0, "", f"unpacks to {unpacked_mb:.0f} MB, too large for a table"),))
        values, formulas = _cells(content, data_only=True), _cells(content, data_only=False)
    except _DAMAGED as error:
        raise BadFile(path, (RowProblem(0, "", f"is no readable XLSX workbook ({error})"),)) from error
    if len(values) != 1:
        sheets = ", ".join(values) or "none"
        raise BadFile(path, (RowProblem(0, "", f"has filled sheets {sheets}; expected one, or one named orders"),))
    problems = []
    (name, grid) = next(iter(values.items()))
    for number, (cells, raw_cells) in enumerate(zip(grid, formulas[name], strict=True), 1):
        for place, (cell, raw) in enumerate(zip(cells, raw_cells, strict=True), 1):
            if isinstance(raw, str) and raw.startswith("=") and cell is None:
                text = f"cell {place} is a formula without a stored value; open the file in a spreadsheet and save it"
                problems.append(RowProblem(number, "", text))
    if problems:
        raise BadFile(path, tuple(problems))
    return [[_cell_text(cell) for cell in cells] or [""] for cells in grid]


def _cells(content: bytes, *, data_only: bool) -> dict[str, list[tuple[Any, ...]]]:
    """Return the cells of the sheet named orders if there is one, else of each sheet that has any."""
    import openpyxl  # takes long to import; only where a workbook is read
    from openpyxl.utils.exceptions import InvalidFileException

    with warnings.catch_warnings():  # openpyxl warns of decoration that it leaves out, such as validation lists
        warnings.simplefilter("ignore")
        try:
            book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=data_only)
        except InvalidFileException as error:
            raise ValueError(str(error)) from error
        try:
            sheets = {sheet.title: list(_sheet_rows(sheet)) for sheet in book.worksheets}
        finally:
            book.close()
    filled = {name: rows for name, rows in sheets.items() if any(cell is not None for row in rows for cell in row)}
    chosen = [name for name in filled if name.strip().lower() == "orders"]
    return {name: filled[name] for name in chosen} or filled


def _sheet_rows(sheet: Any) -> Iterable[tuple[Any, ...]]:
    for number, row in enumerate(sheet.iter_rows(values_only=True)):
        if number >= MOST_ROWS:
            raise ValueError(f"more than {MOST_ROWS:,} rows")
        yield row


def _cell_text(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return str(cell.date()) if cell.time() == time() else cell.strftime("%Y-%m-%d %H:%M:%S")
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()
