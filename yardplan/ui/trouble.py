"""What is told when something is missing or went wrong."""

import traceback

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import QMessageBox, QWidget

from yardplan.domain.errors import ExpectedError, NotThere


def what_first(error: NotThere) -> str:
    """Return what to do where there is no yard, or no weather, yet."""
    tr = QCoreApplication.translate
    if error.thing == "weather":
        return tr(
            "trouble",
            "The yard has no weather yet.\n\nBring in a typical-year file on the command line:\n"
            "yardplan import weather FILE\n\nthen press F5.",
        )
    return tr(
        "trouble",
        "There is no yard in this database yet.\n\nTo look around in an invented yard, run on the command line:\n"
        "yardplan demo\n\nTo bring in your own:\nyardplan import yard FOLDER\n\nthen press F5.",
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
