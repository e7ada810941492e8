"""Entering a case: by the keyboard alone, and without anything jumping or getting lost."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QAction, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from opnote.desk.editor.options import BURST_MS
from opnote.desk.window import Window
from opnote.pack.cache import cached_pack
from opnote.pack.case import read_case
from opnote.record import UNSET, Quantity
from opnote.record.record import Origin
from tests.desk.conftest import ALT, CTRL, SAMPLES, Eyes, Typist


def focused_box() -> QLineEdit:
    box = QApplication.focusWidget()
    assert isinstance(box, QLineEdit)
    return box


@pytest.mark.slow
@pytest.mark.parametrize("stem", ["case_a", "case_c"])
def test_a_whole_case_is_entered_by_the_keyboard_alone(
    window: Window, typist: Typist, stem: str
) -> None:
    text = (SAMPLES / f"{stem}.json").read_text(encoding="utf-8")
    target, _ = read_case(text, stem, cached_pack)
    window.new_case()
    typist.enter(target)
    entered = window.record()
    assert dict(entered.rows) == dict(target.rows)
    assert dict(entered.values) == dict(target.values)


def test_the_first_question_of_a_new_case_has_the_focus(window: Window, eyes: Eyes) -> None:
    window.new_case()
    assert QApplication.focusWidget() is eyes.control("Name, required")


def test_the_caret_stays_when_a_text_is_corrected_in_the_middle(window: Window) -> None:
    window.go_to("operation.unit")
    box = focused_box()
    box.setText("")
    QTest.keyClicks(box, "Nonsuch Vale")
    box.setCursorPosition(3)
    QTest.keyClicks(box, "eee")
    QTest.keyClick(box, Qt.Key.Key_Backspace)
    assert box.text() == "Noneesuch Vale"
    assert box.cursorPosition() == 5
    assert window.record().value("operation.unit") == "Noneesuch Vale"


def test_a_wheel_changes_nothing(window: Window) -> None:
    before = window.record()
    for page in ("patient", "tourniquet", "recovery_load"):
        window.show_page(page)
        for widget in window.findChildren(QWidget):
            if widget.isVisible() and isinstance(widget, QLineEdit | QAbstractButton):
                where = QPointF(4, 4)
                event = QWheelEvent(
                    where,
                    widget.mapToGlobal(where),
                    QPoint(0, -120),
                    QPoint(0, -120),
                    Qt.MouseButton.NoButton,
                    Qt.KeyboardModifier.NoModifier,
                    Qt.ScrollPhase.NoScrollPhase,
                    False,
                )
                QApplication.sendEvent(widget, event)
    assert window.record() == before


@pytest.mark.parametrize("text", ["2.5", "2,5"])
def test_comma_and_dot_are_the_same(window: Window, text: str) -> None:
    window.go_to("tears.r2.rim_mm")
    focused_box().selectAll()
    QTest.keyClicks(focused_box(), text)
    assert window.record().value("tears.r2.rim_mm") == Quantity(2.5, "mm")


def test_a_wrong_number_stays_and_says_so(window: Window, eyes: Eyes) -> None:
    window.go_to("tears.r2.length_mm")
    box = focused_box()
    box.selectAll()
    QTest.keyClicks(box, "38x")
    assert box.text() == "38x"
    assert "not a number" in eyes.texts()
    assert "not a number" in box.accessibleDescription()
    assert window.record().value("tears.r2.length_mm") is UNSET
    window.show_page("patient")
    window.show_page("tears")
    assert box.text() == "38x"


def test_a_wrong_number_is_still_there_after_a_look_at_another_case(
    window: Window, cases: Path, qtbot: object
) -> None:
    window.go_to("operation.date")
    focused_box().selectAll()
    QTest.keyClicks(focused_box(), "31/2")
    QApplication.processEvents()
    window.new_case()
    window.open_case(cases / "case_a.json")
    window.go_to("operation.date")
    assert focused_box().text() == "31/2"


def test_a_number_out_of_range_is_not_recorded(window: Window, eyes: Eyes) -> None:
    window.go_to("tears.r2.length_mm")
    focused_box().selectAll()
    QTest.keyClicks(focused_box(), "500")
    assert "at most" in eyes.texts()
    assert window.record().value("tears.r2.length_mm") is UNSET


def test_questions_that_appear_do_not_move_the_focus(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    window.new_case()
    window.show_page("tourniquet")
    first = typist.focus()
    assert not eyes.controls("Cuff")
    typist.type("y")
    assert eyes.controls("Cuff")
    assert QApplication.focusWidget() is first


def test_a_letter_chooses_and_enter_goes_on(window: Window, typist: Typist, eyes: Eyes) -> None:
    window.new_case()
    window.go_to("operation.urgency")
    typist.type("x")
    assert window.record().value("operation.urgency") == "expedited"
    assert eyes.control("Urgency, required: Expedited").hasFocus()
    typist.press(Qt.Key.Key_Return)
    assert eyes.control("Operated side, required: Left").hasFocus()


def test_a_burst_of_keys_chooses_nothing(window: Window, typist: Typist) -> None:
    window.new_case()
    window.go_to("operation.urgency")
    before = window.record()
    for burst in ("010501234567", "x0105", "elective", " 0", "xe"):
        QTest.keyClicks(typist.focus(), burst)
        assert window.record() == before, burst
        QTest.qWait(BURST_MS + 5)
    typist.type("x")
    assert window.record().value("operation.urgency") == "expedited"
    typist.type("e")
    assert window.record().value("operation.urgency") == "elective"


def test_a_burst_leaves_an_answer_as_it_was_with_its_origin(window: Window, typist: Typist) -> None:
    window.new_case()
    window.show_page("recovery_load")
    QTest.mouseClick(Eyes(window).control("Start from plan P2"), Qt.MouseButton.LeftButton)
    window.go_to("plan.weight_bearing")
    before = window.record()
    assert before.is_unconfirmed("plan.weight_bearing")
    for key in (Qt.Key.Key_N, Qt.Key.Key_Shift, Qt.Key.Key_F, Qt.Key.Key_T, Qt.Key.Key_P):
        QTest.keyClick(typist.focus(), key)
    assert window.record() == before
    assert window.record().is_unconfirmed("plan.weight_bearing")


def test_a_burst_ticks_nothing(window: Window, typist: Typist) -> None:
    window.new_case()
    window.go_to("health.allergies")
    typist.type("p")
    ticked = window.record()
    QTest.qWait(BURST_MS + 5)
    QTest.keyClicks(typist.focus(), "latex")
    assert window.record() == ticked


def test_no_letter_chooses_a_side(window: Window, typist: Typist) -> None:
    window.new_case()
    window.go_to("side")
    typist.type("lr")
    assert window.record().value("side") is UNSET
    typist.press(Qt.Key.Key_Right)
    assert window.record().value("side") == "right"


def test_delete_takes_an_answer_back(window: Window, typist: Typist) -> None:
    window.go_to("side")
    typist.press(Qt.Key.Key_Delete)
    assert window.record().value("side") is UNSET


def test_an_exclusive_answer_takes_the_others_away(window: Window, typist: Typist) -> None:
    window.new_case()
    window.go_to("health.allergies")
    typist.type("p")
    first = window.record().value("health.allergies")
    assert first != ("none",)
    typist.type("n")
    assert window.record().value("health.allergies") == ("none",)
    typist.type("p")
    assert window.record().value("health.allergies") == first


def test_control_and_arrows_turn_the_pages(window: Window, typist: Typist, eyes: Eyes) -> None:
    typist.press(Qt.Key.Key_Down, CTRL)
    assert eyes.controls("Why operate")
    typist.press(Qt.Key.Key_Up, CTRL)
    assert eyes.control("Name").hasFocus()


def test_alt_and_a_digit_move_between_list_pages_and_paper(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    typist.press(Qt.Key.Key_1, ALT)
    assert eyes.control("Theatre list").hasFocus()
    typist.press(Qt.Key.Key_3, ALT)
    assert eyes.control("Document").hasFocus()
    typist.press(Qt.Key.Key_2, ALT)
    assert eyes.control("Name").hasFocus()


def test_a_field_is_found_by_any_word(window: Window, typist: Typist, eyes: Eyes) -> None:
    typist.press(Qt.Key.Key_F, CTRL)
    typist.type("cuff")
    typist.press(Qt.Key.Key_Return)
    assert "Cuff" in typist.focus().accessibleName()
    assert eyes.control("Find a field").property("text") == ""


def test_the_question_with_the_focus_is_on_screen(window: Window, typist: Typist) -> None:
    window.resize(1000, 480)
    window.show_page("recovery_care")
    for _ in range(12):
        typist.press(Qt.Key.Key_Tab)
        focus = typist.focus()
        corner = focus.mapTo(window, QPoint(0, 0))
        assert window.rect().contains(corner)
        assert focus.visibleRegion().boundingRect().height() == focus.height()


def test_rows_are_added_repeated_removed_and_put_back(window: Window, eyes: Eyes) -> None:
    window.show_page("stitches")
    QTest.mouseClick(eyes_button(eyes, "Repeat the last"), Qt.MouseButton.LeftButton)
    rows = window.record().rows["stitches"]
    assert len(rows) == 3
    carried = [p for p in window.record().values if p.startswith(f"stitches.{rows[-1]}.")]
    assert all(window.record().origin(path) is Origin.CARRIED_OVER for path in carried)
    QTest.mouseClick(eyes.control("Remove Row of stitches 3"), Qt.MouseButton.LeftButton)
    assert len(window.record().rows["stitches"]) == 2
    window.undo()
    assert window.record().rows["stitches"] == rows


def eyes_button(eyes: Eyes, words: str) -> QPushButton:
    buttons = eyes.window.findChildren(QPushButton)
    return next(b for b in buttons if b.isVisible() and b.text().startswith(words))


def test_a_table_is_answered_with_none(window: Window, eyes: Eyes) -> None:
    window.new_case()
    window.show_page("complications")
    QTest.mouseClick(eyes.control("Complications: No complication"), Qt.MouseButton.LeftButton)
    assert window.record().rows["complications"] == ()


def test_not_recorded_because_is_an_answer(window: Window, typist: Typist, eyes: Eyes) -> None:
    window.new_case()
    window.go_to("patient.born")
    typist.press(Qt.Key.Key_B, CTRL)
    typist.type("emergency")
    assert window.record().unanswered["patient.born"] == "emergency"
    assert eyes.control("Born: not recorded, because").hasFocus()
    window.go_to("patient.born")
    typist.type("1/2/90")
    assert "patient.born" not in window.record().unanswered


def test_a_plan_fills_what_is_then_confirmed(window: Window, typist: Typist, eyes: Eyes) -> None:
    window.new_case()
    window.show_page("recovery_load")
    QTest.mouseClick(eyes.control("Start from plan P2"), Qt.MouseButton.LeftButton)
    assert window.record().is_unconfirmed("plan.weight_bearing")
    assert eyes.controls("Confirm Weight on the leg, usual")
    typist.press(Qt.Key.Key_K, CTRL)
    assert not window.record().is_unconfirmed("plan.weight_bearing")
    assert not eyes.controls("Confirm Weight on the leg, usual")


def test_another_plan_that_was_only_looked_for_changes_nothing(window: Window, eyes: Eyes) -> None:
    window.show_page("recovery_load")
    before = window.record()
    for way in ("Keep to a second plan as well", "Start from another plan"):
        eyes.control(way).click()  # type: ignore[attr-defined]
        eyes.control("Leave the plan as it is").click()  # type: ignore[attr-defined]
        assert window.record() is before
        assert eyes.controls(way)
    window.new_case()
    window.show_page("recovery_load")
    assert not eyes.controls("Leave the plan as it is")


def test_a_second_plan_makes_the_first_stricter_and_is_undone_in_one_step(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    window.new_case()
    window.show_page("recovery_load")
    QTest.mouseClick(eyes.control("Start from plan P2"), Qt.MouseButton.LeftButton)
    assert window.record().value("plan.weight_weeks") == Quantity(4, "weeks")
    typist.press(Qt.Key.Key_Space)
    assert eyes.control("Keep as well to plan P1").hasFocus()
    QTest.mouseClick(eyes.control("Keep as well to plan P6"), Qt.MouseButton.LeftButton)
    assert window.record().value("plan.weight_weeks") == Quantity(6, "weeks")
    typist.press(Qt.Key.Key_Z, CTRL)
    assert window.record().value("plan.weight_weeks") == Quantity(4, "weeks")


def test_the_names_of_the_case_are_a_key_away(
    open_window: Callable[[Path, str], Window], cases: Path, typist: Typist
) -> None:
    window = open_window(cases, "case_a")
    window.go_to("author.supervisor")
    window.go_to("team.scrub")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.press(Qt.Key.Key_Delete)
    typist.type("thorn")
    typist.press(Qt.Key.Key_Down)
    assert window.record().value("team.scrub") == "Dr T. Thornquill"


@pytest.fixture
def going_on(window: Window) -> Window:
    """A window on a new case; a letter that answers leads on, as the menu was told."""
    window.new_case()
    (action,) = (a for a in window.findChildren(QAction) if a.text() == "&Go on after an answer")
    action.trigger()
    return window


def test_a_letter_leads_to_the_next_question_that_is_not_answered(
    going_on: Window, typist: Typist, qtbot: QtBot
) -> None:
    going_on.go_to("joint.patellofemoral")
    typist.type("a")
    going_on.go_to("joint.suprapatellar")
    typist.type("n")
    qtbot.waitUntil(lambda: path_in_hand(typist) == "joint.medial_gutter", timeout=2_000)
    assert going_on.record().values["joint.suprapatellar"] == "normal"


def test_a_letter_on_the_last_question_of_a_page_does_not_turn_it(
    going_on: Window, typist: Typist
) -> None:
    going_on.go_to("setup.flow")
    typist.type("g")
    QTest.qWait(3 * BURST_MS)
    assert going_on.record().values["setup.flow"] == "gravity"
    assert path_in_hand(typist) == "setup.flow"


def test_a_burst_answers_nothing_and_leads_nowhere(going_on: Window, typist: Typist) -> None:
    going_on.go_to("joint.suprapatellar")
    before = going_on.record()
    QTest.keyClicks(typist.focus(), "nanasn")
    QTest.qWait(3 * BURST_MS)
    assert going_on.record() == before
    assert path_in_hand(typist) == "joint.suprapatellar"


def test_whoever_asks_for_no_leading_on_stays_on_the_question(
    window: Window, typist: Typist
) -> None:
    window.new_case()
    window.go_to("joint.suprapatellar")
    typist.type("n")
    QTest.qWait(3 * BURST_MS)
    assert path_in_hand(typist) == "joint.suprapatellar"


def path_in_hand(typist: Typist) -> str:
    question = typist.question()
    return "" if question is None else question.path


def test_only_what_is_examined_can_be_left_unexamined(window: Window) -> None:
    def answers() -> list[str]:
        return [
            b.text().replace("&", "") for b in window.findChildren(QAbstractButton) if b.isVisible()
        ]

    window.show_page("setup")
    assert {"Yes", "No"} <= set(answers())
    assert "Not examined" not in answers()
    window.show_page("protection")
    assert "Not examined" in answers()


@pytest.mark.parametrize(("key", "side"), [(Qt.Key.Key_Left, "left"), (Qt.Key.Key_Right, "right")])
def test_an_arrow_chooses_the_side_that_it_points_to(
    window: Window, typist: Typist, key: Qt.Key, side: str
) -> None:
    window.new_case()
    window.go_to("side")
    for _ in range(3):
        typist.press(key)
        assert window.record().value("side") == side


def test_an_arrow_turns_no_side_round_that_is_recorded(window: Window, typist: Typist) -> None:
    """Case A is of the left knee."""
    window.go_to("side")
    typist.press(Qt.Key.Key_Right)
    pointed_to = typist.focus()
    assert isinstance(pointed_to, QAbstractButton)
    assert pointed_to.text() == "Right"
    assert window.record().value("side") == "left"
    typist.press(Qt.Key.Key_Space)
    assert window.record().value("side") == "right"
