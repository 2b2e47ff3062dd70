"""The sky and the battery on the board: a day of heat outlook and a day of charge, each one item."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF, QTransform

from yardplan.domain.equipment import Unit
from yardplan.ui.look import Look
from yardplan.ui.marks import Mark, Spot

Levels = NDArray[np.float32]

BAR_PX = (26.0, 8.0)


@dataclass(frozen=True, eq=False)
class HeatBand:
    """Heat of one unit over the scenarios, by slot [kW], and the scale of its ribbon [kW]."""

    low_kw: Levels
    likely_kw: Levels
    high_kw: Levels
    full_kw: float

    @classmethod
    def of(cls, field_kw: Levels) -> "HeatBand":
        """Return the band between P10 and P90 with the P50 line of heat (scenario, slot) [kW]."""
        low, likely, high = np.quantile(field_kw, (0.1, 0.5, 0.9), axis=0).astype(np.float32)
        return cls(low, likely, high, round_scale(float(high.max(initial=0.0))))


def round_scale(most: float) -> float:
    """Return the next of 1, 2, 5 times a power of ten that holds `most`, finer: 1, 1.5, 2, 3, 4, 5, 6, 8."""
    if most <= 0:
        return 1.0
    power = 10.0 ** np.floor(np.log10(most))
    return float(next(step * power for step in (1, 1.5, 2, 3, 4, 5, 6, 8, 10) if step * power >= most * 0.999))


class Ribbon(Mark):
    """One day of curves by slot, with words above them."""

    def __init__(self, look: Look, spot: Spot, words: tuple[str, ...]) -> None:
        super().__init__(look, spot)
        self.setZValue(-2)
        self.words = words
        self.room_px = spot.height_px - look.line_px - 5
        self.base_px = spot.height_px - 3
        self.words_slot = 0
        """Where the words begin, in slots from the day's first."""
        self._curves: list[QPolygonF] | None = None
        self._mapped: list[QPolygonF] = []
        self._label = ""

    def prepare(self, width_px: float, px_per_slot: float) -> None:
        """Stretch the curves and choose the words that fit."""
        if self._curves is None:
            self._curves = self.curves()
        stretch = QTransform.fromScale(px_per_slot, 1)
        self._mapped = [stretch.map(curve) for curve in self._curves]
        self._words_px = max(self.words_slot * px_per_slot, self.left_px + 5)
        self._label = self.look.fitting(self.words, self.right_px - self._words_px - 5)

    def curves(self) -> list[QPolygonF]:
        """Return the curves, slots across; asked for when the day first comes into view."""
        raise NotImplementedError

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw the curves' common base and the words."""
        painter.setPen(QPen(QColor(self.look.colors.rule), 1.0))
        painter.drawLine(QLineF(0, self.base_px, width_px, self.base_px))
        if self._label:
            self.text(painter, self._words_px, 1, self._label)


class HeatRibbon(Ribbon):
    """A day of heat outlook: the band from P10 to P90 and the P50 line."""

    def __init__(self, look: Look, spot: Spot, band: HeatBand, words: tuple[str, ...]) -> None:
        super().__init__(look, spot, words)
        day = slice(int(spot.start_slot), int(spot.end_slot))
        self._levels = [levels[day] / band.full_kw for levels in (band.low_kw, band.likely_kw, band.high_kw)]
        lit = np.flatnonzero(self._levels[-1] > 0)
        self.words_slot, self._dark_slot = (int(lit[0]), int(lit[-1]) + 1) if len(lit) else (0, 0)

    def curves(self) -> list[QPolygonF]:
        """Return the band, its edges and the likely line, from the first heat to the last."""
        low, likely, high = ([*self._steps(levels)] for levels in self._levels)
        return [QPolygonF(row) for row in ([*high, *reversed(low)], high, low, likely)]

    def _steps(self, levels: Levels) -> Iterator[QPointF]:
        first, after = self.words_slot, self._dark_slot
        for slot, y in enumerate((self.base_px - levels[first:after] * self.room_px).tolist(), first):
            yield QPointF(slot, y)
            yield QPointF(slot + 1, y)

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw the band, its edges and the likely line."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        if self._dark_slot:
            area, high, low, likely = self._mapped
            colors = self.look.colors
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(colors.band))
            painter.drawPolygon(area)
            painter.setPen(QPen(QColor(colors.band_edge), 1.0))
            painter.drawPolyline(high)
            painter.drawPolyline(low)
            painter.setPen(QPen(QColor(colors.likely), 2.0))
            painter.drawPolyline(likely)
        super().draw(painter, width_px)


class BatteryRibbon(Ribbon):
    """A day of battery charge before finishing: the line over a hatched floor that is never spent."""

    def __init__(self, look: Look, spot: Spot, charge_kwh: Levels, unit: Unit) -> None:
        super().__init__(look, spot, ())
        self._full_kwh = max(unit.battery_kwh, 1e-6)
        # The first charge of the next day closes the line.
        self._charge_kwh = charge_kwh[int(spot.start_slot) : int(spot.end_slot) + 1]
        self._floor_px = unit.reserve_kwh / self._full_kwh * self.room_px

    def curves(self) -> list[QPolygonF]:
        """Return the area under the charge and its line."""
        ys = (self.base_px - self._charge_kwh / self._full_kwh * self.room_px).tolist()
        line = [QPointF(slot, y) for slot, y in enumerate(ys)]
        return [QPolygonF([QPointF(0, self.base_px), *line, QPointF(len(line) - 1, self.base_px)]), QPolygonF(line)]

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw the area under the charge, the floor and the line."""
        colors = self.look.colors
        area, line = self._mapped
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colors.charge))
        painter.drawPolygon(area)
        floor = QRectF(0, self.base_px - self._floor_px, width_px, self._floor_px)
        painter.fillRect(floor, self.look.down)
        painter.setPen(QPen(QColor(colors.frame), 1.0))
        painter.drawLine(floor.topLeft(), floor.topRight())
        painter.setPen(QPen(QColor(colors.battery), 2.0))
        painter.drawPolyline(line)
        super().draw(painter, width_px)


class EveningMark(Mark):
    """What benches spend of an evening's energy: words, and a bar that is full when nothing is left."""

    def __init__(self, look: Look, spot: Spot, labels: tuple[str, ...], spent_share: float) -> None:
        super().__init__(look, spot)
        self.setZValue(-1)
        self._labels, self._share = labels, min(max(spent_share, 0.0), 1.0)

    def prepare(self, width_px: float, px_per_slot: float) -> None:
        """Choose the words that fit."""
        self._label = self.look.fitting(self._labels, self.right_px - self.left_px - BAR_PX[0] - 16)

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw bar and words."""
        look = self.look
        if not self._label:
            return
        bar = QRectF(self.left_px + 5, 1 + (look.line_px - BAR_PX[1]) / 2, *BAR_PX)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setPen(QPen(QColor(look.colors.frame), 1.0))
        painter.setBrush(look.base)
        painter.drawRect(bar)
        painter.fillRect(bar.adjusted(0, 0, (self._share - 1) * bar.width(), 0), QColor(look.colors.battery))
        self.text(painter, bar.right() + 6, 1, self._label)
