"""The board: the view under a frozen time axis and beside frozen row names."""

from datetime import date, datetime

from PySide6.QtCore import QRectF, QTimer, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QGridLayout, QWidget

from yardplan.ui.axis import LanePane, TimeAxis
from yardplan.ui.lanes import cycles_by_day
from yardplan.ui.marks import Mood
from yardplan.ui.scene import BoardScene
from yardplan.ui.view import BoardView

SETTLE_MS = 60
FOCUS_PX = 2
"""Width of the frame that shows where the keyboard is."""


class Board(QWidget):
    """The view with its frozen edges, and how the marks stand out.

    Signals
    -------
    chosen(str, str), opened()
        As of the view.
    """

    chosen = Signal(str, str)
    opened = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = BoardView()
        self.axis = TimeAxis()
        self.pane = LanePane()
        self._lit_orders: frozenset[str] = frozenset()
        # Words keep to what is in view, but only once a pan has come to rest: placing them anew takes repainting.
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(SETTLE_MS)
        self._settle.timeout.connect(self.place_words)
        self._counts: dict[date, int] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(FOCUS_PX, FOCUS_PX, FOCUS_PX, FOCUS_PX)
        grid.setSpacing(0)
        grid.addWidget(self.axis, 0, 1)
        grid.addWidget(self.pane, 1, 0)
        grid.addWidget(self.view, 1, 1)
        grid.setColumnStretch(1, 1)
        grid.setRowStretch(1, 1)
        self.setFocusProxy(self.view)
        self.view.focus_moved.connect(self.update)
        self.view.looked.connect(self._follow)
        self.view.chosen.connect(self._choice_made)
        self.view.opened.connect(self.opened)

    def show_board(self, board: BoardScene) -> None:
        """Show a week."""
        self._counts = cycles_by_day(board.plan)
        self.axis.show_grid(board.look, board.ticks, self._day_note)
        self.pane.show_lanes(board.look, board.lanes, board.scales)
        colors = QPalette(self.view.palette())
        colors.setColor(QPalette.ColorRole.Base, QColor(board.look.colors.window))
        self.view.setPalette(colors)
        self.show_now(board, board.outlook.now)
        board.setParent(self)
        old = self.view.board
        self.view.show_board(board)
        if old is not None:
            old.deleteLater()
        self._set_moods()
        self._follow()
        self.place_words()

    def show_now(self, board: BoardScene, now: datetime) -> None:
        """Move the now-line and its clock."""
        board.show_now(now)
        self.axis.show_now(board.now_slot, now.astimezone(board.grid.zone))

    def light_orders(self, order_ids: frozenset[str]) -> None:
        """Let the marks of some orders stand out; none lets all stand equal."""
        self._lit_orders = order_ids
        self._set_moods()

    def _day_note(self, on: date) -> str:
        count = self._counts.get(on, 0)
        return self.tr("{n} cycles").format(n=count) if count else ""

    def _follow(self) -> None:
        self._settle.start()
        self.axis.show_range(self.view.left_slot, self.view.px_per_slot)
        self.pane.show_top(self.view.verticalScrollBar().value())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Frame the board while the keyboard is here."""
        if self.view.hasFocus():
            painter = QPainter(self)
            painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Highlight), FOCUS_PX))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
            painter.end()

    def place_words(self) -> None:
        """Let the words of marks that reach over the edges stand in what is in view."""
        if self.view.board:
            self.view.board.show_seen(self.view.left_slot, self.view.right_slot)

    def _choice_made(self, kind: str, ident: str) -> None:
        self._set_moods()
        self.chosen.emit(kind, ident)

    def _set_moods(self) -> None:
        board, chosen = self.view.board, self.view.mark
        if board is None:
            return
        for marks in board.choices.values():
            for mark in marks:
                spot = mark.spot
                if mark is chosen:
                    mark.set_mood(Mood.CHOSEN)
                elif chosen and spot.cycle_id and spot.cycle_id == chosen.spot.cycle_id:
                    mark.set_mood(Mood.RELATED)
                elif self._lit_orders and spot.order_id not in self._lit_orders:
                    mark.set_mood(Mood.DIMMED)
                else:
                    mark.set_mood(Mood.PLAIN)
