"""Undo, saving, and drafts: nothing that was typed is lost."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from threading import Event, Timer

import pytest
from PySide6.QtCore import QSettings, Qt, QThreadPool
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton
from pytestqt.qtbot import QtBot

from opnote.archive import ArchiveError, TheatreList
from opnote.desk.field_row import FieldRow
from opnote.desk.keeping import DRAFT_MS
from opnote.desk.window import Window
from opnote.pack.cache import cached_pack
from opnote.pack.case import read_case
from opnote.record import Record
from tests.desk.conftest import CTRL, Eyes, Typist

Opener = Callable[[Path, str], Window]


def on_disk(path: Path) -> Record:
    return read_case(path.read_text(encoding="utf-8"), path.name, cached_pack)[0]


def type_into_focus(text: str) -> None:
    focus = QApplication.focusWidget()
    assert focus is not None
    QTest.keyClicks(focus, text)


def button(window: Window, words: str) -> QPushButton:
    buttons = window.findChildren(QPushButton)
    return next(b for b in buttons if b.isVisible() and b.text().startswith(words))


def test_undo_names_what_it_takes_back_and_shows_where(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    window.go_to("operation.unit")
    before = window.record()
    typist.press(Qt.Key.Key_End)
    typist.type(" East")
    window.show_page("tears")
    assert button(window, "Undo Hospital").isEnabled()
    typist.press(Qt.Key.Key_Z, CTRL)
    assert window.record() == before
    box = typist.focus()
    assert box is eyes.control("Hospital, required")
    assert isinstance(box, QLineEdit)
    assert not box.text().endswith("East")
    window.redo()
    assert box.text().endswith("East")


def test_undo_in_a_box_is_the_undo_of_the_case(window: Window, typist: Typist) -> None:
    window.go_to("patient.name")
    before = window.record()
    typist.press(Qt.Key.Key_End)
    typist.type("x")
    typist.press(Qt.Key.Key_Z, CTRL)
    assert window.record() == before
    assert not button(window, "Undo").isEnabled()


def test_what_was_saved_is_there_when_it_is_opened_again(
    window: Window, open_window: Opener, cases: Path, typist: Typist
) -> None:
    window.go_to("closure.dressing")
    typist.press(Qt.Key.Key_End)
    typist.type(' and a long sentence, with "marks"')
    # The cursor is still in the box.
    typist.press(Qt.Key.Key_S, CTRL)
    saved = window.record()
    assert on_disk(cases / "case_a.json").values == saved.values
    window.close()
    again = open_window(cases, "case_a")
    assert again.record() == saved


def test_what_was_saved_is_not_asked_about(window: Window, typist: Typist) -> None:
    window.go_to("closure.dressing")
    typist.type("x")
    assert button(window, "Save").isEnabled()
    typist.press(Qt.Key.Key_S, CTRL)
    assert not button(window, "Saved").isEnabled()


def test_a_draft_is_on_disk_soon_after_the_last_key(
    window: Window, cases: Path, typist: Typist, qtbot: QtBot
) -> None:
    window.go_to("closure.dressing")
    typist.type("x")
    draft = cases / "case_a.draft.json"
    qtbot.waitUntil(draft.exists, timeout=2000)


class SlowFolder:
    """A folder that takes its time with a draft, until it is let go on."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.is_at_it = Event()
        self.goes_on = Event()
        write = TheatreList.write_draft

        def wait_and_write(of_list: TheatreList, path: Path, text: str) -> None:
            self.is_at_it.set()
            assert self.goes_on.wait(20)
            write(of_list, path, text)

        monkeypatch.setattr(TheatreList, "write_draft", wait_and_write)

    def begin_with(self, text: str, window: Window, typist: Typist, qtbot: QtBot) -> None:
        """Type into the dressing of the case until its draft is being written."""
        window.go_to("closure.dressing")
        typist.type(text)
        qtbot.waitUntil(self.is_at_it.is_set, timeout=5000)


def test_typing_goes_on_while_a_slow_folder_takes_a_draft(
    window: Window, cases: Path, typist: Typist, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = SlowFolder(monkeypatch)
    slow.begin_with("Zz", window, typist, qtbot)
    typist.type("yzx")
    assert "Zzyzx" in str(window.record().values["closure.dressing"])
    draft = cases / "case_a.draft.json"
    assert not draft.exists()
    slow.goes_on.set()
    qtbot.waitUntil(lambda: draft.exists() and "Zzyzx" in draft.read_text("utf-8"), timeout=5000)


def test_a_draft_that_was_still_to_come_does_not_come_after_saving(
    window: Window, cases: Path, typist: Typist, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = SlowFolder(monkeypatch)
    slow.begin_with("Zz", window, typist, qtbot)
    typist.type("yzx")
    Timer(0.1, slow.goes_on.set).start()
    typist.press(Qt.Key.Key_S, CTRL)
    saved = cases / "case_a.json"
    assert "Zzyzx" in str(on_disk(saved).values["closure.dressing"])
    qtbot.wait(3 * DRAFT_MS)
    assert not list(cases.glob("*.draft.json"))


def test_long_work_of_others_keeps_no_draft_waiting(
    window: Window, cases: Path, typist: Typist, qtbot: QtBot
) -> None:
    pool, goes_on = QThreadPool.globalInstance(), Event()
    for _ in range(pool.maxThreadCount()):
        pool.start(lambda: goes_on.wait(20) and None)
    try:
        window.go_to("closure.dressing")
        typist.type("Zzyzx")
        qtbot.waitUntil((cases / "case_a.draft.json").exists, timeout=3000)
    finally:
        goes_on.set()
        pool.waitForDone()


def test_a_draft_on_its_way_is_on_disk_before_another_case_is_saved(
    window: Window, cases: Path, typist: Typist, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    slow = SlowFolder(monkeypatch)
    slow.begin_with("Zzyzx", window, typist, qtbot)
    Timer(0.1, slow.goes_on.set).start()
    window.open_case(cases / "case_b.json")
    window.keeping.save()
    draft = cases / "case_a.draft.json"
    assert "Zzyzx" in draft.read_text(encoding="utf-8")


def test_a_save_that_fails_does_not_cost_the_draft(
    window: Window, cases: Path, typist: Typist, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise ArchiveError("case_a.json: the folder takes no file; save in another one")

    monkeypatch.setattr(TheatreList, "write", refuse)
    window.go_to("closure.dressing")
    typist.type("Zzyzx")
    typist.press(Qt.Key.Key_S, CTRL)
    draft = cases / "case_a.draft.json"
    qtbot.waitUntil(lambda: draft.exists() and "Zzyzx" in draft.read_text("utf-8"), timeout=3000)


def test_a_draft_that_cannot_be_written_beside_the_window_says_so(
    window: Window, typist: Typist, eyes: Eyes, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise ArchiveError("case_a.draft.json: the disk is full; make room on it")

    with monkeypatch.context() as full:
        full.setattr(TheatreList, "write_draft", refuse)
        window.go_to("closure.dressing")
        typist.type("x")
        words = "Not kept yet: case_a.draft.json: the disk is full; make room on it"
        qtbot.waitUntil(lambda: words in eyes.texts(), timeout=5000)
    typist.type("y")
    qtbot.waitUntil(lambda: words not in eyes.texts(), timeout=5000)


_CRASH = """
import sys
from datetime import datetime
from pathlib import Path
from opnote.archive import ArchiveError, TheatreList
path = Path(sys.argv[1])
text = path.read_text("utf-8").replace("Percival", "Persephone")
TheatreList(path.parent, lambda: datetime(2026, 3, 9, 10, 41).astimezone()).write_draft(path, text)
import os
os._exit(1)
"""


def crash(case: Path) -> None:
    """Another process types into the case and ends without saving."""
    subprocess.run([sys.executable, "-c", _CRASH, str(case)], check=False)


def test_a_draft_after_a_crash_is_offered_and_used(open_window: Opener, cases: Path) -> None:
    crash(cases / "case_a.json")
    window = open_window(cases, "case_a")
    eyes = Eyes(window)
    assert "There is a newer draft of this case from 10:41." in eyes.texts()
    assert "Percival" in str(window.record().value("patient.name"))
    QTest.mouseClick(button(window, "Use it"), Qt.MouseButton.LeftButton)
    assert "Persephone" in str(window.record().value("patient.name"))
    assert "newer draft" not in eyes.texts()
    window.undo()
    assert "Percival" in str(window.record().value("patient.name"))


def test_a_draft_that_is_left_goes(open_window: Opener, cases: Path) -> None:
    crash(cases / "case_a.json")
    window = open_window(cases, "case_a")
    QTest.mouseClick(button(window, "Throw it away"), Qt.MouseButton.LeftButton)
    assert not (cases / "case_a.draft.json").exists()
    assert "Percival" in str(window.record().value("patient.name"))


def test_a_case_changed_by_somebody_else_is_not_written_over(
    window: Window, cases: Path, typist: Typist, eyes: Eyes
) -> None:
    path = cases / "case_a.json"
    changed = path.read_text(encoding="utf-8").replace("Percival", "Peregrine")
    path.write_text(changed, encoding="utf-8")
    window.go_to("closure.dressing")
    typist.type("x")
    typist.press(Qt.Key.Key_S, CTRL)
    assert "somebody else has changed" in eyes.texts()
    assert path.read_text(encoding="utf-8") == changed
    QTest.mouseClick(button(window, "Save beside it"), Qt.MouseButton.LeftButton)
    ours = cases / "case_a_2.json"
    assert window.current_path() == ours
    assert '"closure.dressing": "x"' in ours.read_text(encoding="utf-8")
    assert path.read_text(encoding="utf-8") == changed
    assert not list(cases.glob("*.draft.json"))
    listed = {entry.path: entry.name for entry in window._left.cases.entries.items}
    assert "Peregrine" in listed[path]
    assert "Percival" in listed[ours]
    window.open_case(path)
    assert "Peregrine" in str(window.record().value("patient.name"))


def test_a_new_case_is_in_the_list_after_the_window_was_closed(
    window: Window, open_window: Opener, cases: Path, typist: Typist, qtbot: QtBot
) -> None:
    window.new_case()
    typist.type("Miss Idony Quill")
    window.close()
    again = open_window(cases, "new_case")
    assert again.record().value("patient.name") == "Miss Idony Quill"


def test_a_new_case_is_named_after_its_patient_when_it_is_saved(
    window: Window, cases: Path, typist: Typist
) -> None:
    window.new_case()
    typist.type("Miss Idony Quill")
    typist.press(Qt.Key.Key_S, CTRL)
    assert on_disk(cases / "Miss_Idony_Quill.json").value("patient.name") == "Miss Idony Quill"
    assert not list(cases.glob("new_case*"))
    typist.type("y")
    typist.press(Qt.Key.Key_S, CTRL)
    assert on_disk(cases / "Miss_Idony_Quill.json").value("patient.name") == "Miss Idony Quilly"


def test_all_documents_are_written_in_all_formats(
    window: Window, tmp_path: Path, qtbot: QtBot
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    with qtbot.waitSignal(window.writing.written, timeout=20_000):
        window.writing.write_to(out)
    names = {path.name for path in out.iterdir()}
    assert {"case_a.note.docx", "case_a.risk_sheet.pdf", "case_a.recovery_plan.html"} <= names


def test_a_case_that_cannot_be_read_says_why_and_leaves_the_others(
    open_window: Opener, cases: Path, qtbot: QtBot
) -> None:
    (cases / "case_0.json").write_text("{", encoding="utf-8")
    window = open_window(cases, "case_a")
    qtbot.waitUntil(window.has_read_all, timeout=10_000)
    assert "Thistlewick" in window.windowTitle()
    window.open_case(cases / "case_0.json")
    assert "Thistlewick" in window.windowTitle()


def test_what_an_older_form_knew_is_listed_and_let_go(
    open_window: Opener, cases: Path, eyes_of: Callable[[Window], Eyes]
) -> None:
    path = cases / "case_a.json"
    case = json.loads(path.read_text(encoding="utf-8"))
    case["editions"] = dict.fromkeys(case["editions"], "2019.1")
    case["values"]["old.question"] = "an old answer"
    path.write_text(json.dumps(case), encoding="utf-8")
    window = open_window(cases, "case_a")
    eyes = eyes_of(window)
    assert "1 left over" in eyes.texts()
    view = eyes.control("What is still open")
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_Home)
    QTest.mouseClick(button(window, "Let it go"), Qt.MouseButton.LeftButton)
    QApplication.processEvents()
    assert not window.record().leftover
    assert "left over" not in eyes.texts()


def test_a_draft_that_is_not_answered_is_kept_when_typing_goes_on(
    open_window: Opener, cases: Path, qtbot: QtBot
) -> None:
    crash(cases / "case_a.json")
    window = open_window(cases, "case_a")
    window.go_to("closure.dressing")
    type_into_focus("x")
    kept = cases / "case_a_earlier_draft.json"
    qtbot.waitUntil(kept.exists, timeout=2000)
    assert "Persephone" in kept.read_text(encoding="utf-8")
    assert f"The earlier draft is kept in this folder as {kept.name}." in Eyes(window).texts()


def test_what_was_undone_is_not_offered_as_a_draft(
    open_window: Opener, cases: Path, qtbot: QtBot
) -> None:
    window = open_window(cases, "case_a")
    window.go_to("closure.dressing")
    type_into_focus("x")
    draft = cases / "case_a.draft.json"
    qtbot.waitUntil(draft.exists, timeout=2000)
    window.undo()
    qtbot.waitUntil(lambda: not draft.exists(), timeout=2000)


def test_a_case_that_is_only_a_draft_outlives_a_look_at_it(
    open_window: Opener, cases: Path
) -> None:
    crash(cases / "case_a.json")
    (cases / "case_a.json").unlink()
    open_window(cases, "case_a").close()
    assert (cases / "case_a.draft.json").exists()


def test_what_another_window_holds_outlives_a_look_at_the_case(
    open_window: Opener, cases: Path
) -> None:
    crash(cases / "case_a.json")
    draft = cases / "case_a.draft.json"
    stored = json.loads(draft.read_text(encoding="utf-8"))
    stored["computer"], stored["saved_at"] = "theatre-2", datetime.now().astimezone().isoformat()
    draft.write_text(json.dumps(stored), encoding="utf-8")
    window = open_window(cases, "case_a")
    window.go_to("closure.dressing")
    type_into_focus("x")
    window.undo()
    window.close()
    assert "Persephone" in draft.read_text(encoding="utf-8")


def test_window_stays_while_what_was_typed_can_not_be_kept(
    open_window: Opener, cases: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = open_window(cases, "case_a")
    window.go_to("closure.dressing")
    type_into_focus("x")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as full:
        full.setattr("os.fsync", refuse)
        assert not window.close()
        assert window.isVisible()
        assert "Not kept yet: " in Eyes(window).texts()
        assert button(window, "Close anyway").isVisible()
    assert window.close()


def no_room(*_: object) -> None:
    raise OSError(28, "No space left on device")


def test_what_cannot_be_kept_of_another_case_goes_on_being_said_and_is_kept_on_close(
    open_window: Opener, cases: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    window = open_window(cases, "case_a")
    qtbot.waitUntil(window.has_read_all, timeout=10_000)
    window.go_to("closure.dressing")
    type_into_focus("x")
    with monkeypatch.context() as full:
        full.setattr("os.fsync", no_room)
        window.open_case(cases / "case_b.json")
        assert "case_b" in str(window.current_path())
        assert "Not kept yet: " in Eyes(window).texts()
        assert "case_a" in Eyes(window).texts()
        window.go_to("closure.dressing")
        type_into_focus("x")
        assert not window.close()
    assert window.close()
    assert (cases / "case_a.draft.json").exists()
    assert (cases / "case_b.draft.json").exists()


def test_trying_again_keeps_the_case_that_was_named(
    open_window: Opener, cases: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    window = open_window(cases, "case_a")
    qtbot.waitUntil(window.has_read_all, timeout=10_000)
    window.go_to("closure.dressing")
    type_into_focus("x")
    with monkeypatch.context() as full:
        full.setattr("os.fsync", no_room)
        window.open_case(cases / "case_b.json")
    QTest.mouseClick(button(window, "Try again"), Qt.MouseButton.LeftButton)
    assert (cases / "case_a.draft.json").exists()
    assert "Not kept" not in Eyes(window).texts()


def test_a_draft_offered_is_not_written_over_on_close(
    open_window: Opener, cases: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    crash(cases / "case_a.json")
    window = open_window(cases, "case_a")
    qtbot.waitUntil(window.has_read_all, timeout=10_000)
    window.go_to("closure.dressing")
    type_into_focus("x")
    with monkeypatch.context() as full:
        full.setattr("os.fsync", no_room)
        window.open_case(cases / "case_b.json")
    window.close()
    kept = cases / "case_a_earlier_draft.json"
    assert "Persephone" in kept.read_text(encoding="utf-8")


def test_another_list_is_not_opened_over_what_cannot_be_kept(
    open_window: Opener, cases: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = open_window(cases, "case_a")
    window.go_to("closure.dressing")
    type_into_focus("x")
    typed = window.record()
    other = tmp_path / "other"
    other.mkdir()
    with monkeypatch.context() as full:
        full.setattr("os.fsync", no_room)
        window.open_folder(other)
        assert window.record() is typed
        assert "Not kept yet: " in Eyes(window).texts()
    QTest.mouseClick(button(window, "Try to open it again"), Qt.MouseButton.LeftButton)
    assert window.current_path() is None
    assert (cases / "case_a.draft.json").exists()


def test_a_window_can_be_closed_though_nothing_can_be_kept(
    open_window: Opener, cases: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = open_window(cases, "case_a")
    window.go_to("closure.dressing")
    type_into_focus("x")
    with monkeypatch.context() as full:
        full.setattr("os.fsync", no_room)
        assert not window.close()
        QTest.mouseClick(button(window, "Close anyway"), Qt.MouseButton.LeftButton)
        assert not window.isVisible()


def test_a_case_that_is_only_a_draft_is_not_saved(open_window: Opener, cases: Path) -> None:
    crash(cases / "case_a.json")
    (cases / "case_a.json").unlink()
    window = open_window(cases, "case_a")
    assert button(window, "Save").text() == "Save"
    type_into_focus("x")
    window.keeping.write_draft()
    window.undo()
    assert button(window, "Save").isEnabled()
    window.close()
    assert "Persephone" in (cases / "case_a.draft.json").read_text(encoding="utf-8")


def test_a_case_that_is_only_a_draft_is_saved_by_saving(open_window: Opener, cases: Path) -> None:
    crash(cases / "case_a.json")
    (cases / "case_a.json").unlink()
    window = open_window(cases, "case_a")
    window.keeping.save()
    assert button(window, "Save").text() == "Saved"
    assert not list(cases.glob("case_a.draft.json"))
    (saved,) = [path for path in cases.iterdir() if "Persephone" in path.read_text("utf-8")]
    assert not saved.name.endswith(".draft.json")


def test_a_look_at_a_draft_that_another_window_holds_closes_without_a_word(
    open_window: Opener, cases: Path
) -> None:
    crash(cases / "case_a.json")
    (cases / "case_a.json").unlink()
    draft = cases / "case_a.draft.json"
    stored = json.loads(draft.read_text(encoding="utf-8"))
    stored["computer"], stored["saved_at"] = "theatre-2", datetime.now().astimezone().isoformat()
    draft.write_text(json.dumps(stored), encoding="utf-8")
    window = open_window(cases, "case_a")
    assert window.close()
    type_into = open_window(cases, "case_a")
    type_into_focus("x")
    type_into.keeping.save()
    assert "open in another window on theatre-2" in Eyes(type_into).texts()
    assert json.loads(draft.read_text(encoding="utf-8"))["computer"] == "theatre-2"
    assert not type_into.close()
    QTest.mouseClick(button(type_into, "Close anyway"), Qt.MouseButton.LeftButton)


def test_each_new_case_is_another_however_soon_it_is_begun(window: Window, cases: Path) -> None:
    for letter in "ab":
        window.new_case()
        type_into_focus(letter)
    paths = [window.current_path()]
    assert window.record().value("patient.name") == "b"
    window.open_case(cases / "new_case.json")
    paths.append(window.current_path())
    assert window.record().value("patient.name") == "a"
    assert paths == [cases / "new_case_2.json", cases / "new_case.json"]


def test_a_folder_that_cannot_be_made_is_told(
    qtbot: QtBot, tmp_path: Path, pack_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("OPNOTE_CACHE", str(pack_cache))
    in_the_way = tmp_path / "file"
    in_the_way.write_text("", encoding="utf-8")
    settings = QSettings(str(tmp_path / "window.ini"), QSettings.Format.IniFormat)
    window = Window(settings, in_the_way / "new")
    qtbot.addWidget(window)
    window.show()
    window.new_case()
    assert f"{in_the_way / 'new'}" in Eyes(window).texts()
    assert "can't be used for new cases" in Eyes(window).texts()
    in_the_way.unlink()
    window.new_case()
    assert window.current_path() == in_the_way / "new" / "new_case.json"
    assert "can't be used" not in Eyes(window).texts()


def test_what_cannot_be_read_is_not_called_saved(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    window.go_to("tears.r2.length_mm")
    box = typist.focus()
    assert isinstance(box, QLineEdit)
    typist.type("38x")
    typist.press(Qt.Key.Key_S, CTRL)
    assert not [b for b in window.findChildren(QPushButton) if b.text() == "Saved"]
    assert "Saved, but not what can't be read: Length" in eyes.texts()
    window.show_page("patient")
    QTest.mouseClick(button(window, "Not all is read: Length"), Qt.MouseButton.LeftButton)
    assert typist.focus() is box
    typist.press(Qt.Key.Key_End)
    typist.press(Qt.Key.Key_Backspace)
    assert "can't be read" not in eyes.texts()
    typist.press(Qt.Key.Key_S, CTRL)
    assert button(window, "Saved").text() == "Saved"


def test_a_text_that_never_was_a_value_is_not_called_saved(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    window.go_to("tears.r2.length_mm")
    typist.press(Qt.Key.Key_Delete)
    window.keeping.save()
    typist.type("x")
    assert button(window, "Not all is read: Length").isEnabled()
    typist.press(Qt.Key.Key_Backspace)
    assert button(window, "Saved").text() == "Saved"


def test_closing_would_lose_what_cannot_be_read_and_says_so(
    window: Window, cases: Path, typist: Typist, eyes: Eyes
) -> None:
    window.go_to("tears.r2.length_mm")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.type("3x")
    lost = "what can't be read in Length (Mr Percival Thistlewick)"
    assert not window.close()
    assert f"The window stays open: closing it would lose {lost}." in eyes.texts()
    window.show_page("patient")
    button(window, "Go there").click()
    box = typist.focus()
    assert isinstance(box, QLineEdit)
    assert box.text() == "3x"
    window.open_folder(cases / "other")
    assert f"The list is not changed: it would lose {lost}." in eyes.texts()
    typist.press(Qt.Key.Key_Backspace)
    assert window.close()


def test_a_line_that_is_put_away_leaves_the_focus_where_one_types(
    window: Window, typist: Typist
) -> None:
    window.go_to("operation.unit")
    box = typist.focus()
    window.say("something", "Something happened.")
    QTest.mouseClick(button(window, "Close"), Qt.MouseButton.LeftButton)
    assert typist.focus() is box
    window.say("something", "Something happened.")
    button(window, "Close").setFocus()
    typist.press(Qt.Key.Key_Space)
    assert isinstance(typist.question(), FieldRow)


def test_undo_that_takes_an_unreadable_text_away_is_saved_again(
    window: Window, typist: Typist
) -> None:
    window.go_to("tears.r2.length_mm")
    typist.type("x")
    window.undo()
    assert button(window, "Saved").text() == "Saved"


def test_a_text_of_a_row_that_has_gone_is_not_missed(window: Window, typist: Typist) -> None:
    window.go_to("tears.r2.length_mm")
    typist.type("x")
    window.keeping.save()
    assert button(window, "Not all is read").isVisible()
    QTest.mouseClick(Eyes(window).control("Remove Tear"), Qt.MouseButton.LeftButton)
    window.keeping.save()
    assert button(window, "Saved").text() == "Saved"
