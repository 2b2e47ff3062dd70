"""The Review page against the review that it shows, and its charts as files."""

import csv
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QImage
from PySide6.QtWidgets import QFileDialog

from tests.domain.test_history import cooked, event, numbered
from tests.domain.test_review import GRID, facts, planned
from yardplan.domain.errors import CannotWrite, NotThere
from yardplan.domain.events import EventKind
from yardplan.domain.figures import review
from yardplan.domain.plan import Plan
from yardplan.domain.review import CARDS
from yardplan.ui import looking_back
from yardplan.ui.chart import ChartData, Series, Tone, nice_ticks, save_chart
from yardplan.ui.looking_back import LookingBack
from yardplan.ui.palette import DARK, LIGHT, SUNLIGHT
from yardplan.ui.review import CHARTS, ReviewPage
from yardplan.ui.review_words import CHART_OF


@pytest.fixture
def found():
    events = numbered(
        *cooked(9),
        event(EventKind.PIECES, 12, cycle_id="A", good=0, scrapped=1, rework=0, reason="=bubbles"),
    )
    return review(facts(Plan(GRID, (planned("C1", "1A", "Y-1", 9.5),)), events))


@pytest.fixture
def page(found, qtbot):
    made = ReviewPage(LIGHT)
    qtbot.addWidget(made)
    made.resize(1280, 700)
    made.show_review(found)
    made.show()
    return made


def test_each_figure_opens_its_formula_its_counts_and_its_time(page, found, qtbot):
    assert [page.figures.item(ix, 0).text() for ix in range(page.figures.rowCount())] == [
        card.name for card in CARDS.values()
    ]
    page.figures.setFocus()
    row = list(CARDS).index("scrap_ratio")
    page.figures.setCurrentCell(0, 0)
    for _ in range(row):
        qtbot.keyClick(page.figures, Qt.Key.Key_Down)
    text = page.card.toPlainText()
    assert page.figures.item(row, 1).text() == "100.0 %"
    assert CARDS["scrap_ratio"].formula in text
    assert "scrapped pieces: 1" in text
    assert "Mon 17 May 00:00 to Mon 17 May 22:00" in text
    assert "ISO 22400-2" in text


def test_charts_stand_below_each_other_where_there_is_no_room_beside(page, qtbot):
    def beside() -> bool:
        return page._boxes["pieces"].y() == page._boxes["losses"].y()

    page.resize(1280, 700)
    qtbot.waitUntil(beside)
    page.resize(940, 700)
    qtbot.waitUntil(lambda: not beside())
    inner = page._area.widget()
    assert inner.minimumSizeHint().width() <= page._area.viewport().width()


def test_a_figure_that_cannot_be_known_says_what_is_missing(page):
    row = list(CARDS).index("forecast_skill")
    assert page.figures.item(row, 1).text() == "not known"
    assert "no outlook was met by measured sun" in page.figures.item(row, 0).data(Qt.ItemDataRole.AccessibleTextRole)


def test_every_figure_has_a_chart_and_each_chart_or_what_it_waits_for_is_there(page, found):
    assert set(CHART_OF) == set(CARDS)
    assert set(CHART_OF.values()) == set(CHARTS) == set(found.tables)
    for name in CHARTS:
        assert page.chart(name).isHidden() == (not found.tables[name].rows)
        assert page._empties[name].isHidden() == bool(found.tables[name].rows)
    assert "publish a plan" in page._empties["causes"].text()


def test_charts_show_the_numbers_of_their_tables(page, found):
    heat = page.chart("heat").data
    row = dict(zip(found.tables["heat"].columns, found.tables["heat"].rows[0], strict=True))
    told = sorted(series.values[0] for series in heat.stacked)
    assert told == sorted(value for name, value in row.items() if name != "day" and value)
    assert page.chart("pieces").data.marks.values == (1.0,)


def test_a_chart_is_read_with_the_keys(page, qtbot):
    chart = page.chart("pieces")
    chart.setFocus()
    qtbot.keyClick(chart, Qt.Key.Key_Home)
    assert chart.reading == "Mon 17 May: scrapped 1, planned 1"
    assert chart.accessibleName() == "Pieces planned and made"
    assert "scrapped 1" in chart.accessibleDescription()


@pytest.mark.parametrize("colors", [LIGHT, DARK, SUNLIGHT], ids=["light", "dark", "sunlight"])
def test_it_draws_in_all_themes(page, colors, qtbot):
    page.set_colors(colors)
    chart = page.chart("heat")
    picture = chart.grab().toImage()
    tones = {
        picture.pixelColor(x, y).name() for x in range(0, picture.width(), 3) for y in range(0, picture.height(), 3)
    }
    assert len(tones) > 3


def test_series_are_told_apart_without_color(page):
    """Each series of a chart has a hatch of its own."""
    for name in CHARTS:
        hatches = [series.tone.hatch for series in page.chart(name).data.stacked if series.tone.role != "base"]
        assert len(hatches) == len(set(hatches))


@pytest.mark.parametrize(
    ("top", "ticks"),
    [
        (0, (0, 1)),
        (4, (0, 1, 2, 3, 4)),
        (3500, (0, 1000, 2000, 3000, 4000)),
        (0.9, (0, 0.2, 0.4, 0.6, 0.8, 1.0)),
        (12, (0, 5, 10, 15)),
    ],
)
def test_ticks_are_round_and_reach_the_top(top, ticks):
    assert nice_ticks(top) == pytest.approx(ticks)


def saved(monkeypatch, page, path, name, kind, found, qtbot):
    back = LookingBack(None, page, page)
    back._found = found
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    page.save_wanted.emit(name, kind)
    back.close()


def test_charts_are_saved_as_picture_drawing_and_numbers(page, found, tmp_path, monkeypatch, qtbot):
    saved(monkeypatch, page, tmp_path / "a.png", "pieces", "png", found, qtbot)
    assert QImage(str(tmp_path / "a.png")).width() == 1920
    saved(monkeypatch, page, tmp_path / "b", "pieces", "svg", found, qtbot)
    root = ElementTree.parse(tmp_path / "b.svg").getroot()
    assert root.tag.endswith("svg")
    assert any("Pieces planned" in (part.text or "") for part in root.iter())
    saved(monkeypatch, page, tmp_path / "c.csv", "losses", "csv", found, qtbot)
    rows = list(csv.reader((tmp_path / "c.csv").read_text().splitlines()))
    # what a spreadsheet would take for a formula is shielded. Source: CWE-1236
    assert rows == [["reason", "scrapped", "rework"], ["'=bubbles", "1", "0"]]


def test_a_folder_that_is_not_there_is_told(tmp_path):
    data = ChartData("t", ("a",), (Series("s", (1.0,), Tone("heat")),), "kWh")
    with pytest.raises(CannotWrite):
        save_chart(tmp_path / "no" / "x.png", data, QFont())


def test_it_is_worked_out_when_somebody_looks_and_beside_the_window(found, qtbot, monkeypatch):
    asked = []
    monkeypatch.setattr(looking_back, "_reviewed", lambda _database, days, _tell: asked.append(days) or found)
    page = ReviewPage(LIGHT)
    qtbot.addWidget(page)
    back = LookingBack(None, page, page)
    page.set_due()
    assert asked == []
    page.show()
    qtbot.waitUntil(lambda: page.figures.rowCount() > 0)
    page.days.setCurrentIndex(0)
    qtbot.waitUntil(lambda: asked == [28, 7] and page.again.isEnabled())
    back.close()


def test_what_takes_long_comes_after_the_rest(found, qtbot, monkeypatch):
    def reviewed(_database, _days, tell):
        tell(replace(found, is_part=True))
        return found

    shown = []
    monkeypatch.setattr(looking_back, "_reviewed", reviewed)
    page = ReviewPage(LIGHT)
    show = page.show_review
    monkeypatch.setattr(page, "show_review", lambda one: (show(one), shown.append(page._empties["molds"].text())))
    qtbot.addWidget(page)
    back = LookingBack(None, page, page)
    page.show()
    qtbot.waitUntil(lambda: len(shown) == 2)
    assert "Still being worked out" in shown[0]
    assert "Nothing could be learned" in shown[1]
    back.close()


def test_without_a_yard_it_says_what_to_do(qtbot, monkeypatch):
    def no_yard(_database, _days, _tell):
        raise NotThere("yard", "", "bring one in")

    monkeypatch.setattr(looking_back, "_reviewed", no_yard)
    page = ReviewPage(LIGHT)
    qtbot.addWidget(page)
    back = LookingBack(None, page, page)
    page.show()
    qtbot.waitUntil(lambda: "There is no yard" in page._message.text())
    back.close()
