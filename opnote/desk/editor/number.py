"""A number, whole or with a unit."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.line import LineEditor
from opnote.desk.reading import Bounds, Reading, read_integer, read_quantity
from opnote.pack.form import Field

_CHARACTERS: Final = 7


class NumberEditor(LineEditor):
    """Answers an `integer` or a `quantity` field."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, _CHARACTERS)
        self._bounds = Bounds(field.least, field.most, field.unit)

    def read(self, text: str) -> Reading:
        """Understand a text."""
        if self.field.kind == "integer":
            return read_integer(text, self._bounds, self.surroundings.habits)
        return read_quantity(text, self._bounds, self.surroundings.habits)
