"""What is told when something is missing or went wrong; a bug leaves a report behind and nothing is lost."""

import faulthandler
import platform
import traceback
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TextIO

import PySide6
from PySide6.QtCore import QCoreApplication, QLocale, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QMessageBox, QWidget

from yardplan import __version__
from yardplan.clock import now_utc
from yardplan.domain.errors import ExpectedError, NotThere, PublishedMeanwhile
from yardplan.paths import user_data_folder

KEPT_REPORTS = 20
FATAL = "fatal.txt"
"""Where Python writes what it was doing when the whole program broke down."""


def what_first(error: NotThere) -> str:
    """Return what to do where there is no yard, or no weather, yet."""
    if error.thing == "weather":
        return QCoreApplication.translate(
            "trouble",
            "The yard has no weather yet.\n\nBring in a typical-year file: File > Bring in weather, or on the command "
            "line: yardplan import weather FILE",
        )
    return QCoreApplication.translate(
        "trouble",
        "There is no yard in this database yet.\n\nLook around in an invented one: File > Bring in the demo yard, or "
        "on the command line: yardplan demo\n\nBring in your own: File > Bring in a yard, or on the command line: "
        "yardplan import yard FOLDER",
    )


def show_error(parent: QWidget, error: BaseException) -> None:
    """Show what went wrong: an expected error by its own words, a bug with its report, of which a copy is kept.

    While a box about a bug is open no other one comes up; the reports are kept all the same.
    """
    tr = QCoreApplication.translate
    is_bug = not isinstance(error, ExpectedError)
    report = report_of(error) if is_bug else ""
    path = keep_report(report, now_utc()) if is_bug else None
    if is_bug and parent.findChild(QMessageBox, "bug") is not None:
        return
    box = QMessageBox(parent)
    box.setObjectName("bug" if is_bug else "error")
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    box.setIcon(QMessageBox.Icon.Warning)
    box.setWindowTitle("yardplan")
    if is_bug:
        box.setText(
            tr(
                "trouble",
                "Something went wrong inside yardplan. What was kept before is unchanged, what you typed is still "
                "there, and you can go on.",
            )
        )
        told = (
            tr("trouble", "A report was saved as {path}.").format(path=path)
            if path
            else tr("trouble", "The report could not be saved: copy it from the details.")
        )
        advice = tr("trouble", "Nothing was sent. Please look through the report and pass it on.")
        box.setInformativeText(f"{told} {advice}")
        box.setDetailedText(report)
        copy = box.addButton(tr("trouble", "Copy the report"), QMessageBox.ButtonRole.ActionRole)
        copy.clicked.disconnect()  # the box stays open
        copy.clicked.connect(partial(QGuiApplication.clipboard().setText, report))
        box.setDefaultButton(box.addButton(QMessageBox.StandardButton.Close))
    else:
        box.setText(str(error))
    box.open()


def ask_anyway(parent: QWidget, error: PublishedMeanwhile, publish: Callable[[], object]) -> None:
    """Tell that another plan came into force meanwhile, and publish only if that is wanted all the same."""
    box = QMessageBox(parent)
    box.setObjectName("publish_anyway")
    box.setIcon(QMessageBox.Icon.Question)
    box.setText(str(error))
    text = QCoreApplication.translate("trouble", "Publish anyway")
    anyway = box.addButton(text, QMessageBox.ButtonRole.AcceptRole)
    box.setDefaultButton(box.addButton(QMessageBox.StandardButton.Cancel))
    anyway.clicked.connect(lambda: publish())  # a click tells whether it is checked; nobody asks
    box.open()


def report_of(error: BaseException) -> str:
    """Return what somebody needs who mends a bug: versions and the way to it, nothing of the yard but what it says."""
    head = (
        f"yardplan {__version__}",
        f"Python {platform.python_version()}, PySide6 {PySide6.__version__}, {platform.platform()}",
        f"screen: {QGuiApplication.platformName()}, locale: {QLocale().name()}",
    )
    return "\n".join(head) + "\n\n" + "".join(traceback.format_exception(error))


def keep_report(report: str, at: datetime) -> Path | None:
    """Write a report into the folder of the user's data and return where; None where that cannot be.

    Only the newest are kept.
    """
    folder = reports_folder()
    path = folder / f"trouble-{at:%Y%m%d-%H%M%S}.txt"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with path.open("a", encoding="utf-8") as file:  # two within a second share a file
            file.write(report + "\n")
        for old in sorted(folder.glob("trouble-*.txt"))[:-KEPT_REPORTS]:
            old.unlink(missing_ok=True)
    except OSError:
        return None
    return path


def reports_folder() -> Path:
    """Return where reports are kept."""
    return user_data_folder() / "reports"


def watch_fatal() -> tuple[TextIO | None, str]:
    """Let Python write down what it was doing if the whole program breaks down.

    Returns
    -------
    file or None
        To be closed at the end of the program; None where it could not be opened, or somebody else watches already.
    str
        What was written down in a run before that broke down, empty where none did.
    """
    path = reports_folder() / FATAL
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        before = path.read_text(encoding="utf-8", errors="replace") if path.exists() else ""
        if before:
            path.replace(path.with_name("fatal-before.txt"))
        if faulthandler.is_enabled():
            return None, before
        file = path.open("w", encoding="utf-8")
    except OSError:
        return None, ""
    faulthandler.enable(file)
    return file, before


def show_breakdown(parent: QWidget, report: str) -> None:
    """Tell that the run before ended by a breakdown, and where its report is."""
    tr = QCoreApplication.translate
    box = QMessageBox(parent)
    box.setObjectName("breakdown")
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    box.setIcon(QMessageBox.Icon.Information)
    box.setWindowTitle("yardplan")
    box.setText(tr("trouble", "yardplan broke down the last time it ran. All that it had kept is there."))
    box.setInformativeText(
        tr("trouble", "A report is in {folder}. Please look through it and pass it on.").format(folder=reports_folder())
    )
    box.setDetailedText(report)
    box.open()
