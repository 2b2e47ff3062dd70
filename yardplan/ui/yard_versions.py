"""The versions of a yard, one of which can be brought back."""

from datetime import tzinfo

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from yardplan.ui.dates import day_time_text
from yardplan.usecases.yard_editing import OpenYard


class VersionsDialog(QDialog):
    """The versions of the yard, the newest first.

    Signals
    -------
    chosen(int)
        A version that is to become the draft.
    """

    chosen = Signal(int)

    def __init__(self, found: OpenYard, tz: tzinfo, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("versions_dialog")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(self.tr("Versions of the yard"))
        self._versions = tuple(reversed(found.versions))
        self.rows = QListWidget()
        self.rows.setObjectName("versions")
        self.rows.setAccessibleName(self.windowTitle())
        self.rows.setWordWrap(True)
        for version in self._versions:
            told = self.tr("{n}: {at} by {by}: {what}").format(
                n=version.number, at=day_time_text(version.at.astimezone(tz)), by=version.by, what=version.what
            )
            QListWidgetItem(told, self.rows)
        self.rows.setCurrentRow(0)
        about = QLabel(self.tr("An old version comes back as an edit, which can be looked at before it is saved."))
        about.setWordWrap(True)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
        buttons.button(QDialogButtonBox.StandardButton.Ok).setText(self.tr("Bring it back"))
        buttons.button(QDialogButtonBox.StandardButton.Ok).setEnabled(bool(self._versions))
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(about)
        column.addWidget(self.rows, 1)
        column.addWidget(buttons)
        self.resize(560, 360)

    def accept(self) -> None:
        """Tell which one was chosen."""
        if self.rows.currentRow() >= 0:
            self.chosen.emit(self._versions[self.rows.currentRow()].number)
        super().accept()
