"""How quickly a dragged cycle is judged, and how long the window stands still; run on demand.

    python -m tests.bench.bench_edit [--units 6 20] [--moves 40]
    xvfb-run -a -s "-screen 0 1920x1080x24" python -m tests.bench.bench_edit --window

First: random moves over invented weeks: the trial while dragging, and the whole check at the drop. With `--window`:
the real window on the demo yard: from the pointer's move to the words beside it, and the longest gap of the event loop
while dragging, editing, undoing and reading all anew. Nothing is asserted.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import gc
import os
from collections.abc import Callable
from pathlib import Path
from random import Random
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter

from tests.bench.weeks import week
from yardplan.domain.edits import Move
from yardplan.solve.edit import Editor
from yardplan.solve.run import Limits, Stop, solve


def spread(found_s: list[float]) -> str:
    """Return median, ninth decile and most of some times, in ms."""
    rows = sorted(1000 * one for one in found_s)
    return f"median {median(rows):4.0f} ms, 9 of 10 within {rows[len(rows) * 9 // 10]:4.0f} ms, most {rows[-1]:4.0f} ms"


def time_moves(n_units: int, n_moves: int) -> None:
    """Try random moves on a week and tell how long each takes."""
    problem, random = week(0, n_units), Random(0)
    plan = solve(problem, Limits(seconds=0), Stop(), lambda progress: None).plan
    editor = Editor(problem, plan)
    chambers = [chamber.id for chamber in problem.yard.chambers]
    tried_s, checked_s, done = [], [], 0
    for _ in range(n_moves):
        row = random.choice(plan.cycles)
        chamber_id = row.chamber_id if random.random() < 0.5 else random.choice(chambers)
        edit = Move(row.id, chamber_id, row.charge_slot + random.randint(-40, 120))
        began = perf_counter()
        found = editor.tried(edit)
        tried_s.append(perf_counter() - began)
        done += found.is_done
        if found.is_done:
            began = perf_counter()
            editor.checked(edit)
            checked_s.append(perf_counter() - began)
    print(f"{n_units} units, {len(plan.cycles)} cycles, {done} of {n_moves} moves can be made, load {load()}")
    print(f"  while dragging: {spread(tried_s)}")
    if checked_s:
        print(f"  at the drop:    {spread(checked_s)}")


def load() -> str:
    """Return the load of the last minute."""
    return f"{os.getloadavg()[0]:.1f}"


def time_window(folder: Path, n_moves: int) -> None:
    """Drag, edit, undo and read anew in the real window."""
    from PySide6.QtCore import QEventLoop, QPoint, QPointF, Qt, QTimer
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QApplication

    from yardplan.store.engine import open_database
    from yardplan.ui.settings import SeatSettings
    from yardplan.ui.window import MainWindow
    from yardplan.usecases.clock import yard_now
    from yardplan.usecases.demo import make_demo
    from yardplan.usecases.outlook import make_outlook
    from yardplan.usecases.planning import make_plan

    database = open_database(make_demo(folder / "demo.sqlite"))
    outlook = make_outlook(database, now=yard_now(database))
    make_plan(database, outlook, Limits(seconds=0), Stop(), lambda progress: None, made_by="bench")
    app = QApplication([])
    gc.freeze()  # as the program does when it starts
    window = MainWindow(database, SeatSettings())
    window.resize(1900, 1000)
    window.show()
    gaps, last = [0.0], [perf_counter()]

    def tick() -> None:
        now = perf_counter()
        gaps.append(now - last[0])
        last[0] = now

    timer = QTimer(interval=2)
    timer.timeout.connect(tick)
    timer.start()

    def wait(ready: Callable[[], bool], limit_s: float = 60) -> None:
        loop, look, began = QEventLoop(), QTimer(interval=1), perf_counter()
        look.timeout.connect(lambda: loop.quit() if ready() or perf_counter() - began > limit_s else None)
        look.start()
        loop.exec()

    def idle() -> None:
        wait(lambda: not (window._reading or window._turns.busy or window.editing._asked or window.editing._trying))
        wait(lambda: False, 0.4)

    def tell(what: str) -> None:
        idle()
        print(f"  longest gap while {what}: {1000 * max(gaps):4.0f} ms, load {load()}")
        gaps[:] = [0.0]

    wait(lambda: window._week is not None)
    tell("reading and showing it all for the first time")
    view, plan, random = window.week.board.view, window.editing.plan, Random(0)
    assert plan is not None  # it was just made

    def place(chamber_id: str, slot: float) -> QPoint:
        board = view.board
        assert board is not None  # the week is shown
        lane = next(one for one in board.lanes if (one.kind, one.ident) == ("chamber", chamber_id))
        return view.mapFromScene(QPointF(slot, lane.top_px + lane.height_px / 2))

    row = next(one for one in plan.cycles if plan.grid.local(one.charge_slot).hour == 11)
    unit = window._week.outlook.yard.unit_of(row.chamber_id)
    view.show_span(row.charge_slot - 60, row.charge_slot + 200)
    tell("zooming")
    QTest.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=place(row.chamber_id, row.charge_slot + 3))
    told_s = []
    for _ in range(n_moves):
        chamber = random.choice(unit.chambers)
        began = perf_counter()
        to = place(chamber.id, row.charge_slot + random.randint(-40, 150))
        QTest.mouseMove(view.viewport(), to)
        wait(lambda: not window.editing._trying and window.editing._waiting is None)
        told_s.append(perf_counter() - began)
    print(f"  {len(plan.cycles)} cycles, from the pointer's move to the words: {spread(told_s)}")
    tell("dragging")
    QTest.keyClick(view, Qt.Key.Key_Escape)
    for ix in range(4):
        window.editing.make(Move(row.id, row.chamber_id, row.charge_slot + 2 * ix + 2))
        idle()
    tell("making four edits")
    while window.editing.stack.canUndo():
        window.editing.stack.undo()
        idle()
    tell("taking them back")
    for what, show in (("a day in view", lambda: None), ("the week in view", view.show_all)):
        show()
        idle()
        gaps[:] = [0.0]
        for _ in range(3):
            window.refresh()
            tell(f"reading all anew, {what}")
    window.close()
    database.close()
    app.processEvents()


def main() -> None:
    """Tell all figures."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--units", type=int, nargs="*", default=[6, 20])
    asked.add_argument("--moves", type=int, default=40)
    asked.add_argument("--window", action="store_true")
    words = asked.parse_args()
    print(f"{os.cpu_count()} cores")
    if words.window:
        with TemporaryDirectory() as folder:
            time_window(Path(folder), words.moves)
    else:
        for n_units in words.units:
            time_moves(n_units, words.moves)


if __name__ == "__main__":
    main()
