"""The yard's own CSV of weather or measured sun.

A row for each step, UTF-8, cells split by commas, semicolons or tabs; the first row names the columns. Lines that
begin with ``#`` may stand above it; three of them are read, as in ``# zone: America/Denver``.

=========================  ==========================================================================================
column                     meaning
=========================  ==========================================================================================
``start`` or ``end``       when the step starts or ends: one of the two, as the logger writes it; this is never guessed
``dni_w_m2``               direct normal irradiance, mean over the step
``ghi_w_m2``               global horizontal irradiance, mean over the step
``dhi_w_m2``               diffuse horizontal irradiance, mean over the step
``temp_c``                 outside air; or ``temp_f``
``wind_m_s``               mean wind; or ``wind_km_h``, ``wind_mph``, ``wind_kn``
``gust_m_s``               strongest gust in the step; or ``gust_km_h``, ``gust_mph``, ``gust_kn``
``cloud_frac``             cover from 0 to 1; or ``cloud_pct`` from 0 to 100, ``cloud_oktas`` from 0 to 8
``# zone: NAME``           whose clock the times without an offset show: an IANA name, UTC, or an offset as in -07:00
``# step_min: N``          length of a step in minutes; otherwise the most frequent distance of two rows
=========================  ==========================================================================================

Times are ``2027-05-17 06:30`` with ``-`` or ``/`` and a blank or ``T``, or ``17.05.2027 06:30``, with or without
seconds, and may end in an offset as in ``-06:00`` or ``Z``; 24:00 is the end of its day. Without an offset the zone
must be stated. Numbers have a decimal point or, throughout the file, a decimal comma, and no other separators.

A blank cell or a row that is not there is a gap and stays one. Everything else that is not as above is refused.
"""

import csv
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from pathlib import Path
from typing import Any

import numpy as np

from yardplan.domain.equipment import Site
from yardplan.domain.errors import BadFile, InvalidField, RowProblem
from yardplan.domain.slots import clock_instants, zone
from yardplan.domain.tables import Weather
from yardplan.forecast.sky import Floats, clear_sky

LARGEST_FILE_MB = 50
MOST_STEPS = 600_000
"""A year of minutes and some more; a longer span is a wrong date more likely than a log."""

_COLUMNS: dict[str, tuple[str, float, float]] = {
    "dni_w_m2": ("dni_w_m2", 1, 0),
    "ghi_w_m2": ("ghi_w_m2", 1, 0),
    "dhi_w_m2": ("dhi_w_m2", 1, 0),
    "temp_c": ("temp_c", 1, 0),
    "temp_f": ("temp_c", 5 / 9, -160 / 9),
    "cloud_frac": ("cloud_frac", 1, 0),
    "cloud_pct": ("cloud_frac", 1 / 100, 0),
    "cloud_oktas": ("cloud_frac", 1 / 8, 0),
} | {
    f"{what}_{unit}": (f"{what}_m_s", scale, 0)
    for what in ("wind", "gust")
    for unit, scale in {"m_s": 1.0, "km_h": 1 / 3.6, "mph": 0.44704, "kn": 1852 / 3600}.items()
}
"""What a column means: the array of `Weather`, and factor and addend to its unit.

Source: NIST Special Publication 811, Guide for the Use of the International System of Units, 2008, appendix B.
"""

_LIMITS = {
    "dni_w_m2": (0, 1420),
    "ghi_w_m2": (0, 1900),
    "dhi_w_m2": (0, 1200),
    "temp_c": (-90, 60),
    "wind_m_s": (0, 75),
    "gust_m_s": (0, 115),
    "cloud_frac": (0, 1),
}
# Beyond these a column holds something else, or another unit. No direct light is stronger than 1361 W/m2 times 1.034,
# the share by which the sun is nearer in January; bright cloud edges lift global light above that for minutes.

_MOST_LISTED = 20
_DELIMITERS = ",;\t"
_TIME = re.compile(
    r"(?:(?P<y>\d{4})[-/](?P<m>\d\d?)[-/](?P<d>\d\d?)|(?P<d2>\d\d?)\.(?P<m2>\d\d?)\.(?P<y2>\d{4}))"
    r"[ T]+(?P<hour>\d\d?):(?P<minute>\d\d)(?::(?P<second>\d\d)(?:\.0+)?)?"
    r"\s*(?P<offset>Z|UTC|[+-]\d\d:?\d\d)?",
    re.IGNORECASE,
)
_OFFSET = re.compile(r"([+-])(\d\d):?(\d\d)")
_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?(e[+-]?\d+)?", re.IGNORECASE)
_PERHAPS_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")


@dataclass
class _Sheet:
    """A file as read: its cells by row number, and what is wrong so far."""

    path: Path
    zone: tzinfo | None = None
    step_min: int | None = None
    header_row: int = 0
    names: list[str] = field(default_factory=list)
    rows: list[tuple[int, list[str]]] = field(default_factory=list)
    problems: list[RowProblem] = field(default_factory=list)

    def problem(self, row: int, column: str, text: str) -> None:
        self.problems.append(RowProblem(row, column, text))

    def raise_if_bad(self) -> None:
        if self.problems:
            more = len(self.problems) - _MOST_LISTED
            tail = (RowProblem(0, "", f"and {more} more like these"),) if more > 0 else ()
            in_order = sorted(self.problems, key=lambda problem: problem.row)
            raise BadFile(self.path, tuple(in_order[:_MOST_LISTED]) + tail)


def read_own_csv(path: Path, site: Site) -> Weather:
    """Read the yard's own CSV, all of it or nothing; the module says what it looks like.

    Parameters
    ----------
    site : Site
        Where it was measured; direct and global light in each other's place show under its sun.

    Returns
    -------
    Weather
        Equal steps from the first row to the last, NaN where a row, a cell or a column is not there.

    Raises
    ------
    BadFile
        Lists the rows at fault: units that are not known, numbers that cannot be, times that go back, repeat, leave
        the step, or that the clock of the zone skips or shows twice; or columns in each other's place.
    """
    sheet = _read_cells(Path(path))
    columns = _columns(sheet)
    instants = _instants(sheet)
    sheet.raise_if_bad()
    step_min, places = _places(sheet, instants)
    _check_decimals(sheet, columns)
    n_steps = int(places[-1]) + 1
    arrays: dict[str, Any] = {name: np.full(n_steps, np.nan, np.float32) for name in _LIMITS}
    for column in columns:
        arrays[_COLUMNS[column][0]][places] = _numbers(sheet, column)
    sheet.raise_if_bad()
    first_at = instants[0] - (timedelta(minutes=step_min) if "end" in sheet.names else timedelta())
    weather = Weather(
        starts_at=tuple(first_at + timedelta(minutes=step_min * ix) for ix in range(n_steps)),
        step_min=step_min,
        **arrays,
        source=f"own CSV {sheet.path.name}",
    )
    _check_swapped(sheet, weather, site)
    return weather


def _read_cells(path: Path) -> _Sheet:
    sheet = _Sheet(path)
    lines = _lines(path)
    number = 0
    for number, line in enumerate(lines, 1):
        text = line.strip('";, \t')
        if text and not text.startswith("#"):
            break
        _read_note(sheet, number, text.lstrip("# \t"))
    else:
        sheet.problem(
            0, "", f"has no first row; expected one that names the columns, such as start,{','.join(_LIMITS)}"
        )
    sheet.raise_if_bad()
    known = {*_COLUMNS, "start", "end"}
    delimiter = max(_DELIMITERS, key=lambda mark: len(known & {_name(cell) for cell in lines[number - 1].split(mark)}))
    sheet.header_row = number
    reader = csv.reader(lines[number - 1 :], delimiter=delimiter, strict=True)
    try:
        cells = [(number - 1 + reader.line_num, [cell.strip() for cell in row]) for row in reader]
    except csv.Error as error:
        problem = RowProblem(number - 1 + reader.line_num, "", f"cannot be split into cells: {error}")
        raise BadFile(path, (problem,)) from error
    sheet.names = [_name(cell) for cell in cells[0][1]]
    while sheet.names and not sheet.names[-1]:
        sheet.names.pop()
    for at, row in cells[1:]:
        while len(row) > len(sheet.names) and not row[-1]:
            row.pop()
        if not any(row):
            continue
        if len(row) != len(sheet.names):
            sheet.problem(at, "", f"has {len(row)} cells; expected {len(sheet.names)}, as many as the first row names")
        sheet.rows.append((at, row))
    if not sheet.rows:
        sheet.problem(0, "", "has no rows; expected one for each step under the first row")
    sheet.raise_if_bad()
    return sheet


def _name(cell: str) -> str:
    return cell.strip(' "\t').lower()


def _lines(path: Path) -> list[str]:
    try:
        size_mb = path.stat().st_size / 1e6
        if size_mb > LARGEST_FILE_MB:
            raise BadFile(path, (RowProblem(0, "", f"has {size_mb:.0f} MB; expected at most {LARGEST_FILE_MB}"),))
        content = path.read_bytes()
    except OSError as error:
        raise BadFile(path, (RowProblem(0, "", f"could not be read: {error.strerror}"),)) from error
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content.count(b"\n", 0, error.start) + 1
        raise BadFile(path, (RowProblem(row, "", "is not UTF-8; save the file as CSV UTF-8"),)) from error
    if "\0" in text:
        raise BadFile(path, (RowProblem(0, "", "holds NUL bytes; expected text: save the file as CSV UTF-8"),))
    return re.split(r"\r\n|\r|\n", text)


def _read_note(sheet: _Sheet, row: int, text: str) -> None:
    key, _, value = (part.strip() for part in text.partition(":"))
    if key.lower() == "zone":
        try:
            sheet.zone = _fixed(value) or zone(value)
        except InvalidField as error:
            sheet.problem(row, "zone", f"is {value!r}; expected UTC, an offset such as -07:00, or {error.expected}")
    elif key.lower() == "step_min":
        if re.fullmatch(r"\d{1,4}", value) and int(value) and 1440 % int(value) == 0:
            sheet.step_min = int(value)
        else:
            sheet.problem(row, "step_min", f"is {value!r}; expected whole minutes that divide a day, such as 5")


def _fixed(text: str) -> timezone | None:
    """Return the zone of an offset or of UTC, None for anything else."""
    if text.upper() in ("Z", "UTC"):
        return UTC
    found = _OFFSET.fullmatch(text)
    if not found or int(found[2]) > 14 or int(found[3]) > 59:
        return None
    offset = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return timezone(-offset if found[1] == "-" else offset)


def _columns(sheet: _Sheet) -> list[str]:
    """Return the columns of values; raises `BadFile` unless all are known and one names the times."""
    row = sheet.header_row
    labels = [name for name in sheet.names if name in ("start", "end")]
    if len(labels) != 1:
        found = "both" if len(set(labels)) == 2 else "neither" if not labels else "one of them twice"
        sheet.problem(
            row, "start, end", f"there is {found}; expected one: whether a row's time starts or ends its step"
        )
    taken: dict[str, str] = {}
    for name in sheet.names:
        if name in ("start", "end"):
            continue
        if name not in _COLUMNS:
            stem = name.partition("_")[0]
            meant = [known for known in _COLUMNS if known.partition("_")[0] == stem]
            allowed = ", ".join(meant or ["start", "end", *_COLUMNS])
            unknown = "has no unit that is known" if meant else "is not a column of this file"
            sheet.problem(row, name, f"{unknown}; expected {allowed}")
        elif (means := _COLUMNS[name][0]) in taken:
            sheet.problem(row, name, f"says the same as {taken[means]}; expected one of the two")
        else:
            taken[means] = name
    if not taken and not sheet.problems:
        sheet.problem(row, "", f"names only times; expected some of {', '.join(_COLUMNS)}")
    sheet.raise_if_bad()
    return list(taken.values())


def _cells(sheet: _Sheet, column: str) -> Iterator[tuple[int, str]]:
    place = sheet.names.index(column)
    return ((row, cells[place]) for row, cells in sheet.rows)


def _instants(sheet: _Sheet) -> list[datetime]:
    """Return the times of the rows [UTC]; what is wrong with them is in the sheet's problems."""
    label = "start" if "start" in sheet.names else "end"
    found: list[datetime] = []
    for row, text in _cells(sheet, label):
        try:
            at = _instant(text, sheet.zone)
        except ValueError as error:
            sheet.problem(row, label, f"is {text!r}; expected {error}")
            continue
        if found and at <= found[-1]:
            what = "is the time of the row before" if at == found[-1] else "is earlier than the row before"
            sheet.problem(row, label, f"is {text!r}, which {what}; expected times that rise")
        found.append(at)
    return found


def _instant(text: str, clock: tzinfo | None) -> datetime:
    """Return an instant [UTC]; raises `ValueError` with what was expected."""
    found = _TIME.fullmatch(text)
    if not found:
        raise ValueError("a time such as 2027-05-17 06:30 or 17.05.2027 06:30, perhaps with an offset such as -06:00")
    year, month, day = (int(found[name] or found[f"{name}2"]) for name in "ymd")
    hour, minute, second = (int(found[name] or 0) for name in ("hour", "minute", "second"))
    ends_day = (hour, minute, second) == (24, 0, 0)
    try:
        wall = datetime(year, month, day, 0 if ends_day else hour, minute, second) + timedelta(days=ends_day)  # noqa: DTZ001 - a reading of a clock, placed below
    except (ValueError, OverflowError) as error:
        raise ValueError("a date and time that exist") from error
    if found["offset"]:
        offset = _fixed(found["offset"])
        if offset is None:
            raise ValueError("an offset from -14:00 to +14:00")
        return wall.replace(tzinfo=offset).astimezone(UTC)
    if clock is None:
        raise ValueError("an offset with it such as -06:00, or a line such as # zone: America/Denver above the columns")
    instants = clock_instants(wall, clock)
    if not instants:
        raise ValueError(f"a time that the clock of {clock} shows; it is put forward over this one")
    if len(instants) > 1:
        offsets = " or ".join(at.astimezone(clock).isoformat()[-6:] for at in instants)
        raise ValueError(f"an offset with it, {offsets}; the clock of {clock} shows this time twice")
    return instants[0]


def _places(sheet: _Sheet, instants: list[datetime]) -> tuple[int, np.ndarray]:
    """Return the step [min] and the step that each row is, counted from the first."""
    label = "start" if "start" in sheet.names else "end"
    seconds = np.array([round((at - instants[0]).total_seconds()) for at in instants])
    apart = np.diff(seconds)
    step_min = sheet.step_min
    if step_min is None:
        if not len(apart):
            sheet.problem(0, "", "has one row; expected a line such as # step_min: 60 above the columns with it")
            sheet.raise_if_bad()
        step_s = Counter(apart.tolist()).most_common(1)[0][0]
        step_min = step_s // 60
        if step_s % 60 or 1440 % step_min:
            sheet.problem(0, label, f"rows are mostly {step_s} s apart; expected whole minutes that divide a day")
            sheet.raise_if_bad()
    for ix in np.flatnonzero(apart % (60 * step_min)):
        text = f"comes {apart[ix] / 60:g} min after the row before; expected {step_min} min or a multiple of it"
        sheet.problem(sheet.rows[ix + 1][0], label, text)
    places = seconds // (60 * step_min)
    if places[-1] >= MOST_STEPS:
        span = f"from {instants[0]:%Y-%m-%d} to {instants[-1]:%Y-%m-%d} in steps of {step_min} min"
        sheet.problem(0, label, f"reaches {span}; expected at most {MOST_STEPS:,} steps: a date is wrong, or split it")
    sheet.raise_if_bad()
    return step_min, places


def _numbers(sheet: _Sheet, column: str) -> Floats:
    """Return a column in the unit of `Weather`, NaN where a cell is blank."""
    name, scale, addend = _COLUMNS[column]
    low, high = _LIMITS[name]
    values = np.full(len(sheet.rows), np.nan)
    for ix, (row, text) in enumerate(_cells(sheet, column)):
        if not text:
            continue
        if not _NUMBER.fullmatch(text):
            sheet.problem(row, column, f"is {text!r}; expected a number without separators, or a blank cell for a gap")
            continue
        values[ix] = float(text.replace(",", ".")) * scale + addend
        if not low - 1e-9 <= values[ix] <= high + 1e-9:
            lowest, highest = ((bound - addend) / scale for bound in (low, high))
            hint = "; night readings below zero are the instrument's: write 0" if name.endswith("w_m2") else ""
            sheet.problem(row, column, f"is {text}; expected {lowest:g} to {highest:g}{hint if values[ix] < 0 else ''}")
    kept: Floats = np.clip(values, low, high) + 0.0  # the sum turns -0.0 into 0.0
    return kept


def _check_decimals(sheet: _Sheet, columns: list[str]) -> None:
    """Raise `BadFile` where decimal marks are mixed, or could as well stand between thousands."""
    first: dict[str, tuple[int, str, str]] = {}
    sure = set()
    for column in columns:
        for row, text in _cells(sheet, column):
            mark = "," if "," in text else "." if "." in text else ""
            if mark and _NUMBER.fullmatch(text):
                first.setdefault(mark, (row, column, text))
                if not _PERHAPS_THOUSANDS.fullmatch(text):
                    sure.add(mark)
    if len(first) == 2:
        other, (row, column, text) = sorted(first.values())
        sheet.problem(
            row, column, f"is {text} where row {other[0]} has {other[2]}; expected one decimal mark throughout"
        )
    for mark in first.keys() - sure:
        row, column, text = first[mark]
        plain = text.replace(mark, "")
        sheet.problem(
            row, column, f"is {text}, which may be {text.replace(mark, '.')} or {plain}; expected no thousands"
        )
    sheet.raise_if_bad()


def _check_swapped(sheet: _Sheet, weather: Weather, site: Site) -> None:
    """Raise `BadFile` where two columns break what must hold between them, and would keep to it if swapped.

    What falls directly on the level ground is part of the global light, and that is hardly ever much more than from a
    clear sky; a gust is no weaker than the mean wind. Measured day by day on 34 days of two stations and on a year of
    half hours: broken in at most 15 % of the daylight as named, and in 21 % to all of it if swapped.
    """
    dni, ghi = weather.dni_w_m2.astype(np.float64), weather.ghi_w_m2.astype(np.float64)
    lit = np.flatnonzero(np.maximum(dni, ghi) > 20)  # none where a column is not there
    middle_s: Floats = weather.starts_at[0].timestamp() + (lit.astype(np.float64) + 0.5) * 60 * weather.step_min
    sky = clear_sky(middle_s, site.latitude_deg, site.longitude_deg, site.altitude_m, site.linke)
    height = np.sin(np.radians(sky.sun.elevation_deg))
    high = height > np.sin(np.radians(10))

    def broken_frac(direct: Floats, total: Floats) -> float:
        wrong = (direct[lit] * height > 1.1 * total[lit] + 30) | (total[lit] > 1.3 * sky.ghi_w_m2 + 50)
        return float(np.mean(wrong[high])) if high.any() else 0.0

    as_named, as_swapped = broken_frac(dni, ghi), broken_frac(ghi, dni)
    if as_named > 0.1 and as_swapped < as_named / 4:
        found = f"do not fit each other in {as_named:.0%} of the daylight, but if swapped in all but {as_swapped:.0%}"
        sheet.problem(sheet.header_row, "dni_w_m2, ghi_w_m2", f"{found}; expected direct and global light as named")
    with_gust = np.isfinite(weather.wind_m_s) & np.isfinite(weather.gust_m_s)
    if with_gust.any() and np.mean(weather.gust_m_s[with_gust] < weather.wind_m_s[with_gust] - 0.1) > 0.5:
        text = "have gusts below the mean wind in most rows; expected the strongest gust and the mean as named"
        sheet.problem(sheet.header_row, "wind, gust", text)
    sheet.raise_if_bad()
