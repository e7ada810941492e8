"""The lines above the pages and the plain grounds behind them, for looking at.

Each is brought about as a person would, so that its words and its buttons are those of the window.
"""

from __future__ import annotations

import json
from typing import Final

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QLabel

from opnote.archive import TheatreList
from opnote.desk.stage import NOW, SMALL, Stage, State, press, settle, type_text, wait_for
from opnote.desk.state_case import EMPTY, HALF_FILLED, LIST

_CTRL: Final = Qt.KeyboardModifier.ControlModifier


def _says(stage: Stage, words: str) -> bool:
    labels = stage.window.findChildren(QLabel)
    return any(words in label.text() for label in labels if label.isVisible())


def _practices(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    stage.window.show_page("patient")
    press(Qt.Key.Key_U, _CTRL)
    stage.draw(f"state_practice_none_{scheme}")
    stage.choose("Keep as usual practice")
    stage.draw(f"state_practice_kept_{scheme}")
    stage.choose("Keep as usual practice")
    stage.draw(f"state_practice_replace_{scheme}")
    stage.window.new_case()
    stage.draw(f"state_practice_offered_{scheme}")
    with stage.large_text():
        stage.draw(f"state_practice_offered_text_150_{scheme}")
    press(Qt.Key.Key_U, _CTRL)
    stage.window.show_page("setup")
    stage.draw(f"state_practice_filled_in_{scheme}")


def _saving(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    path = stage.folder / "case_a.json"
    changed = path.read_text(encoding="utf-8").replace("Percival", "Peregrine")
    path.write_text(changed, encoding="utf-8")
    stage.replace("closure.dressing", "Padding")
    stage.window.keeping.save()
    stage.draw(f"state_changed_elsewhere_{scheme}")
    with stage.large_text():
        stage.draw(f"state_changed_elsewhere_text_150_{scheme}")
    stage.click("Save beside it")
    stage.draw(f"state_saved_beside_{scheme}")
    stage.replace("theatre.end", "quarter to")
    stage.window.keeping.save()
    stage.draw(f"state_saved_but_unread_{scheme}")


def _drafts(stage: Stage, scheme: str) -> None:
    path = stage.folder / "case_a.json"
    text = path.read_text(encoding="utf-8").replace("Percival", "Persephone")
    early = NOW.replace(hour=10, minute=41).astimezone()
    TheatreList(stage.folder, lambda: early).write_draft(path, text)
    draft = path.with_name("case_a.draft.json")
    kept = json.loads(draft.read_text(encoding="utf-8"))
    # Of a window that has crashed.
    draft.write_text(json.dumps({**kept, "token": "gone", "process": 1}), encoding="utf-8")
    stage.open("case_a")
    stage.draw(f"state_draft_offered_{scheme}")
    stage.replace("closure.dressing", "Padding")
    stage.window.keeping.write_draft()
    stage.draw(f"state_draft_kept_{scheme}")


def _closing(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    path = stage.home / "day.csv"
    path.write_text(LIST, encoding="utf-8")
    stage.window.lists.read(path)
    stage.window.open_case(stage.folder / "case_b.json")
    stage.draw(f"state_list_waits_{scheme}")
    stage.window.close()
    stage.draw(f"state_close_{scheme}")
    with stage.large_text():
        stage.draw(f"state_close_text_150_{scheme}")
    stage.window.lists.put_away()


def _writing(stage: Stage, scheme: str) -> None:
    window, out = stage.window, stage.home / "written"
    stage.open("case_a")
    window.writing.write_to(stage.home / "no such folder")
    wait_for(lambda: _says(stage, "can't be written"))
    stage.draw(f"state_not_written_{scheme}")
    out.mkdir()
    (stage.folder / "torn.json").write_text("{", encoding="utf-8")
    window.open_folder(stage.folder, stage.folder / "case_a.json")
    settle()
    wait_for(window.has_read_all)
    window.writing.write_list_to(out)
    stage.draw(f"state_writing_list_{scheme}")
    window.writing.write_to(out)
    stage.draw(f"state_still_writing_{scheme}")
    window.close()
    stage.draw(f"state_close_while_writing_{scheme}")
    stage.click("Stop")
    stage.draw(f"state_stopping_{scheme}")
    wait_for(lambda: not window.writing.of_list.is_running)
    settle()
    stage.draw(f"state_list_written_{scheme}")
    window.open_case(stage.folder / "torn.json")
    stage.draw(f"state_torn_case_{scheme}")


def _giving(stage: Stage, scheme: str) -> None:
    stage.open(EMPTY)
    stage.window.writing.give_sheet()
    stage.draw(f"state_sheet_not_ready_{scheme}")
    stage.open("case_a")
    stage.window.writing.give_sheet()
    stage.draw(f"state_give_sheet_{scheme}")
    press(Qt.Key.Key_A, _CTRL)
    type_text("31/2/26")
    press(Qt.Key.Key_Return)
    stage.draw(f"state_give_sheet_wrong_{scheme}")
    with stage.large_text():
        stage.draw(f"state_give_sheet_text_150_{scheme}")


def _going(stage: Stage, scheme: str) -> None:
    window = stage.window
    stage.open(HALF_FILLED)
    window.show_page("patient")
    stage.choose("The rest of the page is normal")
    stage.draw(f"state_nothing_normal_{scheme}")
    QGuiApplication.clipboard().clear()
    window.lists.paste()
    window.open_folder(stage.home / "no such folder")
    window.show_document("map")
    window.writing.look_before_printing()
    stage.draw(f"state_several_lines_{scheme}")
    wait_for(lambda: window.writing.printing.preview is not None)
    settle()
    assert window.writing.printing.preview is not None
    window.writing.printing.preview.close()


def _grounds(stage: Stage, scheme: str) -> None:
    window = stage.window
    window.open_later(None)
    stage.draw(f"state_no_list_{scheme}")
    window.open_folder(stage.home / "no such folder")
    stage.draw(f"state_no_folder_{scheme}")
    torn = stage.folder / "torn.json"
    torn.write_text("{", encoding="utf-8")
    window.open_folder(stage.folder, shows_first=False)
    wait_for(window.has_read_all)
    stage.draw(f"state_choose_a_case_{scheme}")
    window.open_folder(stage.folder, torn)
    wait_for(lambda: _says(stage, "This case can't be read."))
    stage.draw(f"state_torn_at_first_{scheme}")


def _many(stage: Stage, scheme: str) -> None:
    """What leaves the cases as they were on disk, in one window."""
    for draw in (_giving, _going, _practices, _closing):
        draw(stage, scheme)


NOTICES: Final[tuple[tuple[str, QSize, State], ...]] = (
    (
        "state_sheet_not_ready state_give state_nothing_normal state_several state_practice"
        " state_list_waits state_close",
        SMALL,
        _many,
    ),
    ("state_changed_elsewhere state_saved", SMALL, _saving),
    ("state_draft", SMALL, _drafts),
    (
        "state_not_written state_writing state_still state_close_while state_stopping"
        " state_list_written state_torn_case",
        SMALL,
        _writing,
    ),
    ("state_no_list state_no_folder state_choose state_torn_at_first", SMALL, _grounds),
)
"""The lines above the pages by the beginnings of their drawings' names."""
