"""The Heat page: what heat the coming days bring, when products can start, where that comes from, what a wash adds."""

from datetime import date, datetime, timedelta

import numpy as np
from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QButtonGroup,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QSizePolicy,
    QSplitter,
    QStackedWidget,
    QTableWidget,
    QTableWidgetItem,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.days import Window
from yardplan.domain.verification import Verified
from yardplan.domain.washing import WashGain
from yardplan.ui.dates import day_text, percent_text
from yardplan.ui.fan import FanChart, FanRow, Starts, Told
from yardplan.ui.heat_panel import HeatPanel
from yardplan.ui.jobs import Sky
from yardplan.ui.look import Look, scrolling
from yardplan.ui.palette import Palette
from yardplan.ui.sky_words import SkyWords
from yardplan.usecases.outlook import Outlook

PANEL_PX = 300
MARGIN_H = 0.75
"""How much of the dark the axis shows before and after all light [h]."""


class HeatPage(QWidget):
    """Shows the heat outlook of some days, or says what to do first.

    Signals
    -------
    said(str), taken_back(str)
        What a person knows better than the forecast, and what does not hold any more.
    forecast_asked()
        A newer forecast is wanted.
    wash_asked(object)
        What would a wash before this day [date] bring?
    verifying_asked()
        How good were the outlooks of the last days?
    """

    said = Signal(str)
    taken_back = Signal(str)
    forecast_asked = Signal()
    wash_asked = Signal(object)
    verifying_asked = Signal()

    def __init__(self, colors: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colors = colors
        self._shown: tuple[Outlook, Sky, SkyWords] | None = None
        self._product_id = ""
        self.fans = FanChart()
        self.fans.chosen.connect(self._row_chosen)
        self.view = QComboBox()
        self.view.setObjectName("heat_view")
        self.view.setAccessibleName(self.tr("Which rows"))
        self.view.currentIndexChanged.connect(self._show_rows)
        self._days = QButtonGroup(self)
        self._days.idClicked.connect(self._day_chosen)
        self._day_told = QLabel()
        self._day_told.setObjectName("heat_day")
        self._day_told.setWordWrap(True)
        self._strip = QHBoxLayout()
        self._strip.setSpacing(4)
        self._caption = QLabel()
        self._caption.setWordWrap(True)
        self.table = self._make_table()
        self.panel = HeatPanel()
        self.panel.said.connect(self.said)
        self.panel.taken_back.connect(self.taken_back)
        self.panel.forecast_asked.connect(self.forecast_asked)
        self.panel.wash_asked.connect(self._weigh)
        self.panel.verifying_asked.connect(self.verifying_asked)
        self._message = QLabel()
        self._message.setObjectName("message")
        self._message.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._message.setWordWrap(True)
        self._pages = QStackedWidget()
        self._pages.addWidget(self._message)
        self._pages.addWidget(self._make_page())
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._pages)
        self._is_idle = True
        self.set_colors(colors)

    # What is shown

    def show_message(self, text: str) -> None:
        """Say in place of the outlook what to do."""
        self._shown = None
        self._message.setText(text)
        self._pages.setCurrentIndex(0)

    def show_sky(self, outlook: Outlook, sky: Sky) -> None:
        """Show an outlook; the day, the rows and the product that were chosen stay where they can."""
        words = SkyWords(outlook.yard, outlook.grid)
        before = self._shown
        self._shown = (outlook, sky, words)
        kept_view = self.view.currentIndex() if before and before[0].yard == outlook.yard else 0
        kept_day = self._days.checkedId() if before and before[0].grid.days == outlook.grid.days else -1
        self._fill_views(outlook, kept_view)
        self._fill_days(sky, words, kept_day if kept_day >= 0 else self._first_day(outlook))
        self.panel.show_sky(outlook, sky, words)
        self._pages.setCurrentIndex(1)
        self.fans.show_now(outlook.now)
        self._show_rows()
        self.set_idle(self._is_idle)

    def show_washes(self, gains: tuple[WashGain, ...]) -> None:
        """Show what a wash would bring."""
        if self._shown is not None:
            self.panel.show_washes(gains, self._shown[2])

    def show_verified(self, found: Verified) -> None:
        """Show how good the outlooks were."""
        if self._shown is not None:
            self.panel.show_verified(found, self._shown[2])

    def show_now(self, now: datetime) -> None:
        """Move the now-line."""
        self.fans.show_now(now)

    def set_colors(self, colors: Palette) -> None:
        """Draw in other colors."""
        self._colors = colors
        self.fans.show_look(Look(colors, self.font()))

    def set_idle(self, is_idle: bool) -> None:
        """Let be asked what makes sense while nothing else runs."""
        self._is_idle = is_idle
        self.panel.set_ready(is_idle and self._shown is not None)

    def _first_day(self, outlook: Outlook) -> int:
        today = outlook.now.astimezone(outlook.grid.zone).date()
        return next((ix for ix, (on, _, _) in enumerate(outlook.grid.days) if on >= today), 0)

    def _fill_views(self, outlook: Outlook, kept: int) -> None:
        self.view.blockSignals(True)
        self.view.clear()
        self.view.addItem(self.tr("All units on one day"), "")
        for unit in outlook.yard.units:
            self.view.addItem(self.tr("{unit} on all days").format(unit=unit.name), unit.id)
        self.view.setCurrentIndex(min(max(kept, 0), self.view.count() - 1))
        self.view.blockSignals(False)

    def _fill_days(self, sky: Sky, words: SkyWords, chosen: int) -> None:
        for button in self._days.buttons():
            self._days.removeButton(button)
            self._strip.removeWidget(button)
            button.deleteLater()
        for ix, day in enumerate(sky.days):
            button = QToolButton()
            button.setCheckable(True)
            button.setObjectName(f"day_{ix}")
            button.setProperty("kind", "day")
            button.setText(f"{day_text(day.on)}\n{words.likely_kwh(day.kwh)}\n{words.grade(day)}")
            button.setToolTip(words.day(day))
            button.setAccessibleName(words.day(day))
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            button.setChecked(ix == chosen)
            self._days.addButton(button, ix)
            self._strip.addWidget(button)

    # Rows

    @property
    def _day_ix(self) -> int:
        return max(self._days.checkedId(), 0)

    def _show_rows(self) -> None:
        if self._shown is None:
            return
        outlook, sky, words = self._shown
        unit_id = self.view.currentData() or ""
        day = sky.days[self._day_ix]
        self._day_told.setText(words.day(day))
        pairs = (
            [(unit_id, one.on) for one in sky.days] if unit_id else [(unit.id, day.on) for unit in outlook.yard.units]
        )
        rows = tuple(self._row(unit, on, by_day=bool(unit_id)) for unit, on in pairs)
        self.fans.show_rows(outlook.grid, rows, self._hours(outlook), float(sky.high_kw))
        if unit_id:
            self.fans.choose(self._day_ix)
        self._fill_table(rows)
        self.panel.show_day(day_text(day.on))

    def _row(self, unit_id: str, on: date, *, by_day: bool) -> FanRow:
        assert self._shown is not None  # rows are made of what is shown
        outlook, sky, words = self._shown
        fan = sky.fans[unit_id, on]
        day = next(one for one in sky.days if one.on == on)
        title = day_text(on) if by_day else words.unit(unit_id)
        grid = outlook.grid
        by_hand = []
        for rule in sky.overrules:
            first = max((rule.start_at - grid.start_at) / timedelta(minutes=grid.slot_min), day.first_slot)
            after = min((rule.end_at - grid.start_at) / timedelta(minutes=grid.slot_min), day.after_slot)
            if first < after:
                by_hand.append(Told(first, after, (self.tr("by hand: {text}").format(text=rule.text), rule.text)))
        stow = day.stow
        blown = (Told(stow.first_slot, stow.after_slot, words.stow_labels(stow)),) if stow else ()
        starts = {}
        for window in sky.windows.get((unit_id, on), {}).values():
            starts[window.product_id] = Starts(
                window.first_slot,
                window.last_slot,
                words.clock(window.first_slot),
                self.tr("latest {at}").format(at=words.clock(window.last_slot)),
                words.cooks(window.cooks),
            )
        sentence = ", ".join(
            [
                f"{words.unit(unit_id)}, {day_text(on)}: {words.kwh(fan.kwh)}",
                *(told.texts[0] for told in (*by_hand, *blown)),
            ]
        )
        return FanRow(
            (unit_id, str(on)),
            title,
            words.kwh(fan.kwh),
            sentence,
            fan.first_slot,
            fan.heat_kw,
            tuple(by_hand),
            blown,
            starts,
        )

    def _hours(self, outlook: Outlook) -> tuple[float, float]:
        """Return the ends of the axis that all days share [h], a little beyond the first and the last light."""
        grid, first_h, last_h = outlook.grid, 24.0, 0.0
        for _, first, after in grid.days:
            lit = first + np.flatnonzero(outlook.heat.elevation_deg[first:after] > 0)
            if len(lit):
                start, end = grid.local(int(lit[0])), grid.local(int(lit[-1]))
                first_h = min(first_h, start.hour + start.minute / 60)
                last_h = max(last_h, end.hour + end.minute / 60)
        if first_h >= last_h:
            return 0.0, 24.0
        return max(first_h - MARGIN_H, 0.0), min(last_h + MARGIN_H, 24.0)

    def _fill_table(self, rows: tuple[FanRow, ...]) -> None:
        assert self._shown is not None  # as above
        outlook, sky, words = self._shown
        products = outlook.yard.products
        self._product_id = self._product_id if self._product_id in {p.id for p in products} else products[0].id
        table = self.table
        table.blockSignals(True)
        table.clear()
        table.setRowCount(len(products))
        table.setColumnCount(len(rows))
        table.setVerticalHeaderLabels([product.name for product in products])
        table.setHorizontalHeaderLabels([row.title for row in rows])
        for column, row in enumerate(rows):
            unit_id, on = row.key[0], date.fromisoformat(row.key[1])
            windows = sky.windows.get((unit_id, on), {})
            for line, product in enumerate(products):
                window: Window | None = windows.get(product.id)
                latest = {
                    one.chamber_id: one.slot
                    for one in sky.latest.get((unit_id, on), ())
                    if window and (one.product_id, one.mold_id) == (product.id, window.mold_id)
                }
                item = QTableWidgetItem(words.window(window))
                item.setFlags(Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled)
                told = words.window_sentence(window, product.id, unit_id, latest)
                item.setToolTip(told)
                item.setData(Qt.ItemDataRole.AccessibleTextRole, told)
                table.setItem(line, column, item)
        at = next(ix for ix, product in enumerate(products) if product.id == self._product_id)
        table.setCurrentCell(at, min(self.fans.row_ix, len(rows) - 1))
        table.blockSignals(False)
        self._show_product(at)

    def _show_product(self, line: int) -> None:
        assert self._shown is not None  # as above
        outlook = self._shown[0]
        product = outlook.yard.products[line]
        self._product_id = product.id
        self.fans.show_starts(product.id)
        self._caption.setText(
            self.tr(
                "First start, latest safe start and cooks one after another, at {share} confidence. "
                "The post above is the latest safe start of {product}."
            ).format(share=percent_text(outlook.confidence), product=product.name)
        )

    # What a person does

    def _day_chosen(self, _ix: int) -> None:
        self._show_rows()

    def _row_chosen(self, row_ix: int) -> None:
        if self._shown is None:
            return
        if self.view.currentData():
            self._days.button(row_ix).setChecked(True)
            self._day_told.setText(self._shown[2].day(self._shown[1].days[row_ix]))
            self.panel.show_day(day_text(self._shown[1].days[row_ix].on))
        self.table.blockSignals(True)
        self.table.setCurrentCell(max(self.table.currentRow(), 0), row_ix)
        self.table.blockSignals(False)

    def _cell_chosen(self, line: int, column: int) -> None:
        if self._shown is not None and line >= 0:
            self._show_product(line)
            self.fans.choose(column)

    def _weigh(self) -> None:
        if self._shown is not None:
            self.wash_asked.emit(self._shown[1].days[self._day_ix].on)

    # Making the page

    def _make_table(self) -> QTableWidget:
        table = QTableWidget()
        table.setObjectName("starts")
        table.setAccessibleName(self.tr("When products can start"))
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setTabKeyNavigation(False)
        table.setShowGrid(False)
        table.setAlternatingRowColors(True)
        table.setFrameShape(QFrame.Shape.NoFrame)
        table.verticalHeader().setDefaultSectionSize(21)
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        table.horizontalHeader().setMinimumSectionSize(110)
        table.currentCellChanged.connect(self._cell_chosen)
        return table

    def _make_page(self) -> QWidget:
        fans = scrolling(self.fans)
        below = QWidget()
        column = QVBoxLayout(below)
        column.setContentsMargins(0, 4, 0, 0)
        column.setSpacing(2)
        column.addWidget(self._caption)
        column.addWidget(self.table, 1)
        upright = QSplitter(Qt.Orientation.Vertical)
        upright.addWidget(fans)
        upright.addWidget(below)
        upright.setStretchFactor(0, 3)
        upright.setStretchFactor(1, 1)
        upright.setSizes([440, 232])
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(8, 6, 4, 4)
        column.setSpacing(4)
        row = QHBoxLayout()
        row.addWidget(self._day_told, 1)
        row.addWidget(self.view)
        column.addLayout(self._strip)
        column.addLayout(row)
        column.addWidget(upright, 1)
        split = QSplitter(Qt.Orientation.Horizontal)
        split.addWidget(left)
        split.addWidget(self.panel)
        split.setStretchFactor(0, 1)
        split.setStretchFactor(1, 0)
        split.setSizes([10 * PANEL_PX, PANEL_PX])
        split.setHandleWidth(5)
        return split
