"""Days and quantities as they are typed at seats of several countries; how each writes dates is CLDR's, by Qt."""

from datetime import date, timedelta

import pytest
from PySide6.QtCore import QLocale, Qt

from yardplan.ui.dates import long_day_text
from yardplan.ui.typed import DayEdit, read_day, read_quantity

TODAY = date(2026, 3, 10)


@pytest.mark.parametrize(
    ("place", "text", "words"),
    [
        ("en_US", "03/04/2026", "Wednesday, March 4, 2026"),
        ("en_GB", "03/04/2026", "Friday, 3 April 2026"),
        ("en_GB", "2026-04-03", "Friday, 3 April 2026"),
        ("en_US", "2026-04-03", "Friday, April 3, 2026"),
        ("en_US", "April 3", "Friday, April 3, 2026"),
        ("en_GB", "9 March", "Tuesday, 9 March 2027"),
        ("en_GB", "3.4.26", "Friday, 3 April 2026"),
        ("de_DE", "3. April 2026", "Freitag, 3. April 2026"),
        ("es_ES", "3 de abril de 2026", "viernes, 3 de abril de 2026"),
        ("en_GB", "29 Feb 2028", "Tuesday, 29 February 2028"),
    ],
)
def test_a_day_is_read_in_the_order_of_the_place_and_told_in_words(place, text, words):
    QLocale.setDefault(QLocale(place))
    found = read_day(text, TODAY)
    assert found.trouble == ""
    assert long_day_text(found.on) == words


@pytest.mark.parametrize("text", ["31/2/2026", "31 Feb", "2026-02-31", "29 Feb 2027", "1/13/2026", "2026-13-01", "0/0"])
def test_a_day_that_no_calendar_has_is_refused(text):
    found = read_day(text, TODAY)
    assert found.on is None
    assert "There is no such day" in found.trouble


def test_what_is_no_date_is_told_how_one_is_typed():
    assert "type it as 20/03/2026 or 2026-03-20" in read_day("soon", TODAY).trouble
    assert read_day("  ", TODAY).trouble == ""


@pytest.mark.parametrize(
    ("place", "text", "pieces"),
    [("en_US", "12", 12), ("en_US", "1,000", 1000), ("de_DE", "1.000", 1000), ("en_GB", " 7 ", 7)],
)
def test_a_quantity_is_read_by_the_locale(place, text, pieces):
    QLocale.setDefault(QLocale(place))
    assert read_quantity(text).pieces == pieces


@pytest.mark.parametrize(
    ("place", "text", "why"),
    [
        ("de_DE", "3,5", "no whole number"),
        ("en_US", "3,5", "no whole number"),
        ("en_US", "1.000", "no whole number"),
        ("de_DE", "1,000", "no whole number"),
        ("en_US", "0", "from 1 to 100,000"),
        ("en_US", "-3", "from 1 to 100,000"),
        ("en_US", "1e9", "from 1 to 100,000"),
        ("en_US", "many", "no whole number"),
        ("en_US", "nan", "no whole number"),
        ("en_US", "inf", "no whole number"),
    ],
)
def test_a_quantity_that_cannot_be_is_refused_with_what_is_allowed(place, text, why):
    QLocale.setDefault(QLocale(place))
    found = read_quantity(text)
    assert found.pieces is None
    assert why in found.trouble


@pytest.fixture
def edit(qtbot):
    made = DayEdit("day", "Day")
    qtbot.addWidget(made)
    made.set_range(TODAY, TODAY, TODAY + timedelta(days=84))
    made.show()
    return made


def test_a_day_that_is_over_or_too_far_is_told_beside_it(edit):
    edit.line.setText("3/3/2026")
    assert "is over; type a day from Tuesday, 10 March 2026 on" in edit.words.text()
    assert edit.on is None
    edit.line.setText("3/3/2206")
    assert "Do you mean Monday, 3 March 2206?" in edit.words.text()
    assert edit.line.accessibleDescription() == edit.words.text()
    edit.line.setText("3/4/2026")
    assert (edit.on, edit.words.text(), edit.trouble) == (date(2026, 4, 3), "Friday, 3 April 2026", "")


def test_arrow_keys_move_the_day(edit, qtbot):
    qtbot.keyClick(edit.line, Qt.Key.Key_Up)
    assert edit.on == TODAY
    qtbot.keyClick(edit.line, Qt.Key.Key_Up)
    assert edit.on == TODAY + timedelta(days=1)
    qtbot.keyClick(edit.line, Qt.Key.Key_Down)
    assert edit.on == TODAY
