"""The charge of the units' batteries, as somebody read it off."""

import json
from collections.abc import Mapping
from datetime import datetime

from yardplan.domain.errors import NotThere
from yardplan.domain.log import ChargeReading
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard
from yardplan.forecast.battery import check_charge
from yardplan.store.engine import Database
from yardplan.store.read import has_yard, read_setting, read_yard
from yardplan.store.write import write_setting

CHARGE = "battery_charge"


def note_charge(database: Database, kwh: Mapping[str, float], *, by: str, at: datetime) -> str:
    """Keep the charge of units that was read off at `at`, in place of what was read before; tells it in words.

    Raises
    ------
    InvalidField
        If a unit does not exist or its battery cannot hold so much; nothing is kept then.
    NotThere
        If there is no yard yet.
    """
    with database.begin() as session:
        if not has_yard(session):
            raise NotThere("yard", database.url, "bring one in with `yardplan import yard` first")
        yard = read_yard(session)
        check_charge(yard, kwh)
        told = ", ".join(f"{unit_id} {charge:g} kWh" for unit_id, charge in kwh.items())
        value = json.dumps({"at": at.isoformat(), "kwh": dict(kwh)})
        write_setting(session, CHARGE, value, by=by, at=at, told_as=told)
    return told


def charge_in_use(database: Database, yard: Yard, grid: SlotGrid, *, now: datetime) -> ChargeReading | None:
    """Return the reading that a plan on a grid can begin with: one of its days, known at `now`; None without one.

    What was read of a unit that is no longer there, or has a smaller battery now, is left out.
    """
    with database.begin_read() as session:
        value = read_setting(session, CHARGE)
    if value is None:
        return None
    found = json.loads(value)
    at = datetime.fromisoformat(found["at"])
    room = {unit.id: unit.battery_kwh for unit in yard.units}
    kwh = {unit_id: charge for unit_id, charge in found["kwh"].items() if charge <= room.get(unit_id, -1.0)}
    return ChargeReading(at, kwh) if kwh and grid.start_at <= at <= now and at < grid.end_at else None
