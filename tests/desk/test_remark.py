"""A page's remark: out of the way until wanted, and read like every other text."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPlainTextEdit, QToolButton
from pytestqt.qtbot import QtBot

from opnote.desk.window import Window
from tests.desk.conftest import CTRL, Eyes, Typist


def add_buttons(window: Window) -> list[QToolButton]:
    return [
        b for b in window.findChildren(QToolButton) if b.isVisible() and b.text() == "Add a remark"
    ]


def test_each_page_offers_a_remark_and_shows_no_empty_box(window: Window) -> None:
    for page in window.pages():
        window.show_page(page)
        assert len(add_buttons(window)) == 1, page
        boxes = [b for b in window.findChildren(QPlainTextEdit) if b.isVisible()]
        assert not [b for b in boxes if b.accessibleName().startswith("Remark")], page


def test_a_remark_is_said_by_the_note_and_comes_back_with_the_case(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    window.show_page("tears")
    typist.press(Qt.Key.Key_R, CTRL)
    assert typist.focus() is eyes.control("Remark on the tears")
    assert not add_buttons(window)
    typist.type("Frayed at its free edge")
    assert window.record().values["remark.tears"] == "Frayed at its free edge"
    assert "Remark on the tears: Frayed at its free edge" in note(window)
    window.show_page("stitches")
    assert len(add_buttons(window)) == 1
    window.show_page("tears")
    assert eyes.control("Remark on the tears").isVisible()


def test_the_side_guard_reads_a_remark_with_the_next_key(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    side = str(window.record().values["side"])
    other = "right" if side == "left" else "left"
    words = f"Remark on the tears seems to speak of the other side: {other}"
    window.show_page("tears")
    typist.press(Qt.Key.Key_R, CTRL)
    typist.type(f"Seen in the {other} kne")
    assert "to explain" not in eyes.texts()
    typist.type("e")
    assert "Still open: 1 to explain" in eyes.texts()
    typist.press(Qt.Key.Key_Return, CTRL)
    assert words in eyes.texts()


def test_a_found_remark_is_unfolded(window: Window, typist: Typist, eyes: Eyes) -> None:
    window.go_to("remark.theatre")
    assert typist.focus() is eyes.control("Remark on theatre")


def note(window: Window) -> str:
    workspace = window._workspace
    assert workspace is not None
    return workspace.paper_pane.paper.toPlainText()


def test_a_remark_that_is_emptied_keeps_its_box_for_what_is_typed_next(
    window: Window, cases: Path, typist: Typist, eyes: Eyes, qtbot: QtBot
) -> None:
    window.go_to("remark.tears")
    typist.type("Frayed")
    for case in ("case_b.json", "case_a.json"):
        with qtbot.waitSignal(window.case_shown, timeout=10_000):
            window.open_case(cases / case)
    window.show_page("tears")
    assert window.record().values["remark.tears"] == "Frayed"
    # As by a click: nothing was looked for.
    eyes.control("Remark on the tears").setFocus()
    typist.press(Qt.Key.Key_A, CTRL)
    typist.press(Qt.Key.Key_Backspace)
    assert "remark.tears" not in window.record().values
    assert typist.focus() is eyes.control("Remark on the tears")
    typist.type("Degenerate")
    assert window.record().values["remark.tears"] == "Degenerate"
