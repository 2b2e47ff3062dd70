"""Work beside the window: the only file that starts threads.

While a job runs, Python's garbage is collected from the window's thread alone. Left to itself the collector runs in
whichever thread allocates, and would there destroy widgets and scenes that only the window's thread may touch.
"""

import gc
from collections.abc import Callable
from typing import ClassVar, Protocol

from PySide6.QtCore import QObject, QThreadPool, QTimer, Signal, SignalInstance

STOP_AGAIN_MS = 200
SWEEP_MS, SWEEPS_FOR_ALL = 1000, 30
"""Young garbage goes every second, all of it twice a minute: a full collection takes longer."""

Tell = Callable[[object], None]


class Stoppable(Protocol):
    """Something that a running job looks at to see whether it should end."""

    def request(self) -> None:
        """Ask the job to end."""


class Background(QObject):
    """Runs one job at a time on a thread and reports back in the window's thread; several may stand side by side.

    Slots must be bound methods of QObjects: a lambda would be called in no thread's event loop and lose the message.

    Signals
    -------
    better(int, object)
        What the job told on its way, with the number of its request.
    done(int, object)
        What the job returned.
    failed(int, object)
        The exception that ended the job.
    """

    _all_running: ClassVar[set[tuple[int, int]]] = set()

    better = Signal(int, object)
    done = Signal(int, object)
    failed = Signal(int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._request = 0
        self._stops: dict[int, Stoppable] = {}
        self._asked: set[int] = set()
        self._sweeps = 0
        self._sweep = QTimer(self)
        self._sweep.setInterval(SWEEP_MS)
        self._sweep.timeout.connect(self._collect)
        self._again = QTimer(self)
        self._again.setInterval(STOP_AGAIN_MS)
        self._again.timeout.connect(self._ask)
        self.done.connect(self._ended)
        self.failed.connect(self._ended)

    @property
    def busy(self) -> bool:
        """Whether a job is running or waiting."""
        return self._pool.activeThreadCount() > 0

    def run(self, work: Callable[[Tell], object], stop: Stoppable | None = None) -> int:
        """Start `work` and return the number of its request; a job that still runs is asked to stop first."""
        self.stop()
        self._request += 1
        self._all_running.add((id(self), self._request))
        gc.disable()
        self._sweep.start()
        if stop is not None:
            self._stops[self._request] = stop
        self._pool.start(_Job(self._request, work, self.better, self.done, self.failed).run)
        return self._request

    def stop(self) -> None:
        """Ask what runs to stop, again and again until it has: a search that is just starting misses the first."""
        self._asked |= self._stops.keys()
        if self._asked:
            self._ask()
            self._again.start()

    def close(self) -> None:
        """Stop and wait until no thread is left."""
        self.stop()
        while not self._pool.waitForDone(STOP_AGAIN_MS):
            self._ask()
        self._again.stop()
        self._all_running.difference_update({key for key in self._all_running if key[0] == id(self)})
        self._let_collect()

    def _collect(self) -> None:
        self._sweeps += 1
        gc.collect(2 if self._sweeps % SWEEPS_FOR_ALL == 0 else 1)

    def _let_collect(self) -> None:
        if not any(owner == id(self) for owner, _ in self._all_running):
            self._sweep.stop()
        if not self._all_running:
            gc.enable()

    def _ask(self) -> None:
        for request in self._asked:
            self._stops[request].request()

    def _ended(self, request: int) -> None:
        self._all_running.discard((id(self), request))
        self._let_collect()
        self._stops.pop(request, None)
        self._asked.discard(request)
        if not self._asked:
            self._again.stop()


class _Job:
    def __init__(
        self,
        request: int,
        work: Callable[[Tell], object],
        better: SignalInstance,
        done: SignalInstance,
        failed: SignalInstance,
    ) -> None:
        self._request, self._work = request, work
        self._better, self._done, self._failed = better, done, failed

    def run(self) -> None:
        try:
            result = self._work(self._tell)
        except Exception as error:  # noqa: BLE001 - whatever ends a job must reach the window, not die with its thread
            self._failed.emit(self._request, error)
        else:
            self._done.emit(self._request, result)

    def _tell(self, news: object) -> None:
        self._better.emit(self._request, news)
