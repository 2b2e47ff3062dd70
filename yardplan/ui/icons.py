"""The program's own drawings, in the color of the text beside them."""

from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from yardplan.paths import resource

SIZES_PX = (16, 24, 32, 48, 64)


def icon(name: str, color: str) -> QIcon:
    """Return the drawing ``resources/icons/NAME.svg`` with its ``currentColor`` as `color`."""
    return _drawn(resource(f"icons/{name}.svg").read_text(encoding="utf-8").replace("currentColor", color))


def program_icon() -> QIcon:
    """Return the program's own icon."""
    return _drawn(resource("icons/yardplan.svg").read_text(encoding="utf-8"))


def _drawn(drawing: str) -> QIcon:
    renderer = QSvgRenderer(QByteArray(drawing.encode()))
    made = QIcon()
    for size_px in SIZES_PX:
        pixmap = QPixmap(size_px, size_px)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        renderer.render(painter, QRectF(0, 0, size_px, size_px))
        painter.end()
        made.addPixmap(pixmap)
    return made
