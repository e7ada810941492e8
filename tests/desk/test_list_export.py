"""The documents of the whole list: how far it is, stopping, and what is told at the end."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from opnote.desk.window import Window
from tests.desk.conftest import Eyes, Typist


@pytest.fixture
def ready(window: Window, qtbot: QtBot) -> Window:
    """The window once every case of its list is read."""
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    return window


def stop_button(window: Window) -> QPushButton | None:
    buttons = [b for b in window.findChildren(QPushButton) if b.isVisible() and b.text() == "Stop"]
    return buttons[0] if buttons else None


def export(window: Window, folder: Path, qtbot: QtBot) -> None:
    with qtbot.waitSignal(window.writing.of_list.ended, timeout=60_000):
        window.writing.write_list_to(folder)


@pytest.mark.slow
def test_every_case_of_the_list_gets_its_documents(
    ready: Window, tmp_path: Path, qtbot: QtBot, typist: Typist, eyes: Eyes
) -> None:
    # What was typed and not saved yet is in them.
    ready.go_to("closure.dressing")
    typist.type("a seagreen wrap")
    out = tmp_path / "out"
    out.mkdir()
    export(ready, out, qtbot)
    stems = {path.name.partition(".")[0] for path in out.iterdir()}
    assert stems == {"case_a", "case_b", "case_c"}
    assert "seagreen" in (out / "case_a.note.txt").read_text(encoding="utf-8")
    count = len(list(out.iterdir()))
    assert f"{count} documents written to {out}; 3 of 3 cases whole." in eyes.texts()


def test_it_tells_how_far_it_is_and_stops_after_the_document_in_hand(
    ready: Window, tmp_path: Path, qtbot: QtBot, eyes: Eyes
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    said: list[str] = []

    def stop_when_told() -> bool:
        said.extend(line for line in eyes.texts().splitlines() if "of 3 cases" in line)
        button = stop_button(ready)
        if button is not None and any(out.iterdir()):
            button.click()
            return True
        return False

    with qtbot.waitSignal(ready.writing.of_list.ended, timeout=60_000):
        ready.writing.write_list_to(out)
        qtbot.waitUntil(stop_when_told, timeout=60_000)
    assert any(line.startswith("Writing the documents: ") for line in said)
    left = sorted(out.iterdir())
    assert left
    assert all(path.stat().st_size for path in left)
    assert not [path for path in left if path.name.startswith("case_c")]
    noun = "document" if len(left) == 1 else "documents"
    assert f"Stopped. {len(left)} {noun} written to {out};" in eyes.texts()
    assert stop_button(ready) is None


def test_a_folder_that_refuses_ends_it_with_the_reason(
    ready: Window, tmp_path: Path, qtbot: QtBot, eyes: Eyes
) -> None:
    export(ready, tmp_path / "missing", qtbot)
    assert "It could not go on:" in eyes.texts()
    assert "0 documents written" in eyes.texts()
    assert "--out" not in eyes.texts()


def test_a_case_that_cannot_be_read_is_named(
    open_window: Callable[[Path, str], Window],
    eyes_of: type[Eyes],
    cases: Path,
    tmp_path: Path,
    qtbot: QtBot,
) -> None:
    for stem in ("case_b", "case_c"):
        (cases / f"{stem}.json").unlink()
    (cases / "torn.json").write_text("{", encoding="utf-8")
    window = open_window(cases, "case_a")
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    out = tmp_path / "out"
    out.mkdir()
    export(window, out, qtbot)
    texts = eyes_of(window).texts()
    assert "1 of 1 cases whole. Left out, because it can't be read: torn." in texts
