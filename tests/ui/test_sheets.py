"""Shop sheets on paper, and codes typed back."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtGui import QFontMetricsF, QImage, QPainter
from PySide6.QtWidgets import QFileDialog

from tests.domain.test_shop_sheet import said, sheet
from yardplan.domain.errors import CannotWrite
from yardplan.store.engine import open_database
from yardplan.ui import wall
from yardplan.ui.settings import SeatSettings
from yardplan.ui.sheets import CODE_PT, COLUMNS, DPI, PT, TEXT_PT, SheetWords, _font, _paint, _rows_on, save_shop_sheets
from yardplan.ui.wall import Wall
from yardplan.ui.window import MainWindow

A4_PT, LETTER_PT = (595, 842), (612, 792)


@pytest.mark.parametrize(("kind", "size_pt"), [("a4", A4_PT), ("letter", LETTER_PT)])
def test_a_page_for_each_unit_in_the_size_asked_for(qapp, tmp_path, kind, size_pt):
    """Sources: ISO 216, A4 is 210 by 297 mm; ANSI/ASME Y14.1, Letter is 8.5 by 11 in."""
    found = sheet(said(1, 3))
    found = replace(found, units=found.units * 3)
    save_shop_sheets(tmp_path / "s.pdf", found, kind)
    pdf = (tmp_path / "s.pdf").read_bytes()
    assert len(re.findall(rb"/Type /Page\n", pdf)) == 3
    box = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    assert [float(side) for side in box.groups()] == pytest.approx(size_pt, abs=1)


def test_it_has_plan_issue_time_codes_and_latest_starts(qapp):
    (page,) = SheetWords(sheet(said(1, 3))).pages(20)
    assert page.title == "Unit 1  ·  Mon 17 May 2027  ·  plan 3"
    assert page.issue == "Issued Mon 17 May 06:30 by Pat"
    assert page.is_issued
    assert page.number == "sheet 1/1"
    cycles = [line for line in page.lines if line.is_cycle]
    assert [line.code for line in cycles] == ["1A-01", "1A-02", "1B-01"]
    assert all(line.latest == ("15:30",) for line in cycles)
    assert "invented" in page.foot or "Test mesa" in page.foot


@pytest.mark.parametrize(
    ("published", "told"),
    [((), "NOT ISSUED: no plan is in force"), ((said(1, 3), said(2, 4)), "NOT ISSUED: plan 4 is in force")],
)
def test_a_plan_that_is_not_in_force_says_so(qapp, published, told):
    (page,) = SheetWords(sheet(*published)).pages(20)
    assert page.issue == told
    assert not page.is_issued


def test_a_unit_with_many_cycles_takes_another_page_and_loses_none(qapp):
    found = sheet(said(1, 3))
    many = replace(found.units[0], rows=found.units[0].rows * 10)
    pages = SheetWords(replace(found, units=(many,))).pages(20)
    assert sum(len(page.lines) for page in pages) == len(many.rows)
    assert all(len(page.lines) <= 20 for page in pages)


@pytest.mark.parametrize("published", [(), (said(1, 3),)])
def test_it_is_black_white_and_gray(qapp, published):
    """Drawn on a picture with the same code: each dot has as much red as green as blue."""
    (page,) = SheetWords(sheet(*published)).pages(20)
    image = QImage(7 * 300, 10 * 300, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.scale(300 / DPI, 300 / DPI)
    _paint(painter, page, 7.0 * DPI, 10.0 * DPI)
    painter.end()
    tones = {image.pixelColor(x, y).getRgb()[:3] for x in range(0, image.width(), 3) for y in range(0, 1200, 3)}
    assert len(tones) > 2
    # letters may be smoothed with a hue by the platform's fonts, by a little
    assert all(max(tone) - min(tone) <= 3 for tone in tones)


@pytest.mark.parametrize("locale", ["en_US", "es_ES"])
def test_no_time_is_cut_off(qapp, locale):
    """Also of a cook on the next day, by a clock of twelve hours, on the narrower paper."""
    QLocale.setDefault(QLocale(locale))
    found = sheet(said(1, 3))
    day = timedelta(days=1)
    late = replace(found, on=found.on - day)
    width_pt = A4_PT[0] - 2 * 12 / 25.4 * 72
    for words in (SheetWords(found), SheetWords(late)):
        for line in words.pages(20)[0].lines:
            texts = [(0, line.code, CODE_PT, line.is_cycle), (1, line.charge, TEXT_PT, False)]
            texts += [
                (column, text, TEXT_PT, False) for column, part in ((3, line.heat), (5, line.demold)) for text in part
            ]
            texts += [(2, text, TEXT_PT, False) for text in line.what]
            texts += [(4, text, TEXT_PT, True) for text in line.latest]
            for column, text, size_pt, bold in texts:
                taken_pt = QFontMetricsF(_font(size_pt, bold=bold)).horizontalAdvance(text) / PT
                assert taken_pt <= COLUMNS[column] * width_pt - 4, (column, text)


def test_sizes_can_be_read_on_a_wall():
    assert TEXT_PT >= 10
    assert CODE_PT >= 14
    # a day of two chambers with six cycles each, on the shorter paper
    assert _rows_on(round((11 - 2 * 12 / 25.4) * DPI)) >= 12


def test_a_folder_that_is_not_there_is_told(qapp, tmp_path):
    with pytest.raises(CannotWrite):
        save_shop_sheets(tmp_path / "no" / "s.pdf", sheet())


@pytest.fixture
def window(tmp_path, qtbot):
    database = open_database(f"sqlite:///{tmp_path / 'new.sqlite'}")
    made = MainWindow(database, SeatSettings())
    qtbot.addWidget(made)
    made.show()
    qtbot.waitUntil(lambda: not made._reading, timeout=30_000)
    yield made
    made.close()
    database.close()


def test_a_code_that_is_typed_opens_its_cycle(window, qtbot):
    from tests.domain.test_shop_sheet import OUTLOOK, PLAN
    from tests.ui.weeks import stored
    from yardplan.ui.jobs import Week
    from yardplan.ui.words import Words

    window.week.show_week(OUTLOOK, PLAN, Words(OUTLOOK.yard, PLAN), frozenset())
    window.wall.show_week(Week(OUTLOOK, None, None, stored(PLAN, 3)))
    window.wall.ask_code()
    dialog = window.wall._dialog
    qtbot.keyClicks(dialog.code, "9x9")
    qtbot.keyClick(dialog.code, Qt.Key.Key_Return)
    assert "9x9" in dialog._trouble.text()
    qtbot.keyClicks(dialog.code, "1a2")  # what was there is selected and goes
    qtbot.keyClick(dialog.code, Qt.Key.Key_Return)
    assert window._stack.currentWidget() is window.week
    assert window.week.board.view.mark.spot.key == ("cycle", "C2")


def test_the_menu_saves_the_sheets_beside_the_window(window, qtbot, tmp_path, monkeypatch):
    from tests.domain.test_shop_sheet import OUTLOOK, PLAN
    from tests.ui.weeks import stored
    from yardplan.ui.jobs import Week

    monkeypatch.setattr(wall, "publications", lambda _database: (said(1, 3),))
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / "s.pdf"), ""))
    saver = Wall(window._database, window)
    saver.show_week(Week(OUTLOOK, None, None, stored(PLAN, 3)))
    saver.save_sheets()
    qtbot.waitUntil((tmp_path / "s.pdf").exists, timeout=10_000)
    assert (tmp_path / "s.pdf").read_bytes().startswith(b"%PDF-")
    saver.close()
