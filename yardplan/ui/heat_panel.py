"""Beside the fans: where the outlook comes from, what a person knows better, what a wash would bring, notes."""

from html import escape

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from yardplan.domain.verification import Verified
from yardplan.domain.washing import WashGain
from yardplan.ui.dates import day_text
from yardplan.ui.jobs import Sky
from yardplan.ui.sky_words import SkyWords
from yardplan.usecases.outlook import Outlook

RULE_PX = 36
VERIFIED_DAYS = 60


class HeatPanel(QScrollArea):
    """What is told of an outlook in words, and what can be asked and said.

    Signals
    -------
    said(str), taken_back(str)
        What a person knows better than the forecast, and what does not hold any more.
    forecast_asked(), wash_asked(), verifying_asked()
        A newer forecast, what a wash would bring, or how good the outlooks were is wanted.
    """

    said = Signal(str)
    taken_back = Signal(str)
    forecast_asked = Signal()
    wash_asked = Signal()
    verifying_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._is_ready = False
        self._source = told_label("heat_source")
        self.ask = QPushButton(self.tr("Get a newer forecast"))
        self.ask.setObjectName("ask_forecast")
        self.ask.clicked.connect(self.forecast_asked)
        self.say_text = QLineEdit()
        self.say_text.setObjectName("say_text")
        self.say_text.setAccessibleName(self.tr("What you know better than the forecast"))
        self.say_text.setPlaceholderText(self.tr("such as: fog monday until 10"))
        self.say_text.returnPressed.connect(self._say)
        self.say_text.textChanged.connect(self._enable)
        self.say = QPushButton(self.tr("Say"))
        self.say.setObjectName("say")
        self.say.clicked.connect(self._say)
        self._trouble = told_label("say_trouble")
        self._trouble.hide()
        self.rules = QListWidget()
        self.rules.setObjectName("overrules")
        self.rules.setAccessibleName(self.tr("What was said by hand"))
        self.rules.setTabKeyNavigation(False)
        self.rules.setWordWrap(True)
        self.rules.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.rules.currentRowChanged.connect(self._enable)
        self.take_back = QPushButton(self.tr("Take back"))
        self.take_back.setObjectName("take_back")
        self.take_back.clicked.connect(self._take_back)
        self.wash = QPushButton()
        self.wash.setObjectName("weigh_wash")
        self.wash.clicked.connect(self._weigh)
        self._washes = told_label("washes")
        self.verify = QPushButton(self.tr("Weigh the outlooks of the last {n} days").format(n=VERIFIED_DAYS))
        self.verify.setObjectName("verify")
        self.verify.clicked.connect(self._verify)
        self._verified = told_label("verified")
        self._notes = told_label("heat_notes")
        self._notes_head = QLabel(self.tr("To be looked at"))
        self._notes_head.setObjectName("title")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMinimumWidth(250)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidget(self._make())

    def show_sky(self, outlook: Outlook, sky: Sky, words: SkyWords) -> None:
        """Tell of an outlook."""
        self._source.setText(_lines(words.source(outlook.heat.source, sky.weather)))
        self.rules.clear()
        for rule in sky.overrules:
            item = QListWidgetItem(words.overrule(rule))
            item.setToolTip(item.text())
            item.setData(Qt.ItemDataRole.UserRole, rule.text)
            self.rules.addItem(item)
        self.rules.setFixedHeight(RULE_PX * min(max(len(sky.overrules), 1), 5) + 6)
        for widget in (self.rules, self.take_back):
            widget.setVisible(bool(sky.overrules))
        self.show_trouble("")
        self.say_text.clear()
        self._notes.setText(_lines(sky.notes))
        for label in (self._notes, self._notes_head):
            label.setVisible(bool(sky.notes))
        self._washes.setText(
            escape(self.tr("Works the same days out once more with clean mirrors; that takes some seconds."))
        )

    def show_day(self, day: str) -> None:
        """Learn before which day a wash would be weighed."""
        self.wash.setText(self.tr("Weigh a wash before {day}").format(day=day))

    def show_washes(self, gains: tuple[WashGain, ...], words: SkyWords) -> None:
        """Show what a wash would bring."""
        on = day_text(gains[0].on) if gains else ""
        head = self.tr("Washed before the sun of {day}, in all until the last of these days:").format(day=on)
        self._washes.setText(_lines([head, *(words.wash(gain) for gain in gains)]))

    def show_verified(self, found: Verified, words: SkyWords) -> None:
        """Show how good the outlooks were."""
        self._verified.setText(_lines(words.verified(found)))

    def show_trouble(self, text: str) -> None:
        """Say why what was said by hand was not understood, beside the field."""
        self._trouble.setText(escape(text))
        self._trouble.setVisible(bool(text))
        if text:
            self.say_text.setFocus()
            self.say_text.selectAll()

    def set_ready(self, is_ready: bool) -> None:
        """Let be asked what makes sense while nothing else runs."""
        self._is_ready = is_ready
        self._enable()

    def _enable(self) -> None:
        self.ask.setEnabled(self._is_ready)
        self.wash.setEnabled(self._is_ready)
        self.verify.setEnabled(self._is_ready)
        self.say.setEnabled(self._is_ready and bool(self.say_text.text().strip()))
        self.take_back.setEnabled(self._is_ready and self.rules.currentItem() is not None)

    def _say(self) -> None:
        if self.say.isEnabled():
            self.said.emit(self.say_text.text().strip())

    def _take_back(self) -> None:
        item = self.rules.currentItem()
        if item is not None:
            self.taken_back.emit(item.data(Qt.ItemDataRole.UserRole))

    def _weigh(self) -> None:
        self._washes.setText(escape(self.tr("Weighing ...")))
        self.wash_asked.emit()

    def _verify(self) -> None:
        self._verified.setText(escape(self.tr("Weighing ...")))
        self.verifying_asked.emit()

    def _make(self) -> QWidget:
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setContentsMargins(12, 2, 10, 8)
        column.setSpacing(5)
        saying = QHBoxLayout()
        saying.addWidget(self.say_text, 1)
        saying.addWidget(self.say)
        for title, widgets in (
            (self.tr("Where this comes from"), (self._source, self.ask)),
            (self.tr("What you know better"), (saying, self._trouble, self.rules, self.take_back)),
            (self.tr("Washing the mirrors"), (self.wash, self._washes)),
            (self.tr("How good the outlooks were"), (self.verify, self._verified)),
        ):
            head = QLabel(title)
            head.setObjectName("title")
            column.addSpacing(6)
            column.addWidget(head)
            for widget in widgets:
                if isinstance(widget, QWidget):
                    column.addWidget(widget)
                else:
                    column.addLayout(widget)
        column.addSpacing(6)
        column.addWidget(self._notes_head)
        column.addWidget(self._notes)
        column.addStretch(1)
        return inner


def told_label(name: str) -> QLabel:
    """Return an empty label for lines of text that wrap and can be copied."""
    label = QLabel()
    label.setObjectName(name)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.RichText)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return label


def _lines(lines: tuple[str, ...] | list[str]) -> str:
    return "".join(f"<p style='margin-top:0; margin-bottom:5px'>{escape(line)}</p>" for line in lines if line)
