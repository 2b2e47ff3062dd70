"""Building a plan: the button, how long and how sure, and how the search is getting on."""

from PySide6.QtCore import QElapsedTimer, QSignalBlocker, QTimer, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QSpinBox,
    QStackedWidget,
    QWidget,
)

from yardplan.ui.dates import percent_text
from yardplan.usecases.outlook import CONFIDENCES, DEFAULT_CONFIDENCE


class PlanBar(QStackedWidget):
    """Waits for "Build plan", then tells about the search until it ends.

    Signals
    -------
    build_wanted(), stop_wanted()
        What the person asks for.
    """

    build_wanted = Signal()
    stop_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.build = QPushButton(self.tr("Build plan"))
        self.build.setObjectName("build")
        self.build.setToolTip(self.tr("Search for the best plan of the week (Ctrl+B)"))
        self.build.clicked.connect(self.build_wanted)
        self.search_s = QSpinBox()
        self.search_s.setObjectName("search_s")
        self.search_s.setRange(1, 3600)
        self.search_s.setSuffix(self.tr(" s"))
        self.search_s.setAccessibleName(self.tr("Time limit of the search in seconds"))
        self.search_s.setToolTip(self.search_s.accessibleName())
        self.confidence = QComboBox()
        self.confidence.setObjectName("confidence")
        for confidence in CONFIDENCES:
            self.confidence.addItem(percent_text(confidence), confidence)
        self.set_confidence(DEFAULT_CONFIDENCE)
        self.confidence.setAccessibleName(self.tr("Planning confidence"))
        self.confidence.setToolTip(self.tr("Planning confidence: the share of skies in which a cook is over in time"))
        self.stop = QPushButton(self.tr("Stop and keep best"))
        self.stop.setObjectName("stop")
        self.stop.clicked.connect(self._stop)
        self._told = QLabel()
        self._told.setObjectName("progress")
        self._told.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._bar = QProgressBar()
        self._bar.setTextVisible(False)
        self._bar.setFixedWidth(120)
        self._bar.setAccessibleName(self.tr("Time used"))
        self._elapsed = QElapsedTimer()
        self._tick = QTimer(self)
        self._tick.setInterval(250)
        self._tick.timeout.connect(self._show_time)
        self._news, self._limit_s = "", 0
        self.addWidget(self._idle_row())
        self.addWidget(self._busy_row())

    @property
    def chosen_confidence(self) -> float:
        """The planning confidence that is set."""
        return float(self.confidence.currentData())

    def set_confidence(self, confidence: float) -> None:
        """Set the planning confidence without asking for anything."""
        with QSignalBlocker(self.confidence):
            self.confidence.setCurrentIndex(max(self.confidence.findData(confidence), 0))

    def begin(self, limit_s: int) -> None:
        """Show a search that starts now."""
        self._limit_s, self._news = limit_s, self.tr("looking at the sky")
        self._bar.setRange(0, limit_s * 4)
        self.stop.setEnabled(True)
        self._elapsed.start()
        self._tick.start()
        self._show_time()
        self.setCurrentIndex(1)
        self.stop.setFocus()

    def tell(self, news: str) -> None:
        """Show what the search has found so far."""
        self._news = news
        self._show_time()

    def end(self) -> None:
        """Go back to the button."""
        self._tick.stop()
        had_focus = self.stop.hasFocus()
        self.setCurrentIndex(0)
        if had_focus:
            self.build.setFocus()

    def _stop(self) -> None:
        self.stop.setEnabled(False)
        self.tell(self.tr("stopping, the best plan so far is kept"))
        self.stop_wanted.emit()

    def _show_time(self) -> None:
        seconds = self._elapsed.elapsed() / 1000
        self._bar.setValue(min(int(seconds * 4), self._bar.maximum()))
        self._told.setText(
            self.tr("{used} of {limit} s  ·  {news}").format(used=int(seconds), limit=self._limit_s, news=self._news)
        )
        self._told.setToolTip(self._news)

    def _idle_row(self) -> QWidget:
        row, whole = _row()
        row.addStretch(1)
        label = QLabel(self.tr("Con&fidence"))
        label.setBuddy(self.confidence)
        time = QLabel(self.tr("Search &time"))
        time.setBuddy(self.search_s)
        for widget in (label, self.confidence, time, self.search_s, self.build):
            row.addWidget(widget)
        return whole

    def _busy_row(self) -> QWidget:
        row, whole = _row()
        row.addWidget(self._told, 1)
        row.addWidget(self._bar)
        row.addWidget(self.stop)
        return whole


def _row() -> tuple[QHBoxLayout, QWidget]:
    whole = QWidget()
    row = QHBoxLayout(whole)
    row.setContentsMargins(6, 0, 6, 0)
    row.setSpacing(6)
    return row, whole
