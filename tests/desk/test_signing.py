"""A note is signed deliberately, once, and nothing signed changes."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QWidget,
)
from pytestqt.qtbot import QtBot

from opnote.desk.editor.prose import ProseBox
from opnote.desk.layout_check import flaws_in
from opnote.desk.lock import lock
from opnote.desk.sign_panel import SignPanel
from opnote.desk.signed_panel import SignedPanel
from opnote.desk.stage import settle
from opnote.desk.window import Window
from opnote.pack.cache import cached_pack
from opnote.pack.case import case_text, read_case
from opnote.pack.usual import fill_in, read_practice
from opnote.record import Edit, Record
from opnote.record.seal import begin_addendum, with_addendum
from tests.desk.conftest import CTRL, Eyes, Typist

Opener = Callable[[Path, str], Window]
REFUSED = "This note is signed; what is to be added is an addendum."
QUESTION = "Which knee was operated on?"


def on_disk(path: Path) -> Record:
    return read_case(path.read_text(encoding="utf-8"), path.name, cached_pack)[0]


def change_file(path: Path, change: Callable[[dict[str, Any]], object]) -> None:
    case = json.loads(path.read_text(encoding="utf-8"))
    change(case)
    path.write_text(json.dumps(case, ensure_ascii=False, indent=1), encoding="utf-8")


def put_draft(
    path: Path, case: str, computer: str = "", at: str = "2026-03-09T11:00:00+00:00"
) -> None:
    """Put a draft beside a case, written by a process that is gone, or by another computer."""
    draft = {
        "draft_of": path.name,
        "saved_at": at,
        "computer": computer,
        "process": 1,
        "token": "0" * 32,
        "case": case,
    }
    path.with_name(f"{path.stem}.draft.json").write_text(json.dumps(draft), encoding="utf-8")


def click(eyes: Eyes, start: str) -> None:
    """Click the visible button whose name, or else whose words, start so."""
    QApplication.processEvents()  # it is where it is seen
    found = [
        button
        for button in eyes.window.findChildren(QAbstractButton)
        if button.isVisible() and (button.accessibleName() or button.text()).startswith(start)
    ]
    QTest.mouseClick(found[0], Qt.MouseButton.LeftButton, pos=found[0].rect().center())


def panel_of(window: Window) -> SignPanel:
    panel = window.findChild(SignPanel)
    assert isinstance(panel, SignPanel)
    return panel


def is_asked(window: Window) -> bool:
    return any(panel.isVisible() for panel in window.findChildren(SignPanel))


def signed_panel_of(window: Window) -> SignedPanel:
    panel = window.findChild(SignedPanel)
    assert isinstance(panel, SignedPanel)
    return panel


def tick_addendum(window: Window) -> None:
    own = signed_panel_of(window).own
    QTest.keyClick(own, Qt.Key.Key_Space)
    assert own.isChecked()


def is_checked(widgets: list[QWidget]) -> list[bool]:
    return [widget.isChecked() for widget in widgets if isinstance(widget, QAbstractButton)]


def sign(eyes: Eyes, side: str = "Left") -> None:
    """Ask to sign, and give all that is asked for by mouse."""
    eyes.window.signing.ask()
    click(eyes, f"{QUESTION} {side}")
    QTest.keyClick(panel_of(eyes.window).own, Qt.Key.Key_Space)
    click(eyes, "Sign the note")


def state_in_list(window: Window, stem: str) -> str:
    entries = window._left.cases.entries
    return next(entry.state for entry in entries.items if entry.path.stem == stem)


# Signing


def test_signing_by_keyboard_alone(
    window: Window, typist: Typist, cases: Path, eyes: Eyes, qtbot: QtBot
) -> None:
    typist.press(Qt.Key.Key_Return, CTRL)
    assert typist.focus() is eyes.control(QUESTION)
    sides = eyes.controls(f"{QUESTION} ")
    assert [side.accessibleName().split()[-1] for side in sides] == ["Left", "Right"]

    # Neither a letter, nor Space on the row, nor an arrow alone chooses a side.
    for key in (Qt.Key.Key_L, Qt.Key.Key_R, Qt.Key.Key_Space, Qt.Key.Key_Return):
        typist.press(key)
        assert is_checked(sides) == [False, False]
    typist.press(Qt.Key.Key_Right)
    assert typist.focus() is sides[1]
    typist.press(Qt.Key.Key_Left)
    assert typist.focus() is sides[0]
    typist.press(Qt.Key.Key_L)
    assert is_checked(sides) == [False, False]
    typist.press(Qt.Key.Key_Space)
    assert is_checked(sides) == [True, False]
    typist.press(Qt.Key.Key_Tab)
    name = typist.focus()
    assert isinstance(name, QLineEdit)
    assert (name.accessibleName(), name.text()) == ("Signed by", "Miss Q. Larkspindle")
    typist.press(Qt.Key.Key_Tab)
    typist.press(Qt.Key.Key_Space)
    typist.press(Qt.Key.Key_Tab)
    typist.press(Qt.Key.Key_Space)
    kept = on_disk(cases / "case_a.json").signature
    assert kept is not None
    assert kept.is_whole
    assert (kept.by, kept.role, kept.side) == ("Miss Q. Larkspindle", "author", "left")
    assert kept.at.utcoffset() is not None
    assert kept.at.replace(tzinfo=None) == window.now()
    assert "Final: signed as author by Miss Q. Larkspindle" in eyes.texts()
    assert state_in_list(window, "case_a") == "signed"
    focus = typist.focus()  # where one goes on
    assert isinstance(focus, QAbstractButton)
    assert focus.text() == "Add an addendum"


def test_the_panel_names_the_patient_and_not_the_side(window: Window, eyes: Eyes) -> None:
    window.signing.ask()
    panel = panel_of(window)
    said = [label.text() for label in panel.findChildren(QLabel) if label.isVisible()]
    assert "Mr Percival Thistlewick, TEST-0001" in said
    assert "Arthroscopic meniscal repair, 9 March 2026" in said
    assert QUESTION in said
    words = " ".join(said).lower()
    assert "left" not in words
    assert "right" not in words
    boxes = [panel, *panel.findChildren(QWidget)]
    heard = " ".join(f"{w.accessibleDescription()} {w.toolTip()}" for w in boxes).lower()
    assert "left" not in heard
    assert "right" not in heard


def test_a_wrong_side_refuses_and_names_both(
    window: Window, cases: Path, eyes: Eyes, typist: Typist
) -> None:
    before = (cases / "case_a.json").read_bytes()
    sign(eyes, "Right")
    said = eyes.texts()
    assert "Not signed: this case records the LEFT knee, and you answered RIGHT." in said
    assert "If the record is wrong, correct \N{LEFT DOUBLE QUOTATION MARK}Operated side" in said
    assert (cases / "case_a.json").read_bytes() == before
    assert window.record().signature is None
    assert state_in_list(window, "case_a") == "ready"
    click(eyes, "Go to Operated side")
    assert typist.focus().accessibleName().startswith("Operated side")
    # It must be answered anew: nothing is chosen, and the button alone doesn't sign.
    click(eyes, "Sign the note")
    assert "answer which knee was operated on" in eyes.texts()
    assert window.record().signature is None


def test_who_signs_must_be_confirmed(window: Window, eyes: Eyes, typist: Typist) -> None:
    window.signing.ask()
    click(eyes, f"{QUESTION} Left")
    click(eyes, "Sign the note")
    assert "Not signed: tick that this is your name." in eyes.texts()
    panel = panel_of(window)
    QTest.keyClick(panel.own, Qt.Key.Key_Space)
    panel.name.setFocus()
    panel.name.selectAll()
    typist.type("Dr N. Elsewhere")
    # Another name: the tick was for the one before.
    click(eyes, "Sign the note")
    assert "Not signed: tick that this is your name." in eyes.texts()
    QTest.keyClick(panel.own, Qt.Key.Key_Space)
    panel.name.setFocus()
    panel.name.selectAll()
    typist.press(Qt.Key.Key_Delete)
    click(eyes, "Sign the note")
    assert "Not signed: write the name of who signs." in eyes.texts()
    assert window.record().signature is None


def test_enter_presses_the_button_and_asking_again_signs_or_says_what_is_lacking(
    window: Window, eyes: Eyes, typist: Typist
) -> None:
    typist.press(Qt.Key.Key_Return, CTRL)
    typist.press(Qt.Key.Key_Return, CTRL)
    assert "Not signed: answer which knee was operated on." in eyes.texts()
    click(eyes, f"{QUESTION} Left")
    click(eyes, "This is my name")
    buttons = window.findChildren(QPushButton)
    next(b for b in buttons if b.isVisible() and b.text() == "Sign the note").setFocus()
    typist.press(Qt.Key.Key_Return)
    assert window.record().signature is not None


def test_what_is_open_stops_signing_and_the_line_leads_to_the_first(
    window: Window, eyes: Eyes, typist: Typist
) -> None:
    window.go_to("operation.unit")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.press(Qt.Key.Key_Delete)
    window.show_page("tears")
    typist.press(Qt.Key.Key_Return, CTRL)
    assert "Not signed: 1 thing was open. The first: Hospital: not recorded." in eyes.texts()
    assert window.findChild(SignPanel) is None
    assert typist.focus().accessibleName() == "What is still open"
    click(eyes, "Go there")
    assert typist.focus().accessibleName().startswith("Hospital")
    # It is marked on its page, as it was asked for.
    assert "\N{WHITE CIRCLE} open" in eyes.texts()


def test_an_unconfirmed_value_stops_signing(
    open_window: Opener, cases: Path, eyes_of: type[Eyes]
) -> None:
    change_file(cases / "case_a.json", lambda case: case.update(origins={"patient.name": "listed"}))
    eyes = eyes_of(open_window(cases, "case_a"))
    eyes.window.signing.ask()
    assert "Not signed: 1 thing was open. The first: Name: Mr Percival" in eyes.texts()
    assert eyes.window.findChild(SignPanel) is None


def test_a_text_that_cannot_be_read_stops_signing(
    window: Window, eyes: Eyes, typist: Typist
) -> None:
    # An optional field: without the text nothing would be open.
    window.go_to("imaging.mri_date")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.type("some day")
    window.signing.ask()
    said = eyes.texts()
    assert "Not signed: what stands in " in said
    assert "can't be read." in said
    assert window.findChild(SignPanel) is None


def test_a_draft_that_waits_for_an_answer_stops_signing(
    open_window: Opener, cases: Path, eyes_of: type[Eyes]
) -> None:
    path = cases / "case_a.json"
    put_draft(path, path.read_text(encoding="utf-8").replace("TEST-0001", "TEST-0009"))
    eyes = eyes_of(open_window(cases, "case_a"))
    eyes.window.signing.ask()
    assert "Not signed: first use the newer draft of this case, or throw it away." in eyes.texts()
    assert eyes.window.findChild(SignPanel) is None
    click(eyes, "Throw it away")
    eyes.window.signing.ask()
    assert panel_of(eyes.window).isVisible()
    assert "Not signed" not in eyes.texts()


def test_newer_typing_on_another_computer_stops_signing(
    window: Window, cases: Path, eyes: Eyes
) -> None:
    path = cases / "case_a.json"
    text = path.read_text(encoding="utf-8")
    theirs = text.replace("TEST-0001", "TEST-0009")
    window.signing.ask()
    click(eyes, f"{QUESTION} Left")
    QTest.keyClick(panel_of(window).own, Qt.Key.Key_Space)
    # It comes while the panel asks, and is seen all the same.
    put_draft(path, theirs, "theatre-two", datetime.now().astimezone().isoformat())
    click(eyes, "Sign the note")
    said = eyes.texts()
    assert "Not signed: another window on theatre-two (process 1) holds newer typing" in said
    assert window.record().signature is None
    assert path.read_text(encoding="utf-8") == text
    # Nor is a crash that came meanwhile passed over, whose draft nobody has looked at.
    put_draft(path, theirs)
    click(eyes, "Close")
    window.signing.ask()
    assert "Not signed: another window" in eyes.texts()
    assert not is_asked(window)
    # A draft that says what the file says holds nothing newer.
    put_draft(path, text, "theatre-two", datetime.now().astimezone().isoformat())
    click(eyes, "Ask again")
    assert is_asked(window)
    assert "Not signed" not in eyes.texts()


def test_the_note_is_on_the_paper_when_it_is_asked_for(window: Window, eyes: Eyes) -> None:
    workspace = window.workspace
    assert workspace is not None
    for kind in ("map", "letter"):
        window.show_document(kind)
        window.signing.ask()
        assert workspace.paper_pane.paper.isVisible()
        assert workspace.paper_pane.paper.accessibleName() == "Document: Operative note"
        click(eyes, "Not now")


def test_a_change_behind_the_panel_stops_signing(
    window: Window, eyes: Eyes, typist: Typist
) -> None:
    window.signing.ask()
    click(eyes, f"{QUESTION} Left")
    window.go_to("operation.unit")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.press(Qt.Key.Key_Delete)
    assert not [p for p in window.findChildren(SignPanel) if p.isVisible()]
    window.undo()
    # Asked anew, nothing of what was given before is taken over.
    window.signing.ask()
    click(eyes, "Sign the note")
    assert "answer which knee was operated on" in eyes.texts()
    assert window.record().signature is None


def test_a_file_that_cannot_be_written_is_not_signed(
    window: Window, cases: Path, eyes: Eyes
) -> None:
    change_file(cases / "case_a.json", lambda case: case["values"].update(remark="x"))
    theirs = (cases / "case_a.json").read_bytes()
    sign(eyes)
    assert "somebody else has changed this case" in eyes.texts()
    assert window.record().signature is None
    assert (cases / "case_a.json").read_bytes() == theirs


def test_a_case_that_was_never_saved_is_signed_under_its_name(
    window: Window, cases: Path, eyes: Eyes
) -> None:
    full = window.record()
    window.new_case()
    case = window.held.shown
    assert case is not None
    case.session.apply(Edit("fill", (), lambda _: full))
    sign(eyes)
    path = window.current_path()
    assert path is not None
    assert path.stem == "Mr_Percival_Thistlewick"
    assert on_disk(path).signature is not None


@pytest.mark.parametrize("text", [1, 4])
def test_all_that_is_asked_has_its_room(window: Window, eyes: Eyes, text: int) -> None:
    """At the usual size of text, and half as large again, in the smallest window."""
    window.set_text_size(text)
    settle(400)  # the drawings on the paper find their size
    try:
        window.signing.ask()
        settle(200)
        found = [("asked", flaw) for flaw in flaws_in(window)]
        sign(eyes, "Right")
        settle(200)
        found += [("refused", flaw) for flaw in flaws_in(window)]
        click(eyes, f"{QUESTION} Left")
        click(eyes, "Sign the note")
        click(eyes, "Add an addendum")
        settle(200)
        found += [("addendum", flaw) for flaw in flaws_in(window)]
        assert window.record().signature is not None
        assert window.height() == 720
    finally:
        window.set_text_size(1)
    assert found == []


# Once signed


@pytest.fixture
def signed(window: Window, eyes: Eyes) -> Eyes:
    """The window on a case that has just been signed, after something was typed into it."""
    window.go_to("operation.unit")
    focus = QApplication.focusWidget()
    assert focus is not None
    QTest.keyClicks(focus, "Nonesuch Vale Infirmary")
    sign(eyes)
    assert window.record().signature is not None
    return eyes


def test_nothing_signed_can_be_changed_or_undone(
    signed: Eyes, typist: Typist, cases: Path, qtbot: QtBot
) -> None:
    window = signed.window
    record, file = window.record(), (cases / "case_a.json").read_bytes()
    window.undo()
    assert window.record() is record
    window.go_to("operation.unit")
    box = typist.focus()
    assert isinstance(box, QLineEdit)
    assert box.isReadOnly()
    typist.type("x")
    assert box.text() == "Nonesuch Vale Infirmary"
    urgency = signed.controls("Urgency")
    click(signed, urgency[0].accessibleName())
    assert REFUSED in signed.texts()
    qtbot.waitUntil(lambda: is_checked(urgency) == [False, True, False])
    window.show_page("tears")
    assert not any(
        button.isEnabled()
        for button in window.findChildren(QAbstractButton)
        if button.isVisible() and button.text() in ("Remove", "Add a tear")
    )
    window.keeping.write_draft()
    assert window.record() is record
    assert (cases / "case_a.json").read_bytes() == file
    assert not (cases / "case_a.draft.json").exists()


def test_no_usual_practice_is_filled_into_a_signed_case(
    signed: Eyes, cases: Path, tmp_path: Path
) -> None:
    window = signed.window
    window.practice.fill_in()  # none is kept yet
    assert signed.texts().count(REFUSED) == 1
    assert "usual practice" not in signed.texts()
    window.practice.keep()
    (kept,) = (tmp_path / "usual_practice").iterdir()
    change_file(kept, lambda content: content["values"].update({"setup.drapes": "reusable"}))
    record, file = window.record(), (cases / "case_a.json").read_bytes()
    pack = cached_pack(record.procedures)
    fills = fill_in(read_practice(kept, pack)[0], pack).apply(record)
    assert fills.values.keys() - record.values.keys() == {"setup.drapes"}
    window.practice.fill_in()
    assert window.record() is record
    assert signed.texts().count(REFUSED) == 1
    assert "usual practice" not in signed.texts()
    window.keeping.save()
    assert (cases / "case_a.json").read_bytes() == file


def test_what_was_closed_before_stays_closed_after_a_signed_case(qtbot: QtBot) -> None:
    sheet = QWidget()
    qtbot.addWidget(sheet)
    lines, prose = [QLineEdit(sheet), QLineEdit(sheet)], QPlainTextEdit(sheet)
    lines[1].setReadOnly(True)
    for is_locked in (True, True, False):
        lock(sheet, is_locked=is_locked)
        assert [line.isReadOnly() for line in lines] == [is_locked, True]
        assert prose.isReadOnly() is is_locked
    # Once more: what is open again is closed again.
    lock(sheet, is_locked=True)
    assert lines[0].isReadOnly()


def test_what_was_refused_is_not_said_of_the_next_case(signed: Eyes, cases: Path) -> None:
    window = signed.window
    while not window.has_read_all():
        QTest.qWait(20)
    click(signed, "Add an addendum")
    click(signed, "Sign the addendum")
    tick_addendum(window)
    refused = "Not signed: write what is to be added."
    assert refused in signed.texts()
    window.open_case(cases / "case_b.json")
    window.open_case(cases / "case_a.json")
    assert signed.control("Addendum").isVisible()
    assert refused not in signed.texts()
    assert not signed_panel_of(window).own.isChecked()


def test_the_next_case_can_be_changed_again(
    signed: Eyes, cases: Path, typist: Typist, qtbot: QtBot
) -> None:
    window = signed.window
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    window.open_case(cases / "case_b.json")
    window.go_to("operation.unit")
    box = typist.focus()
    assert isinstance(box, QLineEdit)
    assert not box.isReadOnly()
    typist.press(Qt.Key.Key_End)
    typist.type("x")
    assert str(window.record().value("operation.unit")).endswith("x")
    assert "Add an addendum" not in [
        button.text() for button in window.findChildren(QAbstractButton) if button.isVisible()
    ]


def test_the_next_unfinished_case_passes_over_signed_ones(signed: Eyes, cases: Path) -> None:
    window = signed.window
    change_file(cases / "case_c.json", lambda case: case["values"].pop("operation.unit"))
    window.open_folder(cases, cases / "case_b.json")
    QTest.qWait(10)
    while not window.has_read_all():
        QTest.qWait(20)
    assert state_in_list(window, "case_a") == "signed"
    window.next_case()
    assert window.current_path() == cases / "case_c.json"
    window.next_case()
    assert window.current_path() == cases / "case_c.json"


def test_an_addendum_is_kept_while_it_is_written_and_then_signed(
    open_window: Opener, cases: Path, eyes_of: type[Eyes], typist: Typist, signed: Eyes
) -> None:
    window = signed.window
    click(signed, "Add an addendum")
    typist.type("The foot lifts.")
    window.keeping.write_draft()
    draft = json.loads((cases / "case_a.draft.json").read_text(encoding="utf-8"))
    begun = read_case(draft["case"], "draft", cached_pack)[0].begun
    assert begun is not None
    assert begun.text == "The foot lifts."
    assert state_in_list(window, "case_a") == "signed, addendum begun"
    window.keeping.save()
    assert on_disk(cases / "case_a.json").begun == begun
    assert on_disk(cases / "case_a.json").addenda == ()
    again = open_window(cases, "case_a")
    eyes = eyes_of(again)
    box = eyes.control("Addendum")
    box.setFocus()
    typist.press(Qt.Key.Key_End, CTRL)
    typist.type(" Fully.")
    click(eyes, "Sign the addendum")
    assert "Not signed: write the name of who adds it." in eyes.texts()
    typist.type("Dr T. Thornquill")
    click(eyes, "Sign the addendum")
    assert "Not signed: tick that this is your name." in eyes.texts()
    typist.press(Qt.Key.Key_Space)
    click(eyes, "Sign the addendum")
    kept = on_disk(cases / "case_a.json")
    assert [(each.by, each.text) for each in kept.addenda] == [
        ("Dr T. Thornquill", "The foot lifts. Fully.")
    ]
    assert kept.begun is None
    assert kept.signature is not None
    assert kept.signature.is_whole
    assert state_in_list(again, "case_a") == "signed, with an addendum"
    assert "Amended: signed as author" in eyes.texts()
    again.undo()
    assert again.record().addenda == kept.addenda
    # A second one follows the first.
    click(eyes, "Add an addendum")
    typist.type("Went home.")
    eyes.control("Added by").setFocus()
    typist.type("Dr A. Ashpenny")
    typist.press(Qt.Key.Key_Tab)
    typist.press(Qt.Key.Key_Space)
    click(eyes, "Sign the addendum")
    assert [each.by for each in on_disk(cases / "case_a.json").addenda] == [
        "Dr T. Thornquill",
        "Dr A. Ashpenny",
    ]
    assert state_in_list(again, "case_a") == "signed, with 2 addenda"


def test_a_case_that_was_changed_after_signing_says_so_everywhere(
    signed: Eyes, cases: Path, open_window: Opener, eyes_of: type[Eyes], typist: Typist
) -> None:
    signed.window.close()
    path = cases / "case_a.json"
    change_file(path, lambda case: case["values"].update({"operation.unit": "Elsewhere"}))
    changed = json.loads(path.read_bytes())
    window = open_window(cases, "case_a")
    eyes = eyes_of(window)
    said = eyes.texts()
    assert "This case was changed after Miss Q. Larkspindle signed it" in said
    assert "Changed after\nsigning" in said
    assert "Restore its file from a copy." in said
    assert state_in_list(window, "case_a") == "changed after signing"
    case = window.held.shown
    assert case is not None
    assert case.session.state.document("note").mark == "CHANGED AFTER SIGNING"
    assert not [
        button
        for button in window.findChildren(QAbstractButton)
        if button.isVisible() and button.text() in ("Add an addendum", "Sign")
    ]
    click(eyes, eyes.controls("Urgency")[0].accessibleName())
    assert "changed after it was signed" in eyes.texts()
    # Saving it mends nothing.
    window.keeping.save()
    assert json.loads(path.read_bytes()) == changed


def test_a_draft_from_before_the_signature_changes_nothing(
    signed: Eyes, cases: Path, open_window: Opener, eyes_of: type[Eyes]
) -> None:
    path = cases / "case_a.json"
    text = json.loads(path.read_text(encoding="utf-8"))
    for part in ("signature", "addenda"):
        del text[part]
    text["values"]["operation.unit"] = "Elsewhere"
    signed.window.close()
    put_draft(path, json.dumps(text))
    window = open_window(cases, "case_a")
    eyes = eyes_of(window)
    click(eyes, "Use it")
    said = eyes.texts()
    assert "The draft is from before it was signed: it can't be used." in said
    assert REFUSED not in said
    assert window.record().signature is not None
    assert window.record().value("operation.unit") == "Nonesuch Vale Infirmary"
    click(eyes, "Throw it away")
    assert not (cases / "case_a.draft.json").exists()


def test_an_addendum_is_not_signed_past_a_draft_that_waits(
    signed: Eyes, cases: Path, open_window: Opener, eyes_of: type[Eyes], typist: Typist
) -> None:
    """What was begun in a draft is asked about first, and taken over beside a later addendum."""
    window = signed.window
    click(signed, "Add an addendum")
    typist.type("The foot")
    window.keeping.write_draft()
    begun = json.loads((cases / "case_a.draft.json").read_text(encoding="utf-8"))["case"]
    typist.type(" lifts.")
    signed.control("Added by").setFocus()
    typist.type("Dr T. Thornquill")
    window.keeping.save()
    window.close()
    path = cases / "case_a.json"
    put_draft(path, begun)
    window = open_window(cases, "case_a")
    eyes = eyes_of(window)
    tick_addendum(window)
    click(eyes, "Sign the addendum")
    assert "Not signed: first use the newer draft of this case" in eyes.texts()
    assert on_disk(path).addenda == ()
    assert (cases / "case_a.draft.json").exists()
    window.close()
    change_file(path, lambda case: case.pop("addendum_begun"))
    at = datetime(2026, 3, 9, 20, 5, tzinfo=UTC)
    record = with_addendum(on_disk(path), "Dr A. Ashpenny", at, "Went home.")
    pack = cached_pack(record.procedures)
    path.write_text(case_text(record, pack.form), encoding="utf-8")
    window = open_window(cases, "case_a")
    eyes = eyes_of(window)
    click(eyes, "Use it")
    assert window.record() == begin_addendum("", "The foot").apply(record)


def test_a_begun_addendum_comes_back_from_a_draft(
    signed: Eyes, cases: Path, open_window: Opener, eyes_of: type[Eyes], typist: Typist
) -> None:
    signed.window.close()
    path = cases / "case_a.json"
    case = json.loads(path.read_text(encoding="utf-8"))
    case["addendum_begun"] = {"by": "", "text": "The foot"}
    put_draft(path, json.dumps(case))
    window = open_window(cases, "case_a")
    eyes = eyes_of(window)
    click(eyes, "Use it")
    box = eyes.control("Addendum")
    assert isinstance(box, ProseBox)
    assert box.toPlainText() == "The foot"
    typist.press(Qt.Key.Key_Z, CTRL)
    assert window.record().begun is None
    assert window.record().signature is not None
