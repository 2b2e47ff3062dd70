"""The file ``site.toml`` of a yard folder."""

import json
import tomllib
from dataclasses import fields, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from yardplan.domain.equipment import Site
from yardplan.domain.errors import BadFile, InvalidField, RowProblem
from yardplan.domain.slots import zone
from yardplan.domain.yard import Yard
from yardplan.exchange.cells import instant
from yardplan.exchange.rows import read_text

SITE_FILE = "site.toml"
_FILES = ("weather", "measured_sun")
_TOP_KEYS = ("notice", "clock_at", *_FILES, "colors", "site")


def read_site(path: Path) -> tuple[Site, dict[str, Any]]:
    """Return the site, and what else the file holds: `notice`, `clock_at` [UTC], `colors` and names of files.

    Raises
    ------
    BadFile
        Names the key at fault and what is expected there.
    """

    def bad(key: str, text: str) -> BadFile:
        return BadFile(path.parent, (RowProblem(0, key, text, path.name),))

    try:
        top = tomllib.loads(read_text(path))
    except tomllib.TOMLDecodeError as error:
        raise bad("", f"is no TOML: {error}") from error
    except BadFile as error:
        raise BadFile(path.parent, tuple(replace(found, file=path.name) for found in error.problems)) from error
    site_keys = [field.name for field in fields(Site)]
    given = top.get("site")
    if not isinstance(given, dict):
        raise bad("site", f"is missing; expected a table [site] with {', '.join(site_keys)}")
    for keys, known, within in ((top, _TOP_KEYS, ""), (given, site_keys, "site.")):
        for key in keys:
            if key not in known:
                raise bad(within + key, f"is not known here; expected {', '.join(known)}")
    missing = [key for key in ("name", "latitude_deg", "longitude_deg", "altitude_m", "tz") if key not in given]
    if missing:
        raise bad(f"site.{missing[0]}", "is missing")
    for key in ("notice", *_FILES):
        if not isinstance(top.get(key, ""), str):
            words = "text" if key == "notice" else "the name of a file in this folder"
            raise bad(key, f"is {top[key]!r}; expected {words}")
    if not all(isinstance(given[key], str) for key in ("name", "tz")):
        raise bad("site.name, site.tz", "expected text")
    try:
        site = Site(**given)
        zone(site.tz)
    except InvalidField as error:
        raise bad(f"site.{error.field}", f"is {error.value!r}; expected {error.expected}") from error
    colors = top.get("colors", [])
    if not (isinstance(colors, list) and all(isinstance(color, str) for color in colors)):
        raise bad("colors", f"is {colors!r}; expected a list of words")
    for key in _FILES:
        if key in top and (Path(top[key]).name != top[key] or not (path.parent / top[key]).is_file()):
            raise bad(key, f"is {top[key]!r}; expected the name of a file in this folder")
    if "clock_at" in top:
        at = top["clock_at"]
        try:
            top["clock_at"] = at.astimezone(UTC) if at.tzinfo else instant(at.isoformat(" ", "seconds"), zone(site.tz))
        except (AttributeError, ValueError) as error:
            raise bad("clock_at", f"is {at!r}; expected a time such as 2027-05-14T14:00:00") from error
    return site, top


def site_text(
    yard: Yard, clock_at: datetime | None, weather_path: Path | None, sun_path: Path | None, notice: str
) -> str:
    """Return the text of a site file that `read_site` reads back equal."""
    lines = [f"# {line}" for line in notice.splitlines()]
    if notice:
        lines.append(f"notice = {_toml(notice)}")
    if clock_at:
        lines.append("# Here the clock stands still at this time.")
        lines.append(f"clock_at = {clock_at.astimezone(zone(yard.site.tz)).isoformat()}")
    for key, file in zip(_FILES, (weather_path, sun_path), strict=True):
        if file:
            lines.append(f"{key} = {_toml(file.name)}")
    lines.append(f"colors = [{', '.join(_toml(color) for color in yard.colors)}]")
    lines += ["", "[site]"]
    for field in fields(Site):
        value = getattr(yard.site, field.name)
        if value is not None:
            lines.append(f"{field.name} = {_toml(value)}")
    return "\n".join(lines) + "\n"


def _toml(value: str | float) -> str:
    # A JSON string is a TOML basic string, but for DEL, which TOML wants escaped.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f") if isinstance(value, str) else repr(value)
