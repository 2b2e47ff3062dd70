"""Versions of a plan that was changed by hand: kept, compared with the one in force, published."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QMessageBox

from yardplan.domain.compare import Answer, Comparison, compare
from yardplan.domain.difference import Pair, on_grid
from yardplan.domain.errors import PublishedMeanwhile
from yardplan.domain.outcome import StoredPlan
from yardplan.domain.plan import Cycle, Plan
from yardplan.store.engine import Database
from yardplan.ui.background import Tell
from yardplan.ui.edit_dialogs import PublishDialog
from yardplan.ui.editing import Change, Editing
from yardplan.ui.jobs import Week, person, seat
from yardplan.ui.trouble import ask_anyway
from yardplan.ui.week import WeekPage
from yardplan.usecases.clock import yard_now
from yardplan.usecases.editing import frozen_h, frozen_of, publish_edited, save_edited
from yardplan.usecases.planning import problem_of


@dataclass(frozen=True)
class Compared:
    """A plan beside the one in force, or beside the one that its changes began from where none is."""

    found: Comparison
    old_number: int
    is_in_force: bool
    frozen: tuple[Pair[Cycle], ...]


class Versions(QObject):
    """Between the Week page and the versions of its plan.

    Signals
    -------
    saved()
        A version was kept or published: all should be read anew.
    """

    saved = Signal()

    def __init__(self, database: Database, page: WeekPage, editing: Editing) -> None:
        super().__init__(editing)
        self._database, self._page, self._editing = database, page, editing
        self._then: Callable[[], object] = self.saved.emit
        self._reason = ""
        editing.refused.connect(self._refused)
        row = page.edit_row
        row.save.triggered.connect(self.save)
        row.compare.triggered.connect(self.compare)
        row.publish.triggered.connect(self.publish)

    def ask_first(self, go: Callable[[], object]) -> None:
        """Do something that would lose unsaved changes, once the person has said what becomes of them."""
        if not self._editing.unsaved:
            go()
            return
        box = QMessageBox(self._page)
        box.setObjectName("unsaved_box")
        box.setIcon(QMessageBox.Icon.Question)
        box.setText(self.tr("Changes of the plan that are not saved: {n}.").format(n=self._editing.unsaved))
        save = box.addButton(QMessageBox.StandardButton.Save)
        discard = box.addButton(QMessageBox.StandardButton.Discard)
        box.setDefaultButton(save)
        box.addButton(QMessageBox.StandardButton.Cancel)
        save.clicked.connect(partial(self._save_then, go))
        discard.clicked.connect(partial(self._discard_then, go))
        box.open()

    def _save_then(self, go: Callable[[], object]) -> None:
        self._then = go
        self.save()

    def _discard_then(self, go: Callable[[], object]) -> None:
        self._editing.forget()
        go()

    # Keeping, comparing, publishing

    def save(self) -> None:
        """Keep the changed plan as a new version."""
        if (
            self._editing.week is None
            or self._editing.plan is None
            or self._editing.base is None
            or not self._editing.unsaved
        ):
            return
        first, after = sorted((max(self._editing.stack.cleanIndex(), 0), self._editing.stack.index()))
        commands = [self._editing.stack.command(ix) for ix in range(first, after)]
        notes = [note for command in commands if isinstance(command, Change) for note in command.notes]
        if self._editing.stack.index() < self._editing.stack.cleanIndex():
            notes = [f"taken back: {note}" for note in reversed(notes)]
        work = partial(_save, self._database, self._editing.week, self._editing.base, self._editing.plan, tuple(notes))
        self._editing.ask(work, self._saved)

    def _saved(self, result: object) -> None:
        assert isinstance(result, StoredPlan)  # what `_save` returns
        self._editing.base = result
        self._editing.stack.setClean()
        self._page.edit_row.tell(self.tr("Kept as plan {n}; it is not in force yet.").format(n=result.number))
        then, self._then = self._then, self.saved.emit
        then()

    def compare(self) -> None:
        """Show what the plan has otherwise than the one in force."""
        self._ask_compared(self._show_compared)

    def publish(self) -> None:
        """Show the same, and offer to put the plan into force."""
        if self._editing.unsaved:
            self._page.edit_row.tell(self.tr("Save the plan first; what is published is a version."))
            return
        self._ask_compared(self._open_publish)

    def _ask_compared(self, then: Callable[[object], None]) -> None:
        if self._editing.week is not None and self._editing.plan is not None and self._editing.base is not None:
            old = self._editing.origin or self._editing.base
            self._editing.ask(partial(_compared, self._database, self._editing.week, old, self._editing.plan), then)

    def _lines(self, compared: Compared) -> list[str]:
        words = self._editing.words
        lines = [] if compared.is_in_force else [self.tr("No plan is in force for these days yet.")]
        against = self.tr("Against plan {n}:").format(n=compared.old_number)
        lines += [against, *words.comparison(compared.found)]
        if lines[-1] == against:
            lines.append(self.tr("No cycle and no order is different."))
        return [*lines, "", *words.upset(compared.found)]

    def _show_compared(self, result: object) -> None:
        assert isinstance(result, Compared)  # what `_compared` returns
        self._page.show_told(self.tr("Compare"), self._lines(result))

    def _open_publish(self, result: object) -> None:
        assert isinstance(result, Compared)  # as above
        assert self._editing.base is not None  # there is a plan to publish
        frozen = [self._editing.words.pair(pair) for pair in result.frozen]
        title = self.tr("Publish plan {n}").format(n=self._editing.base.number)
        dialog = PublishDialog(self._page, title, self._lines(result), frozen)
        dialog.wanted.connect(self._publish)
        dialog.open()

    def _publish(self, reason: str) -> None:
        self._reason = reason
        self._publish_now(anyway=False)

    def _publish_now(self, *, anyway: bool) -> None:
        if self._editing.base is not None and self._editing.plan is not None:
            work = partial(
                _publish, self._database, self._editing.base.number, self._editing.plan, self._reason, anyway=anyway
            )
            self._editing.ask(work, self._published)

    def _published(self, number: object) -> None:
        self._page.edit_row.tell(self.tr("Plan {n} is in force.").format(n=number))
        self.saved.emit()

    def _refused(self, error: object) -> None:
        self._then = self.saved.emit
        if isinstance(error, PublishedMeanwhile):
            ask_anyway(self._page, error, partial(self._publish_now, anyway=True))


def _save(
    database: Database, week: Week, base: StoredPlan, plan: Plan, notes: tuple[str, ...], _tell: Tell
) -> StoredPlan:
    return save_edited(database, week.outlook, base, plan, by=person(), notes=notes)


def _compared(database: Database, week: Week, base: StoredPlan, plan: Plan, _tell: Tell) -> Compared:
    in_force = week.today.in_force if week.today else None
    is_in_force = in_force is not None and in_force.outcome.plan.grid == plan.grid
    old = in_force if in_force is not None and is_in_force else base
    problem = problem_of(week.outlook)
    before = on_grid(old.outcome.plan, plan.grid)
    found = compare(Answer(problem, before), Answer(problem, plan))
    frozen = frozen_of(in_force, plan, now=yard_now(database), hours=frozen_h(database))
    return Compared(found, old.number, is_in_force, frozen)


def _publish(database: Database, number: int, plan: Plan, reason: str, _tell: Tell, *, anyway: bool) -> int:
    publish_edited(
        database, number, plan, now=yard_now(database), by=person(), seat=seat(), reason=reason, anyway=anyway
    )
    return number
