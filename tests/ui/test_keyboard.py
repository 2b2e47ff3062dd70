"""All pages are walked by Tab: no trap, nothing left out, nothing without a name."""

from collections import Counter

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QButtonGroup,
    QComboBox,
    QLabel,
    QScrollArea,
    QWidget,
)

from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import open_database
from yardplan.ui.settings import SeatSettings
from yardplan.ui.window import MainWindow
from yardplan.usecases.clock import yard_now
from yardplan.usecases.demo import make_demo
from yardplan.usecases.outlook import make_outlook
from yardplan.usecases.planning import make_plan

MOST_STEPS = 400


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    url = make_demo(tmp_path_factory.mktemp("demo") / "demo.sqlite")
    database = open_database(url)
    outlook = make_outlook(database, now=yard_now(database))
    make_plan(database, outlook, Limits(seconds=0), Stop(), lambda _: None, made_by="tester")
    database.close()
    return url


@pytest.fixture
def window(demo, qtbot):
    database = open_database(demo)
    made = MainWindow(database, SeatSettings())
    qtbot.addWidget(made)
    made.resize(1280, 800)
    made.show()
    qtbot.waitUntil(lambda: made._week is not None and not made._reading, timeout=60_000)
    made.activateWindow()
    qtbot.waitUntil(lambda: QApplication.activeWindow() is made)
    yield made
    made.close()
    database.close()


def label_of(widget: QWidget) -> str:
    for label in widget.window().findChildren(QLabel):
        if label.buddy() is widget:
            return label.text()
    return ""


def name_of(widget: QWidget) -> str:
    """What a screen reader says of a control: its own name, its text, or the label beside it."""
    text = widget.text() if isinstance(widget, QAbstractButton) else ""
    return widget.accessibleName() or text or label_of(widget)


def is_stop(widget: QWidget, page: QWidget) -> bool:
    """Whether Tab has to come by: a control that is shown, can be used, and is no part of another one."""
    if not (widget.isVisibleTo(page) and widget.isEnabled() and widget.focusPolicy() & Qt.FocusPolicy.TabFocus):
        return False
    if widget.focusProxy() is not None or widget.width() == 0 or widget.objectName().startswith("qt_"):
        return False
    return not isinstance(widget.parentWidget(), QAbstractSpinBox | QComboBox)


def walk(key: Qt.Key = Qt.Key.Key_Tab) -> tuple[list[QWidget], list[tuple[str, str, str]]]:
    """Go on from what has the keyboard now until it comes round; also where it stuck instead of coming round."""
    QTest.keyClick(QApplication.focusWidget(), key)  # where it began may be off the way, as a button that is not on
    at, found = QApplication.focusWidget(), []
    for _ in range(MOST_STEPS):
        if at is None or at in found:
            break
        found.append(at)
        QTest.keyClick(at, key)
        at = QApplication.focusWidget()
    came_round = found and (at is found[0] or (group_of(at) is not None and group_of(at) is group_of(found[0])))
    return found, [] if came_round else told([one for one in (at,) if one is not None])


def group_of(widget: QWidget | None) -> QButtonGroup | None:
    """Return the group of buttons that shut each other out: Tab stops at the one that is on."""
    return widget.group() if isinstance(widget, QAbstractButton) else None


def controls(page: QWidget) -> list[QWidget]:
    return [one for one in page.findChildren(QWidget) if is_stop(one, page) and not isinstance(one, QScrollArea)]


def told(widgets: list[QWidget]) -> list[tuple[str, str, str]]:
    return [(one.metaObject().className(), one.objectName(), name_of(one)) for one in widgets]


def test_tab_walks_every_page_without_a_trap_and_finds_nothing_nameless(window, qtbot):
    """One window for all, since it takes long to open."""
    traps, missed, one_way, nameless, unnamed_objects, twice = {}, {}, {}, {}, {}, {}
    for name, entry in window._entries.items():
        window.menus.pages[name].trigger()
        qtbot.waitUntil(lambda: not window.looking_back.background.busy, timeout=60_000)
        QTest.qWait(50)
        entry.take_keys()
        (seen, stuck), (back, stuck_back) = walk(), walk(Qt.Key.Key_Backtab)
        traps[name] = stuck + stuck_back
        assert 2 < len(seen) < MOST_STEPS, name
        groups = {group_of(one) for one in seen} - {None}
        found = controls(entry.page)
        left = [one for one in found if one not in seen]
        missed[name] = told([one for one in left if group_of(one) not in groups])
        one_way[name] = told(list(set(seen) ^ set(back)))
        nameless[name] = told([one for one in seen if not name_of(one)])
        unnamed_objects[name] = told([one for one in found if not one.objectName()])
        names = Counter(one.objectName() for one in found if one.objectName())
        twice[name] = [one for one, count in names.items() if count > 1]
    # a screen of 1920 dots at twice the size has 960 across
    assert window.minimumSizeHint().width() <= 960
    for what in (traps, missed, one_way, nameless, unnamed_objects, twice):
        assert not any(what.values()), what
