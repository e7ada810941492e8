"""The first page can be typed into before the document beside it is there."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from pytestqt.qtbot import QtBot

from opnote.desk.paper import Paper
from opnote.desk.window import Window
from tests.desk.conftest import Typist


def test_what_is_typed_before_the_first_document_is_there_stands_in_it(
    qtbot: QtBot, tmp_path: Path, pack_cache: Path, cases: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("OPNOTE_CACHE", str(pack_cache))
    settings = QSettings(str(tmp_path / "window.ini"), QSettings.Format.IniFormat)
    window = Window(settings, tmp_path / "new", lambda: datetime(2026, 3, 9, 11, 30))
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    window.activateWindow()
    seen: list[str] = []

    def type_at_once() -> None:
        paper = window.findChild(Paper)
        assert isinstance(paper, Paper)
        seen.append(paper.toPlainText())
        window.go_to("team.surgeon")
        Typist().type(" Zzyzx")
        seen.append(paper.toPlainText())

    window.case_shown.connect(type_at_once)
    with qtbot.waitSignal(window.case_shown, timeout=20_000):
        window.open_folder(cases, cases / "case_a.json")
    before, after = seen
    assert before == ""
    assert "Zzyzx" in after


def test_the_first_document_comes_without_a_key(
    qtbot: QtBot, tmp_path: Path, pack_cache: Path, cases: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("OPNOTE_CACHE", str(pack_cache))
    settings = QSettings(str(tmp_path / "window.ini"), QSettings.Format.IniFormat)
    window = Window(settings, tmp_path / "new", lambda: datetime(2026, 3, 9, 11, 30))
    qtbot.addWidget(window)
    window.show()
    with qtbot.waitSignal(window.case_shown, timeout=20_000):
        window.open_folder(cases, cases / "case_a.json")
    paper = window.findChild(Paper)
    assert isinstance(paper, Paper)
    surgeon = str(window.record().values["team.surgeon"])
    qtbot.waitUntil(lambda: surgeon in paper.toPlainText(), timeout=20_000)
