"""Twenty equally likely dates on a line of days, with the wished one."""

from datetime import date, datetime, timedelta
from math import ceil
from typing import Any

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from yardplan.ui.dates import day_text
from yardplan.ui.look import Look
from yardplan.ui.palette import Palette
from yardplan.ui.quote_words import CONFIDENCES

SIDE_PX = 14.0
TICK_PX = 22.0
MOST_LABELS = 7


class DateRail(QWidget):
    """Draws when a quote's last piece is with the customer in each of twenty equally likely weathers."""

    def __init__(self, colors: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("date_rail")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._look = Look(colors, QFont(self.font()))
        self._ticks: tuple[datetime, ...] = ()
        self._posts: tuple[datetime | None, ...] = ()
        self._wish_on: date | None = None
        self._first_on = self._last_on = date(2000, 1, 1)

    def set_colors(self, colors: Palette) -> None:
        """Take another theme's colors."""
        self._look = Look(colors, QFont(self.font()))
        self.update()

    def show_quote(self, document: dict[str, Any]) -> None:
        """Take a quote; days on the way are counted in."""
        way = timedelta(days=document["lead_days"])

        def at(text: str | None) -> datetime | None:
            return datetime.fromisoformat(text) + way if text else None

        self._ticks = tuple(datetime.fromisoformat(text) + way for text in document.get("twentieths", ()))
        self._posts = tuple(at(document[key]["ready"]) for key in CONFIDENCES)
        self._wish_on = date.fromisoformat(document["wish_on"]) if document["wish_on"] else None
        days = [one.date() for one in (*self._ticks, *filter(None, self._posts))]
        days += [self._wish_on] if self._wish_on else []
        self._first_on = min([datetime.fromisoformat(document["generated_at"]).date(), *days])
        self._last_on = max([self._first_on + timedelta(days=6), *days])
        n_by_wish = sum(one.date() <= self._wish_on for one in self._ticks) if self._wish_on else 0
        told = ""
        if self._ticks:
            told = self.tr("Twenty equally likely dates, the first {first}, the last {last}.").format(
                first=day_text(self._ticks[0]), last=day_text(self._ticks[-1])
            )
            if self._wish_on:
                told += " " + self.tr("{n} of 20 are by the wished day.").format(n=n_by_wish)
        self.setAccessibleName(told)
        self.setToolTip(told)
        self.setVisible(bool(self._ticks))
        self.update()

    def sizeHint(self) -> QSize:
        """Return room for ticks, days and the wished day."""
        return QSize(360, round(TICK_PX + 3.2 * self._look.line_px + 14))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the rail: days below, ticks on it, posts at the three confidences, a flag at the wished day."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look = self._look
        painter.setFont(look.font)
        base = self.height() - look.line_px - 8
        painter.fillRect(self.rect(), look.base)
        painter.setPen(look.frame)
        painter.drawLine(QPointF(SIDE_PX, base), QPointF(self.width() - SIDE_PX, base))
        self._draw_days(painter, base)
        painter.setPen(look.cool_line)
        for tick in self._ticks:
            x = self._x(tick)
            painter.drawLine(QPointF(x, base - TICK_PX), QPointF(x, base))
        if self._wish_on is not None:
            x = self._x(datetime.combine(self._wish_on + timedelta(days=1), datetime.min.time()))
            painter.setPen(look.related)
            painter.drawLine(QPointF(x, 2), QPointF(x, base))
            painter.setPen(look.text)
            self._text(painter, x, 0, self.tr("wished"))
        self._draw_posts(painter, base)

    def _draw_days(self, painter: QPainter, base: float) -> None:
        n_days = (self._last_on - self._first_on).days + 1
        step = ceil(n_days / MOST_LABELS)
        for ix in range(n_days):
            on = self._first_on + timedelta(days=ix)
            x = self._x(datetime.combine(on, datetime.min.time()))
            painter.setPen(self._look.frame)
            painter.drawLine(QPointF(x, base), QPointF(x, base + 4))
            if ix % step == 0:
                painter.setPen(self._look.dim)
                self._text(painter, x, base + 4, day_text(on))

    def _draw_posts(self, painter: QPainter, base: float) -> None:
        """Draw a post at each confidence; those close together share their words."""
        look = self._look
        groups: list[tuple[float, list[str]]] = []
        names = (self.tr("5 of 10"), self.tr("8 of 10"), self.tr("19 of 20"))
        for post, name in zip(self._posts, names, strict=True):
            if post is None:
                continue
            x = self._x(post)
            painter.setPen(look.post)
            painter.drawLine(QPointF(x, base - TICK_PX - 6), QPointF(x, base))
            room = look.metrics.horizontalAdvance(name) + 16
            if groups and x - groups[-1][0] < room:
                groups[-1][1].append(name)
            else:
                groups.append((x, [name]))
        painter.setPen(look.text)
        for x, group in groups:
            self._text(painter, x, base - TICK_PX - 8 - look.line_px, " · ".join(group))

    def _text(self, painter: QPainter, x: float, top: float, text: str) -> None:
        width = self._look.metrics.horizontalAdvance(text) + 2
        left = min(max(x - width / 2, 0), self.width() - width)
        room = QRectF(left, top, width, self._look.line_px)
        painter.fillRect(room, self._look.base)  # no line runs through words
        painter.drawText(room, Qt.AlignmentFlag.AlignCenter, text)

    def _x(self, at: datetime) -> float:
        first = datetime.combine(self._first_on, datetime.min.time())
        n_days = (self._last_on - self._first_on).days + 1
        share = (at.replace(tzinfo=None) - first) / timedelta(days=n_days)
        return SIDE_PX + share * (self.width() - 2 * SIDE_PX)
