from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtWidgets import QDialog

from yardplan.domain.events import Choice
from yardplan.domain.plan import order_results
from yardplan.solve.check import check
from yardplan.solve.edit import staying
from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import open_database
from yardplan.store.write import write_setting
from yardplan.ui.settings import SeatSettings
from yardplan.ui.window import MainWindow
from yardplan.usecases.clock import CLOCK_AT, yard_now
from yardplan.usecases.comparing import answer_of, stored_plan
from yardplan.usecases.demo import make_demo
from yardplan.usecases.holding import holds_of
from yardplan.usecases.logbook import newest_entries
from yardplan.usecases.outlook import make_outlook
from yardplan.usecases.planning import make_plan
from yardplan.usecases.publishing import publications


@pytest.mark.gui
def test_the_demo_yard_is_planned_in_the_window(tmp_path, qtbot):
    """Nothing stands in for anything here: real database, sky, cook table, search and check."""
    database = open_database(make_demo(tmp_path / "demo.sqlite"))
    window = MainWindow(database, SeatSettings(search_s=2))
    qtbot.addWidget(window)
    window.show()
    qtbot.waitUntil(lambda: window._week is not None, timeout=60_000)
    assert "No plan yet" in window.summary.text()
    window.menus.build.trigger()
    qtbot.waitUntil(lambda: not window._building, timeout=120_000)
    stored = window._week.stored
    assert stored.number == 1
    board = window.week.board.view.board
    assert {ident for kind, ident in board.marks if kind == "cycle"} == {
        cycle.id for cycle in stored.outcome.plan.cycles
    }
    assert len(stored.outcome.plan.cycles) > 200
    results = order_results(stored.outcome.plan, window._week.outlook.orders, window._week.outlook.yard)
    late = sum(row.state == "late" for row in results)
    assert f"{late} late" in window.summary.text()
    for marks in board.choices.values():
        for mark in marks:
            assert mark.name
    window.close()
    database.close()


@pytest.mark.gui
def test_a_foreman_logs_a_morning_on_the_demo_yard(tmp_path, qtbot):
    """A real database: publish, charge, heat, lose the sun, decide; each press is an entry of the log."""
    database = open_database(make_demo(tmp_path / "demo.sqlite"))
    outlook = make_outlook(database, now=yard_now(database))
    made = make_plan(database, outlook, Limits(seconds=0), Stop(), lambda _: None, made_by="tester")
    plan = made.outcome.plan
    first = min((row for row in plan.cycles if not _hung_before(plan, row)), key=lambda row: row.heat_slot)
    heat_at = plan.grid.at(first.heat_slot)
    with database.begin() as session:
        write_setting(session, CLOCK_AT, heat_at.isoformat(), by="tester", at=heat_at)
    window = MainWindow(database, SeatSettings())
    qtbot.addWidget(window)
    window.show()
    window.menus.pages["today"].trigger()
    qtbot.waitUntil(lambda: window._week is not None, timeout=120_000)
    page = window.today

    def press(button):
        assert button.isEnabled()
        button.click()
        qtbot.waitUntil(lambda: not window.desk._asked, timeout=60_000)

    press(page.publish)
    assert "Plan 1 is in force" in page._plan.text()
    view = page._cards[first.chamber_id]
    for wanted in ("Charged", "Heating starts", "PIAT reached"):
        assert view.button.text() == wanted
        press(view.button)
    assert "too" not in page._told.text()
    assert "shell alone takes" in page._told.text(), "no PIAT in the minute in which heating starts"
    with database.begin() as session:
        later_at = heat_at + timedelta(minutes=20)
        write_setting(session, CLOCK_AT, later_at.isoformat(), by="tester", at=later_at)
    view._menu.actions()[0].trigger()
    qtbot.waitUntil(lambda: not window.desk._asked, timeout=60_000)
    assert view.button.text() == "Decide …"
    view.button.click()
    page.decide.who.setCurrentIndex(1)
    press(page.decide.choices[Choice.WAIT])
    events, _ = newest_entries(database)
    assert [event.kind for event in events] == ["charge", "heat", "hold", "decide"]
    assert events[-1].by == page.decide.who.currentData()
    assert events[-1].seat
    press(page.undo)
    assert newest_entries(database)[0][-1].kind == "void"
    assert "Taken back" in page._told.text()
    window.close()
    database.close()


def _hung_before(plan, row):
    return any(one.chamber_id == row.chamber_id and one.start_slot < row.charge_slot for one in plan.mold_changes)


@pytest.mark.gui
def test_sales_quotes_holds_and_converts_on_the_demo_yard(tmp_path, qtbot):
    """A real database and a real book: ask, keep it for a customer, make it an order, find it on the Orders page."""
    database = open_database(make_demo(tmp_path / "demo.sqlite"))
    outlook = make_outlook(database, now=yard_now(database))
    make_plan(database, outlook, Limits(seconds=0), Stop(), lambda _: None, made_by="tester")
    window = MainWindow(database, SeatSettings())
    qtbot.addWidget(window)
    window.show()
    qtbot.waitUntil(lambda: window._week is not None, timeout=120_000)
    window.menus.pages["quote"].trigger()
    page, counter = window.quote, window.counter

    def press(button):
        qtbot.waitUntil(lambda: button.isEnabled() and not counter.busy, timeout=120_000)
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
        qtbot.waitUntil(lambda: not counter.busy, timeout=120_000)

    qtbot.waitUntil(lambda: not counter.busy, timeout=120_000)
    page.form.choose(0, "TANK-800", "black", "6")
    page.form.wish.line.setText("11 June")
    press(page.form.check)
    document = page._told.document
    ready = [datetime.fromisoformat(document[key]["ready"]) for key in ("p50", "p80", "p95")]
    assert ready == sorted(ready)
    page.customer.setText("Invented Farm")
    press(page.hold)
    (hold,) = holds_of(database, now=yard_now(database))
    assert hold.promise_at == ready[1]
    press(page.order)
    qtbot.waitUntil(lambda: not window._reading and not window._turns.busy, timeout=120_000)
    window._open_order("K1")
    assert window.orders.order_id == "K1"
    assert any(order.id == "K1" and order.promise_at == ready[1] for order in window._week.outlook.orders)
    assert holds_of(database, now=yard_now(database)) == ()
    window.close()
    database.close()


@pytest.mark.gui
def test_a_manager_drags_locks_compares_and_publishes_next_week(tmp_path, qtbot):
    """A real database: each edit is judged, the version that is kept passes check and comes into force."""
    database = open_database(make_demo(tmp_path / "demo.sqlite"))
    outlook = make_outlook(database, now=yard_now(database))
    make_plan(database, outlook, Limits(seconds=0), Stop(), lambda _: None, made_by="tester")
    window = MainWindow(database, SeatSettings())
    qtbot.addWidget(window)
    window.show()
    row, view = window.week.edit_row, window.week.board.view

    def idle():
        qtbot.waitUntil(lambda: not (window._reading or window._turns.busy or window.editing._asked), timeout=120_000)

    def place(chamber, slot):
        lane = next(one for one in view.board.lanes if (one.kind, one.ident) == ("chamber", chamber))
        return view.mapFromScene(QPointF(slot, lane.top_px + lane.height_px / 2))

    qtbot.waitUntil(lambda: window._week is not None, timeout=120_000)
    idle()
    plan = window.editing.plan
    moved = next(one for one in plan.cycles if plan.grid.local(one.charge_slot).hour == 11)
    view.show_span(moved.charge_slot - 60, moved.charge_slot + 120)
    view._bring_into_view(view.board.marks["cycle", moved.id])
    to = place(moved.chamber_id, moved.charge_slot + 3 + 3)
    qtbot.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=place(moved.chamber_id, moved.charge_slot + 3))
    qtbot.mouseMove(view.viewport(), to - QPoint(10, 0))
    qtbot.mouseMove(view.viewport(), to)
    idle()
    assert "Not possible" not in view.drag.hint.text(), view.drag.hint.text()
    qtbot.mouseRelease(view.viewport(), Qt.MouseButton.LeftButton, pos=to)
    idle()
    now = {one.id: one for one in window.editing.plan.cycles}
    assert now[moved.id].charge_slot != moved.charge_slot
    assert len(now) == len(plan.cycles)
    view.choose(view.board.marks["cycle", moved.id])
    row.lock.trigger()
    idle()
    assert window.editing.unsaved == 2
    row.save.trigger()
    idle()
    assert window._week.stored.number == 2
    kept = stored_plan(database, 2)
    answer = answer_of(database, kept)
    assert check(replace(answer.problem, kept=staying(answer.problem, answer.plan)), answer.plan) == ()
    row.compare.trigger()
    idle()
    assert "Moved in all" in window.week._text.toPlainText()
    row.publish.trigger()
    idle()
    dialog = window.findChild(QDialog, "publish_dialog")
    qtbot.keyClicks(dialog.reason, "ready for the crew")
    qtbot.mouseClick(dialog.ok, Qt.MouseButton.LeftButton)
    idle()
    assert [(one.plan_number, one.reason) for one in publications(database)] == [(2, "ready for the crew")]
    assert "in force" in window.summary.text()
    window.close()
    database.close()
