"""Usual practice in the window, and answering what is left of a page as normal."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QPushButton

from opnote.desk.window import Window
from tests.desk.conftest import CTRL, Eyes, Typist

Opener = Callable[[Path, str], Window]
SURGEON = "Miss Q. Larkspindle"


@pytest.fixture
def practices(tmp_path: Path) -> Path:
    """Where the window of the tests keeps usual practices."""
    return tmp_path / "usual_practice"


def choose(window: Window, words: str) -> None:
    (found,) = (a for a in window.findChildren(QAction) if a.text().replace("&", "") == words)
    found.trigger()


def press(window: Window, words: str) -> None:
    buttons = window.findChildren(QPushButton)
    next(b for b in buttons if b.isVisible() and b.text().startswith(words)).click()


def name_surgeon(window: Window, typist: Typist) -> None:
    window.go_to("team.surgeon")
    typist.type(SURGEON)


def test_a_practice_kept_from_a_case_fills_the_next_case_of_its_surgeon(
    window: Window, typist: Typist, eyes: Eyes, practices: Path
) -> None:
    finished = window.record()
    choose(window, "Keep as usual practice")
    (kept,) = practices.iterdir()
    assert json.loads(kept.read_text("utf-8"))["name"] == SURGEON
    assert str(kept) in eyes.texts()
    window.new_case()
    name_surgeon(window, typist)
    typist.press(Qt.Key.Key_U, CTRL)
    filled = window.record()
    assert filled.values["setup.position"] == finished.values["setup.position"]
    assert filled.is_unconfirmed("setup.position")
    assert "side" not in filled.values
    assert f"usual practice of {SURGEON}" in eyes.texts()


def test_filling_in_is_one_step_that_undo_takes_back(window: Window, typist: Typist) -> None:
    choose(window, "Keep as usual practice")
    window.new_case()
    name_surgeon(window, typist)
    before = window.record()
    typist.press(Qt.Key.Key_U, CTRL)
    assert window.record() != before
    typist.press(Qt.Key.Key_Z, CTRL)
    assert window.record() == before


def test_what_was_taken_back_is_not_filled_in_again_by_the_next_answer(
    window: Window, typist: Typist
) -> None:
    choose(window, "Keep as usual practice")
    window.new_case()
    name_surgeon(window, typist)
    typist.press(Qt.Key.Key_U, CTRL)
    typist.press(Qt.Key.Key_Z, CTRL)
    window.go_to("release.done")
    typist.type("y")
    assert window.record().values["release.done"] is True
    assert "release.site" not in window.record().values


def test_usual_answers_are_confirmed_page_by_page_after_a_look(
    window: Window, typist: Typist
) -> None:
    choose(window, "Keep as usual practice")
    window.new_case()
    name_surgeon(window, typist)
    typist.press(Qt.Key.Key_U, CTRL)
    window.show_page("setup")
    typist.press(Qt.Key.Key_K, CTRL)
    record = window.record()
    assert not record.is_unconfirmed("setup.position")
    assert not record.is_unconfirmed("setup.flow")
    assert record.is_unconfirmed("closure.portals")


def test_a_practice_kept_already_is_replaced_only_on_request(
    window: Window, eyes: Eyes, practices: Path
) -> None:
    choose(window, "Keep as usual practice")
    (kept,) = practices.iterdir()
    kept.write_text('{"format": 1, "name": "Miss Q. Larkspindle", "values": {}}', "utf-8")
    choose(window, "Keep as usual practice")
    assert "is kept already" in eyes.texts()
    assert json.loads(kept.read_text("utf-8"))["values"] == {}
    press(window, "Replace it")
    assert json.loads(kept.read_text("utf-8"))["values"]


def test_without_a_practice_the_way_to_one_is_said(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    before = window.record()
    typist.press(Qt.Key.Key_U, CTRL)
    assert "No usual practice is kept yet" in eyes.texts()
    assert window.record() == before


def test_a_practice_that_can_not_be_read_says_where_and_why(
    window: Window, typist: Typist, eyes: Eyes, practices: Path
) -> None:
    practices.mkdir()
    (practices / "broken.json").write_text("{", "utf-8")
    window.new_case()
    typist.press(Qt.Key.Key_U, CTRL)
    assert "broken.json is no JSON" in eyes.texts()
    assert not window.record().values


def test_a_case_that_nobody_began_is_offered_the_only_practice(window: Window, eyes: Eyes) -> None:
    choose(window, "Keep as usual practice")
    window.new_case()
    assert f"Fill in the usual practice of {SURGEON}?" in eyes.texts()
    press(window, "Fill it in")
    assert window.record().is_unconfirmed("setup.position")


def test_the_rest_of_the_page_is_normal_at_one_key(window: Window, typist: Typist) -> None:
    window.new_case()
    window.go_to("joint.medial")
    typist.type("a")
    assert window.record().values["joint.medial"] == "abnormal"
    typist.press(Qt.Key.Key_G, CTRL)
    values = window.record().values
    assert values["joint.medial"] == "abnormal"
    assert values["joint.lateral"] == values["joint.notch"] == "normal"
    assert "access.view" not in values
    assert "eua.lachman" not in values


def test_a_page_with_nothing_that_can_be_normal_does_not_offer_it(
    window: Window, eyes: Eyes
) -> None:
    window.new_case()
    window.show_page("setup")
    assert not eyes.controls("The rest is normal")
    window.show_page("eua")
    assert eyes.controls("The rest is normal")


def test_tab_comes_to_the_rest_is_normal_before_the_other_buttons(
    window: Window, eyes: Eyes, typist: Typist
) -> None:
    window.new_case()
    window.show_page("eua")
    heard: list[str] = []
    while "Next page" not in heard and len(heard) < 100:
        typist.press(Qt.Key.Key_Tab)
        heard.append(typist.focus().accessibleName())
    (normal,) = eyes.controls("The rest is normal")
    at = heard.index(normal.accessibleName())
    assert heard[at + 1 :] == ["Next page"]


def test_normal_is_not_said_against_what_is_recorded(
    window: Window, eyes: Eyes, typist: Typist
) -> None:
    window.show_page("joint")
    window.go_to("joint.medial")
    typist.press(Qt.Key.Key_Delete)
    assert "joint.medial" not in window.record().values
    typist.press(Qt.Key.Key_G, CTRL)
    # Demo case A has a tear of the medial meniscus.
    assert "joint.medial" not in window.record().values
    assert "Left open, as normal would contradict what is recorded: Medial" in eyes.texts()


def test_a_page_without_a_normal_answer_says_so(window: Window, eyes: Eyes, typist: Typist) -> None:
    window.show_page("handover")
    typist.press(Qt.Key.Key_G, CTRL)
    assert "is left to call normal" in eyes.texts()
    assert "one by one" not in eyes.texts()
    window.show_page("author")
    assert "is left to call normal" not in eyes.texts()
    window.new_case()
    window.show_page("handover")
    for _ in range(2):
        typist.press(Qt.Key.Key_G, CTRL)
    assert "To be answered one by one: Foot pulses" in eyes.texts()
