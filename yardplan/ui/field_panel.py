"""The field of one unit: its drawing, what is drawn, a new layout in rows, and the caution that belongs beside it."""

from datetime import datetime
from enum import StrEnum

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.equipment import Site, Unit
from yardplan.domain.errors import InvalidField
from yardplan.domain.slots import zone
from yardplan.exchange import yard_tables as tables
from yardplan.exchange.yard_draft import Cells, YardDraft
from yardplan.forecast.each_mirror import MirrorShares
from yardplan.ui.cell_editors import CellEditor
from yardplan.ui.dates import clock_text, day_text, decimal_text, percent_text
from yardplan.ui.field_view import FieldView
from yardplan.ui.palette import Palette
from yardplan.ui.units import Quantity, measured_text
from yardplan.ui.yard_units import shown_problem
from yardplan.ui.yard_words import YardWords


class When(StrEnum):
    """What time the light on the mirrors is shown for."""

    NOW = "now"
    NOON = "noon"
    DAY = "day"


class FieldPanel(QScrollArea):
    """The drawing with its controls.

    Signals
    -------
    shares_wanted(object, object)
        A `Unit` and a `When`.
    changed(object, str)
        A new draft, and in words what was done.
    mirror_chosen(int)
        Place of a mirror in the unit's field.
    """

    shares_wanted = Signal(object, object)
    changed = Signal(object, str)
    mirror_chosen = Signal(int)

    def __init__(self, colors: Palette, words: YardWords, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = words
        self._unit: Unit | None = None
        self._draft: YardDraft | None = None
        self._south = False
        self.view = FieldView(colors)
        self.view.mirror_chosen.connect(self._choose)
        self.when = QComboBox()
        self.when.setObjectName("field_when")
        self.when.setAccessibleName(self.tr("Light on the mirrors"))
        self.when.addItem(self.tr("Light on each mirror over today"), When.DAY)
        self.when.addItem(self.tr("Light on each mirror at noon"), When.NOON)
        self.when.addItem(self.tr("Light on each mirror now"), When.NOW)
        self.when.currentIndexChanged.connect(self._ask)
        self.lay = QPushButton(self.tr("Lay out in rows …"))
        self.lay.setObjectName("lay_out")
        self.lay.clicked.connect(self._lay_out)
        self.told = QLabel()
        self.told.setObjectName("field_told")
        self.told.setWordWrap(True)
        self.told.setMinimumHeight(self.fontMetrics().lineSpacing() * 2 + 4)
        self.told.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        caution = QLabel(
            self.tr(
                "<b>Concentrated light blinds, burns and sets fire at a distance.</b> Nobody enters a field or stands "
                "near a mold while mirrors work: stow them first, by the yard's own procedure and the local rules."
            )
        )
        caution.setObjectName("caution")
        caution.setWordWrap(True)
        row = QHBoxLayout()
        row.setContentsMargins(8, 4, 8, 4)
        row.addWidget(self.when)
        row.addStretch(1)
        row.addWidget(self.lay)
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addLayout(row)
        column.addWidget(self.view, 1)
        for label in (self.told, caution):
            label.setContentsMargins(8, 0, 8, 2)
            column.addWidget(label)
        self.setWidget(inside)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    @property
    def shown_when(self) -> When:
        """What time the light is shown for."""
        return When(self.when.currentData())

    def show_unit(self, draft: YardDraft, unit: Unit | None, site: Site | None) -> None:
        """Show a unit of the last draft that was a yard; None where there is no such unit in it."""
        self._draft, self._south = draft, bool(site and site.latitude_deg < 0)
        if unit == self._unit:
            return
        self._unit = unit
        self.view.show_unit(unit)
        self.lay.setEnabled(unit is not None)
        self.told.setText("" if unit else self.tr("The drawing comes back when the yard has no more bad cells."))
        self._ask()

    def show_shares(self, shares: MirrorShares | None, site: Site) -> None:
        """Show what reaches the mold."""
        self.view.show_shares(shares)
        if shares is None:
            least = decimal_text(site.min_elevation_deg, 0)
            self.told.setText(self.tr("The sun is below {least}° then: no heat is counted.").format(least=least))
            return
        self.told.setText(self._summary(shares, site))

    def _summary(self, shares: MirrorShares, site: Site) -> str:
        assert self._unit is not None
        sent = shares.sent_frac
        at: datetime = shares.at.astimezone(zone(site.tz))
        if self.shown_when is When.DAY:
            when = self.tr("over {day} under a clear sky").format(day=day_text(at))
        else:
            when = self.tr("on {day} at {time}, sun {elevation}° high").format(
                day=day_text(at), time=clock_text(at), elevation=decimal_text(shares.elevation_deg, 0)
            )
        area_m2 = [mirror.area_m2 for mirror in self._unit.field]
        mean = sum(share * one for share, one in zip(sent, area_m2, strict=True)) / sum(area_m2)
        return self.tr(
            "{n} mirrors, {area}, send {mean} of the light on them {when} (best {best}, least {least}); numbers are "
            "percent, before what misses a mold's outline. Mirrors are drawn lying flat, chambers as a sketch."
        ).format(
            n=len(area_m2),
            area=measured_text(Quantity.AREA, sum(area_m2), 0),
            mean=percent_text(mean),
            when=when,
            best=percent_text(float(sent.max())),
            least=percent_text(float(sent.min())),
        )

    def set_colors(self, colors: Palette) -> None:
        """Take a theme's colors."""
        self.view.set_colors(colors)

    def choose(self, mirror: int) -> None:
        """Mark a mirror that was chosen elsewhere."""
        with QSignalBlocker(self.view):
            self.view.choose(mirror)

    def _ask(self) -> None:
        if self._unit is not None:
            self.shares_wanted.emit(self._unit, self.shown_when)

    def _choose(self, mirror: int) -> None:
        self.told.setText(self.view.told(mirror))
        self.mirror_chosen.emit(mirror)

    def _lay_out(self) -> None:
        if self._unit is None or self._draft is None:
            return
        dialog = LayoutDialog(self._draft, self._unit, self._words, south=self._south, parent=self)
        dialog.laid.connect(self.changed)
        dialog.open()


class LayoutDialog(QDialog):
    """Asks how a unit's mirrors are to stand in rows; what cannot stand so is told at its field.

    Signals
    -------
    laid(object, str)
        A new draft, and in words what was done.
    """

    laid = Signal(object, str)

    def __init__(
        self, draft: YardDraft, unit: Unit, words: YardWords, *, south: bool, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setObjectName("layout_dialog")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(self.tr("Rows of mirrors of {unit}").format(unit=unit.name or unit.id))
        self._draft, self._unit = draft, unit
        self.editors: dict[str, CellEditor] = {}
        form = QFormLayout(self)
        about = QLabel(
            self.tr(
                "Takes the place of all mirrors of this unit. Rows stand on arcs around the mold, each mirror behind "
                "a gap of the row before; it can be undone."
            )
        )
        about.setWordWrap(True)
        form.addRow(about)
        for column, text in zip(tables.FIELDS.columns[1:], first_layout(unit, south=south), strict=True):
            editor = CellEditor(column, words.column(tables.FIELDS, column.name))
            editor.set_text(text)
            label = QLabel(words.column(tables.FIELDS, column.name))
            label.setBuddy(editor)
            form.addRow(label, editor)
            self.editors[column.name] = editor
        self.trouble = QLabel()
        self.trouble.setObjectName("layout_trouble")
        self.trouble.setProperty("kind", "trouble")
        self.trouble.setWordWrap(True)
        form.addRow(self.trouble)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
        buttons.button(QDialogButtonBox.StandardButton.Ok).setText(self.tr("Lay out"))
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        form.addRow(buttons)
        self.resize(420, self.sizeHint().height())

    def accept(self) -> None:
        """Lay the mirrors out, or say what stands against it."""
        try:
            laid = self._draft.with_field(self._unit.id, tuple(editor.text() for editor in self.editors.values()))
        except InvalidField as error:
            editor = self.editors.get(error.field)
            name = editor.line.accessibleName() if editor else error.field
            value = editor.line.text() if editor else str(error.value)
            self.trouble.setText(
                self.tr("⚠ {name} is “{value}”; expected {expected}").format(
                    name=name, value=value, expected=shown_problem(error.field, error.expected)
                )
            )
            if editor is not None:
                editor.setFocus()
                editor.line.selectAll()
            return
        self.laid.emit(laid, self.tr("mirrors of {unit} laid out").format(unit=self._unit.name or self._unit.id))
        super().accept()


def first_layout(unit: Unit, *, south: bool) -> Cells:
    """Return a layout to begin with: as many mirrors of the size that a unit has, spaced so that they can turn."""
    mirror = unit.field[0]
    spacing_m = max(2.6, round((mirror.width_m**2 + mirror.height_m**2) ** 0.5 + 0.3, 1))
    lowest_m = min(one.up_m for one in unit.field)
    figures = (14, max(4, spacing_m), spacing_m, 65, lowest_m, mirror.width_m, mirror.height_m)
    numbers = (len(unit.field), *figures, mirror.reflectance_frac, 180 if south else 0, 1)
    return tuple(f"{number:g}" for number in numbers)
