import re

import pytest
from PySide6.QtCore import QLocale
from PySide6.QtGui import QImage

from tests.ui.weeks import big_week, small_outlook, small_plan, stored
from yardplan.domain.errors import CannotWrite
from yardplan.ui.lanes import LaneKind
from yardplan.ui.palette import LIGHT
from yardplan.ui.picture import FOOT_PX, HEAD_PX, _Sheets, save_week_pdf, save_week_picture


@pytest.fixture
def outlook():
    return small_outlook()


def test_picture_and_paper_are_written(tmp_path, outlook, qapp):
    png, pdf = tmp_path / "week.png", tmp_path / "week.pdf"
    save_week_picture(png, pdf, outlook, stored(small_plan(outlook), 5))
    image = QImage(str(png))
    assert (image.width(), image.height()) == (1600, 1000)
    colors = {image.pixelColor(x, y).name().upper() for x in range(0, 1600, 2) for y in range(0, 1000, 2)}
    assert {LIGHT.heat, LIGHT.cool, LIGHT.band, LIGHT.night} <= colors
    assert pdf.read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize(("locale", "width_pt"), [("de_DE", 842), ("en_US", 792)])
def test_paper_has_the_size_of_the_country(tmp_path, outlook, locale, width_pt):
    """Sources: ISO 216, A4 is 297 mm wide lying; ANSI/ASME Y14.1, Letter is 11 in."""
    QLocale.setDefault(QLocale(locale))
    save_week_pdf(tmp_path / "week.pdf", outlook, stored(small_plan(outlook)))
    found = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", (tmp_path / "week.pdf").read_bytes())
    assert float(found.group(1)) == pytest.approx(width_pt, abs=1)


def test_paper_has_a_sheet_for_each_part_of_a_day_with_work(tmp_path, outlook):
    save_week_pdf(tmp_path / "week.pdf", outlook, stored(small_plan(outlook)))
    sheets = re.findall(rb"/Type /Page\n", (tmp_path / "week.pdf").read_bytes())
    # Monday and Tuesday have work, Wednesday has none; each a sheet for the unit and two for people and benches.
    assert len(sheets) == 6


def test_every_row_is_on_paper_once_and_fits(outlook, qapp):
    week, plan = big_week(6)
    sheets = _Sheets(week, stored(plan), 1047, 718)
    lanes = [lane for block in sheets._blocks for lane in block]
    assert lanes == list(sheets._board.lanes)
    assert not any(lane.kind is LaneKind.BATTERY for lane in lanes)
    room_px = 718 - HEAD_PX - FOOT_PX - sheets._axis_px
    for block in sheets._blocks:
        assert block[-1].bottom_px - sheets._top(block[0]) <= room_px


def test_paper_names_cycles_by_their_codes(outlook, qapp):
    sheets = _Sheets(outlook, stored(small_plan(outlook)), 1047, 718)
    assert sheets._board.marks["cycle", "C2"]._labels[-1] == "1A-02"


@pytest.mark.parametrize("which", [0, 1])
def test_a_folder_that_is_not_there_is_told_and_nothing_half_written_is_left(tmp_path, outlook, qapp, which):
    paths = [tmp_path / "a.png", tmp_path / "a.pdf"]
    paths[which] = tmp_path / "no" / paths[which].name
    with pytest.raises(CannotWrite, match="could not be written"):
        save_week_picture(*paths, outlook, stored(small_plan(outlook)))
    assert [path.name for path in tmp_path.iterdir()] == ["a.png"][:which]


def test_a_folder_in_the_files_place_is_told(tmp_path, outlook, qapp):
    (tmp_path / "week.pdf").mkdir()
    with pytest.raises(CannotWrite):
        save_week_pdf(tmp_path / "week.pdf", outlook, stored(small_plan(outlook)))
    assert [path.name for path in tmp_path.iterdir()] == ["week.pdf"]
