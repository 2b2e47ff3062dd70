import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QPalette

from yardplan.ui.palette import DARK, LIGHT, PAPER, SUNLIGHT, Theme, contrast, palette_of, qt_palette

THEMES = pytest.mark.parametrize("colors", [LIGHT, DARK, SUNLIGHT], ids=["light", "dark", "sunlight"])


@pytest.mark.parametrize(
    ("one", "two", "ratio"),
    [
        ("#000000", "#FFFFFF", 21.0),  # Source: W3C, WCAG 2.2, definition of contrast ratio: ratios range from 1 to 21
        ("#FFFFFF", "#FFFFFF", 1.0),
        ("#767676", "#FFFFFF", 4.54),  # from memory: the lightest gray that passes 4.5 on white
        ("#DDAA33", "#FFFFFF", 2.1),  # the heat color, measured apart from this code
        ("#004488", "#FFFFFF", 9.6),  # the cool color, likewise
    ],
)
def test_contrast_agrees_with_known_ratios(one, two, ratio):
    assert contrast(one, two) == pytest.approx(ratio, abs=0.06)
    assert contrast(one, two) == contrast(two, one)


@THEMES
def test_text_can_be_read_on_everything_it_stands_on(colors):
    """Source: W3C, WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1."""
    grounds = (colors.window, colors.base, colors.alternate, colors.night, colors.past, colors.off_shift, colors.chosen)
    for ground in (*grounds, colors.work, colors.handling):
        assert contrast(colors.text, ground) >= 4.5
    for ground in grounds:
        assert contrast(colors.dim_text, ground) >= 4.5
        assert contrast(colors.action_text, ground) >= 4.5
    assert contrast(colors.on_accent, colors.accent) >= 4.5
    assert contrast(colors.accent, colors.base) >= 4.5, "links"
    for behind in (colors.band, colors.charge):
        assert contrast(colors.text, behind) >= 4.5


@THEMES
def test_shapes_stand_out_from_what_they_lie_on(colors):
    """Source: W3C, WCAG 2.2, success criterion 1.4.11: at least 3 to 1."""
    for ground in (colors.base, colors.night, colors.past):
        for shape in (colors.heat_edge, colors.cool, colors.frame, colors.accent, colors.battery, colors.action):
            assert contrast(shape, ground) >= 3
        assert contrast(colors.likely, ground) >= 3
    assert contrast(colors.likely, colors.band) >= 3
    assert contrast(colors.battery, colors.charge) >= 3
    assert contrast(colors.frame, colors.work) >= 3
    assert contrast(colors.frame, colors.off_shift) >= 3


def test_in_sunlight_all_text_is_at_least_seven_to_one():
    """Source: W3C, WCAG 2.2, success criterion 1.4.6 (AAA)."""
    colors = SUNLIGHT
    for ground in (
        colors.window, colors.base, colors.alternate, colors.night, colors.past, colors.off_shift, colors.chosen,
        colors.work, colors.handling, colors.band, colors.charge,
    ):  # fmt: skip
        for text in (colors.text, colors.dim_text, colors.action_text):
            assert contrast(text, ground) >= 7
    assert contrast(colors.on_accent, colors.accent) >= 7
    assert colors.heat_hatched


def test_paper_is_black_and_gray_on_white():
    for value in vars(PAPER).values():
        if isinstance(value, str):
            assert value[1:3] == value[3:5] == value[5:7]
    assert PAPER.heat_hatched


@THEMES
def test_widgets_take_the_same_colors(colors, qapp):
    made = qt_palette(colors)
    for text, ground in (
        (QPalette.ColorRole.WindowText, QPalette.ColorRole.Window),
        (QPalette.ColorRole.Text, QPalette.ColorRole.Base),
        (QPalette.ColorRole.Text, QPalette.ColorRole.AlternateBase),
        (QPalette.ColorRole.ButtonText, QPalette.ColorRole.Button),
        (QPalette.ColorRole.HighlightedText, QPalette.ColorRole.Highlight),
        (QPalette.ColorRole.PlaceholderText, QPalette.ColorRole.Base),
        (QPalette.ColorRole.ToolTipText, QPalette.ColorRole.ToolTipBase),
    ):
        assert contrast(made.color(text).name(), made.color(ground).name()) >= 4.5


def test_a_theme_of_ones_own_does_not_ask_the_desktop(qapp):
    assert palette_of(Theme.LIGHT) is LIGHT
    assert palette_of(Theme.DARK) is DARK
    assert palette_of(Theme.SUNLIGHT) is SUNLIGHT
    dark = QGuiApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark
    assert palette_of(Theme.SYSTEM) is (DARK if dark else LIGHT)
