"""What is clipped, lies over something else, sticks out or scrolls sideways is found.

The check goes through every page, dialog and menu when the window is drawn (opnote.desk.screens).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QLabel, QLineEdit, QPushButton, QScrollArea, QWidget
from pytestqt.qtbot import QtBot

from opnote.desk.floats import FLOATS
from opnote.desk.layout_check import flaws_in
from opnote.desk.stage import lay_out
from opnote.desk.state_case import HALF_FILLED, write_made_cases
from opnote.desk.subject_bar import ElidedLabel
from opnote.desk.window import Window
from opnote.pack.files import shipped_root

Opener = Callable[[Path, str], Window]


@pytest.fixture
def all_cases(cases: Path) -> Path:
    """The demo cases, and those made from them: empty, half filled, both menisci torn."""
    write_made_cases(shipped_root() / "forms" / "samples", cases)
    return cases


def test_the_half_filled_case_contradicts_itself_twice(
    open_window: Opener, all_cases: Path
) -> None:
    window = open_window(all_cases, HALF_FILLED)
    labels = [label for label in window.findChildren(QLabel) if label.isVisible()]
    assert any("2 contradictions" in label.text() for label in labels)


def test_very_long_answers_are_whole_somewhere(
    open_window: Opener, cases: Path, qtbot: QtBot
) -> None:
    window = open_window(cases, "case_a")
    window.go_to("patient.name")
    long = "Quillfeather-Thimblewick-Underbough, " * 4
    box = window.focusWidget()
    assert isinstance(box, QLineEdit)
    box.clear()
    box.insert(long)
    lay_out()
    assert not flaws_in(window)
    assert box.toolTip() == long


# The check can fail


@pytest.fixture
def desk(qtbot: QtBot) -> QWidget:
    """An empty window of 300 by 200 pixels."""
    widget = QWidget()
    qtbot.addWidget(widget)
    widget.resize(300, 200)
    widget.show()
    return widget


def kinds(window: QWidget) -> list[str]:
    return [flaw.kind for flaw in flaws_in(window)]


def put(widget: QWidget, x: int, y: int, width: int, height: int) -> None:
    widget.setGeometry(x, y, width, height)
    widget.show()


def test_a_word_with_room_passes(desk: QWidget) -> None:
    put(QLabel("Tear", desk), 10, 10, 200, 30)
    assert kinds(desk) == []


@pytest.mark.parametrize("made", [QLabel, QPushButton])
def test_a_word_without_room_is_found(
    desk: QWidget, made: Callable[[str, QWidget], QWidget]
) -> None:
    put(made("Ligaments, nerves, vessels", desk), 10, 10, 60, 30)
    assert "clipped" in kinds(desk)


def test_a_word_without_height_is_found(desk: QWidget) -> None:
    put(QLabel("Tear", desk), 10, 10, 200, 6)
    assert kinds(desk) == ["clipped"]


def test_two_lines_need_the_room_of_both(desk: QWidget) -> None:
    label = QLabel("Changed after\nsigning", desk)
    put(label, 10, 10, 100, 40)
    assert kinds(desk) == []
    put(label, 10, 10, 100, 20)
    assert kinds(desk) == ["clipped"]
    put(label, 10, 10, 50, 40)
    assert kinds(desk) == ["clipped"]


def test_wrapped_words_without_height_are_found(desk: QWidget) -> None:
    label = QLabel("The operation ended before it began. Correct one of the times.", desk)
    label.setWordWrap(True)
    put(label, 10, 10, 100, 20)
    assert kinds(desk) == ["clipped"]
    put(label, 10, 10, 100, 150)
    assert kinds(desk) == []


def test_a_text_longer_than_its_box_must_be_whole_in_its_tool_tip(desk: QWidget) -> None:
    box = QLineEdit("one all-inside device misfired; the device was kept", desk)
    put(box, 10, 10, 80, 30)
    assert kinds(desk) == ["clipped"]
    box.setToolTip(box.text())
    assert kinds(desk) == []


def test_elided_words_must_be_whole_for_eye_and_ear(desk: QWidget) -> None:
    label = ElidedLabel(desk)
    label.say("IKDC: A up to 2 mm, B 3 to 5, C 6 to 10, D over 10")
    put(label, 10, 10, 80, 30)
    assert kinds(desk) == []
    label.setAccessibleName("")
    assert kinds(desk) == ["clipped"]


def test_widgets_over_one_another_are_found(desk: QWidget) -> None:
    put(QPushButton("Back", desk), 10, 10, 100, 30)
    other = QPushButton("On", desk)
    put(other, 60, 20, 100, 30)
    assert kinds(desk) == ["overlaps"]
    other.setProperty(FLOATS, True)
    assert kinds(desk) == []


def test_a_widget_beyond_its_parent_is_found(desk: QWidget) -> None:
    put(QPushButton("Back", desk), 250, 10, 100, 30)
    assert kinds(desk) == ["sticks out"]


def test_inside_a_scroll_area_only_what_is_too_wide_is_found(desk: QWidget) -> None:
    area = QScrollArea(desk)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    put(area, 0, 0, 200, 100)
    sheet = QWidget()
    area.setWidget(sheet)
    sheet.resize(150, 900)
    sheet.show()
    assert kinds(desk) == []
    sheet.resize(400, 900)
    assert kinds(desk) == ["sideways"]
