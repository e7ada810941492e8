"""A day with its time."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.line import LineEditor
from opnote.desk.reading import Reading, read_datetime
from opnote.pack.form import Field

_CHARACTERS: Final = 20


class MomentEditor(LineEditor):
    """Answers a `datetime` field."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, _CHARACTERS)

    def read(self, text: str) -> Reading:
        """Understand a text."""
        return read_datetime(text, self.surroundings.now(), self.surroundings.habits)
