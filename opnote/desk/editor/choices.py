"""Several answers, some of which stand alone."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.option_button import CheckOption
from opnote.desk.editor.options import Answer, OptionsEditor
from opnote.pack.form import Field
from opnote.record import UNSET, Unset, Value


class ChoicesEditor(OptionsEditor[CheckOption]):
    """Answers a `choices` field; an exclusive answer takes the others away, and they it."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, CheckOption)
        self._chosen: tuple[str, ...] = ()
        answers = [Answer(option.value, option.label, option.help) for option in field.options]
        self.set_answers(answers, lettered=not field.deliberate)

    def set_value(self, value: Value | Unset) -> None:
        """Show a value, unless it is the one that is shown."""
        chosen = value if isinstance(value, tuple) else ()
        if chosen != self._chosen:
            self._chosen = chosen
            self._show()

    def choose(self, index: int) -> None:
        """A person hit a button, by mouse or key."""
        value = str(self.answers[index].value)
        if value in self._chosen:
            kept = set(self._chosen) - {value}
        elif value in self.field.exclusive:
            kept = {value}
        else:
            kept = {*self._chosen, value} - set(self.field.exclusive)
        self._take(kept)

    def clear(self) -> None:
        """A person took the answer back."""
        self._take(set())

    def _take(self, kept: set[str]) -> None:
        self._chosen = tuple(o.value for o in self.field.options if o.value in kept)
        self._show()
        self.value_edited.emit(self._chosen or UNSET)

    def _show(self) -> None:
        for button, answer in zip(self.buttons, self.answers, strict=True):
            button.setChecked(answer.value in self._chosen)
