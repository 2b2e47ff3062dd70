"""What the program is and the cautions that go with the work."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QTextBrowser, QVBoxLayout, QWidget

from yardplan import __version__


class AboutDialog(QDialog):
    """About yardplan, with the cautions."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(self.tr("About yardplan"))
        self.resize(620, 580)
        title = QLabel(self.tr("yardplan {version}").format(version=__version__))
        title.setObjectName("title")
        what = QLabel(self.tr("Plans the week of a rotational-molding yard whose only oven is the sun."))
        what.setWordWrap(True)
        cautions = QTextBrowser()
        cautions.setAccessibleName(self.tr("Cautions"))
        cautions.setHtml(self._cautions())
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.button(QDialogButtonBox.StandardButton.Close).setIcon(QIcon())  # the style's own is black on any theme
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        for widget in (title, what, cautions, buttons):
            column.addWidget(widget)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)

    def _cautions(self) -> str:
        said = (
            (
                self.tr("Concentrated light"),
                self.tr(
                    "It blinds, burns and sets fire at a distance. Keep out of the beams, wear the eye protection that "
                    "your assessment asks for, and have mirrors stowed before anyone works at a chamber."
                ),
            ),
            (
                self.tr("Hot molds"),
                self.tr(
                    "Molds and parts burn skin long after the heat has ended. A planned demold time is no leave to "
                    "open: measure first, and wear gloves and clothes made for it."
                ),
            ),
            (
                self.tr("Lifting"),
                self.tr(
                    "Change and carry molds with equipment made for the load, operated by trained people, and keep "
                    "everyone from under it."
                ),
            ),
            (
                self.tr("Wind"),
                self.tr("Stow the mirrors before the site's limit is reached, not at it. A plan does not know a gust."),
            ),
            (
                self.tr("Electricity"),
                self.tr(
                    "PV strings are live whenever the sun shines, and batteries can give deadly currents. Only "
                    "qualified people work on them."
                ),
            ),
            (
                self.tr("Work in heat"),
                self.tr("Best sun is the worst time for heavy work. Plan rest, shade and water."),
            ),
        )
        rows = "".join(f"<h4>{name}</h4><p>{text}</p>" for name, text in said)
        last = self.tr(
            "yardplan draws plans; it switches nothing and watches nothing. Local codes, the makers' instructions and "
            "licensed practice always come first."
        )
        return f"<h3>{self.tr('Cautions')}</h3>{rows}<p><b>{last}</b></p>"
