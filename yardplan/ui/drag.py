"""A cycle that is being dragged over the board: where it would go, what that pushes or breaks, told at the pointer."""

from PySide6.QtCore import QObject, QPoint, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QGraphicsView, QLabel

from yardplan.domain.edits import Edit, Edited, Move
from yardplan.domain.plan import Cycle
from yardplan.ui.lanes import Lane, LaneKind
from yardplan.ui.look import Look
from yardplan.ui.marks import Mark, Mood, Spot
from yardplan.ui.scene import BoardScene

EDGE_PX, EDGE_STEP_PX = 28, 14
"""So near to an edge the board moves along, by so much at a time."""
HINT_PX = 380
BESIDE_PX = 18


class Ghost(Mark):
    """Where a cycle would be: outlined and see-through, dashed for one that is pushed, crossed out if it cannot be."""

    def __init__(self, look: Look, spot: Spot, word: str, *, is_meant: bool, is_refused: bool) -> None:
        super().__init__(look, spot)
        self._word, self._is_meant, self._is_refused = word, is_meant, is_refused
        self.setZValue(6 if is_meant else 4)

    def draw(self, painter: QPainter, width_px: float) -> None:
        """Draw frame and word."""
        look = self.look
        color = look.action.color() if self._is_refused else look.accent.color()
        box = QRectF(1.5, 1.5, max(width_px - 3, 2), self.spot.height_px - 3)
        fill = QColor(look.colors.chosen)
        fill.setAlpha(150)
        pen = QPen(color, 2.5 if self._is_meant else 1.8)
        pen.setStyle(Qt.PenStyle.SolidLine if self._is_meant else Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.setBrush(fill)
        painter.drawRoundedRect(box, 3, 3)
        if self._is_refused:
            painter.drawLine(box.topLeft(), box.bottomRight())
            painter.drawLine(box.bottomLeft(), box.topRight())
        if self._word and look.metrics.horizontalAdvance(self._word) < width_px - 6:
            self.text(painter, 5, self.spot.height_px - look.line_px - 4, self._word)


class CycleDrag(QObject):
    """Follows the pointer with a cycle.

    Signals
    -------
    wanted(object)
        The `Edit` that a drop here would be; somebody should `show` what it comes to.
    dropped(object)
        The `Edit` that is to be made.
    given_up()
        Nothing is to be changed.
    """

    wanted = Signal(object)
    dropped = Signal(object)
    given_up = Signal()

    def __init__(self, view: QGraphicsView) -> None:
        super().__init__(view)
        self._view = view
        self._cycle: Cycle | None = None
        self._mark: Mark | None = None
        self._grab_slots = 0.0
        self._ghosts: list[Ghost] = []
        self.edit: Edit | None = None
        self.hint = QLabel(view.viewport())
        self.hint.setObjectName("drag_hint")
        self.hint.setWordWrap(True)
        self.hint.setMaximumWidth(HINT_PX)
        self.hint.setMargin(6)
        self.hint.setAutoFillBackground(True)
        self.hint.setFrameShape(QLabel.Shape.Box)
        self.hint.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.hint.hide()

    @property
    def is_active(self) -> bool:
        """Whether a cycle is held."""
        return self._cycle is not None

    @property
    def ghosts(self) -> tuple[Ghost, ...]:
        """What is shown of the change, that of the cycle itself first."""
        return tuple(self._ghosts)

    def begin(self, mark: Mark, at: QPoint) -> None:
        """Take up a cycle at a place in the viewport."""
        board = self._board
        self._cycle = next(row for row in board.plan.cycles if row.id == mark.spot.cycle_id)
        self._mark = mark
        self._grab_slots = self._view.mapToScene(at).x() - self._cycle.charge_slot
        mark.set_mood(Mood.DIMMED)
        self._view.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        self._view.viewport().setMouseTracking(True)  # so that a button which is up again is seen

    def move(self, at: QPoint) -> None:
        """Follow the pointer; over no chamber the cycle keeps the last one."""
        assert self._cycle is not None  # only called while a cycle is held
        self._scroll(at)
        here = self._view.mapToScene(at)
        lane = self._chamber_at(here)
        held = self.edit.chamber_id if isinstance(self.edit, Move) else self._cycle.chamber_id
        edit = Move(self._cycle.id, lane.ident if lane else held, round(here.x() - self._grab_slots))
        self._place_hint(at)
        if edit != self.edit:
            self.edit = edit
            self._ghost_alone(edit)
            self.wanted.emit(edit)

    def show(self, edit: Edit, found: Edited, told: str) -> None:
        """Show what an edit would come to, if it is still the one under the pointer."""
        if edit != self.edit or self._cycle is None:
            return
        self.hint.setText(told)
        self.hint.setAccessibleName(told)
        self._fit_hint()
        board = self._board
        if not found.is_done:
            self._ghost_alone(edit, is_refused=True)
            return
        self.clear()
        now = {row.id: row for row in found.plan.cycles}
        meant = now[self._cycle.id]
        self._add(meant, board.words.time(meant.charge_slot), is_meant=True)
        for pair in found.pushed:
            if pair.new is not None:
                self._add(pair.new, board.words.time(pair.new.charge_slot))

    def drop(self) -> None:
        """Let the cycle go where it is."""
        edit = self.edit
        self._end()
        if edit is None:
            self.given_up.emit()
        else:
            self.dropped.emit(edit)

    def cancel(self) -> None:
        """Put the cycle back: nothing has changed."""
        self._end()
        self.given_up.emit()

    def clear(self) -> None:
        """Take the shapes away."""
        scene = self._view.scene()
        for ghost in self._ghosts:
            if ghost.scene() is scene:
                scene.removeItem(ghost)
        self._ghosts = []

    def _end(self) -> None:
        self.clear()
        if self._mark is not None:
            self._mark.set_mood(Mood.CHOSEN)  # it was chosen when it was taken up
        self._cycle = self._mark = self.edit = None
        self.hint.hide()
        self._view.viewport().unsetCursor()
        self._view.viewport().setMouseTracking(False)

    @property
    def _board(self) -> BoardScene:
        scene = self._view.scene()
        assert isinstance(scene, BoardScene)  # a cycle is only taken up from one
        return scene

    def _chamber_at(self, here: QPointF) -> Lane | None:
        lanes = (lane for lane in self._board.lanes if lane.kind is LaneKind.CHAMBER)
        return next((lane for lane in lanes if lane.top_px <= here.y() < lane.bottom_px), None)

    def _ghost_alone(self, edit: Move | Edit, *, is_refused: bool = False) -> None:
        """Show the cycle as it is at the place that is meant."""
        self.clear()
        if isinstance(edit, Move) and self._cycle is not None:
            by = edit.charge_slot - self._cycle.charge_slot
            word = self._board.words.time(edit.charge_slot)
            self._add_at(
                edit.chamber_id, edit.charge_slot, self._cycle.end_slot + by, word, is_meant=True, is_refused=is_refused
            )

    def _add(self, row: Cycle, word: str, *, is_meant: bool = False) -> None:
        self._add_at(row.chamber_id, row.charge_slot, row.end_slot, word, is_meant=is_meant)

    def _add_at(
        self, chamber_id: str, first: int, after: int, word: str, *, is_meant: bool, is_refused: bool = False
    ) -> None:
        board = self._board
        lane = next((one for one in board.lanes if (one.kind, one.ident) == (LaneKind.CHAMBER, chamber_id)), None)
        if lane is not None:
            spot = Spot(("ghost", chamber_id), first, after, lane.top_px, lane.height_px, lambda: word)
            ghost = Ghost(board.look, spot, word, is_meant=is_meant, is_refused=is_refused)
            board.addItem(ghost)
            self._ghosts.append(ghost)

    def _scroll(self, at: QPoint) -> None:
        viewport = self._view.viewport()
        for bar, place, size in (
            (self._view.horizontalScrollBar(), at.x(), viewport.width()),
            (self._view.verticalScrollBar(), at.y(), viewport.height()),
        ):
            if place < EDGE_PX:
                bar.setValue(bar.value() - EDGE_STEP_PX)
            elif place > size - EDGE_PX:
                bar.setValue(bar.value() + EDGE_STEP_PX)

    def _place_hint(self, at: QPoint) -> None:
        self._at = at
        if not self.hint.isVisible():
            self.hint.setText(self.tr("Drop it on a chamber; Esc leaves all as it was."))
        self._fit_hint()
        self.hint.show()

    def _fit_hint(self) -> None:
        """Keep the words beside the pointer and inside the board."""
        self.hint.setFixedWidth(min(HINT_PX, max(self._view.viewport().width() - 2 * BESIDE_PX, 120)))
        self.hint.setFixedHeight(self.hint.heightForWidth(self.hint.width()))
        viewport, at = self._view.viewport(), self._at
        x = min(at.x() + BESIDE_PX, viewport.width() - self.hint.width() - 4)
        below = at.y() + BESIDE_PX + self.hint.height() < viewport.height()
        y = at.y() + BESIDE_PX if below else at.y() - BESIDE_PX - self.hint.height()
        self.hint.move(max(x, 4), max(min(y, viewport.height() - self.hint.height() - 4), 4))
