"""The Yard page: everything that a yard is made of, edited as a draft that is saved whole."""

from datetime import tzinfo

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QAction, QIcon, QKeySequence, QShowEvent, QUndoCommand, QUndoStack
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QMenu,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.equipment import Site
from yardplan.domain.errors import RowProblem
from yardplan.domain.slots import zone
from yardplan.domain.yard import Yard
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.rows import Table
from yardplan.exchange.yard_draft import BLANK, YardDraft, differences, merged
from yardplan.forecast.each_mirror import MirrorShares
from yardplan.ui.dates import day_time_text
from yardplan.ui.icons import icon
from yardplan.ui.palette import Palette
from yardplan.ui.yard_section import Section, owner_table
from yardplan.ui.yard_table import SIGN_PX, Place
from yardplan.ui.yard_units import shown_problem
from yardplan.ui.yard_versions import VersionsDialog
from yardplan.ui.yard_words import SECTIONS, YardWords
from yardplan.usecases.yard_editing import OpenYard

LIST_PX = 190


class YardPage(QWidget):
    """The page. It holds a draft with all its steps back and forth; a controller judges, saves and reads.

    Signals
    -------
    shown()
        The page came to the front.
    judge_wanted(object), save_wanted(object, int)
        A draft; a draft and the version of the yard that it was made of.
    shares_wanted(object, object)
        A `Unit` and a `When`: what reaches the mold of the light on each mirror.
    version_wanted(int), folder_wanted(str), export_wanted(str)
        An old version, or the yard of a folder, is to become the draft; the yard is to be written to a folder.
    """

    shown = Signal()
    judge_wanted = Signal(object)
    save_wanted = Signal(object, int)
    shares_wanted = Signal(object, object)
    version_wanted = Signal(int)
    folder_wanted = Signal(str)
    export_wanted = Signal(str)

    def __init__(self, colors: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = YardWords(self)
        self.found: OpenYard | None = None
        self.draft = BLANK
        self.steps = QUndoStack(self)
        self._colors, self._sign = colors, QIcon()
        self._theirs: OpenYard | None = None
        self._yard: Yard | None = None
        self._problems: tuple[RowProblem, ...] = ()
        self._places: list[Place] = []
        self._gone_to = -1
        self._judged: YardDraft | None = None
        self._busy = False
        self.sections: dict[Table, Section] = {}
        self.names = QListWidget()
        self.names.setObjectName("yard_sections")
        self.names.setAccessibleName(self.tr("Parts of the yard"))
        self.names.setMinimumWidth(150)
        self.names.setIconSize(QSize(SIGN_PX, SIGN_PX))
        self.names.currentRowChanged.connect(self._open_section)
        self._stack = QStackedWidget()
        self.state = QLabel()
        self.state.setObjectName("yard_state")
        self.state.setWordWrap(True)
        self.hint = QLabel()
        self.hint.setObjectName("hint")
        self.hint.setWordWrap(True)
        self._make_actions()
        self._make()
        self.set_colors(colors)
        self.show_message(self.tr("Looking at the yard …"))

    # What the controller tells

    def show_yard(self, found: OpenYard) -> None:
        """Take the yard as it is stored; edits that are not saved are kept, and what to do with them is asked."""
        before, self._theirs = self.found, None
        if before is not None and self.is_edited and found.version != before.version:
            self._theirs = found
        else:
            self.found = found
            self.steps.clear()
            self._take(found.draft)
        if self.names.currentRow() < 0:
            self.names.setCurrentRow(SECTIONS.index(tables.UNITS if found.yard else tables.SITE))
        told = self._told_elsewhere(found) if before is not None and found.version != before.version else ""
        self.tell(told)
        self.take_theirs.setVisible(self._theirs is not None)
        self.put_mine_on_top.setVisible(self._theirs is not None)
        self._enable()

    def show_saved(self, found: OpenYard) -> None:
        """Take the yard as it was just saved; steps before can still be taken back, and saved anew."""
        self.found = found
        self.steps.setClean()
        self.tell(self.tr("Saved as version {n}.").format(n=found.version))
        self._tell_state()

    def show_judged(self, draft: YardDraft, yard: Yard | None, problems: tuple[RowProblem, ...]) -> None:
        """Take what a draft comes to; an older one is of no interest."""
        if draft is not self.draft:
            return
        self._judged, self._problems = draft, problems
        self._yard = yard or self._yard
        self._gone_to = -1
        self._places = [(found.file, found.row - 1, found.column) for found in problems if found.row]
        self._show()
        self._tell_state()

    def show_shares(self, shares: MirrorShares | None) -> None:
        """Take what reaches the mold of the light on each mirror."""
        section = self.sections.get(tables.UNITS)
        if section is not None and section.field is not None and self._yard is not None:
            section.field.show_shares(shares, self._yard.site)

    def put(self, draft: YardDraft, told: str) -> None:
        """Make a draft the current one, as one step that can be taken back."""
        if draft.rows_by != self.draft.rows_by:
            self.tell("")
            self.steps.push(_Step(self, self.draft, draft, told))

    def tell(self, text: str) -> None:
        """Say something above the tables; an empty text says nothing."""
        self.hint.setText(text)
        self._banner.setVisible(bool(text))

    def show_message(self, text: str) -> None:
        """Say why there is nothing to edit yet."""
        if self.found is None:
            self.state.setText(text)

    def set_busy(self, busy: bool) -> None:
        """Learn whether something is being kept."""
        self._busy = busy
        self._enable()

    def set_colors(self, colors: Palette) -> None:
        """Take a theme's colors."""
        self._colors, self._sign = colors, icon("attention", colors.action_text)
        self._sign.addPixmap(self._sign.pixmap(SIGN_PX), QIcon.Mode.Selected)  # else it is tinted there
        for section in self.sections.values():
            section.set_colors(colors, self._sign)
        self._show_names()

    @property
    def is_edited(self) -> bool:
        """Whether the draft is another one than what is stored."""
        return self.found is not None and self.draft.rows_by != self.found.draft.rows_by

    @property
    def site(self) -> Site | None:
        """The site of the last draft that was a yard."""
        return self._yard.site if self._yard else None

    @property
    def has_problems(self) -> bool:
        """Whether the draft is no yard."""
        return bool(self._problems)

    # Steps

    def take(self, draft: YardDraft) -> None:
        """Show a draft; for steps back and forth."""
        self._take(draft)

    def save(self) -> None:
        """Ask for the draft to be kept, if it is one that can be."""
        if self.save_action.isEnabled() and self.found is not None:
            self.save_wanted.emit(self.draft, self.found.version)

    def discard(self) -> None:
        """Go back to the yard as it is stored; that can be taken back as well."""
        if self.found is not None:
            self.put(self.found.draft, self.tr("edits dropped"))

    def _take(self, draft: YardDraft) -> None:
        self.draft, self._judged = draft, None
        self._show()
        self._tell_state()
        self.judge_wanted.emit(draft)

    def _take_theirs(self) -> None:
        if self._theirs is not None:
            self.found, theirs = self._theirs, self._theirs
            self._leave_theirs()
            self.steps.clear()
            self._take(theirs.draft)

    def _put_mine_on_top(self) -> None:
        if self._theirs is not None and self.found is not None:
            base, mine, theirs = self.found.draft, self.draft, self._theirs
            self.found = theirs
            self._leave_theirs()
            self.steps.clear()
            self._take(theirs.draft)
            self.put(merged(base, mine, theirs.draft)[0], self.tr("edits put on another seat's yard"))

    def _leave_theirs(self) -> None:
        self._theirs = None
        self.tell("")
        self.take_theirs.hide()
        self.put_mine_on_top.hide()

    def _told_elsewhere(self, found: OpenYard) -> str:
        newest = found.versions[-1] if found.versions else None
        told = self.tr("The yard was changed meanwhile by {by}: {what}.").format(
            by=newest.by if newest else self.tr("somebody"), what=newest.what if newest else self.tr("no longer known")
        )
        if self._theirs is None or self.found is None:
            return told
        both = merged(self.found.draft, self.draft, found.draft)[1]
        told += " " + self.tr("Your edits are not saved and still here.")
        if both:
            names = ", ".join(self.words.title(table) for table in both)
            told += " " + self.tr("Both changed {tables}: there your rows would take the place of theirs.").format(
                tables=names
            )
        return told

    # What is shown

    def showEvent(self, event: QShowEvent) -> None:
        """Tell that the page came to the front."""
        super().showEvent(event)
        self.shown.emit()
        self._made(tables.UNITS)  # while the yard is read

    def _show(self) -> None:
        problems = {(found.file, found.row - 1, found.column): short(found) for found in self._problems}
        problems = problems if self._judged is self.draft else {}
        section = self._section
        if section is not None and self.found is not None:
            section.show_draft(self.draft, problems)
            section.show_yard(self._yard)
        self._show_names()

    @property
    def _section(self) -> Section | None:
        row = self.names.currentRow()
        return self.sections.get(SECTIONS[row]) if row >= 0 else None

    def _show_names(self) -> None:
        bad = [owner_table(file) for file, _, _ in self._places]
        for ix, table in enumerate(SECTIONS):
            item, count = self.names.item(ix), len(self.draft.rows(table))
            text = self.words.title(table)
            item.setText(text if ix == 0 else self.tr("{name}  ({n})").format(name=text, n=count))
            item.setIcon(self._sign if table in bad else QIcon())
            told = self.tr("{name}, {n} cells to be looked at").format(name=text, n=bad.count(table))
            item.setData(Qt.ItemDataRole.AccessibleTextRole, told if table in bad else None)

    def _open_section(self, row: int) -> None:
        self._stack.setCurrentWidget(self._made(SECTIONS[row]))
        self._show()

    def _made(self, table: Table) -> Section:
        """Return the section of a table, made when it is first wanted."""
        if table not in self.sections:
            section = Section(table, self.words, self._colors)
            section.changed.connect(self.put)
            section.set_colors(self._colors, self._sign)
            if section.field is not None:
                section.field.shares_wanted.connect(self.shares_wanted)
            self._stack.addWidget(section)
            self.sections[table] = section
        return self.sections[table]

    def _tell_state(self) -> None:
        self._enable()
        if self.found is None:
            return
        if self.is_edited:
            said = "; ".join(differences(self.found.draft, self.draft)) or self.tr("rows in another order")
            told = self.tr("Edited, not saved yet: {what}.").format(what=said)
        else:
            told = self._told_version(self.found)
        wrong = len(self._problems) if self._judged is self.draft else 0
        if wrong:
            loose = [found.text for found in self._problems if not found.row]
            told += " " + self.tr("To be looked at before it can be saved: {n}.").format(n=wrong)
            told += f" {loose[0]}." if loose else ""
        self.state.setText(told)

    def _told_version(self, found: OpenYard) -> str:
        if not found.version:
            return self.tr("There is no yard yet: fill in the site and one of each part, or bring in a folder.")
        newest = found.versions[-1] if found.versions else None
        if newest is None or newest.number != found.version:
            return self.tr("Version {n} of the yard.").format(n=found.version)
        return self.tr("Version {n} of the yard, {at} by {by}: {what}.").format(
            n=newest.number, at=day_time_text(newest.at.astimezone(self._zone)), by=newest.by, what=newest.what
        )

    @property
    def _zone(self) -> tzinfo:
        return zone(self.found.yard.site.tz if self.found and self.found.yard else "UTC")

    def _enable(self) -> None:
        good = self._judged is self.draft and not self._problems
        self.save_action.setEnabled(self.is_edited and good and not self._busy and self._theirs is None)
        self.next_problem.setEnabled(bool(self._places))
        self.next_problem.setVisible(bool(self._problems))
        self.discard_action.setEnabled(self.is_edited)
        for action in (self.versions_action, self.import_action, self.export_action):
            action.setEnabled(self.found is not None and not self._busy)

    def go_to_problem(self) -> None:
        """Give the keys to the next cell that must be looked at."""
        if not self._places:
            return
        self._gone_to = (self._gone_to + 1) % len(self._places)
        place = self._places[self._gone_to]
        table = owner_table(place[0])
        if table in SECTIONS:
            self.names.setCurrentRow(SECTIONS.index(table))
            self.sections[table].go(place)

    # Dialogs

    def show_versions(self) -> None:
        """List the versions of the yard, one of which can be brought back."""
        if self.found is None:
            return
        dialog = VersionsDialog(self.found, self._zone, self)
        dialog.chosen.connect(self.version_wanted)
        dialog.open()

    def _import(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, self.tr("Folder with the files of a yard"))
        if folder:
            self.folder_wanted.emit(folder)

    def _export(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, self.tr("New or empty folder for the files of the yard"))
        if folder:
            self.export_wanted.emit(folder)

    # Making the page

    def _make_actions(self) -> None:
        std = QKeySequence.StandardKey
        self.undo_action = self.steps.createUndoAction(self, self.tr("Undo"))
        self.redo_action = self.steps.createRedoAction(self, self.tr("Redo"))
        self.save_action = QAction(self.tr("Save"), self)
        self.save_action.triggered.connect(self.save)
        for action, keys in (
            (self.undo_action, std.Undo),
            (self.redo_action, std.Redo),
            (self.save_action, std.Save),
        ):
            action.setShortcuts(keys)
            action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            self.addAction(action)
        self.discard_action = QAction(self.tr("Drop edits"), self)
        self.discard_action.triggered.connect(self.discard)
        self.versions_action = QAction(self.tr("Versions …"), self)
        self.versions_action.triggered.connect(self.show_versions)
        self.import_action = QAction(self.tr("Bring in a folder …"), self)
        self.import_action.triggered.connect(self._import)
        self.export_action = QAction(self.tr("Write to a folder …"), self)
        self.export_action.triggered.connect(self._export)

    def _make(self) -> None:
        head = QHBoxLayout()
        head.setContentsMargins(10, 4, 8, 4)
        head.addWidget(self.state, 1)
        self.next_problem = QPushButton(self.tr("Go to the next one"))
        self.next_problem.setObjectName("next_problem")
        self.next_problem.clicked.connect(self.go_to_problem)
        head.addWidget(self.next_problem)
        for name, action in (("yard_undo", self.undo_action), ("yard_redo", self.redo_action)):
            head.addWidget(self._button(name, action))
        save = self._button("yard_save", self.save_action)
        save.setProperty("kind", "press")
        head.addWidget(save)
        more = QToolButton()
        more.setObjectName("yard_more")
        more.setText(self.tr("More"))
        more.setAccessibleName(self.tr("More on the yard"))
        more.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        menu = QMenu(more)
        menu.addActions([self.discard_action, self.versions_action, self.import_action, self.export_action])
        more.setMenu(menu)
        head.addWidget(more)
        self.take_theirs = QPushButton(self.tr("Drop mine, take theirs"))
        self.take_theirs.setObjectName("take_theirs")
        self.take_theirs.clicked.connect(self._take_theirs)
        self.put_mine_on_top = QPushButton(self.tr("Put mine on top of theirs"))
        self.put_mine_on_top.setObjectName("put_mine_on_top")
        self.put_mine_on_top.clicked.connect(self._put_mine_on_top)
        self._banner = QWidget()
        banner = QHBoxLayout(self._banner)
        banner.setContentsMargins(0, 0, 8, 0)
        banner.addWidget(self.hint, 1)
        for button in (self.take_theirs, self.put_mine_on_top):
            banner.addWidget(button)
            button.hide()
        self._banner.hide()
        for table in SECTIONS:
            QListWidgetItem(self.words.title(table), self.names)
        split = QSplitter(Qt.Orientation.Horizontal)
        split.setObjectName("yard_split")
        split.setChildrenCollapsible(False)
        split.addWidget(self.names)
        split.addWidget(self._stack)
        split.setSizes([LIST_PX, 1000])
        split.setStretchFactor(0, 0)
        split.setStretchFactor(1, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(head)
        column.addWidget(self._banner)
        column.addWidget(split, 1)

    def _button(self, name: str, action: QAction) -> QToolButton:
        button = QToolButton()
        button.setObjectName(name)
        button.setDefaultAction(action)
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
        return button


class _Step(QUndoCommand):
    """From one draft to another; drafts never change, so a step is just the two."""

    def __init__(self, page: YardPage, before: YardDraft, after: YardDraft, told: str) -> None:
        super().__init__(told)
        self._page, self._before, self._after = page, before, after

    def undo(self) -> None:
        self._page.take(self._before)

    def redo(self) -> None:
        self._page.take(self._after)


def short(problem: RowProblem) -> str:
    """Return what is wrong with a cell without its name, which stands beside it."""
    text = problem.text
    if problem.column and not text.startswith("is ") and " is " in text:
        text = f"is {text.partition(' is ')[2]}"
    return shown_problem(problem.column, text)
