from dataclasses import replace

import pytest
from PySide6.QtGui import QTextDocument

from tests.ui.weeks import small_outlook, small_plan
from yardplan.domain.plan import Plan
from yardplan.ui.details import Details
from yardplan.ui.words import Words


@pytest.fixture
def outlook(qapp):
    return small_outlook()


def plain(outlook, plan, of):
    document = QTextDocument()
    document.setHtml(of(Details(outlook, plan, Words(outlook.yard, plan))))
    return document.toPlainText().replace("\xa0", " ")


def test_a_cycle_tells_order_place_times_people_and_finishing(outlook):
    told = plain(outlook, small_plan(outlook), lambda details: details.of_cycle("C1"))
    for part in (
        "1A-01", "Tank, sand", "Y-1", "Unit 1 chamber 1A", "M1#1", "Times, Mon 17 May", "charge\n09:00 to 09:15",
        "wait\n10 min for heat", "heat\n09:25 to 10:10", "cook\n45 min", "80% of skies: PIAT by 10:40",
        "20.0 kWh (median)", "wait\n5 min for crew", "demold\n10:50 to 11:05", "Person 1",
        "cut\nMon 17 May, 14:00 to 14:20\nBench 1, Person 2\n0.33 kWh", "Invented Farm", "4 pieces", "due\nTue 18 May",
        "promised\nTue 18 May", "finish\nnot in this plan", "unfinished: 3 of 4 missing",
    ):  # fmt: skip
        assert part in told, part


def test_what_a_cycle_lacks_is_said(outlook):
    told = plain(outlook, small_plan(outlook), lambda details: details.of_cycle("C4"))
    assert "no finishing in this plan" in told
    locked = plain(outlook, small_plan(outlook), lambda details: details.of_cycle("C3"))
    assert "locked\nyes" in locked
    assert "clean down\n10:00 to 10:10" in locked
    assert "not promised" in locked


def test_a_cook_that_may_stall_is_told(outlook):
    early = replace(small_plan(outlook).cycles[0], charge_slot=0, heat_slot=5)
    told = plain(outlook, Plan(outlook.grid, (early,)), lambda details: details.of_cycle("C1"))
    assert "80% of skies: stalls" in told


def test_a_cycle_over_midnight_tells_its_days(outlook):
    night = replace(small_plan(outlook).cycles[0], demold_slot=300, end_slot=303)
    told = plain(outlook, Plan(outlook.grid, (night,)), lambda details: details.of_cycle("C1"))
    assert "demold\nTue 18 May, 01:00 to 01:15" in told


def test_a_mold_change_is_told(outlook):
    told = plain(outlook, small_plan(outlook), lambda details: details.of_change("X1"))
    for part in ("take out\nM2#1", "hang\nM2#2 Mold M2", "takes\n1 h", "Person 1, Person 3", "locked\nno"):
        assert part in told


def test_text_from_people_is_not_taken_for_markup(outlook):
    order = replace(outlook.orders[0], customer="<b>Farm</b> & <img src=x>")
    told = plain(
        replace(outlook, orders=(order, *outlook.orders[1:])),
        small_plan(outlook),
        lambda details: details.of_cycle("C1"),
    )
    assert "<b>Farm</b> & <img src=x>" in told
