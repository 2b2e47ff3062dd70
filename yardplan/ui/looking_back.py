"""Works out reviews for the Review page on a thread of its own, and saves its charts."""

from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Signal
from PySide6.QtWidgets import QFileDialog

from yardplan.domain.errors import CannotWrite, NotThere
from yardplan.domain.review import Review
from yardplan.exchange.review_document import write_table
from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.ui.chart import save_chart
from yardplan.ui.review import ReviewPage
from yardplan.ui.trouble import what_first
from yardplan.usecases.clock import yard_now
from yardplan.usecases.reviewing import review_yard


class LookingBack(QObject):
    """Between the Review page and the yard's past.

    Signals
    -------
    failed(object)
        An exception that the page has no place for.
    """

    failed = Signal(object)

    def __init__(self, database: Database, page: ReviewPage, parent: QObject) -> None:
        super().__init__(parent)
        self._database, self._page = database, page
        self._found: Review | None = None
        self._request = 0
        self.background = Background(self)
        self.background.better.connect(self._part_done)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        page.wanted.connect(self._work_out)
        page.save_wanted.connect(self._save)

    def close(self) -> None:
        """Wait until nothing runs."""
        self.background.close()

    def _work_out(self, days: int) -> None:
        self._page.set_idle(False)
        if self._found is None:
            self._page.show_message(self.tr("Looking back ..."))
        self._request = self.background.run(partial(_reviewed, self._database, days))

    def _part_done(self, request: int, part: object) -> None:
        if request == self._request and isinstance(part, Review):
            self._found = part
            self._page.show_review(part)

    def _done(self, request: int, result: object) -> None:
        if request == self._request and isinstance(result, Review):
            self._found = result
            self._page.set_idle(True)
            self._page.show_review(result)

    def _failed(self, request: int, error: object) -> None:
        if request != self._request:
            return
        self._page.set_idle(True)
        self._found = None
        if isinstance(error, NotThere):
            self._page.show_message(what_first(error))
        else:
            self._page.show_message("")
            self.failed.emit(error)

    def _save(self, name: str, kind: str) -> None:
        if self._found is None:
            return
        folder = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        wanted = str(Path(folder) / f"{name}-{self._found.first_on}.{kind}")
        filters = {
            "png": self.tr("Picture (*.png)"),
            "svg": self.tr("Drawing (*.svg)"),
            "csv": self.tr("Numbers (*.csv)"),
        }
        path, _ = QFileDialog.getSaveFileName(self._page, self.tr("Save the chart"), wanted, filters[kind])
        data = self._page.chart(name).data
        if not path or data is None:
            return
        to = Path(path) if Path(path).suffix else Path(f"{path}.{kind}")
        try:
            if kind == "csv":
                write_table(to, self._found.tables[name])
            else:
                save_chart(to, data, self._page.font())
        except CannotWrite as error:
            self.failed.emit(error)


def _reviewed(database: Database, days: int, tell: Tell) -> Review:
    return review_yard(database, now=yard_now(database), days=days, on_part=tell)
