"""The colors of the window and of paper: each theme is one `Palette`; a further one is one more value.

Heat, cool and action are from Paul Tol's high-contrast and medium-contrast schemes (SRON technical note
SRON/EPS/TN/09-002), the accent from Okabe and Ito ("Color universal design"). No phase and no state is told by color
alone.
"""

from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from string import Template

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from yardplan.paths import resource


class Theme(StrEnum):
    """Which palette the window shows."""

    SYSTEM = "system"
    LIGHT = "light"
    DARK = "dark"
    SUNLIGHT = "sunlight"


@dataclass(frozen=True)
class Palette:
    """Colors by what they are for, as ``#rrggbb``.

    Text roles stand on any of `window`, `base`, `alternate`, `night` and `past`; the other roles are shapes and lines.
    `heat_hatched` draws heat as lines instead of a fill, for paper.
    """

    window: str
    base: str
    alternate: str
    night: str
    past: str
    off_shift: str
    text: str
    dim_text: str
    action_text: str
    rule: str
    frame: str
    heat: str
    heat_edge: str
    cool: str
    handling: str
    work: str
    action: str
    accent: str
    on_accent: str
    chosen: str
    band: str
    band_edge: str
    likely: str
    battery: str
    charge: str
    heat_hatched: bool = False


LIGHT = Palette(
    window="#F1F2F3",
    base="#FFFFFF",
    alternate="#F7F8F9",
    night="#E4E8ED",
    past="#F3F1EC",
    off_shift="#EEF0F2",
    text="#1A1A1A",
    dim_text="#50575E",
    action_text="#8F2F42",
    rule="#CDD2D7",
    frame="#6B737B",
    heat="#DDAA33",
    heat_edge="#1A1A1A",
    cool="#004488",
    handling="#FFFFFF",
    work="#E3E7EB",
    action="#BB5566",
    accent="#0072B2",
    on_accent="#FFFFFF",
    chosen="#D6EAF5",
    band="#F3E2B5",
    band_edge="#B08A2E",
    likely="#7A5600",
    battery="#2F6B46",
    charge="#DCEBE1",
)

DARK = Palette(
    window="#2A2C2E",
    base="#1E1E1E",
    alternate="#232425",
    night="#15181C",
    past="#232019",
    off_shift="#292B2D",
    text="#EDEDED",
    dim_text="#AEB4BA",
    action_text="#F2A9B6",
    rule="#44484C",
    frame="#8F979F",
    heat="#EECC66",
    heat_edge="#FFF4CF",
    cool="#6699CC",
    handling="#1E1E1E",
    work="#3A3F44",
    action="#EE99AA",
    accent="#56B4E9",
    on_accent="#10222E",
    chosen="#1D3A4C",
    band="#4A3F20",
    band_edge="#9C8238",
    likely="#EECC66",
    battery="#7CC79A",
    charge="#22382B",
)

PAPER = Palette(
    window="#FFFFFF",
    base="#FFFFFF",
    alternate="#FFFFFF",
    night="#FFFFFF",
    past="#FFFFFF",
    off_shift="#FFFFFF",
    text="#000000",
    dim_text="#000000",
    action_text="#000000",
    rule="#9A9A9A",
    frame="#000000",
    heat="#000000",
    heat_edge="#000000",
    cool="#000000",
    handling="#FFFFFF",
    work="#FFFFFF",
    action="#000000",
    accent="#000000",
    on_accent="#FFFFFF",
    chosen="#FFFFFF",
    band="#FFFFFF",
    band_edge="#000000",
    likely="#000000",
    battery="#000000",
    charge="#FFFFFF",
    heat_hatched=True,
)


SUNLIGHT = replace(
    PAPER,
    rule="#767676",
    chosen="#E0E0E0",
    night="#F0F0F0",
    off_shift="#F0F0F0",
    past="#F8F8F8",
    band="#E4E4E4",
    charge="#E4E4E4",
)
"""Black on white for a screen under the open sky: nothing is told by tone, heat is hatched."""


def luminance(color: str) -> float:
    """Return the relative luminance of a color. Source: W3C, WCAG 2.2, "relative luminance"."""
    parts = (int(color[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, two: str) -> float:
    """Return the contrast ratio of two colors, 1 to 21. Source: W3C, WCAG 2.2, "contrast ratio"."""
    low, high = sorted((luminance(one), luminance(two)))
    return (high + 0.05) / (low + 0.05)


def palette_of(theme: Theme) -> Palette:
    """Return the palette of a theme; `Theme.SYSTEM` follows the desktop."""
    if theme is Theme.SYSTEM:
        dark = QGuiApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark
        return DARK if dark else LIGHT
    return {Theme.LIGHT: LIGHT, Theme.DARK: DARK, Theme.SUNLIGHT: SUNLIGHT}[theme]


def qt_palette(colors: Palette) -> QPalette:
    """Return the palette for the widgets around the board."""
    made = QPalette()
    roles = {
        QPalette.ColorRole.Window: colors.window,
        QPalette.ColorRole.WindowText: colors.text,
        QPalette.ColorRole.Base: colors.base,
        QPalette.ColorRole.AlternateBase: colors.alternate,
        QPalette.ColorRole.Text: colors.text,
        QPalette.ColorRole.PlaceholderText: colors.dim_text,
        QPalette.ColorRole.Button: colors.window,
        QPalette.ColorRole.ButtonText: colors.text,
        QPalette.ColorRole.BrightText: colors.action_text,
        QPalette.ColorRole.ToolTipBase: colors.base,
        QPalette.ColorRole.ToolTipText: colors.text,
        QPalette.ColorRole.Highlight: colors.accent,
        QPalette.ColorRole.HighlightedText: colors.on_accent,
        QPalette.ColorRole.Accent: colors.accent,
        QPalette.ColorRole.Link: colors.accent,
        QPalette.ColorRole.LinkVisited: colors.accent,
        QPalette.ColorRole.Light: colors.base,
        QPalette.ColorRole.Midlight: colors.alternate,
        QPalette.ColorRole.Mid: colors.rule,
        QPalette.ColorRole.Dark: colors.frame,
        QPalette.ColorRole.Shadow: colors.frame,
    }
    for role, color in roles.items():
        made.setColor(role, QColor(color))
    for role in (QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText, QPalette.ColorRole.WindowText):
        made.setColor(QPalette.ColorGroup.Disabled, role, QColor(colors.frame))
    return made


def dress(app: QApplication, colors: Palette) -> None:
    """Give all widgets the colors of a palette."""
    app.setPalette(qt_palette(colors))
    sheet = resource("styles/yardplan.qss").read_text(encoding="utf-8")
    app.setStyleSheet(Template(sheet).substitute(asdict(colors)))
