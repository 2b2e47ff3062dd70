"""The frozen edges of the board: hours and days above, names of the rows on the left."""

from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from yardplan.domain.slots import SlotGrid
from yardplan.ui.dates import clock_text, day_text, hour_text
from yardplan.ui.lanes import Lane, LaneKind
from yardplan.ui.look import Look

STEPS_MIN = (5, 15, 30, 60, 120, 180, 360, 720)


class Ticks:
    """Local hours as slots; days on which the clocks change have 23 or 25 of them."""

    def __init__(self, grid: SlotGrid) -> None:
        self.grid = grid
        self._known: dict[tuple[int, date], list[tuple[float, datetime]]] = {}

    def step_min(self, px_per_slot: float, metrics: QFontMetricsF) -> int:
        """Return the finest step whose labels do not touch."""
        px_per_min = px_per_slot / self.grid.slot_min
        hour_px, minute_px = (metrics.horizontalAdvance(hour_text(at)) + 14 for at in (time(20), time(20, 45)))
        rooms = ((step, minute_px if step % 60 else hour_px) for step in STEPS_MIN)
        return next((step for step, room_px in rooms if step * px_per_min >= room_px), 1440)

    def within(self, first: float, after: float, step_min: int) -> list[tuple[float, datetime]]:
        """Return slot and local time of each tick between midnights that lies in the span."""
        found = []
        for on, day_first, day_after in self.grid.days:
            if day_first < after and day_after > first:
                found += [tick for tick in self._of_day(on, step_min) if first <= tick[0] <= after]
        return found

    def _of_day(self, on: date, step_min: int) -> list[tuple[float, datetime]]:
        if (step_min, on) not in self._known:
            grid, ticks = self.grid, []
            for minute in range(step_min, 1440, step_min):
                wall = datetime(on.year, on.month, on.day, tzinfo=grid.zone) + timedelta(minutes=minute)
                at = wall.astimezone(UTC)
                if at.astimezone(grid.zone).replace(tzinfo=None) == wall.replace(tzinfo=None):
                    ticks.append(((at - grid.start_at) / timedelta(minutes=grid.slot_min), wall))
            self._known[step_min, on] = ticks
        return self._known[step_min, on]


class TimeAxis(QWidget):
    """Days and local hours of what the board shows, and the clock at the now-line."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look: Look | None = None
        self._ticks: Ticks | None = None
        self._left, self._px_per_slot = 0.0, 1.0
        self._now: tuple[float, datetime] | None = None
        self._day_note: Callable[[date], str] | None = None
        self.setAccessibleName(self.tr("Time axis"))

    def show_grid(self, look: Look, ticks: Ticks, day_note: Callable[[date], str]) -> None:
        """Take new looks, a new grid and what to say of each day."""
        self._look, self._ticks, self._day_note = look, ticks, day_note
        self.setFixedHeight(int(2 * look.line_px + 8))
        self.update()

    def show_range(self, left: float, px_per_slot: float) -> None:
        """Follow the board."""
        self._left, self._px_per_slot = left, px_per_slot
        self.update()

    def show_now(self, slot: float, at: datetime) -> None:
        """Place the clock."""
        self._now = (slot, at)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw days, hours and the clock."""
        painter = QPainter(self)
        if self._look and self._ticks:
            self.paint_axis(painter, float(self.width()))
        painter.end()

    def paint_axis(self, painter: QPainter, width_px: float) -> None:
        """Draw the axis on any painter, its left upper corner at the origin."""
        look, ticks = self._look, self._ticks
        if look is None or ticks is None:  # nothing to show yet
            return
        height = 2 * look.line_px + 8
        colors, metrics = look.colors, look.metrics
        painter.fillRect(QRectF(0, 0, width_px, height), QColor(colors.window))
        painter.setFont(look.font)
        right = self._left + width_px / self._px_per_slot
        step = ticks.step_min(self._px_per_slot, metrics)
        clock = self._clock_plate(look, width_px)
        for slot, wall in ticks.within(self._left, right, step):
            x = (slot - self._left) * self._px_per_slot
            label = hour_text(wall)
            wide = metrics.horizontalAdvance(label)
            hidden = clock is not None and x + wide / 2 > clock.left() - 2 and x - wide / 2 < clock.right() + 2
            painter.setPen(QColor(colors.frame))
            painter.drawLine(QPointF(x, height - 4), QPointF(x, height))
            if not hidden and x - wide / 2 > 2 and x + wide / 2 < width_px - 2:
                painter.setPen(look.text)
                painter.drawText(QPointF(x - wide / 2, look.line_px + 2 + metrics.ascent()), label)
        for on, first, after in ticks.grid.days:
            if first >= right or after <= self._left:
                continue
            x0 = (first - self._left) * self._px_per_slot
            x1 = (after - self._left) * self._px_per_slot
            if first > 0:
                painter.setPen(QPen(QColor(colors.frame), 1.2))
                painter.drawLine(QPointF(x0, 0), QPointF(x0, height))
            self._paint_day(painter, look, on, max(x0, 0.0) + 6, min(x1, width_px) - 6)
        painter.setPen(QColor(colors.frame))
        painter.drawLine(QPointF(0, height - 0.5), QPointF(width_px, height - 0.5))
        self._paint_now(painter, look, width_px, height)

    def _paint_day(self, painter: QPainter, look: Look, on: date, left: float, right: float) -> None:
        day = day_text(on)
        note = self._day_note(on) if self._day_note else ""
        label = look.fitting((f"{day}  ·  {note}" if note else day, day), right - left)
        if label:
            painter.setFont(look.font)
            painter.setPen(look.text)
            painter.drawText(QPointF(left, 2 + look.metrics.ascent()), label)

    def _clock_plate(self, look: Look, width_px: float) -> QRectF | None:
        """Where the clock stands, None where now is out of view."""
        if self._now is None:
            return None
        x = (self._now[0] - self._left) * self._px_per_slot
        if not 0 <= x <= width_px:
            return None
        wide = look.metrics.horizontalAdvance(self._clock_text()) + 10
        return QRectF(min(max(x - wide / 2, 0), width_px - wide), look.line_px + 2, wide, look.line_px + 2)

    def _clock_text(self) -> str:
        return self.tr("now {time}").format(time=clock_text(self._now[1])) if self._now else ""

    def _paint_now(self, painter: QPainter, look: Look, width_px: float, height: float) -> None:
        plate = self._clock_plate(look, width_px)
        if plate is None or self._now is None:
            return
        x = (self._now[0] - self._left) * self._px_per_slot
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.text)
        painter.drawRoundedRect(plate, 3, 3)
        painter.drawPolygon(
            QPolygonF([QPointF(x - 5, plate.bottom()), QPointF(x + 5, plate.bottom()), QPointF(x, height)])
        )
        painter.setFont(look.font)
        painter.setPen(QColor(look.colors.base))
        painter.drawText(QPointF(plate.left() + 5, plate.top() + 1 + look.metrics.ascent()), self._clock_text())


class LanePane(QWidget):
    """Names of the rows; stays while the board moves to the sides, follows it up and down."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look: Look | None = None
        self._lanes: tuple[Lane, ...] = ()
        self._scales: dict[tuple[LaneKind, str], tuple[str, str]] = {}
        self._top = 0
        self.setAccessibleName(self.tr("Rows"))

    def show_lanes(
        self, look: Look, lanes: tuple[Lane, ...], scales: dict[tuple[LaneKind, str], tuple[str, str]]
    ) -> None:
        """Take new rows; `scales` are the words at the top and the bottom of a row's own scale."""
        self._look, self._lanes, self._scales = look, lanes, scales
        longest = max((look.metrics.horizontalAdvance(lane.title) for lane in lanes), default=0.0)
        scale = max((look.metrics.horizontalAdvance(top) for top, _ in scales.values()), default=0.0)
        kinds = max(look.metrics.horizontalAdvance(self._kind_word(kind)) for kind in LaneKind)
        self.setFixedWidth(int(min(max(longest + 24, kinds + scale + 30), 220)))
        self.update()

    def show_top(self, top_px: int) -> None:
        """Follow the board."""
        self._top = top_px
        self.update()

    def sizeHint(self) -> QSize:
        """Return the width it needs."""
        return QSize(self.width(), 200)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the rows that are in view."""
        painter = QPainter(self)
        painter.translate(0, -self._top)
        if self._look:
            view = QRectF(event.rect()).translated(0, self._top)
            painter.fillRect(view, QColor(self._look.colors.window))
            for lane in self._lanes:
                if lane.bottom_px >= view.top() and lane.top_px - 2 * self._look.line_px <= view.bottom():
                    self.paint_lane(painter, lane, float(self.width()))
        painter.end()

    def paint_lane(self, painter: QPainter, lane: Lane, width_px: float) -> None:
        """Draw a row's name on any painter, at its own place."""
        look = self._look
        if look is None:  # nothing to show yet
            return
        painter.setPen(QColor(look.colors.rule))
        painter.drawLine(QPointF(0, lane.bottom_px - 0.5), QPointF(width_px, lane.bottom_px - 0.5))
        upper, lower = lane.top_px + 1, lane.bottom_px - 2 - look.line_px
        middle = lane.top_px + (lane.height_px - look.line_px) / 2
        if lane.opens and lane.kind in (LaneKind.CREW, LaneKind.BENCH):
            heading = self.tr("Crew") if lane.kind is LaneKind.CREW else self.tr("Benches")
            _write(painter, look.bold, look.text, 8, lane.top_px - look.line_px - 3, heading, look)
        if lane.kind is LaneKind.HEAT:
            _write(painter, look.bold, look.text, 8, upper, look.elided(lane.title, width_px - 14), look)
            _write(painter, look.font, look.dim, 8, lower, self._kind_word(lane.kind), look)
        elif lane.kind is LaneKind.BATTERY:
            _write(painter, look.font, look.dim, 8, upper, self._kind_word(lane.kind), look)
        elif lane.kind is LaneKind.CHAMBER:
            _write(painter, look.bold, look.text, 20, middle, look.elided(lane.title, width_px - 26), look)
        else:
            _write(painter, look.font, look.text, 8, middle, look.elided(lane.title, width_px - 14), look)
        top, bottom = self._scales.get((lane.kind, lane.ident), ("", ""))
        for text, y in ((top, upper + look.line_px), (bottom, lower)):
            left = width_px - 6 - look.metrics.horizontalAdvance(text)
            _write(painter, look.font, look.dim, left, y, text, look)

    def _kind_word(self, kind: LaneKind) -> str:
        return {
            LaneKind.HEAT: self.tr("field heat"),
            LaneKind.CHAMBER: self.tr("chamber"),
            LaneKind.BATTERY: self.tr("battery"),
            LaneKind.CREW: self.tr("crew"),
            LaneKind.BENCH: self.tr("bench"),
        }[kind]


def _write(painter: QPainter, font: QFont, color: QColor, x_px: float, y_px: float, text: str, look: Look) -> None:
    painter.setFont(font)
    painter.setPen(color)
    painter.drawText(QPointF(x_px, y_px + look.metrics.ascent()), text)
