"""A letter that stands alone: one that others follow at once comes from a scanner, not a person."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QKeyEvent

from opnote.desk.editor.options import BURST_MS


class LoneLetter(QObject):
    """Waits whether another character follows a letter.

    Signals: meant(letter), in lower case, when none has.
    """

    meant = Signal(str)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._count = 0

    def take(self, event: QKeyEvent) -> None:
        """A character was typed."""
        self._count += 1
        letter = event.text().lower()
        QTimer.singleShot(BURST_MS + 5, self, partial(self._on_stood, letter, self._count))

    def _on_stood(self, letter: str, count: int) -> None:
        if count == self._count:  # the last of what came without a pause
            self._count = 0
            if count == 1:
                self.meant.emit(letter)
