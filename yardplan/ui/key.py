"""How to read the board: marks drawn small by the board's own code, each with its words."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.plan import Cycle
from yardplan.ui.look import Look
from yardplan.ui.marks import ChangeMark, CycleMark, DownMark, JobMark, JobStyle, LatestMark, Mark, Spot

SAMPLE_PX = 116.0


class BoardKey(QWidget):
    """One mark of each kind and what it means."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look: Look | None = None
        self._rows: list[tuple[Mark | None, str]] = []
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def show_look(self, look: Look) -> None:
        """Take new fonts and colors."""
        self._look = look
        sample = Cycle(
            "", "", "", "", MoldCopy("", 1), "", 1, 0, 0, 3, 12, 19, 20, 23, ("", ""), ("",), locked=False
        )  # fmt: skip
        high, low = look.line_px + 38, look.line_px + 10
        change = self.tr("hang")

        def spot(slots: float, height_px: float, locked: bool = False) -> Spot:
            return Spot(("", ""), 0, slots, 0, height_px, str, locked=locked)

        self._rows = [
            (
                CycleMark(look, spot(23, high), sample, 2, (), "", (7, 9, 11), flagged=True),
                self.tr("A cycle has the shape of the air temperature in its mold."),
            ),
            (None, self.tr("Rising, solid: the sun heats. Ticks at the peak: PIAT in 50, 80, 95 % of skies.")),
            (None, self.tr("Falling, hatched: it cools. Low block: people charge or demold, a post each.")),
            (None, self.tr("Dotted: it waits. Flag: its order is late or unfinished.")),
            (ChangeMark(look, spot(12, low + 6), (change,)), self.tr("Bracket: mold change.")),
            (JobMark(look, spot(9, low), JobStyle.HANDLING, (self.tr("charge"),)), self.tr("Outlined: handling.")),
            (JobMark(look, spot(9, low), JobStyle.FINISH, (self.tr("cut"),)), self.tr("Slab: finishing.")),
            (
                JobMark(look, spot(9, low, locked=True), JobStyle.HANDLING, ()),
                self.tr("Padlock: locked, planning leaves it."),
            ),
            (LatestMark(look, spot(9, low + 6), ()), self.tr("Post: latest safe start of the day's last mold.")),
            (DownMark(look, spot(9, low), self.tr("washing")), self.tr("Hatched across: out of work.")),
            (None, self.tr("Field heat: band from P10 to P90, line P50. Battery: hatched floor is never spent.")),
            (
                None,
                self.tr(
                    "Keys on the board: arrows choose, Page Up and Page Down follow an order, Shift and arrows move, "
                    "+ − 0 zoom, N goes to now, Enter opens, Esc gives up. A cycle is moved with the mouse or Ctrl+M."
                ),
            ),
            (None, self.tr("Order numbers stand over cycles; zoom in to see more of their names.")),
        ]
        told = "\n".join(text for _, text in self._rows)
        self.setAccessibleName(self.tr("How to read the board"))
        self.setAccessibleDescription(told)
        self.updateGeometry()
        self.update()

    def hasHeightForWidth(self) -> bool:
        """Say that the height depends on the width: the words wrap."""
        return True

    def heightForWidth(self, width_px: int) -> int:
        """Return the height for a width."""
        return int(self._paint(None, float(width_px)))

    def sizeHint(self) -> QSize:
        """Return a comfortable size."""
        return QSize(280, self.heightForWidth(280))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the rows."""
        painter = QPainter(self)
        self._paint(painter, float(self.width()))
        painter.end()

    def _paint(self, painter: QPainter | None, width_px: float) -> float:
        """Draw, or only measure without a painter; returns the height [px]."""
        look, y = self._look, 0.0
        if look is None:
            return y
        wrap = Qt.TextFlag.TextWordWrap
        for mark, text in self._rows:
            left = SAMPLE_PX + 12 if mark else 0.0
            room = QRectF(left, 0, max(width_px - left, 40), 1000)
            height = look.metrics.boundingRect(room, wrap, text).height()
            tall = max(height, mark.spot.height_px if mark else 0.0)
            if painter:
                painter.save()
                painter.translate(0, y)
                if mark:
                    mark.left_px, mark.right_px = 0.0, SAMPLE_PX
                    mark.prepare(SAMPLE_PX, SAMPLE_PX / (mark.spot.end_slot - mark.spot.start_slot))
                    mark.draw(painter, SAMPLE_PX)
                painter.setPen(look.text)
                painter.setFont(look.font)
                painter.drawText(QRectF(left, (tall - height) / 2, room.width(), height + 2), wrap, text)
                painter.restore()
            y += tall + 7
        return y
