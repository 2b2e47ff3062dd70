from dataclasses import replace
from datetime import UTC, datetime

import pytest
from PySide6.QtCore import QLocale

from tests.small_yard import at
from tests.ui.weeks import small_outlook, small_plan, stored
from yardplan.domain.outcome import Status
from yardplan.domain.people import Downtime, ResourceKind
from yardplan.domain.plan import OrderResult, order_results
from yardplan.domain.rules import Blocked, Why
from yardplan.domain.shop_sheet import short_codes
from yardplan.domain.slots import zone
from yardplan.ui.dates import clock_text, day_text, day_time_text, due_text, hour_text
from yardplan.ui.words import Words


@pytest.fixture
def outlook():
    return small_outlook()


@pytest.fixture
def plan(outlook):
    return small_plan(outlook)


@pytest.fixture
def words(outlook, plan):
    return Words(outlook.yard, plan)


def test_a_cycle_is_told_with_place_order_and_times(words, plan):
    told = words.cycle(plan.cycles[0])
    assert told == (
        "Unit 1 chamber 1A, order Y-1, Tank sand, mold M1#1, planned Mon 17 May 09:00, heat 09:25 to 10:10, "
        "cool to 10:45, demold 10:50 to 11:05"
    )


def test_locked_and_late_are_words(words, plan):
    locked = next(cycle for cycle in plan.cycles if cycle.locked)
    assert words.cycle(locked).endswith(", locked")
    late = OrderResult("Y-2", 5, 0, 400, 60)
    assert ", its order is late 5 h, locked" in words.cycle(locked, late)
    short = OrderResult("Y-2", 3, 2, None, 0)
    assert ", its order lacks 2 pieces, locked" in words.cycle(locked, short)


def test_mold_changes_finishing_and_people_are_told(words, plan, outlook):
    assert words.change(plan.mold_changes[0]) == (
        "Unit 1 chamber 1B, mold change: take out M2#1, hang M2#2, Tue 18 May, 08:00 to 09:00, crew Person 1, Person 3"
    )
    assert "hang M2#2" in words.change(replace(plan.mold_changes[0], mold_out=None))
    assert words.finish(plan.finishing[0]) == (
        "Bench 1, cut, order Y-1, cycle 1A-01, Mon 17 May, 14:00 to 14:20, Person 2, 0.3 kWh"
    )
    down = Downtime(ResourceKind.UNIT, "U1", at(0, 6), at(0, 8), "mirror wash")
    assert words.downtime(down) == "out of work: unit U1, mirror wash, Mon 17 May 06:00 to Mon 17 May 08:00"


def test_codes_count_within_chamber_and_day(plan, outlook):
    assert short_codes(outlook.yard, plan.cycles, outlook.grid) == {
        "C1": "1A-01",
        "C2": "1A-02",
        "C3": "1B-01",
        "C4": "1B-01",
    }


def test_a_date_that_ends_with_its_day_is_told_as_that_day():
    denver = zone("America/Denver")
    assert due_text(datetime(2027, 5, 19, tzinfo=denver)) == "Tue 18 May"
    assert due_text(datetime(2027, 5, 19, 12, 30, tzinfo=denver)) == "Wed 19 May 12:30"


@pytest.mark.parametrize(
    ("locale", "day", "clock", "hour"),
    [
        ("en_GB", "Mon 17 May", "14:05", "14:00"),
        ("en_US", "Mon May 17", "2:05\u202fPM", "2 PM"),
        ("de_DE", "Mo. 17 Mai", "14:05", "14:00"),
    ],
)
def test_days_and_times_follow_the_locale(locale, day, clock, hour):
    """Source: Unicode CLDR, as Qt carries it: order of day and month, clock of 12 or 24 hours."""
    QLocale.setDefault(QLocale(locale))
    moment = datetime(2027, 5, 17, 14, 5, tzinfo=UTC)
    assert day_text(moment) == day
    assert clock_text(moment) == clock
    assert hour_text(moment.replace(minute=0)) == hour
    assert day_time_text(moment) == f"{day} {clock}"


@pytest.mark.parametrize(
    ("slots", "told"),
    [(0, "0 min"), (7, "35 min"), (12, "1 h"), (25, "2 h 05 min"), (288, "1 d"), (288 * 2 + 48, "2 d 4 h")],
)
def test_lengths_of_time(words, slots, told):
    assert words.length(slots) == told


def test_orders_are_told_with_the_amount(words, outlook):
    order = outlook.orders[0]
    assert words.state(OrderResult("Y-1", 4, 0, 300, 0), order) == "on time"
    assert words.state(OrderResult("Y-1", 4, 0, 700, 60), order) == "late 5 h"
    assert words.state(OrderResult("Y-1", 1, 3, None, 0), order) == "unfinished: 3 of 4 missing"
    assert words.state(OrderResult("Y-1", 1, 3, None, 12), order) == "unfinished: 3 of 4 missing, late 1 h"


def test_every_status_and_every_reason_has_words(words):
    assert len({words.status(status) for status in Status}) == len(Status)
    told = {words.reason(Blocked("Y-1", why)) for why in Why}
    assert len(told) == len(Why)
    assert words.reason(Blocked("Y-1", Why.NO_RESIN, "PE sand: 3 kg short")).endswith("(PE sand: 3 kg short)")


def test_the_summary_tells_number_time_status_orders_gap_and_sun(words, plan, outlook):
    told = words.summary(stored(plan, 3), order_results(plan, outlook.orders, outlook.yard))
    for part in (
        "Plan 3", "made Mon 17 May 06:00", "best found in its time", "orders: 0 on time, 0 late, 3 unfinished",
        "gap 25%", "at 80% confidence", "heat: a sine, invented",
    ):  # fmt: skip
        assert part in told


def test_a_gap_without_a_bound_is_not_given_a_figure(words):
    assert words.gap(100, 0) == "gap not known"
    assert words.gap(100, 100) == "gap 0%"
    assert words.gap(0, 0) == "gap 0%"
