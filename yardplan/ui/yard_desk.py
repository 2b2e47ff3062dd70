"""Carries out what is asked on the Yard page, on a thread of its own: a search that runs is not disturbed."""

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QMessageBox

from yardplan.domain.equipment import Site, Unit
from yardplan.domain.errors import BadFile, ChangedElsewhere, ExpectedError, RowProblem
from yardplan.domain.orders import Order
from yardplan.domain.slots import local_midnight, zone
from yardplan.domain.yard import Yard
from yardplan.exchange.yard_draft import YardDraft, read_draft
from yardplan.forecast.each_mirror import MirrorShares, shares_at, shares_of_day
from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.ui.field_panel import When
from yardplan.ui.jobs import person
from yardplan.ui.yard import YardPage
from yardplan.usecases.clock import yard_now
from yardplan.usecases.exports import export_yard
from yardplan.usecases.yard_editing import OpenYard, folder_draft, old_draft, open_yard, save_yard, yard_version

JUDGE_MS = 120
"""After an edit, so that typing on is not held up."""
Judged = tuple[YardDraft, Yard | None, tuple[RowProblem, ...]]


class YardDesk(QObject):
    """Between the Yard page and the stored yard.

    Signals
    -------
    failed(object)
        An exception that the page has no place for.
    saved()
        There is another version of the yard.
    leaving()
        A person who wanted to close the window has said what is to become of the edits.
    """

    failed = Signal(object)
    saved = Signal()
    leaving = Signal()

    def __init__(self, database: Database, page: YardPage, parent: QObject) -> None:
        super().__init__(parent)
        self._database, self._page = database, page
        self._asked: dict[int, Callable[[object], None]] = {}
        self._saving = self._weighing = self._looking = 0
        self._leaves = False
        self._to_judge: YardDraft | None = None
        self._judge = QTimer(self, singleShot=True, interval=JUDGE_MS)
        self._judge.timeout.connect(self._judge_now)
        self.background = Background(self)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        page.shown.connect(self.read_again)
        page.judge_wanted.connect(self._judge_soon)
        page.save_wanted.connect(self._save)
        page.shares_wanted.connect(self._weigh)
        page.version_wanted.connect(self._bring_back)
        page.folder_wanted.connect(self._bring_in)
        page.export_wanted.connect(self._export)

    def read_again(self) -> None:
        """Read the yard if it is not known yet, or no longer as it was; only while the page is looked at."""
        if not self._page.isVisible() or self._saving:
            return
        if self._page.found is None:
            self._looking = self._ask(partial(_open, self._database), self._show)
        else:
            self._looking = self._ask(partial(_open_newer, self._database, self._page.found.version), self._show)

    def may_close(self) -> bool:
        """Tell whether nothing would be lost; else ask whether to save, and ask the window to close again."""
        if self._leaves or not self._page.is_edited:
            return True
        box = QMessageBox(self._page)
        box.setObjectName("save_yard")
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.setIcon(QMessageBox.Icon.Question)
        box.setText(self.tr("Edits of the yard are not saved yet."))
        save = box.addButton(QMessageBox.StandardButton.Save)
        save.setEnabled(self._page.save_action.isEnabled())
        drop = box.addButton(self.tr("Drop them"), QMessageBox.ButtonRole.DestructiveRole)
        box.setDefaultButton(box.addButton(QMessageBox.StandardButton.Cancel))
        save.clicked.connect(self._save_and_leave)
        drop.clicked.connect(self._leave)
        box.open()
        return False

    def _save_and_leave(self) -> None:
        self.saved.connect(self._leave, Qt.ConnectionType.SingleShotConnection)
        self._page.save()

    def _leave(self) -> None:
        self._leaves = True
        self.leaving.emit()

    def close(self) -> None:
        """Wait until all is kept."""
        self._judge.stop()
        self.background.close()

    def _ask(self, work: Callable[[Tell], object], then: Callable[[object], None]) -> int:
        number = self.background.run(work)
        self._asked[number] = then
        return number

    def _done(self, request: int, result: object) -> None:
        then = self._asked.pop(request, None)
        if request == self._saving:
            self._end_saving()
        if then is not None and (then != self._show_shares or request == self._weighing):
            then(result)

    def _failed(self, request: int, error: object) -> None:
        self._asked.pop(request, None)
        was_saving = request == self._saving
        if was_saving:
            self._end_saving()
        if isinstance(error, ChangedElsewhere):
            self._ask(partial(_open, self._database), self._show)
        elif was_saving and isinstance(error, BadFile):
            self._page.show_judged(self._page.draft, None, error.problems)
        elif was_saving and isinstance(error, ExpectedError):
            self._page.tell(self.tr("Not saved, your edits are still here: {why}").format(why=error))
        elif request == self._looking and isinstance(error, ExpectedError):  # in the page, not a box every half minute
            self._page.show_message(self.tr("The yard could not be read."))
            self._page.tell(str(error))
        else:
            self.failed.emit(error)

    def _end_saving(self) -> None:
        self._saving = 0
        self._page.set_busy(False)

    def _show(self, found: object) -> None:
        if isinstance(found, OpenYard):
            self._page.show_yard(found)

    # The draft

    def _judge_soon(self, draft: YardDraft) -> None:
        self._to_judge = draft
        self._judge.start()

    def _judge_now(self) -> None:
        if self._to_judge is not None and self._page.found is not None:
            self._ask(partial(_judged, self._to_judge, self._page.found.orders), self._show_judged)
            self._to_judge = None

    def _show_judged(self, judged: object) -> None:
        if isinstance(judged, tuple):
            self._page.show_judged(*judged)

    def _save(self, draft: YardDraft, version: int) -> None:
        self._page.set_busy(True)
        self._saving = self._ask(partial(_save, self._database, draft, version), self._show_saved)

    def _show_saved(self, found: object) -> None:
        if isinstance(found, OpenYard):
            self._page.show_saved(found)
            self.saved.emit()

    # Versions, folders, mirrors

    def _bring_back(self, number: int) -> None:
        told = self.tr("version {n} brought back").format(n=number)
        self._ask(lambda _tell: old_draft(self._database, number), partial(self._put, told))

    def _bring_in(self, folder: str) -> None:
        told = self.tr("brought in from {folder}").format(folder=Path(folder).name)
        only = self.tr("The yard of the folder is here as an edit; its orders, log and weather are not taken.")
        self._ask(lambda _tell: folder_draft(Path(folder)), partial(self._put, told, note=only))

    def _put(self, told: str, draft: object, *, note: str = "") -> None:
        if isinstance(draft, YardDraft):
            self._page.put(draft, told)
            self._page.tell(note)

    def _export(self, folder: str) -> None:
        self._ask(lambda _tell: export_yard(self._database, Path(folder)), self._tell_written)

    def _tell_written(self, told: object) -> None:
        self._page.tell(self.tr("Written: {what}").format(what=told))

    def _weigh(self, unit: Unit, when: When) -> None:
        if self._page.site is not None:
            self._weighing = self._ask(partial(_shares, self._database, self._page.site, unit, when), self._show_shares)

    def _show_shares(self, shares: object) -> None:
        self._page.show_shares(shares if isinstance(shares, MirrorShares) else None)


def _open(database: Database, _tell: Tell) -> OpenYard:
    return open_yard(database)


def _open_newer(database: Database, version: int, _tell: Tell) -> OpenYard | None:
    return open_yard(database) if yard_version(database) != version else None


def _judged(draft: YardDraft, orders: tuple[Order, ...], _tell: Tell) -> Judged:
    return draft, *read_draft(draft, orders)


def _save(database: Database, draft: YardDraft, version: int, _tell: Tell) -> OpenYard:
    return save_yard(database, draft, seen_version=version, by=person(), at=yard_now(database))


def _shares(database: Database, site: Site, unit: Unit, when: When, _tell: Tell) -> MirrorShares | None:
    now = yard_now(database)
    today = now.astimezone(zone(site.tz)).date()
    if when is When.NOW:
        return shares_at(site, unit, now)
    if when is When.NOON:
        return shares_at(site, unit, _noon(site, now))
    return shares_of_day(site, unit, today)


def _noon(site: Site, now: datetime) -> datetime:
    """Return noon by the sun to a few minutes: twelve o'clock of the zone's meridian, moved by the longitude."""
    midnight = local_midnight(now.astimezone(zone(site.tz)).date(), site.tz)
    mean_noon = midnight.replace(hour=12, minute=0) - timedelta(minutes=4 * site.longitude_deg)
    return mean_noon if mean_noon >= midnight else mean_noon + timedelta(days=1)
