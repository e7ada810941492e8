"""What Undo says it takes back reads as one phrase with "Undo" before it."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QMenu, QPushButton

from opnote.desk.map_board import MapCanvas
from opnote.desk.window import Window
from tests.desk.conftest import ALT, CTRL, Eyes, Typist


def undo(window: Window) -> str:
    """The entry of the menu, which the button repeats."""
    (entry,) = {
        action.text()
        for menu in window.findChildren(QMenu)
        for action in menu.actions()
        if action.text().startswith("Undo")
    }
    buttons = [b for b in window.findChildren(QPushButton) if b.isVisible() and b.text() == entry]
    assert len(buttons) == 1
    return entry


def press(window: Window, words: str) -> None:
    next(
        b for b in window.findChildren(QAbstractButton) if b.isVisible() and b.text() == words
    ).click()


def test_an_answer_is_called_by_its_question(window: Window, typist: Typist) -> None:
    window.go_to("operation.unit")
    typist.type("x")
    assert undo(window) == "Undo Hospital"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("Add a tear", "Undo adding a tear"),
        ("Repeat the last tear", "Undo repeating the last tear"),
        ("Remove", "Undo removing Tear"),
    ],
)
def test_rows_are_added_repeated_and_removed(window: Window, words: str, said: str) -> None:
    window.show_page("tears")
    press(window, words)
    assert undo(window) == said


def test_no_rows_is_an_answer(window: Window) -> None:
    window.new_case()
    window.show_page("complications")
    none = next(
        b
        for b in window.findChildren(QAbstractButton)
        if b.isVisible() and b.accessibleName().startswith("Complications: ")
    )
    none.click()
    assert undo(window) == f"Undo the answer “{none.text()}”"


def test_a_plan_and_the_sheet_and_a_silence(window: Window, eyes: Eyes, typist: Typist) -> None:
    window.writing.give_sheet()
    press(window, "Record")
    assert undo(window) == "Undo giving the risk sheet"
    window.new_case()
    window.show_page("recovery_load")
    plan = eyes.control("Start from plan")
    assert isinstance(plan, QPushButton)
    plan.click()
    assert undo(window).startswith("Undo starting from ")
    typist.press(Qt.Key.Key_K, CTRL)
    assert undo(window).startswith("Undo confirming ")
    window.go_to("patient.name")
    typist.press(Qt.Key.Key_End)
    window.go_to("team.surgeon")
    typist.press(Qt.Key.Key_B, CTRL)
    typist.type("not known")
    assert undo(window) == "Undo why Surgeon is not recorded"


def test_a_tear_that_is_drawn_reads_as_one_phrase(window: Window, typist: Typist) -> None:
    window.new_case()
    window.go_to("side")
    typist.press(Qt.Key.Key_Right)
    typist.press(Qt.Key.Key_4, ALT)
    canvas = window.findChild(MapCanvas)
    assert isinstance(canvas, MapCanvas)
    places = [canvas.place_on_screen("medial", along, 3).toPoint() for along in (12, 40)]
    QTest.mousePress(canvas, Qt.MouseButton.LeftButton, pos=places[0])
    QTest.mouseMove(canvas, places[1])
    QTest.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=places[1])
    assert undo(window) == "Undo drawing a tear"
    typist.press(Qt.Key.Key_Right)
    assert undo(window) == "Undo drawing the rim of tear"


def test_stitches_that_are_drawn_read_as_one_phrase(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    typist.press(Qt.Key.Key_4, ALT)
    # Demo case A has no stitches of this technique: the first begins a row.
    technique = eyes.control("Stitches drawn: Outside-in")
    assert isinstance(technique, QAbstractButton)
    technique.click()
    canvas = window.findChild(MapCanvas)
    assert isinstance(canvas, MapCanvas)
    canvas.setFocus()
    while "a stitch at" not in eyes.texts():
        typist.press(Qt.Key.Key_Space)
    typist.press(Qt.Key.Key_Return)
    assert undo(window) == "Undo drawing stitches"
    typist.press(Qt.Key.Key_Return)
    assert undo(window) == "Undo drawing a stitch"
    typist.press(Qt.Key.Key_Delete)
    assert undo(window) == "Undo taking a stitch away"
