"""A time of day."""

from __future__ import annotations

from functools import partial
from typing import Final

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.line import LineEditor
from opnote.desk.editor.options import BURST_MS
from opnote.desk.reading import Reading, is_whole_time, read_time
from opnote.pack.form import Field

_CHARACTERS: Final = 7


class TimeEditor(LineEditor):
    """Answers a `time` field; a time that was typed to its last digit is the answer."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, _CHARACTERS)
        self._typed = ""
        self._is_new = False
        self.box.textEdited.connect(self._on_typed)

    def read(self, text: str) -> Reading:
        """Understand a text."""
        return read_time(text, self.surroundings.now().time())

    def _on_typed(self, text: str) -> None:
        """A time that is typed from its first digit on, not one that is corrected, may lead on."""
        before, self._typed = self._typed, text
        is_begun = len(text) == 1 and len(before) != 2
        self._is_new = is_begun or (self._is_new and text[:-1] == before)
        if self._is_new and is_whole_time(text):
            QTimer.singleShot(BURST_MS + 5, self, partial(self._on_time_stood, text))

    def _on_time_stood(self, text: str) -> None:
        """No other character has followed the last digit."""
        if self.box.text() == text and self.box.hasFocus():
            self._is_new = False
            self.answered.emit()
