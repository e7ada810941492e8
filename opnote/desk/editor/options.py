"""A row of buttons, of which one has the tab stop: arrows go on, letters choose."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import ClassVar, Final, Generic, TypeVar

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from opnote.desk.editor.editor import Editor, Surroundings
from opnote.desk.editor.option_button import CheckOption, RadioOption, letters_for
from opnote.desk.flow import FlowLayout
from opnote.pack.form import Field
from opnote.record import Value

ButtonT = TypeVar("ButtonT", RadioOption, CheckOption)

BURST_MS: Final = 60
"""Characters that follow one another faster than this come from a scanner or from dictation."""

_ON = (Qt.Key.Key_Right, Qt.Key.Key_Down)
_BACK = (Qt.Key.Key_Left, Qt.Key.Key_Up)
_PRESSES = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier


def _milliseconds(event: QKeyEvent) -> float:
    """When a key was pressed, which may be long before it is dealt with; else the time now."""
    return event.timestamp() or time.monotonic() * 1000


@dataclass(frozen=True, slots=True)
class Answer:
    """What one button stands for."""

    value: Value
    label: str
    help: str = ""


class OptionsEditor(Editor, Generic[ButtonT]):
    """The buttons and their keys; what a choice means is up to the kind.

    `answers_at_once` says that one button is the whole answer; else those that stand alone are.
    """

    answers_at_once: ClassVar[bool] = False

    def __init__(
        self, field: Field, surroundings: Surroundings, parent: QWidget, made_of: type[ButtonT]
    ) -> None:
        super().__init__(field, surroundings, parent)
        self.answers: list[Answer] = []
        self.buttons: list[ButtonT] = []
        self._letters: list[str] = []
        self._made_of: type[ButtonT] = made_of
        self._spoken = ("", "")
        self._quiet = False
        self._last_character = float("-inf")
        self._chose = False
        self._letters_typed = 0
        self.flow = FlowLayout(self)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def set_answers(self, answers: Sequence[Answer], lettered: bool) -> None:
        """Lay out the buttons; those that exist already are kept."""
        self._letters = letters_for(a.label for a in answers) if lettered else [""] * len(answers)
        for button in self.buttons[len(answers) :]:
            self.flow.removeWidget(button)
            button.setParent(None)
            button.deleteLater()
        del self.buttons[len(answers) :]
        self.answers = list(answers)
        for index, answer in enumerate(answers):
            if index < len(self.buttons):
                self.buttons[index].setText(answer.label)
                self.buttons[index].updateGeometry()
                continue
            button = self._made_of(answer.label, self._letters[index], self)
            button.setToolTip(answer.help)
            button.clicked.connect(self._on_clicked)
            self.flow.addWidget(button)
            button.setVisible(True)
            self.buttons.append(button)
        self.put_tab_stop(0)
        self.set_spoken(*self._spoken)

    def choose(self, index: int) -> None:
        """A person hit a button, by mouse or key."""
        raise NotImplementedError

    def clear(self) -> None:
        """A person took the answer back."""
        raise NotImplementedError

    def set_quiet(self, quiet: bool) -> None:
        """Show the value in a lighter ink, or in the usual one."""
        if quiet == self._quiet:
            return
        self._quiet = quiet
        for button in self.buttons:
            button.set_quiet(quiet)

    def set_spoken(self, name: str, description: str) -> None:
        """Name each button by the question and its answer."""
        self._spoken = (name, description)
        for button, answer in zip(self.buttons, self.answers, strict=True):
            button.setAccessibleName(f"{name}: {answer.label}")
            button.setAccessibleDescription(f"{answer.help} {description}".strip())

    def controls(self) -> Sequence[QWidget]:
        """The widgets that take the focus, in order."""
        return self.buttons

    def buddy(self) -> QWidget:
        """The button that Tab comes to."""
        tab_stop = [b for b in self.buttons if b.focusPolicy() & Qt.FocusPolicy.TabFocus]
        return tab_stop[0] if tab_stop else self

    def put_tab_stop(self, at: int) -> None:
        """Tab comes to this button; the others are reached by arrows."""
        for index, button in enumerate(self.buttons):
            stops = index == at
            button.setFocusPolicy(
                Qt.FocusPolicy.StrongFocus if stops else Qt.FocusPolicy.ClickFocus
            )

    def _on_clicked(self) -> None:
        hit = self.sender()
        index = next(i for i, button in enumerate(self.buttons) if button is hit)
        self.put_tab_stop(index)
        self.choose(index)

    def focused_index(self) -> int:
        """Which button has the focus; -1 for none."""
        return next((i for i, button in enumerate(self.buttons) if button.hasFocus()), -1)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Answer the keys that it knows, leave the others to what is around it."""
        at = self.focused_index()
        key = event.key()
        if self._is_in_burst(event):
            self._take_back()
            self._last_character = _milliseconds(event)
        elif at < 0 or event.modifiers() & _PRESSES:
            event.ignore()
        elif key in _ON or key in _BACK:
            self.go(at, self._beside(at, 1 if key in _ON else -1))
        elif key == Qt.Key.Key_Space:
            self._choose_by_key(at, event)
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.clear()
        elif event.text() and event.text().lower() in self._letters:
            index = self._letters.index(event.text().lower())
            self._focus(index)
            self._choose_by_key(index, event)
            stands_alone = self.answers[index].value in self.field.exclusive
            if self.answers_at_once or (stands_alone and self.buttons[index].isChecked()):
                self._letters_typed += 1
                QTimer.singleShot(
                    BURST_MS + 5, self, partial(self._on_letter_stood, self._letters_typed)
                )
        else:
            event.ignore()

    def _on_letter_stood(self, letter: int) -> None:
        """No burst has followed a letter: it was meant. Whoever has gone elsewhere stays there."""
        if self._chose and letter == self._letters_typed and self.focused_index() >= 0:
            self.answered.emit()

    def _choose_by_key(self, index: int, event: QKeyEvent) -> None:
        self._chose = True
        self.choose(index)
        # Without the time of the press, the time that the choice took is no pause.
        self._last_character = _milliseconds(event)

    def _is_in_burst(self, event: QKeyEvent) -> bool:
        """True for a character that follows another at once, which nobody meant for this."""
        if event.key() in (*_ON, *_BACK):
            self._last_character = float("-inf")
        if event.modifiers() & _PRESSES or not event.text() or not event.text().isprintable():
            return False
        if event.isAutoRepeat():
            return True
        before, self._last_character = self._last_character, _milliseconds(event)
        if self._last_character - before < BURST_MS:
            return True
        self._chose = False
        return False

    def _take_back(self) -> None:
        """The first character of a burst was not meant either."""
        if self._chose:
            self._chose = False
            self.taken_back.emit()

    def _beside(self, at: int, step: int) -> int:
        """Where an arrow leads: round the end, but never from left to right by the left arrow."""
        if self.field.deliberate:
            return max(0, min(len(self.buttons) - 1, at + step))
        return (at + step) % len(self.buttons)

    def go(self, old: int, new: int) -> None:
        """An arrow went from one button to another."""
        self._focus(new)

    def _focus(self, index: int) -> None:
        self.put_tab_stop(index)
        self.buttons[index].setFocus(Qt.FocusReason.OtherFocusReason)
