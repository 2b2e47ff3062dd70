"""Large controls for gloves and sunlight: the card of a chamber, and a line with one button."""

from PySide6.QtCore import QLineF, QPointF, QSize, Qt, Signal
from PySide6.QtGui import QAction, QPainter, QPaintEvent, QPen, QPolygonF, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QMenu,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.plan import Cycle
from yardplan.ui.day import Act, Card, Line
from yardplan.ui.look import Look
from yardplan.ui.marks import CycleMark, Spot

PRESS_PX = 64
"""Least height of what is pressed with gloves; the standard's least is 24. Own choice, see W3C WCAG 2.2, 2.5.8."""
STRIP_PX = 38
MOST_PX = 224
AROUND = 0.06


class CycleStrip(QWidget):
    """A cycle drawn as on the board, with the spread of its peak and the now-line."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look: Look | None = None
        self._drawing: tuple[Cycle, tuple[int, ...], float] | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """Return a strip of fixed height."""
        return QSize(200, STRIP_PX)

    def show_look(self, look: Look) -> None:
        """Take new fonts and colors."""
        self._look = look
        self.update()

    def show_cycle(self, drawing: tuple[Cycle, tuple[int, ...], float] | None) -> None:
        """Draw another cycle, or none."""
        self._drawing = drawing
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the cycle across the whole width, and where now is in it."""
        if self._look is None or self._drawing is None:
            return
        look, (cycle, tail, now_slot) = self._look, self._drawing
        painter = QPainter(self)
        first = cycle.charge_slot
        after = max(cycle.end_slot, int(now_slot) + 1, cycle.heat_slot + max(tail, default=0) + 1)
        margin = (after - first) * AROUND
        scale = self.width() / (after - first + 2 * margin)
        # The label's room on the board is not needed here: the strip begins above the widget.
        lift = look.line_px + 1
        spot = Spot(("", ""), 0, cycle.end_slot - first, 0, STRIP_PX + lift, str)
        mark = CycleMark(look, spot, cycle, cycle.heat_slot, (), "", tail, flagged=False)
        mark.left_px, mark.right_px = 0.0, self.width()
        mark.prepare((cycle.end_slot - first) * scale, scale)
        painter.translate(margin * scale, -lift)
        mark.draw(painter, (cycle.end_slot - first) * scale)
        if first <= now_slot <= after:
            x = (now_slot - first) * scale
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
            painter.setPen(QPen(look.text, 2.5))
            painter.drawLine(QLineF(x, lift + 4, x, lift + STRIP_PX))
            painter.setBrush(look.text)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.drawPolygon(QPolygonF([QPointF(x - 6, lift), QPointF(x + 6, lift), QPointF(x, lift + 8)]))
        painter.end()


class CardView(QFrame):
    """A chamber: what it does, until when, what comes next, and one large button that logs the next event.

    Signals
    -------
    pressed(object)
        The `Act` that was chosen.
    """

    pressed = Signal(object)

    def __init__(self, chamber_id: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName(f"card_{chamber_id}")
        self.setProperty("kind", "card")
        self.setMaximumHeight(MOST_PX)
        self._act: Act | None = None
        self._title = QLabel(chamber_id)
        self._title.setProperty("kind", "chamber")
        self._state, self._what, self._promise, self._after = (_Line() for _ in range(4))
        self._state.setProperty("kind", "state")
        self._strip = CycleStrip()
        self.button = QPushButton()
        self.button.setObjectName(f"log_{chamber_id}")
        self.button.setProperty("kind", "press")
        self.button.setMinimumHeight(PRESS_PX)
        self.button.clicked.connect(self._press)
        self.more = QToolButton()
        self.more.setObjectName(f"more_{chamber_id}")
        self.more.setProperty("kind", "press")
        self.more.setText("…")
        self.more.setFixedSize(PRESS_PX, PRESS_PX)
        self.more.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.more.setAccessibleName(self.tr("Chamber {chamber}: something else").format(chamber=chamber_id))
        self._menu = QMenu(self.more)
        self._menu.setProperty("kind", "press")
        self.more.setMenu(self._menu)
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(self._title)
        head.addWidget(self._state, 1)
        foot = QHBoxLayout()
        foot.setSpacing(6)
        foot.addWidget(self.button, 1)
        foot.addWidget(self.more)
        column = QVBoxLayout(self)
        column.setContentsMargins(9, 3, 7, 6)
        column.setSpacing(0)
        column.addLayout(head)
        for widget in (self._what, self._strip, self._promise, self._after):
            column.addWidget(widget)
        column.addSpacing(5)
        column.addStretch(1)
        column.addLayout(foot)

    def show_look(self, look: Look) -> None:
        """Take new fonts and colors."""
        self._strip.show_look(look)

    def show_card(self, card: Card, *, can_log: bool) -> None:
        """Tell of the chamber as it is now."""
        self._act = card.act
        self._state.tell(card.state)
        self._what.tell(card.what)
        self._promise.tell(card.promise)
        self._after.tell(card.after)
        self._strip.show_cycle(card.drawing)
        self.button.setText(card.act.text if card.act else self.tr("not due yet"))
        self.button.setAccessibleName(
            self.tr("Chamber {chamber}: {act}").format(chamber=card.chamber_id, act=self.button.text())
        )
        self.button.setAccessibleDescription(card.sentence)
        self.setAccessibleName(card.sentence)
        self._menu.clear()
        for act in card.more:
            action = QAction(act.text, self._menu)
            action.setData(act)
            action.triggered.connect(self._choose)
            self._menu.addAction(action)
        self.more.setVisible(bool(card.more))
        self.set_ready(can_log)
        if self.property("needs") != card.needs:
            self.setProperty("needs", card.needs)
            self.style().unpolish(self)
            self.style().polish(self)

    def set_ready(self, is_ready: bool) -> None:
        """Let be pressed what can be logged, while nothing is just being kept."""
        self.button.setEnabled(self._act is not None and is_ready)
        self.more.setEnabled(is_ready)

    def _press(self) -> None:
        if self._act is not None:
            self.pressed.emit(self._act)

    def _choose(self) -> None:
        action = self.sender()
        if isinstance(action, QAction):
            self.pressed.emit(action.data())


class LineView(QFrame):
    """A finishing job or a person: two lines of words, and a large button where something can be logged."""

    pressed = Signal(object)

    def __init__(self, line: Line, *, can_log: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "card")
        self.setProperty("needs", line.needs)
        self._act = line.act
        title, text = _Line(line.title), _Line(line.text)
        title.setProperty("kind", "state")
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(title)
        words.addWidget(text)
        row = QHBoxLayout(self)
        row.setContentsMargins(10, 4, 6, 4)
        row.addLayout(words, 1)
        self.setMinimumHeight(PRESS_PX + 10)
        self.button = QPushButton(line.act.text if line.act else "")
        self.button.setObjectName(f"log_{line.key}")
        self.button.setProperty("kind", "press")
        self.button.setMinimumHeight(PRESS_PX)
        self.button.setMinimumWidth(130)
        self.button.setEnabled(can_log)
        self.button.setVisible(line.act is not None)
        self.button.setAccessibleName(f"{line.title}: {self.button.text()}")
        self.button.setAccessibleDescription(line.text)
        self.button.clicked.connect(self._press)
        row.addWidget(self.button)

    def _press(self) -> None:
        if self._act is not None:
            self.pressed.emit(self._act)


class _Line(QLabel):
    """One line of words that ends in an ellipsis where it must; the whole is in the tool tip and for screen readers."""

    def __init__(self, text: str = "") -> None:
        super().__init__()
        self._whole = ""
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.tell(text)

    def tell(self, text: str) -> None:
        """Take other words."""
        self._whole = text
        self.setToolTip(text)
        self.setAccessibleName(text)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Shorten the words to the new width."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        self.setText(self.fontMetrics().elidedText(self._whole, Qt.TextElideMode.ElideRight, self.width()))
