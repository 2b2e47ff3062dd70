from datetime import timedelta

import pytest

from yardplan.domain.events import Choice
from yardplan.domain.plan import order_results
from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import open_database
from yardplan.store.write import write_setting
from yardplan.ui.settings import SeatSettings
from yardplan.ui.window import MainWindow
from yardplan.usecases.clock import CLOCK_AT, yard_now
from yardplan.usecases.demo import make_demo
from yardplan.usecases.logbook import newest_entries
from yardplan.usecases.outlook import make_outlook
from yardplan.usecases.planning import make_plan


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
