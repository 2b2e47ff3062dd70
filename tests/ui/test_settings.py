"""Settings of a seat, and the dialog that changes them."""

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QDialogButtonBox

from yardplan.ui import app, jobs
from yardplan.ui.palette import Theme
from yardplan.ui.settings import SeatSettings, load_settings, machine_person, save_settings
from yardplan.ui.settings_dialog import SettingsDialog
from yardplan.ui.units import Units
from yardplan.ui.window import MainWindow


def test_settings_come_back_as_they_were_kept():
    kept = SeatSettings(Theme.DARK, 90, frozenset({"crew"}), None, "es", Units.US, "Pat", True)
    save_settings(kept)
    assert load_settings() == kept
    assert jobs.person() == "Pat"


def test_what_is_unknown_takes_its_default():
    save_settings(SeatSettings())
    assert load_settings() == SeatSettings()
    assert jobs.person() == machine_person()


def test_the_dialog_changes_settings_only_when_it_is_accepted(qtbot):
    settings = SeatSettings(theme=Theme.LIGHT)
    dialog = SettingsDialog(settings)
    qtbot.addWidget(dialog)
    dialog.open()
    dialog.theme.setCurrentIndex(dialog.theme.findData(Theme.SUNLIGHT))
    dialog.person.setText("  Pat ")
    dialog.reject()
    assert settings == SeatSettings(theme=Theme.LIGHT)
    dialog.open()
    with qtbot.waitSignal(dialog.changed) as told:
        dialog.findChild(QDialogButtonBox).button(QDialogButtonBox.StandardButton.Ok).click()
    assert told.args == [False]
    assert (settings.theme, settings.person) == (Theme.SUNLIGHT, "Pat")
    dialog.units.setCurrentIndex(dialog.units.findData(Units.US))
    with qtbot.waitSignal(dialog.changed) as told:
        dialog.accept()
    assert told.args == [True]


def test_every_setting_has_a_name(qtbot):
    dialog = SettingsDialog(SeatSettings())
    qtbot.addWidget(dialog)
    for widget in (dialog.theme, dialog.language, dialog.units, dialog.search_s, dialog.person):
        assert widget.accessibleName()
        assert widget.objectName().startswith("setting_")


def test_another_unit_system_shows_the_window_anew(tmp_path):
    seen = []

    def look():
        window = next(
            (one for one in QApplication.topLevelWidgets() if isinstance(one, MainWindow) and one.isVisible()), None
        )
        if window is None or window._reading:
            QTimer.singleShot(50, look)
            return
        seen.append((id(window), window._settings.units))
        if len(seen) == 1:
            window._settings.units = Units.US
            window._take_settings(True)
            QTimer.singleShot(50, look)
        else:
            window.close()

    QTimer.singleShot(50, look)
    assert app.run_window(f"sqlite:///{tmp_path / 'new.sqlite'}") == 0
    assert [units for _, units in seen] == [Units.REGION, Units.US]
    assert seen[0][0] != seen[1][0]
