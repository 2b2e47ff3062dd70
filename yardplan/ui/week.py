"""The Week page: the board, its zoom buttons, and the panel that tells about the chosen mark."""

from collections.abc import Callable
from datetime import datetime
from functools import partial
from html import escape

import numpy as np
from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QTextBrowser,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.plan import Plan
from yardplan.ui.board import Board
from yardplan.ui.dates import day_text
from yardplan.ui.details import Details
from yardplan.ui.edit_row import EditRow
from yardplan.ui.key import BoardKey
from yardplan.ui.look import Look
from yardplan.ui.palette import Palette
from yardplan.ui.scene import BoardScene
from yardplan.ui.view import KEY_ZOOM
from yardplan.ui.words import Words
from yardplan.usecases.outlook import Outlook

PANEL_PX = 290
PARTS = 3
"""In so many steps the marks of a week are placed."""
BEFORE_SUNRISE_MIN, AFTER_SUNSET_MIN = 60, 225
"""A day is shown from before sunrise, when molds are charged, until finishing is under way."""


class WeekPage(QWidget):
    """Shows an outlook with the plan that there is for it, or says what to do first.

    Signals
    -------
    order_asked(str)
        The person wants to see an order in the list.
    unlit()
        The person wants all orders to stand equal again.
    why_asked(str)
        The person wants to know why an order is late.
    """

    order_asked = Signal(str)
    unlit = Signal()
    why_asked = Signal(str)

    def __init__(self, colors: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colors = colors
        self._shown: tuple[Outlook, Plan, Words, frozenset[str]] | None = None
        self._details: Details | None = None
        self._prepared: tuple[Outlook, Plan, Words, frozenset[str], str] | None = None
        self._scene: BoardScene | None = None
        self.board = Board()
        self.edit_row = EditRow()
        self.addActions(self.edit_row.every)
        self.actions_by_name: dict[str, QAction] = {}
        self._range = QLabel()
        self._hint = QLabel()
        self._hint.setObjectName("hint")
        self._hint.setWordWrap(True)
        self._text = QTextBrowser()
        self._text.setObjectName("details")
        self._text.setFrameShape(QFrame.Shape.NoFrame)
        self._text.document().setDocumentMargin(10)
        self._text.setAccessibleName(self.tr("Details of what is chosen"))
        self._text.setOpenLinks(False)
        self._text.anchorClicked.connect(self._follow_link)
        self._unlight = QToolButton()
        self._unlight.setObjectName("unlight")
        self._unlight.setToolTip(self.tr("Let all orders stand equal again (Esc on the board)"))
        self._unlight.clicked.connect(self.unlit)
        self._unlight.hide()
        self._key = BoardKey()
        self._panel = QStackedWidget()
        self._panel.setMinimumWidth(220)
        self._panel.addWidget(self._key_page())
        self._panel.addWidget(self._text)
        self._message = QLabel()
        self._message.setObjectName("message")
        self._message.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._message.setWordWrap(True)
        self._message.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        self._pages = QStackedWidget()
        self._pages.addWidget(self._message)
        self._pages.addWidget(self._board_page())
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._pages)
        self.board.chosen.connect(self._show_details)
        self.board.opened.connect(self._text.setFocus)
        self.board.view.looked.connect(self._show_range)
        self.board.view.dropped.connect(self.unlit)

    # What is shown

    def show_message(self, text: str) -> None:
        """Say in place of the board what to do."""
        self._message.setText(text)
        self._pages.setCurrentIndex(0)

    def show_week(self, outlook: Outlook, plan: Plan, words: Words, hidden: frozenset[str], hint: str = "") -> None:
        """Show a week: its first busy day at first, later what was in view."""
        for step in self.steps(outlook, plan, words, hidden, hint):
            step()

    def steps(
        self, outlook: Outlook, plan: Plan, words: Words, hidden: frozenset[str], hint: str = ""
    ) -> list[Callable[[], object]]:
        """Return what shows a week, in steps between which the window may answer; all of them are to be taken."""
        return [
            partial(self._prepare, outlook, plan, words, hidden, hint),
            *(partial(self._fill, part) for part in range(PARTS)),
            *(partial(self._ready, part) for part in range(PARTS)),
            self._show_prepared,
        ]

    def _prepare(self, outlook: Outlook, plan: Plan, words: Words, hidden: frozenset[str], hint: str) -> None:
        self._prepared = (outlook, plan, words, hidden, hint)
        self._scene = BoardScene(self._look(), outlook, plan, words, hidden, is_filled=False)

    def _fill(self, part: int) -> None:
        if self._scene is not None:
            self._scene.fill(part, PARTS)

    def _ready(self, part: int) -> None:
        view = self.board.view
        if self._scene is not None and view.board is not None and view.board.grid == self._scene.grid:
            self._scene.seen_slots = (view.left_slot, view.right_slot)
            self._scene.ready(part, PARTS, view.px_per_slot)

    def _show_prepared(self) -> None:
        if self._prepared is None or self._scene is None:
            return
        outlook, plan, words, hidden, hint = self._prepared
        scene, self._prepared, self._scene = self._scene, None, None
        keeps_view = self._shown is not None and self._shown[1].grid == plan.grid
        self._shown = (outlook, plan, words, hidden)
        self._details = Details(outlook, plan, words)
        self._hint.setText(hint)
        self._hint.setVisible(bool(hint))
        self._pages.setCurrentIndex(1)
        self.board.show_board(scene)
        if not keeps_view:
            self._show_day(self._busy_day())
        self._show_details(*(self.board.view.mark.spot.key if self.board.view.mark else ("", "")))

    def set_colors(self, colors: Palette) -> None:
        """Draw in other colors."""
        self._colors = colors
        self._text.document().setDefaultStyleSheet(
            f"td.name {{ color: {colors.dim_text}; padding-right: 10px; }} td {{ padding-bottom: 3px; }}"
            f" h3 {{ margin-bottom: 4px; }} h4 {{ margin-bottom: 2px; margin-top: 10px; }}"
            f" a {{ color: {colors.accent}; }}"
        )
        self._draw()
        self._show_details(*(self.board.view.mark.spot.key if self.board.view.mark else ("", "")))

    def set_hidden(self, hidden: frozenset[str]) -> None:
        """Leave kinds of rows out."""
        if self._shown:
            self._shown = (*self._shown[:3], hidden)
            self._draw()

    def light_order(self, order_id: str) -> None:
        """Let one order's marks stand out; an empty number lets all stand equal."""
        self.board.light_orders(frozenset({order_id}) if order_id else frozenset())
        self._unlight.setVisible(bool(order_id))
        self._unlight.setText(self.tr("Order {id} stands out  ×").format(id=order_id))

    def open_order(self, order_id: str) -> None:
        """Go to the first cycle of an order."""
        self.board.view.choose_cycle_of(order_id)
        self.board.view.setFocus()

    def open_cycle(self, cycle_id: str) -> None:
        """Go to a cycle."""
        view = self.board.view
        if view.board:
            view.choose(view.board.marks.get(("cycle", cycle_id)))
            view.setFocus()

    def _follow_link(self, link: QUrl) -> None:
        target = link.path(QUrl.ComponentFormattingOption.FullyDecoded)
        view = self.board.view
        if link.scheme() == "why":
            self.why_asked.emit(target)
        elif link.scheme() == "cycle" and view.board is not None:
            view.choose(view.board.marks.get(("cycle", target)))
        else:
            self.order_asked.emit(target)

    def show_now(self, now: datetime) -> None:
        """Move the now-line."""
        if self.board.view.board:
            self.board.show_now(self.board.view.board, now)

    def _look(self) -> Look:
        look = Look(self._colors, self.font())
        self._key.show_look(look)
        return look

    def _draw(self) -> None:
        look = self._look()
        if self._shown:
            outlook, plan, words, hidden = self._shown
            self.board.show_board(BoardScene(look, outlook, plan, words, hidden))

    def _show_details(self, kind: str, ident: str) -> None:
        mark = self.board.view.mark
        if mark is None or self._details is None:
            self._panel.setCurrentIndex(0)
            return
        if mark.spot.cycle_id:
            told = self._details.of_cycle(mark.spot.cycle_id)
        elif kind == "change" or (kind == "crew" and "|change|" in ident):
            told = self._details.of_change(ident.rsplit("|", 1)[-1])
        else:
            told = self._details.of_sentence(mark.name)
        self._text.setHtml(told)
        self._panel.setCurrentIndex(1)

    def show_told(self, title: str, lines: list[str]) -> None:
        """Tell something in place of the details until something else is chosen."""
        told = "".join(f"<p>{escape(line)}</p>" if line else "<hr>" for line in lines)
        self._text.setHtml(f"<h3>{escape(title)}</h3>{told}")
        self._panel.setCurrentIndex(1)

    # Days and zoom

    def _show_range(self) -> None:
        view = self.board.view
        if view.board:
            grid = view.board.grid
            first, last = grid.local(int(view.left_slot)), grid.local(int(max(view.right_slot - 1, view.left_slot)))
            told = day_text(first) if first.date() == last.date() else f"{day_text(first)} – {day_text(last)}"
            self._range.setText(f"{told} {last.year}")

    def _busy_day(self) -> int:
        """Index of the first day on which something starts, the first day where nothing does."""
        if self._shown is None or not self._shown[1].cycles:
            return 0
        plan = self._shown[1]
        first = plan.cycles[0].charge_slot
        return next((ix for ix, (_, _, after) in enumerate(plan.grid.days) if first < after), 0)

    def _day_in_view(self) -> int:
        view = self.board.view
        if view.board is None:
            return 0
        middle = (view.left_slot + view.right_slot) / 2
        return next((ix for ix, (_, _, after) in enumerate(view.board.grid.days) if middle < after), 0)

    def _show_day(self, day_ix: int) -> None:
        board = self.board.view.board
        if board is None:
            return
        days = board.grid.days
        _, first, after = days[min(max(day_ix, 0), len(days) - 1)]
        lit = np.flatnonzero(board.outlook.heat.elevation_deg[first:after] > 0)
        if len(lit):
            slots_per_min = 1 / board.grid.slot_min
            after = min(first + int(lit[-1]) + int(AFTER_SUNSET_MIN * slots_per_min), after)
            first = max(first + int(lit[0]) - int(BEFORE_SUNRISE_MIN * slots_per_min), first)
        self.board.view.show_span(first, after)

    def _show_hours(self, hours: float) -> None:
        view = self.board.view
        if view.board:
            slots = hours * 60 / view.board.grid.slot_min
            view.zoom_to(view.viewport().width() / slots, view.viewport().width() / 2)

    def show_day(self) -> None:
        """Show the day that is in the middle of the view, from before sunrise to the evening."""
        self._show_day(self._day_in_view())

    def show_day_before(self) -> None:
        """Show the day before."""
        self._show_day(self._day_in_view() - 1)

    def show_day_after(self) -> None:
        """Show the day after."""
        self._show_day(self._day_in_view() + 1)

    def show_six_hours(self) -> None:
        """Show six hours around the middle."""
        self._show_hours(6)

    def show_three_days(self) -> None:
        """Show three days around the middle."""
        self._show_hours(72)

    def zoom_in(self) -> None:
        """Zoom in by a step."""
        self.board.view.zoom_by(KEY_ZOOM)

    def zoom_out(self) -> None:
        """Zoom out by a step."""
        self.board.view.zoom_by(1 / KEY_ZOOM)

    # Making the page

    def _key_page(self) -> QScrollArea:
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setContentsMargins(12, 8, 10, 8)
        title = QLabel(self.tr("How to read the board"))
        title.setObjectName("title")
        column.addWidget(title)
        column.addWidget(self._key)
        column.addStretch(1)
        area = QScrollArea()
        area.setObjectName("board_key")
        area.setAccessibleName(self.tr("How to read the board"))
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidget(inner)
        return area

    def _board_page(self) -> QWidget:
        split = QSplitter(Qt.Orientation.Horizontal)
        split.addWidget(self.board)
        split.addWidget(self._panel)
        split.setStretchFactor(0, 1)
        split.setStretchFactor(1, 0)
        split.setSizes([10 * PANEL_PX, PANEL_PX])
        split.setHandleWidth(5)
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._zoom_row())
        column.addWidget(self.edit_row)
        column.addWidget(self._hint)
        column.addWidget(split, 1)
        return page

    def _zoom_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setContentsMargins(8, 2, 8, 2)
        row.setSpacing(4)
        row.addWidget(self._range)
        row.addSpacing(12)
        row.addWidget(self._unlight)
        row.addStretch(1)
        view = self.board.view
        # Single keys are handled by the board itself, so that they do nothing while a text is typed elsewhere.
        wanted = (
            ("before", self.tr("‹ Day before"), "Ctrl+Left", self.show_day_before),
            ("after", self.tr("Day after ›"), "Ctrl+Right", self.show_day_after),
            ("now", self.tr("Now"), "", view.show_now),
            ("six", self.tr("6 h"), "", self.show_six_hours),
            ("day", self.tr("Day"), "", self.show_day),
            ("three", self.tr("3 days"), "", self.show_three_days),
            ("all", self.tr("Week"), "", view.show_all),
            ("out", self.tr("−"), QKeySequence.StandardKey.ZoomOut, self.zoom_out),
            ("in", self.tr("+"), QKeySequence.StandardKey.ZoomIn, self.zoom_in),
        )
        hints = {
            "now": self.tr("Go to now (N)"),
            "all": self.tr("Show the whole plan (0)"),
            "out": self.tr("Zoom out (− on the board, or Ctrl and wheel)"),
            "in": self.tr("Zoom in (+ on the board, or Ctrl and wheel)"),
        }
        for name, text, keys, do in wanted:
            action = QAction(text, self)
            action.setShortcut(keys)
            action.setToolTip(hints.get(name, text))
            action.triggered.connect(do)
            self.addAction(action)
            self.actions_by_name[name] = action
            button = QToolButton()
            button.setDefaultAction(action)
            button.setObjectName(f"board_{name}")
            button.setAccessibleName(action.toolTip())
            row.addWidget(button)
        return row
