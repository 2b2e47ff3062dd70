import pytest

from yardplan.domain.plan import order_results
from yardplan.store.engine import open_database
from yardplan.ui.settings import SeatSettings
from yardplan.ui.window import MainWindow
from yardplan.usecases.demo import make_demo


@pytest.mark.gui
def test_the_demo_yard_is_planned_in_the_window(tmp_path, qtbot):
    """Nothing stands in for anything here: real database, sky, cook table, search and check."""
    database = open_database(make_demo(tmp_path / "demo.sqlite"))
    window = MainWindow(database, SeatSettings(search_s=2))
    qtbot.addWidget(window)
    window.show()
    qtbot.waitUntil(lambda: window._week is not None, timeout=60_000)
    assert "No plan yet" in window.summary.text()
    window._build.trigger()
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
