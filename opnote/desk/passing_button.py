"""A button among questions, where Enter goes on to the next of them."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPushButton, QWidget


class PassingButton(QPushButton):
    """A button that Space presses and Enter passes by."""

    def __init__(self, words: str, parent: QWidget) -> None:
        super().__init__(words, parent)
        self.setAutoDefault(False)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave Enter to what is around it."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.ignore()
        else:
            super().keyPressEvent(event)
