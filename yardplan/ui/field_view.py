"""A unit's field from above, to scale: its mirrors with what reaches the mold of the light on each."""

from math import atan2, cos, degrees, hypot, radians, sin

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from yardplan.domain.equipment import Unit
from yardplan.forecast.each_mirror import MirrorShares
from yardplan.ui.dates import decimal_text, percent_text
from yardplan.ui.palette import Palette
from yardplan.ui.units import Quantity, measured_text, to_stored, unit_sign

MARGIN_PX = 26
BARS = (1, 2, 5, 10, 20, 50, 100, 200, 500)
BAR_MOST_PX = 140
PART_PX = 2.5
"""Between the lines of a filled mirror where heat is hatched."""
REACH_PX = 14
"""A pointer this near to a mirror means it."""


class FieldView(QWidget):
    """The drawing. A mirror is filled as far as the share that it sends, and its percentage stands beside it.

    Arrow keys go from mirror to mirror; the one that is chosen is told below by `told`.

    Signals
    -------
    mirror_chosen(int)
        Place of a mirror in the unit's field, -1 for none.
    """

    mirror_chosen = Signal(int)

    def __init__(self, colors: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colors = colors
        self._unit: Unit | None = None
        self._shares: MirrorShares | None = None
        self._chosen = -1
        self.setObjectName("field_view")
        self.setAccessibleName(self.tr("Field of mirrors from above"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(260, 220)

    def sizeHint(self) -> QSize:
        """Return a size at which numbers of a usual field can be read."""
        return QSize(480, 280)

    def set_colors(self, colors: Palette) -> None:
        """Take a theme's colors."""
        self._colors = colors
        self.update()

    def show_unit(self, unit: Unit | None) -> None:
        """Draw a unit's field; None draws nothing."""
        if unit is None or self._unit is None or unit.field != self._unit.field:
            self._shares = None
        self._unit = unit
        self._chosen = min(self._chosen, len(unit.field) - 1) if unit else -1
        self._describe()
        self.update()

    def show_shares(self, shares: MirrorShares | None) -> None:
        """Draw what each mirror sends; None where it is not known, or the sun is too low."""
        fits = shares is not None and self._unit is not None and len(shares.cosine_frac) == len(self._unit.field)
        self._shares = shares if fits else None
        self._describe()
        self.update()

    def choose(self, mirror: int) -> None:
        """Mark a mirror; -1 marks none."""
        count = len(self._unit.field) if self._unit else 0
        if self._chosen != mirror < count:
            self._chosen = mirror
            self._describe()
            self.update()

    @property
    def chosen(self) -> int:
        """The mirror that is marked, -1 for none."""
        return self._chosen

    def told(self, mirror: int) -> str:
        """Return in words what becomes of the light on a mirror."""
        if self._unit is None or not 0 <= mirror < len(self._unit.field):
            return ""
        found = self._unit.field[mirror]
        place = self.tr("Mirror {n}: {east} east, {north} north, {up} up, {width} x {height}").format(
            n=mirror + 1,
            east=measured_text(Quantity.LENGTH, found.east_m, 1),
            north=measured_text(Quantity.LENGTH, found.north_m, 1),
            up=measured_text(Quantity.LENGTH, found.up_m, 1),
            width=measured_text(Quantity.LENGTH, found.width_m, 2),
            height=measured_text(Quantity.LENGTH, found.height_m, 2),
        )
        if self._shares is None:
            return place
        shares = self._shares
        return place + self.tr(
            "; sends {sent} of the light on it: askew to the sun {cosine}, past neighbors {open}, "
            "glass and air {glass}, dirt {clean}"
        ).format(
            sent=percent_text(float(shares.sent_frac[mirror])),
            cosine=percent_text(float(shares.cosine_frac[mirror])),
            open=percent_text(float(shares.open_frac[mirror])),
            glass=percent_text(float(shares.glass_frac[mirror])),
            clean=percent_text(shares.clean_frac),
        )

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the field, the chambers, the sun, north and a scale."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(self._colors.base))
        if self._unit is None:
            return
        px = self._px_per_m()
        self._draw_chambers(painter, px)
        for number in range(len(self._unit.field)):
            self._draw_mirror(painter, number, px)
        self._draw_north(painter)
        self._draw_bar(painter, px)
        if self._shares is not None:
            self._draw_sun(painter)
        if self.hasFocus():
            painter.setPen(QPen(QColor(self._colors.text), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))

    def _reach_m(self) -> tuple[float, float, float, float]:
        """Return how far the field reaches: west, east, south, north."""
        assert self._unit is not None
        swing_m = max(chamber.max_swing_m for chamber in self._unit.chambers)
        n = len(self._unit.chambers)
        aside = [mirror.east_m for mirror in self._unit.field]
        ahead = [mirror.north_m for mirror in self._unit.field]
        size_m = max(hypot(mirror.width_m, mirror.height_m) for mirror in self._unit.field) / 2 + 1
        half_m = swing_m * n / 2 + 1
        return (
            min(*aside, -half_m + size_m) - size_m,
            max(*aside, half_m - size_m) + size_m,
            min(*ahead, -swing_m / 2) - size_m,
            max(*ahead, swing_m / 2) + size_m,
        )

    def _px_per_m(self) -> float:
        west, east, south, north = self._reach_m()
        room = QRectF(self.rect()).adjusted(MARGIN_PX, MARGIN_PX, -MARGIN_PX, -MARGIN_PX)
        return max(min(room.width() / (east - west), room.height() / (north - south)), 0.1)

    def _point(self, east_m: float, north_m: float, px: float) -> QPointF:
        west, east, south, north = self._reach_m()
        middle = QRectF(self.rect()).center()
        return QPointF(
            middle.x() + (east_m - (west + east) / 2) * px, middle.y() - (north_m - (south + north) / 2) * px
        )

    def _draw_mirror(self, painter: QPainter, number: int, px: float) -> None:
        assert self._unit is not None
        mirror, colors = self._unit.field[number], self._colors
        painter.save()
        painter.translate(self._point(mirror.east_m, mirror.north_m, px))
        painter.rotate(degrees(atan2(mirror.east_m, mirror.north_m)))  # its width stands across the way to the mold
        outline = QRectF(-mirror.width_m / 2, -mirror.height_m / 2, mirror.width_m, mirror.height_m)
        outline = QRectF(outline.topLeft() * px, outline.bottomRight() * px)
        painter.fillRect(outline, QColor(colors.base))
        if self._shares is not None:
            sent_frac = float(self._shares.sent_frac[number])
            filled = outline.adjusted(0, outline.height() * (1 - sent_frac), 0, 0)
            if colors.heat_hatched:
                painter.setPen(QPen(QColor(colors.heat), 1))
                lines = max(int(filled.height() / PART_PX), 1)
                for line in range(lines):
                    y = filled.bottom() - line * PART_PX
                    painter.drawLine(QPointF(filled.left(), y), QPointF(filled.right(), y))
            else:
                painter.fillRect(filled, QColor(colors.heat))
        chosen = number == self._chosen
        painter.setPen(QPen(QColor(colors.accent if chosen else colors.frame), 3 if chosen else 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(outline)
        painter.restore()
        if self._shares is not None:
            self._draw_share(painter, number, px)

    def _draw_share(self, painter: QPainter, number: int, px: float) -> None:
        """Write the percentage on the side of a mirror that is away from the mold, where there is room."""
        assert self._unit is not None
        assert self._shares is not None
        mirror = self._unit.field[number]
        text = decimal_text(100 * float(self._shares.sent_frac[number]), 0)
        font = self.font()
        font.setPointSizeF(max(font.pointSizeF() * 0.85, 6))
        painter.setFont(font)
        size = QFontMetricsF(font).boundingRect(text)
        away_m = hypot(mirror.east_m, mirror.north_m) or 1.0
        off_px = mirror.height_m / 2 * px + size.height() * 0.55
        if off_px * 2 > 5 * px:  # the next row begins there
            return
        at = self._point(mirror.east_m, mirror.north_m, px)
        at += QPointF(mirror.east_m / away_m, -mirror.north_m / away_m) * off_px
        painter.setPen(QColor(self._colors.text))
        painter.drawText(QRectF(at.x() - 20, at.y() - 10, 40, 20), Qt.AlignmentFlag.AlignCenter, text)

    def _draw_chambers(self, painter: QPainter, px: float) -> None:
        """Draw the chambers side by side where the mold is: their circles to scale, their places a sketch."""
        assert self._unit is not None
        chambers, colors = self._unit.chambers, self._colors
        east_m = -sum(chamber.max_swing_m for chamber in chambers) / 2
        for chamber in chambers:
            radius_m = chamber.max_swing_m / 2
            middle = self._point(east_m + radius_m, 0, px)
            east_m += chamber.max_swing_m
            painter.setPen(QPen(QColor(colors.frame), 1.5, Qt.PenStyle.DashLine))
            painter.setBrush(QColor(colors.alternate))
            painter.drawEllipse(middle, radius_m * px, radius_m * px)
            painter.setPen(QColor(colors.text))
            where = QRectF(middle.x() - 40, middle.y() - 12, 80, 24)
            painter.drawText(where, Qt.AlignmentFlag.AlignCenter, chamber.id)

    def _draw_north(self, painter: QPainter) -> None:
        tip = QPointF(self.width() - 22, 14)
        painter.setPen(QPen(QColor(self._colors.text), 2))
        painter.drawLine(tip, tip + QPointF(0, 30))
        painter.drawLine(tip, tip + QPointF(-6, 9))
        painter.drawLine(tip, tip + QPointF(6, 9))
        where = QRectF(tip.x() - 12, tip.y() + 30, 24, 18)
        painter.drawText(where, Qt.AlignmentFlag.AlignCenter, self.tr("N", "north"))

    def _draw_bar(self, painter: QPainter, px: float) -> None:
        unit_px = to_stored(Quantity.LENGTH, 1) * px
        length = max(bar for bar in BARS if bar * unit_px <= BAR_MOST_PX or bar == BARS[0])
        left = QPointF(14, self.height() - 14)
        right = left + QPointF(length * unit_px, 0)
        painter.setPen(QPen(QColor(self._colors.text), 2))
        painter.drawLine(left, right)
        for end in (left, right):
            painter.drawLine(end, end - QPointF(0, 6))
        where = QRectF(left.x(), left.y() - 24, 120, 18)
        painter.drawText(where, Qt.AlignmentFlag.AlignLeft, f"{length} {unit_sign(Quantity.LENGTH)}")

    def _draw_sun(self, painter: QPainter) -> None:
        """Draw where the sun stands, as an arrow into the picture from a sun at its rim."""
        assert self._shares is not None
        toward = radians(self._shares.azimuth_deg)
        way = QPointF(sin(toward), -cos(toward))
        middle = QRectF(self.rect()).center()
        room = (self.width() / 2 - 18) / max(abs(way.x()), 1e-6), (self.height() / 2 - 18) / max(abs(way.y()), 1e-6)
        sun = middle + way * min(room)
        painter.setPen(QPen(QColor(self._colors.heat_edge), 2))
        painter.setBrush(QColor(self._colors.base if self._colors.heat_hatched else self._colors.heat))
        painter.drawEllipse(sun, 8, 8)
        painter.drawLine(sun - way * 12, sun - way * 30)
        for side in (-1, 1):
            aside = QPointF(-way.y(), way.x()) * (5 * side)
            painter.drawLine(sun - way * 30, sun - way * 22 + aside)

    # Keys and pointer

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the mirror under the pointer, none beside them."""
        self._take(self._mirror_at(event.position()))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from mirror to mirror; Esc leaves them."""
        step = {Qt.Key.Key_Right: 1, Qt.Key.Key_Down: 1, Qt.Key.Key_Left: -1, Qt.Key.Key_Up: -1}.get(
            Qt.Key(event.key()), 0
        )
        if step and self._unit is not None:
            self._take((self._chosen + step) % len(self._unit.field))
        elif event.key() == Qt.Key.Key_Escape and self._chosen >= 0:
            self._take(-1)
        else:
            super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        """Tell of the mirror under the pointer."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            text = self.told(self._mirror_at(QPointF(event.pos())))
            QToolTip.showText(event.globalPos(), text, self)
            return True
        return super().event(event)

    def _take(self, mirror: int) -> None:
        self.choose(mirror)
        self.mirror_chosen.emit(mirror)

    def _mirror_at(self, point: QPointF) -> int:
        if self._unit is None:
            return -1
        px = self._px_per_m()
        away_px = []
        for mirror in self._unit.field:
            at = self._point(mirror.east_m, mirror.north_m, px) - point
            away_px.append(hypot(at.x(), at.y()))
        nearest = min(range(len(away_px)), key=away_px.__getitem__)
        size_px = max(self._unit.field[nearest].height_m / 2 * px, REACH_PX)
        return nearest if away_px[nearest] <= size_px else -1

    def _describe(self) -> None:
        count = len(self._unit.field) if self._unit else 0
        told = self.told(self._chosen) or self.tr("{n} mirrors").format(n=count)
        self.setAccessibleDescription(told)
