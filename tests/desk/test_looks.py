"""What every page must offer: a name for each control, and room for each word."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QSize
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.subject_bar import ElidedLabel
from opnote.desk.window import Window

Opener = Callable[[Path, str], Window]
CASES = ("case_a", "case_b", "case_c")


def shown(window: Window) -> Iterator[QWidget]:
    QApplication.processEvents()
    for widget in window.findChildren(QWidget):
        if widget.isVisible():
            yield widget


@pytest.mark.slow
@pytest.mark.parametrize("stem", CASES)
def test_every_control_of_every_page_has_a_name(
    open_window: Opener, cases: Path, stem: str
) -> None:
    window = open_window(cases, stem)
    for page in window.pages():
        window.show_page(page)
        for widget in shown(window):
            if isinstance(widget, QLineEdit | QPlainTextEdit):
                assert widget.accessibleName(), f"a box on {page}"
            elif isinstance(widget, QAbstractButton):
                assert widget.accessibleName() or widget.text(), f"a button on {page}"


@pytest.mark.slow
@pytest.mark.parametrize("stem", CASES)
def test_no_word_is_cut_off_in_the_smallest_window(
    open_window: Opener, cases: Path, stem: str
) -> None:
    window = open_window(cases, stem)
    assert window.size() == QSize(1280, 720)
    for page in window.pages():
        window.show_page(page)
        for widget in shown(window):
            words = cut_off(widget)
            assert not words, f"{words!r} on {page}"


def cut_off(widget: QWidget) -> str:
    """The words of a label or button that has no room for them; "" when all is well."""
    if isinstance(widget, ElidedLabel) or not isinstance(widget, QLabel | QAbstractButton):
        return ""
    parent = widget.parentWidget()
    needed = widget.sizeHint()
    if isinstance(widget, QLabel) and widget.wordWrap():
        if widget.height() < widget.heightForWidth(widget.width()):
            return widget.text()
    elif widget.width() < min(needed.width(), widget.minimumSizeHint().width()):
        return widget.text()
    right = widget.mapTo(parent, QPoint(widget.width(), 0)).x() if parent is not None else 0
    if parent is not None and right > parent.width() + 1:
        return widget.text()
    return ""


def test_the_window_is_not_wider_than_a_small_screen(window: Window) -> None:
    for page in window.pages():
        window.show_page(page)
        assert window.width() == 1280
        assert window.minimumSizeHint().width() <= 1280


def test_large_text_and_dark_colours_keep_the_case_open(window: Window) -> None:
    before = window.record()
    window.set_text_size(4)
    window.set_scheme(theme.Scheme.DARK)
    assert window.record() == before
    assert window.pages()
    window.set_text_size(1)
    window.set_scheme(theme.Scheme.LIGHT)
