"""A line of free text."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.line import LineEditor
from opnote.desk.reading import Reading
from opnote.desk.spelling import LineMarks
from opnote.pack.form import Field
from opnote.record import UNSET

_CHARACTERS: Final = 32
_MOST: Final = 96


class TextEditor(LineEditor):
    """Answers a `text` field."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, _CHARACTERS, _MOST)
        if surroundings.spelling is not None:
            self._marks = LineMarks(self.box, surroundings.spelling)

    def read(self, text: str) -> Reading:
        """Understand a text."""
        return Reading(text if text.strip() else UNSET)
