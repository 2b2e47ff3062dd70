"""Shop sheets as a PDF: a page for each unit, black and gray on white, with codes that can be typed back."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from PySide6.QtCore import QBuffer, QLocale, QMarginsF, QObject, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPageLayout, QPageSize, QPainter, QPdfWriter, QPen
from PySide6.QtWidgets import QApplication

from yardplan import __version__
from yardplan.domain.shop_sheet import SheetRow, ShopSheet, UnitSheet
from yardplan.ui.dates import clock_text, day_text, day_time_text, percent_text
from yardplan.ui.picture import ready_app, write_drawn

DPI = 1200
PT = DPI / 72
TEXT_PT, CODE_PT, HEAD_PT = 10.0, 14.0, 16.0
"""Sizes that can be read on a wall: text at least 10 pt, codes 14 pt (own assumption)."""

ROW_PT, TICK_PT = 46.0, 12.0
MARGIN_MM = 12.0
GRAY = QColor("#E6E6E6")
PAPERS = {"a4": QPageSize.PageSizeId.A4, "letter": QPageSize.PageSizeId.Letter}

COLUMNS = (0.11, 0.10, 0.27, 0.17, 0.11, 0.17, 0.07)
"""Shares of the width: code, charge, what, heat, latest start, demold, tick and reason."""


def save_shop_sheets(path: Path, sheet: ShopSheet, paper: str = "") -> None:
    """Write the sheets of a day; `paper` is ``a4`` or ``letter``, empty: that of the seat's country.

    Raises
    ------
    CannotWrite
        If the file cannot be written.
    """
    ready_app()
    us = QLocale().measurementSystem() is QLocale.MeasurementSystem.ImperialUSSystem
    drawn = QBuffer()
    drawn.open(QBuffer.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(drawn)
    writer.setResolution(DPI)
    writer.setTitle(f"yardplan, shop sheet, plan {sheet.plan_number}, {sheet.on}")
    writer.setCreator(f"yardplan {__version__}")
    margins = QMarginsF(MARGIN_MM, MARGIN_MM, MARGIN_MM, MARGIN_MM)
    size = QPageSize(PAPERS[paper or ("letter" if us else "a4")])
    writer.setPageLayout(QPageLayout(size, QPageLayout.Orientation.Portrait, margins, QPageLayout.Unit.Millimeter))
    painter = QPainter(writer)
    pages = SheetWords(sheet).pages(_rows_on(writer.height()))
    for number, page in enumerate(pages, 1):
        if number > 1:
            writer.newPage()
        _paint(painter, page, float(writer.width()), float(writer.height()))
    painter.end()
    write_drawn(path, drawn)


def _rows_on(height: float) -> int:
    """Return how many rows a page holds between head and foot."""
    return max(int((height / PT - 5 * HEAD_PT - 5 * TEXT_PT) / ROW_PT), 1)


@dataclass(frozen=True)
class Line:
    """The words of one row; `is_cycle` tells it from a mold change."""

    code: str
    charge: str
    what: tuple[str, ...]
    heat: tuple[str, ...]
    latest: tuple[str, ...]
    demold: tuple[str, ...]
    is_cycle: bool


@dataclass(frozen=True)
class Page:
    """All words of a page, from the top down."""

    title: str
    issue: str
    is_issued: bool
    heads: tuple[str, ...]
    lines: tuple[Line, ...]
    nothing: str
    foot: str
    number: str


class SheetWords(QObject):
    """Tells a sheet in the language and the customs of this seat."""

    def __init__(self, sheet: ShopSheet) -> None:
        super().__init__()
        self._sheet = sheet

    def pages(self, rows_on: int) -> list[Page]:
        """Return the pages, one for each unit; a unit with more than `rows_on` rows takes another page."""
        found: list[tuple[UnitSheet, tuple[SheetRow, ...]]] = []
        for unit in self._sheet.units:
            parts = [unit.rows[first : first + rows_on] for first in range(0, len(unit.rows), rows_on)]
            found += [(unit, part) for part in parts or [()]]
        return [self._page(unit, rows, f"{number}/{len(found)}") for number, (unit, rows) in enumerate(found, 1)]

    def issue(self) -> str:
        """Return since when the plan is in force, or that it is not."""
        sheet = self._sheet
        if sheet.issued is not None and sheet.issued_at is not None:
            return self.tr("Issued {at} by {who}").format(at=day_time_text(sheet.issued_at), who=sheet.issued.by)
        if sheet.in_force is not None:
            return self.tr("NOT ISSUED: plan {n} is in force").format(n=sheet.in_force)
        return self.tr("NOT ISSUED: no plan is in force")

    def _page(self, unit: UnitSheet, rows: tuple[SheetRow, ...], number: str) -> Page:
        sheet = self._sheet
        return Page(
            title=self.tr("{unit}  ·  {day} {year}  ·  plan {n}").format(
                unit=unit.unit, day=day_text(sheet.on), year=sheet.on.year, n=sheet.plan_number
            ),
            issue=self.issue(),
            is_issued=sheet.issued is not None,
            heads=(
                self.tr("Code"),
                self.tr("Charge"),
                self.tr("What, crew"),
                self.tr("Heat"),
                self.tr("Latest"),
                self.tr("Demold"),
                self.tr("Done"),
            ),
            lines=tuple(self._line(row) for row in rows),
            nothing="" if rows else self.tr("Nothing is planned for this unit on this day."),
            foot=self.tr(
                "{site}. Times at {share} confidence: a cook ends when the inside air has peaked, not by the clock. No "
                "start after the latest one. The field's safety rules come first."
            ).format(site=sheet.site, share=percent_text(sheet.confidence)),
            number=self.tr("sheet {page}").format(page=number),
        )

    def _line(self, row: SheetRow) -> Line:
        crew = ", ".join(row.crew)
        if not row.code:
            what = self.tr("hang {mold} in {chamber}").format(mold=row.mold, chamber=row.chamber)
            return Line(row.chamber, clock_text(row.start_at), (what, crew), (), (), (clock_text(row.end_at),), False)
        pieces = self.tr("{n} × {product}").format(n=row.pieces, product=row.product)
        return Line(
            row.code,
            clock_text(row.start_at),
            (pieces, f"{row.color} · {row.order_id} · {row.mold}", crew),
            (self._clock(row.heat_at), self.tr("to {at}").format(at=self._clock(row.heat_end_at))),
            self._latest(row.latest_at),
            (self._clock(row.demold_at), self.tr("to {at}").format(at=self._clock(row.end_at))),
            True,
        )

    def _latest(self, at: datetime | None) -> tuple[str, ...]:
        """Return the latest start by the clock, its day below where it is another one."""
        if at is None:
            return (self.tr("none"),)
        return (clock_text(at),) if at.date() == self._sheet.on else (clock_text(at), _day_name(at))

    def _clock(self, at: datetime | None) -> str:
        """Return a time of day, with the name of its day where it is another one."""
        if at is None:
            return ""
        if at.date() == self._sheet.on:
            return clock_text(at)
        return f"{_day_name(at)} {clock_text(at)}"


def _day_name(at: datetime) -> str:
    return QLocale().standaloneDayName(at.isoweekday(), QLocale.FormatType.ShortFormat)


def _font(size_pt: float, *, bold: bool = False) -> QFont:
    font = QFont(QApplication.font())
    font.setPixelSize(round(size_pt * PT))
    font.setBold(bold)
    return font


def _paint(painter: QPainter, page: Page, width: float, height: float) -> None:
    black = QPen(Qt.GlobalColor.black, 0.8 * PT)
    painter.setPen(black)
    top = HEAD_PT * PT
    _put(painter, _font(HEAD_PT, bold=True), QPointF(0, top), page.title, width)
    top += 1.5 * HEAD_PT * PT
    if page.is_issued:
        _put(painter, _font(TEXT_PT), QPointF(0, top), page.issue, width)
    else:  # white on black would drink ink: a frame of its own shouts enough
        box = QRectF(0, top - HEAD_PT * PT, width, 1.5 * HEAD_PT * PT)
        painter.setPen(QPen(Qt.GlobalColor.black, 2 * PT))
        painter.drawRect(box)
        painter.setPen(black)
        _put(painter, _font(CODE_PT, bold=True), QPointF(6 * PT, top), page.issue, width - 12 * PT)
    top += 1.4 * HEAD_PT * PT
    lefts = [sum(COLUMNS[:ix]) * width for ix in range(len(COLUMNS))]
    widths = [share * width - 4 * PT for share in COLUMNS]
    for left, room, head in zip(lefts, widths, page.heads, strict=True):
        _put(painter, _font(TEXT_PT, bold=True), QPointF(left, top), head, room)
    top += 0.5 * TEXT_PT * PT
    if page.nothing:
        _put(painter, _font(TEXT_PT), QPointF(0, top + ROW_PT * PT / 2), page.nothing, width)
    for ix, line in enumerate(page.lines):
        row = QRectF(0, top + ix * ROW_PT * PT, width, ROW_PT * PT)
        _paint_row(painter, line, row, lefts, widths, shaded=ix % 2 == 0)
    painter.setPen(black)
    foot = QRectF(0, height - 3.4 * TEXT_PT * PT, width * 0.85, 3.4 * TEXT_PT * PT)
    painter.setFont(_font(TEXT_PT))
    painter.drawText(foot, int(Qt.AlignmentFlag.AlignBottom) | int(Qt.TextFlag.TextWordWrap), page.foot)
    corner = QRectF(width * 0.85, foot.top(), width * 0.15, foot.height())
    painter.drawText(corner, int(Qt.AlignmentFlag.AlignBottom) | int(Qt.AlignmentFlag.AlignRight), page.number)


def _paint_row(
    painter: QPainter, line: Line, row: QRectF, lefts: list[float], widths: list[float], *, shaded: bool
) -> None:
    if shaded:
        painter.fillRect(row, GRAY)
    painter.setPen(QPen(Qt.GlobalColor.black, 0.8 * PT))
    painter.drawLine(row.bottomLeft(), row.bottomRight())
    upper, middle, lower = (row.top() + down_pt * PT for down_pt in (14, 27, 40))
    small, strong = _font(TEXT_PT), _font(CODE_PT, bold=True)
    _put(painter, strong if line.is_cycle else small, QPointF(lefts[0], upper + 4 * PT), line.code, widths[0])
    _put(painter, small, QPointF(lefts[1], upper), line.charge, widths[1])
    bold = _font(TEXT_PT, bold=True)
    for column, texts, font in (
        (2, line.what, small),
        (3, line.heat, small),
        (4, line.latest, bold),
        (5, line.demold, small),
    ):
        for text, baseline in zip(texts, (upper, middle, lower), strict=False):
            _put(painter, font, QPointF(lefts[column], baseline), text, widths[column])
    box = QRectF(lefts[6], row.top() + (ROW_PT - TICK_PT) / 2 * PT, TICK_PT * PT, TICK_PT * PT)
    painter.fillRect(box, Qt.GlobalColor.white)
    painter.drawRect(box)
    if line.is_cycle:
        start = QPointF(box.right() + 4 * PT, box.bottom())
        painter.drawLine(start, QPointF(row.right(), box.bottom()))


def _put(painter: QPainter, font: QFont, place: QPointF, text: str, width: float) -> None:
    painter.setFont(font)
    metrics = QFontMetricsF(font, painter.device())
    painter.drawText(place, metrics.elidedText(text, Qt.TextElideMode.ElideRight, width))
