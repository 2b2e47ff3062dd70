import sys

import PySide6
import pytest
from PySide6.QtCore import QAbstractTableModel, QSortFilterProxyModel, Qt


class _Empty(QAbstractTableModel):
    def rowCount(self, parent=None):
        return 1

    def columnCount(self, parent=None):
        return 1

    def data(self, index, role=Qt.ItemDataRole.DisplayRole):
        return None


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None is immortal from Python 3.12 on")
def test_qt_keeps_references_to_none():
    """PySide6 6.12.0 drops one whenever a call from Python gives None back, until Python 3.11 aborts; measured."""
    model = QSortFilterProxyModel()
    model.setSourceModel(_Empty(model))
    before = sys.getrefcount(None)
    for _ in range(3000):
        model.data(model.index(0, 0))
    lost = before - sys.getrefcount(None)
    assert lost < 1000, f"PySide6 {PySide6.__version__} lost {lost} references to None: keep it below 6.12"
