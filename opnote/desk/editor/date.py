"""A day."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.line import LineEditor
from opnote.desk.reading import Reading, read_date
from opnote.pack.form import Field

_CHARACTERS: Final = 13


class DateEditor(LineEditor):
    """Answers a `date` field."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, _CHARACTERS)

    def read(self, text: str) -> Reading:
        """Understand a text."""
        return read_date(text, self.surroundings.now().date(), self.surroundings.habits)
