"""Months ahead in the window: worked out on a real small yard, drawn, listed and saved."""

import csv
import shutil
from datetime import date

import pytest
from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QFileDialog, QLabel

from tests.end_to_end.test_command_line import filled, yard_folder
from tests.small_yard import small_yard
from yardplan.domain.quotes import Limit
from yardplan.domain.season import MonthOutput, Season
from yardplan.store.engine import open_database
from yardplan.ui.looking_ahead import LookingAhead
from yardplan.ui.palette import DARK, LIGHT, SUNLIGHT
from yardplan.ui.season import SeasonPage
from yardplan.usecases.quoting import sales_yard

__all__ = ["filled", "yard_folder"]  # fixtures

JUNE, JULY = date(2027, 6, 1), date(2027, 7, 1)
FOUND = Season(
    (
        MonthOutput(JUNE, "TANK", 80, 100, 120, (("U1", 100),), Limit.MOLD, 25),
        MonthOutput(JUNE, "BIN", 160, 200, 240, (("U1", 200),), Limit.SUN, 50),
        MonthOutput(JULY, "TANK", 60, 90, 110, (("U1", 90),), Limit.MOLD, 0),
        MonthOutput(JULY, "BIN", 0, 0, 10, (("U1", 0),), Limit.SUN, 0),
    ),
    "a typical year, invented",
)


@pytest.fixture
def page(qtbot):
    made = SeasonPage(LIGHT)
    qtbot.addWidget(made)
    made.resize(1200, 700)
    made.show_yard(small_yard())
    made.show()
    return made


def rows(page):
    table = page.table
    return [[table.item(r, c).text() for c in range(table.columnCount())] for r in range(table.rowCount())]


def test_a_product_is_drawn_by_unit_with_its_span_and_what_is_ordered(page):
    tank = Season(tuple(row for row in FOUND.months if row.product_id == "TANK"), FOUND.source)
    page.show_season(tank, "TANK")
    data = page.chart.data
    assert data.labels == ("Jun 2027", "Jul 2027")
    assert [(series.name, series.values) for series in data.stacked] == [("Unit 1", (100.0, 90.0))]
    assert data.spans == ((80.0, 120.0), (60.0, 110.0))
    assert data.marks.values == (25.0, 0.0)
    assert "80 – 120" in data.read(0)
    assert rows(page)[0] == ["Jun 2027", "Tank", "80", "100", "120", "25", "25%", "molds", "100"]
    assert "Season average, not forecast: a typical year, invented" in page.findChild(QLabel, "season_told").text()


def test_all_products_tell_what_the_order_book_takes_of_each_month(page):
    page.show_season(FOUND, "")
    # 25 of 100 and 50 of 200 are half of what one month can do
    assert page.chart.data.stacked[0].values == (50.0, 0.0)
    assert page.chart.data.line == 100.0
    assert [row[6] for row in rows(page)] == ["50%", "50%", "0%", "0%"]
    assert page.table.rowCount() == 4


@pytest.mark.parametrize("colors", [LIGHT, DARK, SUNLIGHT])
def test_the_chart_wears_each_theme(page, colors):
    page.show_season(FOUND, "")
    page.set_colors(colors)
    picture = page.chart.grab().toImage()
    seen = {picture.pixelColor(x, y).name() for x in range(picture.width()) for y in range(picture.height())}
    assert colors.text.lower() in seen


def test_the_first_product_is_worked_out_when_the_page_comes_up(qtbot):
    made = SeasonPage(LIGHT)
    qtbot.addWidget(made)
    asked = []
    made.wanted.connect(lambda product_id, months: asked.append((product_id, months)))
    made.show_yard(small_yard())
    assert asked == [], "not before it is looked at"
    made.show()
    assert asked == [("TANK", 6)]
    made.show_yard(small_yard())
    assert asked == [("TANK", 6)], "once"


def test_every_control_has_a_name(page):
    for button in (page.start, page.stop, *page.savers.values()):
        assert button.text()
    for widget in (page.product, page.months, page.table):
        assert widget.accessibleName()
    page.show_season(FOUND, "")
    assert page.chart.accessibleName() == "What the order book takes of each month"


# With the yard behind it


class Seat(QObject):
    def __init__(self, database, page):
        super().__init__()
        self.errors = []
        self.ahead = LookingAhead(database, page, self)
        self.ahead.failed.connect(self.errors.append)
        self.ahead.show_yard(sales_yard(database))


@pytest.fixture
def database(filled, tmp_path):
    shutil.copy(filled, tmp_path / "yard.sqlite")
    made = open_database(f"sqlite:///{tmp_path / 'yard.sqlite'}")
    yield made
    made.close()


@pytest.mark.gui
def test_months_are_worked_out_and_saved_as_a_table_and_a_picture(page, database, qtbot, tmp_path, monkeypatch):
    seat = Seat(database, page)
    page.product.setCurrentIndex(page.product.findData("TANK"))
    page.months.setCurrentIndex(0)
    qtbot.mouseClick(page.start, Qt.MouseButton.LeftButton)
    assert not page.start.isEnabled()
    assert page.stop.isEnabled()
    qtbot.waitUntil(lambda: page.start.isEnabled(), timeout=120_000)
    assert seat.errors == []
    found = rows(page)
    assert [row[0] for row in found] == ["Jun 2027", "Jul 2027", "Aug 2027"]
    for row in found:
        assert 0 <= int(row[2]) <= int(row[3]) <= int(row[4])
        assert sum(map(int, row[8:])) == int(row[3])
    assert int(found[0][3]) > 0
    for kind in ("csv", "png", "svg"):
        to = tmp_path / f"months.{kind}"
        monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_, to=to: (str(to), ""))
        qtbot.mouseClick(page.savers[kind], Qt.MouseButton.LeftButton)
        assert to.stat().st_size > 100
    saved = list(csv.DictReader((tmp_path / "months.csv").read_text().splitlines()))
    assert [row["p50"] for row in saved] == [row[3] for row in found]
    seat.ahead.close()


def test_a_person_can_stop_it_and_keeps_what_was_there(page, database, qtbot):
    seat = Seat(database, page)
    page.show_season(FOUND, "")
    page.months.setCurrentIndex(2)
    page.start.click()
    qtbot.mouseClick(page.stop, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: page.start.isEnabled(), timeout=120_000)
    assert "Stopped" in page.findChild(QLabel, "season_told").text()
    assert page.table.rowCount() == 4
    assert seat.errors == []
    seat.ahead.close()


def test_without_weather_it_says_what_is_missing(page, tmp_path, qtbot):
    empty = open_database(f"sqlite:///{tmp_path / 'empty.sqlite'}")
    ahead = LookingAhead(empty, page, page)
    page.start.click()
    qtbot.waitUntil(lambda: page.start.isEnabled(), timeout=60_000)
    assert "yardplan demo" in page.findChild(QLabel, "season_told").text()
    ahead.close()
    empty.close()


def test_a_file_that_cannot_be_written_is_told(page, database, qtbot, monkeypatch, tmp_path):
    seat = Seat(database, page)
    seat.ahead._found = FOUND
    page.show_season(FOUND, "")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / "none" / "a.csv"), ""))
    page.savers["csv"].click()
    assert "could not be written" in page.findChild(QLabel, "season_told").text()
    seat.ahead.close()
