"""How a person ends a search from another thread."""

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Lock
from typing import Protocol


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
