"""Bar charts of tables: stacked bars told apart by hatch as well as tone, with marks and spans; read by keys too."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10
from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QEvent, QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QBrush,
    QColor,
    QFocusEvent,
    QFont,
    QFontMetricsF,
    QHelpEvent,
    QImage,
    QImageWriter,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtSvg import QSvgGenerator
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from yardplan.ui.dates import decimal_text
from yardplan.ui.look import Look
from yardplan.ui.palette import LIGHT
from yardplan.ui.picture import write_drawn

SAVED_PX = (960, 480)
SAVED_SCALE = 2
"""Dots of a saved picture for each pixel of its size."""

PLOT_PX = 170.0
ROW_PX_MORE = 8.0
GAP_PX = 8.0


@dataclass(frozen=True)
class Tone:
    """How a series is filled: a role of the palette and a hatch that tells it apart without color."""

    role: str
    hatch: Qt.BrushStyle = Qt.BrushStyle.SolidPattern


@dataclass(frozen=True)
class Series:
    """Heights of one kind of bar, one for each label."""

    name: str
    values: tuple[float, ...]
    tone: Tone


@dataclass(frozen=True)
class ChartData:
    """What a chart shows.

    Attributes
    ----------
    labels : tuple of str
        What each bar is of.
    stacked : tuple of Series
        From the axis on outward.
    unit : str
        What the axis counts, in a few letters.
    marks : Series or None
        A tick across each bar, such as what was planned.
    spans : tuple of (float, float)
        From where to where each value may be by chance; empty, or one for each label.
    line : float or None
        A value that is drawn all across.
    lies : bool
        Bars lie, with their labels beside them; for words and long lists.
    digits : int
        Digits after the point when values are read.
    """

    title: str
    labels: tuple[str, ...]
    stacked: tuple[Series, ...]
    unit: str
    marks: Series | None = None
    spans: tuple[tuple[float, float], ...] = ()
    line: float | None = None
    lies: bool = False
    digits: int = 0

    @property
    def top(self) -> float:
        """The highest value that is drawn."""
        sums = [sum(series.values[ix] for series in self.stacked) for ix in range(len(self.labels))]
        marks = self.marks.values if self.marks else ()
        return max((*sums, *marks, *(high for _, high in self.spans), self.line or 0.0), default=0.0)

    def read(self, ix: int) -> str:
        """Return one bar with all its values in a sentence."""
        series = [*self.stacked, *([self.marks] if self.marks else [])]
        told = [f"{one.name} {decimal_text(one.values[ix], self.digits)}" for one in series if one.values[ix]]
        if self.spans:
            low, high = self.spans[ix]
            told.append(f"{decimal_text(low, self.digits)} – {decimal_text(high, self.digits)}")
        zero = decimal_text(0, self.digits)
        return f"{self.labels[ix]}: {', '.join(told) or zero} {self.unit}".rstrip()


def nice_ticks(top: float, count: int = 5) -> tuple[float, ...]:
    """Return round values from 0 to at least `top`, some `count` of them, a step of 1, 2 or 5 times a power of ten."""
    if top <= 0:
        return (0.0, 1.0)
    rough = top / count
    power = 10.0 ** floor(log10(rough))
    step = next(step for step in (power, 2 * power, 5 * power, 10 * power) if step >= rough * 0.999)
    return tuple(step * ix for ix in range(ceil(top / step - 1e-9) + 1))


class Chart(QWidget):
    """One chart; the arrows move a mark from bar to bar and tell its values."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._data: ChartData | None = None
        self._look: Look | None = None
        self._at = -1
        self.setObjectName(f"chart_{name}")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def data(self) -> ChartData | None:
        """What is shown."""
        return self._data

    @property
    def reading(self) -> str:
        """The sentence of the bar that is marked, empty where none is."""
        return self._data.read(self._at) if self._data and 0 <= self._at < len(self._data.labels) else ""

    def show_data(self, data: ChartData) -> None:
        """Show a table."""
        self._data, self._at = data, -1
        self.setAccessibleName(data.title)
        self.setAccessibleDescription("; ".join(data.read(ix) for ix in range(len(data.labels))))
        self.updateGeometry()
        self.update()

    def show_look(self, look: Look) -> None:
        """Take new fonts and colors."""
        self._look = look
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Return the height that all of it takes."""
        return QSize(420, self.minimumSizeHint().height())

    def minimumSizeHint(self) -> QSize:
        """Return the least size in which all can be read."""
        return QSize(280, ceil(_height_px(self._data, self._look)) if self._data and self._look else 120)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it."""
        if self._data is None or self._look is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        _Drawing(self._data, self._look, QRectF(self.rect())).paint(painter, self._at if self.hasFocus() else -1)

    # Reading

    def _move(self, to: int) -> None:
        if self._data is None or not self._data.labels:
            return
        self._at = min(max(to, 0), len(self._data.labels) - 1)
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, self.reading))
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows go from bar to bar, Home and End to the first and the last, Escape gives up."""
        key = event.key()
        if key in (Qt.Key.Key_Right, Qt.Key.Key_Down):
            self._move(self._at + 1)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Up):
            self._move(self._at - 1)
        elif key == Qt.Key.Key_Home:
            self._move(0)
        elif key == Qt.Key.Key_End:
            self._move(len(self._data.labels) if self._data else 0)
        elif key == Qt.Key.Key_Escape and self._at >= 0:
            self._at = -1
            self.update()
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Mark the bar under the pointer."""
        at = self._bar_at(event.position())
        if at >= 0:
            self._move(at)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Mark the first bar, so that keys have a place to begin."""
        super().focusInEvent(event)
        if self._at < 0:
            self._move(0)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Take the mark away."""
        super().focusOutEvent(event)
        self.update()

    def event(self, event: QEvent) -> bool:
        """Tell at the pointer what a bar says."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent) and self._data is not None:
            at = self._bar_at(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), self._data.read(at) if at >= 0 else "", self)
            return True
        return super().event(event)

    def _bar_at(self, place: QPointF) -> int:
        if self._data is None or self._look is None:
            return -1
        return _Drawing(self._data, self._look, QRectF(self.rect())).bar_at(place)


class _Drawing:
    """Where everything of a chart goes in a rectangle."""

    def __init__(self, data: ChartData, look: Look, rect: QRectF) -> None:
        self._data, self._look = data, look
        self._ticks = nice_ticks(data.top, 4 if data.lies else 5)
        self._digits = max(0, -floor(log10(self._ticks[1]) + 1e-9)) if len(self._ticks) > 1 else 0
        line, metrics = look.line_px, look.metrics
        head = line * (1 + len(_legend_lines(data, look, rect.width()))) + 2 * GAP_PX
        if data.lies:
            widest = max((metrics.horizontalAdvance(label) for label in data.labels), default=0.0)
            left, foot = min(widest + GAP_PX, rect.width() * 0.45), line + GAP_PX
        else:
            widest = max(metrics.horizontalAdvance(self._tick_text(tick)) for tick in self._ticks)
            left, foot = widest + GAP_PX, line + 4
        self._rect = rect
        self._plot = rect.adjusted(left + 2, head, -GAP_PX - 4, -foot)

    def paint(self, painter: QPainter, marked: int) -> None:
        data, look = self._data, self._look
        painter.setPen(look.text)
        painter.setFont(look.bold)
        baseline = self._rect.top() + look.metrics.ascent()
        title = f"{data.title} [{data.unit}]" if data.unit else data.title
        bold = QFontMetricsF(look.bold)
        painter.drawText(
            QPointF(self._rect.left(), baseline),
            bold.elidedText(title, Qt.TextElideMode.ElideRight, self._rect.width()),
        )
        painter.setFont(look.font)
        self._paint_legend(painter)
        self._paint_axis(painter)
        for ix in range(len(data.labels)):
            self._paint_bar(painter, ix)
        if data.line is not None:
            painter.setPen(QPen(look.accent.color(), 1.5, Qt.PenStyle.DashLine))
            painter.drawLine(self._across(data.line))
        if 0 <= marked < len(data.labels):
            painter.setPen(look.accent)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self._slot(marked))

    def bar_at(self, place: QPointF) -> int:
        return next((ix for ix in range(len(self._data.labels)) if self._slot(ix).contains(place)), -1)

    def _tick_text(self, value: float) -> str:
        return decimal_text(value, self._digits)

    def _slot(self, ix: int) -> QRectF:
        plot, count = self._plot, len(self._data.labels)
        if self._data.lies:
            step = plot.height() / count
            return QRectF(plot.left(), plot.top() + ix * step, plot.width(), step)
        step = plot.width() / count
        return QRectF(plot.left() + ix * step, plot.top(), step, plot.height())

    def _place(self, value: float) -> float:
        share = value / self._ticks[-1]
        if self._data.lies:
            return self._plot.left() + share * self._plot.width()
        return self._plot.bottom() - share * self._plot.height()

    def _across(self, value: float) -> QLineF:
        at, plot = self._place(value), self._plot
        if self._data.lies:
            return QLineF(at, plot.top(), at, plot.bottom())
        return QLineF(plot.left(), at, plot.right(), at)

    def _paint_axis(self, painter: QPainter) -> None:
        look, plot = self._look, self._plot
        rule = QPen(QColor(look.colors.rule), 1)
        for tick in self._ticks:
            painter.setPen(rule)
            painter.drawLine(self._across(tick))
            painter.setPen(look.text)
            text = self._tick_text(tick)
            width, at = look.metrics.horizontalAdvance(text), self._place(tick)
            if self._data.lies:
                place = QPointF(
                    min(at - width / 2, self._rect.right() - width), plot.bottom() + look.metrics.ascent() + 4
                )
            else:
                place = QPointF(plot.left() - width - 6, at + look.metrics.ascent() / 2 - 2)
            painter.drawText(place, text)
        self._paint_labels(painter)

    def _paint_labels(self, painter: QPainter) -> None:
        look, plot, labels = self._look, self._plot, self._data.labels
        if self._data.lies:
            width = plot.left() - self._rect.left() - GAP_PX
            for ix, label in enumerate(labels):
                middle = self._slot(ix).center().y()
                at = QPointF(self._rect.left(), middle + look.metrics.ascent() / 2 - 2)
                painter.drawText(at, look.elided(label, width))
            return
        widest = max((look.metrics.horizontalAdvance(label) for label in labels), default=0.0) + GAP_PX
        each = max(1, ceil(widest * len(labels) / max(plot.width(), 1)))
        free = self._rect.left()
        for ix in range(0, len(labels), each):
            width = look.metrics.horizontalAdvance(labels[ix])
            middle = self._slot(ix).center().x()
            left = min(max(middle - width / 2, self._rect.left()), self._rect.right() - width)
            if left < free:
                continue
            free = left + width + GAP_PX / 2
            painter.drawText(QPointF(left, plot.bottom() + look.metrics.ascent() + 3), labels[ix])

    def _paint_bar(self, painter: QPainter, ix: int) -> None:
        slot, look, data = self._slot(ix), self._look, self._data
        thick = min((slot.height() if data.lies else slot.width()) * 0.72, 34.0)
        start = 0.0
        for series in data.stacked:
            end = start + series.values[ix]
            if end > start:
                _fill(painter, self._bar(slot, thick, start, end), series.tone, look)
            start = end
        painter.setPen(look.post)
        if data.spans:
            low, high = data.spans[ix]
            painter.drawLine(self._along(slot, low, high))
            for edge in (low, high):
                painter.drawLine(self._tick(slot, edge, 8.0))
        if data.marks and data.marks.values[ix]:
            painter.setPen(look.thick)
            painter.drawLine(self._tick(slot, data.marks.values[ix], thick + 6))

    def _bar(self, slot: QRectF, thick: float, start: float, end: float) -> QRectF:
        first, after = self._place(start), self._place(end)
        if self._data.lies:
            return QRectF(first, slot.center().y() - thick / 2, after - first, thick)
        return QRectF(slot.center().x() - thick / 2, after, thick, first - after)

    def _along(self, slot: QRectF, low: float, high: float) -> QLineF:
        first, after, middle = self._place(low), self._place(high), slot.center()
        if self._data.lies:
            return QLineF(first, middle.y(), after, middle.y())
        return QLineF(middle.x(), first, middle.x(), after)

    def _tick(self, slot: QRectF, value: float, length: float) -> QLineF:
        at, middle, half = self._place(value), slot.center(), length / 2
        if self._data.lies:
            return QLineF(at, middle.y() - half, at, middle.y() + half)
        return QLineF(middle.x() - half, at, middle.x() + half, at)

    def _paint_legend(self, painter: QPainter) -> None:
        look = self._look
        top = self._rect.top() + look.line_px + GAP_PX / 2
        for entries in _legend_lines(self._data, look, self._rect.width()):
            left = self._rect.left()
            for series in entries:
                box = QRectF(left, top + 3, 18, look.line_px - 6)
                if series is self._data.marks:
                    painter.setPen(look.thick)
                    painter.drawLine(QLineF(left, box.center().y(), left + 18, box.center().y()))
                else:
                    _fill(painter, box, series.tone, look)
                painter.setPen(look.text)
                painter.drawText(QPointF(left + 23, top + look.metrics.ascent()), series.name)
                left += _entry_px(series, look)
            top += look.line_px


def _entry_px(series: Series, look: Look) -> float:
    return 23 + look.metrics.horizontalAdvance(series.name) + 2 * GAP_PX


def _legend_lines(data: ChartData, look: Look, width_px: float) -> list[list[Series]]:
    """Break the legend into lines; a single series is told by the title already."""
    entries = [*data.stacked, *([data.marks] if data.marks else [])]
    lines: list[list[Series]] = []
    left = width_px
    for series in entries if len(entries) > 1 else []:
        needed = _entry_px(series, look)
        if not lines or left < needed:
            lines.append([])
            left = width_px
        lines[-1].append(series)
        left -= needed
    return lines


def _height_px(data: ChartData, look: Look) -> float:
    lines = len(_legend_lines(data, look, 420.0))
    head_and_foot = look.line_px * (2 + lines) + 4 * GAP_PX
    return head_and_foot + (max(len(data.labels), 1) * (look.line_px + ROW_PX_MORE) if data.lies else PLOT_PX)


def _fill(painter: QPainter, rect: QRectF, tone: Tone, look: Look) -> None:
    """Fill a box: on its ground a hatch or the whole in its tone, and an edge."""
    painter.fillRect(rect, look.base)
    color = QColor(getattr(look.colors, tone.role))
    hatch = tone.hatch
    if look.colors.heat_hatched and tone.role == "heat":
        hatch = Qt.BrushStyle.Dense3Pattern
    painter.setPen(QPen(look.frame.color(), 1))
    painter.setBrush(QBrush(color, hatch))
    painter.drawRect(rect)


def _paint_saved(painter: QPainter, data: ChartData, size: Sequence[int], look: Look) -> None:
    painter.fillRect(QRectF(0, 0, *size), look.base)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _Drawing(data, look, QRectF(16, 12, size[0] - 32, size[1] - 24)).paint(painter, -1)


def save_chart(path: Path, data: ChartData, font: QFont) -> None:
    """Write a chart as SVG or PNG, by the ending of the name, in the light palette.

    Raises
    ------
    CannotWrite
        If the file cannot be written.
    """
    look = Look(LIGHT, font)
    height = max(SAVED_PX[1], ceil(_height_px(data, look)) + 24)
    size, drawn = (SAVED_PX[0], height), QBuffer()
    drawn.open(QBuffer.OpenModeFlag.WriteOnly)
    if path.suffix.lower() == ".svg":
        generator = QSvgGenerator()
        generator.setOutputDevice(drawn)
        generator.setSize(QSize(*size))
        generator.setViewBox(QRectF(0, 0, *size))
        generator.setTitle(data.title)
        painter = QPainter(generator)
        _paint_saved(painter, data, size, look)
        painter.end()
    else:
        image = QImage(size[0] * SAVED_SCALE, size[1] * SAVED_SCALE, QImage.Format.Format_RGB32)
        painter = QPainter(image)
        painter.scale(SAVED_SCALE, SAVED_SCALE)
        _paint_saved(painter, data, size, look)
        painter.end()
        QImageWriter(drawn, QByteArray(b"png")).write(image)
    write_drawn(path, drawn)
