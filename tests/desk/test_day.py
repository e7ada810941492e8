"""The end of the list: what each case lacks, the next unfinished one, and what is carried over."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, time
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QListView
from pytestqt.qtbot import QtBot

from opnote.desk.window import Window
from opnote.pack.cache import cached_pack
from opnote.pack.case import case_text, read_case
from opnote.record import Origin, Record, Value, set_values
from tests.desk.conftest import CTRL, Eyes, Typist
from tests.desk.test_keeping import button, crash

Opener = Callable[[Path, str], Window]
DAY = date(2026, 3, 9)  # that of demo case A


@pytest.fixture(autouse=True)
def _one_cache(pack_cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("OPNOTE_CACHE", str(pack_cache))


def put_listed(folder: Path, stem: str, more: Mapping[str, Value] | None = None) -> Path:
    """A case of which only the list is known."""
    values: dict[str, Value] = {
        "patient.name": stem,
        "patient.number": f"TEST-{stem}",
        "side": "left",
        "operation.date": DAY,
    }
    pack = cached_pack(("meniscal_repair",))
    record = set_values({**values, **(more or {})}, "", Origin.LISTED).apply(pack.new_record())
    path = folder / f"{stem}.json"
    path.write_text(case_text(record, pack.form), encoding="utf-8")
    return path


def heard(window: Window, stem: str) -> str:
    """What a screen reader says of a case in the list."""
    (view,) = (v for v in window.findChildren(QListView) if v.accessibleName() == "Theatre list")
    model = view.model()
    for row in range(model.rowCount()):
        words = str(model.index(row, 0).data(Qt.ItemDataRole.AccessibleTextRole))
        if words.startswith(stem):
            return words
    raise AssertionError(f"{stem} is not in the list")


def all_read(window: Window, qtbot: QtBot) -> None:
    qtbot.waitUntil(window.has_read_all, timeout=20_000)


# What each case lacks


def test_a_case_says_what_it_lacks(window: Window, typist: Typist, qtbot: QtBot) -> None:
    all_read(window, qtbot)
    assert heard(window, "Mr Percival").endswith("Left, ready")
    window.go_to("closure.dressing")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.press(Qt.Key.Key_Delete)
    assert heard(window, "Mr Percival").endswith("1 open: dressing")


def test_a_case_of_the_list_is_not_begun_and_says_when_it_comes(
    open_window: Opener, cases: Path, qtbot: QtBot
) -> None:
    put_listed(cases, "Quill", {"listed.order": 2, "listed.time": time(9, 15)})
    window = open_window(cases, "case_a")
    all_read(window, qtbot)
    words = heard(window, "Quill")
    assert words.startswith("Quill, Left, listed 2 at 09:15, not begun, ")
    assert " to confirm" in words or " more" in words


def test_a_waiting_draft_is_marked_until_it_is_answered(
    open_window: Opener, cases: Path, qtbot: QtBot
) -> None:
    crash(cases / "case_a.json")
    window = open_window(cases, "case_b")
    all_read(window, qtbot)
    assert ", draft waiting, " in heard(window, "Mr Percival")
    assert "draft" not in heard(window, "Ms Zinnia")
    window.open_case(cases / "case_a.json")
    button(window, "Throw it away").click()
    assert "draft" not in heard(window, "Mr Percival")


def test_a_case_that_cannot_be_read_says_so(open_window: Opener, cases: Path, qtbot: QtBot) -> None:
    (cases / "broken.json").write_text("{", encoding="utf-8")
    window = open_window(cases, "case_a")
    all_read(window, qtbot)
    assert heard(window, "broken") == "broken, can't be read"


def test_a_list_that_begins_with_a_broken_case_opens_at_the_next(
    open_window: Opener, cases: Path, qtbot: QtBot
) -> None:
    (cases / "a_broken.json").write_text("{", encoding="utf-8")
    window = open_window(cases, "case_b")
    all_read(window, qtbot)
    window.open_folder(cases)
    qtbot.waitUntil(lambda: window.current_path() == cases / "case_a.json", timeout=20_000)
    assert heard(window, "a_broken") == "a_broken, can't be read"


# The next unfinished case


def test_ctrl_l_goes_to_the_first_open_question_of_the_next_unfinished_case(
    open_window: Opener, cases: Path, typist: Typist, qtbot: QtBot
) -> None:
    put_listed(cases, "quill")  # after the three demo cases, which are ready
    window = open_window(cases, "case_a")
    all_read(window, qtbot)
    typist.press(Qt.Key.Key_L, CTRL)
    assert window.current_path() == cases / "quill.json"
    assert typist.focus().accessibleName().startswith("Name")


def test_what_was_typed_is_kept_on_the_way(
    open_window: Opener, cases: Path, typist: Typist, qtbot: QtBot
) -> None:
    put_listed(cases, "quill")
    window = open_window(cases, "case_a")
    all_read(window, qtbot)
    window.go_to("closure.dressing")
    typist.type("x")
    typist.press(Qt.Key.Key_L, CTRL)
    assert (cases / "case_a.draft.json").exists()


def test_it_goes_round_the_list(
    open_window: Opener, cases: Path, typist: Typist, qtbot: QtBot
) -> None:
    put_listed(cases, "a_first")
    window = open_window(cases, "case_b")
    all_read(window, qtbot)
    typist.press(Qt.Key.Key_L, CTRL)
    assert window.current_path() == cases / "a_first.json"


def test_it_says_when_no_case_is_left(window: Window, typist: Typist, qtbot: QtBot) -> None:
    all_read(window, qtbot)
    typist.press(Qt.Key.Key_L, CTRL)
    assert window.current_path() is not None
    assert "Every case of this list is ready." in Eyes(window).texts()


def test_it_says_when_this_is_the_last_one(
    window: Window, typist: Typist, qtbot: QtBot, eyes: Eyes
) -> None:
    all_read(window, qtbot)
    window.go_to("closure.dressing")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.press(Qt.Key.Key_Delete)
    typist.press(Qt.Key.Key_L, CTRL)
    assert "this is the last one" in eyes.texts()


# Carried over


def on_disk(path: Path) -> Record:
    return read_case(path.read_text(encoding="utf-8"), path.name, cached_pack)[0]


def test_the_next_case_of_the_day_has_the_team_to_confirm(
    open_window: Opener, cases: Path, typist: Typist, qtbot: QtBot, eyes_of: type[Eyes]
) -> None:
    put_listed(cases, "quill")
    window = open_window(cases, "case_a")
    all_read(window, qtbot)
    surgeon = window.record().value("team.surgeon")
    window.open_case(cases / "quill.json")
    record = window.record()
    assert record.value("team.surgeon") == surgeon
    assert record.is_unconfirmed("team.surgeon")
    assert record.origin("team.surgeon") is Origin.CARRIED_OVER
    texts = eyes_of(window).texts()
    assert "Carried over from the case of Mr Percival Thistlewick: Hospital, Surgeon" in texts
    window.go_to("team.surgeon")
    assert eyes_of(window).controls("Confirm Surgeon, carried over")


def test_undo_takes_it_all_back_in_one_step_and_says_what_it_is(
    open_window: Opener, cases: Path, typist: Typist, qtbot: QtBot, eyes_of: type[Eyes]
) -> None:
    path = put_listed(cases, "quill")
    window = open_window(cases, "case_a")
    all_read(window, qtbot)
    window.open_case(path)
    assert button(window, "Undo carrying over from the last case").isEnabled()
    typist.press(Qt.Key.Key_Z, CTRL)
    assert window.record() == on_disk(path)
    assert "Carried over" not in eyes_of(window).texts()
    window.open_case(cases / "case_a.json")
    window.open_case(path)
    assert "team.surgeon" not in window.record().values


def test_what_the_list_said_stays(open_window: Opener, cases: Path, qtbot: QtBot) -> None:
    path = put_listed(cases, "quill", {"team.surgeon": "Mr Other"})
    window = open_window(cases, "case_a")
    all_read(window, qtbot)
    window.open_case(path)
    assert window.record().value("team.surgeon") == "Mr Other"
    assert window.record().origin("team.surgeon") is Origin.LISTED
    assert "team.anaesthetist" in window.record().values


def test_a_case_of_another_day_gets_nothing(open_window: Opener, cases: Path, qtbot: QtBot) -> None:
    path = put_listed(cases, "quill", {"operation.date": date(2026, 3, 10)})
    window = open_window(cases, "case_a")
    all_read(window, qtbot)
    window.open_case(path)
    assert window.record() == on_disk(path)


def test_a_case_that_was_begun_gets_nothing(
    open_window: Opener, cases: Path, typist: Typist, qtbot: QtBot
) -> None:
    path = put_listed(cases, "quill")
    window = open_window(cases, "quill")
    all_read(window, qtbot)
    window.go_to("team.scrub")
    typist.type("S. Crub")
    window.open_case(cases / "case_a.json")
    window.open_case(path)
    assert "team.surgeon" not in window.record().values


def test_a_look_at_a_case_with_a_draft_leaves_the_draft_as_it_is(
    open_window: Opener, cases: Path, qtbot: QtBot, eyes_of: type[Eyes]
) -> None:
    path = put_listed(cases, "quill")
    leave_draft(path)
    draft = cases / "quill.draft.json"
    before = draft.read_bytes()
    window = open_window(cases, "case_a")
    all_read(window, qtbot)
    window.open_case(path)
    assert "newer draft of this case" in eyes_of(window).texts()
    qtbot.wait(700)  # longer than it takes to put something typed on disk
    window.open_case(cases / "case_a.json")
    assert not (cases / "quill_earlier_draft.json").exists()
    assert draft.read_bytes() == before


@pytest.mark.parametrize("answer", ["Use it", "Throw it away"])
def test_the_team_is_carried_over_once_the_draft_is_answered(
    open_window: Opener, cases: Path, qtbot: QtBot, eyes_of: type[Eyes], answer: str
) -> None:
    path = put_listed(cases, "quill")
    leave_draft(path)
    window = open_window(cases, "case_a")
    all_read(window, qtbot)
    window.open_case(path)
    assert "team.surgeon" not in window.record().values
    button(window, answer).click()
    assert window.record().origin("team.surgeon") is Origin.CARRIED_OVER
    name = {"Use it": "quench", "Throw it away": "quill"}[answer]
    assert window.record().value("patient.name") == name
    assert "Carried over from the case of" in eyes_of(window).texts()


def leave_draft(path: Path) -> None:
    """Another process puts a draft of a listed case beside it and ends."""
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("quill", "Percival"), encoding="utf-8")
    crash(path)
    draft = path.with_name(f"{path.stem}.draft.json")
    stored = draft.read_text(encoding="utf-8").replace("Persephone", "quench")
    draft.write_text(stored, encoding="utf-8")
    path.write_text(text, encoding="utf-8")
