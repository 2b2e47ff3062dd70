"""Shifts by the local clock, worked out by hand in UTC, over midnight and over both changes of the clock.

Source: US daylight saving time runs from 02:00 on the second Sunday of March to 02:00 on the first Sunday of
November (15 U.S.C. 260a; from memory); Denver is at UTC-7, at UTC-6 meanwhile.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest

from tests.small_yard import EVERY_DAY, TZ, hand_made_cook, hand_made_power, small_yard
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.people import HANDLING, LOADER, RIGGING, Duty, Operator, Shift
from yardplan.domain.plan import MoldChange, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Rule
from yardplan.domain.slots import SlotGrid
from yardplan.solve.check import check

SPRING = date(2027, 3, 14)
FALL = date(2027, 11, 7)
NIGHT = Shift("night", time(22), time(6), ((time(4), 30),))
DAY = Shift("day", time(6), time(14), ((time(10), 20),))


def crew_of(*duties: Duty, days_off: frozenset[date] = frozenset()) -> Operator:
    return Operator("P1", "Person 1", frozenset({HANDLING, RIGGING, LOADER}), duties, days_off)


def problem_of(person: Operator, *shifts: Shift, first_on: date, days: int = 3, minutes: int = 60) -> Problem:
    """A yard in which one person alone changes molds, `minutes` long; nothing is ordered."""
    yard = small_yard()
    molds = tuple(replace(mold, change_min=minutes, change_crew=0) for mold in yard.molds)
    yard = replace(yard, molds=molds, shifts=shifts, operators=(person,))
    grid = SlotGrid.of_days(first_on, days, TZ)
    return Problem(
        yard=yard, orders=(), grid=grid, cook=hand_made_cook(yard, grid), power=hand_made_power(yard, grid),
        now=grid.start_at, confidence=0.8, kept=Plan(grid),
    )  # fmt: skip


def change_from(problem: Problem, start_slot: int) -> Plan:
    slots = problem.grid.slots_up(problem.yard.molds[0].change_min)
    change = MoldChange("X1", "1A", MoldCopy("M1", 1), MoldCopy("M2", 2), start_slot, start_slot + slots, ("P1",))
    return Plan(problem.grid, mold_changes=(change,))


def works(problem: Problem, start_at: datetime) -> bool:
    """Whether the person may change molds from that instant on; no other rule is ever in the way."""
    found = {violation.rule for violation in check(problem, change_from(problem, problem.grid.slot(start_at)))}
    assert found <= {Rule.CREW_SHIFT}
    return not found


def utc(day: int, hour: int, minute: int = 0, *, of: date) -> datetime:
    return datetime(of.year, of.month, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("sunday", "first_utc"),
    [(SPRING, 12), (FALL, 13)],
    ids=["spring", "fall"],
)
def test_a_day_shift_follows_the_local_clock_on_the_day_of_the_change(sunday: date, first_utc: int) -> None:
    """06:00 is 12:00 UTC by daylight time, 13:00 by standard time; on the Saturday before it is the other."""
    problem = problem_of(crew_of(Duty("day", EVERY_DAY)), DAY, first_on=sunday - timedelta(days=1))
    start_at = utc(sunday.day, first_utc, of=sunday)
    assert works(problem, start_at)
    assert not works(problem, start_at - timedelta(minutes=5))
    assert works(problem, start_at + timedelta(hours=7))
    assert not works(problem, start_at + timedelta(hours=7, minutes=5))
    saturday_at = utc(sunday.day - 1, 25 - first_utc, of=sunday)
    assert works(problem, saturday_at)
    assert not works(problem, saturday_at - timedelta(minutes=5))


def test_a_night_shift_is_an_hour_shorter_in_spring() -> None:
    """Saturday 22:00 standard time is 05:00 UTC, Sunday 06:00 daylight time is 12:00 UTC; the break at 10:00 UTC."""
    problem = problem_of(crew_of(Duty("night", frozenset({5}))), NIGHT, first_on=SPRING - timedelta(days=1))
    assert works(problem, utc(14, 5, of=SPRING))
    assert not works(problem, utc(14, 4, 55, of=SPRING))
    assert works(problem, utc(14, 8, 30, of=SPRING))  # 01:30 to 03:30 on the clock
    assert works(problem, utc(14, 9, of=SPRING))
    assert not works(problem, utc(14, 9, 5, of=SPRING))
    assert not works(problem, utc(14, 10, 25, of=SPRING))
    assert works(problem, utc(14, 10, 30, of=SPRING))
    assert works(problem, utc(14, 11, of=SPRING))
    assert not works(problem, utc(14, 11, 5, of=SPRING))


def test_a_night_shift_is_an_hour_longer_in_fall() -> None:
    """Saturday 22:00 daylight time is 04:00 UTC, Sunday 06:00 standard time is 13:00 UTC; the break at 11:00 UTC."""
    problem = problem_of(crew_of(Duty("night", frozenset({5}))), NIGHT, first_on=FALL - timedelta(days=1))
    assert works(problem, utc(7, 4, of=FALL))
    assert not works(problem, utc(7, 3, 55, of=FALL))
    assert works(problem, utc(7, 10, of=FALL))
    assert not works(problem, utc(7, 10, 5, of=FALL))
    assert works(problem, utc(7, 11, 30, of=FALL))
    assert works(problem, utc(7, 12, of=FALL))
    assert not works(problem, utc(7, 12, 5, of=FALL))


def test_times_that_the_clock_skips_or_shows_twice() -> None:
    """02:30 is skipped in spring: 2.5 h after midnight is 09:30 UTC. 01:30 comes twice in fall: 07:30 UTC first."""
    early = Shift("early", time(2, 30), time(8))
    problem = problem_of(crew_of(Duty("early", EVERY_DAY)), early, first_on=SPRING - timedelta(days=1))
    assert works(problem, utc(14, 9, 30, of=SPRING))
    assert not works(problem, utc(14, 9, 25, of=SPRING))
    twice = Shift("twice", time(1, 30), time(8))
    problem = problem_of(crew_of(Duty("twice", EVERY_DAY)), twice, first_on=FALL - timedelta(days=1))
    assert works(problem, utc(7, 7, 30, of=FALL))
    assert not works(problem, utc(7, 7, 25, of=FALL))


def night_hours(local: datetime) -> bool:
    at = local.time()
    saturday = (local - timedelta(hours=12)).weekday() == 5
    return saturday and (at >= time(22) or at < time(6)) and not time(4) <= at < time(4, 30)


def day_hours(local: datetime) -> bool:
    at = local.time()
    return local.weekday() >= 5 and time(6) <= at < time(14) and not time(10) <= at < time(10, 20)


@pytest.mark.parametrize("sunday", [SPRING, FALL, date(2027, 5, 16)], ids=["spring", "fall", "summer"])
@pytest.mark.parametrize(
    ("shift", "weekdays", "is_working"),
    [(NIGHT, {5}, night_hours), (DAY, {5, 6}, day_hours)],
    ids=["night", "day"],
)
def test_every_start_of_a_weekend_agrees_with_the_clock_on_the_wall(
    sunday: date, shift: Shift, weekdays: set[int], is_working: Callable[[datetime], bool]
) -> None:
    """Each slot of the work is asked whether the clock on the wall shows working time at its start."""
    person = crew_of(Duty(shift.id, frozenset(weekdays)))
    problem = problem_of(person, shift, first_on=sunday - timedelta(days=1), minutes=30)
    grid = problem.grid
    at_work = [is_working(grid.local(slot).replace(tzinfo=None)) for slot in range(grid.n_slots)]
    allowed = [works(problem, grid.at(slot)) for slot in range(grid.n_slots - 6)]
    assert allowed == [all(at_work[slot : slot + 6]) for slot in range(grid.n_slots - 6)]
    assert any(allowed)


def test_a_day_off_takes_out_the_shift_that_starts_on_it() -> None:
    """Off on Tuesday: the night into Tuesday is worked, the night into Wednesday is not."""
    tuesday = date(2027, 5, 18)
    person = crew_of(Duty("night", EVERY_DAY), days_off=frozenset({tuesday}))
    problem = problem_of(person, NIGHT, first_on=date(2027, 5, 17))
    assert works(problem, utc(18, 7, of=tuesday))  # Tuesday 01:00
    assert not works(problem, utc(19, 4, of=tuesday))  # Tuesday 22:00
    assert not works(problem, utc(19, 7, of=tuesday))  # Wednesday 01:00
    assert works(problem, utc(20, 4, of=tuesday))


def test_duties_hold_on_their_weekdays_and_between_their_dates() -> None:
    person = crew_of(
        Duty("day", frozenset({0, 1}), first_on=date(2027, 5, 18)),
        Duty("day", frozenset({2}), last_on=date(2027, 5, 18)),
    )
    problem = problem_of(person, DAY, first_on=date(2027, 5, 17))
    mondays, tuesday, wednesday = (utc(day, 13, of=SPRING.replace(month=5)) for day in (17, 18, 19))
    assert not works(problem, mondays)
    assert works(problem, tuesday)
    assert not works(problem, wednesday)


def test_work_lies_within_one_shift_even_if_the_next_follows_at_once() -> None:
    late = Shift("late", time(14), time(22))
    person = crew_of(Duty("day", EVERY_DAY), Duty("late", EVERY_DAY))
    problem = problem_of(person, DAY, late, first_on=date(2027, 5, 17))
    assert works(problem, utc(17, 19, of=date(2027, 5, 17)))  # 13:00 to 14:00
    assert not works(problem, utc(17, 19, 30, of=date(2027, 5, 17)))
    assert works(problem, utc(17, 20, of=date(2027, 5, 17)))


def test_the_sentence_names_the_break() -> None:
    problem = problem_of(crew_of(Duty("day", EVERY_DAY)), DAY, first_on=date(2027, 5, 17))
    (violation,) = check(problem, change_from(problem, 9 * 12 + 6))
    assert violation.text == (
        "Person 1 at mold change X1 in 1A, Mon May 17 09:30 to 10:30, "
        "would work through the break at 10:00 of shift day"
    )


def test_breaks_that_are_not_on_the_slots_count_to_the_minute() -> None:
    odd = replace(DAY, breaks=((time(10, 3), 4),))
    problem = problem_of(crew_of(Duty("day", EVERY_DAY)), odd, first_on=date(2027, 5, 17), minutes=5)
    ten = utc(17, 16, of=date(2027, 5, 17))
    assert [works(problem, ten + timedelta(minutes=minute)) for minute in (-5, 0, 5, 10)] == [True, False, False, True]


def test_a_break_may_begin_with_the_shift() -> None:
    first = replace(DAY, breaks=((time(6), 10),))
    problem = problem_of(crew_of(Duty("day", EVERY_DAY)), first, first_on=date(2027, 5, 17), minutes=5)
    six = utc(17, 12, of=date(2027, 5, 17))
    assert [works(problem, six + timedelta(minutes=minute)) for minute in (0, 5, 10)] == [False, False, True]


def test_a_shift_from_noon_to_noon_lasts_a_day() -> None:
    """A shift whose end is not after its start ends on the next day; on Monday noon is 18:00 UTC."""
    whole_day = Shift("whole", time(12), time(12))
    problem = problem_of(crew_of(Duty("whole", frozenset({0}))), whole_day, first_on=date(2027, 5, 17))
    monday = date(2027, 5, 17)
    assert [works(problem, utc(day, hour, of=monday)) for day, hour in ((17, 17), (17, 18), (18, 17), (18, 18))] == [
        False,
        True,
        True,
        False,
    ]
