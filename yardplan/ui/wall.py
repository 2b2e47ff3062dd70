"""What goes to paper and comes back from it: shop sheets, and codes that are typed to find their cycle."""

from datetime import date
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Signal
from PySide6.QtWidgets import QDialog, QFileDialog, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from yardplan.cycle.starts import latest_starts
from yardplan.domain.errors import CannotWrite
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.shop_sheet import ShopSheet, cycle_of_code, first_day_with_work, shop_sheet
from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.ui.jobs import Week
from yardplan.ui.sheets import save_shop_sheets
from yardplan.usecases.outlook import Outlook
from yardplan.usecases.publishing import publications


class CodeDialog(QDialog):
    """Asks for a code as it stands on a sheet.

    Signals
    -------
    typed(str)
        What was typed, when Enter is pressed.
    """

    typed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("code_dialog")
        self.setWindowTitle(self.tr("Go to a cycle"))
        self.code = QLineEdit()
        self.code.setObjectName("code")
        self.code.setAccessibleName(self.tr("Code on the sheet"))
        self.code.setPlaceholderText(self.tr("such as 2B-07, or 2b7"))
        self.code.returnPressed.connect(self._enter)
        self._trouble = QLabel()
        self._trouble.setObjectName("say_trouble")
        self._trouble.setWordWrap(True)
        form = QFormLayout()
        form.addRow(self.tr("&Code on the sheet"), self.code)
        column = QVBoxLayout(self)
        column.addLayout(form)
        column.addWidget(self._trouble)

    def show_trouble(self, text: str) -> None:
        """Say beside the field why nothing was found."""
        self._trouble.setText(text)
        self.code.selectAll()

    def _enter(self) -> None:
        self.typed.emit(self.code.text())


class Wall(QObject):
    """Between the window and what hangs on the wall.

    Signals
    -------
    found(str)
        The cycle whose code was typed.
    failed(object)
        An exception.
    """

    found = Signal(str)
    failed = Signal(object)

    def __init__(self, database: Database, parent: QWidget) -> None:
        super().__init__(parent)
        self._database, self._window = database, parent
        self._week: Week | None = None
        self._path: Path | None = None
        self._dialog: CodeDialog | None = None
        self.background = Background(self)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)

    def show_week(self, week: Week) -> None:
        """Learn which plan is shown."""
        self._week = week

    def close(self) -> None:
        """Wait until nothing runs."""
        self.background.close()

    def save_sheets(self) -> None:
        """Save the sheets of the plan that is shown: of today, else of its first day with work."""
        week = self._week
        if week is None or week.stored is None:
            return
        grid = week.stored.outcome.plan.grid
        today = week.outlook.now.astimezone(grid.zone).date()
        plan_days = {day for day, _, _ in grid.days}
        on = today if today in plan_days else first_day_with_work(week.stored.outcome.plan)
        folder = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        wanted = str(Path(folder) / f"sheets-{week.stored.number}.pdf")
        title = self.tr("Save the shop sheets as PDF")
        path, _ = QFileDialog.getSaveFileName(self._window, title, wanted, self.tr("PDF (*.pdf)"))
        if path:
            self._path = Path(path)
            self.background.run(partial(_sheets, self._database, week.outlook, week.stored, on))

    def ask_code(self) -> None:
        """Ask for the code of a cycle."""
        dialog = CodeDialog(self._window)
        dialog.typed.connect(self._look_for)
        dialog.finished.connect(dialog.deleteLater)
        self._dialog = dialog
        dialog.open()

    def _look_for(self, text: str) -> None:
        if self._dialog is None:
            return
        week = self._week
        plan = week.stored.outcome.plan if week and week.stored else None
        cycle = None
        if week is not None and plan is not None:
            today = week.outlook.now.astimezone(plan.grid.zone).date()
            cycle = cycle_of_code(text, week.outlook.yard, plan.cycles, plan.grid, today)
        if cycle is None:
            told = self.tr("No cycle of the plan that is shown has the code “{text}”.")
            self._dialog.show_trouble(told.format(text=text))
            return
        self._dialog.accept()
        self._dialog = None
        self.found.emit(cycle.id)

    def _done(self, _request: int, sheet: object) -> None:
        if isinstance(sheet, ShopSheet) and self._path is not None:
            try:
                save_shop_sheets(self._path, sheet)
            except CannotWrite as error:
                self.failed.emit(error)

    def _failed(self, _request: int, error: object) -> None:
        self.failed.emit(error)


def _sheets(database: Database, outlook: Outlook, stored: StoredPlan, on: date, _tell: Tell) -> ShopSheet:
    latest = latest_starts(outlook.yard, outlook.cook, stored.confidence)
    return shop_sheet(outlook.yard, stored, on, latest, publications(database))
