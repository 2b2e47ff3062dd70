"""Every page of the window on the demo yard, in three themes and sizes; the pictures can be kept to be looked at."""

import os
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QImage

from yardplan.solve.run import Limits, Stop
from yardplan.store.engine import open_database
from yardplan.ui.background import Background
from yardplan.ui.palette import Theme
from yardplan.ui.settings import SeatSettings
from yardplan.ui.window import MainWindow
from yardplan.usecases.clock import yard_now
from yardplan.usecases.demo import make_demo
from yardplan.usecases.outlook import make_outlook
from yardplan.usecases.planning import make_plan

SIZES = ((960, 540), (1280, 800), (1920, 1080))
"""The first is what a screen of 1920 x 1080 shows at 200 %."""
WAIT_MS = 120_000


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    url = make_demo(tmp_path_factory.mktemp("demo") / "demo.sqlite")
    database = open_database(url)
    outlook = make_outlook(database, now=yard_now(database))
    make_plan(database, outlook, Limits(seconds=0), Stop(), lambda _: None, made_by="tester")
    database.close()
    return url


@pytest.mark.gui
@pytest.mark.parametrize("theme", [Theme.LIGHT, Theme.DARK, Theme.SUNLIGHT])
def test_every_page_fills_its_place_in_every_theme_and_size(planned, theme, qtbot):
    """Where the variable YARDPLAN_SCREENS names a folder, the pictures are kept there."""
    folder = Path(os.environ["YARDPLAN_SCREENS"]) if os.environ.get("YARDPLAN_SCREENS") else None
    database = open_database(planned)
    window = MainWindow(database, SeatSettings(theme=theme))
    qtbot.addWidget(window)
    window.show()
    qtbot.waitUntil(lambda: window._week is not None, timeout=WAIT_MS)
    for width, height in SIZES:
        window.resize(width, height)
        for name, action in window.menus.pages.items():
            action.trigger()
            qtbot.wait(300)
            qtbot.waitUntil(lambda: not any(work.busy for work in window.findChildren(Background)), timeout=WAIT_MS)
            qtbot.wait(300)
            assert (window.width(), window.height()) == (width, height), f"{name} asks for more than {width}x{height}"
            picture = window.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
            pixels = np.frombuffer(picture.constBits(), np.uint32).reshape(picture.height(), -1)
            below_bars = pixels[pixels.shape[0] // 4 :]
            assert len(np.unique(below_bars)) > 4, f"{name} is empty"
            if folder:
                folder.mkdir(parents=True, exist_ok=True)
                assert picture.save(str(folder / f"{name}-{theme.value}-{width}x{height}.png"))
    window.close()
    database.close()
