"""Help: one page, the keys as the window has them, and tips that can be put away."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu, QToolButton, QWidget
from pytestqt.qtbot import QtBot

from opnote.desk.help import HelpPage
from opnote.desk.tips import TIPS
from opnote.desk.window import Window
from tests.desk.conftest import Eyes, Typist

Opener = Callable[[Path, str], Window]


def page(window: Window, title: str) -> HelpPage | None:
    pages = [p for p in window.findChildren(HelpPage) if p.isVisible() and p.windowTitle() == title]
    return pages[-1] if pages else None


def test_f1_says_how_it_works_and_f1_again_shows_the_keys(
    window: Window, typist: Typist, cases: Path, qtbot: QtBot
) -> None:
    typist.press(Qt.Key.Key_F1)
    qtbot.waitUntil(lambda: page(window, "How it works") is not None, timeout=2000)
    help_page = page(window, "How it works")
    assert help_page is not None
    for word in ("Open", "Unusual", "Adverse", "Booked", "qualified clinicians", "Local policy"):
        assert word in help_page.words()
    assert str(cases) in help_page.words()
    assert window.spelling.about in help_page.words()
    help_page.activateWindow()
    qtbot.waitUntil(help_page.isActiveWindow, timeout=2000)
    QTest.keyClick(help_page, Qt.Key.Key_F1)
    qtbot.waitUntil(lambda: page(window, "Keys") is not None, timeout=2000)
    assert page(window, "How it works") is None


def test_help_fits_on_one_screen(window: Window) -> None:
    window.show_help()
    help_page = page(window, "How it works")
    assert help_page is not None
    assert help_page.height() <= 720
    bar = help_page.findChildren(QWidget, "qt_scrollarea_vcontainer")
    assert not [b for b in bar if b.isVisible()]


def test_every_key_of_the_menus_stands_on_the_page_of_keys(window: Window) -> None:
    window.show_keys()
    keys = page(window, "Keys")
    assert keys is not None
    words = keys.words()
    entries: list[QAction] = [
        action
        for menu in window.findChildren(QMenu)
        for action in menu.actions()
        if not action.shortcut().isEmpty()
    ]
    assert len(entries) > 15
    for action in entries:
        assert action.shortcut().toString() in words, action.text()
    assert "Find a field" in words
    assert "Inside a page" in words


def tip(eyes: Eyes) -> str:
    return next((line for line in eyes.texts().splitlines() if line.startswith("Tip: ")), "")


def test_each_tip_is_shown_once_and_one_at_a_time(window: Window, eyes: Eyes) -> None:
    seen = [tip(eyes)]
    for name in window.pages()[1 : len(TIPS) + 3]:
        window.show_page(name)
        seen.append(tip(eyes))
    shown = [words for words in seen if words]
    assert len(shown) == len(set(shown)) == len(TIPS)
    assert seen[0].startswith("Tip: Enter goes to the next question")
    assert seen[-1] == ""


def test_tips_that_were_put_away_stay_away(
    window: Window, open_window: Opener, eyes: Eyes, eyes_of: type[Eyes], cases: Path
) -> None:
    assert tip(eyes)
    (away,) = [
        b for b in window.findChildren(QToolButton) if b.isVisible() and b.text() == "Put tips away"
    ]
    before = QApplication.focusWidget()
    away.click()
    assert tip(eyes) == ""
    assert QApplication.focusWidget() is before
    window.show_page("tears")
    assert tip(eyes) == ""
    window.close()
    again = open_window(cases, "case_a")
    assert tip(eyes_of(again)) == ""
    again._tips.begin_again()
    assert tip(eyes_of(again))
