"""What stands on the rows of the board: cycles, mold changes, jobs of people and benches, times out of work.

A cycle is shaped like the air temperature inside its mold: it rises while the sun heats (solid, with an edge and a cap
at the peak), falls while it cools (hatched) and lies low while people handle it (outlined, a post for each person).
The shape is a drawing, not a measured trace; its corners stand at the planned times.

Scene coordinates are slots across and pixels down. Each mark undoes the scale across when it paints, so that text,
hatches and glyphs keep their size at every zoom, and keeps what it worked out until the zoom changes.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from math import exp, log

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from yardplan.domain.plan import Cycle
from yardplan.ui.look import Look

BEND = 2.2
"""How quickly the drawn temperature curves bend; for looks only."""
HATCH_PX = 4
FLAG_PX = 13.0
POST_PX = 7.0
FULL_PX, PLAIN_PX = 20, 3.5
"""Narrower shapes lose edges, hatch and posts, then all but a block."""


class Mood(Enum):
    """How a mark stands out."""

    PLAIN = 0
    DIMMED = 1
    RELATED = 2
    CHOSEN = 3


@dataclass(frozen=True)
class Spot:
    """Where a mark stands and what it belongs to.

    `key` is unique on the board; `tell` returns the sentence for tool tips and screen readers; `cycle_id` and
    `order_id` are empty where the mark belongs to none.
    """

    key: tuple[str, str]
    start_slot: float
    end_slot: float
    top_px: float
    height_px: float
    tell: Callable[[], str]
    cycle_id: str = ""
    order_id: str = ""
    locked: bool = False


class Mark(QGraphicsItem):
    """Something with a start and an end on a row; painted in pixels at any zoom."""

    def __init__(self, look: Look, spot: Spot) -> None:
        super().__init__()
        self.look, self.spot = look, spot
        self.mood = Mood.PLAIN
        self._box = QRectF(0, 0, max(spot.end_slot - spot.start_slot, 0.2), spot.height_px)
        self._prepared = (0.0, 0.0, 0.0)
        self.left_px = self.right_px = 0.0
        self.setPos(spot.start_slot, spot.top_px)

    @property
    def name(self) -> str:
        """The sentence for tool tips and screen readers."""
        return self.spot.tell()

    def set_mood(self, mood: Mood) -> None:
        """Make the mark stand out or step back."""
        if mood is not self.mood:
            self.mood = mood
            self.setOpacity(0.3 if mood is Mood.DIMMED else 1.0)
            self.setZValue(1 if mood in (Mood.CHOSEN, Mood.RELATED) else 0)
            self.update()

    def boundingRect(self) -> QRectF:
        """Return the mark's place in slots and pixels."""
        return self._box

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        """Undo the scale across and draw in pixels."""
        transform = painter.worldTransform()
        scale = transform.m11() / transform.m22()
        width_px = self.ready(scale)
        painter.scale(1 / scale, 1)
        if self.mood is Mood.CHOSEN:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(self.look.chosen)
            painter.drawRoundedRect(QRectF(1, 1, max(width_px - 2, 1), self.spot.height_px - 2), 3, 3)
        self.draw(painter, width_px)
        if self.mood in (Mood.CHOSEN, Mood.RELATED):
            painter.setPen(self.look.accent if self.mood is Mood.CHOSEN else self.look.related)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(1.2, 1.2, max(width_px - 2.4, 1), self.spot.height_px - 2.4), 3, 3)

    def ready(self, px_per_slot: float) -> float:
        """Work out what a zoom asks, unless that is known already; returns the mark's width [px]."""
        width_px = self._box.width() * px_per_slot
        self.left_px, self.right_px = self._seen_px(px_per_slot, width_px)
        if self._prepared != (px_per_slot, self.left_px, self.right_px):
            self._prepared = (px_per_slot, self.left_px, self.right_px)
            self.prepare(width_px, px_per_slot)
        return width_px

    def _seen_px(self, scale: float, width_px: float) -> tuple[float, float]:
        """Return which part of the mark is in view; words keep to it."""
        seen = getattr(self.scene(), "seen_slots", None)
        if seen is None:
            return 0.0, width_px
        left, right = (seen[0] - self.spot.start_slot) * scale, (seen[1] - self.spot.start_slot) * scale
        return max(left, 0.0), max(min(right, width_px), 0.0)

    def prepare(self, width_px: float, px_per_slot: float) -> None:
        """Work out what depends on the zoom, and on which part is in view, only."""

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw in pixels, the mark's left upper corner at the origin."""
        raise NotImplementedError

    def text(self, painter: QPainter, x_px: float, y_px: float, text: str) -> None:
        """Draw a line of text whose top is at `y_px`."""
        painter.setPen(self.look.text)
        painter.setFont(self.look.font)
        painter.drawText(QPointF(x_px, y_px + self.look.metrics.ascent()), text)


class CycleMark(Mark):
    """A cycle in its chamber's row.

    `labels` go from the longest to the shortest; the first that fits stands above the shape. `tail_slots` are the ends
    of heat [slots from its start] at the cook table's confidences, drawn as a fading tail of ticks at the peak; one
    that reaches past the cycle has no tick at its end. `flagged` says that the order is late or unfinished.
    """

    def __init__(
        self,
        look: Look,
        spot: Spot,
        cycle: Cycle,
        charge_end_slot: int,
        labels: Sequence[str],
        clean_word: str,
        tail_slots: Sequence[int],
        *,
        flagged: bool,
    ) -> None:
        super().__init__(look, spot)
        self._flagged = flagged
        self._labels, self._clean_word = labels, clean_word
        self._tail_slots = tail_slots
        self._n_charge, self._n_demold = len(cycle.charge_crew), len(cycle.demold_crew)
        clean = cycle.charge_slot + cycle.clean_slots
        corners = (
            cycle.charge_slot, clean, charge_end_slot, cycle.heat_slot, cycle.heat_end_slot, cycle.cool_end_slot,
            cycle.demold_slot, cycle.end_slot,
        )  # fmt: skip
        self._corners = [slot - cycle.charge_slot for slot in corners]

    def prepare(self, width_px: float, px_per_slot: float) -> None:
        """Work out the shape and the label."""
        self._x = [slot * px_per_slot for slot in self._corners]
        _, clean, charged, heat, peak, cooled, demold, end = self._x
        base, top = self.spot.height_px - 4.0, self.look.line_px + 7.0
        low = base - 9.0
        self._base, self._top, self._low = base, top, low
        corners = 12 if cooled - heat >= FULL_PX else 4
        steps = [step / corners for step in range(corners + 1)]
        rising = [QPointF(heat + t * (peak - heat), low + _bend(t) * (top - low)) for t in steps]
        falling = [QPointF(peak + t * (cooled - peak), top + _bend(t) * (low - 3 - top)) for t in steps]
        self._heat = QPainterPath()
        self._heat.addPolygon(QPolygonF([QPointF(heat, base), *rising, QPointF(peak, base)]))
        self._heat.closeSubpath()
        self._cool = QPolygonF([*falling, QPointF(cooled, base), QPointF(peak, base)])
        self._hatch = []
        y = base - HATCH_PX
        while y > top + 1:
            reach = 1.0 if y >= low - 3 else _unbend((y - top) / (low - 3 - top))
            self._hatch.append(QLineF(peak, y, peak + reach * (cooled - peak), y))
            y -= HATCH_PX
        self._blocks = [QRectF(clean, low, charged - clean, base - low), QRectF(demold, low, end - demold, base - low)]
        self._posts = [
            QLineF(x + 4 + 4 * ix, base - 2, x + 4 + 4 * ix, low - 4)
            for x, right, count in ((clean, charged, self._n_charge), (demold, end, self._n_demold))
            for ix in range(count)
            if x + 4 + 4 * ix < right - 1
        ]
        self._waits = [
            QLineF(a + 1, base - 1, b - 1, base - 1) for a, b in ((charged, heat), (cooled, demold)) if b - a > 3
        ]
        self._tail = [min(heat + slots * px_per_slot, end - 1) for slots in self._tail_slots]
        taken_px = 4.0 + (13.0 if self.spot.locked else 0.0) + (FLAG_PX if self._flagged else 0.0)
        self._label = self.look.fitting(self._labels, self.right_px - self.left_px - taken_px)
        self._clean = self.look.fitting((self._clean_word,), clean - 4)

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw the temperature shape, from a block when far away to all details when near."""
        look = self.look
        _, clean, _, heat, peak, cooled, _, _ = self._x
        if cooled - heat < PLAIN_PX:
            painter.fillRect(QRectF(heat, self._top, max(peak - heat, 1), self._base - self._top), look.heat)
            painter.fillRect(QRectF(peak, self._low, max(cooled - peak, 1), 2), look.cool_edge.color())
            self._draw_words(painter)
            return
        near = cooled - heat >= FULL_PX
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, near)
        if near:
            painter.setPen(look.frame)
            painter.setBrush(look.handling)
            painter.drawRects(self._blocks)
            painter.setPen(look.cool_line)
            painter.drawLines(self._hatch)
        painter.setPen(look.cool_edge if near else look.cool_line)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolyline(self._cool)
        painter.setPen(look.heat_edge if near else Qt.PenStyle.NoPen)
        painter.setBrush(look.heat)
        painter.drawPath(self._heat)
        if near:
            painter.drawLine(QLineF(peak - 3, self._top, peak + 3, self._top))
            painter.setPen(look.post)
            painter.drawLines(self._posts)
            self._draw_tail(painter)
        if self._waits:
            painter.setPen(look.wait)
            painter.drawLines(self._waits)
        if clean >= PLAIN_PX:
            _bracket(painter, look.frame, 0.5, clean - 0.5, self._low - 2, self._base)
            if self._clean:
                self.text(painter, 3, self._low - look.line_px - 2, self._clean)
        self._draw_words(painter)

    def _draw_words(self, painter: QPainter) -> None:
        look, left = self.look, self.left_px + 3
        if self.spot.locked:
            painter.setPen(look.thick)
            painter.drawLine(QLineF(1.5, self._base + 2, self._x[-1] - 1.5, self._base + 2))
            if self.right_px - self.left_px >= 16:
                draw_padlock(painter, look.text, self.right_px - 12, 3)
        if self._flagged and self.right_px - self.left_px >= FLAG_PX + 3:
            draw_flag(painter, look, left, 3)
            left += FLAG_PX
        if self._label:
            self.text(painter, left, 2, self._label)

    def _draw_tail(self, painter: QPainter) -> None:
        if len(self._tail) < 2 or self._tail[-1] - self._tail[0] < 3:
            return
        y = self._top
        pen = QPen(self.look.heat_edge)
        for left, right, width in zip(self._tail, self._tail[1:], (1.6, 0.8), strict=False):
            pen.setWidthF(width)
            painter.setPen(pen)
            painter.drawLine(QLineF(left, y, right, y))
        pen.setWidthF(1.0)
        painter.setPen(pen)
        painter.drawLines([QLineF(x, y - 3, x, y + 1) for x in self._tail if x < self._x[-1] - 1])


class ChangeMark(Mark):
    """A mold change in its chamber's row: a bracket with words, no fill."""

    def __init__(self, look: Look, spot: Spot, labels: Sequence[str]) -> None:
        super().__init__(look, spot)
        self._labels = labels

    def prepare(self, width_px: float, px_per_slot: float) -> None:
        """Choose the words that fit."""
        self._label = self.look.fitting(self._labels, self.right_px - self.left_px - 6)

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw the bracket and its words."""
        look = self.look
        base = self.spot.height_px - 4.0
        bar = base - look.line_px - 4
        _bracket(painter, QPen(look.frame.color(), 1.6), 1, width_px - 1, bar, base)
        if self._label:
            room = self.right_px - self.left_px - look.metrics.horizontalAdvance(self._label)
            self.text(painter, self.left_px + room / 2, bar + 2, self._label)
        if self.spot.locked:
            painter.setPen(look.thick)
            painter.drawLine(QLineF(1.5, base + 2, width_px - 1.5, base + 2))
            if width_px >= 16:
                draw_padlock(painter, look.text, self.right_px - 12, 3)


class JobStyle(Enum):
    """Texture of a job in a person's or a bench's row."""

    HANDLING = 0
    CHANGE = 1
    FINISH = 2


class JobMark(Mark):
    """A job in the row of a person or a bench: handling outlined, a mold change bracketed, finishing a slab."""

    def __init__(self, look: Look, spot: Spot, style: JobStyle, labels: Sequence[str]) -> None:
        super().__init__(look, spot)
        self._style, self._labels = style, labels

    def prepare(self, width_px: float, px_per_slot: float) -> None:
        """Choose the words that fit."""
        lock_px = 12 if self.spot.locked else 0
        self._label = self.look.fitting(self._labels, self.right_px - self.left_px - 5 - lock_px)

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw the job and its words."""
        look = self.look
        box = QRectF(0.5, 3, max(width_px - 1, 1), self.spot.height_px - 6)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        if self._style is JobStyle.CHANGE:
            _bracket(painter, QPen(look.frame.color(), 1.6), 1, width_px - 1, box.top() + 1, box.bottom())
        else:
            painter.setPen(look.frame)
            painter.setBrush(look.work if self._style is JobStyle.FINISH else look.handling)
            painter.drawRect(box)
        if self._style is JobStyle.FINISH and width_px >= PLAIN_PX:
            painter.fillRect(QRectF(1, box.bottom() - 2.5, width_px - 2, 2.5), look.frame.color())
        if self._label:
            self.text(painter, self.left_px + 3, (self.spot.height_px - look.line_px) / 2 - 0.5, self._label)
        if self.spot.locked and width_px >= 16:
            draw_padlock(painter, look.text, self.right_px - 12, (self.spot.height_px - 11) / 2)


class DownMark(Mark):
    """A time out of work: hatched across, with its reason on a plain plate."""

    def __init__(self, look: Look, spot: Spot, word: str) -> None:
        super().__init__(look, spot)
        self._word = word
        self.setZValue(-1)

    def prepare(self, width_px: float, px_per_slot: float) -> None:
        """Shorten the reason to the width."""
        self._label = self.look.elided(self._word, self.right_px - self.left_px - 16)

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw hatch and plate."""
        look = self.look
        box = QRectF(0.5, 1.5, max(width_px - 1, 1), self.spot.height_px - 3)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.fillRect(box, look.base)
        painter.setPen(look.frame)
        painter.setBrush(look.down)
        painter.drawRect(box)
        if self._label:
            wide = look.metrics.horizontalAdvance(self._label) + 8
            plate = QRectF(self.left_px + 4, (self.spot.height_px - look.line_px) / 2, wide, look.line_px)
            painter.fillRect(plate, look.base)
            self.text(painter, plate.left() + 4, plate.top(), self._label)


class LatestMark(Mark):
    """The latest safe start of a chamber's mold: a post with a crossbar toward what is still safe, and its time."""

    def __init__(self, look: Look, spot: Spot, labels: Sequence[str]) -> None:
        super().__init__(look, spot)
        self.setZValue(2)
        self._labels = labels

    def prepare(self, width_px: float, px_per_slot: float) -> None:
        """Choose the words that fit."""
        self._label = self.look.fitting(self._labels, self.right_px - POST_PX - 4)

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw the post and its words."""
        base, top = self.spot.height_px - 1.0, self.look.line_px + 4  # below the names of cycles
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setPen(self.look.thick)
        painter.drawLine(QLineF(POST_PX, base, POST_PX, top))
        painter.drawLine(QLineF(POST_PX, top, 0, top))
        if self._label:
            self.text(painter, POST_PX + 4, 1, self._label)


def draw_padlock(painter: QPainter, color: QColor, x_px: float, y_px: float) -> None:
    """Draw a padlock, 9 px wide and 11 px high."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.setPen(QPen(color, 1.4))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawArc(QRectF(x_px + 2, y_px, 5, 7), 0, 180 * 16)
    painter.fillRect(QRectF(x_px, y_px + 4, 9, 7), color)


def draw_flag(painter: QPainter, look: Look, x_px: float, y_px: float) -> None:
    """Draw a flag on its pole, 8 px wide and 11 px high."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.setPen(look.flag)
    painter.setBrush(look.action)
    painter.drawPolygon(QPolygonF([QPointF(x_px, y_px), QPointF(x_px + 8, y_px + 3), QPointF(x_px, y_px + 6)]))
    painter.drawLine(QLineF(x_px, y_px, x_px, y_px + 11))


def _bracket(painter: QPainter, pen: QPen, left: float, right: float, top: float, bottom: float) -> None:
    painter.setPen(pen)
    painter.drawLines(
        [QLineF(left, bottom, left, top), QLineF(left, top, right, top), QLineF(right, top, right, bottom)]
    )


def _bend(share: float) -> float:
    return (1 - exp(-BEND * share)) / (1 - exp(-BEND))


def _unbend(level: float) -> float:
    return -log(1 - min(max(level, 0.0), 1.0) * (1 - exp(-BEND))) / BEND
