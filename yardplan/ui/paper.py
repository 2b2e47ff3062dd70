"""Asks where the week should be kept on paper."""

from pathlib import Path

from PySide6.QtCore import QCoreApplication, QStandardPaths
from PySide6.QtWidgets import QFileDialog, QWidget

from yardplan.domain.outcome import StoredPlan
from yardplan.ui.picture import save_week_pdf
from yardplan.usecases.outlook import Outlook


def ask_and_save_pdf(parent: QWidget, outlook: Outlook, stored: StoredPlan) -> None:
    """Ask for a file and write the week to it; raises `CannotWrite` where that cannot be."""
    folder = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
    name = str(Path(folder) / f"plan-{stored.number}.pdf")
    title = QCoreApplication.translate("paper", "Save the week as PDF")
    kinds = QCoreApplication.translate("paper", "PDF (*.pdf)")
    path, _ = QFileDialog.getSaveFileName(parent, title, name, kinds)
    if path:
        save_week_pdf(Path(path), outlook, stored)
