"""Puts a week on the board: rows, nights, shifts and all marks of a plan, from an outlook."""

from collections import defaultdict
from datetime import datetime
from functools import partial

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRect, QRectF
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QGraphicsLineItem, QGraphicsScene

from yardplan.domain.equipment import Unit
from yardplan.domain.plan import Cycle, Plan, order_results, upkeep_downtimes
from yardplan.domain.tables import NEVER, Recipe
from yardplan.ui.axis import Ticks
from yardplan.ui.dates import decimal_text
from yardplan.ui.lanes import (
    Lane,
    LaneKind,
    Part,
    charge_end_slot,
    crew_jobs,
    down_spans,
    duty_spans,
    lay_out,
    runs,
    tracks,
)
from yardplan.ui.look import Look
from yardplan.ui.marks import ChangeMark, CycleMark, DownMark, JobMark, JobStyle, LatestMark, Mark, Spot
from yardplan.ui.ribbons import BatteryRibbon, EveningMark, HeatRibbon
from yardplan.ui.sky_figures import sky_figures
from yardplan.ui.words import ON_TIME, Words
from yardplan.usecases.outlook import Outlook

LATEST_H = 1.5
"""How far the words of a latest safe start may reach [h]."""

STYLES = {
    Part.CHARGE: JobStyle.HANDLING,
    Part.DEMOLD: JobStyle.HANDLING,
    Part.CHANGE: JobStyle.CHANGE,
    Part.FINISH: JobStyle.FINISH,
}


class BoardScene(QGraphicsScene):
    """A week of one yard: rows, and a mark for everything that has a start and an end.

    `marks` has them by key; `choices` has those that can be chosen, by row and in order of time.

    Parameters
    ----------
    is_filled : bool
        Whether the marks are placed at once; else by `fill`, so that a window may answer in between.
    """

    def __init__(
        self,
        look: Look,
        outlook: Outlook,
        plan: Plan,
        words: Words,
        hidden: frozenset[str],
        *,
        is_filled: bool = True,
    ) -> None:
        super().__init__()
        self.look, self.outlook, self.plan, self.words = look, outlook, plan, words
        self.grid = plan.grid
        self.ticks = Ticks(self.grid)
        yard = outlook.yard
        self._downtimes = yard.downtimes + upkeep_downtimes(plan.upkeep, yard, plan.grid)
        self._jobs = {who: tracks(jobs) for who, jobs in crew_jobs(plan, yard).items()}
        n_tracks = {who: 1 + max((track for track, _ in jobs), default=0) for who, jobs in self._jobs.items()}
        self.lanes = lay_out(yard, look.line_px, hidden, n_tracks)
        self.seen_slots = (0.0, float(self.grid.n_slots))
        self.scales: dict[tuple[LaneKind, str], tuple[str, str]] = {}
        self.marks: dict[tuple[str, str], Mark] = {}
        self.choices: dict[Lane, list[Mark]] = defaultdict(list)
        self._results = {row.order_id: row for row in order_results(plan, outlook.orders, yard)}
        self._figures = sky_figures(outlook)
        self._nights = runs((outlook.heat.elevation_deg < 0).tolist())
        self._duty = {person.id: duty_spans(person, yard, self.grid) for person in yard.operators}
        bottom = self.lanes[-1].bottom_px if self.lanes else 0.0
        self.setSceneRect(QRectF(0, 0, self.grid.n_slots, bottom + 6))
        if is_filled:
            self.fill(0, 1)
        self._now_slot = 0.0
        self._now_line = QGraphicsLineItem(QLineF(0, 0, 0, bottom))
        pen = QPen(look.text, 2)
        pen.setCosmetic(True)
        self._now_line.setPen(pen)
        self._now_line.setZValue(5)
        self.addItem(self._now_line)
        self.show_now(outlook.now)

    def show_seen(self, first: float, after: float) -> None:
        """Learn what is in view; marks that reach over its edges place their words anew."""
        edges = {*self.seen_slots, first, after}
        self.seen_slots = (first, after)
        height_px = self.sceneRect().height()
        for edge in edges:
            for item in self.items(QRectF(edge, 0, 0.01, height_px)):
                item.update()

    @property
    def now_slot(self) -> float:
        """Where the now-line stands; may lie outside the grid."""
        return self._now_slot

    def show_now(self, now: datetime) -> None:
        """Move the now-line."""
        self._now_slot = (now.timestamp() - self.grid.start_at.timestamp()) / 60 / self.grid.slot_min
        self._now_line.setX(self._now_slot)
        self._now_line.setVisible(0 <= self._now_slot <= self.grid.n_slots)
        self.update()

    def drawBackground(self, painter: QPainter, rect: QRectF | QRect) -> None:
        """Draw rows, nights, shifts, the past and the hour lines."""
        colors, look = self.look.colors, self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.fillRect(rect, QColor(colors.window))
        first, after = max(rect.left(), 0.0), min(rect.right(), float(self.grid.n_slots))
        nights = [(max(a, first), min(b, after)) for a, b in self._nights if a < after and b > first]
        scale = painter.worldTransform().m11() / painter.worldTransform().m22()
        step_min = self.ticks.step_min(scale, look.metrics)
        hours = [slot for slot, _ in self.ticks.within(first, after, step_min)]
        midnights = [day_first for _, day_first, _ in self.grid.days if first <= day_first <= after]
        rule, midnight = QPen(QColor(colors.rule), 1), QPen(QColor(colors.frame), 1.2)
        rule.setCosmetic(True)
        midnight.setCosmetic(True)
        for lane in self.lanes:
            if lane.bottom_px < rect.top() or lane.top_px > rect.bottom():
                continue
            top, height = lane.top_px, lane.height_px
            spans = [(first, after, colors.base)]
            if lane.kind is LaneKind.CREW:
                spans = [(first, after, colors.off_shift)]
                spans += [
                    (max(a, first), min(b, after), colors.base)
                    for a, b in self._duty[lane.ident]
                    if a < after and b > first
                ]
            else:
                if self._now_slot > first:
                    spans.append((first, min(self._now_slot, after), colors.past))
                spans += [(a, b, colors.night) for a, b in nights]
            for left, right, color in spans:
                painter.fillRect(QRectF(left, top, right - left, height), QColor(color))
            painter.setPen(rule)
            painter.drawLines([QLineF(slot, top, slot, top + height) for slot in hours])
            painter.drawLine(QPointF(first, lane.bottom_px), QPointF(after, lane.bottom_px))
            painter.setPen(midnight)
            painter.drawLines([QLineF(slot, top, slot, top + height) for slot in midnights])

    def ready(self, part: int, parts: int, px_per_slot: float) -> None:
        """Work out what one of several parts of the marks in view need at a zoom, before they are painted."""
        first, after = self.seen_slots
        for mark in list(self.marks.values())[part::parts]:
            if mark.spot.start_slot < after and mark.spot.end_slot > first:
                mark.ready(px_per_slot)

    def fill(self, part: int, parts: int) -> None:
        """Place the marks of one of several parts of the rows, each once."""
        units = {unit.id: (ix, unit) for ix, unit in enumerate(self.outlook.yard.units)}
        for lane in self.lanes[part::parts]:
            if lane.kind is LaneKind.HEAT:
                self._fill_heat(lane, units[lane.ident][1])
            elif lane.kind is LaneKind.BATTERY:
                self._fill_battery(lane, *units[lane.ident])
            elif lane.kind is LaneKind.CHAMBER:
                self._fill_chamber(lane)
            elif lane.kind is LaneKind.CREW:
                self._fill_crew(lane)
            else:
                self._fill_bench(lane)
            self._fill_downtime(lane)
        for marks in self.choices.values():
            marks.sort(key=lambda mark: (mark.spot.start_slot, mark.spot.end_slot))

    def _place(self, mark: Mark, lane: Lane | None = None) -> None:
        self.marks[mark.spot.key] = mark
        self.addItem(mark)
        if lane is not None:
            self.choices[lane].append(mark)

    def _fill_heat(self, lane: Lane, unit: Unit) -> None:
        band = self._figures.bands[unit.id]
        self.scales[lane.kind, lane.ident] = (self.tr("{kw} kW").format(kw=decimal_text(band.full_kw, 0)), "0")
        for on, first, after in self.grid.days:
            labels = self.words.day_heat(*self._figures.day_kwh[unit.id, on])
            tell = partial(self.words.heat_day, unit, on, labels[0])
            spot = Spot(("heat", f"{unit.id}|{on}"), first, after, lane.top_px, lane.height_px, tell)
            self._place(HeatRibbon(self.look, spot, band, labels))

    def _fill_battery(self, lane: Lane, unit_ix: int, unit: Unit) -> None:
        power, key = self.outlook.power, (lane.kind, lane.ident)
        self.scales[key] = (self.tr("{kwh} kWh").format(kwh=decimal_text(unit.battery_kwh, 0)), "")
        for on, first, after in self.grid.days:
            tell = partial(self.words.battery_day, unit, on)
            spot = Spot(("battery", f"{unit.id}|{on}"), first, after, lane.top_px, lane.height_px, tell)
            self._place(BatteryRibbon(self.look, spot, power.charge_kwh[unit_ix], unit))
        drawn_kwh = self._drawn_kwh(unit)
        for evening, left_kwh in enumerate(power.evening_left_kwh(unit_ix, drawn_kwh).tolist()):
            slots = np.flatnonzero(power.evening_ix == evening).tolist()
            if slots and np.isfinite(left_kwh):
                spent_kwh = float(drawn_kwh[slots].sum())
                labels = self.words.evening(spent_kwh, spent_kwh + left_kwh)
                tell = partial(self.words.evening_work, unit, labels[0])
                evening_key = ("evening", f"{unit.id}|{evening}")
                spot = Spot(evening_key, slots[0], slots[-1] + 1, lane.top_px, lane.height_px, tell)
                self._place(EveningMark(self.look, spot, labels, spent_kwh / max(spent_kwh + left_kwh, 1e-6)))

    def _drawn_kwh(self, unit: Unit) -> NDArray[np.float64]:
        """Energy of finishing on the benches that a unit feeds, by slot [kWh]."""
        benches = {bench.id for bench in self.outlook.yard.benches if bench.unit_id == unit.id}
        drawn_kwh = np.zeros(self.grid.n_slots)
        for job in self.plan.finishing:
            if job.bench_id in benches:
                drawn_kwh[max(job.start_slot, 0) : job.end_slot] += job.kwh / (job.end_slot - job.start_slot)
        return drawn_kwh

    def _fill_chamber(self, lane: Lane) -> None:
        words, yard, look = self.words, self.outlook.yard, self.look
        top_px, height_px = lane.top_px, lane.height_px
        for cycle in self.plan.cycles:
            if cycle.chamber_id == lane.ident:
                result = self._results.get(cycle.order_id)
                tell = partial(words.cycle, cycle, result)
                spot = Spot(
                    ("cycle", cycle.id),
                    cycle.charge_slot,
                    cycle.end_slot,
                    top_px,
                    height_px,
                    tell,
                    cycle.id,
                    cycle.order_id,
                    cycle.locked,
                )
                charged, labels = charge_end_slot(cycle, yard, self.grid), words.cycle_labels(cycle)
                tail = [slots for _, slots in ends_of_heat(cycle, self.outlook) if slots != NEVER]
                flagged = result is not None and result.state != ON_TIME
                mark = CycleMark(look, spot, cycle, charged, labels, words.clean_down(), tail, flagged=flagged)
                self._place(mark, lane)
        for change in self.plan.mold_changes:
            if change.chamber_id == lane.ident:
                tell = partial(words.change, change)
                key, first, after = ("change", change.id), change.start_slot, change.end_slot
                spot = Spot(key, first, after, top_px, height_px, tell, locked=change.locked)
                self._place(ChangeMark(look, spot, words.change_labels(change)), lane)
        self._fill_latest(lane)

    def _fill_latest(self, lane: Lane) -> None:
        """Mark on each day until when the last mold of a chamber's day can start."""
        last = {}
        for cycle in self.plan.cycles:
            if cycle.chamber_id == lane.ident:
                last[self.grid.local(cycle.charge_slot).date()] = (cycle.mold.mold_id, cycle.product_id)
        for on, recipe in last.items():
            slot = self._figures.latest.get((on, lane.ident, *recipe))
            if slot is not None:
                tell = partial(self.words.latest_start, lane.ident, recipe[1], slot)
                key, after = ("latest", f"{lane.ident}|{on}"), slot + LATEST_H * 60 / self.grid.slot_min
                spot = Spot(key, slot, after, lane.top_px, lane.height_px, tell)
                is_free = all(
                    mark.spot.end_slot <= slot or mark.spot.start_slot >= after for mark in self.choices[lane]
                )
                labels = self.words.latest_labels(slot) if is_free else ()
                self._place(LatestMark(self.look, spot, labels))

    def _fill_crew(self, lane: Lane) -> None:
        jobs = self._jobs[lane.ident]
        height_px = lane.height_px / (1 + max((track for track, _ in jobs), default=0))
        for track, job in jobs:
            key, tell = ("crew", f"{job.operator_id}|{job.part}|{job.work.id}"), partial(self.words.crew_job, job)
            spot = Spot(
                key,
                job.start_slot,
                job.end_slot,
                lane.top_px + track * height_px,
                height_px,
                tell,
                job.cycle_id,
                self.words.order_of(job.cycle_id),
                job.work.locked,
            )
            self._place(JobMark(self.look, spot, STYLES[job.part], self.words.crew_labels(job)), lane)

    def _fill_bench(self, lane: Lane) -> None:
        for job in self.plan.finishing:
            if job.bench_id == lane.ident:
                spot = Spot(
                    ("finish", job.id),
                    job.start_slot,
                    job.end_slot,
                    lane.top_px,
                    lane.height_px,
                    partial(self.words.finish, job),
                    job.cycle_id,
                    self.words.order_of(job.cycle_id),
                    job.locked,
                )
                self._place(JobMark(self.look, spot, JobStyle.FINISH, self.words.finish_labels(job)), lane)

    def _fill_downtime(self, lane: Lane) -> None:
        for first, after, down in down_spans(lane, self.outlook.yard, self._downtimes, self.grid):
            key = ("down", f"{lane.kind}|{lane.ident}|{first}|{down.reason}")
            # A ribbon's own words stay readable above the hole that a down-time makes in it.
            top_px = lane.top_px + (self.look.line_px + 2 if lane.kind is LaneKind.HEAT else 0)
            spot = Spot(key, first, after, top_px, lane.bottom_px - top_px, partial(self.words.downtime, down))
            self._place(DownMark(self.look, spot, down.reason), lane)


def ends_of_heat(cycle: Cycle, outlook: Outlook) -> list[tuple[float, int]]:
    """Return for each confidence of the cook table how many slots of heat the cycle takes; `NEVER` where it stalls."""
    cook, recipe = outlook.cook, Recipe(cycle.mold.mold_id, cycle.product_id)
    if recipe not in cook.recipes or not 0 <= cycle.heat_slot < cook.grid.n_slots:
        return []
    unit_ix = cook.unit_ids.index(outlook.yard.unit_of(cycle.chamber_id).id)
    slots = cook.cook_slots[:, cook.recipes.index(recipe), unit_ix, cycle.heat_slot].tolist()
    return list(zip(cook.confidences, slots, strict=True))
