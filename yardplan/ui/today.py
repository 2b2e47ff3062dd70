"""The Today page: what runs in each chamber, finishing, people, and the sky, each with one large button to log it."""

from datetime import datetime, timedelta

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QFontInfo
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QSpinBox,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.events import Event, EventKind
from yardplan.domain.outcome import StoredPlan
from yardplan.exchange.entries import Entry
from yardplan.forecast.battery import DRIVE_KW
from yardplan.ui.card import PRESS_PX, CardView, LineView
from yardplan.ui.dates import clock_text, decimal_text
from yardplan.ui.day import Act, Day, Line
from yardplan.ui.decide import DecidePanel
from yardplan.ui.heat_panel import told_label
from yardplan.ui.jobs import Today, Week
from yardplan.ui.look import Look, scrolling
from yardplan.ui.palette import Palette
from yardplan.ui.ways import WaysPanel

FONT_SCALE = 1.25
"""Words are read at arm's length."""
AGO_MIN = (0, 5, 10, 15, 30, 60)
CARD_PX = 292
CHAMBERS, FINISHING, PEOPLE, SKY, WAYS, DECIDE = range(6)


class TodayPage(QWidget):
    """Shows the day, or says what to do first.

    Signals
    -------
    logged(object, object, str)
        An `Entry` to keep, at which instant (None: now), by whom (empty: the person at this seat).
    sun_read(float, str)
        Direct light that was measured just now [W/m2], by whom.
    taken_back(object, str)
        The `Event`s of the last press were wrong, says who.
    publish_wanted(int)
        A plan version should come into force.
    estimate_wanted(str, float)
        What becomes of the cook in a chamber whose inside air was just read [C].
    """

    logged = Signal(object, object, str)
    sun_read = Signal(float, str)
    taken_back = Signal(object, str)
    publish_wanted = Signal(int)
    estimate_wanted = Signal(str, float)

    def __init__(self, colors: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colors = colors
        self._day: Day | None = None
        self._week: Week | None = None
        self._today: Today | None = None
        self._is_idle = True
        self._last: tuple[Event, ...] = ()
        self._lines: dict[QVBoxLayout, tuple[Line, ...]] = {}
        self._cards: dict[str, CardView] = {}
        self.setObjectName("today")
        self._size_px = round(QFontInfo(self.font()).pixelSize() * FONT_SCALE)
        # A style sheet for the whole program keeps fonts from being handed down; so this page has one of its own.
        self.setStyleSheet(
            f"#today QWidget {{ font-size: {self._size_px}px; }}"
            f' #today QLabel[kind="chamber"] {{ font-size: {round(1.6 * self._size_px)}px; }}'
        )
        self.who = QComboBox()
        self.who.setObjectName("who")
        self.who.setAccessibleName(self.tr("Who logs"))
        self.ago = QComboBox()
        self.ago.setObjectName("ago")
        self.ago.setAccessibleName(self.tr("When it happened"))
        for minutes in AGO_MIN:
            text = self.tr("just now") if minutes == 0 else self.tr("{m} min ago").format(m=minutes)
            self.ago.addItem(text, minutes)
        for box in (self.who, self.ago):
            box.setMinimumHeight(48)
        self._tabs = QButtonGroup(self)
        self._tabs.idClicked.connect(self._show_tab)
        self._plan = _wrapping()
        self.publish = QPushButton()
        self.publish.setObjectName("publish")
        self.publish.clicked.connect(self._publish)
        self._grid = QGridLayout()
        self._grid.setContentsMargins(2, 2, 2, 2)
        self._grid.setSpacing(6)
        self._columns = 4
        self._finishing, self._people = (QVBoxLayout() for _ in range(2))
        self.sun = QSpinBox()
        self.sun.setObjectName("sun")
        self.sun.setRange(0, 1300)
        self.sun.setSingleStep(10)
        self.sun.setSuffix(self.tr(" W/m²"))
        self.sun.setAccessibleName(self.tr("Direct light on the pyrheliometer"))
        self.log_sun = QPushButton(self.tr("Log the sun"))
        self.log_sun.setObjectName("log_sun")
        self.log_sun.clicked.connect(self._read_sun)
        self._sun_told = _wrapping()
        self.stow = QPushButton(self.tr("All mirrors are stowed"))
        self.stow.setObjectName("stow")
        self.stow.clicked.connect(self._stow)
        self.unstow = QPushButton(self.tr("Mirrors are back"))
        self.unstow.setObjectName("unstow")
        self.unstow.clicked.connect(self._unstow)
        self.note = QLineEdit()
        self.note.setObjectName("note")
        self.note.setAccessibleName(self.tr("Note for the next shift"))
        self.note.setPlaceholderText(self.tr("What the next shift must know"))
        self.note.returnPressed.connect(self._note)
        self.log_note = QPushButton(self.tr("Leave the note"))
        self.log_note.setObjectName("log_note")
        self.log_note.clicked.connect(self._note)
        self._notes = told_label("shift_notes")
        self.ways = WaysPanel()
        self.ways.publish_wanted.connect(self.publish_wanted)
        self.decide = DecidePanel()
        self.decide.decided.connect(self._decided)
        self.decide.given_up.connect(self._back)
        self.decide.estimate_wanted.connect(self.estimate_wanted)
        self._told = _wrapping()
        self._told.setObjectName("log_told")
        self.undo = QPushButton(self.tr("That was wrong"))
        self.undo.setObjectName("take_back_entry")
        self.undo.setMinimumHeight(48)
        self.undo.clicked.connect(self._take_back)
        for button in (self.publish, self.log_sun, self.stow, self.unstow, self.log_note, self.undo):
            button.setProperty("kind", "press")
        for field in (self.sun, self.note, self.log_sun, self.stow, self.unstow, self.log_note):
            field.setMinimumHeight(PRESS_PX)
        self._message = QLabel()
        self._message.setObjectName("message")
        self._message.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._message.setWordWrap(True)
        self._pages = QStackedWidget()
        self._stack = QStackedWidget()
        self._pages.addWidget(self._message)
        self._pages.addWidget(self._make_page())
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._pages)
        self.set_colors(colors)

    # What is shown

    def show_message(self, text: str) -> None:
        """Say in place of the day what to do."""
        self._message.setText(text)
        self._pages.setCurrentIndex(0)

    def show_day(self, week: Week, today: Today) -> None:
        """Show how the yard stands."""
        self._day, self._week, self._today = Day(week, today), week, today
        self._fill_who(today)
        self._fill_plan(today, week.stored)
        self._fill_sky(week, today)
        self._show_cards()
        finishing = self._day.finishing()
        self._fill_lines(self._finishing, finishing, self.tr("No finishing is planned for this shift."))
        self._fill_lines(self._people, self._day.people(), self.tr("Nobody is on shift now."))
        self._name_tabs(sum(line.act is not None for line in finishing))
        self._enable()
        self._pages.setCurrentIndex(1)
        if self._stack.currentIndex() == DECIDE and not self.decide.still_holds(today.state):
            self._show_tab(CHAMBERS)

    def show_logged(self, events: tuple[Event, ...], text: str) -> None:
        """Tell what was kept, so that it can be taken back; or, without events, what else is to be known."""
        self._last = events
        self._told.setText(text)
        self._told.setVisible(bool(text))
        self.undo.setVisible(bool(events))
        if events:
            self.ago.setCurrentIndex(0)

    def set_colors(self, colors: Palette) -> None:
        """Draw in other colors."""
        self._colors = colors
        look = self._look()
        for card in self._cards.values():
            card.show_look(look)

    def _look(self) -> Look:
        font = QFont(self.font())
        font.setPixelSize(self._size_px)
        return Look(self._colors, font)

    def set_idle(self, is_idle: bool) -> None:
        """Let be logged while nothing is just being kept."""
        self._is_idle = is_idle
        self._enable()

    def _enable(self) -> None:
        ready = self._is_idle and self._today is not None
        for widget in (self.log_sun, self.stow, self.unstow, self.log_note, self.undo, self.publish, self.decide):
            widget.setEnabled(ready)
        self.ways.set_ready(ready)
        if self._today:
            self.unstow.setEnabled(ready and bool(self._today.state.stowed))
        for view in self._stack.findChildren(LineView):
            view.button.setEnabled(ready)
        for card in self._cards.values():
            card.set_ready(ready)

    def _show_cards(self) -> None:
        if self._day is None:
            return
        cards = self._day.cards()
        if list(self._cards) != [card.chamber_id for card in cards]:
            self._make_cards([card.chamber_id for card in cards])
        for card in cards:
            self._cards[card.chamber_id].show_card(card, can_log=self._is_idle)

    def _make_cards(self, chamber_ids: list[str]) -> None:
        for view in self._cards.values():
            self._grid.removeWidget(view)
            view.deleteLater()
        look = self._look()
        self._cards = {}
        for ident in chamber_ids:
            view = CardView(ident)
            view.show_look(look)
            view.pressed.connect(self._pressed)
            self._cards[ident] = view
        self._lay_cards()

    def _lay_cards(self) -> None:
        for ix, view in enumerate(self._cards.values()):
            self._grid.addWidget(view, ix // self._columns, ix % self._columns)
        rows = -(-len(self._cards) // self._columns)
        for row in range(self._grid.rowCount()):
            self._grid.setRowStretch(row, 0)
        self._grid.setRowStretch(rows, 1)
        for column in range(8):
            self._grid.setColumnStretch(column, 1 if column < self._columns else 0)

    def resizeEvent(self, event: object) -> None:
        """Lay as many cards beside each other as are wide enough to be read."""
        columns = min(max(self.width() // CARD_PX, 1), 6)
        if columns != self._columns:
            self._columns = columns
            self._lay_cards()

    def _fill_lines(self, column: QVBoxLayout, lines: tuple[Line, ...], nothing: str) -> None:
        if self._lines.get(column) == lines:
            return  # what has the keyboard or was scrolled to stays so
        self._lines[column] = lines
        while (item := column.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.deleteLater()
        for line in lines:
            view = LineView(line, can_log=self._is_idle)
            view.pressed.connect(self._pressed)
            column.addWidget(view)
        if not lines:
            column.addWidget(QLabel(nothing))
        column.addStretch(1)

    def _fill_who(self, today: Today) -> None:
        kept = self.who.currentData()
        self.who.blockSignals(True)
        self.who.clear()
        self.who.addItem(self.tr("logged by {name}").format(name=today.person), "")
        for person in today.yard.operators:
            self.who.addItem(self.tr("logged by {name}").format(name=person.name), person.name)
        self.who.setCurrentIndex(max(self.who.findData(kept), 0))
        self.who.blockSignals(False)

    def _fill_plan(self, today: Today, newest: StoredPlan | None) -> None:
        force = today.in_force
        if force is not None:
            told = self.tr("Plan {n} is in force.").format(n=force.number)
        elif newest is not None:
            told = self.tr("No plan is in force; the cards go by plan {n}.").format(n=newest.number)
        else:
            told = self.tr("There is no plan yet: press “Build plan”.")
        self._plan.setText(told)
        can = newest is not None and (force is None or newest.number != force.number)
        self.publish.setVisible(can)
        if newest is not None:
            self.publish.setText(self.tr("Publish plan {n}").format(n=newest.number))
            self.publish.setProperty("number", newest.number)

    def _fill_sky(self, week: Week, today: Today) -> None:
        heat, grid = week.outlook.heat, week.outlook.grid
        slot = grid.slot(today.state.now)
        told = self.tr("The outlook says nothing of this hour.")
        if 0 <= slot < grid.n_slots:
            values = sorted(heat.dni_w_m2[:, slot].tolist())
            low, likely, high = (decimal_text(values[int(share * (len(values) - 1))], 0) for share in (0.1, 0.5, 0.9))
            told = self.tr("The outlook has {likely} W/m² now ({low} to {high}).").format(
                likely=likely, low=low, high=high
            )
        self._sun_told.setText(told)
        clock = [
            self.tr("{at} {who}: {text}").format(
                at=clock_text(note.at.astimezone(grid.zone)), who=note.by, text=note.reason
            )
            for note in reversed(today.state.notes[-5:])
        ]
        self._notes.setText("\n".join(clock))
        self._notes.setTextFormat(Qt.TextFormat.PlainText)

    def _name_tabs(self, finishing: int) -> None:
        waiting = self._day.needing if self._day else 0
        for ix, (text, count) in enumerate(
            (
                (self.tr("Chambers"), waiting),
                (self.tr("Finishing"), finishing),
                (self.tr("People"), 0),
                (self.tr("Sun, notes"), 0),
                (self.tr("Plan anew"), 0),
            )
        ):
            self._tabs.button(ix).setText(f"{text} ({count})" if count else text)
            told = self.tr("{text}: {n} waiting").format(text=text, n=count) if count else text
            self._tabs.button(ix).setAccessibleName(told)

    # What a person does

    def _show_tab(self, ix: int) -> None:
        self._stack.setCurrentIndex(ix)
        if ix < DECIDE:
            self._tabs.button(ix).setChecked(True)

    def _pressed(self, act: Act) -> None:
        if act.entry is not None:
            self._log(act.entry)
            return
        view = self.sender()
        chamber_id = next((ident for ident, card in self._cards.items() if card is view), "")
        if self._today is not None and chamber_id:
            self.decide.show_cook(self._today, chamber_id, self._turns_h(chamber_id))
            self._show_tab(DECIDE)
            self.decide.setFocus()

    def _turns_h(self, chamber_id: str) -> float | None:
        """Return for how long the battery above its reserve turns the molds of a unit [h]; None where not known."""
        if self._week is None:
            return None
        power, grid = self._week.outlook.power, self._week.outlook.grid
        unit = self._week.outlook.yard.unit_of(chamber_id)
        slot = grid.slot(self._week.outlook.now)
        if not 0 <= slot < grid.n_slots:
            return None
        spare_kwh = float(power.charge_kwh[power.unit_ids.index(unit.id), slot]) - unit.reserve_kwh
        return max(spare_kwh, 0.0) / (DRIVE_KW * len(unit.chambers))

    def _log(self, entry: Entry) -> None:
        if not self._is_idle or self._today is None:
            return
        minutes = int(self.ago.currentData())
        at: datetime | None = self._today.state.now - timedelta(minutes=minutes) if minutes else None
        self.logged.emit(entry, at, self._by)

    @property
    def _by(self) -> str:
        return str(self.who.currentData() or "")

    def _decided(self, entry: Entry, by: str) -> None:
        if self._is_idle:
            self.logged.emit(entry, None, by or self._by)

    def _back(self) -> None:
        self._show_tab(CHAMBERS)

    def _read_sun(self) -> None:
        self.sun_read.emit(float(self.sun.value()), self._by)

    def _stow(self) -> None:
        self._log(Entry(EventKind.STOW))

    def _unstow(self) -> None:
        self._log(Entry(EventKind.UNSTOW))

    def _note(self) -> None:
        text = self.note.text().strip()
        if text:
            self._log(Entry(EventKind.NOTE, reason=text))
            self.note.clear()

    def _take_back(self) -> None:
        if self._last:
            self.taken_back.emit(self._last, self._by)

    def _publish(self) -> None:
        self.publish_wanted.emit(int(self.publish.property("number")))

    # Making the page

    def _make_page(self) -> QWidget:
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(8, 6, 8, 6)
        column.setSpacing(6)
        row = QHBoxLayout()
        row.setSpacing(6)
        for ix in range(DECIDE):
            tab = QToolButton()
            tab.setObjectName(f"today_{ix}")
            tab.setProperty("kind", "tab")
            tab.setCheckable(True)
            tab.setChecked(ix == 0)
            tab.setMinimumHeight(48)
            tab.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            self._tabs.addButton(tab, ix)
            row.addWidget(tab, 1)
        row.addWidget(self.ago)
        row.addWidget(self.who)
        cards = QWidget()
        cards.setLayout(self._grid)
        for inner in (cards, _with(self._finishing), _with(self._people), self._make_sky(), self.ways, self.decide):
            self._stack.addWidget(scrolling(inner))
        foot = QHBoxLayout()
        foot.addWidget(self._told, 1)
        foot.addWidget(self.undo)
        self._told.hide()
        self.undo.hide()
        column.addLayout(row)
        column.addWidget(self._stack, 1)
        column.addLayout(foot)
        return page

    def _make_sky(self) -> QWidget:
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setSpacing(8)
        self.publish.setMinimumHeight(PRESS_PX)
        for widgets in (
            (self._plan, self.publish),
            (self._sun_told, self.sun, self.log_sun),
            (self.stow, self.unstow),
            (self.note, self.log_note),
        ):
            row = QHBoxLayout()
            row.setSpacing(8)
            for widget in widgets:
                row.addWidget(widget, 1)
            column.addLayout(row)
        column.addWidget(self._notes)
        column.addStretch(1)
        return inner


def _with(column: QVBoxLayout) -> QWidget:
    inner = QWidget()
    column.setContentsMargins(2, 2, 2, 2)
    column.setSpacing(6)
    inner.setLayout(column)
    return inner


def _wrapping() -> QLabel:
    label = QLabel()
    label.setWordWrap(True)
    return label
