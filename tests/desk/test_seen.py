"""What is confirmed, or called normal, by one key has been wholly on screen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from opnote.desk.field_row import FieldRow
from opnote.desk.page import PageView
from opnote.desk.window import Window
from opnote.pack.cache import cached_pack
from opnote.pack.case import case_text, read_case
from opnote.pack.form import Page
from opnote.record import Origin
from tests.desk.conftest import CTRL, SAMPLES, Eyes, Typist

F8 = Qt.Key.Key_F8
MOST_PRESSES = 30


@pytest.fixture
def listed(open_window: Callable[[Path, str], Window], tmp_path: Path) -> Window:
    """A window on demo case A, each of whose values is said to come from a list."""
    record, pack = read_case((SAMPLES / "case_a.json").read_text("utf-8"), "case_a", cached_pack)
    record = record.with_changes(
        origins=dict.fromkeys(record.values, Origin.LISTED), confirmed=frozenset()
    )
    folder = tmp_path / "list"
    folder.mkdir()
    (folder / "case_a.json").write_text(case_text(record, pack.form), "utf-8")
    return open_window(folder, "case_a")


def page(window: Window) -> PageView:
    return next(p for p in window.findChildren(PageView) if p.isVisible())


def holds_pending(window: Window, page: Page) -> bool:
    tables = {path.partition(".")[0] for path in pending(window) if path.count(".") == 2}
    return any(f.path in pending(window) or f.path in tables for f in page.fields)


def is_whole(widget: QWidget, view: PageView) -> bool:
    corner = widget.mapTo(view.viewport(), widget.rect().topLeft())
    return view.viewport().rect().contains(widget.rect().translated(corner))


def whole(window: Window) -> set[str]:
    """The paths of the page whose answers nothing cuts off now."""
    view = page(window)
    rows = [row for row in view.findChildren(FieldRow) if row.isVisible()]
    return {r.path for r in rows if r.editor is not None and is_whole(r.editor, view)}


def pending(window: Window) -> set[str]:
    record = window.record()
    return {path for path in record.origins if record.is_unconfirmed(path)}


def test_no_key_confirms_what_was_not_wholly_on_screen(
    listed: Window, typist: Typist, qtbot: QtBot
) -> None:
    in_parts = set()
    pages = cached_pack(listed.record().procedures).form.pages
    for each in [p.id for p in pages if holds_pending(listed, p)]:
        listed.show_page(each)
        view = page(listed)
        shown: set[str] = set()
        for _ in range(MOST_PRESSES):
            qtbot.wait(1)  # painted
            shown |= whole(listed)
            before = pending(listed)
            typist.press(F8)
            assert before - pending(listed) <= shown, each
            if page(listed) is not view or not pending(listed):
                break
            in_parts.add(each)
        else:
            pytest.fail(f"{each} is never left")
    assert in_parts >= {"stability", "handover"}
    assert not pending(listed)


def test_confirming_leaves_what_is_cut_off(listed: Window, typist: Typist, qtbot: QtBot) -> None:
    listed.show_page("handover")
    qtbot.wait(1)
    shown = whole(listed)
    assert "handover.concern" not in shown
    before = pending(listed)
    typist.press(Qt.Key.Key_K, CTRL)
    assert "end.pulses" in before - pending(listed) <= shown


def test_what_is_cut_off_by_a_pixel_is_not_called_normal(
    window: Window, typist: Typist, qtbot: QtBot
) -> None:
    window.new_case()
    window.show_page("joint")
    view = page(window)
    row = view.question_at("joint.lateral")
    assert isinstance(row, FieldRow)
    assert row.editor is not None
    top = row.editor.mapTo(view.viewport(), row.editor.rect().topLeft()).y()
    view.setFixedHeight(top + row.editor.height() - 1)
    window.new_case()
    window.show_page("joint")
    qtbot.wait(1)
    view.verticalScrollBar().setValue(0)
    assert "joint.lateral" not in whole(window)
    typist.press(Qt.Key.Key_G, CTRL)
    values = window.record().values
    assert values["joint.medial"] == "normal"
    assert "joint.lateral" not in values


def test_the_key_stops_with_a_line_at_what_can_not_be_shown(
    window: Window, typist: Typist, eyes: Eyes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(PageView, "paths_on_screen", lambda view: iter(()))
    window.new_case()
    window.show_page("setup")
    view = page(window)
    for _ in range(2):
        typist.press(F8)
        assert page(window) is view
    assert "Position does not fit on the screen." in eyes.texts()
