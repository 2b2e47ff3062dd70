"""Start the window."""

import gc
import sys
from types import TracebackType

from PySide6.QtWidgets import QApplication, QMessageBox

from yardplan.domain.errors import ExpectedError
from yardplan.store.engine import open_database
from yardplan.ui.icons import program_icon
from yardplan.ui.settings import load_settings
from yardplan.ui.window import MainWindow

COULD_NOT_OPEN = 2


def run_window(database_url: str) -> int:
    """Open the window on a database and return the exit status when it is closed."""
    app = QApplication.instance()
    if not isinstance(app, QApplication):
        app = QApplication(sys.argv[:1])
    # The libraries stay for good: without this each full collection walks them, which holds the window for 70 ms.
    gc.freeze()
    app.setApplicationName("yardplan")
    app.setStyle("Fusion")
    app.setWindowIcon(program_icon())
    try:
        database = open_database(database_url)
    except ExpectedError as error:
        QMessageBox.critical(None, "yardplan", str(error))
        return COULD_NOT_OPEN
    window = MainWindow(database, load_settings())

    def tell_bug(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        sys.__excepthook__(kind, error, trace)
        window.tell_error(error)

    before, sys.excepthook = sys.excepthook, tell_bug
    try:
        window.show()
        return app.exec()
    finally:
        sys.excepthook = before
        database.close()
