"""Ways to go on, side by side, against the plans that they are made of."""

from dataclasses import replace
from time import sleep

import pytest
from PySide6.QtCore import Qt

from tests.ui.weeks import small_outlook, small_plan, stored
from yardplan.domain.outcome import GoalParts
from yardplan.domain.risk import PlanRisk
from yardplan.ui import ways_desk
from yardplan.ui.ways import WaysPanel
from yardplan.usecases.planning import problem_of
from yardplan.usecases.replanning import DATES, KEEP, LEAST, OVERTIME, Replanned, Way

PARTS = GoalParts(1, 0, 0, 0, 0, 1, 0, 24, 0, 0)


@pytest.fixture
def found():
    outlook = small_outlook()
    plan = small_plan(outlook)
    first, *rest = plan.cycles
    moved = replace(first, chamber_id="1B", charge_slot=first.charge_slot + 6)
    other = replace(plan, cycles=(moved, *rest[:-1]))
    risk = PlanRisk(60, (), 0.75, 0.5)
    ways = [
        Way(name, number, plan if name == KEEP else other, PARTS, risk, 0 if name == KEEP else 1, 4, 0)
        for number, name in enumerate((KEEP, LEAST, DATES, OVERTIME), 3)
    ]
    return Replanned(problem_of(outlook), stored(plan, 3), tuple(ways), ("1A heats since 09:30",), 1.0, 9.0)


@pytest.fixture
def panel(qtbot):
    made = WaysPanel()
    qtbot.addWidget(made)
    made.resize(1260, 620)
    made.show()
    return made


def test_four_ways_stand_side_by_side_and_none_is_chosen(panel, found):
    panel.show_ways(found)
    frames = [panel._columns.itemAt(ix).widget() for ix in range(panel._columns.count())]
    assert [frame.accessibleName().split(":")[0] for frame in frames] == [
        "Keep the old plan", "Change as little as can be", "Best for the dates", "Overtime tonight",
    ]  # fmt: skip
    assert [button.text() for button in panel.buttons[1::2]] == [f"Publish as plan {n}" for n in (4, 5, 6)]
    assert all(button.height() >= 64 and not button.isDefault() for button in panel.buttons)
    assert "1A heats since 09:30" in panel._told.text()
    assert "Nothing is published yet" in panel._told.text()


def test_figures_are_those_of_the_plan(panel, found):
    panel.show_ways(found)
    told = {effect.name: effect.value for effect in panel.effects(found.ways[1])}
    # 24 slots of 5 min are 2 h; 75 of 100 are 15 of 20
    assert told["overtime"] == "2.0 h"
    assert told["promises hold"] == "15 of 20 skies"
    assert told["moves"] == "1 of 4 jobs"
    assert told["pieces, mold changes"] == "3, 1"


@pytest.mark.gui
def test_what_would_move_is_told_before_anything_is_published(panel, found, qtbot):
    panel.show_ways(found)
    with qtbot.assertNotEmitted(panel.publish_wanted):
        qtbot.mouseClick(panel.buttons[0], Qt.MouseButton.LeftButton)
    told = panel._difference.toPlainText()
    assert "Moved: Y-1 Tank, sand from 1A 09:00 to 1B 09:30" in told
    assert "Dropped: Y-3 Bin, sand in 1B, Tue 18 May 10:00" in told
    with qtbot.waitSignal(panel.publish_wanted) as sent:
        qtbot.mouseClick(panel.buttons[1], Qt.MouseButton.LeftButton)
    assert sent.args == [4]
    panel.set_ready(False)
    assert not panel.start.isEnabled()
    assert not any(button.isEnabled() for button in panel.buttons)


def test_the_same_plan_is_no_difference(panel, found):
    same = replace(found, ways=(found.ways[0], replace(found.ways[0], name=LEAST, number=4)))
    panel.show_ways(same)
    panel.buttons[0].click()
    assert "No cycle and no order is different" in panel._difference.toPlainText()


def test_a_new_search_clears_what_was_found(panel, found, qtbot):
    panel.show_ways(found)
    panel.seconds.setValue(9)
    with qtbot.waitSignal(panel.wanted) as sent:
        panel.start.click()
    assert sent.args == [9]
    assert panel.buttons == []
    with qtbot.waitSignal(panel.stop_wanted), qtbot.assertNotEmitted(panel.wanted):
        panel.start.click()  # one search at a time: pressed again, it ends
    assert "Stop" in panel.start.text()
    panel.show_way(found.ways[1])
    assert "Change as little" in panel._told.text()
    panel.show_trouble("no plan yet")
    assert panel._told.text() == "no plan yet"
    assert panel.start.isEnabled()
    assert "Plan anew" in panel.start.text()


def test_a_search_that_is_stopped_shows_what_was_found(panel, found, qtbot, monkeypatch):
    def search_on(database, seconds, stop, tell):
        tell(found.ways[0])
        while not stop.is_requested:
            sleep(0.01)
        return found

    monkeypatch.setattr(ways_desk, "find_ways", search_on)
    desk = ways_desk.WaysDesk(None, panel, panel)
    panel.start.click()
    qtbot.waitUntil(lambda: "Found" in panel._told.text())
    panel.start.click()
    qtbot.waitUntil(lambda: len(panel.buttons) > 0)
    assert "Plan anew" in panel.start.text()
    desk.close()
