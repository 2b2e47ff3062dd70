"""Makes the demo yard's invented month: ``python -m tests.made_log`` writes its measured sun and its log anew.

The sun is one sky of the season. Each cycle of the old log is run again under it by the program's own physics, with
factors that a calibration has to find and with scatter; what is in the way of another is moved back.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from math import ceil

import numpy as np

from yardplan.cycle.table import MAX_COOK_MIN, recipe_model
from yardplan.cycle.trace import CycleTrace, idle_shell_c, trace
from yardplan.domain.equipment import MoldCopy, Unit
from yardplan.domain.log import LoggedCycle
from yardplan.domain.slots import SlotGrid, zone
from yardplan.domain.yard import Yard
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.rows import write_rows, write_whole
from yardplan.exchange.yard_files import LOG_FIELDS, read_yard_folder
from yardplan.forecast.heat import field_heat
from yardplan.forecast.scenarios import Skies
from yardplan.forecast.skies import forecast_skies
from yardplan.forecast.sun_table import intercept_slots
from yardplan.forecast.weather import TypicalYear, read_typical_year
from yardplan.paths import demo_folder

UNIT_HEAT = {"U1": 0.98, "U2": 0.93, "U3": 1.01, "U4": 0.95, "U5": 0.97, "U6": 1.03}
MOLD_HEAT = {"M03": 0.94, "M07": 1.03, "M09": 0.97, "M14": 0.95}
UNIT_LOSS = {"U2": 1.05, "U6": 0.95}
MOLD_LOSS = {"M03": 1.10, "M05": 0.93, "M08": 1.06}
WORN_COPY, WORN_HEAT, WORN_FROM = MoldCopy("M06", 1), 0.88, datetime(2027, 5, 4, tzinfo=UTC)
"""Hidden factors, others are 1; and the paint of one mold copy peels from a day on."""

COOK_SCATTER, CLOCK_SCATTER_MIN, READ_SCATTER_K, SENSOR_SCATTER = 0.02, 0.6, 0.8, 0.01
FORGOTTEN_FRAC = 0.02
"""Share of peaks that were noted a quarter of an hour or more too late."""
FIRST_ON, N_DAYS, SUN_STEP_MIN = date(2027, 4, 13), 31, 10
SKIES = 20
LAST_HEAT_H = 16.0
"""By the yard's clock: later in the day no heating was begun."""


def heat_factor(unit_id: str, copy: MoldCopy, at: datetime) -> float:
    """Return what a mold really absorbs over what the physics says."""
    worn = WORN_HEAT if copy == WORN_COPY and at >= WORN_FROM else 1.0
    return UNIT_HEAT.get(unit_id, 1.0) * MOLD_HEAT.get(copy.mold_id, 1.0) * worn


def loss_factor(unit_id: str, mold_id: str) -> float:
    """Return what a mold really loses over what the physics says."""
    return UNIT_LOSS.get(unit_id, 1.0) * MOLD_LOSS.get(mold_id, 1.0)


def the_sky(yard: Yard, year: TypicalYear, seed: int) -> Skies:
    """Return the one sky that was: a scenario of the season's."""
    grid = SlotGrid.of_days(FIRST_ON, N_DAYS, yard.site.tz)
    before = grid.start_at - timedelta(days=2)
    skies = forecast_skies(yard.site, year, None, (), grid, now=before, n_scenarios=SKIES, seed=0)
    arrays = ("dni_w_m2", "ghi_w_m2", "temp_c", "wind_m_s", "gust_m_s")
    return replace(skies, **{name: getattr(skies, name)[[seed]] for name in arrays})


def sun_text(yard: Yard, sky: Skies, notice: str, rng: np.random.Generator) -> str:
    """Return the measured direct light of the days as the yard's own CSV."""
    per_step = SUN_STEP_MIN // sky.grid.slot_min
    read = sky.dni_w_m2[0].reshape(-1, per_step).mean(axis=1)
    read = read * np.exp(rng.normal(0, SENSOR_SCATTER, read.size))
    lit = np.flatnonzero(sky.clear.dni_w_m2.reshape(-1, per_step).max(axis=1) > 0)
    about = "Direct light as an instrument of the yard would have measured it."
    lines = [f"# {notice}", f"# {about}", f"# zone: {yard.site.tz}", f"# step_min: {SUN_STEP_MIN}", "start,dni_w_m2"]
    lines += [f"{sky.grid.local(int(step) * per_step):%Y-%m-%d %H:%M},{read[step]:.0f}" for step in lit]
    return "\n".join(lines) + "\n"


class Month:
    """Runs cycles one after another, as far as chambers, fields and molds are free."""

    def __init__(self, yard: Yard, sky: Skies, rng: np.random.Generator) -> None:
        self.yard, self.grid, self.rng = yard, sky.grid, rng
        self.heat, self.landing_frac = field_heat(yard, sky, seed=0), intercept_slots(yard, sky.grid)
        self.free_at: dict[object, datetime] = {}
        self.last: dict[MoldCopy, LoggedCycle] = {}

    def run(self, rows: Iterable[LoggedCycle]) -> list[LoggedCycle]:
        """Return the cycles as they went; those for which a day had no time left are dropped."""
        found = [self.cycle(row) for row in sorted(rows, key=lambda row: row.heat_at)]
        done = sorted((row for row in found if row), key=lambda row: row.heat_at)
        return [replace(row, id=f"L-{number:04d}") for number, row in enumerate(done, 1)]

    def cycle(self, row: LoggedCycle) -> LoggedCycle | None:
        unit, mold = self.yard.unit_of(row.chamber_id), self.yard.mold(row.mold.mold_id)
        charge = row.heat_at - row.charged_at
        charged_at = max(row.charged_at, *(self.free_at.get(key, row.charged_at) for key in (row.chamber_id, row.mold)))
        heat_at = max(charged_at + charge, self.free_at.get(unit.id, charged_at))
        local = heat_at.astimezone(zone(self.yard.site.tz))
        if local.hour + local.minute / 60 > LAST_HEAT_H:
            return None
        aim_c = self.yard.product(row.product_id).piat_c
        ended_c = aim_c + float(self.rng.exponential(1.2))  # the crew is not always there at once
        course = self.course(row, unit, heat_at, ended_c)
        began = {"charged_at": heat_at - charge, "heat_at": heat_at}
        if course.piat_min > MAX_COOK_MIN:
            given_up_at = heat_at + timedelta(minutes=MAX_COOK_MIN)
            self.free_at[unit.id] = given_up_at
            done = replace(
                row, **began, piat_at=None, piat_c=round(float(course.air_c.max()), 1), pieces_good=0,
                pieces_scrapped=mold.cavities, demolded_at=given_up_at + timedelta(minutes=60),
                note="cloud, did not come to its peak",
            )  # fmt: skip
        else:
            took_min = max(round(course.piat_min + self.rng.normal(0, CLOCK_SCATTER_MIN)), 1)
            took_min += int(self.rng.integers(15, 30)) * (self.rng.random() < FORGOTTEN_FRAC)
            piat_at = self.free_at[unit.id] = heat_at + timedelta(minutes=took_min)
            opened_min = ceil(course.demold_min - course.piat_min) + int(self.rng.integers(4, 25))
            scrapped = row.pieces_scrapped if row.piat_at else 0
            read_c = max(ended_c + self.rng.normal(0, READ_SCATTER_K), aim_c)
            done = replace(
                row, **began, piat_at=piat_at, piat_c=round(read_c, 1),
                demolded_at=piat_at + timedelta(minutes=opened_min), pieces_good=mold.cavities - scrapped,
                pieces_scrapped=scrapped, note=row.note if row.piat_at else "",
            )  # fmt: skip
        self.free_at[row.chamber_id] = self.free_at[row.mold] = done.demolded_at
        self.last[row.mold] = done
        return done

    def course(self, row: LoggedCycle, unit: Unit, heat_at: datetime, ended_c: float) -> CycleTrace:
        mold, product = self.yard.mold(row.mold.mold_id), self.yard.product(row.product_id)
        model = recipe_model(self.yard, mold, product, unit, loss_factor(unit.id, mold.id))
        n_slots = self.grid.n_slots
        edges = (heat_at - self.grid.start_at) / timedelta(minutes=self.grid.slot_min) + np.arange(
            MAX_COOK_MIN // 5 + 2
        )
        unit_ix, mold_ix = self.yard.units.index(unit), self.yard.molds.index(mold)
        factor = heat_factor(unit.id, row.mold, heat_at) * float(np.exp(self.rng.normal(0, COOK_SCATTER)))
        landing_kw = (
            factor * mold.absorptance_frac * self.heat.field_kw[0, unit_ix] * self.landing_frac[mold_ix, unit_ix]
        )
        received = np.interp(edges, np.arange(n_slots + 1), np.concatenate([[0.0], np.cumsum(landing_kw)]))
        absorbed_kw = np.minimum(np.diff(received), unit.max_mold_heat_kw)
        at = np.minimum(edges[:-1].astype(int), n_slots - 1)
        temp_c, wind_m_s = (values[0, at].astype(float) for values in (self.heat.temp_c, self.heat.wind_m_s))
        before, shell_c = self.last.get(row.mold), float(temp_c[0])
        if before is not None and heat_at - before.demolded_at < timedelta(hours=6):
            idle_min = (heat_at - before.demolded_at) / timedelta(minutes=1)
            shell_c = idle_shell_c(model, self.yard.product(before.product_id).demold_c, shell_c, idle_min)
        return trace(replace(model, piat_c=ended_c), absorbed_kw, temp_c, wind_m_s, start_shell_c=shell_c)


def main(seed: int = 18) -> None:
    """Write both files into the demo's folder."""
    folder, demo = demo_folder(), read_yard_folder(demo_folder())
    rng = np.random.default_rng(seed)
    sky = the_sky(demo.yard, read_typical_year(demo.weather_path), seed)
    write_whole(folder / "measured_sun.csv", sun_text(demo.yard, sky, demo.notice, rng))
    rows = Month(demo.yard, sky, rng).run(demo.logged)
    named = [{**vars(row), **{column: getattr(row, field) for field, column in LOG_FIELDS.items()}} for row in rows]
    write_rows(folder / tables.LOG.file, tables.LOG, named, zone(demo.yard.site.tz), notice=demo.notice)


if __name__ == "__main__":
    main()
