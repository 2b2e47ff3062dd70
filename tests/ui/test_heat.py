"""The Heat page against the tables that it shows."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import Qt

from tests.small_yard import MONDAY, at, small_yard
from tests.ui.weeks import small_outlook
from yardplan.domain.days import Stow
from yardplan.domain.slots import SlotGrid
from yardplan.domain.verification import BiasCorrection, LeadScores, Verification, Verified
from yardplan.domain.weather_in_use import WeatherInUse
from yardplan.forecast.overrule import overrule_of
from yardplan.ui import jobs
from yardplan.ui.heat import HeatPage
from yardplan.ui.palette import DARK, LIGHT
from yardplan.ui.sky_words import SkyWords

TZ = "America/Denver"


@pytest.fixture
def outlook():
    return small_outlook(small_yard(2))


@pytest.fixture
def sky(outlook, monkeypatch):
    rules = (overrule_of("fog tuesday until 10", at(0, 7.5), TZ),)
    monkeypatch.setattr(jobs, "weather_in_use", lambda _database, now: WeatherInUse(TZ, "a sine, invented"))
    monkeypatch.setattr(jobs, "overrules_in_use", lambda _database, now: rules)
    return jobs._sky(None, outlook)


@pytest.fixture
def page(outlook, sky, qtbot):
    made = HeatPage(LIGHT)
    qtbot.addWidget(made)
    made.resize(1280, 700)
    made.show_sky(outlook, sky)
    made.show()
    return made


def test_a_row_has_the_quantiles_of_its_unit_and_day(page, outlook):
    assert [row.title for row in page.fans.rows] == ["Unit 1", "Unit 2"]
    day_kw = outlook.heat.field_kw[:, 0, :288]
    for ix, share in enumerate((0.1, 0.5, 0.9)):
        # numpy is the outside reference for the quantiles
        assert page.fans.rows[0].heat_kw[ix] == pytest.approx(np.quantile(day_kw, share, axis=0), rel=1e-5)
    noon = 144
    assert page.fans.reading(page.fans.rows[0], noon) == "Unit 1, 12:00: 80 kW (64 to 96)"


def test_days_and_units_change_places(page):
    page._days.button(1).click()
    assert "Tue 18 May" in page._day_told.text()
    assert page.fans.rows[0].key == ("U1", "2027-05-18")
    page.view.setCurrentIndex(2)
    assert [row.key for row in page.fans.rows] == [("U2", f"2027-05-{day}") for day in (17, 18, 19)]
    assert page.fans.row_ix == 1, "the day that was chosen is the row that is"
    page.fans.chosen.emit(2)
    assert page._days.checkedId() == 2
    assert "Wed 19 May" in page.panel.wash.text()


def test_windows_are_those_of_the_cook_table(page, outlook):
    """Starts from 09:00 to 15:30, as the hand-made cook table says."""
    row = page.fans.rows[0]
    starts = row.starts["TANK"]
    local = outlook.grid.local
    assert (f"{local(starts.first_slot):%H:%M}", f"{local(starts.last_slot):%H:%M}") == ("09:00", "15:30")
    assert starts.last == "latest 15:30"
    cell = page.table.item(0, 0)
    assert cell.text().startswith("09:00–15:30 · ")
    assert "latest safe start 15:30" in cell.toolTip()
    assert cell.data(Qt.ItemDataRole.AccessibleTextRole) == cell.toolTip()


def test_a_product_without_a_start_says_so(outlook, sky, page):
    page.show_sky(outlook, replace(sky, windows={}))
    assert page.table.item(0, 0).text() == "none"
    assert "no start of that day reaches PIAT" in page.table.item(0, 0).toolTip()
    page.fans.repaint()


def test_what_was_said_by_hand_stands_on_its_day_only(page):
    assert page.fans.rows[0].by_hand == ()
    page._days.button(1).click()
    (told,) = page.fans.rows[0].by_hand
    assert (told.first_slot, told.after_slot) == (288, 288 + 120)
    assert told.texts[0] == "by hand: fog tuesday until 10"
    assert "by hand" in page.fans.rows[0].sentence
    assert "Tue 18 May 00:00 to 10:00" in page.panel.rules.item(0).text()


def test_wind_is_told(outlook, sky, page):
    day = replace(sky.days[0], stow=Stow(180, 192, 0.25))
    page.show_sky(outlook, replace(sky, days=(day, *sky.days[1:])))
    assert page.fans.rows[0].stow[0].texts[1] == "wind 25%"
    assert "wind may stow the mirrors 15:00 to 16:00 (25%)" in page._day_told.text()


@pytest.mark.gui
def test_keys_choose_rows_and_read_the_heat_off(page, qtbot):
    fans = page.fans
    fans.setFocus()
    qtbot.keyClick(fans, Qt.Key.Key_Down)
    assert fans.row_ix == 1
    assert page.table.currentColumn() == 1
    assert "Unit 2" in fans.accessibleDescription()
    qtbot.keyClick(fans, Qt.Key.Key_Right)
    assert fans.accessibleDescription() == "Unit 2, 12:00: 80 kW (64 to 96)"
    qtbot.keyClick(fans, Qt.Key.Key_Right)
    assert "12:15" in fans.accessibleDescription()
    qtbot.keyClick(fans, Qt.Key.Key_Up)
    qtbot.keyClick(fans, Qt.Key.Key_Left)
    assert "Unit 1, 12:00" in fans.accessibleDescription()
    qtbot.keyClick(fans, Qt.Key.Key_Escape)
    assert fans._read_slot is None
    page.table.setFocus()
    qtbot.keyClick(page.table, Qt.Key.Key_Down)
    assert fans._product_id == "BIN"
    assert "Bin" in page._caption.text()


@pytest.mark.gui
def test_a_click_reads_the_heat_off_at_its_place(page, qtbot):
    fans, row = page.fans, page.fans.rows[1]
    x, y = fans._slot_x(120.5, row), fans._head_px + 1.5 * fans._row_px
    qtbot.mouseClick(fans, Qt.MouseButton.LeftButton, pos=fans.rect().topLeft().__class__(int(x), int(y)))
    assert fans.row_ix == 1
    assert fans._read_slot == 120


def test_the_axis_goes_by_the_clock_also_when_clocks_change(qtbot, monkeypatch, page):
    """In 2027 clocks in Denver went forward on 14 March. Source: IANA tz database, America/Denver."""
    first = MONDAY.replace(month=3, day=13)
    grid = SlotGrid.of_days(first, 2, TZ)
    (_, before, _), (_, change, after) = grid.days
    assert after - change == 276
    fans = page.fans
    fans._grid = grid
    rows = page.fans.rows
    saturday, sunday = replace(rows[0], first_slot=before), replace(rows[0], first_slot=change)
    noon = [next(s for s in range(a, b) if grid.local(s).hour == 12) for a, b in ((before, change), (change, after))]
    assert fans._hour(noon[0], saturday) == fans._hour(noon[1], sunday) == 12


@pytest.mark.parametrize("colors", [LIGHT, DARK], ids=["light", "dark"])
def test_the_page_is_drawn_in_both_themes_with_the_heat_where_it_is(page, colors):
    page.set_colors(colors)
    fans = page.fans
    picture = fans.grab().toImage()
    row, top = fans.rows[0], fans._head_px
    base = top + fans._row_px - fans._look.line_px - 6
    inside = picture.pixelColor(int(fans._slot_x(144.5, row)), int(base - 4)).name()
    night = picture.pixelColor(int(fans._x(fans._hours[0] + 0.1)), int(base - 4)).name()
    # the low edge of the band is at 64 kW of 100 at noon: under it the ground is bare
    assert inside == night == colors.base.lower()
    band_px = base - 0.8 * (base - top - 6)
    column = {picture.pixelColor(int(fans._slot_x(132.5, row)), int(band_px) + dy).name() for dy in range(-12, 13)}
    assert colors.band.lower() in column


def test_source_and_age_are_told(outlook, sky):
    words = SkyWords(outlook.yard, outlook.grid)
    season = words.source("a sine", sky.weather)
    assert any("do not age" in line for line in season)
    forecast = WeatherInUse(
        TZ, "served", credit="Data from a test", issued_at=at(0, 1), checked_at=at(0, 7), age_h=6.5,
        trouble="not asked", warnings=("beware",), weather=_Weather(),
    )  # fmt: skip
    told = " ".join(words.source("served", forecast))
    for part in ("Mon 17 May 01:00", "6.5 h old", "Data from a test", "last answered", "not asked", "beware"):
        assert part in told


class _Weather:
    starts_at = (at(0, 1), at(2, 1))
    step_min = 60


def test_a_message_takes_the_place_of_the_page(page):
    page.show_message("There is no weather")
    assert page._message.isVisible()
    page.set_idle(True)
    assert not page.panel.ask.isEnabled()
    page.panel.show_trouble("why")
    page._day_chosen(0)
    page._row_chosen(0)


def test_how_good_the_outlooks_were_is_told_with_what_chance_allows(page, outlook):
    words = SkyWords(outlook.yard, outlook.grid)
    lead = LeadScores(
        lead_h=(24, 48), hours=100, days=12, bias_w_m2=-21.4, rmse_w_m2=150, nrmse_frac=0.25, crps_w_m2=60,
        band_score_w_m2=500, strong_sun_brier=0.1, in_band_frac=0.77, in_band_by_chance=(0.7, 0.9),
        skill_climate=0.31, skill_persistence=float("nan"), ranks_frac=(0.1,) * 10, enough=False,
    )  # fmt: skip
    found = Verified(TZ, 60, 9, at(-12, 6), True, Verification((lead,), ("beware",)), BiasCorrection(False, 0, 10))
    page.show_verified(found)
    told = page.panel._verified.text()
    for part in (
        "9 outlooks kept since Wed 5 May", "24 to 48 h ahead (12 days)", "21 W/m² too dull", "77% of the hours",
        "70% to 90% by chance", "31% less error than the season", "too few days", "not corrected", "beware",
    ):  # fmt: skip
        assert part in told
    assert "last day" not in told, "what is not known is not told"
    assert "No outlook was kept" in words.verified(replace(found, n_outlooks=0))[0]
    assert "no measured sun" in words.verified(replace(found, sun_was_measured=False))[0]
    assert "measured yet" in words.verified(replace(found, scores=Verification((), ())))[0]
