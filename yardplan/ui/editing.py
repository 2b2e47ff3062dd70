"""Carries out what is changed by hand on the Week page; every trial and every check runs beside the window."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack
from PySide6.QtWidgets import QMessageBox

from yardplan.domain.difference import Pair
from yardplan.domain.edits import Add, Edit, Edited, Lock, Remove
from yardplan.domain.errors import ExpectedError, LocksClash
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import Cycle, Plan
from yardplan.exchange.edit_words import edit_words
from yardplan.solve.edit import Editor
from yardplan.store.engine import Database
from yardplan.ui.background import Background, Tell
from yardplan.ui.edit_dialogs import PlaceDialog, ReasonDialog
from yardplan.ui.edit_words import EditWords
from yardplan.ui.jobs import Week, person
from yardplan.ui.week import WeekPage
from yardplan.ui.why_late import WhyLate
from yardplan.ui.words import Words
from yardplan.usecases.editing import frozen_between, frozen_h, frozen_notes, question_to_edit
from yardplan.usecases.outlook import Outlook


@dataclass(frozen=True)
class Tried:
    """An edit, and what it would come to."""

    edit: Edit
    found: Edited


@dataclass(frozen=True)
class Judged:
    """An edit of a plan that was checked, and what of it lies in the frozen period."""

    edit: Edit
    before: Plan
    found: Edited
    frozen: tuple[Pair[Cycle], ...]
    hours: float


class _Trials:
    """Keeps the editor of one plan between trials; used by the one thread of its `Background` alone."""

    def __init__(self, database: Database, outlook: Outlook, base: StoredPlan, plan: Plan) -> None:
        self._database, self._outlook, self._base, self._plan = database, outlook, base, plan
        self._editor: Editor | None = None

    def tried(self, edit: Edit, _tell: Tell) -> Tried:
        return Tried(edit, self._made().tried(edit))

    def checked(self, edit: Edit, in_force: StoredPlan | None, _tell: Tell) -> Judged:
        found, hours = self._made().checked(edit), frozen_h(self._database)
        frozen = frozen_between(in_force, self._plan, found.plan, now=self._outlook.now, hours=hours)
        return Judged(edit, self._plan, found, frozen, hours)

    def _made(self) -> Editor:
        if self._editor is None:
            problem = question_to_edit(self._database, self._outlook, self._base)
            self._editor = Editor(problem, self._plan)
        return self._editor


class Change(QUndoCommand):
    """One edit: both plans are values, so that either way is one assignment."""

    def __init__(self, name: str, put: Callable[[Plan], None], before: Plan, after: Plan, notes: list[str]) -> None:
        super().__init__(name)
        self._put, self._before, self._after, self.notes = put, before, after, notes

    def undo(self) -> None:
        """Go back to the plan before."""
        self._put(self._before)

    def redo(self) -> None:
        """Go to the plan after."""
        self._put(self._after)


class Editing(QObject):
    """Between the Week page and a plan that is being changed.

    Attributes
    ----------
    week : Week or None
        What was read last.
    base : StoredPlan or None
        The version that the changes began from.
    plan : Plan or None
        The plan as it is now.
    origin : StoredPlan or None
        The version that was shown before the first change; saving leaves it.

    Signals
    -------
    shown(object)
        The `Plan` that should be drawn.
    changed()
        How many changes are not saved, or what can be done, is another.
    failed(object)
        An exception that the page has no place for.
    refused(object)
        An `ExpectedError` that was told on the page.
    """

    shown = Signal(object)
    changed = Signal()
    failed = Signal(object)
    refused = Signal(object)

    def __init__(self, database: Database, page: WeekPage, parent: QObject) -> None:
        super().__init__(parent)
        self._database, self._page = database, page
        self.week: Week | None = None
        self.base: StoredPlan | None = None
        self.plan: Plan | None = None
        self.origin: StoredPlan | None = None
        self._trials: _Trials | None = None
        self._dialog: PlaceDialog | None = None
        self._asked: dict[int, Callable[[object], None]] = {}
        self._waiting: Edit | None = None
        self._trying = False
        self.stack = QUndoStack(self)
        self.stack.indexChanged.connect(self._tell_state)
        self.stack.cleanChanged.connect(self._tell_state)
        self.background = Background(self)
        self.background.done.connect(self._done)
        self.background.failed.connect(self._failed)
        drag, row = page.board.view.drag, page.edit_row
        drag.wanted.connect(self.try_edit)
        drag.dropped.connect(self.make)
        drag.given_up.connect(self._drop_waiting)
        row.undo.triggered.connect(self.stack.undo)
        row.redo.triggered.connect(self.stack.redo)
        row.place.triggered.connect(self.ask_move)
        row.lock.triggered.connect(self.toggle_lock)
        row.split.triggered.connect(self.ask_split)
        row.remove.triggered.connect(self.remove)
        row.add.triggered.connect(self.ask_add)
        page.board.chosen.connect(self._tell_state)
        page.why_asked.connect(self.ask_why)

    # What is being changed

    @property
    def unsaved(self) -> int:
        """How many changes are not saved."""
        return abs(self.stack.index() - max(self.stack.cleanIndex(), 0)) if not self.stack.isClean() else 0

    def take(self, week: Week) -> Week:
        """Take a week that was read: with unsaved changes their plan stays, else it is that of the week."""
        stored = week.stored
        if self.unsaved and self.base is not None and self.plan is not None:
            if stored is not None and stored.outcome.plan.grid == self.plan.grid:
                if stored.number != self.base.number:
                    told = self.tr("Plan {n} was made meanwhile; your changes are of plan {mine}.")
                    self._page.edit_row.tell(told.format(n=stored.number, mine=self.base.number))
                self.week = replace(week, stored=self.base)
                self._trials = _Trials(self._database, week.outlook, self.base, self.plan)
                return self._with_plan()
            self._page.edit_row.tell(self.tr("Another plan is shown; your changes were for other days and are gone."))
        if stored is None or self.base is None or stored.number != self.base.number:
            self.stack.clear()
            self.origin = stored
        self.week, self.base = week, stored
        self.plan = stored.outcome.plan if stored else None
        self._trials = None
        if stored is not None:
            self._trials = _Trials(self._database, week.outlook, stored, stored.outcome.plan)
        self._tell_state()
        return week

    def _with_plan(self) -> Week:
        """Return the week with the plan as it is being changed."""
        assert self.week is not None  # something is shown
        stored = self.week.stored
        if stored is None or self.plan is None or stored.outcome.plan is self.plan:
            return self.week
        return replace(self.week, stored=replace(stored, outcome=replace(stored.outcome, plan=self.plan)))

    def forget(self) -> None:
        """Give all unsaved changes up."""
        self.stack.clear()
        if self.week is not None and self.week.stored is not None:
            self._put(self.week.stored.outcome.plan)

    def close(self) -> None:
        """Wait for what runs."""
        self._asked.clear()
        self.background.close()

    def _put(self, plan: Plan) -> None:
        assert self.week is not None  # only edits of what is shown come here
        assert self.base is not None  # as above
        self.plan = plan
        self._trials = _Trials(self._database, self.week.outlook, self.base, plan)
        self.shown.emit(self._with_plan())

    def _tell_state(self) -> None:
        row, cycle = self._page.edit_row, self._chosen()
        self._page.board.view.can_edit = self._trials is not None
        row.show_state(
            unsaved=self.unsaved,
            undo=self.stack.undoText() if self.stack.canUndo() else "",
            redo=self.stack.redoText() if self.stack.canRedo() else "",
            is_locked=cycle.locked if cycle else None,
            has_plan=self.plan is not None,
        )
        self.changed.emit()

    def _chosen(self) -> Cycle | None:
        mark = self._page.board.view.mark
        if mark is None or self.plan is None:
            return None
        return next((row for row in self.plan.cycles if row.id == mark.spot.cycle_id), None)

    @property
    def words(self) -> EditWords:
        """Words about edits of the plan that is shown."""
        assert self.week is not None  # something is shown
        assert self.plan is not None  # as above
        outlook = self.week.outlook
        return EditWords(outlook, self.plan, Words(outlook.yard, self.plan))

    # Trials

    def try_edit(self, edit: object) -> None:
        """Work out what an edit comes to and show it; of several that wait only the last one is."""
        self._waiting = edit  # type: ignore[assignment]  # signals carry objects; these are edits
        if not self._trying:
            self._try_next()

    def _drop_waiting(self) -> None:
        self._waiting = None

    def _try_next(self) -> None:
        edit, self._waiting = self._waiting, None
        if edit is not None and self._trials is not None:
            self._trying = True
            self.ask(partial(self._trials.tried, edit), self._show_tried)

    def _show_tried(self, result: object) -> None:
        self._trying = False
        assert isinstance(result, Tried)  # what `_Trials.tried` returns
        edit, found = result.edit, result.found
        told = self.words.verdict(edit, found)
        self._page.board.view.drag.show(edit, found, told)
        if self._dialog is not None:
            self._dialog.show_found(edit, found, told)
        self._try_next()

    # Edits

    def make(self, edit: object) -> None:
        """Make an edit, after it was checked by every rule."""
        self._waiting = None
        if self._trials is not None and isinstance(edit, Edit):
            self._page.edit_row.tell(self.tr("Checking ..."))
            in_force = self.week.today.in_force if self.week and self.week.today else None
            self.ask(partial(self._trials.checked, edit, in_force), self._judged)

    def _judged(self, result: object) -> None:
        assert isinstance(result, Judged)  # what `_Trials.checked` returns
        if result.before is not self.plan:  # another edit came first
            self.make_again(result.edit)
            return
        told = self.words.verdict(result.edit, result.found)
        if not result.found.is_done:
            self._page.edit_row.tell(told.replace("\n", "  "))
        elif result.frozen:
            lines = [self.words.pair(pair) for pair in result.frozen]
            dialog = ReasonDialog(self._page, lines, person(), result.hours)
            dialog.given.connect(partial(self._give_reason, result))
            dialog.rejected.connect(self._not_changed)
            dialog.open()
        else:
            self._push(result, [])

    def make_again(self, edit: Edit) -> None:
        """Make an edit of the plan as it is now, if what it is about is still there."""
        ids = {row.id for row in self.plan.cycles} if self.plan is not None else set()
        if isinstance(edit, Add) or edit.cycle_id in ids:
            self.make(edit)

    def _not_changed(self) -> None:
        self._page.edit_row.tell(self.tr("Nothing was changed."))

    def _give_reason(self, judged: Judged, reason: str, name: str) -> None:
        self._push(judged, frozen_notes(judged.frozen, judged.found.plan.grid, reason=reason, name=name))

    def _push(self, judged: Judged, notes: list[str]) -> None:
        if judged.before is not self.plan:
            self.make_again(judged.edit)
            return
        edit, before, after = judged.edit, judged.before, judged.found.plan
        words = self.words
        told = words.verdict(edit, judged.found).replace("\n", "  ")
        if not isinstance(edit, Lock) and before == after:
            self._page.edit_row.tell(self.tr("Nothing was changed."))
            return
        all_notes = [edit_words(edit, before, after), *notes]
        self.stack.push(Change(words.name(edit), self._put, before, after, all_notes))
        self._page.edit_row.tell(told)

    def toggle_lock(self) -> None:
        """Lock the chosen cycle, or unlock it."""
        cycle = self._chosen()
        if cycle is not None:
            self.make(Lock(cycle.id, locked=not cycle.locked))

    def remove(self) -> None:
        """Take the chosen cycle out of the plan."""
        cycle = self._chosen()
        if cycle is not None:
            self.make(Remove(cycle.id))

    def ask_move(self) -> None:
        """Ask where the chosen cycle should go."""
        self._open(self._chosen())

    def ask_split(self) -> None:
        """Ask where the chosen cycle and the later ones of its row should go."""
        self._open(self._chosen(), splits=True)

    def ask_add(self) -> None:
        """Ask for a cycle that is to be added."""
        self._open(None, adds=True)

    def _open(self, cycle: Cycle | None, *, splits: bool = False, adds: bool = False) -> None:
        if self.week is None or self.plan is None or (cycle is None and not adds):
            return
        outlook, view = self.week.outlook, self._page.board.view
        chambers = tuple(chamber.id for chamber in outlook.yard.chambers)
        middle = int((view.left_slot + view.right_slot) / 2)
        self._dialog = PlaceDialog(
            self._page, self.plan.grid, chambers, cycle, outlook.orders, splits=splits, start_slot=middle
        )
        self._dialog.wanted.connect(self.try_edit)
        self._dialog.chosen.connect(self.make)
        self._dialog.finished.connect(self._closed)
        self._dialog.open()
        self._dialog.ask()

    def _closed(self) -> None:
        if self._dialog is not None:
            self._dialog.deleteLater()
            self._dialog = None
        self._waiting = None
        self._page.board.view.setFocus()

    def offer_for_locks(self, error: LocksClash) -> None:
        """Tell which locks stand in each other's way, and offer to undo one or to move it."""
        plan = self.plan
        box = QMessageBox(self._page)
        box.setObjectName("locks_clash")
        box.setIcon(QMessageBox.Icon.Warning)
        box.setText(self.tr("Locked work cannot stay where it is, and nothing was moved."))
        box.setInformativeText("\n".join(error.reasons))
        for row in plan.cycles if plan else ():
            if row.id in error.cycle_ids and row.locked:
                name = self.tr("{id} in {chamber}").format(id=row.id, chamber=row.chamber_id)
                button = box.addButton(self.tr("Unlock {name}").format(name=name), QMessageBox.ButtonRole.ActionRole)
                button.setObjectName(f"unlock_{row.id}")
                button.clicked.connect(partial(self.make, Lock(row.id, locked=False)))
        box.setDefaultButton(box.addButton(QMessageBox.StandardButton.Cancel))
        box.open()

    def ask_why(self, order_id: str) -> None:
        """Tell what stands in the way of an order by the plan that is shown, and what would help."""
        stored = self._with_plan().stored if self.week is not None else None
        if self.week is not None and stored is not None:
            order = next(order for order in self.week.outlook.orders if order.id == order_id)
            WhyLate(self._database, self.week.outlook, stored, order, self._page).open()

    # Work beside the window

    def ask(self, work: Callable[[Tell], object], then: Callable[[object], None]) -> None:
        """Have something done beside the window, then its result taken."""
        self._asked[self.background.run(work)] = then

    def _done(self, request: int, result: object) -> None:
        then = self._asked.pop(request, None)
        if then is not None:
            then(result)

    def _failed(self, request: int, error: object) -> None:
        self._asked.pop(request, None)
        self._trying = False
        if isinstance(error, ExpectedError):
            self._page.edit_row.tell(str(error))
            self.refused.emit(error)
        else:
            self.failed.emit(error)
