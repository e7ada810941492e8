"""A label, scanned as if by keyboard or pasted; it fills other columns of its row."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.line import LineEditor
from opnote.desk.reading import Reading
from opnote.pack.form import Field
from opnote.pack.scan import Scanned
from opnote.record import UNSET

_CHARACTERS: Final = 32
_MOST: Final = 48


class ScanEditor(LineEditor):
    """Answers a `scan` field."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, _CHARACTERS, _MOST)

    def read(self, text: str) -> Reading:
        """Any text is kept; whether it is a label is told by `show_scan`."""
        return Reading(text if text.strip() else UNSET)

    def show_scan(self, found: Scanned) -> None:
        """Say beside the box what became of the text."""
        self._say("read; look at what it filled" if found.values else "", found.fault)
