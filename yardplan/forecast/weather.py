"""Typical-year files: whatever the format, out come hours in UTC with their site, or a list of what is wrong."""

import io
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from yardplan.domain.errors import BadFile, RowProblem
from yardplan.domain.tables import Weather
from yardplan.forecast.sky import Floats, sun_position

NOMINAL_YEAR = 2001
"""A typical year joins months of many years; its hours are dated in this one, which has no leap day."""

HOURS = 8760

GUST_FACTOR = 1.5
"""Gust over the mean wind of the hour, since typical years hold no gusts.

Source: 1.5 is common practice for open country; the curve of Durst, Wind speeds over short periods of time,
Meteorological Magazine 89, 1960, gives about 1.5 for 3 s over an hour (from memory).
"""

_COLUMNS = ("dni", "ghi", "dhi", "temp", "wind", "cloud")
_NEEDED = ("dni", "ghi", "dhi", "temp", "wind")
_UNITS = {"dni": "W/m2", "ghi": "W/m2", "dhi": "W/m2", "temp": "C", "wind": "m/s", "cloud": "tenths"}
# Above these a format says "missing" (9999, 99.9, 99 and so on), and so it does below them with a minus sign.
_MISSING_FROM = {"dni": 9000.0, "ghi": 9000.0, "dhi": 9000.0, "temp": 99.0, "wind": 99.0, "cloud": 10.5}
# Beyond these a column holds something else, or another unit.
_LIMITS = {"dni": (0, 1450), "ghi": (0, 1450), "dhi": (0, 1100), "temp": (-90, 60), "wind": (0, 75), "cloud": (0, 10)}
_MOST_LISTED = 20
# Share of global irradiance by which direct and diffuse may miss it in bright hours: 19 public files measured at
# 0.001 to 0.005 with the right hours, at 0.017 and more with hours that are 15 minutes off.
_CLOSURE_FRAC = 0.015
_BRIGHT_HOURS = 50

_TMY2_HEAD = re.compile(r"\s*\d{5}\s+\S.*\s[NS]\s+\d+\s+\d+\s+[EW]\s+\d+\s+\d+\s+-?\d+")
_EPW_OFFSET = re.compile(r"Irradiance Time Offset \(h\):\s*(-?\d+(?:\.\d+)?)")


@dataclass(frozen=True, eq=False)
class TypicalYear:
    """A year of hours that is typical of a place, and the place.

    Attributes
    ----------
    weather : Weather
        8760 hours, dated in `NOMINAL_YEAR`, free of gaps but for cloud, which is NaN where not given.
    latitude_deg, longitude_deg, altitude_m : float
        Where the file is from; its clear-sky index needs the sun of that place.
    name : str
        What the file calls the place.
    """

    weather: Weather
    latitude_deg: float
    longitude_deg: float
    altitude_m: float
    name: str


@dataclass(frozen=True, eq=False)
class _Sheet:
    """A file as read.

    `stamps` date the hours by the file's clock in any year; the hour that a stamp names starts `whole_h` later and,
    counted exactly, `part_h` later still. `columns` hold text or numbers as they stand, `scale` brings them to the
    units of `_UNITS`; `first_row` is the row of the first hour as a spreadsheet shows it.
    """

    kind: str
    name: str
    latitude_deg: float
    longitude_deg: float
    altitude_m: float
    clock_h: float
    stamps: NDArray[np.datetime64]
    whole_h: int
    part_h: float
    columns: dict[str, Any]
    scale: dict[str, float]
    labels: dict[str, str]
    first_row: int


def read_typical_year(path: Path | str) -> TypicalYear:
    """Read a typical-year file: TMY3 (CSV), EPW, TMY2, or a PVGIS typical year (CSV or JSON).

    The content, not the name, tells the format. Labels of hours differ: TMY3 and TMY2 name the end of an hour, EPW
    its number, PVGIS the instant of a satellite picture (with an offset), which is taken as the middle of its hour.

    Returns
    -------
    TypicalYear
        Hours in UTC, gusts derived by `GUST_FACTOR`.

    Raises
    ------
    BadFile
        If the file is none of these, has gaps, hours out of order, values that cannot be true, components of
        sunlight that contradict each other, or hours that do not go with the sun of its place. Nothing is filled.
    """
    path = Path(path)
    try:
        content = path.read_bytes()
    except OSError as error:
        raise BadFile(path, (RowProblem(0, "", f"cannot be opened: {error.strerror}"),)) from error
    sheet = _read_sheet(path, content)
    values = {name: _numbers(sheet, name) for name in _COLUMNS}
    starts, problems = _starts(sheet)
    problems = problems or _value_problems(sheet, values) or _sun_problems(sheet, starts, values)
    if problems:
        raise BadFile(path, _shortened(problems))
    weather = Weather(
        starts_at=tuple(datetime.fromtimestamp(int(second), UTC) for second in starts),
        step_min=60,
        dni_w_m2=_single(values["dni"]),
        ghi_w_m2=_single(values["ghi"]),
        dhi_w_m2=_single(values["dhi"]),
        temp_c=_single(values["temp"]),
        wind_m_s=_single(values["wind"]),
        gust_m_s=_single(values["wind"] * GUST_FACTOR),
        cloud_frac=_single(values["cloud"] / 10),
        source=f"typical year of {sheet.name} ({sheet.kind})",
    )
    return TypicalYear(weather, sheet.latitude_deg, sheet.longitude_deg, sheet.altitude_m, sheet.name)


def _read_sheet(path: Path, content: bytes) -> _Sheet:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("latin-1")
    first, _, rest = text.partition("\n")
    if first.startswith("LOCATION,"):
        kind, read = "EPW", _read_epw
    elif "Date (MM/DD/YYYY)" in rest[:200]:
        kind, read = "TMY3", _read_tmy3
    elif _TMY2_HEAD.match(first):
        kind, read = "TMY2", _read_tmy2
    elif first.startswith("Latitude (decimal degrees)"):
        kind, read = "PVGIS CSV", _read_pvgis_csv
    elif text.lstrip().startswith("{"):
        kind, read = "PVGIS JSON", _read_pvgis_json
    else:
        expected = "expected a typical year as TMY3, EPW, TMY2 or PVGIS CSV or JSON; get one and import that"
        raise BadFile(path, (RowProblem(0, "", f"begins with {first[:40]!r}; {expected}"),))
    try:
        return read(text, path)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError, UnboundLocalError) as error:
        # pvlib's readers meet a damaged file with whatever their parsing step raises
        cause = str(error).partition("\n")[0]
        reason = f"looks like {kind} but cannot be read as such ({cause}); get the file anew from its source"
        raise BadFile(path, (RowProblem(0, "", reason),)) from error


def _read_tmy3(text: str, path: Path) -> _Sheet:
    from pvlib import iotools

    data, site = iotools.read_tmy3(io.StringIO(text), map_variables=True)
    names = {"dni": "dni", "ghi": "ghi", "dhi": "dhi", "temp": "temp_air", "wind": "wind_speed"}
    shown = {"dni": "DNI (W/m^2)", "ghi": "GHI (W/m^2)", "dhi": "DHI (W/m^2)", "temp": "Dry-bulb (C)"}
    labels = {**shown, "wind": "Wspd (m/s)", "cloud": "TotCld (tenths)"}
    name = ", ".join(part for part in (site["Name"].strip('" '), site["State"].strip()) if part)
    # the stamp ends the hour
    return _sheet("TMY3", name, site, data, {**names, "cloud": "TotCld (tenths)"}, labels, first_row=3, whole_h=-1)


def _read_epw(text: str, path: Path) -> _Sheet:
    from pvlib import iotools

    data, site = iotools.read_epw(io.StringIO(text))
    names = {"dni": "dni", "ghi": "ghi", "dhi": "dhi", "temp": "temp_air", "wind": "wind_speed"}
    labels = {"dni": "direct normal", "ghi": "global horizontal", "dhi": "diffuse horizontal", "temp": "dry bulb"}
    labels |= {"wind": "wind speed", "cloud": "total sky cover"}
    name = ", ".join(part.strip() for part in (site["city"], site["state-prov"], site["country"]) if part.strip(" -"))
    # pvlib has the start of the hour; PVGIS gives instants instead, counted from the hour's end
    offset = _EPW_OFFSET.search(text[:5000])
    part_h = 1 + float(offset[1]) - 0.5 if offset else 0.0
    return _sheet("EPW", name, site, data, {**names, "cloud": "total_sky_cover"}, labels, first_row=9, part_h=part_h)


def _read_tmy2(text: str, path: Path) -> _Sheet:
    from pvlib import iotools

    data, site = iotools.read_tmy2(str(path))  # takes no text, only a name
    labels = {"dni": "DNI", "ghi": "GHI", "dhi": "DHI", "temp": "DryBulb", "wind": "Wspd", "cloud": "TotCld"}
    name = f"{site['City']}, {site['State']}"
    # pvlib has the start of the hour but leaves temperature and wind in tenths
    tenths = {"temp": 0.1, "wind": 0.1}
    return _sheet("TMY2", name, site, data, labels, labels, first_row=2, scale=tenths)


def _read_pvgis_csv(text: str, path: Path) -> _Sheet:
    from pvlib import iotools

    lines = text.splitlines()
    head = next((ix for ix, line in enumerate(lines) if line.startswith("time(UTC)")), None)
    if head is None:
        raise ValueError("there is no heading that begins with time(UTC)")
    cells = lines[head].count(",")
    # pvlib takes any 8760 lines for hours and fills up short ones
    for ix, line in enumerate(lines[head + 1 :][:HOURS], start=head + 2):
        if line.count(",") != cells:
            raise ValueError(f"row {ix} has {line.count(',') + 1} cells where the heading has {cells + 1}")
    data, site = iotools.read_pvgis_tmy(io.BytesIO(text.encode()), pvgis_format="csv", map_variables=False)
    place = site["inputs"]
    return _pvgis("PVGIS CSV", data, place, place.get("irradiance time offset", 0.0), first_row=head + 2)


def _read_pvgis_json(text: str, path: Path) -> _Sheet:
    from pvlib import iotools

    data, site = iotools.read_pvgis_tmy(io.StringIO(text), pvgis_format="json", map_variables=False)
    place = site["inputs"]["location"]
    return _pvgis("PVGIS JSON", data, place, place.get("irradiance_time_offset", 0.0), first_row=1)


def _pvgis(kind: str, data: Any, place: dict[str, float], offset_h: float, first_row: int) -> _Sheet:
    labels = {"dni": "Gb(n)", "ghi": "G(h)", "dhi": "Gd(h)", "temp": "T2m", "wind": "WS10m", "cloud": ""}
    site = {**place, "altitude": place["elevation"], "TZ": 0.0}
    name = f"{place['latitude']:g}, {place['longitude']:g}"
    return _sheet(kind, name, site, data, labels, labels, first_row=first_row, part_h=offset_h - 0.5)


def _sheet(
    kind: str,
    name: str,
    site: dict[str, Any],
    data: Any,
    names: dict[str, str],
    labels: dict[str, str],
    *,
    first_row: int,
    whole_h: int = 0,
    part_h: float = 0.0,
    scale: dict[str, float] | None = None,
) -> _Sheet:
    lost = [labels[column] for column in _NEEDED if names[column] not in data.columns]
    if lost:
        raise ValueError(f"there is no column {', '.join(lost)}")
    return _Sheet(
        kind=kind,
        name=name or kind,
        latitude_deg=float(site["latitude"]),
        longitude_deg=float(site["longitude"]),
        altitude_m=float(site["altitude"]),
        clock_h=float(site["TZ"]),
        stamps=data.index.tz_localize(None).to_numpy().astype("datetime64[s]"),
        whole_h=whole_h,
        part_h=part_h,
        columns={column: data.get(names[column]) for column in _COLUMNS},
        scale=scale or {},
        labels=labels,
        first_row=first_row,
    )


def _numbers(sheet: _Sheet, name: str) -> Floats:
    """Return a column in its unit, NaN where the file says that it is missing or holds no number."""
    import pandas as pd

    column = sheet.columns[name]
    if column is None:
        return np.full(len(sheet.stamps), np.nan)
    numbers = pd.to_numeric(column, errors="coerce").to_numpy(dtype=float) * sheet.scale.get(name, 1.0)
    missing = np.abs(numbers) >= _MISSING_FROM[name]
    return np.where(missing, np.nan, numbers) + 0.0  # the sum turns -0.0 into 0.0


def _starts(sheet: _Sheet) -> tuple[Floats, list[RowProblem]]:
    """Return the starts of the hours [s since 1970 UTC] in the nominal year, and what is wrong with their order."""
    months = sheet.stamps.astype("datetime64[M]")
    month = months.astype(np.int64) % 12
    in_month_s = (sheet.stamps - months).astype(np.int64)
    problems = [
        RowProblem(sheet.first_row + int(ix), "date", "is 29 February; expected a year of 365 days")
        for ix in np.flatnonzero((month == 1) & (in_month_s >= 28 * 86400))
    ]
    new_year_s = int(np.datetime64(f"{NOMINAL_YEAR}-01-01T00", "s").astype(np.int64))
    nominal = (np.datetime64(f"{NOMINAL_YEAR}-01", "M") + month).astype("datetime64[s]").astype(np.int64) + in_month_s
    # The last hour may be stamped with its end, in the next year
    in_year_s = (nominal - new_year_s + sheet.whole_h * 3600) % (HOURS * 3600)
    for ix in np.flatnonzero(np.diff(in_year_s) != 3600):
        before, after = (str(np.datetime64(new_year_s + int(in_year_s[at]), "s"))[5:16] for at in (ix, ix + 1))
        text = f"after the hour {before.replace('T', ' ')} comes {after.replace('T', ' ')}; expected the next hour"
        problems.append(RowProblem(sheet.first_row + int(ix) + 1, "date", text))
    if len(in_year_s) != HOURS:
        problems.insert(0, RowProblem(0, "", f"has {len(in_year_s)} hours; expected {HOURS}, a whole year"))
    elif in_year_s[0] != 0:
        problems.insert(
            0,
            RowProblem(
                sheet.first_row, "date", "is not the first hour of 1 January; expected a year that begins there"
            ),
        )
    return new_year_s + in_year_s + (sheet.part_h - sheet.clock_h) * 3600, problems


def _value_problems(sheet: _Sheet, values: dict[str, Floats]) -> list[RowProblem]:
    problems = []
    for name in _COLUMNS:
        column, (low, high) = values[name], _LIMITS[name]
        for ix in np.flatnonzero(np.isnan(column)) if name in _NEEDED else ():
            found = sheet.columns[name].iloc[ix]
            problems.append(_row(sheet, int(ix), name, f"is {found!s} (missing or no number); expected {_UNITS[name]}"))
        for ix in np.flatnonzero((column < low) | (column > high)):
            text = f"is {column[ix]:g}; expected {low} to {high} {_UNITS[name]}"
            problems.append(_row(sheet, int(ix), name, text))
    return sorted(problems, key=lambda problem: problem.row)


def _row(sheet: _Sheet, ix: int, name: str, text: str) -> RowProblem:
    return RowProblem(sheet.first_row + ix, sheet.labels[name], text)


def _sun_problems(sheet: _Sheet, starts: Floats, values: dict[str, Floats]) -> list[RowProblem]:
    """Return what speaks against the file's own sun: hours that are shifted, columns that are swapped or scaled.

    In every hour, global is direct times the mean sine of the sun's height, plus diffuse. With wrong hours that
    fails by several percent, so it is tried with the hours moved by quarters.
    """
    moves = range(-8, 9)
    quarters = starts[0] + (np.arange(moves[0], HOURS * 4 + moves[-1]) + 0.5) * 900
    sun = sun_position(quarters, sheet.latitude_deg, sheet.longitude_deg, sheet.altitude_m)
    height = np.sin(np.radians(np.clip(sun.elevation_deg, 0, None)))
    dni, ghi, dhi = values["dni"], values["ghi"], values["dhi"]
    bright = (dni > 300) & (ghi > 50)
    if bright.sum() < _BRIGHT_HOURS:
        return []
    misses = {}
    for move in moves:
        hourly = height[move - moves[0] :][: HOURS * 4].reshape(HOURS, 4).mean(axis=1)
        misses[move] = float(np.median(np.abs(dni * hourly + dhi - ghi)[bright] / ghi[bright]))
    best = min(misses, key=lambda move: misses[move])
    if misses[0] <= _CLOSURE_FRAC:
        return []
    found = f"direct, global and diffuse miss each other by {misses[0]:.0%} in bright hours"
    if misses[best] <= _CLOSURE_FRAC:
        cause = f"but fit with all hours moved by {best / 4:+g} h: the clock, time zone or place in the file is wrong"
    else:
        cause = "at any hour: columns are swapped or in other units, or the place in the file is wrong"
    columns = ", ".join(sheet.labels[name] for name in ("dni", "ghi", "dhi"))
    return [RowProblem(0, columns, f"{found}, {cause}; get the file anew or in another format")]


def _single(values: Floats) -> NDArray[np.float32]:
    return values.astype(np.float32)


def _shortened(problems: list[RowProblem]) -> tuple[RowProblem, ...]:
    rest = len(problems) - _MOST_LISTED
    more = (RowProblem(0, "", f"and {rest} more like these"),) if rest > 0 else ()
    return tuple(problems[:_MOST_LISTED]) + more
