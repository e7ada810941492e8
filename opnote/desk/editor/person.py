"""A person by name; the down arrow goes through the people of the case."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.line import LineEditor
from opnote.desk.reading import Reading, folded
from opnote.pack.form import Field
from opnote.record import UNSET

_CHARACTERS: Final = 30


class PersonEditor(LineEditor):
    """Answers a `person` field.

    Nothing unfolds and nothing is completed behind one's back: the arrows put a name of the case
    that holds what was typed into the box, where it is seen whole.
    """

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, _CHARACTERS)
        self._typed = ""

    def read(self, text: str) -> Reading:
        """Understand a text."""
        return Reading(text if text.strip() else UNSET)

    def refresh(self) -> None:
        """Say that there are names to choose from."""
        has_names = self.field.required and bool(self.surroundings.people())
        words = "\N{DOWNWARDS ARROW} a name of this case" if has_names else ""
        if words != self.box.placeholderText():
            self.box.setPlaceholderText(words)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Down and Up go through the names."""
        if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Up) and not event.modifiers() & _HELD:
            self._go(1 if event.key() == Qt.Key.Key_Down else -1)
        else:
            event.ignore()

    def _on_text_edited(self, text: str) -> None:
        self._typed = text
        super()._on_text_edited(text)

    def _go(self, step: int) -> None:
        text = self.box.text()
        wanted = folded(self._typed)
        names = [n for n in self.surroundings.people() if wanted in folded(n) and n != self._typed]
        if not names:
            return
        at = names.index(text) + step if text in names else 0 if step > 0 else -1
        name = names[at % len(names)]
        self.box.setText(name)
        super()._on_text_edited(name)


_HELD: Final = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
