"""Why an order is late: what stands in the way in plain words, what would help, and a text for the customer."""

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QGuiApplication
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QPushButton, QTextBrowser, QVBoxLayout, QWidget

from yardplan.domain.errors import ExpectedError
from yardplan.domain.explained import Effect, Explanation, Fact, Limit
from yardplan.domain.orders import Order
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import OrderResult
from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.ui.dates import due_text, long_day_text, percent_text
from yardplan.ui.words import Words
from yardplan.usecases.explaining import explain_order
from yardplan.usecases.outlook import Outlook

SEARCH_S = 2.0
"""Time of each of the searches that changes are measured by; there are up to six."""


class WhyLate(QDialog):
    """Looks for what stands in an order's way, and tells it."""

    def __init__(
        self, database: Database, outlook: Outlook, stored: StoredPlan, order: Order, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setObjectName("why_late")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(self.tr("Why is order {id} late?").format(id=order.id))
        self._order, self._outlook = order, outlook
        self._words = Words(outlook.yard, stored.outcome.plan)
        self.mail = ""
        self._step = QLabel(self.tr("Looking at what stands in the way ..."))
        self._step.setObjectName("why_step")
        self._step.setWordWrap(True)
        self._told = QTextBrowser()
        self._told.setObjectName("why_told")
        self._told.setAccessibleName(self.tr("Why the order is late, and what would help"))
        self.stop = QPushButton(self.tr("Enough, tell what is known"))
        self.stop.setObjectName("why_stop")
        self.copy = QPushButton(self.tr("Copy as text for the customer"))
        self.copy.setObjectName("why_copy")
        self.copy.setEnabled(False)
        self.copy.clicked.connect(self._copy)
        close = QPushButton(self.tr("Close"))
        close.setObjectName("why_close")
        close.clicked.connect(self.close)
        for button in (self.stop, self.copy, close):
            button.setAutoDefault(False)
        row = QHBoxLayout()
        row.addWidget(self.stop)
        row.addWidget(self.copy)
        row.addStretch(1)
        row.addWidget(close)
        column = QVBoxLayout(self)
        column.addWidget(self._step)
        column.addWidget(self._told, 1)
        column.addLayout(row)
        self.resize(720, 460)
        self.background = Background(self)
        self.background.better.connect(self._tell_step)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        self.stop.clicked.connect(self.background.stop)
        stop = Stop()
        self.background.run(partial(_explain, database, stored, order.id, stop), stop)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop what still runs."""
        self.background.close()
        super().closeEvent(event)

    def reject(self) -> None:
        """Close by Escape, too."""
        self.close()

    def _tell_step(self, _request: int, words: object) -> None:
        self._step.setText(self.tr("Measuring by searching again: {what}").format(what=str(words)))

    def _failed(self, _request: int, error: object) -> None:
        self.stop.setEnabled(False)
        told = str(error) if isinstance(error, ExpectedError) else self.tr("It could not be found out: {why}")
        self._step.setText(told.format(why=str(error)))

    def _done(self, _request: int, found: object) -> None:
        if isinstance(found, Explanation):
            self.show_found(found)

    def show_found(self, found: Explanation) -> None:
        """Tell what was found."""
        self.stop.setEnabled(False)
        self.copy.setEnabled(True)
        self._step.setText(self._state(found.before))
        lines = [self.tr("What stands in the way:")]
        lines += [f"• {self.reason(fact)}\n   {fact.text}." for fact in found.facts]
        if found.effects:
            lines += ["", self.tr("What would help, each measured by a new search:")]
            lines += [f"• {self._effect(effect, found)}" for effect in found.effects]
        if found.untried:
            rest = "; ".join(change.words for change in found.untried)
            lines += ["", self.tr("Not tried: {changes}").format(changes=rest)]
        self._told.setPlainText("\n".join(lines))
        self.mail = self.customer_text(found)

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self.mail)
        self._step.setText(self.tr("Copied: paste it into a mail."))

    def reason(self, fact: Fact) -> str:
        """Return what stands in the way as a sentence without names of ours."""
        told = {
            Limit.SUN: self.tr("The sky: there is too little sun to bring its mold to temperature"),
            Limit.CHAMBER: self.tr("All heating places that suit it are taken by other work"),
            Limit.BEAM: self.tr("The mirrors that would heat it are heating other work"),
            Limit.MOLD: self.tr("The mold for it is in use"),
            Limit.MOLD_CHANGE: self.tr("The crew that hangs molds is busy"),
            Limit.HANDLING: self.tr("The crew that fills and opens molds is busy"),
            Limit.STOCK: self.tr("The material for it is not here yet"),
            Limit.SHIFT: self.tr("It waits for the working hours of those who can do it"),
            Limit.FINISHERS: self.tr("Those who finish parts are busy with other work"),
            Limit.BENCH: self.tr("The benches for finishing are taken"),
            Limit.ENERGY: self.tr("Sun and battery leave too little electricity for finishing"),
            Limit.REST: self.tr("Parts have to rest before they are finished"),
            Limit.DOWN: self.tr("A unit is out of work"),
        }[fact.limit]
        return self.tr("{why} ({share} of the time that counts).").format(why=told, share=percent_text(fact.share))

    def customer_text(self, found: Explanation) -> str:
        """Return why the order is late in plain words, to be pasted into a mail."""
        order, zone = self._order, self._outlook.grid.zone
        name = self._words.product(order.product_id)
        lines = [
            self.tr("Your order of {n} {product}, {color}, wished for {day}:").format(
                n=order.quantity, product=name, color=order.color, day=due_text(order.due_at.astimezone(zone))
            ),
            self._ready(found.before),
            "",
            self.tr("The reasons:"),
        ]
        lines += [f"- {self.reason(fact).split(' (')[0]}." for fact in found.facts]
        return "\n".join(lines)

    def _ready(self, result: OrderResult | None) -> str:
        grid = self._outlook.grid
        if result is None or result.finish_slot is None or result.pieces_missing:
            have = result.pieces_planned if result else 0
            return self.tr("By {day} we can have {n} of {all} pieces ready.").format(
                day=long_day_text(grid.days[-1][0]), n=have, all=self._order.quantity
            )
        return self.tr("We expect all of it to be ready on {day}.").format(
            day=long_day_text(grid.local(result.finish_slot))
        )

    def _state(self, result: OrderResult | None) -> str:
        if result is None:
            return ""
        return self.tr("Order {id}: {state}").format(id=self._order.id, state=self._words.state(result, self._order))

    def _effect(self, effect: Effect, found: Explanation) -> str:
        told = []
        if effect.pieces_more:
            told.append(self.tr("{n} pieces more of it").format(n=effect.pieces_more))
        if effect.earlier_slots > 0:
            told.append(self.tr("{length} earlier").format(length=self._words.length(effect.earlier_slots)))
        elif effect.earlier_slots < 0:
            told.append(self.tr("{length} later").format(length=self._words.length(-effect.earlier_slots)))
        if not told:
            told.append(self.tr("no difference for this order"))
        if 0 < effect.cost_less <= found.search_cost_less:
            told.append(self.tr("no more than what longer search alone brings"))
        return f"{effect.change.words}: {', '.join(told)}"


def _explain(database: Database, stored: StoredPlan, order_id: str, stop: Stop, tell: Tell) -> Explanation:
    return explain_order(database, stored, order_id, Limits(seconds=SEARCH_S), stop, tell)
