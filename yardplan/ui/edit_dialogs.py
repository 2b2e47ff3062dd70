"""Dialogs of editing a plan: where a cycle should go, why the frozen period is changed, and publishing."""

from datetime import datetime, time, timedelta

from PySide6.QtCore import QTime, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QTimeEdit,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.edits import Add, Edit, Edited, Move, Split
from yardplan.domain.orders import Order
from yardplan.domain.plan import Cycle
from yardplan.domain.slots import SlotGrid, clock_instants
from yardplan.ui.dates import day_text


class SlotTimeEdit(QTimeEdit):
    """A time of day that is stepped by slots."""

    def __init__(self, slot_min: int) -> None:
        super().__init__()
        self._slot_min = slot_min
        self.setDisplayFormat(self.locale().timeFormat(self.locale().FormatType.ShortFormat))

    def stepBy(self, steps: int) -> None:
        """Step by whole slots."""
        self.setTime(self.time().addSecs(60 * self._slot_min * steps))


class PlaceDialog(QDialog):
    """Asks for a chamber and a time, and tells at once what they come to: the way of the keyboard.

    Signals
    -------
    wanted(object)
        The `Edit` that is set; somebody should `show` what it comes to.
    chosen(object)
        The `Edit` that is to be made.
    """

    wanted = Signal(object)
    chosen = Signal(object)

    def __init__(
        self,
        parent: QWidget,
        grid: SlotGrid,
        chambers: tuple[str, ...],
        cycle: Cycle | None,
        orders: tuple[Order, ...] = (),
        *,
        splits: bool = False,
        start_slot: int = 0,
    ) -> None:
        super().__init__(parent)
        self._grid, self._cycle, self._splits = grid, cycle, splits
        self._edit: Edit | None = None
        self.setObjectName("place_dialog")
        self.setWindowTitle(
            self.tr("Add a cycle")
            if cycle is None
            else self.tr("Split from here")
            if splits
            else self.tr("Move to ...")
        )
        self.order = QComboBox()
        self.order.setObjectName("place_order")
        for order in orders:
            self.order.addItem(f"{order.id}  {order.product_id}, {order.color}", order.id)
        self.chamber = QComboBox()
        self.chamber.setObjectName("place_chamber")
        self.chamber.addItems(chambers)
        self.day = QComboBox()
        self.day.setObjectName("place_day")
        self._days = [on for on, _, _ in grid.days]
        self.day.addItems([day_text(on) for on in self._days])
        self.time = SlotTimeEdit(grid.slot_min)
        self.time.setObjectName("place_time")
        self.told = QLabel()
        self.told.setObjectName("place_told")
        self.told.setWordWrap(True)
        self.told.setMinimumSize(420, 120)
        form = QFormLayout()
        if cycle is None:
            form.addRow(self.tr("&Order"), self.order)
        form.addRow(self.tr("&Chamber"), self.chamber)
        form.addRow(self.tr("&Day"), self.day)
        form.addRow(self.tr("&Time of charging"), self.time)
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        ok = self.tr("&Add") if cycle is None else self.tr("&Split") if splits else self.tr("&Move")
        self.ok = self.buttons.addButton(ok, QDialogButtonBox.ButtonRole.AcceptRole)
        self.ok.setObjectName("place_ok")
        self.ok.setEnabled(False)
        self.buttons.accepted.connect(self._choose)
        self.buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addLayout(form)
        column.addWidget(self.told, 1)
        column.addWidget(self.buttons)
        self._set(cycle.chamber_id if cycle else chambers[0], cycle.charge_slot if cycle else start_slot)
        for combo in (self.order, self.chamber, self.day):
            combo.currentIndexChanged.connect(self._ask)
        self.time.timeChanged.connect(self._ask)

    def ask(self) -> None:
        """Ask for what is set now."""
        self._ask()

    def show_found(self, edit: Edit, found: Edited, told: str) -> None:
        """Tell what an edit would come to, if it is still the one that is set."""
        if edit == self._edit:
            self.told.setText(told)
            self.told.setAccessibleName(told)
            self.ok.setEnabled(found.is_done)

    def _set(self, chamber_id: str, slot: int) -> None:
        self.chamber.setCurrentText(chamber_id)
        local = self._grid.local(min(max(slot, 0), self._grid.n_slots - 1))
        self.day.setCurrentIndex(self._days.index(local.date()))
        self.time.setTime(QTime(local.hour, local.minute))

    def _ask(self) -> None:
        self.ok.setEnabled(False)
        clock = self.time.time()
        wall = datetime.combine(self._days[self.day.currentIndex()], time(clock.hour(), clock.minute()))
        instants = clock_instants(wall, self._grid.zone) or clock_instants(wall + timedelta(hours=1), self._grid.zone)
        slot, chamber_id = self._grid.slot(instants[0]), self.chamber.currentText()
        if self._cycle is None:
            self._edit = Add(str(self.order.currentData()), chamber_id, slot)
        else:
            kind = Split if self._splits else Move
            self._edit = kind(self._cycle.id, chamber_id, slot)
        self.wanted.emit(self._edit)

    def _choose(self) -> None:
        if self._edit is not None:
            self.chosen.emit(self._edit)
        self.accept()


class ReasonDialog(QDialog):
    """Asks why the frozen period of the plan in force is changed, and who says so.

    Signals
    -------
    given(str, str)
        Reason and name.
    """

    given = Signal(str, str)

    def __init__(self, parent: QWidget, lines: list[str], name: str, hours: float) -> None:
        super().__init__(parent)
        self.setObjectName("reason_dialog")
        self.setWindowTitle(self.tr("Change in the frozen period"))
        told = QLabel(
            self.tr("The plan in force is frozen for {h} h from now. This changes:").format(h=f"{hours:g}")
            + "\n"
            + "\n".join(lines)
        )
        told.setWordWrap(True)
        told.setObjectName("frozen_told")
        self.reason, self.name = QLineEdit(), QLineEdit(name)
        self.reason.setObjectName("frozen_reason")
        self.name.setObjectName("frozen_name")
        form = QFormLayout()
        form.addRow(self.tr("&Reason"), self.reason)
        form.addRow(self.tr("&Name"), self.name)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.ok = buttons.addButton(self.tr("Change it &anyway"), QDialogButtonBox.ButtonRole.AcceptRole)
        self.ok.setObjectName("frozen_ok")
        buttons.accepted.connect(self._give)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(told)
        column.addLayout(form)
        column.addWidget(buttons)
        self.reason.textChanged.connect(self._look)
        self.name.textChanged.connect(self._look)
        self._look()
        self.reason.setFocus()

    def _look(self) -> None:
        self.ok.setEnabled(bool(self.reason.text().strip()) and bool(self.name.text().strip()))

    def _give(self) -> None:
        self.given.emit(self.reason.text(), self.name.text())
        self.accept()


class PublishDialog(QDialog):
    """Shows what a plan has otherwise than the one in force, and publishes it; a frozen change takes a reason.

    Signals
    -------
    wanted(str)
        Publish, for this reason.
    """

    wanted = Signal(str)

    def __init__(self, parent: QWidget, title: str, lines: list[str], frozen: list[str]) -> None:
        super().__init__(parent)
        self.setObjectName("publish_dialog")
        self.setWindowTitle(title)
        self._needs_reason = bool(frozen)
        text = QPlainTextEdit("\n".join(lines))
        text.setReadOnly(True)
        text.setObjectName("publish_told")
        text.setAccessibleName(self.tr("What is different from the plan in force"))
        text.setTabChangesFocus(True)
        text.setMinimumSize(520, 240)
        self.reason = QLineEdit()
        self.reason.setObjectName("publish_reason")
        needed = self.tr("Reason, needed: {n} changes lie in the frozen period").format(n=len(frozen))
        label = QLabel(needed if frozen else self.tr("Reason"))
        label.setBuddy(self.reason)
        label.setWordWrap(True)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.ok = buttons.addButton(self.tr("&Publish"), QDialogButtonBox.ButtonRole.AcceptRole)
        self.ok.setObjectName("publish_ok")
        buttons.accepted.connect(self._want)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(text, 1)
        column.addWidget(label)
        column.addWidget(self.reason)
        column.addWidget(buttons)
        self.reason.textChanged.connect(self._look)
        self._look()
        self.reason.setFocus()

    def _look(self) -> None:
        self.ok.setEnabled(not self._needs_reason or bool(self.reason.text().strip()))

    def _want(self) -> None:
        self.wanted.emit(self.reason.text().strip())
        self.accept()
