"""The Quote page: what is asked for, when it can be there and what limits it, what is kept for whom."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, cast

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.quotes import Hold
from yardplan.domain.yard import Yard
from yardplan.ui.date_rail import DateRail
from yardplan.ui.look import in_order, scrolling
from yardplan.ui.palette import Palette
from yardplan.ui.quote_words import QuoteWords, main_key
from yardplan.ui.typed import DayEdit
from yardplan.ui.wishes import WishForm

HOLD_DAYS = 7
_ID = Qt.ItemDataRole.UserRole


@dataclass(frozen=True, eq=False)
class Told:
    """A quote as a document, and what has changed since it was told."""

    document: dict[str, Any]
    stale: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Sales:
    """What sales look at: what the yard makes, what is kept for whom, what was told last (the newest first)."""

    yard: Yard
    today: date
    latest_wish_on: date
    holds: tuple[Hold, ...]
    quotes: tuple[Told, ...]


class QuotePage(QWidget):
    """Form, answer, holds and earlier quotes on one page.

    Signals
    -------
    shown()
        The page came up.
    asked(object, object, int, bool)
        Dates are wanted for a tuple of `Wish`, a wished day or None, days on the way; whether other work may move.
    again(int)
        A quote should be asked once more as things are now.
    hold_wanted(int, str, object), order_wanted(int, str), wish_wanted(int, str)
        A quote should be held for a customer until a day, become an order, or be noted as one without a promise.
    released(str), hold_ordered(str)
        A hold is let go of, or becomes an order.
    """

    shown = Signal()
    asked = Signal(object, object, int, bool)
    again = Signal(int)
    hold_wanted = Signal(int, str, object)
    order_wanted = Signal(int, str)
    wish_wanted = Signal(int, str)
    released = Signal(str)
    hold_ordered = Signal(str)

    def __init__(self, colors: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sales: Sales | None = None
        self._told: Told | None = None
        self._is_idle, self._read_only = False, ""
        self.form = WishForm()
        self.form.asked.connect(self._ask)
        self.rail = DateRail(colors)
        self._make_answer()
        self._make_lists()
        self._news = _label("quote_news")
        self._news.setProperty("kind", "state")
        left = QVBoxLayout()
        left.addWidget(_head(self.tr("What is asked for")))
        left.addWidget(self.form)
        left.addWidget(self._news)
        left.addWidget(_head(self.tr("Asked before")))
        left.addWidget(self.quotes, 1)
        right = QVBoxLayout()
        right.addWidget(self._answer, 3)
        right.addWidget(self._acts)
        right.addWidget(_head(self.tr("Kept for customers")))
        right.addWidget(self.holds, 1)
        buttons = QHBoxLayout()
        buttons.addWidget(self.order_hold)
        buttons.addWidget(self.release)
        buttons.addStretch(1)
        right.addLayout(buttons)
        row = QHBoxLayout(self)
        row.setSpacing(14)
        row.addLayout(left, 2)
        row.addLayout(right, 3)
        in_order(
            *self.form.keys_in_order, self.quotes, self.customer, self.hold, self.until.line, self.order,
            self.note_wish, self.copy,
            self.again_button, self.holds, self.order_hold, self.release,
        )  # fmt: skip
        self.setFocusProxy(self.form.lines[0].product)
        self._enable()

    # What is shown

    def show_sales(self, sales: Sales) -> None:
        """Show what is kept and was told; the answer that is open is marked where it no longer stands."""
        self._sales = sales
        words = QuoteWords(sales.yard)
        self.form.show_yard(sales.yard)
        self.form.wish.set_range(sales.today, sales.today, sales.latest_wish_on)
        self.until.set_range(sales.today, sales.today, sales.today + timedelta(days=365))
        if not self.until.line.text():
            self.until.set_day(sales.today + timedelta(days=HOLD_DAYS))
        _fill(self.holds, [(hold.id, words.hold(hold)) for hold in sales.holds])
        rows = [
            (str(one.document["quote_number"]), words.row(one.document, one.stale, is_kept=self._is_kept(one)))
            for one in sales.quotes
        ]
        _fill(self.quotes, rows)
        if self._told is None:
            self._hint.setText(
                self.tr(
                    "Fill in what a customer would like to have and press “Check dates”. Nothing in the plan moves."
                )
            )
        else:
            number = self._told.document["quote_number"]
            same = [one for one in sales.quotes if one.document["quote_number"] == number]
            self.show_quote(same[0] if same else self._told)
        self._enable()

    def show_quote(self, told: Told) -> None:
        """Show a quote."""
        if self._sales is None:
            return
        self._told = told
        document, words = told.document, QuoteWords(self._sales.yard)
        self._title.setText(words.title(document))
        reasons = "; ".join(told.stale)
        self._stale.setText(
            self.tr("Out of date: {why}. Ask again before it is promised.").format(why=reasons) if told.stale else ""
        )
        for row, labels in zip(words.dates(document), self._dates, strict=True):
            weathers, day, note = labels
            weathers.setText(row.weathers)
            day.setText(row.day)
            day.setProperty("main", row.is_main)
            day.style().unpolish(day)
            day.style().polish(day)
            note.setText(row.note)
        self.rail.show_quote(document)
        parts, helps, moves = words.parts(document), words.helps(document), words.moves(document)
        kept = self._hold_of(document)
        for label, text in (
            (self._wish, " ".join(filter(None, (words.wish(document), words.stock(document))))),
            (self._limit, self.tr("What limits it: {told}").format(told=words.limit(document))),
            (self._helps, self.tr("What would help: {told}").format(told="; ".join(helps)) if helps else ""),
            (self._buy, " ".join(words.buy(document))),
            (self._moves, "\n".join(moves)),
            (self._parts, self.tr("In parts: {told}").format(told="; ".join(parts)) if parts else ""),
            (self._kept, self.tr("Kept as {hold}").format(hold=words.hold(kept)) if kept else ""),
            (self._basis, words.basis(document)),
        ):
            label.setText(text)
            label.setVisible(bool(text))
        self._stale.setVisible(bool(told.stale) and kept is None)
        self.again_button.setVisible(self._stale.isVisibleTo(self))
        self._hint.hide()
        self._shown.show()
        self._acts.show()
        self._enable()

    def show_news(self, text: str) -> None:
        """Say what was done, is being done, or could not be done."""
        self._news.setText(text)

    def show_message(self, text: str) -> None:
        """Say why there is nothing to quote."""
        self._shown.hide()
        self._acts.hide()
        self._hint.setText(text)
        self._hint.show()

    def set_read_only(self, reason: str) -> None:
        """Let nothing be kept or ordered, and say why; an empty reason lets all be again."""
        self._read_only = reason
        self._enable()

    def set_idle(self, is_idle: bool) -> None:
        """Let be pressed what can be while nothing else runs."""
        self._is_idle = is_idle
        self._enable()

    def set_colors(self, colors: Palette) -> None:
        """Take another theme's colors."""
        self.rail.set_colors(colors)

    @property
    def mail(self) -> str:
        """The quote that is shown as text for a customer; empty where there is none."""
        if self._told is None or self._sales is None:
            return ""
        document = self._told.document
        return QuoteWords(self._sales.yard).mail(document, self._hold_of(document))

    # What is pressed

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let go of the current hold by the delete key."""
        pressed = isinstance(event, QKeyEvent) and event.type() is QEvent.Type.KeyPress
        if watched is self.holds and pressed and cast(QKeyEvent, event).key() == Qt.Key.Key_Delete:
            self.release.click()
            return True
        return super().eventFilter(watched, event)

    def showEvent(self, event: QShowEvent) -> None:
        """Tell that the page came up."""
        super().showEvent(event)
        self.shown.emit()

    def _ask(self) -> None:
        may_move = self.form.may_move.isChecked()
        self.asked.emit(self.form.wishes, self.form.wish.on, self.form.lead_days.value(), may_move)

    def _again(self) -> None:
        if self._told is not None:
            self.again.emit(self._told.document["quote_number"])

    def _hold(self) -> None:
        if self._told is not None and self.until.on is not None:
            number = self._told.document["quote_number"]
            self.hold_wanted.emit(number, self.customer.text().strip(), self.until.on)

    def _order(self) -> None:
        if self._told is None:
            return
        kept = self._hold_of(self._told.document)
        if kept is not None:
            self.hold_ordered.emit(kept.id)
        else:
            self.order_wanted.emit(self._told.document["quote_number"], self.customer.text().strip())

    def _note_wish(self) -> None:
        if self._told is not None:
            self.wish_wanted.emit(self._told.document["quote_number"], self.customer.text().strip())

    def _release(self) -> None:
        self.released.emit(_chosen(self.holds))

    def _order_hold(self) -> None:
        self.hold_ordered.emit(_chosen(self.holds))

    def _open(self) -> None:
        number = _chosen(self.quotes)
        for one in self._sales.quotes if self._sales else ():
            if str(one.document["quote_number"]) == number:
                self.show_quote(one)

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self.mail)
        self.show_news(self.tr("Copied: paste it into a mail."))

    def _hold_of(self, document: dict[str, Any]) -> Hold | None:
        holds = self._sales.holds if self._sales else ()
        return next((hold for hold in holds if hold.quote_number == document["quote_number"]), None)

    def _is_kept(self, told: Told) -> bool:
        return self._hold_of(told.document) is not None

    def _enable(self) -> None:
        self.form.set_idle(self._is_idle)
        can_write = self._is_idle and not self._read_only
        told = self._told
        has_date = told is not None and told.document[main_key(told.document)]["ready"] is not None
        kept = self._hold_of(told.document) if told else None
        stands = told is not None and bool(told.document["quote_number"]) and not told.stale
        self.again_button.setEnabled(self._is_idle)
        self.hold.setEnabled(can_write and has_date and stands and kept is None and self.until.on is not None)
        self.order.setEnabled(can_write and has_date and (stands or kept is not None))
        self.copy.setEnabled(told is not None)
        has_wish = told is not None and bool(told.document["quote_number"] and told.document["wish_on"])
        self.note_wish.setEnabled(can_write and has_wish)
        self.release.setEnabled(can_write and bool(_chosen(self.holds)))
        self.order_hold.setEnabled(self.release.isEnabled())
        for button in (self.hold, self.order, self.note_wish, self.release, self.order_hold):
            button.setToolTip(self._read_only)
            button.setAccessibleDescription(self._read_only)

    # Making the page

    def _make_answer(self) -> None:
        self._hint = _label("message")
        self._hint.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._title = _head("")
        self._title.setObjectName("quote_title")
        self._stale = _label("stale")
        self._stale.setProperty("kind", "trouble")
        self._wish, self._limit, self._helps = _label("wish_told"), _label("limit_told"), _label("helps_told")
        self._parts, self._kept, self._basis = _label("parts_told"), _label("kept_told"), _label("basis_told")
        self._buy, self._moves = _label("buy_told"), _label("moves_told")
        self._basis.setProperty("kind", "dim")
        grid = QGridLayout()
        grid.setColumnStretch(2, 1)
        grid.setHorizontalSpacing(14)
        self._dates: list[tuple[QLabel, QLabel, QLabel]] = []
        for ix in range(3):
            labels = (_label(f"weathers_{ix}"), _label(f"day_{ix}"), _label(f"note_{ix}"))
            labels[1].setProperty("kind", "day")
            for place, label in enumerate(labels):
                label.setWordWrap(place == 2)
                grid.addWidget(label, ix, place)
            self._dates.append(labels)
        self.customer = QLineEdit()
        self.customer.setObjectName("customer")
        self.customer.setAccessibleName(self.tr("Customer"))
        self.until = DayEdit("until_on", self.tr("Kept until the end of"))
        self.until.changed.connect(self._enable_if_made)
        self.hold = _button("hold", self.tr("Keep until"), self._hold)
        self.order = _button("order", self.tr("Make it an order"), self._order)
        self.note_wish = _button("note_wish", self.tr("Note as an order without a promise"), self._note_wish)
        self.copy = _button("copy", self.tr("Copy as text"), self._copy)
        self.again_button = _button("ask_again", self.tr("Ask again"), self._again)
        for button in (self.hold, self.order):
            button.setProperty("kind", "press")
        acts = QGridLayout()
        acts.addWidget(QLabel(self.tr("Customer")), 0, 0)
        acts.addWidget(self.customer, 0, 1, 1, 2)
        acts.addWidget(self.hold, 1, 0)
        acts.addWidget(self.until, 1, 1, 1, 2)
        acts.addWidget(self.order, 2, 0)
        rest = QHBoxLayout()
        for button in (self.note_wish, self.copy, self.again_button):
            rest.addWidget(button)
        rest.addStretch(1)
        acts.addLayout(rest, 2, 1, 1, 2)
        acts.setColumnStretch(2, 1)
        self._shown = QWidget()
        column = QVBoxLayout(self._shown)
        column.setContentsMargins(0, 0, 6, 0)
        for part in (self._title, self._stale):
            column.addWidget(part)
        column.addLayout(grid)
        column.addWidget(self.rail)
        for part in (
            self._wish, self._limit, self._helps, self._buy, self._moves, self._parts, self._kept, self._basis,
        ):  # fmt: skip
            column.addWidget(part)
        column.addStretch(1)
        self._shown.hide()
        self._acts = QWidget()  # beside the answer, so that they stay in sight when it scrolls
        acts.setContentsMargins(0, 0, 0, 0)
        self._acts.setLayout(acts)
        self._acts.hide()
        both = QWidget()
        stack = QVBoxLayout(both)
        stack.setContentsMargins(0, 0, 0, 0)
        stack.addWidget(self._hint)
        stack.addWidget(self._shown)
        self._answer = scrolling(both)

    def _make_lists(self) -> None:
        self.quotes = _list("quotes", self.tr("Quotes that were told before, the newest first"))
        self.quotes.itemActivated.connect(self._open)
        self.quotes.itemClicked.connect(self._open)
        self.holds = _list("holds", self.tr("What is kept for customers"))
        self.holds.currentRowChanged.connect(self._enable_if_made)
        self.holds.installEventFilter(self)
        self.release = _button("release", self.tr("Let go"), self._release)
        self.order_hold = _button("order_hold", self.tr("Make it an order"), self._order_hold)

    def _enable_if_made(self) -> None:
        if hasattr(self, "release") and hasattr(self, "order_hold"):
            self._enable()


def _label(name: str) -> QLabel:
    made = QLabel()
    made.setObjectName(name)
    made.setWordWrap(True)
    made.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return made


def _head(text: str) -> QLabel:
    made = QLabel(text)
    made.setObjectName("title")
    made.setWordWrap(True)
    made.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
    return made


def _button(name: str, text: str, do: Any) -> QPushButton:
    made = QPushButton(text)
    made.setObjectName(name)
    made.setAutoDefault(False)
    made.clicked.connect(do)
    return made


def _list(name: str, label: str) -> QListWidget:
    made = QListWidget()
    made.setObjectName(name)
    made.setAccessibleName(label)
    made.setTabKeyNavigation(False)
    made.setWordWrap(True)
    made.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return made


def _fill(shown: QListWidget, rows: Sequence[tuple[str, str]]) -> None:
    """List rows by id and words; the current one stays current where it is still there."""
    kept = _chosen(shown)
    shown.blockSignals(True)
    shown.clear()
    for ident, text in rows:
        item = QListWidgetItem(text)
        item.setData(_ID, ident)
        item.setToolTip(text)
        shown.addItem(item)
        if ident == kept:
            shown.setCurrentItem(item)
    shown.blockSignals(False)


def _chosen(shown: QListWidget) -> str:
    item = shown.currentItem()
    return str(item.data(_ID)) if item is not None else ""
