"""One answer out of several."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from PySide6.QtWidgets import QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.option_button import RadioOption
from opnote.desk.editor.options import Answer, OptionsEditor
from opnote.pack.form import Field
from opnote.record import UNSET, Unset, Value


class OneOfEditor(OptionsEditor[RadioOption]):
    """Buttons of which one is chosen; an arrow chooses as it goes."""

    answers_at_once: ClassVar[bool] = True

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, RadioOption)
        self._value: Value | Unset = UNSET

    def set_answers(self, answers: Sequence[Answer], lettered: bool) -> None:
        """Lay out the buttons and show the value on them."""
        super().set_answers(answers, lettered)
        self._show()

    def set_value(self, value: Value | Unset) -> None:
        """Show a value, unless it is the one that is shown."""
        if value != self._value or type(value) is not type(self._value):
            self._value = value
            self._show()

    def choose(self, index: int) -> None:
        """A person hit a button, by mouse or key."""
        self._value = self.answers[index].value
        self._show()
        self.value_edited.emit(self._value)

    def clear(self) -> None:
        """A person took the answer back."""
        if self._value is not UNSET:
            self._value = UNSET
            at = self.focused_index()
            self._show()
            self.put_tab_stop(max(at, 0))
            self.value_edited.emit(UNSET)

    def go(self, old: int, new: int) -> None:
        """An arrow chooses as it goes; a side that is recorded is only pointed away from.

        It takes Space to change that, so that no stray arrow turns a finished case round.
        """
        super().go(old, new)
        if not (self.field.deliberate and self._value is not UNSET):
            self.choose(new)

    def _show(self) -> None:
        values: list[Value | Unset] = [answer.value for answer in self.answers]
        chosen = values.index(self._value) if self._value in values else -1
        # A set of radio buttons can't be emptied while it is exclusive.
        for button in self.buttons:
            button.setAutoExclusive(False)
        for index, button in enumerate(self.buttons):
            button.setChecked(index == chosen)
        for button in self.buttons:
            button.setAutoExclusive(True)
        self.put_tab_stop(max(chosen, 0))


class ChoiceEditor(OneOfEditor):
    """Answers a `choice` or a `grade` field."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent)
        answers = [Answer(option.value, option.label, option.help) for option in field.options]
        self.set_answers(answers, lettered=not field.deliberate)
