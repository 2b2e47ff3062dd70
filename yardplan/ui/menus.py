"""The toolbar and the menus of the main window; what they do is connected by the window."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QApplication, QMainWindow, QMenu, QSizePolicy, QToolBar, QWidget

from yardplan.ui.icons import icon
from yardplan.ui.lanes import LaneKind
from yardplan.ui.palette import Theme
from yardplan.ui.settings import SeatSettings

NARROW_PX = 1150
"""A narrower window has no room for the names of all pages beside the plan bar."""


@dataclass(frozen=True)
class PageEntry:
    """A page of the window: its short name, its title, itself, and the widget that takes the keys when it is shown."""

    name: str
    title: str
    page: QWidget
    focus: QWidget

    def take_keys(self) -> None:
        """Bring the keyboard to the page: to its own widget for it, else to the first one that takes keys."""
        self.focus.setFocus()
        if not self.page.isAncestorOf(QApplication.focusWidget() or self.page.window()):
            stops = (one for one in self.page.findChildren(QWidget) if one.isVisible() and one.isEnabled())
            first = next((one for one in stops if one.focusPolicy() & Qt.FocusPolicy.TabFocus), None)
            if first is not None:
                first.setFocus()


class Menus(QObject):
    """Actions that the window can switch on and off, and the menus for a page to add its own to.

    Attributes
    ----------
    pages : dict of str to QAction
        The action that shows each page, by its short name.
    bring : dict of str to QAction
        What is brought in: ``demo``, ``folder``, ``weather``.
    file, edit, plan, view, info : QMenu
        See `add`.

    Signals
    -------
    page_wanted(str)
        The short name of a page that is to be shown.
    theme_set(object), rows_set(object)
        The `Theme` that was chosen; the kinds of rows that are left out, as a frozenset.
    """

    page_wanted = Signal(str)
    theme_set = Signal(object)
    rows_set = Signal(object)

    def __init__(
        self,
        window: QMainWindow,
        entries: Sequence[PageEntry],
        first: str,
        plan_bar: QWidget,
        edit_actions: Sequence[QAction],
        board_actions: Sequence[QAction],
        settings: SeatSettings,
    ) -> None:
        super().__init__(window)
        self._window = window
        self.pages: dict[str, QAction] = {}
        self.rows: dict[str, QAction] = {}
        self.themes: dict[Theme, QAction] = {}
        self._make_bar(entries, first, plan_bar)
        std, bar = QKeySequence.StandardKey, window.menuBar()
        self.file = bar.addMenu(self.tr("&File"))
        self.refresh = self.add(self.file, self.tr("&Read again"), std.Refresh)
        self.pdf = self.add(self.file, self.tr("Save week as &PDF ..."), std.Print)
        self.sheets = self.add(self.file, self.tr("Save s&hop sheets as PDF ..."), "Ctrl+Shift+H")
        self.file.addSeparator()
        self.bring = {
            name: self.add(self.file, text)
            for name, text in (
                ("demo", self.tr("Bring in the &demo yard")),
                ("folder", self.tr("Bring in a &yard ...")),
                ("weather", self.tr("Bring in &weather ...")),
            )
        }
        self.file.addSeparator()
        self.settings = self.add(self.file, self.tr("&Settings ..."), std.Preferences)
        self.settings.setMenuRole(QAction.MenuRole.PreferencesRole)
        self.file.addSeparator()
        self.add(self.file, self.tr("&Quit"), std.Quit, window.close).setMenuRole(QAction.MenuRole.QuitRole)
        self.edit = bar.addMenu(self.tr("&Edit"))
        self.edit.addActions(edit_actions)
        self.plan = bar.addMenu(self.tr("&Plan"))
        self.build = self.add(self.plan, self.tr("&Build plan"), "Ctrl+B")
        self.stop = self.add(self.plan, self.tr("&Stop and keep best"), "Ctrl+.")
        self.plan.addSeparator()
        self.view = bar.addMenu(self.tr("&View"))
        self.view.addActions(list(self.pages.values()))
        self.view.addSeparator()
        self.view.addActions(board_actions)
        self.view.addSeparator()
        self._make_rows(settings)
        self._make_themes(settings)
        self.info = bar.addMenu(self.tr("&Help"))

    def add(
        self,
        menu: QMenu,
        text: str,
        keys: QKeySequence.StandardKey | str = "",
        do: Callable[[], object] | None = None,
    ) -> QAction:
        """Add an action at the end of a menu and return it."""
        action = QAction(text, self._window)
        action.setShortcut(keys)
        if do is not None:
            action.triggered.connect(do)
        menu.addAction(action)
        return action

    @property
    def hidden_rows(self) -> frozenset[str]:
        """Kinds of rows that are left out."""
        return frozenset(kind for kind, action in self.rows.items() if not action.isChecked())

    def set_icon_color(self, color: str) -> None:
        """Draw the icons of the pages in a color."""
        for name, action in self.pages.items():
            action.setIcon(icon(name, color))

    def _make_bar(self, entries: Sequence[PageEntry], first: str, plan_bar: QWidget) -> None:
        bar = QToolBar(self.tr("Pages and planning"))
        bar.setObjectName("main_bar")
        bar.setMovable(False)
        bar.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        bar.toggleViewAction().setVisible(False)
        group = QActionGroup(self)
        for number, entry in enumerate(entries, 1):
            action = QAction(entry.title, self._window, checkable=True, checked=entry.name == first)
            action.setShortcut(f"Ctrl+{number}")
            action.setData(entry.name)
            group.addAction(action)
            bar.addAction(action)
            self.pages[entry.name] = action
        group.triggered.connect(self._want_page)
        plan_bar.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        bar.addWidget(plan_bar)
        self._window.addToolBar(bar)
        self._bar = bar
        self._window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Leave the names of pages out of the toolbar where the window is narrow, as at twice the size."""
        if event.type() == QEvent.Type.Resize and watched is self._window:
            style = Qt.ToolButtonStyle
            is_narrow = self._window.width() < NARROW_PX
            self._bar.setToolButtonStyle(style.ToolButtonIconOnly if is_narrow else style.ToolButtonTextBesideIcon)
        return super().eventFilter(watched, event)

    def _want_page(self, action: QAction) -> None:
        self.page_wanted.emit(str(action.data()))

    def _make_rows(self, settings: SeatSettings) -> None:
        menu = self.view.addMenu(self.tr("&Rows"))
        for kind, text in (
            (LaneKind.HEAT, self.tr("&Field heat")),
            (LaneKind.BATTERY, self.tr("&Battery")),
            (LaneKind.CREW, self.tr("&Crew")),
            (LaneKind.BENCH, self.tr("B&enches")),
        ):
            action = self.add(menu, text, "", self._set_rows)
            action.setCheckable(True)
            action.setChecked(kind.value not in settings.hidden_rows)
            self.rows[kind.value] = action

    def _set_rows(self) -> None:
        self.rows_set.emit(self.hidden_rows)

    def _make_themes(self, settings: SeatSettings) -> None:
        menu = self.view.addMenu(self.tr("The&me"))
        group = QActionGroup(self)
        for theme, text in (
            (Theme.SYSTEM, self.tr("As the &desktop")),
            (Theme.LIGHT, self.tr("&Light")),
            (Theme.DARK, self.tr("D&ark")),
            (Theme.SUNLIGHT, self.tr("For &sunlight")),
        ):
            action = self.add(menu, text)
            action.setCheckable(True)
            action.setChecked(theme is settings.theme)
            group.addAction(action)
            self.themes[theme] = action
        group.triggered.connect(self._set_theme)

    def _set_theme(self) -> None:
        self.theme_set.emit(next(theme for theme, action in self.themes.items() if action.isChecked()))
