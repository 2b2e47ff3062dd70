"""Notices when the database cannot be written any more, and when it can again."""

from collections.abc import Sequence
from functools import partial
from typing import Protocol

from PySide6.QtCore import QElapsedTimer, QObject, QTimer, Signal
from PySide6.QtWidgets import QLabel

from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.usecases.access import write_trouble

LOOK_MS = 15_000


class Page(Protocol):
    """A page on which something can be kept."""

    def set_read_only(self, reason: str) -> None:
        """Let nothing be kept, and say why; an empty reason lets all be again."""


class Access(QObject):
    """Looks at the database time and again; while it cannot be written, pages only show.

    Signals
    -------
    back()
        It can be written again.
    """

    back = Signal()

    def __init__(self, database: Database, pages: Sequence[Page], parent: QObject) -> None:
        super().__init__(parent)
        self._database, self._pages = database, pages
        self.reason = ""
        self.banner = QLabel()
        self.banner.setObjectName("read_only")
        self.banner.setProperty("kind", "banner")
        self.banner.setWordWrap(True)
        self.banner.hide()
        self._age = QElapsedTimer()
        self._age.start()
        self.background = Background(self)
        self.background.done.connect(self._looked)
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_MS)
        self._timer.timeout.connect(self.look)
        self._timer.start()

    def look(self) -> None:
        """Look at the database, unless that is being done."""
        if not self.background.busy:
            self.background.run(partial(_look, self._database))

    def seen(self) -> None:
        """Note that what is shown was just read."""
        self._age.restart()

    def close(self) -> None:
        """Look no more."""
        self._timer.stop()
        self.background.close()

    def _looked(self, _request: int, reason: object) -> None:
        before, self.reason = self.reason, str(reason)
        self._tell()
        if before != self.reason:
            told = self.tr("Nothing can be kept: {why}.").format(why=self.reason) if self.reason else ""
            for page in self._pages:
                page.set_read_only(told)
            if not self.reason:
                self.back.emit()

    def _tell(self) -> None:
        minutes = self._age.elapsed() // 60_000
        told = self.tr("{h} h {m} min").format(h=minutes // 60, m=minutes % 60)
        age = told if minutes >= 60 else self.tr("{m} min").format(m=minutes)
        self.banner.setText(
            self.tr(
                "Only looking: the database cannot be written, {why}. What is shown was read {age} ago. Dates can be "
                "checked; nothing can be kept, ordered or changed. This ends by itself when the database is back."
            ).format(why=self.reason, age=age)
        )
        self.banner.setVisible(bool(self.reason))


def _look(database: Database, _tell: Tell) -> str:
    return write_trouble(database)
