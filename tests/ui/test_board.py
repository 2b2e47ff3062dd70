from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QHelpEvent, QImage, QPainter, QWheelEvent
from PySide6.QtWidgets import QApplication, QToolTip

from tests.small_yard import at, small_yard
from tests.ui.weeks import big_week, small_outlook, small_plan
from yardplan.domain.people import Downtime, ResourceKind
from yardplan.domain.plan import Plan
from yardplan.ui.board import Board
from yardplan.ui.lanes import LaneKind
from yardplan.ui.look import Look
from yardplan.ui.marks import CycleMark, Mood
from yardplan.ui.palette import DARK, LIGHT, PAPER
from yardplan.ui.scene import BoardScene, ends_of_heat
from yardplan.ui.words import Words

WHEEL = 120
NOTHING = frozenset()


def scene_of(outlook, plan, colors=LIGHT, hidden=NOTHING):
    return BoardScene(Look(colors, QFont()), outlook, plan, Words(outlook.yard, plan), hidden)


@pytest.fixture
def outlook():
    wash = Downtime(ResourceKind.UNIT, "U1", at(2, 6), at(2, 8), "mirror wash")
    return small_outlook(replace(small_yard(), downtimes=(wash,)))


@pytest.fixture
def board(outlook, qtbot):
    made = Board()
    qtbot.addWidget(made)
    made.resize(1000, 700)
    made.show_board(scene_of(outlook, small_plan(outlook)))
    made.show()
    qtbot.waitExposed(made)
    made.view.show_span(100, 200)
    return made


def wheel(view, x, turned, keys=Qt.KeyboardModifier.ControlModifier):
    place = QPointF(x, 50)
    where = view.viewport().mapToGlobal(place)
    event = QWheelEvent(
        place, where, QPoint(), QPoint(0, turned), Qt.MouseButton.NoButton, keys, Qt.ScrollPhase.NoScrollPhase, False
    )
    QApplication.sendEvent(view.viewport(), event)


def center(view, mark):
    middle = (mark.spot.start_slot + mark.spot.end_slot) / 2
    return view.mapFromScene(QPointF(middle, mark.spot.top_px + mark.spot.height_px / 2))


# What stands on the board


def test_everything_in_the_plan_has_its_mark_and_its_name(outlook):
    plan = small_plan(outlook)
    scene = scene_of(outlook, plan)
    for row in plan.cycles:
        mark = scene.marks["cycle", row.id]
        assert (mark.spot.start_slot, mark.spot.end_slot) == (row.charge_slot, row.end_slot)
        assert row.order_id in mark.name
        assert "Unit 1 chamber" in mark.name
        assert ("locked" in mark.name) == row.locked
        people = [(who, part) for part in ("charge", "demold") for who in getattr(row, f"{part}_crew")]
        assert all(("crew", f"{who}|{part}|{row.id}") in scene.marks for who, part in people)
    for row in plan.mold_changes:
        assert "mold change" in scene.marks["change", row.id].name
        assert all(("crew", f"{who}|change|{row.id}") in scene.marks for who in row.crew)
    for row in plan.finishing:
        assert "kWh" in scene.marks["finish", row.id].name
        assert ("crew", f"{row.operator_id}|finish|{row.id}") in scene.marks
    assert sum(kind == "down" for kind, _ in scene.marks) == 3, "ribbon and both chambers"
    for marks in scene.choices.values():
        for mark in marks:
            assert len(mark.name) > 10


def test_marks_stand_in_their_row(outlook):
    scene = scene_of(outlook, small_plan(outlook))
    for lane, marks in scene.choices.items():
        for mark in marks:
            assert lane.top_px <= mark.spot.top_px
            assert mark.spot.top_px + mark.spot.height_px <= lane.bottom_px + 0.01


def test_each_day_has_its_heat_in_kwh(outlook):
    scene = scene_of(outlook, Plan(outlook.grid))
    # A half sine of 12 h holds 2/pi of its height times 12 h: at the median of 80 kW 611 kWh. Elementary integral.
    told = scene.marks["heat", "U1|2027-05-17"].name
    assert "likely 611 kWh (489 to 733)" in told


def test_the_evening_shows_what_benches_spend_of_it(outlook):
    scene = scene_of(outlook, small_plan(outlook))
    told = [mark.name for (kind, _), mark in scene.marks.items() if kind == "evening"]
    # F2 draws 0.33 kWh after 20:00 on Monday; F1 is in daylight.
    assert sum("0.3 of 6.0 kWh" in name for name in told) == 1
    assert sum("0.0 of 6.0 kWh" in name for name in told) == len(told) - 1


def test_ends_of_heat_come_from_the_cook_table(outlook):
    cycle = small_plan(outlook).cycles[0]
    # 45 min times 1 + ((9.4167 - 12.5) / 4)^2, rounded up to slots of 5 min.
    assert ends_of_heat(cycle, outlook) == [(0.8, 15)]
    assert ends_of_heat(replace(cycle, heat_slot=0), outlook) == [(0.8, 0)], "before sunrise it stalls"


def test_each_day_with_work_has_its_latest_safe_start(outlook):
    """The hand-made cook table has no start after 15:30."""
    scene = scene_of(outlook, small_plan(outlook))
    latest = {ident: mark for (kind, ident), mark in scene.marks.items() if kind == "latest"}
    assert set(latest) == {"1A|2027-05-17", "1B|2027-05-17", "1B|2027-05-18"}
    for mark in latest.values():
        local = outlook.grid.local(int(mark.spot.start_slot))
        assert (local.hour, local.minute) == (15, 30)
    assert "Unit 1 chamber 1A: latest safe start of Tank on Mon 17 May is 15:30" in latest["1A|2027-05-17"].name
    assert latest["1A|2027-05-17"]._labels[0] == "latest start 15:30"


def test_rows_can_be_hidden(outlook):
    scene = scene_of(outlook, small_plan(outlook), hidden=frozenset({"crew", "battery"}))
    assert {lane.kind for lane in scene.lanes} == {LaneKind.HEAT, LaneKind.CHAMBER, LaneKind.BENCH}
    assert not any(kind in ("crew", "evening") for kind, _ in scene.marks)


@pytest.mark.parametrize("colors", [LIGHT, DARK, PAPER], ids=["light", "dark", "paper"])
@pytest.mark.parametrize("span", [(0, 864), (100, 388), (110, 140), (122, 124)])
def test_words_never_leave_their_mark(outlook, colors, span):
    scene = scene_of(outlook, small_plan(outlook), colors)
    scene.seen_slots = span
    image = QImage(900, int(scene.height()), QImage.Format.Format_RGB32)
    image.fill(0)
    painter = QPainter(image)
    target = QRectF(0, 0, 900, scene.height())
    source = QRectF(span[0], 0, span[1] - span[0], scene.height())
    scene.render(painter, target, source, Qt.AspectRatioMode.IgnoreAspectRatio)
    painter.end()
    seen = 0
    for mark in scene.marks.values():
        label = getattr(mark, "_label", "")
        if label and mark.spot.start_slot < span[1] and mark.spot.end_slot > span[0]:
            seen += 1
            assert mark.look.metrics.horizontalAdvance(label) <= mark.right_px - mark.left_px
    assert seen > 0


def test_phases_differ_by_shape_and_texture_not_only_by_color(outlook):
    """In pure black and white a cycle still shows a filled rise, a lined fall and low blocks."""
    plan = small_plan(outlook)
    scene = scene_of(outlook, plan)
    mark = scene.marks["cycle", "C1"]
    assert isinstance(mark, CycleMark)
    px_per_slot = 20.0
    mark.left_px, mark.right_px = 0.0, 25 * px_per_slot
    mark.prepare(25 * px_per_slot, px_per_slot)
    image = QImage(int(25 * px_per_slot), int(mark.spot.height_px), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    mark.draw(painter, 25 * px_per_slot)
    painter.end()

    def inked(first_slot, last_slot, top_px, bottom_px):
        places = [
            (x, y)
            for x in range(int(first_slot * px_per_slot) + 4, int(last_slot * px_per_slot) - 4)
            for y in range(int(top_px), int(bottom_px))
        ]
        return sum(image.pixelColor(*place).lightness() < 200 for place in places) / len(places)

    base = mark.spot.height_px - 5
    heat, cool, demold = inked(11, 14, base - 14, base), inked(14, 16, base - 14, base), inked(22, 25, 0, base - 20)
    assert heat > 0.95
    assert 0.2 < cool < 0.8
    assert demold < 0.2
    rising = [inked(slot, slot + 1, 20, base) for slot in range(5, 13)]
    assert rising == sorted(rising)


# Zoom and pan


def test_zooming_in_and_out_comes_back(board):
    view = board.view
    before = (view.left_slot, view.right_slot)
    for turned in [WHEEL] * 5 + [-WHEEL] * 5:
        wheel(view, 400, turned)
    px = view.px_per_slot
    assert abs(view.left_slot - before[0]) * px <= 1
    assert abs(view.right_slot - before[1]) * px <= 1


def test_what_is_under_the_pointer_stays_there(board):
    view = board.view
    for turned in (WHEEL, WHEEL, WHEEL, -WHEEL):
        slot = view.left_slot + 300 / view.px_per_slot
        wheel(view, 300, turned)
        assert abs((slot - view.left_slot) * view.px_per_slot - 300) <= 1


def test_zoom_ends_at_an_hour_and_at_the_whole_plan(board):
    view = board.view
    view.zoom_to(1e9, 0)
    assert view.right_slot - view.left_slot == pytest.approx(12)
    view.zoom_to(1e-9, 0)
    assert (view.left_slot, view.right_slot) == pytest.approx((0, 864))


def test_wheel_pans_up_and_down_and_with_shift_to_the_sides(board):
    view = board.view
    board.resize(1000, 300)
    left, top = view.left_slot, view.verticalScrollBar().value()
    wheel(view, 100, -WHEEL, Qt.KeyboardModifier.NoModifier)
    assert view.verticalScrollBar().value() > top
    assert view.left_slot == left
    wheel(view, 100, -WHEEL, Qt.KeyboardModifier.ShiftModifier)
    assert view.left_slot > left


def test_a_wider_window_shows_the_same_time(board, qtbot):
    before = (board.view.left_slot, board.view.right_slot)
    board.resize(1400, 700)
    qtbot.waitUntil(lambda: board.view.viewport().width() > 1000)
    assert (board.view.left_slot, board.view.right_slot) == pytest.approx(before, abs=0.1)


def test_axis_and_names_follow_the_board(board):
    board.view.show_span(300, 400)
    assert board.axis._left == pytest.approx(300)
    assert board.axis._px_per_slot == board.view.px_per_slot
    board.resize(1000, 250)
    board.view.verticalScrollBar().setValue(60)
    assert board.pane._top == 60


@pytest.mark.gui
def test_keys_zoom_pan_and_go_to_now(board, qtbot):
    view = board.view
    board.activateWindow()
    view.setFocus()
    before = view.px_per_slot
    qtbot.keyClick(view, Qt.Key.Key_Plus)
    assert view.px_per_slot > before
    qtbot.keyClick(view, Qt.Key.Key_Minus)
    assert view.px_per_slot == pytest.approx(before)
    left = view.left_slot
    qtbot.keyClick(view, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    assert view.left_slot > left
    qtbot.keyClick(view, Qt.Key.Key_0)
    assert view.right_slot - view.left_slot == pytest.approx(864)
    view.show_span(400, 460)
    qtbot.keyClick(view, Qt.Key.Key_N)
    assert view.left_slot < view.board.now_slot < view.right_slot
    qtbot.keyClick(view, Qt.Key.Key_End)
    assert view.right_slot == pytest.approx(864, abs=0.2)
    qtbot.keyClick(view, Qt.Key.Key_Home)
    assert view.left_slot == 0


@pytest.mark.gui
def test_dragging_pans_and_chooses_nothing(board, qtbot):
    view = board.view
    left = view.left_slot
    place = center(view, view.board.marks["cycle", "C1"])
    qtbot.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=place)
    qtbot.mouseMove(view.viewport(), place + QPoint(-40, 0))
    qtbot.mouseMove(view.viewport(), place + QPoint(-80, 0))
    qtbot.mouseRelease(view.viewport(), Qt.MouseButton.LeftButton, pos=place + QPoint(-80, 0))
    assert view.left_slot > left
    assert view.mark is None


def test_the_now_line_stands_at_the_clock(board, outlook):
    assert board.view.board.now_slot == pytest.approx(90)  # 07:30
    board.show_now(board.view.board, outlook.now + timedelta(minutes=7))
    assert board.view.board.now_slot == pytest.approx(91.4)
    assert board.axis._now[0] == pytest.approx(91.4)
    assert board.axis._now[1].minute == 37


def test_now_before_the_plan_goes_to_its_start(qtbot, outlook):
    early = replace(outlook, now=at(-3, 8))
    board = Board()
    qtbot.addWidget(board)
    board.resize(900, 500)
    board.show_board(scene_of(early, small_plan(early)))
    board.view.show_span(300, 400)
    board.view.show_now()
    assert board.view.left_slot == 0
    assert not board.view.board._now_line.isVisible()


# Choice


@pytest.mark.gui
def test_a_click_chooses_and_the_same_cycles_work_stands_out(board, qtbot):
    view = board.view
    mark = view.board.marks["cycle", "C1"]
    with qtbot.waitSignal(board.chosen) as told:
        qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=center(view, mark))
    assert told.args == ["cycle", "C1"]
    assert mark.mood is Mood.CHOSEN
    assert view.board.marks["finish", "F1"].mood is Mood.RELATED
    assert view.board.marks["crew", "P1|charge|C1"].mood is Mood.RELATED
    assert view.board.marks["cycle", "C2"].mood is Mood.PLAIN
    assert view.accessibleDescription() == mark.name
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert view.mark is None
    assert mark.mood is Mood.PLAIN


@pytest.mark.gui
def test_a_frame_shows_that_the_keyboard_is_on_the_board(board, qtbot):
    """Source: W3C, WCAG 2.2, success criterion 2.4.7, focus visible."""
    board.activateWindow()
    board.view.setFocus()
    qtbot.waitUntil(board.view.hasFocus)
    framed = board.grab().toImage().pixelColor(1, 300)
    board.view.clearFocus()
    assert board.grab().toImage().pixelColor(1, 300) != framed


@pytest.mark.gui
def test_every_mark_can_be_reached_by_arrows(board, qtbot):
    view = board.view
    view.setFocus()
    qtbot.keyClick(view, Qt.Key.Key_Right)
    reached = set()
    for _ in range(20):
        for _ in range(8):
            qtbot.keyClick(view, Qt.Key.Key_Left)
        for _ in range(8):
            reached.add(view.mark.spot.key)
            qtbot.keyClick(view, Qt.Key.Key_Right)
        reached.add(view.mark.spot.key)
        qtbot.keyClick(view, Qt.Key.Key_Down)
    for _ in range(20):
        reached.add(view.mark.spot.key)
        qtbot.keyClick(view, Qt.Key.Key_Up)
    everything = {mark.spot.key for marks in view.board.choices.values() for mark in marks}
    assert reached == everything


def test_the_pointer_is_answered_with_the_sentence(board):
    mark = board.view.board.marks["cycle", "C3"]
    place = center(board.view, mark)
    ask = QHelpEvent(QEvent.Type.ToolTip, place, board.view.viewport().mapToGlobal(place))
    QApplication.sendEvent(board.view.viewport(), ask)
    assert QToolTip.text() == mark.name
    assert QToolTip.text().endswith("locked")


def test_a_double_click_and_enter_open_what_is_chosen(board, qtbot):
    view = board.view
    place = center(view, view.board.marks["cycle", "C1"])
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=place)
    with qtbot.waitSignal(board.opened):
        qtbot.mouseDClick(view.viewport(), Qt.MouseButton.LeftButton, pos=place)
    with qtbot.waitSignal(board.opened):
        qtbot.keyClick(view, Qt.Key.Key_Return)


def test_what_only_colors_the_ground_cannot_be_chosen(board, qtbot):
    view = board.view
    heat = view.board.marks["heat", "U1|2027-05-17"]
    place = view.mapFromScene(QPointF(150, heat.spot.top_px + 20))
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert view.mark is None


def test_locks_and_flags_are_drawn(outlook):
    """The same cycle with and without: the picture differs, so it does not hang on a tool tip alone."""
    plan = small_plan(outlook)
    pictures = []
    for orders, locked in ((outlook.orders, False), (outlook.orders, True), ((), False)):
        rows = tuple(replace(cycle, locked=locked) for cycle in plan.cycles)
        scene = scene_of(replace(outlook, orders=orders), replace(plan, cycles=rows))
        mark = scene.marks["cycle", "C1"]
        mark.left_px, mark.right_px = 0.0, 300.0
        mark.prepare(300.0, 12.0)
        image = QImage(300, int(mark.spot.height_px), QImage.Format.Format_RGB32)
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        mark.draw(painter, 300.0)
        painter.end()
        pictures.append(image)
    late, late_and_locked, not_known_to_be_late = pictures
    assert late != late_and_locked
    assert late != not_known_to_be_late


def test_a_choice_out_of_view_is_brought_into_view(board):
    view = board.view
    board.resize(1000, 300)
    for key in (("cycle", "C4"), ("finish", "F2"), ("cycle", "C1")):
        mark = view.board.marks[key]
        view.choose(mark)
        assert view.left_slot <= mark.spot.start_slot < mark.spot.end_slot <= view.right_slot + 0.01
        top = view.verticalScrollBar().value()
        assert top <= mark.spot.top_px
        assert mark.spot.top_px + mark.spot.height_px <= top + view.viewport().height()


def test_an_order_can_stand_out(board):
    board.light_orders(frozenset({"Y-1"}))
    moods = {key: mark.mood for key, mark in board.view.board.marks.items() if key[0] in ("cycle", "finish")}
    assert moods["cycle", "C1"] is Mood.PLAIN
    assert moods["finish", "F1"] is Mood.PLAIN
    assert moods["cycle", "C3"] is Mood.DIMMED
    board.light_orders(frozenset())
    assert all(mark.mood is Mood.PLAIN for mark in board.view.board.marks.values())


def test_a_new_plan_keeps_choice_and_view(board, outlook):
    board.view.choose(board.view.board.marks["cycle", "C2"])
    before = (board.view.left_slot, board.view.right_slot)
    board.show_board(scene_of(outlook, small_plan(outlook), DARK))
    assert board.view.mark is board.view.board.marks["cycle", "C2"]
    assert board.view.mark.mood is Mood.CHOSEN
    assert (board.view.left_slot, board.view.right_slot) == pytest.approx(before)
    gone = Plan(outlook.grid, small_plan(outlook).cycles[:1])
    board.show_board(scene_of(outlook, gone))
    assert board.view.mark is None


@pytest.mark.gui
def test_a_thousand_cycles_are_drawn(qtbot):
    outlook, plan = big_week(10)
    assert len(plan.cycles) == 980
    board = Board()
    qtbot.addWidget(board)
    board.resize(1200, 700)
    board.show_board(scene_of(outlook, plan))
    board.show()
    board.view.show_all()
    image = board.grab().toImage()
    colors = {image.pixelColor(x, y).name().upper() for x in range(200, 1200, 2) for y in range(60, 600, 3)}
    assert LIGHT.heat in colors
