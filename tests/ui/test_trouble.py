"""A bug is told, leaves a report, and loses nothing."""

import subprocess
import sys
from datetime import UTC, datetime, timedelta

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QLineEdit, QMessageBox, QWidget

from yardplan.domain.errors import InvalidField
from yardplan.ui import app, trouble
from yardplan.ui.trouble import KEPT_REPORTS, keep_report, report_of, reports_folder, show_error
from yardplan.ui.window import MainWindow

AT = datetime(2027, 5, 14, 14, tzinfo=UTC)


def a_bug() -> Exception:
    try:
        return {}["as in a bug"]
    except KeyError as error:
        return error


@pytest.fixture
def seat_window(qtbot):
    made = QWidget()
    QLineEdit("half a sentence", made)
    qtbot.addWidget(made)
    made.show()
    return made


def test_a_bug_leaves_a_report_with_the_way_to_it(seat_window):
    show_error(seat_window, a_bug())
    box = seat_window.findChild(QMessageBox, "bug")
    (kept,) = reports_folder().glob("*.txt")
    text = kept.read_text()
    assert "a_bug" in text
    assert "KeyError: 'as in a bug'" in text
    assert "PySide6" in text
    assert str(kept) in box.informativeText()
    assert "Nothing was sent" in box.informativeText()
    assert seat_window.findChild(QLineEdit).text() == "half a sentence"
    box.close()


def test_the_report_can_be_copied_and_the_box_stays(seat_window):
    show_error(seat_window, a_bug())
    box = seat_window.findChild(QMessageBox, "bug")
    copy = next(button for button in box.buttons() if "Copy" in button.text())
    copy.click()
    assert "as in a bug" in QGuiApplication.clipboard().text()
    assert box.isVisible()
    box.close()


def test_bugs_that_come_again_and_again_open_one_box_and_keep_all_reports(seat_window):
    for _ in range(5):
        show_error(seat_window, a_bug())
    assert len(seat_window.findChildren(QMessageBox)) == 1
    told = "".join(path.read_text() for path in reports_folder().glob("*.txt"))
    assert told.count("KeyError") == 5
    seat_window.findChild(QMessageBox).close()


def test_what_a_person_can_mend_is_told_without_a_report(seat_window):
    show_error(seat_window, InvalidField("mold", "M1", "shell_kg", -1, "0 to 5000"))
    assert "shell_kg" in seat_window.findChild(QMessageBox, "error").text()
    assert not reports_folder().exists()
    seat_window.findChild(QMessageBox).close()


def test_only_the_newest_reports_are_kept(seat_window):
    for minute in range(KEPT_REPORTS + 5):
        keep_report("x", AT + timedelta(minutes=minute))
    kept = sorted(path.name for path in reports_folder().glob("*.txt"))
    assert len(kept) == KEPT_REPORTS
    assert kept[0] == f"trouble-{AT + timedelta(minutes=5):%Y%m%d-%H%M%S}.txt"


def test_where_no_report_can_be_kept_the_box_says_so(seat_window, tmp_path):
    (tmp_path / "data").write_text("a file where the folder should be")
    assert keep_report(report_of(a_bug()), AT) is None
    show_error(seat_window, a_bug())
    assert "could not be saved" in seat_window.findChild(QMessageBox, "bug").informativeText()
    seat_window.findChild(QMessageBox).close()


def test_a_breakdown_is_written_down_and_told_the_next_time(tmp_path):
    """A process of its own breaks down as a fault in a library would."""
    code = "import faulthandler; from yardplan.ui.trouble import watch_fatal; watch_fatal(); faulthandler._sigabrt()"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, timeout=60)
    assert done.returncode != 0
    told = (reports_folder() / trouble.FATAL).read_text()
    assert "Aborted" in told
    seen = []

    def close():
        window = next(one for one in QApplication.topLevelWidgets() if isinstance(one, MainWindow) and one.isVisible())
        box = window.findChild(QMessageBox, "breakdown")
        seen.append(box.detailedText() if box else "")
        window.close()

    for _ in range(2):
        QTimer.singleShot(300, close)
        assert app.run_window(f"sqlite:///{tmp_path / 'new.sqlite'}") == 0
    assert "Aborted" in seen[0]
    assert seen[1] == "", "told once"
