from dataclasses import dataclass, replace
from datetime import date, time
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from tests.small_yard import TZ, at, small_yard
from tests.ui.weeks import small_outlook, small_plan
from yardplan.domain.people import Downtime, Duty, Operator, ResourceKind, Shift
from yardplan.domain.slots import SlotGrid
from yardplan.ui.lanes import (
    LaneKind,
    Part,
    charge_end_slot,
    crew_jobs,
    cycles_by_day,
    down_spans,
    duty_spans,
    lay_out,
    runs,
    tracks,
)


@dataclass(frozen=True)
class Job:
    start_slot: int
    end_slot: int


@given(st.lists(st.tuples(st.integers(0, 50), st.integers(1, 10))))
def test_jobs_on_one_track_never_overlap_and_no_track_is_needless(spans):
    jobs = sorted((Job(start, start + length) for start, length in spans), key=lambda job: job.start_slot)
    placed = tracks(jobs)
    assert [job for _, job in placed] == jobs
    for track in {track for track, _ in placed}:
        row = [job for at_track, job in placed if at_track == track]
        assert all(one.end_slot <= two.start_slot for one, two in pairwise(row))
    most = max((sum(job.start_slot <= slot < job.end_slot for job in jobs) for slot in range(60)), default=0)
    assert len({track for track, _ in placed}) == most


@given(st.lists(st.booleans()))
def test_runs_say_exactly_where_the_flags_are_set(flags):
    found = runs(flags)
    assert [slot for first, after in found for slot in range(first, after)] == [
        slot for slot, flag in enumerate(flags) if flag
    ]
    assert all(one[1] < two[0] for one, two in pairwise(found))


def test_rows_stand_below_each_other_and_each_thing_has_one():
    yard = small_yard(2)
    lanes = lay_out(yard, 15, frozenset(), {"P2": 3})
    assert all(one.bottom_px <= two.top_px for one, two in pairwise(lanes))
    named = [(lane.kind, lane.ident) for lane in lanes]
    assert len(set(named)) == len(named)
    assert {ident for kind, ident in named if kind is LaneKind.CHAMBER} == {chamber.id for chamber in yard.chambers}
    assert {ident for kind, ident in named if kind is LaneKind.CREW} == {person.id for person in yard.operators}
    heights = {lane.ident: lane.height_px for lane in lanes if lane.kind is LaneKind.CREW}
    assert heights["P2"] == 3 * heights["P1"]
    assert [lane.ident for lane in lanes if lane.opens] == ["U1", "U2", "P1", "W1"]


def test_kinds_of_rows_can_be_left_out_and_groups_still_open():
    lanes = lay_out(small_yard(2), 15, frozenset({"heat", "battery", "crew"}), {})
    assert {lane.kind for lane in lanes} == {LaneKind.CHAMBER, LaneKind.BENCH}
    assert [lane.ident for lane in lanes if lane.opens] == ["1A", "2A", "W1"]


def test_each_person_has_the_jobs_that_name_them():
    outlook = small_outlook()
    jobs = crew_jobs(small_plan(outlook), outlook.yard)
    told = {who: [(job.part, job.work.id) for job in row] for who, row in jobs.items()}
    assert told["P1"] == [(Part.CHARGE, "C1"), (Part.DEMOLD, "C1"), (Part.CHANGE, "X1")]
    assert told["P4"] == [(Part.FINISH, "F2"), (Part.CHARGE, "C4"), (Part.DEMOLD, "C4")]
    assert [job.cycle_id for job in jobs["P4"]] == ["C3", "C4", "C4"]
    assert jobs["P1"][-1].cycle_id == ""


def test_charging_follows_the_clean_down_and_ends_before_heat():
    outlook = small_outlook()
    locked = next(cycle for cycle in small_plan(outlook).cycles if cycle.id == "C3")
    # A BIN takes 10 min to charge: two slots, after two slots of cleaning.
    assert charge_end_slot(locked, outlook.yard, outlook.grid) == locked.charge_slot + 4
    hurried = replace(locked, heat_slot=locked.charge_slot + 3)
    assert charge_end_slot(hurried, outlook.yard, outlook.grid) == hurried.heat_slot


def test_a_shift_past_midnight_and_its_breaks_across_the_spring_change():
    # The clocks of Denver go from 02:00 to 03:00 on 14 March 2027. Source: IANA time-zone database.
    grid = SlotGrid.of_days(date(2027, 3, 14), 1, TZ)
    night = Shift("night", time(22), time(6), ((time(1), 30),))
    person = Operator("N", "Night", frozenset(), (Duty("night", frozenset(range(7))),))
    yard = replace(small_yard(), shifts=(*small_yard().shifts, night))
    spans = duty_spans(person, yard, grid)
    # 00:00 to 01:00, 01:30 to 06:00 which is 3.5 h on this day, and 22:00 to midnight.
    assert [(grid.at(int(a)), int(b - a) * 5) for a, b in spans] == [
        (grid.at(0), 60),
        (grid.at(18), 210),
        (grid.at(252), 120),
    ]
    assert grid.local(252).hour == 22


def test_days_off_leave_a_row_without_duty():
    yard, grid = small_yard(), SlotGrid.of_days(date(2027, 5, 17), 1, TZ)
    assert duty_spans(yard.operators[0], yard, grid) != []
    off = replace(yard.operators[0], days_off=frozenset({date(2027, 5, 17)}))
    assert duty_spans(off, yard, grid) == []


def test_what_is_down_shows_in_the_rows_that_it_stops():
    downs = (
        Downtime(ResourceKind.UNIT, "U1", at(0, 6), at(0, 8), "mirror wash"),
        Downtime(ResourceKind.YARD, "", at(1, 0), at(9, 0), "holiday"),
        Downtime(ResourceKind.BENCH, "W1", at(0, 9), at(0, 10), "new saw"),
        Downtime(ResourceKind.OPERATOR, "P1", at(-2, 0), at(-1, 0), "before the week"),
    )
    yard = replace(small_yard(2), downtimes=downs)
    outlook = small_outlook(yard)
    told = {
        (lane.kind.value, lane.ident): [
            down.reason for _, _, down in down_spans(lane, yard, yard.downtimes, outlook.grid)
        ]
        for lane in lay_out(yard, 15, frozenset(), {})
    }
    assert told["chamber", "1A"] == told["heat", "U1"] == ["mirror wash", "holiday"]
    assert told["chamber", "2A"] == told["crew", "P1"] == ["holiday"]
    assert told["bench", "W1"] == ["holiday", "new saw"]
    lane = lay_out(yard, 15, frozenset(), {})[0]
    assert down_spans(lane, yard, yard.downtimes, outlook.grid)[1][1] == outlook.grid.n_slots, "cut to the grid"


def test_cycles_are_counted_on_the_day_they_start():
    outlook = small_outlook()
    assert list(cycles_by_day(small_plan(outlook)).values()) == [3, 1]
