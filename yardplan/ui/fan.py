"""Fans of heat: a row for each unit and day with the band from P10 to P90, all on one axis of local hours.

A row also has what a person said by hand (hatched, with the words), times in which wind may stow the mirrors
(upright lines) and, for one product, its starts: a bracket from the first to the latest safe one, which has a post.
"""

from bisect import bisect_right
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from math import ceil

import numpy as np
from PySide6.QtCore import QEvent, QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QBrush,
    QColor,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import FloatArray
from yardplan.ui.axis import STEPS_MIN
from yardplan.ui.dates import clock_text, decimal_text, hour_text
from yardplan.ui.look import Look

PANE_PX = 176
LEAST_PX, MOST_PX = 62.0, 150.0
SCALE_KW = 10
READ_STEP_SLOTS = 3
"""By how many slots the reading line moves at a key."""


@dataclass(frozen=True)
class Told:
    """A span of a day's slots that something is told of, in words from the longest to the shortest."""

    first_slot: float
    after_slot: float
    texts: tuple[str, ...]


@dataclass(frozen=True)
class Starts:
    """When a product can be started: first and latest safe slot, with the words of each and of the cooks between."""

    first_slot: int
    last_slot: int
    first: str
    last: str
    cooks: str


@dataclass(frozen=True, eq=False)
class FanRow:
    """One unit on one day; `heat_kw` (P10, P50, P90; slot of the day) begins at `first_slot` of the grid."""

    key: tuple[str, str]
    title: str
    note: str
    sentence: str
    first_slot: int
    heat_kw: FloatArray
    by_hand: tuple[Told, ...] = ()
    stow: tuple[Told, ...] = ()
    starts: dict[str, Starts] = field(default_factory=dict)


class FanChart(QWidget):
    """The rows; arrows choose a row and move a line that reads the heat off.

    Signals
    -------
    chosen(int)
        The place of the row that a person chose.
    """

    chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look: Look | None = None
        self._grid: SlotGrid | None = None
        self._rows: tuple[FanRow, ...] = ()
        self._product_id = ""
        self._row_ix = 0
        self._hours = (6.0, 20.0)
        self._full_kw = 1.0
        self._now: datetime | None = None
        self._read_slot: int | None = None
        self._edges: dict[tuple[str, str], list[float]] = {}
        self.setObjectName("fans")
        self.setAccessibleName(self.tr("Heat by unit and day"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    # What is shown

    @property
    def rows(self) -> tuple[FanRow, ...]:
        """The rows that are shown."""
        return self._rows

    @property
    def row_ix(self) -> int:
        """The place of the chosen row."""
        return self._row_ix

    def show_look(self, look: Look) -> None:
        """Take new fonts and colors."""
        self._look = look
        self._fit()

    def show_rows(self, grid: SlotGrid, rows: tuple[FanRow, ...], hours: tuple[float, float], full_kw: float) -> None:
        """Take new rows; `hours` are the ends of the axis [h of the local day], `full_kw` the top of every row."""
        self._grid, self._rows, self._hours = grid, rows, hours
        self._full_kw = SCALE_KW * max(ceil(full_kw / SCALE_KW - 1e-6), 1)
        self._row_ix = min(self._row_ix, max(len(rows) - 1, 0))
        self._read_slot = None
        self._edges = {}
        self._fit()

    def show_starts(self, product_id: str) -> None:
        """Show the starts of a product; an empty id shows none."""
        self._product_id = product_id
        self.update()

    def show_now(self, now: datetime) -> None:
        """Move the now-line."""
        self._now = now
        self.update()

    def choose(self, row_ix: int) -> None:
        """Choose a row without telling anybody."""
        self._row_ix = min(max(row_ix, 0), max(len(self._rows) - 1, 0))
        self.update()

    def sizeHint(self) -> QSize:
        """Return a size with rows of middling height."""
        look = self._look
        head = look.line_px + 8 if look else 24
        return QSize(700, int(head + 84 * max(len(self._rows), 1)))

    def _fit(self) -> None:
        if self._look:
            self.setMinimumHeight(int(self._head_px + LEAST_PX * max(len(self._rows), 1)))
        self.updateGeometry()
        self.update()

    # Places

    @property
    def _head_px(self) -> float:
        return self._look.line_px + 8 if self._look else 24.0

    @property
    def _row_px(self) -> float:
        room = (self.height() - self._head_px) / max(len(self._rows), 1)
        return min(max(room, LEAST_PX), MOST_PX)

    def _x(self, hour: float) -> float:
        first, after = self._hours
        return PANE_PX + (hour - first) / (after - first) * (self.width() - PANE_PX)

    def _hour(self, slot: float, row: FanRow) -> float:
        """Return the local hour of a slot, counted from the midnight that its row's day begins with."""
        grid = self._grid
        if grid is None:
            return 0.0
        at = (grid.at(0) + timedelta(minutes=grid.slot_min * slot)).astimezone(grid.zone)
        days = (at.date() - grid.local(row.first_slot).date()).days
        return 24.0 * days + at.hour + at.minute / 60 + at.second / 3600

    def _slot_x(self, slot: float, row: FanRow) -> float:
        return self._x(self._hour(slot, row))

    def _edges_px(self, row: FanRow) -> list[float]:
        """Return where each slot of a row begins, and where the last one ends."""
        if row.key not in self._edges:
            slots = range(row.first_slot, row.first_slot + int(row.heat_kw.shape[1]))
            hours = [self._hour(slot, row) for slot in slots]
            self._edges[row.key] = [*hours, self._hour(slots.stop - 1e-6, row)]
        return [self._x(hour) for hour in self._edges[row.key]]

    def _slot_at(self, x_px: float, row: FanRow) -> int | None:
        """Return the slot of a row under a place across, None beside the chart."""
        if self._grid is None or x_px < PANE_PX:
            return None
        n_slots = int(row.heat_kw.shape[1])
        return row.first_slot + min(max(bisect_right(self._edges_px(row), x_px) - 1, 0), n_slots - 1)

    def reading(self, row: FanRow, slot: int) -> str:
        """Return what a row says of a slot, in words."""
        if self._grid is None:
            return ""
        low, likely, high = (decimal_text(float(kw), 0) for kw in row.heat_kw[:, slot - row.first_slot])
        return self.tr("{title}, {at}: {likely} kW ({low} to {high})").format(
            title=row.title, at=clock_text(self._grid.local(slot)), likely=likely, low=low, high=high
        )

    # Mouse, keys, screen readers

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the row under the pointer and read the heat off there."""
        ix = int((event.position().y() - self._head_px) // self._row_px)
        if 0 <= ix < len(self._rows):
            self._read_slot = self._slot_at(event.position().x(), self._rows[ix])
            self._take(ix)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and down choose a row, left and right move the reading line, Escape takes it away."""
        key = event.key()
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and self._rows:
            self._take(self._row_ix + (1 if key == Qt.Key.Key_Down else -1))
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right) and self._rows:
            row = self._rows[self._row_ix]
            step = READ_STEP_SLOTS if key == Qt.Key.Key_Right else -READ_STEP_SLOTS
            noon = row.first_slot + row.heat_kw.shape[1] // 2
            wanted = noon if self._read_slot is None else self._read_slot + step
            self._read_slot = min(max(wanted, row.first_slot), row.first_slot + row.heat_kw.shape[1] - 1)
            self._say(self.reading(row, self._read_slot))
            self.update()
        elif key == Qt.Key.Key_Escape and self._read_slot is not None:
            self._read_slot = None
            self.update()
        else:
            super().keyPressEvent(event)

    def _take(self, row_ix: int) -> None:
        before = self._rows[self._row_ix]
        self.choose(row_ix)
        row = self._rows[self._row_ix]
        if self._read_slot is not None and row is not before:  # the same time of the other row's day
            ix = min(max(self._read_slot - before.first_slot, 0), row.heat_kw.shape[1] - 1)
            stays = row.first_slot <= self._read_slot < row.first_slot + row.heat_kw.shape[1]
            self._read_slot = self._read_slot if stays else row.first_slot + ix
        self._say(row.sentence)
        self.chosen.emit(self._row_ix)

    def _say(self, text: str) -> None:
        self.setAccessibleDescription(text)
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, text))

    def event(self, event: QEvent) -> bool:
        """Answer the pointer's question with the reading, or with the row's sentence beside the chart."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            ix = int((event.pos().y() - self._head_px) // self._row_px)
            if 0 <= ix < len(self._rows):
                row = self._rows[ix]
                slot = self._slot_at(event.pos().x(), row)
                QToolTip.showText(event.globalPos(), row.sentence if slot is None else self.reading(row, slot), self)
            else:
                QToolTip.hideText()
            return True
        return super().event(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show that the keyboard is here."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that it has gone."""
        super().focusOutEvent(event)
        self.update()

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the axis and the rows that are in view."""
        painter = QPainter(self)
        look = self._look
        if look and self._grid:
            painter.fillRect(event.rect(), QColor(look.colors.window))
            self._paint_hours(painter, look)
            for ix, row in enumerate(self._rows):
                top = self._head_px + ix * self._row_px
                if top <= event.rect().bottom() and top + self._row_px >= event.rect().top():
                    self._paint_row(painter, look, row, top, is_chosen=ix == self._row_ix)
        painter.end()

    def _ticks(self, look: Look) -> list[float]:
        first, after = self._hours
        px_per_min = (self.width() - PANE_PX) / ((after - first) * 60)
        room_px = look.metrics.horizontalAdvance(hour_text(time(20))) + 14
        step = next((step for step in STEPS_MIN if step >= 60 and step * px_per_min >= room_px), 720) / 60
        hours = np.arange(np.ceil(first / step) * step, after + 1e-9, step)
        return [float(hour) for hour in hours if 0 <= hour < 24]

    def _paint_hours(self, painter: QPainter, look: Look) -> None:
        painter.setFont(look.font)
        for hour in self._ticks(look):
            label = hour_text(time(int(hour), round(hour % 1 * 60)))
            wide, x = look.metrics.horizontalAdvance(label), self._x(hour)
            if x - wide / 2 > PANE_PX - 20 and x + wide / 2 < self.width() - 2:
                painter.setPen(look.text)
                painter.drawText(QPointF(x - wide / 2, 3 + look.metrics.ascent()), label)

    def _paint_row(self, painter: QPainter, look: Look, row: FanRow, top: float, *, is_chosen: bool) -> None:
        colors = look.colors
        whole = QRectF(PANE_PX, top + 2, self.width() - PANE_PX - 1, self._row_px - 4)
        base = whole.bottom() - look.line_px - 2
        room = base - whole.top() - 4
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.fillRect(whole, QColor(colors.base))
        if is_chosen:
            painter.fillRect(QRectF(0, whole.top(), PANE_PX, whole.height()), look.chosen)
        painter.setPen(QPen(QColor(colors.rule), 1))
        painter.drawLines([QLineF(x, whole.top(), x, base) for x in map(self._x, self._ticks(look))])
        painter.save()
        painter.setClipRect(whole)
        self._paint_fan(painter, look, row, base, room)
        for told, brush in (
            *((told, look.down) for told in row.by_hand),
            *((told, QBrush(QColor(colors.frame), Qt.BrushStyle.VerPattern)) for told in row.stow),
        ):
            self._paint_told(painter, look, row, told, brush, QRectF(0, whole.top(), 0, base - whole.top()))
        if self._product_id in row.starts:
            self._paint_starts(painter, look, row, row.starts[self._product_id], base, room)
        elif self._product_id:
            painter.setPen(look.dim)
            painter.setFont(look.font)
            painter.drawText(QPointF(PANE_PX + 6, base + 1 + look.metrics.ascent()), self.tr("no safe start"))
        self._paint_lines(painter, look, row, whole.top(), base)
        painter.restore()
        painter.setPen(QPen(QColor(colors.frame), 1))
        painter.drawLine(QPointF(PANE_PX, base), QPointF(whole.right(), base))
        if is_chosen:
            painter.setPen(look.accent if self.hasFocus() else QPen(QColor(colors.accent), 1.5))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(1.5, whole.top(), self.width() - 3, whole.height()))
        self._paint_pane(painter, look, row, whole)

    def _paint_pane(self, painter: QPainter, look: Look, row: FanRow, whole: QRectF) -> None:
        rows = ((look.bold, look.text, row.title), (look.font, look.dim, row.note))
        for line, (font, color, text) in enumerate(rows):
            painter.setFont(font)
            painter.setPen(color)
            y = whole.top() + 2 + line * look.line_px + look.metrics.ascent()
            painter.drawText(QPointF(8, y), look.elided(text, PANE_PX - 14))
        label = self.tr("{kw} kW").format(kw=decimal_text(self._full_kw, 0))
        painter.setFont(look.font)
        painter.setPen(look.dim)
        left = PANE_PX - 6 - look.metrics.horizontalAdvance(label)
        painter.drawText(QPointF(left, whole.top() + 2 + look.metrics.ascent()), label)

    def _paint_fan(self, painter: QPainter, look: Look, row: FanRow, base: float, room: float) -> None:
        lit = np.flatnonzero(row.heat_kw[2] > 0)
        if not len(lit):
            return
        colors = look.colors
        curves: list[list[QPointF]] = [[], [], []]
        edges = self._edges_px(row)
        for ix in range(int(lit[0]), int(lit[-1]) + 1):
            left, right = edges[ix], edges[ix + 1]
            for curve, kw in zip(curves, row.heat_kw[:, ix].tolist(), strict=True):
                y = base - kw / self._full_kw * room
                curve += [QPointF(left, y), QPointF(right, y)]
        low, likely, high = curves
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colors.band))
        painter.drawPolygon(QPolygonF([*high, *reversed(low)]))
        painter.setPen(QPen(QColor(colors.band_edge), 1.0))
        painter.drawPolyline(QPolygonF(high))
        painter.drawPolyline(QPolygonF(low))
        painter.setPen(QPen(QColor(colors.likely), 2.0))
        painter.drawPolyline(QPolygonF(likely))

    def _paint_told(self, painter: QPainter, look: Look, row: FanRow, told: Told, brush: QBrush, room: QRectF) -> None:
        left, right = self._slot_x(told.first_slot, row), self._slot_x(told.after_slot, row)
        area = QRectF(left, room.top(), right - left, room.height())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setPen(QPen(QColor(look.colors.frame), 1))
        painter.setBrush(brush)
        painter.drawRect(area)
        seen = area.intersected(QRectF(PANE_PX, room.top(), self.width() - PANE_PX, room.height()))
        text = look.fitting(told.texts, seen.width() - 14)
        if text:
            plate = QRectF(seen.left() + 3, seen.top() + 2, look.metrics.horizontalAdvance(text) + 8, look.line_px + 2)
            painter.fillRect(plate, QColor(look.colors.base))
            painter.setPen(look.text)
            painter.setFont(look.font)
            painter.drawText(QPointF(plate.left() + 4, plate.top() + 1 + look.metrics.ascent()), text)

    def _paint_starts(
        self, painter: QPainter, look: Look, row: FanRow, starts: Starts, base: float, room: float
    ) -> None:
        """Draw the bracket under the base, the post of the latest safe start through the fan, and the words."""
        first, last = self._slot_x(starts.first_slot, row), self._slot_x(starts.last_slot, row)
        middle, metrics = base + 2 + look.line_px / 2, look.metrics
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setFont(look.font)
        painter.setPen(QPen(look.text, 1.5))
        painter.drawLine(QPointF(first, base + 1), QPointF(first, base + look.line_px))
        painter.setPen(QPen(look.text, 3.0))
        painter.drawLine(QPointF(last, base + look.line_px), QPointF(last, base - room * 0.55))
        painter.drawLine(QPointF(last, base - room * 0.55), QPointF(last - 7, base - room * 0.55))
        painter.setPen(look.text)
        y = base + 1 + metrics.ascent()
        cooks = metrics.horizontalAdvance(starts.cooks)
        gap = (first + last - cooks) / 2 - 5
        inside = last - first > cooks + 24
        pen = QPen(look.text, 1.5)
        painter.setPen(pen)
        if inside:
            painter.drawText(QPointF(gap + 5, y), starts.cooks)
            painter.drawLine(QPointF(first, middle), QPointF(gap, middle))
            painter.drawLine(QPointF(gap + cooks + 10, middle), QPointF(last, middle))
        else:
            painter.drawLine(QPointF(first, middle), QPointF(last, middle))
        before = first - metrics.horizontalAdvance(starts.first) - 5
        if before > PANE_PX:
            painter.drawText(QPointF(before, y), starts.first)
        after = starts.last if inside else f"{starts.last} · {starts.cooks}"
        if last + 6 + metrics.horizontalAdvance(after) < self.width():
            painter.drawText(QPointF(last + 6, y), after)
        else:
            painter.drawText(QPointF(last - 6 - metrics.horizontalAdvance(starts.last), y), starts.last)

    def _paint_lines(self, painter: QPainter, look: Look, row: FanRow, top: float, base: float) -> None:
        """Draw the now-line, and the line that reads the chosen row off with its words."""
        grid = self._grid
        if grid is None:
            return
        end_slot = row.first_slot + row.heat_kw.shape[1]
        if self._now is not None and row.first_slot <= grid.slot(self._now) < end_slot:
            x = self._slot_x((self._now - grid.start_at) / timedelta(minutes=grid.slot_min), row)
            painter.setPen(QPen(look.text, 2))
            painter.drawLine(QPointF(x, top), QPointF(x, base))
        if self._read_slot is None or not row.first_slot <= self._read_slot < end_slot:
            return
        x = self._slot_x(self._read_slot + 0.5, row)
        painter.setPen(QPen(QColor(look.colors.accent), 1.5, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(x, top), QPointF(x, base))
        if self._rows[self._row_ix] is row:
            text = self.reading(row, self._read_slot)
            wide = look.metrics.horizontalAdvance(text) + 10
            plate = QRectF(min(x + 4, self.width() - wide - 2), top + 2, wide, look.line_px + 2)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(look.text)
            painter.drawRoundedRect(plate, 3, 3)
            painter.setPen(QColor(look.colors.base))
            painter.setFont(look.font)
            painter.drawText(QPointF(plate.left() + 5, plate.top() + 1 + look.metrics.ascent()), text)
