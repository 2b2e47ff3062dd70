"""What a file of orders would bring: good rows, bad ones with their reason, numbers that are there already."""

from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QCoreApplication, Qt, Signal
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QLabel,
    QScrollArea,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.order_changes import Double, OrderChange, doubt
from yardplan.domain.slots import zone
from yardplan.ui.dates import due_text
from yardplan.ui.order_table import NO_INDEX, Index
from yardplan.ui.orders import MEASURED_ROWS
from yardplan.usecases.ordering import OrderPreview

MOST_CHOICES = 50
"""Numbers with a choice of their own; one choice stands for all further ones."""


@dataclass(frozen=True, eq=False)
class Previewed:
    """What a file would bring, its rows in words, and the numbers of orders whose quantity may be a slip."""

    preview: OrderPreview
    rows: tuple[tuple[str, ...], ...]
    slips: frozenset[str]
    changes: tuple[OrderChange, ...]
    """What comes in if nothing else is chosen."""


def previewed(preview: OrderPreview) -> Previewed:
    """Return a preview in words: row, what becomes of it, field, order, customer, product, color, quantity, dates."""
    tr = QCoreApplication.translate
    tz, products = zone(preview.yard.site.tz), {product.id: product.name for product in preview.yard.products}
    several, slips = preview.doubles, set[str]()
    rows = [
        (problem.row, (tr("import", "bad: {why}").format(why=problem.text), problem.column, *[""] * 7))
        for problem in preview.found.problems
    ]
    for number, order in preview.found.rows:
        told = tr("import", "new")
        if order.id in preview.known:
            told = tr("import", "its number is there already")
        elif order.id in several:
            told = tr("import", "its number is twice in the file")
        slip = doubt(order, preview.yard)
        if slip:
            slips.add(order.id)
            told += tr("import", "; is that meant? {why}").format(why=slip)
        cells = (
            told, tr("import", "quantity") if slip else "", order.id, order.customer, products[order.product_id],
            order.color, str(order.quantity), due_text(order.due_at.astimezone(tz)),
            due_text(order.promise_at.astimezone(tz)) if order.promise_at else "",
        )  # fmt: skip
        rows.append((number, cells))
    rows.sort(key=lambda row: row[0])
    shown = tuple((str(number or ""), *cells) for number, cells in rows)
    return Previewed(preview, shown, frozenset(slips), preview.changes({}, slips))


class PreviewModel(QAbstractTableModel):
    """Rows of a file in their order: what each brings, or what is wrong with it."""

    def __init__(self, rows: tuple[tuple[str, ...], ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows = rows
        self._heads = (
            self.tr("Row"),
            self.tr("What becomes of it"),
            self.tr("Field"),
            self.tr("Order"),
            self.tr("Customer"),
            self.tr("Product"),
            self.tr("Color"),
            self.tr("Quantity"),
            self.tr("Due"),
            self.tr("Promised"),
        )

    def rowCount(self, parent: Index = NO_INDEX) -> int:
        """Return how many rows there are."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = NO_INDEX) -> int:
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(self._heads)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a cell's words."""
        if index.isValid() and role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return self._rows[index.row()][index.column()]
        if index.isValid() and role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{self._heads[index.column()]}: {self._rows[index.row()][index.column()]}"
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a column's head."""
        if orientation is Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return self._heads[section]
        return None


class ImportDialog(QDialog):
    """Shows what would come in; nothing is changed before it is pressed.

    Signals
    -------
    wanted(object)
        A tuple of `OrderChange` to be made.
    """

    wanted = Signal(object)

    def __init__(self, found: Previewed, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        preview = found.preview
        self.setObjectName("import_orders")
        self.setWindowTitle(self.tr("Orders from {file}").format(file=preview.path.name))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._preview, self._slips, self._changes = preview, found.slips, found.changes
        self._told = QLabel()
        self._told.setObjectName("import_told")
        self._told.setWordWrap(True)
        self.table = QTableView()
        self.table.setObjectName("import_rows")
        self.table.setAccessibleName(self.tr("Rows of the file"))
        self.table.setModel(PreviewModel(found.rows, self))
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setAlternatingRowColors(True)
        self.table.setTabKeyNavigation(False)
        self.table.verticalHeader().hide()
        self.table.horizontalHeader().setResizeContentsPrecision(MEASURED_ROWS)
        self.table.resizeColumnsToContents()
        self.table.setColumnWidth(1, min(self.table.columnWidth(1), 420))
        self._row = QLabel()
        self._row.setObjectName("import_row")
        self._row.setWordWrap(True)
        self._row.setMinimumHeight(2 * self._row.fontMetrics().height())
        self.table.selectionModel().currentRowChanged.connect(self._tell_row)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
        self.take = buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.take.setObjectName("import_take")
        for button in buttons.buttons():
            button.setIcon(QIcon())
        buttons.accepted.connect(self._take)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(self._told)
        column.addWidget(self.table, 1)
        column.addWidget(self._row)
        self.choices: dict[str, QComboBox] = {}
        self._rest: QComboBox | None = None
        if preview.doubles:
            column.addWidget(self._make_choices())
        self.with_slips = QCheckBox(self.tr("Take quantities that may be a slip, too"))
        self.with_slips.setObjectName("import_slips")
        self.with_slips.setVisible(bool(found.slips))
        self.with_slips.toggled.connect(self._choose)
        column.addWidget(self.with_slips)
        column.addWidget(buttons)
        self.resize(1100, 620)
        self._count()

    def _make_choices(self) -> QScrollArea:
        inner = QWidget()
        grid = QGridLayout(inner)
        several = self._preview.doubles
        for ix, (ident, rows) in enumerate(several.items()):
            if ix == MOST_CHOICES:
                self._rest = self._choice(f"double_rest_{ix}", self.tr("All other numbers that are there already"))
                grid.addWidget(QLabel(self._rest.accessibleName()), ix, 0)
                grid.addWidget(self._rest, ix, 1)
                break
            there = self._preview.known.get(ident)
            told = (
                self.tr("{number}: {n} pieces in the book, {rows} in the file")
                if there
                else self.tr("{number}: twice in the file, {rows} pieces")
            )
            label = QLabel(
                told.format(
                    number=ident, n=there.quantity if there else 0, rows=", ".join(str(row.quantity) for row in rows)
                )
            )
            self.choices[ident] = self._choice(f"double_{ix}", label.text())
            grid.addWidget(label, ix, 0)
            grid.addWidget(self.choices[ident], ix, 1)
        grid.setColumnStretch(0, 1)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setWidget(inner)
        area.setMaximumHeight(170)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        return area

    def _choice(self, name: str, label: str) -> QComboBox:
        choice = QComboBox()
        choice.setObjectName(name)
        choice.setAccessibleName(label)
        choice.addItem(self.tr("Keep what is there first"), Double.KEEP)
        choice.addItem(self.tr("Replace it by the last one in the file"), Double.REPLACE)
        choice.addItem(self.tr("Take it in under a new number"), Double.RENAME)
        choice.currentIndexChanged.connect(self._choose)
        return choice

    @property
    def _chosen(self) -> dict[str, Double]:
        rest = Double(self._rest.currentData()) if self._rest else Double.KEEP
        return {
            ident: Double(self.choices[ident].currentData()) if ident in self.choices else rest
            for ident in self._preview.doubles
        }

    def _tell_row(self) -> None:
        """Show all of what becomes of the current row: its cell may be too short for it."""
        self._row.setText(str(self.table.currentIndex().siblingAtColumn(1).data() or ""))

    def _choose(self) -> None:
        left_out = frozenset[str]() if self.with_slips.isChecked() else self._slips
        self._changes = self._preview.changes(self._chosen, left_out)
        self._count()

    def _count(self) -> None:
        n_bad = len(self._preview.found.problems)
        self._told.setText(
            self.tr(
                "Rows that can be taken: {good}. Problems: {bad}. Numbers that are there already: {twice}. Nothing is "
                "changed yet; the file itself never is."
            ).format(good=len(self._preview.found.rows), bad=n_bad, twice=len(self._preview.doubles))
        )
        self.take.setText(self.tr("Take in: {n}").format(n=len(self._changes)))
        self.take.setEnabled(bool(self._changes))

    def _take(self) -> None:
        self.wanted.emit(self._changes)
        self.accept()
