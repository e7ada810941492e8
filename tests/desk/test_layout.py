"""The window comes back as it was left, and as it usually is when asked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings, QSize, Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QMenu, QSplitter
from pytestqt.qtbot import QtBot

from opnote.desk import theme
from opnote.desk.window import Window
from tests.desk.conftest import NOW, Eyes, Typist

Start = Callable[[], Window]


@pytest.fixture
def start(
    cases: Path,
    tmp_path: Path,
    pack_cache: Path,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[Start]:
    """Starts the window as the program does, with the settings of the last time."""
    monkeypatch.setenv("OPNOTE_CACHE", str(pack_cache))
    font = QApplication.font()
    started: list[Window] = []

    def now() -> datetime:
        return NOW

    def begin() -> Window:
        QApplication.setFont(font)
        settings = QSettings(str(tmp_path / "window.ini"), QSettings.Format.IniFormat)
        window = Window(settings, tmp_path / "new", now)
        window.resize(QSize(1280, 720))
        window.restore()
        window.show()
        qtbot.waitExposed(window)
        with qtbot.waitSignal(window.case_shown, timeout=20_000):
            window.open_later(cases)
        qtbot.wait(50)  # until the panes have found their widths
        started.append(window)
        return window

    yield begin
    for window in started:
        window.close()
        window.deleteLater()
    QApplication.setFont(font)
    QApplication.processEvents()


def panes(window: Window) -> QSplitter:
    return next(
        s for s in window.findChildren(QSplitter) if s.orientation() is Qt.Orientation.Horizontal
    )


def choose(window: Window, words: str) -> None:
    """Choose an entry of a menu."""
    for menu in window.findChildren(QMenu):
        for action in menu.actions():
            if action.text().replace("&", "") == words:
                action.trigger()
                return
    raise AssertionError(f"no entry {words!r}")


def drag(split: QSplitter, handle: int, by: int) -> None:
    """Move the border between two parts, as the mouse does."""
    at = sum(split.sizes()[:handle]) + (handle - 1) * split.handleWidth()
    split.moveSplitter(at + by, handle)


def alike(sizes: list[int], others: list[int]) -> bool:
    """Equal but for what is lost where parts share a pixel."""
    return all(abs(one - other) <= 3 for one, other in zip(sizes, others, strict=True))


def test_case_page_and_document_are_those_of_the_last_time(
    start: Start, cases: Path, qtbot: QtBot
) -> None:
    window = start()
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    window.open_case(cases / "case_b.json")
    window.show_page("tears")
    window.show_document("letter")
    window.close()
    again = start()
    assert again.current_path() == cases / "case_b.json"
    assert again._workspace is not None
    assert again._workspace.case_pane.page == "tears"
    eyes = Eyes(again)
    assert eyes.control("Letter").isChecked()  # type: ignore[attr-defined]
    paper = again._workspace.paper_pane.paper
    qtbot.waitUntil(lambda: "letter after the operation" in paper.toPlainText(), timeout=5000)


def test_a_case_that_is_gone_does_not_keep_the_list_from_opening(start: Start, cases: Path) -> None:
    window = start()
    assert window.current_path() == cases / "case_a.json"
    window.close()
    (cases / "case_a.json").unlink()
    assert start().current_path() == cases / "case_b.json"


def test_widths_come_back_and_the_usual_ones_on_asking(start: Start, qtbot: QtBot) -> None:
    window = start()
    usual = panes(window).sizes()
    drag(panes(window), 1, -15)
    moved = panes(window).sizes()
    assert abs(usual[0] - moved[0] - 15) <= 2
    window.close()
    again = start()
    assert alike(panes(again).sizes(), moved)
    choose(again, "Usual layout")
    qtbot.waitUntil(lambda: alike(panes(again).sizes(), usual), timeout=2000)
    again.close()
    assert alike(panes(start()).sizes(), usual)


def test_the_size_of_text_comes_back_and_the_usual_one_on_asking(start: Start) -> None:
    window = start()
    usual = QApplication.font().pointSizeF()
    choose(window, "Larger text")
    larger = QApplication.font().pointSizeF()
    assert larger > usual
    window.close()
    again = start()
    assert QApplication.font().pointSizeF() == larger
    choose(again, "Usual layout")
    assert QApplication.font().pointSizeF() == usual
    again.close()
    start()
    assert QApplication.font().pointSizeF() == usual


def test_the_document_stays_when_the_text_grows(window: Window) -> None:
    window.show_document("risk_sheet")
    window.set_text_size(2)
    assert window._workspace is not None
    assert window._workspace.paper_pane.kind == "risk_sheet"
    window.set_text_size(1)


def test_the_room_given_to_the_list_stays_when_another_case_is_shown(
    window: Window, cases: Path, qtbot: QtBot
) -> None:
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    split = window._left.split
    drag(split, 1, 70)
    given = split.sizes()
    window.open_case(cases / "case_b.json")
    assert split.sizes() == given


def test_widths_that_were_arranged_stay_when_the_text_grows_and_shrinks(
    start: Start, qtbot: QtBot
) -> None:
    window = start()
    drag(panes(window), 2, -80)
    arranged = panes(window).sizes()
    choose(window, "Larger text")
    choose(window, "Smaller text")
    qtbot.wait(50)
    assert alike(panes(window).sizes(), arranged)


def test_what_is_half_filled_in_above_the_pages_stays_when_the_colours_change(
    window: Window, eyes: Eyes
) -> None:
    window.writing.give_sheet()
    box = eyes.control("Day on which the risk sheet was given")
    assert isinstance(box, QLineEdit)
    box.setText("7 mar")
    try:
        window.set_scheme(theme.Scheme.DARK)
        assert eyes.control("Day on which the risk sheet was given") is box
        assert box.text() == "7 mar"
        assert box.hasFocus()
    finally:
        window.set_scheme(theme.Scheme.LIGHT)


def test_the_question_in_hand_stays_so_when_the_colours_change(
    window: Window, typist: Typist
) -> None:
    window.go_to("closure.dressing")
    name = typist.focus().accessibleName()
    try:
        window.set_scheme(theme.Scheme.DARK)
        assert typist.focus().accessibleName() == name
    finally:
        window.set_scheme(theme.Scheme.LIGHT)
