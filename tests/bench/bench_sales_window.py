"""How long the window stands still while sales work: quotes, 5,000 orders from a file, an order edited; on demand.

    xvfb-run -a -s "-screen 0 1280x800x24" python -m tests.bench.bench_sales_window

The real window on the demo yard with a plan; the longest gap of a 2 ms timer of its event loop in each step, and how
long the step takes. Nothing is asserted. The bar is 100 ms.
"""

# ruff: noqa: T201 - figures for a person to read

import gc
import os
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, sleep

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication, QDialog

from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import open_database
from yardplan.ui.settings import SeatSettings
from yardplan.ui.window import MainWindow
from yardplan.usecases.clock import yard_now
from yardplan.usecases.demo import make_demo
from yardplan.usecases.outlook import make_outlook
from yardplan.usecases.planning import make_plan

N_ORDERS = 5000


class Watch:
    """Spins the event loop and notes its longest gap."""

    def __init__(self, app: QApplication) -> None:
        self.app, self.longest_s, self.last_s = app, 0.0, perf_counter()
        self.timer = QTimer(interval=2)
        self.timer.timeout.connect(self.tick)
        self.timer.start()

    def tick(self) -> None:
        now_s = perf_counter()
        self.longest_s, self.last_s = max(self.longest_s, now_s - self.last_s), now_s

    def spin(self, until: Callable[[], bool], seconds: float = 120) -> None:
        end_s = perf_counter() + seconds
        while not until() and perf_counter() < end_s:
            self.app.processEvents()
            sleep(0.0005)

    def step(self, name: str, do: Callable[[], object], until: Callable[[], bool]) -> None:
        self.longest_s, self.last_s, start_s = 0.0, perf_counter(), perf_counter()
        do()
        self.spin(until)
        took_s = perf_counter() - start_s
        self.spin(lambda: False, 0.4)
        print(f"{name:32} {took_s:6.2f} s, longest gap {1000 * self.longest_s:4.0f} ms", flush=True)


def main() -> None:
    """Go through what sales do."""
    app = QApplication([])
    gc.freeze()
    with TemporaryDirectory() as folder:
        database = open_database(make_demo(Path(folder) / "demo.sqlite"))
        outlook = make_outlook(database, now=yard_now(database))
        make_plan(database, outlook, Limits(seconds=0), Stop(), lambda _: None, made_by="bench")
        orders = Path(folder) / "orders.csv"
        rows = (f"N-{n},Invented {n % 90},TANK-800,black,{1 + n % 7},2027-06-{1 + n % 28:02d}" for n in range(N_ORDERS))
        orders.write_text("\n".join(("order,customer,product,color,quantity,due", *rows)) + "\n")
        window = MainWindow(database, SeatSettings())
        window.resize(1280, 800)
        window.show()
        watch = Watch(app)
        desk, counter = window.order_desk, window.counter
        watch.spin(lambda: window._week is not None and not desk.busy)
        page = window.quote
        watch.step("quote page, book laid", window.menus.pages["quote"].trigger, lambda: not counter.busy)
        page.form.choose(0, "TANK-800", "black", "12")
        watch.step("quote", page.form.check.click, lambda: not counter.busy)
        watch.step("hold, book laid anew", page.hold.click, lambda: not counter.busy)
        page.form.may_move.setChecked(True)
        watch.step("quote with moves", page.form.check.click, lambda: not counter.busy)
        window.menus.pages["orders"].trigger()
        watch.spin(lambda: False, 1)
        watch.step("edit an order", lambda: desk._edit("Y-1007", "quantity", "7"), lambda: not desk.busy)
        watch.step(f"look through {N_ORDERS} orders", lambda: desk.bring_in(orders), lambda: not desk.busy)
        dialog = window.orders.findChild(QDialog, "import_orders")
        watch.step("take them in", dialog.take.click, lambda: not desk.busy)
        table = window.orders.table
        watch.step("sort them", lambda: table.sortByColumn(1, Qt.SortOrder.DescendingOrder), lambda: True)
        watch.step("filter them", lambda: window.orders.filter.setText("invented 7"), lambda: True)
        window.orders.filter.clear()
        watch.step("undo", window.orders.undo.trigger, lambda: not desk.busy)
        watch.step("months ahead", window.menus.pages["season"].trigger, window.season.start.isEnabled)
        window.close()
        database.close()
    print("load", *(f"{one:.1f}" for one in os.getloadavg()))


if __name__ == "__main__":
    main()
