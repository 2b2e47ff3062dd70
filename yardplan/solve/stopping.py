"""How a person ends a search from another thread."""

from collections.abc import Collection, Iterator
from concurrent.futures import Future, wait
from contextlib import contextmanager
from threading import Event, Lock
from typing import Any, Protocol


class Stoppable(Protocol):
    """What can be told to end early: a CP-SAT solver."""

    def stop_search(self) -> None:
        """End as soon as possible."""


class Stop:
    """A request to end a search; it may be made at any time and more than once, from any thread."""

    def __init__(self) -> None:
        self._requested = Event()
        self._running: list[Stoppable] = []
        self._lock = Lock()

    @property
    def is_requested(self) -> bool:
        """Whether a stop was asked for."""
        return self._requested.is_set()

    def request(self) -> None:
        """Ask the search to end; it returns its best checked plan."""
        self._requested.set()
        with self._lock:
            for solver in self._running:
                solver.stop_search()

    def wait(self, running: Collection[Future[Any]]) -> None:
        """Wait for work in other threads, and say a request again and again: one made before a solver began is lost."""
        while wait(running, timeout=0.1).not_done:
            if self.is_requested:
                self.request()

    @contextmanager
    def watching(self, solver: Stoppable) -> Iterator[None]:
        """Tell a solver of requests as long as it runs."""
        with self._lock:
            self._running.append(solver)
        try:
            yield
        finally:
            with self._lock:
                self._running.remove(solver)
