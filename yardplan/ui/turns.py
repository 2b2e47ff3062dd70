"""Steps that the window takes one at a time, so that it answers to people in between."""

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer

TURN_MS = 10
"""Between two steps; at 0 nothing else would come in between."""


class Turns(QObject):
    """Takes steps in their order, each in a turn of its own; the first at once."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._steps: list[Callable[[], object]] = []
        self._turn = QTimer(self, singleShot=True, interval=TURN_MS)
        self._turn.timeout.connect(self._next)

    @property
    def busy(self) -> bool:
        """Whether there are steps to come."""
        return bool(self._steps)

    def add(self, *steps: Callable[[], object]) -> None:
        """Take steps, after those that are to come already."""
        was_busy = self._turn.isActive()
        self._steps += steps
        if not was_busy:
            self._next()

    def clear(self) -> None:
        """Give up what is to come."""
        self._steps = []

    def _next(self) -> None:
        if self._steps:
            self._turn.start()
            self._steps.pop(0)()
