"""The view of the board: zoom and pan to a fraction of a pixel, choice by mouse and keys."""

from PySide6.QtCore import QEvent, QPoint, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QResizeEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QGraphicsView, QToolTip, QWidget

from yardplan.ui.drag import CycleDrag
from yardplan.ui.lanes import Lane
from yardplan.ui.marks import CycleMark, Mark
from yardplan.ui.scene import BoardScene

KEY_ZOOM = 1.25
WHEEL_ZOOM = 1.2
NEAREST_MIN = 60
"""The nearest zoom shows this many minutes across."""


class BoardView(QGraphicsView):
    """The scene under a scale across that is its zoom; knows what is in view to a fraction of a pixel.

    Signals
    -------
    looked()
        What is in view has changed.
    chosen(str, str)
        The key of the mark that was chosen; empty strings when the choice was given up.
    opened()
        A mark was double-clicked, or Enter was pressed on it.
    dropped()
        Escape was pressed with nothing chosen.
    focus_moved()
        The keyboard has come here or gone.
    """

    looked = Signal()
    chosen = Signal(str, str)
    opened = Signal()
    dropped = Signal()
    focus_moved = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setResizeAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.MinimalViewportUpdate)
        self.setOptimizationFlag(QGraphicsView.OptimizationFlag.DontSavePainterState)
        self.setOptimizationFlag(QGraphicsView.OptimizationFlag.DontAdjustForAntialiasing)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(self.tr("Board of the week"))
        self.setObjectName("board")
        self.px_per_slot = 1.0
        self._span_slots = 288.0
        self._left = 0.0
        self._mark: Mark | None = None
        self._pressed_at: QPoint | None = None
        self._dragged_from: QPoint | None = None
        self.can_edit = False
        self.drag = CycleDrag(self)
        self.horizontalScrollBar().valueChanged.connect(self._scrolled)
        self.verticalScrollBar().valueChanged.connect(self._scrolled)

    # What is in view

    @property
    def board(self) -> BoardScene | None:
        """The scene that is shown, None before the first."""
        scene = self.scene()
        return scene if isinstance(scene, BoardScene) else None

    def show_board(self, board: BoardScene) -> None:
        """Take a new scene; what was in view and chosen stays so where it can."""
        kept = self._mark.spot.key if self._mark else None
        if self.drag.is_active:
            self.drag.cancel()
        self._mark = None
        self.setScene(board)
        self.zoom_to(self.px_per_slot, 0)
        if kept:
            self.choose(board.marks.get(kept), announce=False)

    @property
    def left_slot(self) -> float:
        """The slot at the left edge."""
        shown = self.horizontalScrollBar().value()
        return self._left if round(self._left * self.px_per_slot) == shown else shown / self.px_per_slot

    @property
    def right_slot(self) -> float:
        """The slot at the right edge."""
        return self.left_slot + self.viewport().width() / self.px_per_slot

    def zoom_to(self, px_per_slot: float, anchor_px: float) -> None:
        """Set the zoom, between an hour and the whole grid across; what is `anchor_px` from the left stays there."""
        if self.board is None:
            return
        grid, width = self.board.grid, max(self.viewport().width(), 1)
        anchor_slot = self.left_slot + anchor_px / self.px_per_slot
        far, near = width / grid.n_slots, width / (NEAREST_MIN / grid.slot_min)
        self.px_per_slot = max(min(px_per_slot, near), min(far, near))
        self._span_slots = width / self.px_per_slot
        self.setTransform(QTransform.fromScale(self.px_per_slot, 1))
        self._look_from(anchor_slot - anchor_px / self.px_per_slot)

    def zoom_by(self, factor: float) -> None:
        """Zoom around the chosen mark where it is in view, else around the middle."""
        anchor = self.viewport().width() / 2
        if self._mark:
            x = (self._mark.spot.start_slot - self.left_slot) * self.px_per_slot
            anchor = x if 0 <= x <= self.viewport().width() else anchor
        self.zoom_to(self.px_per_slot * factor, anchor)

    def show_span(self, first: float, after: float) -> None:
        """Show the slots from `first` to `after` across."""
        self.zoom_to(self.viewport().width() / max(after - first, 1e-6), 0)
        self._look_from(first)

    def show_all(self) -> None:
        """Show the whole grid across."""
        if self.board:
            self.show_span(0, self.board.grid.n_slots)

    def show_now(self) -> None:
        """Bring the now-line, or the end of the grid that is next to it, to the first third."""
        if self.board:
            span = self.right_slot - self.left_slot
            self._look_from(min(max(self.board.now_slot, 0), self.board.grid.n_slots) - span / 3)

    def _look_from(self, left: float) -> None:
        if self.board is None:
            return
        span = self.viewport().width() / self.px_per_slot
        self._left = min(max(left, 0.0), max(self.board.grid.n_slots - span, 0.0))
        bar = self.horizontalScrollBar()
        before, wanted = bar.value(), round(self._left * self.px_per_slot)
        bar.setValue(wanted)
        self._left = self._left if bar.value() == wanted else bar.value() / self.px_per_slot
        if bar.value() == before:
            self.looked.emit()

    def _scrolled(self) -> None:
        self.looked.emit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep what is in view across."""
        left = self.left_slot
        super().resizeEvent(event)
        self.zoom_to(self.viewport().width() / self._span_slots, 0)
        self._look_from(left)

    # Choice

    @property
    def mark(self) -> Mark | None:
        """The chosen mark."""
        return self._mark

    def choose_cycle_of(self, order_id: str) -> None:
        """Choose the first cycle of an order, where the plan has one."""
        if self.board:
            cycles = [mark for key, mark in self.board.marks.items() if key[0] == "cycle"]
            found = [mark for mark in cycles if mark.spot.order_id == order_id]
            if found:
                self.choose(min(found, key=lambda mark: mark.spot.start_slot))

    def choose(self, mark: Mark | None, *, announce: bool = True) -> None:
        """Choose a mark, bring it into view and tell screen readers; None gives the choice up."""
        self._mark = mark
        name = mark.name if mark else self.tr("nothing chosen")
        self.setAccessibleDescription(name)
        if mark:
            self._bring_into_view(mark)
        if announce:
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, name))
            self.chosen.emit(*(mark.spot.key if mark else ("", "")))

    def _bring_into_view(self, mark: Mark) -> None:
        spot, margin = mark.spot, 24 / self.px_per_slot
        if spot.start_slot < self.left_slot:
            self._look_from(spot.start_slot - margin)
        elif spot.end_slot > self.right_slot:
            span = self.right_slot - self.left_slot
            self._look_from(min(spot.end_slot - span + margin, spot.start_slot - margin))
        bar, height = self.verticalScrollBar(), self.viewport().height()
        if spot.top_px < bar.value():
            bar.setValue(int(spot.top_px - 6))
        elif spot.top_px + spot.height_px > bar.value() + height:
            bar.setValue(int(spot.top_px + spot.height_px - height + 6))

    def _step(self, forward: bool) -> None:
        """Choose the next or the one before in the same row."""
        board = self.board
        if board is None:
            return
        for marks in board.choices.values():
            if self._mark in marks:
                at = marks.index(self._mark) + (1 if forward else -1)
                self.choose(marks[min(max(at, 0), len(marks) - 1)])
                return
        self._choose_first()

    def _step_order(self, forward: bool) -> None:
        """Choose the next cycle or finishing job of the same order, or the one before."""
        board, mark = self.board, self._mark
        if board is None or mark is None or not mark.spot.order_id:
            self._choose_first()
            return
        order_id = mark.spot.order_id
        kinds = ("cycle", "finish")
        marks = [one for key, one in board.marks.items() if key[0] in kinds and one.spot.order_id == order_id]
        marks.sort(key=lambda one: (one.spot.start_slot, one.spot.end_slot, one.spot.key))
        if mark in marks:
            at = marks.index(mark) + (1 if forward else -1)
            self.choose(marks[min(max(at, 0), len(marks) - 1)])
        elif marks:
            self.choose(_nearest(marks, mark.spot.start_slot))

    def _step_row(self, down: bool) -> None:
        """Choose the mark next in time in the next row that has any."""
        board = self.board
        if board is None:
            return
        rows = [lane for lane in board.lanes if board.choices.get(lane)]
        here = next((ix for ix, lane in enumerate(rows) if self._mark in board.choices[lane]), None)
        if here is None or self._mark is None:
            self._choose_first()
            return
        to = here + (1 if down else -1)
        if 0 <= to < len(rows):
            middle = (self._mark.spot.start_slot + self._mark.spot.end_slot) / 2
            self.choose(_nearest(board.choices[rows[to]], middle))

    def _choose_first(self) -> None:
        """Choose the first mark in view, row by row."""
        board = self.board
        if board is None:
            return
        top = self.verticalScrollBar().value()
        rows: list[Lane] = [lane for lane in board.lanes if board.choices.get(lane)]
        for lane in sorted(rows, key=lambda row: row.bottom_px <= top):
            for mark in board.choices[lane]:
                if mark.spot.start_slot < self.right_slot and mark.spot.end_slot > self.left_slot:
                    self.choose(mark)
                    return

    def _mark_at(self, place: QPoint) -> Mark | None:
        item = self.itemAt(place)
        return item if isinstance(item, Mark) else None

    # Mouse and keys

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Turn: up and down; with Shift to the sides; with Ctrl zoom at the pointer."""
        turned = event.angleDelta().y() or event.angleDelta().x()
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoom_to(self.px_per_slot * WHEEL_ZOOM ** (turned / 120), event.position().x())
        elif event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            bar = self.horizontalScrollBar()
            bar.setValue(bar.value() - turned)
        else:
            super().wheelEvent(event)
            return
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin a click or a pan."""
        if event.button() in (Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton):
            self._pressed_at = self._dragged_from = event.position().toPoint()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Pan while a button is held, or take a cycle along that was pressed."""
        here = event.position().toPoint()
        if self.drag.is_active:
            if event.buttons() & Qt.MouseButton.LeftButton:
                self.drag.move(here)
            else:  # let go where nobody told us, as over another window
                self.drag.cancel()
            return
        if self._pressed_at is None or self._dragged_from is None:
            return
        far = (here - self._pressed_at).manhattanLength() >= 8
        mark = self._mark_at(self._pressed_at) if far and self._dragged_from == self._pressed_at else None
        left = bool(event.buttons() & Qt.MouseButton.LeftButton)
        if self.can_edit and left and isinstance(mark, CycleMark):
            self.choose(mark)
            self.drag.begin(mark, self._pressed_at)
            self._pressed_at = self._dragged_from = None
            self.drag.move(here)
            return
        if far or self._dragged_from != self._pressed_at:
            moved = here - self._dragged_from
            self.horizontalScrollBar().setValue(self.horizontalScrollBar().value() - moved.x())
            self.verticalScrollBar().setValue(self.verticalScrollBar().value() - moved.y())
            self._dragged_from = here

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End a pan, let a cycle go, or choose what is under the pointer."""
        if self.drag.is_active:
            self.drag.drop()
            return
        if self._pressed_at is not None and self._dragged_from == self._pressed_at:
            mark = self._mark_at(self._pressed_at)
            board = self.board
            can_choose = board is not None and any(mark in marks for marks in board.choices.values())
            self.choose(mark if can_choose else None)
        self._pressed_at = self._dragged_from = None

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Open what was chosen by the first click."""
        self.opened.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows choose, with Shift they pan; pages follow an order; + - 0 zoom; N goes to now; Escape gives up."""
        bar, span = self.horizontalScrollBar(), self.viewport().width()
        pan = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        key = event.key()
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            forward = key == Qt.Key.Key_Right
            if pan:
                bar.setValue(bar.value() + (span // 4 if forward else -span // 4))
            else:
                self._step(forward)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            down = key == Qt.Key.Key_Down
            if pan:
                upright = self.verticalScrollBar()
                upright.setValue(upright.value() + (60 if down else -60))
            else:
                self._step_row(down)
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom_by(KEY_ZOOM)
        elif key == Qt.Key.Key_Minus:
            self.zoom_by(1 / KEY_ZOOM)
        elif key == Qt.Key.Key_0:
            self.show_all()
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown) and self._mark:
            self._step_order(key == Qt.Key.Key_PageDown)
        elif key == Qt.Key.Key_N:
            self.show_now()
        elif key == Qt.Key.Key_Home:
            bar.setValue(0)
        elif key == Qt.Key.Key_End:
            bar.setValue(bar.maximum())
        elif key == Qt.Key.Key_Escape:
            if self.drag.is_active:
                self.drag.cancel()
            elif self._mark:
                self.choose(None)
            else:
                self.dropped.emit()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._mark:
            self.opened.emit()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Tell that the keyboard is here."""
        super().focusInEvent(event)
        self.focus_moved.emit()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Tell that the keyboard has gone."""
        super().focusOutEvent(event)
        self.focus_moved.emit()

    def viewportEvent(self, event: QEvent) -> bool:
        """Answer the pointer's question with the mark's sentence."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            mark = self._mark_at(event.pos())
            if mark:
                QToolTip.showText(event.globalPos(), mark.name, self.viewport())
            else:
                QToolTip.hideText()
            return True
        return super().viewportEvent(event)


def _nearest(marks: list[Mark], slot: float) -> Mark:
    return min(marks, key=lambda mark: abs((mark.spot.start_slot + mark.spot.end_slot) / 2 - slot))
