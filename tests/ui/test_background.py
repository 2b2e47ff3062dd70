import gc
import threading
from typing import ClassVar

import pytest
from PySide6.QtCore import QObject

from yardplan.ui.background import Background


class Listener(QObject):
    """Bound methods of a QObject of the window's thread, as the window has them."""

    def __init__(self, background):
        super().__init__()
        self.heard = []
        background.better.connect(self.on_better)
        background.done.connect(self.on_done)
        background.failed.connect(self.on_failed)

    def on_better(self, request, news):
        self.heard.append(("better", request, news, threading.current_thread()))

    def on_done(self, request, result):
        self.heard.append(("done", request, result, threading.current_thread()))

    def on_failed(self, request, error):
        self.heard.append(("failed", request, error, threading.current_thread()))


class Gate:
    """A stop that counts how often it was asked, and that a job can wait for."""

    def __init__(self, deaf=0):
        self.asked, self.deaf, self.open = 0, deaf, threading.Event()

    def request(self):
        self.asked += 1
        if self.asked > self.deaf:
            self.open.set()


@pytest.fixture
def background(qtbot):
    made = Background()
    yield made
    made.close()


def test_all_news_arrive_in_the_windows_thread(background, qtbot):
    listener = Listener(background)

    def work(tell):
        for number in range(75):
            tell(number)
        return threading.current_thread()

    with qtbot.waitSignal(background.done):
        request = background.run(work)
    assert [news for what, _, news, _ in listener.heard if what == "better"] == list(range(75))
    assert {thread for *_, thread in listener.heard} == {threading.current_thread()}
    what, number, ran_in, _ = listener.heard[-1]
    assert (what, number) == ("done", request)
    assert ran_in is not threading.current_thread()


def test_an_exception_is_told_and_not_lost(background, qtbot):
    listener = Listener(background)

    def work(_tell):
        raise ValueError("as in a bug")

    with qtbot.waitSignal(background.failed):
        background.run(work)
    what, _, error, _ = listener.heard[-1]
    assert what == "failed"
    assert str(error) == "as in a bug"


def test_a_stop_is_repeated_until_the_job_ends(background, qtbot):
    gate = Gate(deaf=2)
    with qtbot.waitSignal(background.done, timeout=10_000):
        background.run(lambda _tell: gate.open.wait(30), gate)
        background.stop()
    asked = gate.asked
    assert asked >= 3
    qtbot.wait(500)
    assert gate.asked == asked, "nobody is asked once the job is over"


def test_a_new_request_stops_the_old_one(background, qtbot):
    gate, listener = Gate(), Listener(background)
    first = background.run(lambda _tell: gate.open.wait(30), gate)
    with qtbot.waitSignals([background.done, background.done], timeout=10_000):
        second = background.run(lambda _tell: "second")
    assert gate.asked >= 1
    assert second > first
    assert [(request, result) for _, request, result, _ in listener.heard] == [(first, True), (second, "second")]


def test_closing_waits_until_no_thread_is_left(background, qtbot):
    gate = Gate(deaf=1)
    background.run(lambda _tell: gate.open.wait(30), gate)
    assert background.busy
    background.close()
    assert not background.busy
    assert gate.open.is_set()


class Traced:
    """Garbage that only the collector finds, and that notes where it was found."""

    found_in: ClassVar[list[threading.Thread]] = []

    def __init__(self):
        self.me = self

    def __del__(self):
        self.found_in.append(threading.current_thread())


def test_garbage_is_collected_in_the_windows_thread_alone(background, qtbot):
    """A scene destroyed in a job's thread takes the program down; here garbage that is not Qt's stands for it."""
    Traced.found_in.clear()

    def work(_tell):
        for _ in range(20_000):
            Traced()

    with qtbot.waitSignal(background.done, timeout=20_000):
        background.run(work)
    gc.collect()
    assert len(Traced.found_in) == 20_000
    assert set(Traced.found_in) == {threading.main_thread()}
    assert gc.isenabled()


def test_long_jobs_garbage_is_swept_meanwhile(background, qtbot):
    Traced.found_in.clear()
    gate = Gate()

    def work(_tell):
        for _ in range(1000):
            Traced()
        gate.open.wait(30)

    background.run(work, gate)
    qtbot.waitUntil(lambda: len(Traced.found_in) == 1000, timeout=10_000)
    assert background.busy
    background.close()
    assert gc.isenabled()
