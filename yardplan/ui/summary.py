"""The line above all pages: which plan is shown, what it makes of the orders, whether it is in force and saved."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget

from yardplan.domain.plan import order_results
from yardplan.ui.jobs import Week
from yardplan.ui.words import Words


class Summary(QLabel):
    """Tells about the week that is shown."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("summary")
        self.setWordWrap(True)
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)

    def show_week(self, week: Week, words: Words, unsaved: int) -> None:
        """Tell about a week; `unsaved` is how many changes of its plan are not kept yet."""
        outlook, stored = week.outlook, week.stored
        if stored is None:
            told = self.tr("No plan yet  ·  {n} open orders  ·  heat: {source}")
            self.setText(told.format(n=len(outlook.orders), source=outlook.heat.source))
            return
        told = words.summary(stored, order_results(stored.outcome.plan, outlook.orders, outlook.yard))
        force = week.today.in_force
        if unsaved:
            state = self.tr("changes not saved: {n}").format(n=unsaved)
        elif force is not None and force.number == stored.number:
            state = self.tr("in force")
        else:
            state = self.tr("not published")
        self.setText(f"{told}  ·  {state}")

    def hint(self, week: Week) -> str:
        """Return what to do where there is no plan."""
        if week.stored is not None:
            return ""
        hint = self.tr("No plan for these days yet: press “Build plan” (Ctrl+B) at the top right.")
        if week.unfit_number:
            hint = self.tr("Plan {n} was made for another yard. ").format(n=week.unfit_number) + hint
        return hint
