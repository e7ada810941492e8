"""The window while a note is signed, and what a signed one looks like, for its drawings."""

from __future__ import annotations

from typing import Final, TypeVar

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QAbstractButton, QApplication, QTextBrowser, QWidget

from opnote.desk.stage import SMALL, Stage, State, settle, type_text


def _ready_to_sign(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    settle(600)
    stage.draw(f"state_ready_to_sign_{scheme}")
    stage.window.signing.ask()
    settle(100)
    stage.draw(f"state_sign_panel_{scheme}")
    _sign(stage, "right")
    stage.draw(f"state_sign_panel_wrong_side_{scheme}")
    with stage.large_text():
        stage.window.signing.ask()
        settle(100)
        stage.draw(f"state_sign_panel_150_{scheme}")


def _signed(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    settle(600)
    stage.window.signing.ask()
    _sign(stage, "left")
    settle(100)
    stage.window.show_page("patient")
    stage.draw(f"state_signed_{scheme}")
    stage.window.show_page("tears")
    stage.window.go_to("tears.r2.length_mm")
    stage.draw(f"state_signed_tears_{scheme}")
    _named("Add an addendum").click()
    type_text("The block has worn off. The foot lifts fully, feeling is as before.")
    _focus("Added by")
    type_text("Dr T. Thornquill")
    settle(100)
    stage.draw(f"state_signed_addendum_begun_{scheme}")
    _named("This is my name").click()
    _named("Sign the addendum").click()
    settle(300)
    stage.window.show_document("note")
    bar = _shown("Document", QTextBrowser).verticalScrollBar()
    bar.setValue(bar.maximum())
    stage.draw(f"state_signed_addendum_{scheme}")
    with stage.large_text():
        stage.draw(f"state_signed_addendum_150_{scheme}")


def _broken_seal(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    settle(600)
    stage.window.signing.ask()
    _sign(stage, "left")
    path = stage.folder / "case_a.json"
    path.write_text(path.read_text(encoding="utf-8").replace("38 mm", "33 mm"), encoding="utf-8")
    stage.window.open_folder(stage.folder, path)
    settle(2000)
    stage.draw(f"state_broken_seal_{scheme}")


def _sign(stage: Stage, side: str) -> None:
    _named(f"Which knee was operated on? {side.title()}").click()
    own = _named("This is my name")
    if not own.isChecked():
        own.click()
    _named("Sign the note").click()
    settle(300)


WidgetT = TypeVar("WidgetT", bound=QWidget)


def _shown(start: str, kind: type[WidgetT]) -> WidgetT:
    """The visible control whose name starts so."""
    found = [each for each in QApplication.allWidgets() if isinstance(each, kind)]
    return next(
        each
        for each in found
        if each.isVisible() and (each.accessibleName() or _words_of(each)).startswith(start)
    )


def _words_of(widget: QWidget) -> str:
    return widget.text() if isinstance(widget, QAbstractButton) else ""


def _named(start: str) -> QAbstractButton:
    return _shown(start, QAbstractButton)


def _focus(start: str) -> None:
    _shown(start, QWidget).setFocus()


SIGNING: Final[tuple[tuple[str, QSize, State], ...]] = (
    ("state_ready_to_sign state_sign_panel", SMALL, _ready_to_sign),
    ("state_signed", SMALL, _signed),
    ("state_broken_seal", SMALL, _broken_seal),
)
"""The states of signing by the beginnings of their drawings' names."""
