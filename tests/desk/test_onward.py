"""The next thing to do is one key away, and no key confirms what was not on screen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from opnote.desk.editor.options import BURST_MS
from opnote.desk.page import PageView
from opnote.desk.window import Window
from tests.desk.conftest import ALT, CTRL, Eyes, Typist

Opener = Callable[[Path, str], Window]
ENTER = Qt.Key.Key_Return
F8 = Qt.Key.Key_F8


@pytest.fixture
def new(window: Window) -> Window:
    """A window on a case that nobody has begun."""
    window.new_case()
    return window


@pytest.fixture
def leading(new: Window) -> Window:
    """The new case, where an answer leads on: that is switched on in the menu."""
    (lead,) = (a for a in new.findChildren(QAction) if a.text() == "&Go on after an answer")
    lead.trigger()
    return new


@pytest.fixture
def usual(window: Window, typist: Typist) -> Window:
    """A window on a new case into which the usual practice of case A's surgeon was filled."""
    (keep,) = (a for a in window.findChildren(QAction) if a.text() == "&Keep as usual practice")
    keep.trigger()
    window.new_case()
    typist.press(Qt.Key.Key_U, CTRL)
    return window


def in_hand(typist: Typist) -> str:
    question = typist.question()
    return "" if question is None else question.path


def page(window: Window) -> PageView:
    return next(p for p in window.findChildren(PageView) if p.isVisible())


def page_id(window: Window) -> str:
    return page(window).page.id


def wait_for(qtbot: QtBot, typist: Typist, path: str) -> None:
    qtbot.waitUntil(lambda: in_hand(typist) == path, timeout=2_000)


def test_enter_passes_what_may_be_left_out_and_tab_does_not(new: Window, typist: Typist) -> None:
    new.go_to("theatre.sign_in")
    typist.press(ENTER)
    assert in_hand(typist) == "theatre.time_out"
    new.go_to("theatre.sign_in")
    typist.press(Qt.Key.Key_Tab)
    assert in_hand(typist) == "theatre.sign_in_by"


def test_a_page_begins_with_what_must_be_answered(new: Window, typist: Typist) -> None:
    new.show_page("theatre")
    assert in_hand(typist) == "theatre.mark_side"
    typist.press(Qt.Key.Key_Left)
    new.show_page("anaesthesia")
    new.show_page("theatre")
    assert in_hand(typist) == "theatre.sign_in"


def test_enter_on_the_last_question_goes_to_the_next_page_with_work(
    window: Window, typist: Typist
) -> None:
    """Case A is answered in full but for what is cleared here."""
    for path in ("theatre.sign_out", "check.stable"):
        window.go_to(path)
        typist.press(Qt.Key.Key_A, CTRL)
        typist.press(Qt.Key.Key_Delete)
    window.go_to("theatre.sign_out")
    typist.press(ENTER)
    assert page_id(window) == "check"
    assert in_hand(typist) == "check.stable"


def test_enter_confirms_nothing(usual: Window, typist: Typist, eyes: Eyes) -> None:
    usual.go_to("setup.flow")
    typist.press(ENTER)
    assert typist.focus() is eyes.control("Confirm these")
    typist.press(ENTER)
    assert page_id(usual) == "setup"
    assert usual.record().is_unconfirmed("setup.flow")


def test_one_key_confirms_the_page_and_goes_on(usual: Window, typist: Typist) -> None:
    usual.show_page("setup")
    typist.press(F8)
    assert not usual.record().is_unconfirmed("setup.flow")
    assert page_id(usual) == "tourniquet"
    assert usual.record().is_unconfirmed("closure.portals")


@pytest.fixture
def cut_off(window: Window, typist: Typist, qtbot: QtBot) -> Window:
    """A page of a plan, looked at from end to end, then too low to show it, then filled in."""
    (keep,) = (a for a in window.findChildren(QAction) if a.text() == "&Keep as usual practice")
    keep.trigger()
    window.new_case()
    window.show_page("recovery_load")
    qtbot.wait(50)
    page(window).setFixedHeight(150)
    qtbot.wait(50)
    page(window).verticalScrollBar().setValue(0)
    typist.press(Qt.Key.Key_U, CTRL)
    return window


def test_the_key_shows_the_rest_of_the_page_before_it_confirms(
    cut_off: Window, typist: Typist
) -> None:
    view = page(cut_off)
    typist.press(F8)
    assert page(cut_off) is view
    assert view.verticalScrollBar().value() > 0
    assert cut_off.record().is_unconfirmed("plan.weight_bearing")
    presses = 1
    while page(cut_off) is view and presses < 20:
        typist.press(F8)
        presses += 1
    assert 2 < presses < 20
    assert not cut_off.record().is_unconfirmed("plan.motion_weeks")


def test_enter_shows_the_rest_of_the_page_before_it_leaves_it(
    cut_off: Window, typist: Typist
) -> None:
    view = page(cut_off)
    typist.press(ENTER)
    assert page(cut_off) is view
    assert view.verticalScrollBar().value() > 0


def test_what_was_filled_in_below_the_screen_is_unseen_though_its_question_was_seen(
    cut_off: Window, typist: Typist
) -> None:
    typist.press(Qt.Key.Key_K, CTRL)
    record = cut_off.record()
    assert not record.is_unconfirmed("plan.weight_bearing")
    assert record.is_unconfirmed("plan.motion_weeks")


def test_a_page_that_has_just_come_counts_only_what_it_shows(
    usual: Window, typist: Typist, qtbot: QtBot
) -> None:
    usual.show_page("recovery_care")
    view = page(usual)
    typist.press(F8)
    was_left = page(usual) is not view
    usual.show_page("recovery_care")
    qtbot.wait(50)
    view.verticalScrollBar().setValue(0)
    asked = {question.path for question in view.questions()}
    assert was_left is (asked == set(view.paths_on_screen()))


def test_the_key_does_not_pass_what_cannot_be_read(new: Window, typist: Typist, eyes: Eyes) -> None:
    new.go_to("patient.born")
    typist.type("31.2.1985")
    new.go_to("patient.name")
    typist.press(F8)
    assert page_id(new) == "patient"
    assert in_hand(typist) == "patient.born"
    assert "What stands in Born can't be read." in eyes.texts()


def test_a_key_that_is_held_down_does_not_run_through_the_pages(new: Window) -> None:
    (action,) = (a for a in new.findChildren(QAction) if a.shortcut().toString() == "F8")
    assert not action.autoRepeat()


def test_the_key_says_when_nothing_is_left(window: Window, typist: Typist, eyes: Eyes) -> None:
    window.show_page("check")
    typist.press(F8)
    assert page_id(window) == "check"
    assert "Nothing is left to answer or to confirm" in eyes.texts()


def test_the_button_names_the_key(usual: Window, eyes: Eyes) -> None:
    usual.show_page("setup")
    button = eyes.control("Confirm these")
    assert isinstance(button, QPushButton)
    assert button.text().endswith("(F8)")


def test_a_letter_that_is_corrected_answers_nothing_else(new: Window, typist: Typist) -> None:
    new.go_to("theatre.imaging_shown")
    typist.type("y")
    QTest.qWait(3 * BURST_MS)
    typist.type("n")
    QTest.qWait(3 * BURST_MS)
    assert new.record().values["theatre.imaging_shown"] is False
    assert "theatre.implants_checked" not in new.record().values
    typist.press(ENTER)
    assert in_hand(typist) == "theatre.implants_checked"


def test_an_enter_after_an_answer_that_led_on_passes_nothing(
    leading: Window, typist: Typist, qtbot: QtBot
) -> None:
    leading.go_to("theatre.imaging_shown")
    typist.type("y")
    wait_for(qtbot, typist, "theatre.implants_checked")
    typist.press(ENTER)
    assert in_hand(typist) == "theatre.implants_checked"
    typist.press(ENTER)
    assert in_hand(typist) == "theatre.incision"


def test_an_enter_after_an_answer_where_one_was_led_goes_on(
    leading: Window, typist: Typist, qtbot: QtBot
) -> None:
    leading.go_to("theatre.implants_checked")
    typist.type("y")
    wait_for(qtbot, typist, "theatre.incision")
    typist.type("8")
    typist.press(ENTER)
    assert in_hand(typist) == "theatre.end"


def test_a_time_leads_on_once_no_digit_can_follow(
    leading: Window, typist: Typist, qtbot: QtBot
) -> None:
    leading.go_to("theatre.sign_in")
    typist.type("101")
    QTest.qWait(3 * BURST_MS)
    assert in_hand(typist) == "theatre.sign_in"
    typist.type("5")
    wait_for(qtbot, typist, "theatre.time_out")
    typist.type("836")
    wait_for(qtbot, typist, "theatre.imaging_shown")
    values = leading.record().values
    assert f"{values['theatre.sign_in']:%H:%M}" == "10:15"
    assert f"{values['theatre.time_out']:%H:%M}" == "08:36"


def test_a_time_that_is_corrected_stays_in_hand(new: Window, typist: Typist) -> None:
    new.go_to("theatre.sign_in")
    typist.type("8:1")
    typist.press(Qt.Key.Key_Backspace)
    typist.type("2")
    typist.press(Qt.Key.Key_Backspace)
    typist.type("30")
    QTest.qWait(3 * BURST_MS)
    assert in_hand(typist) == "theatre.sign_in"
    assert f"{new.record().values['theatre.sign_in']:%H:%M}" == "08:30"


def test_an_answer_that_stands_alone_among_several_leads_on(
    leading: Window, typist: Typist, qtbot: QtBot
) -> None:
    leading.go_to("anaesthesia.blocks")
    typist.type("a")
    QTest.qWait(3 * BURST_MS)
    assert in_hand(typist) == "anaesthesia.blocks"
    typist.type("n")
    wait_for(qtbot, typist, "anaesthesia.started")
    assert leading.record().values["anaesthesia.blocks"] == ("none",)


def test_no_row_is_answered_by_its_letter(new: Window, typist: Typist, qtbot: QtBot) -> None:
    new.go_to("complications")
    typist.type("n")
    qtbot.waitUntil(lambda: new.record().rows.get("complications") == (), timeout=2_000)


def test_a_scan_where_a_row_would_be_added_answers_nothing(new: Window, typist: Typist) -> None:
    new.go_to("complications")
    before = new.record()
    QTest.keyClicks(typist.focus(), "0109n")
    QTest.qWait(3 * BURST_MS)
    assert new.record() == before


def test_enter_leads_from_row_to_row_before_another_is_added(
    window: Window, typist: Typist
) -> None:
    first, second = window.record().rows["stitches"]
    for row in (first, second):
        window.go_to(f"stitches.{row}.flexion")
        typist.press(Qt.Key.Key_A, CTRL)
        typist.press(Qt.Key.Key_Delete)
    window.go_to(f"stitches.{first}.flexion")
    typist.type("20")
    typist.press(ENTER)
    assert in_hand(typist) == f"stitches.{second}.flexion"
    typist.type("15")
    typist.press(ENTER)
    adding = typist.focus()
    assert isinstance(adding, QPushButton)
    assert adding.text().startswith("Add ")


def test_enter_comes_to_the_scan_that_would_answer_the_lot(new: Window, typist: Typist) -> None:
    new.go_to("devices")
    typist.press(Qt.Key.Key_Space)
    (row,) = new.record().rows["devices"]
    new.go_to(f"devices.{row}.unused")
    typist.press(ENTER)
    assert in_hand(typist) == f"devices.{row}.label"
    typist.press(ENTER)
    assert in_hand(typist) == f"devices.{row}.lot"


def test_the_key_goes_on_from_the_list_as_well(usual: Window, typist: Typist) -> None:
    usual.show_page("setup")
    typist.press(Qt.Key.Key_1, ALT)
    typist.press(F8)
    assert page_id(usual) == "tourniquet"
    assert page(usual).isAncestorOf(typist.focus())
