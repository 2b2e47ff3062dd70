"""Start the window."""

import faulthandler
import gc
import sys
from types import TracebackType

from PySide6.QtWidgets import QApplication, QMessageBox
from shiboken6 import delete

from yardplan.domain.errors import ExpectedError
from yardplan.store.engine import Database, open_database
from yardplan.ui.icons import program_icon
from yardplan.ui.language import choose_language
from yardplan.ui.settings import load_settings
from yardplan.ui.trouble import show_breakdown, watch_fatal
from yardplan.ui.units import choose_units
from yardplan.ui.window import MADE_ANEW, MainWindow

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
    watch, broke_down = watch_fatal()
    try:
        while _shown(app, database, broke_down) == MADE_ANEW:
            broke_down = ""
        return 0
    finally:
        database.close()
        if watch is not None:
            faulthandler.disable()
            watch.close()


def _shown(app: QApplication, database: Database, broke_down: str) -> int:
    """Show the window in the seat's language and units until it is closed, or has to be made anew."""
    settings = load_settings()
    choose_language(settings.language)
    choose_units(settings.units)
    window = MainWindow(database, settings)
    app.setQuitOnLastWindowClosed(True)

    def tell_bug(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        sys.__excepthook__(kind, error, trace)
        window.tell_error(error)

    before, sys.excepthook = sys.excepthook, tell_bug
    try:
        window.show()
        if broke_down:
            show_breakdown(window, broke_down)
        return app.exec()
    finally:
        sys.excepthook = before
        delete(window)  # now and here: another one may follow it
