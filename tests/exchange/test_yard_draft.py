"""A draft of a yard is judged by the rules of an import, and its changes keep what belongs together."""

import csv
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.small_yard import small_orders, small_yard
from tests.store.rich_yard import rich_yard
from yardplan.domain.errors import BadFile, InvalidField, NotThere
from yardplan.domain.field import field_rows
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.rows import Column, Table
from yardplan.exchange.yard_draft import (
    BLANK,
    TABLES,
    YardDraft,
    choices,
    differences,
    draft_of,
    merged,
    read_draft,
    table_titled,
)
from yardplan.exchange.yard_files import read_yard_folder, write_yard_folder

LAYOUT = ("40", "14", "4", "2.6", "65", "1.3", "1.22", "1.83", "0.93", "0", "1")


def column(table: Table, name: str) -> Column:
    return next(found for found in table.columns if found.name == name)


def small() -> YardDraft:
    return draft_of(small_yard())


@pytest.mark.parametrize("yard", [small_yard(2), rich_yard()], ids=["small", "rich"])
def test_a_yard_comes_back_from_its_draft(yard):
    assert read_draft(draft_of(yard)) == (yard, ())


EDITS = {
    "word for a number": (tables.MOLDS, 0, "shell_kg", "heavy", "expected a number"),
    "out of range": (tables.MOLDS, 0, "absorptance_frac", "0.1", "expected a number from 0.3 to 1"),
    "blank": (tables.CHAMBERS, 1, "max_swing_m", "", "is blank; expected a number"),
    "no such mold": (tables.PRODUCTS, 0, "molds", "M7", "expected a mold, one of M1, M2"),
    "no such metal": (tables.MOLDS, 0, "metal", "tin", "expected one of aluminum, steel"),
    "no such time": (tables.SHIFTS, 0, "start_local", "6:00", "expected a time such as 06:30"),
    "taken name": (tables.UNITS, 1, "unit", "U1", "which is there already"),
    "too large to hang": (tables.MOLDS, 0, "swing_m", "5", "a mold that fits at least one chamber"),
    "two shifts at once": (tables.DUTIES, 0, "weekdays", "Mon; Funday", "expected weekdays such as"),
    "gusts the wrong way round": (tables.SITE, 0, "resume_gust_m_s", "20", "at most stow_gust_m_s"),
    "no such zone": (tables.SITE, 0, "tz", "Mars/Olympus", "a name of the IANA time-zone database"),
}


@pytest.mark.parametrize("edit", EDITS)
def test_an_edit_is_refused_in_the_words_of_an_import(edit, tmp_path: Path):
    table, row, name, text, expected = EDITS[edit]
    draft = draft_of(small_yard(2)).with_cell(table, row, name, text)
    if edit == "taken name":  # else what refers to the second unit follows to the first
        assert draft.rows(tables.CHAMBERS)[2][1] == "U1"
    yard, problems = read_draft(draft)
    assert yard is None
    assert all(problem.file == table.file and problem.row == row + 1 for problem in problems[:1])
    assert problems[0].column in (name, "")  # none where several columns contradict each other
    assert expected in problems[0].text
    if table is tables.SITE:
        return
    folder = tmp_path / "yard"
    write_yard_folder(folder, small_yard(2))
    header = [found.name for found in table.columns]
    with (folder / table.file).open("w", newline="") as file:
        csv.writer(file).writerows([header, *draft.rows(table)])
    if edit == "taken name":
        return
    with pytest.raises(BadFile) as caught:
        read_yard_folder(folder)
    assert [found.text for found in caught.value.problems] == [problem.text for problem in problems]


def test_every_bad_cell_is_told_at_once():
    draft = small().with_cell(tables.MOLDS, 0, "copies", "many").with_cell(tables.SHIFTS, 1, "overtime", "perhaps")
    draft = draft.with_cell(tables.SITE, 0, "altitude_m", "high")
    _, problems = read_draft(draft)
    assert [(found.file, found.row, found.column) for found in problems] == [
        ("site.toml", 1, "altitude_m"),
        ("molds.csv", 1, "copies"),
        ("shifts.csv", 2, "overtime"),
    ]


def test_orders_must_still_make_sense():
    draft = small().without(tables.PRODUCTS, 1)
    assert read_draft(draft)[0] is not None
    yard, problems = read_draft(draft, small_orders())
    assert yard is None
    assert "product of order Y-2 is 'BIN'" in problems[0].text


def test_a_blank_draft_says_what_it_wants():
    yard, problems = read_draft(BLANK)
    assert yard is None
    assert {found.column for found in problems} == {"name", "tz", "latitude_deg", "longitude_deg", "altitude_m"}


def test_a_name_takes_all_that_refers_to_it_along():
    draft = draft_of(rich_yard())
    molds = [cells[0] for cells in draft.rows(tables.MOLDS)]
    draft = draft.with_cell(tables.MOLDS, molds.index("M9#odd"), "mold", "N1").with_cell(tables.UNITS, 0, "unit", "Y")
    yard, problems = read_draft(draft)
    assert problems == ()
    assert yard.products[0].mold_ids == ("M2", "N1")
    assert (str(yard.hung[0].mold), yard.downtimes[0].resource_id) == ("N1#3", "N1#3")
    assert [bench.unit_id for bench in yard.benches] == ["U2", "Y", "Y"]
    assert [load.unit_id for load in yard.loads] == ["*", "Y"]
    assert len(yard.units[0].field) == len(rich_yard().units[0].field)


def test_a_copy_has_parts_of_its_own_and_free_names():
    draft = draft_of(small_yard(2)).with_copy(tables.UNITS, 0).with_copy(tables.MOLDS, 1)
    yard, problems = read_draft(draft)
    assert problems == ()
    assert [unit.id for unit in yard.units] == ["U1", "U2", "U3"]
    assert yard.units[2].field == yard.units[0].field
    names = [chamber.id for chamber in yard.units[2].chambers]
    assert len(set(names)) == 2
    assert not set(names) & {"1A", "1B", "2A", "2B"}
    assert replace(yard.molds[2], id="M2") == yard.molds[1]


def test_a_row_takes_its_parts_along_when_it_goes():
    draft = small().without(tables.OPERATORS, 0)
    assert [cells[0] for cells in draft.rows(tables.DUTIES)] == ["P2", "P3", "P4"]
    assert read_draft(draft)[1] == ()


def test_a_field_is_laid_out_anew():
    draft = draft_of(small_yard(2)).with_field("U1", LAYOUT)
    yard, problems = read_draft(draft)
    assert problems == ()
    laid = field_rows(40, 14, 4, 2.6, 65, 1.3, 1.22, 1.83, 0.93, 0, 1)
    assert yard.units[0].field == laid
    assert yard.units[1] == small_yard(2).units[1]
    assert differences(draft_of(small_yard(2)), draft) == ("heliostats: 40 instead of 12 of U1",)


@pytest.mark.parametrize(
    ("at", "text", "field", "expected"),
    [
        (0, "many", "mirrors", "a whole number"),
        (0, "", "mirrors", "a whole number"),
        (3, "1", "spacing_m", "touch as they turn"),
        (8, "7", "reflectance_frac", "a number from 0.1 to 1"),
    ],
)
def test_a_field_that_cannot_stand_is_refused(at, text, field, expected):
    layout = (*LAYOUT[:at], text, *LAYOUT[at + 1 :])
    with pytest.raises(InvalidField) as caught:
        small().with_field("U1", layout)
    assert caught.value.field == field
    assert expected in caught.value.expected


def test_what_was_changed_is_said_in_words():
    before = draft_of(small_yard(2))
    after = before.with_cell(tables.MOLDS, 0, "copies", "3").with_copy(tables.SHIFTS, 0).without(tables.BENCHES, 1)
    after = after.with_cell(tables.SITE, 0, "loaders", "2").with_cell(tables.HELIOSTATS, 3, "up_m", "2")
    assert differences(before, after) == (
        "site: loaders changed",
        "heliostats: 1 of U1 changed",
        "molds: M1 changed",
        "benches: W2 removed",
        "shifts: early2 added",
    )
    assert differences(before, before) == ()


def test_changes_of_two_seats_are_put_together_table_by_table():
    base = small()
    mine = base.with_cell(tables.MOLDS, 0, "copies", "3")
    theirs = base.with_cell(tables.SHIFTS, 0, "end_local", "13:00")
    put, both = merged(base, mine, theirs)
    assert both == ()
    assert differences(theirs, put) == ("molds: M1 changed",)
    assert differences(mine, put) == ("shifts: early changed",)
    other = theirs.with_cell(tables.MOLDS, 1, "copies", "1")
    put, both = merged(base, mine, other)
    assert both == (tables.MOLDS,)
    assert put.rows(tables.MOLDS) == mine.rows(tables.MOLDS)


def test_what_can_stand_in_a_cell():
    draft = draft_of(rich_yard())
    assert choices(draft, tables.MOLDS, 0, column(tables.MOLDS, "metal")) == ("aluminum", "steel")
    assert choices(draft, tables.PRODUCTS, 0, column(tables.PRODUCTS, "molds")) == ("M9#odd", "M1", "M2")
    assert choices(draft, tables.DOWNTIMES, 0, column(tables.DOWNTIMES, "resource"))[-1] == "M2#2"
    assert choices(draft, tables.DOWNTIMES, 1, column(tables.DOWNTIMES, "resource")) == ()
    assert choices(draft, tables.ROUTING, 0, column(tables.ROUTING, "bench_kind")) == ("bench", "test stand")
    assert "trimming" in choices(draft, tables.OPERATORS, 0, column(tables.OPERATORS, "skills"))
    assert choices(draft, tables.MOLDS, 0, column(tables.MOLDS, "shell_kg")) == ()


def test_tables_go_by_the_names_of_their_files():
    assert [table_titled(table.file.partition(".")[0]) for table in TABLES] == list(TABLES)
    with pytest.raises(NotThere, match="a yard has site, units"):
        table_titled("orders")


TEXTS = st.sampled_from(["", "0", "1", "-1", "1e9", "nan", "x", "M1", "M2", "U1", "1A", "early", "06:00", "2027-05-17"])


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_whatever_is_typed_the_draft_is_a_yard_or_says_where_not(data):
    draft = draft_of(rich_yard())
    for _ in range(data.draw(st.integers(1, 4))):
        table = data.draw(st.sampled_from([table for table in TABLES if draft.rows(table)]))
        row = data.draw(st.integers(0, len(draft.rows(table)) - 1))
        match data.draw(st.sampled_from(["cell", "cell", "cell", "copy", "remove"])):
            case "cell":
                name = data.draw(st.sampled_from([column.name for column in table.columns]))
                draft = draft.with_cell(table, row, name, data.draw(TEXTS))
            case "copy" if table is not tables.SITE:
                draft = draft.with_copy(table, row)
            case "remove" if table is not tables.SITE:
                draft = draft.without(table, row)
    yard, problems = read_draft(draft)
    if yard is None:
        assert problems
        assert all(found.text and (found.row or found.file) for found in problems)
    else:
        assert problems == ()
        assert read_draft(draft_of(yard)) == (yard, ())
        hung = [(str(row.mold), row.chamber_id) for row in yard.hung]
        assert len({mold for mold, _ in hung}) == len({chamber for _, chamber in hung}) == len(hung)


def test_times_that_the_clock_skips_or_shows_twice_are_asked_about():
    # Denver puts its clocks forward on 2027-03-14 and back on 2027-11-07, both at 02:00 (IANA time-zone database).
    draft = draft_of(small_yard()).with_added(tables.DOWNTIMES)
    cells = {"kind": "unit", "resource": "U1", "start_at": "2027-03-14 02:30", "end_at": "2027-11-07 01:30"}
    for name, text in cells.items():
        draft = draft.with_cell(tables.DOWNTIMES, 0, name, text)
    _, problems = read_draft(draft)
    skipped, twice = problems
    assert (skipped.column, twice.column) == ("start_at", "end_at")
    assert "a time that the clock shows; it is put forward over this one" in skipped.text
    assert "-06:00 or -07:00; the clock shows it twice that day" in twice.text
    draft = draft.with_cell(tables.DOWNTIMES, 0, "start_at", "2027-03-14 03:30")
    draft = draft.with_cell(tables.DOWNTIMES, 0, "end_at", "2027-11-07 01:30-07:00")
    yard, problems = read_draft(draft)
    assert problems == ()
    assert f"{yard.downtimes[0].end_at:%H:%M}" == "08:30"
