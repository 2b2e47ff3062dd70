"""Overtime tonight: those of today's last shift stay on, once a plan with it is in force."""

from dataclasses import replace
from datetime import datetime, time, timedelta

from yardplan.domain.people import Duty, Shift, shift_span
from yardplan.domain.slots import SlotGrid
from yardplan.domain.yard import Yard

TONIGHT = "overtime tonight"
"""Name of the shift; there is one at most, of the last day on which a plan asked for it."""

TONIGHT_H = 2
"""How long people of today's last shift stay on if overtime is asked for [h]."""


def with_overtime(yard: Yard, now: datetime) -> Yard:
    """Return the yard in which those who are on today's last shift stay on for two more hours tonight."""
    yard = _without(yard)
    tz = SlotGrid(now, 1, yard.site.tz).zone
    today = now.astimezone(tz).date()
    ends = {shift.id: shift_span(shift, today)[1] for shift in yard.shifts if not shift.overtime}
    on_duty = [
        (ends[duty.shift_id], person.id)
        for person in yard.operators
        for duty in person.duties
        if duty.shift_id in ends and duty.holds_on(today) and today not in person.days_off
    ]
    if not on_duty:
        return yard
    last = max(end for end, _ in on_duty)
    until = last + timedelta(hours=TONIGHT_H)
    on = last.date() if last.time() != time(0) else today
    shift = Shift(TONIGHT, last.time(), until.time(), (), overtime=True)
    duty = Duty(shift.id, frozenset({on.weekday()}), on, on)
    return _with(yard, shift, {person: (duty,) for end, person in on_duty if end == last})


def as_planned_tonight(yard: Yard, planned_for: Yard) -> Yard:
    """Return the yard with the overtime of the yard that a plan was made for; the same one if there is none in it."""
    shift = next((row for row in planned_for.shifts if row.id == TONIGHT), None)
    if shift is None:
        return yard
    duties = {row.id: tuple(duty for duty in row.duties if duty.shift_id == TONIGHT) for row in planned_for.operators}
    return _with(_without(yard), shift, duties)


def _with(yard: Yard, shift: Shift, duties: dict[str, tuple[Duty, ...]]) -> Yard:
    people = tuple(replace(row, duties=(*row.duties, *duties.get(row.id, ()))) for row in yard.operators)
    return replace(yard, shifts=(*yard.shifts, shift), operators=people)


def _without(yard: Yard) -> Yard:
    people = tuple(
        replace(row, duties=tuple(duty for duty in row.duties if duty.shift_id != TONIGHT)) for row in yard.operators
    )
    return replace(yard, shifts=tuple(row for row in yard.shifts if row.id != TONIGHT), operators=people)
