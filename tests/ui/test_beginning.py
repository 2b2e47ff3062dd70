"""The first run: from an empty database to a plan in force."""

import shutil

import pytest
from PySide6.QtWidgets import QFileDialog

from yardplan.paths import demo_folder
from yardplan.store.engine import open_database
from yardplan.ui.settings import SeatSettings
from yardplan.ui.window import MainWindow
from yardplan.usecases.publishing import publications


@pytest.fixture
def window(tmp_path, qtbot):
    database = open_database(f"sqlite:///{tmp_path / 'new.sqlite'}")
    made = MainWindow(database, SeatSettings(search_s=1))
    qtbot.addWidget(made)
    made.show()
    qtbot.waitUntil(lambda: not made._reading, timeout=30_000)
    yield made
    made.close()
    database.close()


@pytest.mark.gui
def test_an_empty_database_leads_to_a_plan_in_force_step_by_step(window, qtbot):
    """Demo yard, first plan, publication: each by the one button that is offered."""
    welcome, steps = window.beginning.welcome, window.beginning.steps
    assert window._stack.currentWidget() is welcome
    assert not welcome.buttons["demo"].isHidden()
    assert welcome.buttons["weather"].isHidden()
    assert steps.isHidden()
    welcome.buttons["demo"].click()
    qtbot.waitUntil(lambda: window._week is not None, timeout=60_000)
    assert window._stack.currentWidget() is window.week
    assert not steps.isHidden()
    assert steps.step == "plan"
    assert "Step 2 of 4" in steps._told.text()
    steps.go.click()
    qtbot.waitUntil(lambda: window._week.stored is not None and not window._building, timeout=120_000)
    assert steps.step == "publish"
    assert publications(window._database) == ()
    steps.go.click()
    qtbot.waitUntil(lambda: window._week.today.in_force is not None and not window._reading, timeout=60_000)
    assert steps.step == "log"
    assert [one.plan_number for one in publications(window._database)] == [1]
    steps.go.click()
    assert steps.isHidden()
    assert window._stack.currentWidget() is window.today
    assert window._settings.guided


def test_a_yard_without_weather_asks_for_weather(window, tmp_path, qtbot, monkeypatch):
    folder = tmp_path / "yard"
    shutil.copytree(demo_folder(), folder, ignore=shutil.ignore_patterns("*.epw", "measured_sun.csv"))
    site = (folder / "site.toml").read_text()
    (folder / "site.toml").write_text(
        "\n".join(line for line in site.splitlines() if not line.startswith(("weather", "measured_sun")))
    )
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(folder))
    welcome = window.beginning.welcome
    welcome.buttons["folder"].click()
    qtbot.waitUntil(lambda: not welcome.buttons["weather"].isHidden(), timeout=30_000)
    assert welcome.buttons["demo"].isHidden()
    assert "typical year" in welcome._told.text()
    epw = demo_folder() / "typical_year.epw"
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(epw), ""))
    window.menus.bring["weather"].trigger()
    qtbot.waitUntil(lambda: window._week is not None, timeout=60_000)
    assert window._stack.currentWidget() is window.week


def test_a_folder_that_is_no_yard_is_told_and_changes_nothing(window, tmp_path, qtbot, monkeypatch):
    told = []
    monkeypatch.setattr(MainWindow, "tell_error", lambda _window, error: told.append(str(error)))
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(tmp_path))
    window.beginning.welcome.buttons["folder"].click()
    qtbot.waitUntil(lambda: bool(told), timeout=30_000)
    assert "site.toml" in told[0]
    assert window._stack.currentWidget() is window.beginning.welcome


def test_who_does_not_want_to_be_led_is_not(window, qtbot):
    window.beginning.welcome.buttons["demo"].click()
    qtbot.waitUntil(lambda: window._week is not None, timeout=60_000)
    window.beginning.steps.leave.click()
    assert window._settings.guided
    assert window.beginning.steps.isHidden()
