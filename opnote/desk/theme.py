"""The colours, by role and for light and dark, and the measures that follow the text size."""

from __future__ import annotations

import enum
from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QGuiApplication, QPalette
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QWidget

_ROLE: Final = QPalette.ColorRole


class Scheme(enum.StrEnum):
    """Light, dark, or whatever the system asks for."""

    SYSTEM = "system"
    LIGHT = "light"
    DARK = "dark"


@dataclass(frozen=True, slots=True)
class Inks:
    """What a palette has no role for."""

    attention: QColor
    wrong: QColor
    rail: QColor
    quiet_fill: QColor
    faint: QColor


PAPER: Final = QColor("#ffffff")
PAPER_INK: Final = QColor("#1d1916")
PAPER_RULE: Final = QColor("#857d74")
PAPER_MARK: Final = QColor("#f3e3b8")
PAPER_LINK: Final = QColor("#5b2a4e")
PICTURE_SHADE: Final = QColor(0, 0, 0, 165)
"""Over what is not marked of a picture."""

_LIGHT: Final = {
    _ROLE.Window: "#e6e0d6",
    _ROLE.AlternateBase: "#f5f2ec",
    _ROLE.Base: "#fffefb",
    _ROLE.Button: "#fffefb",
    _ROLE.Text: "#29231f",
    _ROLE.WindowText: "#29231f",
    _ROLE.ButtonText: "#29231f",
    _ROLE.PlaceholderText: "#625850",
    _ROLE.BrightText: "#9b2c1f",
    _ROLE.Highlight: "#5b2a4e",
    _ROLE.Accent: "#5b2a4e",
    _ROLE.HighlightedText: "#fffefb",
    _ROLE.Link: "#5b2a4e",
    _ROLE.LinkVisited: "#5b2a4e",
    _ROLE.ToolTipBase: "#29231f",
    _ROLE.ToolTipText: "#f5f2ec",
    _ROLE.Light: "#ffffff",
    _ROLE.Midlight: "#ded7cb",
    _ROLE.Mid: "#b9b0a3",
    _ROLE.Dark: "#796f64",
    _ROLE.Shadow: "#4a423b",
}
_DARK: Final = {
    _ROLE.Window: "#211d1a",
    _ROLE.AlternateBase: "#2b2623",
    _ROLE.Base: "#37312d",
    _ROLE.Button: "#37312d",
    _ROLE.Text: "#efe9e1",
    _ROLE.WindowText: "#efe9e1",
    _ROLE.ButtonText: "#efe9e1",
    _ROLE.PlaceholderText: "#b3a99d",
    _ROLE.BrightText: "#f59a8b",
    _ROLE.Highlight: "#d39cc3",
    _ROLE.Accent: "#d39cc3",
    _ROLE.HighlightedText: "#231a20",
    _ROLE.Link: "#dcaccd",
    _ROLE.LinkVisited: "#dcaccd",
    _ROLE.ToolTipBase: "#efe9e1",
    _ROLE.ToolTipText: "#29231f",
    _ROLE.Light: "#4b443f",
    _ROLE.Midlight: "#3d3733",
    _ROLE.Mid: "#5f574f",
    _ROLE.Dark: "#968c81",
    _ROLE.Shadow: "#0f0d0c",
}
_LIGHT_INKS: Final = Inks(
    attention=QColor("#815100"),
    wrong=QColor("#9b2c1f"),
    rail=QColor("#dad2c5"),
    quiet_fill=QColor("#e5d8df"),
    faint=QColor("#6a6057"),
)
_DARK_INKS: Final = Inks(
    attention=QColor("#e6b455"),
    wrong=QColor("#f59a8b"),
    rail=QColor("#1a1715"),
    quiet_fill=QColor("#4a3a46"),
    faint=QColor("#a89d92"),
)


def palette_for(dark: bool) -> QPalette:
    """The window's palette."""
    palette = QPalette()
    colours = _DARK if dark else _LIGHT
    for role, colour in colours.items():
        palette.setColor(role, QColor(colour))
    # What can't be pressed now still says something: "Saved", or what would be undone.
    faint = (_DARK_INKS if dark else _LIGHT_INKS).faint
    for role in (_ROLE.Text, _ROLE.WindowText, _ROLE.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, role, faint)
    return palette


def defined_roles(dark: bool) -> Collection[QPalette.ColorRole]:
    """The roles to which a theme gives a colour of its own."""
    return (_DARK if dark else _LIGHT).keys()


def ink_on(ground: QColor) -> QColor:
    """White or nearly black, whichever stands out from a ground."""
    # Halfway between black and white as the eye sees it; common practice.
    return PAPER if ground.lightness() < 140 else PAPER_INK


def inks(widget: QWidget) -> Inks:
    """The inks that go with a widget's palette."""
    return _DARK_INKS if is_dark(widget.palette()) else _LIGHT_INKS


def is_dark(palette: QPalette) -> bool:
    """True when the text is lighter than what it stands on."""
    return palette.windowText().color().lightness() > palette.window().color().lightness()


def apply_scheme(scheme: Scheme) -> None:
    """Give the application its colours."""
    dark = scheme is Scheme.DARK or (
        scheme is Scheme.SYSTEM
        and QGuiApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark
    )
    QApplication.setPalette(palette_for(dark))


def motion_is_reduced() -> bool:
    """True when the system asks programs to hold still."""
    # Asked by name, because Qt knows the wish of the system only from 6.12 on.
    accessibility = getattr(QGuiApplication.styleHints(), "accessibility", None)
    wanted = getattr(accessibility() if accessibility else None, "motionPreference", None)
    return wanted is not None and wanted().name == "ReducedMotion"


def font(factor: float, bold: bool = False) -> QFont:
    """The font of the window, some steps larger or smaller."""
    return scaled_font(QApplication.font(), factor, bold)


def scaled_font(font: QFont, factor: float, bold: bool = False) -> QFont:
    """A font some steps larger or smaller than another."""
    changed = QFont(font)
    changed.setPointSizeF(font.pointSizeF() * factor)
    changed.setBold(bold)
    return changed


def slim(area: QAbstractScrollArea) -> None:
    """Give a scroll area a narrow bar without arrows."""
    palette = area.palette()
    bar = area.verticalScrollBar()
    bar.setStyleSheet(
        "QScrollBar:vertical { width: 10px; background: transparent; margin: 0; }"
        "QScrollBar::handle:vertical { min-height: 28px; border-radius: 3px; margin: 2px;"
        f" background: {palette.color(_ROLE.Dark).name()}; }}"
        "QScrollBar::add-line, QScrollBar::sub-line { height: 0; }"
        "QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }"
    )


def columns(widget: QWidget, characters: float) -> int:
    """The width of so many characters in a widget's font. Units: result in pixels."""
    return round(QFontMetrics(widget.font()).averageCharWidth() * characters)


def line_height(widget: QWidget) -> int:
    """The height of a box for one line of text. Units: result in pixels."""
    return QFontMetrics(widget.font()).height() + 12
