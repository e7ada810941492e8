"""The first page can be typed into before the document and the findings beside it are there."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from pytestqt.qtbot import QtBot

from opnote.desk import workspace
from opnote.desk.page_list import PageList
from opnote.desk.paper import Paper
from opnote.desk.window import Window
from tests.desk.conftest import Eyes, Typist

Start = Callable[[], Window]


@pytest.fixture
def start(qtbot: QtBot, tmp_path: Path, pack_cache: Path, monkeypatch: pytest.MonkeyPatch) -> Start:
    """Makes a window in a process that has shown no paper yet."""
    monkeypatch.setenv("OPNOTE_CACHE", str(pack_cache))
    monkeypatch.setattr(workspace, "_is_loaded", lambda: False)

    def begin() -> Window:
        settings = QSettings(str(tmp_path / "window.ini"), QSettings.Format.IniFormat)
        window = Window(settings, tmp_path / "new", lambda: datetime(2026, 3, 9, 11, 30))
        window.resize(1280, 720)
        qtbot.addWidget(window)
        window.show()
        qtbot.waitExposed(window)
        window.activateWindow()
        return window

    return begin


def paper_of(window: Window) -> str:
    paper = window.findChild(Paper)
    return paper.toPlainText() if isinstance(paper, Paper) else ""


def test_what_is_typed_before_the_first_document_is_there_stands_in_it(
    start: Start, qtbot: QtBot, cases: Path
) -> None:
    window = start()
    seen: list[str] = []

    def type_at_once() -> None:
        window.go_to("team.surgeon")
        Typist().type(" Zzyzx")
        seen.append(paper_of(window))

    window.case_shown.connect(type_at_once)
    with qtbot.waitSignal(window.case_shown, timeout=20_000):
        window.open_folder(cases, cases / "case_a.json")
    assert seen == [""]
    assert str(window.record().values["team.surgeon"]).endswith("Zzyzx")
    qtbot.waitUntil(lambda: "Zzyzx" in paper_of(window), timeout=20_000)


def test_the_first_document_and_what_is_open_come_without_a_key(
    start: Start, qtbot: QtBot, cases: Path
) -> None:
    window = start()
    with qtbot.waitSignal(window.case_shown, timeout=20_000):
        window.open_folder(cases, cases / "case_a.json")
    surgeon = str(window.record().values["team.surgeon"])
    qtbot.waitUntil(lambda: surgeon in paper_of(window), timeout=20_000)
    qtbot.waitUntil(lambda: "Ready to sign" in Eyes(window).texts(), timeout=2000)


def test_pages_are_not_called_complete_before_it_is_known(
    start: Start, qtbot: QtBot, cases: Path
) -> None:
    window = start()
    said: list[set[str]] = []

    def look() -> None:
        pages = window.findChild(PageList)
        assert isinstance(pages, PageList)
        said.append({pages.item(row).toolTip() for row in range(pages.count())})

    window.case_shown.connect(look)
    with qtbot.waitSignal(window.case_shown, timeout=20_000):
        window.open_folder(cases, cases / "case_a.json")
    assert not any("complete" in words for words in said[0])
    qtbot.waitUntil(window.is_complete, timeout=20_000)
    look()
    assert any("complete" in words for words in said[1])


def test_asking_for_the_paper_before_it_is_there_brings_it(
    start: Start, qtbot: QtBot, cases: Path
) -> None:
    window = start()
    window.case_shown.connect(lambda: window.show_document("letter"))
    with qtbot.waitSignal(window.case_shown, timeout=20_000):
        window.open_folder(cases, cases / "case_a.json")
    assert "letter after the operation" in paper_of(window)
