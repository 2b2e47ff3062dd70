"""Works out months ahead for the Season page on a thread of its own, and saves them."""

from datetime import date
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Signal
from PySide6.QtWidgets import QFileDialog

from yardplan.domain.errors import CannotWrite, ExpectedError, NotThere
from yardplan.domain.season import Season
from yardplan.domain.yard import Yard
from yardplan.exchange.rows import write_whole
from yardplan.exchange.season_document import season_csv, season_document
from yardplan.solve.run import Stop
from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.ui.chart import save_chart
from yardplan.ui.dates import month_text
from yardplan.ui.season import SeasonPage
from yardplan.ui.trouble import what_first
from yardplan.usecases.clock import yard_now
from yardplan.usecases.season import season


class _Stopped(Exception):
    pass


class LookingAhead(QObject):
    """Between the Season page and the yard's months ahead.

    Signals
    -------
    failed(object)
        An exception that the page has no place for.
    """

    failed = Signal(object)

    def __init__(self, database: Database, page: SeasonPage, parent: QObject) -> None:
        super().__init__(parent)
        self._database, self._page = database, page
        self._found: Season | None = None
        self._product_id = ""
        self.background = Background(self)
        self.background.better.connect(self._tell)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        page.wanted.connect(self._work_out)
        page.stop_wanted.connect(self.background.stop)
        page.save_wanted.connect(self._save)

    def show_yard(self, yard: Yard) -> None:
        """Offer a yard's products."""
        self._page.show_yard(yard)

    def close(self) -> None:
        """Stop, and wait until nothing runs."""
        self.background.close()

    def _work_out(self, product_id: str, n_months: int) -> None:
        self._product_id = product_id
        self._page.set_working(True)
        self._page.show_message(self.tr("Looking at typical months ..."))
        stop = Stop()
        self.background.run(partial(_months, self._database, product_id, n_months, stop), stop)

    def _tell(self, _request: int, first_on: object) -> None:
        if isinstance(first_on, date):
            self._page.show_message(self.tr("Filling {month} ...").format(month=month_text(first_on)))

    def _done(self, _request: int, found: object) -> None:
        self._page.set_working(False)
        if isinstance(found, Season):
            self._found = found
            self._page.show_season(found, self._product_id)

    def _failed(self, _request: int, error: object) -> None:
        self._page.set_working(False)
        if isinstance(error, _Stopped):
            self._page.show_message(self.tr("Stopped; what was shown before is still there."))
        elif isinstance(error, NotThere) and error.thing in ("yard", "weather"):
            self._page.show_message(what_first(error))
        elif isinstance(error, ExpectedError):
            self._page.show_message(str(error))
        else:
            self._page.show_message("")
            self.failed.emit(error)

    def _save(self, kind: str) -> None:
        data = self._page.chart.data
        if self._found is None or data is None:
            return
        folder = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        filters = {
            "png": self.tr("Picture (*.png)"),
            "svg": self.tr("Drawing (*.svg)"),
            "csv": self.tr("Numbers (*.csv)"),
        }
        wanted = str(Path(folder) / f"season.{kind}")
        path, _ = QFileDialog.getSaveFileName(self._page, self.tr("Save months ahead"), wanted, filters[kind])
        if not path:
            return
        to = Path(path) if Path(path).suffix else Path(f"{path}.{kind}")
        try:
            if kind == "csv":
                document = season_document(self._found, generated_at=yard_now(self._database))
                write_whole(to, season_csv(document))
            else:
                save_chart(to, data, self._page.font())
        except CannotWrite as error:
            self._page.show_message(str(error))
        else:
            self._page.show_message(self.tr("Saved: {file}").format(file=to.name))


def _months(database: Database, product_id: str, n_months: int, stop: Stop, tell: Tell) -> Season:
    def on_month(first_on: date) -> None:
        if stop.is_requested:
            raise _Stopped
        tell(first_on)

    products = (product_id,) if product_id else ()
    return season(database, now=yard_now(database), n_months=n_months, product_ids=products, on_month=on_month)
