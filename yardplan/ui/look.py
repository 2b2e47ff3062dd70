"""Fonts, pens and brushes of the board, and how pages scroll."""

from collections.abc import Sequence
from itertools import pairwise
from math import ceil

from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontInfo, QFontMetricsF, QPen
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

from yardplan.ui.palette import Palette


class Look:
    """Fonts, pens and brushes of one palette, made once."""

    def __init__(self, colors: Palette, font: QFont) -> None:
        self.colors = colors
        self.font = QFont(font)
        self.font.setPixelSize(max(QFontInfo(font).pixelSize(), 8))
        self.bold = QFont(self.font)
        self.bold.setWeight(QFont.Weight.DemiBold)
        self.metrics = QFontMetricsF(self.font)
        self.line_px = float(ceil(self.metrics.height()))
        self.least_px = 0.8 * min(self.metrics.horizontalAdvance(letter) for letter in "il.,' ")
        self.text, self.dim = QColor(colors.text), QColor(colors.dim_text)
        self.frame = QPen(QColor(colors.frame), 1.2)
        self.heat_edge = QPen(QColor(colors.heat_edge), 1.5)
        self.cool_edge = QPen(QColor(colors.cool), 1.5)
        self.cool_line = QPen(QColor(colors.cool), 1.0)
        self.post = QPen(QColor(colors.text), 2.0)
        self.wait = QPen(QColor(colors.frame), 1.2, Qt.PenStyle.DotLine)
        self.thick = QPen(QColor(colors.text), 3.0)
        self.flag = QPen(QColor(colors.text), 1.2)
        self.action = QBrush(QColor(colors.action))
        self.accent = QPen(QColor(colors.accent), 2.5)
        self.related = QPen(QColor(colors.accent), 2.0, Qt.PenStyle.DashLine)
        heat = Qt.BrushStyle.FDiagPattern if colors.heat_hatched else Qt.BrushStyle.SolidPattern
        self.heat = QBrush(QColor(colors.heat), heat)
        self.handling = QBrush(QColor(colors.handling))
        self.work = QBrush(QColor(colors.work))
        self.chosen = QBrush(QColor(colors.chosen))
        self.base = QBrush(QColor(colors.base))
        self.down = QBrush(QColor(colors.frame), Qt.BrushStyle.BDiagPattern)

    def fitting(self, texts: Sequence[str], width_px: float) -> str:
        """Return the first text that fits, else nothing: a label is left out rather than cut."""
        least_px = self.least_px  # most of what does not fit is known without measuring it
        return next(
            (
                text
                for text in texts
                if text and len(text) * least_px <= width_px and self.metrics.horizontalAdvance(text) <= width_px
            ),
            "",
        )

    def elided(self, text: str, width_px: float) -> str:
        """Return the text, shortened with an ellipsis where it must be; nothing where not even a few letters fit."""
        if width_px <= 0:
            return ""
        if self.metrics.horizontalAdvance(text) <= width_px:
            return text
        if width_px < 3 * self.line_px:
            return ""
        return self.metrics.elidedText(text, Qt.TextElideMode.ElideRight, width_px)


def scrolling(inner: QWidget) -> QScrollArea:
    """Return a frameless area that scrolls a page up and down and leaves the focus to what is on it."""
    area = QScrollArea()
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setWidgetResizable(True)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(inner)
    return area


def in_order(*widgets: QWidget) -> None:
    """Let the tab key go through widgets one after another."""
    for one, two in pairwise(widgets):
        QWidget.setTabOrder(one, two)
