from datetime import date
from itertools import pairwise

import pytest
from PySide6.QtCore import QLocale
from PySide6.QtGui import QFont, QFontMetricsF, QImage, QPainter

from tests.small_yard import TZ
from yardplan.domain.slots import SlotGrid
from yardplan.ui.axis import STEPS_MIN, Ticks, TimeAxis
from yardplan.ui.dates import hour_text
from yardplan.ui.look import Look
from yardplan.ui.palette import LIGHT


# The clocks of Denver change on 14 March and 7 November 2027. Source: IANA time-zone database.
@pytest.mark.parametrize(("on", "hours"), [(date(2027, 3, 14), 23), (date(2027, 11, 7), 25), (date(2027, 5, 17), 24)])
def test_ticks_stand_at_local_hours_on_days_when_the_clocks_change(on, hours):
    grid = SlotGrid.of_days(on, 1, TZ)
    ticks = Ticks(grid).within(0, grid.n_slots, 60)
    assert grid.n_slots == hours * 12
    for slot, wall in ticks:
        local = grid.local(int(slot))
        assert (local.hour, local.minute) == (wall.hour, wall.minute)
    shown = [wall.hour for _, wall in ticks]
    assert shown == [hour for hour in range(1, 24) if not (hours == 23 and hour == 2)]


@pytest.mark.parametrize("px_per_slot", [0.05, 0.4, 2.0, 4.0, 17.0, 75.0])
@pytest.mark.parametrize("locale", ["en_US", "de_DE"])
def test_labels_of_hours_never_touch(qapp, px_per_slot, locale):
    QLocale.setDefault(QLocale(locale))
    grid = SlotGrid.of_days(date(2027, 5, 17), 7, TZ)
    ticks, metrics = Ticks(grid), QFontMetricsF(QFont())
    step = ticks.step_min(px_per_slot, metrics)
    assert step in (*STEPS_MIN, 1440)
    shown = ticks.within(0, grid.n_slots, step)
    for (one, one_at), (two, two_at) in pairwise(shown):
        half = (metrics.horizontalAdvance(hour_text(one_at)) + metrics.horizontalAdvance(hour_text(two_at))) / 2
        assert (two - one) * px_per_slot > half


def test_the_axis_draws_at_any_zoom(qapp):
    grid = SlotGrid.of_days(date(2027, 11, 5), 4, TZ)
    axis, look = TimeAxis(), Look(LIGHT, QFont())
    axis.show_grid(look, Ticks(grid), lambda on: f"{on.day} cycles")
    axis.show_now(40.5, grid.local(40))
    for px_per_slot in (0.2, 3.0, 70.0):
        image = QImage(900, axis.height(), QImage.Format.Format_RGB32)
        image.fill(0)
        axis.show_range(30, px_per_slot)
        painter = QPainter(image)
        axis.paint_axis(painter, 900)
        painter.end()
        colors = {image.pixelColor(x, y).name() for x in range(0, 900, 3) for y in range(axis.height())}
        assert LIGHT.window.lower() in colors
        assert len(colors) > 2, "something stands on it"
