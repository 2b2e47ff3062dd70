"""The dialog with the settings of this seat."""

from PySide6.QtCore import Signal
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from yardplan.ui.language import LANGUAGES
from yardplan.ui.palette import Theme
from yardplan.ui.settings import SeatSettings, machine_person
from yardplan.ui.units import Units

LONGEST_NAME = 60


class SettingsDialog(QDialog):
    """Changes the settings of a seat where they are, when it is accepted.

    Signals
    -------
    changed(bool)
        Settings were changed; whether the window has to be made anew to show them.
    """

    changed = Signal(bool)

    def __init__(self, settings: SeatSettings, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._settings = settings
        self.setObjectName("settings")
        self.setWindowTitle(self.tr("Settings of this seat"))
        self.theme, self.language, self.units = QComboBox(), QComboBox(), QComboBox()
        for theme, text in (
            (Theme.SYSTEM, self.tr("As the desktop")),
            (Theme.LIGHT, self.tr("Light")),
            (Theme.DARK, self.tr("Dark")),
            (Theme.SUNLIGHT, self.tr("For sunlight")),
        ):
            self.theme.addItem(text, theme)
        self.language.addItem(self.tr("As the desktop"), "")
        for code, name in LANGUAGES.items():
            self.language.addItem(name, code)
        for units, text in (
            (Units.REGION, self.tr("As the desktop's region")),
            (Units.METRIC, self.tr("Metric: °C, kg, m")),
            (Units.US, self.tr("US: °F, lb, ft")),
        ):
            self.units.addItem(text, units)
        self.search_s = QSpinBox()
        self.search_s.setRange(1, 3600)
        self.search_s.setSuffix(self.tr(" s"))
        self.search_s.setValue(settings.search_s)
        self.person = QLineEdit(settings.person)
        self.person.setMaxLength(LONGEST_NAME)
        self.person.setPlaceholderText(machine_person())
        self.theme.setCurrentIndex(self.theme.findData(settings.theme))
        self.language.setCurrentIndex(max(self.language.findData(settings.language), 0))
        self.units.setCurrentIndex(self.units.findData(settings.units))
        form = QFormLayout()
        for name, text, widget in (
            ("theme", self.tr("&Theme"), self.theme),
            ("language", self.tr("&Language"), self.language),
            ("units", self.tr("&Units"), self.units),
            ("search", self.tr("&Search time"), self.search_s),
            ("person", self.tr("&Name of the person here"), self.person),
        ):
            widget.setObjectName(f"setting_{name}")
            widget.setAccessibleName(text.replace("&", ""))
            form.addRow(text, widget)
        note = QLabel(
            self.tr(
                "The name stands beside what this seat logs, plans and publishes. Stored values are always metric. "
                "A new language or units show the window anew."
            )
        )
        note.setWordWrap(True)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
        for button in buttons.buttons():
            button.setIcon(QIcon())  # the style's own is black on any theme
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addLayout(form)
        column.addWidget(note)
        column.addWidget(buttons)

    def accept(self) -> None:
        """Take what was set."""
        before = (self._settings.language, self._settings.units)
        self._settings.theme = self.theme.currentData()
        self._settings.language = self.language.currentData()
        self._settings.units = self.units.currentData()
        self._settings.search_s = self.search_s.value()
        self._settings.person = self.person.text().strip()
        super().accept()
        self.changed.emit(before != (self._settings.language, self._settings.units))
