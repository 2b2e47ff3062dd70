"""Sheets for the wall and the codes on them."""

from dataclasses import replace

import pytest

from tests.small_yard import MONDAY, at
from tests.ui.weeks import small_outlook, small_plan, stored
from yardplan.cycle.starts import latest_starts
from yardplan.domain.equipment import Chamber
from yardplan.domain.outcome import Publication
from yardplan.domain.shop_sheet import LETTERS, chamber_codes, cycle_of_code, shop_sheet, short_codes

OUTLOOK = small_outlook()
PLAN = small_plan(OUTLOOK)
YARD = OUTLOOK.yard


def sheet(*published: Publication, number: int = 3, on=MONDAY):
    latest = latest_starts(YARD, OUTLOOK.cook, 0.8)
    return shop_sheet(YARD, stored(PLAN, number), on, latest, published)


def said(number: int, plan_number: int) -> Publication:
    return Publication(number, plan_number, at(0, 6.5), "Pat", "office", "")


def with_names(*names: str):
    unit = YARD.units[0]
    return replace(
        YARD, units=(replace(unit, chambers=tuple(Chamber(name, 2.4, 900.0) for name in names)),), hung=(),
        benches=YARD.benches,
    )  # fmt: skip


def test_codes_have_no_letter_that_is_taken_for_a_figure():
    """Source: common practice, no source: I, O, S, Z look like 1, 0, 5, 2."""
    assert not set("IOSZ") & set(LETTERS)
    assert chamber_codes(with_names("1A", "1B")) == {"1A": "1A", "1B": "1B"}
    assert chamber_codes(with_names("north", "south")) == {"north": "1A", "south": "1B"}
    assert chamber_codes(with_names("1A", "1S")) == {"1A": "1A", "1S": "1B"}


@pytest.mark.parametrize("text", ["1a2", "1A-02", " 1a 02", "1A02"])
def test_a_code_is_found_in_three_keys(text):
    found = cycle_of_code(text, YARD, PLAN.cycles, PLAN.grid, MONDAY)
    assert found.id == "C2"


def test_of_several_days_the_nearest_is_meant():
    codes = short_codes(YARD, PLAN.cycles, PLAN.grid)
    twice = [row for row in PLAN.cycles if codes[row.id] == "1B-01"]
    assert len(twice) == 2
    for row in twice:
        on = PLAN.grid.local(row.charge_slot).date()
        assert cycle_of_code("1b1", YARD, PLAN.cycles, PLAN.grid, on) is row


@pytest.mark.parametrize("text", ["", "9Z9", "1A-99", "=1+1", "tank"])
def test_what_is_no_code_is_not_found(text):
    assert cycle_of_code(text, YARD, PLAN.cycles, PLAN.grid, MONDAY) is None


def test_a_page_for_each_unit_with_its_cycles_and_latest_starts():
    found = sheet(said(1, 3))
    assert [unit.unit for unit in found.units] == ["Unit 1"]
    rows = found.units[0].rows
    codes = short_codes(YARD, PLAN.cycles, PLAN.grid)
    on_day = [row for row in PLAN.cycles if PLAN.grid.local(row.charge_slot).date() == MONDAY]
    assert [row.code for row in rows if row.code] == sorted(codes[row.id] for row in on_day)
    tank = next(row for row in rows if row.product == "Tank")
    # the hand-made cook table has its last start of the day at 15:30
    assert f"{tank.latest_at:%a %H:%M}" == "Mon 15:30"
    assert tank.crew == ("Person 1",)
    changes = [row for row in rows if not row.code]
    assert len(changes) == sum(PLAN.grid.local(row.start_slot).date() == MONDAY for row in PLAN.mold_changes)


def test_only_the_plan_in_force_is_issued():
    assert sheet().issued is None
    assert sheet().in_force is None
    issued = sheet(said(1, 3))
    assert (issued.issued.by, issued.issued_at) == ("Pat", at(0, 6.5))
    withdrawn = sheet(said(1, 3), said(2, 4))
    assert withdrawn.issued is None
    assert withdrawn.in_force == 4
    assert sheet(said(1, 3), said(2, 4), said(3, 3)).issued is not None


def test_a_day_without_work_has_its_pages_too():
    found = sheet(on=OUTLOOK.grid.days[-1][0])
    assert [unit.rows for unit in found.units] == [()]
