"""The work/rest rule for hot days: what it allows, and who switched it off and why."""

import json
from dataclasses import dataclass
from datetime import datetime

from yardplan.domain.errors import require
from yardplan.domain.heat_work import WorkLimits, adjusted_f, work_limits
from yardplan.domain.slots import zone
from yardplan.domain.tables import HeatTable
from yardplan.domain.yard import Yard
from yardplan.store.engine import Database
from yardplan.store.read import read_setting, read_yard
from yardplan.store.write import write_setting

OFF = "work_rest_off"


@dataclass(frozen=True)
class RuleOff:
    """The rule does not hold: since when, by whose word, and why."""

    at: datetime
    by: str
    reason: str

    def shown(self, tz: str) -> str:
        """Return it in words."""
        return f"OFF since {self.at.astimezone(zone(tz)):%a %d %b %Y %H:%M} by {self.by}: {self.reason}"


def switch_heat_rule(database: Database, *, reason: str | None, by: str, at: datetime) -> None:
    """Switch the rule off for a reason, or on again with None; who did it and when is kept, also in the audit.

    Raises
    ------
    InvalidField
        If the reason says nothing.
    """
    if reason is not None:
        require(bool(reason.strip()), "work in the heat", "", "reason", reason, "a reason in words")
    value = "" if reason is None else json.dumps({"at": at.isoformat(), "by": by, "reason": reason.strip()})
    with database.begin() as session:
        write_setting(session, OFF, value, by=by, at=at, told_as="on" if reason is None else f"off: {reason.strip()}")


def heat_rule_off(database: Database) -> RuleOff | None:
    """Return who switched the rule off, None where it holds."""
    with database.begin_read() as session:
        value = read_setting(session, OFF)
    if not value:
        return None
    found = json.loads(value)
    return RuleOff(datetime.fromisoformat(found["at"]), found["by"], found["reason"])


def limits_of(yard: Yard, heat: HeatTable, confidence: float) -> WorkLimits:
    """Return what the yard's table allows under the heat that a share of the scenarios keeps below.

    Molds are handled and changed where `Site.handling_sun_frac` of the sun reaches people; benches are in the shade.
    Of the two kinds of moderate work the one in the sun sets the limit while handling is in the sun.
    """
    site = yard.site
    felt_f = adjusted_f(heat, confidence, humidity_pct=site.humidity_pct, sun_frac=site.handling_sun_frac)
    return work_limits(yard.work_rest_in_use, felt_f, felt_f)


def heat_rule_words(yard: Yard, limits: WorkLimits | None, off: RuleOff | None) -> str:
    """Return what the rule asks of a plan, in one line; empty where it holds and no slot is hot."""
    if off is not None:
        return f"work in the heat: the work/rest rule is {off.shown(yard.site.tz)}. Local codes hold all the same."
    if limits is None or not limits.is_hot:
        return ""
    least, hours = int(limits.heavy_min.min()), float((limits.heavy_min < 60).sum()) / 12
    caution = "" if least else ", none at the hottest"
    lowest = int(limits.heavy_min[limits.heavy_min > 0].min(initial=60))
    return (
        f"work in the heat: {hours:.0f} h with rests, down to {lowest} min of heavy work in an hour{caution}. Local "
        "codes come first; water, shade, a second pair of eyes; whoever feels unwell stops."
    )


def heat_rule_told(database: Database, off: RuleOff | None) -> str:
    """Return whether the rule holds, and the table that it goes by."""
    with database.begin_read() as session:
        yard = read_yard(session)
    state = off.shown(yard.site.tz) if off else "on"
    whose = "the yard's own table" if yard.work_rest else "CDC/NIOSH, Heat Stress: Work/Rest Schedules"
    rows = (f"  {row.from_f:5g} F {row.moderate_min:9} {row.heavy_min:9}" for row in yard.work_rest_in_use)
    return "\n".join(
        (
            f"work/rest rule: {state}",
            f"  {whose}; humidity {yard.site.humidity_pct:g} %, share of the sun where molds are handled "
            f"{yard.site.handling_sun_frac:g}",
            "  from     moderate     heavy   minutes of work in any hour; 0: not planned",
            *rows,
            "  It helps to plan and replaces no heat program. Local codes come first; water, shade, time to adapt.",
        )
    )
