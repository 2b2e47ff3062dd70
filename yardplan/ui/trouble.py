"""What is told when something is missing or went wrong."""

import traceback

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import QMessageBox, QWidget

from yardplan.domain.errors import ExpectedError, NotThere


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
    """Show what went wrong: an expected error by its own words, a bug with details to report."""
    tr = QCoreApplication.translate
    box = QMessageBox(parent)
    box.setObjectName("error")
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    box.setIcon(QMessageBox.Icon.Warning)
    box.setWindowTitle("yardplan")
    if isinstance(error, ExpectedError):
        box.setText(str(error))
    else:
        box.setText(tr("trouble", "Something went wrong inside yardplan; the plan that was there is unchanged."))
        box.setInformativeText(tr("trouble", "Please report it with the details."))
        box.setDetailedText("".join(traceback.format_exception(error)))
    box.open()
