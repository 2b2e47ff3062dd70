"""Looks for ways to go on from now, on a thread of its own, and shows them on the Today page."""

from functools import partial

from PySide6.QtCore import QObject, Signal

from yardplan.domain.errors import ExpectedError
from yardplan.solve.run import Stop
from yardplan.store.engine import Database
from yardplan.ui.background import Background
from yardplan.ui.jobs import find_ways
from yardplan.ui.ways import WaysPanel
from yardplan.usecases.replanning import Replanned, Way


class WaysDesk(QObject):
    """Between the panel of ways and the search for them.

    Signals
    -------
    failed(object)
        The exception that ended a search; the panel has told it in short.
    """

    failed = Signal(object)

    def __init__(self, database: Database, panel: WaysPanel, parent: QObject) -> None:
        super().__init__(parent)
        self._database, self._panel = database, panel
        self._request, self._is_idle = 0, True
        self.background = Background(self)
        self.background.better.connect(self._told)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        panel.wanted.connect(self._find)
        panel.stop_wanted.connect(self.background.stop)

    def set_idle(self, is_idle: bool) -> None:
        """Let be searched while no other search runs."""
        self._is_idle = is_idle

    def close(self) -> None:
        """Stop what runs."""
        self.background.close()

    def _find(self, seconds: int) -> None:
        if not self._is_idle:
            self._panel.show_trouble(self.tr("Wait until the search that runs is over."))
            return
        stop = Stop()
        self._request = self.background.run(partial(find_ways, self._database, float(seconds), stop), stop)

    def _told(self, request: int, news: object) -> None:
        if request == self._request and isinstance(news, Way):
            self._panel.show_way(news)

    def _done(self, request: int, result: object) -> None:
        if request == self._request and isinstance(result, Replanned):
            self._panel.show_ways(result)

    def _failed(self, request: int, error: object) -> None:
        if request == self._request:
            self._panel.show_trouble(str(error) if isinstance(error, ExpectedError) else "")
            self.failed.emit(error)
