"""A cook that lost its sun: what is known, four ways to go on, and who decides. Nothing is chosen beforehand."""

from datetime import timedelta

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.events import Choice, EventKind
from yardplan.domain.live import LiveCook
from yardplan.domain.slots import zone
from yardplan.domain.state import MadeCycle, Phase, YardState
from yardplan.exchange.entries import Entry
from yardplan.ui.dates import clock_text, decimal_text, percent_text
from yardplan.ui.jobs import Today
from yardplan.ui.units import Quantity, measured_text, to_shown, to_stored, unit_sign

PRESS_PX = 76
MOST_C = 350


class DecidePanel(QWidget):
    """The decision about one stopped cook.

    Signals
    -------
    decided(object, str)
        The `Entry` of the decision, and who decided.
    estimate_wanted(str, float)
        The chamber, and its inside air as just read [C].
    given_up()
        Nothing is decided now.
    """

    decided = Signal(object, str)
    estimate_wanted = Signal(str, float)
    given_up = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cook: MadeCycle | None = None
        self._title = QLabel()
        self._title.setProperty("kind", "chamber")
        self._told = QLabel()
        self._told.setWordWrap(True)
        self._known = QLabel()
        self._known.setObjectName("cook_known")
        self._known.setWordWrap(True)
        self.air = QSpinBox()
        self.air.setObjectName("inside_air")
        least, most = (round(to_shown(Quantity.TEMPERATURE, celsius)) for celsius in (0.0, MOST_C))
        self.air.setRange(least, most)
        self.air.setSuffix(self.tr(" {unit} inside").format(unit=unit_sign(Quantity.TEMPERATURE)))
        self.air.setAccessibleName(self.tr("Inside air as read now"))
        self.estimate = QPushButton(self.tr("What are the chances?"))
        self.estimate.setObjectName("estimate")
        self.estimate.clicked.connect(self._estimate)
        self.who = QComboBox()
        self.who.setObjectName("decides")
        self.who.setAccessibleName(self.tr("Who decides"))
        self.reason = QLineEdit()
        self.reason.setObjectName("decision_reason")
        self.reason.setAccessibleName(self.tr("Reason"))
        self.reason.setPlaceholderText(self.tr("Reason, as it will be read later"))
        self.choices: dict[Choice, QPushButton] = {}
        grid = QGridLayout()
        for ix, (choice, text) in enumerate(
            (
                (Choice.WAIT, self.tr("Keep turning and wait")),
                (Choice.FINISH, self.tr("Finish on the sun that comes back")),
                (Choice.ACCEPT, self.tr("End it here, inspect the pieces")),
                (Choice.SCRAP, self.tr("Give it up")),
            )
        ):
            button = QPushButton(text)
            button.setObjectName(f"choose_{choice}")
            button.setProperty("choice", choice.value)
            button.setAutoDefault(False)
            button.clicked.connect(self._choose)
            self.choices[choice] = button
            grid.addWidget(button, ix // 2, ix % 2)
        back = QPushButton(self.tr("Not now"))
        back.setObjectName("not_now")
        back.clicked.connect(self.given_up)
        for widget in (self.air, self.estimate, self.who, self.reason, back, *self.choices.values()):
            widget.setMinimumHeight(PRESS_PX)
            widget.setProperty("kind", "press")
        reading, record = QHBoxLayout(), QHBoxLayout()
        for row, widgets in ((reading, (self.air, self.estimate)), (record, (self.who, self.reason))):
            row.setSpacing(8)
            for widget in widgets:
                row.addWidget(widget, 1)
        column = QVBoxLayout(self)
        column.setSpacing(8)
        column.addWidget(self._title)
        column.addWidget(self._told)
        column.addLayout(reading)
        column.addWidget(self._known)
        column.addLayout(record)
        column.addLayout(grid)
        column.addWidget(back, 0, Qt.AlignmentFlag.AlignLeft)
        column.addStretch(1)
        self.setFocusProxy(self.air)

    def show_cook(self, today: Today, chamber_id: str, turns_h: float | None) -> None:
        """Ask about the cook in a chamber; `turns_h` is how long the battery turns the molds [h], None if not known."""
        there = today.state.chambers[chamber_id].cycle
        if there is None:
            return
        self._cook = there
        state, yard = today.state, today.yard
        product = yard.product(there.product_id)
        lost_at = there.heats[-1][1] or state.now
        heated = sum(((end or state.now) - start for start, end in there.heats), timedelta())
        self._title.setText(
            self.tr("{chamber} lost its sun {m} min ago").format(
                chamber=chamber_id, m=int((state.now - lost_at) / timedelta(minutes=1))
            )
        )
        self._told.setText(
            self.tr(
                "{product}, {color}, in {mold} for {order}: heated {m} min, PIAT is {piat}. The program knows no "
                "rule of cure: read the inside air, look at what the resin's maker says, then decide."
            ).format(
                product=product.name,
                color=there.color,
                mold=there.mold,
                order=there.order_id,
                m=int(heated / timedelta(minutes=1)),
                piat=measured_text(Quantity.TEMPERATURE, product.piat_c, 0),
            )
        )
        self._known.setText(self._battery(today, chamber_id, turns_h))
        self.reason.clear()
        self.who.clear()
        self.who.addItem(self.tr("Who decides?"), "")
        for person in yard.operators:
            self.who.addItem(person.name, person.name)
        self.air.setValue(self.air.minimum())

    def _air_c(self) -> float:
        return round(to_stored(Quantity.TEMPERATURE, self.air.value()), 1)

    def show_estimate(self, cook: LiveCook) -> None:
        """Tell what the inside air says of this cook."""
        one = cook.estimate
        told = [
            self.tr("Chance that it still reaches PIAT: {chance}.").format(chance=percent_text(one.chance)),
            self.tr("Of the charge {share} has melted; its mean is {mean}, the shell {shell}.").format(
                share=percent_text(one.melted_frac),
                mean=measured_text(Quantity.TEMPERATURE, one.polymer_c, 0),
                shell=measured_text(Quantity.TEMPERATURE, one.shell_c, 0),
            ),
        ]
        first, _, last = one.piat_min
        if first < float("inf"):
            at = [
                clock_text((cook.now + timedelta(minutes=minutes)).astimezone(zone(cook.tz)))
                for minutes in (first, last)
                if minutes < float("inf")
            ]
            told.append(self.tr("PIAT {span}.").format(span=" – ".join(at)))
        if 0 <= one.lost_min < float("inf"):
            told.append(self.tr("Without heat it is lost in {m} min.").format(m=decimal_text(one.lost_min, 0)))
        elif one.lost_min < 0:
            told.append(self.tr("No sky that is likely brings it to PIAT any more."))
        self._known.setText(" ".join(told))

    def show_trouble(self, text: str) -> None:
        """Say why nothing could be estimated."""
        self._known.setText(text)

    def still_holds(self, state: YardState) -> bool:
        """Tell whether the cook that is asked about still waits for a decision."""
        if self._cook is None:
            return False
        there = state.chambers[self._cook.chamber_id].cycle
        return there is not None and there.id == self._cook.id and there.phase is Phase.HOLDING

    def _battery(self, today: Today, chamber_id: str, turns_h: float | None) -> str:
        unit = today.yard.unit_of(chamber_id)
        if turns_h is None:
            return self.tr("What the battery of {unit} holds now is not known.").format(unit=unit.name)
        return self.tr("Above its reserve the battery of {unit} turns the molds for about {h} h.").format(
            unit=unit.name, h=decimal_text(turns_h, 1)
        )

    def _estimate(self) -> None:
        if self._cook is not None:
            self._known.setText(self.tr("Working it out ..."))
            self.estimate_wanted.emit(self._cook.chamber_id, self._air_c())

    def _choose(self) -> None:
        button = self.sender()
        if self._cook is None or not isinstance(button, QPushButton):
            return
        by = str(self.who.currentData() or "")
        if not by:
            self.show_trouble(self.tr("Say first who decides."))
            self.who.setFocus()
            return
        choice = Choice(button.property("choice"))
        amount = self._air_c() if choice is Choice.ACCEPT and self.air.value() > self.air.minimum() else None
        entry = Entry(
            EventKind.DECIDE, self._cook.chamber_id, choice=choice, amount=amount, reason=self.reason.text().strip()
        )
        self.decided.emit(entry, by)
