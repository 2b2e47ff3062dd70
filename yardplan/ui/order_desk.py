"""Carries out what is pressed on the Orders page, on a thread of its own, and keeps the way back."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Signal
from PySide6.QtWidgets import QFileDialog, QMessageBox

from yardplan.domain.errors import DatabaseUnreadable, ExpectedError, InvalidField
from yardplan.domain.order_changes import OrderChange, doubt
from yardplan.domain.orders import Order
from yardplan.domain.plan import Plan
from yardplan.domain.slots import zone
from yardplan.exchange.order_files import edited
from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.ui.dates import due_text
from yardplan.ui.jobs import Week, person
from yardplan.ui.order_dialog import AddOrder
from yardplan.ui.order_import import ImportDialog, Previewed, previewed
from yardplan.ui.order_table import OrderRow, order_rows
from yardplan.ui.orders import OrdersPage
from yardplan.ui.why_late import WhyLate
from yardplan.ui.words import Words
from yardplan.usecases.clock import yard_now
from yardplan.usecases.ordering import change_orders, open_orders, preview_orders

Changes = tuple[OrderChange, ...]


@dataclass(frozen=True, eq=False)
class Listed:
    """A week with its orders as rows, and what was changed to get there."""

    week: Week
    rows: tuple[OrderRow, ...]
    made: Changes = ()


class OrderDesk(QObject):
    """Between the Orders page and the order book.

    Signals
    -------
    failed(object)
        An exception that the page has no place for.
    changed(object)
        The week with its orders as they are now.
    """

    failed = Signal(object)
    changed = Signal(object)

    def __init__(self, database: Database, page: OrdersPage, parent: QObject) -> None:
        super().__init__(parent)
        self._database, self._page = database, page
        self._week: Week | None = None
        self._asked: dict[int, Callable[[object], None]] = {}
        self._done_steps: list[Changes] = []
        self._undone_steps: list[Changes] = []
        self._dialog: AddOrder | None = None
        self.background = Background(self)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        page.edited.connect(self._edit)
        page.add_wanted.connect(self._add)
        page.remove_wanted.connect(self._remove)
        page.undo_wanted.connect(self._undo)
        page.redo_wanted.connect(self._redo)
        page.import_wanted.connect(self._choose_file)
        page.why_wanted.connect(self._explain)

    def show_week(self, week: Week) -> None:
        """List the orders of a week that was just read."""
        self._week = week
        now = week.outlook.now.astimezone(zone(week.outlook.yard.site.tz))
        self._page.show_yard(week.outlook.yard, now.date())
        self._ask(partial(_list, week), self._show)

    def close(self) -> None:
        """Wait until all is kept."""
        self.background.close()

    @property
    def busy(self) -> bool:
        """Whether something is being done or waits to be."""
        return bool(self._asked)

    # Jobs

    def _ask(self, work: Callable[[Tell], object], then: Callable[[object], None]) -> None:
        self._page.set_idle(False)
        self._asked[self.background.run(work)] = then

    def _done(self, request: int, result: object) -> None:
        then = self._asked.pop(request, None)
        if then is not None:
            then(result)
        self._page.set_idle(not self._asked)

    def _failed(self, request: int, error: object) -> None:
        self._asked.pop(request, None)
        self._page.set_idle(not self._asked)
        if not isinstance(error, ExpectedError):
            self.failed.emit(error)
            return
        self._page.show_news(str(error))
        if self._week is not None and not isinstance(error, DatabaseUnreadable):  # another seat may have been there
            self._ask(partial(_read, self._database, self._week), self._show)

    def _show(self, listed: object) -> None:
        if isinstance(listed, Listed):
            self._week = listed.week
            self._page.show_rows(listed.rows)
            self._tell_steps()
            if listed.made:
                self.changed.emit(listed.week)

    def _change(self, changes: Sequence[OrderChange], then: Callable[[object], None]) -> None:
        if self._week is not None and changes:
            self._page.show_news("")
            self._ask(partial(_change, self._database, self._week, tuple(changes)), then)

    def _show_change(self, listed: object) -> None:
        if isinstance(listed, Listed):
            self._done_steps.append(listed.made)
            self._undone_steps.clear()
            self._show(listed)
            self._page.show_news(self.words(listed.made))

    # Undo

    def _undo(self) -> None:
        if self._done_steps:
            back = [change.taken_back for change in reversed(self._done_steps[-1])]
            self._change(back, self._show_undone)

    def _show_undone(self, listed: object) -> None:
        if isinstance(listed, Listed):
            told = self.words(self._done_steps.pop())
            self._undone_steps.append(listed.made)
            self._show(listed)
            self._page.show_news(self.tr("Undone: {what}").format(what=told))

    def _redo(self) -> None:
        if self._undone_steps:
            again = [change.taken_back for change in reversed(self._undone_steps[-1])]
            self._change(again, self._show_redone)

    def _show_redone(self, listed: object) -> None:
        if isinstance(listed, Listed):
            self._undone_steps.pop()
            self._done_steps.append(listed.made)
            self._show(listed)
            self._page.show_news(self.tr("Done again: {what}").format(what=self.words(listed.made)))

    def _tell_steps(self) -> None:
        undo, redo = (self.words(steps[-1]) if steps else "" for steps in (self._done_steps, self._undone_steps))
        self._page.show_steps(undo, redo)

    def words(self, changes: Changes) -> str:
        """Return what changes do, in words."""
        if len(changes) != 1:
            return self.tr("{n} orders changed").format(n=len(changes))
        (change,) = changes
        if change.before is None or change.after is None:
            order = change.before or change.after
            told = self.tr("order {id} added") if change.before is None else self.tr("order {id} taken out")
            return told.format(id=order.id if order else "")
        pairs = zip(self._cells(change.before), self._cells(change.after), strict=True)
        told = ", ".join(f"{name} {old or '–'} → {new or '–'}" for (name, old), (_, new) in pairs if old != new)
        return self.tr("order {id}: {what}").format(id=change.after.id, what=told)

    def _cells(self, order: Order) -> tuple[tuple[str, str], ...]:
        assert self._week is not None  # orders are of a week
        yard = self._week.outlook.yard
        tz = zone(yard.site.tz)
        products = {product.id: product.name for product in yard.products}
        return (
            (self.tr("customer"), order.customer),
            (self.tr("product"), products.get(order.product_id, order.product_id)),
            (self.tr("color"), order.color),
            (self.tr("quantity"), str(order.quantity)),
            (self.tr("due"), due_text(order.due_at.astimezone(tz))),
            (self.tr("promised"), due_text(order.promise_at.astimezone(tz)) if order.promise_at else ""),
            (self.tr("priority"), str(order.priority)),
            (self.tr("note"), order.note),
        )

    # What is pressed

    def _edit(self, order_id: str, column: str, text: str) -> None:
        before = self._order(order_id)
        if before is None or self._week is None:
            return
        cells = {column: text}
        if column == "product":  # a color that the new product's resin is kept in
            grade = self._week.outlook.yard.product(text).resin_grade
            colors = sorted(item.color for item in self._week.outlook.yard.items if item.grade == grade)
            cells["color"] = before.color if before.color in colors else colors[0]
        try:
            after = edited(order_id, cells, self._week.outlook.yard, before)
        except InvalidField as error:
            self._page.show_news(str(error))
            return
        self._make(OrderChange(before, after))

    def _make(self, change: OrderChange) -> None:
        """Make a change; ask first where it looks like a slip."""
        question = self._question(change)
        if not question:
            self._change((change,), self._show_change)
            return
        box = QMessageBox(self._page)
        box.setObjectName("is_that_meant")
        box.setIcon(QMessageBox.Icon.Question)
        box.setText(question)
        meant = box.addButton(self.tr("It is meant"), QMessageBox.ButtonRole.AcceptRole)
        box.setDefaultButton(box.addButton(QMessageBox.StandardButton.Cancel))
        meant.clicked.connect(partial(self._change, (change,), self._show_change))
        box.open()

    def _question(self, change: OrderChange) -> str:
        if change.after is None or self._week is None:
            return ""
        outlook, asked = self._week.outlook, []
        if change.before is None or change.before.quantity < change.after.quantity:
            slip = doubt(change.after, outlook.yard)
            asked += [self.tr("{why}.").format(why=slip)] if slip else []
        over = change.after.due_at < outlook.now
        if over and (change.before is None or change.before.due_at != change.after.due_at):
            day = due_text(change.after.due_at.astimezone(zone(outlook.yard.site.tz)))
            asked.append(self.tr("It would be due on {day}, which is over.").format(day=day))
        return "\n".join((*asked, self.tr("Is that meant?"))) if asked else ""

    def _remove(self, order_id: str) -> None:
        order = self._order(order_id)
        if order is not None:
            self._change((OrderChange(order, None),), self._show_change)

    def _add(self) -> None:
        if self._week is None:
            return
        outlook = self._week.outlook
        today = outlook.now.astimezone(zone(outlook.yard.site.tz)).date()
        self._dialog = AddOrder(outlook.yard, today, (order.id for order in outlook.orders), self._page)
        self._dialog.wanted.connect(self._add_order)
        self._dialog.open()

    def _add_order(self, number: str, cells: dict[str, str]) -> None:
        if self._week is None or self._dialog is None:
            return
        try:
            order = edited(number, cells, self._week.outlook.yard)
        except InvalidField as error:
            self._dialog.show_trouble(str(error))
            return
        self._dialog.accept()
        self._dialog = None
        self._make(OrderChange(None, order))

    def _explain(self, order_id: str) -> None:
        order = self._order(order_id)
        if self._week is None or order is None:
            return
        if self._week.stored is None:
            self._page.show_news(self.tr("There is no plan yet that could make it late: build one first."))
            return
        WhyLate(self._database, self._week.outlook, self._week.stored, order, self._page).open()

    def _choose_file(self) -> None:
        folder = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        kinds = self.tr("Orders (*.csv *.xlsx)")
        path, _ = QFileDialog.getOpenFileName(self._page, self.tr("Bring in orders"), folder, kinds)
        if path:
            self.bring_in(Path(path))

    def bring_in(self, path: Path) -> None:
        """Read a file of orders and show what it would bring."""
        if self._week is not None:
            self._ask(partial(_preview, self._database, path), self._show_preview)

    def _show_preview(self, found: object) -> None:
        if isinstance(found, Previewed):
            dialog = ImportDialog(found, self._page)
            dialog.wanted.connect(self._take)
            dialog.open()

    def _take(self, changes: Changes) -> None:
        self._change(changes, self._show_change)

    def _order(self, order_id: str) -> Order | None:
        orders = self._week.outlook.orders if self._week else ()
        return next((order for order in orders if order.id == order_id), None)


def _list(week: Week, _tell: Tell) -> Listed:
    plan = week.stored.outcome.plan if week.stored else Plan(week.outlook.grid)
    return Listed(week, order_rows(week.outlook, week.stored, Words(week.outlook.yard, plan)))


def _read(database: Database, week: Week, tell: Tell) -> Listed:
    return _list(replace(week, outlook=replace(week.outlook, orders=open_orders(database))), tell)


def _change(database: Database, week: Week, changes: Changes, tell: Tell) -> Listed:
    made = change_orders(database, changes, by=person(), now=yard_now(database))
    return replace(_read(database, week, tell), made=made)


def _preview(database: Database, path: Path, _tell: Tell) -> Previewed:
    return previewed(preview_orders(database, path))
