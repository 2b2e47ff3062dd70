"""The row of the Week page for changes by hand: what can be done, and how many are not saved."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QAction, QKeySequence
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QToolButton, QWidget


class EditRow(QWidget):
    """Actions whose keys work on the page alone, and a line that tells what came of the last one.

    Attributes
    ----------
    every : list of QAction
        All actions in their order; for a menu, and for the page on which their keys should work.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.every: list[QAction] = []
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(8, 0, 8, 2)
        self._row.setSpacing(4)
        std = QKeySequence.StandardKey
        self.undo = self._action("edit_undo", self.tr("Undo"), QKeySequence(std.Undo))
        self.redo = self._action("edit_redo", self.tr("Redo"), QKeySequence("Ctrl+Shift+Z"))
        self.place = self._action("edit_move", self.tr("Move to ..."), QKeySequence("Ctrl+M"))
        self.lock = self._action("edit_lock", self.tr("Lock"), QKeySequence("Ctrl+L"))
        self.split = self._action("edit_split", self.tr("Split ..."), QKeySequence("Ctrl+Shift+M"))
        self.remove = self._action("edit_remove", self.tr("Remove"), QKeySequence("Ctrl+Del"))
        self.add = self._action("edit_add", self.tr("Add ..."), QKeySequence("Ctrl+Shift+A"))
        self._told = QLabel()
        self._told.setObjectName("edit_told")
        self._told.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._told.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._row.addWidget(self._told, 1)
        self._unsaved = QLabel()
        self._unsaved.setObjectName("unsaved")
        self._row.addWidget(self._unsaved)
        self.save = self._action("edit_save", self.tr("Save version"), QKeySequence(std.Save))
        self.compare = self._action("edit_compare", self.tr("Compare"), QKeySequence("Ctrl+D"))
        self.publish = self._action("edit_publish", self.tr("Publish ..."), QKeySequence("Ctrl+Shift+P"))

    def _action(self, name: str, text: str, keys: QKeySequence) -> QAction:
        action = QAction(text, self)
        action.setIconText(text)  # else the dots that say "asks first" are lost on the button
        action.setObjectName(name)
        action.setShortcut(keys)
        action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)  # other pages have their own undo
        action.setEnabled(False)
        button = QToolButton()
        button.setObjectName(f"{name}_button")
        button.setDefaultAction(action)
        self._row.addWidget(button)
        self.every.append(action)
        self._name(action, text)
        return action

    def _name(self, action: QAction, told: str) -> None:
        keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
        action.setToolTip(f"{told} ({keys})")
        for button in self.findChildren(QToolButton):
            if button.defaultAction() is action:
                button.setAccessibleName(told)

    def tell(self, text: str) -> None:
        """Say what came of an edit; screen readers hear it."""
        self._told.setText(text)
        self._told.setToolTip(text)
        if text:
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self._told, text))

    @property
    def told(self) -> str:
        """What was said last."""
        return self._told.text()

    def show_state(self, *, unsaved: int, undo: str, redo: str, is_locked: bool | None, has_plan: bool) -> None:
        """Let be pressed what makes sense now.

        Parameters
        ----------
        undo, redo : str
            What would be taken back or made again; empty for nothing.
        is_locked : bool or None
            Whether the chosen cycle is locked; None: no cycle is chosen.
        """
        for action, what, plain, named in (
            (self.undo, undo, self.tr("Undo"), self.tr("Undo: {what}").format(what=undo)),
            (self.redo, redo, self.tr("Redo"), self.tr("Redo: {what}").format(what=redo)),
        ):
            action.setEnabled(bool(what))
            self._name(action, named if what else plain)
        self.lock.setText(self.tr("Unlock") if is_locked else self.tr("Lock"))
        self.lock.setIconText(self.lock.text())
        self._name(self.lock, self.lock.text())
        for action in (self.place, self.split, self.remove):
            action.setEnabled(is_locked is False)
        self.lock.setEnabled(is_locked is not None)
        self.add.setEnabled(has_plan)
        self._unsaved.setText(self.tr("Changes not saved: {n}").format(n=unsaved) if unsaved else "")
        self.save.setEnabled(unsaved > 0)
        self.compare.setEnabled(has_plan)
        self.publish.setEnabled(has_plan)
