"""Every ink stands out from every ground that it is drawn on, in both themes.

Source: WCAG 2.2, definitions of relative luminance and contrast ratio; success criteria 1.4.3
(text, 4.5 to 1) and 1.4.11 (what tells a control or a state, 3 to 1).
"""

from __future__ import annotations

import pytest
from PySide6.QtGui import QColor, QImage, QPainter, QPalette
from PySide6.QtWidgets import QApplication, QWidget

from opnote.desk import theme
from opnote.desk.mark import LEVEL_WORDS, draw_mark, draw_side

R = QPalette.ColorRole
TEXT = 4.5
SHAPE = 3.0

DESK = ("Window", "AlternateBase", "Base", "Button")
LISTS = ("rail", "Window", "AlternateBase", "Midlight")
"""The grounds of a line in one of the lists: plain, chosen, under the mouse."""

PAIRS: dict[str, tuple[float, tuple[str, ...]]] = {
    "Text": (TEXT, (*DESK, *LISTS)),
    "WindowText": (TEXT, (*DESK, *LISTS)),
    "ButtonText": (TEXT, ("Button", "Window", "AlternateBase", "quiet_fill")),
    "PlaceholderText": (TEXT, (*DESK, *LISTS)),
    "faint": (TEXT, ("Window", "AlternateBase", "Base", "Button")),
    "BrightText": (TEXT, DESK),
    "Link": (TEXT, DESK),
    "LinkVisited": (TEXT, DESK),
    "HighlightedText": (TEXT, ("Highlight",)),
    "ToolTipText": (TEXT, ("ToolTipBase",)),
    "attention": (TEXT, DESK),
    "wrong": (TEXT, DESK),
    "Highlight": (SHAPE, (*DESK, *LISTS)),
    "Accent": (SHAPE, (*DESK, *LISTS)),
    "Dark": (SHAPE, (*DESK, *LISTS)),
}
"""What is drawn on what: an ink, its least contrast, and its grounds."""

LEFT_TO_THE_STYLE = {"Light", "Mid", "Shadow"}
"""Bevels of the style, which say nothing."""


def contrast(one: QColor, other: QColor) -> float:
    """Source: WCAG 2.2, contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: QColor) -> float:
    """Source: WCAG 2.2, relative luminance."""
    parts = [
        part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)
        for part in (colour.redF(), colour.greenF(), colour.blueF())
    ]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def colours(dark: bool) -> dict[str, QColor]:
    """Every colour of a theme by its name."""
    palette = theme.palette_for(dark)
    widget = QWidget()
    widget.setPalette(palette)
    inks = theme.inks(widget)
    found = {role.name: palette.color(role) for role in R if role is not R.NColorRoles}
    found |= {name: getattr(inks, name) for name in theme.Inks.__slots__}
    return found


def test_the_formula_gives_what_is_published() -> None:
    # WCAG 2.2: black on white is 21 to 1; #767676 on white is the lightest grey of 4.5 to 1.
    assert contrast(QColor("black"), QColor("white")) == pytest.approx(21)
    assert contrast(QColor("#767676"), QColor("white")) == pytest.approx(4.54, abs=0.01)
    assert contrast(QColor("#777777"), QColor("white")) < TEXT


@pytest.mark.parametrize("dark", [False, True])
def test_every_ink_stands_out_from_every_ground_it_is_drawn_on(
    qapp: QApplication, dark: bool
) -> None:
    known = colours(dark)
    too_faint = [
        f"{ink} on {ground}: {contrast(known[ink], known[ground]):.2f} of {least}"
        for ink, (least, grounds) in PAIRS.items()
        for ground in grounds
        if contrast(known[ink], known[ground]) < least
    ]
    assert not too_faint


@pytest.mark.parametrize("dark", [False, True])
def test_no_colour_of_the_theme_is_left_unchecked(qapp: QApplication, dark: bool) -> None:
    checked = set(PAIRS) | {ground for _, grounds in PAIRS.values() for ground in grounds}
    assert set(theme.Inks.__slots__) <= checked
    defined = {role.name for role in theme.defined_roles(dark)}
    assert defined - checked == LEFT_TO_THE_STYLE


@pytest.mark.parametrize("dark", [False, True])
def test_what_cannot_be_pressed_can_still_be_read(dark: bool) -> None:
    palette = theme.palette_for(dark)
    for ink in (R.Text, R.WindowText, R.ButtonText):
        faint = palette.color(QPalette.ColorGroup.Disabled, ink)
        for ground in (R.Window, R.AlternateBase, R.Base, R.Button):
            assert contrast(faint, palette.color(ground)) >= TEXT
        assert faint != palette.color(ink)


def test_the_paper_can_be_read_in_both_themes() -> None:
    for ground in (theme.PAPER, theme.PAPER_MARK):
        assert contrast(theme.PAPER_INK, ground) >= TEXT
        assert contrast(theme.PAPER_LINK, ground) >= TEXT
        assert contrast(theme.PAPER_RULE, ground) >= SHAPE


@pytest.mark.parametrize("colour", ["wrong", "attention"])
@pytest.mark.parametrize("dark", [False, True])
def test_the_cross_stands_out_in_its_mark(qapp: QApplication, dark: bool, colour: str) -> None:
    ground = colours(dark)[colour]
    assert contrast(theme.ink_on(ground), ground) >= TEXT


def _drawn(level: str) -> bytes:
    return _pixels(lambda painter, box: draw_mark(painter, box, level, QColor("black")))


def _pixels(draw: object) -> bytes:
    image = QImage(32, 32, QImage.Format.Format_Grayscale8)
    image.fill(QColor("white"))
    painter = QPainter(image)
    assert callable(draw)
    draw(painter, image.rect().toRectF())
    painter.end()
    return bytes(image.constBits())


def test_each_level_has_a_word_and_a_shape_of_its_own(qapp: QApplication) -> None:
    shapes = {level: _drawn(level) for level in LEVEL_WORDS}
    assert len(set(shapes.values())) == len(shapes) == len(set(LEVEL_WORDS.values()))


def test_left_and_right_differ_in_shape(qapp: QApplication) -> None:
    shapes = {
        side: _pixels(
            lambda painter, box, side=side: draw_side(
                painter, box.adjusted(0, 8, 0, -8), side, QColor("black"), filled=False
            )
        )
        for side in ("left", "right", "")
    }
    assert len(set(shapes.values())) == 3
