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
from yardplan.domain.yard import Yard
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
        self._unit_id = self._summary_text = ""
        self._drawn: tuple[Unit | None, Site | None] = (None, None)
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

    def show_unit(self, draft: YardDraft, unit_id: str, yard: Yard | None) -> None:
        """Show a unit.

        Parameters
        ----------
        unit_id : str
            Name of the unit in the draft; empty for none.
        yard : Yard or None
            The last one that a draft came to; what it has no such unit of is not drawn.
        """
        self._draft, self._unit_id = draft, unit_id
        self.lay.setEnabled(bool(unit_id))
        unit = next((unit for unit in yard.units if unit.id == unit_id), None) if yard else None
        drawn = (unit, yard.site if yard else None)
        if drawn == self._drawn:
            return
        self._drawn, self._unit = drawn, unit
        self.view.show_unit(unit)
        self.told.setText("" if unit else self.tr("The unit is drawn once no cell of the yard is bad any more."))
        self._ask()

    def show_shares(self, shares: MirrorShares | None, site: Site) -> None:
        """Show what reaches the mold; too late where the unit has gone meanwhile."""
        if self._unit is None:
            return
        self.view.show_shares(shares)
        least = decimal_text(site.min_elevation_deg, 0)
        too_low = self.tr("The sun is below {least}° then: no heat is counted.").format(least=least)
        self._summary_text = self._summary(shares, site) if shares else too_low
        self.told.setText(self._summary_text)

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
        self.told.setText(self.view.told(mirror) or self._summary_text)
        if mirror >= 0:
            self.mirror_chosen.emit(mirror)

    def _lay_out(self) -> None:
        if not self._unit_id or self._draft is None:
            return
        dialog = LayoutDialog(self._draft, self._unit_id, self._words, self)
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

    def __init__(self, draft: YardDraft, unit_id: str, words: YardWords, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("layout_dialog")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(self.tr("Rows of mirrors of {unit}").format(unit=unit_id))
        self._draft, self._unit_id = draft, unit_id
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
        for column, text in zip(tables.FIELDS.columns[1:], first_layout(draft, unit_id), strict=True):
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
            laid = self._draft.with_field(self._unit_id, tuple(editor.text() for editor in self.editors.values()))
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
        self.laid.emit(laid, self.tr("mirrors of {unit} laid out").format(unit=self._unit_id))
        super().accept()


def first_layout(draft: YardDraft, unit_id: str) -> Cells:
    """Return a layout to begin with: as many mirrors of the size that a unit has; where it has none, a usual field."""
    mirrors = [cells for cells in draft.rows(tables.HELIOSTATS) if cells[0] == unit_id]
    _, _, _, lowest_m, width_m, height_m, reflectance_frac = mirrors[0] if mirrors else USUAL_MIRROR
    count = len(mirrors) or USUAL_COUNT
    direction_deg = "180" if draft.cell(tables.SITE, 0, "latitude_deg").startswith("-") else "0"
    return (str(count), "14", "4", "2.6", "65", lowest_m, width_m, height_m, reflectance_frac, direction_deg, "1")


USUAL_COUNT, USUAL_MIRROR = 36, ("", "", "", "1.3", "1.22", "1.83", "0.93")
"""Common practice, no source; the cells of a mirror as in `yard_tables.HELIOSTATS`."""
