"""Learn from the log: which heat molds really get on each unit, what they lose, and what seems to have changed."""

from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from yardplan.cycle.drift import drifts
from yardplan.cycle.fit import LoggedCook, fit
from yardplan.cycle.model import CycleModel
from yardplan.cycle.table import recipe_model
from yardplan.cycle.trace import idle_shell_c
from yardplan.domain.calibration import Calibrated
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import NotThere
from yardplan.domain.log import LoggedCycle
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import BoolArray, HeatTable, Weather, means_between
from yardplan.domain.yard import Yard
from yardplan.forecast.heat import field_heat
from yardplan.forecast.past import skies_as_measured
from yardplan.forecast.sun_table import intercept_slots
from yardplan.forecast.weather import TypicalYear
from yardplan.store.engine import Database
from yardplan.store.read import read_yard
from yardplan.store.write import add_calibrations
from yardplan.usecases.logbook import all_logged_cycles
from yardplan.usecases.own_weather import measured_sun
from yardplan.usecases.skies import stored_typical_year

Floats = NDArray[np.float64]

LOOK_BACK = timedelta(days=90)
"""Older cycles are left out: paint, mirrors and shields have changed since."""

WARM = timedelta(hours=6)
"""After so long a mold is as cold as the air."""


def calibrate(database: Database, *, now: datetime, by: str) -> tuple[Calibrated, str]:
    """Learn from the log and keep what was found; older fits stay.

    Returns
    -------
    Calibrated
        What was found.
    str
        The yard's time zone, to tell it in.

    Raises
    ------
    NotThere
        If there is no yard, no typical year or no logged cycle under measured sun.
    """
    calibrated, tz = learned(database, now=now)
    with database.begin() as session:
        add_calibrations(session, calibrated.calibrations, by=by, at=now)
    return calibrated, tz


def learned(database: Database, *, now: datetime) -> tuple[Calibrated, str]:
    """Fit heat and loss factors to the log under the sun that was measured; see `calibrate`, which keeps them."""
    with database.begin_read() as session:
        year = stored_typical_year(database, session)
        yard, logged = read_yard(session), all_logged_cycles(session)
    logged = tuple(cycle for cycle in logged if now - LOOK_BACK <= cycle.heat_at and cycle.demolded_at <= now)
    measured: tuple[Weather, ...] = ()
    if logged:
        first_at, last_at = min(row.charged_at for row in logged), max(row.demolded_at for row in logged)
        measured = measured_sun(database, start_at=first_at - timedelta(hours=1), end_at=last_at)
    if not measured:
        what = "logged cycles of the last days" if not logged else "measured sun of the logged cycles' days"
        raise NotThere("calibration", "", f"it needs {what}; bring them in with `yardplan import`")
    cooks, left_out = logged_cooks(yard, year, logged, measured)
    if not cooks:
        raise NotThere("calibration", "", f"no logged cycle can be used: {_told(left_out)}")
    found = fit(cooks, _pairs(yard), fitted_at=now)
    calibrated = Calibrated(
        found.calibrations,
        drifts(cooks, found, now=now),
        len(cooks),
        int(np.count_nonzero(found.is_outlier)),
        round(found.residual_min, 2),
        left_out,
    )
    return calibrated, yard.site.tz


def logged_cooks(
    yard: Yard, year: TypicalYear, logged: Sequence[LoggedCycle], measured: Sequence[Weather]
) -> tuple[list[LoggedCook], tuple[tuple[str, int], ...]]:
    """Return what met the mold in each logged cycle that can be used, and why others cannot."""
    first_at, last_at = min(row.charged_at for row in logged), max(row.demolded_at for row in logged)
    tz = yard.site.tz
    first_on = SlotGrid(first_at, 1, tz).local(0).date()
    n_days = (SlotGrid(last_at, 1, tz).local(0).date() - first_on).days + 1
    grid = SlotGrid.of_days(first_on, n_days, tz)
    skies, known = skies_as_measured(yard.site, year, measured, grid)
    past = _Past(yard, grid, field_heat(yard, skies, seed=0), intercept_slots(yard, grid), known)
    left_out: Counter[str] = Counter()
    cooks: list[LoggedCook] = []
    before: dict[MoldCopy, LoggedCycle] = {}
    for row in sorted(logged, key=lambda row: row.heat_at):
        cook = past.cook(row, before.get(row.mold))
        if isinstance(cook, str):
            left_out[cook] += 1
        else:
            cooks.append(cook)
        before[row.mold] = row
    return cooks, tuple(sorted(left_out.items()))


class _Past:
    """The heat that every mold would have had on every unit, by the sun that was measured."""

    def __init__(
        self, yard: Yard, grid: SlotGrid, heat: HeatTable, intercept_frac: NDArray[np.float32], known: BoolArray
    ) -> None:
        self._yard, self._grid, self._heat, self._intercept_frac, self._known = yard, grid, heat, intercept_frac, known
        self._mold_ix = {mold.id: ix for ix, mold in enumerate(yard.molds)}
        self._unit_ix = {unit.id: ix for ix, unit in enumerate(yard.units)}
        self._products = {product.id: product for product in yard.products}

    def cook(self, row: LoggedCycle, before: LoggedCycle | None) -> LoggedCook | str:
        """Return what met the mold in a cycle, or why it cannot be used; `before` is the mold's last one."""
        if row.piat_at is None or row.piat_at <= row.heat_at:
            return "it was lost before its peak"
        chambers = {chamber.id: unit for unit in self._yard.units for chamber in unit.chambers}
        if (
            row.chamber_id not in chambers
            or row.mold.mold_id not in self._mold_ix
            or row.product_id not in self._products
        ):
            return "its chamber, mold or product is no longer there"
        unit, mold, product = (
            chambers[row.chamber_id],
            self._yard.mold(row.mold.mold_id),
            self._products[row.product_id],
        )
        grid, slot_s = self._grid, self._grid.slot_min * 60
        start = (row.heat_at - grid.start_at).total_seconds() / slot_s
        minutes = (row.piat_at - row.heat_at).total_seconds() / 60
        n_slots = int(minutes * 60 / slot_s) + 1
        reach = slice(int(start), min(int(start + n_slots) + 1, grid.n_slots))
        if not self._known[reach].all():
            return "the sun was not measured meanwhile"
        mold_ix, unit_ix = self._mold_ix[mold.id], self._unit_ix[unit.id]
        absorbed_kw = self._heat.field_kw[0, unit_ix] * self._intercept_frac[mold_ix, unit_ix] * mold.absorptance_frac
        model = recipe_model(self._yard, mold, product, unit)
        edges = start + np.arange(n_slots + 1.0)  # slots of the cook's own, which begin with its heating
        met = (absorbed_kw, self._heat.temp_c[0], self._heat.wind_m_s[0])
        absorbed_kw, temp_c, wind_m_s = (means_between(values, edges) for values in met)
        return LoggedCook(
            cycle_id=row.id,
            unit_id=unit.id,
            mold_id=mold.id,
            chamber_id=row.chamber_id,
            mold_copy=str(row.mold),
            model=model,
            heat_at=row.heat_at,
            minutes=minutes,
            piat_c=row.piat_c,
            absorbed_kw=absorbed_kw,
            temp_c=temp_c,
            wind_m_s=wind_m_s,
            max_kw=unit.max_mold_heat_kw,
            start_shell_c=self._start_shell_c(model, row, before, float(temp_c[0])),
            slot_min=grid.slot_min,
        )

    def _start_shell_c(
        self, model: CycleModel, row: LoggedCycle, before: LoggedCycle | None, outside_c: float
    ) -> float:
        """Return the shell's temperature when heating began, still warm where the mold was emptied not long ago."""
        if before is None or row.heat_at - before.demolded_at > WARM or before.product_id not in self._products:
            return outside_c
        idle_min = max((row.heat_at - before.demolded_at).total_seconds() / 60, 0.0)
        return idle_shell_c(model, self._products[before.product_id].demold_c, outside_c, idle_min)


def _pairs(yard: Yard) -> list[tuple[str, str]]:
    """Return each unit and mold that go together."""
    return [
        (unit.id, mold.id)
        for unit in yard.units
        for mold in yard.molds
        if any(yard.fits(mold, chamber) for chamber in unit.chambers)
    ]


def _told(left_out: tuple[tuple[str, int], ...]) -> str:
    return "; ".join(f"{count} because {reason}" for reason, count in left_out)
