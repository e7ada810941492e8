"""Closing while documents are written or a list waits, and what is written twice."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from opnote.compose import formats
from opnote.desk.listing_pane import ListingPane
from opnote.desk.window import Window
from tests.desk.conftest import Eyes
from tests.desk.test_keeping import button

LIST = "Name;Hospital number;Side;Date\nAnn Quill;TEST-71;L;12/3/2026\n"


@pytest.fixture
def slow_disk(monkeypatch: pytest.MonkeyPatch) -> Iterator[Event]:
    """A disk that takes no document before the event is set."""
    free, write = Event(), formats.write_document

    def wait(*args: Any) -> None:
        assert free.wait(20)
        write(*args)

    monkeypatch.setattr(formats, "write_document", wait)
    yield free
    free.set()


@pytest.fixture
def out(tmp_path: Path) -> Path:
    folder = tmp_path / "out"
    folder.mkdir()
    return folder


Begin = Callable[[Window, Path], None]


def of_case(window: Window, folder: Path) -> None:
    window.writing.write_to(folder)


def of_list(window: Window, folder: Path) -> None:
    window.writing.write_list_to(folder)


def offered(window: Window) -> set[str]:
    return {b.text() for b in window.findChildren(QPushButton) if b.isVisible()}


@pytest.mark.parametrize("begin", [of_case, of_list])
def test_the_window_stays_while_documents_are_written(
    window: Window,
    slow_disk: Event,
    out: Path,
    eyes: Eyes,
    qtbot: QtBot,
    begin: Begin,
) -> None:
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    begin(window, out)
    assert not window.close()
    assert window.isVisible()
    assert "would lose documents that are still being written" in eyes.texts()
    button(window, "Stop and close").click()
    assert not window.isVisible()


def test_the_window_closes_once_the_documents_are_there(
    window: Window, slow_disk: Event, out: Path, eyes: Eyes, qtbot: QtBot
) -> None:
    window.writing.write_to(out)
    assert not window.close()
    with qtbot.waitSignal(window.writing.written, timeout=20_000):
        slow_disk.set()
    assert "The window stays open" not in eyes.texts()
    assert window.close()


@pytest.mark.parametrize("first", [of_case, of_list])
@pytest.mark.parametrize("second", [of_case, of_list])
def test_documents_are_not_written_twice_at_once(
    window: Window,
    slow_disk: Event,
    tmp_path: Path,
    out: Path,
    eyes: Eyes,
    qtbot: QtBot,
    first: Begin,
    second: Begin,
) -> None:
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    other = tmp_path / "other"
    other.mkdir()
    first(window, out)
    second(window, other)
    assert "Documents are still being written: ask again when they are there." in eyes.texts()
    slow_disk.set()
    qtbot.waitUntil(lambda: "still being written" not in eyes.texts(), timeout=60_000)
    assert "documents written to" in eyes.texts()
    assert any(out.iterdir())
    assert not any(other.iterdir())


def waiting_list(window: Window, tmp_path: Path) -> ListingPane:
    path = tmp_path / "day.csv"
    path.write_text(LIST, encoding="utf-8")
    window.lists.read(path)
    (pane,) = (p for p in window.findChildren(ListingPane) if p.isVisible())
    return pane


def test_a_list_that_waits_is_reached_from_a_folder_without_cases(
    window: Window, tmp_path: Path, out: Path, eyes: Eyes
) -> None:
    pane = waiting_list(window, tmp_path)
    window.open_folder(out)
    assert not pane.isVisible()
    assert "The list that was read waits to be made into cases." in eyes.texts()
    button(window, "Go back to it").click()
    assert pane.isVisible()
    window.lists.put_away()


def test_what_keeps_the_window_open_leads_to_the_list_that_waits(
    window: Window, tmp_path: Path, cases: Path, qtbot: QtBot
) -> None:
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    pane = waiting_list(window, tmp_path)
    assert not window.close()
    assert "Go back to it" not in offered(window)
    window.open_case(cases / "case_b.json")
    window.drop_notice("listing")
    assert not window.close()
    button(window, "Go back to it").click()
    assert pane.isVisible()
    window.lists.put_away()
