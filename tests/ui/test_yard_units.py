"""Cells of the Yard page in US units; factors as in NIST SP 811 (2008), appendix B."""

import pytest

from tests.small_yard import small_yard
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.yard_draft import TABLES, draft_of
from yardplan.ui.cell_editors import CellEditor
from yardplan.ui.language import choose_language
from yardplan.ui.units import Units, choose_units
from yardplan.ui.yard_units import quantity_of, shown_cell, shown_problem, stored_cell
from yardplan.ui.yard_words import YardWords


@pytest.fixture
def us():
    choose_units(Units.US)
    yield
    choose_units(Units.REGION)


@pytest.mark.parametrize(
    ("column", "stored", "shown"),
    [
        ("shell_kg", "45.359237", "100"),
        ("swing_m", "0.3048", "1"),
        ("piat_c", "200", "392"),
        ("wall_mm", "6.35", "0.25"),
        ("surface_m2", "0.09290304", "1"),
        ("stow_gust_m_s", "4.4704", "10"),
        ("pv_kw", "6", "6"),
        ("copies", "2", "2"),
        ("shell_kg", "heavy", "heavy"),
        ("shell_kg", "", ""),
    ],
)
def test_cells_are_shown_and_stored(us, column, stored, shown):
    assert shown_cell(column, stored) == shown
    back = stored_cell(column, shown)
    assert back == stored or float(back) == pytest.approx(float(stored), abs=1e-6)


def test_metric_cells_stay_as_they_are():
    choose_units(Units.METRIC)
    assert shown_cell("shell_kg", "160.70") == stored_cell("shell_kg", "160.70") == "160.70"
    assert shown_problem("shell_kg", "is 5; expected a number from 1 to 10000").endswith("1 to 10000")
    choose_units(Units.REGION)


def test_limits_are_told_in_the_unit_that_is_typed(us):
    told = shown_problem("swing_m", "is 30.48; expected a number from 0.1 to 20")
    assert told == "is 100; expected a number from 0.328084 to 65.6168"
    told = shown_problem("spacing_m", "more, for mirrors 1.524 m apart touch as they turn")
    assert told == "more, for mirrors 5 ft apart touch as they turn"
    assert shown_problem("swing_m", "is '12 m'; expected a number") == "is '12 m'; expected a number"


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_head_of_a_quantity_ends_with_its_unit(language, us):
    choose_language(language)
    words = YardWords()
    for table in (*TABLES, tables.FIELDS):
        for column in table.columns:
            quantity = quantity_of(column.name)
            if quantity is not None:
                assert words.column(table, column.name).endswith(f", {quantity.value.us}"), column.name
    choose_language("en")


def test_a_cell_that_is_only_looked_at_keeps_its_digits(us, qtbot):
    column = next(found for found in tables.MOLDS.columns if found.name == "shell_kg")
    editor = CellEditor(column, "Weight")
    qtbot.addWidget(editor)
    said = []
    editor.committed.connect(said.append)
    editor.set_text("160.123456789")
    assert editor.line.text() == "353.012"
    editor.line.editingFinished.emit()
    assert (editor.text(), said) == ("160.123456789", [])
    editor.line.setText("100")
    editor.line.editingFinished.emit()
    assert said == ["45.359237"]
    assert draft_of(small_yard()).cell(tables.MOLDS, 0, "shell_kg") == "160"
