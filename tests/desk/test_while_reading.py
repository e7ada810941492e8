"""Cases are read beside the work: none of them turns up where it was not asked for."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from opnote.desk.library import Library, ReadCase
from opnote.desk.window import Window
from tests.desk.conftest import CTRL, Eyes, Typist
from tests.desk.test_keeping import button, on_disk

Opener = Callable[[Path, str], Window]


class Gate:
    """Holds up the reading of cases until it is opened."""

    def __init__(self) -> None:
        self.open = Event()
        self.reached: dict[str, Event] = {}

    def reach(self, stem: str) -> Event:
        """Set once the worker has come to a case."""
        return self.reached.setdefault(stem, Event())


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Iterator[Gate]:
    """The case with which the window begins is read at once, all others wait."""
    gate, read = Gate(), Library.read

    def wait(library: Library, path: Path) -> ReadCase:
        gate.reach(path.stem).set()
        if path.stem != "case_a":
            assert gate.open.wait(20)
        return read(library, path)

    monkeypatch.setattr(Library, "read", wait)
    yield gate
    gate.open.set()


def listed(window: Window) -> list[Path]:
    return [entry.path for entry in window._left.cases.entries.items]


def test_cases_of_the_list_that_was_left_stay_out_of_the_new_one(
    open_window: Opener, cases: Path, tmp_path: Path, gate: Gate, qtbot: QtBot
) -> None:
    window = open_window(cases, "case_a")
    qtbot.waitUntil(gate.reach("case_b").is_set, timeout=20_000)
    other = tmp_path / "other"
    other.mkdir()
    shutil.copyfile(cases / "case_a.json", other / "case_a.json")
    gate.open.set()
    # The worker has handed over case B, but the window hasn't turned to it yet.
    assert gate.reach("case_c").wait(20)
    window.open_folder(other)
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    assert window.current_path() == other / "case_a.json"
    assert listed(window) == [other / "case_a.json"]
    assert [name for name, _ in window.known_cases()] == ["case_a.json"]


def test_an_unread_case_opens_when_it_is_read_and_says_so_meanwhile(
    open_window: Opener, cases: Path, gate: Gate, qtbot: QtBot
) -> None:
    window = open_window(cases, "case_a")
    window.open_case(cases / "case_b.json")
    assert "case_b is still being read" in Eyes(window).texts()
    assert window.current_path() == cases / "case_a.json"
    gate.open.set()
    qtbot.waitUntil(lambda: window.current_path() == cases / "case_b.json", timeout=20_000)
    assert "still being read" not in Eyes(window).texts()


@pytest.mark.parametrize("text", ["silk", "q"])
def test_an_unread_case_does_not_come_into_what_is_typed(
    open_window: Opener, cases: Path, gate: Gate, typist: Typist, qtbot: QtBot, text: str
) -> None:
    window = open_window(cases, "case_a")
    # A number can't be read from a letter: that is typing all the same.
    window.go_to("closure.dressing" if text == "silk" else "tears.r2.length_mm")
    window.open_case(cases / "case_b.json")
    typist.type(text)
    gate.open.set()
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    assert window.current_path() == cases / "case_a.json"
    assert "case_b is read now." in Eyes(window).texts()
    button(window, "Open it").click()
    assert window.current_path() == cases / "case_b.json"
    assert window.record() == on_disk(cases / "case_b.json")
    assert "is read now" not in Eyes(window).texts()


def test_choosing_the_open_case_again_calls_the_other_one_off(
    open_window: Opener, cases: Path, gate: Gate, qtbot: QtBot
) -> None:
    window = open_window(cases, "case_a")
    window.open_case(cases / "case_b.json")
    window.open_case(cases / "case_a.json")
    assert "still being read" not in Eyes(window).texts()
    gate.open.set()
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    assert window.current_path() == cases / "case_a.json"


def test_a_broken_case_leaves_the_open_one_on_screen(
    open_window: Opener, cases: Path, gate: Gate, typist: Typist, qtbot: QtBot
) -> None:
    torn = cases / "torn.json"
    torn.write_text("{", encoding="utf-8")
    window = open_window(cases, "case_a")
    window.go_to("closure.dressing")
    window.open_case(torn)
    gate.open.set()
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    eyes = Eyes(window)
    assert "torn.json" in eyes.texts()
    assert "still being read" not in eyes.texts()
    box = QApplication.focusWidget()
    assert box is not None
    assert box.isVisible()
    typist.press(Qt.Key.Key_End)
    typist.type("q")
    typist.press(Qt.Key.Key_S, CTRL)
    assert str(on_disk(cases / "case_a.json").value("closure.dressing")).endswith("q")


def test_a_broken_case_says_why_whenever_it_is_chosen(
    open_window: Opener, cases: Path, qtbot: QtBot
) -> None:
    (cases / "torn.json").write_text("{", encoding="utf-8")
    window = open_window(cases, "case_a")
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    for other in ("case_b", "case_a"):
        window.open_case(cases / "torn.json")
        assert "torn.json" in Eyes(window).texts()
        assert window._left.cases.currentIndex().row() == listed(window).index(
            window.current_path() or Path()
        )
        window.open_case(cases / f"{other}.json")
        assert "torn.json" not in Eyes(window).texts()
