import numpy as np
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


SIGHTS = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
"""Matrices on linear RGB for eyes without one kind of cones. Source: Machado, Oliveira and Fernandes 2009, table for
severity 1.0 (from memory)."""


def linear_rgb(color: str) -> np.ndarray:
    parts = np.array([int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE 1976 L*a*b* of linear sRGB under D65. Source: IEC 61966-2-1 and CIE 15 (from memory)."""
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    xyz = to_xyz @ np.clip(rgb, 0, 1) / np.array([0.9505, 1.0, 1.0890])
    f = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_the_lab_of_known_colors():
    """White has L* 100 and no hue; the red primary of sRGB is about 53, 80, 67 (from memory)."""
    assert lab(linear_rgb("#FFFFFF")) == pytest.approx([100, 0, 0], abs=0.1)
    assert lab(linear_rgb("#FF0000")) == pytest.approx([53.2, 80.1, 67.2], abs=0.5)


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("colors", [LIGHT, DARK], ids=["light", "dark"])
def test_phases_are_told_apart_by_eyes_that_lack_a_kind_of_cones(colors, sight):
    """A distance (CIE 1976) of 2.3 is just seen (Mahy and others 1994, from memory); ten times that is asked for."""
    matrix = np.array(SIGHTS[sight])
    assert matrix.sum(axis=1) == pytest.approx([1, 1, 1], abs=1e-5), "gray stays gray"
    seen = [lab(matrix @ linear_rgb(color)) for color in (colors.heat, colors.cool, colors.action, colors.base)]
    far = [np.linalg.norm(one - two) for ix, one in enumerate(seen) for two in seen[ix + 1 :]]
    assert min(far) >= 21


def test_where_all_is_black_heat_is_hatched():
    """In the theme for sunlight and on paper no phase is told by color at all."""
    for colors in (SUNLIGHT, PAPER):
        assert colors.heat == colors.cool
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
