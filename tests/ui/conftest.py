import threading

import pytest
from PySide6.QtCore import QLocale, QSettings, Qt
from PySide6.QtGui import QGuiApplication
from shiboken6 import isValid

from yardplan.ui.background import Background
from yardplan.ui.units import Units, choose_units


@pytest.fixture(autouse=True)
def seat(qapp, qtbot, tmp_path, monkeypatch):
    """Settings in a folder of the test's own, one language and its units, and no thread of ours left behind."""
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path))
    for name in ("XDG_DATA_HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path / "data"))  # where reports are kept
    QLocale.setDefault(QLocale(QLocale.Language.English, QLocale.Country.UnitedKingdom))
    choose_units(Units.REGION)
    QGuiApplication.styleHints().setColorScheme(Qt.ColorScheme.Light)
    qapp.setStyle("Fusion")
    made: list[Background] = []
    build = Background.__init__

    def noted(self, parent=None):
        build(self, parent)
        made.append(self)

    monkeypatch.setattr(Background, "__init__", noted)
    before = set(threading.enumerate())
    yield
    # A thread of a pool that ran Python stays in Python's list as a dummy; whether it runs, its pool tells.
    left = [thread for thread in set(threading.enumerate()) - before if not thread.name.startswith("Dummy")]
    assert left == []
    assert not any(background.busy for background in made if isValid(background))  # a pool's end waits for its threads


def pytest_collection_modifyitems(items):
    """The offscreen platform says at windows shown that it has no window manager to tell of them."""
    for item in items:
        if "tests/ui/" in item.path.as_posix():
            item.add_marker(pytest.mark.qt_log_ignore(r"This plugin does not support (propagateSizeHints|raise)\(\)"))
