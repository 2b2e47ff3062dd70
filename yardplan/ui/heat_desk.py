"""Carries out what is asked on the Heat page: what was said by hand, a forecast, the worth of a wash or an outlook."""

from collections.abc import Callable
from datetime import date
from functools import partial
from time import sleep

from PySide6.QtCore import QObject, Signal

from yardplan.domain.errors import InvalidField
from yardplan.domain.verification import Verified
from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.ui.heat import HeatPage
from yardplan.ui.heat_panel import VERIFIED_DAYS
from yardplan.ui.jobs import Week, person, weigh_outlooks, weigh_wash
from yardplan.usecases.clock import yard_now
from yardplan.usecases.overruling import say_overrule, withdraw_overrule
from yardplan.usecases.weather import refresh_forecast


class HeatDesk(QObject):
    """Between the Heat page and the sky.

    Signals
    -------
    change_wanted(object)
        Something is to be changed in the database, after which all is read anew.
    failed(object)
        An exception that the page has no place for.
    """

    change_wanted = Signal(object)
    failed = Signal(object)

    def __init__(self, database: Database, page: HeatPage, parent: QObject) -> None:
        super().__init__(parent)
        self._database, self._page = database, page
        self._week: Week | None = None
        self._saying, self._is_idle = False, True
        self._weighing = 0
        self.background = Background(self)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        page.said.connect(self._say)
        page.taken_back.connect(self._take_back)
        page.forecast_asked.connect(self._ask_forecast)
        page.wash_asked.connect(self._weigh_wash)
        page.verifying_asked.connect(self._weigh_outlooks)

    @property
    def busy(self) -> bool:
        """Whether something is being weighed."""
        return bool(self._weighing)

    def show_week(self, week: Week) -> None:
        """Show the sky of a week that was just read."""
        self._week, self._saying = week, False
        self._page.show_sky(week.outlook, week.sky)

    def took(self, error: Exception) -> bool:
        """Tell whether an error is of what was just said on the page, and show it there."""
        was_said, self._saying = self._saying, False
        if was_said and isinstance(error, InvalidField):
            self._page.panel.show_trouble(str(error))
            return True
        return False

    def set_idle(self, is_idle: bool) -> None:
        """Let be asked what makes sense while nothing else runs."""
        self._is_idle = is_idle
        self._page.set_idle(is_idle and not self._weighing)

    def close(self) -> None:
        """Wait for what runs."""
        self.background.close()

    def _say(self, text: str) -> None:
        self._saying = True
        now = yard_now(self._database)
        self.change_wanted.emit(partial(say_overrule, self._database, text, now=now, by=person()))

    def _take_back(self, text: str) -> None:
        now = yard_now(self._database)
        self.change_wanted.emit(partial(withdraw_overrule, self._database, text, now=now, by=person()))

    def _ask_forecast(self) -> None:
        now = yard_now(self._database)
        self.change_wanted.emit(partial(refresh_forecast, self._database, now=now, sleep=sleep))

    def _weigh_wash(self, on: date) -> None:
        if self._week is not None:
            self._weigh(partial(weigh_wash, self._week.outlook, on))

    def _weigh_outlooks(self) -> None:
        self._weigh(partial(weigh_outlooks, self._database, VERIFIED_DAYS))

    def _weigh(self, work: Callable[[Tell], object]) -> None:
        self._weighing = self.background.run(work)
        self.set_idle(self._is_idle)

    def _done(self, request: int, result: object) -> None:
        if request == self._weighing:
            self._weighing = 0
            if isinstance(result, Verified):
                self._page.show_verified(result)
            elif isinstance(result, tuple):
                self._page.show_washes(result)
            self.set_idle(self._is_idle)

    def _failed(self, request: int, error: object) -> None:
        if request == self._weighing:
            self._weighing = 0
            self.set_idle(self._is_idle)
            self.failed.emit(error)
