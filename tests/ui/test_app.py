import sys

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMessageBox

from yardplan.ui import app
from yardplan.ui.window import MainWindow


def test_a_database_that_cannot_be_opened_is_told(tmp_path, monkeypatch):
    spoiled = tmp_path / "spoiled.sqlite"
    spoiled.write_bytes(b"this is no database" * 100)
    told = []
    monkeypatch.setattr(QMessageBox, "critical", lambda _parent, _title, text: told.append(text))
    assert app.run_window(f"sqlite:///{spoiled}") == app.COULD_NOT_OPEN
    assert "could not be used" in told[0]
    assert spoiled.read_bytes() == b"this is no database" * 100


def test_an_empty_database_opens_and_says_what_to_do(tmp_path):
    seen = []

    def look():
        window = next(widget for widget in QApplication.topLevelWidgets() if isinstance(widget, MainWindow))
        if window._reading:
            QTimer.singleShot(50, look)
            return
        seen.append(window.week._message.text())
        window.close()

    QTimer.singleShot(50, look)
    assert app.run_window(f"sqlite:///{tmp_path / 'new.sqlite'}") == 0
    assert "yardplan demo" in seen[0]


def test_a_bug_in_a_slot_is_shown_and_not_only_printed(tmp_path, monkeypatch):
    told = []
    monkeypatch.setattr(MainWindow, "tell_error", lambda _window, error: told.append(error))
    monkeypatch.setattr(sys, "__excepthook__", lambda *_: None)
    bug = ZeroDivisionError("as in a bug")

    def break_and_close():
        sys.excepthook(type(bug), bug, None)
        for widget in QApplication.topLevelWidgets():
            if isinstance(widget, MainWindow):
                widget.close()

    QTimer.singleShot(200, break_and_close)
    before = sys.excepthook
    assert app.run_window(f"sqlite:///{tmp_path / 'new.sqlite'}") == 0
    assert told[0] is bug
    assert sys.excepthook is before
