"""A line of free text."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import QSizePolicy, QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.line import LineEditor
from opnote.desk.reading import Reading
from opnote.pack.form import Field
from opnote.record import UNSET

_CHARACTERS: Final = 44


class TextEditor(LineEditor):
    """Answers a `text` field."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, _CHARACTERS)
        self.box.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def read(self, text: str) -> Reading:
        """Understand a text."""
        return Reading(text if text.strip() else UNSET)
