"""Cases begun while no folder is open go where such cases are, beside those that are there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from opnote.desk.window import Window
from tests.desk.conftest import NOW, Eyes
from tests.desk.test_day import put_listed

LIST = "Name;Hospital number;Side;Date\nquill;TEST-quill;L;9/3/2026\nBo Quill;TEST-72;R;9/3/2026\n"


@pytest.fixture
def bare(
    qtbot: QtBot, tmp_path: Path, pack_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Window]:
    """A window without a folder, on a computer on which a case was begun before."""
    monkeypatch.setenv("OPNOTE_CACHE", str(pack_cache))
    (tmp_path / "new").mkdir()
    put_listed(tmp_path / "new", "quill")
    settings = QSettings(str(tmp_path / "window.ini"), QSettings.Format.IniFormat)
    window = Window(settings, tmp_path / "new", lambda: NOW)
    window.resize(1280, 720)
    window.show()
    qtbot.waitExposed(window)
    window.open_later(None)
    yield window
    window.lists.put_away()
    window.close()
    window.deleteLater()


def make_button(window: Window) -> QPushButton:
    """The button that makes the cases of a list."""
    buttons = [b for b in window.findChildren(QPushButton) if b.isVisible()]
    return next(b for b in buttons if b.text().replace("&", "").startswith("Make th"))


def test_a_list_makes_no_case_that_is_there_already(
    bare: Window, tmp_path: Path, qtbot: QtBot
) -> None:
    path = tmp_path / "day.csv"
    path.write_text(LIST, encoding="utf-8")
    bare.lists.read(path)
    make_button(bare).click()
    assert "still being read" in Eyes(bare).texts()
    qtbot.waitUntil(bare.has_read_all, timeout=20_000)
    assert "still being read" not in Eyes(bare).texts()
    assert make_button(bare).text().replace("&", "") == "Make this case"
    make_button(bare).click()
    old, new = sorted((tmp_path / "new").glob("*.json"), key=lambda case: case.name != "quill.json")
    assert old.name == "quill.json"
    assert new.stem.endswith("Bo_Quill")


def test_a_new_case_stands_beside_those_that_are_there(
    bare: Window, tmp_path: Path, qtbot: QtBot
) -> None:
    bare.new_case()
    begun = bare.current_path()
    assert begun == tmp_path / "new" / "new_case.json"
    qtbot.waitUntil(bare.has_read_all, timeout=20_000)
    assert bare.current_path() == begun
    assert {e.path.name for e in bare._left.cases.entries.items} == {
        "new_case.json",
        "quill.json",
    }
