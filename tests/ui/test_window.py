import threading
from dataclasses import replace

import pytest
from PySide6.QtCore import QSettings, Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QFileDialog, QLabel, QMessageBox, QPushButton, QToolButton, QWidget

from tests.small_yard import at
from tests.ui.weeks import small_outlook, small_plan, stored
from yardplan.domain.errors import DatabaseUnreadable, NotThere
from yardplan.domain.history import state_of
from yardplan.domain.outcome import GoalParts, Progress, Status
from yardplan.domain.plan import Plan
from yardplan.domain.washing import CookGain, WashGain
from yardplan.domain.weather_in_use import WeatherInUse
from yardplan.forecast.overrule import overrule_of
from yardplan.solve.run import solve
from yardplan.ui import heat_desk, jobs, window
from yardplan.ui.about import AboutDialog
from yardplan.ui.marks import Mood
from yardplan.ui.palette import DARK, LIGHT, Theme
from yardplan.ui.settings import SeatSettings, load_settings
from yardplan.ui.window import MainWindow
from yardplan.usecases.planning import problem_of


class Yard:
    """Stands in for the database: an outlook, the plans kept so far, and a search that waits for its gate."""

    def __init__(self):
        self.outlook = small_outlook()
        self.plans = []
        self.error = None
        self.gate = threading.Event()
        self.gate.set()
        self.asked = []
        self.rules = []

    def make_outlook(self, database, *, now, first_on=None, days=3, confidence=None):
        assert database is self
        if self.error:
            raise self.error
        confidence = confidence or 0.8
        cook = replace(self.outlook.cook, confidences=(confidence,))
        return replace(self.outlook, now=now, confidence=confidence, cook=cook)

    def make_plan(self, database, outlook, limits, stop, on_better, *, made_by):
        """The real search on the small problem, then wait as a longer one would."""
        self.asked.append((outlook.confidence, limits.seconds, made_by))
        problem = problem_of(outlook)
        outcome = solve(problem, replace(limits, seconds=0), stop, on_better)
        while not self.gate.wait(0.02):
            if stop.is_requested:
                outcome = replace(outcome, status=Status.STOPPED)
                break
        made = replace(
            stored(outcome.plan, len(self.plans) + 1), outcome=outcome, confidence=outlook.confidence, made_by=made_by
        )
        self.plans.append(made)
        return made

    def plan_in_hand(self, database):
        return self.plans[-1] if self.plans else None

    def yard_now(self, database):
        return at(0, 7.5)

    def weather_in_use(self, database, *, now):
        return WeatherInUse("America/Denver", "a sine, invented")

    def overrules_in_use(self, database, *, now):
        return tuple(self.rules)

    def say_overrule(self, database, text, *, now, by):
        self.rules.append(overrule_of(text, now, "America/Denver"))

    def withdraw_overrule(self, database, text, *, now, by):
        self.rules = [rule for rule in self.rules if rule.text != text]

    def refresh_forecast(self, database, *, now, sleep):
        self.asked.append("forecast")

    def yard_state(self, database, *, now):
        return state_of(self.outlook.yard, None, (), now), self.outlook.yard, None

    def wash_gains(self, outlook, on):
        return (WashGain("U1", on, 50.0, 1000.0, 90, 2, (CookGain("TANK", 10, 12),)),)


@pytest.fixture
def yard(monkeypatch):
    made = Yard()
    for name in (
        "make_outlook", "make_plan", "plan_in_hand", "yard_now", "weather_in_use", "overrules_in_use", "wash_gains",
        "yard_state",
    ):  # fmt: skip
        monkeypatch.setattr(jobs, name, getattr(made, name))
    for name in ("yard_now", "say_overrule", "withdraw_overrule", "refresh_forecast"):
        monkeypatch.setattr(heat_desk, name, getattr(made, name))
    monkeypatch.setattr(window, "yard_now", made.yard_now)
    return made


@pytest.fixture
def opened(yard, qtbot):
    windows = []

    def open_window(theme=Theme.LIGHT):
        made = MainWindow(yard, SeatSettings(theme=theme, search_s=7))
        qtbot.addWidget(made)
        windows.append(made)
        made.show()
        qtbot.waitUntil(lambda: not made.background.busy and not made._reading, timeout=20_000)
        return made

    yield open_window
    for made in windows:
        made.close()


def done(qtbot, win):
    qtbot.waitUntil(lambda: not win._building, timeout=60_000)


def shown_text(win):
    return " ".join(label.text() for label in win.findChildren(QLabel) if label.isVisible())


# What is said when there is nothing yet


def test_without_a_yard_the_page_tells_how_to_get_one(yard, opened):
    yard.error = NotThere("yard", "sqlite://", "bring one in")
    win = opened()
    assert win.beginning.welcome.buttons["demo"].isVisible()
    win.menus.pages["heat"].trigger()
    win.menus.pages["week"].trigger()
    assert "yardplan demo" in shown_text(win)
    assert "yardplan demo" in win.orders._empty.text()
    assert not win.plan_bar.build.isEnabled()
    assert win.findChild(QMessageBox) is None


def test_without_weather_the_page_tells_what_to_import(yard, opened):
    yard.error = NotThere("weather", "mesa", "bring in a file")
    win = opened()
    assert win.beginning.welcome.buttons["weather"].isVisible()
    win.menus.pages["heat"].trigger()
    win.menus.pages["week"].trigger()
    assert "yardplan import weather" in shown_text(win)


def test_after_the_yard_came_f5_shows_it(yard, opened, qtbot):
    yard.error = NotThere("yard", "sqlite://", "bring one in")
    win = opened()
    yard.error = None
    win.menus.refresh.trigger()
    qtbot.waitUntil(lambda: not win._reading, timeout=20_000)
    assert win.week.board.view.board is not None
    assert win.plan_bar.build.isEnabled()


def test_without_a_plan_the_page_points_to_the_button(opened):
    win = opened()
    assert "Build plan" in shown_text(win)
    assert "No plan yet" in win.summary.text()
    assert "3 open orders" in win.summary.text()
    assert win.plan_bar.build.isEnabled()
    assert "Test mesa" in win.windowTitle()


def test_another_error_is_told_in_a_box_with_its_text(yard, opened, qtbot):
    yard.error = DatabaseUnreadable("sqlite:///x", "it is not a database")
    win = opened()
    box = win.findChild(QMessageBox)
    assert "it is not a database" in box.text()
    assert "it is not a database" in shown_text(win)
    box.close()


def test_a_bug_is_told_with_details_to_report(yard, opened):
    yard.error = ZeroDivisionError("as in a bug")
    box = opened().findChild(QMessageBox)
    assert "as in a bug" in box.detailedText()
    assert "as in a bug" not in box.text()
    box.close()


def test_a_plan_for_another_yard_is_not_drawn_but_named(yard, opened):
    plan = small_plan(yard.outlook)
    yard.plans.append(stored(Plan(plan.grid, (replace(plan.cycles[0], chamber_id="9Z"),)), 4))
    win = opened()
    assert "Plan 4 was made for another yard" in shown_text(win)
    assert win.week.board.view.board.plan.cycles == ()


# Building a plan


@pytest.mark.gui
def test_build_plan_runs_and_shows_the_new_version(yard, opened, qtbot):
    win = opened()
    yard.gate.clear()
    win.plan_bar.confidence.setCurrentIndex(win.plan_bar.confidence.findData(0.95))
    qtbot.mouseClick(win.plan_bar.build, Qt.MouseButton.LeftButton)
    told = win.findChild(QLabel, "progress")
    qtbot.waitUntil(lambda: "on time" in told.text(), timeout=20_000)
    assert "of 7 s" in told.text()
    assert "gap" in told.text()
    assert not win.menus.build.isEnabled()
    assert win.menus.stop.isEnabled()
    yard.gate.set()
    done(qtbot, win)
    assert yard.asked[0][:2] == (0.95, 7)
    assert win.summary.text().startswith("Plan 1")
    cycles = yard.plans[0].outcome.plan.cycles
    assert len(cycles) == 12
    assert all(("cycle", cycle.id) in win.week.board.view.board.marks for cycle in cycles)
    assert win.orders.table.model().rowCount() == 3
    assert win.menus.build.isEnabled()
    assert "Build plan" not in win.week._hint.text()


@pytest.mark.gui
def test_stop_keeps_the_best_and_the_window_stays_alive(yard, opened, qtbot):
    win = opened()
    yard.gate.clear()
    win.menus.build.trigger()
    stop = win.findChild(QPushButton, "stop")
    qtbot.waitUntil(stop.isVisible)
    win.week.show_three_days()
    qtbot.mouseClick(stop, Qt.MouseButton.LeftButton)
    assert not stop.isEnabled()
    done(qtbot, win)
    assert yard.plans[0].outcome.status is Status.STOPPED
    assert "stopped, best so far" in win.summary.text()


def test_a_stop_right_at_the_start_is_not_lost(yard, opened, qtbot):
    win = opened()
    yard.gate.clear()
    win.menus.build.trigger()
    win.menus.stop.trigger()
    done(qtbot, win)
    assert yard.plans[0].outcome.status is Status.STOPPED


def test_a_second_build_is_a_new_version(yard, opened, qtbot):
    win = opened()
    for _ in range(2):
        win.menus.build.trigger()
        done(qtbot, win)
    assert win.summary.text().startswith("Plan 2")


def test_a_build_that_fails_leaves_the_old_plan(yard, opened, qtbot):
    yard.plans.append(stored(small_plan(yard.outlook), 3))
    win = opened()
    yard.error = DatabaseUnreadable("sqlite:///x", "the disk is full")
    win.menus.build.trigger()
    done(qtbot, win)
    box = win.findChild(QMessageBox)
    assert "the disk is full" in box.text()
    box.close()
    assert win.summary.text().startswith("Plan 3")
    assert ("cycle", "C1") in win.week.board.view.board.marks
    assert win.plan_bar.currentIndex() == 0


def test_news_of_an_old_request_are_dropped(yard, opened):
    yard.plans.append(stored(small_plan(yard.outlook), 3))
    win = opened()
    before = win.summary.text()
    win._told(99, Progress(Plan(yard.outlook.grid), GoalParts(*[1] * 10), 0, 1.0))
    win._done(99, jobs.Week(yard.outlook, None, None, None))
    win._failed(99, ValueError("late"))
    assert win.summary.text() == before
    assert win.findChild(QMessageBox) is None


def test_closing_during_a_search_ends_it(yard, opened, qtbot):
    win = opened()
    yard.gate.clear()
    win.menus.build.trigger()
    qtbot.waitUntil(lambda: bool(yard.asked), timeout=20_000)
    win.close()
    assert not win.background.busy
    assert yard.plans[0].outcome.status is Status.STOPPED


# The two pages together


@pytest.fixture
def full(yard, opened):
    yard.plans.append(stored(small_plan(yard.outlook), 3))
    return opened()


@pytest.mark.gui
def test_an_order_chosen_in_the_list_stands_out_on_the_week_page(full, qtbot):
    full.menus.pages["orders"].trigger()
    full.orders.choose("Y-1")
    marks = full.week.board.view.board.marks
    assert marks["cycle", "C1"].mood is Mood.PLAIN
    assert marks["cycle", "C3"].mood is Mood.DIMMED
    full.orders.order_opened.emit("Y-1")
    assert full.week.isVisible()
    assert full.week.board.view.mark is marks["cycle", "C1"]
    full.week.board.view.setFocus()
    qtbot.keyClick(full.week.board.view, Qt.Key.Key_Escape)
    qtbot.keyClick(full.week.board.view, Qt.Key.Key_Escape)
    assert marks["cycle", "C3"].mood is Mood.PLAIN
    assert full.orders.order_id == ""


def test_the_panel_tells_about_the_choice_and_links_to_the_order(full):
    view = full.week.board.view
    view.choose(view.board.marks["cycle", "C1"])
    assert "Invented Farm" in full.week._text.toPlainText()
    assert full.week._text.isVisible()
    for key, part in (
        (("crew", "P4|finish|F2"), "Invented Depot"),
        (("change", "X1"), "Mold change"),
        (("crew", "P1|change|X1"), "Mold change"),
    ):
        view.choose(view.board.marks[key])
        assert part in full.week._text.toPlainText()
    view.choose(view.board.marks["cycle", "C1"])
    assert "order:Y-1" in full.week._text.toHtml()
    full.week.order_asked.emit("Y-1")
    assert full.orders.isVisible()
    assert full.orders.order_id == "Y-1"
    full._show_key()
    assert full.week._key.isVisible()


def test_days_step_and_hours_zoom(full):
    view = full.week.board.view
    grid = view.board.grid
    assert grid.local(int(view.left_slot)).hour == 5, "an hour before the sun"
    full.week.show_day_after()
    assert grid.local(int(view.left_slot)).day == 18
    full.week.show_day_before()
    assert grid.local(int(view.left_slot)).day == 17
    full.week.show_six_hours()
    assert view.right_slot - view.left_slot == pytest.approx(72)
    full.week.show_three_days()
    assert view.right_slot - view.left_slot == pytest.approx(864)
    assert full.week._range.text() == "Mon 17 May – Wed 19 May 2027"


def test_the_clock_moves_the_now_line_and_a_lost_database_is_told_once(full, yard, monkeypatch):
    monkeypatch.setattr(window, "yard_now", lambda _database: at(0, 12))
    full._show_now()
    assert full.week.board.view.board.now_slot == pytest.approx(144)

    def lost(_database):
        raise DatabaseUnreadable("sqlite:///x", "the drive is gone")

    monkeypatch.setattr(window, "yard_now", lost)
    full._show_now()
    box = full.findChild(QMessageBox)
    assert "the drive is gone" in box.text()
    assert not full._clock.isActive()
    box.close()


# The Heat page in the window


def read(qtbot, win):
    qtbot.waitUntil(lambda: not win._reading and not win.heat_desk.busy, timeout=20_000)


@pytest.mark.gui
def test_what_is_said_by_hand_is_kept_shown_and_taken_back(full, yard, qtbot):
    full.menus.pages["heat"].trigger()
    panel = full.heat.panel
    qtbot.keyClicks(panel.say_text, "fog until 10")
    qtbot.mouseClick(panel.say, Qt.MouseButton.LeftButton)
    assert not panel.say.isEnabled(), "nothing else is asked while it is read"
    read(qtbot, full)
    assert panel.rules.count() == 1
    assert "00:00" in panel.rules.item(0).text()
    assert panel.say_text.text() == ""
    (told,) = full.heat.fans.rows[0].by_hand
    assert (told.first_slot, told.after_slot) == (0, 120)
    panel.rules.setCurrentRow(0)
    qtbot.mouseClick(panel.take_back, Qt.MouseButton.LeftButton)
    read(qtbot, full)
    assert yard.rules == []
    assert full.heat.fans.rows[0].by_hand == ()
    assert not panel.rules.isVisible()


def test_what_is_not_understood_is_told_beside_the_field(full, qtbot):
    full.menus.pages["heat"].trigger()
    panel = full.heat.panel
    panel.say_text.setText("rain on monday")
    panel.say.click()
    read(qtbot, full)
    assert "one of fog, dust" in panel._trouble.text()
    assert panel.say_text.text() == "rain on monday"
    assert full.findChild(QMessageBox) is None


def test_a_wash_is_weighed_beside_the_window(full, yard, qtbot):
    full.menus.pages["heat"].trigger()
    full.heat.panel.wash.click()
    read(qtbot, full)
    assert "50 kWh more (+5%), 2 cooks more of Tank; takes 3.0 crew hours" in full.heat.panel._washes.text()
    full.heat.panel.ask.click()
    read(qtbot, full)
    assert "forecast" in yard.asked


def test_without_weather_the_heat_page_says_what_to_do(yard, opened):
    yard.error = NotThere("weather", "mesa", "bring in a file")
    win = opened()
    win.menus.pages["heat"].trigger()
    assert "yardplan import weather" in shown_text(win)
    assert not win.heat.panel.wash.isEnabled()


# Looks, keys, settings


def test_the_theme_can_be_switched(full, qapp):
    for theme, colors in ((Theme.DARK, DARK), (Theme.LIGHT, LIGHT)):
        full.menus.themes[theme].trigger()
        assert full.week.board.view.board.look.colors is colors
        assert qapp.palette().window().color().name() == colors.window.lower()


def test_rows_can_be_left_out_from_the_menu(full):
    full.menus.rows["crew"].trigger()
    assert not any(lane.kind == "crew" for lane in full.week.board.view.board.lanes)
    full.menus.rows["crew"].trigger()
    assert any(lane.kind == "crew" for lane in full.week.board.view.board.lanes)


def test_settings_come_back(yard, opened, tmp_path):
    win = opened(Theme.DARK)
    win.plan_bar.search_s.setValue(33)
    win.menus.rows["battery"].trigger()
    win.close()
    kept = load_settings()
    assert (kept.theme, kept.search_s, kept.hidden_rows) == (Theme.DARK, 33, frozenset({"battery"}))
    assert kept.geometry is not None
    assert any(tmp_path.rglob("window.ini"))


def test_spoiled_settings_take_their_defaults(qapp):
    store = QSettings(QSettings.Format.IniFormat, QSettings.Scope.UserScope, "yardplan", "window")
    store.setValue("theme", "purple")
    store.setValue("search_s", "soon")
    assert load_settings() == SeatSettings()


def test_all_controls_have_names_and_can_be_reached_by_keyboard(full):
    controls = [w for w in full.findChildren(QWidget) if w.isVisible() and isinstance(w, QPushButton | QToolButton)]
    assert len(controls) > 10
    for control in controls:
        assert control.text() or control.accessibleName()
        assert control.height() >= 20
    named = (full.week.board.view, full.week.board.axis, full.week.board.pane, full.plan_bar.search_s)
    assert all(widget.accessibleName() for widget in (*named, full.plan_bar.confidence, full.orders.table))
    keyed = [action for action in full.findChildren(QAction) if not action.shortcut().isEmpty()]
    of_pages = [action for action in keyed if action.shortcutContext() is Qt.ShortcutContext.WidgetWithChildrenShortcut]
    keys = [action.shortcut().toString() for action in keyed if action not in of_pages]
    assert len(set(keys)) == len(keys), "no key does two things"
    assert not {action.shortcut().toString() for action in of_pages} & set(keys)
    on_page = [(id(action.parent()), action.shortcut().toString()) for action in of_pages]
    assert len(set(on_page)) == len(on_page), "nor on one page"
    assert {"Ctrl+B", "Ctrl+1", "Ctrl+2", "Ctrl+3", "Ctrl+4", "F5", "Ctrl+F", "Ctrl+P"} <= set(keys)


def test_the_week_is_saved_as_pdf_and_a_bad_place_is_told(full, tmp_path, monkeypatch):
    wanted = tmp_path / "week.pdf"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(wanted), ""))
    full.menus.pdf.trigger()
    assert wanted.read_bytes().startswith(b"%PDF-")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / "no" / "week.pdf"), ""))
    full.menus.pdf.trigger()
    box = full.findChild(QMessageBox)
    assert "could not be written" in box.text()
    box.close()
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: ("", ""))
    full.menus.pdf.trigger()
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".pdf"] == ["week.pdf"]


def test_find_goes_to_the_filter(full, qtbot):
    full._find()
    assert full.orders.isVisible()
    assert full.orders.filter.isVisible()


def test_the_cautions_name_every_danger_and_defer_to_local_codes(full):
    full._about()
    dialog = full.findChild(AboutDialog)
    told = dialog._cautions()
    for part in (
        "Concentrated light",
        "Hot molds",
        "Lifting",
        "Wind",
        "Electricity",
        "Local codes",
        "licensed practice",
    ):
        assert part in told
    dialog.close()
