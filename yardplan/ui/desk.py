"""Carries out what is pressed on the Today page, on a thread of its own: a search that runs is not disturbed."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import partial

from PySide6.QtCore import QObject, Signal

from yardplan.domain.errors import ExpectedError, PublishedMeanwhile
from yardplan.domain.events import Event
from yardplan.domain.live import LiveCook
from yardplan.exchange.entries import Entry
from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.ui.dates import clock_text, decimal_text
from yardplan.ui.day import event_words
from yardplan.ui.jobs import (
    Kept,
    Today,
    Week,
    estimate,
    keep_entry,
    keep_sun,
    publish_plan,
    read_today,
    take_back,
)
from yardplan.ui.today import TodayPage
from yardplan.ui.trouble import ask_anyway


class Desk(QObject):
    """Between the Today page and the log.

    Signals
    -------
    failed(object)
        An exception that the page has no place for.
    published()
        Another plan came into force.
    """

    failed = Signal(object)
    published = Signal()

    def __init__(self, database: Database, page: TodayPage, parent: QObject) -> None:
        super().__init__(parent)
        self._database, self._page = database, page
        self._week: Week | None = None
        self._asked: dict[int, Callable[[object], None]] = {}
        self._number = 0
        self.background = Background(self)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        page.logged.connect(self._keep)
        page.taken_back.connect(self._take_back)
        page.sun_read.connect(self._keep_sun)
        page.publish_wanted.connect(self._publish)
        page.estimate_wanted.connect(self._estimate)

    def show_week(self, week: Week) -> None:
        """Show the day of a week that was just read."""
        self._week = week
        self._page.show_day(week, week.today)

    def read_again(self) -> None:
        """Look at the log and the clock again, unless something is being kept anyway."""
        if self._week is not None and not self._asked:
            self._ask(partial(read_today, self._database), self._show)

    def close(self) -> None:
        """Wait until all is kept."""
        self.background.close()

    def _ask(self, work: Callable[[Tell], object], then: Callable[[object], None]) -> None:
        self._asked[self.background.run(work)] = then

    def _done(self, request: int, result: object) -> None:
        then = self._asked.pop(request, None)
        self._page.set_idle(not self._asked)
        if then is not None:
            then(result)

    def _failed(self, request: int, error: object) -> None:
        self._asked.pop(request, None)
        self._page.set_idle(not self._asked)
        if isinstance(error, PublishedMeanwhile):
            ask_anyway(self._page, error, self._publish_anyway)
        elif isinstance(error, ExpectedError):
            self._page.show_logged((), str(error))
        else:
            self.failed.emit(error)

    # The log

    def _keep(self, entry: Entry, at: datetime | None, by: str) -> None:
        self._page.set_idle(False)
        self._ask(partial(keep_entry, self._database, entry, at, by), self._show_kept)

    def _take_back(self, events: tuple[Event, ...], by: str) -> None:
        self._page.set_idle(False)
        self._ask(partial(take_back, self._database, events, by), self._show_kept)

    def _show_kept(self, kept: object) -> None:
        if not isinstance(kept, Kept) or self._week is None:
            return
        self._show(kept.today)
        if not kept.events:
            self._page.show_logged((), kept.trouble or self.tr("Taken back."))
            return
        event = kept.events[0]
        told = self.tr("Logged {at}: {what}").format(
            at=clock_text(event.at.astimezone(self._week.outlook.grid.zone)), what=event_words(event)
        )
        if kept.differs:
            told += self.tr("; differs from the plan: {what}").format(what=", ".join(kept.differs))
        self._page.show_logged(kept.events, told)

    def _show(self, today: object) -> None:
        if isinstance(today, Today) and self._week is not None:
            self._week = replace(self._week, today=today)
            self._page.show_day(self._week, today)

    # The sun, a plan, a stopped cook

    def _keep_sun(self, dni_w_m2: float, by: str) -> None:
        self._page.set_idle(False)
        self._ask(partial(keep_sun, self._database, dni_w_m2, by), self._show_sun)

    def _show_sun(self, dni_w_m2: object) -> None:
        told = self.tr("Kept: {dni} W/m² of direct light. Read again (F5) for the outlook with it.")
        self._page.show_logged((), told.format(dni=decimal_text(float(str(dni_w_m2)), 0)))

    def _publish(self, number: int) -> None:
        self._page.set_idle(False)
        self._number = number
        self._ask(partial(publish_plan, self._database, number, anyway=False), self._show_published)

    def _show_published(self, today: object) -> None:
        self._show(today)
        self._page.ways.clear()
        self.published.emit()

    def _publish_anyway(self) -> None:
        self._page.set_idle(False)
        self._ask(partial(publish_plan, self._database, self._number, anyway=True), self._show_published)

    def _estimate(self, chamber_id: str, air_c: float) -> None:
        made = self._week.today.state.chambers[chamber_id].cycle if self._week else None
        if made is not None:
            self._page.set_idle(False)
            self._ask(partial(estimate, self._database, made, air_c), self._show_estimate)

    def _show_estimate(self, cook: object) -> None:
        if isinstance(cook, LiveCook):
            self._page.decide.show_estimate(cook)
