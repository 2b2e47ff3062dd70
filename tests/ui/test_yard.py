"""The Yard page in the real window on a real database."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QFileDialog, QLabel, QMessageBox, QPushButton, QWidget

from tests.small_yard import small_orders, small_yard
from yardplan.domain.errors import DatabaseUnreadable
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.yard_draft import draft_of
from yardplan.exchange.yard_files import read_yard_folder, write_yard_folder
from yardplan.forecast.each_mirror import shares_at
from yardplan.store.engine import open_database
from yardplan.store.kept_yards import yard_versions
from yardplan.store.read import read_yard, read_yard_version
from yardplan.store.write import add_orders, write_setting, write_yard
from yardplan.ui import yard_desk
from yardplan.ui.cell_editors import CellEditor
from yardplan.ui.field_panel import LayoutDialog, When
from yardplan.ui.field_view import FieldView
from yardplan.ui.palette import LIGHT, SUNLIGHT
from yardplan.ui.settings import SeatSettings
from yardplan.ui.window import MainWindow
from yardplan.ui.yard import YardPage
from yardplan.ui.yard_versions import VersionsDialog
from yardplan.ui.yard_words import SECTIONS
from yardplan.usecases.clock import CLOCK_AT
from yardplan.usecases.demo import make_demo
from yardplan.usecases.yard_editing import set_cells

FRIDAY = datetime(2027, 5, 14, 20, tzinfo=UTC)
KIM = {"by": "Kim", "at": FRIDAY}


@pytest.fixture
def database(tmp_path):
    made = open_database(f"sqlite:///{tmp_path / 'yard.sqlite'}")
    with made.begin() as session:
        write_yard(session, small_yard(2), **KIM)
        add_orders(session, small_orders(), **KIM)
        write_setting(session, CLOCK_AT, FRIDAY.isoformat(), **KIM)
    yield made
    made.close()


@pytest.fixture
def opened(database, qtbot):
    windows = []

    def open_window(at=database):
        window = MainWindow(at, SeatSettings())
        qtbot.addWidget(window)
        windows.append(window)
        window.show()
        window.menus.pages["yard"].trigger()
        judged(qtbot, window.yard)
        return window

    yield open_window
    for window in windows:
        window.yard_desk._leaves = True
        window.close()


def judged(qtbot, page: YardPage) -> None:
    qtbot.waitUntil(lambda: page.found is not None and page._judged is page.draft, timeout=20_000)


def saved(qtbot, window, version: int) -> None:
    window.yard.save_action.trigger()
    qtbot.waitUntil(lambda: window.yard.found.version == version and not window.yard._busy, timeout=20_000)


def section(page: YardPage, table):
    page.names.setCurrentRow(SECTIONS.index(table))
    return page.sections[table]


def type_in(qtbot, editor: CellEditor, text: str) -> None:
    editor.line.selectAll()
    qtbot.keyClicks(editor.line, text) if text else qtbot.keyClick(editor.line, Qt.Key.Key_Delete)
    qtbot.keyClick(editor.line, Qt.Key.Key_Return)


def stored(database):
    with database.begin_read() as session:
        return read_yard(session)


def version(database) -> int:
    with database.begin_read() as session:
        return read_yard_version(session)


def shown_text(widget: QWidget) -> str:
    return " ".join(label.text() for label in widget.findChildren(QLabel) if label.isVisible())


# Edits


def test_a_mold_is_changed_and_saved(opened, database, qtbot):
    window = opened()
    page = window.yard
    form = section(page, tables.MOLDS).form
    section(page, tables.MOLDS).main.choose(1)
    type_in(qtbot, form.editors["copies"], "4")
    assert page.is_edited
    assert "molds: M2 changed" in page.state.text()
    judged(qtbot, page)
    saved(qtbot, window, 2)
    assert stored(database).molds[1] == replace(small_yard().molds[1], copies=4)
    with database.begin_read() as session:
        assert yard_versions(session)[-1].what == "molds: M2 changed"
    assert not page.is_edited
    assert "Saved as version 2" in page.hint.text()


def test_a_shift_is_changed_in_its_table(opened, database, qtbot):
    window = opened()
    editor = section(window.yard, tables.SHIFTS).main
    names = [column.name for column in editor.model.columns]
    index = editor.model.index(0, names.index("end_local"))
    editor.view.setCurrentIndex(index)
    editor.view.edit(index)
    (cell,) = editor.view.findChildren(CellEditor)
    type_in(qtbot, cell, "13:30")
    judged(qtbot, window.yard)
    saved(qtbot, window, 2)
    assert f"{stored(database).shifts[0].end_local:%H:%M}" == "13:30"


def test_a_field_gets_other_mirrors(opened, database, qtbot):
    window = opened()
    panel = section(window.yard, tables.UNITS).field
    qtbot.waitUntil(lambda: "12 mirrors" in panel.told.text(), timeout=20_000)
    panel.lay.click()
    dialog = window.findChild(LayoutDialog)
    assert dialog.editors["mirrors"].text() == "12"
    type_in(qtbot, dialog.editors["spacing_m"], "1")
    dialog.accept()
    assert "touch as they turn" in dialog.trouble.text()
    assert "From mirror to mirror" in dialog.trouble.text()
    type_in(qtbot, dialog.editors["spacing_m"], "2.6")
    type_in(qtbot, dialog.editors["mirrors"], "30")
    dialog.accept()
    judged(qtbot, window.yard)
    qtbot.waitUntil(lambda: "30 mirrors" in panel.told.text(), timeout=20_000)
    mirrors = window.yard.sections[tables.UNITS].parts[tables.HELIOSTATS]
    mirrors.choose(mirrors.model.rows[29])
    mirrors.remove.click()
    judged(qtbot, window.yard)
    saved(qtbot, window, 2)
    units = stored(database).units
    assert len(units[0].field) == 29
    assert units[1] == small_yard(2).units[1]


def test_rows_and_their_parts_are_added_copied_and_removed(opened, database, qtbot):
    window = opened()
    page = window.yard
    crew = section(page, tables.OPERATORS)
    crew.main.choose(1)
    crew.main.copy.click()
    assert (crew.owner, crew.parts[tables.DUTIES].model.rowCount()) == ("P5", 1)
    type_in(qtbot, crew.form.editors["name"], "Person Five")
    days = crew.parts[tables.DAYS_OFF]
    crew.tabs.setCurrentWidget(days)
    days.add.click()
    days.view.edit(days.model.index(0, 0))
    type_in(qtbot, days.view.findChild(CellEditor), "2027-05-20")
    steps = section(page, tables.PRODUCTS).parts[tables.ROUTING]
    steps.copy.click()
    assert page.draft.rows(tables.ROUTING)[-1][:2] == ("TANK", "2")
    benches = section(page, tables.BENCHES).main
    benches.choose(1)
    benches.remove.click()
    judged(qtbot, page)
    saved(qtbot, window, 2)
    yard = stored(database)
    added = yard.operators[4]
    assert (added.id, added.name, added.duties) == ("P5", "Person Five", small_yard().operators[1].duties)
    assert [str(on) for on in added.days_off] == ["2027-05-20"]
    assert [step.name for step in yard.products[0].routing] == ["cut", "cut"]
    assert [bench.id for bench in yard.benches] == ["W1"]


# What is refused


def test_a_bad_cell_is_told_at_its_place_and_nothing_is_kept(opened, database, qtbot):
    window = opened()
    page = window.yard
    molds = section(page, tables.MOLDS)
    type_in(qtbot, molds.form.editors["copies"], "many")
    molds.main.choose(1)
    type_in(qtbot, molds.form.editors["absorptance_frac"], "0.1")
    judged(qtbot, page)
    assert not page.save_action.isEnabled()
    assert "To be looked at before it can be saved: 2" in page.state.text()
    molds.main.choose(0)
    trouble = molds.form.troubles["copies"]
    assert trouble.isVisible()
    assert "is 'many'; expected a whole number" in trouble.text()
    assert molds.form.editors["copies"].line.accessibleDescription() == trouble.text()
    assert molds.main.model.index(0, 0).data(Qt.ItemDataRole.DecorationRole) is not None
    page.save()
    assert version(database) == 1
    section(page, tables.SITE)
    page.next_problem.click()
    assert page._section is molds
    type_in(qtbot, molds.form.editors["copies"], "2")
    judged(qtbot, page)
    page.next_problem.click()
    assert molds.main.row == 1
    trouble = molds.form.troubles["absorptance_frac"]
    assert trouble.text() == "⚠ is 0.1; expected a number from 0.3 to 1"
    type_in(qtbot, molds.form.editors["absorptance_frac"], "0.9")
    judged(qtbot, page)
    assert not trouble.isVisible()
    saved(qtbot, window, 2)


def test_a_bad_cell_of_a_part_is_gone_to_in_its_tab(opened, qtbot):
    page = opened().yard
    parts = section(page, tables.UNITS).parts[tables.CHAMBERS]
    page.put(page.draft.with_cell(tables.CHAMBERS, 3, "max_load_kg", "heavy"), "test")
    section(page, tables.SITE)
    judged(qtbot, page)
    page.next_problem.click()
    assert page._section.owner == "U2"
    assert page._section.tabs.currentWidget() is parts
    index = parts.view.currentIndex()
    assert (index.row(), index.data()) == (1, "heavy")
    assert "expected a number" in index.data(Qt.ItemDataRole.ToolTipRole)
    assert "expected a number" in index.data(Qt.ItemDataRole.AccessibleTextRole)


def test_what_orders_need_cannot_be_taken_away(opened, database, qtbot):
    page = opened().yard
    products = section(page, tables.PRODUCTS)
    products.main.choose(1)
    products.main.remove.click()
    judged(qtbot, page)
    assert "product of order Y-2 is 'BIN'" in page.state.text()
    assert not page.save_action.isEnabled()
    page.undo_action.trigger()
    judged(qtbot, page)
    assert not page.has_problems


# Back and forth, versions, folders


def test_steps_are_taken_back_and_forth_also_over_a_save(opened, database, qtbot):
    window = opened()
    page = window.yard
    form = section(page, tables.MOLDS).form
    type_in(qtbot, form.editors["copies"], "2")
    type_in(qtbot, form.editors["name"], "Taller tank")
    assert "Name of Molds" in page.undo_action.text()
    page.undo_action.trigger()
    assert form.editors["name"].text() == "Mold M1"
    page.redo_action.trigger()
    judged(qtbot, page)
    saved(qtbot, window, 2)
    page.undo_action.trigger()
    page.undo_action.trigger()
    judged(qtbot, page)
    assert page.is_edited
    saved(qtbot, window, 3)
    assert stored(database) == small_yard(2)
    page.redo_action.trigger()
    assert form.editors["copies"].text() == "2"
    page.discard()
    judged(qtbot, page)
    assert not page.is_edited


def test_an_old_version_is_brought_back(opened, database, qtbot):
    set_cells(database, "molds", "M1", {"copies": "7"}, **KIM)
    window = opened()
    window.yard.versions_action.trigger()
    dialog = window.findChild(VersionsDialog)
    assert dialog.rows.count() == 2
    assert "by Kim: molds: M1 changed" in dialog.rows.item(0).text()
    dialog.rows.setCurrentRow(1)
    dialog.accept()
    qtbot.waitUntil(lambda: window.yard.is_edited, timeout=20_000)
    judged(qtbot, window.yard)
    saved(qtbot, window, 3)
    assert stored(database) == small_yard(2)


def test_a_folder_is_brought_in_as_an_edit_and_written(opened, database, qtbot, tmp_path, monkeypatch):
    window = opened()
    other = replace(small_yard(2), colors=("sand", "black", "white"))
    write_yard_folder(tmp_path / "in", other, small_orders())
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(tmp_path / "in"))
    window.yard.import_action.trigger()
    qtbot.waitUntil(lambda: window.yard.is_edited, timeout=20_000)
    judged(qtbot, window.yard)
    assert version(database) == 1
    assert "its orders, log and weather are not taken" in window.yard.hint.text()
    saved(qtbot, window, 2)
    (tmp_path / "out").mkdir()
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(tmp_path / "out"))
    window.yard.export_action.trigger()
    qtbot.waitUntil(lambda: "Written" in window.yard.hint.text(), timeout=20_000)
    assert read_yard_folder(tmp_path / "out").yard == other
    (tmp_path / "in" / "molds.csv").write_text("mold,name\n")
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(tmp_path / "in"))
    window.yard.import_action.trigger()
    qtbot.waitUntil(lambda: window.findChild(QMessageBox) is not None, timeout=20_000)
    box = window.findChild(QMessageBox)
    assert "molds.csv row 1, column metal: the column is missing" in box.text()
    assert not window.yard.is_edited
    box.close()


# Another seat


def test_a_yard_that_changed_elsewhere_is_shown_where_nothing_is_edited(opened, database, qtbot):
    window = opened()
    set_cells(database, "molds", "M1", {"copies": "7"}, **KIM)
    window.yard_desk.read_again()
    qtbot.waitUntil(lambda: window.yard.found.version == 2, timeout=20_000)
    assert window.yard.hint.text() == "The yard was changed meanwhile by Kim: molds: M1 changed."
    assert section(window.yard, tables.MOLDS).form.editors["copies"].text() == "7"
    assert not window.yard.take_theirs.isVisible()


@pytest.mark.parametrize("mine_on_top", [False, True])
def test_edits_and_those_of_another_seat_are_told_before_one_is_lost(opened, database, qtbot, mine_on_top):
    window = opened()
    page = window.yard
    type_in(qtbot, section(page, tables.SHIFTS).form.editors["end_local"], "13:00")
    type_in(qtbot, section(page, tables.MOLDS).form.editors["copies"], "2")
    judged(qtbot, page)
    set_cells(database, "molds", "M2", {"copies": "7"}, **KIM)
    page.save_action.trigger()  # the other seat was quicker
    qtbot.waitUntil(lambda: page.take_theirs.isVisible(), timeout=20_000)
    assert stored(database).molds[1].copies == 7
    assert page.draft.cell(tables.SHIFTS, 0, "end_local") == "13:00"
    assert "changed meanwhile by Kim: molds: M2 changed" in page.hint.text()
    assert "Both changed Molds" in page.hint.text()
    assert not page.save_action.isEnabled()
    (page.put_mine_on_top if mine_on_top else page.take_theirs).click()
    judged(qtbot, page)
    assert page.draft.cell(tables.MOLDS, 1, "copies") == ("2" if mine_on_top else "7")
    assert page.is_edited is mine_on_top
    assert not page.hint.isVisible()
    if mine_on_top:
        saved(qtbot, window, 3)
        yard = stored(database)
        assert [mold.copies for mold in yard.molds] == [2, 2]
        assert f"{yard.shifts[0].end_local:%H:%M}" == "13:00"


def test_a_database_that_another_seat_holds_is_told_and_edits_stay(opened, database, qtbot):
    window = opened()
    type_in(qtbot, section(window.yard, tables.MOLDS).form.editors["copies"], "2")
    judged(qtbot, window.yard)
    with database.begin():  # waits are given up after 5 s
        window.yard.save_action.trigger()
        assert not window.yard.save_action.isEnabled()
        qtbot.waitUntil(lambda: "Not saved, your edits are still here" in window.yard.hint.text(), timeout=20_000)
    assert window.yard.draft.cell(tables.MOLDS, 0, "copies") == "2"
    saved(qtbot, window, 2)


def test_a_database_that_cannot_be_read_is_told_on_the_page(opened, database, qtbot, monkeypatch):
    def broken(_):
        raise DatabaseUnreadable("sqlite://", "the disk is gone")

    window = opened()
    monkeypatch.setattr(yard_desk, "yard_version", broken)
    window.yard_desk.read_again()
    qtbot.waitUntil(lambda: "the disk is gone" in window.yard.hint.text(), timeout=20_000)
    assert window.findChild(QMessageBox) is None
    assert window.yard.found.version == 1


# Beginning and end


def test_a_first_yard_begins_with_a_blank_site(qtbot, tmp_path, opened):
    empty = open_database(f"sqlite:///{tmp_path / 'empty.sqlite'}")
    window = opened(empty)
    page = window.yard
    assert "There is no yard yet" in page.state.text()
    assert page._section.table is tables.SITE
    assert page._section.form.troubles["latitude_deg"].isVisible()
    type_in(qtbot, page._section.form.editors["name"], "Invented flat")
    judged(qtbot, page)
    assert not page._section.form.troubles["name"].isVisible()
    assert not page.save_action.isEnabled()
    for name, text in (
        *(("tz", "America/Denver"), ("latitude_deg", "35"), ("longitude_deg", "-106"), ("altitude_m", "1600")),
        *(("loaders", "2"), ("colors", "sand; black")),
    ):
        type_in(qtbot, page._section.form.editors[name], text)
    units = section(page, tables.UNITS)
    units.main.add.click()
    first = small_yard().units[0]
    for name in [column.name for column in tables.UNITS.columns]:
        cell = draft_of(small_yard()).cell(tables.UNITS, 0, name)
        type_in(qtbot, units.form.editors[name], cell)
    units.parts[tables.CHAMBERS].add.click()
    for name, text in (("chamber", "1A"), ("max_swing_m", "2.4"), ("max_load_kg", "900")):
        page.put(page.draft.with_cell(tables.CHAMBERS, 0, name, text), "test")
    judged(qtbot, page)
    assert "at least one heliostat" in units.form._whole.text() + units.form.troubles["unit"].text()
    units.field.lay.click()
    window.findChild(LayoutDialog).accept()
    judged(qtbot, page)
    saved(qtbot, window, 1)
    qtbot.waitUntil(lambda: not window._reading, timeout=20_000)
    assert page.isVisible()  # though there is no weather yet
    found = stored(empty)
    assert (found.site.name, found.site.loaders, found.colors) == ("Invented flat", 2, ("sand", "black"))
    assert replace(found.units[0], field=first.field, chambers=first.chambers) == first
    assert len(found.units[0].field) == 36
    window.yard_desk._leaves = True
    window.close()
    empty.close()


@pytest.mark.parametrize("choice", ["Save", "Drop them", "Cancel"])
def test_edits_are_not_lost_when_the_window_closes(opened, database, qtbot, choice):
    window = opened()
    type_in(qtbot, section(window.yard, tables.MOLDS).form.editors["copies"], "2")
    judged(qtbot, window.yard)
    assert not window.close()
    box = window.findChild(QMessageBox, "save_yard")
    next(button for button in box.buttons() if button.text().replace("&", "") == choice).click()
    if choice == "Cancel":
        assert window.isVisible()
        return
    qtbot.waitUntil(lambda: not window.isVisible(), timeout=20_000)
    assert version(database) == (2 if choice == "Save" else 1)


# The drawing


def test_the_field_is_told_and_drawn_for_the_time_that_is_chosen(opened, qtbot):
    panel = section(opened().yard, tables.UNITS).field
    told = {}
    for when in When:
        panel.when.setCurrentIndex(panel.when.findData(when))
        panel.told.clear()
        panel._ask()
        qtbot.waitUntil(lambda: "mirrors" in panel.told.text(), timeout=20_000)
        told[when] = panel.told.text()
    assert "on Fri 14 May at 14:00" in told[When.NOW]
    assert "on Fri 14 May at 13:0" in told[When.NOON]  # mean noon at 106 degrees west, an hour of summer time on
    assert "over Fri 14 May under a clear sky" in told[When.DAY]
    assert len({text.partition("send ")[2][:4] for text in told.values()}) > 1
    view = panel.view
    view.choose(0)
    qtbot.keyClick(view, Qt.Key.Key_Right)
    assert view.chosen == 1
    assert view.accessibleDescription() == panel.told.text() == view.told(1)
    assert "Mirror 2: -6.0 m east, 12.0 m north, 1.5 m up" in view.told(1)
    px = view._px_per_m()
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert view.chosen == -1
    assert panel.told.text() == told[When.DAY]
    at = view._point(0, 12, px)
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=QPoint(round(at.x()), round(at.y())))
    assert view.chosen == 3


def test_mirrors_are_to_scale_and_filled_as_far_as_they_send(qtbot):
    view = FieldView(LIGHT)
    qtbot.addWidget(view)
    view.resize(900, 600)
    unit, site = small_yard().units[0], small_yard().site
    shares = shares_at(site, unit, FRIDAY)
    view.show_unit(unit)
    view.show_shares(shares)
    px = view._px_per_m()
    one, two = view._point(-9, 12, px), view._point(24, 12, px)
    assert two.x() - one.x() == pytest.approx(33 * px)
    assert view._point(0, 12, px).y() < view._point(0, 0, px).y()  # north is up
    shape = unit.field[3]  # due north, so that it stands upright in the drawing
    for colors in (LIGHT, SUNLIGHT):
        view.set_colors(colors)
        image = view.grab().toImage()
        dots = image.devicePixelRatio()
        middle, half_px = view._point(shape.east_m, shape.north_m, px) * dots, shape.height_m / 2 * px * dots
        rows = [round(middle.y() + step) for step in range(-int(half_px) + 2, int(half_px) - 2)]
        inside = [image.pixelColor(round(middle.x()), row) for row in rows]
        blank = [abs(found.lightness() - QColor(colors.base).lightness()) < 3 for found in inside]
        filled_frac = 1 - blank.index(False) / len(rows)
        assert filled_frac == pytest.approx(float(shares.sent_frac[3]), abs=0.1)
        assert any(blank[-12:]) is colors.heat_hatched  # lines where nothing is told by tone


# For everybody


def test_every_control_has_a_name_and_can_be_reached_by_keys(opened, qtbot):
    page = opened().yard
    for table in SECTIONS:
        section(page, table)
        controls = [
            found
            for found in page.findChildren(QWidget)
            if found.isVisible() and found.focusPolicy() & Qt.FocusPolicy.TabFocus
        ]
        nameless = [
            (type(found).__name__, found.objectName(), found.parent().objectName())
            for found in controls
            if not (found.accessibleName() or getattr(found, "text", str)() or found.toolTip())
            and not isinstance(found.parent(), CellEditor)
            and found.objectName() not in ("qt_tabwidget_tabbar", "qt_spinbox_lineedit")
        ]
        assert nameless == []
    assert all(button.objectName() for button in page.findChildren(QPushButton))


@pytest.mark.gui
def test_the_demo_yard_is_edited_by_keys(tmp_path, qtbot):
    database = open_database(make_demo(tmp_path / "demo.sqlite"))
    window = MainWindow(database, SeatSettings())
    qtbot.addWidget(window)
    window.show()
    qtbot.waitUntil(lambda: window._week is not None, timeout=60_000)
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow, timeout=5_000)
    window.menus.pages["yard"].trigger()
    page = window.yard
    judged(qtbot, page)
    for _ in range(SECTIONS.index(tables.MOLDS) - page.names.currentRow()):
        qtbot.keyClick(page.names, Qt.Key.Key_Down)
    form = page._section.form
    form.focus_cell("copies")
    type_in(qtbot, form.editors["copies"], "5")
    judged(qtbot, page)
    qtbot.keyClick(page.names, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: page.found.version == 2, timeout=20_000)
    qtbot.keyClick(page.names, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert page.draft.cell(tables.MOLDS, 0, "copies") == "2"
    judged(qtbot, page)
    qtbot.keyClick(page.names, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: page.found.version == 3, timeout=20_000)
    assert stored(database).molds[0].copies == 2
    qtbot.waitUntil(lambda: not window._reading, timeout=60_000)
    window.close()
    database.close()
