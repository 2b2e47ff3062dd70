"""The Today page: cards from log, plan and sky; each press is one entry."""

from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton, QToolButton

from tests.small_yard import at
from tests.ui.weeks import small_outlook, small_plan, stored
from yardplan.domain.days import UnitDay
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.events import Choice, Event, EventKind
from yardplan.domain.history import state_of
from yardplan.domain.live import LiveCook, LiveEstimate
from yardplan.domain.starts import LatestStart
from yardplan.domain.weather_in_use import WeatherInUse
from yardplan.exchange.entries import Entry
from yardplan.ui.card import PRESS_PX, LineView
from yardplan.ui.day import Day, event_words
from yardplan.ui.jobs import Sky, Today, Week
from yardplan.ui.palette import DARK, LIGHT
from yardplan.ui.today import DECIDE, FINISHING, PEOPLE, TodayPage

K = EventKind


def log(*told):
    """Events of chamber 1A, or of what is named, in the order given: (kind, hour, other fields)."""
    return tuple(
        Event(kind, at(0, hour), at(0, hour), "tester", number=number, **{"subject": "1A", **more})
        for number, (kind, hour, more) in enumerate(told, 1)
    )


CHARGED = (
    K.CHARGE,
    9.0,
    {
        "mold": MoldCopy("M1", 1),
        "order_id": "Y-1",
        "product_id": "TANK",
        "color": "sand",
        "cycle_id": "1A-0517-1",
        "planned_id": "C1",
    },
)
HEATING = (CHARGED, (K.HEAT, 9.5, {}))
HELD = (*HEATING, (K.HOLD, 9.75, {}))
COOLING = (*HEATING, (K.PIAT, 10.5, {"amount": 205.0}))
OUT = (*COOLING, (K.DEMOLD, 11.25, {}))


def a_day(hour, *told, with_plan=True, in_force=True):
    outlook = small_outlook(now=at(0, hour))
    kept = stored(small_plan(outlook), 3) if with_plan else None
    on = outlook.grid.days[0][0]
    fan = UnitDay(on, "U1", (1.0, 2.0, 3.0), 0, outlook.heat.field_kw[:3, 0, :288])
    latest = LatestStart(on, "U1", "1A", "M1", "TANK", 186)
    sky = Sky(WeatherInUse("America/Denver", "x"), (), {("U1", on): fan}, 9.0, {}, {("U1", on): (latest,)}, (), ())
    state = state_of(outlook.yard, kept.outcome.plan if kept else None, log(*told), at(0, hour))
    today = Today(state, outlook.yard, kept if in_force else None, "tester")
    return Week(outlook, sky, today, kept), today


def card(hour, *told, chamber="1A", **more):
    return next(one for one in Day(*a_day(hour, *told, **more)).cards() if one.chamber_id == chamber)


# What a card tells


def test_an_empty_chamber_offers_the_charge_that_is_due():
    """The plan charges C1 at 09:00; at 09:30 somebody should come."""
    before, after = card(8.9), card(9.5)
    assert before.act == after.act
    assert after.act.entry == Entry(K.CHARGE, "1A", order_id="Y-1")
    assert (before.promise, before.needs) == ("charge due 09:00", False)
    assert (after.promise, after.needs) == ("charge due since 09:00", True)
    assert after.after == "latest start 15:30"
    assert after.what == "Y-1  Tank, sand"


def test_what_is_far_off_is_told_but_not_offered():
    early = card(-20)
    assert early.act is None
    assert early.promise == "charge due Mon 17 May 09:00"


def test_another_mold_is_hung_before_the_cycle_that_needs_it():
    """On Tuesday M2#2 is hung in 1B, from 08:00."""
    done = (
        K.CHARGE,
        10,
        {"subject": "1B", "mold": MoldCopy("M2", 1), "order_id": "Y-2", "product_id": "BIN", "color": "black",
         "cycle_id": "1B-1", "planned_id": "C3"},
    )  # fmt: skip
    rest = ((K.HEAT, 10.5, {"subject": "1B"}), (K.PIAT, 11.5, {"subject": "1B", "amount": 200.0}),
            (K.DEMOLD, 12.5, {"subject": "1B"}))  # fmt: skip
    told = card(32.5, done, *rest, chamber="1B")
    assert told.act.entry == Entry(K.MOLD, "1B", mold=MoldCopy("M2", 2))
    assert told.needs
    assert told.what == "hang M2#2 (Mold M2)"


def test_a_charged_chamber_says_what_a_start_now_would_come_to():
    """At 09:30 the hand-made cook table has 45 x (1 + 0.75^2) = 70.3 min, rounded up to 75: PIAT at 10:45."""
    told = card(9.5, CHARGED)
    assert told.act.entry == Entry(K.HEAT, "1A")
    assert told.promise == "started now: PIAT 10:45 to 10:45"
    assert told.state == "charged since 09:00"


def test_a_heating_chamber_has_its_span_and_can_lose_its_sun():
    told = card(10, *HEATING)
    assert told.promise == "PIAT 10:45 to 10:45"
    assert told.act.entry == Entry(K.PIAT, "1A")
    assert [act.entry.kind for act in told.more] == [K.HOLD]
    assert not told.needs
    cycle, tail, now = told.drawing
    assert (cycle.heat_slot, tail, now) == (114, (15,), 120)
    late = card(11, *HEATING)
    assert late.needs
    assert late.promise == "PIAT was due by 10:45: look at it"


def test_a_stopped_cook_asks_for_a_decision_and_nothing_is_logged_by_its_press():
    told = card(10, *HELD)
    assert told.needs
    assert told.act.entry is None
    assert told.state == "lost its sun 15 min ago"
    decided = card(10, *HELD, (K.DECIDE, 9.9, {"choice": Choice.WAIT}))
    assert decided.promise == "09:54 tester: keep turning and wait"
    given_up = card(10, *HELD, (K.DECIDE, 9.9, {"choice": Choice.SCRAP}))
    assert given_up.act.entry == Entry(K.DEMOLD, "1A")
    back = card(10, *HELD, (K.HEAT, 9.9, {}))
    assert "interrupted 1 times" in back.promise


def test_a_cooling_chamber_says_from_when_it_can_be_opened_and_defers_to_measuring():
    told = card(10.75, *COOLING)
    assert told.promise == "open from about 11:05; measure first"
    assert told.act.entry == Entry(K.DEMOLD, "1A")
    assert told.more[0].entry == Entry(K.DEMOLD, "1A", good=0, scrapped=1)
    assert card(11.5, *COOLING).needs


def test_after_the_cycle_comes_the_next_of_the_plan():
    told = card(11.5, *OUT)
    assert told.promise == "charge due 12:00"
    assert "Y-1" in told.what
    assert card(10, *HEATING).after == "then 12:00 Y-1, latest start 15:30"


def test_stowed_mirrors_are_told():
    told = card(10, *HELD, (K.STOW, 9.9, {"subject": "", "reason": "gusts"}))
    assert "mirrors stowed since 09:54 (gusts)" in told.state


def test_without_a_plan_cards_have_nothing_to_log():
    told = card(9, with_plan=False, in_force=False)
    assert told.act is None
    assert "nothing more is planned" in told.what


# Finishing and people


def test_finishing_waits_for_its_pieces():
    def lines(hour, *told):
        return {line.key: line for line in Day(*a_day(hour, *told)).finishing()}

    assert "F1" not in lines(8), "at 14:00 it is another shift's"
    assert "not charged yet" in lines(14.1)["F1"].text
    assert "still in the mold" in lines(14.1, *HEATING)["F1"].text
    ready = lines(11.5, *OUT)["F1"]
    assert ready.act.entry == Entry(K.STEP, "W1", cycle_id="1A-0517-1", step_ix=0, person="P2")
    begun = (*OUT, (K.STEP, 14, {"subject": "W1", "cycle_id": "1A-0517-1", "step_ix": 0, "person": "P2"}))
    assert lines(14.1, *begun)["F1"].act.entry.kind is K.DONE
    done = (*begun, (K.DONE, 14.4, {"subject": "W1", "cycle_id": "1A-0517-1", "step_ix": 0, "person": "P2"}))
    assert "F1" not in lines(14.5, *done)


def test_who_is_where_by_the_plan_and_who_is_absent():
    def lines(hour, *told):
        return {line.key: line for line in Day(*a_day(hour, *told)).people()}

    early = lines(9.1)
    assert set(early) == {"P1", "P3"}, "the early shift"
    assert early["P1"].text.startswith("now charge 1A-01")
    assert early["P3"].text.startswith("free, from 10:00 charge 1B-01")
    assert early["P1"].act.entry == Entry(K.ABSENT, "P1")
    absent = lines(9.1, (K.ABSENT, 8.5, {"subject": "P3"}))
    assert absent["P3"].act.entry == Entry(K.BACK, "P3")


# The page


@pytest.fixture
def page(qtbot):
    made = TodayPage(LIGHT)
    qtbot.addWidget(made)
    made.resize(1280, 690)
    made.show()
    return made


@pytest.mark.gui
def test_one_press_logs_the_next_event(page, qtbot):
    page.show_day(*a_day(10, *HEATING))
    with qtbot.waitSignal(page.logged) as sent:
        qtbot.mouseClick(page._cards["1A"].button, Qt.MouseButton.LeftButton)
    assert sent.args == [Entry(K.PIAT, "1A"), None, ""]
    page.ago.setCurrentIndex(page.ago.findData(10))
    page.who.setCurrentIndex(page.who.findData("Person 2"))
    with qtbot.waitSignal(page.logged) as sent:
        page._cards["1A"]._menu.actions()[0].trigger()
    assert sent.args == [Entry(K.HOLD, "1A"), at(0, 10) - timedelta(minutes=10), "Person 2"]
    page.set_idle(False)
    assert not page._cards["1A"].button.isEnabled(), "while one press is kept there is no second"


@pytest.mark.gui
def test_a_decision_has_nothing_pressed_and_needs_a_name(page, qtbot):
    page.show_day(*a_day(10, *HELD))
    qtbot.mouseClick(page._cards["1A"].button, Qt.MouseButton.LeftButton)
    assert page._stack.currentIndex() == DECIDE
    panel = page.decide
    assert "lost its sun 15 min ago" in panel._title.text()
    assert "no rule of cure" in panel._told.text()
    # 15 kWh of charge over a reserve of 6 turn two molds of 0.4 kW each
    assert "11.2 h" in panel._known.text() or "11.3 h" in panel._known.text()
    for button in panel.choices.values():
        assert not button.isDefault()
        assert not button.autoDefault()
        assert not button.isCheckable()
    with qtbot.assertNotEmitted(page.logged):
        qtbot.mouseClick(panel.choices[Choice.ACCEPT], Qt.MouseButton.LeftButton)
    assert "who decides" in panel._known.text()
    panel.who.setCurrentIndex(panel.who.findData("Person 1"))
    panel.air.setValue(190)
    panel.reason.setText("smooth inside")
    with qtbot.waitSignal(page.logged) as sent:
        qtbot.mouseClick(panel.choices[Choice.ACCEPT], Qt.MouseButton.LeftButton)
    wanted = Entry(K.DECIDE, "1A", choice=Choice.ACCEPT, amount=190.0, reason="smooth inside")
    assert sent.args == [wanted, None, "Person 1"]
    page.show_day(*a_day(10, *HELD, (K.DECIDE, 9.9, {"choice": Choice.SCRAP})))
    assert page._stack.currentIndex() != DECIDE, "there is nothing to decide any more"


def test_an_estimate_is_told_with_chance_and_clock(page):
    page.show_day(*a_day(10, *HELD))
    page._cards["1A"].button.click()
    estimate = LiveEstimate(140.0, 150.0, 130.0, 0.4, 0.63, (20.0, 30.0, float("inf")), None, 25.0, 1.0, 2.0)
    cook = LiveCook("1A", "U1", "M1", "TANK", 205.0, at(0, 9.5), at(0, 10), False, estimate, "America/Denver")
    page.decide.show_estimate(cook)
    told = page.decide._known.text()
    for part in ("63%", "40%", "10:20", "lost in 25 min"):
        assert part in told
    page.decide.show_estimate(replace(cook, estimate=replace(estimate, lost_min=-float("inf"))))
    assert "No sky" in page.decide._known.text()


def test_controls_are_large_named_and_reached_by_keyboard(page):
    page.show_day(*a_day(10, *HEATING))
    for ix in range(4):
        page._show_tab(ix)
        shown = [w for w in page.findChildren(QPushButton) + page.findChildren(QToolButton) if w.isVisible()]
        assert shown
        for control in shown:
            assert control.text() or control.accessibleName()
            assert control.height() >= (48 if control.property("kind") == "tab" else PRESS_PX)
            assert control.focusPolicy() & Qt.FocusPolicy.TabFocus
    assert page._cards["1A"].button.accessibleDescription().startswith("1A. heating since 09:30")


def test_what_was_kept_can_be_taken_back(page, qtbot):
    page.show_day(*a_day(10, *HEATING))
    events = log(*HEATING)[1:]
    page.show_logged(events, f"Logged: {event_words(events[0])}")
    assert "the sun is on 1A" in page._told.text()
    with qtbot.waitSignal(page.taken_back) as sent:
        page.undo.click()
    assert sent.args == [events, ""]
    page.show_logged((), "not taken: why")
    assert not page.undo.isVisible()


def test_the_sky_tab_reads_publishes_stows_and_notes(page, qtbot):
    page.show_day(*a_day(10, *HEATING, (K.NOTE, 9.9, {"subject": "", "reason": "clamp loose"}), in_force=False))
    page._show_tab(3)
    assert "clamp loose" in page._notes.text()
    assert "800 W/m²" in page._sun_told.text()
    page.sun.setValue(640)
    for press, signal, args in (
        (page.log_sun, page.sun_read, [640.0, ""]),
        (page.publish, page.publish_wanted, [3]),
        (page.stow, page.logged, [Entry(K.STOW), None, ""]),
    ):
        with qtbot.waitSignal(signal) as sent:
            press.click()
        assert sent.args == args
    assert not page.unstow.isEnabled()
    page.note.setText("M2 sticks")
    with qtbot.waitSignal(page.logged) as sent:
        page.log_note.click()
    assert sent.args[0] == Entry(K.NOTE, reason="M2 sticks")
    page.show_day(*a_day(10, (K.STOW, 9.9, {"subject": ""})))
    assert page.unstow.isEnabled()


def test_lines_stay_where_nothing_changed(page):
    page.show_day(*a_day(11.5, *OUT))
    page._show_tab(FINISHING)
    before = page._stack.widget(FINISHING).findChildren(LineView)
    assert before
    page.show_day(*a_day(11.5, *OUT))
    assert page._stack.widget(FINISHING).findChildren(LineView) == before
    page._show_tab(PEOPLE)


@pytest.mark.parametrize("colors", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("width_px", [1280, 1920, 500])
def test_the_cards_fit_their_page(page, colors, width_px):
    page.resize(width_px, 690)
    page.set_colors(colors)
    page.show_day(*a_day(10, *HEATING))
    page.grab()
    for view in page._cards.values():
        assert view.width() >= min(280, width_px - 40)
        assert view.button.geometry().bottom() <= view.height()
    page.show_message("No yard")
    assert page._message.isVisible()
