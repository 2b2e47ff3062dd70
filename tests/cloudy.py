"""A cloudy morning: what the instrument reads under 30 % of a clear sun, and what the crew logs till then."""

from datetime import datetime, timedelta
from pathlib import Path

from yardplan.domain.events import EventKind
from yardplan.domain.plan import Plan
from yardplan.exchange.entries import Entry
from yardplan.store.engine import Database
from yardplan.usecases.logbook import log_entry
from yardplan.usecases.own_weather import import_measured_sun

SUN_SHARE = 0.3
CLEAR_W_M2 = 900.0
"""Direct light of a clear forenoon on a high plateau, well above the horizon (from memory)."""


def cloudy_morning(database: Database, plan: Plan, now: datetime, file: Path) -> int:
    """Log a morning with 30 % of the sun until `now`: charges and starts of heat as planned, and no peak.

    Mold changes come first, and what the plan has after a chamber's first cycle does not happen. Returns how many
    entries were kept.
    """
    grid = plan.grid
    midnight = now.astimezone(grid.zone).replace(hour=0, minute=0)
    first_on = midnight + timedelta(hours=7, minutes=30)
    steps = int((now - first_on) / timedelta(minutes=10))
    rows = [
        f"{first_on + timedelta(minutes=10 * ix):%Y-%m-%d %H:%M},{SUN_SHARE * CLEAR_W_M2:.0f}" for ix in range(steps)
    ]
    text = "\n".join([f"# zone: {grid.tz}", "# step_min: 10", "start,dni_w_m2", *rows]) + "\n"
    file.write_text(text)
    import_measured_sun(database, file, by="instrument", at=now)
    today = [row for row in plan.cycles if midnight <= grid.at(row.charge_slot) < now]
    wanted: list[tuple[datetime, Entry]] = []
    charged: set[str] = set()
    heated: set[str] = set()
    for row in today:
        if row.chamber_id in charged:
            continue
        change = [
            other
            for other in plan.mold_changes
            if other.chamber_id == row.chamber_id
            and midnight <= grid.at(other.start_slot)
            and other.end_slot <= row.charge_slot
        ]
        charged.add(row.chamber_id)
        wanted += [
            (grid.at(other.end_slot), Entry(EventKind.MOLD, row.chamber_id, mold=other.mold_in)) for other in change
        ]
        unit = row.chamber_id[:-1]
        at = grid.at(row.charge_slot) + timedelta(minutes=15)
        if at <= now:
            wanted.append((at, Entry(EventKind.CHARGE, row.chamber_id, order_id=row.order_id)))
            if unit not in heated and grid.at(row.heat_slot) + timedelta(minutes=5) <= now:
                heated.add(unit)
                lit_at = max(grid.at(row.heat_slot), at) + timedelta(minutes=5)
                wanted.append((lit_at, Entry(EventKind.HEAT, row.chamber_id)))
    wanted.sort(key=lambda each: each[0])
    for at, entry in wanted:
        if at <= now:
            log_entry(database, Entry(**vars(entry) | {"at": at}), by="crew", now=now)
    return len(wanted)
