"""The first run: where there is no yard or no weather yet, and the first steps to a plan that is in force."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QFileDialog, QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from yardplan.paths import demo_folder
from yardplan.store.engine import Database
from yardplan.ui.jobs import Week, person, publish_plan
from yardplan.ui.settings import SeatSettings
from yardplan.usecases.clock import yard_now
from yardplan.usecases.imports import import_weather, import_yard

STEPS = ("orders", "plan", "publish", "log")
BUTTONS_PX = 420


class Welcome(QWidget):
    """What to begin with.

    Signals
    -------
    chosen(str)
        ``demo``, ``folder``, ``blank`` or ``weather``.
    """

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._title, self._told = QLabel(), QLabel()
        self._title.setObjectName("welcome_title")
        self._told.setObjectName("welcome_told")
        self._told.setWordWrap(True)
        self.buttons: dict[str, QPushButton] = {}
        inner = QWidget()
        inner.setMaximumWidth(BUTTONS_PX + 160)
        column = QVBoxLayout(inner)
        column.setSpacing(10)
        column.addWidget(self._title)
        column.addWidget(self._told)
        for name, text, told in (
            (
                "demo",
                self.tr("Look around in the &demo yard"),
                self.tr("An invented yard of six units with orders, a log and weather. Its clock stands still."),
            ),
            (
                "blank",
                self.tr("Begin with an &empty yard"),
                self.tr("Type in your site, units, molds and products on the Yard page."),
            ),
            (
                "folder",
                self.tr("Bring in a yard from a &folder ..."),
                self.tr("A folder of CSV and TOML files, as the command yardplan export yard writes them."),
            ),
            (
                "weather",
                self.tr("Bring in a typical &year of weather ..."),
                self.tr("A TMY3, TMY2, EPW or PVGIS file of a place near by: what the sun does in each season."),
            ),
        ):
            button = QPushButton(text)
            button.setObjectName(f"begin_{name}")
            button.setAccessibleDescription(told)
            button.setMinimumHeight(36)
            button.clicked.connect(partial(self.chosen.emit, name))
            label = QLabel(told)
            label.setWordWrap(True)
            label.setBuddy(button)
            self.buttons[name] = button
            column.addWidget(button)
            column.addWidget(label)
            button.setProperty("told", label)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(inner, 4)
        row.addStretch(1)
        whole = QVBoxLayout(self)
        whole.addStretch(1)
        whole.addLayout(row)
        whole.addStretch(2)

    def show_missing(self, thing: str, *, can_type: bool) -> None:
        """Show what can be done where there is no ``yard``, or no ``weather``; `can_type`: a yard can be typed in."""
        if thing == "yard":
            self._title.setText(self.tr("Welcome to yardplan"))
            self._told.setText(self.tr("This database has no yard yet. How do you want to begin?"))
        else:
            self._title.setText(self.tr("The yard is there; its weather is not"))
            self._told.setText(self.tr("Without a typical year nothing can be said of the sun, and nothing planned."))
        for name, button in self.buttons.items():
            fits = (name == "weather") is (thing == "weather") and (can_type or name != "blank")
            button.setVisible(fits)
            label = button.property("told")
            if isinstance(label, QLabel):
                label.setVisible(fits)
        first = self.buttons["demo" if thing == "yard" else "weather"]
        first.setDefault(True)
        self.setFocusProxy(first)
        if self.isVisible():
            first.setFocus()


class FirstSteps(QFrame):
    """The next step to a first plan that is in force, until it is or nobody wants to be told.

    Signals
    -------
    wanted(str)
        One of `STEPS`, or ``done`` when no more should be told.
    """

    wanted = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("first_steps")
        self._step = STEPS[0]
        self._told = QLabel()
        self._told.setObjectName("step_told")
        self._told.setWordWrap(True)
        self.go = QPushButton()
        self.go.setObjectName("step_go")
        self.go.clicked.connect(self._go)
        self.leave = QPushButton(self.tr("Do not show this"))
        self.leave.setObjectName("step_leave")
        self.leave.clicked.connect(partial(self.wanted.emit, "done"))
        row = QHBoxLayout(self)
        row.setContentsMargins(10, 4, 10, 4)
        row.addWidget(self._told, 1)
        row.addWidget(self.go, 0, Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(self.leave, 0, Qt.AlignmentFlag.AlignVCenter)
        self.hide()

    @property
    def step(self) -> str:
        """The step that comes next."""
        return self._step

    def show_week(self, week: Week) -> None:
        """Tell the next step for what is there now."""
        if not week.outlook.orders:
            self._step = "orders"
        elif week.stored is None:
            self._step = "plan"
        elif week.today.in_force is None:
            self._step = "publish"
        else:
            self._step = "log"
        told, go = {
            "orders": (
                self.tr("The yard is ready. Next: put in what customers have ordered."),
                self.tr("Go to the orders"),
            ),
            "plan": (
                self.tr(
                    "{n} orders are open. Next: let a first plan be searched for. It can be stopped at any time, and "
                    "nothing is in force before you say so."
                ).format(n=len(week.outlook.orders)),
                self.tr("Build the first plan"),
            ),
            "publish": (
                self.tr("Plan {n} is there. Look at it on the Week page; next: put it into force.").format(
                    n=week.stored.number if week.stored else 0
                ),
                self.tr("Put it into force"),
            ),
            "log": (
                self.tr("The first plan is in force. From now on log on the Today page what happens."),
                self.tr("Go to Today"),
            ),
        }[self._step]
        number = STEPS.index(self._step) + 1
        self._told.setText(self.tr("Step {n} of {all}: {what}").format(n=number, all=len(STEPS), what=told))
        self.go.setText(go)

    def _go(self) -> None:
        self.wanted.emit(self._step)


class Beginning(QObject):
    """Between the first pages that a person sees and the work that they ask for.

    Signals
    -------
    change_wanted(object)
        Something [callable without arguments] that changes the database, to be run beside the window.
    page_wanted(str)
        A page of the window by its short name.
    build_wanted()
        A plan is to be searched for.
    """

    change_wanted = Signal(object)
    page_wanted = Signal(str)
    build_wanted = Signal()

    def __init__(self, database: Database, settings: SeatSettings, parent: QWidget) -> None:
        super().__init__(parent)
        self._database, self._settings, self._window = database, settings, parent
        self._number = 0
        self._told_some = False
        self.welcome, self.steps = Welcome(), FirstSteps()
        self.welcome.chosen.connect(self.begin)
        self.steps.wanted.connect(self._step)

    def show_week(self, week: Week) -> None:
        """Tell the next step where there is one to be told."""
        self.steps.show_week(week)
        self._number = week.stored.number if week.stored else 0
        if self.steps.step == "log" and not self._told_some:
            self._settings.guided = True  # a plan was in force before anybody was told how to get one
        self._told_some = not self._settings.guided
        self.steps.setVisible(self._told_some)

    def begin(self, how: str) -> None:
        """Bring in the demo yard, a yard from a folder or weather from a file, or go to the page of a blank yard."""
        if how == "demo":
            self._bring(import_yard, demo_folder())
        elif how == "blank":
            self.page_wanted.emit("yard")
        elif how == "folder":
            found = QFileDialog.getExistingDirectory(self._window, self.tr("Folder of the yard"))
            if found:
                self._bring(import_yard, Path(found))
        else:
            kinds = self.tr("Typical years (*.csv *.epw *.tm2 *.tm3 *.json);;All files (*)")
            found, _ = QFileDialog.getOpenFileName(self._window, self.tr("File of a typical year"), "", kinds)
            if found:
                self._bring(import_weather, Path(found))

    def _bring(self, bring_in: Callable[..., str], path: Path) -> None:
        def change() -> str:
            return bring_in(self._database, path, by=person(), at=yard_now(self._database))

        self.change_wanted.emit(change)

    def _step(self, step: str) -> None:
        if step == "plan":
            self.build_wanted.emit()
        elif step == "publish":
            self.change_wanted.emit(partial(publish_plan, self._database, self._number, _no_news, anyway=False))
        elif step in ("done", "log"):
            self._settings.guided = True
            self.steps.hide()
            if step == "log":
                self.page_wanted.emit("today")
        else:
            self.page_wanted.emit(step)


def _no_news(_news: object) -> None:
    pass
