"""The week without a window: as a picture and on paper."""

import os
from pathlib import Path

from PySide6.QtCore import QBuffer, QLocale, QMarginsF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QPageLayout, QPageSize, QPainter, QPdfWriter
from PySide6.QtWidgets import QApplication, QLabel, QVBoxLayout, QWidget
from shiboken6 import delete

from yardplan import __version__
from yardplan.domain.errors import CannotWrite
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import order_results
from yardplan.ui.axis import LanePane, TimeAxis
from yardplan.ui.lanes import Lane, LaneKind
from yardplan.ui.look import Look
from yardplan.ui.palette import LIGHT, PAPER, dress
from yardplan.ui.scene import BoardScene
from yardplan.ui.week import WeekPage
from yardplan.ui.words import Words
from yardplan.usecases.outlook import Outlook

PICTURE_PX = (1600, 1000)
PAPER_DPI, BOARD_DPI = 1200, 96
PAPER_FONT_PX = 13
"""On paper 10 pt: 13 px of 1/96 inch."""
HEAD_PX, FOOT_PX = 34.0, 24.0
PEOPLE = (LaneKind.CREW, LaneKind.BENCH)


def save_week_picture(path_png: Path, path_pdf: Path, outlook: Outlook, stored: StoredPlan) -> None:
    """Write the Week page as a PNG and the whole week as a PDF; needs no screen.

    Raises
    ------
    CannotWrite
        If one of the files cannot be written.
    """
    app = ready_app()
    dress(app, LIGHT)
    plan = stored.outcome.plan
    words = Words(outlook.yard, plan)
    whole = QWidget()
    summary = QLabel(words.summary(stored, order_results(plan, outlook.orders, outlook.yard)))
    summary.setObjectName("summary")
    summary.setWordWrap(True)
    page = WeekPage(LIGHT)
    column = QVBoxLayout(whole)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(0)
    column.addWidget(summary)
    column.addWidget(page, 1)
    whole.resize(*PICTURE_PX)
    page.show_week(outlook, plan, words, frozenset())
    whole.grab()  # gives everything its place; only then it is known which words are in view
    page.board.place_words()
    picture = QBuffer()
    picture.open(QBuffer.OpenModeFlag.WriteOnly)
    whole.grab().save(picture, "PNG")
    delete(whole)  # now and here, not whenever and wherever garbage is collected
    write_drawn(path_png, picture)
    save_week_pdf(path_pdf, outlook, stored)


def ready_app() -> QApplication:
    """Return the application; where there is none yet and no screen, one that draws in memory."""
    app = QApplication.instance()
    if isinstance(app, QApplication):
        return app
    if os.name == "posix" and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    return QApplication(["yardplan"])


def save_week_pdf(path: Path, outlook: Outlook, stored: StoredPlan) -> None:
    """Write the week for the wall: black on white, hatches instead of tints, short codes, plan number on each page.

    Raises
    ------
    CannotWrite
        If the file cannot be written.
    """
    ready_app()
    paper = QBuffer()
    paper.open(QBuffer.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(paper)
    writer.setResolution(PAPER_DPI)
    writer.setTitle(f"yardplan, plan {stored.number}")
    writer.setCreator(f"yardplan {__version__}")
    letter = QLocale().measurementSystem() is QLocale.MeasurementSystem.ImperialUSSystem
    size = QPageSize(QPageSize.PageSizeId.Letter if letter else QPageSize.PageSizeId.A4)
    margins = QMarginsF(10, 10, 10, 10)
    writer.setPageLayout(QPageLayout(size, QPageLayout.Orientation.Landscape, margins, QPageLayout.Unit.Millimeter))
    painter = QPainter(writer)
    scale = PAPER_DPI / BOARD_DPI
    painter.scale(scale, scale)
    sheets = _Sheets(outlook, stored, writer.width() / scale, writer.height() / scale)
    sheets.paint(painter, writer)
    painter.end()
    sheets.delete()
    write_drawn(path, paper)


def write_drawn(path: Path, drawn: QBuffer) -> None:
    """Write what was drawn as a file, whole or not at all; raises `CannotWrite`."""
    fresh = path.with_name(f"{path.name}.new")
    try:
        fresh.write_bytes(drawn.data().data())
        fresh.replace(path)
    except OSError as error:
        fresh.unlink(missing_ok=True)
        raise CannotWrite(path, error.strerror or str(error)) from error


class _Sheets:
    """Pages of whole groups of rows, day by day; lengths in px of 1/96 inch."""

    def __init__(self, outlook: Outlook, stored: StoredPlan, width_px: float, height_px: float) -> None:
        self._stored, self._width_px, self._height_px = stored, width_px, height_px
        font = QFont(QApplication.font())
        font.setPixelSize(PAPER_FONT_PX)
        self._look = Look(PAPER, font)
        plan = stored.outcome.plan
        self._words = Words(outlook.yard, plan, codes_first=True)
        self._site = outlook.yard.site.name
        hidden = frozenset({LaneKind.BATTERY.value})
        self._board = BoardScene(self._look, outlook, plan, self._words, hidden)
        self._pane, self._axis = LanePane(), TimeAxis()
        self._pane.show_lanes(self._look, self._board.lanes, self._board.scales)
        self._axis.show_grid(self._look, self._board.ticks, self._no_note)
        self._axis_px = float(self._axis.height())
        self._blocks = self._pack()

    def paint(self, painter: QPainter, writer: QPdfWriter) -> None:
        """Draw all pages."""
        pages = []
        for day_ix in range(len(self._board.grid.days)):
            span = self._busy_span(day_ix)
            if span is None:
                continue
            for lanes in self._blocks:
                # Jobs of people and benches are short: half a day across leaves room for their words.
                count = 2 if lanes[0].kind in PEOPLE else 1
                pages += [(day_ix, part, lanes) for part in _parts(span, count)]
        for number, (day_ix, span, lanes) in enumerate(pages, 1):
            if number > 1:
                writer.newPage()
            self._paint_page(painter, day_ix, span, lanes, f"{number}/{len(pages)}")

    def delete(self) -> None:
        """Let go of scene and edges here and now, not whenever and wherever garbage is collected."""
        for made in (self._board, self._pane, self._axis):
            delete(made)

    def _pack(self) -> list[list[Lane]]:
        """Fill pages with groups of rows; a group is divided only where it is higher than a page."""
        room_px = self._height_px - HEAD_PX - self._axis_px - FOOT_PX
        groups: list[list[Lane]] = []
        for lane in self._board.lanes:
            if lane.opens or not groups:
                groups.append([])
            groups[-1].append(lane)
        pages: list[list[Lane]] = []
        for group in groups:
            alike = bool(pages) and (pages[-1][0].kind in PEOPLE) == (group[0].kind in PEOPLE)
            if alike and group[-1].bottom_px - self._top(pages[-1][0]) <= room_px:
                pages[-1] += group
                continue
            pages.append([])
            for lane in group:
                if pages[-1] and lane.bottom_px - self._top(pages[-1][0]) > room_px:
                    pages.append([])
                pages[-1].append(lane)
        return pages

    def _top(self, lane: Lane) -> float:
        """Where a row begins together with the heading above it."""
        headed = lane.opens and lane.kind in PEOPLE
        return lane.top_px - (self._look.line_px + 4 if headed else 0)

    def _busy_span(self, day_ix: int) -> tuple[float, float] | None:
        """From the first work of a day to its last, whole hours; None on a day without work."""
        _, first, after = self._board.grid.days[day_ix]
        spots = [mark.spot for marks in self._board.choices.values() for mark in marks if mark.spot.key[0] != "down"]
        within = [spot for spot in spots if spot.start_slot < after and spot.end_slot > first]
        if not within:
            return None
        hour = 60 / self._board.grid.slot_min
        start = min(max(spot.start_slot, first) for spot in within) - first
        end = max(min(spot.end_slot, after) for spot in within) - first
        return first + start // hour * hour, min(first - -end // hour * hour, float(after))

    def _paint_page(
        self, painter: QPainter, day_ix: int, span: tuple[float, float], lanes: list[Lane], page: str
    ) -> None:
        look, words = self._look, self._words
        on = self._board.grid.days[day_ix][0]
        left, width = float(self._pane.width()), self._width_px - self._pane.width()
        px_per_slot = width / (span[1] - span[0])
        painter.setPen(look.text)
        painter.setFont(look.bold)
        ascent = look.metrics.ascent()
        painter.drawText(QPointF(0, ascent), words.sheet_title(self._stored, on))
        painter.setFont(look.font)
        made = words.sheet_origin(self._stored, self._site, page)
        painter.drawText(QPointF(self._width_px - look.metrics.horizontalAdvance(made), ascent), made)
        foot = words.sheet_foot(self._stored)
        painter.drawText(QPointF(0, self._height_px - look.metrics.descent()), look.elided(foot, self._width_px))
        painter.save()
        painter.translate(left, HEAD_PX)
        self._axis.show_range(span[0], px_per_slot)
        self._axis.paint_axis(painter, width)
        painter.restore()
        self._board.seen_slots = span
        top, bottom = self._top(lanes[0]), lanes[-1].bottom_px
        body = QRectF(left, HEAD_PX + self._axis_px, width, bottom - top)
        source = QRectF(span[0], top, span[1] - span[0], bottom - top)
        self._board.render(painter, body, source, Qt.AspectRatioMode.IgnoreAspectRatio)
        painter.save()
        painter.translate(0, body.top() - top)
        for lane in lanes:
            self._pane.paint_lane(painter, lane, left)
        painter.restore()
        painter.setPen(look.frame)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(body)

    def _no_note(self, _on: object) -> str:
        return ""


def _parts(span: tuple[float, float], count: int) -> list[tuple[float, float]]:
    step = (span[1] - span[0]) / count
    return [(span[0] + ix * step, span[0] + (ix + 1) * step) for ix in range(count)]
