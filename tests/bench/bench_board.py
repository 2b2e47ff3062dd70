"""How quickly the board moves with about a thousand cycles: ``python -m tests.bench.bench_board``.

Frames are measured in the processor time of this process, so that a busy machine does not count. At 60 frames a second
a frame has 16.7 ms. Prints figures, asserts nothing.
"""
# ruff: noqa: T201 - figures for a person to read

from statistics import median
from time import process_time

from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication, QScrollBar

from tests.ui.weeks import big_week
from yardplan.ui.board import Board
from yardplan.ui.look import Look
from yardplan.ui.palette import LIGHT
from yardplan.ui.scene import BoardScene
from yardplan.ui.words import Words

STEP_PX, N_FRAMES = 12, 60


def pan(app: QApplication, bar: QScrollBar) -> str:
    """Move a bar step by step and tell what a frame takes."""
    frames_ms = []
    for _ in range(N_FRAMES):
        started = process_time()
        bar.setValue(bar.value() + STEP_PX)
        app.processEvents()
        frames_ms.append(1000 * (process_time() - started))
    return f"median {median(frames_ms):5.1f} ms, slowest {max(frames_ms):5.1f} ms"


def main() -> None:
    """Pan over a day, three days and a week across."""
    app = QApplication([])
    outlook, plan = big_week(10)
    started = process_time()
    board = Board()
    board.resize(1900, 1000)
    board.show_board(BoardScene(Look(LIGHT, QFont()), outlook, plan, Words(outlook.yard, plan), frozenset()))
    board.show()
    app.processEvents()
    print(f"{len(plan.cycles)} cycles built and drawn: {1000 * (process_time() - started):.0f} ms")
    view = board.view
    for days in (1, 3, 7):
        view.verticalScrollBar().setValue(0)
        view.show_span(0, 288 * days)
        app.processEvents()
        if days < 7:
            print(f"{days} day(s) in view, pan across: {pan(app, view.horizontalScrollBar())}")
        print(f"{days} day(s) in view, pan down:   {pan(app, view.verticalScrollBar())}")
        started = process_time()
        view.viewport().repaint()
        print(f"{days} day(s) in view, all anew:   {1000 * (process_time() - started):.1f} ms")


if __name__ == "__main__":
    main()
