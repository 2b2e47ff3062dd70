"""Plans changed by hand through the real window: by mouse, by keys, refused, taken back, compared, published."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QLineEdit, QMessageBox, QPlainTextEdit, QPushButton

from tests.small_yard import at
from tests.ui.test_window import done, opened, yard
from tests.ui.weeks import cycle, stored
from yardplan.domain.compare import Answer, compare
from yardplan.domain.edits import Lock, Remove
from yardplan.domain.errors import LocksClash, PublishedMeanwhile
from yardplan.domain.outcome import Status
from yardplan.domain.plan import Plan
from yardplan.solve.run import Limits, Stop, solve
from yardplan.ui import editing, versions
from yardplan.ui.edit_words import EditWords
from yardplan.ui.words import Words
from yardplan.usecases.planning import problem_of

__all__ = ["opened", "yard"]  # fixtures


class Keeper:
    """Stands in for what keeps versions and puts them into force."""

    def __init__(self, yard):
        self.yard, self.notes, self.published = yard, [], []
        self.frozen_h = 24.0
        self.error = None

    def save(self, database, outlook, base, plan, *, by, notes=()):
        made = replace(stored(plan, len(self.yard.plans) + 10), made_by=by)
        made = replace(made, outcome=replace(made.outcome, status=Status.EDITED))
        self.yard.plans.append(made)
        self.notes += notes
        return made

    def publish(self, database, number, plan, *, now, by, seat, reason, anyway):
        if self.error and not anyway:
            raise self.error
        self.published.append((number, reason))


@pytest.fixture
def keeper(yard, monkeypatch):
    made = Keeper(yard)
    problem = problem_of(yard.outlook)
    plan = solve(replace(problem, now=at(0, 7.5)), Limits(seconds=0), Stop(), lambda progress: None).plan
    yard.plans.append(stored(plan, 3))
    monkeypatch.setattr(versions, "save_edited", made.save)
    monkeypatch.setattr(editing, "question_to_edit", lambda _database, outlook, _base: problem_of(outlook))
    monkeypatch.setattr(versions, "publish_edited", made.publish)
    for module in (editing, versions):
        monkeypatch.setattr(module, "frozen_h", lambda _database: made.frozen_h)
    monkeypatch.setattr(versions, "yard_now", yard.yard_now)
    return made


@pytest.fixture
def win(keeper, opened, qtbot):
    made = opened()
    made.week.board.view.show_span(60, 300)
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    made.week.board.view.setFocus()
    yield made
    made.editing.stack.clear()


def idle(qtbot, win):
    editing_ = win.editing
    qtbot.waitUntil(
        lambda: not editing_._asked and not win._reading and not win._turns.busy and not editing_.background.busy,
        timeout=20_000,
    )


def plan_of(win) -> Plan:
    return win.editing.plan


def cycles(win):
    return {row.id: row for row in plan_of(win).cycles}


def place(win, chamber, slot):
    view = win.week.board.view
    lane = next(lane for lane in view.board.lanes if lane.kind == "chamber" and lane.ident == chamber)
    return view.mapFromScene(QPointF(slot, lane.top_px + lane.height_px / 2))


def take(qtbot, win, row):
    """Press on a cycle a little after its start and begin to move."""
    view = win.week.board.view
    grip = place(win, row.chamber_id, row.charge_slot + 3)
    qtbot.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=grip)
    return grip


def drag_to(qtbot, win, row, chamber, slot):
    """Drag without letting go, and wait for what is told."""
    view = win.week.board.view
    take(qtbot, win, row)
    target = place(win, chamber, slot + 3)
    qtbot.mouseMove(view.viewport(), target - QPoint(10, 0))
    qtbot.mouseMove(view.viewport(), target)
    idle(qtbot, win)
    assert view.drag.is_active
    return target


def drop(qtbot, win, target):
    qtbot.mouseRelease(win.week.board.view.viewport(), Qt.MouseButton.LeftButton, pos=target)
    idle(qtbot, win)


def last(win):
    return max(plan_of(win).cycles, key=lambda row: row.charge_slot)


def first(win):
    return min(plan_of(win).cycles, key=lambda row: row.charge_slot)


FREE = 288 * 2 + 12 * 13


def show_around(win, slot):
    win.week.board.view.show_span(slot - 120, slot + 120)


def dialog(win, name):
    return win.findChild(QDialog, name)


# By mouse


@pytest.mark.gui
def test_a_cycle_is_dragged_and_the_plan_is_another_one(win, qtbot):
    row = last(win)
    show_around(win, row.charge_slot)
    to = row.charge_slot + 8
    target = drag_to(qtbot, win, row, row.chamber_id, to)
    view = win.week.board.view
    told = view.drag.hint.text()
    assert row.chamber_id in told
    assert "Nothing else is moved" in told
    assert len(view.drag.ghosts) == 1
    assert view.drag.hint.isVisible()
    drop(qtbot, win, target)
    assert abs(cycles(win)[row.id].charge_slot - to) <= 1, "to the slot under the pointer"
    assert view.board.plan is plan_of(win)
    assert not view.drag.hint.isVisible()
    assert win.editing.unsaved == 1
    assert "changes not saved: 1" in win.summary.text()
    assert win.isWindowModified()


@pytest.mark.gui
def test_what_is_pushed_is_shown_while_dragging_and_moves_with_the_drop(win, qtbot):
    one, two = [row for row in plan_of(win).cycles if row.chamber_id == "1A"][:2]
    win.week.board.view.show_span(one.charge_slot - 20, two.end_slot + 60)
    target = drag_to(qtbot, win, one, "1A", two.charge_slot - 1)
    view = win.week.board.view
    assert len(view.drag.ghosts) >= 2
    assert two.order_id in view.drag.hint.text()
    before = cycles(win)[two.id].charge_slot
    drop(qtbot, win, target)
    assert cycles(win)[two.id].charge_slot != before


@pytest.mark.gui
def test_a_drop_that_breaks_a_rule_is_refused_with_the_rule(win, qtbot):
    row = last(win)
    before = plan_of(win)
    night = 288 * 2 + 12 * 20
    view = win.week.board.view
    view.show_span(row.charge_slot - 40, night + 60)
    target = drag_to(qtbot, win, row, row.chamber_id, night)
    assert "Not possible" in view.drag.hint.text()
    assert "PIAT is never reached" in view.drag.hint.text() or "shift" in view.drag.hint.text()
    drop(qtbot, win, target)
    assert plan_of(win) is before
    assert "Not possible" in win.week.edit_row.told
    assert win.editing.unsaved == 0
    assert view.drag.ghosts == ()


@pytest.mark.gui
def test_escape_while_dragging_leaves_everything_as_it_was(win, qtbot):
    row = last(win)
    before = plan_of(win)
    show_around(win, row.charge_slot)
    target = drag_to(qtbot, win, row, row.chamber_id, row.charge_slot + 8)
    view = win.week.board.view
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert not view.drag.is_active
    assert view.drag.ghosts == ()
    drop(qtbot, win, target)
    assert plan_of(win) is before
    assert win.editing.stack.count() == 0
    assert not win.isWindowModified()


def test_an_empty_place_still_pans_and_a_click_still_chooses(win, qtbot):
    view = win.week.board.view
    row = last(win)
    show_around(win, row.charge_slot)
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=place(win, row.chamber_id, row.charge_slot + 3))
    assert view.mark.spot.cycle_id == row.id
    assert not view.drag.is_active
    lane = next(lane for lane in view.board.lanes if lane.kind == "heat")
    grip = view.mapFromScene(QPointF(row.charge_slot, lane.top_px + 5))
    left = view.left_slot
    qtbot.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=grip)
    qtbot.mouseMove(view.viewport(), grip + QPoint(60, 0))
    assert not view.drag.is_active
    qtbot.mouseRelease(view.viewport(), Qt.MouseButton.LeftButton, pos=grip + QPoint(60, 0))
    assert view.left_slot < left


def test_without_a_plan_nothing_is_dragged(yard, opened):
    made = opened()
    assert not made.week.board.view.can_edit
    assert not made.week.edit_row.add.isEnabled()


# By keys


@pytest.mark.gui
def test_move_to_tells_the_same_as_the_drag_and_moves(win, qtbot):
    row = last(win)
    view = win.week.board.view
    show_around(win, row.charge_slot)
    drag_to(qtbot, win, row, row.chamber_id, row.charge_slot + 8)
    edit, by_mouse = view.drag.edit, view.drag.hint.text()
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    view.choose(view.board.marks["cycle", row.id])
    qtbot.keyClick(view, Qt.Key.Key_M, Qt.KeyboardModifier.ControlModifier)
    box = dialog(win, "place_dialog")
    assert box.isVisible()
    local = plan_of(win).grid.local(edit.charge_slot)
    box.time.setTime(local.time())
    idle(qtbot, win)
    assert box.told.text() == by_mouse
    assert box.ok.isEnabled()
    box.time.stepBy(1)
    assert not box.ok.isEnabled(), "until it is known what that comes to"
    idle(qtbot, win)
    box.time.stepBy(-1)
    idle(qtbot, win)
    qtbot.mouseClick(box.ok, Qt.MouseButton.LeftButton)
    idle(qtbot, win)
    assert cycles(win)[row.id].charge_slot == edit.charge_slot


def test_move_to_does_not_offer_what_cannot_be(win, qtbot):
    view = win.week.board.view
    view.choose(view.board.marks["cycle", last(win).id])
    win.week.edit_row.place.trigger()
    box = dialog(win, "place_dialog")
    box.time.setTime(at(0, 20).time().replace(hour=21))
    idle(qtbot, win)
    assert "Not possible" in box.told.text()
    assert not box.ok.isEnabled()
    box.reject()
    assert win.editing.stack.count() == 0


def test_a_cycle_is_locked_shown_so_kept_from_moving_and_unlocked(win, qtbot):
    row = last(win)
    view = win.week.board.view
    view.choose(view.board.marks["cycle", row.id])
    view.setFocus()
    win.week.edit_row.lock.trigger()
    idle(qtbot, win)
    mark = view.board.marks["cycle", row.id]
    assert mark.spot.locked
    assert "locked" in mark.name
    assert view.mark is mark, "it stays chosen"
    assert win.week.edit_row.lock.text() == "Unlock"
    assert not win.week.edit_row.place.isEnabled()
    show_around(win, row.charge_slot)
    target = drag_to(qtbot, win, cycles(win)[row.id], row.chamber_id, row.charge_slot + 8)
    assert "unlock it first" in view.drag.hint.text()
    drop(qtbot, win, target)
    assert cycles(win)[row.id].charge_slot == row.charge_slot
    win.week.edit_row.lock.trigger()
    idle(qtbot, win)
    assert not cycles(win)[row.id].locked


def test_remove_add_and_split(win, qtbot):
    row = last(win)
    view = win.week.board.view
    view.choose(view.board.marks["cycle", row.id])
    win.week.edit_row.remove.trigger()
    idle(qtbot, win)
    assert row.id not in cycles(win)
    win.week.edit_row.add.trigger()
    box = dialog(win, "place_dialog")
    box.order.setCurrentIndex(box.order.findData(row.order_id))
    box.chamber.setCurrentText(row.chamber_id)
    local = plan_of(win).grid.local(row.charge_slot)
    box.day.setCurrentIndex([on for on, _, _ in plan_of(win).grid.days].index(local.date()))
    box.time.setTime(local.time())
    idle(qtbot, win)
    assert box.ok.isEnabled(), box.told.text()
    box.ok.click()
    idle(qtbot, win)
    assert len(cycles(win)) == 12
    rows = [one for one in plan_of(win).cycles if one.order_id == "Y-2"]
    rows = [one for one in rows if one.chamber_id == rows[0].chamber_id]
    view.choose(view.board.marks["cycle", rows[1].id])
    win.week.edit_row.split.trigger()
    box = dialog(win, "place_dialog")
    assert "Split" in box.windowTitle()
    box.reject()


def test_two_edits_in_quick_turn_are_both_made(win, qtbot):
    one, two = plan_of(win).cycles[0], plan_of(win).cycles[1]
    win.editing.make(Lock(one.id))
    win.editing.make(Lock(two.id))
    idle(qtbot, win)
    assert [row.id for row in plan_of(win).cycles if row.locked] == [one.id, two.id]
    assert win.editing.unsaved == 2
    win.editing.make(Remove(last(win).id))
    win.editing.make(Lock(last(win).id))
    idle(qtbot, win)
    assert win.editing.unsaved == 3, "what is gone is not locked"


def test_a_drag_that_was_let_go_elsewhere_is_given_up(win, qtbot):
    row = last(win)
    show_around(win, row.charge_slot)
    target = drag_to(qtbot, win, row, row.chamber_id, row.charge_slot + 8)
    view = win.week.board.view
    where = view.viewport().mapToGlobal(target)
    none = Qt.MouseButton.NoButton
    event = QMouseEvent(
        QEvent.Type.MouseMove, QPointF(target), QPointF(where), none, none, Qt.KeyboardModifier.NoModifier
    )
    QApplication.sendEvent(view.viewport(), event)
    assert not view.drag.is_active
    drop(qtbot, win, target)
    assert win.editing.unsaved == 0


# Undo and redo


@pytest.mark.gui
def test_everything_is_taken_back_and_made_again(win, qtbot):
    view = win.week.board.view
    plans = [plan_of(win)]
    row = last(win)
    view.choose(view.board.marks["cycle", row.id])
    win.week.edit_row.lock.trigger()
    idle(qtbot, win)
    plans.append(plan_of(win))
    other = first(win)
    view.choose(view.board.marks["cycle", other.id])
    win.week.edit_row.remove.trigger()
    idle(qtbot, win)
    plans.append(plan_of(win))
    view.setFocus()
    assert "remove" in win.week.edit_row.undo.toolTip()
    for wanted in (plans[1], plans[0]):
        qtbot.keyClick(view, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
        idle(qtbot, win)
        assert plan_of(win) == wanted
        assert view.board.plan == wanted
    assert not win.isWindowModified(), "all taken back is the plan as it was kept"
    assert not win.week.edit_row.undo.isEnabled()
    for wanted in (plans[1], plans[2]):
        qtbot.keyClick(view, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
        idle(qtbot, win)
        assert plan_of(win) == wanted


# Keeping, comparing, publishing


def lock_last(qtbot, win):
    view = win.week.board.view
    view.choose(view.board.marks["cycle", last(win).id])
    win.week.edit_row.lock.trigger()
    idle(qtbot, win)


def test_changes_are_kept_as_a_version_with_what_was_changed(win, keeper, yard, qtbot):
    lock_last(qtbot, win)
    win.week.edit_row.save.trigger()
    idle(qtbot, win)
    assert yard.plans[-1].number == 11
    assert any("locked" in note for note in keeper.notes)
    assert win.summary.text().startswith("Plan 11")
    assert not win.isWindowModified()
    assert "changed by hand" in win.summary.text()
    win.editing.stack.undo()
    idle(qtbot, win)
    assert win.editing.unsaved == 1, "what was kept can be taken back, and that is a change again"
    win.week.edit_row.save.trigger()
    idle(qtbot, win)
    assert "taken back" in keeper.notes[-1]


def test_f5_leaves_unsaved_changes_alone(win, qtbot):
    lock_last(qtbot, win)
    plan = plan_of(win)
    win.menus.refresh.trigger()
    idle(qtbot, win)
    assert plan_of(win) is plan
    assert win.editing.unsaved == 1
    assert win.week.board.view.board.plan is plan


def test_another_plan_made_meanwhile_is_told_and_the_changes_stay(win, yard, qtbot):
    lock_last(qtbot, win)
    plan = plan_of(win)
    yard.plans.append(stored(Plan(plan.grid), 9))
    win.menus.refresh.trigger()
    idle(qtbot, win)
    assert plan_of(win) is plan
    assert "Plan 9 was made meanwhile" in win.week.edit_row.told


def test_the_comparison_of_three_moved_cycles_and_one_in_another_chamber_has_four_lines(yard):
    outlook = yard.outlook
    words = EditWords(outlook, old := four_cycles(outlook), Words(outlook.yard, old))
    one, two, three, four = old.cycles
    new = Plan(
        old.grid,
        (
            replace(one, charge_slot=one.charge_slot + 6),
            replace(two, charge_slot=two.charge_slot + 12),
            replace(three, charge_slot=three.charge_slot - 3),
            replace(four, chamber_id="1B"),
        ),
    )
    problem = problem_of(outlook)
    found = compare(Answer(problem, old), Answer(problem, new))
    lines = [line for line in words.comparison(found) if not line.startswith("Order")]
    assert len(lines) == 4
    assert sum("1B" in line for line in lines) == 1
    upset = words.upset(found)
    assert len(upset) == 3
    assert words.upset(compare(Answer(problem, old), Answer(problem, old)))[0].startswith("Moved in all: 0.0 h")


def four_cycles(outlook) -> Plan:
    orders = outlook.orders
    made = [cycle(f"C{ix}", "1A", 120 + 288 * (ix // 2) + 60 * (ix % 2), orders[ix % 3]) for ix in range(3)]
    return Plan(outlook.grid, (*made, cycle("C9", "1A", 288 * 2 + 130, orders[1])))


def test_the_comparison_names_each_moved_cycle_once_and_how_much_is_upset(win, qtbot):
    row = last(win)
    show_around(win, row.charge_slot)
    drop(qtbot, win, drag_to(qtbot, win, row, row.chamber_id, row.charge_slot + 8))
    win.week.edit_row.compare.trigger()
    idle(qtbot, win)
    told = win.week._text.toPlainText()
    assert "Against plan 3" in told
    assert told.count(f"later: {row.order_id}") == 1
    assert "Moved in all" in told
    assert "the other way round" in told
    assert "for nothing: 0" in told


@pytest.mark.gui
def test_a_version_is_published_from_the_page(win, keeper, qtbot):
    lock_last(qtbot, win)
    win.week.edit_row.publish.trigger()
    assert "Save the plan first" in win.week.edit_row.told
    win.week.edit_row.save.trigger()
    idle(qtbot, win)
    win.week.edit_row.publish.trigger()
    idle(qtbot, win)
    box = dialog(win, "publish_dialog")
    assert "Publish plan 11" in box.windowTitle()
    assert "Against plan 3" in box.findChild(QPlainTextEdit, "publish_told").toPlainText(), "what the change began from"
    qtbot.keyClicks(box.findChild(QLineEdit, "publish_reason"), "ready")
    qtbot.mouseClick(box.findChild(QPushButton, "publish_ok"), Qt.MouseButton.LeftButton)
    idle(qtbot, win)
    assert keeper.published == [(11, "ready")]
    assert "Plan 11 is in force" in win.week.edit_row.told


def test_where_another_plan_came_into_force_it_is_asked_once_more(win, keeper, qtbot):
    keeper.error = PublishedMeanwhile(3, 8, "Ada", "clouds")
    win.week.edit_row.publish.trigger()
    idle(qtbot, win)
    dialog(win, "publish_dialog").findChild(QPushButton, "publish_ok").click()
    idle(qtbot, win)
    assert keeper.published == []
    box = win.findChild(QMessageBox, "publish_anyway")
    assert "Ada" in box.text()
    next(button for button in box.buttons() if "anyway" in button.text()).click()
    idle(qtbot, win)
    assert keeper.published == [(3, "")]


# The frozen period


@pytest.fixture
def in_force(yard, keeper, monkeypatch):
    state_of_yard = yard.yard_state

    def with_plan(database, *, now):
        state, standing, _ = state_of_yard(database, now=now)
        return state, standing, yard.plans[0]

    from yardplan.ui import jobs

    monkeypatch.setattr(jobs, "yard_state", with_plan)
    return yard.plans[0]


@pytest.mark.gui
def test_a_change_of_the_frozen_plan_asks_for_reason_and_name_and_cancel_restores(in_force, win, keeper, qtbot):
    """In the frozen 24 hours: a reason is required, cancel restores the place, the record has who, old, new, why."""
    row = first(win)
    before = plan_of(win)
    view = win.week.board.view
    view.show_span(row.charge_slot - 20, row.charge_slot + 200)
    target = drag_to(qtbot, win, row, row.chamber_id, row.charge_slot + 6)
    told = view.drag.hint.text()
    assert "Not possible" not in told, told
    drop(qtbot, win, target)
    box = dialog(win, "reason_dialog")
    assert "24 h" in box.findChild(QLabel, "frozen_told").text()
    assert not box.ok.isEnabled()
    box.reject()
    assert plan_of(win) is before
    assert win.editing.stack.count() == 0
    drop(qtbot, win, drag_to(qtbot, win, row, row.chamber_id, row.charge_slot + 6))
    box = [one for one in win.findChildren(QDialog, "reason_dialog") if one.isVisible()][-1]
    qtbot.keyClicks(box.reason, "mold is late")
    box.name.setText("Ada")
    assert box.ok.isEnabled()
    box.ok.click()
    idle(qtbot, win)
    assert cycles(win)[row.id].charge_slot != row.charge_slot
    win.week.edit_row.save.trigger()
    idle(qtbot, win)
    (note,) = [note for note in keeper.notes if note.startswith(f"frozen: {row.id}")]
    assert "-> " in note
    assert "Ada: mold is late" in note


def test_publishing_a_frozen_change_needs_a_reason(in_force, win, keeper, yard, qtbot):
    row = first(win)
    fewer = Plan(plan_of(win).grid, tuple(one for one in plan_of(win).cycles if one.id != row.id))
    yard.plans.append(stored(fewer, 5))
    win.menus.refresh.trigger()
    idle(qtbot, win)
    win.week.edit_row.publish.trigger()
    idle(qtbot, win)
    box = dialog(win, "publish_dialog")
    assert not box.ok.isEnabled()
    box.reason.setText("mold is cracked")
    assert box.ok.isEnabled()
    box.reject()


# Following an order


@pytest.mark.gui
def test_an_order_is_followed_through_cycles_and_finishing_by_keys_and_links(win, qtbot):
    view = win.week.board.view
    win.week.open_order("Y-3")
    seen = [view.mark.spot.key]
    for _ in range(5):
        qtbot.keyClick(view, Qt.Key.Key_PageDown)
        seen.append(view.mark.spot.key)
    wanted = [("cycle", row.id) for row in plan_of(win).cycles if row.order_id == "Y-3"]
    ids = {row.id for row in plan_of(win).cycles if row.order_id == "Y-3"}
    wanted += [("finish", job.id) for job in plan_of(win).finishing if job.cycle_id in ids]
    assert set(seen) == set(wanted)
    starts = [view.board.marks[key].spot.start_slot for key in seen]
    assert starts == sorted(starts)
    qtbot.keyClick(view, Qt.Key.Key_PageUp)
    assert view.mark.spot.key == seen[-2]
    view.choose(view.board.marks["cycle", sorted(ids)[0]])
    assert f"cycle:{sorted(ids)[1]}" in win.week._text.toHtml()
    win.week._follow_link(QUrl(f"cycle:{sorted(ids)[1]}"))
    assert view.mark.spot.key == ("cycle", sorted(ids)[1])


def test_the_details_lead_to_why_an_order_is_late_by_the_plan_that_is_shown(win, yard, monkeypatch, qtbot):
    asked = []

    class Told:
        def __init__(self, database, outlook, stored, order, parent):
            asked.append((stored.outcome.plan, order.id))

        def open(self):
            asked.append("open")

    monkeypatch.setattr(editing, "WhyLate", Told)
    orders = tuple(
        replace(order, due_at=at(0, 12), promise_at=at(0, 12)) if order.id == "Y-1" else order
        for order in yard.outlook.orders
    )
    yard.outlook = replace(yard.outlook, orders=orders)
    win.menus.refresh.trigger()
    idle(qtbot, win)
    lock_last(qtbot, win)
    win.week.open_order("Y-1")
    assert "why:Y-1" in win.week._text.toHtml()
    win.week._follow_link(QUrl("why:Y-1"))
    assert asked == [(plan_of(win), "Y-1"), "open"], "with the changes that are not saved yet"
    win.week.open_order("Y-3")
    assert "why:Y-3" not in win.week._text.toHtml(), "it is on time"


# What could be lost


def test_closing_and_building_ask_first_what_becomes_of_unsaved_changes(win, keeper, yard, qtbot):
    lock_last(qtbot, win)
    assert not win.close()
    box = win.findChild(QMessageBox, "unsaved_box")
    assert "not saved: 1" in box.text()
    box.button(QMessageBox.StandardButton.Cancel).click()
    assert win.isVisible()
    box.deleteLater()
    box.setObjectName("")
    win.menus.build.trigger()
    box = win.findChild(QMessageBox, "unsaved_box")
    box.button(QMessageBox.StandardButton.Save).click()
    qtbot.waitUntil(lambda: bool(yard.asked), timeout=20_000)
    done(qtbot, win)
    idle(qtbot, win)
    assert any("locked" in note for note in keeper.notes), "the lock was kept before the new plan was searched"


def test_discarded_changes_are_gone(win, qtbot):
    before = plan_of(win)
    lock_last(qtbot, win)
    win.versions.ask_first(lambda: None)
    win.findChild(QMessageBox, "unsaved_box").button(QMessageBox.StandardButton.Discard).click()
    idle(qtbot, win)
    assert plan_of(win) == before
    assert win.editing.unsaved == 0


def test_locks_that_clash_are_named_and_one_can_be_undone(win, yard, qtbot):
    orders = yard.outlook.orders
    slot = 288 + 12 * 10
    one = cycle("C1", "1A", slot, orders[0], locked=True)
    two = cycle("C2", "1A", slot + 21, orders[0], "P3", locked=True)
    yard.plans.append(stored(Plan(yard.outlook.grid, (one, two)), 6))
    win.menus.refresh.trigger()
    idle(qtbot, win)
    win.editing.offer_for_locks(LocksClash(("1A is used twice by C1 and C2 from 11:45 to 12:05",), ("C1", "C2")))
    box = win.findChild(QMessageBox, "locks_clash")
    assert "C1 and C2 from 11:45" in box.informativeText()
    button = box.findChild(QPushButton, "unlock_C2")
    button.click()
    idle(qtbot, win)
    assert [row.locked for row in plan_of(win).cycles] == [True, False]
