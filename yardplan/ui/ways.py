"""Ways to go on from now, side by side: what each brings and moves; nothing is in force until one is published."""

from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QSpinBox,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.compare import Answer, Comparison, compare
from yardplan.domain.plan import Cycle, order_results
from yardplan.domain.risk import of_twenty
from yardplan.ui.card import PRESS_PX
from yardplan.ui.dates import clock_text, day_time_text, decimal_text
from yardplan.ui.words import LATE, ON_TIME, UNFINISHED, Words
from yardplan.usecases.replanning import DATES, KEEP, LEAST, OVERTIME, Replanned, Way

SEARCH_S = 15


@dataclass(frozen=True)
class Effect:
    """A figure of a way, the same in all columns."""

    name: str
    value: str


class WaysPanel(QWidget):
    """Asks for ways to go on, and shows them.

    Signals
    -------
    wanted(int)
        Plan anew within so many seconds.
    stop_wanted()
        No more is searched for; what was found is shown.
    publish_wanted(int)
        A plan version should come into force.
    """

    wanted = Signal(int)
    stop_wanted = Signal()
    publish_wanted = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._found: Replanned | None = None
        self._is_ready, self._is_searching = True, False
        self.start = QPushButton(self.tr("Plan anew from now"))
        self.start.setObjectName("replan")
        self.start.clicked.connect(self._start)
        self.seconds = QSpinBox()
        self.seconds.setObjectName("replan_s")
        self.seconds.setRange(3, 600)
        self.seconds.setValue(SEARCH_S)
        self.seconds.setSuffix(self.tr(" s"))
        self.seconds.setAccessibleName(self.tr("Time of the search in seconds"))
        self._told = QLabel(
            self.tr(
                "Work in hand stays as it is. Three new ways stand beside the plan in force; nothing changes for the "
                "crew until one is published."
            )
        )
        self._told.setObjectName("replan_told")
        self._told.setWordWrap(True)
        self._columns = QHBoxLayout()
        self._columns.setSpacing(8)
        self._difference = QTextBrowser()
        self._difference.setObjectName("difference")
        self._difference.setAccessibleName(self.tr("What would be different"))
        self._difference.hide()
        for widget in (self.start, self.seconds):
            widget.setMinimumHeight(PRESS_PX)
            widget.setProperty("kind", "press")
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(self.start, 1)
        head.addWidget(self.seconds)
        head.addWidget(self._told, 2)
        column = QVBoxLayout(self)
        column.setSpacing(8)
        column.addLayout(head)
        column.addLayout(self._columns)
        column.addWidget(self._difference, 1)
        column.addStretch(0)
        self.buttons: list[QPushButton] = []

    def set_ready(self, is_ready: bool) -> None:
        """Let be asked and published while nothing else runs."""
        self._is_ready = is_ready
        self.start.setEnabled(is_ready or self._is_searching)
        self.start.setText(
            self.tr("Stop and show what was found") if self._is_searching else self.tr("Plan anew from now")
        )
        for button in self.buttons:
            button.setEnabled(is_ready)

    def show_way(self, way: Way) -> None:
        """Tell that a way was found."""
        self._told.setText(self.tr("Found: {name}. Searching on ...").format(name=self._name(way)))

    def show_trouble(self, text: str) -> None:
        """Say why nothing could be found."""
        self._is_searching = False
        self._told.setText(text)
        self.set_ready(self._is_ready)

    def show_ways(self, found: Replanned) -> None:
        """Show the ways side by side, the old plan first."""
        self._found, self._is_searching = found, False
        self._told.setText("\n".join((*found.told, self.tr("Nothing is published yet."))))
        self._clear()
        for ix, way in enumerate(found.ways):
            self._columns.addWidget(self._column(ix, way), 1)
        self._difference.hide()
        self.set_ready(self._is_ready)

    def clear(self) -> None:
        """Forget ways that were found: the day has gone on, or one was published."""
        self._found = None
        self._clear()
        self._difference.hide()

    def effects(self, way: Way) -> tuple[Effect, ...]:
        """Return the figures of a way in words."""
        assert self._found is not None  # ways are shown of what was found
        problem = self._found.problem
        results = order_results(way.plan, problem.orders, problem.yard)
        states = [sum(row.state == state for row in results) for state in (ON_TIME, LATE, UNFINISHED)]
        promised = [row for order, row in zip(problem.orders, results, strict=True) if order.promise_at]
        late_h = sum(row.late_slots for row in promised) * problem.grid.slot_min / 60
        n_late = sum(row.late_slots > 0 for row in promised)
        moved = self.tr("{n} of {all} jobs").format(n=way.moved, all=way.untouched)
        return (
            Effect(self.tr("orders on time"), str(states[0])),
            Effect(self.tr("late, unfinished"), f"{states[1]}, {states[2]}"),
            Effect(
                self.tr("promises late"),
                self.tr("{n}, by {h} h").format(n=n_late, h=decimal_text(late_h, 0)) if n_late else self.tr("none"),
            ),
            Effect(
                self.tr("promises hold"),
                self.tr("{n} of 20 skies").format(n=of_twenty(way.risk.promised_frac)),
            ),
            Effect(self.tr("moves"), moved),
            Effect(
                self.tr("pieces, mold changes"),
                f"{sum(row.pieces for row in way.plan.cycles)}, {way.parts.mold_changes}",
            ),
            Effect(
                self.tr("overtime"),
                self.tr("{h} h").format(h=decimal_text(way.parts.overtime_slots * problem.grid.slot_min / 60, 1)),
            ),
        )

    def _column(self, ix: int, way: Way) -> QFrame:
        frame = QFrame()
        frame.setProperty("kind", "card")
        frame.setObjectName(f"way_{ix}")
        column = QVBoxLayout(frame)
        title = QLabel(self._name(way))
        title.setProperty("kind", "state")
        title.setWordWrap(True)
        column.addWidget(title)
        effects = self.effects(way)
        for effect in effects:
            row = QHBoxLayout()
            name, value = QLabel(effect.name), QLabel(effect.value)
            name.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
            name.setToolTip(effect.name)
            value.setAlignment(Qt.AlignmentFlag.AlignRight)
            row.addWidget(name, 1)
            row.addWidget(value)
            column.addLayout(row)
        told = ", ".join(f"{effect.name} {effect.value}" for effect in effects)
        frame.setAccessibleName(f"{title.text()}: {told}")
        column.addStretch(1)
        if way.name == KEEP:
            return frame
        for ident, text, do in (
            ("compare", self.tr("What would move?"), self._compare),
            ("publish_way", self.tr("Publish as plan {n}").format(n=way.number), self._publish),
        ):
            button = QPushButton(text)
            button.setObjectName(f"{ident}_{ix}")
            button.setProperty("kind", "press")
            button.setProperty("way", ix)
            button.setMinimumHeight(PRESS_PX)
            button.setAutoDefault(False)
            button.setAccessibleDescription(frame.accessibleName())
            button.clicked.connect(do)
            self.buttons.append(button)
            column.addWidget(button)
        return frame

    def _name(self, way: Way) -> str:
        return {
            KEEP: self.tr("Keep the old plan"),
            LEAST: self.tr("Change as little as can be"),
            DATES: self.tr("Best for the dates"),
            OVERTIME: self.tr("Overtime tonight"),
        }[way.name]

    def _clear(self) -> None:
        self.buttons = []
        while (item := self._columns.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.deleteLater()

    def _way_of(self, button: object) -> Way | None:
        if self._found is None or not isinstance(button, QPushButton):
            return None
        return self._found.ways[int(button.property("way"))]

    def _start(self) -> None:
        if self._is_searching:
            self.stop_wanted.emit()
            return
        self.clear()
        self._is_searching = True
        self.set_ready(self._is_ready)
        self._told.setText(self.tr("Looking at the sky and the work in hand ..."))
        self.wanted.emit(self.seconds.value())

    def _publish(self) -> None:
        way = self._way_of(self.sender())
        if way is not None:
            self.publish_wanted.emit(way.number)

    def _compare(self) -> None:
        way = self._way_of(self.sender())
        if way is not None and self._found is not None:
            old = self._found.ways[0]
            found = compare(Answer(self._found.problem, old.plan), Answer(self._found.problem, way.plan))
            self._difference.setPlainText("\n".join(self.difference(found, way)))
            self._difference.setMinimumHeight(220)
            self._difference.show()

    def difference(self, found: Comparison, way: Way) -> list[str]:
        """Return what a crew would do otherwise than by the old plan, orders first."""
        assert self._found is not None  # as above
        problem = self._found.problem
        words, grid = Words(problem.yard, way.plan), problem.grid
        today = grid.local(problem.now_slot).date()

        def when(slot: int) -> str:
            local = grid.local(slot)
            return clock_text(local) if local.date() == today else day_time_text(local)

        def name(cycle: Cycle) -> str:
            return self.tr("{order} {product}, {color}").format(
                order=cycle.order_id, product=words.product(cycle.product_id), color=cycle.color
            )

        lines = [self.tr("{name}, against the old plan:").format(name=self._name(way))]
        for change in found.orders:
            if change.new is None or change.new_order is None or change.is_same:
                continue
            told = words.state(change.new, change.new_order)
            if change.earlier_slots:
                length = words.length(abs(change.earlier_slots))
                text = self.tr("{length} earlier") if change.earlier_slots > 0 else self.tr("{length} later")
                told = f"{told}, {text.format(length=length)}"
            lines.append(self.tr("Order {id}: {told}").format(id=change.order_id, told=told))
        for pair in found.difference.cycles:
            old, new = pair.old, pair.new
            if old is None and new is not None:
                lines.append(
                    self.tr("New: {name} in {chamber}, {at}").format(
                        name=name(new), chamber=new.chamber_id, at=when(new.charge_slot)
                    )
                )
            elif new is None and old is not None:
                lines.append(
                    self.tr("Dropped: {name} in {chamber}, {at}").format(
                        name=name(old), chamber=old.chamber_id, at=when(old.charge_slot)
                    )
                )
            elif (
                old is not None
                and new is not None
                and (old.chamber_id, old.charge_slot)
                != (
                    new.chamber_id,
                    new.charge_slot,
                )
            ):
                lines.append(
                    self.tr("Moved: {name} from {was} {then} to {chamber} {at}").format(
                        name=name(new),
                        was=old.chamber_id,
                        then=when(old.charge_slot),
                        chamber=new.chamber_id,
                        at=when(new.charge_slot),
                    )
                )
        if len(lines) == 1:
            lines.append(self.tr("No cycle and no order is different."))
        return lines
