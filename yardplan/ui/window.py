"""The main window: pages, menus, the summary line, and the running search."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent, QGuiApplication, QKeySequence
from PySide6.QtWidgets import QApplication, QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from yardplan.domain.errors import CannotWrite, ExpectedError, LocksClash, NotThere
from yardplan.domain.outcome import Progress
from yardplan.domain.plan import Plan, order_results
from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import Database
from yardplan.ui.about import AboutDialog
from yardplan.ui.access import Access
from yardplan.ui.background import Background
from yardplan.ui.beginning import Beginning
from yardplan.ui.counter import Counter
from yardplan.ui.desk import Desk
from yardplan.ui.editing import Editing
from yardplan.ui.heat import HeatPage
from yardplan.ui.heat_desk import HeatDesk
from yardplan.ui.jobs import Week, build_week, change_and_read, read_week
from yardplan.ui.looking_ahead import LookingAhead
from yardplan.ui.looking_back import LookingBack
from yardplan.ui.menus import Menus, PageEntry
from yardplan.ui.order_desk import OrderDesk
from yardplan.ui.orders import OrdersPage
from yardplan.ui.palette import Theme, dress, palette_of
from yardplan.ui.paper import ask_and_save_pdf
from yardplan.ui.planbar import PlanBar
from yardplan.ui.quote import QuotePage
from yardplan.ui.review import ReviewPage
from yardplan.ui.season import SeasonPage
from yardplan.ui.settings import SeatSettings, save_settings
from yardplan.ui.settings_dialog import SettingsDialog
from yardplan.ui.summary import Summary
from yardplan.ui.today import TodayPage
from yardplan.ui.trouble import show_error, what_first
from yardplan.ui.turns import Turns
from yardplan.ui.versions import Versions
from yardplan.ui.wall import Wall
from yardplan.ui.ways_desk import WaysDesk
from yardplan.ui.week import WeekPage
from yardplan.ui.words import Words
from yardplan.ui.yard import YardPage
from yardplan.ui.yard_desk import YardDesk
from yardplan.usecases.clock import yard_now
from yardplan.usecases.outlook import Outlook

FIRST_PAGE = "week"
MADE_ANEW = 3
"""The event loop ends with it where the window closes only to be made anew, in another language."""
CLOCK_MS = 30_000


class MainWindow(QMainWindow):
    """yardplan's window on one database."""

    def __init__(self, database: Database, settings: SeatSettings) -> None:
        super().__init__()
        self._database, self._settings = database, settings
        self._week: Week | None = None
        self._searched: Outlook | None = None
        self._reading = self._building = 0
        self._orders_changed = False
        self._turns = Turns(self)
        colors = palette_of(settings.theme)
        self.background = Background(self)
        self.background.better.connect(self._told)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        self.week = WeekPage(colors)
        self.heat = HeatPage(colors)
        self.today = TodayPage(colors)
        self.desk = Desk(database, self.today, self)
        self.desk.failed.connect(self.tell_error)
        self.heat_desk = HeatDesk(database, self.heat, self)
        self.heat_desk.change_wanted.connect(self._change)
        self.heat_desk.failed.connect(self.tell_error)
        self.ways_desk = WaysDesk(database, self.today.ways, self)
        self.ways_desk.failed.connect(self.tell_error)
        self.editing = Editing(database, self.week, self)
        self.editing.shown.connect(self._show_edited)
        self.versions = Versions(database, self.week, self.editing)
        self.versions.saved.connect(self.refresh)
        self.editing.changed.connect(self._tell_unsaved)
        self.editing.failed.connect(self.tell_error)
        self.yard = YardPage(colors)
        self.yard_desk = YardDesk(database, self.yard, self)
        self.yard_desk.failed.connect(self.tell_error)
        self.orders = OrdersPage()
        self.order_desk = OrderDesk(database, self.orders, self)
        self.order_desk.failed.connect(self.tell_error)
        self.order_desk.changed.connect(self._take_orders)
        self.quote = QuotePage(colors)
        self.counter = Counter(database, self.quote, self)
        self.counter.failed.connect(self.tell_error)
        self.counter.ordered.connect(self.refresh)
        self.season = SeasonPage(colors)
        self.looking_ahead = LookingAhead(database, self.season, self)
        self.looking_ahead.failed.connect(self.tell_error)
        self.review = ReviewPage(colors)
        self.looking_back = LookingBack(database, self.review, self)
        self.looking_back.failed.connect(self.tell_error)
        self.plan_bar = PlanBar()
        self.plan_bar.search_s.setValue(settings.search_s)
        self.summary = Summary()
        self._drawn = (
            self.today,
            self.week,
            self.heat,
            self.quote,
            self.season,
        )  # pages that take colors, and tell what is missing
        entries = (
            PageEntry("today", self.tr("&Today"), self.today, self.today),
            PageEntry("week", self.tr("&Week"), self.week, self.week.board.view),
            PageEntry("heat", self.tr("&Heat"), self.heat, self.heat.fans),
            PageEntry("orders", self.tr("&Orders"), self.orders, self.orders.table),
            PageEntry("quote", self.tr("&Quote"), self.quote, self.quote),
            PageEntry("season", self.tr("Seaso&n"), self.season, self.season),
            PageEntry("yard", self.tr("Y&ard"), self.yard, self.yard.names),
            PageEntry("review", self.tr("Re&view"), self.review, self.review.figures),
        )
        self._entries = {entry.name: entry for entry in entries}
        self._stack = QStackedWidget()
        for entry in entries:
            self._stack.addWidget(entry.page)
        self._stack.setCurrentWidget(self._entries[FIRST_PAGE].page)
        self.wall = Wall(database, self)
        self.beginning = Beginning(database, settings, self)
        self._stack.addWidget(self.beginning.welcome)
        self.beginning.change_wanted.connect(self._change)
        self.beginning.page_wanted.connect(self._go_to)
        self.beginning.build_wanted.connect(self.build_plan)
        self.access = Access(database, (self.orders, self.quote), self)
        self.access.back.connect(self.refresh)
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.access.banner)
        column.addWidget(self.summary)
        column.addWidget(self.beginning.steps)
        column.addWidget(self._stack, 1)
        self.setCentralWidget(whole)
        self.setWindowTitle("yardplan")
        self.resize(1280, 800)
        if settings.geometry is not None:
            self.restoreGeometry(settings.geometry)
        self.menus = self._make_menus(entries)
        self.plan_bar.build_wanted.connect(self.build_plan)
        self.plan_bar.stop_wanted.connect(self.background.stop)
        self.orders.order_chosen.connect(self.week.light_order)
        self.orders.order_opened.connect(self._open_cycles)
        self.week.order_asked.connect(self._open_order)
        self.week.unlit.connect(self._unlight)
        self.desk.published.connect(self.refresh)
        self.yard_desk.saved.connect(self.refresh)
        self.yard_desk.leaving.connect(self.close)
        self.wall.found.connect(self._open_cycle)
        self.wall.failed.connect(self.tell_error)
        self._clock = QTimer(self)
        self._clock.setInterval(CLOCK_MS)
        self._clock.timeout.connect(self._show_now)
        self._clock.start()
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._dress)
        self._dress()
        self.refresh()

    # Long work

    def refresh(self) -> None:
        """Read the yard and the newest plan again."""
        if not self._building:
            self._reading = self.background.run(partial(read_week, self._database))
            self._enable()
            if self._week is None:
                self.summary.setText(self.tr("Reading the yard"))
                for page in self._drawn:
                    page.show_message(self.tr("Looking at the yard and its sky ..."))

    def build_plan(self) -> None:
        """Search for a new plan with the settings of the plan bar."""
        if self._building or self._reading:
            return
        self.versions.ask_first(self._build_now)

    def _build_now(self) -> None:
        stop, limit_s = Stop(), self.plan_bar.search_s.value()
        work = partial(build_week, self._database, self.plan_bar.chosen_confidence, Limits(seconds=limit_s), stop)
        self._building = self.background.run(work, stop)
        self.plan_bar.begin(limit_s)
        self._enable()

    def _change(self, change: Callable[[], object]) -> None:
        """Change something in the database beside the window, and show all anew."""
        if not (self._building or self._reading):
            self._reading = self.background.run(partial(change_and_read, self._database, change))
            self._enable()

    def _told(self, request: int, news: object) -> None:
        if request != self._building:
            return
        if isinstance(news, Outlook):
            self._searched = news
            self.plan_bar.tell(self.tr("searching"))
        elif isinstance(news, Progress) and self._searched:
            words = Words(self._searched.yard, Plan(self._searched.grid))
            results = order_results(news.plan, self._searched.orders, self._searched.yard)
            gap = words.gap(news.parts.cost, news.bound)
            self.plan_bar.tell(f"{words.counts(results)}  ·  {gap}")

    def _done(self, request: int, result: object) -> None:
        if request in (self._reading, self._building) and isinstance(result, Week):
            self._show(result)

    def _failed(self, request: int, error: object) -> None:
        if request not in (self._reading, self._building) or not isinstance(error, Exception):
            return
        self._end_work()
        if self.heat_desk.took(error):
            pass  # it is told beside what was said
        elif isinstance(error, NotThere) and error.thing in ("yard", "weather"):
            self.summary.setText(self.tr("There is nothing to plan yet."))
            for page in self._drawn:
                page.show_message(what_first(error))
            self.orders.show_message(what_first(error))
            self.beginning.welcome.show_missing(error.thing, can_type="yard" in self._entries)
            if self._stack.currentWidget() is not self.yard:  # where a first yard is typed in
                self._stack.setCurrentWidget(self.beginning.welcome)
        else:
            if self._week is None:
                self.summary.setText(self.tr("The yard could not be read."))
                for page in self._drawn:
                    page.show_message(str(error) if isinstance(error, ExpectedError) else "")
            if isinstance(error, LocksClash):
                self.editing.offer_for_locks(error)
            else:
                self.tell_error(error)
        self._enable()

    def _end_work(self) -> None:
        if self._building:
            self.plan_bar.end()
        self._reading = self._building = 0
        self._searched = None
        self._enable()

    def tell_error(self, error: BaseException) -> None:
        """Show what went wrong in a box."""
        show_error(self, error)

    # What is shown

    def _show(self, week: Week) -> None:
        """Show a week page by page, each in a turn of its own, so that the window answers in between."""
        week = self.editing.take(week)
        outlook = week.outlook
        self.setWindowTitle(self.tr("{site} – yardplan").format(site=outlook.yard.site.name) + "[*]")
        self.plan_bar.set_confidence(outlook.confidence)
        self._turns.add(
            *self._plan_steps(week),
            partial(self.desk.show_week, week),
            partial(self.heat_desk.show_week, week),
            partial(self._end_showing, week),
        )

    def _plan_steps(self, week: Week) -> list[Callable[[], object]]:
        """Return what shows the plan of a week: board and orders, with the summary at once."""
        outlook, stored = week.outlook, week.stored
        plan = stored.outcome.plan if stored else Plan(outlook.grid)
        words = Words(outlook.yard, plan)
        self.summary.show_week(week, words, self.editing.unsaved)
        hint = self.summary.hint(week)
        return [
            *self.week.steps(outlook, plan, words, self.menus.hidden_rows, hint),
            partial(self.order_desk.show_week, week),
        ]

    def _show_edited(self, week: Week) -> None:
        """Show a plan that was changed by hand, or back again."""
        self._week = week
        self._turns.add(*self._plan_steps(week))

    def _tell_unsaved(self) -> None:
        self.setWindowModified(self.editing.unsaved > 0)
        if self._week is not None and self._week.stored is not None:
            self.summary.show_week(
                self._week, Words(self._week.outlook.yard, self._week.stored.outcome.plan), self.editing.unsaved
            )

    def _end_showing(self, week: Week) -> None:
        self._week, self._orders_changed = week, False
        self.review.set_due()
        self.wall.show_week(week)
        self.beginning.show_week(week)
        if self._stack.currentWidget() is self.beginning.welcome:
            self._go_to(FIRST_PAGE)
        self._end_work()
        self.counter.read_again()
        self.access.seen()
        self.looking_ahead.show_yard(week.outlook.yard)

    def _show_now(self) -> None:
        if self._week is None or self.background.busy:
            return
        try:
            now = yard_now(self._database)
            self.week.show_now(now)
            self.heat.show_now(now)
            self.desk.read_again()
            self.yard_desk.read_again()
        except ExpectedError as error:
            self._clock.stop()  # told once, not twice a minute
            self.tell_error(error)

    def _open_order(self, order_id: str) -> None:
        self.menus.pages["orders"].trigger()
        self.orders.filter.clear()
        self.orders.choose(order_id)
        self.orders.table.setFocus()

    def _open_cycle(self, cycle_id: str) -> None:
        self._go_to("week")
        self.week.open_cycle(cycle_id)

    def _open_cycles(self, order_id: str) -> None:
        self.menus.pages["week"].trigger()
        self.week.open_order(order_id)

    def _take_orders(self, week: Week) -> None:
        self._week, self._orders_changed = week, True

    def _unlight(self) -> None:
        self.orders.choose("")

    def _find(self) -> None:
        self.menus.pages["orders"].trigger()
        self.orders.filter.setFocus()
        self.orders.filter.selectAll()

    def _save_pdf(self) -> None:
        if self._week is not None and self._week.stored is not None:
            try:
                ask_and_save_pdf(self, self._week.outlook, self._week.stored)
            except CannotWrite as error:
                self.tell_error(error)

    def _about(self) -> None:
        AboutDialog(self).open()

    # Looks

    def _dress(self) -> None:
        app = QApplication.instance()
        colors = palette_of(self._settings.theme)
        if isinstance(app, QApplication):
            dress(app, colors)
        for page in (*self._drawn, self.yard, self.review):
            page.set_colors(colors)
        self.menus.set_icon_color(colors.text)

    def _set_theme(self, theme: Theme) -> None:
        self._settings.theme = theme
        self._dress()

    def _set_rows(self, hidden: frozenset[str]) -> None:
        self._settings.hidden_rows = hidden
        self.week.set_hidden(hidden)

    # Making the window

    def _make_menus(self, entries: tuple[PageEntry, ...]) -> Menus:
        edits, board_actions = self.week.edit_row.every, tuple(self.week.actions_by_name.values())
        menus = Menus(self, entries, FIRST_PAGE, self.plan_bar, edits, board_actions, self._settings)
        menus.add(menus.plan, self.tr("&Find order ..."), QKeySequence.StandardKey.Find, self._find)
        menus.add(menus.plan, self.tr("&Go to a code ..."), "Ctrl+G", self.wall.ask_code)
        menus.add(menus.info, self.tr("&How to read the board"), QKeySequence.StandardKey.HelpContents, self._show_key)
        menus.add(menus.info, self.tr("&About and cautions"), "", self._about)
        menus.page_wanted.connect(self._show_page)
        menus.theme_set.connect(self._set_theme)
        menus.rows_set.connect(self._set_rows)
        for name, action in menus.bring.items():
            action.triggered.connect(partial(self.beginning.begin, name))
        menus.settings.triggered.connect(self._settings_asked)
        menus.refresh.triggered.connect(self.refresh)
        menus.pdf.triggered.connect(self._save_pdf)
        menus.sheets.triggered.connect(self.wall.save_sheets)
        menus.build.triggered.connect(self.build_plan)
        menus.stop.triggered.connect(self.plan_bar.stop.click)
        return menus

    def _show_page(self, name: str) -> None:
        entry = self._entries[name]
        self._stack.setCurrentWidget(entry.page)
        self.summary.setVisible(entry.page is not self.today)  # there each line counts
        entry.take_keys()
        if self._orders_changed and not self._reading and entry.page is not self.orders:  # other pages show orders, too
            self.refresh()

    def _go_to(self, name: str) -> None:
        self.menus.pages[name].trigger()

    def _settings_asked(self) -> None:
        self._settings.search_s = self.plan_bar.search_s.value()
        dialog = SettingsDialog(self._settings, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.changed.connect(self._take_settings)
        dialog.open()

    def _take_settings(self, is_anew: bool) -> None:
        self.plan_bar.search_s.setValue(self._settings.search_s)
        save_settings(self._settings)
        self.menus.themes[self._settings.theme].setChecked(True)
        self._dress()
        if is_anew:
            QApplication.setQuitOnLastWindowClosed(False)  # else a second end of the loop waits for the next window
            self.close()
            QApplication.exit(MADE_ANEW)

    def _show_key(self) -> None:
        self.menus.pages["week"].trigger()
        self.week.board.view.choose(None)

    def _enable(self) -> None:
        """Let be chosen what makes sense now."""
        idle = not (self._building or self._reading)
        can_plan = idle and self._week is not None
        self.heat_desk.set_idle(idle)
        self.ways_desk.set_idle(idle)
        self.menus.build.setEnabled(can_plan)
        self.plan_bar.build.setEnabled(can_plan)
        self.menus.stop.setEnabled(bool(self._building))
        self.menus.refresh.setEnabled(idle)
        for action in (self.menus.pdf, self.menus.sheets):
            action.setEnabled(self._week is not None and self._week.stored is not None)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop what runs, keep this seat's settings; changes that are not saved are asked about first."""
        if self.editing.unsaved:
            event.ignore()
            self.versions.ask_first(self.close)
            return
        if not self.yard_desk.may_close():
            event.ignore()
            return
        self._clock.stop()
        self._turns.clear()
        self.background.close()
        for desk in (
            self.desk, self.heat_desk, self.ways_desk, self.editing, self.yard_desk, self.counter, self.order_desk,
            self.access, self.looking_ahead, self.looking_back, self.wall,
        ):  # fmt: skip
            desk.close()
        self._settings.search_s = self.plan_bar.search_s.value()
        self._settings.geometry = self.saveGeometry()
        save_settings(self._settings)
        super().closeEvent(event)
